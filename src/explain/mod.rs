//! Why a move is there, why on this stroke and at this feed, and what the rules say of doing otherwise.
//!
//! | module | holds |
//! |---|---|
//! | `course` | the sequence that the move belongs to, as it ran |
//! | `draft` | an altered sequence in the making: the same up to the move, something else, the same again |
//! | `rerun`, `trial` | what it comes to, run no further than it differs; what the rules say of it and what it costs |
//! | `stroke`, `passes`, `notch`, `others` | what could be done instead |
//! | `decision` | of every cut, what speaks against another stroke and a faster feed |
//! | `reason` | why a cut runs on its stroke, in one sentence |
//! | `purpose`, `words` | what the move does, and the answer in a sentence |
//!
//! Nothing is known of what an author meant: alternatives are run through the replay and judged by the auditor, to
//! the end of the sequence. Whatever the first new refusal is, is the reason.
//!
//! ```text
//! moves     0 … 10  11  12  13 … 74
//! altered   0 … 10  the other stroke, with the way there and back  13 … 74
//! ```

mod alternative;
mod course;
mod decision;
mod draft;
mod notch;
mod others;
mod passes;
mod purpose;
mod reason;
mod rerun;
#[cfg(test)]
mod sample;
mod stroke;
mod trial;
mod words;

use std::collections::BTreeMap;

pub use alternative::{Alternative, Kind};
pub use course::Course;
pub use decision::{Decided, Decision, decisions, feed_limit};
pub use purpose::Guard;
pub use reason::stroke_reason;
pub use trial::{Allowed, Objected, Outcome};

use bunkside_planner::rules::Finding;
use bunkside_protocol::Move;

use crate::measure::System;

/// What pieces are called, by their number.
pub type Names = BTreeMap<u16, String>;

/// A move, explained.
#[derive(Clone, Debug)]
pub struct Explanation {
    /// Its number, from 0.
    pub at: usize,
    /// Its number among the cuts, from 1, where it is one.
    pub cut: Option<usize>,
    /// The answer in one sentence.
    pub answer: String,
    /// What the rules say of the move itself.
    pub findings: Vec<Finding>,
    /// What could be done instead, and what the rules say of it.
    pub alternatives: Vec<Alternative>,
    /// What it guards against that no rule sees.
    pub guards: Option<Guard>,
}

/// Explains a move; none where the sequence has none of this number, or it was not run because a move before it
/// cannot be judged.
#[must_use]
pub fn explain(course: &Course<'_>, at: usize, names: &Names, system: System) -> Option<Explanation> {
    let ran = course.ran(at)?;
    let is_cut = matches!(ran.step.told, Move::Cut(_));
    let alternatives = if is_cut {
        of_cut(course, at, system)
    } else {
        others::of(course, at)
    };
    let found = course.trace.findings.iter();
    let findings: Vec<Finding> = found
        .filter(|one| usize::from(one.index) == at)
        .copied()
        .collect();
    Some(Explanation {
        at,
        cut: is_cut.then(|| course.number(at)),
        answer: words::answer(course, at, names, system, (&findings, &alternatives)),
        findings,
        alternatives,
        guards: purpose::guards(course, at),
    })
}

fn of_cut(course: &Course<'_>, at: usize, system: System) -> Vec<Alternative> {
    let others = [
        notch::other_angle_first(course, at),
        notch::taken(course, at),
        notch::first_alone(course, at),
        notch::released(course, at),
    ];
    stroke::other_stroke(course, at)
        .into_iter()
        .chain(stroke::faster(course, at, system))
        .chain(stroke::in_air(course, at))
        .chain(passes::other_passes(course, at))
        .chain(others.into_iter().flatten())
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::explain::sample::{a_02, p_07};
    use crate::explain::trial::Outcome;

    /// On a mill whose height is cranked with the blade standing, no alternative has it cranked beside a turning one.
    #[test]
    fn what_is_cranked_is_tried_with_the_blade_standing() {
        let sample = p_07();
        let course = Course::new(&sample.setup, &sample.moves, &sample.trace);
        let (mut tried, mut out) = (0, 0);
        for at in 0..sample.moves.len() {
            let told = explain(&course, at, &Names::default(), System::Metric).unwrap();
            for one in &told.alternatives {
                let (Outcome::Allowed(allowed), Some(_)) = (&one.outcome, told.cut) else {
                    continue;
                };
                let warned = allowed.warning.as_ref().map(|warning| warning.finding.rule);
                assert_ne!(warned, Some("hold-parked"), "{at} {}", one.instead);
                tried += 1;
            }
            out += usize::from(told.answer.contains("passes beside the log and nobody cranks"));
        }
        assert!(tried > 20 && out > 3, "{tried} {out}");
    }

    /// What only draws back to take up play is told to do so, for no rule sees play.
    #[test]
    fn what_takes_up_play_is_told_to_do_so() {
        let sample = a_02();
        let course = Course::new(&sample.setup, &sample.moves, &sample.trace);
        let (mut drawn, mut set) = (0, 0);
        for at in 0..sample.moves.len() {
            let told = explain(&course, at, &Names::default(), System::Metric).unwrap();
            let draws_back = told.answer.contains("draws back");
            assert_eq!(draws_back, told.guards == Some(Guard::Play), "{}", told.answer);
            drawn += usize::from(draws_back);
            set += usize::from(told.answer.contains("sets the corner of cut"));
        }
        assert!(drawn > 0 && set > drawn, "{drawn} {set}");
    }
}
