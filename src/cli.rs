//! The command line: a table of verbs, from which arguments are read and help is written.
//!
//! ```
//! use bunkside::cli::run;
//! use bunkside::command::Exit;
//! let answer = run(&["rules".into(), "roof".into()]);
//! assert_eq!(answer.exit, Exit::BadInput);
//! assert!(answer.out.is_empty() && answer.said.contains("no rule is called `roof`"));
//! ```

mod arguments;
mod help;
mod verbs;

use std::ffi::OsString;

pub use arguments::{Arguments, Opt};
pub use help::{HELP_OPTION, TOPICS, Topic, overview, topic, verb_help};
pub use verbs::VERBS;

use crate::command::{Answer, Exit, Failure, Handler, JSON, Said};
use crate::diagnostic::nearest;

/// One verb of the command line.
#[derive(Debug)]
pub struct Verb {
    /// As it is typed.
    pub name: &'static str,
    /// What it does, in one line.
    pub summary: &'static str,
    /// What stands behind it, in order: `JOB`, `[ID]` where it may be left out.
    pub operands: &'static [&'static str],
    /// Its options.
    pub options: &'static [Opt],
    /// What there is to know.
    pub about: &'static str,
    /// Commands to try.
    pub examples: &'static [&'static str],
    /// What it does.
    pub run: Handler,
}

/// Carries out one command.
#[must_use]
pub fn run(arguments: &[OsString]) -> Answer {
    let mut said = Said::default();
    let (exit, out) = dispatch(arguments, &mut said).unwrap_or_else(|failure| {
        let out = if asks_for_json(arguments) {
            failure.for_programs(&said)
        } else {
            String::new()
        };
        said.aside(&failure.text);
        (failure.exit, out)
    });
    Answer {
        exit,
        out: plain(out),
        said: plain(said.text),
    }
}

/// Whether a program reads the answer, wherever the option stands, and however wrong the rest may be.
fn asks_for_json(arguments: &[OsString]) -> bool {
    let json = format!("--{}", JSON.long);
    let mut options = arguments.iter().take_while(|one| *one != "--");
    options.any(|one| *one == *json)
}

/// A text with nothing in it that could steer a terminal: names come from files.
fn plain(text: String) -> String {
    let steers = |letter: char| letter.is_control() && letter != '\n';
    if text.contains(steers) {
        text.replace(steers, "\u{fffd}")
    } else {
        text
    }
}

fn dispatch(arguments: &[OsString], said: &mut Said) -> Result<(Exit, String), Failure> {
    let json = format!("--{}", JSON.long);
    let ahead = arguments.iter().take_while(|one| **one == *json).count();
    let (ahead, arguments) = arguments.split_at(ahead);
    let Some((first, rest)) = arguments.split_first() else {
        return Err(Failure::usage("no verb is given", &overview()));
    };
    let rest = &[ahead, rest].concat();
    let first = first.to_string_lossy();
    match &*first {
        "--help" | "-h" => return Ok((Exit::Good, overview())),
        "--version" | "-V" => return Ok((Exit::Good, version())),
        _ => {}
    }
    let Some(verb) = verb(&first) else {
        let names = VERBS.iter().map(|verb| verb.name);
        let hint = match nearest(&first, names) {
            Some(meant) => format!("did you mean `{meant}`? `bunkside help` lists the verbs"),
            None => "`bunkside help` lists the verbs".to_owned(),
        };
        let kind = if first.starts_with('-') { "option" } else { "verb" };
        return Err(Failure::wrong(&format!("no {kind} is called `{first}`"), &hint));
    };
    let arguments = Arguments::read(verb, rest)?;
    if arguments.has(&HELP_OPTION) {
        return Ok((Exit::Good, verb_help(verb)));
    }
    (verb.run)(&arguments, said)
}

/// The verb of this name.
#[must_use]
pub fn verb(name: &str) -> Option<&'static Verb> {
    VERBS.iter().find(|verb| verb.name == name)
}

fn version() -> String {
    format!(
        "bunkside {}, stored jobs of format version {}\n",
        env!("CARGO_PKG_VERSION"),
        bunkside_protocol::job::FORMAT_VERSION
    )
}
