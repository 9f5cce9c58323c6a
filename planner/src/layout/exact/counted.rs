//! The best layout where there may be no more than so many boards of a product.
//!
//! Prices are taken off limited products until no more of them are taken than there may be, as far as prices can do that: what
//! the best layout at such prices is worth, and what the limits are worth at them, is a bound. What is left between it and the
//! best layout found is searched: stacks from the top down, the most promising first, none twice that another one is as good
//! as, and none that cannot come to more than has been found, whatever lies below it at those prices.

use heapless::Vec;

use super::best::{Best, Solver, rows_of};
use super::reach::Crests;
use super::row::Full;
use super::search::{Counted, Search};
use super::sheet::{Lean, Sheet};
use super::stack::{Level, ROWS_MAX, Rise};
use super::ways::State;
use super::{Item, Row, Um};
use crate::limits::{PLAN_LAYERS_MAX, PRODUCTS_MAX};

/// Most products whose number is counted.
pub(crate) const COUNTED_MAX: usize = 16;

pub(super) type Counts = [u16; COUNTED_MAX];

/// Floors that are looked at together at first.
pub(super) const BLOCK: usize = 64;

/// Rounds in which prices are set.
const ROUNDS: usize = 60;

/// The first steps of prices are as long as would close the gap, the last ones a part of that.
const SHARES: i64 = 8;

/// Rounds without a better bound after which steps are halved.
const PATIENCE: u32 = 4;

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
    /// What it is worth at the prices, and what it may come to.
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
    let mut prices = Prices::new(most);
    prices.set(solver)?;
    let mut found = Found {
        worth: prices.worth,
        bound: prices.bound,
        stacks: 0,
        rounds: prices.rounds,
        close: 0,
    };
    let mut sheet = Sheet::default();
    if found.worth < found.bound && prices.counted.len() <= COUNTED_MAX {
        let best = solver.look(&prices, lent)?;
        if solver.search(&prices, &best, lent, &mut found, &mut sheet)? {
            return Ok(Open {
                sheet,
                less: None,
                found,
            });
        }
    }
    // The layout that came of prices, less what there is too much of.
    let mut left = prices.most;
    let mut full = false;
    solver.solve(&prices.kept, &mut |level, row| {
        let keeps = keep(level, row, &mut left);
        full |= sheet.add(level, row, &keeps).is_err();
    })?;
    if full {
        return Err(Full);
    }
    Ok(Open {
        sheet,
        less: Some(prices.kept),
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
            None => rows_of(known, sides, (&[], Some(&limited(most))), lent.items)?,
        };
        let rows = rows.rows(&solver.terms);
        let close = sheet.close(&solver.reaches, &rows, &solver.terms);
        Ok((sheet, Found { close, ..self.found }))
    }
}

/// Which products' numbers are limited.
fn limited(most: &[Option<u16>]) -> [bool; PRODUCTS_MAX] {
    let mut limited = [false; PRODUCTS_MAX];
    for (limited, most) in limited.iter_mut().zip(most) {
        *limited = most.is_some();
    }
    limited
}

/// No layout with no more than `most` boards of each product is worth more.
pub(crate) fn at_most(
    solver: &mut Solver<'_, '_>,
    most: &[Option<u16>],
    lent: &mut Lent<'_>,
) -> Result<i64, Full> {
    let mut prices = Prices::new(most);
    prices.set(solver)?;
    let mut found = Found {
        worth: prices.worth,
        bound: prices.bound,
        ..Found::default()
    };
    if found.worth < found.bound && prices.counted.len() <= COUNTED_MAX {
        let best = solver.look(&prices, lent)?;
        // Whether what is found can be drawn does not count: the bound holds wherever the search ends.
        let _ = solver.search(&prices, &best, lent, &mut found, &mut Sheet::default());
    }
    Ok(found.bound)
}

/// Which boards of a layer are no more than are left of their products.
fn keep(
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

/// The prices of limited products.
struct Prices {
    most: [Option<u16>; PRODUCTS_MAX],
    /// The products that are counted.
    counted: Vec<u8, PRODUCTS_MAX>,
    /// What is taken off each product: the best bound.
    less: [i64; PRODUCTS_MAX],
    /// What was taken off where the best layout was found.
    kept: [i64; PRODUCTS_MAX],
    bound: i64,
    worth: i64,
    rounds: usize,
}

impl Prices {
    fn new(most: &[Option<u16>]) -> Self {
        let mut prices = Self {
            most: [None; PRODUCTS_MAX],
            counted: Vec::new(),
            less: [0; PRODUCTS_MAX],
            kept: [0; PRODUCTS_MAX],
            bound: i64::MAX,
            worth: -1,
            rounds: 0,
        };
        for (number, (slot, most)) in (0..).zip(prices.most.iter_mut().zip(most)) {
            *slot = *most;
            if most.is_some() {
                // No more than there are products: there is room.
                let _ = prices.counted.push(number);
            }
        }
        prices
    }

    /// What the limits are worth.
    fn limits(&self, less: &[i64; PRODUCTS_MAX]) -> i64 {
        let all = less.iter().zip(&self.most);
        all.map(|(less, most)| less * i64::from(most.unwrap_or(0))).sum()
    }

    /// Sets prices, from none on, along what is taken too often or too seldom.
    fn set(&mut self, solver: &mut Solver<'_, '_>) -> Result<(), Full> {
        let mut less = [0_i64; PRODUCTS_MAX];
        let (mut share, mut stale) = (SHARES, 0);
        while self.rounds < ROUNDS {
            self.rounds += 1;
            let round = self.round(solver, &less)?;
            if round.worth > self.worth {
                (self.worth, self.kept) = (round.worth, less);
            }
            if round.bound < self.bound {
                (self.bound, self.less, stale) = (round.bound, less, 0);
            } else {
                stale += 1;
                if stale == PATIENCE {
                    (share, stale) = ((share / 2).max(1), 0);
                }
            }
            if self.worth >= self.bound || !self.change(&mut less, &round, share) {
                break;
            }
        }
        Ok(())
    }

    /// The best layout at prices: its bound, how much is taken of each product, and what it is worth without what is too much.
    fn round(&self, solver: &mut Solver<'_, '_>, less: &[i64; PRODUCTS_MAX]) -> Result<Round, Full> {
        let wanted = solver.wanted;
        let brings = |[product, length]: [u8; 2]| {
            let worth = wanted.get(usize::from(product)).map(|wanted| wanted.worth);
            worth
                .and_then(|worth| worth.get(usize::from(length)))
                .copied()
                .unwrap_or(0)
        };
        let mut counts = [0_i64; PRODUCTS_MAX];
        let (mut left, mut worth) = (self.most, 0);
        let best = solver.solve(less, &mut |level, row| {
            let keeps = keep(level, row, &mut left);
            let items = level
                .pattern
                .iter()
                .filter_map(|number| row.items.get(usize::from(*number)));
            for (board, keeps) in items
                .zip(&keeps)
                .flat_map(|(item, keeps)| item.boards.iter().zip(keeps))
            {
                let Some(board) = *board else { continue };
                if let Some(count) = counts.get_mut(usize::from(board[0])) {
                    *count += 1;
                }
                worth += if *keeps { brings(board) } else { 0 };
            }
        })?;
        Ok(Round {
            bound: best.worth + self.limits(less),
            worth,
            counts,
        })
    }

    /// Changes prices along what is taken too often or too seldom; whether there is any such.
    fn change(&self, less: &mut [i64; PRODUCTS_MAX], round: &Round, share: i64) -> bool {
        let over = |number: &u8| {
            let at = usize::from(*number);
            let most = i64::from(self.most.get(at).copied().flatten().unwrap_or(0));
            (at, round.counts.get(at).copied().unwrap_or(0) - most)
        };
        let tells = |(at, over): &(usize, i64)| *over > 0 || less.get(*at).is_some_and(|less| *less > 0);
        let steps: Vec<(usize, i64), PRODUCTS_MAX> = self.counted.iter().map(over).filter(tells).collect();
        let square: i64 = steps.iter().map(|(_, over)| over * over).sum();
        if square == 0 {
            return false;
        }
        let gap = i128::from(round.bound - self.worth) * i128::from(share);
        for (at, over) in steps {
            if let Some(less) = less.get_mut(at) {
                let step = gap * i128::from(over) / (i128::from(SHARES) * i128::from(square));
                let step = i64::try_from(step).unwrap_or(0);
                *less = (*less + if step == 0 { over.signum() } else { step }).max(0);
            }
        }
        true
    }
}

/// What came of a round.
struct Round {
    bound: i64,
    worth: i64,
    counts: [i64; PRODUCTS_MAX],
}

impl Solver<'_, '_> {
    /// What is worth most below each face: at no prices, which is lent, and at the prices, which the solver keeps.
    fn look(&mut self, prices: &Prices, lent: &mut Lent<'_>) -> Result<[Best; 2], Full> {
        let full = self.solve(&[], &mut |_, _| {})?;
        let known = self.work.rises.get(..full.rises).ok_or(Full)?;
        let kept = lent.rises.get_mut(..full.rises).ok_or(Full)?;
        kept.copy_from_slice(known);
        let best = self.solve(&prices.less, &mut |_, _| {})?;
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
        let limited = limited(&prices.most);
        let sides = (self.near.as_slice(), self.far.as_slice());
        let known = (self.wanted, &self.terms, (&self.lengths, &self.classes));
        let cheap = rows_of(known, sides, (&prices.less, None), self.items)?;
        let cheap = cheap.rows(&self.terms);
        let rows = rows_of(known, sides, (&[], Some(&limited)), lent.items)?;
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
        let mut counted = Counted {
            products: &prices.counted,
            most: [0; COUNTED_MAX],
            less: [0; COUNTED_MAX],
            limits: prices.limits(&prices.less),
        };
        let slots = counted.most.iter_mut().zip(&mut counted.less);
        for (product, (most, less)) in prices.counted.iter().zip(slots) {
            let at = usize::from(*product);
            *most = prices.most.get(at).copied().flatten().unwrap_or(0);
            *less = prices.less.get(at).copied().unwrap_or(0);
        }
        let mut search = Search {
            reaches: &self.reaches,
            cheap: &cheap,
            rows: &rows,
            crests,
            bench: &mut self.work.bench,
            rises: self.work.rises.get(..best.rises).ok_or(Full)?,
            full: lent.rises.get(..full.rises).ok_or(Full)?,
            counted,
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
