//! # roll
//!
//! **Guards** the log on its wedges. **Trips when** the weight of what stands, and the push of a stroke, come nearer to
//! tipping it over the wedges on either side, or to turning it in its bed against the grip, than the profile's factor
//! allows: along the stroke, and at rest before and after it. **Clears when** the pass feeds slower, bites less or climbs
//! instead of feeding forward, or when the rest of the layer is released from here. **Does not cover** dogs, which are
//! not counted; a log that lies on one wedge only; a bunk that gives way.

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
const RESTS_TIPPED: &str = "what this cut leaves would tip over the wedges by its own weight; release the layer from here, or wedge wider";
const RESTS_TURNED: &str = "what this cut leaves would turn in its bed by its own weight; release the layer from here, or wedge wider";

fn check(situation: &Situation<'_>, object: Objections<'_>) {
    let Some(strain) = situation.step().and_then(|step| step.strain) else {
        return;
    };
    let limit = demanded(situation.setup.mill.factors.roll);
    for (margins, tip, turn) in [
        (&strain.during, TIP, TURN),
        (&strain.rest, RESTS_TIPPED, RESTS_TURNED),
    ] {
        let measured = margins.roll();
        if measured < limit {
            let note = if margins.tip <= margins.turn { tip } else { turn };
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
    use bunkside_protocol::{Length, Move, Speed};

    use crate::testing::{Case, Script};

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
