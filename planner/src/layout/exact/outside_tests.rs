//! Against closed forms.

use std::vec;

use bunkside_protocol::{Length, LogRecord, MillRecord, Position};

use super::best::{Ground, Memory, Solver};
use super::heart::{Core, Heart};
use super::knap::Sum;
use super::laid::Wanted;
use super::row::Way;
use super::stack::Rise;
use super::stairs::Stair;
use super::wane::Wane;
use super::{Class, Item, Mark, Rising, Tier};
use crate::geometry::Interval;
use crate::replay::Setup;
use crate::testing::{mm, powered_mill, round_log};

/// What one board of so many millimetres, thick and wide, is worth in a straight log of 400 mm: a thousand where it has room, on
/// a step of a tenth of a millimetre.
fn worth(thickness: f64, width: f64) -> i64 {
    worth_on(&powered_mill(), thickness, width)
}

fn worth_on(mill: &MillRecord, thickness: f64, width: f64) -> i64 {
    worth_with(mill, [thickness, width], Wane::NONE, (None, Heart::Clear))
}

fn worth_with(
    mill: &MillRecord,
    [thickness, width]: [f64; 2],
    wane: Wane,
    (core, heart): (Option<Core>, Heart),
) -> i64 {
    worth_in(
        mill,
        &round_log(400, 3_600),
        [thickness, width],
        wane,
        (core, heart),
    )
}

fn worth_in(
    mill: &MillRecord,
    log: &LogRecord,
    [thickness, width]: [f64; 2],
    wane: Wane,
    (core, heart): (Option<Core>, Heart),
) -> i64 {
    let setup = Setup::new(mill, log).unwrap();
    let lengths = [Length::mm(3_600)];
    let wanted = [Wanted {
        without: None,
        thickness: mm(thickness).from_origin(),
        width: mm(width).from_origin(),
        by_grain: [None; 2],
        on_edge: false,
        lengths: &lengths,
        worth: &[1_000],
        wane,
        heart,
    }];
    // Where a face lies underneath, boards may lie on it: the kerf under them runs below.
    let bottom = log
        .sawn
        .bottom
        .map_or(Position::ZERO, |bottom| bottom - mill.blade.kerf);
    let ground = Ground {
        core,
        ..Ground::of(
            &setup,
            setup.shape.travel(),
            [bottom, Position::mm(400)],
            100,
            Length::mm(400),
        )
    };
    let memory = Memory {
        chords: &mut vec![(0, 0); 30_000],
        classes: &mut [Class::default(); 5],
        tiers: &mut [Tier::default(); 5],
        items: &mut vec![Item::default(); 50],
        rising: &mut vec![Rising::default(); 5],
        marks: &mut [Mark::default(); 5],
        ways: &mut vec![Way::default(); 1_000],
        front: &mut vec![0; 100],
        rooms: &mut [(0, 0); 50],
        seen: &mut [],
        stairs: &mut vec![Stair::default(); 64 * 5],
        rises: &mut vec![Rise::default(); 100],
        sums: &mut vec![Sum::default(); 500],
    };
    Solver::new(&ground, &wanted, memory)
        .unwrap()
        .solve(&[], &mut |_, _| {})
        .unwrap()
        .worth
}

/// The largest square in a circle of 400 mm has sides of 400/√2 = 282.8427 mm (elementary geometry). Its corners lie on the
/// step: 282.7 mm fit wherever the step lies, 282.9 mm nowhere.
#[test]
fn the_largest_square_in_a_round_log_is_found_and_no_larger_one() {
    assert_eq!(worth(282.7, 282.7), 1_000);
    assert_eq!(worth(282.9, 282.9), 0);
}

/// The largest rectangle twice as wide as high: 400/√5 = 178.8854 mm high; and the beam that bends least for its log, √3 times
/// as high as wide: 346.4102 mm by 200 mm (elementary geometry: the diagonal is the diameter).
#[test]
fn the_largest_rectangles_in_a_round_log_are_found_and_no_larger_ones() {
    assert_eq!(worth(178.8, 357.6), 1_000);
    assert_eq!(worth(178.9, 357.9), 0);
    assert_eq!(worth(346.3, 199.9), 1_000);
    assert_eq!(worth(346.5, 200.0), 0);
}

/// Layers of planks 300 mm wide lie where the chord is 300 mm long at least: within √(200² − 150²) = 132.2876 mm of the middle,
/// 264.5752 mm in all. With kerfs of 5.5 mm between them as many planks fit as (264.5752 + 5.5) / (thickness + 5.5), rounded
/// down: 8 of 28.2 mm, 7 of 28.3 mm.
#[test]
fn as_many_planks_lie_one_on_the_other_as_the_chord_has_room_for() {
    assert_eq!(worth(28.2, 300.0), 8_000);
    assert_eq!(worth(28.3, 300.0), 7_000);
}

/// Where the lowest floor lies over the middle of the log already, boards have no more room than at their faces: over a floor 50 mm over
/// the middle one 90 mm high is 2√(200² − 145.5²) = 274.436 mm wide at most, its underside a kerf over the floor; two beside each other
/// with a kerf between them 134.468 mm, whatever room there is for their undersides.
#[test]
fn boards_over_a_floor_above_the_middle_are_as_wide_as_at_their_faces() {
    let worth = |width| {
        let mut log = round_log(400, 3_600);
        for station in &mut log.stations {
            station.centre_height = Position::mm(-50);
        }
        worth_in(
            &powered_mill(),
            &log,
            [90.0, width],
            Wane::NONE,
            (None, Heart::Clear),
        )
    };
    assert_eq!([worth(274.2), worth(274.6)], [1_000, 0]);
    assert_eq!([worth(134.3), worth(134.6)], [2_000, 1_000]);
}

/// In half a log of R 200 mm, on its face or with its face upright, the largest square has sides of 2 r/√5 = 178.8854 mm, and a board
/// that lies on the face and is 165 mm thick is 2√(200² − 165²) = 226.0531 mm wide at most (elementary geometry: its outer corners lie
/// on the circle). What is left of the log with the face 140 mm under its middle is 2√(200² − 140²) = 285.6571 mm wide at the face.
#[test]
fn boards_in_half_a_log_are_found_up_to_its_face_and_no_further() {
    let mut lying = round_log(400, 3_600);
    for station in &mut lying.stations {
        station.centre_height = Position::ZERO;
    }
    let mut upright = [round_log(400, 3_600), round_log(400, 3_600)];
    upright[0].sawn.exit = Some(Position::ZERO);
    upright[1].sawn.entry = Some(Position::ZERO);
    let worth =
        |log: &LogRecord, size| worth_in(&powered_mill(), log, size, Wane::NONE, (None, Heart::Clear));
    lying.sawn.bottom = Some(Position::ZERO);
    for log in [&lying, &upright[0], &upright[1]] {
        assert_eq!(
            [worth(log, [178.8, 178.8]), worth(log, [178.9, 178.9])],
            [1_000, 0]
        );
    }
    assert_eq!(
        [worth(&lying, [165.0, 226.0]), worth(&lying, [165.0, 226.2])],
        [1_000, 0]
    );
    // Two of 90 mm across, a kerf between them, the outer corners on the circle: 2 × 90 + 5.5 mm wide, √(200² − 92.75²) = 177.195 mm high.
    assert_eq!(
        [worth(&lying, [177.1, 90.0]), worth(&lying, [177.3, 90.0])],
        [2_000, 1_000]
    );
    for station in &mut lying.stations {
        station.centre_height = Position::mm(140);
    }
    assert_eq!(
        [worth(&lying, [279.9, 285.5]), worth(&lying, [279.9, 285.8])],
        [1_000, 0]
    );
    // A face on top of it as well leaves a flitch, up to which boards lie, and no higher.
    lying.sawn.top = Some(Position::mm(250));
    assert_eq!(
        [worth(&lying, [249.9, 285.5]), worth(&lying, [250.2, 285.5])],
        [1_000, 0]
    );
}

/// A beam 200 mm high may lack so much of its faces at either edge: where they lie, 100 mm from the middle, the log is
/// 2√(200² − 100²) = 346.4102 mm wide, which is what is left of a face; so it may be wider by twice as much as may be missing. Of its
/// edges no more than 30 mm may be missing from either face: 70 mm from the middle the log has to be as wide as the beam,
/// 2√(200² − 70²) = 374.6999 mm (elementary geometry).
#[test]
fn a_beam_with_wane_is_wider_by_what_may_be_missing() {
    let worth = |width: f64, face: i32, edge: Option<i32>| {
        let wane = Wane {
            face: Length::mm(face),
            edge: edge.map(Length::mm),
            whole: 0,
        };
        worth_with(&powered_mill(), [200.0, width], wane, (None, Heart::Clear))
    };
    assert_eq!([worth(346.3, 0, None), worth(346.5, 0, None)], [1_000, 0]);
    assert_eq!([worth(350.3, 2, Some(30)), worth(350.5, 2, Some(30))], [1_000, 0]);
    assert_eq!(
        [worth(374.5, 20, Some(30)), worth(374.8, 20, Some(30))],
        [1_000, 0]
    );
    assert_eq!([worth(386.3, 20, None), worth(386.5, 20, None)], [1_000, 0]);
}

/// The log is rotten 100 mm thick along its middle, or along its last metre. The largest square holds that, or is not to be had. A
/// board 90 mm high that is clear of it lies from 50 mm over the middle to 140 mm, where the log is 2√(200² − 140²) = 285.657 mm
/// wide (elementary geometry; a step of 0.1 mm is lost at either edge, 0.4 mm across), or beside it, where it is narrower; one
/// that ends before it need not be.
#[test]
fn boards_keep_clear_of_a_core_or_hold_all_of_it() {
    let from = |mm: i32| Core {
        travel: Interval::new(Position::mm(mm), Position::mm(4_200)),
        thick: Length::mm(100),
    };
    let worth = |size, core, heart| worth_with(&powered_mill(), size, Wane::NONE, (Some(core), heart));
    let [all, part] = [600, 3_200].map(from);
    for (heart, fits) in [(Heart::Clear, 0), (Heart::Inside, 1_000), (Heart::Any, 1_000)] {
        assert_eq!(worth([282.5, 282.5], all, heart), fits, "{heart:?}");
        assert_eq!(worth([282.5, 282.5], part, heart), fits, "{heart:?}");
    }
    // No higher than the core is thick it holds none of it.
    assert_eq!(worth([90.0, 286.0], all, Heart::Inside), 0);
    assert_eq!(worth([90.0, 286.0], all, Heart::Clear), 0);
    assert_eq!(worth([90.0, 285.2], all, Heart::Clear), 2_000);
    assert_eq!(worth([90.0, 286.0], all, Heart::Any), 2_000);
}

/// Where the corner goes from -100 to 120 mm, a board's faces lie from -100 to 114.4 mm: the kerf beside it is 5.5 mm wide, and a
/// step of the grid is left for rounding.
#[test]
fn no_board_is_laid_out_where_the_blade_does_not_get_to() {
    let mut mill = powered_mill();
    (mill.across.min, mill.across.max) = (Position::mm(-100), Position::mm(120));
    assert_eq!(worth_on(&mill, 200.0, 214.4), 1_000);
    assert_eq!(worth_on(&mill, 200.0, 214.5), 0);
    (mill.across.min, mill.across.max) = (Position::mm(-120), Position::mm(100));
    assert_eq!(worth_on(&mill, 200.0, 214.4), 1_000);
    assert_eq!(worth_on(&mill, 200.0, 214.5), 0);
    (mill.across.min, mill.across.max) = (Position::mm(250), Position::mm(900));
    assert_eq!(worth_on(&mill, 20.0, 30.0), 0);
}

/// 140 mm are more than eight times 17 mm, and less than eight times 18 mm.
#[test]
fn no_board_stands_on_edge_that_would_not_stand_alone() {
    let stands = |thickness: i32| {
        let wanted = [Wanted {
            without: None,
            thickness: Length::mm(thickness),
            width: Length::mm(140),
            by_grain: [None; 2],
            on_edge: true,
            lengths: &[Length::mm(3_600)],
            worth: &[1],
            wane: Wane::NONE,
            heart: Heart::Clear,
        }];
        super::laid::laid(&wanted).any(|laid| laid.on_edge)
    };
    assert!(stands(18));
    assert!(!stands(17));
}
