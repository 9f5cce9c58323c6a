//! Each log by itself, at prices.

use core::sync::atomic::{AtomicUsize, Ordering};
use std::collections::HashMap;
use std::sync::Mutex;

use super::whole::Ground;
use super::{Demand, Lot, Pattern, Work};
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
    pub(super) fn limits(&self, demands: &[Demand]) -> i64 {
        let all = demands.iter().zip(self.most.iter().zip(&self.least));
        all.map(|(demand, (most, least))| {
            most * i64::from(demand.most.unwrap_or(0)) - least * i64::from(demand.least)
        })
        .sum()
    }

    /// What a layout brings at these prices.
    pub(super) fn of(&self, pattern: &Pattern) -> i64 {
        let counts = pattern.counts.iter().enumerate();
        pattern.worth
            + counts
                .map(|(product, count)| i64::from(*count) * self.added(product))
                .sum::<i64>()
    }

    /// The products of a log at these prices, within spans of their numbers: what lies below one brings more, by `bonus`, until
    /// it is reached.
    fn lines_within(&self, lot: &Lot<'_>, spans: &[&Span], bonus: i64) -> Vec<Line> {
        let mut lines = Vec::new();
        for line in self.lines(lot) {
            let own = spans
                .iter()
                .filter(|span| span.product == usize::from(line.product));
            let least = own.clone().map(|span| span.least).max().unwrap_or(0);
            let most = own.filter_map(|span| span.most).min();
            if least > 0 {
                lines.push(Line {
                    values: line.values.iter().map(|value| value + bonus).collect(),
                    most: Some(least),
                    ..line.clone()
                });
            }
            let most = most.map(|most| most.saturating_sub(least));
            if most != Some(0) {
                lines.push(Line { most, ..line });
            }
        }
        lines
    }

    /// The products of a log at these prices, no more of any than can be used.
    #[must_use]
    pub fn lines(&self, lot: &Lot<'_>) -> Vec<Line> {
        let mut lines = Line::all(lot.job);
        for line in &mut lines {
            line.most = None;
            let added = self.added(usize::from(line.product));
            for value in &mut line.values {
                *value += added;
            }
        }
        lines
    }
}

/// No fewer and no more boards of a product out of a log than so many.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Span {
    pub(super) log: usize,
    pub(super) product: usize,
    pub(super) least: u32,
    pub(super) most: Option<u32>,
}

impl Span {
    /// No more than so many, and more.
    pub(super) const fn both(log: usize, product: usize, most: u32) -> [Self; 2] {
        let all = Self {
            log,
            product,
            least: 0,
            most: Some(most),
        };
        let more = Self {
            least: most + 1,
            most: None,
            ..all
        };
        [all, more]
    }

    /// Whether a number lies within.
    pub(super) fn holds(&self, count: u32) -> bool {
        count >= self.least && self.most.is_none_or(|most| count <= most)
    }
}

/// The best layout of a log at some prices, and what none brings more than.
type Asked = Option<(Pattern, i64)>;

/// What logs have answered.
#[derive(Debug, Default)]
pub(super) struct Answers {
    known: Mutex<HashMap<(usize, Vec<Line>), Asked>>,
    asked: AtomicUsize,
}

impl Answers {
    /// How often a log was asked what was not known.
    pub(super) fn asked(&self) -> usize {
        self.asked.load(Ordering::Relaxed)
    }

    fn ask(&self, log: usize, lot: &Lot<'_>, lines: Vec<Line>) -> Asked {
        let key = (log, lines);
        if let Some(told) = self.known.lock().ok().and_then(|known| known.get(&key).cloned()) {
            return told;
        }
        self.asked.fetch_add(1, Ordering::Relaxed);
        let layout = best_at(lot.job, &lot.setup, &key.1, STACKS_ASKED);
        let told = layout.map(|layout| {
            let bound = layout.found.bound;
            (
                Pattern::of(lot.job, &layout, (key.1.clone(), STACKS_ASKED)),
                bound,
            )
        });
        if let Ok(mut known) = self.known.lock() {
            known.insert(key, told.clone());
        }
        told
    }
}

/// Stacks that are looked at where a log is asked within a case.
const STACKS_ASKED: usize = 2_000;

/// What came of asking every log.
#[derive(Clone, Debug)]
pub(super) struct Round {
    /// The best layout of each log at the prices; none where it has none or was not asked any more.
    pub(super) patterns: Vec<Option<Pattern>>,
    /// No allotment brings more; none where some log could not be told.
    pub(super) bound: Option<i64>,
}

/// Asks every log for its best layout at prices, within spans.
pub(super) fn ask(
    ground: Ground<'_, '_>,
    prices: &Prices,
    spans: &[Span],
    (work, answers): (&Work<'_>, &Answers),
) -> Round {
    let logs: Vec<usize> = (0..ground.lots.len()).collect();
    let asked = each(&logs, work.threads, &|log| {
        if work.stopped() {
            return None;
        }
        let lot = &ground.lots[*log];
        let own: Vec<&Span> = spans.iter().filter(|span| span.log == *log).collect();
        let owed: i64 = owed(&own).map(i64::from).sum();
        // Whoever lacks one of those that are owed lacks more than all of the log brings.
        let bonus = if owed > 0 {
            2 * ground.worth.get(*log).copied().unwrap_or(0)
        } else {
            0
        };
        let (pattern, bound) = answers.ask(*log, lot, prices.lines_within(lot, &own, bonus))?;
        let bound = bound - owed * bonus;
        // Where nothing is owed the log may be left.
        Some((pattern, if owed > 0 { bound } else { bound.max(0) }))
    });
    let all = asked.iter().all(Option::is_some);
    let worth: i64 = asked.iter().flatten().map(|(_, bound)| *bound).sum();
    Round {
        bound: all.then(|| worth + prices.limits(ground.demands)),
        patterns: asked
            .into_iter()
            .map(|asked| asked.map(|(pattern, _)| pattern))
            .collect(),
    }
}

/// How many of each product a log has to give within spans of its own.
fn owed<'s>(spans: &'s [&Span]) -> impl Iterator<Item = u32> + 's {
    spans.iter().enumerate().filter_map(|(at, span)| {
        let same = |other: &&&Span| other.product == span.product;
        let first = !spans[..at].iter().any(|other| same(&other));
        first.then(|| {
            spans
                .iter()
                .filter(same)
                .map(|other| other.least)
                .max()
                .unwrap_or(0)
        })
    })
}

/// The best layout of a log where so many of each product are left to be made, and what a missing one costs.
pub(super) fn left_over(lot: &Lot<'_>, left: &[Demand], stacks: usize) -> Option<(Layout, Vec<Line>)> {
    let mut lines = Vec::new();
    for line in Line::all(lot.job) {
        let demand = left.get(usize::from(line.product)).copied().unwrap_or_default();
        let raised = |values: &[i64]| values.iter().map(|value| value + demand.missing).collect();
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
    let layout = best_at(lot.job, &lot.setup, &lines, stacks)?;
    Some((layout, lines))
}
