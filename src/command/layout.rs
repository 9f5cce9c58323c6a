//! `layout`: log and order in; the boards that are worth most out.

use std::path::Path;

use bunkside_planner::audit::Verdict;
use bunkside_planner::geometry::Interval;
use bunkside_planner::layout::LayoutError;
use bunkside_planner::layout::exact::Placed;
use bunkside_planner::plan::End;
use bunkside_planner::replay::Setup;
use bunkside_planner::rules::Severity;
use bunkside_protocol::{Length, Position};
use serde::Serialize;

use super::begun::{AFTER, DONE, of_arguments};
use super::making::{MADE, OUTPUT, folder, plan_text, setup};
use super::others::{Beside, OTHERS, PLANS};
use super::pictures::OLD;
use super::problem::{Problem, obstacle_of};
use super::{Done, Exit, Failure, JSON, Said, files, json};
use crate::account::boards::stretch;
use crate::account::chosen::ChosenSetting;
use crate::account::done::Done as LeftBy;
use crate::account::findings::verdict_word;
use crate::account::grain::{grain_word, lies};
use crate::account::others::OtherRow;
use crate::account::owed::{Owed, owed_words, short_of};
use crate::account::sizes::Sized;
use crate::account::table::{Side, Table, count, wrapped};
use crate::account::value::money_words;
use crate::caution::{CAUTION, CAUTION_LINES};
use crate::cli::{Arguments, Opt, Verb};
use crate::job::Job;
use crate::layout::{Best, Layout, best, bound_over, money, sawable};
use crate::measure::System;
use crate::planned::Planned;
use crate::view::{BESIDE, ENDS, Subject, ends_of as ends};

/// Characters of a line.
const WIDTH: usize = 100;

/// Looks at no rule.
const GEOMETRY: Opt = Opt {
    long: "geometry-only",
    short: None,
    value: None,
    about: "ask no rule whether it can be sawn; reach and clearance over the bed stay",
};

/// Where the results go.
const WRITTEN: Opt = Opt {
    about: "a folder that cut plan, picture and layout.json go to; nothing is written if left out",
    ..OUTPUT
};

/// The files that are written, beside pictures.
const PLAN: &str = "plan.cut";
const LAYOUT: &str = "layout.json";

/// The verb.
pub const VERB: Verb = Verb {
    name: "layout",
    summary: "a log and an order in; the boards that are worth most, and a proof",
    operands: &["JOB"],
    options: &[WRITTEN, AFTER, DONE, OTHERS, GEOMETRY, JSON],
    about: "\
Reads a job (`bunkside help job`) and finds the boards that together bring most: layers of any heights with
waste of any height between them, boards side by side, lying or on edge, short ones from either end, two end to end
where both have room; no more of a product than its `most`. Every corner and floor lies on `step` of the
setting; a board lies against the face of its layer, and an underside between two steps counts as if it lay on the
lower. A board may lack at its
corners what its `wane` allows, and no more. With grain = \"as_it_lies\" under [finish] a board is sawn
smaller where it lies flat or quarter sawn as a whole.

What it says to be proven is: no layout on that step is worth more. Where what is worth most cannot be sawn by rule
of thumb, boards lean to one side or floors lie higher until it can, and the most that any could be worth is told
beside what was found; so too where memory does not do to prove it. What no layout can be worth more than on any
step, wherever its floors and corners lie, is told too.

With --others it is told too what there is beside the best layout: the best one without a layer that it has, without
a product, of no more boards than so many, with what is owed. None of these is worth more than is told, on that step.
Each is sawn as `bunkside plan` would do it, so that this takes as long as that many plans.

With --after MOVES --done N what still stands is laid out after the first N of MOVES, as of `bunkside plan`.

With -o the layout goes to a folder as of `bunkside plan`: plan.cut, to be changed by hand and handed to
`bunkside sequence`; ends.svg, where it can be sawn by rule of thumb; layout.json, what --json prints; with --others
these too, as other-2.cut and so on, and all side by side in others.svg. Moves, pictures and pages of an earlier plan
in that folder are taken away, so that nobody saws by them.",
    examples: &[
        "bunkside layout examples/jobs/g-04.toml",
        "bunkside layout examples/jobs/g-04.toml -o out",
        "bunkside layout examples/jobs/p-07.toml --others",
        "bunkside layout examples/jobs/b-01.toml --geometry-only --json",
    ],
    run,
};

#[derive(Serialize)]
struct Report {
    format: &'static str,
    version: u32,
    value: f64,
    bound: f64,
    bound_any_step: Option<f64>,
    setting: Option<ChosenSetting>,
    done: Option<LeftBy>,
    proven: bool,
    step_um: Length,
    sizes: Vec<Sized>,
    rules: Option<&'static str>,
    /// Which rules warn of those moves.
    #[serde(skip)]
    warn: Vec<&'static str>,
    obstacle: Option<String>,
    owed: Vec<Owed>,
    boards: Vec<BoardEntry>,
    /// Null where nobody asked for them.
    others: Option<Vec<OtherRow>>,
    caution: &'static str,
}

#[derive(Serialize)]
struct BoardEntry {
    product: String,
    length_um: Length,
    thickness_um: Length,
    width_um: Length,
    on_edge: bool,
    /// How its rings lie, where its size follows from that.
    #[serde(skip_serializing_if = "Option::is_none")]
    grain: Option<&'static str>,
    end: &'static str,
    across_um: Position,
    height_um: Position,
    travel_um: Position,
}

fn run(arguments: &Arguments, said: &mut Said) -> Done {
    let path = Path::new(arguments.operand(0).unwrap_or_default());
    let geometry_only = arguments.has(&GEOMETRY);
    let job = of_arguments(files::job(path, said)?, !geometry_only, arguments, said)?;
    let setup = setup(&job)?;
    let found = if geometry_only {
        best(&job, &setup).map(|any| Best { any, sawable: None })
    } else {
        sawable(&job, &setup)
    };
    let Some(Best { mut any, sawable }) = found else {
        return Err(Failure::wrong(
            "this order takes more memory than a layout may have",
            "take a coarser `step`, or fewer products and lengths",
        ));
    };
    let bounds = bounds(&job, &setup, &mut any);
    let layout = sawable.unwrap_or(any);
    if layout.boards.is_empty() {
        let nothing = Problem::layout(LayoutError::NothingFits, &job, &setup);
        return Err(nothing.failure(&job, arguments.has(&JSON)));
    }
    let rules = (!geometry_only).then(|| judged(&job, &setup, &layout));
    let judged = rules.unwrap_or_default();
    let exit = match judged.verdict {
        Some(Verdict::Refused) => Exit::Refused,
        _ => Exit::Good,
    };
    let mut report = report((&job, &setup), &layout, judged, bounds);
    let beside = arguments
        .has(&OTHERS)
        .then(|| Beside::of(&job, &setup, (&layout, bounds.0), !geometry_only));
    report.others = beside.as_ref().map(|beside| beside.rows.clone());
    let files = match arguments.path(&WRITTEN) {
        Some(path) => written(path, (&job, &setup), (&layout, beside.as_ref()), &report, said)?,
        None => String::new(),
    };
    let out = if arguments.has(&JSON) {
        json(&report)
    } else {
        text(&job, &report, beside.as_ref(), &files)
    };
    Ok((exit, out))
}

fn report(
    (job, setup): (&Job, &Setup<'_>),
    layout: &Layout,
    Judged {
        verdict,
        warn,
        obstacle,
    }: Judged,
    (bound, anywhere): (i64, Option<i64>),
) -> Report {
    let boards: Vec<BoardEntry> = layout
        .boards
        .iter()
        .map(|board| entry(job, setup, board))
        .collect();
    let owed = short_of(job, |name| {
        let named = boards.iter().filter(|board| board.product == name);
        named.map(|_| 1_u32).sum()
    });
    Report {
        format: "bunkside-layout",
        version: 1,
        value: money(layout.found.worth),
        bound: money(bound),
        bound_any_step: anywhere.map(money),
        setting: ChosenSetting::of(job),
        done: LeftBy::of(job, None),
        proven: layout.found.worth >= bound,
        step_um: layout.step,
        sizes: Sized::all(job),
        rules: verdict.map(verdict_word),
        warn,
        obstacle,
        owed,
        boards,
        others: None,
        caution: CAUTION,
    }
}

/// Writes the layout to a folder, and says what was written.
fn written(
    path: &Path,
    (job, setup): (&Job, &Setup<'_>),
    (layout, beside): (&Layout, Option<&Beside>),
    report: &Report,
    said: &mut Said,
) -> Result<String, Failure> {
    let mut folder = folder(Some(path), job)?;
    folder.clear(&MADE)?;
    folder.clear(OLD)?;
    folder.clear(&PLANS)?;
    folder.clear(&[BESIDE])?;
    let text = plan_text(job, &layout.plan);
    folder.write(PLAN, text.as_bytes())?;
    if let (None, Some(_), Ok(planned)) = (
        &report.obstacle,
        report.rules,
        Planned::new(job, setup, &layout.plan),
    ) {
        folder.write(ENDS, ends(&Subject::planned(&planned)).as_bytes())?;
    }
    if let Some(beside) = beside {
        beside.write(&mut folder, job)?;
    }
    folder.write(LAYOUT, json(report).as_bytes())?;
    folder.tell(said);
    let files = format!("{}: {}", folder.path().display(), folder.written().join(", "));
    Ok(wrapped("files     ", &files, WIDTH))
}

/// What the rules say of the moves by rule of thumb.
#[derive(Default)]
struct Judged {
    /// None where nobody asked.
    verdict: Option<Verdict>,
    /// Which rules warn.
    warn: Vec<&'static str>,
    /// Why there are no moves, where there are none.
    obstacle: Option<String>,
}

fn judged(job: &Job, setup: &Setup<'_>, layout: &Layout) -> Judged {
    let obstacle = obstacle_of(job, setup, &layout.plan);
    let planned = Planned::new(job, setup, &layout.plan).ok();
    let Some(planned) = planned.filter(|_| obstacle.is_none()) else {
        return Judged {
            verdict: Some(Verdict::Refused),
            warn: Vec::new(),
            obstacle,
        };
    };
    let mut warn: Vec<&'static str> = Vec::new();
    for finding in &planned.trace.findings {
        if finding.objection.severity == Severity::Warn && !warn.contains(&finding.rule) {
            warn.push(finding.rule);
        }
    }
    Judged {
        verdict: Some(planned.trace.verdict),
        warn,
        obstacle,
    }
}

fn entry(job: &Job, setup: &Setup<'_>, board: &Placed) -> BoardEntry {
    let spec = &job.boards[usize::from(board.product)];
    let length = spec.lengths[usize::from(board.length)];
    let log = setup.shape.travel();
    let (end, travel_um) = match board.end {
        End::Near => ("near", log.lo + job.end_trim),
        End::Far => ("far", log.hi - job.end_trim - length),
    };
    let (on_edge, [thickness_um, width_um]) = spec.laid(board);
    let face = board.height + board.tall;
    let tall = if on_edge { width_um } else { thickness_um };
    let section = [
        Interval::new(board.across, board.across + board.wide),
        Interval::new(face - tall, face),
    ];
    let along = stretch(job, setup, length, board.end);
    BoardEntry {
        product: spec.name.clone(),
        length_um: length,
        thickness_um,
        width_um,
        on_edge,
        grain: spec
            .is_by_grain()
            .then(|| grain_word(lies(setup, along, section, on_edge))),
        end,
        across_um: board.across,
        height_um: board.height,
        travel_um,
    }
}

/// What no layout is worth more than on the step, and wherever floors and corners lie; of all settings where one was chosen.
fn bounds(job: &Job, setup: &Setup<'_>, any: &mut Layout) -> (i64, Option<i64>) {
    let figures = job.chosen.and_then(|chosen| chosen.figures);
    let anywhere = match figures {
        Some(figures) => figures.anywhere,
        None => bound_over(job, setup, Some(any.found.worth)),
    };
    let found = &mut any.found;
    found.bound = figures.map_or(found.bound, |figures| figures.bound.max(found.worth));
    found.bound = anywhere.map_or(found.bound, |anywhere| found.bound.min(anywhere));
    (found.bound, anywhere)
}

/// What is done of a log that is partly sawn.
fn done(report: &Report) -> String {
    let done = report.done.as_ref();
    done.map_or_else(String::new, |done| wrapped("done      ", &done.words(), WIDTH))
}

/// How much larger than they are wanted boards are sawn.
fn sizes(job: &Job) -> String {
    let heads = std::iter::once("sizes     ").chain(std::iter::repeat("          "));
    let lines = heads.zip(Sized::lines(job));
    lines.map(|(head, words)| wrapped(head, &words, WIDTH)).collect()
}

/// What is proven of the value.
fn proof(report: &Report) -> String {
    let step = System::Metric.size(report.step_um);
    let mut proof = if report.proven {
        format!("proven: on a step of {step} no layout is worth more")
    } else {
        format!(
            "not proven: none on a step of {step} is worth more than {}, sawn or not",
            money_words(report.bound)
        )
    };
    if let Some(anywhere) = report.bound_any_step {
        let words = if anywhere > report.value {
            format!(
                "; wherever floors and corners lie, none more than {}",
                money_words(anywhere)
            )
        } else {
            ", nor wherever else floors and corners lie".to_owned()
        };
        proof.push_str(&words);
    }
    proof
}

fn text(job: &Job, report: &Report, beside: Option<&Beside>, files: &str) -> String {
    let system = System::of(job.inches);
    let proof = proof(report);
    let set = report.setting.as_ref();
    let set = set.map_or_else(String::new, |set| wrapped("setting   ", &set.words(), WIDTH));
    let rules = match (report.rules, &report.obstacle) {
        (_, Some(obstacle)) => format!("by rule of thumb no moves saw it: {obstacle}"),
        (None, None) => "not asked".to_owned(),
        (Some("warned"), None) => format!(
            "pass the moves that saw it, with warnings: {} (`bunkside plan` tells them)",
            report.warn.join(", ")
        ),
        (Some(_), None) => "pass the moves that saw it".to_owned(),
    };
    let short = owed_words(&report.owed).map(|words| wrapped("short     ", &words, WIDTH));
    let short = short.unwrap_or_default();
    let mut table = Table::new(&[
        ("board", Side::Left),
        ("size", Side::Left),
        ("length", Side::Right),
        ("from", Side::Left),
        ("underside", Side::Right),
        ("entry side", Side::Right),
    ]);
    for board in &report.boards {
        let edge = if board.on_edge { ", on edge" } else { "" };
        let grain = match board.grain {
            Some("mixed") => ", sawn both ways".to_owned(),
            Some(grain) => format!(", {grain} sawn"),
            None => String::new(),
        };
        let size = format!(
            "{} x {}{edge}{grain}",
            system.size(board.width_um),
            system.size(board.thickness_um)
        );
        table.row([
            board.product.clone(),
            size,
            system.run(board.length_um),
            format!("{} end", board.end),
            system.size(board.height_um.from_origin()),
            system.size(board.across_um.from_origin()),
        ]);
    }
    format!(
        "{} on {}: {}, worth {} in the job's money{}\n\n{}{}{files}\n{}{}\n{}\n",
        job.name,
        job.mill_name,
        count(report.boards.len() as u64, "board"),
        money_words(report.value),
        report.obstacle.as_ref().map_or("", |_| ", if they could be sawn"),
        done(report) + &wrapped("value     ", &proof, WIDTH) + &set,
        wrapped("rules     ", &rules, WIDTH) + &sizes(job) + &short,
        table.text(0),
        beside.map_or_else(String::new, |beside| beside.text(WIDTH)),
        CAUTION_LINES.join("\n")
    )
}
