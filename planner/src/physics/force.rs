//! The force of one pass.

use bunkside_protocol::{Feed, Length, LogRecord, MillRecord, Speed};

/// The cutting force of a pass, in newtons, without shock and thrust.
///
/// Model: power = specific cutting energy × removal rate; tangential force = power ÷ rim speed, spread evenly over
/// the engaged arc from the deepest rim point to where the rim leaves the wood.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PassForce {
    /// Power taken at the rim, watts.
    pub power: f64,
    /// All of it along the rim.
    pub tangential: f64,
    /// Along travel, on the carriage: positive pulls it on (climb), negative holds it back (forward).
    pub along: f64,
    /// On the wood in the plane of the blade, square to travel: positive presses towards the deepest rim point
    /// (down when upright, to the exit side when flat), negative away from it.
    pub across: f64,
}

/// The force of a pass of this bite depth at this feed.
///
/// A bite of nothing takes no force. Depths beyond the blade's diameter count as the diameter.
#[must_use]
pub fn pass_force(mill: &MillRecord, log: &LogRecord, bite: Length, speed: Speed, feed: Feed) -> PassForce {
    let depth = metres(bite).min(2.0 * metres(mill.blade.radius));
    let rim_speed = f64::from(mill.blade.rim_speed.as_um_per_s()) * 1e-6;
    if depth <= 0.0 || rim_speed <= 0.0 {
        return PassForce {
            power: 0.0,
            tangential: 0.0,
            along: 0.0,
            across: 0.0,
        };
    }
    let radius = metres(mill.blade.radius);
    let removal = metres(mill.blade.kerf) * depth * f64::from(speed.as_um_per_s()) * 1e-6;
    let power = f64::from(log.cutting_energy) * 1e6 * removal;
    let tangential = power / rim_speed;
    let theta = libm::acos(1.0 - depth / radius);
    let along = tangential * (1.0 - depth / (2.0 * radius));
    let across = tangential * (theta - libm::sin(theta) * libm::cos(theta)) * radius / (2.0 * depth);
    let sign = match feed {
        Feed::Climb => 1.0,
        Feed::Forward => -1.0,
    };
    PassForce {
        power,
        tangential,
        along: sign * along,
        across: sign * across,
    }
}

/// A force with the profile's shock factor on it, for knots; a factor below one counts as one.
#[must_use]
pub fn with_shock(force: f64, mill: &MillRecord) -> f64 {
    force * f64::from(mill.factors.shock.max(1000)) / 1000.0
}

fn metres(length: Length) -> f64 {
    f64::from(length.as_um()) * 1e-6
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{powered_mill, round_log};

    /// Removal 275.0 cm³/s and 8 250 W at 30 N/mm² for 5.5 mm × 150 mm × 20 m/min; mean force 127.89 N at
    /// 64.507 m/s (textbook formulas Q = b·a·vf, P = kc·Q, F = P/v, worked for a blade of 0.56 m at 2 200 rpm).
    #[test]
    fn power_and_force_agree_with_the_textbook_example() {
        let mut mill = powered_mill();
        mill.blade.rim_speed = Speed::um_per_s(64_507_000);
        let mut log = round_log(300, 3_600);
        log.cutting_energy = 30;
        let force = pass_force(
            &mill,
            &log,
            Length::mm(150),
            Speed::um_per_s(333_333),
            Feed::Climb,
        );
        assert!((force.power - 8_250.0).abs() < 0.1, "{}", force.power);
        assert!((force.tangential - 127.89).abs() < 0.01, "{}", force.tangential);
    }

    /// The along and across parts are the integrals of cos and sin of the angle over the engaged arc; at a depth
    /// of one radius they are ½ and π/4 of the tangential force.
    #[test]
    fn at_one_radius_deep_the_parts_are_a_half_and_a_quarter_of_pi() {
        let force = pass_force(
            &powered_mill(),
            &round_log(300, 3_600),
            Length::mm(280),
            Speed::mm_per_s(100),
            Feed::Forward,
        );
        assert!((force.along / force.tangential + 0.5).abs() < 1e-12);
        assert!((force.across / force.tangential + core::f64::consts::FRAC_PI_4).abs() < 1e-12);
    }
}
