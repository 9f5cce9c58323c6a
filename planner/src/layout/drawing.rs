//! A cut plan being drawn: slabs over the opened face, and what is waste beside the boards.

use bunkside_protocol::{Angle, Length, Position};

use super::draft::{Draft, DraftFull};
use super::room::top;
use crate::geometry::{Interval, Section, Shape};
use crate::limits::LIGAMENT;
use crate::machine::{Apart, outward, room_over_kerf};
use crate::physics::dogs::closed;
use crate::physics::wedges;
use crate::plan::{Column, Freeing, Use};
use crate::replay::Setup;
use crate::stock::{Owner, Stock};

/// A log that is partly sawn, to be laid out.
#[derive(Clone, Copy, Debug)]
pub struct Remains<'a> {
    /// What stands.
    pub stock: &'a Stock,
    /// Whether boards come only from what is whole all across and all along, and all that stands over the lowest kerf is taken away
    /// as waste first.
    pub only_whole: bool,
    /// Whether boards, and the kerfs beside and under them, keep off the metal in the log: else that is looked into only when moves are
    /// made.
    pub off_metal: bool,
}

impl Remains<'_> {
    /// Up to where boards may lie at most.
    pub(super) fn top(&self, shape: &Shape) -> Option<Position> {
        let top = self.stock.wood_top(shape)?;
        Some(if self.only_whole {
            top.min(self.stock.intact_up_to())
        } else {
            top
        })
    }
}

/// What is laid out: a log, or what still stands of it.
#[derive(Clone, Copy)]
pub(super) struct Timber<'a> {
    pub(super) setup: &'a Setup<'a>,
    /// What still stands, where the log is partly sawn.
    standing: Option<Remains<'a>>,
}

/// A cut plan of a log in the making.
pub(super) struct Drawing<'a, 'd, const COLUMNS: usize> {
    pub(super) timber: Timber<'a>,
    pub(super) draft: &'d mut Draft<COLUMNS>,
}

impl<'a, const COLUMNS: usize> core::ops::Deref for Drawing<'a, '_, COLUMNS> {
    type Target = Timber<'a>;

    fn deref(&self) -> &Timber<'a> {
        &self.timber
    }
}

/// The lowest floor that stays clear of bed, packing and the wedges that stand on it, over the whole log.
#[must_use]
pub fn lowest_floor(setup: &Setup<'_>) -> Position {
    let (mill, log, shape) = (setup.mill, setup.log, &setup.shape);
    let own = Apart::bed(mill).height;
    let tops = mill.bunks.iter().map(|bunk| bunk.top);
    let bed = tops.fold(Position::ZERO, Position::max) + own.max(log.bed_clearance);
    let under = mill.bunks.iter().filter_map(|bunk| {
        let (_, wood) = shape.undersides(bunk.travel)?;
        let pack = wedges::foot(bunk, shape)?;
        let wedge = wedges::top(mill, bunk, shape).unwrap_or(pack);
        Some((pack.max(wedge) + own).max(wood + LIGAMENT))
    });
    let dogs = mill.dogs.iter().filter_map(|dog| closed(dog, shape));
    let over = dogs.map(|dog| dog.height.hi + own);
    let whole = ridge(shape).map(|underside| underside + LIGAMENT);
    let all = under.chain(over).chain(whole);
    outward(all.fold(bed, Position::max), mill.grid, true)
}

/// The highest underside between two that are lower: a floor no higher lets what stands fall in two.
fn ridge(shape: &Shape) -> Option<Position> {
    let undersides = || shape.wood().iter().map(|section| section.height().lo);
    let lower = |index: usize, underside: Position| {
        let before = undersides().take(index).any(|other| other < underside);
        before && undersides().skip(index + 1).any(|other| other < underside)
    };
    let high = undersides()
        .enumerate()
        .filter(|(index, underside)| lower(*index, *underside));
    high.map(|(_, underside)| underside).max()
}

impl<'a> Timber<'a> {
    pub(super) const fn new(setup: &'a Setup<'a>) -> Self {
        Self::of(setup, None)
    }

    /// Of a log that is partly sawn, or whole.
    pub(super) const fn of(setup: &'a Setup<'a>, standing: Option<Remains<'a>>) -> Self {
        Self { setup, standing }
    }

    /// Up to where boards may lie at most.
    pub(super) fn top(&self) -> Position {
        match self.standing {
            Some(remains) => remains.top(&self.setup.shape).unwrap_or(self.lowest_floor()),
            None => top(self.setup),
        }
    }

    /// As of [`lowest_floor`].
    pub(super) fn lowest_floor(&self) -> Position {
        lowest_floor(self.setup)
    }

    /// How many columns a stretch of waste takes, one at least, and how wide they are.
    pub(super) fn even(&self, width: Length) -> (i32, Length) {
        let [flat, _] = self.reach();
        let room = (flat - Length::mm(1)).wide().max(1);
        let count = width.wide().max(1).div_euclid(room) + 1;
        (
            i32::try_from(count).unwrap_or(i32::MAX),
            Length::um(width.wide() / count),
        )
    }

    /// How far the wood reaches across anywhere along the log in a height.
    pub(super) fn face(&self, height: Interval) -> Interval {
        self.reaches(self.setup.shape.wood(), height)
            .unwrap_or(Interval::new(Position::ZERO, Position::ZERO))
    }

    /// The outermost bark on the entry side anywhere along the log in a height: the housing has to stay clear of it.
    pub(super) fn bark_edge(&self, height: Interval) -> Position {
        let bark = self.reaches(self.setup.shape.rough(), height);
        bark.map_or(Position::ZERO, |bark| bark.lo)
    }

    /// The same, and whether that is the log's own surface and no face that was sawn.
    pub(super) fn entry_edge(&self, height: Interval) -> (Position, bool) {
        let edge = self.bark_edge(height);
        let own = Self::new(self.setup).bark_edge(height);
        (edge, edge <= own)
    }

    /// How far across sections of the log reach in a height, as far as they stand.
    fn reaches(&self, sections: &[Section], height: Interval) -> Option<Interval> {
        let Some(Remains { stock, .. }) = self.standing else {
            let widths = sections.iter().filter_map(|section| section.width_within(height));
            return widths.reduce(Interval::join);
        };
        let body = stock.cells().filter(|(cell, _)| cell.owner == Owner::Body);
        let parts = body.filter_map(|(cell, band)| {
            let height = height.meet(band);
            let along = |section: &&Section| cell.travel.contains(section.travel) && !height.is_empty();
            let held = sections.iter().filter(along);
            let held = held.filter_map(|section| section.across_in(cell.across, height));
            held.reduce(Interval::join)
        });
        parts.reduce(Interval::join)
    }

    /// The widest flat and the highest upright kerf through wood without bark that leave a little in hand.
    pub(super) fn reach(&self) -> [Length; 2] {
        self.room(Length::ZERO)
    }

    /// The same through wood with its bark on.
    pub(super) fn reach_in_bark(&self) -> [Length; 2] {
        self.room(self.setup.shape.bark())
    }

    pub(super) fn room(&self, bark: Length) -> [Length; 2] {
        let mill = self.setup.mill;
        let hand = self.setup.shape.between() + Length::mm(1);
        Angle::ALL.map(|angle| {
            let room = room_over_kerf(mill, angle, bark) - hand;
            outward(Position::um(room.wide()), mill.grid, false).from_origin()
        })
    }
}

impl<const COLUMNS: usize> Drawing<'_, '_, COLUMNS> {
    /// Slabs down to the opened face, each no higher than the blade reaches; where little were left for the last one, the last
    /// two are as high as each other: what is thin between two flat kerfs breaks off beside the blade.
    pub(super) fn slabs(&mut self, opened: Position) -> Result<(), DraftFull> {
        let top = self.top();
        // What stands over a kerf that is not gone on with.
        let over = self
            .standing
            .and_then(|remains| remains.stock.wood_top(&self.setup.shape));
        if let Some(over) = over.filter(|over| *over > top) {
            self.slabs_between(over, top)?;
        }
        self.slabs_between(top, opened)
    }

    fn slabs_between(&mut self, mut above: Position, opened: Position) -> Result<(), DraftFull> {
        let [_, upright] = self.reach_in_bark();
        let step = upright - self.setup.mill.blade.kerf - Length::mm(1);
        while above - opened > step {
            let left = above - step - opened;
            let down = if left.wide() < step.wide() / 4 {
                (above - opened).half_floor()
            } else {
                step
            };
            above = outward(above - down, self.setup.mill.grid, true);
            self.draft.layer(above)?;
        }
        if above - opened > self.setup.mill.grid {
            self.draft.layer(opened)?;
        }
        Ok(())
    }

    /// Waste between two layers, in even layers no higher than the blade reaches.
    pub(super) fn waste_layers(&mut self, above: Position, face: Position) -> Result<(), DraftFull> {
        let [_, upright] = self.reach_in_bark();
        let most = (upright - self.setup.mill.blade.kerf - Length::mm(1))
            .wide()
            .max(1);
        let height = (above - face).wide();
        let count = height.div_euclid(most) + 1;
        for number in 1..=count {
            let down = Length::um(height * number / count);
            self.draft
                .layer(outward(above - down, self.setup.mill.grid, true))?;
        }
        Ok(())
    }

    /// Waste from the wood's edge to the first board, in even columns that the blade reaches across.
    pub(super) fn waste_up_to(&mut self, edge: Position, corner: Position) -> Result<(), DraftFull> {
        let (count, width) = self.even(corner - edge);
        for step in (0..count).rev() {
            self.waste(Some((corner - width.times(step)).snapped(self.setup.mill.grid)))?;
        }
        Ok(())
    }

    /// Waste from the last board to the wood's edge, in even columns that the blade reaches across.
    pub(super) fn waste_to_edge(&mut self, corner: Position, edge: Position) -> Result<(), DraftFull> {
        let (count, width) = self.even(edge - corner);
        for step in 1..count {
            self.waste(Some((corner + width.times(step)).snapped(self.setup.mill.grid)))?;
        }
        self.waste(None)
    }

    pub(super) fn waste(&mut self, to: Option<Position>) -> Result<(), DraftFull> {
        self.draft.column(Column {
            to,
            freeing: Freeing::Take,
            use_: Use::Waste,
        })
    }
}
