//! What has come free.

use super::carve::Lost;
use super::groups::{Groups, Least};
use super::{Cell, NotJudged, Owner, Piece, Stock, Threads, sort_few};
use crate::geometry::{Interval, Shape};
use crate::limits::{CELLS_MAX, PIECES_MAX};

impl Stock {
    /// Finds groups of the body's cells that no longer rest on the bunks, makes pieces of them, and answers how
    /// many. Groups too thin to be a piece are sawdust and vanish.
    ///
    /// # Errors
    ///
    /// [`NotJudged::Thread`] where a piece hangs by so little that nobody can say whether it does, and where there are
    /// more pieces than fit.
    pub(super) fn separate(&mut self, shape: &Shape, lost: Lost<'_>) -> Result<usize, NotJudged> {
        let mut groups = Groups::new();
        match self.threads {
            Threads::Hold => self.join(shape, &mut groups, Least::ANY, &|_, _| true),
            Threads::Break | Threads::Unknown => self.join_surely(shape, &mut groups),
        }
        let mut resting = self.resting(&mut groups);
        if self.threads == Threads::Unknown && !self.all_rest(&resting) {
            // What rests hangs together already.
            let rests = |index: usize| resting.get(index).copied().unwrap_or(false);
            self.join(shape, &mut groups, Least::ANY, &|a, b| !(rests(a) && rests(b)));
            let perhaps = self.resting(&mut groups);
            let (mut hangs, mut stout) = ([false; CELLS_MAX], false);
            for (index, cell) in self.cells.iter().enumerate() {
                let [surely, perhaps] =
                    [&resting, &perhaps].map(|rests| rests.get(index).copied().unwrap_or(false));
                if let (Some(slot), true, false) = (hangs.get_mut(index), perhaps, surely) {
                    *slot = true;
                    // A lath or a skin by itself is no part: whether it may stand, `thin-wood` tells.
                    stout |= !self.is_thin(cell);
                }
            }
            if stout && self.outline(shape, &hangs).is_some_and(|part| !part.is_scrap()) {
                return Err(NotJudged::Thread);
            }
            resting = perhaps;
        }
        let first = self.pieces.len();
        for index in 0..self.cells.len() {
            let root = groups.root(index);
            let loose = self.cells.get(root).is_some_and(|cell| cell.owner == Owner::Body)
                && !resting.get(index).copied().unwrap_or(false);
            if loose && root == index {
                self.adopt(shape, &mut groups, root)?;
            }
        }
        for (cell, height) in self.cells().filter(|(cell, _)| cell.owner == Owner::Piece(DUST)) {
            lost(cell.block(height));
        }
        self.cells.retain(|cell| cell.owner != Owner::Piece(DUST));
        self.number_from_entry(first);
        Ok(self.pieces.len() - first)
    }

    /// Makes a piece of one group.
    fn adopt(&mut self, shape: &Shape, groups: &mut Groups, root: usize) -> Result<(), NotJudged> {
        let mut owned = [false; CELLS_MAX];
        for (index, slot) in owned.iter_mut().enumerate().take(self.cells.len()) {
            *slot = groups.root(index) == root;
        }
        let made = self.outline(shape, &owned);
        let dust = made.is_none_or(|made| made.is_dust());
        let id = if dust {
            DUST
        } else {
            self.free_id().ok_or(NotJudged::TooManyPieces)?
        };
        for (index, cell) in self.cells.iter_mut().enumerate() {
            if owned.get(index).copied().unwrap_or(false) {
                cell.owner = Owner::Piece(id);
            }
        }
        if let (Some(made), false) = (made, dust) {
            let piece = Piece {
                id,
                serial: 0,
                bounds: made.bounds,
                entry: made.entry,
                exit: made.exit,
                bark_edge: made.bark_edge,
            };
            self.pieces.push(piece).map_err(|_| NotJudged::TooManyPieces)?;
        }
        Ok(())
    }

    fn free_id(&self) -> Option<u8> {
        (0..PIECES_MAX).find_map(|id| {
            let id = u8::try_from(id).ok()?;
            self.piece(id).is_none().then_some(id)
        })
    }

    /// Numbers the pieces from `first` on as they lie from the entry side.
    fn number_from_entry(&mut self, first: usize) {
        let Some(new) = self.pieces.get_mut(first..) else {
            return;
        };
        sort_few(new, |piece| {
            (
                piece.bounds.across.lo,
                piece.bounds.travel.lo,
                piece.bounds.height.lo,
            )
        });
        for piece in new {
            self.freed = self.freed.saturating_add(1);
            piece.serial = self.freed;
        }
    }

    /// Which cells hang together with one on which the log rests.
    fn resting(&self, groups: &mut Groups) -> [bool; CELLS_MAX] {
        let mut roots = [false; CELLS_MAX];
        for (index, cell) in self.cells.iter().enumerate() {
            if self.rests(cell)
                && let Some(slot) = roots.get_mut(groups.root(index))
            {
                *slot = true;
            }
        }
        let mut resting = [false; CELLS_MAX];
        for (index, slot) in resting.iter_mut().enumerate().take(self.cells.len()) {
            *slot = roots.get(groups.root(index)).copied().unwrap_or(false);
        }
        resting
    }

    /// Whether all of the body rests.
    fn all_rest(&self, resting: &[bool; CELLS_MAX]) -> bool {
        let mut cells = self.cells.iter().zip(resting);
        cells.all(|(cell, rests)| *rests || cell.owner != Owner::Body)
    }

    /// Whether a cell of the body holds wood on which the log rests.
    fn rests(&self, cell: &Cell) -> bool {
        let height = self.band(cell.band);
        cell.owner == Owner::Body
            && self.rests.iter().any(|rest| {
                cell.travel.contains(rest.travel)
                    && height.lo <= rest.lowest
                    && rest.lowest < height.hi
                    && touches(cell.across, rest.underside)
            })
    }
}

/// Whether a cell lies over an underside: over its point, or over some of its face.
fn touches(across: Interval, underside: Interval) -> bool {
    if underside.is_empty() {
        across.contains(underside.lo)
    } else {
        across.overlaps(underside)
    }
}

/// The number that no piece has: for sawdust on its way out.
const DUST: u8 = u8::MAX;
