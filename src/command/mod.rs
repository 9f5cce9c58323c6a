//! What each verb does, one file a verb.
//!
//! A command gets its arguments and a place for diagnostics, and answers with what it prints and an exit status, so
//! that tests call it as the command line does.

mod another;
pub mod at_work;
pub mod audit;
mod begun;
mod beyond_rails;
mod chosen;
pub mod dry_run;
pub mod explain;
pub mod export;
mod falls;
mod files;
mod folder;
mod further;
pub mod help;
mod kind;
mod laid;
pub mod layout;
mod log_entry;
mod making;
mod near_metal;
mod offer;
pub mod order;
mod ordered;
mod others;
mod pictures;
pub mod plan;
mod problem;
pub mod rules;
mod said;
pub mod sequence;
mod subject;
mod summary;

use serde::Serialize;

pub use said::{Problem, Said};

use crate::cli::{Arguments, Opt};
use crate::diagnostic::brief;

/// How a command ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Exit {
    /// All is well.
    Good,
    /// The rules refuse, or there is no way to saw it.
    Refused,
    /// What was handed in cannot be used.
    BadInput,
    /// The link or the machine failed.
    Machine,
}

impl Exit {
    /// The status a process ends with.
    #[must_use]
    pub const fn status(self) -> u8 {
        match self {
            Self::Good => 0,
            Self::Refused => 1,
            Self::BadInput => 2,
            Self::Machine => 3,
        }
    }
}

/// What a command prints and how it ended.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Answer {
    /// How it ended.
    pub exit: Exit,
    /// For standard output.
    pub out: String,
    /// For standard error.
    pub said: String,
}

/// Why a command could not do what it was asked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Failure {
    /// How it ended.
    pub exit: Exit,
    /// For standard error.
    pub text: String,
    /// For standard output all the same: JSON that tells the failure.
    pub out: String,
    /// What is wrong, for programs; empty where it was said already.
    pub problems: Vec<Problem>,
}

impl Failure {
    /// Something that was handed in cannot be used, and what would do.
    #[must_use]
    pub fn wrong(message: &str, help: &str) -> Self {
        let text = format!("bunkside: {}\n    help: {}\n", brief(message), brief(help));
        Self {
            problems: vec![Problem::error(message, help)],
            ..Self::ended(Exit::BadInput, text)
        }
    }

    /// A command line that cannot be used, and how it is written.
    #[must_use]
    pub fn usage(message: &str, help: &str) -> Self {
        Self {
            problems: vec![Problem::error(message, "")],
            ..Self::ended(Exit::BadInput, format!("bunkside: {}\n\n{help}", brief(message)))
        }
    }

    /// An end with this text.
    #[must_use]
    pub const fn ended(exit: Exit, text: String) -> Self {
        Self {
            exit,
            text,
            out: String::new(),
            problems: Vec::new(),
        }
    }

    /// What a program gets to read: the failure's own JSON, or a list of what is wrong.
    #[must_use]
    pub fn for_programs(&self, said: &Said) -> String {
        if !self.out.is_empty() {
            return self.out.clone();
        }
        let mut problems = [said.problems.as_slice(), &self.problems].concat();
        if problems.iter().all(|one| one.severity != "error") {
            problems.push(Problem::error(self.text.trim(), ""));
        }
        json(&FailureEntry {
            format: "bunkside-error",
            version: 1,
            status: self.exit.status(),
            problems,
        })
    }
}

/// A failure for programs.
#[derive(Serialize)]
struct FailureEntry {
    format: &'static str,
    version: u32,
    status: u8,
    problems: Vec<Problem>,
}

/// What a command answers: exit status and what it prints.
pub type Done = Result<(Exit, String), Failure>;

/// A command: its arguments, and where it says what is wrong with its input.
pub type Handler = fn(&Arguments, &mut Said) -> Done;

/// The option for programs.
pub const JSON: Opt = Opt {
    long: "json",
    short: None,
    value: None,
    about: "tell it to programs; src/command/JSON.md describes the shape",
};

/// A value as JSON, for people to read as well.
fn json(value: &impl Serialize) -> String {
    // Structures of numbers, words and lists, without maps whose keys are no words.
    let text = serde_json::to_string_pretty(value).unwrap_or_default();
    text + "\n"
}
