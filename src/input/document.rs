//! A file's text as a document, and a document held against its keys.

use toml::Spanned;
use toml::de::DeTable;

use super::node::Node;
use super::plain;
use super::schema::Key;
use super::twice;
use super::walk::held;
use crate::diagnostic::{Diagnostic, Source};

/// Reads a file by its keys. The node is a table that holds what could be read; it is complete where no
/// diagnostic is an error.
#[must_use]
pub fn read(source: &Source, keys: &'static [Key]) -> (Node, Vec<Diagnostic>) {
    let (document, mut told, lines) = parsed(&source.text, keys);
    let line = |one: &Diagnostic| plain::line_at(&source.text, one.span.start).start;
    let (root, read) = held(&source.text, keys, document.get_ref(), !told.is_empty());
    // One line, one word on it: what else is wrong with it is only guessed.
    let good = |one: &Diagnostic| !lines.contains(&line(one));
    told.extend(read.into_iter().filter(good));
    (root, told)
}

/// What a text holds as far as it can be read, what is wrong with how it is written, and the lines on which nothing else is to be
/// said.
pub(crate) fn parsed<'a>(text: &'a str, keys: &[Key]) -> (Spanned<DeTable<'a>>, Vec<Diagnostic>, Vec<usize>) {
    let (document, syntax) = DeTable::parse_recoverable(text);
    let found = syntax.iter();
    let found = found.map(|error| (error.span().map_or(0, |span| span.start), error.message()));
    let (told, lines) = twice::errors(text, keys, found);
    (document, told, lines)
}
