//! A sequence to try things on.

use std::path::Path;
use std::sync::OnceLock;

use bunkside_planner::replay::Setup;
use bunkside_protocol::Move;

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
