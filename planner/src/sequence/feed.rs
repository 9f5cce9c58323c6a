//! How deep and how fast a pass may go.

use bunkside_protocol::{Angle, Drive, Feed, Length, Speed, Stroke};

use crate::physics::force::{pass_force, with_shock};
use crate::replay::Setup;

/// Feeds are told in steps of this many micrometres a second, so that few different ones occur in a job.
const STEP: u32 = 5_000;

/// The deepest bite of a pass: the mill's table, and the knife's outline where it leads.
pub(super) fn deepest(setup: &Setup<'_>, angle: Angle, stroke: Stroke, knife: bool) -> Length {
    let mill = setup.mill;
    let feed = mill.feed(angle, stroke);
    let mut limit = mill.reach.bite(angle, feed, knife, setup.log.timber);
    if let (Some(outline), true, Stroke::Homebound) = (mill.knife, knife, stroke)
        && outline.leads_homebound
    {
        let [flat, upright] = outline.homebound_limit;
        limit = limit.min(if angle == Angle::Flat { flat } else { upright });
    }
    let slowest = fits(setup, mill.power.feed_min, feed);
    // Power and pull grow with the bite: halve until the slowest feed carries it.
    while limit > Length::mm(1) && !slowest(limit) {
        limit = limit.half_floor();
    }
    limit
}

/// The fastest feed, in steps, at which a pass of this bite fits power and holding force; none where even the
/// slowest does not.
pub(super) fn fastest(setup: &Setup<'_>, feed: Feed, bite: Length) -> Option<Speed> {
    let power = &setup.mill.power;
    let mut low = power.feed_min.as_um_per_s().div_ceil(STEP);
    let mut high = power.feed_max.as_um_per_s() / STEP;
    let fits = |steps: u32| fits(setup, Speed::um_per_s(steps.saturating_mul(STEP)), feed)(bite);
    if high < low || !fits(low) {
        let slowest = power.feed_min;
        return self::fits(setup, slowest, feed)(bite).then_some(slowest);
    }
    while low < high {
        let middle = low + (high - low).div_ceil(2);
        if fits(middle) {
            low = middle;
        } else {
            high = middle - 1;
        }
    }
    Some(Speed::um_per_s(low.saturating_mul(STEP)))
}

/// Whether a bite at this feed stays within the power at the rim and, climbing, within what the drive holds.
#[expect(
    clippy::float_arithmetic,
    reason = "compares a computed force and power with the profile's limits"
)]
fn fits(setup: &Setup<'_>, speed: Speed, feed: Feed) -> impl Fn(Length) -> bool {
    let (mill, log) = (setup.mill, setup.log);
    move |bite| {
        let force = pass_force(mill, log, bite, speed, feed);
        let at_rim = f64::from(mill.power.watts) * f64::from(mill.power.efficiency) / 1000.0;
        let held = match (mill.drive, feed) {
            (Drive::Powered { holding_force }, Feed::Climb) => {
                with_shock(force.along, mill) <= f64::from(holding_force)
            }
            (Drive::Powered { .. } | Drive::Hand, _) => true,
        };
        force.power <= at_rim && held
    }
}
