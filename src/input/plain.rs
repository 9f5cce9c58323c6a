//! What is wrong with a line that cannot be read, in plain words: most lack the quotes around a value.

use crate::diagnostic::{Diagnostic, Span};

/// Quotes that writing programs put in for straight ones.
const CURLY: &[char] = &['“', '”', '„', '‘', '’', '«', '»'];

/// What is said of a line of which a reader of the format says something at a place; `says` is what it said.
pub(super) fn told(text: &str, at: usize, says: &str) -> Diagnostic {
    let line = line_at(text, at);
    let raw = text.get(line.start..line.end).unwrap_or_default();
    if let Some((place, found)) = raw.char_indices().find(|(_, one)| CURLY.contains(one)) {
        let place = line.start + place;
        let message = format!("{found} is no quote that can be read here");
        return Diagnostic::error(Span::new(place, place + found.len_utf8()), message)
            .with_help("write straight quotes: \" before the value and \" behind it");
    }
    let before = at.saturating_sub(line.start).min(raw.len());
    if let Some(value) = value_at(raw, before) {
        let span = Span::new(
            line.start + value.start,
            line.start + value.start + value.text.len(),
        );
        if value.text.starts_with('"') && value.text.contains('\\') {
            let message = format!(
                "`{}`: between double quotes a \\ does not part folders",
                value.key
            );
            let help = format!(
                "write / for it, or single quotes: {} = '{}'",
                value.key,
                value.text.trim_matches('"')
            );
            return Diagnostic::error(span, message).with_help(help);
        }
        let rest = line.start + value.start;
        if let Some(inner) = quote_within(text.get(rest..line.end).unwrap_or_default()) {
            let span = Span::new(rest, rest + inner.len() + 2);
            let message = format!("`{}`: a quote stands in this text", value.key);
            let help = format!("write {} = {}", value.key, quoted(inner));
            return Diagnostic::error(span, message).with_help(help);
        }
        if value.lacks_quotes() {
            let message = format!("`{}`: this value has to stand in quotes", value.key);
            let help = format!("write {} = {}", value.key, quoted(&with_point(value.text)));
            return Diagnostic::error(span, message).with_help(help);
        }
        if value.text.contains(',') && with_point(value.text) != value.text {
            let message = format!("`{}`: decimals have a point, no comma", value.key);
            let help = format!("write {} = {}", value.key, with_point(value.text));
            return Diagnostic::error(span, message).with_help(help);
        }
    }
    let place = at.min(text.len());
    Diagnostic::error(Span::at(place), says.to_owned())
        .with_help("a line is key = value, text stands in quotes, and no key stands twice")
}

/// Whether a text begins with a word.
pub(super) fn begins_with(text: &str, word: &str) -> bool {
    text.split_whitespace()
        .next()
        .is_some_and(|first| first.eq_ignore_ascii_case(word))
}

/// The line that a place lies in.
pub(super) fn line_at(text: &str, at: usize) -> Span {
    let at = (0..=at.min(text.len()))
        .rev()
        .find(|at| text.is_char_boundary(*at))
        .unwrap_or(0);
    let start = text
        .get(..at)
        .and_then(|text| text.rfind('\n'))
        .map_or(0, |at| at + 1);
    let end = text
        .get(at..)
        .and_then(|text| text.find('\n'))
        .map_or(text.len(), |found| at + found);
    Span::new(start, end)
}

/// A value in a line, and its key.
struct Written<'a> {
    key: &'a str,
    start: usize,
    text: &'a str,
}

impl Written<'_> {
    /// A word, or a number with more behind it, that nothing encloses.
    fn lacks_quotes(&self) -> bool {
        let first = self.text.chars().next();
        let plain = first.is_some_and(|first| first.is_alphanumeric() || first == '-' || first == '.');
        let number = |one: char| one.is_ascii_digit() || matches!(one, '.' | ',' | '-' | '+' | '_');
        plain && !matches!(self.text, "true" | "false") && !self.text.chars().all(number)
    }
}

/// The value that a place in a line lies in: from behind the last = before it that stands in no quotes.
fn value_at(line: &str, at: usize) -> Option<Written<'_>> {
    let (mut quote, mut equals, mut opened) = (None, None, 0);
    for (place, one) in line.char_indices() {
        match (quote, one) {
            (Some(open), one) if open == one => quote = None,
            (Some(_), _) => {}
            (None, '"' | '\'') => quote = Some(one),
            (None, '#') => break,
            (None, '=') if place <= at || equals.is_none() => equals = Some(place),
            (None, '{') if place <= at => opened = place + 1,
            (None, ',') if place <= at && line.get(place + 1..).is_some_and(|rest| rest.starts_with(' ')) => {
                opened = place + 1;
            }
            _ => {}
        }
    }
    let equals = equals?;
    let key = line
        .get(if opened <= equals { opened } else { 0 }..equals)?
        .trim();
    let rest = line.get(equals + 1..)?;
    let start = equals + 1 + (rest.len() - rest.trim_start().len());
    let value = line.get(start..)?;
    let text = value.get(..end_of(value, opened > 0))?.trim_end();
    let named = !key.is_empty()
        && key
            .chars()
            .all(|one| one.is_alphanumeric() || matches!(one, '_' | '-' | '.'));
    (named && !text.is_empty()).then_some(Written { key, start, text })
}

/// How long a value is: up to a comment or, in a list of keys, up to the next one.
fn end_of(value: &str, inside: bool) -> usize {
    let quoted = value.chars().next().filter(|first| matches!(first, '"' | '\''));
    if let Some(quote) = quoted {
        return value
            .get(1..)
            .and_then(|rest| rest.rfind(quote))
            .map_or(value.len(), |at| at + 2);
    }
    let ends = |(at, one): (usize, char)| match one {
        '#' => true,
        '}' => inside,
        ',' => inside && value.get(at + 1..).is_some_and(|rest| rest.starts_with(' ')),
        _ => false,
    };
    value
        .char_indices()
        .find(|found| ends(*found))
        .map_or(value.len(), |(at, _)| at)
}

/// A measure between quotes in which such a quote stands as a mark of feet or inches: of `"9' 6""` the part between the outer
/// ones.
fn quote_within(value: &str) -> Option<&str> {
    let value = value.split('#').next()?.trim_end();
    let quote = value.chars().next().filter(|first| matches!(first, '"' | '\''))?;
    let inner = value.strip_prefix(quote)?.strip_suffix(quote)?;
    let measure = |one: char| one.is_ascii_digit() || matches!(one, '\'' | '"' | '/' | '.' | '-' | ' ');
    (inner.contains(quote) && inner.chars().all(measure)).then_some(inner)
}

/// A text between quotes that do not stand in it: feet and inches by their names where both of their marks do.
fn quoted(text: &str) -> String {
    match (text.contains('"'), text.contains('\'')) {
        (false, _) => format!("\"{text}\""),
        (true, false) => format!("'{text}'"),
        (true, true) => {
            let named = text.replace('\'', " ft ").replace('"', " in");
            let words: Vec<&str> = named.split_whitespace().collect();
            format!("\"{}\"", words.join(" "))
        }
    }
}

/// A value with a point for each comma between two digits.
fn with_point(text: &str) -> String {
    let signs: Vec<char> = text.chars().collect();
    let digit = |at: Option<usize>| at.and_then(|at| signs.get(at)).is_some_and(char::is_ascii_digit);
    let told = |(at, one): (usize, &char)| match one {
        ',' if digit(at.checked_sub(1)) && digit(Some(at + 1)) => '.',
        one => *one,
    };
    signs.iter().enumerate().map(told).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnostic::{Source, render_all};
    use toml::de::DeTable;

    /// The first that is said of a line in a file.
    fn said(line: &str) -> String {
        let text = format!("[log]\nname = \"A\"\n{line}\nbark = \"8 mm\"\n");
        let (_, errors) = DeTable::parse_recoverable(&text);
        let first = errors.first().unwrap();
        let at = first.span().map_or(0, |span| span.start);
        render_all(
            &Source::new("f", text.as_str()),
            &[told(&text, at, first.message())],
        )
    }

    #[test]
    fn a_value_without_quotes_is_told_with_them() {
        for (line, help) in [
            ("length = 4,9 m", "write length = \"4.9 m\""),
            ("butt = 11.5in # at the far end", "write butt = \"11.5in\""),
            ("small_end = 215 mm", "write small_end = \"215 mm\""),
            ("name = G-04", "write name = \"G-04\""),
            ("state = fresh", "write state = \"fresh\""),
            ("length = 9' 6\"", "write length = \"9 ft 6 in\"\n"),
            ("length = 9'6 1/2\"", "write length = \"9 ft 6 1/2 in\"\n"),
            ("butt = 11 1/2\"", "write butt = '11 1/2\"'\n"),
            ("length = \"9' 6\"\"", "write length = \"9 ft 6 in\"\n"),
            ("length = '9' 6\"'", "write length = \"9 ft 6 in\"\n"),
            (
                "sweep = { bow = 10 mm, toward = \"up\" }",
                "write bow = \"10 mm\"",
            ),
            (
                "sweep = { toward = up, bow = \"10 mm\" }",
                "write toward = \"up\"",
            ),
            ("price = { per_bf = 1,20 }", "write per_bf = 1.20"),
            ("moisture = 12,5", "write moisture = 12.5"),
        ] {
            let said = said(line);
            assert!(said.starts_with("f:3:") && said.contains(help), "{line}\n{said}");
        }
    }

    #[test]
    fn curly_quotes_and_folders_are_told() {
        assert!(said("bark = “8 mm”").contains("write straight quotes"));
        let said = said("mill = \"C:\\Users\\me\\mill.toml\"");
        assert!(
            said.contains("write / for it, or single quotes: mill = 'C:\\Users\\me\\mill.toml'"),
            "{said}"
        );
    }

    #[test]
    fn what_is_none_of_these_is_told_as_it_was_read() {
        for line in ["= 3", "kerf = ", "kerf = [1, 2", "kerf 5", "ä", "x = \"5 mm"] {
            assert!(
                said(line).contains("a line is key = value"),
                "{line}: {}",
                said(line)
            );
        }
    }

    #[test]
    fn no_place_is_too_far_or_inside_a_letter() {
        let text = "a = ä“";
        for at in 0..20 {
            let _ = told(text, at, "no");
        }
    }
}
