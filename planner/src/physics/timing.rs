//! How long each move of a sequence takes.

use bunkside_protocol::mill::HeightSetting;
use bunkside_protocol::{Act, Length, Millis, Move, Position};

use super::motion::{rapid, stroke};
use crate::machine::chord;
use crate::replay::{Setup, Step};
use crate::stock::Stock;

/// Seconds that a move takes, from rest to rest; `before` is the stock before it.
///
/// Axes that are sent together move together. A cut runs at rapid where the blade is clear of the wood it meets, and
/// at its feed from the first touch of the rim to the last. At a hold the operator walks up once, carries each free
/// piece away, and takes his time for every other act.
#[must_use]
pub fn duration(setup: &Setup<'_>, step: &Step, before: &Stock) -> f64 {
    let mill = setup.mill;
    let far = |a: Position, b: Position| (a - b).abs();
    match step.told {
        Move::Go(_) => {
            let height = match mill.height_setting {
                HeightSetting::Driven => rapid(&mill.height, far(step.before.height, step.after.height)),
                HeightSetting::ByHand(walk) if step.before.height != step.after.height => seconds(walk),
                HeightSetting::ByHand(_) => 0.0,
            };
            rapid(&mill.travel, far(step.before.travel, step.after.travel))
                .max(rapid(&mill.across, far(step.before.across, step.after.across)))
                .max(height)
        }
        Move::Cut(cut) => {
            let whole = far(step.before.travel, step.after.travel);
            let Some((facts, met)) = step.cut.and_then(|facts| Some((facts, facts.met?))) else {
                return rapid(&mill.travel, whole);
            };
            let reach = chord(mill.blade.radius, facts.cover.max(facts.bite));
            let (low, high) = (met.travel.lo - reach, met.travel.hi + reach);
            let (start, end) = (
                step.before.travel.min(step.after.travel),
                step.before.travel.max(step.after.travel),
            );
            let air_before = (low - start).max(Length::ZERO);
            let air_after = (end - high).max(Length::ZERO);
            stroke(
                &mill.travel,
                air_before,
                whole - air_before - air_after,
                air_after,
                cut.speed,
            )
        }
        Move::Swing(angle) if angle != step.before.angle => seconds(mill.swing.time),
        Move::Spin(true) if !step.before.spinning => seconds(mill.blade.spin_up),
        Move::Spin(false) if step.before.spinning => seconds(mill.blade.run_down),
        Move::Swing(_) | Move::Spin(_) => 0.0,
        Move::Hold(hold) => {
            let acts: u32 = hold
                .acts
                .iter()
                .filter(|act| *act != Act::Unload)
                .map(|_| 1)
                .sum();
            let pieces = if hold.acts.contains(Act::Unload) {
                before.pieces().iter().map(|_| 1).sum()
            } else {
                0u32
            };
            seconds(mill.hold_times.walk)
                + f64::from(pieces) * seconds(mill.hold_times.unload)
                + f64::from(acts) * seconds(mill.hold_times.act)
        }
    }
}

fn seconds(time: Millis) -> f64 {
    f64::from(time.as_ms()) / 1000.0
}
