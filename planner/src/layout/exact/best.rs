//! The best layout of a log.

use bunkside_protocol::{Angle, Length, Position};
use heapless::Vec;

use super::group::Few;
use super::heart::Core;
use super::knap::Sum;
use super::laid::Wanted;
use super::order::{Barred, Rows, Terms, Tier, lengths};
use super::reach::{Reach, Reaches};
use super::relaxed::{sooner, span, widen};
use super::rooms::{Heights, LENGTHS_MAX, Log, fill};
use super::row::{Bench, Full, Way};
use super::seen::One;
use super::stack::{Level, Mark, Rank, Rise, Rising, Span, Work, levels};
use super::stairs::Stair;
use super::stand::Stand;
use super::wane::{Class, Classes};
use super::{Item, Row, Um};
use crate::geometry::Interval;
use crate::layout::room::axis;
use crate::replay::Setup;
use crate::stock::{Slender, Stock};

/// Memory for a layout, lent by whoever asks for it.
#[derive(Debug)]
pub struct Memory<'w> {
    /// Rooms: one for each stretch, of which [`super::stretches`] tells the number, and height.
    pub chords: &'w mut [(Um, Um)],
    /// What boards of which corners may be missing have in common: one for each amount that may be, lying and on edge.
    pub classes: &'w mut [Class],
    /// Rows.
    pub tiers: &'w mut [Tier],
    /// Boards of rows.
    pub items: &'w mut [Item],
    /// Rows on the way up: one for each.
    pub rising: &'w mut [Rising],
    /// The same at a glance.
    pub marks: &'w mut [Mark],
    /// Ways to fill a row.
    pub ways: &'w mut [Way],
    /// The best of them.
    pub front: &'w mut [u32],
    /// The room of each board of a row.
    pub rooms: &'w mut [(Um, Um)],
    /// Layouts as prices are set by them: up to 60 where numbers are limited, and none where they are not.
    pub seen: &'w mut [One],
    /// What rows are worth: 64 for each row; with fewer, so many floors are looked at together.
    pub stairs: &'w mut [Stair],
    /// What stacks are worth: one for each height at most.
    pub rises: &'w mut [Rise],
    /// Best boards in so much room.
    pub sums: &'w mut [Sum],
}

/// What was found.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct Best {
    pub(crate) worth: i64,
    /// How many rows were filled for it.
    pub(crate) filled: usize,
    /// How many heights there were.
    pub(crate) heights: usize,
    /// How many rises the best stack has.
    pub(super) rises: usize,
}

/// Where a layout is looked for.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Ground<'a> {
    pub(crate) setup: &'a Setup<'a>,
    /// The part of the log that boards may come from.
    pub(crate) usable: Interval,
    pub(crate) lowest: Position,
    pub(crate) top: Position,
    /// Whether that is a face that is sawn.
    pub(crate) flat_top: bool,
    /// Whether what is between two layers comes off as a piece, unless there is nothing.
    pub(crate) apart: bool,
    /// Where layers do not lie.
    pub(crate) barred: &'a [Barred],
    pub(crate) step: Length,
    /// The widest flat and the highest upright kerf.
    pub(crate) reach: [Length; 2],
    /// Pith or rot, if there is any.
    pub(crate) core: Option<Core>,
    /// What still stands, where the log is partly sawn.
    pub(crate) standing: Option<&'a Stock>,
    /// Whether boards keep off metal there.
    pub(crate) off_metal: bool,
    /// See [`Asked::reached`](super::Asked::reached).
    pub(crate) reached: Option<i64>,
    /// Whether no more is looked for than a bound that holds on whatever step: see `relaxed`.
    pub(crate) relaxed: bool,
}

/// Looks for layouts on one ground.
#[derive(Debug)]
pub(crate) struct Solver<'a, 'w> {
    pub(super) wanted: &'a [Wanted<'a>],
    pub(super) terms: Terms,
    /// See [`Ground::reached`].
    pub(super) reached: Option<i64>,
    pub(super) lengths: Vec<Length, LENGTHS_MAX>,
    pub(super) classes: Classes<'w>,
    pub(super) reaches: Reaches<'w>,
    pub(super) near: Vec<u16, LENGTHS_MAX>,
    pub(super) far: Vec<u16, LENGTHS_MAX>,
    pub(super) tiers: &'w mut [Tier],
    pub(super) items: &'w mut [Item],
    pub(super) seen: &'w mut [One],
    pub(super) work: Work<'w>,
}

/// A level and its row.
pub(crate) type Each<'e> = &'e mut dyn FnMut(&Level, &Row<'_>);

impl<'a, 'w> Solver<'a, 'w> {
    #[inline(never)]
    pub(crate) fn new(
        ground: &Ground<'_>,
        wanted: &'a [Wanted<'a>],
        memory: Memory<'w>,
    ) -> Result<Self, Full> {
        let heights = Heights::of(ground.lowest, ground.top, ground.step);
        let lengths = lengths(wanted)?;
        let count = lengths.len();
        let mut classes = Classes::of(wanted, &lengths, memory.classes)?;
        let log = Log {
            shape: &ground.setup.shape,
            usable: ground.usable,
            across: axis(ground.setup.mill),
        };
        let span = ground
            .relaxed
            .then(|| span(wanted, ground.setup.mill.blade.kerf, ground.step));
        fill(&log, &lengths, &heights, memory.chords)?;
        if let Some(span) = span {
            let rooms = memory.chords.get_mut(..2 * count * heights.count).ok_or(Full)?;
            for rooms in rooms.chunks_exact_mut(heights.count) {
                widen(rooms, span, log.across);
            }
        }
        let stretches = usize::from(classes.stretches());
        let chords = memory.chords.get_mut(..stretches * heights.count).ok_or(Full)?;
        classes.fill(&log, &lengths, (&heights, span), chords)?;
        if ground.relaxed {
            sooner(chords, ground.step.as_um());
        }
        if let Some(core) = ground.core {
            classes.cored = core.met(&log, &lengths, &heights)?;
        }
        if let Some(stock) = ground.standing {
            let stand = Stand::of(stock, ground.usable)?;
            classes.stand = Some(if ground.off_metal {
                stand.off_metal(ground.setup)
            } else {
                stand
            });
        }
        if wanted.iter().any(Wanted::lies_by_grain) {
            classes.find_pith(&log, &lengths, (&heights, span))?;
        }
        let reaches = Reaches::new(chords, heights.count, ground.step.as_um());
        let number = u16::try_from(count).map_err(|_| Full)?;
        let mut terms = Terms {
            heights,
            kerf: ground.setup.mill.blade.kerf,
            thin: Angle::ALL.map(|angle| Slender::between(ground.setup.mill, angle)),
            reach: ground.reach,
            usable: ground.usable.length(),
            relaxed: ground.relaxed,
            flat_top: ground.flat_top,
            apart: 0,
            barred: Vec::new(),
        };
        if ground.apart {
            terms.apart = terms.least_between();
        } else if !ground.barred.is_empty() {
            // Anything may be between two layers.
            terms.apart = 1;
        }
        for barred in ground.barred {
            terms.bar(barred)?;
        }
        Ok(Self {
            wanted,
            terms,
            reached: ground.reached,
            near: widest(&reaches, number, false),
            far: widest(&reaches, number, true),
            lengths,
            classes,
            reaches,
            tiers: memory.tiers,
            items: memory.items,
            seen: memory.seen,
            work: Work {
                bench: Bench {
                    ways: memory.ways,
                    front: memory.front,
                    rooms: memory.rooms,
                    sums: memory.sums,
                    widest_gap: 0,
                    filled: 0,
                },
                rising: memory.rising,
                marks: memory.marks,
                stairs: memory.stairs,
                rises: memory.rises,
            },
        })
    }

    /// Finds the best layout where each board of a product is worth so much `less` than it is.
    #[inline(never)]
    pub(crate) fn solve(&mut self, less: &[i64], each: Each<'_>) -> Result<Best, Full> {
        let known = (self.wanted, &self.terms, (&self.lengths, &self.classes));
        let lent = (&mut *self.tiers, &mut *self.items);
        let rows = rows_of(known, (&self.near, &self.far), (less, None), lent)?;
        self.work.bench.filled = 0;
        let span = Span {
            apart: self.terms.apart,
            under: self.terms.flat_top,
            barred: &self.terms.barred,
            ..Span::ALL
        };
        let (rank, worth) = Rank::stack(&self.reaches, &rows, span, &mut self.work)?;
        let found = Best {
            worth,
            filled: self.work.bench.filled,
            heights: self.terms.heights.count,
            rises: rank.rises,
        };
        levels(&rank, &self.reaches, &rows, &mut self.work, &mut |level| {
            if let Some(row) = rows.get(level.row) {
                each(&level, &row);
            }
        })?;
        Ok(found)
    }
}

/// What is wanted, on which terms, and its lengths and classes.
pub(super) type Known<'k> = (
    &'k [Wanted<'k>],
    &'k Terms,
    (&'k Vec<Length, LENGTHS_MAX>, &'k Classes<'k>),
);

/// The rows of what is wanted at such prices; where products are counted, those that another may not stand in for are kept.
pub(super) fn rows_of<'i>(
    (wanted, terms, (lengths, classes)): Known<'_>,
    (near, far): (&[u16], &[u16]),
    (less, limited): (&[i64], Option<&[Few]>),
    lent: (&'i mut [Tier], &'i mut [Item]),
) -> Result<Rows<'i>, Full> {
    let number = u16::try_from(lengths.len()).map_err(|_| Full)?;
    let whole = |a: u16, b: u16| match (a < number, b < number) {
        (true, true) | (false, false) => a <= b,
        (true, false) => near.get(usize::from(a)).is_some_and(|from| *from <= b - number),
        (false, true) => far.get(usize::from(a - number)).is_some_and(|from| *from <= b),
    };
    let wider = |a: &Reach, b: &Reach| {
        let wood = match (a.class, b.class) {
            (None, None) => whole(a.under, b.under),
            _ => classes.wider(a, b),
        };
        wood && a.lines.wider(&b.lines)
    };
    let lengths = (lengths.clone(), classes);
    Rows::of(wanted, terms, lengths, &wider, (less, limited), lent)
}

/// For each stretch from one end, by rising length, the shortest from the other end that has no more room anywhere.
fn widest(reaches: &Reaches<'_>, count: u16, from_far: bool) -> Vec<u16, LENGTHS_MAX> {
    let mut least = 0;
    let mut all = Vec::new();
    for number in 0..count {
        let (mine, others) = if from_far {
            (count + number, 0)
        } else {
            (number, count)
        };
        while least < count && !reaches.covers(mine, others + least) {
            least += 1;
        }
        // As many as lengths: there is room.
        let _ = all.push(least);
    }
    all
}
