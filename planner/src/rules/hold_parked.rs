//! # hold-parked
//!
//! **Guards** the operator at a hold. **Trips when** blade or head stands at or in the log, and when hands go to
//! knife, kerf, wedges, dogs or teeth while the blade turns. **Clears when** the carriage is run out clear of the
//! log and, for such work, the blade is stopped and has run down. **Does not cover** lock-out for repair: local
//! codes and the mill's own manual do.

use bunkside_protocol::{Act, Move};

use super::{Basis, Measure, Objection, Objections, Rule, Situation};
use crate::geometry::Block;
use crate::stock::Pick;

pub(super) const RULE: Rule = Rule {
    number: 0,
    id: "hold-parked",
    title: "at a hold the carriage stands clear, and the blade still where hands go near it",
    reason: "a turning blade within reach of hands, or a carriage over the log, needs only one slip",
    basis: Basis::Practice,
    check,
};

const CLEAR: &str = "run the carriage out clear of the log before the hold";
const STANDING: &str = "stop the blade and let it run down before the hold";

fn check(situation: &Situation<'_>, object: Objections<'_>) {
    let Some(step) = situation.step() else { return };
    let Move::Hold(hold) = step.told else { return };
    let clearance = situation.setup.mill.clearances.body;
    let wood = |block: Block| situation.meets_wood(block.grown(clearance), Pick::Any);
    if situation.blade_meets(step, wood).is_some() || situation.head_meets(step, wood).is_some() {
        object(Objection::refuse(
            Measure::State("at the log"),
            Measure::State("clear of it"),
            CLEAR,
        ));
    }
    if step.before.spinning && hold.acts.iter().any(Act::needs_standing_blade) {
        object(Objection::refuse(
            Measure::State("turning"),
            Measure::State("standing"),
            STANDING,
        ));
    }
}
