//! # swing-clear
//!
//! **Guards** blade, log and bed while the blade changes its angle. **Trips when** the blade's centre is not past
//! the log's ends, or its sweep meets wood, bark, the bed plane, a dog or a keep-out box. **Clears when** the
//! carriage runs out further or the head is raised first. **Does not cover** people: nobody stands at the ends
//! while the blade swings.

use bunkside_protocol::{Angle, Length, Move, Position};

use super::{Basis, Measure, Objection, Objections, Rule, Situation};
use crate::geometry::Block;
use crate::machine::{Pose, head_boxes, swing_boxes};
use crate::replay::Step;
use crate::stock::Pick;

pub(super) const RULE: Rule = Rule {
    number: 0,
    id: "swing-clear",
    title: "the blade swings only past the log's ends and in the clear",
    reason: "the swing sweeps rim and housing far outside the kerf, and below the corner when it turns under",
    basis: Basis::Machine,
    check,
};

const OVER_LOG: &str = "run past the log's end before the blade swings";
const WOOD: &str = "the sweep meets the log; run out further before the blade swings";
const BED: &str = "the sweep goes below the bed; raise the head before the blade swings";
const BOX: &str = "the sweep meets a dog or a keep-out box; swing elsewhere";

fn check(situation: &Situation<'_>, object: Objections<'_>) {
    let Some(step) = situation.step() else { return };
    if !matches!(step.told, Move::Swing(_)) || step.before.angle == step.after.angle {
        return;
    }
    let log = situation.setup.shape.travel();
    let centre = step.before.travel;
    if log.lo < centre && centre < log.hi {
        let inside = (centre - log.lo).min(log.hi - centre);
        object(Objection::refuse(
            Measure::Length(inside),
            Measure::Length(Length::ZERO),
            OVER_LOG,
        ));
        return;
    }
    let mill = situation.setup.mill;
    let clearance = mill.clearances.body;
    let pose = step.before;
    let mut swept = swing_boxes(mill, &pose).chain(head_sweep(situation, step));
    if swept.any(|block| situation.meets_wood(block.grown(clearance), Pick::Body)) {
        let past = (log.lo - centre).max(centre - log.hi);
        object(Objection::refuse(
            Measure::Length(past),
            Measure::Length(mill.blade.radius + clearance),
            WOOD,
        ));
    }
    let lowest = swing_boxes(mill, &pose)
        .chain(head_sweep(situation, step))
        .map(|block| block.height.lo)
        .min();
    if let Some(lowest) = lowest.filter(|lowest| *lowest < Position::ZERO) {
        let below = Position::ZERO - lowest;
        object(Objection::refuse(
            Measure::Length(below),
            Measure::Length(Length::ZERO),
            BED,
        ));
    }
    let fixed = || mill.dogs.iter().chain(&mill.keep_out).map(Block::from_record);
    let mut swept = swing_boxes(mill, &pose).chain(head_sweep(situation, step));
    if swept.any(|block| fixed().any(|fixed| block.grown(clearance).overlaps(fixed))) {
        object(Objection::refuse(
            Measure::State("meets a fixed box"),
            Measure::State("clear"),
            BOX,
        ));
    }
}

/// Hub and housing during the swing: one box around where they stand at both angles.
fn head_sweep(situation: &Situation<'_>, step: &Step) -> impl Iterator<Item = Block> {
    let mill = situation.setup.mill;
    let at = |angle: Angle| {
        let pose = Pose { angle, ..step.before };
        head_boxes(mill, &pose, &pose).reduce(Block::join)
    };
    match (at(Angle::Flat), at(Angle::Upright)) {
        (Some(flat), Some(upright)) => Some(flat.join(upright)),
        (one, other) => one.or(other),
    }
    .into_iter()
}
