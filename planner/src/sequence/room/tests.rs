//! The blade goes round what stands on the bed, or says what is in the way.

use std::vec::Vec;

use bunkside_protocol::mill::Box3;
use bunkside_protocol::{Acts, Angle, Length, MillRecord, Move, Position, Stroke, Targets};

use super::*;
use crate::audit::{Verdict, audit};
use crate::plan::{Column, CutPlan, Freeing, Layer, Use};
use crate::sequence::{Carriage, PlanErrorKind, Standing, Start, sequence};
use crate::testing::{block, hand_mill, mm, powered_mill, round_log};

/// A slab, then a layer of two columns, of a log that lies from 600 to 4 200 mm. Its strokes begin at 280.2 mm and end at
/// 4 519.8 mm.
fn planned(mill: &MillRecord) -> Result<Vec<Move>, PlanErrorKind> {
    let log = round_log(300, 3_600);
    let setup = Setup::new(mill, &log).unwrap();
    let column = |to: Option<f64>| Column {
        to: to.map(mm),
        freeing: Freeing::Take,
        use_: Use::Waste,
    };
    let columns = [column(Some(0.0)), column(None)];
    let layer = |floor: f64, columns| Layer {
        floor: mm(floor),
        columns,
        passes: None,
        hold: Acts::NONE,
    };
    let layers = [layer(265.0, &columns[..0]), layer(210.0, &columns)];
    let mut moves = Vec::new();
    let made = sequence(&setup, &CutPlan { layers: &layers }, &mut |told| {
        moves.push(*told);
        true
    });
    made.map_err(|error| error.kind)?;
    let mut said = Vec::new();
    let verdict = audit(&setup, moves.iter().copied(), &mut |_, _, _| {}, &mut |finding| {
        said.push((finding.rule, finding.index));
    });
    assert_ne!(verdict, Verdict::Refused, "{said:?}");
    Ok(moves)
}

/// How high the blade stands in each of its swings.
fn swings(mill: &MillRecord, moves: &[Move]) -> Vec<Position> {
    let mut height = Pose::parked(mill).height;
    let mut swings = Vec::new();
    for told in moves {
        match told {
            Move::Go(targets) => height = targets.height.unwrap_or(height),
            Move::Swing(_) => swings.push(height),
            _ => {}
        }
    }
    swings
}

/// The blade of this mill swings under: 116 mm below the corner and as far beyond it, √2 − 1 of its radius of 280 mm.
fn with_dog(dog: Box3) -> MillRecord {
    let mut mill = hand_mill();
    mill.dogs.push(dog).unwrap();
    mill
}

fn with_box(kept: Box3) -> MillRecord {
    let mut mill = hand_mill();
    mill.keep_out.push(kept).unwrap();
    mill
}

/// The lowest height of the corner at which no box that a swing sweeps comes within 15 mm of a dog, tried in steps of the grid.
fn least_clear(mill: &MillRecord, pose: &Pose, fixed: &Box3) -> Position {
    let fixed = Block::from_record(fixed);
    let hits = |pose: &Pose| {
        let mut parts = swing_boxes(mill, pose).chain(head_swing_boxes(mill, pose));
        let in_bed = |part: &Block| part.height.lo < Position::ZERO;
        parts.any(|part| in_bed(&part) || part.grown(Length::mm(15)).overlaps(fixed))
    };
    let mut pose = *pose;
    while hits(&pose) {
        pose.height = pose.height + mill.grid;
    }
    pose.height
}

/// A dog 60 and 15 mm under the kerf at 210 mm, where the blade swings at the near end; from dogs it is kept 15 mm, from keep-out
/// boxes 5 mm.
#[test]
fn the_blade_is_raised_over_a_dog_to_swing_and_no_higher() {
    let usual = hand_mill();
    let bare = swings(&usual, &planned(&usual).unwrap());
    for high in [150, 195] {
        let dog = block([200, -400, 0], [300, -350, high]);
        let mill = with_dog(dog);
        let moves = planned(&mill).unwrap();
        let swung = swings(&mill, &moves);
        assert_eq!(swung.len(), bare.len());
        let raised = swung.iter().zip(&bare).filter(|(swung, bare)| swung > bare);
        assert!(raised.count() > 0, "{swung:?} {bare:?}");
        // The same where a box 10 mm larger is kept free for anything else.
        let kept = block([190, -410, 0], [310, -340, high + 10]);
        assert_eq!(planned(&with_box(kept)).as_ref(), Ok(&moves));
    }
    let log = round_log(300, 3_600);
    for high in (50..700).step_by(50) {
        let dog = block([200, -500, 0], [300, -450, high]);
        let mill = with_dog(dog);
        let setup = Setup::new(&mill, &log).unwrap();
        for angle in Angle::ALL {
            let pose = Pose {
                travel: Position::um(280_200),
                across: Position::ZERO,
                height: mm(100.0),
                angle,
                ..Pose::parked(&mill)
            };
            let found = height_to_swing(&setup, &pose).unwrap();
            assert_eq!(found, least_clear(&mill, &pose, &dog), "{high} {angle:?}");
            let raised = (found > pose.height).then(|| {
                Move::Go(Targets {
                    height: Some(found),
                    ..Targets::default()
                })
            });
            let other = if angle == Angle::Flat {
                Angle::Upright
            } else {
                Angle::Flat
            };
            let way = Carriage::new(&setup)
                .unwrap()
                .way_around(&pose, other, Standing::default);
            let blocked = in_the_way(
                &setup,
                &pose,
                &Pose {
                    height: found,
                    ..pose
                },
            );
            let wanted: Vec<Move> = raised.into_iter().chain([Move::Swing(other)]).collect();
            match blocked.filter(|_| raised.is_some()) {
                Some(fixture) => assert_eq!(way, Err(PlanErrorKind::InTheWay(fixture))),
                None => assert_eq!(way.unwrap().as_slice(), wanted, "{high} {angle:?}"),
            }
        }
    }
}

/// Over the bed the sweep may come as near to it as the height is true to.
#[test]
fn the_blade_is_raised_over_the_bed_only_where_it_would_go_below() {
    let (mill, log) = (hand_mill(), round_log(300, 3_600));
    let setup = Setup::new(&mill, &log).unwrap();
    let carriage = Carriage::new(&setup).unwrap();
    let at = |height: Position| Pose {
        travel: carriage.near,
        height,
        angle: Angle::Flat,
        ..Pose::parked(&mill)
    };
    let lowest = swing_boxes(&mill, &at(Position::ZERO))
        .map(|part| part.height.lo)
        .min();
    let touches = Position::ZERO + mill.height.play() - lowest.unwrap();
    let touching = Position::um(touches.wide());
    assert_eq!(carriage.raised_to_swing(&at(touching)), None);
    let below = at(touching - Length::um(1));
    assert_eq!(
        carriage.raised_to_swing(&below),
        Some(outward(touching, mill.grid, true))
    );
}

/// A dog 195 mm high is swung over at 195 + 15 + 116 mm and a little for what lies between steps of the swing.
#[test]
fn where_there_is_no_room_to_swing_it_is_said_over_what() {
    let mut mill = with_dog(block([200, -400, 0], [300, -350, 195]));
    let low = |height: &Position| *height < mm(1_000.0);
    let swung = swings(&mill, &planned(&mill).unwrap())
        .into_iter()
        .filter(low)
        .max()
        .unwrap();
    assert!(swung > mm(326.0) && swung < mm(335.0), "{swung}");
    mill.height.max = swung;
    assert!(planned(&mill).is_ok());
    mill.height.max = swung - mill.grid;
    let found = planned(&mill);
    assert_eq!(found, Err(PlanErrorKind::NoRoomToSwing(Fixture::Dog(0))));
    assert_eq!(
        std::format!("{}", found.unwrap_err()),
        "the blade cannot be raised far enough to swing clear of dog 1"
    );
}

/// A beam over the far end, 6 mm over what the upright blade needs at 265 mm: 265 + 560 mm. Nothing comes there but a blade that
/// is raised over a dog to swing.
#[test]
fn a_beam_may_leave_no_room_to_be_raised() {
    let dog = block([4_500, -400, 0], [4_600, -350, 150]);
    let mut mill = with_box(block([4_250, -700, 831], [4_800, 700, 850]));
    assert!(planned(&mill).is_ok());
    mill.dogs.push(dog).unwrap();
    assert!(planned(&with_dog(dog)).is_ok());
    let found = planned(&mill);
    assert_eq!(found, Err(PlanErrorKind::InTheWay(Fixture::KeepOut(0))));
}

/// Boxes in the way of a stroke, past the far end of the log: the kerf lies at 210 mm, and blade and box are kept 5 mm apart, a
/// dog as far as the bed: 15 mm.
#[test]
fn what_stands_in_a_stroke_is_named() {
    let second = |kept: Box3| {
        let mut mill = with_box(block([0, 1_000, 0], [10, 1_010, 10]));
        mill.keep_out.push(kept).unwrap();
        planned(&mill).map(|_| ())
    };
    let beside = |high: i32| block([4_230, -160, 0], [4_250, -140, high]);
    assert_eq!(
        second(beside(206)),
        Err(PlanErrorKind::InTheWay(Fixture::KeepOut(1)))
    );
    assert_eq!(second(beside(205)), Ok(()));
    let dog = |high: i32| planned(&with_dog(beside(high))).map(|_| ());
    assert_eq!(dog(196), Err(PlanErrorKind::InTheWay(Fixture::Dog(0))));
    assert_eq!(dog(195), Ok(()));
}

/// The moves at the near end of a powered mill from one corner to another, without a swing.
fn corner(
    kept: Option<Box3>,
    angle: Angle,
    from: [i32; 2],
    to: [i32; 2],
) -> Result<Vec<Move>, PlanErrorKind> {
    let mut mill = powered_mill();
    mill.keep_out.extend(kept);
    corner_on(&mill, angle, from, to)
}

fn corner_on(
    mill: &MillRecord,
    angle: Angle,
    from: [i32; 2],
    to: [i32; 2],
) -> Result<Vec<Move>, PlanErrorKind> {
    let log = round_log(300, 3_600);
    let setup = Setup::new(mill, &log).unwrap();
    let carriage = Carriage::new(&setup).unwrap();
    let pose = Pose {
        travel: carriage.near,
        across: Position::mm(from[0]),
        height: Position::mm(from[1]),
        angle,
        ..Pose::parked(mill)
    };
    let start = Start {
        stroke: Stroke::Outbound,
        angle,
        across: Position::mm(to[0]),
        height: Position::mm(to[1]),
    };
    let between = carriage.approach(&pose, &start, Standing::default);
    between.map(|moves| moves.iter().copied().collect())
}

fn to(across: Option<i32>, height: Option<i32>) -> Move {
    Move::Go(Targets {
        travel: None,
        across: across.map(Position::mm),
        height: height.map(Position::mm),
    })
}

/// Under the blade at the near end a bunk that reaches out past the log's end, with wedges from 60 to 120 mm across that stand up to
/// 15 mm: 15 mm over them and back down. On packs that reach up to 0 mm no corner lies under 15 mm.
#[test]
fn the_blade_goes_over_a_wedge_between_two_corners() {
    let mut mill = powered_mill();
    (mill.bunks[0].travel, mill.bunks[0].half_size) = (Position::mm(620), Length::mm(400));
    let on = |mill: &MillRecord| corner_on(mill, Angle::Upright, [0, 20], [200, 20]);
    let over = [to(None, Some(30)), to(Some(200), None), to(None, Some(20))];
    assert_eq!(on(&mill).unwrap(), over);
    for bunk in &mut mill.bunks {
        bunk.top = Position::mm(-40);
    }
    let down = |height: i32| corner_on(&mill, Angle::Upright, [0, 100], [0, height]);
    assert_eq!(on(&mill).unwrap(), over);
    assert_eq!(down(15).unwrap(), [to(None, Some(15))]);
    assert_eq!(down(14), Err(PlanErrorKind::InTheWay(Fixture::Pack(0))));
    mill.wedges.reach = Length::ZERO;
    assert_eq!(on(&mill).unwrap(), [to(Some(200), None)]);
}

/// Packed up, over the log's middle at rapid: as high as the wedges ask for where no wood stands any more.
#[test]
fn the_carriage_comes_home_over_the_wedges() {
    let (mill, log) = (powered_mill(), round_log(300, 3_600));
    let setup = Setup::new(&mill, &log).unwrap();
    let carriage = Carriage::new(&setup).unwrap();
    let home = |across: i32, height: i32| {
        let pose = Pose {
            travel: carriage.far,
            across: Position::mm(across),
            height: Position::mm(height),
            angle: Angle::Upright,
            ..Pose::parked(&mill)
        };
        carriage
            .home(&pose, Standing::default)
            .unwrap()
            .iter()
            .copied()
            .collect::<Vec<_>>()
    };
    let back = Move::Go(Targets::travel(carriage.near));
    assert_eq!(home(100, 20), [to(None, Some(30)), back]);
    assert_eq!(home(0, 20), [back]);
}

/// Flat from the corner at 0 to 100 mm, 560 mm of disc lie on the entry side: on its slant way down they would meet a box there.
#[test]
fn the_blade_is_shifted_first_and_lowered_then_where_the_slant_way_is_barred() {
    let kept = block([250, -540, 0], [300, -500, 180]);
    let (from, there) = ([0, 220], [100, 100]);
    let slant = [to(Some(100), Some(100))];
    let round = [to(Some(100), None), to(None, Some(100))];
    assert_eq!(corner(None, Angle::Flat, from, there).unwrap(), slant);
    assert_eq!(corner(Some(kept), Angle::Flat, from, there).unwrap(), round);
    // In it there is no way.
    let in_it = corner(Some(kept), Angle::Flat, from, [20, 100]);
    assert_eq!(in_it, Err(PlanErrorKind::InTheWay(Fixture::KeepOut(0))));
}

/// Upright from one side of a post to the other: up to its 180 mm and 5 mm of clearance, across, and down.
#[test]
fn the_blade_goes_over_a_post_between_two_corners() {
    let post = block([250, -20, 0], [300, 20, 180]);
    let (left, right) = ([-100, 100], [100, 100]);
    let over = corner(Some(post), Angle::Upright, left, right).unwrap();
    assert_eq!(
        over,
        [to(None, Some(185)), to(Some(100), None), to(None, Some(100))]
    );
    // Back, it comes to the corner from the entry side.
    let back = corner(Some(post), Angle::Upright, right, left).unwrap();
    assert_eq!(
        back,
        [
            to(None, Some(185)),
            to(Some(-103), None),
            to(Some(-100), Some(100))
        ]
    );
}

/// From what height on a hand mill is free of boxes where strokes begin at 280.2 and end at 4 519.8 mm, its head reaching so far under the
/// corner.
fn free(boxes: &[Box3], dogs: &[Box3], head: i32) -> Option<Position> {
    let (mut mill, log) = (hand_mill(), round_log(300, 3_600));
    for parts in &mut mill.head {
        for part in parts {
            part.min[2] = Position::mm(head);
        }
    }
    mill.keep_out = boxes.iter().copied().collect();
    mill.dogs = dogs.iter().copied().collect();
    let setup = Setup::new(&mill, &log).unwrap();
    Carriage::new(&setup).unwrap().free_from()
}

/// Over a box the blade or the head, whichever is lower, passes with 5 mm of clearance, over a dog and the wedges of 15 mm with
/// 15 mm; where the blade turns it sweeps 116 mm under the corner and a little for what lies between steps of the swing: see
/// above.
#[test]
fn from_a_height_on_nothing_that_stands_fixed_is_met() {
    let post = |from: i32, high: i32| block([from, -20, 0], [from + 50, 20, high]);
    let (middle, far) = (post(2_000, 90), post(4_700, 180));
    assert_eq!(free(&[], &[], 10), Some(mm(30.0)));
    assert_eq!(free(&[middle], &[], 10), Some(mm(95.0)));
    assert_eq!(free(&[], &[middle], 10), Some(mm(105.0)));
    assert_eq!(free(&[middle], &[], -30), Some(mm(125.0)));
    for boxes in [[middle, far], [far, middle]] {
        let over = free(&boxes, &[], 10).unwrap();
        assert!(mm(301.0) < over && over < mm(310.0), "{over}");
    }
    // The disc reaches 280 mm beyond its centre and keeps 5 mm clear, and 15 mm of dogs.
    let at = |from: i32| free(&[post(from, 180)], &[], 10) == Some(mm(185.0));
    assert!(!at(4_804) && at(4_806) && !at(560) && at(566));
    let dog = |from: i32| free(&[], &[post(from, 180)], 10) == Some(mm(195.0));
    assert!(!dog(4_814) && dog(4_816) && !dog(574) && dog(576));
}

/// Two bunks of 60 mm to either side, one 100 mm high at 1.2 m: the blade's disc, with 5 mm of clearance, is 285 mm from its edge.
#[test]
fn a_bunk_is_in_the_way_as_far_as_it_reaches() {
    let (mut mill, log) = (powered_mill(), round_log(300, 3_600));
    mill.bunks[1].top = Position::mm(100);
    let setup = Setup::new(&mill, &log).unwrap();
    let at = |travel: i32| Pose {
        travel: Position::mm(travel),
        height: Position::mm(50),
        angle: Angle::Flat,
        ..Pose::parked(&mill)
    };
    let met = |travel: i32| in_the_way(&setup, &at(travel), &at(travel)).is_some();
    let bunk = mill.bunks[1].travel.as_um() / 1_000;
    for side in [-1, 1] {
        assert!(met(bunk + side * (60 + 120 + 4)), "{side}");
        assert!(!met(bunk + side * (60 + 280 + 6)), "{side}");
    }
}

/// Names and numbers as in the profile, where one counts from one.
#[test]
fn what_stands_fixed_has_a_name() {
    let names = [
        Fixture::Bed,
        Fixture::Bunk(0),
        Fixture::Pack(3),
        Fixture::Wedge(0),
        Fixture::Dog(1),
        Fixture::KeepOut(2),
    ];
    assert_eq!(
        names.map(|fixture| std::format!("{fixture}")),
        [
            "the bed",
            "bunk 1",
            "the pack on bunk 4",
            "a wedge at bunk 1",
            "dog 2",
            "keep-out box 3"
        ]
    );
}
