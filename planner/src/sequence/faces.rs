//! What a layer looks like where it is opened: its face, where a stroke that runs through has its rim, what still holds
//! a column.

use bunkside_protocol::{Angle, Length, Position};
use heapless::Vec;

use super::PlanErrorKind;
use crate::geometry::{Block, Interval};
use crate::limits::{BARK_SHEET, FIN, LIGAMENT, SLAB_COLUMNS_MAX};
use crate::machine::{Pose, kerf_box, outward, room_over_kerf};
use crate::plan::{Column, Freeing, Use};
use crate::replay::Setup;
use crate::stock::{Pick, Stock};

/// The wood that stands, asked about one floor or another.
#[derive(Clone, Copy)]
pub struct Faces<'f, 'a> {
    /// The log on the mill.
    pub setup: &'f Setup<'a>,
    /// What stands.
    pub stock: &'f Stock,
}

impl Faces<'_, '_> {
    /// From the entry-most to the exit-most wood on a floor, in the height of its kerf; none where nothing stands on it.
    #[must_use]
    pub fn face(&self, floor: Position) -> Option<Interval> {
        let kerf = self.setup.mill.blade.kerf;
        let block = Block {
            travel: Interval::ALL,
            across: Interval::ALL,
            height: Interval::new(floor, floor + kerf),
        };
        // Only where something stands on it is it a face.
        let over = Block {
            height: Interval::new(floor + kerf, Position::MAX),
            ..block
        };
        self.met(over)?;
        self.met(block).map(|wood| wood.across)
    }

    /// The face of a slab: the same, but where all that stands is no higher than the kerf, and goes as dust, a face is sawn as well.
    /// Less than the mill sets places to is left.
    #[must_use]
    pub fn slab_face(&self, floor: Position) -> Option<Interval> {
        let mill = self.setup.mill;
        let dust = Block {
            travel: Interval::ALL,
            across: Interval::ALL,
            height: Interval::new(floor + mill.grid, floor + mill.blade.kerf),
        };
        self.face(floor)
            .or_else(|| self.met(dust).map(|wood| wood.across))
    }

    /// Where the rim of a flat stroke that runs through stands: just beyond the outermost wood.
    #[must_use]
    pub fn rim(&self, outermost: Position) -> Position {
        let mill = self.setup.mill;
        // What may hide between samples, as far as the rule on overhang lets the rim follow it.
        let between = self
            .setup
            .shape
            .between()
            .min(mill.clearances.rim_overhang - self.beyond());
        outward(outermost + between.max(Length::ZERO) + FIN + FIN, mill.grid, true)
    }

    /// By how much the rim may come to stand beyond the outermost wood, on a log whose samples hide nothing.
    #[must_use]
    pub fn beyond(&self) -> Length {
        FIN + FIN + self.setup.mill.grid
    }

    /// Whether there is wood on the floor on the entry side of a kerf.
    #[must_use]
    pub fn wood_before(&self, across: Position, floor: Position) -> bool {
        let kerf = self.setup.mill.blade.kerf;
        let block = Block {
            travel: Interval::ALL,
            across: Interval::new(Position::MIN, across - kerf),
            height: Interval::new(floor, Position::MAX),
        };
        self.met(block).is_some()
    }

    /// Whether wood on the exit side of a kerf, at the floor, still holds what is cut there: if not, the flat stroke
    /// runs through and frees all at once.
    #[must_use]
    pub fn held_beyond(&self, across: Position, floor: Position) -> bool {
        let kerf = self.setup.mill.blade.kerf;
        let shape = &self.setup.shape;
        shape.any_within(shape.travel(), false, |section| {
            // It holds through the bottom and the top of the kerf's height alike. Beyond the last column nothing has
            // been cut at this floor yet, so the log's own outline tells.
            [floor, floor + kerf].into_iter().all(|edge| {
                section
                    .chord(edge)
                    .is_some_and(|chord| chord.hi > across + LIGAMENT)
            })
        })
    }

    /// Whether wood stands on a finished layer: from where, across.
    #[must_use]
    pub fn left_on(&self, floor: Position) -> Option<Position> {
        let block = Block {
            travel: Interval::ALL,
            across: Interval::ALL,
            height: Interval::new(floor + self.setup.mill.blade.kerf, Position::MAX),
        };
        self.met(block).map(|wood| wood.across.lo)
    }

    /// The columns of even width in which a slab comes off: one where the blade reaches across. None where there is no
    /// slab.
    ///
    /// # Errors
    ///
    /// [`PlanErrorKind::TooWide`] where it would take more of them than there may be.
    pub fn slab(&self, floor: Position) -> Result<Vec<Column, SLAB_COLUMNS_MAX>, PlanErrorKind> {
        let mut columns: Vec<Column, SLAB_COLUMNS_MAX> = Vec::new();
        let Some(face) = self.slab_face(floor) else {
            return Ok(columns);
        };
        let rim = self.rim(face.hi);
        let over = Interval::new(floor, Position::MAX);
        // The housing has to stay clear of the bark on the entry side.
        let sections = self.setup.shape.rough().iter();
        let bark = sections
            .filter_map(|section| section.width_within(over))
            .map(|width| width.lo)
            .min();
        let entry = bark.unwrap_or(face.lo).min(face.lo);
        let in_hand = self.setup.shape.between() + self.setup.mill.grid + Length::mm(1);
        let room = room_over_kerf(self.setup.mill, Angle::Flat, Length::ZERO) - in_hand;
        let count = (rim - entry).wide().div_euclid(room.wide().max(1)) + 1;
        for column in 1..=count {
            let to = entry + Length::um((rim - entry).wide() * column / count);
            let to = (column < count).then_some(to);
            let column = Column {
                to,
                freeing: Freeing::Take,
                use_: Use::Waste,
            };
            columns.push(column).map_err(|_| PlanErrorKind::TooWide {
                cover: rim - entry,
                limit: room,
            })?;
        }
        Ok(columns)
    }

    /// Whether nothing but bark stands over a flat kerf, and so much that it comes loose as a sheet.
    pub(super) fn is_under_bark(&self, pose: &Pose) -> bool {
        let shape = &self.setup.shape;
        if shape.bark() < BARK_SHEET {
            return false;
        }
        let kerf = kerf_box(self.setup.mill, pose, Interval::ALL);
        let over = Block {
            height: Interval::new(kerf.height.hi, Position::MAX),
            ..kerf
        };
        let bark = self.stock.bark_alone(shape, over);
        bark.is_some_and(|bark| bark.thick >= BARK_SHEET)
    }

    fn met(&self, block: Block) -> Option<Block> {
        self.stock.met(&self.setup.shape, block, Pick::Body)
    }
}

#[cfg(test)]
mod tests;
