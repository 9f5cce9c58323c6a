//! What a row is worth over every floor, as stairs: it stays the same over a stretch of floors.

use super::Row;
use super::reach::{Crests, Over, Reaches};
use super::row::{Bench, Full, Middle, Pattern, holds};

/// Floors from one on, up to the next stair.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Stair {
    pub(crate) floor: u32,
    pub(crate) worth: i64,
}

/// Writes the stairs of a row whose floors lie between two, the last included; how many there are.
pub(super) fn stairs(
    reaches: &Reaches<'_>,
    row: &Row<'_>,
    bench: &mut Bench<'_>,
    middle: &Middle,
    crests: &Crests,
    floors: (usize, usize),
    out: &mut [Stair],
) -> Result<usize, Full> {
    let mut climb = Climb {
        reaches,
        row,
        bench,
        middle,
        out,
        made: 0,
        pattern: Pattern::new(),
    };
    let Crests {
        grows_below,
        shrinks_from,
    } = *crests;
    if let Some(grows_to) = grows_below.checked_sub(1).filter(|to| floors.0 <= *to) {
        climb.growing(floors.0, floors.1.min(grows_to))?;
    }
    climb.middle(floors.0.max(grows_below), floors.1.min(shrinks_from - 1))?;
    climb.shrinking(floors.0.max(shrinks_from), floors.1)?;
    Ok(climb.made)
}

struct Climb<'c, 'w> {
    reaches: &'c Reaches<'c>,
    row: &'c Row<'c>,
    bench: &'c mut Bench<'w>,
    middle: &'c Middle,
    out: &'c mut [Stair],
    made: usize,
    pattern: Pattern,
}

impl Climb<'_, '_> {
    fn fill(&mut self, over: Over) -> Result<i64, Full> {
        self.bench
            .fill(self.reaches, self.row, over, self.middle, Some(&mut self.pattern))
    }

    /// The floor furthest from one, on the way to another, up to which the boards just found have room: as `over` has it of
    /// a floor on the way.
    fn as_far(&self, from: usize, to: usize, over: impl Fn(usize) -> Over) -> usize {
        let holds = |floor: usize| holds(self.reaches, self.row, over(floor), &self.pattern);
        // In longer and longer strides, then back between the last two.
        let (mut good, mut stride) = (from, 1);
        let mut bad = loop {
            let left = good.abs_diff(to);
            if left == 0 {
                return to;
            }
            let next = if to > good {
                good + stride.min(left)
            } else {
                good - stride.min(left)
            };
            if !holds(next) {
                break next;
            }
            good = next;
            stride *= 2;
        };
        while good.abs_diff(bad) > 1 {
            let middle = good.midpoint(bad);
            if holds(middle) {
                good = middle;
            } else {
                bad = middle;
            }
        }
        good
    }

    /// Floors over which no room becomes less on the way up: filled from the top one down.
    fn growing(&mut self, low: usize, high: usize) -> Result<(), Full> {
        let begun = self.made;
        let mut floor = high;
        loop {
            let worth = self.fill(Over::Growing(floor))?;
            let last = self.as_far(floor, low, Over::Growing);
            self.put(last, worth, begun)?;
            if last == low {
                break;
            }
            floor = last - 1;
        }
        if let Some(made) = self.out.get_mut(begun..self.made) {
            made.reverse();
        }
        Ok(())
    }

    /// Floors over which no room becomes more on the way up.
    fn shrinking(&mut self, low: usize, high: usize) -> Result<(), Full> {
        let begun = self.made;
        let mut floor = low;
        while floor <= high {
            let worth = self.fill(Over::Shrinking(floor))?;
            self.put(floor, worth, begun)?;
            floor = self.as_far(floor, high, Over::Shrinking) + 1;
        }
        Ok(())
    }

    /// Any floors: what may lie between two is told by the widest rooms there.
    fn middle(&mut self, low: usize, high: usize) -> Result<(), Full> {
        let begun = self.made;
        let mut floor = low;
        while floor <= high {
            let worth = self.fill(Over::One(floor))?;
            let mut last = self.as_far(floor, high, |other| Over::Both(floor, other));
            while last > floor
                && self
                    .bench
                    .fill(self.reaches, self.row, Over::Any(floor, last), self.middle, None)?
                    > worth
            {
                last = floor.midpoint(last);
            }
            self.put(floor, worth, begun)?;
            floor = last + 1;
        }
        Ok(())
    }

    /// One stair more; on one as high as the last nothing changes but, going down, where it begins.
    fn put(&mut self, floor: usize, worth: i64, begun: usize) -> Result<(), Full> {
        let floor = u32::try_from(floor).map_err(|_| Full)?;
        let last = self.made.checked_sub(1).filter(|last| *last >= begun);
        if let Some(last) = last.and_then(|last| self.out.get_mut(last))
            && last.worth == worth
        {
            last.floor = last.floor.min(floor);
            return Ok(());
        }
        *self.out.get_mut(self.made).ok_or(Full)? = Stair { floor, worth };
        self.made += 1;
        Ok(())
    }
}
