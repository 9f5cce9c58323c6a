//! What a stroke meets, and strokes that end where the wood does.

use bunkside_protocol::{Angle, Length, Move, Position};

use super::{CutFacts, Replay, Setup};
use crate::geometry::{Block, Interval};
use crate::stock::{NotJudged, Pick};
use crate::testing::{Script, mm, powered_mill, round_log, stroke, timber};

/// The last of these moves.
fn last(setup: &Setup<'_>, script: &Script, assumed: u8) -> CutFacts {
    let mut replay = Replay::new(setup, assumed);
    let steps = script.moves.iter().map(|told| replay.step(told));
    steps.last().unwrap().cut.unwrap()
}

/// A log whose middle bows up between its samples: no section of it is bitten or covered deeper than is told.
#[test]
fn bite_and_cover_are_those_of_the_worst_place() {
    let mill = powered_mill();
    let mut log = round_log(300, 3_600);
    let (near, far) = (log.stations[0], log.stations[1]);
    let mut middle = near;
    middle.travel = Position::mm(2_417);
    (middle.half_width, middle.half_height) = (Length::mm(160), Length::mm(160));
    middle.centre_height = Position::mm(160);
    log.stations = [near, middle, far].into_iter().collect();
    let setup = Setup::new(&mill, &log).unwrap();
    for (angle, across, height) in [(Angle::Flat, 20.0, 240.0), (Angle::Upright, 20.0, 240.0)] {
        let script = Script::new()
            .swing(angle)
            .travel(4_530)
            .corner(across, height)
            .cut(270);
        let facts = last(&setup, &script, 0);
        let stock = setup.stock();
        for place in 601..4_200 {
            let thin = Block {
                travel: Interval::new(Position::mm(place), Position::mm(place) + Length::um(1)),
                ..facts.kerf
            };
            let Some(wood) = stock.met(&setup.shape, thin, Pick::Body) else {
                continue;
            };
            let deep = match angle {
                Angle::Flat => mm(across) - wood.across.lo,
                Angle::Upright => wood.height.hi - mm(height),
            };
            assert!(facts.bite >= deep && facts.cover >= deep, "{angle:?} at {place}");
        }
        assert!(setup.shape.between() > Length::ZERO);
    }
}

/// Below its middle a log widens upward: wood that begins within a millimetre above the kerf stands beyond the rim.
#[test]
fn a_rim_under_wood_does_not_run_out() {
    let (mill, log) = (powered_mill(), round_log(300, 3_600));
    let setup = Setup::new(&mill, &log).unwrap();
    let overhang = |across: f64| {
        let script = Script::new()
            .swing(Angle::Flat)
            .travel(4_530)
            .corner(across, 50.0)
            .cut(270);
        last(&setup, &script, 0).overhang
    };
    // Half the chord at 55.5 mm is 116.5 mm, at 56.5 mm it is 117.3 mm (circle of 150 mm).
    assert_eq!(overhang(116.9), None);
    assert!(overhang(118.0).is_some());
}

/// Within the tolerance of 0.2 mm before and behind the wood's end a stroke may run through or not; `assumed` tells, a bit
/// a stroke.
#[test]
fn a_stroke_in_doubt_turns_out_as_it_is_assumed_to() {
    let (mill, log) = (powered_mill(), timber(180, 160, 3_600));
    let setup = Setup::new(&mill, &log).unwrap();
    let script = |ends: [f64; 2]| {
        let mut script = Script::new().travel(4_530).corner(-40.0, 100.0);
        for (end, across) in ends.into_iter().zip([0.0, 40.0]) {
            script = script.cut_to(end);
            script = script.with(Move::Cut(stroke(4_530.0))).corner(across, 100.0);
        }
        script
    };
    for assumed in 0..4 {
        let mut replay = Replay::new(&setup, assumed);
        let mut ends = std::vec::Vec::new();
        for told in &script([600.1, 599.9]).moves {
            let step = replay.step(told);
            if let Some(facts) = step.cut.filter(|facts| facts.doubtful) {
                ends.push(facts.kerf.travel.lo);
            }
        }
        let end = |bit: u8, at: f64| {
            let through = assumed & bit != 0;
            mm(if through { at - 0.2 } else { at + 0.2 })
        };
        assert_eq!(ends, [end(1, 600.1), end(2, 599.9)], "{assumed}");
        assert_eq!(replay.doubts(), 2);
    }
    for sure in [600.3, 599.7] {
        let mut replay = Replay::new(&setup, 0);
        for told in &script([sure, sure]).moves {
            replay.step(told);
        }
        assert_eq!(replay.doubts(), 0, "{sure}");
    }
}

#[test]
fn outbound_strokes_are_in_doubt_at_the_far_end() {
    let (mill, log) = (powered_mill(), timber(180, 160, 3_600));
    let setup = Setup::new(&mill, &log).unwrap();
    for (end, doubtful) in [
        (4_199.7, false),
        (4_199.9, true),
        (4_200.1, true),
        (4_200.3, false),
    ] {
        let script = Script::new().travel(270).corner(0.0, 100.0).cut_to(end);
        assert_eq!(last(&setup, &script, 0).doubtful, doubtful, "{end}");
    }
}

/// What kerfs would free and leave is asked without making them: the answers are those of making them.
#[test]
fn what_would_be_left_is_what_is_left() {
    let (mill, log) = (powered_mill(), timber(180, 160, 3_600));
    let setup = Setup::new(&mill, &log).unwrap();
    let mut replay = Replay::new(&setup, 0);
    let script = Script::new().swing(Angle::Flat).travel(270).corner(-20.0, 80.0);
    for told in &script.moves {
        replay.step(told);
    }
    let flat = replay.pose();
    let upright = crate::machine::Pose {
        angle: Angle::Upright,
        ..*flat
    };
    let along = Interval::new(Position::mm(270), Position::mm(4_530));
    let kerfs = [flat, &upright].map(|pose| crate::machine::kerf_box(&mill, pose, along));
    let whole = replay.body();
    assert_eq!(replay.would_free(kerfs[0]), Ok(0));
    let left = replay.would_leave(&kerfs).unwrap();
    assert_eq!(replay.body(), whole);
    for told in &Script::default().cut(4_530).swing(Angle::Upright).cut(270).moves {
        assert!(replay.step(told).cut.is_none_or(|facts| facts.met.is_some()));
    }
    assert_eq!(replay.stock().pieces().len(), 1);
    let made = replay.body();
    // 180 mm × 160 mm less 70 mm × 80 mm, 3.6 m long.
    assert!((made.volume_mm3 - 83_520_000.0).abs() < 1.0, "{made:?}");
    assert!((made.volume_mm3 - left.volume_mm3).abs() < 1.0, "{left:?}");
    let apart = made.centroid_mm.into_iter().zip(left.centroid_mm);
    assert!(
        apart
            .map(|(made, left)| (made - left).abs())
            .all(|off| off < 1e-3),
        "{left:?}"
    );
}

/// A timber 160 mm high with a flat kerf of 5.5 mm at 100 mm from its entry side to its middle, and an upright one there down
/// to so much over the flat one: what stands on the entry side hangs by as much wood.
fn hanging(web: f64) -> Script {
    let script = Script::new().swing(Angle::Flat).travel(270).corner(0.0, 100.0);
    let script = script.cut(4_530).swing(Angle::Upright).corner(0.0, 105.5 + web);
    script.cut(270)
}

/// Less than 3 mm of wood between two kerfs may break.
#[test]
fn a_part_that_hangs_by_a_thread_is_taken_to_hang_and_to_come_free() {
    let (mill, log) = (powered_mill(), timber(180, 160, 3_600));
    let setup = Setup::new(&mill, &log).unwrap();
    let pieces = |web: f64, assumed: u8| {
        let mut replay = Replay::new(&setup, assumed);
        for told in &hanging(web).moves {
            assert_eq!(replay.step(told).not_judged, None);
        }
        (replay.stock().pieces().len(), replay.doubts())
    };
    for (web, hung, free) in [
        (-1.0, (1, 0), (1, 0)),
        (0.0, (1, 0), (1, 0)),
        (0.1, (0, 1), (1, 1)),
        (2.9, (0, 1), (1, 1)),
        (3.0, (0, 0), (0, 0)),
        (5.0, (0, 0), (0, 0)),
    ] {
        assert_eq!((pieces(web, 0), pieces(web, 1)), (hung, free), "{web}");
    }
}

/// Of several threads in one sequence all hold in one world, and all break in the other. A part that is sawn free for sure
/// comes free in both, and a sliver that only hangs is no part.
#[test]
fn threads_hold_or_break_together_and_slivers_are_no_parts() {
    let (mill, log) = (powered_mill(), timber(180, 160, 3_600));
    let setup = Setup::new(&mill, &log).unwrap();
    // Nobody doubts what nothing was asked of, nor a stock that knows no threads.
    assert!(!setup.stock().is_in_doubt());
    assert!(!crate::stock::Stock::new(&setup.shape, []).is_in_doubt());
    let run = |script: &Script, assumed: u8| {
        let mut replay = Replay::new(&setup, assumed);
        let judged = script
            .moves
            .iter()
            .all(|told| replay.step(told).not_judged.is_none());
        assert!(judged);
        (replay.stock().pieces().len(), replay.doubts())
    };
    let twice = hanging(0.2)
        .unload()
        .swing(Angle::Flat)
        .corner(45.0, 50.0)
        .cut(4_530);
    let twice = twice.swing(Angle::Upright).corner(45.0, 55.8).cut(270);
    assert_eq!(run(&twice, 0), (0, 1));
    assert_eq!(run(&twice, 1), (1, 1));
    let through = hanging(0.2).corner(0.0, 100.0).cut(4_530);
    assert_eq!(run(&through, 0), (1, 1));
    assert_eq!(run(&through, 1), (1, 1));
    // Two upright kerfs leave 0.3 mm between them, over a web of wood as wide.
    let sliver = Script::new().travel(270).corner(0.0, 100.0).cut(4_530);
    let sliver = sliver.corner(5.8, 100.0).cut(270);
    assert_eq!(run(&sliver, 0), (0, 0));
}

/// Two flat kerfs 0.4 mm apart, 60 mm wide, leave a sheet that lies loose; 0.4 mm by 20 mm are shreds.
#[test]
fn a_thin_sheet_is_a_piece_and_a_shred_is_none() {
    let (mill, log) = (powered_mill(), timber(180, 160, 3_600));
    let setup = Setup::new(&mill, &log).unwrap();
    for (wide, pieces) in [(60, 2), (20, 1)] {
        let mut replay = Replay::new(&setup, 0);
        let across = f64::from(wide) - 90.0;
        let script = Script::new().travel(270).corner(across, 100.0).cut(4_530);
        let script = script.swing(Angle::Flat).corner(across, 105.9).cut(270);
        let script = script.corner(across, 100.0).cut(4_530);
        assert!(
            script
                .moves
                .iter()
                .all(|told| replay.step(told).not_judged.is_none())
        );
        assert_eq!(replay.stock().pieces().len(), pieces, "{wide}");
    }
}

/// Planning, nobody says what becomes of it; asked again later, still nobody does.
#[test]
fn what_would_hang_by_a_thread_is_not_said_to_come_free_or_not() {
    let (mill, log) = (powered_mill(), timber(180, 160, 3_600));
    let setup = Setup::new(&mill, &log).unwrap();
    let mut replay = Replay::new(&setup, 0);
    let (last, before) = {
        let mut moves = hanging(0.2).moves;
        (moves.pop().unwrap(), moves)
    };
    for told in &before {
        replay.step(told);
    }
    let kerf = crate::machine::kerf_box(&mill, replay.pose(), Interval::ALL);
    assert_eq!(replay.would_free(kerf), Err(NotJudged::Thread));
    // What hangs on still weighs on the bunks: all but the two kerfs, 5.5 mm × (90 mm + 54.3 mm), 3.6 m long.
    let left = replay.would_leave(&[kerf]).unwrap().volume_mm3;
    let flat = 5.5 * 90.0;
    assert!(
        (left - (180.0 * 160.0 - flat - 5.5 * 54.3) * 3_600.0).abs() < 1.0,
        "{left}"
    );
    replay.step(&last);
    assert_eq!(replay.doubts(), 1);
    assert_eq!(replay.would_free(kerf), Err(NotJudged::Thread));
    assert_eq!(replay.stock().pieces().len(), 0);
}

/// Whoever unloads takes away what hangs by a thread: what stands afterwards is the same in both worlds, and so is what a later
/// stroke meets.
#[test]
fn unloading_takes_away_what_hangs_by_a_thread() {
    let (mill, log) = (powered_mill(), timber(180, 160, 3_600));
    let setup = Setup::new(&mill, &log).unwrap();
    let left = |assumed: u8| {
        let mut replay = Replay::new(&setup, assumed);
        let script = hanging(0.2)
            .unload()
            .swing(Angle::Flat)
            .corner(0.0, 130.0)
            .cut(4_530);
        let steps: std::vec::Vec<_> = script.moves.iter().map(|told| replay.step(told)).collect();
        let last = steps.last().unwrap();
        assert!(last.not_judged.is_none() && last.cut.is_some_and(|facts| facts.met.is_none()));
        assert!(replay.stock().pieces().is_empty() && !replay.stock().is_in_doubt());
        replay.body().volume_mm3
    };
    // All but the part over the flat kerf up to the upright one, 95.5 mm × 54.3 mm, and the two kerfs; the thread goes with it
    // or stays: 84.5 mm × 0.2 mm.
    let rest = (180.0 * 160.0 - 90.0 * 5.5 - 90.0 * 54.3) * 3_600.0;
    for assumed in [0, 1] {
        assert!(
            (left(assumed) - rest).abs() < 84.6 * 0.2 * 3_600.0,
            "{}",
            left(assumed)
        );
    }
}

/// A blade of 280 mm beyond the end of its full depth falls short of it by 3 mm after √(2 × 280 × 3 − 3²) mm = 40.88 mm: two
/// kerfs whose ends lie 81.7 mm apart may leave no more between them, one that stops 40.8 mm before the log's end no more there.
#[test]
fn what_round_ends_of_kerfs_leave_is_a_thread() {
    let (mill, log) = (powered_mill(), timber(180, 160, 3_600));
    let setup = Setup::new(&mill, &log).unwrap();
    let doubts = |script: Script| {
        let mut replay = Replay::new(&setup, 0);
        let script = script.swing(Angle::Upright).corner(0.0, 100.0).cut(270);
        let judged = script
            .moves
            .iter()
            .all(|told| replay.step(told).not_judged.is_none());
        assert!(judged && replay.stock().pieces().is_empty());
        replay.doubts()
    };
    let flat = || Script::new().swing(Angle::Flat).travel(270).corner(0.0, 100.0);
    for (gap, doubtful) in [(2.0, 1), (81.7, 1), (81.8, 0), (160.0, 0)] {
        let both = flat()
            .cut_to(2_000.0)
            .cut(270)
            .travel_by_air(4_530)
            .corner(0.0, 100.0);
        assert_eq!(doubts(both.cut_to(2_000.0 + gap).cut(4_530)), doubtful, "{gap}");
    }
    for (short, doubtful) in [(1.0, 1), (40.8, 1), (40.9, 0)] {
        let back = flat().cut_to(4_200.0 - short).cut(270).travel_by_air(4_530);
        assert_eq!(doubts(back), doubtful, "{short}");
    }
}

/// A column is undercut to 0 mm across, 100 mm over the bed; the upright stroke stops short of the timber's end at 4 200 mm. Its
/// blade of 280 mm goes 5.5 mm into the flat kerf, so that up to √(2 × 280 × 8.5) = 69 mm before the end next to nothing is left, and up
/// to twice as much next to nothing. From both ends as much is left on either side of the gap.
#[test]
fn a_column_is_judged_free_too_where_a_round_blade_stops_near_the_end() {
    let (mill, log) = (powered_mill(), timber(180, 160, 3_600));
    let setup = Setup::new(&mill, &log).unwrap();
    let undercut = || {
        let script = Script::new().swing(Angle::Flat).travel(270);
        script.corner(0.0, 100.0).cut(4_530).swing(Angle::Upright)
    };
    let freed = |script: &Script| {
        [0, 1].map(|assumed| {
            let mut replay = Replay::new(&setup, assumed);
            assert!(
                script
                    .moves
                    .iter()
                    .all(|told| replay.step(told).not_judged.is_none())
            );
            replay.stock().pieces().len()
        })
    };
    assert_eq!(freed(&undercut().cut(270)), [1, 1]);
    for (short, pieces) in [(20, [0, 1]), (50, [0, 1]), (136, [0, 1]), (138, [0, 0])] {
        assert_eq!(freed(&undercut().cut(600 + short)), pieces, "{short}");
    }
    for (gap, pieces) in [(20, [0, 1]), (100, [0, 1]), (238, [0, 1]), (240, [0, 0])] {
        let one_end = undercut().cut(2_500).cut(4_530).corner(0.0, 300.0).travel(270);
        let both_ends = one_end.corner(0.0, 100.0).cut(2_500 - gap);
        assert_eq!(freed(&both_ends), pieces, "{gap}");
    }
}

/// The same column hangs by 200 mm at one end. A cut that stands still there takes nothing, though one on from there by the
/// rim's round would free it; nor does one that stops before the log, which the rule on range refuses.
#[test]
fn a_cut_that_stands_still_or_stops_before_the_log_is_in_no_doubt() {
    let (mill, log) = (powered_mill(), timber(180, 160, 3_600));
    let setup = Setup::new(&mill, &log).unwrap();
    let doubts = |script: Script| {
        let mut replay = Replay::new(&setup, 1);
        for told in &script.moves {
            replay.step(told);
        }
        (replay.doubts(), replay.stock().pieces().len())
    };
    let undercut = Script::new().swing(Angle::Flat).travel(270).corner(0.0, 100.0);
    let undercut = undercut.cut(4_530).swing(Angle::Upright);
    let hangs_far = undercut.clone().travel(270).cut(4_000);
    assert_eq!(doubts(hangs_far.clone().travel(4_200).cut(4_200)), (0, 0));
    assert_eq!(doubts(hangs_far.cut(4_120)), (1, 1));
    let hangs_near = undercut.cut(800).travel(270);
    assert_eq!(doubts(hangs_near.clone().cut(590)), (0, 0));
    assert_eq!(doubts(hangs_near.travel(800).cut(680)), (1, 1));
}
