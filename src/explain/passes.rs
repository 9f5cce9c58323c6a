//! One pass instead of two, two instead of one.

use bunkside_planner::machine::Pose;
use bunkside_protocol::{Angle, Drive, Length, Speed, Stroke};

use super::alternative::{Alternative, Kind};
use super::course::Course;
use super::draft::{Blocked, Draft, Edit};
use super::trial::{Outcome, at_best_feed, half_on_grid};

/// A pass shallower than this is not proposed.
const SHALLOWEST: Length = Length::mm(10);

/// The kerf in one pass where two follow each other; else in two, and where the first pair that is tried is refused on another.
pub(super) fn other_passes(course: &Course<'_>, at: usize) -> Vec<Alternative> {
    let with_next = course.next(at).map(|next| (at, next));
    let with_previous = course.previous(at).map(|previous| (previous, at));
    let two = with_next
        .filter(|pair| is_shallow_then_deep(course, *pair))
        .or(with_previous.filter(|pair| is_shallow_then_deep(course, *pair)));
    if let Some(two) = two {
        return one_pass(course, at, two).into_iter().collect();
    }
    let mut pairs = Vec::new();
    for turns in turns(course.setup.mill.drive) {
        let pair = two_passes(course, at, *turns);
        let will_do = pair.iter().any(|one| matches!(one.outcome, Outcome::Allowed(_)));
        pairs.extend(pair);
        if will_do {
            break;
        }
    }
    pairs
}

/// Whether the pass before may run on the other stroke, in the order in which that is tried: a powered carriage runs no way
/// empty then, one that is pushed by hand saws in forward feed alone.
const fn turns(drive: Drive) -> &'static [bool] {
    match drive {
        Drive::Powered { .. } => &[true, false],
        Drive::Hand { .. } => &[false],
    }
}

/// Whether two cuts are passes of one kerf, the first of which frees nothing.
pub(super) fn is_shallow_then_deep(course: &Course<'_>, (first, second): (usize, usize)) -> bool {
    let (Some((one, _)), Some((other, _))) = (course.cut_in_wood(first), course.cut_in_wood(second)) else {
        return false;
    };
    let (shallow, deep) = (one.step.before, other.step.before);
    let deeper = match shallow.angle {
        Angle::Flat => shallow.height == deep.height && shallow.across < deep.across,
        Angle::Upright => shallow.across == deep.across && shallow.height > deep.height,
    };
    shallow.angle == deep.angle && deeper && one.freed.is_empty()
}

fn one_pass(course: &Course<'_>, at: usize, (first, second): (usize, usize)) -> Option<Alternative> {
    let (ran, cut) = course.cut(second)?;
    let build = |speed: Speed| -> Result<Edit, Blocked> {
        let mut draft = Draft::before(course, course.lead(first));
        draft.way(&ran.step.before)?;
        draft.stroke(cut, ran.step.after.travel, speed, Some(at));
        draft.rest(course, second + 1)
    };
    let (outcome, speed) = at_best_feed(course, at, course.setup.mill.power.feed_max, &build);
    let instead = "one pass instead of two".to_owned();
    Some(Alternative::new(Kind::OnePass, instead, outcome).at_speed(speed, cut.speed))
}

/// A pass to half the depth before it, on the other stroke or on the same one.
fn two_passes(course: &Course<'_>, at: usize, turns: bool) -> Option<Alternative> {
    let (ran, cut) = course.cut_in_wood(at)?;
    let bite = ran.step.cut?.bite;
    let mill = course.setup.mill;
    let left = half_on_grid(bite, mill.grid);
    if left < SHALLOWEST {
        return None;
    }
    let (before, after) = (ran.step.before, ran.step.after);
    let shallow = match before.angle {
        Angle::Flat => Pose {
            across: before.across - left,
            ..before
        },
        Angle::Upright => Pose {
            height: before.height + left,
            ..before
        },
    };
    let (from, to) = if turns {
        (after.travel, before.travel)
    } else {
        (before.travel, after.travel)
    };
    let build = |speed: Speed| -> Result<Edit, Blocked> {
        let mut draft = Draft::before(course, course.lead(at));
        draft.way(&Pose {
            travel: from,
            ..shallow
        })?;
        let no_release = bunkside_protocol::Cut {
            release: false,
            ..cut
        };
        draft.stroke(no_release, to, speed, None);
        draft.unload();
        draft.way(&before)?;
        draft.stroke(cut, after.travel, speed, Some(at));
        draft.rest(course, at + 1)
    };
    let (outcome, speed) = at_best_feed(course, at, mill.power.feed_max, &build);
    let instead = pair_words(Stroke::between(from, to), turns).to_owned();
    Some(Alternative::new(Kind::TwoPasses, instead, outcome).at_speed(speed, cut.speed))
}

/// Which pair it is, by the stroke of the pass before.
const fn pair_words(first: Option<Stroke>, turns: bool) -> &'static str {
    match (first, turns) {
        (Some(Stroke::Outbound), true) => "two passes, outbound then homebound",
        (Some(Stroke::Outbound), false) => "two passes, both outbound",
        (Some(Stroke::Homebound), true) => "two passes, homebound then outbound",
        (Some(Stroke::Homebound), false) => "two passes, both homebound",
        (None, _) => "two passes instead of one",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::explain::sample::{Sample, g_04, p_07};

    fn tried(sample: &Sample) -> Vec<(Vec<&'static str>, Vec<String>)> {
        let Sample { setup, moves, trace } = sample;
        let course = Course::new(setup, moves, trace);
        let cuts = (0..moves.len()).filter(|at| course.cut_in_wood(*at).is_some());
        let told = cuts.map(|at| {
            let pairs = other_passes(&course, at);
            let pairs = pairs.iter().filter(|one| one.kind == Kind::TwoPasses);
            let answer = |one: &Alternative| match &one.outcome {
                Outcome::Refused(objected) => objected.finding.rule,
                Outcome::Allowed(_) => "allowed",
                Outcome::Impossible(_) => "impossible",
            };
            let words = pairs.clone().map(|one| one.instead.clone()).collect();
            (pairs.map(answer).collect(), words)
        });
        told.filter(|(answers, _): &(Vec<_>, Vec<_>)| !answers.is_empty())
            .collect()
    }

    /// A deep pass outbound may be parted into two outbound ones where the knife leads the homebound one, and that is told.
    #[test]
    fn a_pair_that_is_refused_is_named_and_the_other_one_tried() {
        let told = tried(&g_04());
        for (answers, words) in &told {
            assert_eq!(
                answers.len(),
                if answers[0] == "allowed" { 1 } else { 2 },
                "{words:?}"
            );
            let first = words[0].strip_prefix("two passes, ").unwrap();
            assert!(
                ["outbound then homebound", "homebound then outbound"].contains(&first),
                "{first}"
            );
        }
        assert!(told.iter().any(|(answers, words)| {
            (answers[0], answers[1..].first()) == ("knife", Some(&"allowed"))
                && *words == ["two passes, homebound then outbound", "two passes, both outbound"]
        }));
    }

    #[test]
    fn by_hand_both_passes_run_on_the_stroke_of_the_one() {
        let told = tried(&p_07());
        assert!(!told.is_empty());
        for (answers, words) in told {
            assert_eq!(answers.len(), 1);
            assert!(words[0].starts_with("two passes, both "), "{words:?}");
        }
    }
}
