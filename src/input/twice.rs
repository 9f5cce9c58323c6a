//! What is wrong with a document's syntax, a line once; a table that is opened twice once, and not every key in it.

use super::plain::{line_at, told};
use super::schema::{Key, Shape};
use crate::diagnostic::{Diagnostic, Span};

/// What the reader of the syntax says of a table or a key that stands there already.
const DUPLICATE: &str = "duplicate key";

/// The header that a line is, without its brackets: of `[board]` the word `board`.
fn header(line: &str) -> Option<&str> {
    let name = line.trim_start().strip_prefix('[')?.split(']').next()?;
    (!name.starts_with('[')).then_some(name.trim())
}

/// Errors by place and words, and the lines on which nothing else is to be said.
pub(super) fn errors<'e>(
    text: &str,
    keys: &[Key],
    found: impl Iterator<Item = (usize, &'e str)>,
) -> (Vec<Diagnostic>, Vec<usize>) {
    let mut said: Vec<Diagnostic> = Vec::new();
    let mut lines: Vec<usize> = Vec::new();
    let mut opened: Vec<&str> = Vec::new();
    // What stands in a table that was opened before.
    let mut inside: Option<Span> = None;
    for (at, words) in found {
        let line = line_at(text, at);
        let raw = text.get(line.start..line.end).unwrap_or_default();
        if words == DUPLICATE && inside.is_some_and(|inside| (inside.start..inside.end).contains(&at)) {
            continue;
        }
        match header(raw).filter(|_| words == DUPLICATE) {
            Some(name) => {
                inside = Some(Span::new(line.start, next_header(text, line.end)));
                if !opened.contains(&name) {
                    opened.push(name);
                    lines.extend(headers(text, name));
                    said.push(again(
                        name,
                        keys,
                        Span::new(line.start, line.start + raw.trim_end().len()),
                    ));
                }
            }
            None if !lines.contains(&line.start) => {
                let one = told(text, at, words);
                lines.push(line_at(text, one.span.start).start);
                said.push(one);
            }
            None => {}
        }
    }
    (said, lines)
}

/// That a table is opened again.
fn again(name: &str, keys: &[Key], span: Span) -> Diagnostic {
    let key = keys.iter().find(|key| key.name == name);
    let several = key.is_some_and(|key| matches!(key.shape, Shape::List { .. }));
    let help = if several {
        format!("open each with two brackets, [[{name}]]")
    } else {
        format!("write all that belongs to it under the first [{name}]")
    };
    Diagnostic::error(span, format!("[{name}] is opened more than once")).with_help(help)
}

/// Where the next header begins behind a place, or the text ends.
fn next_header(text: &str, from: usize) -> usize {
    starts(text)
        .find(|(start, line)| *start >= from && line.trim_start().starts_with('['))
        .map_or(text.len(), |(start, _)| start)
}

/// Where the headers of a name begin.
fn headers<'t>(text: &'t str, name: &'t str) -> impl Iterator<Item = usize> + 't {
    starts(text)
        .filter(move |(_, line)| header(line) == Some(name))
        .map(|(start, _)| start)
}

/// Every line, and where it begins.
fn starts(text: &str) -> impl Iterator<Item = (usize, &str)> {
    let mut next = 0;
    text.split_inclusive('\n').map(move |line| {
        let start = next;
        next += line.len();
        (start, line)
    })
}

#[cfg(test)]
mod tests {
    use toml::de::DeTable;

    use super::*;
    use crate::diagnostic::{Source, render_all};

    const KEYS: &[Key] = &[Key::may(
        "board",
        Shape::List {
            of: &Shape::Flag,
            min: 0,
            max: 8,
        },
        "boards",
    )];

    fn said(text: &str) -> (usize, String) {
        let (_, found) = DeTable::parse_recoverable(text);
        let found = found.iter();
        let found = found.map(|error| (error.span().map_or(0, |span| span.start), error.message()));
        let (said, _) = errors(text, KEYS, found);
        (said.len(), render_all(&Source::new("f", text), &said))
    }

    /// One error for a table that is opened three times, with what would do; one for each key that stands twice in one table.
    #[test]
    fn a_table_that_is_opened_again_is_told_once() {
        let board = "[board]\nname = \"a\"\nwidth = 3\n\n";
        let (count, told) = said(&board.repeat(3));
        assert_eq!(count, 1, "{told}");
        assert!(
            told.starts_with("f:5:1: error: [board] is opened more than once"),
            "{told}"
        );
        assert!(told.contains("open each with two brackets, [[board]]"), "{told}");
        let (count, told) = said("[log]\na = 1\n[mill]\nb = 1\n[log]\na = 1\n[mill]\nb = 1\nb = 2\n");
        assert_eq!(count, 2, "{told}");
        assert!(
            told.contains("under the first [log]") && told.contains("under the first [mill]"),
            "{told}"
        );
        let (count, told) = said("[log]\na = 1\na = 2\n[[board]]\n[[board]]\n");
        assert_eq!(count, 1, "{told}");
        assert!(
            told.contains("duplicate key") && told.contains("no key stands twice"),
            "{told}"
        );
    }
}
