//! How kerfs are split into passes, on a timber that stands beside the blade.

use bunkside_protocol::{LogRecord, MillRecord, Station};

use super::*;
use crate::plan::{Freeing, Layer};
use crate::replay::{Setup, Step};
use crate::sequence::habits::{asked, column, from_top_to_bed, layer, recorded, steps};
use crate::sequence::{DepthLimit, Shortfall};
use crate::testing::{mm, powered_mill, round_log, timber};

const HOME: Stroke = Stroke::Homebound;
const OUT: Stroke = Stroke::Outbound;

/// A timber of 180 mm by 160 mm, on a mill whose passes bite so deep, flat.
fn on_timber<T>(bite: f64, ask: impl FnOnce(&mut Sequencer<'_, '_>) -> T) -> T {
    let mut mill = powered_mill();
    mill.reach.bite[0] = [[[mm(bite).from_origin(); 3]; 2]; 2];
    asked(&mill, &timber(180, 160, 3_600), ask)
}

/// Through the timber 60 mm above the bed, up to its exit side.
const THROUGH: Kerf = Kerf::plain(Angle::Flat, Position::um(90_100), Position::mm(60), HOME);

type Split = Result<std::vec::Vec<(i32, Stroke)>, PlanErrorKind>;

/// How a kerf is split, what is left told in micrometres.
fn split(sequencer: &mut Sequencer<'_, '_>, kerf: Kerf, bite: f64) -> Split {
    let passes = sequencer.passes(&kerf, mm(bite).from_origin(), false)?;
    Ok(passes
        .iter()
        .map(|(left, stroke)| (left.as_um(), *stroke))
        .collect())
}

/// A micrometre is added to each share, so that what division leaves makes no further pass.
#[test]
fn passes_share_a_kerf_evenly_to_and_fro() {
    let shared = |at_least: u8, bite: f64| {
        on_timber(200.0, |sequencer| {
            split(sequencer, Kerf { at_least, ..THROUGH }, bite)
        })
    };
    assert_eq!(shared(1, 180.1), Ok([(0, HOME)].into()));
    assert_eq!(
        shared(3, 180.0),
        Ok([(120_001, HOME), (60_001, OUT), (0, HOME)].into())
    );
}

/// A table of 60 mm, with a grid step of 0.1 mm in hand.
#[test]
fn no_pass_bites_deeper_than_the_table_less_a_step_of_the_grid() {
    let passes = |bite: f64| on_timber(60.0, |sequencer| split(sequencer, THROUGH, bite));
    assert_eq!(passes(59.9), Ok([(0, HOME)].into()));
    assert_eq!(passes(60.0), Ok([(59_900, OUT), (0, HOME)].into()));
    assert_eq!(passes(119.8), Ok([(59_900, OUT), (0, HOME)].into()));
}

/// A pass has to take one step of the grid at least.
#[test]
fn a_table_that_leaves_no_step_of_the_grid_is_told() {
    let told = |table: f64| on_timber(table, |sequencer| split(sequencer, THROUGH, 0.1));
    assert_eq!(told(0.2), Ok([(0, HOME)].into()));
    assert_eq!(told(0.1), Err(PlanErrorKind::NoPass(DepthLimit::Table)));
}

/// The wood is edged at 20 mm, where a kerf of 5.5 mm leaves the first column up to 14.5 mm: a rim that leaves less than 3 mm of
/// that, 78.6 mm from where the last pass has its own, may free it. So do two of the passes, on the stroke that frees.
#[test]
fn passes_that_may_free_something_run_on_the_last_ones_stroke() {
    let edged = |at_least: u8, shallow_first: bool| {
        on_timber(60.0, |sequencer| {
            sequencer.edge(mm(20.0), mm(60.0)).unwrap();
            let kerf = Kerf {
                at_least,
                shallow_first,
                ..THROUGH
            };
            split(sequencer, kerf, 180.1)
        })
    };
    let usual = [(179_700, HOME), (119_800, OUT), (59_900, HOME), (0, HOME)];
    assert_eq!(edged(1, false), Ok(usual.into()));
    // However many passes there are to be, none but these two frees.
    let many = edged(12, false).unwrap();
    let freeing = many.iter().filter(|(left, _)| *left < 78_600).count();
    assert_eq!((many.len() > 4, freeing), (true, 2), "{many:?}");
    // Over the bunks there may be one.
    assert_eq!(edged(2, true), Err(PlanErrorKind::NoShallowPass));
}

/// Where the wood is edged so near its entry side that any flat pass may free what lies before it, no pass can go before.
#[test]
fn what_hangs_on_too_little_wood_has_no_shallow_pass() {
    on_timber(200.0, |sequencer| {
        sequencer.edge(mm(-81.5), mm(60.0)).unwrap();
        let kerf = Kerf {
            across: mm(-81.5),
            at_least: 2,
            shallow_first: true,
            ..THROUGH
        };
        assert_eq!(split(sequencer, kerf, 8.5), Err(PlanErrorKind::NoShallowPass));
    });
}

/// An upright pass may turn while it bites no deeper than the table, 200 mm, less a grid step of 0.1 mm; a flat one while it
/// frees nothing; over the bunks none may.
#[test]
fn a_pass_may_turn_where_it_bites_as_deep_on_the_other_stroke() {
    let upright = Kerf::plain(Angle::Upright, Position::ZERO, mm(60.0), OUT);
    let turns = |kerf: Kerf, across: f64, bite: f64| {
        on_timber(200.0, |sequencer| {
            let pose = Pose {
                across: mm(across),
                ..sequencer.pose()
            };
            sequencer.may_turn(&kerf, &pose, mm(bite).from_origin(), kerf.last)
        })
    };
    assert_eq!(turns(upright, 0.0, 199.9), Ok(true));
    assert_eq!(turns(upright, 0.0, 200.0), Ok(false));
    assert_eq!(turns(THROUGH, 80.0, 170.0), Ok(true));
    assert_eq!(turns(THROUGH, 90.1, 180.1), Ok(false));
    let shallow_first = true;
    let over_bunks = Kerf {
        shallow_first,
        ..THROUGH
    };
    assert_eq!(turns(over_bunks, 80.0, 170.0), Ok(false));
}

/// Nor deeper than what may hide between two samples leaves of it.
#[test]
fn what_may_be_hidden_is_kept_in_hand_where_a_pass_turns() {
    let upright = Kerf::plain(Angle::Upright, Position::ZERO, mm(60.0), OUT);
    asked(&powered_mill(), &flaring(), |sequencer| {
        let most = Length::um(199_900) - sequencer.setup.shape.between();
        let pose = sequencer.pose();
        assert_eq!(sequencer.may_turn(&upright, &pose, most, OUT), Ok(true));
        assert_eq!(
            sequencer.may_turn(&upright, &pose, most + Length::um(1), OUT),
            Ok(false)
        );
    });
}

/// Half as deep, and half of that again where it would free something; but none is tried that is less deep than 5 mm.
#[test]
fn a_shallow_pass_is_halved_until_it_frees_nothing() {
    on_timber(200.0, |sequencer| {
        let halved = |sequencer: &mut Sequencer<'_, '_>, standing: f64| {
            let kerf = Kerf {
                across: mm(-90.0 + standing),
                shallow_first: true,
                ..THROUGH
            };
            sequencer.part_way(&kerf, Length::ZERO, mm(standing).from_origin())
        };
        assert_eq!(halved(sequencer, 160.0), Ok(Length::mm(80)));
        // With an edge at -50 mm, whose kerf leaves 34.5 mm before it, only passes less deep than that free nothing.
        sequencer.edge(mm(-50.0), THROUGH.height).unwrap();
        assert_eq!(halved(sequencer, 160.0), Ok(Length::mm(140)));
        sequencer.edge(mm(-82.5), THROUGH.height).unwrap();
        assert_eq!(halved(sequencer, 7.5), Ok(Length::um(3_750)));
    });
}

/// Wherever the corner stands, it is the kerf's own height that tells.
#[test]
fn a_flat_pass_frees_once_it_runs_through() {
    on_timber(200.0, |sequencer| {
        assert_ne!(sequencer.pose().height, THROUGH.height);
        assert_eq!(sequencer.frees(&THROUGH, mm(80.0)), Ok(false));
        assert_eq!(sequencer.frees(&THROUGH, mm(90.1)), Ok(true));
        // Found by halves to within a millimetre: with 3 mm left it hangs for sure.
        let held = sequencer.held_up_to(&THROUGH, mm(180.1).from_origin()).unwrap();
        assert!(mm(86.0) < held && held <= mm(87.0), "{held}");
    });
}

/// Edged at 20 mm, what is before 14.5 mm hangs by 0.2 mm where a rim goes to 14.3 mm: 6 mm more are left, where the pass keeps
/// 5 mm. With 3 mm it hangs for sure, and 3.4 mm bear it.
#[test]
fn a_flat_pass_leaves_more_than_a_thread() {
    on_timber(200.0, |sequencer| {
        sequencer.edge(mm(20.0), THROUGH.height).unwrap();
        let mut left = |kerf: Kerf, left: f64, standing: f64| {
            let [left, standing] = [left, standing].map(|length| mm(length).from_origin());
            sequencer.off_a_thread(&kerf, left, standing).unwrap().as_um()
        };
        assert_eq!(left(THROUGH, 75.8, 180.1), 81_800);
        assert_eq!(left(THROUGH, 75.8, 86.8), 81_800);
        assert_eq!(left(THROUGH, 75.8, 86.7), 75_800);
        assert_eq!(left(THROUGH, 78.5, 180.1), 81_500);
        assert_eq!(left(THROUGH, 78.7, 180.1), 81_700);
        assert_eq!(left(THROUGH, 79.0, 180.1), 79_000);
        // The last pass cuts all there is.
        let short = Kerf {
            across: mm(14.3),
            ..THROUGH
        };
        assert_eq!(left(short, 0.0, 180.1), 0);
        let upright = Kerf {
            angle: Angle::Upright,
            ..THROUGH
        };
        assert_eq!(left(upright, 75.8, 180.1), 75_800);
    });
}

/// Half of the slab over the kerf grows from 91.97 mm to 153.28 mm along the log, so that it hangs at its thick end alone: by
/// 0.5 mm at 152.8 mm, by 6.5 mm over 358 mm of the log with 6 mm more, and so on. That bears it once it hangs in the middle of
/// the log as well, where half of it is 122.6 mm.
#[test]
fn it_leaves_the_more_the_shorter_the_part_hangs() {
    let mut log = round_log(300, 3_600);
    log.stations.last_mut().unwrap().half_width = Length::mm(250);
    asked(&powered_mill(), &log, |sequencer| {
        let kerf = Kerf::plain(Angle::Flat, mm(160.0), mm(263.0), HOME);
        let left = |more: f64| mm(7.2 + more).from_origin();
        let all = mm(320.0).from_origin();
        assert_eq!(sequencer.off_a_thread(&kerf, left(0.0), all), Ok(left(48.0)));
    });
}

fn bites(mill: &MillRecord, log: &LogRecord, kerf: Kerf) -> Result<Option<Length>, PlanErrorKind> {
    asked(mill, log, |sequencer| sequencer.bite(&kerf))
}

/// Over a kerf through a timber of 300 mm the plate lies as deep under wood as the rim has gone in.
#[test]
fn a_kerf_may_lie_as_deep_under_wood_as_the_blade_covers() {
    let (mill, log) = (powered_mill(), timber(300, 160, 3_600));
    let to = |across: f64| {
        let across = mm(across);
        bites(&mill, &log, Kerf { across, ..THROUGH })
    };
    let limit = Length::mm(205);
    assert_eq!(to(55.0), Ok(Some(limit)));
    let cover = Length::um(205_100);
    assert_eq!(to(55.1), Err(PlanErrorKind::TooWide { cover, limit }));
}

/// A log whose half-width grows from 150 mm to 250 mm.
fn flaring() -> LogRecord {
    let mut log = round_log(400, 3_600);
    let station = |travel: f64, across: f64, half: i32| Station {
        travel: mm(travel),
        centre_across: mm(across),
        half_width: Length::mm(half),
        ..log.stations[0]
    };
    log.stations = [station(600.0, 0.0, 150), station(4_200.0, 0.0, 250)]
        .into_iter()
        .collect();
    log
}

/// What the shape may hide between two samples counts as wood.
#[test]
fn cover_counts_what_may_hide_between_samples() {
    let log = flaring();
    let mill = powered_mill();
    let between = Setup::new(&mill, &log).unwrap().shape.between();
    assert!(between > Length::ZERO);
    let kerf = Kerf {
        across: mm(200.0),
        height: mm(200.0),
        ..THROUGH
    };
    // Half way up, the wood begins at -250 mm where it is widest.
    let (cover, limit) = (Length::mm(450) + between, Length::mm(205));
    assert_eq!(
        bites(&mill, &log, kerf),
        Err(PlanErrorKind::TooWide { cover, limit })
    );
}

/// The housing begins 211 mm from the rim and keeps 5 mm clear: the blade could lie 200 mm under wood, but not with bark of
/// 10 mm on it.
#[test]
fn the_housing_stays_clear_of_bark() {
    let mill = powered_mill();
    let mut log = timber(300, 160, 3_600);
    let kerf = Kerf {
        across: mm(50.0),
        ..THROUGH
    };
    let pose = Pose {
        across: kerf.across,
        height: kerf.height,
        angle: Angle::Flat,
        ..Pose::parked(&mill)
    };
    let possible = |log: &LogRecord| asked(&mill, log, |sequencer| sequencer.possible(&pose, HOME));
    assert_eq!(bites(&mill, &log, kerf), Ok(Some(Length::mm(200))));
    assert_eq!(possible(&log), Ok(()));
    log.bark = Length::mm(10);
    assert_eq!(bites(&mill, &log, kerf), Err(PlanErrorKind::HousingInWood));
    assert_eq!(possible(&log), Err(PlanErrorKind::HousingInWood));
}

/// A timber of 180 mm by 160 mm that is released 50 mm wide.
fn released(mill: &MillRecord, passes: Option<u8>) -> std::vec::Vec<Step> {
    let columns = [column(Some(-40), Freeing::Release), column(None, Freeing::Take)];
    let layers = [Layer {
        passes,
        ..layer(100, &columns)
    }];
    let mut steps = steps(mill, &timber(180, 160, 3_600), &layers);
    steps.retain(|step| {
        step.cut.is_some() && step.before.angle == Angle::Flat && step.before.across <= mm(-40.0)
    });
    steps
}

/// Only the stroke that frees is told to release.
#[test]
fn the_pass_that_frees_releases() {
    let how = |step: &Step| match step.told {
        Move::Cut(cut) => (cut.release, step.cut.unwrap().freed),
        _ => unreachable!(),
    };
    let steps = released(&powered_mill(), Some(3));
    let passes: std::vec::Vec<_> = steps.iter().map(how).collect();
    assert_eq!(passes, [(false, 0), (false, 0), (true, 1)]);
}

/// What becomes of kerfs in a timber of 180 mm by 160 mm: their cuts, as they ran.
fn made(mill: &MillRecord, kerfs: &[Kerf]) -> (Done, std::vec::Vec<Step>) {
    made_in(&timber(180, 160, 3_600), mill, kerfs)
}

fn made_in(log: &LogRecord, mill: &MillRecord, kerfs: &[Kerf]) -> (Done, std::vec::Vec<Step>) {
    let (made, mut steps) = recorded(mill, log, |sequencer| {
        kerfs.iter().try_for_each(|kerf| sequencer.kerf(*kerf))
    });
    steps.retain(|step| step.cut.is_some());
    (made, steps)
}

/// Where passes are less deep than the edging kerf is wide, the wood has come off before the last one, which is left away.
#[test]
fn no_pass_runs_in_the_edging_kerf() {
    let mut mill = powered_mill();
    mill.reach.bite[0] = [[[Length::mm(5); 3]; 2]; 2];
    let across = mm(-50.0);
    let edge = Kerf::plain(Angle::Upright, across, THROUGH.height, OUT);
    let (made, cuts) = made(&mill, &[edge, Kerf { across, ..THROUGH }]);
    assert_eq!(made, Ok(()));
    let last = cuts.last().unwrap();
    assert_eq!(last.cut.unwrap().freed, 1);
    assert!(last.before.across < across, "{:?}", last.before);
    assert!(cuts.iter().all(|step| step.cut.unwrap().met.is_some()));
}

/// Two columns of the lowest layer released together with the knife fitted, which lets 60 mm through homebound: a shallow pass
/// outbound, with the knife on, then 96 mm homebound without, and it is fitted again.
#[test]
fn the_knife_is_off_only_where_it_is_in_the_way() {
    let mut mill = powered_mill();
    mill.knife.as_mut().unwrap().fitted_at_start = true;
    let columns = [
        column(Some(-70), Freeing::Take),
        column(Some(20), Freeing::Release),
        column(None, Freeing::Release),
    ];
    let steps = steps(&mill, &round_log(300, 3_600), &from_top_to_bed(&columns));
    let held = |act: Act| {
        let holds = steps.iter();
        let holds = holds.filter(|step| matches!(step.told, Move::Hold(hold) if hold.acts.contains(act)));
        holds.count()
    };
    assert_eq!((held(Act::KnifeOff), held(Act::KnifeOn)), (1, 1));
    let cuts: std::vec::Vec<&Step> = steps.iter().filter(|step| step.cut.is_some()).collect();
    let (last, before) = cuts.split_last().unwrap();
    assert_eq!((last.before.knife, last.stroke), (false, Some(HOME)));
    assert!(before.iter().all(|step| step.before.knife));
}

/// 25 N/mm² × 5.5 mm × 10 mm × 500 mm/s ÷ 60 m/s = 11.5 N, and 17.2 N with the factor for knots, push a timber of 712 N that
/// half its weight holds: 21 times what pushes, and 41 times for a pass half as deep.
#[test]
fn a_pass_under_which_the_log_would_slide_is_halved_down_to_five_millimetres() {
    let mut mill = powered_mill();
    mill.power.feed_min = mill.power.feed_max;
    mill.factors.slip = 30_000;
    let cut = |deep: f64| {
        let kerf = Kerf::plain(Angle::Upright, Position::ZERO, mm(160.0 - deep), OUT);
        let (made, cuts) = made(&mill, &[kerf]);
        let heights: std::vec::Vec<Position> = cuts.iter().map(|step| step.before.height).collect();
        (made, heights)
    };
    assert_eq!(cut(5.0), (Ok(()), [mm(155.0)].into()));
    assert_eq!(cut(10.0), (Ok(()), [mm(155.0), mm(150.0)].into()));
    let (made, heights) = cut(9.9);
    assert!(
        matches!(
            made,
            Err(PlanErrorKind::WouldSlip(Shortfall { demanded: 30_000, .. }))
        ),
        "{made:?}"
    );
    assert_eq!(heights, []);
}

/// As above, 20 mm in a pass of 14.6 mm outbound and one of 5.4 mm homebound, where the knife lets none bite deeper than 5.5 mm:
/// halves of the first go outbound both, for it is held 14 times only, and each of them 28 times. Where the knife lets one go
/// as deep, it runs homebound like the last.
#[test]
fn half_a_pass_runs_where_the_knife_lets_it_bite_so_deep() {
    let mut mill = powered_mill();
    mill.power.feed_min = mill.power.feed_max;
    mill.factors.slip = 20_000;
    let strokes = |limit: f64| {
        let mut mill = mill.clone();
        let knife = mill.knife.as_mut().unwrap();
        (knife.homebound_limit[1], knife.fitted_at_start) = (mm(limit).from_origin(), true);
        let kerf = Kerf {
            at_least: 2,
            ..Kerf::plain(Angle::Upright, Position::ZERO, mm(140.0), HOME)
        };
        let (made, cuts) = made(&mill, &[kerf]);
        let told: std::vec::Vec<_> = cuts
            .iter()
            .map(|step| (step.before.height, step.stroke.unwrap()))
            .collect();
        (made, told)
    };
    let halves = [(mm(152.7), OUT), (mm(145.4), OUT), (mm(140.0), HOME)];
    assert_eq!(strokes(5.5), (Ok(()), halves.into()));
    let turned = [(mm(154.0), HOME), (mm(147.9), OUT), (mm(140.0), HOME)];
    assert_eq!(strokes(8.0), (Ok(()), turned.into()));
    // A step of the grid is kept in hand: 13.333 mm in two are 6.667 mm at most, 13.4 mm are 6.7 mm.
    let first = |limit: f64| strokes(limit).1[0].1;
    assert_eq!((first(6.767), first(6.7)), (HOME, OUT));
}

/// A short timber of light, tough wood, which the upright blade lifts outbound and presses down homebound: three passes of
/// 40 mm would go to and fro, but all of them climb.
#[test]
fn each_pass_of_a_kerf_turns_for_itself() {
    let mut mill = powered_mill();
    mill.reach.bite[1] = [[[Length::mm(40); 3]; 2]; 2];
    mill.bunks.truncate(2);
    for (bunk, travel) in mill.bunks.iter_mut().zip([700.0, 1_700.0]) {
        bunk.travel = mm(travel);
    }
    let strokes = |density: u16| {
        let mut log = timber(180, 160, 1_200);
        (log.cutting_energy, log.density) = (50, density);
        let kerf = Kerf::plain(Angle::Upright, Position::ZERO, mm(60.0), HOME);
        let (made, cuts) = made_in(&log, &mill, &[kerf]);
        assert_eq!(made, Ok(()));
        cuts.iter()
            .filter_map(|step| step.stroke)
            .collect::<std::vec::Vec<_>>()
    };
    assert_eq!(strokes(1_000), [HOME, OUT, HOME]);
    assert_eq!(strokes(300), [HOME, HOME, HOME]);
}

/// All from −75.5 mm to 22.5 mm is sawdust already. Two passes free what stands before that; the next one would push the timber
/// off its place, and half of it runs through nothing but that gap: it is left away, and half of what then stands is tried.
#[test]
fn a_pass_through_a_gap_is_left_away_when_one_is_halved() {
    let mut mill = powered_mill();
    mill.reach.bite[0] = [[[Length::um(160_100); 3]; 2]; 2];
    mill.power.feed_min = mill.power.feed_max;
    mill.factors.slip = 5_000;
    let log = timber(180, 160, 3_600);
    let (made, mut steps) = recorded(&mill, &log, |sequencer| {
        for number in 0..18 {
            let stroke = if number % 2 == 0 { OUT } else { HOME };
            let pose = Pose {
                across: mm(-70.0) + Length::um(5_500).times(number),
                height: THROUGH.height,
                angle: Angle::Upright,
                ..sequencer.pose()
            };
            sequencer.begin(&pose, stroke)?;
            let (_, to) = sequencer.carriage.course(stroke);
            sequencer.emit(&Move::Cut(Cut {
                to: Targets::travel(to),
                speed: mill.power.feed_max,
                feed: None,
                release: false,
            }))?;
        }
        sequencer.kerf(THROUGH)
    });
    assert_eq!(made, Ok(()));
    steps.retain(|step| step.cut.is_some() && step.before.angle == Angle::Flat);
    let rims: std::vec::Vec<Position> = steps.iter().map(|step| step.before.across).collect();
    assert_eq!((rims[0], rims[1]), (mm(-80.0), mm(-69.9)), "{rims:?}");
    assert!(rims[2] > mm(22.5) && rims.last() == Some(&mm(90.1)), "{rims:?}");
    assert!(steps.iter().all(|step| step.cut.unwrap().met.is_some()));
}
