//! A table as text: rows of cells, parted by commas, semicolons or tabs, in quotes where they have to be.

use crate::diagnostic::{Diagnostic, Span};

/// One cell.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Cell {
    /// Where its text stands, without quotes around it.
    pub(super) span: Span,
    /// What it holds, without spaces around it.
    pub(super) text: String,
}

/// One row that is not empty.
#[derive(Clone, Debug)]
pub(super) struct Row {
    /// Its number, empty rows counted, from 1.
    pub(super) number: usize,
    /// Where it stands.
    pub(super) span: Span,
    /// Its cells, from the left.
    pub(super) cells: Vec<Cell>,
}

/// What may part cells.
const SEPARATORS: [char; 3] = [',', ';', '\t'];

/// The rows of a text, and what is wrong with its quotes.
pub(super) fn rows(text: &str) -> (Vec<Row>, Vec<Diagnostic>) {
    let mut reader = Reader {
        text,
        at: 0,
        separator: separator(text),
        said: Vec::new(),
    };
    let (mut rows, mut number) = (Vec::new(), 0);
    while reader.at < text.len() {
        number += 1;
        let row = reader.row(number);
        if row.cells.iter().any(|cell| !cell.text.is_empty()) {
            rows.push(row);
        }
    }
    (rows, reader.said)
}

/// The one that stands most often in the first row that holds anything, quoted text aside.
fn separator(text: &str) -> char {
    let first = text.lines().find(|line| !line.trim().is_empty()).unwrap_or("");
    let mut quoted = false;
    let bare: String = first
        .chars()
        .filter(|letter| {
            quoted ^= *letter == '"';
            !quoted
        })
        .collect();
    let often = |one: &char| bare.matches(*one).count();
    // Of several as often the first.
    SEPARATORS.into_iter().rev().max_by_key(often).unwrap_or(',')
}

struct Reader<'a> {
    text: &'a str,
    at: usize,
    separator: char,
    said: Vec<Diagnostic>,
}

impl Reader<'_> {
    fn rest(&self) -> &str {
        self.text.get(self.at..).unwrap_or_default()
    }

    /// The row that begins here; the next one begins behind it.
    fn row(&mut self, number: usize) -> Row {
        let start = self.at;
        let mut cells = vec![self.cell()];
        while self.rest().starts_with(self.separator) {
            self.at += self.separator.len_utf8();
            cells.push(self.cell());
        }
        let span = Span::new(start, self.at);
        let line_end = ["\r\n", "\n", "\r"];
        let line_end = line_end.iter().find(|one| self.rest().starts_with(**one));
        self.at += line_end.map_or(0, |one| one.len());
        Row { number, span, cells }
    }

    /// The cell that begins here, up to what ends it.
    fn cell(&mut self) -> Cell {
        self.skip_spaces();
        if self.rest().starts_with('"') {
            return self.quoted();
        }
        let length = self.to_end();
        let text = self.rest().get(..length).unwrap_or_default().trim_end();
        let cell = Cell {
            span: Span::new(self.at, self.at + text.len()),
            text: text.to_owned(),
        };
        self.at += length;
        cell
    }

    fn skip_spaces(&mut self) {
        let separator = self.separator;
        let space = |letter: char| letter != separator && matches!(letter, ' ' | '\t' | '\u{a0}');
        let rest = self.rest();
        self.at += rest.len() - rest.trim_start_matches(space).len();
    }

    /// Bytes to the next separator or line end.
    fn to_end(&self) -> usize {
        let separator = self.separator;
        let ends = |letter: char| letter == separator || matches!(letter, '\n' | '\r');
        self.rest().find(ends).unwrap_or(self.rest().len())
    }

    /// A cell in quotes; two of them within mean one.
    fn quoted(&mut self) -> Cell {
        let open = self.at;
        let inside = open + 1;
        let rest = self.text.get(inside..).unwrap_or_default();
        let mut text = String::new();
        let mut letters = rest.char_indices().peekable();
        let mut closed = None;
        while let Some((at, letter)) = letters.next() {
            if letter != '"' {
                text.push(letter);
            } else if letters.next_if(|(_, next)| *next == '"').is_some() {
                text.push('"');
            } else {
                closed = Some(inside + at);
                break;
            }
        }
        let Some(close) = closed else {
            let message = "this quote is never closed";
            let help = "close it, or leave it out; for inches write in";
            self.said
                .push(Diagnostic::error(Span::new(open, inside), message).with_help(help));
            self.at = inside;
            self.at += self.to_end();
            return Cell {
                span: Span::new(inside, self.at),
                text: self
                    .text
                    .get(inside..self.at)
                    .unwrap_or_default()
                    .trim()
                    .to_owned(),
            };
        };
        self.at = close + 1;
        self.skip_spaces();
        let behind = self.to_end();
        if behind > 0 {
            let message = "something stands behind a closed quote";
            let help = "put all of the cell between the quotes; a quote within is written twice";
            let span = Span::new(self.at, self.at + behind);
            self.said.push(Diagnostic::error(span, message).with_help(help));
            self.at += behind;
        }
        Cell {
            span: Span::new(inside, close),
            text: text.trim().to_owned(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cells(text: &str) -> Vec<Vec<String>> {
        let (rows, said) = rows(text);
        assert!(said.is_empty(), "{said:?}");
        let texts = |row: Row| row.cells.into_iter().map(|cell| cell.text).collect();
        rows.into_iter().map(texts).collect()
    }

    #[test]
    fn rows_are_read_whatever_parts_them_and_ends_their_lines() {
        let expected = [["name", "length"], ["L 1", "3.6 m"]];
        for text in [
            "name,length\nL 1,3.6 m\n",
            "name;length\r\n\r\n L 1 ; 3.6 m",
            "name\tlength\rL 1\t3.6 m\r",
            "\n\"name\",\"length\"\n\"L 1\" , \"3.6 m\"",
        ] {
            assert_eq!(cells(text), expected, "{text:?}");
        }
    }

    #[test]
    fn quotes_keep_what_parts_and_what_ends_a_row() {
        assert_eq!(
            cells("a,b\n\"1, \"\"2\"\"\",\"x\ny\""),
            [["a", "b"], ["1, \"2\"", "x\ny"]]
        );
        assert_eq!(cells("a,b\n12\",\n"), [["a", "b"], ["12\"", ""]]);
    }

    #[test]
    fn places_are_those_of_the_text() {
        let text = "a, \"b\"\n\nlog 7 ,x";
        let (rows, _) = rows(text);
        let told = |cell: &Cell| text[cell.span.start..cell.span.end].to_owned();
        assert_eq!(rows[0].cells.iter().map(told).collect::<Vec<_>>(), ["a", "b"]);
        assert_eq!(rows[1].cells.iter().map(told).collect::<Vec<_>>(), ["log 7", "x"]);
        assert_eq!((rows[1].number, rows.len()), (3, 2));
    }

    #[test]
    fn a_quote_that_is_not_closed_swallows_no_more_than_its_line() {
        let (rows, said) = rows("a,b\n\"x,1\ny,2\n");
        assert_eq!(rows.len(), 3);
        let said: Vec<&str> = said.iter().map(|one| one.message.as_str()).collect();
        assert_eq!(said, ["this quote is never closed"]);
    }

    #[test]
    fn nothing_at_all_has_no_rows() {
        for text in ["", "\n\n", ",,,\n;", " \r\n"] {
            assert!(rows(text).0.len() <= 1, "{text:?}");
        }
        assert!(rows("").0.is_empty() && rows(",,\n").0.is_empty());
    }
}
