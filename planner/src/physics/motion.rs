//! How long moves take.

use bunkside_protocol::mill::Axis;
use bunkside_protocol::{Length, Speed};

/// Seconds for a distance from rest to rest at no more than a speed, speeding up and slowing down evenly.
///
/// Trapezoid: `d/v + v/a` where the speed is reached, `2·√(d/a)` where it is not. An axis that cannot move takes
/// for ever.
#[must_use]
pub fn trapezoid(distance: Length, speed: Speed, acceleration_um_per_s2: u32) -> f64 {
    let d = f64::from(distance.abs().as_um());
    let v = f64::from(speed.as_um_per_s());
    let a = f64::from(acceleration_um_per_s2);
    if d <= 0.0 {
        0.0
    } else if v <= 0.0 || a <= 0.0 {
        f64::INFINITY
    } else if d >= v * v / a {
        d / v + v / a
    } else {
        2.0 * libm::sqrt(d / a)
    }
}

/// Seconds for an axis to go so far at rapid.
#[must_use]
pub fn rapid(axis: &Axis, distance: Length) -> f64 {
    trapezoid(distance, axis.rapid, axis.acceleration)
}

/// Seconds for a stroke that runs at rapid in air, `before` and `after` the wood, and at feed through it.
///
/// From rest the carriage speeds up as far as it can and still enters the wood at feed; the same back at the end.
#[must_use]
pub fn stroke(axis: &Axis, before: Length, wood: Length, after: Length, feed: Speed) -> f64 {
    if wood <= Length::ZERO {
        return rapid(axis, before + after);
    }
    let through = f64::from(wood.as_um()) / f64::from(feed.as_um_per_s().max(1));
    through + run_up(axis, before, feed) + run_up(axis, after, feed)
}

/// Seconds from rest to the wood at feed, `distance` before it; with no room to speed up, at feed all the way.
fn run_up(axis: &Axis, distance: Length, feed: Speed) -> f64 {
    let d = f64::from(distance.as_um());
    let f = f64::from(feed.as_um_per_s());
    let v = f64::from(axis.rapid.as_um_per_s()).max(f);
    let a = f64::from(axis.acceleration);
    if d <= 0.0 || a <= 0.0 || f <= 0.0 {
        return 0.0;
    }
    // Up to some peak p and down to f: d = p²/2a + (p² − f²)/2a.
    let peak = libm::sqrt(a * d + f * f / 2.0);
    if peak >= v {
        let ramps = (v * v + v * v - f * f) / (2.0 * a);
        v / a + (v - f) / a + (d - ramps) / v
    } else if peak >= f {
        peak / a + (peak - f) / a
    } else {
        // Too short to reach the feed: counted as if it began in the wood.
        d / f + f / (2.0 * a)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Symmetric trapezoids: distances in metres, speeds in m/s, accelerations in m/s² and times in seconds from
    /// the textbook formulas d/v + v/a and 2·√(d/a), worked by hand.
    #[test]
    fn trapezoids_take_the_textbook_times() {
        for (d, v, a, seconds) in [
            (4_800, 500, 250, 11.6),
            (1_000, 500, 250, 4.0),
            (500, 500, 250, 2.828_427),
            (6_000, 300, 500, 20.6),
            (50, 100, 200, 1.0),
        ] {
            let time = trapezoid(Length::mm(d), Speed::mm_per_s(v), a * 1000);
            assert!((time - seconds).abs() < 1e-6, "{d} {v} {a}: {time}");
        }
    }

    #[test]
    fn a_stroke_at_rapid_throughout_is_a_trapezoid() {
        let axis = crate::testing::powered_mill().travel;
        let whole = trapezoid(Length::mm(4_000), axis.rapid, axis.acceleration);
        let parts = stroke(
            &axis,
            Length::mm(1_000),
            Length::mm(2_000),
            Length::mm(1_000),
            axis.rapid,
        );
        assert!((whole - parts).abs() < 1e-9, "{whole} {parts}");
    }
}
