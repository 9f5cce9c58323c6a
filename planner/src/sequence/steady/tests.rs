//! At which feed the log stays, and on which stroke.

use bunkside_protocol::{Drive, Length, LogRecord, MillRecord};

use super::*;
use crate::plan::Freeing;
use crate::sequence::habits::{asked, column, layer};
use crate::sequence::{CutPlan, sequence};
use crate::testing::{mm, powered_mill, timber};

type Spoil = fn(&mut Margins, f64);

/// A factor is demanded of each, and a hair more.
#[test]
fn margins_hold_from_a_hair_over_their_factors_on() {
    let (mut mill, log) = (powered_mill(), timber(180, 160, 3_600));
    (mill.factors.roll, mill.factors.slip, mill.factors.lift) = (1_200, 1_300, 1_400);
    let setup = Setup::new(&mill, &log).unwrap();
    let with = |spoil: Spoil, margin: f64| {
        let mut margins = Margins::FREE;
        spoil(&mut margins, margin);
        holds(&setup, &margins)
    };
    let each: [(Spoil, f64, Limit); 5] = [
        (|margins, margin| margins.tip = margin, 1.2, Limit::Roll),
        (|margins, margin| margins.turn = margin, 1.2, Limit::Roll),
        (|margins, margin| margins.stand = margin, 1.2, Limit::Roll),
        (|margins, margin| margins.slip = margin, 1.3, Limit::Slip),
        (|margins, margin| margins.lift = margin, 1.4, Limit::Lift),
    ];
    for (spoil, factor, limit) in each {
        assert_eq!(with(spoil, factor), Err(limit));
        assert_eq!(with(spoil, factor * 1.000_001), Ok(()));
    }
}

/// A short timber of light, tough wood on two bunks: the upright blade lifts it outbound.
fn light() -> (MillRecord, LogRecord) {
    let mut mill = powered_mill();
    mill.bunks.truncate(2);
    for (bunk, travel) in mill.bunks.iter_mut().zip([700.0, 1_700.0]) {
        bunk.travel = mm(travel);
    }
    let mut log = timber(180, 160, 1_200);
    (log.cutting_energy, log.density) = (50, 300);
    (mill, log)
}

#[test]
fn wood_is_light_only_for_what_the_cut_takes() {
    let (mill, mut log) = light();
    let is_light = |log: &LogRecord| asked(&mill, log, |sequencer| sequencer.is_light(mm(0.0), mm(60.0)));
    assert!(is_light(&log));
    log.cutting_energy = 5;
    assert!(!is_light(&log));
}

/// One and a half times the factor of 1.2 against lifting is kept where it can be: at 1.8 nothing chatters.
#[test]
fn light_wood_is_fed_so_that_it_does_not_chatter() {
    let (mut mill, log) = light();
    mill.factors.slip = 100;
    let fed = |depth: i32| {
        asked(&mill, &log, |sequencer| {
            let pose = Pose {
                across: mm(0.0),
                height: mm(160.0) - Length::mm(depth),
                angle: Angle::Upright,
                ..sequencer.pose()
            };
            let (setup, stock) = (sequencer.setup, sequencer.replay.stock());
            let (body, out) = (sequencer.replay.body(), Stroke::Outbound);
            let pass = Pass::of(setup, stock, &body, &pose, out, Interval::ALL).unwrap();
            let bite = Bite {
                feed: Feed::Forward,
                depth: Length::mm(depth),
            };
            let fed = fastest_steady(setup, &bite, &pass).unwrap();
            let lift = |um: u32| pass.along(setup, Speed::um_per_s(um)).lift;
            let um = fed.speed.as_um_per_s();
            (fed, lift(um), lift(um + 5_000))
        })
    };
    let (deep, lift, beyond) = fed(60);
    assert_eq!(deep.limit, Limit::Lift);
    assert!(lift >= 1.8 && beyond < 1.8, "{lift} {beyond}");
    let (shallow, lift, _) = fed(2);
    assert_eq!(
        (shallow.limit, shallow.speed),
        (Limit::Fastest, mill.power.feed_max)
    );
    assert!(lift > 1.8, "{lift}");
}

/// A drive that holds little slows what climbs. That is no fault of the log, so that the stroke stays as it is.
#[test]
fn only_the_log_turns_a_stroke() {
    let mut mill = powered_mill();
    mill.drive = Drive::Powered { holding_force: 40 };
    let (stroke, speed) = asked(&mill, &timber(180, 160, 3_600), |sequencer| {
        let pose = Pose {
            across: mm(0.0),
            height: mm(60.0),
            angle: Angle::Upright,
            ..sequencer.pose()
        };
        sequencer.chosen(&pose, Stroke::Homebound, true).unwrap()
    });
    assert_eq!(stroke, Stroke::Homebound);
    assert!(speed < Speed::mm_per_s(300), "{speed}");
    assert_eq!(half_again(Speed::mm_per_s(100)), Speed::mm_per_s(150));
}

/// A timber of 180 mm by 160 mm, down to 60 mm and up to 10 mm from its entry side: the rest is 21.3 mm out of the middle, and
/// stands on 90 mm to either side.
#[test]
fn a_cut_whose_rest_would_tip_is_refused() {
    let mut mill = powered_mill();
    let log = timber(180, 160, 3_600);
    let columns = [column(Some(10), Freeing::Take), column(None, Freeing::Take)];
    let layers = [layer(60, &columns)];
    let mut made = |roll: u16| {
        mill.factors.roll = roll;
        let setup = Setup::new(&mill, &log).unwrap();
        let made = sequence(&setup, &CutPlan { layers: &layers }, &mut |_| true);
        made.map_err(|error| error.kind)
    };
    assert_eq!(made(4_000), Ok(()));
    let Err(PlanErrorKind::WouldRoll(Shortfall { margin, demanded })) = made(4_300) else {
        panic!("it holds");
    };
    // 90 ÷ (40 × 10 000 ÷ 18 800) = 4.23, rounded down.
    assert!((4_229..=4_230).contains(&margin), "{margin}");
    assert_eq!(demanded, 4_300);
}

/// Timbers of 180 mm: 90 ÷ (520 ÷ 7) = 1.21, and 90 ÷ (530 ÷ 7) = 1.188.
#[test]
fn what_is_too_slender_to_stand_is_refused_as_such() {
    let mut mill = powered_mill();
    mill.height.max = mm(2_000.0);
    let made = |high: i32| {
        let log = timber(180, high, 3_600);
        let setup = Setup::new(&mill, &log).unwrap();
        let layers = [layer(high - 60, &[])];
        let made = sequence(&setup, &CutPlan { layers: &layers }, &mut |_| true);
        made.map_err(|error| error.kind)
    };
    assert_eq!(made(1_040), Ok(()));
    let short = Shortfall {
        margin: 1_188,
        demanded: 1_200,
    };
    assert_eq!(made(1_060), Err(PlanErrorKind::TooSlender(short)));
}
