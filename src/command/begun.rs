//! Jobs whose log is partly sawn: by which moves, and how many of them are done.

use std::path::Path;

use bunkside_planner::replay::Setup;
use bunkside_protocol::LogRecord;

use super::chosen::{chosen, for_moves};
use super::kind::{Kind, expect};
use super::subject::Handed;
use super::{Failure, Said, files, making};
use crate::account::done::OnwardEntry;
use crate::account::table::count;
use crate::begun::{Begun, Unfit};
use crate::cli::{Arguments, Opt};
use crate::job::Job;

/// The moves that the log was begun by.
pub(super) const AFTER: Opt = Opt {
    long: "after",
    short: None,
    value: Some("MOVES"),
    about: "the log is partly sawn: the moves it was begun by; with --done",
};

/// How many of them are done.
pub(super) const DONE: Opt = Opt {
    long: "done",
    short: None,
    value: Some("N"),
    about: "how many of these moves are done, from the first on",
};

/// A job as a command line has it: at its setting, and partly sawn where moves are named; with the setting chosen, for a log that is
/// to be sawn or not, where none are.
pub(super) fn of_arguments(
    job: Job,
    sawn: bool,
    arguments: &Arguments,
    said: &mut Said,
) -> Result<Job, Failure> {
    let Some((path, done)) = told(arguments)? else {
        return chosen(job, sawn);
    };
    let bytes = files::bytes(path)?;
    expect(path, &bytes, Kind::Moves)?;
    let handed = Handed::read(path, bytes, said)?;
    let job = for_moves(job, (handed.log(), handed.setting.as_deref()), path)?;
    partly(job, path, &handed, done)
}

/// The same of a job whose setting is known.
pub(super) fn of_set(job: Job, arguments: &Arguments, said: &mut Said) -> Result<Job, Failure> {
    let Some((path, done)) = told(arguments)? else {
        return Ok(job);
    };
    let bytes = files::bytes(path)?;
    expect(path, &bytes, Kind::Moves)?;
    let handed = Handed::read(path, bytes, said)?;
    partly(job, path, &handed, done)
}

/// Which moves, and how many of them; none where nobody names any.
fn told(arguments: &Arguments) -> Result<Option<(&Path, usize)>, Failure> {
    let path = arguments.path(&AFTER);
    match (path, arguments.value(&DONE)) {
        (None, None) => Ok(None),
        (None, Some(_)) => Err(Failure::wrong(
            "--done says how many moves are done, and not of which",
            "name the moves that the log was begun by: --after MOVES",
        )),
        (Some(_), None) => Err(Failure::wrong(
            "--after names moves, and not how many of them are done",
            "add --done N; `bunkside dry-run` numbers them from 0, so that N is the number of the first that is not done",
        )),
        (Some(path), Some(told)) => {
            let told = told.to_string_lossy();
            let done = told.parse().map_err(|_| {
                Failure::wrong(
                    &format!("--done is given `{told}`, which is no number of moves"),
                    "write a whole number, such as 24",
                )
            })?;
            Ok(Some((path, done)))
        }
    }
}

fn partly(job: Job, path: &Path, handed: &Handed, done: usize) -> Result<Job, Failure> {
    let shown = path.display();
    let has = handed.moves.len();
    if done > has {
        return Err(Failure::wrong(
            &format!(
                "{shown} has {}, of which {done} cannot be done",
                count(has as u64, "move")
            ),
            "--done is how many of them are done: no more than there are",
        ));
    }
    must_be_of(&job, path, handed)?;
    let begun = {
        let setup = making::setup(&job)?;
        let begun =
            Begun::of(&job, &setup, &handed.moves, done).map_err(|unfit| unfit_words(&unfit, path))?;
        nothing_left(&setup, &begun, done)?;
        begun
    };
    Ok(begun.rest_of(job))
}

/// Refuses moves that were made for another log, mill or setting.
fn must_be_of(job: &Job, path: &Path, handed: &Handed) -> Result<(), Failure> {
    let shown = path.display();
    let names = [("log", &job.name), ("mill", &job.mill_name)];
    for ((what, own), told) in names.into_iter().zip(&handed.made_for) {
        if let Some(told) = told.as_ref().filter(|told| *told != own) {
            return Err(Failure::wrong(
                &format!("{shown} was made for {what} {told}, and the job is of {what} {own}"),
                "name the moves that this log was begun by",
            ));
        }
    }
    let key = job.setting.key();
    if let Some(told) = handed.setting.as_ref().filter(|told| **told != key) {
        return Err(Failure::wrong(
            &format!("{shown} was made for a log that is set otherwise: {told}; in the job it is {key}"),
            "write that in [setting] of the job: a log that is partly sawn lies as it lies",
        ));
    }
    match handed.log() {
        Some(log) if !is_the_same(log, &job.log) => Err(Failure::wrong(
            &format!("{shown} holds another log than the job has now: its sections are not the same"),
            "name the moves that this log was begun by; leave its measures in the job as they were",
        )),
        _ => Ok(()),
    }
}

/// Whether two logs are as large and lie alike, whatever is known of their metal and timber.
fn is_the_same(a: &LogRecord, b: &LogRecord) -> bool {
    (a.form, a.bark, &a.stations) == (b.form, b.bark, &b.stations)
}

fn unfit_words(unfit: &Unfit, path: &Path) -> Failure {
    let shown = path.display();
    match unfit {
        Unfit::NotJudged(index, reason) => Failure::wrong(
            &format!("nobody can say what stands after {shown}: move {index} cannot be judged: {reason}"),
            "`bunkside audit` tells more",
        ),
        Unfit::Refused(finding) => Failure::wrong(
            &format!(
                "{shown} is refused itself: rule {} at move {}: {}. What stands after such a move, and whether it still lies \
                 where it lay, nobody can say",
                finding.rule, finding.index, finding.objection.note
            ),
            "`bunkside audit` tells more; measure what is left as a log of its own and plan that",
        ),
        Unfit::InTheLog => Failure::wrong(
            &format!("after these moves of {shown} the blade stands in the log"),
            "bring the stroke to its end first, and count it as done",
        ),
    }
}

fn nothing_left(setup: &Setup<'_>, begun: &Begun, done: usize) -> Result<(), Failure> {
    let lowest = bunkside_planner::layout::lowest_floor(setup) + setup.mill.blade.kerf;
    match begun.stock.wood_top(&setup.shape) {
        Some(top) if top > lowest => Ok(()),
        _ => Err(Failure::wrong(
            &format!(
                "after {} nothing is left that could be sawn",
                count(done as u64, "move")
            ),
            "what is left lies under the lowest floor that stays clear of bed, packs and wedges",
        )),
    }
}

/// A way out of a log that is partly sawn: the moves there are, before any other.
pub(super) fn or_onward(job: &Job, help: String) -> String {
    let onward = OnwardEntry::of(job).and_then(|onward| onward.words());
    match onward {
        Some(boards) => format!(
            "go on with the moves there are, which no rule refuses: they still free {boards}; or {help}"
        ),
        None => help,
    }
}
