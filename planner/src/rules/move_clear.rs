//! # move-clear
//!
//! **Guards** head and blade against what stands beside the kerf. **Trips when** the housing meets wood or bark in
//! any move, when the blade meets either outside a cut, or when one of them enters a keep-out box, a bunk, a dog or
//! (the kerf) a place with metal. **Clears when** the way leads round or the corner is set elsewhere. **Does not
//! cover** swings and free pieces: see the rules on those.

use bunkside_protocol::{Length, Move, Position};

use super::{Basis, Measure, Objection, Objections, Rule, Situation};
use crate::geometry::{Block, Interval};
use crate::replay::Step;
use crate::stock::Pick;

pub(super) const RULE: Rule = Rule {
    number: 0,
    id: "move-clear",
    title: "the housing touches no wood, the blade none outside a cut",
    reason: "a head pushed into the log bends the rails, and a blade that touches wood at rapid is thrown",
    basis: Basis::Machine,
    check,
};

const HOUSING: &str =
    "the housing would push against the log; free the wood beside it first, or set the corner less deep";
const BLADE: &str = "the blade would touch wood outside a cut; go round, or make it a cut";
const BOX: &str = "blade or housing would enter a keep-out box, a bunk or a dog";
const METAL: &str = "the kerf would meet metal in the log; lay the kerf elsewhere";

fn check(situation: &Situation<'_>, object: Objections<'_>) {
    let Some(step) = situation.step() else { return };
    let cutting = match step.told {
        Move::Go(_) => false,
        Move::Cut(_) => true,
        Move::Swing(_) | Move::Spin(_) | Move::Hold(_) => return,
    };
    let clearance = situation.setup.mill.clearances.body;
    let wood = |block: Block| situation.meets_wood(block.grown(clearance), Pick::Body);
    if situation.head_meets(step, wood).is_some() {
        object(refusal("housing in wood", HOUSING));
    }
    if !cutting && situation.blade_meets(step, wood).is_some() {
        object(refusal("blade in wood", BLADE));
    }
    let fixed = |block: Block| fixed_boxes(situation).any(|fixed| block.grown(clearance).overlaps(fixed));
    let blade_fixed = |block: Block| kept_out(situation, block.grown(clearance), cutting);
    if situation.head_meets(step, fixed).is_some() || situation.blade_meets(step, blade_fixed).is_some() {
        object(refusal("in a kept-out place", BOX));
    }
    if let Some(metal) = metal_met(situation, step) {
        object(Objection::refuse(
            Measure::Length(metal),
            Measure::Length(Length::ZERO),
            METAL,
        ));
    }
}

const fn refusal(found: &'static str, note: &'static str) -> Objection {
    Objection::refuse(Measure::State(found), Measure::State("clear"), note)
}

/// Keep-out boxes, dogs and bunks.
fn fixed_boxes<'a>(situation: &Situation<'a>) -> impl Iterator<Item = Block> + 'a {
    let mill = situation.setup.mill;
    let bunks = mill.bunks.iter().map(|bunk| Block {
        travel: Interval::new(bunk.travel - bunk.half_size, bunk.travel + bunk.half_size),
        across: Interval::ALL,
        height: Interval::new(Position::MIN, bunk.top),
    });
    mill.keep_out
        .iter()
        .chain(&mill.dogs)
        .map(Block::from_record)
        .chain(bunks)
}

/// Whether the blade is where it may not be. How near a kerf may come to bunks and dogs is another rule's matter.
fn kept_out(situation: &Situation<'_>, block: Block, cutting: bool) -> bool {
    if cutting {
        situation
            .setup
            .mill
            .keep_out
            .iter()
            .any(|record| block.overlaps(Block::from_record(record)))
    } else {
        fixed_boxes(situation).any(|fixed| block.overlaps(fixed))
    }
}

/// How much of a place with metal the kerf would take.
fn metal_met(situation: &Situation<'_>, step: &Step) -> Option<Length> {
    let kerf = step.cut?.kerf;
    situation
        .setup
        .log
        .metal
        .iter()
        .map(Block::from_record)
        .filter(|metal| metal.overlaps(kerf))
        .map(|metal| {
            let across = metal.across.meet(kerf.across).length();
            let height = metal.height.meet(kerf.height).length();
            across.min(height)
        })
        .max()
}
