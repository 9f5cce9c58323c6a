//! Ways to fill one layer where boards are counted.

use super::counted::{COUNTED_MAX, Counts};
use super::group::Group;
use super::laid::Wanted;
use super::prices::Prices;
use super::row::Full;
use super::{Item, Um};
use crate::limits::PRODUCTS_MAX;

/// What is counted of products.
#[derive(Clone, Copy, Debug)]
pub(super) struct Counted<'p> {
    /// The products.
    pub(super) groups: &'p [Group],
    /// The place of each product's count.
    places: [u8; PRODUCTS_MAX],
    /// Their prices.
    pub(super) prices: [i64; COUNTED_MAX],
    /// What one more of each may cost later on.
    loss: [i64; COUNTED_MAX],
}

impl<'p> Counted<'p> {
    pub(super) fn new(prices: &'p Prices, wanted: &[Wanted<'_>]) -> Self {
        let mut counted = Self {
            groups: &prices.groups,
            places: [u8::MAX; PRODUCTS_MAX],
            prices: [0; COUNTED_MAX],
            loss: [0; COUNTED_MAX],
        };
        let slots = counted.prices.iter_mut().zip(&mut counted.loss);
        for (((place, group), price), slots) in (0..).zip(&prices.groups).zip(&prices.best).zip(slots) {
            if let Some(slot) = counted.places.get_mut(usize::from(group.product)) {
                *slot = place;
            }
            *slots.0 = *price;
            *slots.1 = group.loss(wanted);
        }
        counted
    }

    /// The counts with an item more; none where there would be too many.
    pub(super) fn with(&self, counts: &Counts, item: &Item) -> Option<Counts> {
        let mut more = *counts;
        for board in item.boards.iter().flatten() {
            let place = self.places.get(usize::from(board[0])).copied().unwrap_or(u8::MAX);
            if let Some(group) = self.groups.get(usize::from(place)) {
                let count = more.get_mut(usize::from(place))?;
                *count = group.more(*count)?;
            }
        }
        Some(more)
    }

    /// How many products they are.
    pub(super) fn products(&self) -> usize {
        self.groups.iter().map(Group::products).sum()
    }

    /// What so many gain over their worth.
    pub(super) fn gains(&self, counts: &Counts) -> i64 {
        let all = self.groups.iter().zip(counts);
        all.map(|(group, count)| group.gains(*count)).sum()
    }

    /// The most that boards beyond so many gain at the prices, and those before.
    pub(super) fn tail(&self, counts: &Counts) -> i64 {
        let all = self.groups.iter().zip(counts).zip(&self.prices);
        all.map(|((group, count), price)| group.tail(*price, *count))
            .sum()
    }

    /// The same at no prices.
    pub(super) fn tail_at_none(&self, counts: &Counts) -> i64 {
        let all = self.groups.iter().zip(counts);
        all.map(|(group, count)| group.tail(0, *count)).sum()
    }

    /// The most that it may cost later on to have so many and not as few as another.
    pub(super) fn lost(&self, counts: &Counts, other: &Counts) -> i64 {
        let all = counts.iter().zip(other).zip(&self.loss);
        all.map(|((more, few), loss)| i64::from(more.saturating_sub(*few)) * loss)
            .sum()
    }
}

/// Which ways to fill a layer are kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Seek {
    /// All that may be part of a best stack.
    All,
    /// Those that are worth most at the prices.
    AtPrices,
    /// Those that are worth most.
    Worth,
}

/// Boards side by side so far.
#[derive(Clone, Copy, Debug, Default)]
pub struct State {
    pub(super) corner: Um,
    pub(super) item: u16,
    pub(super) boards: u16,
    pub(super) before: u32,
    /// What its boards are worth, and with what they gain by their number.
    pub(super) base: i64,
    pub(super) worth: i64,
    /// What the whole may come to at the prices, but for what comes later.
    pub(super) at_prices: i64,
    /// With those of the layers above.
    pub(super) counts: Counts,
}

/// Ways to fill a layer, by their next corner.
pub(super) struct Ways<'w> {
    pub(super) states: &'w mut [State],
    pub(super) order: &'w mut [u32],
    pub(super) made: usize,
    pub(super) next: usize,
    pub(super) counted: &'w Counted<'w>,
    pub(super) seek: Seek,
}

impl Ways<'_> {
    /// The next one that has not been gone on with.
    pub(super) fn next(&mut self) -> Option<(u32, State)> {
        let number = *self.order.get(..self.made)?.get(self.next)?;
        self.next += 1;
        let state = self.states.get(usize::try_from(number).ok()?)?;
        Some((number, *state))
    }

    /// Whether another one stands no further on, and is worth no less by more than it may lose where it has more of what is counted.
    pub(super) fn have_better(&self, state: &State) -> bool {
        let better = |other: &State| {
            other.corner <= state.corner
                && match self.seek {
                    Seek::All => {
                        other.worth >= state.worth
                            && other.worth >= state.worth + self.counted.lost(&other.counts, &state.counts)
                    }
                    Seek::AtPrices => other.at_prices + other.worth >= state.at_prices + state.worth,
                    Seek::Worth => other.worth >= state.worth,
                }
        };
        self.states.get(1..self.made).unwrap_or(&[]).iter().any(better)
    }

    pub(super) fn take(&mut self, state: State) -> Result<(), Full> {
        let number = u32::try_from(self.made).map_err(|_| Full)?;
        *self.states.get_mut(self.made).ok_or(Full)? = state;
        *self.order.get_mut(self.made).ok_or(Full)? = number;
        let mut place = self.made;
        while place > self.next && self.corner(place - 1) > state.corner {
            self.order.swap(place, place - 1);
            place -= 1;
        }
        self.made += 1;
        Ok(())
    }

    fn corner(&self, place: usize) -> Um {
        let number = self
            .order
            .get(place)
            .and_then(|number| usize::try_from(*number).ok());
        let state = number.and_then(|number| self.states.get(number));
        state.map_or(Um::MIN, |state| state.corner)
    }
}
