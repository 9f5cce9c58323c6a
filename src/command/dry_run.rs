//! `dry-run`: how long a sequence takes, how far it runs, and what comes off when.

use bunkside_planner::audit::Verdict;
use bunkside_planner::replay::Setup;
use serde::Serialize;

use super::another::Another;
use super::subject::{JOB, LOG, MILL, Subject};
use super::{Done, Exit, JSON, Said, json};
use crate::account::bark::edge;
use crate::account::cuts::PieceEntry;
use crate::account::findings::{verdict_word, verdict_words};
use crate::account::start::Start;
use crate::account::table::{Side, Table, count, wrapped};
use crate::account::timeline::{TimedMove, table, timed};
use crate::account::totals::Totals;
use crate::caution::{CAUTION, CAUTION_LINES};
use crate::cli::{Arguments, Verb};
use crate::measure::{System, clock};
use crate::trace::Trace;
use bunkside_protocol::Length;

/// The verb.
pub const VERB: Verb = Verb {
    name: "dry-run",
    summary: "times, ways and holds of a move sequence, and what comes off when",
    operands: &["MOVES"],
    options: &[JOB, MILL, LOG, JSON],
    about: "\
Runs a move sequence without wood: when every stroke begins and how long it takes, how many metres go through
wood and how many are run empty, where the operator is wanted, and every piece in the order it comes off.
Axes speed up and slow down at the mill's accelerations; in wood they run at the feed; hold times are the
mill's. MOVES, --job, --mill and --log are those of `bunkside audit`, whose verdict is told too.",
    examples: &["bunkside dry-run out/moves.job --job examples/jobs/g-04.toml"],
    run,
};

#[derive(Serialize)]
struct Report {
    format: &'static str,
    version: u32,
    verdict: &'static str,
    made_for_another: Vec<Another>,
    starts_at: Start,
    totals: Totals,
    pieces: Vec<FreedEntry>,
    moves: Vec<TimedMove>,
    caution: &'static str,
}

/// A piece and when it comes off.
#[derive(Serialize)]
struct FreedEntry {
    #[serde(flatten)]
    piece: PieceEntry,
    /// The move that frees it.
    #[serde(rename = "move")]
    index: u16,
    /// When that move ends.
    at_s: f64,
}

fn run(arguments: &Arguments, said: &mut Said) -> Done {
    let subject = Subject::read(arguments, said)?;
    let setup = subject.setup()?;
    let trace = subject.judged(&setup);
    let report = Report {
        format: "bunkside-dry-run",
        version: 1,
        verdict: verdict_word(trace.verdict),
        made_for_another: subject.made_for_another.clone(),
        starts_at: Start::on(setup.mill),
        totals: Totals::of(&setup, &trace),
        pieces: pieces(&trace),
        moves: timed(&trace),
        caution: CAUTION,
    };
    let exit = if trace.verdict == Verdict::Refused {
        Exit::Refused
    } else {
        Exit::Good
    };
    let out = if arguments.has(&JSON) {
        json(&report)
    } else {
        text(&subject, &setup, &trace, &report)
    };
    Ok((exit, out))
}

fn pieces(trace: &Trace) -> Vec<FreedEntry> {
    let freed = trace.moves.iter().flat_map(|traced| {
        let pieces = PieceEntry::all(traced).into_iter();
        pieces.map(|piece| FreedEntry {
            piece,
            index: traced.step.index,
            at_s: traced.start + traced.duration,
        })
    });
    freed.collect()
}

fn text(subject: &Subject, setup: &Setup<'_>, trace: &Trace, report: &Report) -> String {
    let totals = &report.totals;
    let starts = report.starts_at.words(setup.mill, subject.system);
    format!(
        "{} on {}: {}\n\n{}\npieces, in the order they come off: whole, as they lie on the log, with their trims; how much of each\ncounts as a board, `plan` and its report say\n{}\ntimes\n{}\ncuts      {}\n{}\
         verdict   {}\n{}\n{}\n",
        subject.name,
        subject.mill_name,
        count(totals.moves, "move"),
        table(setup, trace, subject.system).text(0),
        piece_table(&report.pieces, setup.log.bark, subject.system).text(2),
        totals.times().text(2),
        totals.ways_words(subject.system),
        wrapped("holds     ", &totals.holds_words(), 100),
        verdict_words(trace.verdict, &trace.findings),
        wrapped("starts    ", &starts, 100),
        CAUTION_LINES.join("\n")
    )
}

fn piece_table(pieces: &[FreedEntry], bark: Length, system: System) -> Table {
    let mut table = Table::new(&[
        ("piece", Side::Right),
        ("move", Side::Right),
        ("after", Side::Right),
        ("width x height", Side::Left),
        ("length", Side::Right),
        ("", Side::Left),
    ]);
    for one in pieces {
        let bark = if one.piece.bark_edge { edge(bark) } else { "" };
        table.row([
            one.piece.piece.to_string(),
            one.index.to_string(),
            clock(one.at_s),
            one.piece.size(system),
            system.run(one.piece.length_um),
            bark.to_owned(),
        ]);
    }
    table
}
