//! The stored job around the moves: records, the log, lengths, lent buffers.

use bunkside_protocol::job::{
    CRC_LEN, DecodeFault, Digest, EncodeError, HEADER_LEN, JobAxis, JobParts, JobReader, JobWriter,
    RECORD_MAX, YardKey, decode_mill, encode, encode_mill, encoded_max, mill_digest,
};
use bunkside_protocol::log::{
    BED_CLEARANCE, BETWEEN_BUNKS, CUTTING_ENERGY, DENSITY, Figure, OutOfRange, STIFFNESS,
};
use bunkside_protocol::{Length, LogRecord, Move};

use crate::codec;
use crate::forge;
use crate::support::dice::Dice;
use crate::support::sample::{self, go};

fn parts<'a>(log: &'a LogRecord, moves: &'a [Move], key: Option<&'a YardKey>) -> JobParts<'a> {
    JobParts {
        mill: Digest::from_bytes([0x5A; 16]),
        grid: Length::um(100),
        log,
        moves,
        key,
    }
}

fn stored(parts: &JobParts<'_>) -> Vec<u8> {
    let mut out = vec![0xEE; encoded_max(parts.moves.len())];
    let len = encode(parts, &mut out).unwrap();
    out.truncate(len);
    out
}

fn again(bytes: &[u8], key: Option<&YardKey>) -> Vec<u8> {
    let job = JobReader::open(bytes).unwrap();
    let moves = job.moves().collect::<Result<Vec<_>, _>>().unwrap();
    let parts = JobParts {
        mill: job.header().mill,
        grid: job.header().grid,
        ..parts(job.log(), &moves, key)
    };
    stored(&parts)
}

/// Far apart, so that each takes several bytes.
fn many(count: usize) -> Vec<Move> {
    let mut dice = Dice::new(count as u64);
    let mut place = || Some(100 * dice.between(-500_000, 500_000));
    (0..count).map(|_| go(place(), place(), place())).collect()
}

#[test]
fn any_log_and_any_length_come_back() {
    let key = YardKey::new([3; 32]);
    for (seed, count) in (0..).zip([0, 1, 2, 370, 371, 372, 373, 374, 375, 376, 1_000, 3_000]) {
        let (log, moves) = (sample::log(seed), many(count));
        for key in [None, Some(&key)] {
            let bytes = stored(&parts(&log, &moves, key));
            let job = JobReader::open(&bytes).unwrap();
            assert_eq!(*job.log(), log);
            assert_eq!(job.moves().left() as usize, count);
            assert_eq!(job.moves().collect::<Result<Vec<_>, _>>(), Ok(moves.clone()));
            assert_eq!(again(&bytes, key), bytes);
            assert_eq!(job.verify_tag(&YardKey::new([3; 32])).is_ok(), key.is_some());
        }
    }
}

/// One of a log's numbers.
type Of = fn(&mut LogRecord) -> &mut u16;

/// The ranges of the job file hold for records too: at their ends a job is read, one beyond it is not.
#[test]
fn figures_that_no_log_has_are_refused() {
    let opened = |set: &dyn Fn(&mut LogRecord)| {
        let mut log = sample::small_log();
        set(&mut log);
        let bytes = stored(&parts(&log, &[], None));
        JobReader::open(&bytes).map(drop)
    };
    let numbers: [(Figure, Of); 3] = [
        (DENSITY, |log| &mut log.density),
        (STIFFNESS, |log| &mut log.stiffness),
        (CUTTING_ENERGY, |log| &mut log.cutting_energy),
    ];
    for (figure, of) in numbers {
        for (found, good) in [
            (figure.least, true),
            (figure.most, true),
            (figure.least - 1, false),
            (figure.most + 1, false),
            (0, false),
            (65_535, false),
        ] {
            let wrong = DecodeFault::Figure(OutOfRange { figure, found }).at(HEADER_LEN);
            let expected = if good { Ok(()) } else { Err(wrong) };
            let read = opened(&|log| *of(log) = u16::try_from(found).unwrap());
            assert_eq!(read, expected, "{found} {}", figure.unit);
        }
    }
    for (um, found) in [(0, None), (500_000, None), (-1, Some(-1)), (500_001, Some(501))] {
        let length = Length::um(um);
        let wrong = |figure, found| Err(DecodeFault::Figure(OutOfRange { figure, found }).at(HEADER_LEN));
        let expected = |figure| found.map_or(Ok(()), |found| wrong(figure, found));
        assert_eq!(opened(&|log| log.bed_clearance = length), expected(BED_CLEARANCE));
        assert_eq!(
            opened(&|log| log.between_bunks = Some(length)),
            expected(BETWEEN_BUNKS)
        );
    }
    let text = opened(&|log| log.cutting_energy = 0).unwrap_err();
    assert_eq!(
        format!("{text}"),
        "byte 48: the log's cutting energy of 0 J/cm3 is not between 5 and 200 J/cm3"
    );
}

/// Records are cut after exactly 4 092 bytes, also where a move runs across, and a last full one has none after it.
#[test]
fn records_are_cut_by_count() {
    for code_len in [
        1,
        RECORD_MAX - 1,
        RECORD_MAX,
        RECORD_MAX + 1,
        2 * RECORD_MAX,
        2 * RECORD_MAX + 1,
    ] {
        // One byte a move; then one move of four bytes across the first cut.
        for wide in [false, true] {
            let mut moves = vec![Move::Spin(true); code_len];
            if wide && code_len > RECORD_MAX {
                moves.truncate(code_len - 3);
                moves[RECORD_MAX - 3] = go(Some(1_000_000), None, None);
            }
            let log = sample::small_log();
            let bytes = stored(&parts(&log, &moves, None));
            let mut log_bytes = [0; 128];
            let log_bytes = postcard::to_slice(&log, &mut log_bytes).unwrap();
            let expected = forge::job(&forge::Parts {
                flags: 0,
                grid: 100,
                count: moves.len() as u32,
                log: log_bytes,
                code: &codec::write(Length::um(100), &moves).unwrap(),
                tag: None,
            });
            assert!(bytes == expected, "{code_len} bytes, {wide}");
            assert_eq!(again(&bytes, None), bytes);
        }
    }
}

#[test]
fn a_job_goes_into_a_buffer_of_its_size_and_no_smaller() {
    let (log, moves, key) = (sample::log(1), many(400), YardKey::new([9; 32]));
    for key in [None, Some(&key)] {
        let parts = parts(&log, &moves, key);
        let expected = stored(&parts);
        for len in 0..expected.len() {
            assert_eq!(encode(&parts, &mut vec![0; len]), Err(EncodeError::Full), "{len}");
        }
        let mut out = vec![0; expected.len()];
        assert_eq!(encode(&parts, &mut out), Ok(expected.len()));
        assert_eq!(out, expected);
    }
}

/// Header 48, log 4 092 + 4, tag 16 + 4, then 21 bytes a move and a sum for each record begun.
#[test]
fn the_largest_size_is_added_up() {
    assert_eq!(encoded_max(0), 4_164);
    assert_eq!(encoded_max(1), 4_164 + 21 + 4);
    assert_eq!(encoded_max(195), 4_164 + 4_095 + 8);
    assert_eq!(encoded_max(usize::MAX), usize::MAX);
}

#[test]
fn a_writer_that_met_an_error_seals_nothing() {
    let off = EncodeError::OffGrid {
        index: 1,
        axis: JobAxis::Across,
    };
    let mut out = [0; 1024];
    let mill = Digest::from_bytes([0; 16]);
    let mut writer = JobWriter::new(mill, Length::um(100), &sample::small_log(), &mut out).unwrap();
    writer.push(Move::Spin(true)).unwrap();
    assert_eq!(writer.push(go(None, Some(1), None)), Err(off));
    assert_eq!(writer.push(Move::Spin(true)), Err(off));
    assert_eq!(writer.finish(None), Err(off));
}

#[test]
fn a_job_is_for_one_mill() {
    let (one, other) = (sample::mill(1), sample::mill(2));
    let log = sample::small_log();
    let parts = JobParts {
        mill: mill_digest(&one),
        ..parts(&log, &[], None)
    };
    let bytes = stored(&parts);
    let job = JobReader::open(&bytes).unwrap();
    assert!(job.is_for(&one));
    assert!(!job.is_for(&other));
}

/// A profile has one written form: any byte lost, added or spoilt gives another profile or none.
#[test]
fn a_mill_comes_back_from_its_bytes() {
    for seed in 0..50 {
        let mill = sample::mill(seed);
        let mut out = [0; 4096];
        let len = encode_mill(&mill, &mut out).unwrap();
        let bytes = &mut out[..=len];
        assert_eq!(decode_mill(&bytes[..len]), Ok(mill.clone()));
        assert_eq!(encode_mill(&mill, &mut vec![0; len - 1]), Err(EncodeError::Full));
        let none = Err(DecodeFault::Mill.at(0));
        assert_eq!(decode_mill(&bytes[..len - 1]), none);
        assert_eq!(decode_mill(bytes), none);
        for place in 0..len {
            bytes[place] ^= 0x80;
            assert_ne!(decode_mill(&bytes[..len]), Ok(mill.clone()));
            bytes[place] ^= 0x80;
        }
    }
}

/// Records of one job, three full ones and a rest.
fn long_job(seed: u64) -> (Vec<u8>, usize) {
    let log = sample::small_log();
    let mut moves = many(1_400);
    moves[0] = go(Some(100 * seed as i64), None, None);
    let bytes = stored(&parts(&log, &moves, None));
    let job = JobReader::open(&bytes).unwrap();
    (
        bytes.clone(),
        HEADER_LEN + usize::from(job.header().log_len) + CRC_LEN,
    )
}

#[test]
fn records_cannot_be_moved_lost_or_taken_from_elsewhere() {
    const STEP: usize = RECORD_MAX + CRC_LEN;
    let (bytes, code) = long_job(70_000);
    let (other, _) = long_job(70_001);
    assert_eq!(bytes.len(), other.len());
    assert!(bytes.len() > code + 3 * STEP);

    let mut swapped = bytes.clone();
    swapped[code..code + 2 * STEP].rotate_left(STEP);
    assert_eq!(
        JobReader::open(&swapped).unwrap_err(),
        DecodeFault::Crc.at(code + RECORD_MAX)
    );

    let mut spliced = bytes.clone();
    spliced[code + STEP..].copy_from_slice(&other[code + STEP..]);
    assert_eq!(
        JobReader::open(&spliced).unwrap_err(),
        DecodeFault::Crc.at(code + STEP + RECORD_MAX)
    );

    let mut lost = bytes.clone();
    lost.drain(code + STEP..code + 2 * STEP);
    assert_eq!(
        JobReader::open(&lost).unwrap_err(),
        DecodeFault::Length.at(lost.len())
    );

    let mut headed = bytes.clone();
    headed[..HEADER_LEN].copy_from_slice(&stored(&parts(&sample::small_log(), &[], None))[..HEADER_LEN]);
    assert_eq!(
        JobReader::open(&headed).unwrap_err(),
        DecodeFault::Length.at(bytes.len())
    );
}

/// Flips of one to five bits, and bursts, anywhere in a job of several records.
#[test]
fn damage_to_a_long_job_is_refused() {
    let (bytes, _) = long_job(1);
    let mut dice = Dice::new(11);
    for _ in 0..4_000 {
        let mut damaged = bytes.clone();
        if dice.once_in(2) {
            for _ in 0..dice.between(1, 5) {
                let bit = dice.below(bytes.len() as u64 * 8) as usize;
                damaged[bit / 8] ^= 1 << (bit % 8);
            }
        } else {
            let start = dice.below(bytes.len() as u64) as usize;
            let end = bytes.len().min(start + 1 + dice.below(200) as usize);
            damaged[start..end]
                .iter_mut()
                .for_each(|byte| *byte = dice.next() as u8);
        }
        assert!(damaged == bytes || JobReader::open(&damaged).is_err());
    }
}

/// With check sums that fit, header, log and moves are still looked at one by one.
#[test]
fn wrong_parts_behind_good_check_sums_are_refused() {
    let log = sample::small_log();
    let mut space = [0; 128];
    let log = &*postcard::to_slice(&log, &mut space).unwrap();
    let good = forge::Parts {
        flags: 0,
        grid: 100,
        count: 2,
        log,
        code: &[0x02, 0x05],
        tag: None,
    };
    assert!(JobReader::open(&forge::job(&good)).is_ok());
    let refused = |parts: forge::Parts<'_>| JobReader::open(&forge::job(&parts)).unwrap_err();
    let code_at = HEADER_LEN + log.len() + CRC_LEN;

    for flags in (2..=255).step_by(2) {
        assert_eq!(
            refused(forge::Parts { flags, ..good }),
            DecodeFault::Flags(flags).at(5)
        );
    }
    for grid in [0, 25_401, u32::MAX] {
        assert_eq!(refused(forge::Parts { grid, ..good }), DecodeFault::Grid.at(16));
    }
    for grid in [1, 25_400] {
        let bytes = forge::job(&forge::Parts { grid, ..good });
        assert_eq!(
            JobReader::open(&bytes).unwrap().header().grid,
            Length::um(i64::from(grid))
        );
    }
    // The longest record that a log may have, and one byte more.
    for (len, offset) in [(RECORD_MAX, HEADER_LEN), (RECORD_MAX + 1, 6)] {
        let log = &vec![0; len];
        assert_eq!(refused(forge::Parts { log, ..good }), DecodeFault::Log.at(offset));
    }
    assert_eq!(
        refused(forge::Parts { count: 1, ..good }),
        DecodeFault::Trailing.at(code_at + 1)
    );
    assert_eq!(
        refused(forge::Parts { count: 3, ..good }),
        DecodeFault::Short.at(code_at + 2)
    );
    assert_eq!(
        refused(forge::Parts { count: 0, ..good }),
        DecodeFault::Trailing.at(code_at)
    );

    // A log that is cut short, has a byte too many, or an over-long number at its end.
    let long = [log, &[0]].concat();
    let mut wide = log.to_vec();
    let last = wide.pop().unwrap();
    wide.extend([last | 0x80, 0]);
    for log in [&log[..log.len() - 1], &long, &wide, &[]] {
        assert_eq!(
            refused(forge::Parts { log, ..good }),
            DecodeFault::Log.at(HEADER_LEN)
        );
    }
    // A flag without a tag, a tag without its flag.
    let bytes = forge::job(&forge::Parts { flags: 1, ..good });
    assert_eq!(
        JobReader::open(&bytes).unwrap_err(),
        DecodeFault::Length.at(bytes.len())
    );
    let bytes = forge::job(&forge::Parts {
        tag: Some([0; 16]),
        ..good
    });
    assert_eq!(
        JobReader::open(&bytes).unwrap_err(),
        DecodeFault::Length.at(bytes.len())
    );
}

/// An error in a later record is told at its place in the job, check sums counted.
#[test]
fn errors_behind_a_cut_are_told_at_their_place() {
    let mut space = [0; 128];
    let log = &*postcard::to_slice(&sample::small_log(), &mut space).unwrap();
    let mut code = vec![0x05; RECORD_MAX + 10];
    code[RECORD_MAX + 3] = 0x01;
    let bytes = forge::job(&forge::Parts {
        flags: 0,
        grid: 100,
        count: code.len() as u32,
        log,
        code: &code,
        tag: None,
    });
    let at = HEADER_LEN + log.len() + CRC_LEN + RECORD_MAX + CRC_LEN + 3;
    assert_eq!(JobReader::open(&bytes).unwrap_err(), DecodeFault::Code(1).at(at));
}

/// Random parts behind good check sums: read or refused, never a panic, and what is read has one form.
#[test]
fn any_parts_are_read_in_their_one_form_or_refused() {
    let mut dice = Dice::new(5);
    let mut read = 0;
    for seed in 0..30_000 {
        let mut space = [0; 4096];
        let log = postcard::to_slice(&sample::log(seed), &mut space).unwrap();
        if dice.once_in(2) {
            let place = dice.below(log.len() as u64) as usize;
            log[place] ^= 1 << dice.below(8);
        }
        let code: Vec<u8> = (0..dice.below(4)).map(|_| dice.next() as u8).collect();
        let bytes = forge::job(&forge::Parts {
            flags: 0,
            grid: 100,
            count: dice.below(4) as u32,
            log,
            code: &code,
            tag: None,
        });
        if JobReader::open(&bytes).is_ok() {
            read += 1;
            assert_eq!(again(&bytes, None), bytes);
        }
    }
    assert!(read > 1_000, "only {read} were read");
}

/// Bytes that begin like a job and go on at random.
#[test]
fn random_bytes_are_refused() {
    let mut dice = Dice::new(6);
    for _ in 0..100_000 {
        let mut bytes: Vec<u8> = (0..dice.below(200)).map(|_| dice.next() as u8).collect();
        for (place, byte) in bytes.iter_mut().zip(*b"BUNK\x01") {
            *place = byte;
        }
        assert!(JobReader::open(&bytes).is_err());
    }
}

/// Whoever changes a byte and puts the check sums right again still has no tag for it.
#[test]
fn a_tag_covers_every_byte_before_it() {
    let key = YardKey::new([7; 32]);
    let (log, moves) = (sample::small_log(), sample::small_moves());
    let good = stored(&parts(&log, &moves, Some(&key)));
    let tag = good[good.len() - CRC_LEN - 16..][..16].try_into().unwrap();
    let mut space = [0; 128];
    let log = &*postcard::to_slice(&log, &mut space).unwrap();
    let code = codec::write(Length::um(100), &moves).unwrap();
    let forged = |grid, log: &[u8], code: &[u8]| {
        forge::job(&forge::Parts {
            flags: 1,
            grid,
            count: moves.len() as u32,
            log,
            code,
            tag: Some(tag),
        })
    };
    assert_eq!(forged(100, log, &code), good);
    let mut vouched = 0;
    let mut read = 0;
    let mut look = |bytes: Vec<u8>| {
        if let Ok(job) = JobReader::open(&bytes) {
            read += 1;
            vouched += usize::from(job.verify_tag(&key).is_ok());
        }
    };
    for grid in (50..100).chain(101..200) {
        look(forged(grid, log, &code));
    }
    for bit in 0..8 * (log.len() + code.len()) {
        let (mut log, mut code) = (log.to_vec(), code.clone());
        match log.get_mut(bit / 8) {
            Some(byte) => *byte ^= 1 << (bit % 8),
            None => code[bit / 8 - log.len()] ^= 1 << (bit % 8),
        }
        look(forged(100, &log, &code));
    }
    assert!(read > 200, "only {read} forgeries were jobs at all");
    assert_eq!(vouched, 0);
}
