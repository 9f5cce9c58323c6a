//! What a command says beside its answer: for people as text, for programs as a list.

use serde::Serialize;

use crate::diagnostic::{Diagnostic, Source, brief, render_all};

/// What a command says beside its answer.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Said {
    /// As text.
    pub text: String,
    /// What of it is wrong with the input, for programs.
    pub problems: Vec<Problem>,
}

/// One thing that is wrong.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Problem {
    /// `warning` or `error`.
    pub severity: String,
    /// The file it is about.
    pub file: Option<String>,
    /// Line in it, from 1.
    pub line: Option<usize>,
    /// Character in the line, from 1.
    pub column: Option<usize>,
    /// What was found.
    pub message: String,
    /// What would do.
    pub help: Option<String>,
}

impl Problem {
    /// Something wrong with what was handed in as a whole.
    #[must_use]
    pub fn error(message: &str, help: &str) -> Self {
        Self {
            severity: "error".to_owned(),
            file: None,
            line: None,
            column: None,
            message: brief(message),
            help: (!help.is_empty()).then(|| brief(help)),
        }
    }

    fn at(source: &Source, diagnostic: &Diagnostic) -> Self {
        let place = source.place(diagnostic.span.start);
        Self {
            severity: diagnostic.severity.to_string(),
            file: Some(source.name.clone()),
            line: Some(place.line),
            column: Some(place.column),
            ..Self::error(&diagnostic.message, &diagnostic.help)
        }
    }
}

impl Said {
    /// Notes what is said about a text.
    pub fn note(&mut self, source: &Source, diagnostics: &[Diagnostic]) {
        let text = render_all(source, diagnostics);
        if !text.is_empty() {
            self.text.push_str(&text);
            self.text.push('\n');
        }
        let mut diagnostics: Vec<&Diagnostic> = diagnostics.iter().collect();
        diagnostics.sort_by_key(|one| (one.span.start, one.span.end));
        let problems = diagnostics.into_iter().map(|one| Problem::at(source, one));
        self.problems.extend(problems);
    }

    /// A warning about what was handed in.
    pub fn warn(&mut self, message: &str) {
        self.aside(&format!("bunkside: warning: {message}\n"));
        self.problems.push(Problem {
            severity: "warning".to_owned(),
            ..Problem::error(message, "")
        });
    }

    /// Something to know.
    pub fn aside(&mut self, text: &str) {
        self.text.push_str(text);
    }
}
