//! The wood that remains.
//!
//! The stock is a stack of **bands** of height; each band holds **cells**, boxes across and along, and the wood of
//! a cell is what the log's section holds of it. A kerf is a box that is taken out of the cells, so a kerf that
//! does not run through the whole log leaves a cell standing at its end, and that cell still joins what it joins.
//!
//! | after | bands (from below) | cells |
//! |---|---|---|
//! | nothing | 1 | the whole log |
//! | a flat kerf to half the width | 3: under, kerf, over | 1 + 1 + 1: the kerf's band keeps its exit side |
//! | an upright kerf down to it | 3 | 1 + 1 + 2: the entry one of the two joins nothing any more |
//! | the freed piece is taken away | 2 | 1 + 1 |
//!
//! What no longer hangs together with the wood that rests on the bunks is a free [`Piece`]. Bands that have become
//! alike collapse into one; cells without wood vanish.

mod carried;
mod carve;
mod cell;
mod connect;
mod groups;
mod neck;
mod open;
mod outline;
mod piece;
mod query;
mod screen;
mod slender;
mod thin;
mod undercut;

use bunkside_protocol::mill::BUNKS_MAX;
use bunkside_protocol::{Length, Position};
use heapless::Vec;

pub use cell::{Cell, Owner};
pub use neck::Neck;
pub(crate) use outline::is_scrap;
pub use piece::{Edge, Piece};
pub(crate) use query::Bark;
pub use query::Pick;
pub use slender::{Slender, Thin};

use crate::geometry::{Interval, Shape};
use crate::limits::{BANDS_MAX, CELLS_MAX, FIN, PIECES_MAX};

/// What the stock cannot represent. It counts as refused.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NotJudged {
    /// More levels with wood of different outline than [`BANDS_MAX`].
    TooManyBands,
    /// More separate boxes of wood than [`CELLS_MAX`].
    TooManyCells,
    /// More free pieces on or beside the log than [`PIECES_MAX`].
    TooManyPieces,
    /// More strokes whose end is in doubt than can be judged both ways.
    TooManyDoubts,
    /// A cut that changes across or height while it runs.
    CombinedAxes,
    /// A part that hangs by less wood than holds it for sure: 3 mm, or what the axes are true to where that is more.
    Thread,
}

impl core::fmt::Display for NotJudged {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::TooManyBands => write!(f, "more than {BANDS_MAX} levels are open at one time"),
            Self::TooManyCells => write!(f, "more than {CELLS_MAX} parts of wood stand at one time"),
            Self::TooManyPieces => write!(f, "more than {PIECES_MAX} free pieces wait to be unloaded"),
            Self::TooManyDoubts => {
                f.write_str("too many strokes end where nobody can say whether they run through")
            }
            Self::CombinedAxes => f.write_str("a cut moves across or in height as well as along the rails"),
            Self::Thread => f.write_str(
                "a part hangs by less than 3 mm of wood, or than the axes are true to: nobody can say whether it comes free",
            ),
        }
    }
}

impl core::error::Error for NotJudged {}

/// What stands, what is free, and what each is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stock {
    /// Where each band starts, rising; a band ends where the next one starts.
    floors: Vec<Position, BANDS_MAX>,
    /// Sorted by band, then across, then along.
    cells: Vec<Cell, CELLS_MAX>,
    pieces: Vec<Piece, PIECES_MAX>,
    /// Where the log rests.
    rests: Vec<Rest, BUNKS_MAX>,
    /// How many pieces have come off so far.
    freed: u16,
    /// Wood that hangs by no more than this may hang or not.
    thread: Length,
    /// How far beyond the end of its full depth a kerf falls short of that by no more than a thread: the blade is round.
    cusp: Length,
    threads: Threads,
}

/// Whether parts hang on that hang by less wood than holds for sure.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Threads {
    /// Nobody has said: a kerf that leaves such a part is not judged.
    Unknown,
    /// They hang on.
    Hold,
    /// They come free.
    Break,
}

impl Stock {
    /// The whole log, lying on the bunks at `rests`; bunks beyond its ends do not count. Without any it counts as
    /// resting on its whole length.
    #[must_use]
    pub fn new(shape: &Shape, rests: impl IntoIterator<Item = Position>) -> Self {
        Self::with_thread(shape, rests, [FIN, Length::ZERO])
    }

    /// The same where nobody can say whether wood no thicker than `thread` holds a part; the blade leaves as little for a `cusp`
    /// beyond the end of its full depth.
    pub(crate) fn with_thread(
        shape: &Shape,
        rests: impl IntoIterator<Item = Position>,
        [thread, cusp]: [Length; 2],
    ) -> Self {
        let mut stock = Self {
            floors: Vec::new(),
            cells: Vec::new(),
            pieces: Vec::new(),
            rests: Vec::new(),
            freed: 0,
            thread: thread.max(FIN),
            cusp,
            threads: if thread > FIN {
                Threads::Unknown
            } else {
                Threads::Hold
            },
        };
        // The first of each cannot fail: every capacity is above zero.
        let _ = stock.floors.push(Position::MIN);
        let _ = stock.cells.push(Cell {
            band: 0,
            owner: Owner::Body,
            settled: false,
            across: Interval::ALL,
            travel: Interval::ALL,
        });
        let log = shape.travel();
        for rest in rests.into_iter().filter(|rest| log.contains(*rest)) {
            stock.rest_at(shape, rest);
        }
        if stock.rests.is_empty() {
            let middle = log.lo + log.length().half_floor();
            for rest in [log.lo, middle, log.hi] {
                stock.rest_at(shape, rest);
            }
        }
        stock
    }

    /// The same where such a part is taken to hang on.
    #[must_use]
    pub const fn with_threads_held(mut self) -> Self {
        self.threads = Threads::Hold;
        self
    }

    /// The same where such a part comes free with the next kerf.
    #[must_use]
    pub const fn with_threads_broken(mut self) -> Self {
        self.threads = Threads::Break;
        self
    }

    /// Whether something may hang by a thread, or lie free.
    #[must_use]
    pub fn is_in_doubt(&self) -> bool {
        self.thread > FIN && self.threads != Threads::Unknown
    }

    /// Forgets what was said of such parts.
    pub(crate) fn ask_of_threads(&mut self) {
        if self.thread > FIN {
            self.threads = Threads::Unknown;
        }
    }

    /// Says what becomes of such parts.
    pub(crate) const fn say_of_threads(&mut self, threads: Threads) {
        self.threads = threads;
    }

    /// Takes note of a place along the rails where the log rests.
    fn rest_at(&mut self, shape: &Shape, travel: Position) {
        if let Some(section) = shape.wood_at(travel) {
            // A mill has no more bunks, and three are fewer.
            let _ = self.rests.push(Rest {
                travel,
                lowest: section.height().lo,
                underside: section.underside(),
            });
        }
    }

    /// Becomes another one, in place.
    pub(crate) fn copy_from(&mut self, other: &Self) {
        copy(&mut self.floors, &other.floors);
        copy(&mut self.cells, &other.cells);
        copy(&mut self.pieces, &other.pieces);
        copy(&mut self.rests, &other.rests);
        self.freed = other.freed;
        (self.thread, self.cusp, self.threads) = (other.thread, other.cusp, other.threads);
    }

    /// The free pieces that have not been unloaded.
    #[must_use]
    pub fn pieces(&self) -> &[Piece] {
        &self.pieces
    }

    /// The pieces that came off last, so many of them.
    #[must_use]
    pub fn newest(&self, count: usize) -> &[Piece] {
        self.pieces
            .get(self.pieces.len().saturating_sub(count)..)
            .unwrap_or(&[])
    }

    /// The piece with this number in the stock, while it has not been unloaded.
    #[must_use]
    pub fn piece(&self, id: u8) -> Option<&Piece> {
        self.pieces.iter().find(|piece| piece.id == id)
    }

    /// How many pieces have come off so far, unloaded or not.
    #[must_use]
    pub const fn freed(&self) -> u16 {
        self.freed
    }

    /// Takes the free pieces away and tells how many there were.
    pub fn unload(&mut self) -> usize {
        let count = self.pieces.len();
        self.pieces.clear();
        self.cells.retain(|cell| cell.owner == Owner::Body);
        self.collapse();
        count
    }

    /// Every cell with the stretch of height it stands in.
    pub fn cells(&self) -> impl Iterator<Item = (&Cell, Interval)> {
        self.cells.iter().map(|cell| (cell, self.band(cell.band)))
    }

    /// Up to which height the body is whole, all across and all along: below the lowest kerf.
    #[must_use]
    pub fn intact_up_to(&self) -> Position {
        let mut up_to = Position::MIN;
        for (cell, band) in self.cells() {
            let whole = cell.owner == Owner::Body
                && cell.across == Interval::ALL
                && cell.travel == Interval::ALL
                && band.lo == up_to;
            if !whole {
                break;
            }
            up_to = band.hi;
        }
        up_to
    }

    /// Where each band of height begins, rising.
    pub(crate) fn floors(&self) -> &[Position] {
        &self.floors
    }

    /// How many bands and cells are in use.
    #[must_use]
    pub fn in_use(&self) -> (usize, usize) {
        (self.floors.len(), self.cells.len())
    }

    /// The stretch of height of a band.
    fn band(&self, band: u8) -> Interval {
        let index = usize::from(band);
        let lo = self.floors.get(index).copied().unwrap_or(Position::MAX);
        let hi = self.floors.get(index + 1).copied().unwrap_or(Position::MAX);
        Interval::new(lo, hi)
    }

    /// The cells of one band.
    fn cells_of(&self, band: u8) -> &[Cell] {
        let start = self.cells.partition_point(|cell| cell.band < band);
        let end = self.cells.partition_point(|cell| cell.band <= band);
        self.cells.get(start..end).unwrap_or(&[])
    }
}

/// A place where the log rests: along the rails, and its underside there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Rest {
    travel: Position,
    lowest: Position,
    underside: Interval,
}

fn copy<T: Copy, const N: usize>(to: &mut Vec<T, N>, from: &Vec<T, N>) {
    to.clear();
    // Both have the same capacity.
    let _ = to.extend_from_slice(from);
}

/// Sorts items that are nearly in order, or few: what has been added at the end goes where it belongs.
fn sort_few<T, K: Ord>(items: &mut [T], key: impl Fn(&T) -> K) {
    for end in 1..items.len() {
        let Some((sorted, [next, ..])) = items.split_at_checked(end) else {
            return;
        };
        let wanted = key(next);
        if sorted.last().is_some_and(|last| key(last) <= wanted) {
            continue;
        }
        let place = sorted.partition_point(|item| key(item) <= wanted);
        if let Some(moved) = items.get_mut(place..=end) {
            moved.rotate_right(1);
        }
    }
}
