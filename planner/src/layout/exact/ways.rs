//! Ways to fill one layer where boards are counted.

use super::Um;
use super::counted::Counts;
use super::row::Full;

/// Boards side by side so far.
#[derive(Clone, Copy, Debug, Default)]
pub struct State {
    pub(super) corner: Um,
    pub(super) item: u16,
    pub(super) boards: u16,
    pub(super) before: u32,
    pub(super) worth: i64,
    pub(super) counts: Counts,
}

/// Ways to fill a layer, by their next corner.
pub(super) struct Ways<'w> {
    pub(super) states: &'w mut [State],
    pub(super) order: &'w mut [u32],
    pub(super) made: usize,
    pub(super) next: usize,
}

impl Ways<'_> {
    /// The next one that has not been gone on with.
    pub(super) fn next(&mut self) -> Option<(u32, State)> {
        let number = *self.order.get(..self.made)?.get(self.next)?;
        self.next += 1;
        let state = self.states.get(usize::try_from(number).ok()?)?;
        Some((number, *state))
    }

    /// Whether another one stands no further on, is worth no less and has no more of what is counted.
    pub(super) fn have_better(&self, state: &State) -> bool {
        let better = |other: &State| {
            other.corner <= state.corner
                && other.worth >= state.worth
                && other.counts.iter().zip(&state.counts).all(|(a, b)| a <= b)
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
