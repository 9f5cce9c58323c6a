//! How far wood beside a kerf has been undercut already.

use bunkside_protocol::{Length, Position};

use super::{Cell, Owner, Stock};
use crate::geometry::{Interval, Section, Shape};
use crate::limits::{BESIDE, FIN};

impl Stock {
    /// How far, to the exit side of `across`, the wood that stands above `height` has no wood under it because of
    /// earlier kerfs: the largest over a stretch of the log.
    #[must_use]
    pub fn undercut(&self, shape: &Shape, travel: Interval, across: Position, height: Position) -> Length {
        let beside = across + BESIDE;
        let mut worst = Length::ZERO;
        shape.any_within(travel, false, |section| {
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
        let here = |travel: Interval| travel.contains(section.travel);
        self.cells()
            .filter(|(cell, band)| {
                cell.owner == Owner::Body
                    && here(cell.travel)
                    && cell.across.lo <= beside
                    && beside < cell.across.hi
                    && band.hi > height
                    && section
                        .across_in(Interval::new(beside, beside + FIN), *band)
                        .is_some()
            })
            .filter_map(|(cell, band)| self.gap_under(section, cell, band, beside))
            .max()
    }

    /// Where the gap under one cell ends, if there is one.
    fn gap_under(
        &self,
        section: &Section,
        cell: &Cell,
        band: Interval,
        beside: Position,
    ) -> Option<Position> {
        let here = |travel: Interval| travel.contains(section.travel);
        // The log's own underside is no kerf.
        let under = section.chord(band.lo)?;
        if cell.band == 0 || !under.contains(beside) {
            return None;
        }
        let below = cell.band - 1;
        let mut end = under.hi.min(cell.across.hi);
        for lower in self.cells_of(below).iter().filter(|lower| here(lower.travel)) {
            if lower.across.lo <= beside && beside < lower.across.hi {
                return None;
            }
            if lower.across.lo > beside {
                end = end.min(lower.across.lo);
            }
        }
        Some(end)
    }
}
