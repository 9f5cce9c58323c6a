//! A cut on the other stroke, and at faster feeds.

use bunkside_planner::machine::Pose;
use bunkside_protocol::{Cut, Move, Speed};

use super::alternative::{Alternative, Kind};
use super::course::Course;
use super::draft::{Blocked, Draft, Edit};
use super::trial::{Outcome, STEP, at_best_feed, fastest, trial, tried};
use crate::account::cuts::stroke_words;
use crate::measure::System;

/// The same kerf on the other stroke, with the carriage brought to the other end and back to where it is expected.
pub(super) fn other_stroke(course: &Course<'_>, at: usize) -> Option<Alternative> {
    let (ran, cut) = course.cut_in_wood(at)?;
    let (before, after) = (ran.step.before, ran.step.after);
    let stroke = ran.step.stroke?.back();
    let feed = course.setup.mill.feed(before.angle, stroke);
    let build = |speed: Speed| -> Result<Edit, Blocked> {
        let mut draft = Draft::before(course, course.lead(at));
        draft.way(&Pose {
            travel: after.travel,
            ..before
        })?;
        draft.stroke(cut, before.travel, speed, Some(at));
        draft.rest(course, at + 1)
    };
    let (outcome, speed) = at_best_feed(course, at, cut.speed, &build);
    let instead = stroke_words(Some(stroke), Some(feed)).to_owned();
    Some(Alternative::new(Kind::OtherStroke, instead, outcome).at_speed(speed, cut.speed))
}

/// The next faster feed; where that is allowed, the fastest that is and the first that is not.
pub(super) fn faster(course: &Course<'_>, at: usize, system: System) -> Vec<Alternative> {
    let Some((_, cut)) = course.cut_in_wood(at) else {
        return Vec::new();
    };
    let most = course.setup.mill.power.feed_max;
    if cut.speed >= most {
        let words = format!("the mill feeds no faster than {}", system.speed(most));
        return vec![Alternative::new(
            Kind::Faster,
            "faster".to_owned(),
            Outcome::Impossible(words),
        )];
    }
    let run = |speed: Speed| trial(course, at, &at_speed(course, at, cut, speed));
    let will_do = |speed: Speed| matches!(run(speed), Outcome::Allowed(_));
    let told = |speed: Speed, beside: Speed| {
        let instead = format!("at {}", system.speed_among(speed, &[cut.speed, beside]));
        Alternative::new(Kind::Faster, instead, run(speed)).at_speed(speed, cut.speed)
    };
    let next = step_above(cut.speed, most);
    if !will_do(next) {
        return vec![told(next, cut.speed)];
    }
    if will_do(most) {
        return vec![told(most, cut.speed)];
    }
    let best = fastest(next, most, will_do);
    let above = step_above(best, most);
    vec![told(best, above), told(above, best)]
}

fn step_above(speed: Speed, most: Speed) -> Speed {
    Speed::um_per_s((speed.as_um_per_s() / STEP + 1) * STEP).min(most)
}

/// The sequence with one cut at another feed.
fn at_speed(course: &Course<'_>, at: usize, cut: Cut, speed: Speed) -> Edit {
    let mut draft = Draft::before(course, at);
    draft.push(Move::Cut(Cut { speed, ..cut }), Some(at));
    draft.verbatim(course, at + 1)
}

/// A stroke in air left out.
pub(super) fn in_air(course: &Course<'_>, at: usize) -> Option<Alternative> {
    if course.cut_in_wood(at).is_some() {
        return None;
    }
    course.cut(at)?;
    let draft = Draft::before(course, course.lead(at));
    let outcome = tried(course, at, draft.rest(course, at + 1));
    Some(Alternative::new(Kind::LeftOut, "left out".to_owned(), outcome))
}
