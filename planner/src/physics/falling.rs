//! What an upright stroke lets fall: a heavy piece that does not balance on the wood under it.

use bunkside_protocol::Length;

use crate::geometry::{Block, Interval};
use crate::limits::FALLS;
use crate::replay::Setup;
use crate::stock::{Owner, Pick, Piece, Stock};

use super::body;

/// Which way a piece goes over.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Over {
    /// To the entry side.
    Entry,
    /// To the exit side.
    Exit,
    /// Straight down: nothing is under it.
    Down,
}

/// A heavy piece that lies on too little wood, or on none.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Falling {
    /// Its wood, kilograms; bark is not counted.
    pub mass_kg: f64,
    /// Which way it goes over.
    pub over: Over,
    /// Whether it balances so far beyond what it lies on that it drops; else it may tip.
    pub drops: bool,
}

impl Falling {
    /// Its mass in tenths of a kilogram, rounded down.
    #[must_use]
    #[expect(clippy::as_conversions, reason = "the cast saturates")]
    pub fn tenths(&self) -> u32 {
        (self.mass_kg * 10.0) as u32
    }
}

/// The worst of what has just been freed: one that drops before one that may tip, then the heaviest. None where all lie safe, or
/// weigh no more than [`FALLS`].
#[must_use]
pub fn worst(setup: &Setup<'_>, stock: &Stock, freed: &[Piece]) -> Option<Falling> {
    let all = freed.iter().filter_map(|piece| falling(setup, stock, piece));
    all.reduce(|worst, one| {
        let worse = (one.drops, one.mass_kg) > (worst.drops, worst.mass_kg);
        if worse { one } else { worst }
    })
}

/// What becomes of one piece.
fn falling(setup: &Setup<'_>, stock: &Stock, piece: &Piece) -> Option<Falling> {
    let (wood, density) = (piece.bounds, setup.log.density);
    let sides = [wood.travel, wood.across, wood.height].map(|side| f64::from(side.length().as_um()) * 1e-6);
    let box_kg = sides.iter().product::<f64>() * f64::from(density);
    let floor = floor(setup, stock, piece);
    let carried = floor.is_some_and(|floor| floor.lo <= wood.across.lo && wood.across.hi <= floor.hi);
    if carried || box_kg <= FALLS {
        return None;
    }
    let solid = body::piece(stock, &setup.shape, piece.id);
    let mass_kg = solid.mass_kg(density);
    if mass_kg <= FALLS {
        return None;
    }
    let [_, balance, _] = solid.centroid_mm;
    let Some(floor) = floor else {
        return Some(Falling {
            mass_kg,
            over: Over::Down,
            drops: true,
        });
    };
    let mm = |um: i32| f64::from(um) * 1e-3;
    let entry = mm(floor.lo.as_um()) - balance;
    let exit = balance - mm(floor.hi.as_um());
    let (over, beyond) = if entry > exit {
        (Over::Entry, entry)
    } else {
        (Over::Exit, exit)
    };
    (beyond > 0.0).then_some(Falling {
        mass_kg,
        over,
        drops: beyond > mm(wood.across.length().as_um()) / 4.0,
    })
}

/// From where to where across wood lies close under a piece, no further down than it comes to lie on quietly: the body's, or
/// that of another piece.
fn floor(setup: &Setup<'_>, stock: &Stock, piece: &Piece) -> Option<Interval> {
    let kerf = setup.mill.blade.kerf;
    let near: Length = kerf + kerf + kerf;
    let wood = piece.bounds;
    let own = stock
        .cells()
        .filter(|(cell, _)| cell.owner == Owner::Piece(piece.id));
    let under = own.filter_map(|(cell, height)| {
        let low = height.lo.max(wood.height.lo);
        let window = Block {
            travel: cell.travel.meet(wood.travel),
            across: cell.across.meet(wood.across),
            height: Interval::new(low - near, low),
        };
        let body = stock.met(&setup.shape, window, Pick::Body);
        let others = stock.pieces().iter().filter(|other| other.id != piece.id);
        let lies_on = others.map(|other| other.bounds).chain(body);
        lies_on
            .filter(|other| other.overlaps(window))
            .map(|other| other.across.meet(window.across))
            .reduce(Interval::join)
    });
    under.reduce(Interval::join)
}
