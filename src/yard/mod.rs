//! An order over many logs as a file: what a job has, with many logs in the place of one; TOML in, and a table of logs beside it.
//!
//! [`KEYS`] lists every key with a line on what it means. Each log is read as the job that it would be by itself, so that all
//! that is looked at in a job is looked at here; what is wrong is told once, at its place in the file or in the table.

mod gathered;
pub(crate) mod keys;
mod rows;
mod sheet;
#[cfg(test)]
mod tests;
mod written;

use std::borrow::Cow;
use std::path::Path;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

pub use keys::{KEYS, LOGS_MAX};

use crate::allot::Demand;
use crate::diagnostic::{Diagnostic, Source, Span, any_error, nearest, render_files};
use crate::input::{self, Node};
use crate::job::{self, Job, named_by};
use gathered::Gathered;
use keys::{OF_MILL, OF_ONE};
use written::Written;

/// Many logs, and what is wanted of all of them.
#[derive(Clone, Debug)]
pub struct Yard {
    /// Each log as a job of its own, with the products of all.
    pub jobs: Vec<Job>,
    /// How many of each product are wanted.
    pub demands: Vec<Demand>,
    /// The mill's profile as text, where it has a file of its own.
    pub mill: Option<String>,
    written: Written,
}

impl Yard {
    /// A log as a job file of its own, with so many boards of each product wanted, for a mill in a file called so.
    #[must_use]
    pub fn job_text(&self, log: usize, counts: &[u32], mill: &str) -> String {
        self.written.job(log, counts, mill)
    }
}

/// What came of reading an order: the logs, if they can be used, and all that is to say, by file.
#[derive(Clone, Debug)]
pub struct Outcome {
    /// The logs; none exactly where a diagnostic is an error.
    pub yard: Option<Yard>,
    /// The files that were read, each with what is to say about it.
    pub reports: Vec<(Source, Vec<Diagnostic>)>,
}

impl Outcome {
    /// All diagnostics as text, file by file; empty where there are none.
    #[must_use]
    pub fn rendered(&self) -> String {
        render_files(&self.reports)
    }
}

/// A log before it is read.
pub(super) struct Raw<'a> {
    /// Its keys.
    table: DeTable<'a>,
    /// Where it stands.
    span: Span,
    /// The row that it stands in, where it stands in a table of text.
    row: Option<usize>,
}

/// Reads an order. A mill and a table of logs with files of their own are asked of `load`, by their paths from where the order's
/// file stands.
#[must_use]
pub fn read(source: &Source, load: &dyn Fn(&Path) -> std::io::Result<String>) -> Outcome {
    let (document, mut said, _) = input::parsed(&source.text, KEYS);
    let failed = |said| Outcome {
        yard: None,
        reports: vec![(source.clone(), said)],
    };
    if any_error(&said) {
        return failed(said);
    }
    let order = document.get_ref();
    unknown(order, &mut said);
    let mill = part(order, &["mill", "unit"]);
    let mut reports = Vec::new();
    let (profile, of_mill) = job::read_mill(source, OF_MILL, &mill, load, &mut reports);
    said.extend(of_mill);
    let profile_text = reports.first().map(|(of, _)| of.text.clone());
    let sheet = sheet(source, order, load, &mut said);
    let base = source.text.len() + 1;
    let both = match &sheet {
        Some(sheet) => format!("{}\n{}", source.text, sheet.text),
        None => source.text.clone(),
    };
    let (rows, of_rows) = sheet
        .as_ref()
        .map_or_else(Default::default, |sheet| sheet::rows(&sheet.text));
    let mut gathered = Gathered::new(source.clone(), sheet, base);
    gathered.all_of_sheet(of_rows);
    let mut logs = listed(order, &mut said);
    if gathered.sheet.is_some() {
        let every = table_at(order, "every_log");
        let known = |name: &str| every.is_some_and(|every| every.contains_key(name));
        let (more, of_rows) = rows::logs(&rows, base, &known);
        gathered.all_of_sheet(of_rows);
        logs.extend(more.into_iter().map(|log| Raw {
            table: log.table,
            span: log.span,
            row: Some(log.number),
        }));
    }
    gathered.all(said);
    few_enough(order, &logs, &mut gathered);
    twice(&logs, &mut gathered);
    let shared = part(order, &["unit", "setting", "finish", "board"]);
    let mut read = Vec::new();
    for log in &logs {
        let table = one_of(order, &shared, log);
        let (job, root, of_log) = job::read_one(&both, OF_ONE, &table, profile.clone());
        gathered.of_log(of_log, log.row, logs.len());
        read.push((job, root));
    }
    let written = Written::of(order, logs.iter().map(|log| one_of(order, &shared, log)));
    reports.splice(0..0, gathered.reports());
    let failed = reports.iter().any(|(_, said)| any_error(said));
    Outcome {
        yard: whole(read, profile_text, written).filter(|_| !failed),
        reports,
    }
}

/// The logs and what is wanted of them, where every log could be read.
fn whole(read: Vec<(Option<Job>, Node)>, mill: Option<String>, written: Written) -> Option<Yard> {
    let (jobs, roots): (Vec<Option<Job>>, Vec<Node>) = read.into_iter().unzip();
    let jobs: Vec<Job> = jobs.into_iter().collect::<Option<_>>()?;
    let demands = demands(jobs.first()?, roots.first()?)?;
    Some(Yard {
        jobs,
        demands,
        mill,
        written,
    })
}

/// How many of each product are wanted, and what a missing one costs.
fn demands(job: &Job, root: &Node) -> Option<Vec<Demand>> {
    let boards = root.items("board").zip(&job.boards);
    let demands: Vec<Demand> = boards
        .map(|(node, board)| {
            let dearest = board.values.iter().copied().max().unwrap_or(0);
            let times = match node.number::<u8>("priority") {
                Some(1) => 10,
                Some(3) => 1,
                _ => 3,
            };
            Demand {
                least: board.least,
                most: board.most,
                missing: node.number("missing").unwrap_or(dearest.saturating_mul(times)),
            }
        })
        .collect();
    (demands.len() == job.boards.len()).then_some(demands)
}

/// Keys that no order has.
fn unknown(order: &DeTable<'_>, said: &mut Vec<Diagnostic>) {
    for key in order.keys() {
        let name = key.get_ref().as_ref();
        if KEYS.iter().any(|known| known.name == name) {
            continue;
        }
        let names = KEYS.iter().map(|known| known.name);
        let help = match nearest(name, names.clone()) {
            Some(near) => format!("did you mean `{near}`?"),
            None => {
                let names: Vec<String> = names.map(|name| format!("`{name}`")).collect();
                format!("keys here are {}", names.join(", "))
            }
        };
        said.push(Diagnostic::error(key.span(), format!("no key is called `{name}`")).with_help(help));
    }
}

/// Some of the keys of a table.
fn part<'a>(table: &DeTable<'a>, names: &[&str]) -> DeTable<'a> {
    let mut part = DeTable::new();
    for (key, value) in table {
        if names.contains(&key.get_ref().as_ref()) {
            part.insert(key.clone(), value.clone());
        }
    }
    part
}

/// The table of logs that an order names.
fn sheet(
    source: &Source,
    order: &DeTable<'_>,
    load: &dyn Fn(&Path) -> std::io::Result<String>,
    said: &mut Vec<Diagnostic>,
) -> Option<Source> {
    let named = order.get("logs")?;
    let DeValue::String(name) = named.get_ref() else {
        let help = "write logs = \"logs.csv\", or open each log with [[log]]";
        said.push(Diagnostic::error(named.span(), "`logs` should be the name of a file").with_help(help));
        return None;
    };
    let path = named_by(source, name);
    let error = match load(&path) {
        Ok(text) => return Some(Source::new(path.to_string_lossy(), text)),
        Err(error) => error,
    };
    let shown = path.display();
    let (message, help) = match error.kind() {
        std::io::ErrorKind::NotFound => (
            format!("there is no table of logs at {shown}"),
            "write its path from the folder of this file",
        ),
        std::io::ErrorKind::InvalidData => (
            format!("the table of logs at {shown} is no text in UTF-8"),
            "save it from the spreadsheet as CSV in UTF-8, not as a workbook",
        ),
        _ => (
            format!("the table of logs at {shown} cannot be read: {error}"),
            "look whether it is the file you mean: such a table may have 1 MiB",
        ),
    };
    said.push(Diagnostic::error(named.span(), message).with_help(help));
    None
}

/// The table at a key, where one stands there.
fn table_at<'t, 'a>(order: &'t DeTable<'a>, name: &str) -> Option<&'t DeTable<'a>> {
    order.get(name).and_then(|value| value.get_ref().as_table())
}

/// The logs that stand in the order itself.
fn listed<'a>(order: &DeTable<'a>, said: &mut Vec<Diagnostic>) -> Vec<Raw<'a>> {
    if let Some(every) = order.get("every_log")
        && every.get_ref().as_table().is_none()
    {
        let help = "write [every_log] in a line of its own, and below it what holds of every log";
        said.push(Diagnostic::error(every.span(), "`every_log` should be a table").with_help(help));
    }
    let raw = |value: &Spanned<DeValue<'a>>| {
        let table = value.get_ref().as_table()?;
        Some(Raw {
            table: table.clone(),
            span: value.span().into(),
            row: None,
        })
    };
    let Some(found) = order.get("log") else {
        return Vec::new();
    };
    let logs: Option<Vec<Raw<'a>>> = match found.get_ref() {
        DeValue::Array(logs) => logs.iter().map(raw).collect(),
        _ => raw(found).map(|log| vec![log]),
    };
    logs.unwrap_or_else(|| {
        let help =
            "open each log with [[log]] in a line of its own; a file with a table of logs is named by `logs`";
        said.push(Diagnostic::error(found.span(), "`log` should be a table for each log").with_help(help));
        Vec::new()
    })
}

/// An order without logs, or with too many.
fn few_enough(order: &DeTable<'_>, logs: &[Raw<'_>], gathered: &mut Gathered) {
    let none = !order.contains_key("log") && !order.contains_key("logs");
    if none {
        let help = "add logs = \"logs.csv\" before the first table, or open each log with [[log]]";
        gathered.all(vec![
            Diagnostic::error(Span::at(0), "this order has no logs").with_help(help),
        ]);
    }
    if let Some(log) = logs.get(LOGS_MAX) {
        let message = format!("there are {} logs, more than {LOGS_MAX}", logs.len());
        let error = Diagnostic::error(log.span, message).with_help("make several orders of it");
        gathered.all(vec![error]);
    }
}

/// Logs with one name: nobody could tell which of them is meant.
fn twice(logs: &[Raw<'_>], gathered: &mut Gathered) {
    let mut seen: std::collections::BTreeMap<&str, Span> = std::collections::BTreeMap::new();
    for log in logs {
        let Some(found) = log.table.get("name") else {
            continue;
        };
        let Some(name) = found.get_ref().as_str() else {
            continue;
        };
        let span = found.span().into();
        if let Some(first) = seen.insert(name, span) {
            let message = format!("two logs are called \"{name}\"");
            let help = format!(
                "the first stands {}; give each its own name",
                gathered.place(first)
            );
            gathered.all(vec![Diagnostic::error(span, message).with_help(help)]);
        }
    }
}

/// A log as the job that it would be by itself: what the order says of all, what it says of every log, and its own.
fn one_of<'a>(order: &DeTable<'a>, shared: &DeTable<'a>, log: &Raw<'a>) -> DeTable<'a> {
    let mut own = log.table.clone();
    for (key, value) in table_at(order, "every_log").into_iter().flatten() {
        if !own.contains_key(key.get_ref().as_ref()) {
            own.insert(key.clone(), value.clone());
        }
    }
    let mut one = shared.clone();
    let range = log.span.start..log.span.end;
    let key = Spanned::new(range.clone(), Cow::Borrowed("log"));
    one.insert(key, Spanned::new(range, DeValue::Table(own)));
    one
}
