//! How long each move of a sequence takes.

use bunkside_protocol::mill::HeightSetting;
use bunkside_protocol::{Act, Acts, Angle, Length, MillRecord, Millis, Move, Position, Speed};

use super::motion::{rapid, stroke};
use crate::geometry::Interval;
use crate::machine::{Pose, chord};
use crate::replay::{Setup, Step};
use crate::stock::Stock;

/// Seconds that a move takes, from rest to rest; `before` is the stock before it.
///
/// Axes that are sent together move together. A cut runs at rapid where the blade is clear of the wood it meets, and
/// at its feed from the first touch of the rim to the last; one that meets none runs at its feed throughout, since it is made for
/// wood that nobody modelled. At a hold the operator walks up once, carries each free
/// piece away, and takes his time for every other act.
#[must_use]
pub fn duration(setup: &Setup<'_>, step: &Step, before: &Stock) -> f64 {
    let mill = setup.mill;
    match step.told {
        Move::Go(_) => go(mill, &step.before, &step.after),
        Move::Cut(cut) => {
            let met = step.cut.and_then(|facts| Some((facts, facts.met?)));
            let met = met.map(|(facts, wood)| (wood.travel, facts.cover.max(facts.bite)));
            through(mill, step.before.travel, step.after.travel, met, cut.speed)
        }
        Move::Swing(angle) => swing(mill, step.before.angle, angle),
        Move::Spin(on) => spin(mill, step.before.spinning, on),
        Move::Hold(hold) => {
            let pieces = if hold.acts.contains(Act::Unload) {
                before.pieces().iter().map(|_| 1).sum()
            } else {
                0u32
            };
            walk_and_acts(mill, hold.acts) + f64::from(pieces) * seconds(mill.hold_times.unload)
        }
    }
}

/// Seconds from pose to pose in clear air, all axes at once: that nobody cranks while the carriage runs is a rule's matter.
#[must_use]
pub fn go(mill: &MillRecord, from: &Pose, to: &Pose) -> f64 {
    let height = match mill.height_setting {
        HeightSetting::Driven => rapid(&mill.height, from.height - to.height),
        HeightSetting::ByHand(walk) if from.height != to.height => seconds(walk),
        HeightSetting::ByHand(_) => 0.0,
    };
    rapid(&mill.travel, from.travel - to.travel)
        .max(rapid(&mill.across, from.across - to.across))
        .max(height)
}

/// Seconds for moves through the air from a pose. Where one sets the height by hand, the blade is stopped first, and started again
/// after all of them.
#[must_use]
pub fn through_air(mill: &MillRecord, from: &Pose, moves: &[Move]) -> f64 {
    let mut pose = *from;
    let mut time = 0.0;
    for told in moves {
        match told {
            Move::Go(targets) => {
                if pose.spinning && pose.is_cranked(mill, told) {
                    time += spin(mill, true, false) + spin(mill, false, true);
                    pose.spinning = false;
                }
                let to = pose.at(targets);
                time += go(mill, &pose, &to);
                pose = to;
            }
            Move::Swing(angle) => {
                time += swing(mill, pose.angle, *angle);
                pose.angle = *angle;
            }
            Move::Cut(_) | Move::Spin(_) | Move::Hold(_) => {}
        }
    }
    time
}

/// Whether moves through the air from a pose take less time than others, as far as sums in another order can tell.
#[must_use]
pub fn is_quicker(mill: &MillRecord, from: &Pose, moves: &[Move], others: &[Move]) -> bool {
    const HAIR: f64 = 1e-6;
    through_air(mill, from, moves) < through_air(mill, from, others) - HAIR
}

/// Seconds for a stroke; `met` is the stretch of travel over which it meets wood, and the depth at which the rim stands
/// in it; one that meets none is at its feed throughout.
#[must_use]
pub fn through(
    mill: &MillRecord,
    from: Position,
    to: Position,
    met: Option<(Interval, Length)>,
    feed: Speed,
) -> f64 {
    let whole = (from - to).abs();
    let Some((wood, depth)) = met else {
        return stroke(&mill.travel, Length::ZERO, whole, Length::ZERO, feed).max(rapid(&mill.travel, whole));
    };
    let reach = chord(mill.blade.radius, depth);
    let air_before = (wood.lo - reach - from.min(to)).max(Length::ZERO);
    let air_after = (from.max(to) - wood.hi - reach).max(Length::ZERO);
    stroke(
        &mill.travel,
        air_before,
        whole - air_before - air_after,
        air_after,
        feed,
    )
}

/// Seconds for a swing to an angle.
#[must_use]
pub fn swing(mill: &MillRecord, from: Angle, to: Angle) -> f64 {
    if from == to { 0.0 } else { seconds(mill.swing.time) }
}

/// Seconds for the blade to come up to speed, or to run down.
#[must_use]
pub fn spin(mill: &MillRecord, spinning: bool, on: bool) -> f64 {
    match (spinning, on) {
        (false, true) => seconds(mill.blade.spin_up),
        (true, false) => seconds(mill.blade.run_down),
        (true, true) | (false, false) => 0.0,
    }
}

/// Seconds for a hold, what is carried away not counted.
#[must_use]
pub fn walk_and_acts(mill: &MillRecord, acts: Acts) -> f64 {
    let acts: u32 = acts.iter().filter(|act| *act != Act::Unload).map(|_| 1).sum();
    seconds(mill.hold_times.walk) + f64::from(acts) * seconds(mill.hold_times.act)
}

fn seconds(time: Millis) -> f64 {
    f64::from(time.as_ms()) / 1000.0
}

#[cfg(test)]
mod tests {
    use bunkside_protocol::{Position, Speed};

    use super::{rapid, through};
    use crate::testing::powered_mill;

    /// 4.26 m through nothing: at its feed all the way, 42.6 s at 100 mm/s and 4 260 000 s at 1 µm/s; never quicker than the
    /// carriage goes at rapid.
    #[test]
    fn a_cut_that_meets_nothing_takes_as_long_as_its_feed_says() {
        let mill = powered_mill();
        let (from, to) = (Position::mm(270), Position::mm(4_530));
        let air = |feed: Speed| through(&mill, from, to, None, feed);
        assert!((air(Speed::mm_per_s(100)) - 42.6).abs() < 1e-9);
        assert!((air(Speed::um_per_s(1)) - 4_260_000.0).abs() < 1e-3);
        let quickest = rapid(&mill.travel, to - from);
        assert!((air(Speed::mm_per_s(20_000)) - quickest).abs() < 1e-9);
    }
}
