//! Logs that are partly sawn, told anew.

use bunkside_planner::audit::Verdict;
use bunkside_planner::geometry::Interval;
use bunkside_planner::layout::exact::{Core, Heart};
use bunkside_protocol::mill::Box3;
use bunkside_protocol::{LogRecord, Position};

use super::*;
use crate::account::boards::Boards;
use crate::order::tests::random::{Chance, log, mill};
use crate::order::tests::{example, seeds};
use crate::planned::{Planned, lay_out, lay_out_plainly};

/// Metal somewhere in a log.
fn nail(chance: &mut Chance, log: &LogRecord) -> Box3 {
    let [first, .., last] = log.stations.as_slice() else {
        panic!("a log has two stations")
    };
    let along = first.travel + Length::um((last.travel - first.travel).wide() * chance.within(5, 90) / 100);
    let half = first.half_width.min(last.half_width).wide();
    let across = first.centre_across + Length::um(half * chance.within(-80, 80) / 100);
    let height = first.centre_height + Length::um(half * chance.within(-60, 90) / 100);
    Box3 {
        min: [along, across, height],
        max: [
            along + Length::mm(40),
            across + Length::mm(6),
            height + Length::mm(6),
        ],
    }
}

/// What somebody finds out about a log, or wants of it, once it is begun.
fn surprised(chance: &mut Chance, job: &Job, log: Interval) -> Job {
    let mut job = job.clone();
    if chance.one_in(2) {
        job.core = Some(Core {
            travel: Interval::new(
                log.lo,
                log.lo + Length::um(log.length().wide() * chance.within(30, 100) / 100),
            ),
            thick: chance.mm(20, 80),
        });
        for board in &mut job.boards {
            board.core = if chance.one_in(3) {
                Heart::Any
            } else {
                Heart::Clear
            };
        }
    }
    if chance.one_in(3) {
        let nail = nail(chance, &job.log);
        job.log.metal.push(nail).unwrap();
    }
    for board in &mut job.boards {
        if chance.one_in(4) {
            board.most = Some(u32::try_from(chance.within(0, 4)).unwrap());
        }
        if chance.one_in(4) {
            for value in &mut board.values {
                *value = *value * chance.within(20, 300) / 100;
            }
        }
        if chance.one_in(4) {
            board.thickness = chance.mm(20, 60);
        }
    }
    job
}

/// A job on a random log and mill.
fn random(chance: &mut Chance) -> Job {
    let mut job = example("b-01");
    job.mill = mill(chance);
    job.log = log(chance, &mut job.mill, (180, 420), (4_950, 5_400));
    job
}

/// Wherever a sequence is broken off, and whatever is found then: what follows passes every rule, or why there is nothing is told. The
/// moves that are done stay as they are. `BUNKSIDE_RUNS` for more of them.
#[test]
fn what_stands_of_random_logs_is_sawn_on_and_never_refused() {
    let (mut planned_on, mut nothing, mut obstacle, mut unfit, mut past) = (0, 0, 0, 0, 0);
    for seed in seeds(30) {
        let mut chance = Chance::new(seed + 210_000);
        let job = random(&mut chance);
        let setup = Setup::new(&job.mill, &job.log).unwrap();
        let Ok(plan) = lay_out_plainly(&job, &setup) else {
            continue;
        };
        let Ok(first) = Planned::new(&job, &setup, &plan) else {
            continue;
        };
        let done = usize::try_from(chance.within(0, i64::try_from(first.moves.len()).unwrap())).unwrap();
        let job = surprised(&mut chance, &job, setup.shape.travel());
        let setup = Setup::new(&job.mill, &job.log).unwrap();
        let begun = match Begun::of(&job, &setup, &first.moves, done) {
            Ok(begun) => begun,
            Err(why) => {
                println!("{seed}: {why:?}");
                unfit += 1;
                continue;
            }
        };
        let off: u32 = begun.off.iter().sum();
        let job = begun.rest_of(job.clone());
        let Ok(plan) = lay_out(&job, &setup) else {
            nothing += 1;
            continue;
        };
        match Planned::new(&job, &setup, &plan) {
            Ok(on) => {
                assert_ne!(
                    on.trace.verdict,
                    Verdict::Refused,
                    "{seed}: {done} {:?}",
                    on.trace.findings
                );
                assert_eq!(on.moves[..done], first.moves[..done], "{seed}");
                let boards = Boards::of(&on);
                assert!(boards.spoilt.is_empty(), "{seed}: {done} {:?}", boards.spoilt);
                past += usize::from(!on.trace.past.is_empty());
                println!(
                    "{seed}: {done} of {} done, {off} off, {} on",
                    first.moves.len(),
                    boards.count()
                );
                planned_on += 1;
            }
            Err(error) => {
                println!("{seed}: {done} {error}");
                obstacle += 1;
            }
        }
    }
    println!(
        "{planned_on} planned on, {past} of them past metal; {nothing} bring nothing more, {obstacle} obstacles, {unfit} unfit"
    );
    assert!(planned_on > 8, "{planned_on}");
}

/// A log that is broken off between any two of its moves brings no more boards than before, counts each that is off, and goes on.
#[test]
fn a_log_is_gone_on_with_after_any_move() {
    let mut job = example("g-04");
    let (moves, counts) = {
        let setup = Setup::new(&job.mill, &job.log).unwrap();
        let plan = lay_out(&job, &setup).unwrap();
        let planned = Planned::new(&job, &setup, &plan).unwrap();
        (planned.moves.clone(), Boards::of(&planned).count())
    };
    job.core = Some(Core {
        travel: Interval::new(Position::mm(600), Position::mm(4_260)),
        thick: Length::mm(60),
    });
    let (mut off, mut finished, mut on) = (0, 0, 0);
    for done in 0..=moves.len() {
        let setup = Setup::new(&job.mill, &job.log).unwrap();
        let begun = Begun::of(&job, &setup, &moves, done).unwrap();
        let now = begun.off.iter().sum();
        assert!(now >= off && now <= counts, "{done}: {off} {now}");
        finished += usize::from(begun.moves.len() > done);
        off = now;
        let job = begun.rest_of(job.clone());
        let Ok(plan) = lay_out(&job, &setup) else { continue };
        let planned = Planned::new(&job, &setup, &plan).unwrap();
        assert_ne!(
            planned.trace.verdict,
            Verdict::Refused,
            "{done}: {:?}",
            planned.trace.findings
        );
        assert!(planned.trace.past.is_empty(), "{done}");
        assert_eq!(planned.moves[..done], moves[..done]);
        let boards = Boards::of(&planned);
        assert!(
            boards.spoilt.is_empty() && boards.larger.is_empty(),
            "{done}: {boards:?}"
        );
        on += 1;
    }
    assert!(finished > 20 && on > 80, "{finished} {on}");
    // Those with the core in them do not count, though they are off.
    assert!(off < counts, "{off} {counts}");
    let job = example("g-04");
    let setup = Setup::new(&job.mill, &job.log).unwrap();
    let all = Begun::of(&job, &setup, &moves, moves.len()).unwrap();
    assert_eq!(all.off.iter().sum::<u32>(), counts);
    // What is off, and what the rest of the moves would bring, is all that they bring.
    for done in (0..moves.len()).step_by(5) {
        let begun = Begun::of(&job, &setup, &moves, done).unwrap();
        let onward = begun.onward.unwrap();
        let both = begun.off.iter().zip(&onward.boards).map(|(off, on)| off + on);
        assert_eq!(both.collect::<Vec<_>>(), all.off, "{done}");
        let worth = job.boards.iter().zip(&onward.boards);
        let most: i64 = worth
            .map(|(spec, on)| i64::from(*on) * spec.values.iter().max().unwrap())
            .sum();
        assert!(onward.worth <= most && (onward.worth > 0) == (most > 0), "{done}");
    }
    assert_eq!(all.onward, None);
}
