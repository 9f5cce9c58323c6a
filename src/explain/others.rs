//! Moves that cut nothing: left out, taken together, done elsewhere.

use bunkside_planner::geometry::Interval;
use bunkside_protocol::{Act, Acts, Hold, Move, Targets};

use super::alternative::{Alternative, Kind};
use super::course::Course;
use super::draft::{Blocked, Draft, Edit};
use super::stroke::other_stroke;
use super::trial::{strays, trial, tried};
use crate::cut_plan::act_words;

/// What could be done instead of a move that is no cut.
pub(super) fn of(course: &Course<'_>, at: usize) -> Vec<Alternative> {
    let Some(told) = course.moves.get(at) else {
        return Vec::new();
    };
    match told {
        Move::Go(_) => [
            Some(left_out(course, at)),
            together(course, at),
            cut_on_the_way(course, at),
        ]
        .into_iter()
        .flatten()
        .collect(),
        Move::Swing(_) => std::iter::once(left_out(course, at))
            .chain(other_end(course, at))
            .collect(),
        Move::Spin(_) => vec![left_out(course, at)],
        Move::Hold(hold) => of_hold(course, at, hold.acts),
        Move::Cut(_) => Vec::new(),
    }
}

/// Without the move, the rest as it is.
fn left_out(course: &Course<'_>, at: usize) -> Alternative {
    let edit = Draft::before(course, at).verbatim(course, at + 1);
    Alternative {
        strays: strays(course, &edit),
        ..Alternative::new(Kind::LeftOut, "left out".to_owned(), trial(course, at, &edit))
    }
}

/// All axes at once with the go that follows.
fn together(course: &Course<'_>, at: usize) -> Option<Alternative> {
    let (Some(Move::Go(one)), Some(Move::Go(next))) = (course.moves.get(at), course.moves.get(at + 1)) else {
        return None;
    };
    let both = Targets {
        travel: next.travel.or(one.travel),
        across: next.across.or(one.across),
        height: next.height.or(one.height),
    };
    let mut draft = Draft::before(course, at);
    draft.push(Move::Go(both), Some(at));
    let edit = draft.verbatim(course, at + 2);
    let instead = format!("together with move {}", at + 1);
    Some(Alternative::new(
        Kind::Together,
        instead,
        trial(course, at, &edit),
    ))
}

/// Instead of running empty over the log, the next cut on the way.
fn cut_on_the_way(course: &Course<'_>, at: usize) -> Option<Alternative> {
    if !runs_empty(course, at) {
        return None;
    }
    let cut = course.next(at)?;
    let other = other_stroke(course, cut)?;
    let instead = format!("cut {} on the way, {}", course.number(cut), other.instead);
    Some(Alternative { instead, ..other })
}

/// Whether a go runs the carriage over the log.
pub(super) fn runs_empty(course: &Course<'_>, at: usize) -> bool {
    course.ran(at).is_some_and(|ran| {
        let (from, to) = (ran.step.before.travel, ran.step.after.travel);
        matches!(ran.step.told, Move::Go(_))
            && from != to
            && Interval::between(from, to).overlaps(course.setup.shape.travel())
    })
}

/// The swing past the other end of the log: before an empty way over it instead of behind, or on an empty way of its
/// own.
fn other_end(course: &Course<'_>, at: usize) -> Option<Alternative> {
    let ran = course.ran(at)?;
    let Move::Swing(angle) = ran.step.told else {
        return None;
    };
    let lead = course.lead(at);
    let from = course.ran(lead)?.step.before.travel;
    let here = ran.step.before.travel;
    let log = course.setup.shape.travel();
    let crossed = from != here && Interval::between(from, here).overlaps(log);
    let there = if crossed { from } else { opposite(course, at)? };
    let build = || -> Result<Edit, Blocked> {
        let mut draft = Draft::before(course, if crossed { lead } else { at });
        draft.along(there)?;
        draft.swing(angle)?;
        draft.along(here)?;
        draft.rest(course, at + 1)
    };
    let end = if there < here { "near" } else { "far" };
    let instead = format!("at the {end} end");
    Some(Alternative::new(
        Kind::OtherEnd,
        instead,
        tried(course, at, build()),
    ))
}

/// Where the next cut, or else the last one, leaves the carriage past the other end of the log.
fn opposite(course: &Course<'_>, at: usize) -> Option<bunkside_protocol::Position> {
    let here = course.ran(at)?.step.before.travel;
    let log = course.setup.shape.travel();
    let middle = log.lo + log.length().half_floor();
    let cuts = course.trace.moves.iter();
    let ends = cuts.flat_map(|ran| [ran.step.before.travel, ran.step.after.travel]);
    let beyond = ends.filter(|end| !log.contains(*end) && (*end < middle) != (here < middle));
    if here < middle { beyond.max() } else { beyond.min() }
}

fn of_hold(course: &Course<'_>, at: usize, acts: Acts) -> Vec<Alternative> {
    let mut found = Vec::new();
    if let Some((down, up)) = stopped_for(course, at) {
        let mut draft = Draft::before(course, down);
        for (number, told) in course.moves.iter().enumerate().take(up).skip(at + 1) {
            draft.push(*told, Some(number));
        }
        let edit = draft.verbatim(course, up + 1);
        let instead = "left out, and the blade left turning".to_owned();
        found.push(Alternative::new(Kind::LeftOut, instead, trial(course, at, &edit)));
    } else {
        found.push(left_out(course, at));
    }
    if acts.iter().nth(1).is_some() {
        found.extend(acts.iter().map(|act| without(course, at, acts, act)));
    }
    found.extend(stopped_first(course, at, acts));
    found
}

/// The moves that stop the blade for a hold alone and bring it up to speed after it.
fn stopped_for(course: &Course<'_>, at: usize) -> Option<(usize, usize)> {
    let down = at.checked_sub(1)?;
    let stops = course.moves.get(down) == Some(&Move::Spin(false));
    let later = course.moves.get(at + 1..)?;
    let until = later
        .iter()
        .position(|told| matches!(told, Move::Spin(_) | Move::Cut(_) | Move::Hold(_)))?;
    let up = at + 1 + until;
    (stops && course.moves.get(up) == Some(&Move::Spin(true))).then_some((down, up))
}

/// The hold without one of its acts.
fn without(course: &Course<'_>, at: usize, acts: Acts, act: Act) -> Alternative {
    let kept = acts
        .iter()
        .filter(|other| *other != act)
        .fold(Acts::NONE, Acts::and);
    let mut draft = Draft::before(course, at);
    draft.push(Move::Hold(Hold { acts: kept }), Some(at));
    let edit = draft.verbatim(course, at + 1);
    let instead = format!("without `{}`", act_words(act));
    Alternative::new(Kind::LeftOut, instead, trial(course, at, &edit))
}

/// The same with the blade stopped for it.
fn stopped_first(course: &Course<'_>, at: usize, acts: Acts) -> Option<Alternative> {
    if !course.ran(at)?.step.before.spinning {
        return None;
    }
    let mut draft = Draft::before(course, at);
    draft.push(Move::Spin(false), None);
    draft.push(Move::Hold(Hold { acts }), Some(at));
    draft.push(Move::Spin(true), None);
    let edit = draft.verbatim(course, at + 1);
    let instead = "with the blade stopped for it".to_owned();
    Some(Alternative::new(Kind::Stopped, instead, trial(course, at, &edit)))
}
