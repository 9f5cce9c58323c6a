//! The best layout there is, on a stated step.
//!
//! Layers are stacked from the lowest floor up, waste of any height between them; in each, boards of its height stand
//! side by side, waste of any width between them. What a layer is worth hangs on its floor alone, so that the best stack is
//! found by going up the log once (`stack`); what it is worth changes only at few floors, so that a layer is filled
//! anew only there (`stairs`). Both are exact: every floor and every corner on the step is looked at or told to be no
//! better than one that was.
//!
//! | file | holds |
//! |---|---|
//! | `laid`, `order`, `covers` | from what is wanted to boards that may lie equally high, none that another one is as good as |
//! | `heart` | pith or rot that boards keep clear of, or hold inside |
//! | `stand` | what of a partly sawn log still stands, and where boards lie in it |
//! | `grain` | where boards lie flat or quarter sawn |
//! | `wane` | boards of which corners may be missing, and which stretches they need |
//! | `rooms`, `reach` | how far across each stretch of the log holds wood, at every height |
//! | `row`, `knap` | the best boards side by side; those in the middle, where all have room |
//! | `stairs`, `stack`, `best` | what rows are worth by floor, the best stack of them, and both for one log at given prices |
//! | `covers` | which boards are as good as others |
//! | `counted`, `group` | limits of numbers and what is owed: products of which more bring less |
//! | `prices`, `seen` | the prices at which no more is taken than there may be |
//! | `search`, `kept`, `ways`, `beam`, `outlook`, `tariff` | what prices leave open: a search, layouts to begin with, and prices for the stacks in it |
//! | `relaxed` | a bound for whatever step, or none |
//! | `sheet`, `sawn` | layers and boards closed up; as boards and as a cut plan |

mod apart;
mod beam;
pub(crate) mod best;
pub(crate) mod counted;
#[cfg(test)]
mod counted_tests;
mod covers;
mod grain;
mod group;
mod heart;
mod kept;
mod knap;
mod laid;
mod order;
mod outlook;
#[cfg(test)]
mod outside_tests;
mod prices;
mod reach;
mod relaxed;
mod rooms;
mod row;
mod sawn;
mod search;
mod seen;
pub(crate) mod sheet;
#[cfg(test)]
mod small;
mod stack;
mod stairs;
mod stand;
mod tariff;
#[cfg(test)]
mod tests;
mod wane;
mod ways;

pub use best::Memory;
pub use counted::{Desk, Found, Label, Lent, Open};
pub use grain::{Grain, Pith, Side};
pub use heart::{Core, Heart};
pub use knap::Sum;
pub use laid::Wanted;
pub use order::{BARRED_MAX, Barred, Tier};
pub use reach::{Crests, Reach};
pub use relaxed::bound;
use rooms::Heights;
pub use row::{Full, Way};
pub use sawn::{Asked, Placed, Sawn, by_prices, exact, leaning};
pub use seen::One;
pub use sheet::{Lean, Sheet};
pub use stack::{Mark, Rise, Rising};
pub use stairs::Stair;
pub use wane::{CLASSES_MAX, Class, Wane, stretches};
pub use ways::State;

/// Micrometres across the bed.
pub(crate) type Um = i32;

/// A board that may be laid into a layer of one height.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Item {
    /// Its width.
    pub(crate) width: Um,
    /// From its corner to the next: width and kerf, rounded up to the step.
    pub(crate) advance: Um,
    /// The stretches of the log that it needs: one, or those of two boards end to end.
    pub(crate) reach: [Reach; 2],
    /// Between which places it may lie, wherever there is room.
    pub(crate) within: (Um, Um),
    /// What it is worth.
    pub(crate) worth: i64,
    /// The product and which of its lengths; of two boards end to end, the near one first.
    pub(crate) boards: [Option<[u8; 2]>; 2],
}

/// The boards that lie equally high.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Row<'a> {
    /// Steps from the floor to the face: height and kerf, rounded up.
    pub(crate) advance: usize,
    /// Steps from the floor to their undersides, rounded down.
    pub(crate) kerf: usize,
    /// Its floors lie from here to there, the last included.
    pub(crate) floors: (usize, usize),
    /// The boards.
    pub(crate) items: &'a [Item],
}
