//! From which side logs are rolled on, and how far off the next one waits.

use bunkside::measure::{Rules, System, length};
use bunkside::setting::words::Words;
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

/// A log of 500 mm that is pushed over a chock 50 mm high takes 3/4 of its weight: F / W = √(h (2 R - h)) / (R - h), so that
/// the chock is met 150 mm from the lowest line (Machinery's Handbook style; from memory). Wedges that reach so far and
/// stand higher are met there, lower ones at their tops; √(4 g h / 3) lets it roll up.
#[test]
fn wedges_are_no_stop_for_a_rolling_log() {
    let roll = |reach: i32, height: i32| {
        let mut job = job([500, 500], "", "", &[900, 3_000, 5_100]);
        job.mill.wedges.reach = Length::mm(reach);
        job.mill.wedges.height = Length::mm(height);
        let sheet = lying(&job.mill, &job.log);
        let words = Words {
            system: System::Metric,
            both: false,
        };
        (sheet.staging.roll, words.staging(&sheet).join(" "))
    };
    for (reach, height, rise, speed) in [
        (150, 80, 50, 800),
        (150, 20, 20, 510),
        (200, 20, 20, 510),
        (0, 20, 0, 0_u32),
    ] {
        let (found, words) = roll(reach, height);
        let found = found.unwrap();
        assert_eq!(
            (found.rise_um, found.speed_um_per_s),
            (Length::mm(rise), Speed::mm_per_s(speed)),
            "{reach}, {height}"
        );
        let told = format!(
            "at {} m/s, which a fall of {rise} mm gives it",
            f64::from(speed) / 1e3
        );
        assert!(speed == 0 || words.contains(&told), "{words}");
        for told in [
            "a winch, a chain or a loader",
            "Never let it roll free",
            "nobody stands downhill of it",
        ] {
            assert!(words.contains(told), "{words}");
        }
        assert!(!words.contains("comes to rest"), "{words}");
    }
}
