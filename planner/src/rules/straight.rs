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
    let clearance = situation.setup.mill.clearances.body;
    situation
        .blade_meets(&standing, |block| {
            situation.meets_wood(block.grown_in_section(clearance), Pick::Body)
        })
        .is_some()
}
