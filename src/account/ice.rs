//! What a log with ice on it, or a frozen one, is held with.

use bunkside_protocol::{MillRecord, Surface};

use crate::job::Job;
use crate::species::State;

/// What is said of a log that is iced, or frozen and said to be free of ice; none of any other.
#[must_use]
pub fn words(job: &Job, mill: &MillRecord) -> Option<String> {
    let surface = job.log.surface;
    let grip = f64::from(mill.factors.grip(surface)) / 1_000.0;
    let key = match surface {
        Surface::Barked => "grip_barked",
        Surface::Smooth => "grip_smooth",
        Surface::Iced => "grip_iced",
    };
    let held = format!("reckoned with a grip of {grip} ({key} in [factor] of the mill)");
    match (surface, job.state) {
        (Surface::Iced, _) => Some(format!(
            "the log is {held}, as iced: keep it so, or {KNOCKED_OFF}"
        )),
        (_, State::Frozen) => Some(format!(
            "the log is {held}, as one that lies free of ice: look again before the first cut and after every turn; ice hardly holds"
        )),
        _ => None,
    }
}

/// What lets an iced log be reckoned as any other.
pub const KNOCKED_OFF: &str =
    "knock ice and snow off the log where it is held and off the bunks, and write iced = false";
