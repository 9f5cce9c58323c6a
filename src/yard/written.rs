//! Each log of an order as a job file of its own, so that everything else can be asked of it.

use toml::de::{DeTable, DeValue};

use super::keys::KEYS;
use crate::input::{Key, Shape};
use crate::job::keys::{BOARD, LOG};

/// The parts of such files.
#[derive(Clone, Debug, Default)]
pub(super) struct Written {
    /// A mill that stands in the order itself.
    mill: Option<String>,
    unit: Option<String>,
    /// Setting, with the best layout, and finish.
    tables: String,
    /// Each board without its counts.
    boards: Vec<String>,
    /// Each log.
    logs: Vec<String>,
}

impl Written {
    /// What an order says, and each log as the job that it would be.
    pub(super) fn of<'a>(order: &DeTable<'a>, logs: impl Iterator<Item = DeTable<'a>>) -> Self {
        let lines_of = |name: &str, keys: &[Key]| {
            let table = order.get(name).and_then(|value| value.get_ref().as_table());
            table.map_or_else(String::new, |table| format!("\n[{name}]\n{}", lines(table, keys)))
        };
        let boards = order.get("board").and_then(|boards| boards.get_ref().as_array());
        let boards = boards
            .into_iter()
            .flatten()
            .filter_map(|board| board.get_ref().as_table());
        let mill = order
            .get("mill")
            .filter(|mill| mill.get_ref().as_table().is_some());
        let log = |one: &DeTable<'a>| {
            let log = one.get("log").and_then(|log| log.get_ref().as_table());
            log.map_or_else(String::new, |log| lines(log, LOG))
        };
        Self {
            mill: mill.map(|mill| value(mill.get_ref())),
            unit: order.get("unit").map(|unit| value(unit.get_ref())),
            tables: lines_of("setting", within("setting")) + BEST + &lines_of("finish", within("finish")),
            boards: boards.map(|board| lines(board, BOARD)).collect(),
            logs: logs.map(|one| log(&one)).collect(),
        }
    }

    /// A log as a job, with so many of each board.
    pub(super) fn job(&self, log: usize, counts: &[u32], mill: &str) -> String {
        let mill = self.mill.clone().unwrap_or_else(|| quoted(mill));
        let mut text = format!("mill = {mill}\n");
        if let Some(unit) = &self.unit {
            text.push_str(&format!("unit = {unit}\n"));
        }
        text.push_str(&format!(
            "\n[log]\n{}",
            self.logs.get(log).map_or("", String::as_str)
        ));
        text.push_str(&self.tables);
        for (board, count) in self.boards.iter().zip(counts) {
            text.push_str(&format!("\n[[board]]\n{board}least = {count}\nmost = {count}\n"));
        }
        text
    }
}

/// What `[setting]` of such a job ends with: its boards are those of the order's layout, and not the hand habit's.
const BEST: &str = "layout = \"best\"\n";

/// The keys of a table of an order.
fn within(name: &str) -> &'static [Key] {
    let key = KEYS.iter().find(|key| key.name == name);
    match key.map(|key| key.shape) {
        Some(Shape::Table(keys)) => keys,
        _ => &[],
    }
}

/// The lines of a table in the order of its keys; how many are wanted is left out.
fn lines(table: &DeTable<'_>, keys: &[Key]) -> String {
    let named = keys.iter().filter(|key| !matches!(key.name, "least" | "most"));
    let lines = named.filter_map(|key| {
        let found = table.get(key.name)?;
        Some(format!("{} = {}\n", key.name, value(found.get_ref())))
    });
    lines.collect()
}

/// A value as it is written.
fn value(of: &DeValue<'_>) -> String {
    match of {
        DeValue::String(text) => quoted(text),
        DeValue::Integer(number) => number.to_string(),
        DeValue::Float(number) => number.to_string(),
        DeValue::Boolean(flag) => flag.to_string(),
        DeValue::Datetime(date) => date.to_string(),
        DeValue::Array(items) => {
            let items: Vec<String> = items.iter().map(|item| value(item.get_ref())).collect();
            format!("[{}]", items.join(", "))
        }
        DeValue::Table(table) => {
            let pairs = table
                .iter()
                .map(|(key, found)| format!("{} = {}", quoted(key.get_ref()), value(found.get_ref())));
            format!("{{ {} }}", pairs.collect::<Vec<_>>().join(", "))
        }
    }
}

/// A text in quotes.
fn quoted(text: &str) -> String {
    let mut quoted = String::from("\"");
    for letter in text.chars() {
        match letter {
            '"' | '\\' => quoted.extend(['\\', letter]),
            letter if letter.is_control() => quoted.push_str(&format!("\\u{:04X}", u32::from(letter))),
            letter => quoted.push(letter),
        }
    }
    quoted + "\""
}
