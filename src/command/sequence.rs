//! `sequence`: a cut plan in, the same results out as of `plan`.

use std::path::Path;

use super::making::{OUTPUT, folder, make, setup};
use super::subject::JOB;
use super::{Done, Failure, JSON, files};
use crate::cli::{Arguments, Verb};
use crate::cut_plan::parse;

/// The verb.
pub const VERB: Verb = Verb {
    name: "sequence",
    summary: "a cut plan in, the same results out as of `plan`",
    operands: &["PLAN.cut"],
    options: &[JOB, OUTPUT, JSON],
    about: "\
Reads a cut plan (`bunkside help cut-plan`) for the log, the mill and the products of a job, puts the cuts in
order and lets the auditor judge the moves. Boards are held against their products: a column that is too
small, or that has more wane than the product may have, is told and not counted.",
    examples: &["bunkside sequence out/plan.cut --job examples/jobs/g-04.toml -o out"],
    run,
};

fn run(arguments: &Arguments, said: &mut String) -> Done {
    let path = Path::new(arguments.operand(0).unwrap_or_default());
    let Some(job_path) = arguments.path(&JOB) else {
        return Err(Failure::wrong(
            "a cut plan needs its job",
            "add --job JOB: it holds the log, the mill and the products that the plan names",
        ));
    };
    let job = files::job(job_path, said)?;
    let setup = setup(&job)?;
    let source = files::text(path)?;
    let (document, mut diagnostics) = parse(&source);
    let sound = !crate::diagnostic::any_error(&diagnostics);
    let names: Vec<String> = job.boards.iter().map(|board| board.name.clone()).collect();
    let (plan, more) = document.lower(&names, job.length);
    diagnostics.extend(more);
    diagnostics.extend(document.other_log(&job.name));
    files::note(said, &source, &diagnostics);
    let plan = plan.filter(|_| sound).ok_or_else(files::told)?;
    let folder = folder(arguments.path(&OUTPUT), &job)?;
    make(&job, &setup, &plan, &source.text, folder, arguments.has(&JSON))
}
