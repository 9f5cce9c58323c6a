//! Which boards come from where.
//!
//! A layout fills a [`Draft`], which lends itself as a [`CutPlan`](crate::plan::CutPlan). The plain layout is the
//! hand habit; better ones take the same seam.

mod draft;
mod drawing;
pub mod exact;
mod plain;
mod room;

use bunkside_protocol::Length;

pub use draft::{Draft, DraftFull};
pub use drawing::{Remains, lowest_floor};
pub use plain::{LayoutError, plain};

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
