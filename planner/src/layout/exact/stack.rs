//! The best stack of layers.

use heapless::Vec;

use super::apart::place_below;
use super::order::{Bar, Rows};
use super::reach::{Crests, Over, Reaches};
use super::row::{Bench, Full, Middle, Pattern, corners};
use super::stairs::Stair;
use super::{Row, Um};
use crate::limits::PLAN_LAYERS_MAX;

/// Memory for a stack, lent by whoever asks for it.
#[derive(Debug)]
pub(crate) struct Work<'w> {
    pub(crate) bench: Bench<'w>,
    pub(crate) rising: &'w mut [Rising],
    pub(crate) marks: &'w mut [Mark],
    pub(crate) stairs: &'w mut [Stair],
    /// The faces from which on the best stack below is worth more, from the lowest up.
    pub(crate) rises: &'w mut [Rise],
}

/// A face from which on the best stack below is worth more than below any lower one.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Rise {
    pub(super) worth: i64,
    /// Where layers are kept apart, and there is one for each face, that one up to it below which the best stack is worth most.
    pub(super) face: u32,
    /// The row that it ends with.
    pub(super) row: u16,
}

/// A layer of the best stack.
#[derive(Clone, Debug)]
pub(crate) struct Level {
    /// Its row.
    pub(crate) row: usize,
    /// Its floor, in steps.
    pub(crate) floor: usize,
    /// The boards, from the entry side on.
    pub(crate) pattern: Pattern,
    /// Where each begins.
    pub(crate) corners: Vec<Um, { super::row::BOARDS_MAX }>,
}

/// Most floors that are looked at together at first.
const BLOCK: usize = 64;

/// How much is known of a row over the floors of a block.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
enum Known {
    /// Nothing yet.
    #[default]
    Nothing,
    /// That it is worth no more, by its room.
    AtMost,
    /// That it is worth no more, by the best boards in the widest rooms.
    NoMore,
    /// All: stairs, from here to there, and the one where the floor is.
    Stairs { at: usize, end: usize },
}

/// A row on the way up.
#[derive(Clone, Debug, Default)]
pub struct Rising {
    middle: Middle,
    crests: Crests,
    /// How many floors are looked at together at first.
    block: usize,
    /// The last floor.
    pub(super) last: usize,
    /// The last floor for which `worth` holds.
    until: usize,
    pub(super) worth: i64,
    known: Known,
}

/// The best stack, and the rows that were climbed for it: these are where the memory was lent, until it is lent again.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Rank {
    /// How many rises the best stack has.
    pub(super) rises: usize,
    /// The one that its first layer has; none where it has no layer.
    pub(super) top: Option<usize>,
    /// See [`Span::apart`].
    pub(super) apart: usize,
}

/// Between which heights a stack is looked for, in steps.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Span<'t> {
    /// No floor lies lower, and no face higher.
    pub(crate) lowest: usize,
    pub(crate) highest: usize,
    /// The least that may be between two layers unless there is nothing; 0 where anything may.
    pub(crate) apart: usize,
    /// Whether that holds between the highest height and the first layer too.
    pub(crate) under: bool,
    /// Where rows do not lie; looked at where layers are kept apart.
    pub(crate) barred: &'t [Bar],
}

impl Span<'_> {
    /// All heights, anything between layers.
    pub(crate) const ALL: Self = Self {
        lowest: 0,
        highest: usize::MAX,
        apart: 0,
        under: false,
        barred: &[],
    };

    /// Past the highest face.
    pub(super) fn end(&self, reaches: &Reaches<'_>) -> usize {
        reaches.heights().min(self.highest.saturating_add(1))
    }
}

impl Rank {
    /// What the best stack within a span is worth. [`levels`] takes it apart.
    pub(crate) fn stack(
        reaches: &Reaches<'_>,
        rows: &Rows<'_>,
        span: Span<'_>,
        work: &mut Work<'_>,
    ) -> Result<(Self, i64), Full> {
        let heights = reaches.heights();
        let items = rows.iter().flat_map(|row| row.items);
        work.bench.widest_gap = items.map(|item| item.advance - item.width).max().unwrap_or(0);
        let rising = work.rising.get_mut(..rows.len()).ok_or(Full)?;
        let marks = work.marks.get_mut(..rows.len()).ok_or(Full)?;
        let block = work.stairs.len().checked_div(rows.len()).unwrap_or(0).min(BLOCK);
        if block == 0 && rows.len() > 0 {
            return Err(Full);
        }
        let mut sums = 0;
        for (row, (slot, mark)) in rows.iter().zip(rising.iter_mut().zip(marks)) {
            let room = reaches.widest + work.bench.widest_gap;
            let middle = work.bench.middle(row.items, room, &mut sums)?;
            let last = (heights - 1).saturating_sub(row.advance).min(row.floors.1);
            let first = span.lowest.max(row.floors.0);
            *mark = Mark {
                next: first.saturating_add(row.advance),
                rises: 0,
            };
            *slot = Rising {
                middle,
                crests: Crests::of(reaches, &row, (first, last.max(first))),
                block,
                last,
                until: 0,
                worth: 0,
                known: Known::Nothing,
            };
        }
        match span.apart {
            0 => Self::climb(reaches, rows, span, work),
            _ => Self::climb_apart(reaches, rows, span, work),
        }
    }

    fn climb(
        reaches: &Reaches<'_>,
        rows: &Rows<'_>,
        span: Span<'_>,
        work: &mut Work<'_>,
    ) -> Result<(Self, i64), Full> {
        let Work {
            bench,
            rising: all,
            marks,
            stairs,
            rises: lent,
        } = work;
        let marks = marks.get_mut(..rows.len()).ok_or(Full)?;
        let (mut most, mut made) = (0, 0);
        for face in span.lowest..span.end(reaches) {
            let mut best: Option<(i64, u16)> = None;
            for (number, mark) in (0_u16..).zip(&mut *marks) {
                if face < mark.next {
                    continue;
                }
                let at = usize::from(number);
                let (Some(row), Some(rising)) = (rows.get(at), all.get_mut(at)) else {
                    continue;
                };
                let floor = face - row.advance;
                if floor > rising.last {
                    mark.next = usize::MAX;
                    continue;
                }
                let rises = lent.get(..made).ok_or(Full)?;
                let starts = |rise: &Rise| usize::try_from(rise.face).unwrap_or(usize::MAX);
                while rises.get(mark.rises).is_some_and(|rise| starts(rise) <= floor) {
                    mark.rises += 1;
                }
                let below = mark.rises.checked_sub(1).and_then(|last| rises.get(last));
                let below = below.map_or(0, |rise| rise.worth);
                let least = best.map_or(most, |best| best.0) - below;
                if rising.come(reaches, &row, floor, least, bench, (at, stairs))? {
                    best = Some((below + rising.worth, number));
                }
                // Until then it is worth no more, and so is what lies below: a rise that is still to come begins here at least.
                let risen = rises.get(mark.rises).map_or(face, starts);
                mark.next = (rising.until + 1).min(risen.max(floor + 1)) + row.advance;
            }
            if let Some((worth, row)) = best {
                let face = u32::try_from(face).map_err(|_| Full)?;
                *lent.get_mut(made).ok_or(Full)? = Rise { worth, face, row };
                (most, made) = (worth, made + 1);
            }
        }
        let top = made.checked_sub(1);
        let rank = Self {
            rises: made,
            top,
            apart: 0,
        };
        Ok((rank, most))
    }
}

/// What is known of a row at a glance.
#[derive(Clone, Copy, Debug, Default)]
pub struct Mark {
    /// Below this face it is worth no more than it was.
    pub(super) next: usize,
    /// How many of the rises lie at or below its floor.
    rises: usize,
}

impl Rising {
    /// Comes to a floor; whether it is worth more than so much there, which is looked into no closer than it takes.
    pub(super) fn come(
        &mut self,
        reaches: &Reaches<'_>,
        row: &Row<'_>,
        floor: usize,
        least: i64,
        bench: &mut Bench<'_>,
        (number, stairs): (usize, &mut [Stair]),
    ) -> Result<bool, Full> {
        loop {
            if floor > self.until || self.known == Known::Nothing {
                self.step(reaches, row, floor, bench, stairs)?;
            } else if self.worth <= least {
                return Ok(false);
            } else if !self.look_closer(reaches, row, floor, bench, stairs, number * self.block)? {
                return Ok(true);
            }
        }
    }

    /// Comes to a floor past the last for which its worth holds.
    fn step(
        &mut self,
        reaches: &Reaches<'_>,
        row: &Row<'_>,
        floor: usize,
        bench: &Bench<'_>,
        stairs: &[Stair],
    ) -> Result<(), Full> {
        if let Known::Stairs { at, end } = self.known
            && at + 1 < end
        {
            self.stand(at + 1, end, self.end_of_block(floor), stairs);
            return Ok(());
        }
        self.until = self.end_of_block(floor).min(self.last);
        self.worth = bench.at_most(&self.middle, reaches.around(row, self.over(floor)));
        self.known = Known::AtMost;
        Ok(())
    }

    /// The last floor of the block that one is in.
    const fn end_of_block(&self, floor: usize) -> usize {
        floor - floor % self.block + self.block - 1
    }

    /// The floors of the block from one on.
    fn over(&self, floor: usize) -> Over {
        if self.until < self.crests.grows_below {
            Over::Growing(self.until)
        } else if floor >= self.crests.shrinks_from {
            Over::Shrinking(floor)
        } else {
            Over::Any(floor, self.until)
        }
    }

    fn stand(&mut self, at: usize, end: usize, last: usize, stairs: &[Stair]) {
        let next = stairs.get(at + 1).filter(|_| at + 1 < end);
        let next = next.and_then(|stair| usize::try_from(stair.floor).ok());
        self.until = next.map_or(last.min(self.last), |next| next - 1);
        self.worth = stairs.get(at).map_or(0, |stair| stair.worth);
        self.known = Known::Stairs { at, end };
    }

    /// Comes to know more of the floors from one on; no where there is no more to know.
    fn look_closer(
        &mut self,
        reaches: &Reaches<'_>,
        row: &Row<'_>,
        floor: usize,
        bench: &mut Bench<'_>,
        stairs: &mut [Stair],
        flight: usize,
    ) -> Result<bool, Full> {
        match self.known {
            Known::AtMost => {
                self.worth = bench.fill(reaches, row, self.over(floor), &self.middle, None)?;
                self.known = Known::NoMore;
            }
            Known::NoMore => {
                let out = stairs.get_mut(flight..flight + self.block).ok_or(Full)?;
                let made = super::stairs::stairs(
                    reaches,
                    row,
                    bench,
                    &self.middle,
                    &self.crests,
                    (floor, self.until),
                    out,
                )?;
                self.stand(flight, flight + made, self.until, stairs);
            }
            Known::Nothing | Known::Stairs { .. } => return Ok(false),
        }
        Ok(true)
    }
}

/// The layers of the stack that was found last, from the top down.
pub(crate) fn levels(
    rank: &Rank,
    reaches: &Reaches<'_>,
    rows: &Rows<'_>,
    work: &mut Work<'_>,
    each: &mut dyn FnMut(Level),
) -> Result<i64, Full> {
    let (mut worth, mut layers, mut next) = (0, 0, rank.top);
    while let Some((at, rise)) = next.and_then(|at| Some((at, *work.rises.get(at)?))) {
        let face = match rank.apart {
            0 => usize::try_from(rise.face).map_err(|_| Full)?,
            _ => at,
        };
        let number = usize::from(rise.row);
        let (Some(row), true) = (rows.get(number), layers < PLAN_LAYERS_MAX) else {
            return Err(Full);
        };
        layers += 1;
        let floor = face - row.advance;
        let mut pattern = Pattern::new();
        let over = Over::One(floor);
        let middle = &work.rising.get(number).ok_or(Full)?.middle;
        worth += work.bench.fill(reaches, &row, over, middle, Some(&mut pattern))?;
        each(Level {
            row: number,
            floor,
            corners: corners(reaches, &row, over, &pattern),
            pattern,
        });
        next = place_below(work.rises.get(..rank.rises).unwrap_or(&[]), floor, rank.apart);
    }
    Ok(worth)
}
