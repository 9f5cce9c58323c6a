//! What hangs by how much.

use super::*;
use crate::geometry::Block;
use crate::limits::LIGAMENT;
use crate::testing::{round_log, timber};

/// 900 kg/m³ weigh 8 826 N/m³ (references: standard gravity); the moment of 1 m of 450 by 330 mm at half its width is
/// 8 826 × 0.45 × 0.33 × 0.225 Nm = 294.9 Nm, and 6 M ÷ (b t²) is 2 N/mm² for t² = 884.7 mm² (beam in bending, textbook
/// formula).
#[test]
fn a_part_asks_for_what_its_weight_bends() {
    let asked = |wide: i32, high: i32, density| asked_by(Length::mm(wide), Length::mm(high), density).as_um();
    assert_eq!(asked(450, 330, 900) / 100, 297);
    // Clear wood of 715 kg/m³: 7 012 × 0.144 × 0.134 × 0.072 Nm = 9.742 Nm on a metre, so 29.2 mm².
    assert_eq!(asked(144, 134, 715) / 100, 54);
    // 1 300 kg/m³: 12 749 × 1.8 × 0.9 × 0.9 Nm = 18 588 Nm, so 55 764 mm².
    assert_eq!(asked(1_800, 900, 1_300) / 100, 2_361);
}

/// By how much what hangs by too little does hang in a timber of 200 by 200 mm, 3 m long, after these kerfs: from where to
/// where along, across from the middle, and up, millimetres.
fn hangs(kerfs: &[[[i32; 2]; 3]]) -> Option<[i32; 2]> {
    let shape = Shape::new(&timber(200, 200, 3_000)).unwrap();
    let corner = shape.bounds();
    let across = corner.across.lo + Length::mm(100);
    let mut stock = Stock::new(&shape, []);
    for [along, wide, up] in kerfs {
        let from =
            |zero: Position, [lo, hi]: [i32; 2]| Interval::new(zero + Length::mm(lo), zero + Length::mm(hi));
        let kerf = Block {
            travel: from(corner.travel.lo, *along),
            across: from(across, *wide),
            height: from(corner.height.lo, *up),
        };
        stock.carve(&shape, kerf).unwrap();
    }
    let neck = stock.neck(&shape, 900, LIGAMENT)?;
    Some([neck.thick, neck.asks].map(|of| of.as_um() / 100))
}

const ALL: [i32; 2] = [-500, 3_500];

/// The upper half, 200 mm wide and 100 mm high, asks for 7.28 mm.
#[test]
fn a_part_hangs_by_what_a_flat_kerf_leaves_beside_it() {
    let flat = |to: i32| hangs(&[[ALL, [-150, to], [95, 100]]]);
    assert_eq!(flat(92), None);
    assert_eq!(flat(93), Some([72, 72]));
    assert_eq!(flat(97), Some([31, 72]));
    // It is free.
    assert_eq!(flat(101), None);
}

/// Between the ends of an upright and a flat kerf, where they do not meet: beside each other, one under the other, and
/// corner to corner; 100 mm wide and 100 mm high, it asks for 3.6 mm.
#[test]
fn a_part_hangs_between_the_ends_of_two_kerfs() {
    let two =
        |flat: i32, upright: i32| hangs(&[[ALL, [-150, flat], [95, 100]], [ALL, [0, 5], [upright, 300]]]);
    for (flat, upright) in [(-4, 90), (10, 104), (-4, 104)] {
        assert_eq!(two(flat, upright), None, "{flat} {upright}");
    }
    for (flat, upright) in [(-3, 90), (10, 103), (-3, 103)] {
        assert!(two(flat, upright).is_some(), "{flat} {upright}");
    }
    assert_eq!(two(10, 90), None);
}

/// A kerf over half of the log leaves the part fast on the other half; a second one there may leave it nothing.
#[test]
fn a_part_hangs_where_it_hangs_along_the_log() {
    let near = [[-500, 1_500], [-150, 96], [95, 100]];
    let far = |to: i32| [[1_490, 3_500], [-150, to], [95, 100]];
    assert_eq!(hangs(&[near]), None);
    assert_eq!(hangs(&[near, far(50)]), None);
    assert!(hangs(&[near, far(96)]).is_some());
    // A wall at the far end, thinner than what is asked for, is none.
    let wall = |thick: i32| hangs(&[[[-500, 3_000 - thick], [-150, 150], [95, 100]]]);
    assert!(wall(7).is_some());
    assert_eq!(wall(8), None);
}

/// Boards and laths are held by less than a thread asks for.
#[test]
fn a_light_part_asks_for_nothing() {
    // A board of 55 by 25 mm on 2 mm, and a plate of 200 by 6 mm.
    assert_eq!(
        hangs(&[[ALL, [40, 45], [120, 300]], [ALL, [47, 150], [170, 175]]]),
        None
    );
    assert_eq!(hangs(&[[ALL, [-150, 98], [189, 194]]]), None);
    let comb = [-60, -20, 20, 60].map(|at| [ALL, [at, at + 5], [20, 300]]);
    assert_eq!(hangs(&comb), None);
}

/// A squared timber's upper half hangs on the far third of its length alone, by so much: 7.3 mm all along is 12.6 mm there.
#[test]
fn a_part_may_hang_by_more_over_a_third_of_its_length() {
    let near = [[-500, 2_000], [-150, 150], [95, 100]];
    let far = |left: i32| [[1_990, 3_500], [-150, 100 - left], [95, 100]];
    assert_eq!(hangs(&[near, far(13)]), None);
    assert!(hangs(&[near, far(7)]).is_some());
}

/// A log that grows from 200 mm to 300 mm in width.
#[test]
fn a_part_hangs_at_the_thick_end_of_a_log() {
    let mut log = round_log(200, 3_000);
    log.stations.last_mut().unwrap().half_width = Length::mm(150);
    let shape = Shape::new(&log).unwrap();
    let bounds = shape.bounds();
    let left = |across: i32| {
        let mut stock = Stock::new(&shape, []);
        let low = bounds.height.lo + Length::mm(150);
        let kerf = Block {
            travel: Interval::ALL,
            across: Interval::new(Position::MIN, Position::mm(across)),
            height: Interval::new(low, low + Length::mm(5)),
        };
        stock.carve(&shape, kerf).unwrap();
        stock.neck(&shape, 900, LIGAMENT).is_none()
    };
    // A square of 5.3 mm ends at 104 mm in the middle of the log, one of 9.2 mm at 114 mm near its far end.
    assert!(left(97));
    assert!(left(100));
    assert!(!left(120));
}

/// Where one part could be found to ask for more than another one is thick: 900 mm wide, 800 mm high, and a slab of 40 mm.
#[test]
fn a_thin_part_is_looked_for_beside_thick_ones() {
    let shape = Shape::new(&timber(900, 900, 3_000)).unwrap();
    let bounds = shape.bounds();
    let flat = |to: i32, height: i32| {
        let low = bounds.height.lo + Length::mm(height);
        Block {
            travel: Interval::ALL,
            across: Interval::new(Position::MIN, bounds.across.lo + Length::mm(to)),
            height: Interval::new(low, low + Length::mm(5)),
        }
    };
    // 900² × 40 mm³ × 8 826 N/m³ × 3 ÷ 2 N/mm²: 20.7 mm.
    for (left, holds) in [(22, true), (19, false), (5, false)] {
        let mut stock = Stock::new(&shape, []);
        stock.carve(&shape, flat(100, 100)).unwrap();
        stock.carve(&shape, flat(900 - left, 855)).unwrap();
        assert_eq!(stock.neck(&shape, 900, LIGAMENT).is_none(), holds, "{left}");
    }
}

/// A stem in the middle of a round log, 500 mm thick, and another beside it: together they bear, and each for itself does
/// not.
#[test]
fn what_hangs_in_several_places_hangs_by_the_thickest() {
    let shape = Shape::new(&round_log(500, 3_000)).unwrap();
    let bounds = shape.bounds();
    let stem = |thick: i32| {
        let mut stock = Stock::new(&shape, []);
        let height = bounds.height.lo + Length::mm(250);
        let middle = Position::ZERO;
        for across in [
            Interval::new(Position::MIN, middle),
            Interval::new(middle + Length::mm(thick), Position::MAX),
        ] {
            let height = Interval::new(height, height + Length::mm(5));
            let travel = Interval::ALL;
            let kerf = Block {
                travel,
                across,
                height,
            };
            stock.carve(&shape, kerf).unwrap();
        }
        stock.neck(&shape, 900, LIGAMENT)
    };
    // 500² × 245 mm³ × 8 826 N/m³ × 3 ÷ 2 N/mm²: 28.5 mm, and 0.886 of it for half of a circle.
    let told = stem(24).map(|neck| [neck.thick, neck.asks].map(|of| of.as_um() / 1_000));
    assert_eq!(told, Some([24, 25]));
    assert_eq!(stem(27), None);
}
