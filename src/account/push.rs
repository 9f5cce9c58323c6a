//! How hard a carriage is pushed by hand: what the teeth hold back, a knot counted.
//!
//! What the carriage itself takes to roll is not known from a profile, and comes on top.

use bunkside_planner::physics::force::push_of;
use bunkside_planner::replay::{Setup, Step};
use bunkside_protocol::{Drive, Move};
use serde::Serialize;

use crate::measure::System;
use crate::trace::Trace;

/// Standard gravity, metres a second squared.
const GRAVITY: f64 = 9.80665;

/// A push, and the cut that asks for it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Push {
    /// Newtons.
    pub n: f64,
    /// The number of the cut, from 1.
    pub cut: u32,
    /// The move, from 0.
    #[serde(rename = "move")]
    pub at: u16,
}

/// The hardest push of a stroke, newtons; none where a drive moves the carriage, or where it meets no wood.
#[must_use]
pub fn push(setup: &Setup<'_>, step: &Step) -> Option<f64> {
    let (Move::Cut(cut), Drive::Hand { .. }) = (step.told, setup.mill.drive) else {
        return None;
    };
    let (facts, feed) = (step.cut?, step.feed?);
    facts.met?;
    let push = push_of(setup.mill, setup.log, facts.bite, cut.speed, feed);
    Some(push).filter(|push| *push > 0.0)
}

/// The hardest of a whole run.
#[must_use]
pub fn hardest(setup: &Setup<'_>, trace: &Trace) -> Option<Push> {
    let cuts = trace.moves.iter().map(|traced| &traced.step);
    let cuts = cuts.filter(|step| matches!(step.told, Move::Cut(_)));
    let pushes = (1..).zip(cuts).filter_map(|(cut, step)| {
        let at = step.index;
        push(setup, step).map(|n| Push { n, cut, at })
    });
    pushes.reduce(|most, next| if next.n > most.n { next } else { most })
}

/// A push as people know it: `252 N (26 kg of weight)`.
#[must_use]
pub fn push_words(newtons: f64, system: System) -> String {
    let weight = system.mass(newtons / GRAVITY);
    format!("{newtons:.0} N ({weight} of weight)")
}

impl Push {
    /// In words: `hardest at cut 6: by hand up to 252 N …`.
    #[must_use]
    pub fn words(&self, system: System) -> String {
        format!(
            "hardest at cut {}: by hand up to {} where it meets a knot, and what the carriage itself takes to roll",
            self.cut,
            push_words(self.n, system)
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 252 N ÷ 9.806 65 m/s² = 25.70 kg; ÷ 0.453 592 37 kg = 56.65 lb.
    #[test]
    fn a_push_is_told_as_a_weight_too() {
        assert_eq!(push_words(252.0, System::Metric), "252 N (26 kg of weight)");
        assert_eq!(push_words(252.0, System::Inches), "252 N (57 lb of weight)");
    }
}
