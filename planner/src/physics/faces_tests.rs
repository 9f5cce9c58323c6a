//! Logs with faces against closed forms, and against squared timbers, which have sections of their own kind.

use core::f64::consts::PI;

use bunkside_protocol::{Angle, Length, LogRecord, MillRecord, Position, Sawn, Surface};

use super::body::{Solid, body};
use super::slices::Slices;
use super::strain::at_rest;
use super::support::{Flaw, balance, flaws};
use super::{under, wedges};
use crate::geometry::Shape;
use crate::replay::Setup;
use crate::stock::{Edge, Pick, Stock};
use crate::testing::{Case, Script, edged_over_bunks, powered_mill, round_log, tapered_log, timber};

fn near(told: f64, expected: f64, within: f64) {
    assert!((told - expected).abs() <= within, "{told} is not {expected}");
}

/// A log of 400 mm with its middle so far over the face that it lies on.
fn lying(over_mm: i32) -> LogRecord {
    let mut log = round_log(400, 3_600);
    for station in &mut log.stations {
        station.centre_height = Position::mm(over_mm);
    }
    log.sawn.bottom = Some(Position::ZERO);
    log
}

fn whole(log: &LogRecord) -> Solid {
    let shape = Shape::new(log).unwrap();
    let stock = Stock::new(&shape, []);
    let told = body(&stock, &shape, Pick::Body);
    let kept = super::body::Standing::new(&Slices::new(&shape), &shape).solid();
    near(kept.volume_mm3 / told.volume_mm3, 1.0, 1e-6);
    told
}

/// Half a disc: area π r²/2, balance 4r/3π over its face (any handbook of mechanics; Machinery's Handbook, from memory).
#[test]
fn half_a_log_has_the_volume_and_the_balance_of_half_a_cylinder() {
    let half = whole(&lying(0));
    near(half.volume_mm3 / (PI * 200.0 * 200.0 / 2.0 * 3_600.0), 1.0, 1e-9);
    let [along, across, up] = half.centroid_mm;
    near(up, 4.0 * 200.0 / (3.0 * PI), 1e-6);
    near(along, 600.0 + 1_800.0, 1e-6);
    near(across, 0.0, 1e-9);
    // The same half, its face upright on the exit side.
    let mut turned = round_log(400, 3_600);
    turned.sawn.exit = Some(Position::ZERO);
    let [_, across, up] = whole(&turned).centroid_mm;
    near(across, -4.0 * 200.0 / (3.0 * PI), 1e-6);
    near(up, 200.0, 1e-6);
}

/// R 200 without a slab of 60 mm: 113 843.7525 mm², 17.062583 mm off the middle; segments as in `area.rs`.
#[test]
fn a_log_on_its_face_weighs_what_its_segment_does() {
    let left = whole(&lying(140));
    near(left.volume_mm3, 113_843.752_5 * 3_600.0, 1.0);
    near(left.centroid_mm[2], 140.0 + 17.062_583, 1e-6);
}

/// A tapered half log of R 100 to 200: π L (R² + R r + r²)/6, half of what the frustum holds; it balances L (R² + 2 R r + 3 r²)/(4 (R² +
/// R r + r²)) from the end with R.
#[test]
fn half_a_frustum_balances_as_the_whole_one_does() {
    let mut log = tapered_log(200, 400, 3_600);
    for station in &mut log.stations {
        station.centre_height = Position::ZERO;
    }
    log.sawn.bottom = Some(Position::ZERO);
    let (small, large, long) = (100.0, 200.0, 3_600.0);
    let sum = large * large + large * small + small * small;
    let found = whole(&log);
    near(found.volume_mm3 / (PI * long * sum / 6.0), 1.0, 1e-6);
    let along = long * (large * large + 2.0 * large * small + 3.0 * small * small) / (4.0 * sum);
    near(found.centroid_mm[0], 600.0 + long - along, 1e-2);
    near(
        balance(&log, &Shape::new(&log).unwrap()),
        600.0 + long - along,
        1e-2,
    );
}

/// A mill whose wedges stand so far out, and so high.
fn wedged(reach_mm: i32, height_mm: i32) -> MillRecord {
    let mut mill = powered_mill();
    mill.wedges.reach = Length::mm(reach_mm);
    mill.wedges.height = Length::mm(height_mm);
    mill
}

/// On a face it tips over the edges of that, half the chord from the middle, √(200² − 140²) = 142.829 mm, and does not turn; its
/// balance is 157.06 mm up, so that it leans over at 142.829/157.063, 7 times which is 6.366.
#[test]
fn on_a_face_as_wide_as_wedges_stand_a_log_tips_over_its_edges() {
    let (mill, log) = (wedged(120, 60), lying(140));
    let setup = Setup::new(&mill, &log).unwrap();
    let mut solid = whole(&log);
    let still = at_rest(&setup, &solid, [0.0; 2]);
    near(still.stand, 7.0 * 142.828_6 / 157.062_6, 1e-3);
    assert_eq!([still.tip, still.turn], [f64::INFINITY; 2]);
    solid.centroid_mm[1] += 100.0;
    near(at_rest(&setup, &solid, [0.0; 2]).tip, 1.428_286, 1e-5);
    assert!(!setup.bed.turns);
    // It stands on no wedge, and none is in the blade's way.
    let flat = wedges::flat(&mill, &setup.shape, Position::mm(1_000)).unwrap();
    assert!((flat.length() - Length::um(285_657)).abs() <= Length::um(2));
    let mut stands = 0;
    under::each(
        (&mill, &setup.shape),
        crate::geometry::Interval::ALL,
        &mut |_, _| stands += 1,
    );
    assert_eq!(stands, 0);
}

/// A face that is narrower than wedges stand apart leaves it to them: it tips over their line, and turns between them.
#[test]
fn a_narrow_face_is_wedged_as_a_round_log_is() {
    // √(200² − 195²) = 44.4 mm of face on either side.
    let (mill, log) = (wedged(120, 60), lying(195));
    let setup = Setup::new(&mill, &log).unwrap();
    assert!(setup.bed.turns);
    assert!(wedges::flat(&mill, &setup.shape, Position::mm(1_000)).is_none());
    let mut solid = whole(&log);
    solid.centroid_mm[1] += 60.0;
    let still = at_rest(&setup, &solid, [0.0; 2]);
    near(still.tip, 2.0, 1e-6);
    // Grip of smooth wood, 0.3, times the middle over the contacts, √(200² − 120²) = 160 mm.
    near(still.turn, 0.3 * 160.0 / 60.0, 1e-3);
}

/// A log with bark grips by 0.5 on wedges, by 0.3 on what was sawn: no pass pushes it off that a smooth log would not bear.
#[test]
fn a_face_grips_as_smooth_wood_does() {
    let (mill, mut log) = (wedged(120, 60), lying(140));
    let grip = |log: &LogRecord| Setup::new(&mill, log).unwrap().bed.grip;
    near(grip(&log), 0.3, 1e-12);
    log.surface = Surface::Iced;
    near(grip(&log), 0.15, 1e-12);
    log = round_log(400, 3_600);
    near(grip(&log), 0.5, 1e-12);
    log.sawn.top = Some(Position::mm(300));
    near(grip(&log), 0.5, 1e-12);
}

/// Four faces that leave 180 by 160 mm of a log of 300 mm.
fn squared() -> LogRecord {
    let mut log = round_log(300, 3_600);
    for station in &mut log.stations {
        station.centre_height = Position::mm(80);
    }
    log.sawn = Sawn {
        entry: Some(Position::mm(-90)),
        exit: Some(Position::mm(90)),
        bottom: Some(Position::ZERO),
        top: Some(Position::mm(160)),
    };
    log
}

/// What a log sawn square is judged to do is what a timber of that size is: sections, volumes, forces, findings.
#[test]
fn a_log_sawn_square_on_all_four_sides_is_a_timber() {
    let mut mill = powered_mill();
    let (round, mut square) = (squared(), timber(180, 160, 3_600));
    square.surface = Surface::Smooth;
    let scripts = [
        edged_over_bunks(),
        edged_over_bunks()
            .corner(40.0, 31.0)
            .cut(4_530)
            .swing(Angle::Upright)
            .cut(270)
            .unload(),
        Script::new()
            .swing(Angle::Flat)
            .travel(270)
            .corner(95.0, 100.0)
            .cut(4_530)
            .unload(),
        Script::new()
            .swing(Angle::Flat)
            .travel(270)
            .corner(60.0, 10.0)
            .cut(4_530),
    ];
    let mut found = 0;
    for reach in [0, 60] {
        mill.wedges.reach = Length::mm(reach);
        for script in &scripts {
            let told = |log: &LogRecord| {
                let findings = Case::new(mill.clone(), log.clone(), script.clone());
                let findings = findings.script.findings(&findings.mill, &findings.log);
                let mut told = std::vec::Vec::new();
                for finding in &findings {
                    // Wedges are set against a timber of the other kind, which has no face.
                    let by = std::format!(
                        "{} {} {}",
                        finding.rule,
                        finding.objection.measured,
                        finding.objection.limit
                    );
                    if reach == 0 || finding.rule != "bed-clear" {
                        told.push(by);
                    }
                }
                told
            };
            assert_eq!(told(&round), told(&square), "{reach}");
            found += told(&round).len();
        }
    }
    assert!(found > 4, "{found}");
    let (one, other) = (whole(&round), whole(&square));
    near(one.volume_mm3, other.volume_mm3, 1e-3);
    for (told, expected) in one.centroid_mm.into_iter().zip(other.centroid_mm) {
        near(told, expected, 1e-6);
    }
}

/// What is taken off a sawn side has no bark there; of a round one it has.
#[test]
fn a_sawn_side_is_no_natural_edge() {
    let mill = powered_mill();
    let mut log = round_log(300, 3_600);
    log.bark = Length::mm(10);
    let taken = |log: &LogRecord| {
        let setup = Setup::new(&mill, log).unwrap();
        let mut stock = setup.stock();
        let kerf = |across: [i32; 2], height: [i32; 2]| {
            let [lo, hi] = across.map(Position::mm);
            let [low, high] = height.map(Position::mm);
            crate::geometry::Block {
                travel: crate::geometry::Interval::ALL,
                across: crate::geometry::Interval::new(lo, hi),
                height: crate::geometry::Interval::new(low, high),
            }
        };
        stock.carve(&setup.shape, kerf([-300, -60], [140, 145])).unwrap();
        stock.carve(&setup.shape, kerf([-65, -60], [140, 400])).unwrap();
        let piece = &stock.pieces()[0];
        (piece.entry, piece.exit, piece.bark_edge)
    };
    assert_eq!(taken(&log), (Edge::Natural, Edge::Sawn, true));
    log.sawn.entry = Some(Position::mm(-110));
    // Its corner above is round still.
    assert_eq!(taken(&log), (Edge::Sawn, Edge::Sawn, true));
    log.sawn.top = Some(Position::mm(200));
    assert_eq!(taken(&log), (Edge::Sawn, Edge::Sawn, false));
}

/// A face that runs out before a bunk leaves the log to its wedges there, and to a pack as high as it lies over the bunk.
#[test]
fn a_face_that_runs_out_carries_only_where_it_is() {
    // Level by its middle, R 150 to 200: a face 160 mm under it touches the thick end only.
    let mut log = tapered_log(300, 400, 3_600);
    for station in &mut log.stations {
        station.centre_height = Position::mm(160);
    }
    log.sawn.bottom = Some(Position::ZERO);
    let mut mill = wedged(60, 30);
    for bunk in &mut mill.bunks {
        bunk.top = Position::ZERO;
    }
    let setup = Setup::new(&mill, &log).unwrap();
    let (first, last) = (mill.bunks[0].travel, mill.bunks[mill.bunks.len() - 1].travel);
    assert!(wedges::flat(&mill, &setup.shape, first).is_none());
    assert!(wedges::flat(&mill, &setup.shape, last).is_some());
    assert!(setup.bed.turns, "it turns where it is round");
    let mut told = std::vec::Vec::new();
    flaws(&mill, &log, &setup.shape, &mut |flaw| told.push(flaw));
    assert!(
        told.iter()
            .all(|flaw| !matches!(flaw, Flaw::Sunk(_) | Flaw::Tips)),
        "{told:?}"
    );
    let (bark, wood) = setup.shape.undersides(first).unwrap();
    assert!(bark > Position::ZERO && bark == wood);
    assert_eq!(
        setup.shape.undersides(last).unwrap(),
        (Position::ZERO, Position::ZERO)
    );
}
