//! `sequence`: a cut plan in, the same results out as of `plan`.

use super::begun::{AFTER, DONE, of_set};
use super::making::{HABIT, OUTPUT, TIME_ALONE, cut_plan, folder, make, setup};
use super::subject::JOB;
use super::{Done, JSON, Said};
use crate::cli::{Arguments, Verb};

/// The verb.
pub const VERB: Verb = Verb {
    name: "sequence",
    summary: "a cut plan in, the same results out as of `plan`",
    operands: &["PLAN.cut"],
    options: &[JOB, OUTPUT, AFTER, DONE, HABIT, TIME_ALONE, JSON],
    about: "\
Reads a cut plan (`bunkside help cut-plan`) for the log, the mill and the products of a job, puts the cuts in
order and lets the auditor judge the moves. Boards are held against their products: a column that is too
small, or that has more wane than the product may have, is told and not counted. What somebody changed in the
folder is kept beside what is new, as of `bunkside plan`. With --after MOVES --done N the cut plan is of what
still stands after the first N of MOVES: the one that `bunkside plan` or `layout` writes with the same.",
    examples: &["bunkside sequence out/plan.cut --job examples/jobs/g-04.toml -o out"],
    run,
};

fn run(arguments: &Arguments, said: &mut Said) -> Done {
    let (job, source, plan) = cut_plan(arguments, said)?;
    let job = of_set(job, arguments, said)?;
    let setup = setup(&job)?;
    let folder = folder(arguments.path(&OUTPUT), &job)?;
    make(&job, &setup, &plan, &source.text, folder, (arguments, said))
}
