//! What `plan` and `sequence` have in common: from a cut plan to files and a summary.

use std::path::Path;

use bunkside_planner::audit::Verdict;
use bunkside_planner::replay::Setup;
use bunkside_planner::sequence::{PlanError, PlanErrorKind};
use bunkside_protocol::job::{JobParts, mill_digest};

use super::audit::report;
use super::chosen::{for_plan, key};
use super::folder::Folder;
use super::further::further;
use super::kind::Kind;
use super::pictures::{self, pictures};
use super::problem::Problem;
use super::subject::JOB;
use super::summary::Summary;
use super::{Done, Exit, Failure, JSON, Said, files, json};
use crate::account::boards::Boards;
use crate::account::table::wrapped;
use crate::cli::{Arguments, Opt};
use crate::cut_plan::{OwnedPlan, parse, write_set};
use crate::diagnostic::{Source, any_error};
use crate::export;
use crate::job::Job;
use crate::measure::System;
use crate::moves_json;
use crate::planned::Planned;
use crate::setting::bunk_rows;
use crate::setting::words::Words;

/// Where the results go.
pub(super) const OUTPUT: Opt = Opt {
    long: "output",
    short: Some('o'),
    value: Some("DIR"),
    about: "the folder that the results go to; named after the log if left out",
};

/// Keep to the rule of thumb.
pub(super) const HABIT: Opt = Opt {
    long: "by-habit",
    short: None,
    value: None,
    about: "cut in the order of the rule of thumb, without looking for the least time",
};

/// Time and nothing else.
pub(super) const TIME_ALONE: Opt = Opt {
    long: "time-alone",
    short: None,
    value: None,
    about: "look for the least time alone, however often somebody has to hold down what comes free",
};

/// What an earlier run may have left that belongs to another sequence.
pub(super) const MADE: [&str; 3] = ["moves.job", "moves.json", "audit.json"];

/// The log of a job on its mill.
pub(super) fn setup(job: &Job) -> Result<Setup<'_>, Failure> {
    Setup::new(&job.mill, &job.log).map_err(|error| {
        Failure::wrong(
            &format!("this log has no shape: {error}"),
            "look at [log] of the job",
        )
    })
}

/// The cut plan that a command line names, with its job and its text.
pub(super) fn cut_plan(arguments: &Arguments, said: &mut Said) -> Result<(Job, Source, OwnedPlan), Failure> {
    let path = Path::new(arguments.operand(0).unwrap_or_default());
    let Some(job_path) = arguments.path(&JOB) else {
        return Err(Failure::wrong(
            "a cut plan needs its job",
            "add --job JOB: it holds the log, the mill and the products that the plan names",
        ));
    };
    let job = files::job(job_path, said)?;
    let source = files::known(path, Kind::CutPlan)?;
    let (document, mut diagnostics) = parse(&source);
    let (job, another) = for_plan(job, &document);
    diagnostics.extend(another);
    let sound = !any_error(&diagnostics);
    let names: Vec<String> = job.boards.iter().map(|board| board.name.clone()).collect();
    let (plan, more) = document.lower(&names, job.length);
    diagnostics.extend(more);
    diagnostics.extend(document.check_pairs(&job));
    diagnostics.extend(document.other_log(&job.name));
    let top = setup(&job)?.shape.bounds().height.hi;
    diagnostics.extend(document.above_log(top, System::of(job.inches)));
    said.note(&source, &diagnostics);
    let plan = plan
        .filter(|_| sound && !any_error(&diagnostics))
        .ok_or_else(files::told)?;
    Ok((job, source, plan))
}

/// A cut plan as text, with the setting that was chosen for it, if one was.
pub(super) fn plan_text(job: &Job, plan: &OwnedPlan) -> String {
    let names: Vec<String> = job.boards.iter().map(|board| board.name.clone()).collect();
    let setting = key(job);
    write_set(
        plan,
        &names,
        (&job.name, setting.as_deref()),
        System::of(job.inches),
    )
}

/// The folder that was asked for, or one named after the log.
pub(super) fn folder(output: Option<&Path>, job: &Job) -> Result<Folder, Failure> {
    let folder = match output {
        Some(path) => Folder::create(path)?,
        None => Folder::named_after(Path::new(""), &job.name)?,
    };
    Ok(folder.of_log(&job.name))
}

/// In which order the cuts come.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Cuts {
    /// By rule of thumb.
    ByHabit,
    /// The one that takes least time.
    InLeastTime,
    /// The same, however often somebody has to hold down what comes free.
    InTimeAlone,
}

impl Cuts {
    /// As a command line asks for.
    pub(super) fn of(arguments: &Arguments) -> Self {
        if arguments.has(&HABIT) {
            Self::ByHabit
        } else if arguments.has(&TIME_ALONE) {
            Self::InTimeAlone
        } else {
            Self::InLeastTime
        }
    }

    /// The moves of a cut plan.
    pub(super) fn planned<'a>(
        self,
        job: &'a Job,
        setup: &'a Setup<'a>,
        plan: &'a OwnedPlan,
    ) -> Result<Planned<'a>, PlanError> {
        match self {
            Self::ByHabit => Planned::new(job, setup, plan),
            Self::InLeastTime => Planned::in_least_time(job, setup, plan),
            Self::InTimeAlone => Planned::in_order(job, setup, plan, 0.0),
        }
    }
}

/// Turns a cut plan into moves, judges them, and writes and tells what came of it; says what it kept of what somebody had
/// changed in the folder.
pub(super) fn make(
    job: &Job,
    setup: &Setup<'_>,
    plan: &OwnedPlan,
    plan_text: &str,
    mut folder: Folder,
    (arguments, said): (&Arguments, &mut Said),
) -> Done {
    let done = make_in(
        job,
        setup,
        plan,
        plan_text,
        &mut folder,
        (Cuts::of(arguments), arguments.has(&JSON)),
    );
    folder.tell(said);
    done
}

/// Why a cut plan is not carried out, and what it lacks besides.
fn unplanned(
    error: &PlanError,
    (job, setup): (&Job, &Setup<'_>),
    plan: &OwnedPlan,
    folder: &Folder,
    as_json: bool,
) -> Failure {
    let path = folder.path().join("plan.cut");
    let further = further(error, plan, job, setup);
    let further = further.iter().map(|error| Problem::sequence(error, plan, job));
    let problem = Problem::sequence(error, plan, job)
        .in_plan(&path)
        .with_further(further.collect());
    let mut failure = problem.failure(job, as_json);
    if let PlanErrorKind::Support(_) = error.kind {
        failure.text.push_str(&bunk_lines(setup, System::of(job.inches)));
    }
    for line in Boards::not_in_plan(job, setup, plan) {
        let line = format!("nor does the plan fill the order: {line}");
        failure.text.push_str(&wrapped("    ", &line, 100));
    }
    failure.text.push_str(&(lies(&path) + &folder.emptied()));
    failure
}

/// The same in a folder, as JSON or in words.
pub(super) fn make_in(
    job: &Job,
    setup: &Setup<'_>,
    plan: &OwnedPlan,
    plan_text: &str,
    folder: &mut Folder,
    (cuts, as_json): (Cuts, bool),
) -> Done {
    folder.clear(&MADE)?;
    folder.clear(pictures::OLD)?;
    folder.write("plan.cut", plan_text.as_bytes())?;
    let planned = match cuts.planned(job, setup, plan) {
        Ok(planned) => planned,
        Err(error) => {
            return Err(unplanned(&error, (job, setup), plan, folder, as_json));
        }
    };
    if let Some(cuts) = planned.needs_second() {
        let path = folder.path().join("plan.cut");
        let mut failure = Problem::alone(&planned, cuts)
            .in_plan(&path)
            .failure(job, as_json);
        failure.text.push_str(&(lies(&path) + &folder.emptied()));
        return Err(failure);
    }
    let setting = key(job);
    let moves = moves_json::write_set((&job.name, &job.mill_name, setting.as_deref()), &planned.moves);
    folder.write("moves.json", moves.as_bytes())?;
    folder.write("audit.json", json(&report(setup, &planned.trace, &[])).as_bytes())?;
    // What a controller could load is not handed to anybody where a rule refuses.
    let stored = stored(&planned)?;
    if planned.trace.verdict != Verdict::Refused && planned.trace.past.is_empty() {
        folder.write("moves.job", &stored)?;
    }
    pictures(folder, &planned)?;
    let summary = Summary::of(&planned, folder);
    let exit = match planned.trace.verdict {
        Verdict::Pass | Verdict::Warned => Exit::Good,
        Verdict::Refused => Exit::Refused,
    };
    let out = if as_json {
        json(&summary)
    } else {
        summary.text(&planned)
    };
    Ok((exit, out))
}

/// Where the cut plan lies that cannot be carried out.
fn lies(path: &Path) -> String {
    let path = path.display();
    format!("    the cut plan lies in {path}; mend it and hand it to `bunkside sequence`\n")
}

/// How the log would lie over every bunk, where that is what stands in the way.
fn bunk_lines(setup: &Setup<'_>, system: System) -> String {
    let words = Words { system, both: false };
    bunk_rows(setup)
        .iter()
        .map(|row| format!("    bunk {}, {}\n", row.bunk, words.bunk(row)))
        .collect()
}

fn stored(planned: &Planned<'_>) -> Result<Vec<u8>, Failure> {
    let mill = planned.setup.mill;
    let parts = JobParts {
        mill: mill_digest(mill),
        grid: mill.grid,
        log: planned.setup.log,
        moves: &planned.moves,
        key: None,
    };
    export::binary(&parts).map_err(|error| {
        let text = format!(
            "bunkside: the moves cannot be stored: {error}\n    This is a fault of Bunkside, not of your job; \
             please report it with the job.\n"
        );
        Failure::ended(Exit::Refused, text)
    })
}
