//! The search among stacks that prices have left open.

use super::apart::worth_within;
use super::best::Known;
use super::counted::{BLOCK, COUNTED_MAX, Counts, Desk, Found, Label};
use super::order::Rows;
use super::reach::{Over, Reaches};
use super::row::{BOARDS_MAX, Bench, Full, Pattern, holds, set};
use super::stack::{Mark, Rise, Rising, Span};
use super::stairs::Stair;
use super::tariff::{TARIFFS, Tariffs};
use super::ways::{Counted, Seek, State, Ways};
use super::{Row, Um};

/// How often stacks may be held against others, for each that there is memory for: a search comes to an end.
const COMPARED: usize = 30_000;

/// The same before layouts to begin with are looked for, and while they are.
const SOON: usize = 2_000;

/// See [`SOON`].
const BEGIN: usize = 5_000;

/// What is searched.
pub(super) struct Search<'s, 'r, 'w, 'l> {
    pub(super) reaches: &'s Reaches<'r>,
    /// Rows at the prices, of what still brings something.
    pub(super) cheap: &'s Rows<'s>,
    /// Rows at full worth, of all that another may not stand in for.
    pub(super) rows: &'s Rows<'s>,
    pub(super) bench: &'s mut Bench<'w>,
    pub(super) rises: &'s [Rise],
    /// What is worth most below each face where nothing is taken off: a tighter bound for stacks that already have what is limited,
    /// or never get it.
    pub(super) full: &'s [Rise],
    pub(super) counted: Counted<'s>,
    /// What is worth most below each face at other prices.
    pub(super) tariffs: Tariffs,
    /// See [`kinds`](super::outlook::kinds).
    pub(super) kinds: super::outlook::Kinds,
    /// What is wanted, on which terms, and the stretches from both ends.
    pub(super) known: (Known<'s>, (&'s [u16], &'s [u16])),
    pub(super) rising: &'s mut [Rising],
    pub(super) marks: &'s mut [Mark],
    pub(super) stairs: &'s mut [Stair],
    /// How many rows have been filled for stacks, and for prices.
    pub(super) filled: [usize; 2],
    /// How often one stack, or one way to fill a layer, has been held against others.
    pub(super) compared: usize,
    pub(super) lent: &'s mut Desk<'l>,
    /// No more stacks are kept, and no more is compared.
    pub(super) most: (usize, usize),
    pub(super) made: usize,
    pub(super) waiting: usize,
    pub(super) boards: usize,
    /// Boards side by side, made and in order.
    pub(super) states: usize,
    pub(super) found: &'s mut Found,
    pub(super) best: Option<usize>,
}

impl<'s> Search<'s, '_, '_, '_> {
    /// Looks at stacks until none is left that may come to more than the best, or there is no more memory; then the most that one
    /// may come to is the bound. Where that takes long, layouts to begin with are looked for, if that is asked, and all is gone through
    /// again with a better one known.
    pub(super) fn run(&mut self, begin: bool) -> Result<(), Full> {
        self.lent.caps.fill(i64::MIN);
        let room = self.lent.labels.len();
        // Where layers are kept apart, no floor is as good as a higher one: the rest stays open.
        let apart = self.known.0.1.apart > 0;
        self.allow((room, SOON));
        self.put_first()?;
        // A layout by prices, each layer filled anew.
        if let Some(root) = self.lent.labels.first().copied()
            && self.lent.rises.len() >= TARIFFS * self.reaches.heights()
        {
            self.price(0, &root)?;
        }
        if begin && !apart {
            if self.look_through() {
                return Ok(());
            }
            self.forget()?;
        }
        self.allow((room, BEGIN));
        // With no room for a layout to begin with there is none for stacks.
        if begin && self.begin().is_err() {
            return Ok(());
        }
        self.allow((room, COMPARED));
        if !apart {
            self.look_through();
        }
        Ok(())
    }

    /// From now on so much may be kept and compared.
    fn allow(&mut self, (room, each): (usize, usize)) {
        let more = room.saturating_mul(each);
        self.most = (room, self.compared.saturating_add(more));
    }

    /// Takes in the stack without a layer.
    pub(super) fn put_first(&mut self) -> Result<(), Full> {
        let top = self.reaches.heights() - 1;
        self.keep(Label {
            floor: u32::try_from(top).map_err(|_| Full)?,
            bound: self.bound(0, &[0; COUNTED_MAX], top),
            ..Label::default()
        })?;
        Ok(())
    }

    /// Whether all stacks were looked at that may come to more than the best.
    fn look_through(&mut self) -> bool {
        while let Some(number) = self.pop() {
            let Some(label) = self.lent.labels.get(number).copied() else {
                break;
            };
            if label.bound <= self.found.worth {
                break;
            }
            self.found.bound = self.found.bound.min(label.bound);
            if self.waits(number, &label) {
                continue;
            }
            self.found.stacks += 1;
            let Ok(bound) = self.priced(number, &label) else {
                return false;
            };
            if self.compared > self.most.1 {
                return false;
            }
            if bound > self.found.worth && self.expand(number, &label).is_err() {
                return false;
            }
        }
        self.found.bound = self.found.worth;
        true
    }

    /// Whether a stack is not gone on with now: because it comes to no more than the best at prices that have been found since, or
    /// to less than another one.
    fn waits(&mut self, number: usize, label: &Label) -> bool {
        let floor = usize::try_from(label.floor).unwrap_or(usize::MAX);
        let bound = self.least_bound(label.base, &label.counts, floor);
        if bound <= self.found.worth {
            return true;
        }
        let later = bound < label.bound && self.rank(0).is_some_and(|next| next > bound);
        if later && let Some(own) = self.lent.labels.get_mut(number) {
            own.bound = bound;
            // It was there a moment ago: there is room.
            let _ = self.push(number);
        }
        later
    }

    /// The heights below a floor.
    pub(super) fn span(&self, floor: usize) -> Span<'s> {
        let terms = self.known.0.1;
        Span {
            lowest: 0,
            highest: floor,
            apart: terms.apart,
            under: terms.flat_top || floor + 1 < self.reaches.heights(),
            barred: &terms.barred,
        }
    }

    /// What the best stack below a floor is worth.
    pub(super) fn below(&self, rises: &[Rise], floor: usize) -> i64 {
        worth_within(rises, self.span(floor))
    }

    /// What a stack may come to at the prices.
    pub(super) fn bound(&self, worth: i64, counts: &Counts, floor: usize) -> i64 {
        worth + self.counted.tail(counts) + self.below(self.rises, floor)
    }

    /// What a stack may come to at the prices, at none or at some that were found since, whichever is least.
    pub(super) fn least_bound(&self, worth: i64, counts: &Counts, floor: usize) -> i64 {
        self.bound(worth, counts, floor)
            .min(worth + self.counted.tail_at_none(counts) + self.below(self.full, floor))
            .min(self.least_at_tariffs(worth, counts, floor))
    }

    /// Every layer that may come next.
    fn expand(&mut self, number: usize, label: &Label) -> Result<(), Full> {
        let room = usize::try_from(label.floor).map_err(|_| Full)?;
        for at in 0..self.rows.len() {
            let (Some(row), Some(crests)) = (self.rows.get(at), self.lent.crests.get(at).copied()) else {
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
                if self.cap(at, low, high)? + self.bound(label.base, &label.counts, high) > self.found.worth {
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
        let ends = self.bench.ends(self.reaches, &cheap, over)?;
        self.filled[0] += 1;
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
        let need = self.found.worth - label.base - self.below(self.rises, high);
        let mut floor = low;
        while floor <= high {
            self.fill((at, row), floor, &label.counts, (need, Seek::All))?;
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
        let (base, counts) = (label.base + last.base, last.counts);
        let worth = base + self.counted.gains(&counts);
        let bound = self.least_bound(base, &counts, floor);
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
        let own = Label::of((number, at, floor), (first, pattern.len()), (base, worth, counts))?;
        let taken = self.put(Label { bound, ..own })?;
        if taken {
            self.boards += pattern.len();
        }
        Ok(())
    }

    /// The highest floor, up to one, over which boards that have room over another one have it.
    pub(super) fn as_high(&self, row: &Row<'_>, pattern: &Pattern, from: usize, to: usize) -> usize {
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
    pub(super) fn fill(
        &mut self,
        (at, row): (usize, &Row<'_>),
        floor: usize,
        taken: &Counts,
        (need, seek): (i64, Seek),
    ) -> Result<(), Full> {
        let over = Over::One(floor);
        let rooms = self.lent.rooms.get_mut(..row.items.len()).ok_or(Full)?;
        for (room, item) in rooms.iter_mut().zip(row.items) {
            *room = self.reaches.item(row, item, over);
        }
        let cheap = self.cheap.get(at).ok_or(Full)?;
        let ends = self.bench.ends(self.reaches, &cheap, over)?;
        self.filled[0] += 1;
        let mut ways = Ways {
            states: self.lent.states,
            order: self.lent.order,
            made: 0,
            next: 0,
            counted: &self.counted,
            seek,
        };
        ways.take(State {
            corner: Um::MIN / 4,
            counts: *taken,
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
                    base: state.base + item.worth,
                    worth: state.base + item.worth + self.counted.gains(&counts),
                    at_prices: state.base + item.worth + self.counted.tail(&counts),
                    counts,
                };
                if more.at_prices + ends.rest(corner) > need && !ways.have_better(&more) {
                    ways.take(more)?;
                }
            }
        }
        self.states = ways.made;
        self.compared = self.compared.saturating_add(ways.made.saturating_mul(ways.made));
        Ok(())
    }

    /// The boards of a state, from the entry side on.
    pub(super) fn pattern(&self, state: usize, out: &mut Pattern) -> Result<(), Full> {
        out.clear();
        let mut at = state;
        while let Some(state) = self.lent.states.get(at).filter(|state| state.boards > 0) {
            out.push(state.item).map_err(|_| Full)?;
            at = usize::try_from(state.before).map_err(|_| Full)?;
        }
        out.reverse();
        Ok(())
    }
}
