//! An order over many logs: which boards come from which log, so that all together bring most.
//!
//! Of each log one layout is sawn. What a layout brings hangs on the others only by the numbers: no more of a product
//! than can be used, and what is owed and not made costs. So the numbers are given prices (`master`, a linear program over
//! the layouts that are known), and each log is asked by itself for its best layout at those prices (`priced`, exact), which
//! is added to those that are known, until no log has a better one. What the logs are worth at the prices, and the limits at
//! theirs, is a bound that no allotment can come over, whatever the prices are. Whole layouts are then chosen (`whole`, `choice`),
//! what prices cannot tell is told case by case (`branch`), and
//! those that cannot be sawn are laid out otherwise (`sawn`).
//!
//! Money is in thousandths of the job's, whole numbers: what is told as proven does not hang on rounding.

mod branch;
mod choice;
mod master;
mod priced;
mod sawn;
#[cfg(test)]
mod tests;
mod whole;

use bunkside_planner::layout::exact::Placed;
use bunkside_planner::replay::Setup;

use crate::job::Job;
use crate::layout::{Layout, Line};

pub use priced::Prices;
pub use sawn::{Sawn, sawn};
pub use whole::{Allotment, Tell, Work, allot};

/// A log with what is wanted of all.
#[derive(Debug)]
pub struct Lot<'a> {
    /// The log as a job of its own; all have the same products.
    pub job: &'a Job,
    /// It on the mill.
    pub setup: Setup<'a>,
}

/// How many of a product are wanted of all logs together.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Demand {
    /// How many are owed.
    pub least: u32,
    /// How many can be used, if there is a limit.
    pub most: Option<u32>,
    /// What each that is owed and not made costs, thousandths.
    pub missing: i64,
}

/// A layout of one log, as the whole order sees it.
#[derive(Clone, Debug)]
pub struct Pattern {
    /// How many boards it has of each product.
    pub counts: Vec<u32>,
    /// What they bring, thousandths.
    pub worth: i64,
    /// At which prices and limits it is the best.
    pub lines: Vec<Line>,
    /// How many stacks were looked at for it.
    pub stacks: usize,
}

impl Pattern {
    /// What a layout is to the whole order.
    fn of(job: &Job, layout: &Layout, (lines, stacks): (Vec<Line>, usize)) -> Self {
        let mut counts = vec![0; job.boards.len()];
        let mut worth = 0;
        for Placed { product, length, .. } in &layout.boards {
            if let (Some(count), Some(board)) = (
                counts.get_mut(usize::from(*product)),
                job.boards.get(usize::from(*product)),
            ) {
                *count += 1;
                worth += board.values.get(usize::from(*length)).copied().unwrap_or(0);
            }
        }
        Self {
            counts,
            worth,
            lines,
            stacks,
        }
    }
}

/// How many boards of each product a choice of layouts has.
#[must_use]
pub fn made(chosen: &[Option<Pattern>], products: usize) -> Vec<u32> {
    let mut made = vec![0; products];
    for pattern in chosen.iter().flatten() {
        for (sum, count) in made.iter_mut().zip(&pattern.counts) {
            *sum += count;
        }
    }
    made
}

/// What a choice of layouts brings, less what is missing of what is owed.
#[must_use]
pub fn brings(chosen: &[Option<Pattern>], demands: &[Demand]) -> i64 {
    let made = made(chosen, demands.len());
    let missing = demands
        .iter()
        .zip(&made)
        .map(|(demand, made)| i64::from(demand.least.saturating_sub(*made)) * demand.missing);
    let worth: i64 = chosen.iter().flatten().map(|pattern| pattern.worth).sum();
    worth - missing.sum::<i64>()
}
