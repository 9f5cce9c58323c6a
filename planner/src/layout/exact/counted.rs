//! The best layout where there may be no more than so many boards of a product.
//!
//! Prices are taken off limited products until no more of them are taken than there may be, as far as prices can do that: what
//! the best layout at such prices is worth, and what the limits are worth at them, is a bound. What is left between it and the
//! best layout found is searched: stacks from the top down, the most promising first, none twice that another one is as good
//! as, and none that cannot come to more than has been found, whatever lies below it at those prices.

use heapless::Vec;

use super::best::{Best, Solver, rows_of};
use super::group::{few, groups, name, taken_off};
use super::prices::Prices;
use super::reach::Crests;
use super::row::Full;
use super::search::Search;
use super::sheet::{Lean, Sheet};
use super::stack::{Level, ROWS_MAX, Rise};
use super::tariff::Tariffs;
use super::ways::{Counted, State};
use super::{Item, Row, Um};
use crate::limits::{PLAN_LAYERS_MAX, PRODUCTS_MAX};

/// Most products whose number is counted.
pub(crate) const COUNTED_MAX: usize = 16;

pub(super) type Counts = [u16; COUNTED_MAX];

/// Floors that are looked at together at first.
pub(super) const BLOCK: usize = 64;

/// A stack so far.
#[derive(Clone, Copy, Debug, Default)]
pub struct Label {
    /// Its lowest floor, in steps.
    pub(super) floor: u32,
    pub(super) row: u16,
    pub(super) boards: u16,
    /// Where its lowest layer's boards are kept.
    pub(super) first: u32,
    /// The stack above that layer.
    pub(super) above: u32,
    /// What its boards are worth, with what they gain by their number, and what it may come to.
    pub(super) base: i64,
    pub(super) worth: i64,
    pub(super) bound: i64,
    pub(super) counts: Counts,
}

/// Memory for the search, lent.
#[derive(Debug)]
pub struct Lent<'w> {
    /// What is searched.
    pub desk: Desk<'w>,
    /// Boards of rows, once more.
    pub items: &'w mut [Item],
    /// What the best stacks are worth where nothing is taken off: one for each height.
    pub rises: &'w mut [Rise],
}

/// Memory for what is searched.
#[derive(Debug)]
pub struct Desk<'w> {
    /// Stacks.
    pub labels: &'w mut [Label],
    /// Stacks that wait.
    pub heap: &'w mut [u32],
    /// Ways to fill a row.
    pub states: &'w mut [State],
    /// Those, by corner.
    pub order: &'w mut [u32],
    /// The boards of stacks.
    pub boards: &'w mut [u16],
    /// What rows are worth at most: one for each row and 64 heights.
    pub caps: &'w mut [i64],
    /// The room of each board of a row.
    pub rooms: &'w mut [(Um, Um)],
    /// Boards of rows, at other prices.
    pub more: &'w mut [Item],
    /// What the best stacks are worth at other prices: eight for each height. With fewer, all stacks are looked at at the same prices.
    pub rises: &'w mut [Rise],
}

/// What was found.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Found {
    /// What the layout is worth.
    pub worth: i64,
    /// No layout is worth more.
    pub bound: i64,
    /// How many stacks were looked at.
    pub stacks: usize,
    /// How often prices were set.
    pub rounds: usize,
    /// What no layout is worth more than by prices alone.
    pub priced: i64,
    /// At how many places less is left between two layers or boards than can be handled.
    pub close: usize,
}

/// A layout as it was found, before its layers and boards are closed up: which they can be with any lean.
#[derive(Clone, Debug)]
pub struct Open {
    pub(crate) sheet: Sheet,
    /// What was taken off each product where it was found; none where it was searched for among stacks.
    less: Option<[i64; PRODUCTS_MAX]>,
    /// What was found.
    pub(crate) found: Found,
}

/// Finds the best layout with no more than `most` boards of each product, and draws it.
pub(crate) fn counted(
    solver: &mut Solver<'_, '_>,
    most: &[Option<u16>],
    lent: &mut Lent<'_>,
) -> Result<Open, Full> {
    let mut prices = Prices::new(solver.wanted, most);
    prices.set(solver)?;
    let mut found = Found {
        worth: prices.worth,
        bound: prices.bound,
        stacks: 0,
        rounds: prices.rounds,
        priced: prices.bound,
        close: 0,
    };
    let mut sheet = Sheet::default();
    if found.worth < found.bound && prices.groups.len() <= COUNTED_MAX {
        let best = solver.look(&prices, lent)?;
        if solver.search(&prices, &best, lent, &mut found, &mut sheet)? {
            name(&prices.groups, &mut sheet);
            return Ok(Open {
                sheet,
                less: None,
                found,
            });
        }
    }
    // The layout that came of prices, less what there is too much of.
    let mut left = prices.most();
    let mut full = false;
    let less = taken_off(&prices.groups, &prices.kept);
    solver.solve(&less, &mut |level, row| {
        let keeps = keep(level, row, &mut left);
        full |= sheet.add(level, row, &keeps).is_err();
    })?;
    if full {
        return Err(Full);
    }
    name(&prices.groups, &mut sheet);
    Ok(Open {
        sheet,
        less: Some(less),
        found,
    })
}

impl Open {
    /// Closes the layers and boards up as far as they can be, the boards of each layer leaning as asked; by the solver that found
    /// them, or another one of the same ground and order.
    pub(crate) fn close(
        &self,
        solver: &mut Solver<'_, '_>,
        (most, leans): (&[Option<u16>], &[Lean]),
        lent: &mut Lent<'_>,
    ) -> Result<(Sheet, Found), Full> {
        let mut sheet = Sheet {
            leans: leans.iter().copied().take(PLAN_LAYERS_MAX).collect(),
            ..self.sheet.clone()
        };
        let known = (solver.wanted, &solver.terms, (&solver.lengths, &solver.classes));
        let sides = (solver.near.as_slice(), solver.far.as_slice());
        let rows = match &self.less {
            Some(less) => rows_of(known, sides, (less, None), solver.items)?,
            None => {
                let groups = groups(solver.wanted, most);
                let (none, few) = (taken_off(&groups, &[0; PRODUCTS_MAX]), few(&groups));
                rows_of(known, sides, (&none, Some(&few)), lent.items)?
            }
        };
        let rows = rows.rows(&solver.terms);
        let close = sheet.close(&solver.reaches, &rows, &solver.terms);
        Ok((sheet, Found { close, ..self.found }))
    }
}

/// No layout with no more than `most` boards of each product is worth more.
pub(crate) fn at_most(
    solver: &mut Solver<'_, '_>,
    most: &[Option<u16>],
    lent: &mut Lent<'_>,
) -> Result<i64, Full> {
    let mut prices = Prices::new(solver.wanted, most);
    prices.set(solver)?;
    let mut found = Found {
        worth: prices.worth,
        bound: prices.bound,
        ..Found::default()
    };
    if found.worth < found.bound && prices.groups.len() <= COUNTED_MAX {
        let best = solver.look(&prices, lent)?;
        // Whether what is found can be drawn does not count: the bound holds wherever the search ends.
        let _ = solver.search(&prices, &best, lent, &mut found, &mut Sheet::default());
    }
    Ok(found.bound)
}

/// Which boards of a layer are no more than are left of their products.
pub(super) fn keep(
    level: &Level,
    row: &Row<'_>,
    left: &mut [Option<u16>; PRODUCTS_MAX],
) -> Vec<[bool; 2], { super::row::BOARDS_MAX }> {
    let items = level
        .pattern
        .iter()
        .filter_map(|number| row.items.get(usize::from(*number)));
    items
        .map(|item| {
            item.boards.map(|board| {
                let Some([product, _]) = board else { return false };
                match left.get_mut(usize::from(product)) {
                    Some(Some(0)) => false,
                    Some(Some(more)) => {
                        *more -= 1;
                        true
                    }
                    _ => true,
                }
            })
        })
        .collect()
}

impl Solver<'_, '_> {
    /// What is worth most below each face: at no prices, which is lent, and at the prices, which the solver keeps.
    fn look(&mut self, prices: &Prices, lent: &mut Lent<'_>) -> Result<[Best; 2], Full> {
        let none = taken_off(&prices.groups, &[0; PRODUCTS_MAX]);
        let full = self.solve(&none, &mut |_, _| {})?;
        let known = self.work.rises.get(..full.rises).ok_or(Full)?;
        let kept = lent.rises.get_mut(..full.rises).ok_or(Full)?;
        kept.copy_from_slice(known);
        let less = taken_off(&prices.groups, &prices.best);
        let best = self.solve(&less, &mut |_, _| {})?;
        Ok([full, best])
    }

    /// Searches what prices have left open; whether it found a better layout, which is then drawn.
    fn search(
        &mut self,
        prices: &Prices,
        [full, best]: &[Best; 2],
        lent: &mut Lent<'_>,
        found: &mut Found,
        sheet: &mut Sheet,
    ) -> Result<bool, Full> {
        let few = few(&prices.groups);
        let none = taken_off(&prices.groups, &[0; PRODUCTS_MAX]);
        let less = taken_off(&prices.groups, &prices.best);
        let sides = (self.near.as_slice(), self.far.as_slice());
        let known = (self.wanted, &self.terms, (&self.lengths, &self.classes));
        let cheap = rows_of(known, sides, (&less, None), self.items)?;
        let cheap = cheap.rows(&self.terms);
        let rows = rows_of(known, sides, (&none, Some(&few)), lent.items)?;
        let rows = rows.rows(&self.terms);
        let heights = self.reaches.heights();
        let mut crests: Vec<Crests, ROWS_MAX> = Vec::new();
        for row in &rows {
            let last = (heights - 1).saturating_sub(row.advance).min(row.floors.1);
            let first = row.floors.0.min(last);
            crests
                .push(Crests::of(&self.reaches, row, (first, last)))
                .map_err(|_| Full)?;
        }
        let mut search = Search {
            reaches: &self.reaches,
            cheap: &cheap,
            rows: &rows,
            crests,
            bench: &mut self.work.bench,
            stairs: &mut *self.work.stairs,
            tariffs: Tariffs::default(),
            known: (known, sides),
            filled: [0; 2],
            compared: 0,
            rises: self.work.rises.get(..best.rises).ok_or(Full)?,
            full: lent.rises.get(..full.rises).ok_or(Full)?,
            counted: Counted::new(prices, self.wanted),
            lent: &mut lent.desk,
            made: 0,
            waiting: 0,
            boards: 0,
            states: 0,
            found,
            best: None,
        };
        search.run()?;
        search.draw(sheet)
    }
}
