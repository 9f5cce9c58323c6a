//! What is wrong with an input: where, what was found, and what would do.
//!
//! A reader of input collects [`Diagnostic`]s and goes on, so that one run shows all that is wrong with a file.
//! [`render()`] shows one with its source line, [`render_all`] all of a file in the order of the text.

mod brief;
mod nearest;
mod render;

pub(crate) use brief::brief;
pub use nearest::nearest;
pub use render::{render, render_all, render_files};

/// A stretch of bytes in a source text.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Span {
    /// First byte.
    pub start: usize,
    /// One past the last byte.
    pub end: usize,
}

impl Span {
    /// From the first byte to one past the last.
    #[must_use]
    pub const fn new(start: usize, end: usize) -> Self {
        Self { start, end }
    }

    /// A place between two bytes; shown as one caret.
    #[must_use]
    pub const fn at(offset: usize) -> Self {
        Self {
            start: offset,
            end: offset,
        }
    }

    /// The same stretch of a text that begins at `base` in a larger one.
    #[must_use]
    pub const fn shifted(self, base: usize) -> Self {
        Self {
            start: self.start + base,
            end: self.end + base,
        }
    }
}

impl From<core::ops::Range<usize>> for Span {
    fn from(range: core::ops::Range<usize>) -> Self {
        Self::new(range.start, range.end)
    }
}

/// How bad it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Severity {
    /// The input can be used; look at this all the same.
    Warning,
    /// The input cannot be used.
    Error,
}

impl core::fmt::Display for Severity {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        f.write_str(match self {
            Self::Warning => "warning",
            Self::Error => "error",
        })
    }
}

/// One thing to say about an input.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Diagnostic {
    /// How bad it is.
    pub severity: Severity,
    /// Where.
    pub span: Span,
    /// What was found.
    pub message: String,
    /// What would do; empty where there is nothing to add.
    pub help: String,
}

impl Diagnostic {
    /// The input cannot be used because of this.
    #[must_use]
    pub fn error(span: impl Into<Span>, message: impl Into<String>) -> Self {
        Self {
            severity: Severity::Error,
            span: span.into(),
            message: message.into(),
            help: String::new(),
        }
    }

    /// The input can be used, but look at this.
    #[must_use]
    pub fn warning(span: impl Into<Span>, message: impl Into<String>) -> Self {
        Self {
            severity: Severity::Warning,
            ..Self::error(span, message)
        }
    }

    /// The same, saying also what would do.
    #[must_use]
    pub fn with_help(mut self, help: impl Into<String>) -> Self {
        self.help = help.into();
        self
    }
}

/// Whether any of these keeps the input from being used.
#[must_use]
pub fn any_error(diagnostics: &[Diagnostic]) -> bool {
    diagnostics.iter().any(|one| one.severity == Severity::Error)
}

/// A text with its name, as diagnostics show it.
#[derive(Clone, Debug)]
pub struct Source {
    /// File name, or what stands for one.
    pub name: String,
    /// The whole text.
    pub text: String,
}

/// A place in a text as an editor counts it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Place {
    /// Line, from 1.
    pub line: usize,
    /// Character in the line, from 1; a tab is one character.
    pub column: usize,
}

impl Source {
    /// A text under its name.
    #[must_use]
    pub fn new(name: impl Into<String>, text: impl Into<String>) -> Self {
        Self {
            name: name.into(),
            text: text.into(),
        }
    }

    /// Line and column of a byte. Past the end counts as the end, inside a character as its start.
    #[must_use]
    pub fn place(&self, offset: usize) -> Place {
        let before = &self.text[..self.boundary(offset)];
        let start = before.rfind('\n').map_or(0, |newline| newline + 1);
        Place {
            line: before.matches('\n').count() + 1,
            column: before[start..].chars().count() + 1,
        }
    }

    /// The line a byte stands in, with the byte where it begins; without its line end.
    pub(crate) fn line_around(&self, offset: usize) -> (usize, &str) {
        let offset = self.boundary(offset);
        let start = self.text[..offset].rfind('\n').map_or(0, |newline| newline + 1);
        let end = self.text[start..]
            .find('\n')
            .map_or(self.text.len(), |newline| start + newline);
        let line = &self.text[start..end];
        (start, line.strip_suffix('\r').unwrap_or(line))
    }

    /// The nearest start of a character at or before a byte.
    pub(crate) fn boundary(&self, offset: usize) -> usize {
        let mut offset = offset.min(self.text.len());
        while !self.text.is_char_boundary(offset) {
            offset -= 1;
        }
        offset
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn counts_lines_and_characters_from_one() {
        let source = Source::new("a", "one\ntwö\tx\r\n\nlast");
        let place = |offset| {
            let place = source.place(offset);
            (place.line, place.column)
        };
        assert_eq!(place(0), (1, 1));
        assert_eq!(place(3), (1, 4));
        assert_eq!(place(4), (2, 1));
        assert_eq!(place(8), (2, 4), "the tab follows three characters in four bytes");
        assert_eq!(place(7), (2, 3), "inside a character counts as its start");
        assert_eq!(place(12), (3, 1));
        assert_eq!(place(9_999), (4, 5));
    }

    #[test]
    fn a_warning_alone_is_no_error() {
        let warning = Diagnostic::warning(0..1, "w");
        assert!(!any_error(core::slice::from_ref(&warning)));
        assert!(any_error(&[warning, Diagnostic::error(0..1, "e")]));
    }
}
