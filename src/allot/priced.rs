//! Each log by itself, at prices.

use super::{Demand, Lot, Pattern};
use crate::layout::{Layout, Line, best_at};
use crate::spread::each;

/// What the numbers are worth.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Prices {
    /// What a board of each product takes up of what can be used, thousandths, none below zero.
    pub most: Vec<i64>,
    /// What it saves of what is owed, none below zero and none above what a missing one costs.
    pub least: Vec<i64>,
}

impl Prices {
    /// No prices yet.
    #[must_use]
    pub fn none(products: usize) -> Self {
        Self {
            most: vec![0; products],
            least: vec![0; products],
        }
    }

    /// The same within what may be.
    #[must_use]
    pub fn within(mut self, demands: &[Demand]) -> Self {
        let both = self.most.iter_mut().zip(&mut self.least).zip(demands);
        for ((most, least), demand) in both {
            *most = if demand.most.is_some() { (*most).max(0) } else { 0 };
            *least = if demand.least > 0 {
                (*least).clamp(0, demand.missing)
            } else {
                0
            };
        }
        self
    }

    /// A part of the way from other prices to these, in hundredths.
    #[must_use]
    pub fn towards(&self, other: &Self, hundredths: i64) -> Self {
        let mix = |own: &[i64], others: &[i64]| {
            let both = own.iter().zip(others);
            both.map(|(own, other)| own + (other - own) * hundredths / 100)
                .collect()
        };
        Self {
            most: mix(&self.most, &other.most),
            least: mix(&self.least, &other.least),
        }
    }

    /// What is added to what a board of each product brings.
    fn added(&self, product: usize) -> i64 {
        let of = |all: &[i64]| all.get(product).copied().unwrap_or(0);
        of(&self.least) - of(&self.most)
    }

    /// What the limits are worth at these prices.
    fn limits(&self, demands: &[Demand]) -> i64 {
        let all = demands.iter().zip(self.most.iter().zip(&self.least));
        all.map(|(demand, (most, least))| {
            most * i64::from(demand.most.unwrap_or(0)) - least * i64::from(demand.least)
        })
        .sum()
    }

    /// The products of a log at these prices, no more of any than can be used.
    #[must_use]
    pub fn lines(&self, lot: &Lot<'_>) -> Vec<Line> {
        let mut lines = Line::all(lot.job);
        for line in &mut lines {
            line.most = None;
            let added = self.added(usize::from(line.product));
            for value in &mut line.values {
                // What brings nothing by itself is not made for what is owed alone.
                if *value > 0 {
                    *value += added;
                }
            }
        }
        lines
    }
}

/// What came of asking every log.
#[derive(Clone, Debug)]
pub(super) struct Round {
    /// The best layout of each log at the prices; none where it has none or was not asked any more.
    pub(super) patterns: Vec<Option<Pattern>>,
    /// No allotment brings more; none where some log could not be told.
    pub(super) bound: Option<i64>,
}

/// Asks every log for its best layout at prices.
pub(super) fn ask(lots: &[Lot<'_>], demands: &[Demand], prices: &Prices, threads: usize) -> Round {
    let asked = each(lots, threads, &|lot| {
        let lines = prices.lines(lot);
        let layout = best_at(lot.job, &lot.setup, &lines)?;
        let bound = layout.found.bound;
        Some((Pattern::of(lot.job, &layout, lines), bound))
    });
    let worth = asked
        .iter()
        .map(|asked| asked.as_ref().map_or(0, |(_, bound)| (*bound).max(0)));
    let worth: i64 = worth.sum();
    let all = asked.iter().all(Option::is_some);
    Round {
        bound: all.then(|| worth + prices.limits(demands)),
        patterns: asked
            .into_iter()
            .map(|asked| asked.map(|(pattern, _)| pattern))
            .collect(),
    }
}

/// The best layout of a log where so many of each product are left to be made, and what a missing one costs.
pub(super) fn left_over(lot: &Lot<'_>, left: &[Demand]) -> Option<(Layout, Vec<Line>)> {
    let mut lines = Vec::new();
    for line in Line::all(lot.job) {
        let demand = left.get(usize::from(line.product)).copied().unwrap_or_default();
        let raised = |values: &[i64]| {
            let raise = |value: &i64| if *value > 0 { value + demand.missing } else { 0 };
            values.iter().map(raise).collect()
        };
        let owed = demand.least.min(demand.most.unwrap_or(u32::MAX));
        if owed > 0 && demand.missing > 0 {
            lines.push(Line {
                values: raised(&line.values),
                most: Some(owed),
                ..line.clone()
            });
        }
        let most = demand.most.map(|most| most - owed);
        if most != Some(0) {
            lines.push(Line { most, ..line });
        }
    }
    let layout = best_at(lot.job, &lot.setup, &lines)?;
    Some((layout, lines))
}
