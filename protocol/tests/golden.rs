//! The bytes of format version 1, written out by hand. They are never taken from what the code gives: when one
//! of these tests fails, either the code is wrong or the format has changed and needs a new version.
//!
//! Numbers of the move code were worked out on paper from the tables of WIRE.md; check sums and the tag with a
//! second program (a bitwise CRC, and another BLAKE2s).

mod support;

use bunkside_protocol::job::code::{CodeReader, CodeWriter};
use bunkside_protocol::job::{
    DecodeFault, Digest, JobParts, JobReader, TagError, YardKey, encode, encoded_max, mill_digest,
};
use bunkside_protocol::{Act, Angle, Cut, Feed, Length, Move, Position, Speed};

use support::hex;
use support::sample::{cut, go, hold, small_log, small_moves, targets};

const GRID: Length = Length::um(100);

/// The small job without a tag.
const SMALL: &str = "
    42 55 4e 4b 01 00 33 00 36 2d 00 42 70 ec 21 d3
    64 00 00 00 13 00 00 00 26 00 00 00 a0 a1 a2 a3
    a4 a5 a6 a7 a8 a9 aa ab ac ad ae af dc f8 f8 24
    00 02 80 9f 49 00 90 a1 0f 80 d3 0e 80 d3 0e 00
    80 d9 80 04 90 4e 80 d0 0f c0 8b 11 a0 ec 10 cf
    0f 00 00 00 00 80 7d 00 8c 06 9c 4a 1e 00 d0 86
    03 00 00 2e b5 c0 a6 02 05 70 a0 1f 4f b0 09 90
    1c ae b0 de 05 fa 01 03 a2 ac 02 10 02 4c e8 07
    a0 03 a0 10 44 02 d2 fa 01 04 06 81 02 f9 99 67
    fc";

/// The small job tagged with the key 00 01 … 1f.
const TAGGED: &str = "
    42 55 4e 4b 01 01 33 00 36 2d 00 42 70 ec 21 d3
    64 00 00 00 13 00 00 00 26 00 00 00 a0 a1 a2 a3
    a4 a5 a6 a7 a8 a9 aa ab ac ad ae af d4 9e 4c 82
    00 02 80 9f 49 00 90 a1 0f 80 d3 0e 80 d3 0e 00
    80 d9 80 04 90 4e 80 d0 0f c0 8b 11 a0 ec 10 cf
    0f 00 00 00 00 80 7d 00 8c 06 9c 4a 1e 00 d0 86
    03 00 00 92 4d a8 53 02 05 70 a0 1f 4f b0 09 90
    1c ae b0 de 05 fa 01 03 a2 ac 02 10 02 4c e8 07
    a0 03 a0 10 44 02 d2 fa 01 04 06 81 02 f4 38 ef
    d9 4e 87 5e c2 eb 96 35 21 9d a3 d9 77 16 c4 c9
    10 33 68 81 ff";

fn yard_key() -> YardKey {
    YardKey::new(std::array::from_fn(|place| place as u8))
}

fn mill() -> Digest {
    Digest::from_bytes(std::array::from_fn(|place| 0xA0 + place as u8))
}

fn written(key: Option<&YardKey>) -> Vec<u8> {
    let (log, moves) = (small_log(), small_moves());
    let parts = JobParts {
        mill: mill(),
        grid: GRID,
        log: &log,
        moves: &moves,
        key,
    };
    let mut out = vec![0; encoded_max(moves.len())];
    let len = encode(&parts, &mut out).unwrap();
    out.truncate(len);
    out
}

#[test]
fn the_small_job_is_these_bytes() {
    assert_eq!(hex::text(&written(None)), hex::text(&hex::bytes(SMALL)));
    assert_eq!(
        hex::text(&written(Some(&yard_key()))),
        hex::text(&hex::bytes(TAGGED))
    );
}

/// Faces in the place of the four zeros, each a varint of twice its size, less one below zero: -110 000 is 219 999, which is
/// 5f + 80·36 + 4000·0d; 142 000 is 284 000, which is 60 + 80·2a + 4000·11.
#[test]
fn faces_are_told_side_by_side() {
    let mut log = small_log();
    log.sawn.entry = Some(Position::um(-110_000));
    log.sawn.bottom = Some(Position::ZERO);
    log.sawn.top = Some(Position::um(142_000));
    let (mut out, moves) = (vec![0; encoded_max(0)], []);
    let parts = JobParts {
        mill: mill(),
        grid: GRID,
        log: &log,
        moves: &moves,
        key: None,
    };
    let len = encode(&parts, &mut out).unwrap();
    let told = hex::bytes("01 df b6 0d 00 01 00 01 e0 aa 11 80 7d");
    assert_eq!(hex::text(&out[48 + 33..48 + 33 + told.len()]), hex::text(&told));
    assert_eq!(*JobReader::open(&out[..len]).unwrap().log(), log);
}

#[test]
fn these_bytes_are_the_small_job() {
    for (text, tagged) in [(SMALL, false), (TAGGED, true)] {
        let bytes = hex::bytes(text);
        let job = JobReader::open(&bytes).unwrap();
        assert_eq!(job.header().mill, mill());
        assert_eq!(job.header().grid, GRID);
        assert_eq!(job.header().move_count, 19);
        assert_eq!(job.header().code_len, 38);
        assert_eq!(job.header().tagged, tagged);
        assert_eq!(*job.log(), small_log());
        assert_eq!(job.moves().collect::<Result<Vec<_>, _>>().unwrap(), small_moves());
    }
}

#[test]
fn the_tag_is_made_by_one_key_only() {
    let (plain, tagged) = (hex::bytes(SMALL), hex::bytes(TAGGED));
    let tagged = JobReader::open(&tagged).unwrap();
    assert_eq!(tagged.verify_tag(&yard_key()), Ok(()));
    assert_eq!(tagged.verify_tag(&YardKey::new([0; 32])), Err(TagError::Wrong));
    assert_eq!(
        JobReader::open(&plain).unwrap().verify_tag(&yard_key()),
        Err(TagError::Missing)
    );
}

#[test]
fn every_flipped_bit_is_refused() {
    for text in [SMALL, TAGGED] {
        let golden = hex::bytes(text);
        let job = JobReader::open(&golden).unwrap();
        let log_sum = 48 + usize::from(job.header().log_len);
        let code_sum = log_sum + 4 + job.header().code_len as usize;
        for bit in 0..golden.len() * 8 {
            let mut bytes = golden.clone();
            bytes[bit / 8] ^= 1 << (bit % 8);
            let expected = match bit / 8 {
                0..4 => DecodeFault::Magic.at(0),
                4 => DecodeFault::Version(bytes[4]).at(4),
                8..16 => DecodeFault::Schema(u64::from_le_bytes(bytes[8..16].try_into().unwrap())).at(8),
                5..8 | 16..48 => DecodeFault::Crc.at(44),
                byte if byte < log_sum + 4 => DecodeFault::Crc.at(log_sum),
                byte if byte < code_sum + 4 => DecodeFault::Crc.at(code_sum),
                _ => DecodeFault::Crc.at(code_sum + 4 + 16),
            };
            assert_eq!(JobReader::open(&bytes).unwrap_err(), expected, "bit {bit}");
        }
    }
}

#[test]
fn every_truncation_and_every_extension_is_refused() {
    for text in [SMALL, TAGGED] {
        let golden = hex::bytes(text);
        for len in 0..golden.len() {
            let refused = JobReader::open(&golden[..len]).expect_err("a short job");
            let expected = if len < 4 {
                DecodeFault::Magic.at(0)
            } else {
                DecodeFault::Length.at(len)
            };
            assert_eq!(refused, expected);
        }
        for more in [&[0][..], &[0xFF], &[0; 4], &golden] {
            let bytes = [&golden, more].concat();
            assert_eq!(
                JobReader::open(&bytes).unwrap_err(),
                DecodeFault::Length.at(bytes.len())
            );
        }
    }
}

#[test]
fn digests_and_keys_are_shown_like_this() {
    assert_eq!(mill().to_string(), "a0a1a2a3a4a5a6a7a8a9aaabacadaeaf");
    assert_eq!(
        format!("{:?}", mill()),
        "Digest(a0a1a2a3a4a5a6a7a8a9aaabacadaeaf)"
    );
    assert_eq!(format!("{:?}", yard_key()), "YardKey(kept secret)");
}

/// Moves in a row, each with its bytes. A row begins with nothing remembered.
#[track_caller]
fn row(grid: i64, moves: &[(Move, &str)]) {
    let grid = Length::um(grid);
    let mut writer = CodeWriter::new(grid, heapless::Vec::<u8, 256>::new()).unwrap();
    let mut all = Vec::new();
    for (next, expected) in moves {
        let before = writer.sink().len();
        writer.push(*next).unwrap();
        assert_eq!(
            hex::text(&writer.sink()[before..]),
            hex::text(&hex::bytes(expected)),
            "{next:?}"
        );
        all.extend(hex::bytes(expected));
    }
    let count = u32::try_from(moves.len()).unwrap();
    let read = CodeReader::new(grid, count, all.into_iter())
        .unwrap()
        .collect::<Result<Vec<_>, _>>()
        .unwrap();
    assert_eq!(read, moves.iter().map(|(next, _)| *next).collect::<Vec<_>>());
}

#[test]
fn swings_and_spins() {
    row(
        100,
        &[
            (Move::Swing(Angle::Flat), "02"),
            (Move::Swing(Angle::Upright), "03"),
            (Move::Swing(Angle::Upright), "03"),
            (Move::Spin(false), "04"),
            (Move::Spin(true), "05"),
        ],
    );
}

#[test]
fn holds() {
    row(
        100,
        &[
            (hold(&[Act::Unload]), "10"),
            (hold(&[Act::WedgeLog]), "11"),
            (hold(&[Act::WedgeKerf]), "12"),
            (hold(&[Act::Dog]), "13"),
            (hold(&[Act::KnifeOn]), "14"),
            (hold(&[Act::KnifeOff]), "15"),
            (hold(&[Act::Measure]), "16"),
            (hold(&[Act::Reseat]), "17"),
            (hold(&[Act::Sweep]), "18"),
            (hold(&[Act::Sharpen]), "19"),
            (hold(&[Act::AidOn]), "1a"),
            (hold(&[Act::AidOff]), "1b"),
            // Bits 0 and 1; none; all twelve: 4095.
            (hold(&[Act::Unload, Act::WedgeLog]), "06 03"),
            (hold(&[]), "06 00"),
            (hold(&Act::ALL), "06 ff 1f"),
        ],
    );
}

#[test]
fn goes() {
    row(
        100,
        &[
            // Nowhere.
            (go(None, None, None), "40"),
            // To where every axis stands: the end before is 0 as well, and the last step was none.
            (go(Some(0), Some(0), Some(0)), "55"),
            // 10 steps out: 20. 64 steps across: 128. -65 steps in height: 129.
            (go(Some(1_000), Some(6_400), Some(-6_500)), "7f 14 80 01 81 01"),
            // The end before; the step again; the step back.
            (go(Some(0), Some(12_800), Some(0)), "56"),
            // A new end is counted from the end before, 1 000: +10 steps. Across stays: a step of 0 is a new one.
            (go(Some(2_000), Some(12_800), None), "7c 14 00"),
            // The end two before; the height goes on from its last step, which was up.
            (go(Some(1_000), None, Some(6_500)), "61"),
        ],
    );
}

#[test]
fn cuts_along_the_rails() {
    let climb = Some(Feed::Climb);
    let release = |cut: Cut| Move::Cut(Cut { release: true, ..cut });
    row(
        1_000,
        &[
            // 100 steps: 200. 50 mm/s. No label.
            (Move::Cut(cut(100_000, 50_000, None)), "8e c8 01 32"),
            // The end before, the same speed.
            (Move::Cut(cut(0, 50_000, None)), "80"),
            // Another label has speeds of its own: 50 001 µm/s is not in whole millimetres.
            (Move::Cut(cut(100_000, 50_001, climb)), "93 d1 86 03"),
            // A release; speed zero is what was used there before.
            (release(cut(0, 0, climb)), "d1"),
            // Upright has speeds of its own as well.
            (Move::Swing(Angle::Upright), "03"),
            (release(cut(100_000, 0, Some(Feed::Forward))), "e0"),
            // -300 steps, counted from the end before, 0: 599.
            (Move::Cut(cut(-300_000, 1_000, None)), "8e d7 04 01"),
            // Ends are now -300, 100, 0: the second before.
            (Move::Cut(cut(0, 1_000, None)), "84"),
            // Ends are now 0, -300, 100, 0: the last is left from the start, so that the third before is where it stands.
            (Move::Cut(cut(0, 1_000, None)), "88"),
            // 307 steps from the end before, -300.
            (Move::Cut(cut(7_000, 1_000, None)), "8c e6 04"),
            // Ends are now 7, 0, -300, 100: the third before.
            (Move::Cut(cut(100_000, 1_000, None)), "88"),
            // Ends are now 100, 7, 0, -300: where the carriage stands is 93 steps from the end before.
            (Move::Cut(cut(100_000, 1_000, None)), "8c ba 01"),
        ],
    );
}

#[test]
fn cuts_with_other_targets() {
    let any = |travel, across, height, speed, release| {
        Move::Cut(Cut {
            to: targets(travel, across, height),
            speed: Speed::mm_per_s(speed),
            feed: Some(Feed::Forward),
            release,
        })
    };
    row(
        100,
        &[
            // No target at all.
            (any(None, None, None, 0, false), "28 40"),
            // Down, which only a stranger would ask for.
            (any(None, None, Some(-1_000), 20, false), "2a 43 13 14"),
            // All three at once, as a release.
            (any(Some(500), Some(100), Some(-2_000), 20, true), "38 7d 0a 02"),
        ],
    );
}

#[test]
fn the_largest_numbers() {
    let far = 100_000_000;
    let all = |to: i64, speed| {
        Move::Cut(Cut {
            to: targets(Some(to), Some(to), Some(-to)),
            speed: Speed::um_per_s(speed),
            feed: None,
            release: false,
        })
    };
    // 100 000 000 steps out: 200 000 000; back over twice as many: 399 999 999. The end before was 0.
    row(
        1,
        &[
            (
                all(far, 199_999_999),
                "23 7f 80 84 af 5f 80 84 af 5f ff 83 af 5f ff 83 af 5f",
            ),
            (all(-far, 0), "21 7f ff 83 af 5f ff 87 de be 01 80 88 de be 01"),
        ],
    );
}

/// The digest of a mill is BLAKE2s over the postcard bytes of its record.
#[test]
fn a_digest_runs_over_the_record_s_bytes() {
    use blake2::{Blake2s128, Digest as _};
    for seed in 0..50 {
        let mill = support::sample::mill(seed);
        let mut bytes = [0; 4096];
        let bytes = postcard::to_slice(&mill, &mut bytes).unwrap();
        assert_eq!(
            mill_digest(&mill).to_bytes(),
            <[u8; 16]>::from(Blake2s128::digest(bytes))
        );
    }
}
