//! The move code: everything comes back, nothing panics, and there is one written form.

use bunkside_protocol::job::code::{CodeReader, CodeWriter, Sink};
use bunkside_protocol::job::{DecodeFault, EncodeError, JobAxis, MOVE_MAX};
use bunkside_protocol::{Acts, Angle, Cut, Feed, Hold, Length, Move, Position, Speed, Targets};

use crate::support::dice::Dice;
use crate::support::hex;
use crate::support::sample::{cut, go};

const GRIDS: [i64; 6] = [1, 50, 100, 100, 1_000, 25_400];

/// A sink that grows.
#[derive(Debug, Default)]
pub(crate) struct Bytes(pub(crate) Vec<u8>);

impl Sink for Bytes {
    fn put(&mut self, byte: u8) -> Result<(), EncodeError> {
        self.0.push(byte);
        Ok(())
    }
}

pub(crate) fn write(grid: Length, moves: &[Move]) -> Result<Vec<u8>, EncodeError> {
    let mut writer = CodeWriter::new(grid, Bytes::default())?;
    for next in moves {
        writer.push(*next)?;
    }
    Ok(writer.into_sink().0)
}

/// What can be read until the first error, and how many bytes that took.
fn read_some(grid: Length, bytes: &[u8]) -> (Vec<Move>, usize) {
    let mut reader = CodeReader::new(grid, u32::MAX, bytes.iter().copied()).unwrap();
    let mut moves = Vec::new();
    let mut taken = 0;
    while let Some(Ok(next)) = reader.next() {
        moves.push(next);
        taken = reader.offset();
    }
    (moves, taken)
}

/// Moves of every kind, the odd ones too; places are often used again, as they are on a mill.
struct Moves {
    dice: Dice,
    grid: i64,
    places: Vec<Position>,
}

impl Moves {
    fn new(seed: u64) -> Self {
        let mut dice = Dice::new(seed);
        let grid = dice.pick(&GRIDS);
        let mut new = Self {
            dice,
            grid,
            places: Vec::new(),
        };
        for _ in 0..new.dice.between(1, 6) {
            let place = new.new_place();
            new.places.push(place);
        }
        new
    }

    fn new_place(&mut self) -> Position {
        let most = 100_000_000 / self.grid;
        let steps = match self.dice.below(8) {
            0 => self.dice.pick(&[most, -most, 0]),
            1 => self.dice.between(-most, most),
            _ => self.dice.between(-most.min(60_000), most.min(60_000)),
        };
        Position::um(steps * self.grid)
    }

    fn place(&mut self) -> Option<Position> {
        match self.dice.below(4) {
            0 => None,
            1 => Some(self.new_place()),
            _ => Some(self.dice.pick(&self.places)),
        }
    }

    fn targets(&mut self) -> Targets {
        let travel_only = self.dice.once_in(2);
        Targets {
            travel: self.place(),
            across: if travel_only { None } else { self.place() },
            height: if travel_only { None } else { self.place() },
        }
    }

    fn speed(&mut self) -> Speed {
        match self.dice.below(6) {
            0 => Speed::um_per_s(self.dice.below(200_000_001) as u32),
            1 => Speed::MAX,
            2 => Speed::ZERO,
            _ => Speed::mm_per_s(self.dice.pick(&[150, 200, 250])),
        }
    }

    fn one(&mut self) -> Move {
        match self.dice.below(8) {
            0 | 1 => Move::Go(self.targets()),
            2..5 => Move::Cut(Cut {
                to: self.targets(),
                speed: self.speed(),
                feed: self.dice.pick(&[None, Some(Feed::Climb), Some(Feed::Forward)]),
                release: self.dice.once_in(4),
            }),
            5 => Move::Swing(self.dice.pick(&Angle::ALL)),
            6 => Move::Spin(self.dice.once_in(2)),
            _ => {
                let bits = if self.dice.once_in(2) {
                    1 << self.dice.below(12)
                } else {
                    self.dice.below(1 << 12) as u16
                };
                Move::Hold(Hold {
                    acts: Acts::try_from(bits).unwrap(),
                })
            }
        }
    }

    fn some(&mut self, most: u64) -> Vec<Move> {
        (0..self.dice.below(most + 1)).map(|_| self.one()).collect()
    }
}

#[test]
fn any_sequence_comes_back() {
    let mut longest = 0;
    for seed in 0..40_000 {
        let mut make = Moves::new(seed);
        let moves = make.some(40);
        let grid = Length::um(make.grid);
        let bytes = write(grid, &moves).unwrap();
        let count = u32::try_from(moves.len()).unwrap();
        let read = CodeReader::new(grid, count, bytes.iter().copied())
            .unwrap()
            .collect::<Result<Vec<_>, _>>();
        assert_eq!(read, Ok(moves.clone()), "seed {seed}");
        for next in &moves {
            longest = longest.max(write(grid, &[*next]).unwrap().len());
        }
    }
    assert!(longest <= MOVE_MAX);
}

#[test]
fn any_bytes_are_read_or_refused_and_read_only_in_their_one_form() {
    let mut dice = Dice::new(7);
    let mut read_in_all = 0;
    for _ in 0..150_000 {
        let grid = Length::um(dice.pick(&GRIDS));
        let bytes: Vec<u8> = (0..dice.below(40)).map(|_| dice.next() as u8).collect();
        let (moves, taken) = read_some(grid, &bytes);
        assert_eq!(write(grid, &moves).as_deref(), Ok(&bytes[..taken]));
        read_in_all += moves.len();
    }
    assert!(read_in_all > 30_000, "only {read_in_all} moves were ever read");
}

/// Bytes one change away from good ones reach further into the reader than random ones.
#[test]
fn good_bytes_with_a_change_are_read_or_refused_in_the_same_way() {
    let mut changed = 0;
    for seed in 0..100_000 {
        let mut make = Moves::new(seed);
        let moves = make.some(12);
        let grid = Length::um(make.grid);
        let mut bytes = write(grid, &moves).unwrap();
        let place = make.dice.below(bytes.len() as u64 + 1) as usize;
        match make.dice.below(4) {
            0 => bytes.insert(place, make.dice.next() as u8),
            1 => bytes.truncate(place),
            2 if place < bytes.len() => {
                bytes.remove(place);
            }
            _ if place < bytes.len() => bytes[place] ^= 1 << make.dice.below(8),
            _ => bytes.push(make.dice.next() as u8),
        }
        let (read, taken) = read_some(grid, &bytes);
        assert_eq!(write(grid, &read).as_deref(), Ok(&bytes[..taken]), "seed {seed}");
        changed += usize::from(read != moves && taken == bytes.len());
    }
    assert!(changed > 1_000, "only {changed} changes made another sequence");
}

#[track_caller]
fn refused(count: u32, text: &str, expected: DecodeFault, offset: usize) {
    let mut reader = CodeReader::new(Length::um(100), count, hex::bytes(text).into_iter()).unwrap();
    let error = reader.find_map(Result::err);
    assert_eq!(error, Some(expected.at(offset)), "{text}");
    assert_eq!(reader.next(), None, "an error is the last thing that is said");
}

#[test]
fn each_wrong_form_is_told_apart() {
    refused(1, "", DecodeFault::Short, 0);
    refused(2, "02", DecodeFault::Short, 1);
    refused(1, "7f 14 80", DecodeFault::Short, 3);
    refused(1, "02 03", DecodeFault::Trailing, 1);
    refused(0, "02", DecodeFault::Trailing, 0);
    for (code, text) in [
        (0, "00"),
        (1, "01"),
        (7, "07"),
        (0x0F, "0f"),
        (0x1C, "1c"),
        (0x1F, "1f"),
        (0x2C, "2c"),
        (0xB0, "b0"),
    ] {
        refused(2, &format!("02 {text}"), DecodeFault::Code(code), 1);
    }
    // The second code of a cut with any targets must be that of a go.
    refused(1, "28 02", DecodeFault::Code(2), 1);
    // 33 bits; six bytes.
    refused(1, "70 80 80 80 80 10", DecodeFault::Number, 1);
    refused(1, "70 80 80 80 80 80 00", DecodeFault::Number, 1);
    // 100.0001 m; 200.001 m/s; an act that is none.
    refused(1, "70 82 89 7a", DecodeFault::Range, 1);
    refused(1, "82 c1 9a 0c", DecodeFault::Range, 1);
    refused(1, "06 80 20", DecodeFault::Range, 0);
    // All 32 bits: the number can be read, the place is none.
    refused(1, "70 ff ff ff ff 0f", DecodeFault::Range, 1);
}

#[test]
fn a_second_form_is_refused() {
    for (text, why) in [
        ("70 94 00", "a number longer than it needs to be"),
        ("70 00", "a new end where the end before would do"),
        ("60", "the second end where the first would do"),
        ("4c 00", "a new step of none where the last step is none"),
        ("48", "the step back where the step again would do"),
        ("06 01", "one act as a set"),
        ("29 40", "the speed before last where the last would do"),
        ("82 00", "a new speed where the last would do"),
        ("83 e8 07", "whole millimetres written as micrometres"),
        ("28 50", "travel alone in the long form"),
    ] {
        let reader = CodeReader::new(Length::um(100), 1, hex::bytes(text).into_iter()).unwrap();
        let read = reader.collect::<Result<Vec<_>, _>>();
        assert_eq!(read, Err(DecodeFault::Form.at(0)), "{why}");
    }
}

#[test]
fn what_lies_off_the_grid_is_named() {
    let on = go(Some(100), Some(100), Some(100));
    let off = |axis| Err(EncodeError::OffGrid { index: 1, axis });
    let grid = Length::um(100);
    assert_eq!(
        write(grid, &[on, go(Some(150), Some(1), None)]),
        off(JobAxis::Travel)
    );
    assert_eq!(
        write(grid, &[on, go(Some(200), Some(199), Some(1))]),
        off(JobAxis::Across)
    );
    assert_eq!(write(grid, &[on, go(None, None, Some(-1))]), off(JobAxis::Height));
    assert_eq!(
        write(grid, &[on, Move::Cut(cut(1, 0, None))]),
        off(JobAxis::Travel)
    );
    for bad in [0, -1, 25_401] {
        assert_eq!(
            write(Length::um(bad), &[]),
            Err(EncodeError::Grid(Length::um(bad)))
        );
        assert!(CodeReader::new(Length::um(bad), 0, [].into_iter()).is_none());
    }
}

/// A move that lies off the grid leaves no byte behind, whatever its form.
#[test]
fn what_lies_off_the_grid_writes_nothing() {
    let off = Targets {
        height: Some(Position::um(1)),
        ..Targets::travel(Position::um(100))
    };
    let long = Cut {
        to: off,
        ..cut(0, 250_000, None)
    };
    for next in [Move::Go(off), Move::Cut(long), Move::Cut(cut(1, 250_000, None))] {
        let mut writer = CodeWriter::new(Length::um(100), Bytes::default()).unwrap();
        writer.push(Move::Spin(true)).unwrap();
        assert!(matches!(
            writer.push(next),
            Err(EncodeError::OffGrid { index: 1, .. })
        ));
        assert_eq!(writer.sink().0, [0x05], "{next:?}");
    }
}

/// A layer after a layer, as a powered mill saws it: the corner, flat outbound, swing, upright homebound, unload.
/// Strokes run out by the blade's own chord, so that ends differ with the depth of the pass.
fn boards(dice: &mut Dice, layers: i64, even_ends: bool) -> Vec<Move> {
    let um = |mm: i64| mm * 1_000;
    let forward = Some(Feed::Forward);
    let mut moves = vec![
        Move::Swing(Angle::Flat),
        Move::Spin(true),
        go(Some(um(200)), None, None),
    ];
    let mut height = um(dice.between(200, 600));
    for _ in 0..layers {
        let thick = um(dice.pick(&[25, 38, 50]));
        height -= thick + 5_300;
        let mut across = um(dice.between(-250, -100));
        for column in 0..dice.between(1, 6) {
            let wide = um(dice.pick(&[90, 140, 190])) + 5_300;
            across += wide;
            let past = |dice: &mut Dice| {
                if even_ends {
                    0
                } else {
                    100 * dice.between(-900, 900)
                }
            };
            moves.push(go(None, Some(across), (column == 0).then_some(height)));
            let feed = 1_000 * dice.between(150, 300) as u32;
            moves.push(Move::Cut(cut(
                um(5_000) + past(dice),
                if even_ends { 250_000 } else { feed },
                forward,
            )));
            moves.push(Move::Swing(Angle::Upright));
            let feed = 1_000 * dice.between(150, 300) as u32;
            moves.push(Move::Cut(cut(
                um(200) + past(dice),
                if even_ends { 300_000 } else { feed },
                forward,
            )));
            moves.push(crate::support::sample::hold(&[bunkside_protocol::Act::Unload]));
            moves.push(Move::Swing(Angle::Flat));
        }
    }
    moves
}

/// The goal is three bytes a move, header and records aside, also where every end and every feed is new.
#[test]
fn a_board_after_another_takes_few_bytes() {
    for (even_ends, most) in [(true, 1.5), (false, 3.0)] {
        let (mut bytes, mut count) = (0, 0);
        for seed in 0..500 {
            let moves = boards(&mut Dice::new(seed), 8, even_ends);
            bytes += write(Length::um(100), &moves).unwrap().len();
            count += moves.len();
        }
        let each = bytes as f64 / count as f64;
        println!("{each:.3} bytes a move");
        assert!(each <= most, "{each} bytes a move");
    }
}
