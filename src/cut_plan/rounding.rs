//! Lengths that are no whole number of micrometres, told once for a whole text.

use super::document::{Document, Statement};
use crate::diagnostic::{Diagnostic, Span};
use crate::measure::{self, Rules};

/// What is to be said about it, if it happened.
pub(super) fn rounding(document: &Document) -> Option<Diagnostic> {
    let rounded: Vec<(Span, &str)> = lengths(document)
        .filter(|(_, text)| !measure::is_on_a_tape(text))
        .filter(|(_, text)| measure::length(text, Rules::SIGNED).is_ok_and(|length| length.rounded))
        .collect();
    let (span, _) = rounded.first()?;
    let message = match rounded.len() {
        1 => "this length is rounded to a whole micrometre".to_owned(),
        count => format!(
            "this length and {} more are rounded to whole micrometres",
            count - 1
        ),
    };
    Some(Diagnostic::warning(*span, message).with_help("it matters to no saw: half a micrometre at most"))
}

/// Every length of a text as it is written.
fn lengths(document: &Document) -> impl Iterator<Item = (Span, &str)> {
    document.statements().flat_map(|statement| {
        let mut found = Vec::new();
        match statement {
            Statement::Layer(line) => found.push((line.floor.span, line.floor.text.as_str())),
            Statement::Column(line) => {
                let lengths = line.what.boards().filter_map(|board| board.length.as_ref());
                found.extend(lengths.map(|length| (length.span, length.text.as_str())));
                if line.place.value.is_some() {
                    found.push((line.place.span, line.place.text.as_str()));
                }
            }
            _ => {}
        }
        found
    })
}
