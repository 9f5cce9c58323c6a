//! `order`: many logs and one order in; which boards come from which log out, with a plan for each.

use std::path::Path;
use std::sync::Mutex;
use std::time::{Duration, Instant};

use bunkside_planner::replay::Setup;

use super::at_work::{STOP, tell};
use super::folder::{Folder, folder_name};
use super::making::{Cuts, MADE, OUTPUT, make_in, plan_text, setup};
use super::ordered::{Report, Shared};
use super::pictures::OLD;
use super::{Done, Exit, Failure, JSON, Said, files, json};
use crate::account::value::money_words;
use crate::allot::{Lot, Sawn, Work, allot, sawn};
use crate::cli::{Arguments, Opt, Verb};
use crate::layout::money;
use crate::measure::time;
use crate::spread::{cores, each};
use crate::yard::Yard;

/// Where the results go.
const WRITTEN: Opt = Opt {
    about: "a folder for what is to be sawn of each log; nothing is written if left out",
    ..OUTPUT
};

/// How long it may look.
const STOP_AFTER: Opt = Opt {
    long: "stop-after",
    short: None,
    value: Some("TIME"),
    about: "end with the best so far after such a time, as \"30 s\" or \"5 min\"",
};

/// The fastest order of cuts for every log.
const LEAST_TIME: Opt = Opt {
    long: "least-time",
    short: None,
    value: None,
    about: "with -o, put the cuts of every log in the fastest order, not in that of the rule of thumb",
};

/// The verb.
pub const VERB: Verb = Verb {
    name: "order",
    summary: "many logs and one order in; what to saw of each log out",
    operands: &["ORDER"],
    options: &[WRITTEN, STOP_AFTER, LEAST_TIME, JSON],
    about: "\
Reads an order (`bunkside help order-file`): mill, setting and boards as in a job, and many logs, each as a [[log]]
of the file or a row of a table (CSV). Says which boards come from which log, so that all together bring most: no
more of a product than its `most`, and what is owed (`least`) and comes out of no log costs, by `missing` or
`priority`.

Each log gets one layout, as of `bunkside layout`, that can be sawn by rule of thumb, or the hand habit's. What all
bring is told with a bound that no choice of layouts comes over, sawn or not, and the gap between the two; it is
called proven only where there is none. The logs are listed in the order to saw them in: next is always the log that
brings most, what is still owed counted, so that the order is filled early.

While it looks it says on the terminal how far it is. Ctrl-C, or --stop-after, ends it with the best so far.

With -o everything goes to a folder: order.json, what --json prints; boards.csv, a row for each board, where a name
that a spreadsheet would take for a formula begins with an apostrophe; and for each log a folder named after it with
job.toml, the log as a job of its own, and all that `bunkside plan` writes, the cuts in the order of the rule of
thumb. With --least-time they are put in the fastest order, which takes longer. What an earlier order left there of
logs that are not sawn in this one is taken away.",
    examples: &[
        "bunkside order examples/orders/barn.toml",
        "bunkside order examples/orders/barn.toml -o out --stop-after \"30 s\"",
    ],
    run,
};

fn run(arguments: &Arguments, said: &mut Said) -> Done {
    let started = Instant::now();
    let path = Path::new(arguments.operand(0).unwrap_or_default());
    let until = match arguments.value(&STOP_AFTER) {
        Some(told) => Some(started + after(&told.to_string_lossy())?),
        None => None,
    };
    let yard = files::yard(path, said)?;
    let setups = yard.jobs.iter().map(setup).collect::<Result<Vec<_>, _>>()?;
    let lots: Vec<Lot<'_>> = yard
        .jobs
        .iter()
        .zip(setups)
        .map(|(job, setup)| Lot { job, setup })
        .collect();
    let work = Work {
        threads: cores(),
        stop: &STOP,
        until,
    };
    let allotment = allot(&lots, &yard.demands, &work, &mut |brings, bound| {
        far(&lots, started, brings, bound);
    });
    tell("making sure that each layout can be sawn".to_owned());
    let sawn = sawn(&lots, &yard.demands, &allotment.chosen, &work);
    let shared = Shared {
        name: &path.to_string_lossy(),
        yard: &yard,
        lots: &lots,
        allotment: &allotment,
        threads: work.threads,
    };
    let report = Report::of(&shared, &sawn, started.elapsed());
    let mut exit = if report.boards == 0 {
        Exit::Refused
    } else {
        Exit::Good
    };
    let written = match arguments.path(&WRITTEN) {
        Some(path) => {
            let as_told = if arguments.has(&LEAST_TIME) {
                Cuts::InLeastTime
            } else {
                Cuts::ByHabit
            };
            let (worst, lines) = written(path, &shared, (&sawn, &report), as_told, said)?;
            exit = if worst == Exit::Good { exit } else { worst };
            lines
        }
        None => String::new(),
    };
    tell(String::new());
    let out = if arguments.has(&JSON) {
        json(&report)
    } else {
        report.text(&shared, &written)
    };
    Ok((exit, out))
}

/// A time behind an option.
fn after(told: &str) -> Result<Duration, Failure> {
    let time = time(told.trim()).map_err(|error| {
        let help = format!("{}; write it like \"30 s\" or \"5 min\"", error.help());
        Failure::wrong(&format!("--stop-after {told}: {error}"), &help)
    })?;
    Ok(Duration::from_millis(u64::from(time.value.as_ms())))
}

/// Says how far the search is.
fn far(lots: &[Lot<'_>], started: Instant, brings: i64, bound: Option<i64>) {
    let seconds = started.elapsed().as_secs_f64();
    let bound = bound.map_or_else(
        || "no bound yet".to_owned(),
        |bound| format!("none can bring more than {}", money_words(money(bound))),
    );
    let best = if brings == i64::MIN {
        "nothing yet".to_owned()
    } else {
        format!("{} so far", money_words(money(brings)))
    };
    tell(format!("{} logs, {seconds:.0} s: {best}, {bound}", lots.len()));
}

/// Writes what is sawn of each log; how it went, and which files there are.
fn written(
    path: &Path,
    shared: &Shared<'_>,
    (sawn, report): (&[Option<Sawn>], &Report),
    cuts: Cuts,
    said: &mut Said,
) -> Result<(Exit, String), Failure> {
    let mut folder = Folder::create(path)?;
    if let Some(mill) = &shared.yard.mill {
        folder.write("mill.toml", mill.as_bytes())?;
    }
    let names = folders(shared.yard);
    let done = Mutex::new(0_usize);
    let logs: Vec<usize> = (0..sawn.len()).filter(|log| sawn[*log].is_some()).collect();
    let made = each(&logs, shared.threads, &|log| {
        let mut said = Said::default();
        let one = sawn[*log].as_ref().map(|sawn| (&shared.lots[*log], sawn));
        let exit = one.map(|one| of_log(shared.yard, *log, one, &path.join(&names[*log]), cuts, &mut said));
        if let Ok(mut done) = done.lock() {
            *done += 1;
            tell(format!("writing the plans: {done} of {} logs", logs.len()));
        }
        (exit, said)
    });
    for log in (0..sawn.len()).filter(|log| sawn[*log].is_none()) {
        emptied(&path.join(&names[log]), said)?;
    }
    for gone in Folder::all_with(path, JOB) {
        if !names.iter().any(|name| gone == path.join(name)) {
            emptied(&gone, said)?;
        }
    }
    let mut worst = Exit::Good;
    for (exit, own) in made {
        said.text.push_str(&own.text);
        said.problems.extend(own.problems);
        match exit {
            Some(Ok(Exit::Good)) | None => {}
            Some(Ok(other)) => worst = other,
            Some(Err(failure)) => return Err(failure),
        }
    }
    let inches = shared.lots.first().is_some_and(|lot| lot.job.inches);
    folder.write("boards.csv", report.boards_csv(inches).as_bytes())?;
    folder.write("order.json", json(report).as_bytes())?;
    folder.tell(said);
    let lines = format!(
        "{}: {}; a folder for each log",
        folder.path().display(),
        folder.written().join(", ")
    );
    Ok((worst, lines))
}

/// What is written of a log beside all that `plan` writes.
const JOB: &str = "job.toml";

/// Takes away what an earlier order left of a log that is not sawn in this one, or is none of its logs.
fn emptied(path: &Path, said: &mut Said) -> Result<(), Failure> {
    if path.is_dir() {
        let mut folder = Folder::create(path)?;
        folder.clear(&MADE)?;
        folder.clear(OLD)?;
        folder.clear(&["plan.cut", JOB])?;
        folder.tell(said);
    }
    Ok(())
}

/// Writes what is sawn of one log.
fn of_log(
    yard: &Yard,
    log: usize,
    (lot, sawn): (&Lot<'_>, &Sawn),
    path: &Path,
    cuts: Cuts,
    said: &mut Said,
) -> Result<Exit, Failure> {
    let job = lot.job;
    let mut folder = Folder::create(path)?.of_log(&job.name);
    let text = yard.job_text(log, &sawn.pattern.counts, "../mill.toml");
    folder.write(JOB, text.as_bytes())?;
    let plan = plan_text(job, &sawn.plan);
    let setup: &Setup<'_> = &lot.setup;
    let made = make_in(job, setup, &sawn.plan, &plan, &mut folder, (cuts, false));
    folder.tell(said);
    made.map(|(exit, _)| exit)
}

/// A folder for each log, each with its own name whatever the logs are called.
fn folders(yard: &Yard) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    for job in &yard.jobs {
        let name = folder_name(&job.name);
        let taken = |name: &String| {
            names
                .iter()
                .any(|other| other.to_lowercase() == name.to_lowercase())
        };
        let numbered = (2..).map(|number| format!("{name}-{number}"));
        let free = std::iter::once(name.clone())
            .chain(numbered)
            .find(|name| !taken(name));
        names.push(free.unwrap_or(name));
    }
    names
}
