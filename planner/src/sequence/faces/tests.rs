//! Faces of straight timbers and round logs, in figures.

use bunkside_protocol::{LogRecord, Station};

use super::*;
use crate::testing::{mm, powered_mill, round_log, timber};

fn asked<T>(log: &LogRecord, ask: impl FnOnce(&Faces<'_, '_>) -> T) -> T {
    let mill = powered_mill();
    let setup = Setup::new(&mill, log).unwrap();
    let stock = setup.stock();
    ask(&Faces {
        setup: &setup,
        stock: &stock,
    })
}

const FLOOR: Position = Position::mm(60);

/// A tenth of a millimetre beyond the wood, and up to the next step of the grid.
#[test]
fn a_rim_that_runs_through_stands_just_beyond_the_wood() {
    asked(&timber(180, 160, 3_600), |faces| {
        assert_eq!(faces.rim(mm(90.0)), mm(90.1));
        assert_eq!(faces.rim(mm(90.01)), mm(90.2));
    });
}

/// What may hide between samples of a log that flares widely is more than the 4 mm by which a rim may overhang.
#[test]
fn a_rim_follows_what_may_be_hidden_as_far_as_it_may_overhang() {
    let mut log = round_log(300, 3_600);
    let station = |travel: f64, half: i32| Station {
        travel: mm(travel),
        centre_height: mm(f64::from(half)),
        half_width: Length::mm(half),
        half_height: Length::mm(half),
        ..log.stations[0]
    };
    log.stations = [station(600.0, 60), station(700.0, 900)].into_iter().collect();
    asked(&log, |faces| {
        assert!(
            faces.setup.shape.between() > Length::mm(4),
            "{}",
            faces.setup.shape.between()
        );
        let overhangs = (0..100).map(|um| {
            let outermost = Position::um(um);
            faces.rim(outermost) - outermost
        });
        assert_eq!(overhangs.max(), Some(Length::um(3_999)));
    });
}

/// A kerf of 5.5 mm takes all that lies on its entry side as long as it begins no further in than the timber, at −90 mm.
#[test]
fn wood_lies_before_a_kerf_that_begins_within_the_timber() {
    asked(&timber(180, 160, 3_600), |faces| {
        assert!(!faces.wood_before(mm(-85.0), FLOOR));
        assert!(faces.wood_before(mm(-84.0), FLOOR));
    });
}

/// 3 mm hold nothing. On a log of 300 mm the kerf from 210 mm has √(150² − 65.5²) = 134.94 mm of wood at its top.
#[test]
fn a_column_is_held_by_more_than_a_ligament_at_floor_and_kerf_alike() {
    asked(&timber(180, 160, 3_600), |faces| {
        assert!(faces.held_beyond(mm(86.999), FLOOR));
        assert!(!faces.held_beyond(mm(87.0), FLOOR));
    });
    asked(&round_log(300, 3_600), |faces| {
        assert!(faces.held_beyond(mm(131.9), mm(210.0)));
        assert!(!faces.held_beyond(mm(132.0), mm(210.0)));
    });
}

/// The blade covers 205 mm; a grid step and a millimetre stay in hand, and the rim stands 0.1 mm beyond the wood.
#[test]
fn a_slab_comes_off_whole_as_wide_as_the_blade_covers() {
    let columns = |width: i64| {
        let mut log = timber(180, 160, 3_600);
        for station in &mut log.stations {
            station.half_width = Length::um(width / 2);
        }
        asked(&log, |faces| faces.slab(FLOOR).unwrap().len())
    };
    assert_eq!(columns(203_600), 1);
    assert_eq!(columns(203_800), 2);
}
