//! What hangs together, and what has come free.

use super::carve::{Lost, holds_wood};
use super::{Cell, NotJudged, Owner, Piece, Stock, sort_few};
use crate::geometry::{Interval, Shape};
use crate::limits::{CELLS_MAX, CRUMB, FIN, PIECES_MAX};

/// Which cells hang together: each cell names one nearer to its group's root, the root names itself.
struct Groups {
    parent: [u8; CELLS_MAX],
}

impl Groups {
    fn new() -> Self {
        let mut parent = [0; CELLS_MAX];
        for (slot, number) in parent.iter_mut().zip(0u8..) {
            *slot = number;
        }
        Self { parent }
    }

    fn root(&mut self, cell: usize) -> usize {
        let mut at = cell;
        loop {
            let next = self.parent.get(at).map_or(at, |parent| usize::from(*parent));
            if next == at {
                return at;
            }
            // Halve the path on the way, so that it stays short.
            let beyond = self.parent.get(next).copied();
            if let (Some(slot), Some(beyond)) = (self.parent.get_mut(at), beyond) {
                *slot = beyond;
            }
            at = next;
        }
    }

    fn join(&mut self, a: usize, b: usize) {
        let (a, b) = (self.root(a), self.root(b));
        if let (Some(slot), Ok(low)) = (self.parent.get_mut(a.max(b)), u8::try_from(a.min(b))) {
            *slot = low;
        }
    }
}

impl Stock {
    /// Finds groups of the body's cells that no longer rest on the bunks, makes pieces of them, and answers how
    /// many. Groups too thin to be a piece are sawdust and vanish.
    pub(super) fn separate(&mut self, shape: &Shape, lost: Lost<'_>) -> Result<usize, NotJudged> {
        let mut groups = self.groups(shape);
        let mut resting = [false; CELLS_MAX];
        for (index, cell) in self.cells.iter().enumerate() {
            if self.rests(cell)
                && let Some(slot) = resting.get_mut(groups.root(index))
            {
                *slot = true;
            }
        }
        let first = self.pieces.len();
        for index in 0..self.cells.len() {
            let root = groups.root(index);
            let loose = self.cells.get(root).is_some_and(|cell| cell.owner == Owner::Body)
                && !resting.get(root).copied().unwrap_or(false);
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
        let dust = made
            .is_none_or(|made| made.bounds.across.length() < CRUMB || made.bounds.height.length() < CRUMB);
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

    fn groups(&self, shape: &Shape) -> Groups {
        let mut groups = Groups::new();
        for (index, cell) in self.cells.iter().enumerate() {
            let height = self.band(cell.band);
            for (further, other) in self.cells.iter().enumerate().skip(index + 1) {
                if other.band > cell.band + 1 {
                    break;
                }
                // What hangs together already need not be looked at.
                if other.owner != cell.owner || groups.root(index) == groups.root(further) {
                    continue;
                }
                let joined = if other.band == cell.band {
                    joined_beside(shape, cell, other, height)
                } else {
                    joined_above(shape, cell, other, height)
                };
                if joined {
                    groups.join(index, further);
                }
            }
        }
        groups
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

fn joined_beside(shape: &Shape, a: &Cell, b: &Cell, height: Interval) -> bool {
    if a.across.hi == b.across.lo || b.across.hi == a.across.lo {
        let face = if a.across.hi == b.across.lo {
            a.across.hi
        } else {
            a.across.lo
        };
        return shape.any_within(a.travel.meet(b.travel), false, |section| {
            section
                .standing_chord(face)
                .is_some_and(|chord| chord.meet(height).length() > FIN)
        });
    }
    let across = a.across.meet(b.across);
    if across.is_empty() || (a.travel.hi != b.travel.lo && b.travel.hi != a.travel.lo) {
        return false;
    }
    let face = if a.travel.hi == b.travel.lo {
        a.travel.hi
    } else {
        a.travel.lo
    };
    shape.travel().contains(face)
        && shape
            .wood_at(face)
            .is_some_and(|section| holds_wood(&section, across, height))
}

fn joined_above(shape: &Shape, lower: &Cell, upper: &Cell, height: Interval) -> bool {
    let across = lower.across.meet(upper.across);
    if across.is_empty() {
        return false;
    }
    shape.any_within(lower.travel.meet(upper.travel), false, |section| {
        section
            .chord(height.hi)
            .is_some_and(|chord| chord.meet(across).length() > FIN)
    })
}
