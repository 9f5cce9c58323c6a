//! Layouts beside the best one: what each brings, takes and gives up.

use std::collections::BTreeMap;

use bunkside_protocol::Length;
use serde::Serialize;

use super::boards::Boards;
use super::table::{Side, Table, count};
use super::totals::Totals;
use super::value::money_words;
use crate::job::Job;
use crate::layout::{Kind, Layout, Make, Other, money};
use crate::measure::{System, clock};
use crate::planned::Planned;

/// A layout among others, the best of all first.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct OtherRow {
    /// Its number among them, from 1.
    pub number: usize,
    /// What it is the best of.
    pub best_of: String,
    /// What its boards bring, in the job's money.
    pub brings: f64,
    /// No layout of its kind brings more.
    pub bound: f64,
    /// How many boards.
    pub boards: u32,
    /// Boards as a share of the log, percent; null where nobody asks whether it can be sawn.
    pub yield_percent: Option<f64>,
    /// Seconds to saw it, in the order of cuts that `plan` finds; null likewise.
    pub seconds: Option<f64>,
    /// Whether none of the others brings as much in less time, or more in no more.
    pub unbeaten: Option<bool>,
    /// Boards that the best layout has fewer of, a line each.
    pub gains: Vec<String>,
    /// Boards that the best layout has more of.
    pub gives_up: Vec<String>,
    /// How its layers differ, a line each.
    pub layers: Vec<String>,
}

impl OtherRow {
    /// All of them: the best layout and others, each with how it is sawn, where that is known.
    #[must_use]
    pub fn all(
        job: &Job,
        (best, bound): (&Layout, i64),
        others: &[Other],
        sawn: &[Option<Planned<'_>>],
    ) -> Vec<Self> {
        let make = Make::of(&best.boards);
        let first = (None, best, crate::layout::worth(job, &best.plan), bound);
        let all = std::iter::once(first).chain(
            others
                .iter()
                .map(|other| (Some(other.kind), &other.layout, other.brings, other.bound)),
        );
        let mut rows: Vec<Self> = (1..)
            .zip(all)
            .map(|(number, (kind, layout, brings, bound))| {
                let planned = sawn.get(number - 1).and_then(Option::as_ref);
                let boards = planned.map(Boards::of);
                let own = Make::of(&layout.boards);
                let changed = changes(&make.boards, &own.boards);
                Self {
                    number,
                    best_of: kind.map_or_else(|| "all".to_owned(), |kind| kind_words(job, kind)),
                    brings: money(brings),
                    bound: money(bound.max(brings)),
                    boards: u32::try_from(layout.boards.len()).unwrap_or(u32::MAX),
                    yield_percent: boards.map(|boards| boards.volume.percent()),
                    seconds: planned.map(|planned| Totals::of(planned.setup, &planned.trace).seconds.all),
                    unbeaten: None,
                    gains: lines(job, changed.iter().filter(|(_, by)| *by > 0)),
                    gives_up: lines(job, changed.iter().filter(|(_, by)| *by < 0)),
                    layers: layers(job, &changes(&make.layers, &own.layers)),
                }
            })
            .collect();
        judge(&mut rows);
        rows
    }

    /// How it differs from the best one, in words; none of that itself.
    #[must_use]
    pub fn words(&self, rows: &[Self]) -> Option<String> {
        let best = rows.first().filter(|best| best.number != self.number)?;
        let mut words = Vec::new();
        let less = best.brings - self.brings;
        if less >= 0.000_5 {
            words.push(format!("{} less", money_words(less)));
        }
        if let (Some(own), Some(its)) = (self.seconds, best.seconds) {
            words.push(match own - its {
                by if by <= -0.5 => format!("{} less to saw", clock(-by)),
                by if by >= 0.5 => format!("{} more to saw", clock(by)),
                _ => "as long to saw".to_owned(),
            });
        }
        if !self.gains.is_empty() {
            words.push(format!("gains {}", self.gains.join(", ")));
        }
        if !self.gives_up.is_empty() {
            words.push(format!("gives up {}", self.gives_up.join(", ")));
        }
        if !self.layers.is_empty() {
            words.push(format!("layers: {}", self.layers.join(", ")));
        }
        Some(words.join("; "))
    }

    /// What it brings and takes, in a line.
    #[must_use]
    pub fn in_a_line(&self) -> String {
        let mut words = vec![format!("brings {}", money_words(self.brings))];
        words.push(count(u64::from(self.boards), "board"));
        words.extend(self.yield_percent.map(|percent| format!("yield {percent:.0} %")));
        words.extend(self.seconds.map(|seconds| format!("{} to saw", clock(seconds))));
        words.join(", ")
    }

    /// All as a table.
    #[must_use]
    pub fn table(rows: &[Self]) -> Table {
        let mut table = Table::new(&[
            ("no", Side::Right),
            ("brings", Side::Right),
            ("boards", Side::Right),
            ("yield", Side::Right),
            ("to saw", Side::Right),
            ("an hour", Side::Right),
            ("", Side::Left),
            ("the best of", Side::Left),
        ]);
        for row in rows {
            let told = |value: Option<String>| value.unwrap_or_else(|| "-".to_owned());
            let seconds = row.seconds.filter(|seconds| *seconds > 0.0);
            table.row([
                row.number.to_string(),
                money_words(row.brings),
                row.boards.to_string(),
                told(row.yield_percent.map(|percent| format!("{percent:.0} %"))),
                told(row.seconds.map(clock)),
                told(seconds.map(|seconds| money_words(row.brings * 3_600.0 / seconds))),
                if row.unbeaten == Some(true) { "*" } else { "" }.to_owned(),
                row.best_of.clone(),
            ]);
        }
        table
    }
}

/// Whether one of several, each with what it brings and the seconds it takes, brings as much in less time, or more in no more.
#[must_use]
pub fn is_beaten(known: &[(f64, f64)], (brings, seconds): (f64, f64)) -> bool {
    known
        .iter()
        .any(|(other, its)| *other >= brings && *its <= seconds && (*other > brings || *its < seconds))
}

/// Tells which bring most for their time.
fn judge(rows: &mut [OtherRow]) {
    let known: Vec<(f64, f64)> = rows
        .iter()
        .filter_map(|row| Some((row.brings, row.seconds?)))
        .collect();
    for row in rows {
        let Some(seconds) = row.seconds else { continue };
        row.unbeaten = Some(!is_beaten(&known, (row.brings, seconds)));
    }
}

fn kind_words(job: &Job, kind: Kind) -> String {
    let system = System::of(job.inches);
    match kind {
        Kind::WithoutLayer(height) => format!("those without a layer of {}", system.size(height)),
        Kind::WithoutProduct(product) => {
            let name = job
                .boards
                .get(usize::from(product))
                .map(|board| board.name.as_str());
            format!("those without {}", name.unwrap_or_default())
        }
        Kind::Fewer(1) => "those of one board".to_owned(),
        Kind::Fewer(boards) => format!("those of no more than {boards} boards"),
        Kind::Owed => "those with as much of what is owed".to_owned(),
    }
}

/// How many more there are of each thing in the second than in the first; less than none where fewer.
fn changes<K: Ord + Copy>(first: &BTreeMap<K, u32>, second: &BTreeMap<K, u32>) -> Vec<(K, i64)> {
    let mut all: BTreeMap<K, i64> = second
        .iter()
        .map(|(key, count)| (*key, i64::from(*count)))
        .collect();
    for (key, count) in first {
        *all.entry(*key).or_insert(0) -= i64::from(*count);
    }
    all.into_iter().filter(|(_, by)| *by != 0).collect()
}

fn lines<'a>(job: &Job, changed: impl Iterator<Item = &'a ((u8, u8), i64)>) -> Vec<String> {
    let system = System::of(job.inches);
    let line = |((product, length), by): &((u8, u8), i64)| {
        let board = job.boards.get(usize::from(*product))?;
        let length = board.lengths.get(usize::from(*length))?;
        Some(format!("{} {} of {}", by.abs(), board.name, system.run(*length)))
    };
    changed.filter_map(line).collect()
}

fn layers(job: &Job, changed: &[(Length, i64)]) -> Vec<String> {
    let system = System::of(job.inches);
    let line = |(height, by): &(Length, i64)| {
        let more = if *by > 0 { "more" } else { "fewer" };
        format!("{} of {} {more}", by.abs(), system.size(*height))
    };
    changed.iter().map(line).collect()
}

/// What is said over the table.
#[must_use]
pub fn heading(rows: &[OtherRow]) -> String {
    let timed = rows.iter().any(|row| row.seconds.is_some());
    let others = count(rows.len().saturating_sub(1) as u64, "other layout");
    if rows.len() < 2 {
        return "no other layout that brings half as much was found".to_owned();
    }
    let times = if timed {
        "; times as `bunkside plan` would saw them; behind * none of these brings as much in less time"
    } else {
        ""
    };
    format!("{others}, each the best of its kind{times}")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(number: usize, brings: f64, seconds: f64) -> OtherRow {
        OtherRow {
            number,
            best_of: String::new(),
            brings,
            bound: brings,
            boards: 1,
            yield_percent: None,
            seconds: Some(seconds),
            unbeaten: None,
            gains: vec!["1 plank of 3.0 m".to_owned()],
            gives_up: Vec::new(),
            layers: Vec::new(),
        }
    }

    #[test]
    fn what_is_beaten_brings_no_more_and_takes_no_less() {
        let mut rows = vec![
            row(1, 10.0, 600.0),
            row(2, 10.0, 600.0),
            row(3, 10.0, 601.0),
            row(4, 9.0, 500.0),
            row(5, 8.0, 550.0),
        ];
        judge(&mut rows);
        let told: Vec<bool> = rows.iter().filter_map(|row| row.unbeaten).collect();
        assert_eq!(told, [true, true, false, true, false]);
        assert_eq!(rows[0].words(&rows), None);
        assert_eq!(
            rows[3].words(&rows).unwrap(),
            "1.00 less; 1 min 40 s less to saw; gains 1 plank of 3.0 m"
        );
    }
}
