//! The cut plan as data: layers from top to bottom, columns from entry to exit side, and how each is freed.
//!
//! It is borrowed, so that a host keeps it in growing lists and a controller in constants.

use bunkside_protocol::{Acts, Length, Position};

/// How a column is freed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Freeing {
    /// By its own notch, one column at a time.
    Take,
    /// Edged by an upright kerf and freed together with its neighbours by one flat stroke.
    Release,
}

/// Which end of the log a shorter board is measured from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum End {
    /// The end at the operator.
    Near,
    /// The other one.
    Far,
}

/// What a column becomes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Use {
    /// Nothing that was ordered.
    Waste,
    /// A board of this product, by its number in the job, with its length and the end it is measured from.
    Board {
        /// Number of the product in the job, from 0.
        product: u8,
        /// Length along the log.
        length: Length,
        /// Where it is measured from.
        end: End,
    },
}

/// One upright slice of a layer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Column {
    /// Corner of its upright kerf; none where the column runs to the wood's own edge on the exit side.
    pub to: Option<Position>,
    /// How it is freed.
    pub freeing: Freeing,
    /// What it becomes.
    pub use_: Use,
}

/// One horizontal slice of the log.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Layer<'a> {
    /// Corner height of its flat kerf: the kerf lies on top of it.
    pub floor: Position,
    /// Columns from the entry side on. None: the layer is one slab, freed whole by flat strokes.
    pub columns: &'a [Column],
    /// How many flat passes the author asks for; none leaves it to the sequencer.
    pub passes: Option<u8>,
    /// A hold before the layer is begun.
    pub hold: Acts,
}

/// Layers from top to bottom.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct CutPlan<'a> {
    /// The layers, each floor below the one before.
    pub layers: &'a [Layer<'a>],
}
