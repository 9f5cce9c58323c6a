//! What is wrong with an input: where, what was found, and what would do.

/// A stretch of bytes in a source text.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Span {
    /// First byte.
    pub start: usize,
    /// One past the last byte.
    pub end: usize,
}

/// How bad it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Severity {
    /// The input can be used; look at this all the same.
    Warning,
    /// The input cannot be used.
    Error,
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

/// A text with its name, as diagnostics show it.
#[derive(Clone, Debug)]
pub struct Source {
    /// File name, or what stands for one.
    pub name: String,
    /// The whole text.
    pub text: String,
}
