//! Examples and limits of `support`.

use std::string::ToString;
use std::vec::Vec;

use super::*;
use crate::testing::{Case, Script, mm, powered_mill, round_log, tapered_log, timber};
use bunkside_protocol::mill::Bunk;
use bunkside_protocol::{Act, Angle, Cut, Length, LogRecord, Position, Speed, Targets};

/// Nothing but the blade brought up to speed.
fn lying(bunks: &[i32], log: LogRecord) -> Case {
    let mut case = Case::new(powered_mill(), log, Script::new());
    set(&mut case, bunks);
    case
}

fn set(case: &mut Case, places: &[i32]) {
    let like: Bunk = case.mill.bunks[0];
    case.mill.bunks = places
        .iter()
        .map(|travel| Bunk {
            travel: Position::mm(*travel),
            ..like
        })
        .collect();
}

fn refused(case: &Case, measured: &str, limit: &str) {
    assert_eq!(case.refusals(), ["support"]);
    assert_eq!(case.figures("support"), Some((measured.into(), limit.into())));
}

/// The moves at which it is warned that nobody has measured, of a job with these holds before its first of two cuts and
/// those between them; the cuts are the last move but two and the last.
fn unmeasured(before: &[&[Act]], between: &[&[Act]]) -> Vec<usize> {
    let held = |script: Script, holds: &[&[Act]]| holds.iter().fold(script, |script, acts| script.hold(acts));
    let script = held(Script::at_rest(), before).with(Move::Spin(true));
    let script = script
        .travel(4_530)
        .swing(Angle::Flat)
        .corner(100.0, 263.0)
        .cut(270);
    let first = script.moves.len() - 1;
    let script = held(script.with(Move::Spin(false)).unload(), between).with(Move::Spin(true));
    let script = script.corner(0.0, 206.5).cut(4_530);
    let case = Case::usual(script);
    assert_eq!(case.refusals(), [""; 0]);
    let found = case.script.findings(&case.mill, &case.log);
    let told = found
        .iter()
        .filter(|finding| finding.objection.note == LAID_AGAIN);
    told.map(|finding| {
        let objection = finding.objection;
        assert_eq!(
            (finding.rule, objection.severity),
            ("support", crate::rules::Severity::Warn)
        );
        usize::from(usize::from(finding.index) != first)
    })
    .collect()
}

#[test]
fn warns_once_at_the_first_cut_after_the_log_was_laid_again() {
    use Act::{Reseat, Sharpen, Sweep};
    assert_eq!(unmeasured(&[], &[]), []);
    assert_eq!(unmeasured(&[&[Reseat]], &[]), [0]);
    assert_eq!(unmeasured(&[], &[&[Reseat]]), [1]);
    assert_eq!(unmeasured(&[&[Reseat]], &[&[Sharpen, Reseat], &[Sweep]]), [0, 1]);
}

#[test]
fn permits_a_log_laid_again_once_it_is_measured() {
    use Act::{Measure, Reseat, Sharpen, Sweep};
    assert_eq!(
        unmeasured(
            &[&[Reseat], &[Measure]],
            &[&[Reseat], &[Sweep], &[Sharpen, Measure]]
        ),
        []
    );
    // At one hold it is laid first and measured then.
    assert_eq!(unmeasured(&[&[Measure, Reseat]], &[]), []);
    // Measured before it was laid.
    assert_eq!(
        unmeasured(&[&[Measure], &[Reseat]], &[&[Measure], &[Reseat]]),
        [0, 1]
    );
}

#[test]
fn refuses_to_lay_a_log_again_with_a_kerf_open_and_permits_it_once_the_column_is_unloaded() {
    let laid = |script: Script| Case::usual(script.with(Move::Spin(false)).hold(&[Act::Reseat]));
    let flat = Script::opened().corner(0.0, 206.5).cut(4_530);
    refused(&laid(flat.clone()), "a kerf open", "none open");
    let column = flat.swing(Angle::Upright).cut(270).unload();
    assert_eq!(laid(column).refusals(), [""; 0]);
    assert_eq!(laid(Script::opened()).refusals(), [""; 0]);
    let edge = Script::opened().travel_by_air(270).swing(Angle::Upright);
    refused(
        &laid(edge.corner(0.0, 206.5).cut(4_530)),
        "a kerf open",
        "none open",
    );
    // Anything else may be done meanwhile.
    let swept = Script::opened().corner(0.0, 206.5).cut(4_530);
    let swept = swept.with(Move::Spin(false)).hold(&[Act::Sweep, Act::Measure]);
    assert_eq!(Case::usual(swept).refusals(), [""; 0]);
}

/// A log from 0.6 m to 4.2 m on bunks 2.5 m apart.
pub(in crate::rules) fn example() -> Case {
    lying(&[900, 3_400], round_log(300, 3_600))
}

#[test]
fn refuses_bunks_that_stand_too_far_apart() {
    refused(&example(), "2500 mm", "2400 mm");
    assert_eq!(lying(&[900, 3_300], round_log(300, 3_600)).refusals(), [""; 0]);
}

/// Bunks are 120 mm wide: the log begins at 600 mm and ends at 4 200 mm, so that it covers those from 660 mm to 4 140 mm
/// whole, and of one at 610 mm what lies from 600 mm to 670 mm.
#[test]
fn warns_of_an_end_that_lies_on_a_part_of_its_bunk_and_not_of_one_that_covers_it() {
    for (bunks, note, measured) in [
        ([660, 2_400, 4_140], "", ""),
        ([659, 2_400, 4_000], NEAR_EDGE, "119 mm"),
        ([610, 2_400, 4_000], NEAR_EDGE, "70 mm"),
        ([800, 2_400, 4_141], FAR_EDGE, "119 mm"),
        ([659, 2_400, 4_141], EDGES, "119 mm"),
    ] {
        let case = lying(&bunks, round_log(300, 3_600));
        assert_eq!(case.refusals(), [""; 0], "{bunks:?}");
        let found = case.script.findings(&case.mill, &case.log);
        let notes: Vec<&str> = found.iter().map(|finding| finding.objection.note).collect();
        if note.is_empty() {
            assert_eq!(notes, [""; 0], "{bunks:?}");
        } else {
            assert_eq!(notes, [note], "{bunks:?}");
            assert_eq!(case.figures("support"), Some((measured.into(), "120 mm".into())));
        }
    }
}

/// The cone that balances at 1.757 m (see below) begins at 0.6 m, on a bunk at 1.7 m as wide as it may be: half as much as
/// that reaches beyond the end moves what bears inward. 1 210 mm either way reach to 490 mm, so that it bears at 1.755 m;
/// 1 220 mm reach to 480 mm, so that it bears at 1.76 m.
#[test]
fn a_log_balances_over_the_middle_of_what_it_covers() {
    let mut mill = powered_mill();
    mill.support.overhang = Length::mm(2_000);
    for (half, refusals) in [(1_210, &[""; 0][..]), (1_220, &["support"])] {
        let mut case = Case::new(mill.clone(), tapered_log(400, 100, 3_600), Script::new());
        set(&mut case, &[1_700, 4_000]);
        case.mill.bunks[0].half_size = Length::mm(half);
        assert_eq!(case.refusals(), refusals, "{half}");
    }
}

/// A log that lies on the bed, and a bunk that stands 5 mm higher.
#[test]
fn refuses_a_bunk_in_the_log() {
    let mut case = lying(&[900, 3_300], round_log(300, 3_600));
    case.mill.bunks[0].top = Position::mm(5);
    refused(&case, "-5 mm", "0 mm");
}

#[test]
fn refuses_a_log_on_fewer_than_two_bunks() {
    refused(&lying(&[100, 1_800], round_log(300, 2_400)), "1", "2");
    refused(&lying(&[100, 5_800], round_log(300, 2_400)), "0", "2");
}

#[test]
fn refuses_too_long_a_free_end_at_either_end() {
    for (bunks, refusals) in [
        ([1_800, 4_000], &[""; 0][..]),
        ([1_801, 4_000], &["support"]),
        ([800, 3_000], &[]),
        ([800, 2_999], &["support"]),
    ] {
        assert_eq!(
            lying(&bunks, round_log(300, 3_600)).refusals(),
            refusals,
            "{bunks:?}"
        );
    }
}

/// A cone from 400 mm to 100 mm over 3.6 m balances (400² + 2·400·100 + 3·100²)/(4·(400² + 400·100 + 100²)) × 3.6 m =
/// 1.157 m from its butt (closed form of a frustum): at 1.757 m along the rails.
#[test]
fn refuses_a_log_that_balances_beyond_its_bunks() {
    let mut mill = powered_mill();
    mill.support.overhang = Length::mm(2_000);
    let on = |bunks: &[i32]| {
        let mut case = Case::new(mill.clone(), tapered_log(400, 100, 3_600), Script::new());
        set(&mut case, bunks);
        case.refusals()
    };
    assert_eq!(on(&[1_756, 4_000]), [""; 0]);
    assert_eq!(on(&[1_758, 4_000]), ["support"]);
}

/// Level by its centre line, a log of 400 mm and 290 mm lies (400 − 290)/2 mm = 55 mm over the bed at its small end,
/// and at the bunk 100 mm before it 55 × 35/36 = 53.472 mm.
#[test]
fn refuses_more_packing_than_there_is_and_permits_as_much() {
    let mut log = tapered_log(400, 290, 3_600);
    for station in &mut log.stations {
        station.centre_height = Position::mm(200);
    }
    for (packing, refusals) in [(53_473, &[""; 0][..]), (53_471, &["support"])] {
        let mut case = lying(&[700, 2_300, 4_100], log.clone());
        case.mill.wedges.packing = Length::um(packing);
        assert_eq!(case.refusals(), refusals, "{packing}");
    }
    let mut case = lying(&[700, 2_300, 4_100], log);
    case.mill.wedges.packing = Length::mm(50);
    refused(&case, "53.472 mm", "50 mm");
}

/// Bunks 120 mm wide, so far under the log.
#[test]
fn warns_of_a_pack_higher_than_its_bunk_is_wide_and_refuses_one_three_times_as_high() {
    for (low, warned, refused) in [
        (120, false, false),
        (121, true, false),
        (360, true, false),
        (361, true, true),
    ] {
        let mut case = lying(&[900, 2_400, 3_900], round_log(300, 3_600));
        case.mill.wedges.packing = Length::mm(1_000);
        case.mill.bunks[1].top = Position::mm(-low);
        let found = case.script.findings(&case.mill, &case.log);
        let told: Vec<_> = found
            .iter()
            .map(|finding| {
                let objection = finding.objection;
                (objection.note, objection.measured, objection.limit)
            })
            .collect();
        let high = Measure::Length(Length::mm(low));
        let mut expected = Vec::new();
        if refused {
            expected.push((PILE, high, Measure::Length(Length::mm(360))));
        }
        if warned {
            expected.push((SLENDER, high, Measure::Length(Length::mm(120))));
        }
        assert_eq!(told, expected, "{low}");
    }
    // Where there is no more packing than that, it is what is missing.
    let mut case = lying(&[900, 2_400, 3_900], round_log(300, 3_600));
    case.mill.wedges.packing = Length::mm(300);
    case.mill.bunks[1].top = Position::mm(-400);
    assert_eq!(case.refusals(), ["support"]);
    assert_eq!(case.figures("support"), Some(("400 mm".into(), "300 mm".into())));
}

/// A middle bunk may lie lower, and is packed and wedged.
#[test]
fn permits_a_lower_bunk_and_refuses_one_that_stands_in_the_log() {
    for (top, refusals) in [
        (-60, &[""; 0][..]),
        (-61, &["support"]),
        (1, &[]),
        (2, &["support"]),
    ] {
        let mut case = lying(&[900, 2_400, 3_900], round_log(300, 3_600));
        case.mill.bunks[1].top = Position::mm(top);
        assert_eq!(case.refusals(), refusals, "{top}");
    }
}

/// A timber 100 mm high and wide, of 900 kg/m³ and 9 000 N/mm², on bunks 2.4 m apart: I = 100⁴/12 mm⁴, w = 900 kg/m³ ×
/// 0.01 m² × 9.80665 m/s² = 0.088 26 N/mm, 5 w L⁴/384 EI = 0.5084 mm (textbook formula, by hand).
fn slender() -> Case {
    let script = Script::new()
        .travel(270)
        .swing(Angle::Upright)
        .corner(-30.0, 60.0)
        .with(Move::Cut(Cut {
            to: Targets::travel(mm(4_530.0)),
            speed: Speed::mm_per_s(150),
            feed: None,
            release: false,
        }));
    let mut log = timber(100, 100, 3_600);
    log.density = 900;
    let mut case = Case::new(powered_mill(), log, script);
    set(&mut case, &[1_200, 3_600]);
    case
}

#[test]
fn refuses_a_cut_into_what_sags_too_far_and_permits_less() {
    let mut case = slender();
    case.mill.support.sag = Length::um(509);
    assert_eq!(case.refusals(), [""; 0]);
    case.mill.support.sag = Length::um(508);
    refused(&case, "0.508 mm", "0.508 mm");
    assert_eq!(case.script.findings(&case.mill, &case.log)[0].index, 4);
}

/// In air nothing bends that matters.
#[test]
fn permits_a_stroke_in_air_over_what_sags() {
    let mut case = slender();
    case.mill.support.sag = Length::um(100);
    case.script = Script::new()
        .travel(270)
        .swing(Angle::Upright)
        .corner(-30.0, 110.0)
        .cut(4_530);
    assert_eq!(case.refusals(), [""; 0]);
}

/// Climbing upright, 40 mm deep at 150 mm/s: 25 N/mm² × 5.5 mm × 40 mm × 150 mm/s = 825 W, 13.75 N along the rim,
/// θ = acos(6/7) = 0.5411, down 13.75 × (θ − sin θ cos θ) × 280/80 = 4.816 N, with shock × 1.5 = 7.224 N:
/// P L³/48 EI = 0.0277 mm more (textbook formula, by hand).
#[test]
fn permits_what_sags_at_rest_and_refuses_the_press_of_a_climbing_pass() {
    let mut case = slender();
    case.script = Script::new()
        .travel(4_530)
        .swing(Angle::Upright)
        .corner(-30.0, 60.0)
        .cut(270);
    for (limit, refusals) in [(537, &[""; 0][..]), (535, &["support"])] {
        case.mill.support.sag = Length::um(limit);
        assert_eq!(case.refusals(), refusals, "{limit}");
    }
}

/// A log whose underside rises to 60 mm over the bed in its middle, on two bunks near its ends: what is left below a floor at 62.9 mm
/// is less than 3 mm high there.
#[test]
fn refuses_a_floor_at_which_a_bent_log_falls_in_two() {
    let mut log = round_log(300, 3_600);
    let mut middle = log.stations[0];
    (middle.travel, middle.centre_height) = (mm(2_400.0), middle.centre_height + Length::mm(60));
    log.stations.insert(1, middle).unwrap();
    let notes = |height: f64| {
        let script = Script::new().travel(4_530).swing(Angle::Flat);
        let script = script.corner(160.0, height).cut(270).unload();
        let mut case = Case::new(powered_mill(), log.clone(), script);
        set(&mut case, &[900, 3_900]);
        let found = case.script.findings(&case.mill, &case.log);
        let own = found.iter().filter(|finding| finding.objection.note == PARTS);
        own.map(|finding| finding.objection.measured.to_string())
            .collect::<Vec<_>>()
    };
    assert_eq!(notes(62.9).len(), 1);
    assert_eq!(notes(40.0).len(), 1);
    assert_eq!(notes(63.0), [""; 0]);
    // No layout goes so low.
    let mut case = Case::new(powered_mill(), log.clone(), Script::new());
    set(&mut case, &[900, 3_900]);
    let setup = Setup::new(&case.mill, &log).unwrap();
    assert_eq!(crate::layout::lowest_floor(&setup), mm(63.0));
}
