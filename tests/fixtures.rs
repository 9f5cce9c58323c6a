//! What the image for the emulated board is given: made from the examples, kept in `firmware/fixtures/`, and never out of
//! date. Set `BUNKSIDE_BLESS` to make the files again.

#[path = "../firmware/fixtures/order.rs"]
mod order;

use std::fmt::Write;
use std::path::{Path, PathBuf};

use bunkside::begun::Begun;
use bunkside::cut_plan::{self, OwnedPlan};
use bunkside::diagnostic::Source;
use bunkside::job::{self, Job};
use bunkside::mill;
use bunkside::planned::{Planned, lay_out};
use bunkside_planner::audit::Verdict;
use bunkside_planner::plan::{Column, End, Freeing, Use};
use bunkside_planner::replay::Setup;
use bunkside_protocol::job::{JobParts, encode, encode_mill, encoded_max, mill_digest};
use bunkside_protocol::{Act, Acts, LogRecord, MillRecord, Move, Position};

fn root(path: impl AsRef<Path>) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(path)
}

fn read(path: &Path) -> std::io::Result<String> {
    std::fs::read_to_string(root(path))
}

fn source(path: &str) -> Source {
    Source::new(path, read(Path::new(path)).unwrap())
}

fn job(path: &str) -> Job {
    let outcome = job::read(&source(path), &read);
    let said = outcome.rendered();
    outcome.job.unwrap_or_else(|| panic!("{said}"))
}

/// The plan in a file beside the fixtures, for a job.
fn plan_for(job: &Job, path: &str) -> OwnedPlan {
    let (document, _) = cut_plan::parse(&source(path));
    let names: Vec<String> = job.boards.iter().map(|board| board.name.clone()).collect();
    document.lower(&names, job.length).0.unwrap()
}

fn stored(mill: &MillRecord, log: &LogRecord, moves: &[Move]) -> Vec<u8> {
    let parts = JobParts {
        mill: mill_digest(mill),
        grid: mill.grid,
        log,
        moves,
        key: None,
    };
    let mut bytes = vec![0; encoded_max(moves.len())];
    let len = encode(&parts, &mut bytes).unwrap();
    bytes.truncate(len);
    bytes
}

fn profile(path: &str) -> Vec<u8> {
    let record = mill::read(&source(path)).0.unwrap().record;
    let mut bytes = vec![0; 4096];
    let len = encode_mill(&record, &mut bytes).unwrap();
    bytes.truncate(len);
    bytes
}

/// Compares a fixture with what it should be, or makes it so.
fn keep(name: &str, bytes: &[u8]) {
    let path = root("firmware/fixtures").join(name);
    if std::env::var_os("BUNKSIDE_BLESS").is_some() {
        std::fs::write(&path, bytes).unwrap();
    }
    let found = std::fs::read(&path).unwrap_or_default();
    let again = "make it again: BUNKSIDE_BLESS=1 cargo test --test system fixtures";
    assert!(found == bytes, "{} is out of date; {again}", path.display());
}

/// A job planned as `plan` does it, or by a plan of its own; the blade turns at holds, as in the sequence that the controller
/// makes of the same plan.
fn made(name: &str, path: &str, plan: Option<&str>) -> (Job, OwnedPlan, Vec<Move>) {
    let mut job = job(path);
    job.setting.stop_to_unload = false;
    let setup = Setup::new(&job.mill, &job.log).unwrap();
    let plan = match plan {
        Some(path) => plan_for(&job, path),
        None => lay_out(&job, &setup).unwrap(),
    };
    let planned = Planned::new(&job, &setup, &plan).unwrap();
    assert_ne!(planned.trace.verdict, Verdict::Refused, "{name}");
    let moves = planned.moves.clone();
    keep(&format!("{name}.job"), &stored(&job.mill, &job.log, &moves));
    (job, plan, moves)
}

#[test]
fn fixtures_are_what_the_host_makes_of_the_examples() {
    keep("powered-165.mill", &profile("examples/mills/powered-165.toml"));
    keep("hand-150.mill", &profile("examples/mills/hand-150.toml"));
    made("p-07", "examples/jobs/p-07.toml", None);
    made(
        "w-40",
        "firmware/fixtures/w-40.toml",
        Some("firmware/fixtures/w-40.cut"),
    );
    let (job, plan, mut moves) = made("g-04", "examples/jobs/g-04.toml", None);
    is_left_of(&job, &moves);
    keep("plan.rs", constants(&plan).as_bytes());

    // One who changes two holds and strokes about after the audit: the first unload comes after the stroke that
    // followed it.
    let unload = moves
        .iter()
        .position(|told| matches!(told, Move::Hold(hold) if hold.acts.contains(Act::Unload)));
    let unload = unload.unwrap();
    let next = unload
        + moves[unload..]
            .iter()
            .position(|told| matches!(told, Move::Cut(_)))
            .unwrap();
    moves[unload..=next].rotate_left(1);
    keep("g-04-tampered.job", &stored(&job.mill, &job.log, &moves));
}

/// The order that the controller lays out anew is what the job's moves leave of the job's own, rot along all of its log.
fn is_left_of(job: &Job, moves: &[Move]) {
    assert_eq!(order::WANTED.len(), job.boards.len());
    for (told, spec) in order::WANTED.iter().zip(&job.boards) {
        let own = (told.thickness, told.width, told.lengths, told.worth);
        assert_eq!(own, (spec.thickness, spec.width, &*spec.lengths, &*spec.values));
        let how = (told.by_grain, told.wane, told.heart);
        assert_eq!(how, (spec.by_grain, spec.wane, spec.core));
        // The job leaves that open; here boards only lie.
        assert!(spec.on_edge && !told.on_edge);
    }
    let setup = Setup::new(&job.mill, &job.log).unwrap();
    let begun = Begun::of(job, &setup, moves, usize::from(order::DONE)).unwrap();
    let left = begun.rest_of(job.clone());
    let most: Vec<Option<u16>> = left
        .boards
        .iter()
        .map(|spec| spec.most.map(|most| u16::try_from(most).unwrap()))
        .collect();
    assert_eq!((order::MOST, order::END_TRIM), (&*most, job.end_trim));
    assert_eq!(order::CORE.travel, setup.shape.travel());
}

/// A cut plan as constants.
fn constants(plan: &OwnedPlan) -> String {
    let mut text = String::from(
        "//! The cut plan of the first job, as constants. Made by `tests/fixtures.rs` of the root package.\n\n\
         use bunkside_planner::plan::{Column, CutPlan, End, Freeing, Layer, Use};\n\
         use bunkside_protocol::{Acts, Length, Position};\n\n\
         /// The plan.\n\
         pub(crate) const PLAN: CutPlan<'static> = CutPlan {\n    layers: &[\n",
    );
    for layer in &plan.layers {
        assert_eq!(layer.hold, Acts::NONE, "a hold has no constant here");
        let at = |place: Position| format!("Position::um({})", grouped(place.as_um()));
        write!(
            text,
            "        Layer {{\n            floor: {},\n",
            at(layer.floor)
        )
        .unwrap();
        if layer.columns.is_empty() {
            text.push_str("            columns: &[],\n");
        } else {
            text.push_str("            columns: &[\n");
            for column in &layer.columns {
                text.push_str(&column_text(column, at));
            }
            text.push_str("            ],\n");
        }
        write!(
            text,
            "            passes: {:?},\n            hold: Acts::NONE,\n        }},\n",
            layer.passes
        )
        .unwrap();
    }
    text.push_str("    ],\n};\n");
    text
}

fn column_text(column: &Column, at: impl Fn(Position) -> String) -> String {
    let to = column
        .to
        .map_or("None".to_owned(), |to| format!("Some({})", at(to)));
    let freeing = match column.freeing {
        Freeing::Take => "Take",
        Freeing::Release => "Release",
    };
    let use_ = match column.use_ {
        Use::Waste => "Use::Waste".to_owned(),
        Use::Pair { .. } => panic!("no fixture has two boards in a column"),
        Use::Board { product, length, end } => {
            let end = match end {
                End::Near => "Near",
                End::Far => "Far",
            };
            let length = grouped(length.as_um());
            let pad = " ".repeat(24);
            format!(
                "Use::Board {{\n{pad}product: {product},\n{pad}length: Length::um({length}),\n{pad}end: End::{end},\n                    }}"
            )
        }
    };
    let pad = " ".repeat(20);
    format!(
        "                Column {{\n{pad}to: {to},\n{pad}freeing: Freeing::{freeing},\n{pad}use_: {use_},\n                }},\n"
    )
}

/// A number in groups of three digits.
fn grouped(number: i32) -> String {
    let digits = number.unsigned_abs().to_string();
    let mut text = String::new();
    for (place, digit) in digits.chars().enumerate() {
        if place > 0 && (digits.len() - place).is_multiple_of(3) {
            text.push('_');
        }
        text.push(digit);
    }
    if number < 0 { format!("-{text}") } else { text }
}
