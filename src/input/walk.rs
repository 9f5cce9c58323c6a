//! A TOML document held against its keys.

use bunkside_protocol::Length;
use toml::de::{DeTable, DeValue};

use super::node::{Node, Value};
use super::plain;
use super::sample::{lines, sample, without_numbers};
use super::schema::{Key, Need, Shape};
use super::value::Found;
use crate::diagnostic::{Diagnostic, Severity, Span, nearest};
use crate::measure::LengthUnit;

/// The key by which a file declares the unit of its bare numbers.
const UNIT: &str = "unit";

/// A document held against its keys: what could be read of it, and what is wrong with that. `broken` where it is not sound TOML.
pub(crate) fn held<'a>(
    text: &'a str,
    keys: &'static [Key],
    table: &'a DeTable<'a>,
    broken: bool,
) -> (Node, Vec<Diagnostic>) {
    let mut walk = Walk::new(text);
    walk.broken = broken;
    let root = walk.root(keys, table);
    walk.finish(root)
}

/// The unit that a table declares, if it is a good one.
fn declared(table: &DeTable<'_>) -> Option<LengthUnit> {
    let DeValue::String(name) = table.get(UNIT)?.get_ref() else {
        return None;
    };
    LengthUnit::ALL.into_iter().find(|unit| unit.name() == name)
}

/// A walk through a document, and what was found wrong on the way.
pub(super) struct Walk<'a> {
    text: &'a str,
    pub(super) declared: Option<LengthUnit>,
    diagnostics: Vec<Diagnostic>,
    /// Lengths that were rounded: how many, and the first.
    rounded: Option<(usize, Diagnostic)>,
    /// Whether the document is not sound TOML, so that what is missing may only be unreadable.
    broken: bool,
}

impl<'a> Walk<'a> {
    const fn new(text: &'a str) -> Self {
        Self {
            text,
            declared: None,
            diagnostics: Vec::new(),
            rounded: None,
            broken: false,
        }
    }

    fn root(&mut self, keys: &'static [Key], table: &'a DeTable<'a>) -> Node {
        let value = self.table("", keys, table, Span::at(0));
        Node {
            span: Span::at(0),
            value,
        }
    }

    fn finish(mut self, root: Node) -> (Node, Vec<Diagnostic>) {
        if let Some((count, mut first)) = self.rounded.take() {
            if count > 1 {
                first.help = format!("{} more in this file likewise", count - 1);
            }
            self.diagnostics.push(first);
        }
        (root, self.diagnostics)
    }

    pub(super) fn say(&mut self, diagnostic: Diagnostic) {
        self.diagnostics.push(diagnostic);
    }

    /// The text of a stretch of the file.
    pub(super) fn raw(&self, span: Span) -> &'a str {
        self.text.get(span.start..span.end).unwrap_or("")
    }

    /// Remembers that a length was rounded.
    pub(super) fn note_rounding(&mut self, text: &str, um: i64, span: Span) {
        let message = format!(
            "{} is no whole number of micrometres: taken as {}",
            text.trim(),
            Length::um(um)
        );
        match &mut self.rounded {
            Some((count, _)) => *count += 1,
            None => self.rounded = Some((1, Diagnostic::warning(span, message))),
        }
    }

    /// A table by its keys: unknown keys, missing keys, and each value. A unit that it declares holds within it.
    pub(super) fn table(
        &mut self,
        path: &str,
        keys: &'static [Key],
        table: &'a DeTable<'a>,
        span: Span,
    ) -> Value {
        let mut meant = Vec::new();
        for name in table.keys() {
            if !keys.iter().any(|key| key.name == name.get_ref().as_ref()) {
                meant.extend(self.unknown(path, keys, table, name.get_ref(), name.span().into()));
            }
        }
        let around = self.declared;
        self.declared = declared(table).or(around);
        let mut fields = Vec::new();
        for key in keys {
            let path = joined(path, key.name);
            let node = match (table.get(key.name), key.need) {
                (Some(found), _) => {
                    let found = Found::new(found);
                    let node = self.value(&path, &key.shape, &found);
                    Some(node.unwrap_or(Node {
                        span: found.span,
                        value: Value::Faulty,
                    }))
                }
                (None, Need::Default(text)) => default(key, text, span),
                (None, Need::Must) => {
                    if !meant.contains(&key.name) {
                        self.missing(&path, key, span);
                    }
                    None
                }
                (None, Need::May) => None,
            };
            fields.extend(node.map(|node| (key.name, node)));
        }
        self.declared = around;
        Value::Table(fields)
    }

    /// Says that no key is called so, and returns the one that was probably meant: that one is not missing as well.
    fn unknown(
        &mut self,
        path: &str,
        keys: &'static [Key],
        table: &DeTable<'_>,
        name: &str,
        span: Span,
    ) -> Option<&'static str> {
        let free = keys
            .iter()
            .map(|key| key.name)
            .filter(|name| !table.contains_key(*name));
        let begins = |short: &&str| {
            name.strip_prefix(*short)
                .is_some_and(|rest| rest.starts_with('_'))
        };
        let near = nearest(name, free.clone()).or_else(|| free.clone().find(begins));
        let named: Vec<String> = keys
            .iter()
            .filter(|key| free.clone().any(|free| free == key.name) && plain::begins_with(key.about, name))
            .map(|key| format!("`{}`", key.name))
            .collect();
        let help = match near {
            Some(near) => format!("did you mean `{near}`?"),
            None if !named.is_empty() => format!("did you mean {}?", named.join(" or ")),
            None => {
                let names: Vec<String> = keys.iter().map(|key| format!("`{}`", key.name)).collect();
                format!("keys here are {}", names.join(", "))
            }
        };
        self.say(
            Diagnostic::error(span, format!("no key is called `{}`", joined(path, name))).with_help(help),
        );
        near
    }

    fn missing(&mut self, path: &str, key: &Key, span: Span) {
        if self.broken {
            return;
        }
        let (parent, _) = path.rsplit_once('.').unwrap_or_default();
        let inline = self.raw(Span::new(span.start, self.text.len())).starts_with('{');
        let (add, is_table) = match &key.shape {
            Shape::Table(keys) if !inline && !parent.ends_with(']') => {
                (table_to_add(&format!("[{path}]"), path, keys), true)
            }
            Shape::List {
                of: Shape::Table(keys),
                ..
            } if !inline && !parent.ends_with(']') => {
                (table_to_add(&format!("[[{path}]]"), path, keys), true)
            }
            shape => (line_to_add(path, key.name, shape, &inside(parent, inline)), false),
        };
        // At the top a key stands before all tables, a table behind them.
        let span = if parent.is_empty() && is_table {
            Span::at(self.text.len())
        } else {
            span
        };
        let help = format!("{add}\n{}", key.about);
        self.say(Diagnostic::error(span, format!("`{path}` is missing")).with_help(help));
    }
}

/// A table that is missing, with the lines it needs.
fn table_to_add(head: &str, path: &str, keys: &[Key]) -> String {
    let lines: Vec<String> = lines(path, keys).collect();
    format!("add, with your own figures:\n{head}\n{}", lines.join("\n"))
}

/// A key that is missing, as a line for the table it belongs in.
fn line_to_add(path: &str, name: &str, shape: &Shape, place: &str) -> String {
    let sample = sample(path, shape);
    match shape {
        Shape::Word([_, others @ ..]) if !others.is_empty() => {
            let others: Vec<String> = others.iter().map(|word| format!("\"{word}\"")).collect();
            format!(
                "add {place}: {name} = {sample} (or {}, whichever it is)",
                others.join(" or ")
            )
        }
        // What only its own owner knows is shown as it is written, and not as if this were it.
        shape if shape.is_measured() => format!("add {place}, with your own figure: {name} = {sample}"),
        _ => format!("add {place}: {name} = {sample}"),
    }
}

/// Where a key belongs: `in [log]`, `in this [[board]]`.
fn inside(parent: &str, inline: bool) -> String {
    let bare = without_numbers(parent);
    if parent.is_empty() {
        "before the first table".to_owned()
    } else if inline {
        format!("between the braces of `{parent}`")
    } else if parent.ends_with(']') {
        format!("in this [[{bare}]]")
    } else {
        format!("in [{bare}]")
    }
}

/// What is wrong with a value as it is written, held against a shape; none where nothing is.
#[cfg(test)]
pub(crate) fn read_value(text: &str, shape: &'static Shape) -> Option<String> {
    let Ok(parsed) = DeValue::parse(text) else {
        return Some("no TOML".to_owned());
    };
    let mut walk = Walk::new(text);
    let read = walk.value("value", shape, &Found::new(&parsed));
    let said = walk.diagnostics.first().map(|said| said.message.clone());
    said.or_else(|| read.is_none().then(|| "not read".to_owned()))
}

/// The value that stands where a key is left out. Keys are written by us: a default that does not fit is left out,
/// and the tests of the keys find it.
fn default(key: &'static Key, text: &str, span: Span) -> Option<Node> {
    let parsed = DeValue::parse(text).ok()?;
    let mut walk = Walk::new(text);
    let mut node = walk.value(key.name, &key.shape, &Found::new(&parsed))?;
    node.span = span;
    walk.diagnostics
        .iter()
        .all(|one| one.severity == Severity::Warning)
        .then_some(node)
}

fn joined(path: &str, name: &str) -> String {
    if path.is_empty() {
        name.to_owned()
    } else {
        format!("{path}.{name}")
    }
}

/// Keys whose default does not fit their own shape, for the tests of a file's keys.
#[cfg(test)]
pub(crate) fn faulty_defaults(keys: &'static [Key]) -> Vec<&'static str> {
    let mut faulty = Vec::new();
    for key in keys {
        if let Need::Default(text) = key.need
            && default(key, text, Span::at(0)).is_none()
        {
            faulty.push(key.name);
        }
        match &key.shape {
            Shape::Table(inside)
            | Shape::List {
                of: Shape::Table(inside),
                ..
            } => {
                faulty.extend(faulty_defaults(inside));
            }
            _ => {}
        }
    }
    faulty
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnostic::{Source, render_all};
    use crate::input::read;

    const PLACE: &[Key] = &[
        Key {
            name: "at",
            shape: Shape::mm(0, 1_000),
            need: Need::Must,
            about: "Where it stands.",
        },
        Key {
            name: "lean",
            shape: Shape::mm(-5, 5),
            need: Need::Default("\"1 mm\""),
            about: "How it leans.",
        },
    ];
    const KEYS: &[Key] = &[
        Key {
            name: "unit",
            shape: Shape::Word(&["mm", "in"]),
            need: Need::May,
            about: "Unit of bare numbers.",
        },
        Key {
            name: "kerf",
            shape: Shape::mm(1, 20),
            need: Need::Must,
            about: "Width of the kerf.",
        },
        Key {
            name: "side",
            shape: Shape::Word(&["left", "right"]),
            need: Need::Must,
            about: "A side.",
        },
        Key {
            name: "post",
            shape: Shape::List {
                of: &Shape::Table(PLACE),
                min: 1,
                max: 2,
            },
            need: Need::Must,
            about: "The posts.",
        },
        Key {
            name: "share",
            shape: Shape::Number { min: 0, max: 1_000 },
            need: Need::May,
            about: "A share.",
        },
        Key {
            name: "teeth",
            shape: Shape::Count { min: 2, max: 99 },
            need: Need::May,
            about: "Teeth.",
        },
    ];

    fn said(text: &str) -> String {
        let source = Source::new("f.toml", text);
        render_all(&source, &read(&source, KEYS).1)
    }

    #[test]
    fn a_good_file_is_read_whole() {
        let source = Source::new(
            "f",
            "kerf = \"5 mm\"\nside = 'left'\nshare = 0.85\nteeth = 6\n[[post]]\nat = \"1 in\"\n",
        );
        let (root, diagnostics) = read(&source, KEYS);
        assert!(diagnostics.is_empty(), "{diagnostics:?}");
        assert_eq!(root.length("kerf"), Some(Length::mm(5)));
        assert_eq!(root.word("side"), Some("left"));
        assert_eq!(
            (root.number("share"), root.number("teeth")),
            (Some(850_i64), Some(6_u16))
        );
        let post = root.items("post").next().unwrap();
        assert_eq!(
            (post.length("at"), post.length("lean")),
            (Some(Length::um(25_400)), Some(Length::mm(1)))
        );
    }

    #[test]
    fn all_that_is_wrong_is_said_at_once() {
        let text =
            "kref = 1\nkerf = \"-5 mm\"\nside = \"lift\"\nshare = 2\n[[post]]\nat = \"3.6 mn\"\nlena = 3\n";
        let said = said(text);
        for expected in [
            "f.toml:1:1: error: no key is called `kref`",
            "f.toml:2:9: error: `kerf`: it may not be negative",
            "f.toml:3:8: error: `side` cannot be \"lift\"",
            "did you mean \"left\"?",
            "f.toml:4:9: error: `share` is 2, but at most 1 makes sense",
            "f.toml:6:11: error: `post[1].at`: no unit of length is called `mn`",
            "f.toml:7:1: error: no key is called `post[1].lena`\n    lena = 3\n    ^^^^\n    help: did you mean `lean`?",
        ] {
            assert!(said.contains(expected), "{expected}\n{said}");
        }
        assert_eq!(said.matches("error").count(), 6, "{said}");
    }

    /// A longer name, the word that tells what a key is, a list of tables opened as one, letters that nobody sees.
    #[test]
    fn what_was_meant_is_guessed() {
        let said = said("kerf_width = \"5 mm\"\nside = \"\u{200b}\"\n[post]\nat = \"1 in\"\n");
        assert!(said.contains("`kerf_width`"), "{said}");
        assert!(said.contains("did you mean `kerf`?"), "{said}");
        assert!(
            said.contains("open it with two brackets, [[post]], once for each"),
            "{said}"
        );
    }

    #[test]
    fn missing_keys_and_wrong_types_are_said_with_an_example() {
        let said = said("kerf = true\nteeth = 6.5\n");
        for expected in [
            "`kerf` should be a length, but true stands here",
            "`side` is missing",
            "help: add before the first table: side = \"left\" (or \"right\", whichever it is)\n          A side.",
            "`post` is missing",
            "help: add, with your own figures:\n          [[post]]\n          at = ",
            "`teeth` should be a whole number, but 6.5 stands here",
        ] {
            assert!(said.contains(expected), "{expected}\n{said}");
        }
    }

    #[test]
    fn a_key_written_wrong_is_not_missing_as_well() {
        let said = said("kerf = \"5 mm\"\nsid = \"left\"\n[[post]]\nat = \"1 m\"\n");
        assert!(said.contains("did you mean `side`?"), "{said}");
        assert!(!said.contains("missing"), "{said}");
    }

    #[test]
    fn bare_numbers_need_a_declared_unit() {
        let rest = "side = \"left\"\n[[post]]\nat = 12.5\n";
        let said_without = said(&format!("kerf = 5\n{rest}"));
        assert!(said_without.contains("f:1") || said_without.contains("`kerf`: a number without a unit"));
        assert!(said_without.contains("write \"12.5 mm\", \"12.5 in\" or another unit"));
        let source = Source::new("f", format!("unit = \"mm\"\nkerf = 5\n{rest}"));
        let (root, diagnostics) = read(&source, KEYS);
        assert!(diagnostics.is_empty(), "{diagnostics:?}");
        assert_eq!(root.length("kerf"), Some(Length::mm(5)));
        assert_eq!(
            root.items("post").next().unwrap().length("at"),
            Some(Length::um(12_500))
        );
    }

    #[test]
    fn rounding_is_said_once_a_file() {
        let said = said("kerf = \"0.18757 in\"\nside = \"left\"\n[[post]]\nat = \"0.06257 in\"\n");
        assert!(said.contains(
            "f.toml:1:8: warning: 0.18757 in is no whole number of micrometres: taken as 4.764 mm"
        ));
        assert!(said.contains("help: 1 more in this file likewise"), "{said}");
    }

    #[test]
    fn what_a_tape_shows_needs_no_note() {
        let told = said("kerf = \"3/16 in\"\nside = \"left\"\n[[post]]\nat = \"5/64 in\"\n");
        assert!(!told.contains("micrometres"), "{told}");
        let told = said("kerf = \"1/3 in\"\nside = \"left\"\n[[post]]\nat = \"5/64 in\"\n");
        assert!(
            told.contains("1/3 in is no whole number") && !told.contains("likewise"),
            "{told}"
        );
    }

    #[test]
    fn broken_toml_is_said_without_guessing_what_is_missing() {
        let said = said("kerf = \"5 mm\nside = \"left\"\n");
        assert!(said.starts_with("f.toml:1:"), "{said}");
        assert!(!said.contains("missing"), "{said}");
    }
}
