//! `plan`: log and order in; cut plan, moves, audit and a summary out.

use std::path::{Path, PathBuf};

use super::begun::{AFTER, DONE, of_arguments};
use super::folder::folder_name;
use super::making::{HABIT, OUTPUT, TIME_ALONE, folder, make, plan_text, setup};
use super::problem::Problem;
use super::{Done, JSON, Said, files};
use crate::cli::{Arguments, Verb};
use crate::planned::lay_out;

/// The verb.
pub const VERB: Verb = Verb {
    name: "plan",
    summary: "a log and an order in; a cut plan and a checked sequence out",
    operands: &["JOB"],
    options: &[OUTPUT, AFTER, DONE, HABIT, TIME_ALONE, JSON],
    about: "\
Reads a job (`bunkside help job`), lays the log out, puts the cuts in order and lets the auditor judge the
moves, which sees nothing of the plan. The results go to a folder:

  plan.cut      what comes out of the log and how it is freed; text, to be changed by hand
  moves.job     the stored job for the controller, which judges it again; none where a rule refuses
  moves.json    the same moves as JSON
  audit.json    every cut and every finding
  report.html   one page that steps through the cuts, for a phone without a network and for paper
  ends.svg      both ends and the tightest place: pieces by the order they come off, kerfs, bed, wedges
  side.svg      the log over its bunks, with packing and run-outs
  setting.svg   how to set the log: packing at every bunk, both ends, how it is brought on
  timeline.svg  every stroke and hold in time
  margins.svg   how well the wood is held at every cut: rolling, sliding, lifting
  columns.svg   the same, were the columns of the widest layer taken one after the other

What somebody changed in the folder is not lost: it is kept beside what is new, plan.cut as plan.1.cut, and told.
The file `.bunkside` in it lists what was written, so that this is seen.

Where the log cannot be planned, it says which layer and column, what stands in the way and what would free
it. Products are tried in the order of the job: the first has the first choice of every layer; with
`layout = \"best\"` in its [setting] the boards are looked for that together bring most of all that can be sawn.
Beside metal in the log it does less: boards lean aside, or no floor lies lower than over the metal, or the log is
laid out by habit.
Where that would bring more and is found with little work, the summary says how much.

With \"best\" for `level`, `offset` or `turn` the log is set as it brings most, sawn by rule of thumb: every setting
on the grid that `bunkside help job` tells is looked into, or known to bring no more. The summary says what that
brings, and what to write into the job to have the setting again. plan.cut and moves.json name it: the job is read
with it wherever they are used, and where the job tells another, that is said.

The order of cuts is the fastest that no rule refuses. A cut at which somebody has to hold down with a pole what
comes free, because a hand carriage cannot climb there, counts as five minutes more (our judgement), so that it is
made as seldom as that is worth; with --time-alone it counts as nothing. Other strokes that a rule warns of are
taken where the rule of thumb takes some with the same warning, and so there may be more of them; the summary
counts both. With --by-habit the order is the rule of thumb's.

With --after MOVES --done N the log is partly sawn: the first N of MOVES are done, and what still stands is laid out for
most and sawn by rule of thumb. The job may have changed since: `core`, metal, the boards that are wanted, their prices.
The moves that come out are those N as they were and what follows, so that `audit`, `dry-run` and a controller judge the
whole; the summary says with which move to go on. A column that stands on nothing any more is finished as MOVES have it.
Pieces that are off count as those boards of the order that they are large enough for and no more than 3 mm and a step
larger, what brings most first; so many are taken off `most` and `least`. No board lies across a kerf that is there, nor
over one that does not run through. Where metal has been found beside a kerf that is cut, that is told and hinders
nothing, but no moves.job is written: a controller would refuse that kerf.",
    examples: &[
        "bunkside plan examples/jobs/g-04.toml -o out",
        "bunkside plan examples/jobs/oak-14.toml --json",
        "bunkside plan examples/jobs/g-04.toml --after out/moves.json --done 33 -o rest",
    ],
    run,
};

fn run(arguments: &Arguments, said: &mut Said) -> Done {
    let path = Path::new(arguments.operand(0).unwrap_or_default());
    let as_json = arguments.has(&JSON);
    let job = of_arguments(files::job(path, said)?, true, arguments, said)?;
    let setup = setup(&job)?;
    let plan = lay_out(&job, &setup).map_err(|error| {
        let mut failure = Problem::layout(error, &job, &setup).failure(&job, as_json);
        let folder = arguments
            .path(&OUTPUT)
            .map_or_else(|| PathBuf::from(folder_name(&job.name)), Path::to_path_buf);
        failure.text.push_str(&earlier(&folder));
        failure
    })?;
    let text = plan_text(&job, &plan);
    let folder = folder(arguments.path(&OUTPUT), &job)?;
    make(&job, &setup, &plan, &text, folder, (arguments, said))
}

/// That moves which lie in the folder are of an earlier plan; empty where there are none.
fn earlier(folder: &Path) -> String {
    if !folder.join("moves.job").exists() {
        return String::new();
    }
    let folder = folder.display();
    format!("    the moves that lie in {folder} are of an earlier plan: do not saw this log by them\n")
}
