//! What a log that rolls does at the wedges on its far side.
//!
//! A cylinder that rolls without slipping holds 3/4 m v², and has to be raised by the height at which it meets an edge to
//! tip over it; its mass falls out: from 3/4 m v² = m g h, v = √(4 g h / 3). What it loses where it strikes the edge is not
//! counted, so that it may take more than is told, never less. Rolling down a fall of h gives it as much.

use bunkside_planner::physics::GRAVITY;
use bunkside_planner::replay::Setup;
use bunkside_protocol::{Form, Length, MillRecord, Speed};
use libm::{floor, sqrt};
use serde::Serialize;

use super::{BunkRow, Role};

/// From when on a rolling log may climb over its wedges.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Roll {
    /// How far it would have to rise, and the fall that is enough for it: the least of all bunks that carry.
    pub rise_um: Length,
    /// How fast it would have to roll.
    pub speed_um_per_s: Speed,
}

/// That of a log on its bunks; none where it is squared or lies on a face and does not roll, or nothing carries it.
pub(super) fn roll(setup: &Setup<'_>, bunks: &[BunkRow]) -> Option<Roll> {
    let carry = bunks
        .iter()
        .filter(|row| row.role == Role::Carries && !row.on_face);
    let sections = carry.filter_map(|row| setup.shape.rough_at(row.at_um));
    let rises = sections
        .filter(|section| section.form() == Form::Round)
        .map(|section| {
            let (half_width, half_height, skew) = section.half_diameters();
            rise(setup.mill, half_width.max(half_height) + skew.abs())
        });
    rises.min().map(|rise| Roll {
        rise_um: rise,
        speed_um_per_s: over(rise),
    })
}

/// How high over its lowest line a log meets a wedge: at the wedge's reach, or at its top where that is lower.
fn rise(mill: &MillRecord, radius: Length) -> Length {
    let (radius, reach) = (f64::from(radius.as_um()), f64::from(mill.wedges.reach.as_um()));
    let reach = reach.clamp(0.0, radius);
    let chord = radius - sqrt(radius * radius - reach * reach);
    Length::um(floor(chord) as i64)
        .min(mill.wedges.height)
        .max(Length::ZERO)
}

/// How fast a cylinder has to roll to rise so far, in hundredths of a metre a second, rounded down.
fn over(rise: Length) -> Speed {
    let metres = f64::from(rise.as_um()) * 1e-6;
    Speed::mm_per_s(10 * floor(1e2 * sqrt(GRAVITY * metres * 4.0 / 3.0)) as u32)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A solid cylinder that rolls down 0.15 m from rest runs at 1.40 m/s: √(4 g h / 3) is the textbook's (Halliday, Resnick
    /// and Walker, Fundamentals of Physics, rolling down a ramp; from memory).
    #[test]
    fn a_cylinder_rises_as_far_as_it_would_have_rolled_down() {
        assert_eq!(over(Length::mm(150)), Speed::mm_per_s(1_400));
        assert_eq!(over(Length::ZERO), Speed::mm_per_s(0));
    }

    /// With the blow at the edge counted it takes more: the turning about the edge that is left is v (1 - 2 h / 3 R) / R, by
    /// the moment of momentum about it (Meriam and Kraige, Dynamics, a wheel that meets a kerb; from memory).
    #[test]
    fn the_blow_at_the_edge_makes_it_no_easier() {
        for radius in [150, 250, 480] {
            for rise in [10, 16, 30] {
                let (radius, rise) = (f64::from(radius) * 1e-3, rise);
                let told = f64::from(over(Length::mm(rise)).as_um_per_s()) * 1e-6;
                let rise = f64::from(rise) * 1e-3;
                let turning = told * (1.0 - 2.0 * rise / (3.0 * radius)) / radius;
                let about_the_edge = 1.5 * radius * radius;
                let left = 0.5 * about_the_edge * turning * turning;
                assert!(left < GRAVITY * rise, "{radius} {rise}");
            }
        }
    }
}
