//! How the log is brought onto the bunks, and how far off the next one stays. Common practice, no source.

use bunkside_planner::geometry::{Block, Interval};
use bunkside_planner::machine::{Apart, blade_bounds, head_boxes};
use bunkside_planner::replay::Setup;
use bunkside_protocol::mill::Side;
use bunkside_protocol::{Length, Position};
use serde::Serialize;

use super::roll::{Roll, roll};
use super::{BunkRow, Role};
use crate::job::mass_with_bark;
use crate::trace::Trace;

/// From which side logs are brought on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Way {
    /// From the entry side.
    Entry,
    /// From the exit side.
    Exit,
}

/// On which hand that lies, looking outbound.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Hand {
    /// On the left.
    Left,
    /// On the right.
    Right,
}

/// How the log is brought onto the bunks.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Staging {
    /// From the entry side, so that it is laid against the exit side's wedges, which hold it against the saw; from the exit
    /// side where only the entry side is barred.
    pub side: Way,
    /// On which hand that lies, looking outbound.
    pub hand: Hand,
    /// Whether a dog or a keep-out box stands in the way on that side.
    pub barred: bool,
    /// One bearer beside each bunk that carries.
    pub bearers: Vec<Bearer>,
    /// From the bed's centre line: so far off stays whatever waits on that side while this log is sawn, the blade turning or
    /// not, clear of blade, head and pieces that fall.
    pub clear_um: Length,
    /// What the log weighs with its bark, as dense as its wood.
    pub mass_kg: f64,
    /// How thick its bark is.
    #[serde(skip)]
    pub bark_um: Length,
    /// From when on the wedges do not stop it where it rolls; none where it does not roll.
    pub roll: Option<Roll>,
}

impl Staging {
    /// How far off is told: so much more that no figure in whole centimetres or eighths of an inch falls short of it.
    #[must_use]
    pub fn clear_told(&self) -> Length {
        self.clear_um + Length::mm(5)
    }
}

/// One staging bearer.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Bearer {
    /// Beside which bunk, by its number from 1.
    pub bunk: usize,
    /// Its top above the bed: level with the packing of that bunk, so that the log comes on without a climb or a drop.
    pub top_um: Position,
}

/// How the log of a sequence that ran is staged.
pub(super) fn staging(setup: &Setup<'_>, trace: &Trace, bunks: &[BunkRow]) -> Staging {
    let blocked = |side| barred(setup, side);
    let side = if blocked(Way::Entry) && !blocked(Way::Exit) {
        Way::Exit
    } else {
        Way::Entry
    };
    let carry = bunks.iter().filter(|row| row.role == Role::Carries);
    Staging {
        side,
        hand: match (setup.mill.entry, side) {
            (Side::Left, Way::Entry) | (Side::Right, Way::Exit) => Hand::Left,
            (Side::Left, Way::Exit) | (Side::Right, Way::Entry) => Hand::Right,
        },
        barred: blocked(side),
        bearers: carry
            .filter_map(|row| {
                let (bark, _) = setup.shape.undersides(row.at_um)?;
                Some(Bearer {
                    bunk: row.bunk,
                    top_um: bark,
                })
            })
            .collect(),
        clear_um: clear(setup, trace, side),
        mass_kg: mass_with_bark(&setup.shape, setup.log),
        bark_um: setup.log.bark,
        roll: roll(setup, bunks),
    }
}

/// Whether a dog or a keep-out box stands where a log would roll in from a side.
fn barred(setup: &Setup<'_>, side: Way) -> bool {
    let (mill, log) = (setup.mill, setup.shape.bounds());
    let middle = |stretch: Interval| stretch.lo + stretch.length().half_floor();
    let mut boxes = mill.dogs.iter().chain(&mill.keep_out).map(Block::from_record);
    boxes.any(|one| {
        let beside = match side {
            Way::Entry => middle(one.across) < middle(log.across),
            Way::Exit => middle(one.across) >= middle(log.across),
        };
        let rolled = Interval::new(Position::ZERO, log.height.hi);
        beside && one.travel.overlaps(log.travel) && one.height.overlaps(rolled)
    })
}

/// How far from the bed's centre line blade and head reach beside the log on a side, with its clearance, or a freed piece
/// falls: the larger.
fn clear(setup: &Setup<'_>, trace: &Trace, side: Way) -> Length {
    let (mill, log) = (setup.mill, setup.shape.bounds());
    let out = |stretch: Interval| match side {
        Way::Entry => -stretch.lo.from_origin(),
        Way::Exit => stretch.hi.from_origin(),
    };
    let steps = trace.moves.iter().map(|traced| &traced.step);
    let machine = steps.flat_map(|step| {
        let blade = blade_bounds(mill, &step.before, &step.after);
        head_boxes(mill, &step.before, &step.after)
            .chain([blade])
            .collect::<Vec<_>>()
    });
    let beside = machine.filter(|part| part.travel.overlaps(log.travel) && part.height.lo < log.height.hi);
    let machine = beside
        .map(|part| out(part.across) + Apart::body(mill).across)
        .max();
    let pieces = trace.moves.iter().flat_map(|traced| &traced.freed);
    let falls = pieces.map(|piece| out(log.across) + piece.falls_out()).max();
    let least = out(log.across);
    machine.into_iter().chain(falls).fold(least, Length::max)
}
