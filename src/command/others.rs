//! `layout --others`: layouts beside the best one.

use bunkside_planner::replay::Setup;

use super::Failure;
use super::folder::Folder;
use super::making::plan_text;
use crate::account::others::{OtherRow, heading, is_beaten};
use crate::account::table::wrapped;
use crate::account::totals::Totals;
use crate::cli::Opt;
use crate::job::Job;
use crate::layout::{Layout, Other, money, others, worth};
use crate::planned::Planned;
use crate::spread::{cores, each};
use crate::view::{BESIDE, Subject, beside};

/// Other layouts as well.
pub(super) const OTHERS: Opt = Opt {
    long: "others",
    short: None,
    value: None,
    about: "layouts beside the best one: what each brings, takes and gives up",
};

/// Cut plans of others, as files.
pub(super) const PLANS: [&str; MOST] = [
    "other-2.cut",
    "other-3.cut",
    "other-4.cut",
    "other-5.cut",
    "other-6.cut",
    "other-7.cut",
];

/// So many others are shown.
const MOST: usize = 6;

/// Layouts beside the best one.
pub(super) struct Beside {
    others: Vec<Other>,
    /// What is told of the best one and of these.
    pub(super) rows: Vec<OtherRow>,
    /// All side by side; none where nobody asks whether they can be sawn.
    picture: Option<String>,
}

impl Beside {
    /// Those of a log.
    pub(super) fn of(job: &Job, setup: &Setup<'_>, (best, bound): (&Layout, i64), sawn: bool) -> Self {
        let mut others = others(job, setup, best, sawn);
        if sawn {
            others = shown(job, setup, best, others);
        }
        others.truncate(MOST);
        let layouts: Vec<&Layout> = std::iter::once(best)
            .chain(others.iter().map(|other| &other.layout))
            .collect();
        let planned = each(&layouts, cores(), &|layout| {
            sawn.then(|| Planned::in_least_time(job, setup, &layout.plan).ok())?
        });
        let rows = OtherRow::all(job, (best, bound), &others, &planned);
        let subjects = rows.iter().zip(&planned).filter_map(|(row, planned)| {
            let title = format!("{}: the best of {}", row.number, row.best_of);
            Some((title, row.in_a_line(), Subject::planned(planned.as_ref()?)))
        });
        let subjects: Vec<_> = subjects.collect();
        let picture = (!subjects.is_empty()).then(|| beside(&subjects));
        Self {
            rows,
            picture,
            others,
        }
    }

    /// What is said of them.
    pub(super) fn text(&self, width: usize) -> String {
        let mut text = format!(
            "\n{}\n{}",
            wrapped("others    ", &heading(&self.rows), width),
            OtherRow::table(&self.rows).text(0)
        );
        if self.rows.len() > 1 {
            text.push('\n');
        }
        for row in &self.rows {
            if let Some(words) = row.words(&self.rows) {
                text.push_str(&wrapped(&format!("{:>2}: ", row.number), &words, width));
            }
        }
        text
    }

    /// Writes a cut plan for each, and all side by side.
    pub(super) fn write(&self, folder: &mut Folder, job: &Job) -> Result<(), Failure> {
        for (name, other) in PLANS.iter().zip(&self.others) {
            folder.write(name, plan_text(job, &other.layout.plan).as_bytes())?;
        }
        match &self.picture {
            Some(picture) => folder.write(BESIDE, picture.as_bytes()),
            None => Ok(()),
        }
    }
}

/// Those that are shown: first such as no other brings more than in as little time by rule of thumb, then what brings most.
fn shown(job: &Job, setup: &Setup<'_>, best: &Layout, others: Vec<Other>) -> Vec<Other> {
    let timed = |layout: &Layout| {
        let planned = Planned::new(job, setup, &layout.plan).ok()?;
        Some(Totals::of(setup, &planned.trace).seconds.all)
    };
    let times = each(&others, cores(), &|other| timed(&other.layout));
    let own = |(brings, time): (i64, &Option<f64>)| Some((money(brings), (*time)?));
    let known: Vec<(f64, f64)> = others
        .iter()
        .map(|other| other.brings)
        .zip(&times)
        .chain([(worth(job, &best.plan), &timed(best))])
        .filter_map(own)
        .collect();
    let beaten =
        |brings: i64, time: Option<f64>| own((brings, &time)).is_none_or(|own| is_beaten(&known, own));
    let mut order: Vec<(bool, Other)> = others
        .into_iter()
        .zip(times)
        .map(|(other, time)| (beaten(other.brings, time), other))
        .collect();
    order.sort_by_key(|(beaten, other)| (*beaten, std::cmp::Reverse(other.brings)));
    order.truncate(MOST);
    let mut shown: Vec<Other> = order.into_iter().map(|(_, other)| other).collect();
    shown.sort_by_key(|other| std::cmp::Reverse(other.brings));
    shown
}
