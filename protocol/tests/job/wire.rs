//! The examples of WIRE.md, taken out of the document and compared with the code.

use bunkside_protocol::job::code::CodeReader;
use bunkside_protocol::job::{JobParts, JobReader, encode, encoded_max};
use bunkside_protocol::{Act, Acts, Angle, Cut, Feed, Hold, Length, Move, Position, Speed, Targets};

use crate::codec;
use crate::support::hex;
use crate::support::sample::{small_log, small_moves};

const DOCUMENT: &str = include_str!("../../WIRE.md");

/// Blocks whose first line begins with this word: the rest of that line, and the lines within.
fn blocks(kind: &str) -> Vec<(&'static str, Vec<&'static str>)> {
    let mut blocks = Vec::new();
    let mut lines = DOCUMENT.lines();
    while let Some(line) = lines.next() {
        let Some(info) = line.strip_prefix("```") else {
            continue;
        };
        let inside: Vec<_> = lines.by_ref().take_while(|line| *line != "```").collect();
        if let Some(rest) = info.strip_prefix(kind) {
            blocks.push((rest.trim(), inside));
        }
    }
    blocks
}

fn act(word: &str) -> Act {
    let words = [
        "unload",
        "wedge log",
        "wedge kerf",
        "dog",
        "knife on",
        "knife off",
        "measure",
        "re-seat",
        "sweep",
        "sharpen",
        "aid on",
        "aid off",
    ];
    Act::ALL[words
        .iter()
        .position(|known| *known == word)
        .unwrap_or_else(|| panic!("no act {word:?}"))]
}

/// A move as the document writes it.
fn parse(text: &str) -> Move {
    let mut words = text.split_whitespace();
    let kind = words.next().expect("a move");
    let words: Vec<_> = words.collect();
    let value = |name: &str| {
        let value = words
            .iter()
            .find_map(|word| word.strip_prefix(name)?.strip_prefix('='));
        value.map(|value| value.parse::<i64>().unwrap())
    };
    let to = Targets {
        travel: value("travel").map(Position::um),
        across: value("across").map(Position::um),
        height: value("height").map(Position::um),
    };
    match (kind, words.as_slice()) {
        ("swing", ["flat"]) => Move::Swing(Angle::Flat),
        ("swing", ["upright"]) => Move::Swing(Angle::Upright),
        ("spin", ["up"]) => Move::Spin(true),
        ("spin", ["down"]) => Move::Spin(false),
        ("hold", acts) => Move::Hold(Hold {
            acts: acts.iter().fold(Acts::NONE, |acts, word| acts.and(act(word))),
        }),
        ("go", _) => Move::Go(to),
        ("cut", words) => Move::Cut(Cut {
            to,
            speed: Speed::um_per_s(u32::try_from(value("speed").unwrap()).unwrap()),
            feed: match (words.contains(&"climb"), words.contains(&"forward")) {
                (false, false) => None,
                (true, _) => Some(Feed::Climb),
                (false, true) => Some(Feed::Forward),
            },
            release: words.contains(&"release"),
        }),
        _ => panic!("no move is written {text:?}"),
    }
}

#[test]
fn every_row_of_moves_is_written_and_read_like_that() {
    let blocks = blocks("moves");
    assert!(blocks.len() >= 3);
    for (info, lines) in blocks {
        let grid = info.strip_prefix("grid=").expect("a grid").parse().unwrap();
        let grid = Length::um(grid);
        let mut moves = Vec::new();
        let mut bytes = Vec::new();
        for line in lines {
            let mut columns = line.split('|');
            bytes.extend(hex::bytes(columns.next().unwrap()));
            moves.push(parse(columns.next().unwrap()));
            let written = codec::write(grid, &moves).unwrap();
            assert_eq!(hex::text(&written), hex::text(&bytes), "after {line}");
        }
        let count = u32::try_from(moves.len()).unwrap();
        let read = CodeReader::new(grid, count, bytes.into_iter()).unwrap();
        assert_eq!(read.collect::<Result<Vec<_>, _>>(), Ok(moves));
    }
}

#[test]
fn the_whole_job_is_written_and_read_like_that() {
    let blocks = blocks("job");
    let [(_, lines)] = blocks.as_slice() else {
        panic!("one job")
    };
    let bytes: Vec<u8> = lines
        .iter()
        .flat_map(|line| hex::bytes(line.split('|').next().unwrap()))
        .collect();
    let job = JobReader::open(&bytes).unwrap();
    assert_eq!(*job.log(), small_log());
    assert_eq!(job.moves().collect::<Result<Vec<_>, _>>(), Ok(small_moves()));
    let (log, moves) = (small_log(), small_moves());
    let parts = JobParts {
        mill: job.header().mill,
        grid: job.header().grid,
        log: &log,
        moves: &moves,
        key: None,
    };
    let mut out = vec![0; encoded_max(moves.len())];
    let len = encode(&parts, &mut out).unwrap();
    assert_eq!(hex::text(&out[..len]), hex::text(&bytes));
}

/// Figures that stand in running text.
#[test]
fn figures_of_the_text_are_those_of_the_code() {
    use bunkside_protocol::job::{CRC_ALGORITHM, FORMAT_VERSION, GRID_MAX, HEADER_LEN, RECORD_MAX, TAG_LEN};
    assert_eq!(
        (FORMAT_VERSION, HEADER_LEN, RECORD_MAX, TAG_LEN),
        (1, 48, 4092, 16)
    );
    for figure in [
        "Format version 1.".to_owned(),
        format!("0x{:08X}", CRC_ALGORITHM.poly),
        format!("0x{:08X}", CRC_ALGORITHM.check),
        format!("1 to {} {:03}", GRID_MAX.wide() / 1000, GRID_MAX.wide() % 1000),
    ] {
        assert!(DOCUMENT.contains(&figure), "{figure}");
    }
    let acts = DOCUMENT
        .split_once("Acts: ")
        .unwrap()
        .1
        .split_once('.')
        .unwrap()
        .0;
    for (number, listed) in acts.split(',').enumerate() {
        let (found, word) = listed.trim().split_once(' ').unwrap();
        assert_eq!(found.parse(), Ok(number));
        assert_eq!(act(word), Act::ALL[number]);
    }
}
