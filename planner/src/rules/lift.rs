//! # lift
//!
//! **Guards** whoever stands beside the log. **Trips when** a stroke takes more of the weight off either bunk, what dogs
//! hold included, than the profile's factor allows; below one and a half times that factor it warns, because a light piece
//! chatters before it lifts. **Clears when** the pass climbs, which presses down, feeds slower or bites less, or when the
//! piece is dogged. **Does not cover** wood that bends up between its bunks.

use super::{Basis, Measure, Objection, Objections, Rule, Situation};
use crate::physics::margins::{calm_lift, demanded};

pub(super) const RULE: Rule = Rule {
    number: 0,
    id: "lift",
    title: "the blade does not lift what it cuts",
    reason: "wood that lifts into the blade is thrown",
    basis: Basis::Physics,
    check,
};

const LIFTS: &str = "the blade would lift this end; climb here, feed slower, bite less, or dog what is left";
const OVERHANGS: &str =
    "what this cut leaves hangs out over its last bunk and would drop; hold it down or set the log anew";
const CHATTERS: &str = "light wood chatters under a blade that lifts it; climb here, or feed slower";

fn check(situation: &Situation<'_>, object: Objections<'_>) {
    let Some(strain) = situation.step().and_then(|step| step.strain) else {
        return;
    };
    let mill = situation.setup.mill;
    let limit = demanded(mill.factors.lift);
    let calm = demanded(calm_lift(mill));
    let measured = strain.worst().lift;
    let (measured, refused) = (Measure::Factor(measured), measured < limit);
    if refused {
        let note = if strain.rest.lift < limit {
            OVERHANGS
        } else {
            LIFTS
        };
        object(Objection::refuse(measured, Measure::Factor(limit), note));
    } else if strain.during.lift < calm {
        object(Objection::warn(measured, Measure::Factor(calm), CHATTERS));
    }
}

#[cfg(test)]
pub(super) mod tests {
    use bunkside_protocol::{Angle, Position};

    use crate::testing::{Case, Script, powered_mill, tapered_log, timber};

    /// Edged outbound, in forward feed, a light timber is lifted; homebound, climbing, it is pressed down.
    pub(in crate::rules) fn example() -> Case {
        edged([270, 4_530], 80)
    }

    fn edged([from, to]: [i32; 2], density: u16) -> Case {
        let script = Script::new().travel(from).corner(-60.0, 31.0).cut(to);
        let mut case = Case::new(powered_mill(), timber(180, 160, 3_600), script);
        case.log.density = density;
        (case.mill.knife, case.mill.factors.grip_barked) = (None, 60_000);
        case
    }

    #[test]
    fn refuses_to_lift_a_light_timber() {
        assert_eq!(example().refusals(), ["lift"]);
    }

    fn note(case: &Case) -> &'static str {
        let found = case.script.findings(&case.mill, &case.log);
        let lift = found.iter().find(|finding| finding.rule == "lift");
        lift.unwrap().objection.note
    }

    /// A cone balances 1.157 m from its butt (closed form of a frustum of 400 mm and 100 mm over 3.6 m), here 43 mm beyond
    /// the first bunk; with its thick end opened what is left balances before it.
    #[test]
    fn tells_what_lifts_an_end_from_what_hangs_out() {
        assert!(note(&example()).contains("would lift this end"));
        let script = Script::new()
            .swing(Angle::Flat)
            .travel(4_530)
            .corner(250.0, 200.0)
            .cut(270);
        let mut case = Case::new(powered_mill(), tapered_log(100, 400, 3_600), script);
        for (bunk, travel) in case.mill.bunks.iter_mut().zip([200, 3_000, 4_100]) {
            bunk.travel = Position::mm(travel);
        }
        assert!(note(&case).contains("hangs out"), "{}", note(&case));
    }

    #[test]
    fn warns_of_chatter_and_permits_a_heavy_one() {
        let heavier = edged([270, 4_530], 130);
        assert_eq!(heavier.refusals(), [""; 0]);
        assert_eq!(heavier.warnings(), ["lift"]);
        let heavy = edged([270, 4_530], 700);
        assert_eq!((heavy.refusals(), heavy.warnings()), (std::vec![], std::vec![]));
    }

    #[test]
    fn permits_to_climb_on_the_light_one() {
        let climbing = edged([4_530, 270], 80);
        assert_eq!(climbing.refusals(), [""; 0]);
    }
}
