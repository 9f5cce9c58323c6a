//! # reach
//!
//! **Guards** hub and housing against the wood, and the blade against too deep a bite. **Trips when** the cover
//! exceeds the mill's for the angle, when the bite exceeds the one for angle, feed, knife and timber, or when the
//! profile tells of a blade that cannot be: more cover than there is between rim and hub, no kerf, no rim speed, no
//! hub, no housing. **Clears when** the corner is set less deep;
//! a bite, not a cover, is also cured by more passes. **Does not cover** power: see the rule on power.

use bunkside_protocol::mill::{Box3, HEAD_BOXES_MAX};
use bunkside_protocol::{Angle, Feed, Length, MillRecord, Speed};
use heapless::Vec;

use super::{Basis, Measure, Objection, Objections, Rule, Situation};
use crate::geometry::Block;

pub(super) const RULE: Rule = Rule {
    number: 0,
    id: "reach",
    title: "cover and bite stay within the blade's limits",
    reason: "wood deeper than the plate reaches meets the hub; too deep a bite stalls or bends the blade",
    basis: Basis::Machine,
    check,
};

const COVER: &str = "wood stands over the kerf further than the blade reaches; more passes do not help, a narrower column or a lower layer does";
const BITE: &str = "the pass takes too much at once; take it in more passes";
const PROFILE: &str = "the mill profile allows more cover than there is between rim and hub";
const NO_BLADE: &str = "the mill profile must tell kerf, hub and rim speed above zero, a radius above the hub's, and housing boxes at both angles";

fn check(situation: &Situation<'_>, object: Objections<'_>) {
    let Some((step, facts)) = situation.cut() else {
        return;
    };
    let mill = situation.setup.mill;
    let [flat, upright] = mill.reach.cover;
    let cover = match step.before.angle {
        Angle::Flat => flat,
        Angle::Upright => upright,
    };
    if !is_a_blade(mill) {
        let (found, wanted) = (
            Measure::State("no such blade"),
            Measure::State("a blade in a housing"),
        );
        object(Objection::refuse(found, wanted, NO_BLADE));
        return;
    }
    let plate = mill.blade.radius - mill.blade.hub;
    if cover > plate {
        object(Objection::refuse(
            Measure::Length(cover),
            Measure::Length(plate),
            PROFILE,
        ));
    }
    if facts.cover > cover.min(plate) {
        object(Objection::refuse(
            Measure::Told(facts.cover, "of cover"),
            Measure::Length(cover.min(plate)),
            COVER,
        ));
    }
    let feed = step.feed.unwrap_or(Feed::Forward);
    let bite = mill.reach.bite(
        step.before.angle,
        feed,
        step.before.knife,
        situation.setup.log.timber,
    );
    if facts.bite > bite && facts.bite > Length::ZERO {
        object(Objection::refuse(
            Measure::Told(facts.bite, "of bite"),
            Measure::Length(bite),
            BITE,
        ));
    }
}

/// Whether the other rules have something to measure: a blade of no size, or a head without boxes, meets nothing.
fn is_a_blade(mill: &MillRecord) -> bool {
    let blade = &mill.blade;
    let boxes = |head: &Vec<Box3, HEAD_BOXES_MAX>| {
        !head.is_empty() && !head.iter().any(|part| Block::from_record(part).is_empty())
    };
    blade.kerf > Length::ZERO
        && blade.hub > Length::ZERO
        && blade.radius > blade.hub
        && blade.rim_speed > Speed::ZERO
        && mill.head.iter().all(boxes)
}

#[cfg(test)]
pub(super) mod tests {
    use bunkside_protocol::mill::Blade;
    use bunkside_protocol::{Act, Timber};

    use super::{Angle, Length, MillRecord, Speed};
    use crate::testing::{Case, Script, powered_mill, timber};

    /// In a timber so wide, 130 mm over the bed, flat passes that end at these places, outbound and homebound in turn.
    fn flat(width: i32, corners: &[f64]) -> Case {
        let mut script = Script::new().swing(Angle::Flat).travel(270);
        for (number, across) in corners.iter().enumerate() {
            script = script
                .corner(*across, 130.0)
                .cut(if number % 2 == 0 { 4_530 } else { 270 });
        }
        Case::new(powered_mill(), timber(width, 160, 3_600), script)
    }

    /// A timber of 210 mm in two passes, 205.1 mm under cover.
    pub(in crate::rules) fn example() -> Case {
        flat(210, &[0.0, 100.1])
    }

    #[test]
    fn permits_the_cover_and_refuses_more_in_any_number_of_passes() {
        assert_eq!(flat(210, &[0.0, 100.0]).refusals(), [""; 0]);
        assert_eq!(example().refusals(), ["reach"]);
        assert_eq!(
            example().figures("reach").unwrap(),
            ("205.1 mm of cover".into(), "205 mm".into())
        );
        assert_eq!(flat(210, &[-50.0, 0.0, 50.0, 100.1]).refusals(), ["reach"]);
    }

    #[test]
    fn permits_the_bite_and_refuses_more_in_one_pass() {
        assert_eq!(flat(210, &[95.0]).refusals(), [""; 0]);
        assert_eq!(flat(210, &[95.1]).refusals(), ["reach"]);
        assert_eq!(
            flat(210, &[95.1]).figures("reach").unwrap(),
            ("200.1 mm of bite".into(), "200 mm".into())
        );
        assert_eq!(flat(210, &[0.0, 95.1]).refusals(), [""; 0]);
    }

    #[test]
    fn timber_feed_and_knife_choose_the_bite() {
        let mm = Length::mm;
        let row = |soft| [mm(soft), mm(soft - 10), mm(soft - 20)];
        let by_knife = |off| [row(off), row(off - 30)];
        let bite = [[by_knife(180), by_knife(120)], [by_knife(170), by_knife(110)]];
        for (angle, climb, knife, timber_class, limit) in [
            (Angle::Flat, true, false, Timber::Soft, 180.0),
            (Angle::Flat, true, false, Timber::Medium, 170.0),
            (Angle::Flat, true, false, Timber::Hard, 160.0),
            (Angle::Flat, false, false, Timber::Soft, 120.0),
            (Angle::Flat, false, true, Timber::Hard, 70.0),
            (Angle::Upright, true, false, Timber::Soft, 170.0),
            (Angle::Upright, false, false, Timber::Medium, 100.0),
            (Angle::Upright, false, true, Timber::Soft, 80.0),
        ] {
            // Both angles climb homebound on this mill.
            let (from, to) = if climb { (4_530, 270) } else { (270, 4_530) };
            let act = if knife { Act::KnifeOn } else { Act::KnifeOff };
            let refusals = |depth: f64| {
                let (across, height) = match angle {
                    Angle::Flat => (depth - 115.0, 100.0),
                    Angle::Upright => (0.0, 230.0 - depth),
                };
                let mut script = Script::at_rest().hold(&[act]);
                script.moves.extend(
                    Script::new()
                        .swing(angle)
                        .travel(from)
                        .corner(across, height)
                        .cut(to)
                        .moves,
                );
                let mut case = Case::new(powered_mill(), timber(230, 230, 3_600), script);
                case.mill.reach.bite = bite;
                case.log.timber = timber_class;
                case.refusals()
            };
            let name = (angle, climb, knife, timber_class);
            assert_eq!(refusals(limit), [""; 0], "{name:?}");
            assert_eq!(refusals(limit + 0.1), ["reach"], "{name:?}");
        }
    }

    /// The upright blade's cover counts on both sides of the kerf.
    #[test]
    fn upright_cover_counts_too() {
        let at = |height: f64| {
            let script = Script::new()
                .travel(4_530)
                .corner(0.0, 120.0)
                .cut(270)
                .corner(0.0, height)
                .cut(4_530);
            let mut case = Case::new(powered_mill(), timber(230, 230, 3_600), script);
            case.log.bed_clearance = Length::mm(15);
            case.mill.wedges.reach = Length::ZERO;
            case.refusals()
        };
        assert_eq!(at(25.0), [""; 0]);
        assert_eq!(at(24.9), ["reach"]);
    }

    fn with_mill(change: fn(&mut MillRecord)) -> std::vec::Vec<&'static str> {
        let mut case = Case::usual(Script::new().travel(270).cut(4_530));
        change(&mut case.mill);
        case.refusals()
    }

    /// The profile is not trusted: 280 mm of radius less 70 mm of hub leave 210 mm.
    #[test]
    fn refuses_a_profile_with_more_cover_than_plate() {
        assert_eq!(with_mill(|mill| mill.reach.cover = [Length::mm(210); 2]), [""; 0]);
        assert_eq!(
            with_mill(|mill| mill.reach.cover = [Length::um(210_100), Length::mm(210)]),
            [""; 0],
            "the angle that is not used"
        );
        assert_eq!(
            with_mill(|mill| mill.reach.cover = [Length::mm(210), Length::um(210_100)]),
            ["reach"]
        );
    }

    /// A stroke in air bites nothing, however little is allowed.
    #[test]
    fn permits_air_whatever_the_profile_says_of_bites() {
        let none = with_mill(|mill| mill.reach.bite = [[[[Length::mm(-1); 3]; 2]; 2]; 2]);
        assert_eq!(none, [""; 0]);
    }

    /// With such a profile no other rule would find anything to object to.
    #[test]
    fn refuses_a_profile_that_tells_of_no_blade() {
        let blade: [fn(&mut Blade); 6] = [
            |blade| blade.kerf = Length::ZERO,
            |blade| blade.kerf = Length::mm(-5),
            |blade| blade.hub = Length::mm(-70),
            |blade| blade.hub = Length::ZERO,
            |blade| blade.radius = blade.hub,
            |blade| blade.rim_speed = Speed::ZERO,
        ];
        for change in blade {
            let mut case = Case::usual(Script::opened());
            change(&mut case.mill.blade);
            assert!(case.refusals().contains(&"reach"), "{:?}", case.mill.blade);
        }
        let all_hub = with_mill(|mill| {
            mill.blade.radius = mill.blade.hub;
            mill.reach.cover = [Length::ZERO; 2];
        });
        assert_eq!(all_hub, ["reach"]);
        assert_eq!(with_mill(|mill| mill.head[0].clear()), ["reach"]);
        assert_eq!(with_mill(|mill| mill.head[1].clear()), ["reach"]);
        let turned = with_mill(|mill| {
            let part = &mut mill.head[0][0];
            (part.min, part.max) = (part.max, part.min);
        });
        assert_eq!(turned, ["reach"]);
    }
}
