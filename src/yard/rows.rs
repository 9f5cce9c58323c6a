//! Logs from a table of text: its first row names keys of a log, each row after it is one.

use std::borrow::Cow;

use toml::Spanned;
use toml::de::{DeArray, DeTable, DeValue};

use super::keys::LOGS_MAX;
use super::sheet::{Cell, Row};
use crate::diagnostic::{Diagnostic, Span, nearest};
use crate::input::{Key, Need, Shape};
use crate::job::keys::LOG;
use crate::measure::LengthUnit;

/// What a column holds.
#[derive(Clone, Debug)]
struct Column {
    /// The key, within the tables that hold it.
    path: Vec<&'static str>,
    shape: &'static Shape,
    /// The unit of numbers without one.
    unit: Option<String>,
    must: bool,
}

/// A log as a table has it.
#[derive(Debug)]
pub(super) struct LogRow<'a> {
    /// Its row.
    pub(super) number: usize,
    /// Where it stands.
    pub(super) span: Span,
    /// Its keys; places are those of the text behind so many bytes.
    pub(super) table: DeTable<'a>,
}

/// The logs of a table, their places told as behind so many bytes; those that lack something needed are left out. What is known
/// of every log need not stand in the table.
pub(super) fn logs<'a>(
    rows: &'a [Row],
    base: usize,
    known: &dyn Fn(&str) -> bool,
) -> (Vec<LogRow<'a>>, Vec<Diagnostic>) {
    let mut said = Vec::new();
    let Some((head, rows)) = rows.split_first() else {
        let help = "write a row with the names of keys, such as name, length, small_end, butt, butt_at; then a row for each log";
        said.push(Diagnostic::error(Span::at(0), "this table of logs is empty").with_help(help));
        return (Vec::new(), said);
    };
    let columns = columns(head, &mut said, known);
    if !said.is_empty() {
        // What the rows hold is told once it is known which column is which.
        return (Vec::new(), said);
    }
    if rows.is_empty() {
        let help = "write a row for each log below the names";
        said.push(
            Diagnostic::error(head.span, "this table has names of columns, but no logs").with_help(help),
        );
    }
    if let Some(row) = rows.get(LOGS_MAX) {
        let message = format!("this table has {} logs, more than {LOGS_MAX}", rows.len());
        said.push(Diagnostic::error(row.span, message).with_help("make several orders of it"));
        return (Vec::new(), said);
    }
    let logs = rows
        .iter()
        .filter_map(|row| log(row, head, &columns, base, &mut said))
        .collect();
    (logs, said)
}

/// What the columns hold, by their names in the first row; none for one that cannot be told.
fn columns(head: &Row, said: &mut Vec<Diagnostic>, known: &dyn Fn(&str) -> bool) -> Vec<Option<Column>> {
    let mut columns: Vec<Option<Column>> = Vec::new();
    for cell in &head.cells {
        let column = column(cell, said);
        let twice = column.as_ref().is_some_and(|column| {
            let same = |other: &Option<Column>| other.as_ref().is_some_and(|other| other.path == column.path);
            columns.iter().any(same)
        });
        if twice {
            let message = format!("two columns are called `{}`", cell.text);
            said.push(Diagnostic::error(cell.span, message).with_help("leave one of them out"));
        }
        columns.push(column);
    }
    let named = |name: &str| {
        let is = |column: &Column| column.path.first() == Some(&name);
        columns.iter().flatten().any(is)
    };
    let told = columns.iter().all(Option::is_some);
    for key in LOG {
        if matches!(key.need, Need::Must) && !named(key.name) && !known(key.name) && told {
            let message = format!("no column is called `{}`", key.name);
            let help = format!("add it; {}", begun_small(key.about));
            said.push(Diagnostic::error(head.span, message).with_help(help));
        }
    }
    columns
}

fn begun_small(text: &str) -> String {
    let mut letters = text.chars();
    let first = letters.next().map(|first| first.to_lowercase().to_string());
    first.unwrap_or_default() + letters.as_str()
}

/// What a column holds by its name: a key of a log, `sweep.bow` for one within a table, its unit behind it in brackets.
fn column(cell: &Cell, said: &mut Vec<Diagnostic>) -> Option<Column> {
    let mut wrong = |message: String, help: String| {
        said.push(Diagnostic::error(cell.span, message).with_help(help));
    };
    if cell.text.is_empty() {
        wrong(
            "a column has no name".to_owned(),
            "name the key of a log that it holds, or leave the column out".to_owned(),
        );
        return None;
    }
    let (name, unit) = match cell.text.split_once(['(', '[']) {
        Some((name, unit)) => (name.trim(), Some(unit.trim_end_matches([')', ']']).trim())),
        None => (cell.text.as_str(), None),
    };
    let plain = name.trim().to_lowercase().replace([' ', '-'], "_");
    let names = names("", LOG);
    let Some((path, key)) = names.iter().find(|(path, _)| *path == plain) else {
        let help = match nearest(&plain, names.iter().map(|(path, _)| path.as_str())) {
            Some(near) => format!("did you mean `{near}`?"),
            None => {
                let all: Vec<&str> = names.iter().map(|(path, _)| path.as_str()).collect();
                format!(
                    "columns may be called {}; what is in none of them goes to a [[log]]",
                    all.join(", ")
                )
            }
        };
        wrong(format!("no key of a log is called `{name}`"), help);
        return None;
    };
    let unit = unit.filter(|unit| !unit.is_empty());
    if let Some(unit) = unit
        && is_length(&key.shape)
        && !LengthUnit::ALL.into_iter().any(|one| one.name() == unit)
    {
        let help = "write m, cm, mm, in or ft between the brackets".to_owned();
        wrong(format!("no unit of length is called `{unit}`"), help);
        return None;
    }
    if unit.is_some() && !key.shape.is_measured() {
        let help = format!("leave out what stands in brackets; this is {}", key.shape.name());
        wrong(format!("`{path}` has no unit"), help);
        return None;
    }
    Some(Column {
        path: places(path),
        shape: &key.shape,
        unit: unit.map(str::to_owned),
        must: matches!(key.need, Need::Must),
    })
}

/// Whether it is a length, or several.
fn is_length(shape: &Shape) -> bool {
    match shape {
        Shape::Measure { quantity, .. } => *quantity == crate::measure::Quantity::Length,
        Shape::List { of, .. } => is_length(of),
        Shape::Either(shapes) => shapes.iter().any(is_length),
        _ => false,
    }
}

/// Every key that a column may hold, by its path: lists of tables have no room in a row.
fn names(within: &str, keys: &'static [Key]) -> Vec<(String, &'static Key)> {
    let mut all = Vec::new();
    for key in keys {
        let path = if within.is_empty() {
            key.name.to_owned()
        } else {
            format!("{within}.{}", key.name)
        };
        match &key.shape {
            Shape::Table(inside) => all.extend(names(&path, inside)),
            Shape::List {
                of: Shape::Table(_), ..
            } => {}
            _ => all.push((path, key)),
        }
    }
    all
}

/// The names along a path, as the keys have them.
fn places(path: &str) -> Vec<&'static str> {
    let mut keys: &'static [Key] = LOG;
    let mut along = Vec::new();
    for name in path.split('.') {
        if let Some(key) = keys.iter().find(|key| key.name == name) {
            along.push(key.name);
            if let Shape::Table(inside) = &key.shape {
                keys = inside;
            }
        }
    }
    along
}

/// The log of a row.
fn log<'a>(
    row: &'a Row,
    head: &Row,
    columns: &[Option<Column>],
    base: usize,
    said: &mut Vec<Diagnostic>,
) -> Option<LogRow<'a>> {
    let (found, named) = (row.cells.len(), head.cells.len());
    if found != named {
        let extra = row
            .cells
            .get(named)
            .map_or(row.span, |cell| Span::new(cell.span.start, row.span.end));
        let message = format!(
            "row {} has {found} cells, but {named} columns have names",
            row.number
        );
        let help = "leave a cell empty where nothing is to be said; put a cell that holds what parts cells between quotes";
        said.push(Diagnostic::error(extra, message).with_help(help));
        return None;
    }
    let mut table = DeTable::new();
    let mut whole = true;
    for (cell, column) in row.cells.iter().zip(columns) {
        let Some(column) = column else {
            whole = false;
            continue;
        };
        if !cell.text.is_empty() {
            let value = value(cell, column, base);
            put(&mut table, &column.path, cell.span.shifted(base), value);
        } else if column.must && column.path.len() == 1 {
            let message = format!("row {} has no `{}`", row.number, column.path.join("."));
            let help = "every log needs it: fill in this cell";
            said.push(Diagnostic::error(cell.span, message).with_help(help));
            whole = false;
        }
    }
    whole.then_some(LogRow {
        number: row.number,
        span: row.span.shifted(base),
        table,
    })
}

/// Puts a value where its path says, in tables that are made for it.
fn put<'a>(table: &mut DeTable<'a>, path: &[&'static str], span: Span, value: DeValue<'a>) {
    let spanned = |value| Spanned::new(span.start..span.end, value);
    let Some((first, rest)) = path.split_first() else {
        return;
    };
    let key = Spanned::new(span.start..span.end, Cow::Borrowed(*first));
    if rest.is_empty() {
        table.insert(key, spanned(value));
        return;
    }
    let inside = table
        .entry(key)
        .or_insert_with(|| spanned(DeValue::Table(DeTable::new())));
    if let DeValue::Table(inside) = inside.get_mut() {
        put(inside, rest, span, value);
    }
}

/// What a cell holds, as it would stand in a [[log]].
fn value<'a>(cell: &'a Cell, column: &Column, base: usize) -> DeValue<'a> {
    let text = cell.text.as_str();
    match column.shape {
        Shape::Flag => match text.to_lowercase().as_str() {
            "true" | "yes" => DeValue::Boolean(true),
            "false" | "no" => DeValue::Boolean(false),
            _ => owned(text.to_owned()),
        },
        shape if shape.is_measured() => {
            if text.contains(" x ") || text.contains(" × ") {
                several(cell, column, base)
            } else {
                measured(text, column)
            }
        }
        Shape::Number { .. } | Shape::Count { .. } => number(text).unwrap_or_else(|| owned(text.to_owned())),
        Shape::Word(_) => owned(text.to_lowercase()),
        _ => owned(text.to_owned()),
    }
}

/// Two measures in one cell: `410 mm x 395 mm`; what has no unit has that of the last.
fn several<'a>(cell: &'a Cell, column: &Column, base: usize) -> DeValue<'a> {
    let parts = cell.text.split(" x ").flat_map(|part| part.split(" × "));
    let parts: Vec<&str> = parts.map(str::trim).collect();
    let unit = parts.last().and_then(|last| last.split_once(' '));
    let span = cell.span.shifted(base);
    let mut list = DeArray::new();
    for part in &parts {
        let part = match unit {
            Some((_, unit)) if number(part).is_some() => owned(format!("{part} {unit}")),
            _ => measured(part, column),
        };
        list.push(Spanned::new(span.start..span.end, part));
    }
    DeValue::Array(list)
}

/// A measure with its unit, or with the column's where it has none.
fn measured<'a>(text: &'a str, column: &Column) -> DeValue<'a> {
    match (number(text), &column.unit) {
        (Some(_), Some(unit)) => owned(format!("{text} {unit}")),
        (Some(number), None) => number,
        (None, _) => DeValue::String(Cow::Borrowed(text)),
    }
}

fn owned(text: String) -> DeValue<'static> {
    DeValue::String(Cow::Owned(text))
}

/// A plain number.
fn number(text: &str) -> Option<DeValue<'_>> {
    let plain = |letter: char| letter.is_ascii_digit() || matches!(letter, '.' | '-' | '+');
    if text.is_empty() || !text.chars().all(plain) {
        return None;
    }
    let parsed = DeValue::parse(text).ok()?.into_inner();
    matches!(parsed, DeValue::Integer(_) | DeValue::Float(_)).then_some(parsed)
}
