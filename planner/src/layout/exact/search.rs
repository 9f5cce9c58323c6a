//! The search among stacks that prices have left open.

use heapless::Vec;

use super::counted::{BLOCK, COUNTED_MAX, Counts, Desk, Found, Label};
use super::reach::{Crests, Over, Reaches};
use super::row::{BOARDS_MAX, Bench, Full, Pattern, corners, holds, set};
use super::sheet::Sheet;
use super::stack::{Level, ROWS_MAX, Rise};
use super::ways::{State, Ways};
use super::{Item, Row, Um};
use crate::limits::PLAN_LAYERS_MAX;

/// What is counted of products.
#[derive(Clone, Copy, Debug)]
pub(super) struct Counted<'p> {
    /// The products, by the place of their count.
    pub(super) products: &'p [u8],
    /// No more than so many of each.
    pub(super) most: Counts,
    /// What is taken off each.
    pub(super) less: [i64; COUNTED_MAX],
    /// What all limits are worth at that.
    pub(super) limits: i64,
}

impl Counted<'_> {
    /// The counts with an item more; none where there would be too many.
    fn with(&self, counts: &Counts, item: &Item) -> Option<Counts> {
        let mut more = *counts;
        for board in item.boards.iter().flatten() {
            if let Some(at) = self.products.iter().position(|product| *product == board[0]) {
                *more.get_mut(at)? += 1;
            }
        }
        self.allows(&more).then_some(more)
    }

    fn allows(&self, counts: &Counts) -> bool {
        counts.iter().zip(&self.most).all(|(count, most)| count <= most)
    }

    /// What is taken off so many.
    fn off(&self, counts: &Counts) -> i64 {
        counts
            .iter()
            .zip(&self.less)
            .map(|(count, less)| i64::from(*count) * less)
            .sum()
    }
}

/// What is searched.
pub(super) struct Search<'s, 'r, 'w, 'l> {
    pub(super) reaches: &'s Reaches<'r>,
    /// Rows at the prices, of what still brings something.
    pub(super) cheap: &'s [Row<'s>],
    /// Rows at full worth, of all that another may not stand in for.
    pub(super) rows: &'s [Row<'s>],
    pub(super) crests: Vec<Crests, ROWS_MAX>,
    pub(super) bench: &'s mut Bench<'w>,
    pub(super) rises: &'s [Rise],
    /// What is worth most below each face where nothing is taken off: a tighter bound for stacks that already have what is limited,
    /// or never get it.
    pub(super) full: &'s [Rise],
    pub(super) counted: Counted<'s>,
    pub(super) lent: &'s mut Desk<'l>,
    pub(super) made: usize,
    pub(super) waiting: usize,
    pub(super) boards: usize,
    /// Boards side by side, made and in order.
    pub(super) states: usize,
    pub(super) found: &'s mut Found,
    pub(super) best: Option<usize>,
}

impl Search<'_, '_, '_, '_> {
    /// Looks at stacks until none is left that may come to more than the best, or there is no more memory; then the most that one
    /// may come to is the bound.
    pub(super) fn run(&mut self) -> Result<(), Full> {
        self.lent.caps.fill(i64::MIN);
        let top = self.reaches.heights() - 1;
        let first = Label {
            floor: u32::try_from(top).map_err(|_| Full)?,
            bound: self.bound(0, &[0; COUNTED_MAX], top),
            ..Label::default()
        };
        if self.put(first).is_err() {
            return Ok(());
        }
        while let Some(number) = self.pop() {
            let Some(label) = self.lent.labels.get(number).copied() else {
                break;
            };
            if label.bound <= self.found.worth {
                self.found.bound = self.found.worth;
                return Ok(());
            }
            self.found.bound = self.found.bound.min(label.bound);
            self.found.stacks += 1;
            if self.expand(number, &label).is_err() {
                return Ok(());
            }
        }
        self.found.bound = self.found.worth;
        Ok(())
    }

    /// What a stack may come to at the prices.
    fn bound(&self, worth: i64, counts: &Counts, floor: usize) -> i64 {
        worth - self.counted.off(counts) + below(self.rises, floor) + self.counted.limits
    }

    /// What a stack may come to at the prices or at none, whichever is less.
    fn least_bound(&self, worth: i64, counts: &Counts, floor: usize) -> i64 {
        self.bound(worth, counts, floor)
            .min(worth + below(self.full, floor))
    }

    /// Every layer that may come next.
    fn expand(&mut self, number: usize, label: &Label) -> Result<(), Full> {
        let room = usize::try_from(label.floor).map_err(|_| Full)?;
        for at in 0..self.rows.len() {
            let (Some(row), Some(crests)) = (self.rows.get(at).copied(), self.crests.get(at).copied()) else {
                continue;
            };
            let Some(highest) = room.checked_sub(row.advance) else {
                continue;
            };
            let (lowest, highest) = (row.floors.0, highest.min(row.floors.1));
            let mut next = Some(highest).filter(|highest| *highest >= lowest);
            while let Some(high) = next {
                let low = if high < crests.grows_below {
                    high
                } else {
                    (high / BLOCK * BLOCK).max(crests.grows_below).max(lowest)
                };
                // Below a floor over which rooms only grow there is nothing that is not there as well.
                next = if high < crests.grows_below {
                    None
                } else {
                    low.checked_sub(1).filter(|next| *next >= lowest)
                };
                if self.cap(at, low, high)? + self.bound(label.worth, &label.counts, high) > self.found.worth
                {
                    self.block(
                        (number, label),
                        (at, &row),
                        (low, high, highest),
                        low >= crests.shrinks_from,
                    )?;
                }
            }
        }
        Ok(())
    }

    /// No layer of a row over floors of a block is worth more at the prices.
    fn cap(&mut self, row: usize, low: usize, high: usize) -> Result<i64, Full> {
        let blocks = self.reaches.heights() / BLOCK + 1;
        let at = row * blocks + low / BLOCK;
        let whole = low.is_multiple_of(BLOCK);
        let known = *self.lent.caps.get(at).ok_or(Full)?;
        if known != i64::MIN && whole {
            return Ok(known);
        }
        let Some(cheap) = self.cheap.get(row) else {
            return Ok(0);
        };
        // The whole block, so that it holds for whatever part of it is asked for next time.
        let last = if whole {
            (low + BLOCK - 1).min((self.reaches.heights() - 1).saturating_sub(cheap.advance))
        } else {
            high
        };
        let over = if last > low {
            Over::Any(low, last)
        } else {
            Over::One(low)
        };
        let ends = self.bench.ends(self.reaches, cheap, over)?;
        let worth = ends.rest(Um::MIN / 4);
        if whole && let Some(cap) = self.lent.caps.get_mut(at) {
            *cap = worth;
        }
        Ok(worth)
    }

    /// The layers of a row over floors of a block.
    fn block(
        &mut self,
        (number, label): (usize, &Label),
        (at, row): (usize, &Row<'_>),
        (low, high, highest): (usize, usize, usize),
        shrinking: bool,
    ) -> Result<(), Full> {
        let need = self.found.worth - self.bound(label.worth, &label.counts, high);
        let mut floor = low;
        while floor <= high {
            self.fill((at, row), floor, &label.counts, need)?;
            let mut until = if shrinking { high } else { floor };
            let mut pattern = Pattern::new();
            for state in 1..self.states {
                if shrinking {
                    self.pattern(state, &mut pattern)?;
                    until = self.as_high(row, &pattern, floor, until);
                }
            }
            // What has room higher up was found there.
            let above = Some(until + 1).filter(|above| shrinking && *above <= highest);
            for state in 1..self.states {
                self.pattern(state, &mut pattern)?;
                if above.is_none_or(|above| !holds(self.reaches, row, Over::One(above), &pattern)) {
                    self.join((number, label), (at, until), state, &pattern)?;
                }
            }
            floor = until + 1;
        }
        Ok(())
    }

    /// Takes a stack with one more layer in, where it may come to more than the best.
    fn join(
        &mut self,
        (number, label): (usize, &Label),
        (at, floor): (usize, usize),
        state: usize,
        pattern: &Pattern,
    ) -> Result<(), Full> {
        let last = *self.lent.states.get(state).ok_or(Full)?;
        let worth = label.worth + last.worth;
        let counts = sum(&label.counts, &last.counts);
        let bound = self.least_bound(worth, &counts, floor);
        if bound <= self.found.worth && worth <= self.found.worth {
            return Ok(());
        }
        let first = self.boards;
        let kept = self
            .lent
            .boards
            .get_mut(first..first + pattern.len())
            .ok_or(Full)?;
        kept.copy_from_slice(pattern);
        let taken = self.put(Label {
            floor: u32::try_from(floor).map_err(|_| Full)?,
            row: u16::try_from(at).map_err(|_| Full)?,
            boards: u16::try_from(pattern.len()).map_err(|_| Full)?,
            first: u32::try_from(first).map_err(|_| Full)?,
            above: u32::try_from(number).map_err(|_| Full)?,
            worth,
            bound,
            counts,
        })?;
        if taken {
            self.boards += pattern.len();
        }
        Ok(())
    }

    /// The highest floor, up to one, over which boards that have room over another one have it.
    fn as_high(&self, row: &Row<'_>, pattern: &Pattern, from: usize, to: usize) -> usize {
        let (mut good, mut bad) = (from, to + 1);
        while bad - good > 1 {
            let middle = good.midpoint(bad);
            if holds(self.reaches, row, Over::One(middle), pattern) {
                good = middle;
            } else {
                bad = middle;
            }
        }
        good
    }

    /// Every way to fill a layer that may be worth more than so much at the prices, with what another one is as good as left out.
    fn fill(
        &mut self,
        (at, row): (usize, &Row<'_>),
        floor: usize,
        taken: &Counts,
        need: i64,
    ) -> Result<(), Full> {
        let over = Over::One(floor);
        let rooms = self.lent.rooms.get_mut(..row.items.len()).ok_or(Full)?;
        for (room, item) in rooms.iter_mut().zip(row.items) {
            *room = self.reaches.item(row, item, over);
        }
        let cheap = self.cheap.get(at).ok_or(Full)?;
        let ends = self.bench.ends(self.reaches, cheap, over)?;
        let mut ways = Ways {
            states: self.lent.states,
            order: self.lent.order,
            made: 0,
            next: 0,
        };
        ways.take(State {
            corner: Um::MIN / 4,
            ..State::default()
        })?;
        while let Some((number, state)) = ways.next() {
            if usize::from(state.boards) >= BOARDS_MAX {
                continue;
            }
            for (item_number, (item, room)) in (0..).zip(row.items.iter().zip(&*rooms)) {
                let Some(corner) = set(item, *room, state.corner, self.reaches.step) else {
                    continue;
                };
                let Some(counts) = self.counted.with(&state.counts, item) else {
                    continue;
                };
                let more = State {
                    corner,
                    item: item_number,
                    boards: state.boards + 1,
                    before: number,
                    worth: state.worth + item.worth,
                    counts,
                };
                let promises = more.worth - self.counted.off(&counts) + ends.rest(corner) > need;
                if promises && self.counted.allows(&sum(&counts, taken)) && !ways.have_better(&more) {
                    ways.take(more)?;
                }
            }
        }
        self.states = ways.made;
        Ok(())
    }

    /// The boards of a state, from the entry side on.
    fn pattern(&self, state: usize, out: &mut Pattern) -> Result<(), Full> {
        out.clear();
        let mut at = state;
        while let Some(state) = self.lent.states.get(at).filter(|state| state.boards > 0) {
            out.push(state.item).map_err(|_| Full)?;
            at = usize::try_from(state.before).map_err(|_| Full)?;
        }
        out.reverse();
        Ok(())
    }

    /// Takes a stack in, unless another one is as good; whether it was taken in.
    fn put(&mut self, label: Label) -> Result<bool, Full> {
        let better = |other: &Label| {
            other.floor >= label.floor
                && other.worth >= label.worth
                && other.counts.iter().zip(&label.counts).all(|(a, b)| a <= b)
        };
        if self
            .lent
            .labels
            .get(..self.made)
            .unwrap_or(&[])
            .iter()
            .any(better)
        {
            return Ok(false);
        }
        *self.lent.labels.get_mut(self.made).ok_or(Full)? = label;
        if label.worth > self.found.worth {
            self.found.worth = label.worth;
            self.best = Some(self.made);
        }
        self.push(self.made)?;
        self.made += 1;
        Ok(true)
    }

    fn rank(&self, place: usize) -> Option<i64> {
        let number = usize::try_from(*self.lent.heap.get(place)?).ok()?;
        Some(self.lent.labels.get(number)?.bound)
    }

    fn push(&mut self, number: usize) -> Result<(), Full> {
        let mut place = self.waiting;
        *self.lent.heap.get_mut(place).ok_or(Full)? = u32::try_from(number).map_err(|_| Full)?;
        self.waiting += 1;
        while place > 0 && self.rank((place - 1) / 2) < self.rank(place) {
            self.lent.heap.swap(place, (place - 1) / 2);
            place = (place - 1) / 2;
        }
        Ok(())
    }

    /// The stack that may come to most.
    fn pop(&mut self) -> Option<usize> {
        let first = *self.lent.heap.get(..self.waiting)?.first()?;
        self.waiting -= 1;
        self.lent.heap.swap(0, self.waiting);
        let mut place = 0;
        loop {
            let children = [2 * place + 1, 2 * place + 2];
            let mut best = place;
            for child in children {
                if child < self.waiting && self.rank(child) > self.rank(best) {
                    best = child;
                }
            }
            if best == place {
                return usize::try_from(first).ok();
            }
            self.lent.heap.swap(place, best);
            place = best;
        }
    }

    /// Draws the layers of the best stack from the top down; no where none is better than what was known.
    pub(super) fn draw(&self, sheet: &mut Sheet) -> Result<bool, Full> {
        let Some(best) = self.best else { return Ok(false) };
        let mut layers: Vec<usize, PLAN_LAYERS_MAX> = Vec::new();
        let mut at = best;
        while at > 0 {
            layers.push(at).map_err(|_| Full)?;
            let label = self.lent.labels.get(at).ok_or(Full)?;
            at = usize::try_from(label.above).map_err(|_| Full)?;
        }
        for at in layers.iter().rev() {
            let label = self.lent.labels.get(*at).ok_or(Full)?;
            let first = usize::try_from(label.first).map_err(|_| Full)?;
            let boards = self
                .lent
                .boards
                .get(first..first + usize::from(label.boards))
                .ok_or(Full)?;
            let row = self.rows.get(usize::from(label.row)).ok_or(Full)?;
            let floor = usize::try_from(label.floor).map_err(|_| Full)?;
            let pattern = Pattern::from_slice(boards).map_err(|_| Full)?;
            let level = Level {
                row: usize::from(label.row),
                floor,
                corners: corners(self.reaches, row, Over::One(floor), &pattern),
                pattern,
            };
            sheet.add(&level, row, &[[true; 2]; BOARDS_MAX])?;
        }
        Ok(true)
    }
}

/// What the best stack below a floor is worth.
fn below(rises: &[Rise], floor: usize) -> i64 {
    let after = rises.partition_point(|rise| usize::try_from(rise.face).is_ok_and(|face| face <= floor));
    after
        .checked_sub(1)
        .and_then(|last| rises.get(last))
        .map_or(0, |rise| rise.worth)
}

fn sum(a: &Counts, b: &Counts) -> Counts {
    let mut all = *a;
    for (all, b) in all.iter_mut().zip(b) {
        *all = all.saturating_add(*b);
    }
    all
}
