//! The cut plan as text: layers from top to bottom, what comes out of each, and how it is freed.
//!
//! ```text
//! plan "G-04"
//!
//! layer down to 187.5 mm with 2 passes
//!   slab
//! hold measure, sweep
//! layer down to 132 mm
//!   take waste to -69.9 mm                  # one by one, each by its own notch
//!   take board "deck" 2.4 m to 75.6 mm
//!   take waste to edge
//! ```
//!
//! `GRAMMAR.md` beside this file is its grammar. From text to what the sequencer works on and back:
//!
//! | step | where | what can be wrong |
//! |---|---|---|
//! | [`parse`] | `grammar`, `check` | words, names, lengths; the order of lines, floors and columns |
//! | [`Document::to_text`] | `document` | nothing: every text comes back byte for byte |
//! | [`Document::lower`] | `lower` | boards the order does not know, or longer than the log |
//! | [`Document::check_pairs`] | `pairs` | two boards in a column that do not go together, by a whole job |
//! | [`write()`] | `write` | nothing: canonical text of any plan |
//!
//! Places across are those of the corner, which the next column begins at, kerf included: nothing here knows the
//! kerf, so two places nearer to each other than a kerf pass here and are refused by the sequencer.

mod above;
mod check;
mod document;
mod fault;
mod grammar;
mod lower;
mod pairs;
mod plan;
mod rounding;
mod words;
mod write;

pub use document::{
    ActItem, Board, ColumnLine, Document, EndWords, HoldLine, LayerLine, Line, LineKind, Pair, Passes, Piece,
    PlanLine, Statement, What, Word,
};
pub use grammar::parse;
pub use plan::{OwnedLayer, OwnedPlan};
pub use words::act_words;
pub use write::{write, write_for, write_set};

/// The most flat passes an author may ask for in one layer. A kerf deeper than this many bites is a slip of the pen.
pub const PASSES_MAX: u8 = 20;
