//! # free-piece
//!
//! **Guards** against struck and thrown pieces. **Trips when** blade or head, cutting or not, meets a piece that
//! lies free, or the zone it falls into: beside the log on the side where it was outermost, one piece width wide,
//! from the bed to the piece's top. A free piece counts as sagged by one kerf. **Clears when** a hold unloads it.
//! **Does not cover** the stroke that frees it.

use bunkside_protocol::{Length, Move, Position};

use super::{Basis, Measure, Objection, Objections, Rule, Situation};
use crate::geometry::{Block, Interval};
use crate::machine::swing_boxes;
use crate::stock::{Edge, Piece};

pub(super) const RULE: Rule = Rule {
    number: 0,
    id: "free-piece",
    title: "no stroke meets a free piece before it is unloaded",
    reason: "the blade throws what it touches and nothing holds",
    basis: Basis::Physics,
    check,
};

const NOTE: &str = "unload the freed piece at a hold before this move";

fn check(situation: &Situation<'_>, object: Objections<'_>) {
    let Some(step) = situation.step() else { return };
    for piece in situation.before.pieces() {
        let zones = zones(situation, piece);
        let meets = |block: Block| zones.iter().flatten().any(|zone| zone.overlaps(block));
        let met = match step.told {
            Move::Go(_) | Move::Cut(_) => {
                situation.blade_meets(step, meets).is_some() || situation.head_meets(step, meets).is_some()
            }
            Move::Swing(_) => swing_boxes(situation.setup.mill, &step.before).any(meets),
            Move::Spin(_) | Move::Hold(_) => false,
        };
        if met {
            let serial = Measure::Count(u32::from(piece.serial));
            object(Objection::refuse(serial, Measure::State("unloaded"), NOTE));
        }
    }
}

/// Where a free piece lies, and where it may fall: entry side, exit side.
fn zones(situation: &Situation<'_>, piece: &Piece) -> [Option<Block>; 3] {
    let kerf = situation.setup.mill.blade.kerf;
    let log = situation.setup.shape.bounds();
    let body = piece.bounds;
    let lying = Block {
        travel: body.travel,
        across: body.across.grown(kerf - Length::um(1)),
        height: Interval::new(body.height.lo - kerf, body.height.hi),
    };
    let width = body.across.length();
    let beside = |across: Interval| Block {
        travel: body.travel,
        across,
        height: Interval::new(Position::ZERO, body.height.hi),
    };
    let entry =
        (piece.entry != Edge::Sawn).then(|| beside(Interval::new(log.across.lo - width, log.across.lo)));
    let exit =
        (piece.exit != Edge::Sawn).then(|| beside(Interval::new(log.across.hi, log.across.hi + width)));
    [Some(lying), entry, exit]
}
