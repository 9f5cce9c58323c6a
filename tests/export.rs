//! A stored job as bytes, hexadecimal text and JSON.

use bunkside::diagnostic::Source;
use bunkside::export::{Figures, binary, hex, json};
use bunkside::{mill, moves_json};
use bunkside_protocol::job::{EncodeError, JobAxis, JobParts, JobReader, mill_digest};
use bunkside_protocol::{Act, Acts, Hold, Length, LogRecord, MillRecord, Move, Position, Targets};

fn powered() -> MillRecord {
    let text = include_str!("../examples/mills/powered-165.toml");
    mill::read(&Source::new("powered-165.toml", text))
        .0
        .unwrap()
        .record
}

/// The log of the whole job in the page on the format.
fn log() -> LogRecord {
    let page = include_str!("../protocol/WIRE.md");
    let (_, job) = page.split_once("```job\n").unwrap();
    let columns = job
        .lines()
        .take_while(|line| *line != "```")
        .map(|line| line.split('|').next().unwrap());
    let digits: String = columns.collect::<String>().split_whitespace().collect();
    let bytes: Vec<u8> = (0..digits.len() / 2)
        .map(|place| u8::from_str_radix(&digits[2 * place..][..2], 16).unwrap())
        .collect();
    JobReader::open(&bytes).unwrap().log().clone()
}

/// Two boards by their notches.
const MOVES: &str = r#"[
    {"swing": "flat"}, {"spin": "up"},
    {"go": {"travel_um": 200000, "across_um": 60000, "height_um": 180000}},
    {"cut": {"travel_um": 4700000, "speed_um_per_s": 250000, "feed": "forward"}},
    {"swing": "upright"},
    {"cut": {"travel_um": 200000, "speed_um_per_s": 300000, "feed": "forward"}},
    {"hold": ["unload"]}, {"swing": "flat"},
    {"go": {"across_um": 110000}},
    {"cut": {"travel_um": 4700000, "speed_um_per_s": 250000, "feed": "forward"}},
    {"swing": "upright"},
    {"cut": {"travel_um": 200000, "speed_um_per_s": 300000, "feed": "forward"}},
    {"hold": ["unload"]}, {"spin": "down"}
]"#;

fn moves() -> Vec<Move> {
    moves_json::read(&Source::new("moves.json", MOVES)).0.unwrap()
}

#[test]
fn a_job_goes_out_and_comes_back() {
    let (mill, log, moves) = (powered(), log(), moves());
    let parts = JobParts {
        mill: mill_digest(&mill),
        grid: mill.grid,
        log: &log,
        moves: &moves,
        key: None,
    };
    let bytes = binary(&parts).unwrap();
    let job = JobReader::open(&bytes).unwrap();
    assert!(job.is_for(&mill));

    let text = json(&job).unwrap();
    let (read, said) = moves_json::read(&Source::new("job.json", text.clone()));
    assert_eq!((read, said), (Some(moves.clone()), vec![]));
    let value: serde_json::Value = serde_json::from_str(&text).unwrap();
    assert_eq!(value["grid_um"], 100);
    assert_eq!(value["mill_digest"], mill_digest(&mill).to_string());
    assert_eq!(
        serde_json::from_value::<LogRecord>(value["log"].clone()).unwrap(),
        log
    );

    let lines = hex(&bytes, 0).unwrap().lines().count();
    assert_eq!(lines, bytes.len().div_ceil(16) + 1);

    // Counted by hand from the tables of the format: 1 1 7 6 1 3 1 1 3 1 1 1 1 1.
    let figures = Figures::of(&job).unwrap();
    assert_eq!((figures.code_bytes, figures.moves, figures.cuts), (29, 14, 4));
    let expected = format!(
        "{} bytes, 29 of them for 14 moves with 4 cuts: 2.07 bytes a move, 7.25 a cut",
        bytes.len()
    );
    assert_eq!(figures.to_string(), expected);
}

#[test]
fn what_cannot_be_written_is_told() {
    let log = log();
    let hold = Move::Hold(Hold {
        acts: Acts::one(Act::Unload),
    });
    let moves = [hold, Move::Go(Targets::travel(Position::um(50)))];
    let parts = JobParts {
        mill: mill_digest(&powered()),
        grid: Length::um(100),
        log: &log,
        moves: &moves,
        key: None,
    };
    let error = binary(&parts).unwrap_err();
    let axis = JobAxis::Travel;
    assert_eq!(error, EncodeError::OffGrid { index: 1, axis });
    assert_eq!(
        error.to_string(),
        "move 1: the target on the travel axis does not lie on the grid"
    );
}
