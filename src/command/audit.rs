//! `audit`: judges any move sequence by the rules.

use bunkside_planner::audit::Verdict;
use bunkside_planner::physics::dogs::{bites, closed, pushed};
use bunkside_planner::replay::Setup;
use bunkside_protocol::{Act, Move};
use serde::Serialize;

use super::another::Another;
use super::subject::{JOB, LOG, MILL, Subject};
use super::{Done, Exit, JSON, Said, json};
use crate::account::cuts::{CutEntry, cuts, table};
use crate::account::energy::judged_words;
use crate::account::feeds::Feeds;
use crate::account::findings::{
    self, FindingEntry, second_person_cuts, second_person_words, verdict_word, verdict_words,
};
use crate::account::hangs::broken_off;
use crate::account::start::Start;
use crate::account::table::{count, wrapped};
use crate::caution::{CAUTION, CAUTION_LINES};
use crate::cli::{Arguments, Opt, Verb};
use crate::measure::System;
use crate::trace::Trace;

/// Forces instead of pieces.
pub const FEEDS: Opt = Opt {
    long: "feeds",
    short: None,
    value: None,
    about: "tell of every cut its forces and margins, and what decided its stroke and feed",
};

/// The verb.
pub const VERB: Verb = Verb {
    name: "audit",
    summary: "judge any move sequence by the rules",
    operands: &["MOVES"],
    options: &[FEEDS, JOB, MILL, LOG, JSON],
    about: "\
Runs a move sequence on the log and lets every rule judge every move; `bunkside rules` lists them. MOVES is a
sequence as JSON (`bunkside help moves`) or a stored job in any form of `bunkside export`, whoever made it. Mill
and log come from --job, or from --mill and --log. A stored job brings its own log, and is only taken for the mill
it was planned for.

A job that is named knows more than the rules. Where its growth stress is high, it warns of what the moves leave out
of sawing it as stressed timber (`growth-stress`). Where it says that the blade stands while anybody unloads, a blade
that turns then is refused (`stop-to-unload`). Where it says that one person works there, what a second person would
have to hold down is refused (`one-person`).

Every cut is listed with its stroke and feed, how deep it bites and what it frees; then every finding with
the moves it is about, what was found, the limit, what would happen and what would free it. Moves are
numbered from 0 as in the file, cuts and pieces from 1. Where the carriage is taken to stand before move 0 is told last:
the moves do not say it. What cannot be represented is not judged, and that
counts as refused. Status 1 where a rule refuses.

With --feeds the table tells which way every cut pulls and presses, how many times the wood is held against rolling,
sliding and lifting, and which rule refuses the other stroke or a faster feed. JSON has it always.",
    examples: &[
        "bunkside audit out/moves.json --job examples/jobs/g-04.toml",
        "bunkside audit out/moves.json --job examples/jobs/g-04.toml --feeds",
        "bunkside audit out/moves.job --mill examples/mills/powered-165.toml --json",
    ],
    run,
};

/// What an audit tells programs.
#[derive(Clone, Debug, Serialize)]
pub struct Report {
    format: &'static str,
    version: u32,
    verdict: &'static str,
    second_person_cuts: usize,
    made_for_another: Vec<Another>,
    starts_at: Start,
    findings: Vec<FindingEntry>,
    cuts: Vec<CutEntry>,
    feeds: Feeds,
    caution: &'static str,
}

/// The audit of a run, and what its moves say they were made for, where that is something else.
#[must_use]
pub fn report(setup: &Setup<'_>, trace: &Trace, made_for_another: &[Another]) -> Report {
    Report {
        format: "bunkside-audit",
        version: 1,
        verdict: verdict_word(trace.verdict),
        second_person_cuts: second_person_cuts(&trace.findings),
        made_for_another: made_for_another.to_vec(),
        starts_at: Start::on(setup.mill),
        findings: trace.findings.iter().map(FindingEntry::from).collect(),
        cuts: cuts(trace),
        feeds: Feeds::of(setup, trace),
        caution: CAUTION,
    }
}

fn run(arguments: &Arguments, said: &mut Said) -> Done {
    let subject = Subject::read(arguments, said)?;
    let setup = subject.setup()?;
    let trace = subject.judged(&setup);
    let exit = if trace.verdict == Verdict::Refused {
        Exit::Refused
    } else {
        Exit::Good
    };
    let out = if arguments.has(&JSON) {
        json(&report(&setup, &trace, &subject.made_for_another))
    } else {
        text(&subject, &setup, &trace, arguments.has(&FEEDS))
    };
    Ok((exit, out))
}

/// What holds do that no cut shows: dogs pushed to the log, parts broken off.
fn at_holds(setup: &Setup<'_>, trace: &Trace, system: System) -> String {
    let mut lines = String::new();
    for traced in &trace.moves {
        let Move::Hold(hold) = traced.step.told else {
            continue;
        };
        let at = traced.step.index;
        if hold.acts.contains(Act::Dog) {
            for (number, dog) in (1..).zip(&setup.mill.dogs) {
                let bites = closed(dog, &setup.shape).is_some_and(|closed| bites(closed, &setup.shape));
                let words = match pushed(dog, &setup.shape) {
                    Some(_) if !bites => "meets only bark and holds nothing".to_owned(),
                    Some(by) => format!("is pushed {} across to the log", system.size(by)),
                    None => "does not reach the log and holds nothing".to_owned(),
                };
                lines += &format!("hold at move {at}: dog {number} {words}\n");
            }
        }
        if let Some(words) = broken_off(traced) {
            lines += &format!("hold at move {at}: {words}\n");
        }
    }
    if lines.is_empty() { lines } else { lines + "\n" }
}

/// What decides strokes and feeds is worked out only where it is shown: each cut is tried otherwise, to the end of the sequence.
fn text(subject: &Subject, setup: &Setup<'_>, trace: &Trace, feeds: bool) -> String {
    let unjudged = subject.moves.len().saturating_sub(trace.moves.len());
    let rest = if unjudged == 0 {
        String::new()
    } else {
        format!(
            "the last {} not run: what came before cannot be judged\n\n",
            count(unjudged as u64, "move")
        )
    };
    let cuts = cuts(trace);
    let told = if feeds {
        let judged = judged_words(&subject.log, subject.energy.as_ref());
        format!(
            "{}{}",
            Feeds::of(setup, trace).text(subject.system),
            wrapped("", &judged, 100)
        )
    } else {
        table(&cuts, setup.log.bark, subject.system).text(0)
    };
    let starts = Start::on(setup.mill).words(setup.mill, subject.system);
    let people = second_person_words(second_person_cuts(&trace.findings))
        .map(|words| format!("{words}\n"))
        .unwrap_or_default();
    format!(
        "{} on {}: {}, {}\n{people}\n{}\n{}{rest}{}\n{}\n{}\n{}\n",
        subject.name,
        subject.mill_name,
        count(subject.moves.len() as u64, "move"),
        count(cuts.len() as u64, "cut"),
        told,
        at_holds(setup, trace, subject.system),
        verdict_words(trace.verdict, &trace.findings),
        findings::text(&trace.findings, subject.system, 2),
        wrapped("", &starts, 100),
        CAUTION_LINES.join("\n")
    )
}
