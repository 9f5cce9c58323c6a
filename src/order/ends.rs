//! Where a layer may end, what that is worth, and what holds take.

use bunkside_planner::machine::{Apart, Pose, come_back};
use bunkside_planner::physics::motion::rapid;
use bunkside_planner::physics::timing::{go, through_air, walk_and_acts};
use bunkside_planner::plan::Layer;
use bunkside_planner::replay::Setup;
use bunkside_planner::sequence::{Carriage, Standing, Start};
use bunkside_protocol::mill::HeightSetting;
use bunkside_protocol::{Act, Acts, Angle, MillRecord, Position, Stroke};

use super::Asked;
use super::guess::{STROKES, seconds};
use super::relaxed::{FAR, KNIFE, UPRIGHT, Worth};

/// The least before the first layer: parked at the near end, upright.
pub(super) fn first_chain(parked: &Pose) -> Worth {
    let mut chain = [f64::INFINITY; 8];
    let knife = if parked.knife { KNIFE } else { 0 };
    if let Some(start) = chain.get_mut(UPRIGHT | knife) {
        *start = 0.0;
    }
    chain
}

/// Seconds to let the blade run down and bring it up to speed again.
pub(super) fn stopping(mill: &MillRecord) -> f64 {
    seconds(mill.blade.run_down) + seconds(mill.blade.spin_up)
}

/// A pose at a hold for which the blade is stopped, or not. It stands from there on where a height is set by hand; elsewhere
/// nobody asks, and states are not told apart by it.
pub(super) fn stopped(mill: &MillRecord, pose: Pose, stops: bool) -> Pose {
    let by_hand = matches!(mill.height_setting, HeightSetting::ByHand(_));
    Pose {
        spinning: pose.spinning && !(stops && by_hand),
        ..pose
    }
}

/// Seconds of a hold at which nothing is unloaded, the blade stopped where hands go near it.
pub(super) fn hold_time(setup: &Setup<'_>, acts: Acts) -> f64 {
    if acts.is_empty() {
        return 0.0;
    }
    let stop = if needs_standing_blade(acts) {
        stopping(setup.mill)
    } else {
        0.0
    };
    stop + walk_and_acts(setup.mill, acts)
}

pub(super) fn needs_standing_blade(acts: Acts) -> bool {
    acts.iter().any(Act::needs_standing_blade)
}

/// What is saved where the blade is stopped for an unloading and need not be stopped again.
pub(super) fn last_stop(setup: &Setup<'_>, asked: &Asked<'_>) -> f64 {
    if asked.stop_to_unload {
        stopping(setup.mill)
    } else {
        0.0
    }
}

/// The same after a hold that may fit the knife or take it off.
pub(super) fn turned(chain: &Worth, acts: Acts) -> Worth {
    let (on, off) = (acts.contains(Act::KnifeOn), acts.contains(Act::KnifeOff));
    let mut after = [f64::INFINITY; 8];
    for (from, least) in chain.iter().enumerate() {
        let to = match (on, off) {
            (_, true) => from & !KNIFE,
            (true, false) => from | KNIFE,
            (false, false) => from,
        };
        if let Some(place) = after.get_mut(to) {
            *place = place.min(*least);
        }
    }
    after
}

/// Where the blade stands across when the carriage passes beside the log and not over it, nearest to the log at either angle; none
/// where it cannot.
pub(super) fn past_the_log(setup: &Setup<'_>, carriage: &Carriage<'_>) -> Option<Position> {
    let past = |angle| {
        let pose = Pose {
            angle,
            across: setup.mill.across.max,
            ..Pose::parked(setup.mill)
        };
        carriage.past_the_log(&pose)
    };
    Angle::ALL.into_iter().filter_map(past).max()
}

/// The least until the carriage is home, the last layer's floor and what stands under it told.
pub(super) fn homed(
    setup: &Setup<'_>,
    carriage: &Carriage<'_>,
    chain: &Worth,
    last: Option<(Position, Position)>,
) -> f64 {
    let margin = setup.shape.between() + Apart::body(setup.mill).height;
    let last = last.filter(|_| past_the_log(setup, carriage).is_none());
    let up = last.map_or(0.0, |(floor, top)| {
        descent(setup, floor, (top + margin).max(floor))
    });
    let back = rapid(&setup.mill.travel, carriage.far - carriage.near) + up;
    let ways = chain.iter().enumerate();
    let ways = ways.map(|(end, least)| least + if end & FAR == 0 { 0.0 } else { back });
    ways.fold(f64::INFINITY, f64::min)
}

/// Seconds that the blade takes at least from one height to another.
pub(super) fn descent(setup: &Setup<'_>, from: Position, to: Position) -> f64 {
    let pose = |height| Pose {
        height,
        ..Pose::parked(setup.mill)
    };
    go(setup.mill, &pose(from), &pose(to))
}

/// Seconds that it may take more, from one place across than from another, to go round what stands fixed on the mill: up from
/// a layer's floor and down again, and across by itself.
pub(super) fn detour(setup: &Setup<'_>, carriage: &Carriage<'_>, floor: Position) -> f64 {
    match carriage.free_from() {
        Some(free) if free > floor => {
            let across = rapid(&setup.mill.across, setup.shape.bounds().across.length());
            descent(setup, floor, free) + descent(setup, free, floor) + across
        }
        _ => 0.0,
    }
}

/// How much later than at the best place a layer may end elsewhere, by end and angle, and still be worth it: as much
/// as the carriage could take longer from the best place to any stroke of the next layer, or home.
pub(super) fn worth(
    setup: &Setup<'_>,
    carriage: &Carriage<'_>,
    best: &Pose,
    stands: Standing,
    next: Option<&Layer<'_>>,
) -> Worth {
    let mill = setup.mill;
    let back = rapid(&mill.travel, carriage.far - carriage.near);
    let swings = seconds(mill.swing.time);
    let mut worth = [0.0; 8];
    for (to, most) in worth.iter_mut().enumerate() {
        let far = to & FAR != 0;
        let Some(next) = next else {
            let home = carriage.home(best, || stands);
            let home = home.map_or(f64::INFINITY, |moves| through_air(mill, best, &moves));
            *most = home - if far { back } else { 0.0 };
            continue;
        };
        let round = detour(setup, carriage, next.floor.snapped(mill.grid));
        for (start, moves) in starts(setup, next) {
            let from_best = carriage.approach(best, &start, || stands);
            let from_best = from_best.map_or(f64::INFINITY, |moves| through_air(mill, best, &moves));
            let elsewhere = (start.stroke == Stroke::Homebound) != far;
            let turned = (start.angle == Angle::Upright) != (to & UPRIGHT != 0);
            let least = if elsewhere { back } else { 0.0 } + if turned { swings } else { 0.0 };
            *most = f64::max(*most, from_best + moves + round - least);
        }
        if mill.knife.is_some() && (to & KNIFE != 0) != best.knife {
            *most += hold_time(setup, Acts::one(Act::KnifeOn));
        }
    }
    worth
}

/// The outermost places where strokes of a layer may start, and what it may take more to come to one between them.
fn starts(setup: &Setup<'_>, layer: &Layer<'_>) -> Vec<(Start, f64)> {
    let (mill, log) = (setup.mill, setup.shape.bounds());
    let floor = layer.floor.snapped(mill.grid);
    let here = Pose::parked(mill);
    let aside = go(
        mill,
        &here,
        &Pose {
            across: here.across + come_back(mill),
            height: here.height - come_back(mill),
            ..here
        },
    );
    let mut starts = Vec::new();
    for stroke in STROKES {
        for angle in Angle::ALL {
            for across in [log.across.lo, log.across.hi] {
                let start = Start {
                    stroke,
                    angle,
                    across,
                    height: floor,
                };
                starts.push((start, aside));
            }
        }
    }
    starts
}
