//! Why a cut runs on its stroke and with its feed, in one sentence for whoever stands at the mill.

use bunkside_protocol::{Feed, Speed, Stroke};

use super::alternative::Alternative;
use super::course::Course;
use super::stroke::other_stroke;
use super::trial::Outcome;
use super::words::direction;
use crate::measure::System;

/// Of a stroke that takes longer.
const EMPTY: &str = ", empty runs counted, though the rules allow it";

/// Why a cut runs as it does, behind a sentence that tells how it runs: what speaks against the other stroke, by which rule and
/// figures; none where it meets no wood.
#[must_use]
pub fn stroke_reason(course: &Course<'_>, at: usize, system: System) -> Option<String> {
    let (ran, cut) = course.cut_in_wood(at)?;
    let stroke = ran.step.stroke?;
    let feed = course.setup.mill.feed(ran.step.before.angle, stroke.back());
    let other = other_stroke(course, at)?;
    Some(format!(
        "This way, {}{}.",
        direction(course, &other.outcome, called(stroke.back(), feed), system),
        more(&other, cut.speed, system)
    ))
}

/// The other stroke with its feed.
const fn called(stroke: Stroke, feed: Feed) -> &'static str {
    match (stroke, feed) {
        (Stroke::Outbound, Feed::Climb) => "the climbing outbound stroke",
        (Stroke::Outbound, Feed::Forward) => "the outbound stroke in forward feed",
        (Stroke::Homebound, Feed::Climb) => "the climbing homebound stroke",
        (Stroke::Homebound, Feed::Forward) => "the homebound stroke in forward feed",
    }
}

/// What a longer time comes from.
fn more(other: &Alternative, usual: Speed, system: System) -> String {
    let slower = other.speed.map_or_else(String::new, |speed| {
        format!(" at up to {}", system.speed_among(speed, &[usual]))
    });
    match &other.outcome {
        Outcome::Refused(_) => String::new(),
        Outcome::Allowed(allowed) if allowed.news().is_some() => String::new(),
        Outcome::Allowed(allowed) if allowed.same_pieces && allowed.seconds > 0.5 => {
            format!("{EMPTY}{slower}")
        }
        _ if slower.is_empty() => slower,
        _ => format!(", which is allowed{slower}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::explain::sample::{Sample, g_04};
    use crate::explain::{Decided, Names, decisions, explain};

    /// Every cut in wood has its reason, the one that decided, and that `explain` tells.
    #[test]
    fn every_cut_tells_what_decided_its_stroke() {
        let Sample { setup, moves, trace } = &g_04();
        let course = Course::new(setup, moves, trace);
        let decided = decisions(&course);
        let mut refused = 0;
        for (at, _) in moves.iter().enumerate() {
            let reason = stroke_reason(&course, at, System::Metric);
            let Some(decision) = decided.iter().find(|one| one.at == at) else {
                assert_eq!(reason, None, "{at}");
                continue;
            };
            let reason = reason.unwrap();
            let answer = explain(&course, at, &Names::new(), System::Metric)
                .unwrap()
                .answer;
            let back = trace.moves[at].step.stroke.unwrap().back();
            let other = if back == Stroke::Outbound {
                "outbound stroke"
            } else {
                "homebound stroke"
            };
            assert!(
                reason.starts_with("This way, because the ") && reason.contains(other),
                "{reason}"
            );
            match &decision.stroke {
                Decided::Refused(rule) => {
                    refused += 1;
                    let words = format!("is refused by {rule}: ");
                    let (_, holds) = reason.split_once(&words).unwrap();
                    let (_, explained) = answer.split_once(&words).unwrap();
                    let title = explained.split(", at ").next().unwrap();
                    assert!(holds.starts_with(title), "{reason}\n{answer}");
                }
                Decided::Longer(seconds) => {
                    assert!(
                        reason.contains(&format!("takes {seconds:.0} s longer")),
                        "{reason}"
                    );
                }
                other => panic!("{other:?}: {reason}"),
            }
        }
        assert!(refused > 5, "{refused}");
    }

    #[test]
    fn the_reason_names_the_other_stroke_the_rule_and_its_figures() {
        let Sample { setup, moves, trace } = &g_04();
        let course = Course::new(setup, moves, trace);
        assert_eq!(
            stroke_reason(&course, 4, System::Metric).unwrap(),
            "This way, because the climbing homebound stroke is refused by knife: the knife runs \
             ahead into uncut wood (found 93.4 mm of bite, the limit is 60 mm)."
        );
    }
}
