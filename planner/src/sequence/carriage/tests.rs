//! The ways between strokes.

use std::vec::Vec as List;

use bunkside_protocol::Millis;

use super::*;
use crate::testing::{powered_mill, round_log};

const fn mm(place: i32) -> Position {
    Position::mm(place)
}

fn pose(travel: i32, across: i32, height: i32, angle: Angle) -> Pose {
    Pose {
        travel: mm(travel),
        across: mm(across),
        height: mm(height),
        angle,
        ..Pose::parked(&powered_mill())
    }
}

/// Where strokes start at the near end.
fn near_end(across: i32, height: i32, angle: Angle) -> Pose {
    Pose {
        travel: Position::um(280_200),
        ..pose(0, across, height, angle)
    }
}

fn between(from: Pose, to: Start) -> List<Move> {
    let (mill, log) = (powered_mill(), round_log(300, 3_600));
    let setup = Setup::new(&mill, &log).unwrap();
    let carriage = Carriage::new(&setup).unwrap();
    let moves = carriage.approach(&from, &to, || up_to(mm(300))).unwrap();
    moves.iter().copied().collect()
}

/// Up by 40 mm to the next pass: driven, it is passed by 3 mm and come to from above; who turns a crank walks once.
#[test]
fn a_height_that_is_set_by_hand_is_set_once() {
    let from = near_end(0, 100, Angle::Upright);
    let to = start(Stroke::Outbound, Angle::Upright, 0, 140);
    let heights = |mill: &bunkside_protocol::MillRecord| {
        let log = round_log(300, 3_600);
        let setup = Setup::new(mill, &log).unwrap();
        let carriage = Carriage::new(&setup).unwrap();
        let near = Pose {
            travel: carriage.near,
            ..from
        };
        let moves = carriage.approach(&near, &to, || up_to(mm(300))).unwrap();
        moves.iter().copied().collect::<List<Move>>()
    };
    let mut mill = powered_mill();
    assert_eq!(heights(&mill), [go(None, Some(143)), go(None, Some(140))]);
    mill.height_setting = HeightSetting::ByHand(Millis::new(25_000));
    assert_eq!(heights(&mill), [go(None, Some(140))]);
}

const fn start(stroke: Stroke, angle: Angle, across: i32, height: i32) -> Start {
    Start {
        stroke,
        angle,
        across: mm(across),
        height: mm(height),
    }
}

const fn go(across: Option<i32>, height: Option<i32>) -> Move {
    Move::Go(Targets {
        travel: None,
        across: match across {
            Some(across) => Some(mm(across)),
            None => None,
        },
        height: match height {
            Some(height) => Some(mm(height)),
            None => None,
        },
    })
}

/// The log lies from 600 to 4 200 mm; half the chord of a blade of 280 mm at a cover of 205 mm is √(280² − 75²) = 269.77
/// mm, and 50 mm of run-out come to it.
#[test]
fn strokes_start_and_end_where_blade_and_head_are_clear_of_the_log() {
    let (mut mill, log) = (powered_mill(), round_log(300, 3_600));
    let ends = |mill: &bunkside_protocol::MillRecord| {
        let setup = Setup::new(mill, &log).unwrap();
        Carriage::new(&setup).map(|carriage| (carriage.near, carriage.far))
    };
    let usual = (Position::um(280_200), Position::um(4_519_800));
    assert_eq!(ends(&mill), Ok(usual));
    // A head that reaches 400 mm out is kept off by twice the clearance of 5 mm, to whichever side it reaches.
    for (lo, hi) in [(-400, 100), (-100, 400)] {
        let part = mill.head[0].first_mut().unwrap();
        (part.min[0], part.max[0]) = (mm(lo), mm(hi));
        assert_eq!(ends(&mill), Ok((mm(190), mm(4_610))));
    }
    // On shorter rails, with room to stop on, the blade's run-out has to do; on shorter ones still the log is too long,
    // and it is said by how much: 500 mm/s take 250 mm to stop at 500 mm/s².
    let stopping = Length::mm(250);
    let usual_min = mill.travel.min;
    mill.travel.min = mm(270) - stopping;
    assert_eq!(ends(&mill), Ok(usual));
    mill.travel.min = Position::um(290_200) - stopping;
    let missing = Length::mm(10);
    assert_eq!(ends(&mill), Err(PlanErrorKind::BeyondRails { missing }));
    mill.travel.min = usual_min;
    mill.travel.max = Position::um(4_512_800) + stopping;
    let missing = Length::mm(7);
    assert_eq!(ends(&mill), Err(PlanErrorKind::BeyondRails { missing }));
}

#[test]
fn the_corner_comes_from_the_entry_side_and_from_above() {
    use Stroke::Outbound;
    let from = near_end(0, 100, Angle::Flat);
    let to = |across, height| between(from, start(Outbound, Angle::Flat, across, height));
    assert_eq!(to(0, 100), []);
    assert_eq!(to(50, 90), [go(Some(50), Some(90))]);
    assert_eq!(to(50, 100), [go(Some(50), None)]);
    assert_eq!(to(0, 90), [go(None, Some(90))]);
    assert_eq!(to(-10, 90), [go(Some(-13), None), go(Some(-10), Some(90))]);
    assert_eq!(to(50, 120), [go(None, Some(123)), go(Some(50), Some(120))]);
    assert_eq!(to(-10, 120), [go(Some(-13), Some(123)), go(Some(-10), Some(120))]);
}

/// In steps of 0.7 mm, 3 mm are five of them, 3.5 mm.
#[test]
fn it_comes_back_from_a_place_on_the_grid() {
    let (mut mill, log) = (powered_mill(), round_log(300, 3_600));
    for (grid, away) in [
        (100, 3_000),
        (254, 3_048),
        (350, 3_150),
        (700, 3_500),
        (5_000, 5_000),
    ] {
        mill.grid = Length::um(grid);
        let setup = Setup::new(&mill, &log).unwrap();
        let carriage = Carriage::new(&setup).unwrap();
        let (across, height) = (Position::um(-20 * grid), Position::um(200 * grid));
        let from = Pose {
            travel: carriage.near,
            height: Position::um(180 * grid),
            ..near_end(0, 0, Angle::Flat)
        };
        let to = Start {
            across,
            height,
            ..start(Stroke::Outbound, Angle::Flat, 0, 0)
        };
        let moves = carriage.approach(&from, &to, || up_to(mm(300))).unwrap();
        let via = Targets {
            travel: None,
            across: Some(across - Length::um(away)),
            height: Some(height + Length::um(away)),
        };
        assert_eq!(moves.first(), Some(&Move::Go(via)), "{grid}");
    }
}

/// Over what stands up to 300 mm: with what may hide between samples, the clearance of 5 mm and a grid step above it.
#[test]
fn the_way_back_leads_over_the_log() {
    let (mill, log) = (powered_mill(), round_log(300, 3_600));
    let between_samples = Setup::new(&mill, &log).unwrap().shape.between();
    let over = outward(
        mm(300) + between_samples + Length::mm(5) + mill.grid,
        mill.grid,
        true,
    );
    let raised = Move::Go(Targets {
        height: Some(over),
        ..Targets::default()
    });
    let back = |from: Pose, stroke| between(from, start(stroke, Angle::Flat, 0, 100));
    let (near, far) = (Position::um(280_200), Position::um(4_519_800));
    let along = |to: Position| Move::Go(Targets::travel(to));
    let low = |travel| Pose {
        travel,
        ..pose(0, 0, 100, Angle::Flat)
    };
    let down = go(None, Some(100));
    assert_eq!(back(low(far), Stroke::Outbound), [raised, along(near), down]);
    assert_eq!(back(low(near), Stroke::Homebound), [raised, along(far), down]);
    // High enough already, or not over the log at all.
    let high = Pose {
        height: over,
        ..low(far)
    };
    assert_eq!(back(high, Stroke::Outbound), [along(near), down]);
    assert_eq!(back(low(mm(0)), Stroke::Outbound), [along(near)]);
    let setup = Setup::new(&mill, &log).unwrap();
    let carriage = Carriage::new(&setup).unwrap();
    let home = |from: &Pose| carriage.home(from, || up_to(mm(300))).unwrap();
    assert!(home(&low(near)).is_empty());
    assert_eq!(home(&low(far)).as_slice(), [raised, along(near)]);
    let height = mill.height.max;
    let beyond = carriage.home(&low(far), || up_to(height));
    assert!(matches!(beyond, Err(PlanErrorKind::NoWayOver { needed }) if needed > height));
}

/// What a swing sweeps may come as near to the bed as the height is true to.
#[test]
fn the_blade_swings_where_it_stands_down_to_the_bed() {
    let mill = powered_mill();
    let at = |height: Position| Pose {
        height,
        ..near_end(0, 0, Angle::Upright)
    };
    let lowest = |height: Position| swing_boxes(&mill, &at(height)).map(|block| block.height.lo).min();
    let true_to = Position::ZERO + mill.height.play();
    let height = mm(300) - (lowest(mm(300)).unwrap() - true_to);
    assert_eq!(lowest(height), Some(true_to));
    let to = Start {
        height,
        ..start(Stroke::Outbound, Angle::Flat, 0, 0)
    };
    assert_eq!(between(at(height), to), [Move::Swing(Angle::Flat)]);
}

#[test]
fn the_blade_is_raised_to_swing_only_where_it_would_go_below_the_bed() {
    let mill = powered_mill();
    let true_to = Position::ZERO + mill.height.play();
    let lowest = |height: i32| {
        let from = near_end(0, height, Angle::Upright);
        let sweeps = swing_boxes(&mill, &from).map(|block| block.height.lo);
        sweeps.min().unwrap()
    };
    let swing = |height: i32| {
        let from = near_end(0, height, Angle::Upright);
        between(from, start(Stroke::Outbound, Angle::Flat, 0, height))
    };
    let bare = Move::Swing(Angle::Flat);
    let deep = (0..400).rev().find(|height| lowest(*height) < true_to);
    match deep {
        None => assert_eq!(swing(0), [bare]),
        Some(height) => {
            assert_eq!(swing(height + 1), [bare]);
            let moves = swing(height);
            assert!(matches!(moves.first(), Some(Move::Go(_))), "{moves:?}");
            assert_eq!(moves.get(1), Some(&bare));
            let Some(Move::Go(raised)) = moves.first() else {
                return;
            };
            let needed = mm(height) + (true_to - lowest(height));
            let raised = raised.height.unwrap();
            assert!(
                raised >= needed && raised < needed + mill.grid,
                "{raised} {needed}"
            );
        }
    }
}

/// What stands no higher than this, nothing loose.
fn up_to(height: Position) -> Standing {
    Standing {
        top: Some(height),
        loose: false,
    }
}
