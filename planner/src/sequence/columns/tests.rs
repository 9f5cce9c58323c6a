//! What is freed how, on plans made by hand.

use std::vec::Vec;

use bunkside_protocol::{LogRecord, MillRecord, Move, Station};

use super::*;
use crate::replay::Step;
use crate::sequence::habits::{FLAT_HOME, FLAT_OUT, HALVES, asked, column, cuts, how, layer};
use crate::testing::{hand_mill, mm, powered_mill, round_log, timber};

fn to(place: f64) -> Column {
    Column {
        to: Some(mm(place)),
        freeing: Freeing::Take,
        use_: Use::Waste,
    }
}

fn upright(steps: &[Step]) -> Vec<Stroke> {
    let upright = |step: &&Step| step.before.angle == Angle::Upright;
    steps
        .iter()
        .filter(upright)
        .filter_map(|step| step.stroke)
        .collect()
}

/// A column taken brings the carriage home; the two edges after it go out and back, and none runs empty.
#[test]
fn edging_kerfs_go_out_and_back() {
    let columns = [
        column(Some(-90), Freeing::Take),
        column(Some(-10), Freeing::Release),
        column(Some(70), Freeing::Release),
        column(None, Freeing::Take),
    ];
    let layers = [layer(265, &[]), layer(210, &columns)];
    let steps = cuts(&powered_mill(), &round_log(300, 3_600), &layers);
    use Stroke::{Homebound, Outbound};
    assert_eq!(upright(&steps), [Homebound, Outbound, Homebound]);
}

/// Of a log of 300 mm 3 mm or 5 mm over a kerf of 5.5 mm go as dust, and leave a face all the same; a tenth of a millimetre, which
/// the mill does not set, is left.
#[test]
fn what_is_no_higher_than_the_kerf_goes_as_dust() {
    for (floor, strokes) in [(297, 1), (295, 1), (300, 0)] {
        let layers = [layer(floor, &[])];
        let steps = cuts(&powered_mill(), &round_log(300, 3_600), &layers);
        let freed: usize = steps
            .iter()
            .filter_map(|step| step.cut)
            .map(|cut| usize::from(cut.freed))
            .sum();
        assert_eq!((steps.len(), freed), (strokes, 0), "{floor}");
    }
}

/// A powered mill that swings under: its flat blade climbs homebound and its upright one outbound.
fn powered_under() -> MillRecord {
    MillRecord {
        drive: powered_mill().drive,
        ..hand_mill()
    }
}

/// A short log of light, tough wood on two bunks.
fn light() -> (MillRecord, LogRecord) {
    let mut mill = powered_under();
    mill.bunks.truncate(2);
    for (bunk, travel) in mill.bunks.iter_mut().zip([700.0, 1_700.0]) {
        bunk.travel = mm(travel);
    }
    let mut log = round_log(300, 1_200);
    (log.cutting_energy, log.density) = (50, 350);
    (mill, log)
}

/// Where wood lies heavily its columns are taken flat outbound and upright homebound, in whichever direction the blade
/// climbs; where it lies so lightly that the upright blade would lift it, the other way round.
#[test]
fn light_wood_is_taken_climbing() {
    let forward_home = (Angle::Upright, Stroke::Homebound, Feed::Forward);
    let climb_out = (Angle::Upright, Stroke::Outbound, Feed::Climb);
    let heavy = cuts(
        &powered_under(),
        &round_log(300, 3_600),
        &[layer(265, &[]), layer(210, &HALVES)],
    );
    assert_eq!(how(&heavy).get(1..3), Some(&[FLAT_OUT, forward_home][..]));
    let (mill, log) = light();
    let mut light = cuts(&mill, &log, &[layer(265, &HALVES), layer(210, &HALVES)]);
    light.retain(|step| step.before.height == mm(210.0));
    assert_eq!(how(&light).get(..2), Some(&[FLAT_HOME, climb_out][..]));
}

/// On such wood every edge is climbed, from whichever end, although a mill that bites only 30 mm climbing cannot do so in one
/// pass.
#[test]
fn light_wood_is_edged_climbing_in_as_many_passes_as_it_takes() {
    let (mut mill, log) = light();
    mill.reach.bite[1][0] = [[Length::mm(30); 3]; 2];
    let columns = [
        column(Some(-60), Freeing::Take),
        column(Some(0), Freeing::Release),
        column(Some(60), Freeing::Release),
        column(None, Freeing::Take),
    ];
    let steps = cuts(&mill, &log, &[layer(265, &HALVES), layer(210, &columns)]);
    let edges = steps
        .iter()
        .filter(|step| step.before.angle == Angle::Upright && step.before.height == mm(210.0));
    let edges: Vec<(Position, Option<Feed>)> = edges.map(|step| (step.before.across, step.feed)).collect();
    let climb = Some(Feed::Climb);
    assert_eq!(edges, [(mm(-60.0), climb), (mm(0.0), climb), (mm(60.0), climb)]);
}

/// The last layer's own count of passes is kept by the strokes that free it, whether they take or release.
#[test]
fn a_layer_is_freed_in_as_many_passes_as_its_plan_says() {
    let freeing = |columns: &[Column], passes| {
        let lowest = Layer {
            passes,
            ..layer(210, columns)
        };
        let steps = cuts(
            &powered_mill(),
            &round_log(300, 3_600),
            &[layer(265, &[]), lowest],
        );
        let last = steps.last().unwrap().cut.unwrap();
        assert!(last.freed > 0);
        let flat = steps
            .iter()
            .rev()
            .take_while(|step| step.before.angle == Angle::Flat);
        flat.count()
    };
    let released = [
        column(Some(-60), Freeing::Take),
        column(Some(20), Freeing::Release),
        column(None, Freeing::Release),
    ];
    assert_eq!(freeing(&HALVES, None), 1);
    assert_eq!(freeing(&HALVES, Some(3)), 3);
    assert_eq!(freeing(&released, None), 1);
    assert_eq!(freeing(&released, Some(3)), 3);
}

/// A timber of 180 mm by 160 mm, whose wood ends 0.1 mm short of where a rim stands that runs through it.
fn on_timber<T>(spoil: impl Fn(&mut MillRecord), ask: impl FnOnce(&mut Sequencer<'_, '_>) -> T) -> T {
    let mut mill = powered_mill();
    spoil(&mut mill);
    asked(&mill, &timber(180, 160, 3_600), ask)
}

const FLOOR: Position = Position::mm(60);

/// The rim of the last stroke stands at 90.1 mm. With 3 mm in hand the blade of 205 mm reaches under all from −111.9 mm on; a
/// kerf of 5.5 mm and 3 mm before the edge at −98.4 mm the wood begins that is left to the last stroke, which bites 200 mm.
#[test]
fn the_last_board_and_its_waste_are_freed_as_one_where_the_blade_reaches_and_bites_so_deep() {
    let fits = |before: f64, edge: f64, beyond: Use| {
        let rest = [
            to(edge),
            Column {
                use_: beyond,
                ..to(80.0)
            },
        ];
        on_timber(
            |_| (),
            |sequencer| sequencer.fits_as_one(&rest, Some(mm(before)), FLOOR),
        )
    };
    assert!(fits(-111.9, -98.4, Use::Waste));
    assert!(!fits(-112.0, -98.4, Use::Waste));
    assert!(!fits(-111.9, -98.5, Use::Waste));
    let board = Use::Board {
        product: 0,
        length: Length::mm(3_000),
        end: crate::plan::End::Near,
    };
    assert!(!fits(-111.9, -98.4, board));
}

/// How deep that stroke bites is told by the feed in which it runs.
#[test]
fn the_stroke_that_frees_climbs_on_a_driven_carriage_only() {
    let deepest = |mut mill: MillRecord| {
        let [climb, forward] = &mut mill.reach.bite[0];
        (*climb, *forward) = ([[Length::mm(150); 3]; 2], [[Length::mm(100); 3]; 2]);
        asked(&mill, &round_log(300, 3_600), |sequencer| {
            sequencer.deepest_freeing()
        })
    };
    assert_eq!(deepest(powered_mill()), Length::mm(150));
    assert_eq!(deepest(hand_mill()), Length::mm(100));
}

/// Taking all from the entry side to 10 mm over a floor of 60 mm removes 100 mm by 100 mm, whose middle lies 40 mm to the entry
/// side, of 180 mm by 160 mm: the rest is out of the middle by 40 × 10 000 ÷ 18 800 = 21.3 mm. To −40 mm it is 65 × 5 000 ÷
/// 23 800 = 13.7 mm. The timber stands on 90 mm to either side, 4.2 and 6.6 times as far out.
#[test]
fn what_would_leave_the_rest_unsteady_is_released_with_the_rest() {
    let released = |roll: u16, across: f64, before: Option<f64>| {
        on_timber(
            |mill| mill.factors.roll = roll,
            |sequencer| sequencer.has_to_release(&to(across), before.map(mm), FLOOR),
        )
    };
    assert_eq!(released(5_000, 10.0, Some(-60.0)), Ok(true));
    assert_eq!(released(4_000, 10.0, Some(-60.0)), Ok(false));
    assert_eq!(released(5_000, -40.0, Some(-60.0)), Ok(false));
    // What the blade does not reach under has to be taken all the same.
    assert_eq!(released(5_000, 10.0, Some(-111.9)), Ok(true));
    assert_eq!(released(5_000, 10.0, Some(-112.0)), Ok(false));
    assert_eq!(released(5_000, 10.0, None), Ok(false));
}

/// Over a floor at 210 mm stands what lies over its kerf, 215.5 mm up: √(150² − 65.5²) = 134.9 mm to either side of the middle
/// of a log of 300 mm. With a rim at 137.6 mm that is 272.5 mm wide.
#[test]
fn the_aid_bears_on_what_stands_over_the_kerf() {
    let bears = |widest: i32| {
        let mut mill = powered_mill();
        let aid = mill.aid.as_mut().unwrap();
        (aid.widest, aid.on_at_start) = (Length::mm(widest), true);
        asked(&mill, &round_log(300, 3_600), |sequencer| {
            sequencer.aid_bears(mm(137.6), mm(210.0))
        })
    };
    assert!(bears(273));
    assert!(!bears(272));
}

/// On the timber above, in heavy wood that is easily sawn: once 30 mm are off the entry side the next column cannot be taken as
/// well, but its edge can be cut and all be freed at once.
#[test]
fn an_unsteady_rest_is_edged_and_released() {
    let columns = [
        column(Some(-60), Freeing::Take),
        column(Some(10), Freeing::Take),
        column(None, Freeing::Take),
    ];
    let mut log = timber(180, 160, 3_600);
    (log.density, log.cutting_energy) = (1_000, 5);
    let freed = |roll: u16| {
        let mut mill = powered_mill();
        mill.factors.roll = roll;
        let steps = cuts(&mill, &log, &[layer(60, &columns)]);
        let freed = |step: &Step| (step.before.angle, step.cut.unwrap().freed);
        steps.iter().map(freed).collect::<Vec<_>>()
    };
    use Angle::{Flat, Upright};
    assert_eq!(
        freed(1_200),
        [(Flat, 0), (Upright, 1), (Flat, 0), (Upright, 1), (Flat, 1)]
    );
    assert_eq!(freed(5_000), [(Flat, 0), (Upright, 1), (Upright, 0), (Flat, 2)]);
}

/// A log whose back is hollow, and which winds from the entry side to the exit side: at 320 mm both ends stand up, the near one
/// from −190 mm to −10 mm, nowhere further than −4.6 mm. A kerf up to −4 mm frees that one at once, so it climbs.
#[test]
fn a_cap_that_comes_off_with_the_flat_kerf_is_cut_climbing() {
    let mut log = round_log(300, 3_600);
    let station = |travel: f64, across: f64, height: f64| Station {
        travel: mm(travel),
        centre_across: mm(across),
        centre_height: mm(height),
        ..log.stations[0]
    };
    let stations = [
        station(600.0, -100.0, 200.0),
        station(2_400.0, 0.0, 150.0),
        station(4_200.0, 100.0, 200.0),
    ];
    log.stations = stations.into_iter().collect();
    let mut mill = powered_mill();
    mill.wedges.packing = Length::mm(200);
    let columns = [column(Some(-4), Freeing::Take), column(None, Freeing::Take)];
    let steps = cuts(&mill, &log, &[layer(320, &columns)]);
    let first = steps.first().unwrap();
    assert_eq!(
        (how(&[*first]), first.cut.unwrap().freed),
        ([FLAT_HOME].into(), 1)
    );
}

/// Where nothing holds beyond a column's far edge, the stroke that takes it stands where the wood ends: √(150² − 60²) =
/// 137.5 mm from the middle of a log of 300 mm, 60 mm over its middle. It is alone in it, so nothing is released.
#[test]
fn a_column_that_ends_beyond_the_wood_is_taken_to_the_woods_edge() {
    let last = |columns: &[Column]| {
        let steps = cuts(
            &powered_mill(),
            &round_log(300, 3_600),
            &[layer(265, &[]), layer(210, columns)],
        );
        *steps.last().unwrap()
    };
    let columns = [column(Some(0), Freeing::Take), column(Some(160), Freeing::Take)];
    let step = last(&columns);
    assert_eq!(step.before.across, mm(137.6));
    assert!(matches!(step.told, Move::Cut(cut) if !cut.release));
}

/// Kerfs of 5.5 mm, their exit faces 7.5 mm apart.
#[test]
fn no_lath_is_left_between_two_edges() {
    let edged = |beside: f64| {
        on_timber(
            |_| {},
            |sequencer| {
                sequencer.edge(mm(0.0), mm(60.0)).unwrap();
                sequencer.edge(mm(beside), mm(60.0))
            },
        )
    };
    // 100 mm high: the cube root of 0.02 mm × 100² mm² is 5.848 mm, and either face may be off by 0.2 mm.
    let thin = |thick: i64| {
        Err(PlanErrorKind::ThinWood {
            thick: Length::um(thick),
            least: Length::um(6_249),
        })
    };
    assert_eq!(edged(7.5), thin(2_000));
    assert_eq!(edged(11.7), thin(6_200));
    assert_eq!(edged(11.8), Ok(()));
}
