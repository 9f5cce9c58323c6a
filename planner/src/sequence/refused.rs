//! Plans that cannot be cut, and the last ones that can.

use std::vec::Vec;

use bunkside_protocol::{Acts, Angle, Length, LogRecord, MillRecord, Move, Position, Stroke};

use super::{Carriage, Fixture, PlanErrorKind, Sequencer, Standing, Start, sequence};
use crate::machine::Pose;
use crate::physics::falling::Over;
use crate::plan::{Column, CutPlan, Freeing, Layer, Use};
use crate::replay::Setup;
use crate::testing::{mm, powered_mill, round_log, timber};

fn column(to: Option<f64>) -> Column {
    Column {
        to: to.map(mm),
        freeing: Freeing::Take,
        use_: Use::Waste,
    }
}

fn layer(floor: f64, columns: &[Column]) -> Layer<'_> {
    Layer {
        floor: mm(floor),
        columns,
        passes: None,
        hold: Acts::NONE,
    }
}

/// What stands in the way of a plan on the powered mill, with the numbers of layer and column.
fn told(log: &LogRecord, layers: &[Layer<'_>]) -> Option<(usize, Option<usize>, PlanErrorKind)> {
    let mill = powered_mill();
    let setup = Setup::new(&mill, log).unwrap();
    let made = sequence(&setup, &CutPlan { layers }, &mut |_: &Move| true);
    made.err().map(|error| (error.layer, error.column, error.kind))
}

/// A kerf of 5.5 mm lies on the floor: what is above has to be thicker than nothing, and than what breaks off.
#[test]
fn a_floor_lies_by_more_than_a_kerf_below_the_one_before() {
    let second = |floor: f64| told(&round_log(300, 3_600), &[layer(265.0, &[]), layer(floor, &[])]);
    assert_eq!(second(265.0), Some((1, None, PlanErrorKind::NotBelow)));
    assert_eq!(second(259.5), Some((1, None, PlanErrorKind::NotBelow)));
    let thin = |floor: f64| match second(floor) {
        Some((1, Some(0), PlanErrorKind::ThinWood { thick, .. })) => Some(thick),
        other => panic!("{other:?}"),
    };
    assert_eq!(thin(259.4), Some(Length::um(100)));
    assert_eq!(thin(253.5), Some(Length::mm(6)));
    assert_eq!(second(251.0), None);
}

/// A log of 300 mm in bark: its wood begins 12 mm up.
#[test]
fn no_floor_lies_under_all_wood() {
    let mut log = round_log(300, 3_600);
    log.bark = Length::mm(12);
    for station in &mut log.stations {
        station.centre_height = Position::mm(162);
    }
    let layers = |floor: f64| told(&log, &[layer(265.0, &[]), layer(floor, &[column(None)])]);
    let under = |floor: f64| match layers(floor) {
        Some((1, None, PlanErrorKind::UnderWood { wood })) => Some(wood),
        _ => None,
    };
    let found = [4.0, 11.9, 12.0, 40.0].map(under);
    assert_eq!(found, [Some(mm(12.0)), Some(mm(12.0)), None, None]);
}

#[test]
fn a_column_ends_by_more_than_a_kerf_beyond_the_one_before() {
    let second = |to: f64| {
        let columns = [column(Some(0.0)), column(Some(to)), column(None)];
        told(
            &round_log(300, 3_600),
            &[layer(265.0, &[]), layer(210.0, &columns)],
        )
    };
    assert_eq!(second(-10.0), Some((1, Some(1), PlanErrorKind::NotFurther)));
    assert_eq!(second(5.5), Some((1, Some(1), PlanErrorKind::NotFurther)));
    assert_eq!(second(5.6), None);
}

/// A quarter of a log of 160 mm is 40 mm: below that the lowest layer has to be edged on its entry side.
#[test]
fn the_lowest_layer_needs_an_edge_below_a_quarter_of_the_log() {
    let lowest = |floor: f64, columns: &[Column]| {
        told(
            &round_log(160, 3_600),
            &[layer(120.0, &[]), layer(floor, columns)],
        )
    };
    let whole = [column(None)];
    assert_eq!(lowest(40.0, &whole), None);
    assert_eq!(lowest(39.9, &whole), Some((1, Some(0), PlanErrorKind::NoEdge)));
    assert_eq!(lowest(40.0, &[]), None);
    assert_eq!(lowest(39.9, &[]), Some((1, None, PlanErrorKind::NoEdge)));
    // What is sawn on its entry side already has its edge.
    assert_eq!(
        told(&timber(160, 160, 3_600), &[layer(39.9, &whole)]).map(|(_, _, kind)| kind),
        None
    );
}

/// On a log of 300 mm the floor at 210 mm has wood from -137.5 to 137.5 mm.
#[test]
fn a_layer_ends_where_its_wood_does() {
    let log = round_log(300, 3_600);
    let left = |columns: &[Column]| told(&log, &[layer(265.0, &[]), layer(210.0, columns)]);
    let found = left(&[column(Some(0.0))]);
    let Some((1, None, PlanErrorKind::WoodLeft { from })) = found else {
        panic!("{found:?}");
    };
    assert_eq!(from, Position::ZERO);
    assert_eq!(left(&[column(Some(0.0)), column(None)]), None);
}

/// A rim that may not stand as far out as the grid takes it is told with what would do; that does.
#[test]
fn a_rim_that_the_grid_takes_too_far_out_is_told() {
    let log = round_log(300, 3_600);
    let made = |overhang: Length| {
        let mut mill = powered_mill();
        mill.clearances.rim_overhang = overhang;
        let setup = Setup::new(&mill, &log).unwrap();
        let plan = [layer(263.0, &[])];
        sequence(&setup, &CutPlan { layers: &plan }, &mut |_| true).map_err(|error| error.kind)
    };
    let Err(PlanErrorKind::RimOut { out, limit, enough }) = made(Length::ZERO) else {
        panic!("planned");
    };
    assert!(out > limit && out <= enough, "{out} {enough}");
    assert_eq!(made(enough), Ok(()));
}

/// A side of 9.4 kg that balances beyond its floor; in wood a little lighter it weighs less than 8 kg, and the plan goes on to
/// what it says nothing of.
#[test]
fn a_heavy_side_is_not_let_fall() {
    let mut log = round_log(300, 3_600);
    let mut made = |density: u16| {
        log.density = density;
        told(&log, &[layer(263.0, &[]), layer(75.0, &[column(Some(-122.0))])])
    };
    assert_eq!(
        made(1_100),
        Some((
            1,
            Some(0),
            PlanErrorKind::WouldFall {
                tenths: 94,
                over: Over::Entry,
                edged: false,
            }
        ))
    );
    let left = PlanErrorKind::WoodLeft { from: mm(-122.0) };
    assert_eq!(made(930), Some((1, None, left)));
}

/// A side of 11.2 kg that tips off its floor as its upright kerf frees it: the mill says whether it may.
#[test]
fn a_side_heavier_than_may_tip_is_not_let_tip() {
    let made = |tips: u16| {
        let mut log = round_log(300, 3_600);
        log.density = 1_100;
        let mut mill = powered_mill();
        mill.loose.tips = tips;
        let setup = Setup::new(&mill, &log).unwrap();
        let side = [column(Some(-119.0))];
        let plan = [layer(263.0, &[]), layer(75.0, &side)];
        sequence(&setup, &CutPlan { layers: &plan }, &mut |_| true).map_err(|error| error.kind)
    };
    let over = Over::Entry;
    assert_eq!(
        made(11),
        Err(PlanErrorKind::WouldTip {
            tenths: 112,
            over,
            most: 11,
        })
    );
    let left = PlanErrorKind::WoodLeft { from: mm(-119.0) };
    assert_eq!(made(12), Err(left));
}

/// The slab over 263 mm weighs 9.96 kg.
#[test]
fn no_more_is_laid_on_the_blade_than_it_bears() {
    let made = |on_blade: u16| {
        let mut mill = powered_mill();
        mill.loose.on_blade = on_blade;
        let log = round_log(300, 3_600);
        let setup = Setup::new(&mill, &log).unwrap();
        let plan = [layer(263.0, &[])];
        sequence(&setup, &CutPlan { layers: &plan }, &mut |_| true).map_err(|error| error.kind)
    };
    assert_eq!(made(10), Ok(()));
    assert_eq!(made(9), Err(PlanErrorKind::OnBlade { tenths: 99, most: 9 }));
}

/// A board as high as eight times its foot is wide stands; one a tenth of a millimetre higher, or on a foot as much narrower, topples.
#[test]
fn what_stands_more_than_eight_times_as_high_as_wide_is_not_freed() {
    // From the face of the opened log at 263 mm down to the top of the flat kerf, and between two upright kerfs 5.5 mm wide.
    let made = |high: f64, wide: f64| {
        let floor = 263.0 - high - 5.5;
        let columns = [0.0, wide + 5.5].map(|to| column(Some(to)));
        told(
            &round_log(300, 3_600),
            &[layer(263.0, &[]), layer(floor, &columns)],
        )
    };
    let left = |to: f64| Some((1, None, PlanErrorKind::WoodLeft { from: mm(to) }));
    assert_eq!(made(96.0, 12.0), left(17.5));
    let topples = |high: i64, most: i64| {
        let [high, most] = [high, most].map(Length::um);
        Some((1, Some(1), PlanErrorKind::Topples { high, most }))
    };
    assert_eq!(made(96.1, 12.0), topples(96_100, 96_000));
    assert_eq!(made(96.0, 11.9), topples(96_000, 95_200));
}

/// What is said to free it does: a side that lies on too little wood is released, taken wider or from a higher floor; one with
/// nothing under it drops even so, unless its kerf ends in wood.
#[test]
fn a_side_that_would_fall_is_freed_as_it_is_said() {
    let falls = |floor: f64, across: f64, freeing: Freeing| {
        let mut log = round_log(300, 3_600);
        log.density = 2_200;
        let side = Column {
            freeing,
            ..column(Some(across))
        };
        let found = told(&log, &[layer(263.0, &[]), layer(floor, &[side])]);
        match found.map(|(_, _, kind)| kind) {
            Some(PlanErrorKind::WouldFall { over, .. }) => Some(over),
            Some(PlanErrorKind::WoodLeft { .. }) => None,
            other => panic!("{other:?}"),
        }
    };
    assert_eq!(falls(75.0, -121.0, Freeing::Take), Some(Over::Entry));
    assert_eq!(falls(75.0, -121.0, Freeing::Release), None);
    // Edged there it hangs by 2.4 mm, and may drop then already.
    assert_eq!(falls(75.0, -122.0, Freeing::Release), Some(Over::Entry));
    assert_eq!(falls(75.0, -110.0, Freeing::Take), None);
    assert_eq!(falls(100.0, -122.0, Freeing::Take), None);
    for freeing in [Freeing::Take, Freeing::Release] {
        assert_eq!(falls(75.0, -131.0, freeing), Some(Over::Down), "{freeing:?}");
        assert_eq!(falls(75.0, -110.0, freeing), None);
        assert_eq!(falls(110.0, -131.0, freeing), None);
    }
}

/// As much plate as the profile says, and never so much that the hub would touch.
#[test]
fn a_blade_covers_what_its_profile_and_its_hub_allow() {
    let mut mill = powered_mill();
    let log = round_log(300, 3_600);
    let mut cover = |flat: i32, upright: i32, hub: i32| {
        mill.reach.cover = [Length::mm(flat), Length::mm(upright)];
        mill.blade.hub = Length::mm(hub);
        let setup = Setup::new(&mill, &log).unwrap();
        let carriage = Carriage::new(&setup).unwrap();
        let mut nowhere = |_: &Move| true;
        let sequencer = Sequencer::new(&setup, carriage, &mut nowhere);
        let covers: Vec<Length> = [Angle::Flat, Angle::Upright]
            .map(|angle| sequencer.cover(angle))
            .into();
        covers
    };
    assert_eq!(cover(200, 150, 70), [Length::mm(200), Length::mm(150)]);
    assert_eq!(cover(200, 150, 120), [Length::mm(160), Length::mm(150)]);
    assert_eq!(cover(200, 150, 140), [Length::mm(140); 2]);
}

/// A swing that goes below the bed is raised as far as the mill goes, and no further.
#[test]
fn the_blade_is_raised_to_swing_as_far_as_the_mill_goes() {
    let mut mill = powered_mill();
    let log = round_log(300, 3_600);
    let pose = Pose {
        angle: Angle::Upright,
        height: mm(0.0),
        ..Pose::parked(&mill)
    };
    let swung = |mill: &MillRecord| {
        let setup = Setup::new(mill, &log).unwrap();
        let carriage = Carriage::new(&setup).unwrap();
        let start = Start {
            stroke: Stroke::Outbound,
            angle: Angle::Flat,
            across: pose.across,
            height: mm(0.0),
        };
        let from = Pose {
            travel: carriage.near,
            ..pose
        };
        let raised = carriage.raised_to_swing(&from).unwrap();
        (
            raised,
            carriage.approach(&from, &start, Standing::default).map(|_| ()),
        )
    };
    let (raised, _) = swung(&mill);
    mill.height.max = raised;
    assert_eq!(swung(&mill).1, Ok(()));
    mill.height.max = raised - mill.grid;
    assert_eq!(swung(&mill).1, Err(PlanErrorKind::NoRoomToSwing(Fixture::Bed)));
    mill.height.max = raised - Length::mm(50);
    assert_eq!(swung(&mill).1, Err(PlanErrorKind::NoRoomToSwing(Fixture::Bed)));
}
