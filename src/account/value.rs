//! What the boards of a plan bring, and what no layout of the log brings more than.

use serde::Serialize;

use super::boards::{BoardRow, Boards};
use crate::cut_plan::OwnedPlan;
use crate::job::{BoardSpec, Job, Layouts};
use crate::layout::{best, money, step};
use crate::measure::System;
use crate::planned::Planned;

/// What the boards bring that count, in the job's money.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Value {
    /// What they bring together.
    pub brings: f64,
    /// What no layout of this log on the step it is searched on brings more than, whether it can be sawn or not; none where to tell that
    /// takes more memory than a layout may have.
    pub bound: Option<f64>,
    /// How far the one lies below the other.
    pub gap_percent: Option<f64>,
    /// Why the layout that brings most cannot be sawn by rule of thumb, and what would free it; none where it is the one that is
    /// planned, or nothing stands in its way.
    pub obstacle: Option<String>,
    /// The cut plan of that layout, where it brings more than what is planned.
    #[serde(skip)]
    pub most: Option<OwnedPlan>,
}

impl Value {
    /// That of a plan whose job asks for the best layout; none for any other.
    #[must_use]
    pub fn of(planned: &Planned<'_>, boards: &Boards) -> Option<Self> {
        if planned.job.layout != Layouts::Best {
            return None;
        }
        let brings = sum(planned.job, boards);
        let most = best(planned.job, planned.setup);
        let bound = most.as_ref().map(|layout| layout.found.bound);
        let gap = |bound: i64| (bound - brings).max(0) as f64 * 100.0 / bound.max(1) as f64;
        Some(Self {
            brings: money(brings),
            bound: bound.map(money),
            gap_percent: bound.map(gap),
            obstacle: None,
            most: most
                .filter(|layout| layout.found.worth > brings)
                .map(|layout| layout.plan),
        })
    }

    /// It in a sentence.
    #[must_use]
    pub fn words(&self, job: &Job) -> String {
        let brought = self.brought_words(job);
        match &self.obstacle {
            Some(obstacle) => format!(
                "{brought}; in the way of the layout that brings most stands: {obstacle}; `bunkside layout --geometry-only -o DIR` \
                 writes it as a cut plan, to be changed by hand"
            ),
            None => brought,
        }
    }

    fn brought_words(&self, job: &Job) -> String {
        if job.boards.iter().all(BoardSpec::brings_nothing) {
            return "0.00 in the job's money: no board of the order brings anything at its price, so it is laid out by the hand habit"
                .to_owned();
        }
        let brings = format!("{} in the job's money", money_words(self.brings));
        let step = System::Metric.size(step(job));
        match (self.bound, self.gap_percent) {
            (Some(bound), _) if bound < self.brings => {
                format!(
                    "{brings}; more than the {} that any layout on a step of {step} brings",
                    money_words(bound)
                )
            }
            (Some(_), Some(0.0)) => {
                format!("{brings}; no layout of this log brings more (proven, on a step of {step})")
            }
            (Some(bound), Some(gap)) => format!(
                "{brings}; on a step of {step} no layout of this log brings more than {}, sawn or not: at most \
                 {gap:.2} % are given up",
                money_words(bound)
            ),
            _ => brings,
        }
    }
}

/// What boards that count bring together, thousandths.
pub(crate) fn sum(job: &Job, boards: &Boards) -> i64 {
    boards.boards.iter().map(|row| brings(job, row)).sum()
}

/// What the boards of one row bring, thousandths.
fn brings(job: &Job, row: &BoardRow) -> i64 {
    let spec = job.boards.iter().find(|board| board.name == row.name);
    let each = spec.and_then(|spec| spec.value(row.length_um));
    each.map_or(0, |each| each * i64::from(row.count))
}

/// Money with two decimals, or with three where that is less than a tenth: prices are written in thousandths.
#[must_use]
pub fn money_words(value: f64) -> String {
    let two = format!("{value:.2}");
    let three = format!("{value:.3}");
    if value.abs() < 0.1 && !three.ends_with('0') {
        three
    } else {
        two
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_small_price_is_not_told_as_nothing() {
        let told = [0.0, 0.004, 0.04, 0.096, 0.14, 4.2, 38.537].map(money_words);
        assert_eq!(told, ["0.00", "0.004", "0.04", "0.096", "0.14", "4.20", "38.54"]);
    }
}
