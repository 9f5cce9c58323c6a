//! From which side logs are rolled on, and how far off the next one waits.

use bunkside::measure::{Rules, System, length};
use bunkside::setting::{Hand, Sheet, Way};
use bunkside::trace::Trace;
use bunkside_planner::replay::Setup;
use bunkside_protocol::mill::{Box3, Side};
use bunkside_protocol::{Angle, Cut, Length, Move, Position, Speed, Targets};

use super::{job, lying};

/// Logs come from the entry side, and from the exit side where a dog bars only the former; the mill says on which hand.
#[test]
fn logs_are_staged_where_nothing_bars_the_way() {
    let dog = |across: [i32; 2]| Box3 {
        min: [870, across[0], 0].map(Position::mm),
        max: [930, across[1], 20].map(Position::mm),
    };
    let (entry, exit) = (dog([-180, -130]), dog([130, 180]));
    for (dogs, side, barred) in [
        (vec![], Way::Entry, false),
        (vec![exit], Way::Entry, false),
        (vec![entry], Way::Exit, false),
        (vec![entry, exit], Way::Entry, true),
    ] {
        for (hand, other, on) in [
            (Hand::Left, Hand::Right, Side::Left),
            (Hand::Right, Hand::Left, Side::Right),
        ] {
            let mut job = job([300, 300], "", "", &[900, 3_000, 5_100]);
            job.mill.dogs = dogs.iter().copied().collect();
            job.mill.entry = on;
            let staging = lying(&job.mill, &job.log).staging;
            assert_eq!((staging.side, staging.barred), (side, barred));
            let expected = if side == Way::Entry { hand } else { other };
            assert_eq!(staging.hand, expected);
        }
    }
}

/// The blade lies flat with its corner over the bed's centre line, 200 mm up, past the whole log of 300 mm. Its housing reaches
/// 700 mm from the corner to the entry side and 60 mm to 420 mm over it, below the log's top: with 5 mm of clearance
/// 705 mm. On the exit side nothing of it stands out, so the log's own edge counts, 150 mm. Higher than the log the
/// housing passes over. A blade without any head reaches its diameter to the entry side: 560 + 5 mm.
#[test]
fn the_next_log_waits_clear_of_blade_and_head() {
    let clear = |height: i32, dogs: &[[i32; 2]], head: bool| {
        let mut job = job([300, 300], "", "", &[900, 3_000, 5_100]);
        for across in dogs {
            let dog = Box3 {
                min: [870, across[0], 0].map(Position::mm),
                max: [930, across[1], 20].map(Position::mm),
            };
            job.mill.dogs.push(dog).unwrap();
        }
        if !head {
            job.mill.head.iter_mut().for_each(|boxes| boxes.clear());
        }
        let setup = Setup::new(&job.mill, &job.log).unwrap();
        let cut = Cut {
            to: Targets::travel(Position::mm(6_000)),
            speed: Speed::mm_per_s(100),
            feed: None,
            release: false,
        };
        let moves = [
            Move::Spin(true),
            Move::Swing(Angle::Flat),
            Move::Go(Targets::corner(Position::ZERO, Position::mm(height))),
            Move::Cut(cut),
        ];
        Sheet::of(&setup, &Trace::run(&setup, &moves), None)
            .staging
            .clear_um
    };
    assert_eq!(clear(200, &[], true), Length::mm(705));
    assert_eq!(clear(200, &[], false), Length::mm(565));
    assert_eq!(clear(200, &[[-180, -130]], true), Length::mm(150));
    assert_eq!(clear(310, &[], true), Length::mm(150));
}

/// The underside of the log rises by half its taper where its centre line is level, and not at all where it is itself.
#[test]
fn bearers_are_level_with_what_is_packed() {
    for (level, tops) in [("centre", [3_125, 46_875]), ("bottom", [0, 0])] {
        let job = job(
            [400, 300],
            "",
            &format!("level = \"{level}\""),
            &[900, 3_000, 5_100],
        );
        let bearers = lying(&job.mill, &job.log).staging.bearers;
        let found: Vec<i32> = bearers.iter().map(|one| one.top_um.as_um()).collect();
        assert_eq!(found, tops, "{level}");
    }
}

/// A figure that people keep clear by is never told shorter than it is, in either system.
#[test]
fn no_clearance_is_told_short() {
    let job = job([300, 300], "", "", &[900, 3_000, 5_100]);
    let mut staging = lying(&job.mill, &job.log).staging;
    for um in (700_000..760_000).step_by(331) {
        staging.clear_um = Length::um(um);
        for system in [System::Metric, System::Inches] {
            let told = system.run(staging.clear_told());
            let read = length(&told, Rules::POSITIVE).unwrap().value;
            assert!(read >= staging.clear_um, "{told} {um}");
        }
    }
}
