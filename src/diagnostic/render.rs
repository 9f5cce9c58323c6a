//! A diagnostic as plain text: place and severity, the source line, carets, help.
//!
//! ```text
//! yard.toml:3:16: error: no unit is called `mn`
//!     length = "3.6 mn"
//!                   ^^
//!     help: write m, cm, mm, in or ft
//! ```

use super::{Diagnostic, Severity, Source, brief};

/// Columns that a tab takes in a shown line.
const TAB: usize = 4;
/// Longest stretch of a source line that is shown.
const SHOWN_MAX: usize = 120;
/// How much of a longer line is shown before the offending text.
const LEAD: usize = 40;
/// Put before the source line, the carets and the help.
const INDENT: &str = "    ";

/// One diagnostic, ending in a line end.
#[must_use]
pub fn render(source: &Source, diagnostic: &Diagnostic) -> String {
    let place = source.place(diagnostic.span.start);
    let mut text = format!(
        "{}:{}:{}: {}: {}\n",
        plain(&source.name),
        place.line,
        place.column,
        diagnostic.severity,
        plain(&brief(&diagnostic.message))
    );
    let (shown, carets) = excerpt(source, diagnostic);
    if !shown.trim().is_empty() {
        text.push_str(&format!("{INDENT}{}\n{INDENT}{carets}\n", shown.trim_end()));
    }
    for (number, line) in diagnostic.help.lines().enumerate() {
        let label = if number == 0 { "help: " } else { "      " };
        text.push_str(&format!("{INDENT}{label}{}\n", plain(&brief(line))));
    }
    text
}

/// So many are shown of one source: what is wrong more often has one cause.
const TOLD_MAX: usize = 100;

/// The diagnostics of several files, file by file; empty where there are none.
#[must_use]
pub fn render_files(reports: &[(Source, Vec<Diagnostic>)]) -> String {
    let texts = reports.iter().map(|(source, said)| render_all(source, said));
    texts
        .filter(|text| !text.is_empty())
        .collect::<Vec<_>>()
        .join("\n")
}

/// The diagnostics of a source in the order of the text, an empty line between two. Of very many only the first are
/// shown, errors before anything else, and the rest are counted.
#[must_use]
pub fn render_all(source: &Source, diagnostics: &[Diagnostic]) -> String {
    let place = |one: &&Diagnostic| (one.span.start, one.span.end);
    let mut shown: Vec<&Diagnostic> = diagnostics.iter().collect();
    shown.sort_by_key(place);
    let left_out = shown.len().saturating_sub(TOLD_MAX);
    if left_out > 0 {
        shown.sort_by_key(|one| one.severity != Severity::Error);
        shown.truncate(TOLD_MAX);
        shown.sort_by_key(place);
    }
    let mut texts: Vec<String> = shown.iter().map(|one| render(source, one)).collect();
    if left_out > 0 {
        texts.push(format!("{}: {left_out} more are not shown\n", source.name));
    }
    texts.join("\n")
}

/// The source line with tabs opened, and the carets that belong under it.
fn excerpt(source: &Source, diagnostic: &Diagnostic) -> (String, String) {
    let (line_start, line) = source.line_around(diagnostic.span.start);
    let from = source.boundary(diagnostic.span.start);
    let to = source
        .boundary(diagnostic.span.end)
        .clamp(from, (line_start + line.len()).max(from));
    let mut cells: Vec<(char, bool)> = Vec::new();
    for (offset, character) in line.char_indices() {
        let marked = (from..to).contains(&(line_start + offset));
        if character == '\t' {
            let width = TAB - cells.len() % TAB;
            cells.extend(std::iter::repeat_n((' ', marked), width));
        } else {
            cells.push((
                if character.is_control() {
                    '\u{fffd}'
                } else {
                    character
                },
                marked,
            ));
        }
    }
    if from == to {
        let column = opened_width(&line[..from.saturating_sub(line_start).min(line.len())]);
        cells.resize(cells.len().max(column + 1), (' ', false));
        cells[column].1 = true;
    }
    let first = cells.iter().position(|cell| cell.1).unwrap_or(0);
    let (skipped, cut) = window(cells.len(), first);
    let mut shown: String = cells[skipped..cut].iter().map(|cell| cell.0).collect();
    let mut carets: String = cells[skipped..cut]
        .iter()
        .map(|cell| if cell.1 { '^' } else { ' ' })
        .collect();
    if skipped > 0 {
        shown.insert_str(0, "... ");
        carets.insert_str(0, INDENT);
    }
    if cut < cells.len() {
        shown.push_str(" ...");
    }
    (shown, carets.trim_end().to_owned())
}

/// Which cells of a long line are shown, so that cell `first` is among them.
fn window(cells: usize, first: usize) -> (usize, usize) {
    if cells <= SHOWN_MAX {
        return (0, cells);
    }
    let skipped = first.saturating_sub(LEAD).min(cells - SHOWN_MAX);
    (skipped, skipped + SHOWN_MAX)
}

/// How many columns a text takes with its tabs opened.
fn opened_width(text: &str) -> usize {
    text.chars().fold(0, |width, character| {
        width + if character == '\t' { TAB - width % TAB } else { 1 }
    })
}

/// A text in one line, with nothing in it that could steer a terminal.
fn plain(text: &str) -> String {
    text.chars()
        .map(|character| {
            if character.is_control() {
                '\u{fffd}'
            } else {
                character
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnostic::Span;

    fn check(text: &str, diagnostic: Diagnostic, expected: &str) {
        assert_eq!(render(&Source::new("yard.toml", text), &diagnostic), expected);
    }

    /// Errors are shown even where a hundred warnings stand before them.
    #[test]
    fn very_many_are_counted_and_errors_come_first() {
        let source = Source::new("yard.toml", "a");
        let mut said = vec![Diagnostic::warning(0..1, "odd"); 150];
        said.push(Diagnostic::error(1..1, "wrong"));
        let text = render_all(&source, &said);
        assert_eq!(text.matches("odd").count(), 99);
        assert!(text.contains("error: wrong"), "{text}");
        assert!(text.ends_with("yard.toml: 51 more are not shown\n"), "{text}");
    }

    #[test]
    fn shows_line_carets_and_help() {
        check(
            "a = 1\nlength = \"3.6 mn\"\n",
            Diagnostic::error(20..22, "no unit is called `mn`").with_help("write m, cm or mm\nor in, or ft"),
            "yard.toml:2:15: error: no unit is called `mn`\n    length = \"3.6 mn\"\n                  ^^\n    \
             help: write m, cm or mm\n          or in, or ft\n",
        );
    }

    #[test]
    fn carets_stand_under_the_text_after_tabs_and_umlauts() {
        check(
            "\tnäme\t= 7",
            Diagnostic::warning(7..8, "odd"),
            "yard.toml:1:7: warning: odd\n        näme    = 7\n                ^\n",
        );
        check(
            "\tnäme\t= 7",
            Diagnostic::error(1..6, "odd"),
            "yard.toml:1:2: error: odd\n        näme    = 7\n        ^^^^\n",
        );
    }

    #[test]
    fn a_span_over_lines_marks_the_first() {
        check(
            "[[board\nx",
            Diagnostic::error(2..9, "open"),
            "yard.toml:1:3: error: open\n    [[board\n      ^^^^^\n",
        );
        check(
            "ab\r\ncd",
            Diagnostic::error(0..6, "open"),
            "yard.toml:1:1: error: open\n    ab\n    ^^\n",
        );
    }

    #[test]
    fn an_empty_span_gets_one_caret_even_past_the_end() {
        check(
            "ab",
            Diagnostic::error(2..2, "end"),
            "yard.toml:1:3: error: end\n    ab\n      ^\n",
        );
        check(
            "ab",
            Diagnostic::error(99..120, "end"),
            "yard.toml:1:3: error: end\n    ab\n      ^\n",
        );
        check(
            "",
            Diagnostic::error(0..0, "empty"),
            "yard.toml:1:1: error: empty\n",
        );
        check(
            "a\n",
            Diagnostic::error(2..2, "end"),
            "yard.toml:2:1: error: end\n",
        );
    }

    #[test]
    fn a_long_line_is_shown_around_the_fault() {
        let text = format!("{}X{}", "a".repeat(300), "b".repeat(300));
        let shown = render(&Source::new("f", text), &Diagnostic::error(300..301, "x"));
        let lines: Vec<&str> = shown.lines().collect();
        assert!(lines[1].starts_with("    ... aaaa") && lines[1].ends_with("bbb ..."));
        assert_eq!(lines[1].find('X'), lines[2].find('^'));
        assert_eq!(lines[1].chars().count(), SHOWN_MAX + 12);
    }

    #[test]
    fn nothing_in_a_text_steers_the_terminal() {
        let shown = render(
            &Source::new("f\u{1b}", "a\u{1b}[31mb"),
            &Diagnostic::error(1..2, "x\u{1b}[2J"),
        );
        assert!(!shown.contains('\u{1b}'));
    }

    #[test]
    fn never_panics_on_any_span_of_a_mixed_text() {
        let source = Source::new("f", "ä\tb\r\n\n€x\u{0}");
        for start in 0..source.text.len() + 3 {
            for end in 0..source.text.len() + 3 {
                let shown = render(&source, &Diagnostic::error(Span { start, end }, "m"));
                assert!(shown.starts_with("f:"), "{start}..{end}");
            }
        }
    }

    #[test]
    fn sorts_by_place() {
        let source = Source::new("f", "ab\ncd");
        let two = [
            Diagnostic::error(3..4, "second"),
            Diagnostic::error(0..1, "first"),
        ];
        assert_eq!(
            render_all(&source, &two),
            "f:1:1: error: first\n    ab\n    ^\n\nf:2:1: error: second\n    cd\n    ^\n"
        );
    }
}
