//! # straight
//!
//! **Guards** the blade against being bent in its kerf. **Trips when** across, height or angle changes while the
//! blade stands in wood, and when a cut moves across or in height. **Clears when** the blade is run out along the
//! rails first. **Does not cover** a log that moves: see the rules on rolling and slipping.

use bunkside_protocol::Move;

use super::{Basis, Measure, Objection, Objections, Rule, Situation};
use crate::replay::Step;
use crate::stock::{NotJudged, Pick};

pub(super) const RULE: Rule = Rule {
    number: 0,
    id: "straight",
    title: "in wood the blade moves only along the rails",
    reason: "a plate pushed sideways in its kerf bends, heats and can break",
    basis: Basis::Machine,
    check,
};

const NOTE: &str = "run the blade out along the rails before it moves across, in height or swings";

fn check(situation: &Situation<'_>, object: Objections<'_>) {
    let Some(step) = situation.step() else { return };
    let sideways = step.before.across != step.after.across || step.before.height != step.after.height;
    let tripped = match &step.told {
        Move::Go(_) => sideways && in_wood(situation, step),
        Move::Swing(_) => step.before.angle != step.after.angle && in_wood(situation, step),
        Move::Cut(_) => step.not_judged == Some(NotJudged::CombinedAxes),
        Move::Spin(_) | Move::Hold(_) => false,
    };
    if tripped {
        let measured = Measure::State("the blade changes across, height or angle in wood");
        object(Objection::refuse(measured, Measure::State("travel alone"), NOTE));
    }
}

/// Whether the blade stands in wood before the move.
fn in_wood(situation: &Situation<'_>, step: &Step) -> bool {
    let standing = Step {
        after: step.before,
        ..*step
    };
    let clearance = situation.clearance();
    situation
        .blade_meets(&standing, &|block| situation.near_log(block), &mut |block| {
            situation.meets_wood(block.apart_in_section(clearance), Pick::Body)
        })
        .is_some()
}

#[cfg(test)]
pub(super) mod tests {
    use bunkside_protocol::{Angle, Length, Targets};

    use crate::testing::{Case, Script, mm, stroke};

    use super::Move;

    fn slanted(across: f64) -> Script {
        let mut cut = stroke(4_530.0);
        cut.to.across = Some(mm(across));
        Script::opened().corner(0.0, 206.5).with(Move::Cut(cut))
    }

    /// A cut that draws the corner across on its way: it can also not be judged.
    pub(in crate::rules) fn example() -> Case {
        Case::usual(slanted(40.0))
    }

    #[test]
    fn refuses_a_cut_that_moves_across_or_in_height() {
        assert_eq!(example().refusals(), ["straight", "not-judged"]);
        let mut cut = stroke(4_530.0);
        cut.to.height = Some(mm(206.4));
        let script = Script::opened().corner(0.0, 206.5).with(Move::Cut(cut));
        assert_eq!(Case::usual(script).refusals(), ["straight", "not-judged"]);
    }

    #[test]
    fn permits_a_cut_that_names_the_corner_it_stands_at() {
        assert_eq!(Case::usual(slanted(0.0)).refusals(), [""; 0]);
    }

    #[test]
    fn permits_the_corner_to_be_set_past_the_end() {
        assert_eq!(Case::usual(Script::opened().first_column()).refusals(), [""; 0]);
    }

    #[test]
    fn refuses_to_move_across_in_height_or_in_angle_in_the_kerf() {
        let in_the_log = || Script::opened().corner(0.0, 206.5).cut(2_000);
        for body in [5, 0, -20] {
            for (script, also) in [
                (in_the_log().corner(10.0, 206.5), "move-clear"),
                (in_the_log().corner(0.0, 207.5), "move-clear"),
                (in_the_log().swing(Angle::Upright), "swing-clear"),
            ] {
                let mut case = Case::usual(script);
                case.mill.clearances.body = Length::mm(body);
                let refusals = case.refusals();
                assert!(
                    refusals.contains(&"straight") && refusals.contains(&also),
                    "{refusals:?}"
                );
            }
        }
    }

    /// What the blade would meet on its way is another rule's matter.
    #[test]
    fn counts_only_where_the_blade_stands() {
        let script = Script::opened().height(320.0).travel(2_000).corner(0.0, 206.5);
        assert_eq!(Case::usual(script).refusals(), ["move-clear", "hold-parked"]);
    }

    #[test]
    fn permits_moves_that_name_no_axis() {
        let mut nowhere = stroke(0.0);
        nowhere.to = Targets::default();
        let script = Script::opened()
            .with(Move::Go(Targets::default()))
            .with(Move::Cut(nowhere));
        assert_eq!(Case::usual(script).refusals(), [""; 0]);
    }
}
