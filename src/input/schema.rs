//! The keys of a file as data.

use bunkside_protocol::Length;
use bunkside_protocol::log::Figure;

use crate::measure::Quantity;

/// One key of a table.
#[derive(Clone, Copy, Debug)]
pub struct Key {
    /// As it is written.
    pub name: &'static str,
    /// What may stand behind it.
    pub shape: Shape,
    /// What happens when it is left out.
    pub need: Need,
    /// One line on what it means.
    pub about: &'static str,
}

impl Key {
    /// A key that a file cannot be without.
    #[must_use]
    pub const fn must(name: &'static str, shape: Shape, about: &'static str) -> Self {
        Self {
            name,
            shape,
            need: Need::Must,
            about,
        }
    }

    /// A key that may be left out.
    #[must_use]
    pub const fn may(name: &'static str, shape: Shape, about: &'static str) -> Self {
        Self {
            name,
            shape,
            need: Need::May,
            about,
        }
    }

    /// A key that stands by default.
    #[must_use]
    pub const fn default(name: &'static str, shape: Shape, value: &'static str, about: &'static str) -> Self {
        Self {
            name,
            shape,
            need: Need::Default(value),
            about,
        }
    }
}

/// What happens when a key is left out.
#[derive(Clone, Copy, Debug)]
pub enum Need {
    /// The file cannot be used.
    Must,
    /// It counts as if this had been written, a TOML value.
    Default(&'static str),
    /// Nothing stands for it; the key's line says what that means.
    May,
}

/// What a value may be. Bounds are inclusive.
#[derive(Clone, Copy, Debug)]
pub enum Shape {
    /// A measurement in base units of its quantity; a sign is allowed where `min` is below zero.
    Measure {
        /// What is measured.
        quantity: Quantity,
        /// Least value.
        min: i64,
        /// Greatest value.
        max: i64,
    },
    /// A plain number, kept in thousandths.
    Number {
        /// Least value, in thousandths.
        min: i64,
        /// Greatest value, in thousandths.
        max: i64,
    },
    /// A whole number.
    Count {
        /// Least value.
        min: i64,
        /// Greatest value.
        max: i64,
    },
    /// Any text but an empty one.
    Text,
    /// One of these words.
    Word(&'static [&'static str]),
    /// `true` or `false`.
    Flag,
    /// A table with these keys.
    Table(&'static [Key]),
    /// A list.
    List {
        /// What each of its items is.
        of: &'static Self,
        /// Fewest items.
        min: usize,
        /// Most items.
        max: usize,
    },
    /// One of several shapes.
    Either(&'static [Self]),
}

impl Shape {
    /// A length between two counts of millimetres.
    #[must_use]
    pub const fn mm(min: i64, max: i64) -> Self {
        Self::Measure {
            quantity: Quantity::Length,
            min: min * 1_000,
            max: max * 1_000,
        }
    }

    /// A figure that records hold too, in the base unit of its quantity.
    #[must_use]
    pub const fn figure(quantity: Quantity, figure: &Figure) -> Self {
        Self::Measure {
            quantity,
            min: figure.least,
            max: figure.most,
        }
    }

    /// A time between zero and a count of seconds.
    #[must_use]
    pub const fn seconds(max: i64) -> Self {
        Self::Measure {
            quantity: Quantity::Time,
            min: 0,
            max: max * 1_000,
        }
    }

    /// What it is, with its article, for messages.
    #[must_use]
    pub fn name(&self) -> String {
        match self {
            Self::Measure { quantity, .. } => quantity.name().to_owned(),
            Self::Number { .. } => "a number".to_owned(),
            Self::Count { .. } => "a whole number".to_owned(),
            Self::Text => "a text".to_owned(),
            Self::Word(words) => list_of(words),
            Self::Flag => "true or false".to_owned(),
            Self::Table(_) => "a table".to_owned(),
            Self::List { of, min, max } if min == max => format!("a list of {max}, each {}", of.name()),
            Self::List { of, min: 0, max } => format!("a list of at most {max}, each {}", of.name()),
            Self::List { of, min, max } => format!("a list of {min} to {max}, each {}", of.name()),
            Self::Either(shapes) => shapes.iter().map(Self::name).collect::<Vec<_>>().join(", or "),
        }
    }

    /// Whether it is measured, or several of it are.
    #[must_use]
    pub fn is_measured(&self) -> bool {
        match self {
            Self::Measure { .. } => true,
            Self::List { of, .. } => of.is_measured(),
            Self::Either(shapes) => shapes.iter().any(Self::is_measured),
            _ => false,
        }
    }

    /// How it may be written; the first way where there are several.
    #[must_use]
    pub fn example(&self) -> String {
        match self {
            Self::Measure {
                quantity: Quantity::Length,
                max,
                ..
            } if *max >= 5_000_000 => "\"3.6 m\"".to_owned(),
            Self::Measure { quantity, .. } => {
                let examples = quantity.examples();
                let first = examples.split([',', ' ']).take(2).collect::<Vec<_>>().join(" ");
                format!("\"{first}\"")
            }
            Self::Number { min, .. } => if *min > 1_500 { "20.0" } else { "1.5" }.to_owned(),
            Self::Count { min, .. } => min.max(&1).to_string(),
            Self::Text => "\"a name\"".to_owned(),
            Self::Word(words) => format!("\"{}\"", words.first().unwrap_or(&"")),
            Self::Flag => "true".to_owned(),
            Self::Table(keys) => {
                let needed = keys.iter().filter(|key| matches!(key.need, Need::Must)).count();
                let inside = keys
                    .iter()
                    .filter(|key| needed == 0 || matches!(key.need, Need::Must));
                let inside = inside.take(if needed == 0 { 1 } else { needed });
                let pairs: Vec<String> = inside
                    .map(|key| format!("{} = {}", key.name, key.shape.example()))
                    .collect();
                format!("{{ {} }}", pairs.join(", "))
            }
            Self::List { of, min, .. } => {
                format!("[{}]", vec![of.example(); (*min).max(1)].join(", "))
            }
            Self::Either(shapes) => shapes.first().map(Self::example).unwrap_or_default(),
        }
    }

    /// Its bounds in words; empty where it has none worth telling.
    #[must_use]
    pub fn bounds(&self) -> String {
        match self {
            Self::Measure { quantity, min, max } => {
                format!("{} to {}", in_unit(*quantity, *min), in_unit(*quantity, *max))
            }
            Self::Number { min, max } => format!("{} to {}", thousandths(*min), thousandths(*max)),
            Self::Count { min, max } => format!("{min} to {max}"),
            _ => String::new(),
        }
    }
}

/// A value of a quantity in the unit people use for it.
pub(crate) fn in_unit(quantity: Quantity, value: i64) -> String {
    match quantity {
        Quantity::Length if value.abs() >= 10_000_000 => format!("{} m", thousandths(value / 1_000)),
        Quantity::Length => Length::um(value).to_string(),
        Quantity::Angle => format!("{} deg", thousandths(value)),
        Quantity::Time => format!("{} s", thousandths(value)),
        Quantity::Speed => format!("{} m/s", thousandths(value / 1_000)),
        Quantity::Acceleration => format!("{} m/s2", thousandths(value / 1_000)),
        Quantity::Force => format!("{value} N"),
        Quantity::Power => format!("{} kW", thousandths(value)),
        Quantity::Mass => format!("{value} kg"),
        Quantity::Density => format!("{value} kg/m3"),
        Quantity::CuttingEnergy | Quantity::Stiffness => format!("{value} N/mm2"),
        Quantity::Area => format!("{value} mm2"),
    }
}

/// Thousandths as a decimal number without trailing zeros.
pub(crate) fn thousandths(value: i64) -> String {
    let (whole, rest) = (value.abs() / 1_000, value.abs() % 1_000);
    let sign = if value < 0 { "-" } else { "" };
    let text = format!("{sign}{whole}.{rest:03}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// Words in quotes, with `or` before the last.
pub(super) fn list_of(words: &[&str]) -> String {
    match words {
        [] => String::new(),
        [one] => format!("\"{one}\""),
        [many @ .., last] => {
            let many: Vec<String> = many.iter().map(|word| format!("\"{word}\"")).collect();
            format!("{} or \"{last}\"", many.join(", "))
        }
    }
}

/// A table of keys as text: path, what it is, what happens when it is left out, what it means. Tables within are
/// told behind their own line, save one that may stand in place of something else.
#[must_use]
pub fn describe(keys: &[Key]) -> String {
    let mut text = String::new();
    describe_into(&mut text, keys, "");
    text
}

/// What [`describe`] tells of one key and of those within it: `log.sweep`, `board.wane`, or its last word alone; a table's place
/// in a list is not told apart. Empty where there is no such key.
#[must_use]
pub fn describe_key(keys: &[Key], asked: &str) -> String {
    let told = describe(keys);
    let mut entries: Vec<(String, String)> = Vec::new();
    for line in told.lines() {
        match entries.last_mut() {
            Some((_, entry)) if line.starts_with(' ') => entry.push_str(&format!("{line}\n")),
            _ => entries.push((line.replace("[]", ""), format!("{line}\n"))),
        }
    }
    let asked = asked.replace("[]", "");
    let of = |is_meant: &dyn Fn(&str) -> bool| -> String {
        let meant = entries.iter().filter(|(path, _)| is_meant(path));
        meant.map(|(_, entry)| entry.as_str()).collect()
    };
    let within = |path: &str| path == asked || path.starts_with(&format!("{asked}."));
    match of(&within) {
        none if none.is_empty() => of(&|path| path.rsplit('.').next() == Some(&asked)),
        found => found,
    }
}

/// The paths of all keys, without the marks of lists.
#[must_use]
pub fn key_paths(keys: &[Key]) -> Vec<String> {
    let told = describe(keys);
    let paths = told.lines().filter(|line| !line.starts_with(' '));
    paths.map(|line| line.replace("[]", "")).collect()
}

fn describe_into(text: &mut String, keys: &[Key], path: &str) {
    for key in keys {
        let path = if path.is_empty() {
            key.name.to_owned()
        } else {
            format!("{path}.{}", key.name)
        };
        let bounds = key.shape.bounds();
        let bounds = if bounds.is_empty() {
            bounds
        } else {
            format!(", {bounds}")
        };
        let need = match key.need {
            Need::Must => "; has to be there".to_owned(),
            Need::Default(value) => format!("; {value} if left out"),
            Need::May => "; may be left out".to_owned(),
        };
        text.push_str(&format!(
            "{path}\n    {}{bounds}{need}\n    {}\n",
            key.shape.name(),
            key.about
        ));
        for (inside, mark) in tables_of(&key.shape) {
            describe_into(text, inside, &format!("{path}{mark}"));
        }
    }
}

/// The tables a shape holds, each with what marks it in a path.
fn tables_of(shape: &Shape) -> Vec<(&'static [Key], &'static str)> {
    match shape {
        Shape::Table(keys) => vec![(keys, "")],
        Shape::List {
            of: Shape::Table(keys),
            ..
        } => vec![(keys, "[]")],
        _ => Vec::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_key_is_told_alone() {
        let told = describe_key(crate::job::KEYS, "log.end_trim");
        assert!(told.starts_with("log.end_trim\n    a length, 0 mm to "), "{told}");
        assert_eq!(told, describe_key(crate::job::KEYS, "end_trim"));
        assert_eq!(told.lines().count(), 3, "{told}");
        let sweep = describe_key(crate::job::KEYS, "log.sweep");
        assert!(
            sweep.contains("log.sweep.bow\n") && !sweep.contains("log.bark\n"),
            "{sweep}"
        );
        assert_eq!(
            describe_key(crate::job::KEYS, "board.wane"),
            describe_key(crate::job::KEYS, "board[].wane")
        );
        assert_eq!(describe_key(crate::job::KEYS, "log.nothing"), "");
        assert!(key_paths(crate::job::KEYS).contains(&"board.wane".to_owned()));
    }

    #[test]
    fn shapes_say_what_they_are() {
        assert_eq!(Shape::Word(&["near", "far"]).name(), "\"near\" or \"far\"");
        assert_eq!(Shape::mm(0, 5).bounds(), "0 mm to 5 mm");
        assert_eq!(Shape::mm(0, 20_000).bounds(), "0 mm to 20 m");
        assert_eq!(Shape::mm(0, 5).example(), "\"228 mm\"");
        assert_eq!(Shape::seconds(90).bounds(), "0 s to 90 s");
        assert_eq!(
            Shape::Number {
                min: 1_000,
                max: 1_250
            }
            .bounds(),
            "1 to 1.25"
        );
        const PAIR: Shape = Shape::List {
            of: &Shape::mm(0, 5),
            min: 2,
            max: 2,
        };
        assert_eq!(PAIR.name(), "a list of 2, each a length");
        assert_eq!(PAIR.example(), "[\"228 mm\", \"228 mm\"]");
        assert_eq!(thousandths(-1_050), "-1.05");
    }

    #[test]
    fn keys_are_told_with_their_paths() {
        const INSIDE: &[Key] = &[Key {
            name: "at",
            shape: Shape::mm(0, 5),
            need: Need::Must,
            about: "Where it stands.",
        }];
        const KEYS: &[Key] = &[Key {
            name: "bunk",
            shape: Shape::List {
                of: &Shape::Table(INSIDE),
                min: 2,
                max: 8,
            },
            need: Need::Must,
            about: "The bunks.",
        }];
        assert_eq!(
            describe(KEYS),
            "bunk\n    a list of 2 to 8, each a table; has to be there\n    The bunks.\nbunk[].at\n    a length, 0 mm to 5 mm; has to be there\n    Where it stands.\n"
        );
    }
}
