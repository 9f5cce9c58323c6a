//! The mechanics of a log on its bed, against closed forms from outside.

use bunkside_protocol::{Angle, Length, LogRecord, MillRecord, Position, Speed, Stroke, Surface, Timber};

use super::GRAVITY;
use super::body::Solid;
use super::footing::{Levers, Lie, Push, Weight};
use super::margins::{Least, Margins};
use super::slices::Slices;
use super::strain::{Pass, at_rest};
use crate::geometry::{Block, Interval, Shape};
use crate::machine::Pose;
use crate::replay::Setup;
use crate::testing::{powered_mill, round_log, timber};

fn near(told: f64, expected: f64, within: f64) {
    assert!((told - expected).abs() <= within, "{told} is not {expected}");
}

/// A mill whose wedges stand so far out, and so high.
fn wedged(reach_mm: i32, height_mm: i32) -> MillRecord {
    let mut mill = powered_mill();
    mill.wedges.reach = Length::mm(reach_mm);
    mill.wedges.height = Length::mm(height_mm);
    mill
}

/// What a sideways push in weights, at a height over the centre, does to a whole log of 500 mm in the middle of its bed.
fn pushed(mill: &MillRecord, push: f64, over_centre: f64) -> Margins {
    let log = round_log(500, 3_600);
    let setup = Setup::new(mill, &log).unwrap();
    let weight = Weight::of(&setup, &whole(&setup));
    let place = [1_700.0, 0.0, 250.0 + over_centre];
    let levers = Levers::of(&setup.bed, Angle::Flat, place, 0.0);
    let push = Push {
        pressed: [push * weight.load.force; 2],
        along: [0.0; 2],
    };
    Least::of(Lie::of(&setup.bed, &weight, [0.0; 2]).pushed(&setup.bed, &levers, &push))
}

fn whole(setup: &Setup<'_>) -> Solid {
    super::body::body(&setup.stock(), &setup.shape, crate::stock::Pick::Body)
}

/// A cylinder of R 0.25 m on two line supports, pushed horizontally: at a height y over its centre it tips at
/// F = W R sin a / (R cos a + y), sin a = s/2R (statics of the free body; supports 0.3 m apart: 0.75 W at the centre,
/// 0.428571 W at 0.15 m over it; 0.2 m apart: 0.43644 W at the centre).
#[test]
fn a_cylinder_on_two_supports_tips_at_the_closed_forms_push() {
    for (spacing, over_centre, push) in [
        (300, 0.0, 0.75),
        (300, 150.0, 0.428_571_43),
        (200, 0.0, 0.436_436),
    ] {
        let mill = wedged(spacing / 2, 250);
        for side in [1.0, -1.0] {
            near(pushed(&mill, push * side, over_centre).tip, 1.0, 2e-5);
            near(pushed(&mill, push * side * 0.5, over_centre).tip, 2.0, 4e-5);
        }
    }
}

/// A wheel of R 0.25 m is pushed over a chock of height h at F/W = sqrt(h (2R - h)) / (R - h) (statics; h 0.03:
/// 0.539743, 0.05: 0.75, 0.10: 1.33333).
#[test]
fn a_wedge_counts_up_to_its_height_as_a_chock() {
    for (height, push) in [(30, 0.539_743), (50, 0.75), (100, 1.333_333)] {
        near(pushed(&wedged(240, height), push, 0.0).tip, 1.0, 1e-5);
    }
}

/// Turning: grip × W × R cos a against F × y, the wedges' 1/cos not counted.
#[test]
fn a_cylinder_turns_where_the_push_beats_its_grip() {
    let mill = wedged(150, 250);
    // R cos a = 200 mm, grip 0.5: a push at 150 mm over the centre of 0.5 × 200 / 150 of the weight.
    near(pushed(&mill, 2.0 / 3.0, 150.0).turn, 1.0, 2e-5);
    assert_eq!(pushed(&mill, 0.5, 0.0).turn, f64::INFINITY);
    let mut smooth = round_log(500, 3_600);
    smooth.surface = Surface::Smooth;
    let (barked, peeled) = (round_log(500, 3_600), smooth);
    let still = |log: &LogRecord, off: f64| {
        let setup = Setup::new(&mill, log).unwrap();
        let mut body = whole(&setup);
        body.centroid_mm[1] += off;
        at_rest(&setup, &body, [0.0; 2])
    };
    // 0.5 × 200 mm and 0.3 × 200 mm against the offset; and 150 mm of reach.
    near(still(&barked, 100.0).turn, 1.0, 2e-5);
    near(still(&peeled, -60.0).turn, 1.0, 2e-5);
    // With ice on it 0.15 × 200 mm.
    let iced = LogRecord {
        surface: Surface::Iced,
        ..round_log(500, 3_600)
    };
    near(still(&iced, -30.0).turn, 1.0, 2e-5);
    near(still(&barked, -75.0).tip, 2.0, 2e-5);
}

/// A body goes over when it leans so far that its balance stands over the line of its contacts: by the tangent of the angle, which
/// is half its base over its height. A cylinder of R 0.25 m on supports 0.3 m apart balances 200 mm over them, so that it goes over
/// at 3 in 4, 5.25 times as much as 1 in 7; 100 mm nearer to one side at 1 in 4; a section of 100 mm by 1.2 m at 1 in 12.
#[test]
fn what_stands_leans_so_far_as_its_balance_is_over_its_base() {
    let stands = |log: &LogRecord, off: f64| {
        let mill = wedged(150, 250);
        let setup = Setup::new(&mill, log).unwrap();
        let mut body = whole(&setup);
        body.centroid_mm[1] += off;
        at_rest(&setup, &body, [0.0; 2]).stand
    };
    let log = round_log(500, 3_600);
    near(stands(&log, 0.0), 5.25, 2e-5);
    near(stands(&log, 100.0), 1.75, 2e-5);
    near(stands(&log, -100.0), 1.75, 2e-5);
    assert_eq!(stands(&log, 160.0), 0.0);
    near(stands(&timber(100, 1_200, 3_600), 0.0), 7.0 / 12.0, 1e-9);
}

/// A squared timber neither turns, nor slides by less than its grip; wedges hold a round log by their slope as well.
#[test]
fn sliding_takes_grip_and_slope() {
    let mill = powered_mill();
    let log = timber(180, 160, 3_600);
    let setup = Setup::new(&mill, &log).unwrap();
    let weight = Weight::of(&setup, &whole(&setup));
    let slip = |setup: &Setup<'_>, sideways: f64, along: f64| {
        let levers = Levers::of(&setup.bed, Angle::Flat, [1_700.0, 0.0, 0.0], 0.0);
        let push = Push {
            pressed: [sideways * weight.load.force; 2],
            along: [along * weight.load.force; 2],
        };
        Least::of(Lie::of(&setup.bed, &weight, [0.0; 2]).pushed(&setup.bed, &levers, &push)).slip
    };
    near(slip(&setup, 0.5, 0.0), 1.0, 1e-12);
    near(slip(&setup, 0.0, -0.5), 1.0, 1e-12);
    // 3, 4 and 5: both at once add up as the legs of a triangle.
    near(slip(&setup, 0.3, 0.4), 1.0, 1e-12);
    let log = round_log(500, 3_600);
    let (wedged, flat) = (wedged(150, 250), wedged(0, 0));
    let setup = Setup::new(&wedged, &log).unwrap();
    // 150 mm out on a radius of 250 mm the underside rises by 150 / 200.
    near(slip(&setup, 1.25, 0.0), 1.0, 1e-9);
    let setup = Setup::new(&flat, &log).unwrap();
    near(slip(&setup, 0.5, 0.0), 1.0, 1e-9);
}

/// Each dog holds at the bunks it stands between, in proportion, and adds to grip and weight.
#[test]
fn dogs_hold_where_they_stand() {
    let mut mill = powered_mill();
    mill.dog_hold = 400;
    for travel in [700, 1_500] {
        mill.dogs
            .push(crate::testing::block([travel - 10, 0, 0], [travel + 10, 10, 10]))
            .unwrap();
    }
    let log = timber(180, 160, 3_600);
    let setup = Setup::new(&mill, &log).unwrap();
    let [first, last] = setup
        .bed
        .dogs_on(&mill, (&setup.shape, &setup.stock()), Position::MAX);
    near(first, 700.0, 1e-9);
    near(last, 100.0, 1e-9);
}

/// The timber's side lies at 90 mm, its end at 4 200 mm: a dog a hand's breadth away closes on it, one further off on nothing.
#[test]
fn dogs_that_do_not_reach_the_log_hold_nothing() {
    let held = |min: [i32; 3], max: [i32; 3]| {
        let mut mill = powered_mill();
        mill.dog_hold = 400;
        mill.dogs.push(crate::testing::block(min, max)).unwrap();
        let log = timber(180, 160, 3_600);
        let setup = Setup::new(&mill, &log).unwrap();
        let held = setup
            .bed
            .dogs_on(&mill, (&setup.shape, &setup.stock()), Position::MAX);
        held.iter().sum::<f64>()
    };
    near(held([690, 189, 0], [710, 220, 50]), 400.0, 1e-9);
    near(held([690, 191, 0], [710, 220, 50]), 0.0, 1e-9);
    near(held([4_301, 0, 0], [4_320, 20, 50]), 0.0, 1e-9);
}

/// A dog that closes at 140 mm to 155 mm, over a flat kerf at 100 mm that runs through: with the wood above it gone it holds nothing.
#[test]
fn dogs_hold_nothing_once_their_wood_is_gone() {
    let mut mill = powered_mill();
    mill.dog_hold = 400;
    for height in [[140, 155], [30, 60]] {
        let dog = crate::testing::block([690, 90, height[0]], [710, 120, height[1]]);
        mill.dogs.push(dog).unwrap();
    }
    let log = timber(180, 160, 3_600);
    let setup = Setup::new(&mill, &log).unwrap();
    let mut stock = setup.stock();
    let held = |stock: &crate::stock::Stock| {
        let held = setup
            .bed
            .dogs_on(setup.mill, (&setup.shape, stock), Position::MAX);
        held.iter().sum::<f64>()
    };
    near(held(&stock), 800.0, 1e-9);
    let all = Interval::ALL;
    let height = Interval::new(crate::testing::mm(100.0), crate::testing::mm(105.5));
    let kerf = Block {
        travel: all,
        across: all,
        height,
    };
    assert_eq!(stock.carve(&setup.shape, kerf), Ok(1));
    // Free, it holds the log no more; unloaded, still less.
    near(held(&stock), 400.0, 1e-9);
    stock.unload();
    near(held(&stock), 400.0, 1e-9);
}

/// What a kerf frees lies above its underside: a dog from 30 mm to 60 mm bites 5 mm further down and up, so that one at 25 mm
/// leaves it no wood to hold, and one at 26 mm a millimetre.
#[test]
fn dogs_hold_only_what_lies_below_the_kerf() {
    let mut mill = powered_mill();
    mill.dog_hold = 400;
    let dog = crate::testing::block([690, 90, 30], [710, 120, 60]);
    mill.dogs.push(dog).unwrap();
    let log = timber(180, 160, 3_600);
    let setup = Setup::new(&mill, &log).unwrap();
    let held = |below: f64| {
        let below = crate::testing::mm(below);
        let held = setup.bed.dogs_on(&mill, (&setup.shape, &setup.stock()), below);
        held.iter().sum::<f64>()
    };
    near(held(25.0), 0.0, 1e-9);
    near(held(26.0), 400.0, 1e-9);
    near(held(100.0), 400.0, 1e-9);
}

/// Points go 20 mm in across: through 19 mm of bark they meet wood, and through 21 mm none, however thick the bark is.
#[test]
fn dogs_hold_by_wood_and_not_by_bark() {
    let mut mill = powered_mill();
    mill.dog_hold = 400;
    let dog = crate::testing::block([690, 120, 30], [710, 150, 60]);
    mill.dogs.push(dog).unwrap();
    let held = |bark: i32| {
        let mut log = timber(180, 160, 3_600);
        log.bark = Length::mm(bark);
        let setup = Setup::new(&mill, &log).unwrap();
        let held = setup
            .bed
            .dogs_on(&mill, (&setup.shape, &setup.stock()), Position::MAX);
        held.iter().sum::<f64>()
    };
    near(held(0), 400.0, 1e-9);
    near(held(19), 400.0, 1e-9);
    near(held(21), 0.0, 1e-9);
}

/// Gauss-Legendre: a rule of n points is exact for powers up to 2 n - 1 (theorem).
#[test]
fn volumes_are_exact_for_tapers() {
    let mut log = round_log(300, 4_000);
    for (station, half) in log.stations.iter_mut().zip([180, 120]) {
        (station.half_width, station.half_height) = (Length::mm(half), Length::mm(half));
    }
    let shape = Shape::new(&log).unwrap();
    let solid = Slices::new(&shape).sum(&shape, Block::ALL).solid();
    let (big, small) = (180.0, 120.0);
    let sum = big * big + big * small + small * small;
    let volume = core::f64::consts::PI * 4_000.0 * sum / 3.0;
    near(solid.volume_mm3 / volume, 1.0, 1e-14);
    let along = 4_000.0 * (big * big + 2.0 * big * small + 3.0 * small * small) / (4.0 * sum);
    near(solid.centroid_mm[0], 600.0 + along, 1e-9);
}

/// Edged in forward feed the wood is lifted by F (θ - sin θ cos θ) R / 2d at the kerf, all of it at the bunk it stands
/// over; climbing, it is pressed down.
#[test]
fn an_upright_pass_lifts_in_forward_feed_only() {
    let (mut mill, log) = (powered_mill(), timber(180, 160, 3_200));
    mill.factors.thrust = 0;
    mill.bunks.retain(|bunk| bunk.travel.as_um() != 2_300_000);
    for (bunk, travel) in mill.bunks.iter_mut().zip([600, 3_800]) {
        bunk.travel = Position::mm(travel);
    }
    let setup = Setup::new(&mill, &log).unwrap();
    let stock = setup.stock();
    let body = whole(&setup);
    let pose = Pose {
        across: Position::mm(30),
        height: Position::mm(60),
        ..Pose::parked(&mill)
    };
    let strain = |stroke| {
        let pass = Pass::of(&setup, &stock, &body, &pose, stroke, Interval::ALL).unwrap();
        pass.strain(&setup, Speed::mm_per_s(200), &body)
    };
    let forward = strain(Stroke::Outbound);
    let force = super::force::pass_force(
        &mill,
        &log,
        Length::mm(100),
        Speed::mm_per_s(200),
        bunkside_protocol::Feed::Forward,
    );
    let theta = libm::acos(1.0 - 100.0 / 280.0);
    let lift = force.tangential * (theta - libm::sin(theta) * libm::cos(theta)) * 280.0 / 200.0;
    near(-forward.force.across, lift, 1e-9);
    let weight = body.mass_kg(log.density) * GRAVITY;
    // At the first bunk: shock and the pull lengthwise at the top of the bite, 160 mm up, take off as well.
    let off = 1.5 * lift + 1.5 * -forward.force.along * 160.0 / 3_200.0;
    near(forward.during.lift, (weight / 2.0) / off, 0.05);
    assert!(forward.during.lift < strain(Stroke::Homebound).during.lift);
    assert_eq!(log.timber, Timber::Soft);
}
