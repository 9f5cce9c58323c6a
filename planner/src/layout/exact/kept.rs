//! Stacks that are kept in a search, the most promising first.

use super::counted::Label;
use super::reach::Over;
use super::row::{BOARDS_MAX, Full, Pattern, corners};
use super::search::Search;
use super::sheet::Sheet;
use super::stack::Level;
use super::tariff::Layers;

impl Search<'_, '_, '_, '_> {
    /// Takes a stack in, unless another one is as good; whether it was taken in.
    pub(super) fn put(&mut self, label: Label) -> Result<bool, Full> {
        self.compared = self.compared.saturating_add(self.made);
        if self.compared > self.most.1 {
            return Err(Full);
        }
        let better = |other: &Label| {
            other.floor >= label.floor
                && other.worth >= label.worth
                && other.worth >= label.worth + self.counted.lost(&other.counts, &label.counts)
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
        self.keep(label)?;
        Ok(true)
    }

    /// Takes a stack in; its number.
    pub(super) fn keep(&mut self, label: Label) -> Result<usize, Full> {
        let number = self.made;
        if number >= self.most.0 {
            return Err(Full);
        }
        *self.lent.labels.get_mut(number).ok_or(Full)? = label;
        if label.worth > self.found.worth {
            self.found.worth = label.worth;
            self.best = Some(number);
        }
        self.push(number)?;
        self.made += 1;
        Ok(number)
    }

    pub(super) fn rank(&self, place: usize) -> Option<i64> {
        let number = usize::try_from(*self.lent.heap.get(place)?).ok()?;
        Some(self.lent.labels.get(number)?.bound)
    }

    pub(super) fn push(&mut self, number: usize) -> Result<(), Full> {
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
    pub(super) fn pop(&mut self) -> Option<usize> {
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

    /// Forgets all stacks but the best.
    pub(super) fn forget(&mut self) -> Result<(), Full> {
        let best = self.best.take();
        let layers = best.map(|best| self.layers_of(best, 0)).transpose()?;
        (self.made, self.waiting, self.boards) = (0, 0, 0);
        self.put_first()?;
        if let Some(layers) = layers {
            self.best = Some(self.take_layers(&layers)?);
        }
        Ok(())
    }

    /// Takes a layout in; its number.
    pub(super) fn take_layers(&mut self, layers: &Layers) -> Result<usize, Full> {
        let mut above = (0, self.label(0)?);
        for (row, floor, pattern) in layers {
            above = self.add(above, (*row, *floor), pattern)?;
        }
        Ok(above.0)
    }

    /// The layers of a stack below another one.
    pub(super) fn layers_of(&self, number: usize, below: usize) -> Result<Layers, Full> {
        let mut layers = Layers::new();
        let mut at = number;
        while at > below {
            let label = self.label(at)?;
            let first = usize::try_from(label.first).map_err(|_| Full)?;
            let boards = self.lent.boards.get(first..first + usize::from(label.boards));
            let pattern = Pattern::from_slice(boards.ok_or(Full)?).map_err(|_| Full)?;
            let floor = usize::try_from(label.floor).map_err(|_| Full)?;
            layers
                .push((usize::from(label.row), floor, pattern))
                .map_err(|_| Full)?;
            at = usize::try_from(label.above).map_err(|_| Full)?;
        }
        layers.reverse();
        Ok(layers)
    }

    pub(super) fn label(&self, number: usize) -> Result<Label, Full> {
        self.lent.labels.get(number).copied().ok_or(Full)
    }

    /// Draws the layers of the best stack from the top down; no where none is better than what was known.
    pub(super) fn draw<const BOARDS: usize>(&self, sheet: &mut Sheet<BOARDS>) -> Result<bool, Full> {
        let Some(best) = self.best else { return Ok(false) };
        for (at, floor, pattern) in self.layers_of(best, 0)? {
            let row = self.rows.get(at).ok_or(Full)?;
            let level = Level {
                row: at,
                floor,
                corners: corners(self.reaches, &row, Over::One(floor), &pattern),
                pattern,
            };
            sheet.add(&level, &row, &[[true; 2]; BOARDS_MAX])?;
        }
        Ok(true)
    }
}
