//! Which boards come from where.
//!
//! A layout fills a [`Draft`], which lends itself as a [`CutPlan`](crate::plan::CutPlan). The plain layout is the
//! hand habit; better ones take the same seam.

mod draft;
mod drawing;
pub mod exact;
mod mend;
mod plain;
mod room;

use bunkside_protocol::{Length, Position};

pub use draft::{Draft, DraftFull};
pub use drawing::{Remains, lowest_floor};
pub use mend::{Mend, Side as Wider, height_on};
pub use plain::{LayoutError, plain};

use crate::machine::Apart;
use crate::replay::Setup;

/// How much higher the lowest floor lies, try by try, where what stands would move.
pub const HIGHER: [Length; 8] = [
    Length::um(500),
    Length::mm(1),
    Length::mm(2),
    Length::mm(5),
    Length::mm(10),
    Length::mm(20),
    Length::mm(40),
    Length::mm(80),
];

/// A floor over metal in the log, where a kerf on this one would come too near to it.
#[must_use]
pub fn over_metal(setup: &Setup<'_>, floor: Position) -> Option<Position> {
    let (kerf, clear) = (setup.mill.blade.kerf, Apart::metal(setup.mill).height);
    let metal = setup.log.metal.iter().map(|metal| (metal.min[2], metal.max[2]));
    let near = metal.filter(|(low, high)| floor < *high + clear && *low - clear < floor + kerf);
    near.map(|(_, high)| high + clear).max()
}

/// What may be sawn out of the log: target sizes, green.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Product<'a> {
    /// Height of the board as it lies.
    pub thickness: Length,
    /// Its width as it lies.
    pub width: Length,
    /// Its lengths; any order.
    pub lengths: &'a [Length],
    /// No more than so many.
    pub most: Option<u16>,
}
