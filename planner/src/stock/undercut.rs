//! How far wood beside a kerf has been undercut already.

use bunkside_protocol::{Length, Position};

use super::{Cell, Owner, Stock};
use crate::geometry::{Interval, Section, Shape};
use crate::limits::{BESIDE, FIN, LIGAMENT};

impl Stock {
    /// Whether something of the body stands over a kerf, so that one more beside it would free it.
    #[must_use]
    pub fn is_undercut(&self, shape: &Shape) -> bool {
        let mut body = self
            .cells()
            .filter(|(cell, _)| cell.owner == Owner::Body && cell.band > 0);
        body.any(|(cell, band)| {
            shape.any_within(cell.travel, false, |section| {
                let Some(chord) = section.chord(band.lo) else {
                    return false;
                };
                let Interval { lo: mut at, hi } = chord.meet(cell.across);
                // Cells are sorted from the entry side.
                for lower in self
                    .cells_of(cell.band - 1)
                    .iter()
                    .filter(|lower| lower.is_along(section.travel))
                {
                    if lower.across.lo <= at + LIGAMENT {
                        at = at.max(lower.across.hi);
                    }
                }
                hi - at > LIGAMENT
            })
        })
    }

    /// How far, to the exit side of `across`, the wood that stands above `height` has no wood under it because of
    /// earlier kerfs: the largest over a stretch of the log.
    #[must_use]
    pub fn undercut(&self, shape: &Shape, travel: Interval, across: Position, height: Position) -> Length {
        let beside = across + BESIDE;
        let mut worst = Length::ZERO;
        // Where two cells meet the further one counts, so that the stretch ends just before its end.
        let held = travel.meet(shape.travel());
        let open = Interval::new(held.lo, held.hi - Length::um(1));
        shape.any_within(open, false, |section| {
            worst = worst.max(
                self.undercut_at(section, beside, height)
                    .map_or(Length::ZERO, |end| end - across),
            );
            false
        });
        worst
    }

    /// Where the gap under the wood at `beside` ends, if there is one: the furthest of them.
    fn undercut_at(&self, section: &Section, beside: Position, height: Position) -> Option<Position> {
        let column = Interval::new(beside, beside + FIN);
        let above = Interval::new(height, Position::MAX);
        self.cells()
            .filter(|(cell, band)| {
                cell.owner == Owner::Body
                    && at(cell, section.travel, beside)
                    && section.across_in(column, band.meet(above)).is_some()
            })
            .filter_map(|(cell, _)| self.gap_under(section, cell.band, beside))
            .max()
    }

    /// Where the gap ends under the wood that hangs together at `beside` down from a band, if there is one.
    fn gap_under(&self, section: &Section, from: u8, beside: Position) -> Option<Position> {
        let mut band = from;
        loop {
            // The log's own underside is no kerf.
            let under = section.chord(self.band(band).lo)?;
            if !under.contains(beside) {
                return None;
            }
            let below = band.checked_sub(1)?;
            if !self
                .cells_of(below)
                .iter()
                .any(|cell| at(cell, section.travel, beside))
            {
                return Some(under.hi.min(self.overhang_end(section, band, beside)));
            }
            band = below;
        }
    }

    /// Where the wood of a band that reaches across from `beside` ends, or wood under it begins.
    fn overhang_end(&self, section: &Section, band: u8, beside: Position) -> Position {
        let here = |cell: &&Cell| cell.is_along(section.travel);
        let mut end = beside;
        // Cells are sorted from the entry side.
        for cell in self.cells_of(band).iter().filter(here) {
            if cell.across.lo <= end {
                end = end.max(cell.across.hi);
            }
        }
        let lower = self.cells_of(band.saturating_sub(1)).iter().filter(here);
        let first = lower.map(|cell| cell.across.lo).filter(|lo| *lo > beside).min();
        first.map_or(end, |first| end.min(first))
    }
}

/// Whether a cell stands at a place along and across.
fn at(cell: &Cell, travel: Position, across: Position) -> bool {
    cell.is_along(travel) && cell.across.lo <= across && across < cell.across.hi
}
