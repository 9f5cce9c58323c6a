//! One pass instead of two, two instead of one.

use bunkside_planner::machine::Pose;
use bunkside_protocol::{Angle, Drive, Length, Speed};

use super::alternative::{Alternative, Kind};
use super::course::Course;
use super::draft::{Blocked, Draft, Edit};
use super::trial::{at_best_feed, half_on_grid};

/// A pass shallower than this is not proposed.
const SHALLOWEST: Length = Length::mm(10);

/// The kerf in one pass where two follow each other; else in two.
pub(super) fn other_passes(course: &Course<'_>, at: usize) -> Option<Alternative> {
    let with_next = course.next(at).map(|next| (at, next));
    let with_previous = course.previous(at).map(|previous| (previous, at));
    let two = with_next
        .filter(|pair| is_shallow_then_deep(course, *pair))
        .or(with_previous.filter(|pair| is_shallow_then_deep(course, *pair)));
    match two {
        Some(two) => one_pass(course, at, two),
        None => two_passes(course, at),
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

/// A pass to half the depth before it: on the other stroke where the carriage is powered, so that no way is run empty.
fn two_passes(course: &Course<'_>, at: usize) -> Option<Alternative> {
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
    let (from, to) = match mill.drive {
        Drive::Powered { .. } => (after.travel, before.travel),
        Drive::Hand => (before.travel, after.travel),
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
    let instead = "two passes instead of one".to_owned();
    Some(Alternative::new(Kind::TwoPasses, instead, outcome).at_speed(speed, cut.speed))
}
