//! The two kerfs of a notch the other way round, and columns freed otherwise: taken instead of released, released
//! instead of taken.

use bunkside_planner::machine::Pose;
use bunkside_protocol::{Act, Acts, Angle, Cut, Move, Position, Speed};

use super::alternative::{Alternative, Kind};
use super::course::Course;
use super::draft::{Blocked, Draft, Edit};
use super::trial::{Outcome, at_best_feed};

/// A kerf's corner: across and height.
type Corner = (Position, Position);

/// The other angle of a notch first. Of the two ways to run it, on the same strokes and on the exchanged ones, the
/// quicker that is allowed.
pub(super) fn other_angle_first(course: &Course<'_>, at: usize) -> Option<Alternative> {
    let (first, second) = notch(course, at)?;
    let (one, one_cut) = course.cut_in_wood(first)?;
    let (other, other_cut) = course.cut_in_wood(second)?;
    let slower = one_cut.speed.min(other_cut.speed);
    let way = |exchanged: bool| {
        let build = move |speed: Speed| -> Result<Edit, Blocked> {
            let mut draft = Draft::before(course, course.lead(first));
            for (ran, cut) in [(other, other_cut), (one, one_cut)] {
                let (mut from, mut to) = (ran.step.before, ran.step.after.travel);
                if exchanged {
                    (from.travel, to) = (to, from.travel);
                }
                draft.way(&from)?;
                draft.stroke(cut, to, cut.speed.min(speed), Some(at));
            }
            draft.rest(course, second + 1)
        };
        at_best_feed(course, at, slower, &build)
    };
    let (outcome, speed) = quicker(way(false), way(true));
    let instead = match other.step.before.angle {
        Angle::Flat => "flat before upright",
        Angle::Upright => "upright before flat",
    };
    let alternative = Alternative::new(Kind::OtherAngleFirst, instead.to_owned(), outcome);
    Some(alternative.at_speed(speed, slower))
}

fn quicker(one: (Outcome, Speed), other: (Outcome, Speed)) -> (Outcome, Speed) {
    match (&one.0, &other.0) {
        (Outcome::Allowed(first), Outcome::Allowed(second)) if second.seconds < first.seconds => other,
        (Outcome::Allowed(_), _) => one,
        (_, Outcome::Allowed(_)) => other,
        _ => one,
    }
}

/// The two cuts, one after the other, of the notch that a cut belongs to: both at one corner, at either angle.
pub(super) fn notch(course: &Course<'_>, at: usize) -> Option<(usize, usize)> {
    let with_next = course.next(at).map(|next| (at, next));
    let with_previous = course.previous(at).map(|previous| (previous, at));
    [with_next, with_previous]
        .into_iter()
        .flatten()
        .find(
            |(first, second)| match (corner(course, *first), corner(course, *second)) {
                (Some((one, angle)), Some((other, second))) => one == other && angle != second,
                _ => false,
            },
        )
}

fn corner(course: &Course<'_>, at: usize) -> Option<(Corner, Angle)> {
    let pose = course.cut_in_wood(at)?.0.step.before;
    Some(((pose.across, pose.height), pose.angle))
}

/// An edged column taken at once by its own notch, flat before upright.
pub(super) fn taken(course: &Course<'_>, at: usize) -> Option<Alternative> {
    let (ran, cut) = course.cut_in_wood(at)?;
    if ran.step.before.angle != Angle::Upright || !ran.freed.is_empty() || notch(course, at).is_some() {
        return None;
    }
    let release = releases(course, at)?;
    let flat = Pose {
        angle: Angle::Flat,
        travel: ran.step.after.travel,
        ..ran.step.before
    };
    let build = |speed: Speed| -> Result<Edit, Blocked> {
        let mut draft = Draft::before(course, course.lead(at));
        draft.way(&flat)?;
        draft.stroke(plain(cut), ran.step.before.travel, speed, None);
        draft.way(&ran.step.before)?;
        draft.stroke(cut, ran.step.after.travel, cut.speed, Some(at));
        draft.unload();
        draft.rest(course, at + 1)
    };
    let (outcome, speed) = at_best_feed(course, at, course.setup.mill.power.feed_max, &build);
    let number = course.number(release);
    let instead = format!("taken by its own notch instead of released by cut {number}");
    Some(Alternative::new(Kind::Taken, instead, outcome).at_speed(speed, cut.speed))
}

/// The later flat cut at the height of an upright one that frees what that one edges.
pub(super) fn releases(course: &Course<'_>, at: usize) -> Option<usize> {
    let edge = course.cut(at)?.0.step.before;
    let frees = |other: &usize| {
        course.cut_in_wood(*other).is_some_and(|(ran, _)| {
            let pose = ran.step.before;
            pose.angle == Angle::Flat
                && pose.height == edge.height
                && pose.across >= edge.across
                && !ran.freed.is_empty()
        })
    };
    (at + 1..course.moves.len()).find(frees)
}

/// Of several columns released by one stroke the first on the entry side freed alone before the others.
pub(super) fn first_alone(course: &Course<'_>, at: usize) -> Option<Alternative> {
    let (ran, cut) = course.cut_in_wood(at)?;
    let pose = ran.step.before;
    if pose.angle != Angle::Flat || ran.freed.len() < 2 {
        return None;
    }
    let first = ran.freed.iter().min_by_key(|piece| piece.bounds.across.lo)?;
    let edges = (0..at).filter_map(|edge| course.cut_in_wood(edge));
    let across = edges
        .map(|(ran, _)| ran.step.before)
        .filter(|edge| edge.angle == Angle::Upright && edge.height == pose.height)
        .map(|edge| edge.across)
        .filter(|across| first.bounds.across.hi < *across && *across < pose.across)
        .min()?;
    let build = |speed: Speed| -> Result<Edit, Blocked> {
        let mut draft = Draft::before(course, course.lead(at));
        draft.way(&Pose { across, ..pose })?;
        draft.stroke(plain(cut), ran.step.after.travel, speed, None);
        draft.unload();
        draft.way(&pose)?;
        draft.stroke(cut, ran.step.after.travel, cut.speed, Some(at));
        draft.rest(course, at + 1)
    };
    let (outcome, speed) = at_best_feed(course, at, course.setup.mill.power.feed_max, &build);
    let instead = format!("piece {} alone first", first.serial);
    Some(Alternative::new(Kind::Taken, instead, outcome).at_speed(speed, cut.speed))
}

/// A taken column edged only, and left to the next flat stroke on its floor.
pub(super) fn released(course: &Course<'_>, at: usize) -> Option<Alternative> {
    let (first, second) = notch(course, at)?;
    let upright = [first, second]
        .into_iter()
        .find(|one| corner(course, *one).is_some_and(|(_, angle)| angle == Angle::Upright))?;
    let (last, _) = course.cut_in_wood(second)?;
    if last.freed.is_empty() {
        return None;
    }
    let (ran, cut) = course.cut_in_wood(upright)?;
    let with = (second + 1..course.moves.len()).find(|other| {
        course.cut_in_wood(*other).is_some_and(|(later, _)| {
            let pose = later.step.before;
            pose.angle == Angle::Flat
                && pose.height == ran.step.before.height
                && pose.across > ran.step.before.across
        })
    })?;
    let build = |speed: Speed| -> Result<Edit, Blocked> {
        let mut draft = Draft::before(course, course.lead(first));
        draft.way(&ran.step.before)?;
        draft.stroke(cut, ran.step.after.travel, speed, Some(at));
        let go_on = behind_unloading(course, second + 1, !draft.has_pieces());
        draft.rest(course, go_on)
    };
    let (outcome, speed) = at_best_feed(course, at, cut.speed, &build);
    let instead = format!("edged only, and released by cut {}", course.number(with));
    Some(Alternative::new(Kind::Released, instead, outcome).at_speed(speed, cut.speed))
}

/// Where the sequence goes on when there is nothing to unload.
fn behind_unloading(course: &Course<'_>, at: usize, clear: bool) -> usize {
    match course.moves.get(at) {
        Some(Move::Hold(hold)) if clear && hold.acts == Acts::one(Act::Unload) => at + 1,
        _ => at,
    }
}

/// A cut that is not meant to release.
const fn plain(cut: Cut) -> Cut {
    Cut {
        release: false,
        ..cut
    }
}
