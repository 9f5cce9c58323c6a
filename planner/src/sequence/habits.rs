//! What sawyers usually do, held against what the sequencer does: common practice, no source, for every test here.

use std::vec::Vec;

use bunkside_protocol::{Acts, Angle, Feed, Length, LogRecord, MillRecord, Move, Position, Stroke, Timber};

use super::{Carriage, Sequencer, sequence};
use crate::audit::audit;
use crate::plan::{Column, CutPlan, Freeing, Layer, Use};
use crate::replay::{Replay, Setup, Step};
use crate::rules::Severity;
use crate::testing::{hand_mill, powered_mill, round_log, timber};

pub(super) fn column(to: Option<i32>, freeing: Freeing) -> Column {
    Column {
        to: to.map(Position::mm),
        freeing,
        use_: Use::Waste,
    }
}

pub(super) fn layer(floor: i32, columns: &[Column]) -> Layer<'_> {
    Layer {
        floor: Position::mm(floor),
        columns,
        passes: None,
        hold: Acts::NONE,
    }
}

/// The cuts in wood of a plan, none of its moves refused.
pub(super) fn cuts(mill: &MillRecord, log: &LogRecord, layers: &[Layer<'_>]) -> Vec<Step> {
    let mut steps = steps(mill, log, layers);
    steps.retain(|step| step.cut.is_some_and(|facts| facts.met.is_some()));
    steps
}

/// The moves of a plan, none of them refused.
pub(super) fn steps(mill: &MillRecord, log: &LogRecord, layers: &[Layer<'_>]) -> Vec<Step> {
    let setup = Setup::new(mill, log).unwrap();
    let mut moves = Vec::new();
    sequence(&setup, &CutPlan { layers }, &mut |told: &Move| {
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

pub(super) fn how(steps: &[Step]) -> Vec<(Angle, Stroke, Feed)> {
    steps
        .iter()
        .map(|step| (step.before.angle, step.stroke.unwrap(), step.feed.unwrap()))
        .collect()
}

pub(super) const FLAT_OUT: (Angle, Stroke, Feed) = (Angle::Flat, Stroke::Outbound, Feed::Forward);
pub(super) const FLAT_HOME: (Angle, Stroke, Feed) = (Angle::Flat, Stroke::Homebound, Feed::Climb);
pub(super) const UPRIGHT_HOME: (Angle, Stroke, Feed) = (Angle::Upright, Stroke::Homebound, Feed::Climb);

#[test]
fn a_small_soft_log_opens_with_one_wide_homebound_flat_pass() {
    let steps = cuts(&powered_mill(), &round_log(300, 3_600), &[layer(265, &[])]);
    assert_eq!(how(&steps), [FLAT_HOME]);
}

/// A cap of 150 mm, which any mill here bites in one pass: √(150² − 130²) = 74.8 mm to either side.
#[test]
fn with_the_knife_fitted_or_in_harder_timber_it_opens_in_passes() {
    let (mut mill, mut log) = (powered_mill(), round_log(300, 3_600));
    let knife = mill.knife.as_mut().unwrap();
    knife.homebound_limit = [Length::mm(180); 2];
    let opened = |mill: &MillRecord, log: &LogRecord| how(&cuts(mill, log, &[layer(280, &[])]));
    assert_eq!(opened(&mill, &log), [FLAT_HOME]);
    log.timber = Timber::Medium;
    assert_eq!(opened(&mill, &log), [FLAT_OUT, FLAT_HOME]);
    log.timber = Timber::Soft;
    mill.knife.as_mut().unwrap().fitted_at_start = true;
    assert_eq!(opened(&mill, &log), [FLAT_OUT, FLAT_HOME]);
}

#[test]
fn a_column_is_taken_flat_outbound_then_upright_homebound() {
    let columns = [column(Some(0), Freeing::Take), column(None, Freeing::Take)];
    let steps = cuts(
        &powered_mill(),
        &round_log(300, 3_600),
        &[layer(265, &[]), layer(210, &columns)],
    );
    assert_eq!(how(&steps), [FLAT_HOME, FLAT_OUT, UPRIGHT_HOME, FLAT_HOME]);
    let freed: Vec<u8> = steps.iter().map(|step| step.cut.unwrap().freed).collect();
    assert_eq!(freed, [1, 0, 1, 1]);
}

#[test]
fn released_columns_are_edged_first_and_freed_by_one_climbing_stroke() {
    let columns = [
        column(Some(-90), Freeing::Take),
        column(Some(-10), Freeing::Release),
        column(Some(70), Freeing::Release),
        column(None, Freeing::Take),
    ];
    let steps = cuts(
        &powered_mill(),
        &round_log(300, 3_600),
        &[layer(265, &[]), layer(210, &columns)],
    );
    let angles: Vec<Angle> = steps.iter().map(|step| step.before.angle).collect();
    use Angle::{Flat, Upright};
    assert_eq!(angles, [Flat, Flat, Upright, Upright, Upright, Flat, Flat]);
    assert_eq!(
        steps
            .iter()
            .map(|step| step.cut.unwrap().freed)
            .collect::<Vec<_>>(),
        [1, 0, 1, 0, 0, 2, 1]
    );
    assert_eq!(how(&steps).get(5), Some(&FLAT_HOME));
}

#[test]
fn a_hand_carriage_never_climbs() {
    let columns = [column(Some(0), Freeing::Take), column(None, Freeing::Take)];
    let steps = cuts(
        &hand_mill(),
        &round_log(300, 3_600),
        &[layer(265, &[]), layer(210, &columns)],
    );
    assert!(how(&steps).iter().all(|(_, _, feed)| *feed == Feed::Forward));
    let forward_home = (Angle::Upright, Stroke::Homebound, Feed::Forward);
    assert_eq!(how(&steps), [FLAT_OUT, FLAT_OUT, forward_home, FLAT_OUT]);
}

#[test]
fn a_face_wider_than_the_cover_is_opened_in_columns() {
    let mut mill = powered_mill();
    mill.wedges.reach = Length::mm(120);
    let steps = cuts(&mill, &round_log(900, 3_600), &[layer(860, &[])]);
    assert!(steps.iter().any(|step| step.before.angle == Angle::Upright));
    let freed: u32 = steps.iter().map(|step| u32::from(step.cut.unwrap().freed)).sum();
    assert_eq!(freed, 2);
}

/// The last group over the bunks: its entry edge first, then a shallow flat pass that frees nothing, then the
/// climbing one.
#[test]
fn the_bed_board_is_edged_then_freed_in_two_flat_passes() {
    let columns = [
        column(Some(-70), Freeing::Take),
        column(Some(60), Freeing::Take),
        column(None, Freeing::Take),
    ];
    let steps = cuts(
        &powered_mill(),
        &round_log(300, 3_600),
        &from_top_to_bed(&columns),
    );
    let low: Vec<Step> = steps
        .into_iter()
        .filter(|step| step.before.height == Position::mm(40))
        .collect();
    assert_eq!(how(&low).get(..2), Some(&[FLAT_OUT, UPRIGHT_HOME][..]));
    assert_eq!(how(&low).get(low.len() - 2..), Some(&[FLAT_OUT, FLAT_HOME][..]));
    let freed: Vec<u8> = low.iter().map(|step| step.cut.unwrap().freed).collect();
    // The waste beyond the last board comes off with it.
    assert_eq!(freed.get(low.len() - 2..), Some(&[0, 2][..]));
}

#[test]
fn under_the_pull_back_aid_one_outbound_stroke_frees_it() {
    let mut mill = powered_mill();
    mill.aid.as_mut().unwrap().on_at_start = true;
    let columns = [
        column(Some(-70), Freeing::Take),
        column(Some(60), Freeing::Take),
        column(None, Freeing::Take),
    ];
    let steps = cuts(&mill, &round_log(300, 3_600), &from_top_to_bed(&columns));
    assert_eq!(how(&steps).last(), Some(&FLAT_OUT));
}

/// A mill that swings under climbs upright on the outbound stroke: so is a light remainder edged, not lifted.
#[test]
fn a_light_remainder_is_edged_outbound_from_the_near_end_climbing() {
    let mut mill = hand_mill();
    mill.drive = powered_mill().drive;
    mill.bunks.truncate(2);
    for (bunk, travel) in mill.bunks.iter_mut().zip([700, 1_700]) {
        bunk.travel = Position::mm(travel);
    }
    let mut log = round_log(300, 1_200);
    (log.cutting_energy, log.density) = (50, 350);
    let columns = [
        column(Some(-70), Freeing::Take),
        column(Some(60), Freeing::Take),
        column(None, Freeing::Take),
    ];
    let steps = cuts(&mill, &log, &from_top_to_bed(&columns));
    let climbing = (Angle::Upright, Stroke::Outbound, Feed::Climb);
    let mut low = steps.iter().filter(|step| step.before.height == Position::mm(40));
    assert!(low.any(|step| step.before.angle == Angle::Upright));
    for step in steps.iter().filter(|step| step.before.height == Position::mm(40)) {
        if step.before.angle == Angle::Upright {
            assert_eq!(how(&[*step]), [climbing]);
        }
    }
}

/// A kerf too deep for engine, teeth and gullets at the slowest feed is cut in more, shallower passes.
#[test]
fn a_kerf_too_deep_for_the_gullets_goes_in_more_passes() {
    let columns = [column(Some(0), Freeing::Take), column(None, Freeing::Take)];
    let layers = [layer(265, &[]), layer(206, &columns)];
    let passes = |fill: u16| {
        let mut mill = powered_mill();
        mill.power.gullet_fill = fill;
        cuts(&mill, &round_log(300, 3_600), &layers).len()
    };
    let (free, tight) = (passes(700), passes(25));
    assert!(tight >= free + 3, "{free} {tight}");
}

/// Climbing presses down what is left: only so hard as it bears, whatever the engine drives, and at last not at all.
#[test]
fn a_thin_rest_that_would_sag_is_climbed_more_slowly_or_not_at_all() {
    let columns = [column(Some(0), Freeing::Take), column(None, Freeing::Take)];
    let mut mill = powered_mill();
    mill.bunks.truncate(2);
    for (bunk, travel) in mill.bunks.iter_mut().zip([1_500, 3_700]) {
        bunk.travel = Position::mm(travel);
    }
    let upright = |stiffness: u16| {
        let mut log = timber(180, 80, 4_000);
        (log.stiffness, log.cutting_energy) = (stiffness, 60);
        let steps = cuts(&mill, &log, &[layer(40, &columns)]);
        let upright = steps.iter().find(|step| step.before.angle == Angle::Upright);
        let upright = upright.copied().unwrap();
        let Move::Cut(cut) = upright.told else {
            unreachable!()
        };
        (upright.feed, cut.speed)
    };
    let (stiff, soft) = (upright(9_000), upright(4_000));
    assert_eq!(stiff, (Some(Feed::Climb), mill.power.feed_max));
    assert_eq!(soft.0, Some(Feed::Climb));
    assert!(soft.1 < stiff.1, "{}", soft.1);
    assert_eq!(upright(3_000).0, Some(Feed::Forward));
}

/// Every target is approached from the entry side and from above, so that play in the drives lies one way.
#[test]
fn corners_are_approached_from_one_side() {
    let columns = [column(Some(0), Freeing::Take), column(None, Freeing::Take)];
    let (mill, log) = (powered_mill(), round_log(300, 3_600));
    let setup = Setup::new(&mill, &log).unwrap();
    let layers = [layer(265, &[]), layer(210, &columns)];
    let mut replay = Replay::new(&setup, 0);
    let mut arrived_right = true;
    sequence(&setup, &CutPlan { layers: &layers }, &mut |told: &Move| {
        let step = replay.step(told);
        match told {
            Move::Cut(_) => assert!(arrived_right, "{step:?}"),
            Move::Go(_) => {
                arrived_right =
                    step.after.across >= step.before.across && step.after.height <= step.before.height;
            }
            Move::Swing(_) | Move::Spin(_) | Move::Hold(_) => {}
        }
        true
    })
    .unwrap();
}

/// A layer in two halves, taken one after the other.
pub(super) const HALVES: [Column; 2] = [
    Column {
        to: Some(Position::ZERO),
        freeing: Freeing::Take,
        use_: Use::Waste,
    },
    Column {
        to: None,
        freeing: Freeing::Take,
        use_: Use::Waste,
    },
];

pub(super) fn from_top_to_bed(lowest: &[Column]) -> Vec<Layer<'_>> {
    let mut layers: Vec<Layer<'_>> = [265, 210, 155, 100]
        .into_iter()
        .map(|floor| layer(floor, &HALVES))
        .collect();
    layers.push(layer(40, lowest));
    layers
}

/// A sequencer on a mill with a log, asked before it has made a move.
pub(super) fn asked<T>(
    mill: &MillRecord,
    log: &LogRecord,
    ask: impl FnOnce(&mut Sequencer<'_, '_>) -> T,
) -> T {
    let setup = Setup::new(mill, log).unwrap();
    let carriage = Carriage::new(&setup).unwrap();
    let mut anywhere = |_: &Move| true;
    ask(&mut Sequencer::new(&setup, carriage, &mut anywhere))
}

/// The same, and the moves it made, as they ran.
pub(super) fn recorded<T>(
    mill: &MillRecord,
    log: &LogRecord,
    ask: impl FnOnce(&mut Sequencer<'_, '_>) -> T,
) -> (T, Vec<Step>) {
    let setup = Setup::new(mill, log).unwrap();
    let carriage = Carriage::new(&setup).unwrap();
    let mut replay = Replay::new(&setup, 0);
    let mut steps = Vec::new();
    let mut record = |told: &Move| {
        steps.push(replay.step(told));
        true
    };
    let found = ask(&mut Sequencer::new(&setup, carriage, &mut record));
    (found, steps)
}
