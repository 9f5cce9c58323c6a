//! Arbitrary bytes where the tool reads what people and other machines wrote: by their first byte a job, a mill, a log for
//! another mill, a sequence, a cut plan, or what comes over the wire.

use std::io;
use std::path::Path;

use bunkside::cut_plan;
use bunkside::diagnostic::{Diagnostic, Source, any_error, render_all};
use bunkside::job;
use bunkside::mill;
use bunkside::moves_json;
use bunkside_planner::audit::audit;
use bunkside_planner::replay::Setup;
use bunkside_protocol::frame::{self, FRAME_MAX};
use bunkside_protocol::job::{JobReader, decode_mill};
use bunkside_protocol::{Length, LogRecord, MillRecord};

use super::{mill_text, profile};

/// What is read, by its first byte.
pub(crate) const KINDS: &[u8] = b"jmlscw";

/// Reads the bytes; answers whether they were taken without an error.
pub(crate) fn run(bytes: &[u8]) -> bool {
    let Some((kind, rest)) = bytes.split_first() else {
        return false;
    };
    let text = || Source::new("fuzz", String::from_utf8_lossy(rest).into_owned());
    match kind {
        b'j' => of_job(job::read(&text(), &load)),
        b'l' => of_job(job::read_log(&text(), profile("hand-150"))),
        b'm' => of_mill(&text()),
        b's' => of_sequence(&text()),
        b'c' => of_cut_plan(&text()),
        b'w' => of_wire(rest),
        _ => false,
    }
}

fn load(path: &Path) -> io::Result<String> {
    let name = path
        .file_stem()
        .and_then(|name| name.to_str())
        .unwrap_or_default();
    mill_text(name)
        .map(str::to_owned)
        .ok_or_else(|| io::ErrorKind::NotFound.into())
}

/// Every diagnostic can be shown, and what is an error came with nothing else.
fn told(source: &Source, said: &[Diagnostic], taken: bool) -> bool {
    assert_eq!(taken, !any_error(said), "{said:?}");
    let shown = render_all(source, said);
    assert_eq!(shown.is_empty(), said.is_empty());
    taken
}

fn can_be_set_up(mill: &MillRecord, log: &LogRecord) {
    if let Ok(setup) = Setup::new(mill, log) {
        assert!(setup.stock().pieces().is_empty());
    }
}

fn of_job(outcome: job::Outcome) -> bool {
    let shown = outcome.rendered();
    let all = || outcome.reports.iter().flat_map(|(_, said)| said);
    let errors = all().any(|said| any_error(std::slice::from_ref(said)));
    assert_eq!(outcome.job.is_none(), errors);
    assert_eq!(shown.is_empty(), all().next().is_none());
    if let Some(job) = &outcome.job {
        can_be_set_up(&job.mill, &job.log);
    }
    outcome.job.is_some()
}

fn of_mill(source: &Source) -> bool {
    let (profile, said) = mill::read(source);
    told(source, &said, profile.is_some())
}

/// What is written of the moves reads back as the same moves.
fn of_sequence(source: &Source) -> bool {
    let (moves, said) = moves_json::read(source);
    if let Some(moves) = &moves {
        let again = moves_json::read(&Source::new("again", moves_json::write(moves))).0;
        assert_eq!(again.as_ref(), Some(moves));
    }
    told(source, &said, moves.is_some())
}

/// What is written of a cut plan without errors reads back as the same text.
fn of_cut_plan(source: &Source) -> bool {
    let (document, said) = cut_plan::parse(source);
    let names = document.board_names();
    let (plan, more) = document.lower(&names, Length::mm(3_000));
    if let Some(plan) = &plan {
        plan.with_plan(|plan| assert!(plan.layers.len() <= source.text.len()));
    }
    assert_eq!(render_all(source, &more).is_empty(), more.is_empty());
    let whole = !any_error(&said);
    if whole {
        let text = document.to_text();
        let (again, said) = cut_plan::parse(&Source::new("again", text.clone()));
        assert!(!any_error(&said), "{text}\n{said:?}");
        assert_eq!(again.to_text(), text);
    }
    told(source, &said, whole)
}

/// A frame, a mill and a job, each as a controller takes them in.
/// No more moves of a stored job are run: bounded time is asked of each.
const MOVES_MAX: usize = 64;

/// Whatever log a stored job holds, it is refused or its moves are judged, on the mill that it is for or another.
fn bears(job: &JobReader<'_>) {
    for mill in ["powered-165", "hand-150"] {
        let mill = profile(mill).record;
        let Ok(setup) = Setup::new(&mill, job.log()) else {
            continue;
        };
        let moves = job.moves().map_while(Result::ok).take(MOVES_MAX);
        audit(&setup, moves, &mut |_, _, _| (), &mut |_| ());
    }
}

fn of_wire(bytes: &[u8]) -> bool {
    let mut held = [0; FRAME_MAX];
    let length = bytes.len().min(FRAME_MAX);
    held[..length].copy_from_slice(&bytes[..length]);
    let framed = frame::open(&mut held[..length]).is_ok();
    let mill = decode_mill(bytes).is_ok();
    let job = JobReader::open(bytes).is_ok_and(|job| {
        assert!(job.moves().all(|next| next.is_ok()));
        bears(&job);
        true
    });
    framed || mill || job
}
