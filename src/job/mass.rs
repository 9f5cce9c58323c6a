//! What a log weighs with its bark, and whether the mill may carry it.

use bunkside_planner::geometry::{Interval, Section, Shape};
use bunkside_planner::physics::area::moments;
use bunkside_protocol::{Length, LogRecord};

use super::check::place;
use crate::account::bark::with_its;
use crate::diagnostic::Diagnostic;
use crate::input::Node;

/// A log that is heavier than the mill may carry.
pub(super) fn allowed(root: &Node, log: &LogRecord, most: Option<u32>, said: &mut Vec<Diagnostic>) {
    let (Some(most), Ok(shape)) = (most, Shape::new(log)) else {
        return;
    };
    let mass = mass_with_bark(&shape, log);
    if mass <= f64::from(most) {
        return;
    }
    let message = format!(
        "the log weighs about {mass:.0} kg{}, and the mill may carry {most} kg",
        with_its(log.bark)
    );
    let help = "saw a shorter or a thinner log; where density or `log_max` of the mill is not what it should be, mend it";
    said.push(Diagnostic::error(place(root, "log"), message).with_help(help));
}

/// What the log weighs with its bark, as dense as its wood, kilograms.
#[must_use]
pub fn mass_with_bark(shape: &Shape, log: &LogRecord) -> f64 {
    let metres = |length: Length| f64::from(length.as_um()) * 1e-6;
    let area = |section: &Section| {
        if shape.is_sawn() {
            return moments(section, Interval::ALL, Interval::ALL).area * 1e-6;
        }
        let (half_width, half_height, _) = section.half_diameters();
        core::f64::consts::PI * metres(half_width) * metres(half_height)
    };
    let pairs = shape.rough().windows(2).map(|pair| {
        let [near, far] = pair else { return 0.0 };
        metres(far.travel - near.travel) * (area(near) + area(far)) / 2.0
    });
    pairs.sum::<f64>() * f64::from(log.density)
}
