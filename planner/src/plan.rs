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
    /// Two boards of one section end to end, sawn as one and cross-cut after unloading. Both together are no longer
    /// than what the trims leave of the log.
    Pair {
        /// Measured from the end at the operator.
        near: Part,
        /// Measured from the other one.
        far: Part,
    },
}

/// One of two boards that lie end to end in a column.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Part {
    /// Number of the product in the job, from 0.
    pub product: u8,
    /// Length along the log.
    pub length: Length,
}

/// One board that a column becomes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Board {
    /// Number of the product in the job, from 0.
    pub product: u8,
    /// Length along the log.
    pub length: Length,
    /// Where it is measured from.
    pub end: End,
}

impl Use {
    /// The boards it comes to, the near one first: none, one or two.
    ///
    /// ```
    /// use bunkside_planner::plan::{End, Part, Use};
    /// use bunkside_protocol::Length;
    /// let near = Part { product: 0, length: Length::mm(1_800) };
    /// let far = Part { product: 1, length: Length::mm(1_500) };
    /// let ends: Vec<End> = Use::Pair { near, far }.boards().map(|board| board.end).collect();
    /// assert_eq!(ends, [End::Near, End::Far]);
    /// assert_eq!(Use::Waste.boards().count(), 0);
    /// ```
    pub fn boards(self) -> impl Iterator<Item = Board> {
        let one = |part: Part, end| Board {
            product: part.product,
            length: part.length,
            end,
        };
        let both = match self {
            Self::Waste => [None, None],
            Self::Board { product, length, end } => [Some(one(Part { product, length }, end)), None],
            Self::Pair { near, far } => [Some(one(near, End::Near)), Some(one(far, End::Far))],
        };
        both.into_iter().flatten()
    }
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
