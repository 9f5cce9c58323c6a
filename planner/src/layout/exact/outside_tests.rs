//! Against closed forms.

use std::vec;

use bunkside_protocol::{Length, MillRecord, Position};

use super::Item;
use super::best::{Ground, Memory, Solver};
use super::knap::Sum;
use super::order::Wanted;
use super::row::Way;
use super::stack::Rise;
use super::stairs::Stair;
use super::wane::Wane;
use crate::replay::Setup;
use crate::testing::{mm, powered_mill, round_log};

/// What one board of so many millimetres, thick and wide, is worth in a straight log of 400 mm: a thousand where it has room, on
/// a step of a tenth of a millimetre.
fn worth(thickness: f64, width: f64) -> i64 {
    worth_on(&powered_mill(), thickness, width)
}

fn worth_on(mill: &MillRecord, thickness: f64, width: f64) -> i64 {
    worth_with(mill, [thickness, width], Wane::NONE)
}

fn worth_with(mill: &MillRecord, [thickness, width]: [f64; 2], wane: Wane) -> i64 {
    let log = round_log(400, 3_600);
    let setup = Setup::new(mill, &log).unwrap();
    let lengths = [Length::mm(3_600)];
    let wanted = [Wanted {
        thickness: mm(thickness).from_origin(),
        width: mm(width).from_origin(),
        on_edge: false,
        lengths: &lengths,
        worth: &[1_000],
        wane,
    }];
    let ground = Ground {
        setup: &setup,
        usable: setup.shape.travel(),
        lowest: Position::ZERO,
        top: Position::mm(400),
        step: Length::um(100),
        reach: [Length::mm(400); 2],
    };
    let memory = Memory {
        chords: &mut vec![(0, 0); 30_000],
        items: &mut vec![Item::default(); 10],
        ways: &mut vec![Way::default(); 1_000],
        front: &mut vec![0; 100],
        rooms: &mut [(0, 0); 10],
        stairs: &mut vec![Stair::default(); 64],
        rises: &mut vec![Rise::default(); 100],
        sums: &mut vec![Sum::default(); 100],
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
        worth_with(&powered_mill(), [200.0, width], wane)
    };
    assert_eq!([worth(346.3, 0, None), worth(346.5, 0, None)], [1_000, 0]);
    assert_eq!([worth(350.3, 2, Some(30)), worth(350.5, 2, Some(30))], [1_000, 0]);
    assert_eq!(
        [worth(374.5, 20, Some(30)), worth(374.8, 20, Some(30))],
        [1_000, 0]
    );
    assert_eq!([worth(386.3, 20, None), worth(386.5, 20, None)], [1_000, 0]);
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
