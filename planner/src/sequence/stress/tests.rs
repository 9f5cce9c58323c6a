//! What is done with stressed timber, on plans made by hand.

use std::vec::Vec;

use bunkside_protocol::{LogRecord, MillRecord, Speed};

use super::*;
use crate::audit::audit;
use crate::plan::{CutPlan, End, Freeing, Layer, Use};
use crate::replay::{Replay, Setup, Step};
use crate::rules::Severity;
use crate::sequence::habits::{asked, recorded};
use crate::sequence::{DepthLimit, Limit, feed_of, sequence, sequence_in};
use crate::testing::{mm, powered_mill, round_log, timber};

const BOARD: Use = Use::Board {
    product: 0,
    length: Length::mm(3_500),
    end: End::Near,
};

const fn column(to: Option<i32>, use_: Use) -> Column {
    Column {
        to: match to {
            Some(to) => Some(Position::mm(to)),
            None => None,
        },
        freeing: Freeing::Take,
        use_,
    }
}

const COLUMNS: [Column; 5] = [
    column(Some(-80), Use::Waste),
    column(Some(-20), BOARD),
    column(Some(40), BOARD),
    column(Some(100), BOARD),
    column(None, Use::Waste),
];

/// A mill whose wedges stand as far out as a large log wants them.
fn wide() -> MillRecord {
    let mut mill = powered_mill();
    mill.wedges.reach = Length::mm(100);
    mill
}

/// Slabs down to these floors, and a layer of five columns; none of the moves refused.
fn steps_down(
    mill: &MillRecord,
    log: &LogRecord,
    growth: Growth,
    slabs: &[i32],
    boards: Option<i32>,
) -> Vec<Step> {
    let setup = Setup::new(mill, log).unwrap();
    let layer = |floor: i32, columns| Layer {
        floor: Position::mm(floor),
        columns,
        passes: None,
        hold: Acts::NONE,
    };
    let mut layers: Vec<Layer<'_>> = slabs.iter().map(|floor| layer(*floor, &[])).collect();
    layers.extend(boards.map(|floor| layer(floor, &COLUMNS)));
    let mut moves = Vec::new();
    sequence_in(&setup, &CutPlan { layers: &layers }, growth, &mut |told| {
        moves.push(*told);
        true
    })
    .unwrap();
    let mut steps = Vec::new();
    audit(
        &setup,
        moves.iter().copied(),
        &mut |step, _, _| steps.push(*step),
        &mut |finding| assert_ne!(finding.objection.severity, Severity::Refuse, "{finding:?}"),
    );
    steps
}

/// A slab, and a layer of five columns 145 mm deep.
fn steps(mill: &MillRecord, growth: Growth) -> Vec<Step> {
    steps_down(mill, &round_log(300, 3_600), growth, &[265], Some(120))
}

fn holds(steps: &[Step], act: Act) -> usize {
    let held = |step: &&Step| matches!(step.told, Move::Hold(hold) if hold.acts.contains(act));
    steps.iter().filter(held).count()
}

/// Where the corner stands in cuts that meet no wood.
fn empty(steps: &[Step]) -> Vec<(Position, Position)> {
    let cut = |step: &&Step| step.cut.is_some_and(|facts| facts.met.is_none());
    let corner = |step: &Step| (step.before.across, step.before.height);
    steps.iter().filter(cut).map(corner).collect()
}

#[test]
fn edging_kerfs_go_from_both_sides_by_turns_each_with_a_wedge() {
    let steps = steps(&powered_mill(), Growth::Stressed);
    let upright = |step: &&Step| step.cut.is_some() && step.before.angle == Angle::Upright;
    let places: Vec<Position> = steps
        .iter()
        .filter(upright)
        .map(|step| step.before.across)
        .collect();
    assert_eq!(places, [-80, 100, -20, 40].map(Position::mm));
    // The kerf nearest to either side is less deep than the others, but all are deeper than 100 mm.
    assert_eq!(holds(&steps, Act::WedgeKerf), 4);
}

#[test]
fn shallow_kerfs_get_no_wedge() {
    let steps = steps_down(
        &powered_mill(),
        &round_log(300, 3_600),
        Growth::Stressed,
        &[265],
        Some(180),
    );
    assert_eq!(holds(&steps, Act::WedgeKerf), 0);
}

#[test]
fn every_flat_stroke_of_the_layer_releases_what_was_edged() {
    let steps = steps(&powered_mill(), Growth::Stressed);
    let floor = Position::mm(120);
    let freeing: Vec<bool> = steps
        .iter()
        .filter(|step| step.before.height == floor && step.cut.is_some_and(|facts| facts.freed > 0))
        .map(|step| matches!(step.told, Move::Cut(cut) if cut.release))
        .collect();
    assert!(
        freeing.len() >= 2 && freeing.iter().all(|release| *release),
        "{freeing:?}"
    );
}

/// The blade reaches 205 mm under wood, from −147 mm past 40 mm, then from there past the far edge at 147 mm.
#[test]
fn a_flat_stroke_frees_as_many_columns_as_the_blade_reaches_under() {
    let mut mill = powered_mill();
    mill.knife = None;
    let steps = steps(&mill, Growth::Stressed);
    let floor = Position::mm(120);
    let freed: Vec<u8> = steps
        .iter()
        .filter(|step| step.before.height == floor && step.before.angle == Angle::Flat)
        .filter_map(|step| step.cut.map(|facts| facts.freed))
        .filter(|freed| *freed > 0)
        .collect();
    assert_eq!(freed, [3, 2]);
}

/// Two strokes side by side have to overlap, and each has to advance.
#[test]
fn a_mill_that_bites_too_little_to_straighten_a_face_is_told_so() {
    let mut mill = powered_mill();
    mill.reach.bite = [[[[Length::mm(24); 3]; 2]; 2]; 2];
    let log = round_log(300, 3_600);
    let setup = Setup::new(&mill, &log).unwrap();
    let layer = |floor: i32| Layer {
        floor: Position::mm(floor),
        columns: &[],
        passes: None,
        hold: Acts::NONE,
    };
    let layers = [layer(280), layer(265)];
    let told = sequence_in(
        &setup,
        &CutPlan { layers: &layers },
        Growth::Stressed,
        &mut |_| true,
    );
    assert_eq!(told.unwrap_err().kind, PlanErrorKind::NoPass(DepthLimit::Table));
    assert!(sequence(&setup, &CutPlan { layers: &layers }, &mut |_| true).is_ok());
}

#[test]
fn the_knife_is_fitted_before_the_blade_turns() {
    let mut mill = powered_mill();
    if let Some(knife) = &mut mill.knife {
        knife.fitted_at_start = false;
    }
    let steps = steps(&mill, Growth::Stressed);
    assert!(matches!(steps[0].told, Move::Hold(hold) if hold.acts.contains(Act::KnifeOn)));
    let cut = steps.iter().position(|step| matches!(step.told, Move::Cut(_)));
    assert!(cut.is_some_and(|cut| steps[cut - 1].told == Move::Spin(true)));
}

#[test]
fn a_knife_that_is_on_or_that_there_is_none_of_is_not_fitted() {
    let mut mill = powered_mill();
    mill.knife.as_mut().unwrap().fitted_at_start = true;
    assert_eq!(holds(&steps(&mill, Growth::Stressed), Act::KnifeOn), 0);
    mill.knife = None;
    assert_eq!(holds(&steps(&mill, Growth::Stressed), Act::KnifeOn), 0);
}

/// After the slab the face is measured and straightened; the first board is measured as it comes off; after the last
/// layer there is nothing that could be sawn straight.
#[test]
fn each_face_is_measured_and_straightened_and_so_is_the_first_board() {
    let stressed = steps(&powered_mill(), Growth::Stressed);
    let calm = steps(&powered_mill(), Growth::Calm);
    assert_eq!(empty(&calm), []);
    // √(150² − 115²) = 96.3 mm, and 96.8 mm through all of the kerf's height.
    let heights: Vec<Position> = empty(&stressed).iter().map(|(_, height)| *height).collect();
    assert!(!heights.is_empty() && heights.iter().all(|height| *height == Position::mm(265)));
    assert_eq!(
        (holds(&calm, Act::Measure), holds(&stressed, Act::Measure)),
        (0, 2)
    );
}

/// Waste that comes off before it is not measured.
#[test]
fn the_first_board_is_measured_when_it_is_unloaded() {
    let steps = steps(&powered_mill(), Growth::Stressed);
    let both = Acts::one(Act::Unload).and(Act::Measure);
    let at = steps
        .iter()
        .position(|step| step.told == Move::Hold(Hold { acts: both }));
    let freeing = steps[..at.unwrap()]
        .iter()
        .rev()
        .find(|step| step.cut.is_some())
        .unwrap();
    assert_eq!(freeing.before.height, Position::mm(120));
}

/// A strip of waste that the first pass frees by itself is no board: what is measured is the board that the next one frees.
#[test]
fn waste_that_comes_off_before_the_first_board_is_not_measured() {
    let mut mill = powered_mill();
    mill.knife = None;
    // A blade that reaches under no more than the first column and the board beside it, in passes of 60 mm.
    mill.reach.bite = [[[[Length::mm(60); 3]; 2]; 2]; 2];
    let setup_log = round_log(300, 3_600);
    let steps = steps_down(&mill, &setup_log, Growth::Stressed, &[265], Some(120));
    let both = Acts::one(Act::Unload).and(Act::Measure);
    let at = steps
        .iter()
        .position(|step| step.told == Move::Hold(Hold { acts: both }))
        .unwrap();
    let setup = Setup::new(&mill, &setup_log).unwrap();
    let mut replay = Replay::new(&setup, 0);
    let unloaded = |acts: Acts| acts.contains(Act::Unload);
    let mut waste_before = 0;
    for (number, step) in steps.iter().enumerate() {
        let lying = replay.stock().pieces().iter();
        let boards = lying
            .filter(|piece| piece.bounds.across.hi > Position::mm(-80))
            .count();
        if let Move::Hold(hold) = step.told
            && unloaded(hold.acts)
            && step.before.height == Position::mm(120)
        {
            assert_eq!(boards > 0, number >= at, "{number} {at}");
            waste_before += usize::from(boards == 0);
        }
        replay.step(&step.told);
    }
    assert!(waste_before > 0, "no strip came off by itself");
}

/// The strokes go from the entry side on, none bites deeper than the pass through wood may, and each begins where the
/// one before it has been.
#[test]
fn a_wide_face_is_straightened_by_strokes_side_by_side() {
    let log = round_log(700, 3_600);
    let steps = steps_down(&wide(), &log, Growth::Stressed, &[620, 500, 420], None);
    let rims: Vec<Position> = empty(&steps)
        .iter()
        .filter(|(_, height)| *height == Position::mm(500))
        .map(|(across, _)| *across)
        .collect();
    // The face reaches from −316 mm to 316 mm; a pass bites 200 mm, and two overlap by 20 mm.
    assert_eq!(rims.len(), 4, "{rims:?}");
    let first = Position::um(-316_228);
    for (before, rim) in core::iter::once(&first).chain(&rims).zip(&rims) {
        assert!(*rim > *before && *rim - *before <= Length::mm(181), "{rims:?}");
    }
    assert!(rims[3] >= Position::um(316_227), "{rims:?}");
}

/// Nothing has been sawn there: the kerf takes all of the cap only with the next layer.
#[test]
fn a_cap_thinner_than_a_kerf_is_no_face() {
    let steps = steps_down(
        &powered_mill(),
        &round_log(300, 3_600),
        Growth::Stressed,
        &[297, 265],
        Some(180),
    );
    let heights = empty(&steps).into_iter().map(|(_, height)| height);
    assert!(heights.into_iter().all(|height| height == Position::mm(265)));
}

/// The strokes of a face, and how fast they run.
fn straightening(mill: &MillRecord, log: &LogRecord) -> Vec<(Stroke, Speed)> {
    let steps = steps_down(mill, log, Growth::Stressed, &[620, 500, 420], None);
    let straightens = |step: &&Step| {
        step.cut.is_some_and(|facts| facts.met.is_none()) && step.before.height == Position::mm(500)
    };
    let how = |step: &Step| match step.told {
        Move::Cut(cut) => (step.stroke.unwrap(), cut.speed),
        _ => unreachable!(),
    };
    steps.iter().filter(straightens).map(how).collect()
}

/// Either stroke bites as deep, so that none runs empty.
#[test]
fn without_a_knife_faces_are_straightened_to_and_fro() {
    let mut mill = wide();
    mill.knife = None;
    let strokes = straightening(&mill, &round_log(700, 3_600));
    assert_eq!(strokes.len(), 4);
    assert!(
        strokes.windows(2).all(|pair| pair[0].0 != pair[1].0),
        "{strokes:?}"
    );
}

/// 15 300 W ÷ (5.5 mm × 200 mm × 60 N/mm²) = 231.8 mm/s: as fast as through wood as wide as the pass reaches.
#[test]
fn a_straightening_stroke_is_fed_as_through_wood() {
    let mut log = round_log(700, 3_600);
    log.cutting_energy = 60;
    let strokes = straightening(&wide(), &log);
    let speeds: Vec<Speed> = strokes.iter().map(|(_, speed)| *speed).collect();
    assert_eq!(speeds, [Speed::mm_per_s(230); 4]);
}

/// With the knife on, a homebound flat pass bites 60 mm and an outbound one 200 mm.
#[test]
fn with_the_knife_on_faces_are_straightened_outbound() {
    let steps = steps(&powered_mill(), Growth::Stressed);
    let cut = |step: &&Step| step.cut.is_some_and(|facts| facts.met.is_none());
    for step in steps.iter().filter(cut) {
        assert!(step.before.knife);
        assert_eq!(step.stroke, Some(Stroke::Outbound));
    }
}

/// The blade reaches 205 mm under wood; a grid step of 0.1 mm and 3 mm stay in hand. What counts is where the wood begins that is
/// still there, bark included, or the last edge before.
#[test]
fn columns_are_within_reach_as_far_as_the_blade_is_sure_to_cover() {
    let within = |bark: i32, before: Option<f64>, ends: [Option<f64>; 2]| {
        let mut log = timber(300, 160, 3_600);
        log.bark = Length::mm(bark);
        let column = |end: Option<f64>| Column {
            to: end.map(mm),
            ..column(None, Use::Waste)
        };
        let columns = [column(Some(-95.0)), column(ends[0]), column(ends[1])];
        asked(&powered_mill(), &log, |sequencer| {
            sequencer.within_reach(&columns, before.map(mm), mm(60.0))
        })
    };
    assert_eq!(within(0, Some(-100.0), [Some(0.0), Some(101.9)]), 3);
    assert_eq!(within(0, Some(-100.0), [Some(0.0), Some(102.0)]), 2);
    assert_eq!(within(0, None, [Some(0.0), Some(51.9)]), 3);
    assert_eq!(within(0, None, [Some(0.0), Some(52.0)]), 2);
    assert_eq!(within(20, None, [Some(31.9), None]), 2);
    assert_eq!(within(20, None, [Some(32.0), None]), 1);
    // The rim of a last column stands at 150.1 mm.
    assert_eq!(within(0, Some(-51.8), [Some(0.0), None]), 3);
    assert_eq!(within(0, Some(-51.9), [Some(0.0), None]), 2);
}

/// 100 mm of wood stand over a floor of 60 mm in a timber of 160 mm.
#[test]
fn a_kerf_gets_a_wedge_where_it_is_deeper_than_a_hundred_millimetres() {
    let wedges = |floor: f64| {
        let log = timber(300, 160, 3_600);
        let columns = [column(Some(0), BOARD), column(Some(100), BOARD)];
        let (made, steps) = recorded(&powered_mill(), &log, |sequencer| {
            sequencer.edge_by_turns(&columns, mm(floor))
        });
        assert_eq!(made, Ok(()));
        holds(&steps, Act::WedgeKerf)
    };
    assert_eq!(wedges(60.0), 0);
    assert_eq!(wedges(59.9), 2);
}

/// The kerf alone tells how deep it is: what stands higher on its exit side is not in it.
#[test]
fn a_kerf_is_as_deep_as_the_wood_it_cuts() {
    asked(&powered_mill(), &round_log(300, 3_600), |sequencer| {
        // √(150² − 100²) = 111.8 mm over the middle, at 150 mm.
        let deep = sequencer.depth_at(mm(-100.0), mm(200.0));
        assert!(Length::um(61_800) < deep && deep < Length::um(61_810), "{deep}");
        assert_eq!(sequencer.depth_at(mm(150.0 + 5.5), mm(200.0)), Length::ZERO);
    });
}

/// Strokes that bite 25 mm and overlap by 20 mm advance 5 mm, and no less will do. They run flat at the face's own height.
#[test]
fn straightening_strokes_advance_five_millimetres_at_least() {
    let straightened = |table: f64| {
        let mut mill = powered_mill();
        mill.reach.bite[0] = [[[mm(table).from_origin(); 3]; 2]; 2];
        recorded(&mill, &timber(180, 160, 3_600), |sequencer| {
            sequencer.look_and_straighten(mm(160.0))
        })
    };
    let (made, steps) = straightened(25.0);
    assert_eq!(made, Ok(()));
    let cuts: Vec<&Step> = steps.iter().filter(|step| step.cut.is_some()).collect();
    // From −90 mm to 90.1 mm.
    assert_eq!(cuts.len(), 37);
    let flat = |step: &&Step| step.before.angle == Angle::Flat && step.before.height == mm(160.0);
    assert!(cuts.iter().all(flat));
    let (made, _) = straightened(24.9);
    assert_eq!(made, Err(PlanErrorKind::NoPass(DepthLimit::Table)));
}

/// A slender timber of light wood, which a flat pass tips easily: the stroke over it is fed like one a kerf lower, to a step.
#[test]
fn a_straightening_stroke_pushes_no_harder_than_one_through_the_face() {
    let (mut mill, mut log) = (powered_mill(), timber(60, 60, 3_600));
    mill.factors.slip = 100;
    (log.cutting_energy, log.density) = (10, 300);
    let face = mm(60.0);
    let (fed, steps) = recorded(&mill, &log, |sequencer| {
        let pose = Pose {
            across: sequencer.faces().rim(mm(30.0)),
            height: face - mill.blade.kerf,
            angle: Angle::Flat,
            ..sequencer.pose()
        };
        let (stroke, _) = sequencer.straightening_stroke();
        let fed = feed_of(sequencer.setup, &sequencer.replay, &pose, stroke);
        sequencer.look_and_straighten(face).unwrap();
        fed.unwrap().unwrap()
    });
    assert_eq!(fed.limit, Limit::Roll);
    let cut = |step: &Step| match step.told {
        Move::Cut(cut) => Some(cut.speed),
        _ => None,
    };
    let speeds: Vec<Speed> = steps.iter().filter_map(cut).collect();
    let [speed] = speeds[..] else {
        panic!("{speeds:?}");
    };
    let a_step_less = Speed::um_per_s(fed.speed.as_um_per_s() - 5_000);
    assert!(a_step_less <= speed && speed <= fed.speed, "{speed}");
}

/// As many kerfs of one layer hold wedges as can be told apart, 40; with one more it is said, and nothing is emitted that the
/// auditor refuses.
#[test]
fn more_wedges_than_can_be_told_apart_are_not_planned() {
    let (mill, log) = (powered_mill(), timber(1_400, 300, 3_600));
    let setup = Setup::new(&mill, &log).unwrap();
    let planned = |kerfs: i32| {
        let corners = (0..kerfs).map(|kerf| column(Some(-660 + 32 * kerf), Use::Waste));
        let columns: Vec<Column> = corners.chain([column(None, Use::Waste)]).collect();
        let layers = [Layer {
            floor: Position::mm(180),
            columns: &columns,
            passes: None,
            hold: Acts::NONE,
        }];
        let mut moves = Vec::new();
        let plan = CutPlan { layers: &layers };
        let made = sequence_in(&setup, &plan, Growth::Stressed, &mut |told| {
            moves.push(*told);
            true
        });
        made.map(|()| moves).map_err(|error| error.kind)
    };
    let moves = planned(40).unwrap();
    let mut refused = Vec::new();
    audit(&setup, moves.iter().copied(), &mut |_, _, _| {}, &mut |finding| {
        if finding.objection.severity == Severity::Refuse {
            refused.push((finding.rule, finding.index));
        }
    });
    assert_eq!(refused, []);
    assert_eq!(planned(41).err(), Some(PlanErrorKind::Wedges { most: 40 }));
}
