//! What one pass takes: power, forces, and how much each tooth bites and carries.

use bunkside_protocol::mill::Blade;
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
        return PassForce::NONE;
    }
    let power = cutting_power(mill, log, depth, speed);
    let shares = Shares::at(depth / metres(mill.blade.radius));
    PassForce {
        power,
        ..PassForce::shared(mill, power / rim_speed, &shares, feed)
    }
}

impl PassForce {
    /// Of a pass in air.
    pub const NONE: Self = Self {
        power: 0.0,
        tangential: 0.0,
        along: 0.0,
        across: 0.0,
    };

    /// A tangential force shared out.
    pub(crate) fn shared(mill: &MillRecord, tangential: f64, shares: &Shares, feed: Feed) -> Self {
        let sign = match feed {
            Feed::Climb => 1.0,
            Feed::Forward => -1.0,
        };
        Self {
            power: tangential * f64::from(mill.blade.rim_speed.as_um_per_s()) * 1e-6,
            tangential,
            along: sign * tangential * shares.along,
            across: sign * tangential * shares.across,
        }
    }
}

/// How a tangential force that is spread over the engaged arc by the thickness of its chips shares out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Shares {
    /// Along travel.
    pub(crate) along: f64,
    /// Square to it, in the plane of the blade.
    pub(crate) across: f64,
}

impl Shares {
    /// At a depth from the rim, told in blade radii, above 0 and up to 2: with `θ = arccos(1 - depth)`, the means of
    /// cos and sin over the arc, `1 - depth/2` and `(θ - sin θ cos θ) / (2 depth)`.
    pub(crate) fn at(depth: f64) -> Self {
        let cosine = 1.0 - depth;
        let sine = libm::sqrt(depth * (2.0 - depth));
        Self {
            along: 1.0 - depth * 0.5,
            across: (libm::acos(cosine) - sine * cosine) / (depth + depth),
        }
    }
}

/// What a pass asks of engine, teeth and gullets.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Demand {
    /// Power taken at the rim, watts.
    pub power: f64,
    /// Feed per tooth, millimetres; infinite for a blade whose teeth do not pass.
    pub tooth: f64,
    /// The chip of one tooth, thought solid, on the area of a gullet; it swells to several times that.
    pub gullet: f64,
}

impl Demand {
    /// The most that the profile allows: what reaches the rim, the greatest feed per tooth, the share of a gullet.
    #[must_use]
    pub fn most(mill: &MillRecord) -> Self {
        Self {
            power: f64::from(mill.power.watts) * f64::from(mill.power.efficiency) / 1000.0,
            tooth: millimetres(mill.power.bite_max),
            gullet: f64::from(mill.power.gullet_fill) / 1000.0,
        }
    }
}

/// The least feed per tooth that the profile allows, millimetres.
#[must_use]
pub fn least_tooth_bite(mill: &MillRecord) -> f64 {
    millimetres(mill.power.bite_min)
}

/// What a pass of this bite depth at this feed asks of engine, teeth and gullets.
///
/// Feed per tooth is the feed over the teeth that pass in a second; a tooth's chip is that times the bite depth.
#[must_use]
pub fn demand(mill: &MillRecord, log: &LogRecord, bite: Length, speed: Speed) -> Demand {
    let depth = metres(bite).clamp(0.0, 2.0 * metres(mill.blade.radius).max(0.0));
    let tooth = tooth_bite(&mill.blade, speed);
    let chip = if depth > 0.0 { tooth * depth * 1e3 } else { 0.0 };
    Demand {
        power: cutting_power(mill, log, depth, speed),
        tooth,
        gullet: if chip > 0.0 {
            chip / f64::from(mill.blade.gullet)
        } else {
            0.0
        },
    }
}

/// Feed per tooth, millimetres.
#[must_use]
pub fn tooth_bite(blade: &Blade, speed: Speed) -> f64 {
    let feed = f64::from(speed.as_um_per_s()) * 1e-3;
    if feed <= 0.0 {
        return 0.0;
    }
    let turns = f64::from(blade.rim_speed.as_um_per_s()) * 1e-6
        / (2.0 * core::f64::consts::PI * metres(blade.radius));
    let passing = turns * f64::from(blade.teeth);
    if passing > 0.0 {
        feed / passing
    } else {
        f64::INFINITY
    }
}

/// Mean thickness of the chip over the engaged arc, millimetres: feed per tooth × depth ÷ length of the arc.
#[must_use]
pub fn mean_chip(blade: &Blade, bite: Length, speed: Speed) -> f64 {
    let radius = metres(blade.radius);
    let depth = metres(bite).min(2.0 * radius);
    if depth <= 0.0 {
        return 0.0;
    }
    tooth_bite(blade, speed) * depth / (radius * libm::acos(1.0 - depth / radius))
}

/// Power of cutting so deep, in metres, at a feed: specific cutting energy × kerf × depth × feed, watts.
fn cutting_power(mill: &MillRecord, log: &LogRecord, depth: f64, speed: Speed) -> f64 {
    let removal = metres(mill.blade.kerf) * depth * f64::from(speed.as_um_per_s()) * 1e-6;
    f64::from(log.cutting_energy) * 1e6 * removal
}

/// How hard a hand carriage is pushed in a cut, newtons, a knot counted: what the teeth hold back. What the carriage itself takes to
/// roll is not known from a profile, and comes on top. Nothing where the cut pulls it on.
#[must_use]
pub fn push_of(mill: &MillRecord, log: &LogRecord, bite: Length, speed: Speed, feed: Feed) -> f64 {
    if feed == Feed::Climb {
        return 0.0;
    }
    held_back(mill, demand(mill, log, bite, speed).power, bite)
}

/// The same of a pass in forward feed that takes so much power, watts: what [`PassForce::along`] tells, with a knot.
pub(crate) fn held_back(mill: &MillRecord, power: f64, bite: Length) -> f64 {
    let (radius, rim) = (
        metres(mill.blade.radius),
        f64::from(mill.blade.rim_speed.as_um_per_s()) * 1e-6,
    );
    let depth = metres(bite).clamp(0.0, radius + radius);
    with_shock(power / rim * (1.0 - depth / (radius + radius)), mill)
}

/// A force with the profile's shock factor on it, for knots; a factor below one counts as one.
#[must_use]
pub fn with_shock(force: f64, mill: &MillRecord) -> f64 {
    force * f64::from(mill.factors.shock.max(1000)) / 1000.0
}

fn millimetres(length: Length) -> f64 {
    f64::from(length.as_um()) * 1e-3
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
        let (mill, speed) = textbook_blade();
        let mut log = round_log(300, 3_600);
        log.cutting_energy = 30;
        let force = pass_force(&mill, &log, Length::mm(150), speed, Feed::Climb);
        assert!((force.power - 8_250.0).abs() < 0.1, "{}", force.power);
        assert!((force.tangential - 127.89).abs() < 0.01, "{}", force.tangential);
    }

    /// A blade of 0.56 m with 6 teeth at 2 200 rpm, 64.507 m/s, fed at 20 m/min.
    fn textbook_blade() -> (MillRecord, Speed) {
        let mut mill = powered_mill();
        mill.blade.rim_speed = Speed::um_per_s(64_507_000);
        (mill, Speed::um_per_s(333_333))
    }

    /// Feed per tooth vf ÷ (n·z) = 1.5152 mm; at 150 mm deep 0.3788 of a gullet of 600 mm², solid (textbook
    /// formulas, worked for that blade).
    #[test]
    fn tooth_and_gullet_agree_with_the_textbook_example() {
        let (mill, speed) = textbook_blade();
        let mut log = round_log(300, 3_600);
        log.cutting_energy = 30;
        let demand = demand(&mill, &log, Length::mm(150), speed);
        assert!((demand.tooth - 1.515_2).abs() < 5e-5, "{}", demand.tooth);
        assert!((demand.gullet - 0.378_8).abs() < 5e-5, "{}", demand.gullet);
        assert!((demand.power - 8_250.0).abs() < 0.1, "{}", demand.power);
    }

    /// 180 ft/min on a blade of 50 teeth at 600 rpm: 0.072 in a tooth (textbook formula vf ÷ (n·z)).
    #[test]
    fn feed_per_tooth_agrees_in_inches() {
        let mut mill = powered_mill();
        (mill.blade.teeth, mill.blade.radius) = (50, Length::mm(600));
        mill.blade.rim_speed = Speed::um_per_s(37_699_112);
        let tooth = tooth_bite(&mill.blade, Speed::um_per_s(914_400)) / 25.4;
        assert!((tooth - 0.072).abs() < 1e-6, "{tooth}");
    }

    /// h = fz·a ÷ (R·θ), θ = acos(1 − a/R): textbook formula, worked for that blade.
    #[test]
    fn mean_chips_agree_with_the_textbook_table() {
        let (mill, speed) = textbook_blade();
        for (depth, chip) in [(50, 0.4458), (100, 0.6201), (150, 0.7461), (200, 0.8448)] {
            let found = mean_chip(&mill.blade, Length::mm(depth), speed);
            assert!((found - chip).abs() < 6e-5, "{depth}: {found}");
        }
    }

    #[test]
    fn blades_that_cannot_be_take_no_figure_that_is_no_number() {
        let log = round_log(300, 3_600);
        for spoil in [
            |mill: &mut MillRecord| mill.blade.teeth = 0,
            |mill: &mut MillRecord| mill.blade.gullet = 0,
            |mill: &mut MillRecord| mill.blade.rim_speed = Speed::ZERO,
            |mill: &mut MillRecord| mill.blade.radius = Length::ZERO,
            |mill: &mut MillRecord| mill.blade.radius = -Length::MAX,
        ] {
            let mut mill = powered_mill();
            spoil(&mut mill);
            for bite in [Length::ZERO, Length::mm(100), -Length::MAX, Length::MAX] {
                for speed in [Speed::ZERO, Speed::mm_per_s(100), Speed::MAX] {
                    let demand = demand(&mill, &log, bite, speed);
                    for figure in [demand.power, demand.tooth, demand.gullet] {
                        assert!(figure >= 0.0, "{demand:?}");
                    }
                }
            }
        }
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
