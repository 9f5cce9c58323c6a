//! # spin-up
//!
//! **Guards** wood and blade at the first touch. **Trips when** a cut begins before the blade is up to speed, or
//! when the blade is started while it stands in wood. **Clears when** the blade is started in clear air and the
//! sequence waits for it. **Does not cover** a blade that slows under load: the controller watches its speed.

use bunkside_protocol::{Length, Move};

use super::{Basis, Measure, Objection, Objections, Rule, Situation};
use crate::stock::Pick;

pub(super) const RULE: Rule = Rule {
    number: 0,
    id: "spin-up",
    title: "no cut before the blade is up to speed",
    reason: "a slow blade grabs, and a rim that starts in wood throws it or strips its teeth",
    basis: Basis::Machine,
    check,
};

const SLOW: &str = "start the blade and wait until it is up to speed before the cut";
const IN_WOOD: &str = "back the blade out of the wood before it is started";

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
        Move::Spin(true) if !step.before.spinning => {
            let clearance = situation.setup.mill.clearances.body.max(Length::um(1));
            let wood =
                |block: crate::geometry::Block| situation.meets_wood(block.grown(clearance), Pick::Any);
            if situation.blade_meets(step, wood).is_some() {
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
