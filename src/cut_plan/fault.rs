//! What can be wrong with a line, as data, and how it is said.

use core::fmt;

use bunkside_planner::limits::LOG_LENGTH_MAX;
use nom::error::{ErrorKind, ParseError};

use super::PASSES_MAX;
use super::words::{FIRST_WORDS, act_words};
use crate::diagnostic::{Diagnostic, Span, nearest};
use crate::measure::{self, MeasureError};
use bunkside_protocol::Act;

/// What is wrong.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Problem {
    /// A line begins with a word that no line begins with.
    FirstWord(String),
    /// Another word stands where one of these is wanted, or nothing.
    Word {
        wanted: &'static [&'static str],
        found: String,
    },
    /// No name where one is wanted.
    Name(String),
    /// A name without its closing quote.
    OpenName,
    /// A name of nothing.
    EmptyName,
    /// A backslash in a name that is followed by nothing known.
    Escape,
    /// No length where one is wanted.
    NoLength(String),
    /// No place where one is wanted.
    NoPlace(String),
    /// A length that cannot be read.
    Length(MeasureError),
    /// A board of no length.
    ZeroLength,
    /// An end named for one of two boards in a column.
    EndInPair,
    /// No number of passes, or one out of range.
    Count(String),
    /// No act where one is wanted.
    NoAct(String),
    /// An act that is not known.
    Act(String),
    /// More on the line than belongs there.
    Trailing { found: String, kind: &'static str },
}

/// What is wrong with a line, and where, counted from its end.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Fault {
    /// Bytes from the fault to the end of the line.
    pub(super) rest: usize,
    /// Bytes at fault.
    pub(super) len: usize,
    /// What is wrong.
    pub(super) problem: Problem,
}

impl Fault {
    /// At the word that an input begins with.
    pub(super) fn at_word(input: &str, problem: impl FnOnce(String) -> Problem) -> Self {
        let word = word_at(input);
        Self {
            rest: input.len(),
            len: word.len(),
            problem: problem(word.to_owned()),
        }
    }

    /// As a diagnostic, given where the line ends in the text.
    pub(super) fn to_diagnostic(&self, line_end: usize) -> Diagnostic {
        let start = line_end - self.rest;
        Diagnostic::error(Span::new(start, start + self.len), self.problem.to_string())
            .with_help(self.problem.help())
    }
}

impl<'a> ParseError<&'a str> for Fault {
    fn from_error_kind(input: &'a str, _: ErrorKind) -> Self {
        Self::at_word(input, |found| Problem::Word { wanted: &[], found })
    }

    fn append(_: &'a str, _: ErrorKind, other: Self) -> Self {
        other
    }
}

/// What stands at an input's beginning, to be shown: a word, or one character.
pub(super) fn word_at(input: &str) -> &str {
    if input.starts_with('#') {
        return "";
    }
    let ends = |character: char| matches!(character, ' ' | '\t' | ',' | '#');
    let end = input.find(ends).unwrap_or(input.len());
    let first = input.chars().next().map_or(0, char::len_utf8);
    &input[..end.max(first)]
}

/// `a`, `a or b`, `a, b or c`, each in back quotes.
pub(super) fn one_of<'a>(words: impl IntoIterator<Item = &'a str>) -> String {
    let quoted: Vec<String> = words.into_iter().map(|word| format!("`{word}`")).collect();
    match quoted.split_last() {
        Some((last, [])) => last.clone(),
        Some((last, before)) => format!("{} or {last}", before.join(", ")),
        None => String::new(),
    }
}

/// What was found, for a sentence.
fn seen(found: &str) -> String {
    match found {
        "" => "the line ends".to_owned(),
        other => format!("found `{other}`"),
    }
}

/// A guess put before advice.
fn did_you_mean<'a>(found: &str, words: impl IntoIterator<Item = &'a str>, advice: String) -> String {
    match nearest(found, words) {
        Some(word) => format!("did you mean `{word}`? {advice}"),
        None => advice,
    }
}

fn act_help(found: &str) -> String {
    let words = Act::ALL.map(act_words);
    let begun: Vec<&str> = words
        .into_iter()
        .filter(|act| act.strip_prefix(found).is_some_and(|rest| rest.starts_with(' ')))
        .collect();
    if let Some(first) = acts_in_a_row(found) {
        format!("put a comma behind `{first}`")
    } else if !begun.is_empty() {
        format!("did you mean {}?", one_of(begun))
    } else {
        did_you_mean(
            found,
            words,
            format!("acts are {}, with commas between them", one_of(words)),
        )
    }
}

/// The act that words begin with, where another one follows it.
fn acts_in_a_row(words: &str) -> Option<&'static str> {
    let begins = |text: &str| {
        Act::ALL
            .map(act_words)
            .into_iter()
            .find(|act| text.starts_with(act))
    };
    let first = begins(words)?;
    let rest = words[first.len()..].strip_prefix([' ', '\t'])?.trim_start();
    begins(rest).map(|_| first)
}

impl Problem {
    /// What would do.
    fn help(&self) -> String {
        match self {
            Self::FirstWord(found) => {
                let words = FIRST_WORDS.map(|(word, _)| word);
                did_you_mean(found, words, format!("a line begins with {}, or `#` for a comment", one_of(words)))
            }
            Self::Word { found, .. } if found == "," => "leave the comma out".to_owned(),
            Self::Word { wanted: [word], .. } => format!("write `{word}` here"),
            Self::Word { wanted, found } => {
                let words = || wanted.iter().copied();
                did_you_mean(found, words(), format!("write {} here", one_of(words())))
            }
            Self::Name(found) if found.starts_with(['\u{201c}', '\u{201d}', '\u{201e}', '\'', '\u{2018}']) => {
                "write the name in straight double quotes, as in \"deck\"".to_owned()
            }
            Self::Name(found) if found.chars().all(char::is_alphanumeric) && !["", "to", "from"].contains(&found.as_str()) => {
                format!("write it in double quotes: \"{found}\"")
            }
            Self::Name(_) => "write a name in double quotes, as in \"deck\"".to_owned(),
            Self::OpenName => "close the name with a double quote on the same line".to_owned(),
            Self::EmptyName => "write the name between the quotes".to_owned(),
            Self::Escape => {
                "write `\\\"` for a quote in a name, `\\\\` for a backslash, `\\u{e9}` for a character by its number".to_owned()
            },
            Self::NoLength(_) => "write a length with its unit, as in 187.5 mm or 5 1/2 in".to_owned(),
            Self::NoPlace(found) => did_you_mean(
                found,
                ["edge"],
                "write the place of the upright kerf, as in -69.9 mm or 3 in, or `edge` for the wood's own edge".to_owned(),
            ),
            Self::Length(error) if error.fault == measure::Fault::TooLarge => {
                format!("write at most {} m: no log is longer", LOG_LENGTH_MAX.as_um() / 1_000_000)
            }
            Self::Length(error) => error.help(),
            Self::ZeroLength => "write its length, or leave it out for the whole length of the log".to_owned(),
            Self::EndInPair => "leave it out: of two in a column the first is measured from the near end, the second from the far end".to_owned(),
            Self::Count(_) => format!("write a whole number from 1 to {PASSES_MAX}"),
            Self::NoAct(found) | Self::Act(found) => act_help(found),
            Self::Trailing { found, kind } if found == "," => {
                format!("{kind} has no comma here; leave it out")
            }
            Self::Trailing { kind, .. } => format!("{kind} ends here; put the rest on a line of its own, or behind `#`"),
        }
    }
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::FirstWord(found) => write!(f, "no line begins with `{found}`"),
            Self::Word { wanted, found } => {
                write!(
                    f,
                    "{} is missing; {}",
                    one_of(wanted.iter().copied()),
                    seen(found)
                )
            }
            Self::Name(found) => write!(f, "a name is missing; {}", seen(found)),
            Self::OpenName => f.write_str("a name that does not end"),
            Self::EmptyName => f.write_str("an empty name"),
            Self::Escape => f.write_str("a backslash that means nothing"),
            Self::NoLength(found) => write!(f, "a length is missing; {}", seen(found)),
            Self::NoPlace(found) => write!(f, "a place is missing; {}", seen(found)),
            Self::Length(error) => error.fmt(f),
            Self::ZeroLength => f.write_str("a board of no length"),
            Self::EndInPair => f.write_str("an end named for one of two boards in a column"),
            Self::Count(found) if found.is_empty() => {
                f.write_str("the number of passes is missing; the line ends")
            }
            Self::Count(found) => write!(f, "`{found}` is no number of passes"),
            Self::NoAct(found) => write!(f, "an act is missing; {}", seen(found)),
            Self::Act(found) => write!(f, "no act is called `{found}`"),
            Self::Trailing { found, kind } => write!(f, "`{found}` behind the end of {kind}"),
        }
    }
}
