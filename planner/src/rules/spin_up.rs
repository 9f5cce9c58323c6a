//! # spin-up
//!
//! **Guards** wood and blade at the first touch and the last. **Trips when** a cut begins before the blade is up to
//! speed, or when the blade is started or stopped while it stands in wood. **Clears when** the blade is started and
//! stopped in clear air and the sequence waits for it. **Does not cover** a blade that slows under load: the controller watches its speed.

use bunkside_protocol::Move;

use super::{Basis, Measure, Objection, Objections, Rule, Situation};
use crate::stock::Pick;

pub(super) const RULE: Rule = Rule {
    number: 0,
    id: "spin-up",
    title: "no cut before the blade is up to speed, no start or stop in wood",
    reason: "a slow blade grabs, and a rim that starts in wood throws it or strips its teeth",
    basis: Basis::Machine,
    check,
};

const SLOW: &str = "start the blade and wait until it is up to speed before the cut";
const IN_WOOD: &str = "back the blade out of the wood before it is started or stopped";

fn check(situation: &Situation<'_>, object: Objections<'_>) {
    let Some(step) = situation.step() else { return };
    match step.told {
        Move::Cut(_) if !step.before.spinning => {
            object(Objection::refuse(
                Measure::State("standing"),
                Measure::State("up to speed"),
                SLOW,
            ));
        }
        Move::Spin(on) if on != step.before.spinning => {
            let clearance = situation.clearance();
            let wood =
                &mut |block: crate::geometry::Block| situation.meets_wood(block.apart(clearance), Pick::Any);
            if situation
                .blade_meets(step, &|block| situation.near_log(block), wood)
                .is_some()
            {
                object(Objection::refuse(
                    Measure::State("in wood"),
                    Measure::State("clear"),
                    IN_WOOD,
                ));
            }
        }
        Move::Go(_) | Move::Cut(_) | Move::Swing(_) | Move::Spin(_) | Move::Hold(_) => {}
    }
}

#[cfg(test)]
pub(super) mod tests {
    use crate::testing::{Case, Script};

    use super::Move;

    pub(in crate::rules) fn example() -> Case {
        let mut script = Script::opened();
        script.moves.remove(0);
        Case::usual(script)
    }

    #[test]
    fn refuses_a_cut_with_a_standing_blade() {
        let case = example();
        assert_eq!(case.refusals(), ["spin-up"]);
        assert_eq!(
            case.figures("spin-up").unwrap(),
            ("standing".into(), "up to speed".into())
        );
    }

    #[test]
    fn permits_a_cut_with_the_blade_up_to_speed() {
        assert_eq!(Case::usual(Script::opened()).refusals(), [""; 0]);
    }

    #[test]
    fn refuses_a_cut_after_the_blade_was_stopped() {
        let script = Script::opened()
            .with(Move::Spin(false))
            .corner(0.0, 206.5)
            .cut(4_530);
        assert_eq!(Case::usual(script).refusals(), ["spin-up"]);
    }

    #[test]
    fn refuses_to_stop_or_start_the_blade_in_wood() {
        let in_the_log = || Script::opened().corner(0.0, 206.5).cut(2_000);
        let stopped = in_the_log()
            .with(Move::Spin(false))
            .with(Move::Spin(true))
            .cut(270);
        let case = Case::usual(stopped);
        assert_eq!(case.refusals(), ["spin-up"]);
        let found = case.script.findings(&case.mill, &case.log);
        let at = found.iter().filter(|finding| finding.rule == "spin-up");
        assert_eq!(
            at.map(|finding| finding.index).collect::<std::vec::Vec<_>>(),
            [8, 9]
        );
        // Told again what it does already, it does nothing.
        let idle = in_the_log().with(Move::Spin(true)).cut(270);
        assert_eq!(Case::usual(idle).refusals(), [""; 0]);
    }

    /// A free piece is as bad as the log: two millimetres short of the slab, over the log itself, where
    /// the way there is refused as well.
    #[test]
    fn refuses_to_stop_the_blade_at_a_free_piece() {
        let at = |travel: i32| {
            let mut script = Script::opened();
            script.moves.pop();
            let script = script
                .corner(180.0, 280.0)
                .travel(travel)
                .with(Move::Spin(false))
                .travel(270);
            Case::usual(script).refusals()
        };
        assert_eq!(at(314), [""; 0]);
        assert_eq!(at(318), ["free-piece", "spin-up"]);
    }
}
