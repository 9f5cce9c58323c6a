//! Arguments held against a verb's options.

use std::ffi::{OsStr, OsString};
use std::path::Path;

use super::help::HELP_OPTION;
use super::{Verb, verb_help};
use crate::command::Failure;
use crate::diagnostic::nearest;

/// One option.
#[derive(Debug, PartialEq, Eq)]
pub struct Opt {
    /// Its name behind two hyphens.
    pub long: &'static str,
    /// Its letter behind one hyphen.
    pub short: Option<char>,
    /// What stands behind it; none for a switch.
    pub value: Option<&'static str>,
    /// What it does, in one line.
    pub about: &'static str,
}

/// The arguments of one command, each known to its verb.
#[derive(Clone, Debug, Default)]
pub struct Arguments {
    operands: Vec<OsString>,
    options: Vec<(&'static str, OsString)>,
}

impl Arguments {
    /// Reads the arguments behind a verb.
    ///
    /// # Errors
    /// [`Failure`] with what would do, for an option that the verb does not know or that is given twice, a value that
    /// is missing or too much, and too few or too many operands.
    pub fn read(verb: &Verb, arguments: &[OsString]) -> Result<Self, Failure> {
        let mut read = Self::default();
        let mut rest = arguments.iter();
        let mut only_operands = false;
        while let Some(argument) = rest.next() {
            let text = argument.to_string_lossy();
            if only_operands || !text.starts_with('-') || text == "-" || is_negative(&text) {
                read.operands.push(argument.clone());
            } else if text == "--" {
                only_operands = true;
            } else {
                read.option(verb, argument, &text, || rest.next().cloned())?;
            }
        }
        read.count_operands(verb)?;
        Ok(read)
    }

    fn option(
        &mut self,
        verb: &Verb,
        argument: &OsStr,
        text: &str,
        next: impl FnOnce() -> Option<OsString>,
    ) -> Result<(), Failure> {
        let (option, told) = split(verb, argument, text)?;
        if self.has(option) {
            return Err(Failure::wrong(
                &format!("--{} is given twice", option.long),
                "give it once",
            ));
        }
        let value = match (option.value, told) {
            (None, None) => OsString::new(),
            (None, Some(_)) => {
                let message = format!("--{} takes no value", option.long);
                return Err(Failure::wrong(&message, "write it alone"));
            }
            (Some(_), Some(value)) => value,
            (Some(name), None) => next().ok_or_else(|| {
                let message = format!("--{} needs {name} behind it", option.long);
                Failure::wrong(&message, option.about)
            })?,
        };
        if option.value.is_some() && value.is_empty() {
            let message = format!("--{} is given nothing", option.long);
            return Err(Failure::wrong(&message, option.about));
        }
        self.options.push((option.long, value));
        Ok(())
    }

    fn count_operands(&self, verb: &Verb) -> Result<(), Failure> {
        if self.has(&HELP_OPTION) {
            return Ok(());
        }
        let must = verb.operands.iter().filter(|name| !name.starts_with('['));
        if let Some(missing) = must.clone().nth(self.operands.len()) {
            return Err(Failure::usage(&format!("{missing} is missing"), &verb_help(verb)));
        }
        let empty = self.operands.iter().position(|one| one.is_empty());
        if let Some(name) = empty.and_then(|place| verb.operands.get(place)) {
            let message = format!("{} is empty", name.trim_matches(['[', ']']));
            return Err(Failure::wrong(
                &message,
                "a name may have been lost on the way here",
            ));
        }
        match self.operands.get(verb.operands.len()) {
            None => Ok(()),
            Some(extra) => {
                let message = format!("`{}` is one too many", extra.to_string_lossy());
                let help = match verb.operands {
                    [] => format!("`bunkside {}` takes options only", verb.name),
                    names => format!("`bunkside {}` takes {}", verb.name, names.join(" ")),
                };
                Err(Failure::wrong(&message, &help))
            }
        }
    }

    /// Whether an option is given.
    #[must_use]
    pub fn has(&self, option: &Opt) -> bool {
        self.value(option).is_some()
    }

    /// What stands behind an option, where it is given.
    #[must_use]
    pub fn value(&self, option: &Opt) -> Option<&OsStr> {
        let mut given = self.options.iter().filter(|(long, _)| *long == option.long);
        given.next().map(|(_, value)| value.as_os_str())
    }

    /// The same as a path.
    #[must_use]
    pub fn path(&self, option: &Opt) -> Option<&Path> {
        self.value(option).map(Path::new)
    }

    /// The operand at a place, from 0.
    #[must_use]
    pub fn operand(&self, place: usize) -> Option<&OsStr> {
        self.operands.get(place).map(OsString::as_os_str)
    }
}

/// The option an argument names, and a value written right behind it: `--job=J`, `-oDIR`.
fn split(verb: &Verb, argument: &OsStr, text: &str) -> Result<(&'static Opt, Option<OsString>), Failure> {
    let known = || verb.options.iter().chain([&HELP_OPTION]);
    if let Some(long) = text.strip_prefix("--") {
        let name = long.split('=').next().unwrap_or(long);
        let option = known().find(|option| option.long == name);
        let Some(option) = option else {
            let meant = nearest(name, known().map(|option| option.long));
            return Err(unknown(verb, &format!("--{name}"), meant));
        };
        let value = long.contains('=').then(|| behind(argument, 3 + name.len()));
        return Ok((option, value));
    }
    let mut letters = text.chars().skip(1);
    let letter = letters.next();
    let Some(option) = known().find(|option| option.short == letter) else {
        let long = text.trim_start_matches('-');
        let meant = nearest(long, known().map(|option| option.long));
        return Err(unknown(verb, text, meant));
    };
    let value = letters.next().map(|_| behind(argument, 2));
    Ok((option, value))
}

/// Whether an argument is a number below zero, which no option is called.
fn is_negative(text: &str) -> bool {
    let digits = text.strip_prefix('-').unwrap_or_default();
    !digits.is_empty() && digits.bytes().all(|digit| digit.is_ascii_digit())
}

/// An argument without so many bytes in front, all of them ASCII.
fn behind(argument: &OsStr, bytes: usize) -> OsString {
    let all = argument.as_encoded_bytes();
    let rest = all.get(bytes..).unwrap_or_default();
    match std::str::from_utf8(rest) {
        Ok(text) => text.into(),
        Err(_) => String::from_utf8_lossy(rest).into_owned().into(),
    }
}

fn unknown(verb: &Verb, name: &str, meant: Option<&str>) -> Failure {
    let message = format!("`bunkside {}` has no option {name}", verb.name);
    let help = match meant {
        Some(meant) => format!("did you mean --{meant}?"),
        None => format!("`bunkside help {}` lists its options", verb.name),
    };
    Failure::wrong(&message, &help)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cli::verb;
    use crate::command::Exit;

    fn read(name: &str, arguments: &[&str]) -> Result<Arguments, Failure> {
        let arguments: Vec<OsString> = arguments.iter().map(OsString::from).collect();
        Arguments::read(verb(name).unwrap(), &arguments)
    }

    fn refused(name: &str, arguments: &[&str]) -> String {
        let failure = read(name, arguments).unwrap_err();
        assert_eq!(failure.exit, Exit::BadInput);
        failure.text
    }

    #[test]
    fn values_stand_behind_or_right_at_their_option() {
        for written in [
            &["job.toml", "-o", "out"][..],
            &["-oout", "job.toml"],
            &["--output=out", "job.toml"],
            &["--output", "out", "--", "job.toml"],
        ] {
            let read = read("plan", written).unwrap();
            assert_eq!(read.operand(0), Some(OsStr::new("job.toml")));
            let option = verb("plan")
                .unwrap()
                .options
                .iter()
                .find(|one| one.long == "output");
            assert_eq!(read.path(option.unwrap()), Some(Path::new("out")));
        }
        let read = read("audit", &["--", "--json"]).unwrap();
        assert_eq!(read.operand(0), Some(OsStr::new("--json")));
    }

    #[test]
    fn what_is_wrong_is_told_with_a_way_out() {
        for (name, arguments, expected) in [
            ("plan", &["j", "--jsn"][..], "did you mean --json?"),
            ("plan", &["j", "-output"], "-o"),
            ("plan", &["j", "-json"], "did you mean --json?"),
            ("plan", &["j", "--json=yes"], "--json takes no value"),
            ("plan", &["j", "-o"], "--output needs DIR behind it"),
            ("plan", &["j", "-o", ""], "--output is given nothing"),
            ("plan", &["j", "--output="], "--output is given nothing"),
            ("audit", &["m", "--job", ""], "--job is given nothing"),
            ("plan", &[""], "JOB is empty"),
            ("rules", &[""], "ID is empty"),
            ("plan", &["j", "--json", "--json"], "--json is given twice"),
            ("plan", &[], "JOB is missing"),
            ("plan", &["j", "k"], "`k` is one too many"),
            ("rules", &["reach", "roll"], "`bunkside rules` takes [ID]"),
        ] {
            if expected == "-o" {
                // `-output` is `-o utput`: legal, if odd.
                assert!(read(name, arguments).is_ok());
                continue;
            }
            let text = refused(name, arguments);
            assert!(text.contains(expected), "{arguments:?}: {text}");
        }
    }
}
