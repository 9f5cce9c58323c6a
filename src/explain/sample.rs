//! A sequence to try things on.

use std::path::Path;
use std::sync::OnceLock;

use bunkside_planner::replay::Setup;
use bunkside_protocol::{Length, Move};

use super::course::Course;
use crate::diagnostic::Source;
use crate::job::{self, Job};
use crate::planned::{Planned, lay_out};
use crate::trace::Trace;

/// A sequence, and what it runs on.
pub(super) struct Sample {
    pub(super) setup: Setup<'static>,
    pub(super) moves: Vec<Move>,
    pub(super) trace: Trace,
}

/// The plan of the small log of the examples.
pub(super) fn g_04() -> Sample {
    static JOB: OnceLock<Job> = OnceLock::new();
    of("g-04", &JOB)
}

/// That of another log, all of whose axes are driven.
pub(super) fn a_02() -> Sample {
    static JOB: OnceLock<Job> = OnceLock::new();
    of("a-02", &JOB)
}

/// So far a stroke stops short of the log's end: less than the rails are true to.
const SHORT: Length = Length::um(300);

/// The same with so many strokes that end where nobody can say whether they run through.
pub(super) fn g_04_in_doubt(count: usize) -> Sample {
    let Sample { setup, mut moves, .. } = g_04();
    let log = setup.shape.travel();
    let mut made = 0;
    for at in 0..moves.len() {
        let Move::Cut(cut) = &mut moves[at] else { continue };
        if made == count {
            break;
        }
        let (usual, doubts) = (*cut, made);
        let short = |end| {
            if end < log.lo {
                log.lo + SHORT
            } else {
                log.hi - SHORT
            }
        };
        cut.to.travel = cut.to.travel.map(short);
        let trace = Trace::run(&setup, &moves);
        made = usize::from(Course::new(&setup, &moves, &trace).doubts());
        if made != doubts + 1 {
            (moves[at], made) = (Move::Cut(usual), doubts);
        }
    }
    let trace = Trace::run(&setup, &moves);
    Sample { setup, moves, trace }
}

/// The same of the log that is sawn by hand, on a mill whose blade swings under.
pub(super) fn p_07() -> Sample {
    static JOB: OnceLock<Job> = OnceLock::new();
    of("p-07", &JOB)
}

fn of(name: &str, job: &'static OnceLock<Job>) -> Sample {
    let job = job.get_or_init(|| {
        let root = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("examples/jobs/{name}.toml"));
        let text = std::fs::read_to_string(&root).unwrap();
        let source = Source::new(root.to_string_lossy(), text);
        job::read(&source, &|path: &Path| std::fs::read_to_string(path))
            .job
            .unwrap()
    });
    let setup = Setup::new(&job.mill, &job.log).unwrap();
    let plan = lay_out(job, &setup).unwrap();
    let planned = Planned::new(job, &setup, &plan).unwrap();
    let (moves, trace) = (planned.moves, planned.trace);
    Sample { setup, moves, trace }
}
