//! # roll
//!
//! **Guards** the log on its wedges. **Trips when** the weight of what stands, and the push of a stroke, come nearer to
//! tipping it over the wedges on either side, or to turning it in its bed against the grip, than the profile's factor
//! allows: along the stroke, and at rest before and after it. At rest it also trips when what stands leans over by little: half its
//! base, from its balance to the wedges' line or the edge of its flat underside, over the height of its balance above that, is
//! less than the factor times 1 in 7. With the usual factor of 1.2 that is 10 degrees from upright (common practice, no source):
//! bunks are some degrees out of level, and a plank dragged off knocks what stands. Logs stand at 15 degrees and more on wedges
//! set for them; a squared timber may be nearly six times as high as wide. **Clears when** the pass feeds slower, bites less or
//! climbs instead of feeding forward, when the rest of the layer is released from here, or when it lies on its broad side. **Does
//! not cover** dogs, which are not counted; a log that lies on one wedge only; a bunk that gives way; what leans as a stroke runs.

use super::{Basis, Measure, Objection, Objections, Rule, Situation};
use crate::physics::margins::demanded;

pub(super) const RULE: Rule = Rule {
    number: 0,
    id: "roll",
    title: "what stands neither tips over its wedges nor turns in its bed",
    reason: "a log that rolls under the blade takes blade, carriage and operator with it",
    basis: Basis::Physics,
    check,
};

const TIP: &str =
    "the cut would tip the log over its wedges; feed slower, bite less, climb, or take it in two passes";
const TURN: &str =
    "the cut would turn the log in its bed; feed slower, bite less, climb, or take it in two passes";
const SLENDER: &str = "too slender to stand: it goes over when it leans a little; lay it on its broad side, or set the wedges further out";
const RESTS_SLENDER: &str = "what this cut leaves goes over when it leans a little: it stands too high, or too far to one side of its base; release the layer from here, plan thinner layers, or set the wedges further out";
const RESTS_TIPPED: &str = "what this cut leaves would tip over the wedges by its own weight; release the layer from here, or wedge wider";
const RESTS_TURNED: &str = "what this cut leaves would turn in its bed by its own weight; release the layer from here, or wedge wider";

fn check(situation: &Situation<'_>, object: Objections<'_>) {
    let Some(strain) = situation.step().and_then(|step| step.strain) else {
        return;
    };
    let limit = demanded(situation.setup.mill.factors.roll);
    for (margins, tip, turn, slender) in [
        (&strain.during, TIP, TURN, SLENDER),
        (&strain.rest, RESTS_TIPPED, RESTS_TURNED, RESTS_SLENDER),
    ] {
        let (measured, note) = if margins.upright() >= limit {
            (margins.stand, slender)
        } else if margins.tip <= margins.turn {
            (margins.tip, tip)
        } else {
            (margins.turn, turn)
        };
        if measured < limit {
            object(Objection::refuse(
                Measure::Factor(measured),
                Measure::Factor(limit),
                note,
            ));
        }
    }
}

#[cfg(test)]
pub(super) mod tests {
    use std::string::ToString;

    use bunkside_protocol::{Angle, Length, Move, Position, Speed};

    use super::SLENDER;
    use crate::testing::{Case, Script, powered_mill, timber};

    /// The wide homebound pass that opens a log pushes sideways high above the wedges: too hard for a dry log on wedges
    /// that stand near its lowest line.
    pub(in crate::rules) fn example() -> Case {
        let mut case = Case::usual(Script::opened());
        case.log.density = 300;
        case.mill.wedges.reach = Length::mm(30);
        case
    }

    #[test]
    fn refuses_the_opening_pass_on_a_light_log_with_close_wedges() {
        let case = example();
        assert_eq!(case.refusals(), ["roll"]);
        let (_, limit) = case.figures("roll").unwrap();
        assert_eq!(limit, "1.20");
    }

    /// Close wedges let it tip before it turns; on smooth ones far out it turns.
    #[test]
    fn tells_tipping_from_turning() {
        let note = |case: &Case| {
            let found = case.script.findings(&case.mill, &case.log);
            let roll = found.iter().find(|finding| finding.rule == "roll");
            roll.unwrap().objection.note
        };
        assert!(note(&example()).contains("tip the log over its wedges"));
        let mut smooth = example();
        smooth.mill.wedges.reach = Length::mm(60);
        smooth.mill.factors.grip_barked = 60;
        assert!(note(&smooth).contains("turn the log in its bed"));
    }

    /// Timbers 180 mm wide: 90 ÷ (height ÷ 2 ÷ 7) is 1.2 at 1 050 mm, and 100 mm by 1.2 m stand at 0.58.
    #[test]
    fn refuses_what_is_too_slender_to_stand_and_permits_it_on_its_broad_side() {
        let told = |wide: i32, high: i32| {
            let top = f64::from(high) - 30.0;
            let script = Script::new().travel(4_530).swing(Angle::Flat).corner(0.0, top);
            let mut case = Case::new(powered_mill(), timber(wide, high, 3_600), script.cut(270));
            case.mill.height.max = Position::mm(2_000);
            let found = case.script.findings(&case.mill, &case.log);
            let mut roll = found.iter().filter(|finding| finding.rule == "roll");
            roll.next()
                .map(|one| (one.objection.note, one.objection.measured.to_string()))
        };
        assert_eq!(told(100, 1_200), Some((SLENDER, "0.58".into())));
        assert_eq!(told(180, 1_060), Some((SLENDER, "1.18".into())));
        assert_eq!(told(180, 1_040), None);
        assert_eq!(told(600, 180), None);
    }

    #[test]
    fn permits_it_on_wedges_further_out() {
        let mut case = example();
        case.mill.wedges.reach = Length::mm(60);
        assert_eq!(case.refusals(), [""; 0]);
    }

    /// Half the feed is half the push.
    #[test]
    fn permits_it_at_less_feed() {
        let mut case = example();
        for told in &mut case.script.moves {
            if let Move::Cut(cut) = told {
                cut.speed = Speed::mm_per_s(75);
            }
        }
        assert_eq!(case.refusals(), [""; 0]);
    }
}
