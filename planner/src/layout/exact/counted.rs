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
use super::stack::{Level, Rise};
use super::tariff::Tariffs;
use super::ways::{Counted, State};
use super::{Item, Row, Tier, Um};
use crate::limits::{PLAN_COLUMNS_MAX, PRODUCTS_MAX};

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

impl Label {
    /// A stack with a layer more: its row and floor, where its boards are kept and how many, and what all is worth with them.
    pub(super) fn of(
        (above, row, floor): (usize, usize, usize),
        (first, boards): (usize, usize),
        (base, worth, counts): (i64, i64, Counts),
    ) -> Result<Self, Full> {
        Ok(Self {
            floor: u32::try_from(floor).map_err(|_| Full)?,
            row: u16::try_from(row).map_err(|_| Full)?,
            boards: u16::try_from(boards).map_err(|_| Full)?,
            first: u32::try_from(first).map_err(|_| Full)?,
            above: u32::try_from(above).map_err(|_| Full)?,
            base,
            worth,
            bound: 0,
            counts,
        })
    }
}

/// Memory for the search, lent.
#[derive(Debug)]
pub struct Lent<'w> {
    /// What is searched.
    pub desk: Desk<'w>,
    /// Rows, once more.
    pub tiers: &'w mut [Tier],
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
    /// Where rooms are widest: one for each row.
    pub crests: &'w mut [Crests],
    /// Rows, at other prices.
    pub tiers: &'w mut [Tier],
    /// Boards of rows, at other prices.
    pub more: &'w mut [Item],
    /// What the best stacks are worth at other prices: eight for each height. With fewer, all stacks are looked at at the same prices.
    pub rises: &'w mut [Rise],
}

impl Lent<'_> {
    /// None: what prices leave open stays open, and the gap is told.
    #[must_use]
    pub const fn none() -> Self {
        Lent {
            desk: Desk {
                labels: &mut [],
                heap: &mut [],
                states: &mut [],
                order: &mut [],
                boards: &mut [],
                caps: &mut [],
                rooms: &mut [],
                crests: &mut [],
                tiers: &mut [],
                more: &mut [],
                rises: &mut [],
            },
            tiers: &mut [],
            items: &mut [],
            rises: &mut [],
        }
    }
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
    /// At how many places less is left between two layers, and between two boards, than can be handled.
    pub close: [usize; 2],
}

/// A layout as it was found, before its layers and boards are closed up: which they can be with any lean.
#[derive(Clone, Debug, Default)]
pub struct Open<const BOARDS: usize = PLAN_COLUMNS_MAX> {
    pub(crate) sheet: Sheet<BOARDS>,
    /// What was taken off each product where it was found; none where it was searched for among stacks.
    less: Option<[i64; PRODUCTS_MAX]>,
    /// What was found.
    pub(crate) found: Found,
}

/// Finds the best layout with no more than `most` boards of each product, and draws it.
#[inline(never)]
pub(crate) fn counted<const BOARDS: usize>(
    solver: &mut Solver<'_, '_>,
    most: &[Option<u16>],
    lent: &mut Lent<'_>,
    open: &mut Open<BOARDS>,
) -> Result<(), Full> {
    let (prices, mut found) = by_prices(solver, most)?;
    // With no memory for stacks what prices have left open stays open.
    let searched = !lent.desk.labels.is_empty() && prices.groups.len() <= COUNTED_MAX;
    if found.worth < found.bound && searched {
        let sheet = &mut open.sheet;
        sheet.clear();
        let best = solver.look(&prices, lent)?;
        found.worth = found.worth.max(solver.reached.unwrap_or(0));
        if found.worth < found.bound && solver.search(&prices, &best, lent, &mut found, sheet)? {
            name(&prices.groups, sheet);
            (open.less, open.found) = (None, found);
            return Ok(());
        }
        found.worth = prices.worth;
    }
    draw(solver, &prices, found, open)
}

/// The same of what prices tell, whatever they leave open: no search is linked for it.
#[inline(never)]
pub(crate) fn priced<const BOARDS: usize>(
    solver: &mut Solver<'_, '_>,
    most: &[Option<u16>],
    open: &mut Open<BOARDS>,
) -> Result<(), Full> {
    let (prices, found) = by_prices(solver, most)?;
    draw(solver, &prices, found, open)
}

/// Sets prices.
fn by_prices(solver: &mut Solver<'_, '_>, most: &[Option<u16>]) -> Result<(Prices, Found), Full> {
    let mut prices = Prices::new(solver.wanted, most);
    prices.set(solver)?;
    let found = Found {
        worth: prices.worth,
        bound: prices.bound,
        stacks: 0,
        rounds: prices.rounds,
        priced: prices.bound,
        close: [0; 2],
    };
    Ok((prices, found))
}

/// Draws the layout that came of prices, less what there is too much of.
fn draw<const BOARDS: usize>(
    solver: &mut Solver<'_, '_>,
    prices: &Prices,
    found: Found,
    open: &mut Open<BOARDS>,
) -> Result<(), Full> {
    let sheet = &mut open.sheet;
    sheet.clear();
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
    name(&prices.groups, sheet);
    (open.less, open.found) = (Some(less), found);
    Ok(())
}

impl<const BOARDS: usize> Open<BOARDS> {
    /// On a sheet, closes the layers and boards up as far as they can be, the boards of each layer leaning as asked; by the solver that found
    /// them, or another one of the same ground and order.
    #[inline(never)]
    pub(crate) fn close(
        &self,
        solver: &mut Solver<'_, '_>,
        (most, leans): (&[Option<u16>], &[Lean]),
        lent: &mut Lent<'_>,
        sheet: &mut Sheet<BOARDS>,
    ) -> Result<Found, Full> {
        sheet.copy(&self.sheet, leans);
        let known = (solver.wanted, &solver.terms, (&solver.lengths, &solver.classes));
        let sides = (solver.near.as_slice(), solver.far.as_slice());
        let rows = match &self.less {
            Some(less) => {
                let own = (&mut *solver.tiers, &mut *solver.items);
                rows_of(known, sides, (less, None), own)?
            }
            None => {
                let groups = groups(solver.wanted, most);
                let (none, few) = (taken_off(&groups, &[0; PRODUCTS_MAX]), few(&groups));
                let own = (&mut *lent.tiers, &mut *lent.items);
                rows_of(known, sides, (&none, Some(&few)), own)?
            }
        };
        let close = sheet.close(&solver.reaches, &rows, &solver.terms);
        Ok(Found { close, ..self.found })
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
        found.worth = found.worth.max(solver.reached.unwrap_or(0));
        // Whether what is found can be drawn does not count: the bound holds wherever the search ends.
        let _ = solver.search(&prices, &best, lent, &mut found, &mut Sheet::<0>::default());
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
    fn search<const BOARDS: usize>(
        &mut self,
        prices: &Prices,
        [full, best]: &[Best; 2],
        lent: &mut Lent<'_>,
        found: &mut Found,
        sheet: &mut Sheet<BOARDS>,
    ) -> Result<bool, Full> {
        let few = few(&prices.groups);
        let none = taken_off(&prices.groups, &[0; PRODUCTS_MAX]);
        let less = taken_off(&prices.groups, &prices.best);
        let sides = (self.near.as_slice(), self.far.as_slice());
        let known = (self.wanted, &self.terms, (&self.lengths, &self.classes));
        let cheap = rows_of(known, sides, (&less, None), (&mut *self.tiers, &mut *self.items))?;
        let lent_rows = (&mut *lent.tiers, &mut *lent.items);
        let rows = rows_of(known, sides, (&none, Some(&few)), lent_rows)?;
        let heights = self.reaches.heights();
        let crests = lent.desk.crests.get_mut(..rows.len()).ok_or(Full)?;
        for (row, crests) in rows.iter().zip(crests) {
            let last = (heights - 1).saturating_sub(row.advance).min(row.floors.1);
            let first = row.floors.0.min(last);
            *crests = Crests::of(&self.reaches, &row, (first, last));
        }
        let mut search = Search {
            reaches: &self.reaches,
            cheap: &cheap,
            rows: &rows,
            bench: &mut self.work.bench,
            rising: &mut *self.work.rising,
            marks: &mut *self.work.marks,
            stairs: &mut *self.work.stairs,
            tariffs: Tariffs::default(),
            kinds: super::outlook::Kinds::new(),
            known: (known, sides),
            filled: [0; 2],
            compared: 0,
            rises: self.work.rises.get(..best.rises).ok_or(Full)?,
            full: lent.rises.get(..full.rises).ok_or(Full)?,
            counted: Counted::new(prices, self.wanted),
            lent: &mut lent.desk,
            most: (0, 0),
            made: 0,
            waiting: 0,
            boards: 0,
            states: 0,
            found,
            best: None,
        };
        search.run(self.reached.is_none())?;
        search.draw(sheet)
    }
}
