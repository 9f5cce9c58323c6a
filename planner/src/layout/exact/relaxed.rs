//! No layout is worth more, wherever its floors and corners lie: the same search, with sizes rounded down and rooms widened.
//!
//! Whatever lies anywhere is told by the steps below its floors and its corners. Of two floors, or two corners, that lie so far
//! apart the steps below them lie as far apart at least, rounded down. A board has no more room than there is anywhere between the
//! step below its underside, or its face, and the next ones up, and its corner lies less than a step beyond the step below it. So
//! every layout is one of the relaxed problem, worth as much, and what that problem comes to is a bound.
//!
//! Kept as they are: the lowest floor, the log's top, the widest and the highest kerf, what is too thin, the axis across, and how
//! many boards of a product there may be, which prices and search hold as they do on a step. What is told of the core, and of
//! what still stands of a partly sawn log, is moved apart by the steps that a floor may lie off.
//!
//! Between two steps a room may be wider than at either. The entry side of a room bends one way only, as every section of a log
//! does, so that it goes no further out than where it would come to, went it straight on from the steps before or after.

use bunkside_protocol::Length;

use super::Um;
use super::best::{Ground, Memory, Solver};
use super::counted::{Lent, at_most};
use super::laid::{Wanted, laid};
use super::order::Terms;
use super::row::Full;
use super::sawn::{Asked, ground};
use crate::geometry::Interval;
use crate::replay::Setup;

/// Chords are rounded, and a straight line through two of them may be off by five times that.
const ROUNDED: Um = 12;

/// No room at all.
const NONE: (Um, Um) = (Um::MAX / 4, Um::MIN / 4);

/// No layout is worth more, on whatever step its floors and corners lie or on none. The step that is asked for should be no larger
/// than the thinnest board: the finer, the nearer the bound.
///
/// # Errors
///
/// [`Full`] where the memory does not do, or a board is thinner than the step.
pub fn bound<'a>(
    setup: &'a Setup<'a>,
    asked: &Asked<'a>,
    memory: Memory<'_>,
    lent: &mut Lent<'_>,
) -> Result<i64, Full> {
    if laid(asked.wanted).any(|laid| laid.height.min(laid.width) < asked.step) {
        return Err(Full);
    }
    let ground = Ground {
        relaxed: true,
        ..ground(setup, asked)
    };
    let mut solver = Solver::new(&ground, asked.wanted, memory)?;
    at_most(&mut solver, asked.most, lent)
}

/// How many steps up from the step below it an underside or a face may lie: two where kerf or boards are no whole steps.
pub(super) fn span(wanted: &[Wanted<'_>], kerf: Length, step: Length) -> usize {
    let ragged = |length: Length| length.wide().rem_euclid(step.wide().max(1)) != 0;
    if ragged(kerf) || laid(wanted).any(|laid| ragged(laid.height)) {
        2
    } else {
        1
    }
}

/// Leaves for every height the widest room that there may be from there up to so many steps higher, within a place across.
pub(super) fn widen(rooms: &mut [(Um, Um)], span: usize, across: Interval) {
    if !rooms.iter().any(is_wood) {
        return;
    }
    let most = (across.lo.as_um(), across.hi.as_um());
    let mut before = None;
    for at in 0..rooms.len() {
        let of = |at: usize| rooms.get(at).copied().filter(is_wood);
        let (this, next, after) = (of(at), of(at + 1), of(at + 2));
        let up = before.zip(this).map(|(from, to)| straight_on(from, to));
        let down = after.zip(next).map(|(from, to)| straight_on(from, to));
        let widest = match (up, down) {
            (Some(up), Some(down)) => (up.0.max(down.0), up.1.min(down.1)),
            (Some(one), None) | (None, Some(one)) => one,
            (None, None) if this.is_none() && next.is_none() => NONE,
            (None, None) => most,
        };
        if let Some(room) = rooms.get_mut(at) {
            *room = widest;
        }
        before = this;
    }
    for at in 0..rooms.len() {
        let more = if span > 1 {
            rooms.get(at + 1).copied()
        } else {
            None
        };
        if let Some(room) = rooms.get_mut(at) {
            *room = join(*room, more.unwrap_or(NONE));
            if is_wood(room) {
                *room = ((room.0 - ROUNDED).max(most.0), (room.1 + ROUNDED).min(most.1));
            }
        }
    }
}

/// Whether every section has wood there.
fn is_wood(room: &(Um, Um)) -> bool {
    room.0 < NONE.0 / 2 && room.1 > NONE.1 / 2
}

/// The widest between a room and the next one on, which continues what is between it and the one before.
fn straight_on(from: (Um, Um), to: (Um, Um)) -> (Um, Um) {
    (to.0.min(2 * to.0 - from.0), to.1.max(2 * to.1 - from.1))
}

/// All that is in one of two rooms, or between them.
pub(super) fn join(a: (Um, Um), b: (Um, Um)) -> (Um, Um) {
    (a.0.min(b.0), a.1.max(b.1))
}

/// Lets every room begin a step sooner: a corner lies less than that beyond the step below it.
pub(super) fn sooner(rooms: &mut [(Um, Um)], step: Um) {
    for room in rooms {
        room.0 -= step;
    }
}

/// A length in steps, rounded down.
pub(super) fn down(length: Length, terms: &Terms) -> i64 {
    length.wide().div_euclid(terms.heights.step.wide().max(1))
}

#[cfg(test)]
mod tests;
