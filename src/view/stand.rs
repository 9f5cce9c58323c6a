//! Where to stand. Common practice, no source: the mill's own manual comes first, and the page says so.
//!
//! What is known here and not from a drawing: which way the teeth run, so which way the blade throws what it catches;
//! where a piece comes free; which way the carriage comes.

use bunkside_planner::replay::{Setup, Step};
use bunkside_protocol::mill::Side;
use bunkside_protocol::{Angle, Feed, Stroke};

use super::pusher::{Beside, plane, side};
use super::second::begins;
use crate::account::table::listed;
use crate::trace::Traced;

/// Where to stand while a stroke cuts, by the sides on which nobody does (entry side, exit side), and whether a second person holds
/// down what comes free.
pub(super) fn at_cut(setup: &Setup<'_>, traced: &Traced, forbidden: [bool; 2], second: bool) -> String {
    let step = &traced.step;
    let angle = step.before.angle;
    let frees = !traced.freed.is_empty();
    if setup.mill.drive.is_hand() {
        let nobody = nobody_else(second);
        let ways = [
            step.stroke.unwrap_or(setup.mill.teeth(angle)),
            setup.mill.teeth(angle),
        ];
        return at_push(angle, setup.mill.entry, ways, forbidden) + nobody;
    }
    let mut words = match (angle, frees) {
        (Angle::Flat, _) => "Stand at the near end, off the rails, clear of the entry side.",
        (Angle::Upright, true) => {
            "Stand at the near end, off the rails, clear of the entry side and of the blade's line."
        }
        (Angle::Upright, false) => "Stand at the near end, off the rails, clear of the blade's line.",
    }
    .to_owned();
    words.push_str(match (setup.mill.teeth(angle), frees) {
        (Stroke::Outbound, true) => " Nobody at the far end, where the teeth throw.",
        (Stroke::Outbound, false) => " Nobody at the far end.",
        (Stroke::Homebound, _) => {
            " The teeth throw towards you: keep well to one side. Nobody at the far end."
        }
    });
    words.push_str(match (step.feed, step.stroke) {
        (Some(Feed::Climb), Some(Stroke::Homebound)) => " The cut pulls the carriage towards you.",
        (Some(Feed::Climb), _) => " The cut pulls the carriage: keep off the rails.",
        (_, Some(Stroke::Homebound)) => " The carriage comes towards you.",
        _ => "",
    });
    words
}

/// Where to push a carriage from, by the way that it runs and the way that the teeth do: nobody can do that from one end of the
/// rails. On the exit side, because pieces come free and the flat blade comes on the entry side; beside an upright blade on the entry
/// side where something goes over on the other.
///
/// Where forward feed frees a piece with bark, which it lifts and throws, somebody holds it down from behind the carriage:
/// [`super::second`] tells where he stands and when.
fn at_push(angle: Angle, entry: Side, [runs, teeth]: [Stroke; 2], forbidden: [bool; 2]) -> String {
    let (behind, thrown) = (begins(runs), begins(teeth.back()));
    let [left, right] = match entry {
        Side::Left => ["left", "right"],
        Side::Right => ["right", "left"],
    };
    let seen = "seen from the near end";
    let side = match side(forbidden, angle == Angle::Flat) {
        Some(Beside::Exit) => format!("on the exit side ({right}, {seen}),"),
        Some(Beside::Entry) => {
            format!("on the entry side ({left}, {seen}), because what comes free goes over on the exit side;")
        }
        None => return nowhere(forbidden[0]),
    };
    format!(
        "Push from where the mill's manual puts you; common practice: behind the carriage as it runs, so towards the {behind} end, \
         {side} out of the blade's {}, off the side it throws to: the {thrown} end.",
        plane(angle)
    )
}

/// That nobody else is about.
const fn nobody_else(second: bool) -> &'static str {
    if second {
        " Nobody else along the rails or at either end, but the second person where this card puts him."
    } else {
        " Nobody else along the rails or at either end."
    }
}

/// That a carriage can be pushed from neither side of the log: something goes over on the exit side, and on the entry side something
/// does too, or the flat blade runs.
fn nowhere(entry: bool) -> String {
    let other = if entry {
        "and on the entry side as well"
    } else {
        "and the flat blade comes from the entry side"
    };
    format!(
        "Beside the log there is no place to push from at this cut: what comes free goes over on the exit side, {other}. Make it only \
         if the mill's manual gives you a place clear of both sides; else change the cut plan so that the piece balances on the wood \
         under it."
    )
}

/// That pieces lie loose while a stroke cuts; nothing where none do.
pub(super) fn lies_loose(pieces: &[u16]) -> String {
    let numbers: Vec<String> = pieces.iter().map(u16::to_string).collect();
    match pieces {
        [] => String::new(),
        [one] => format!(
            " Piece {one} lies loose on or beside the log: nobody goes near it until it is taken away at a hold."
        ),
        _ => format!(
            " Pieces {} lie loose on or beside the log: nobody goes near them until they are taken away at a hold.",
            listed(&numbers)
        ),
    }
}

/// The same where the carriage only passes them.
pub(super) fn lies_near(pieces: &[u16]) -> String {
    let numbers: Vec<String> = pieces.iter().map(u16::to_string).collect();
    match pieces {
        [] => String::new(),
        [one] => format!(" Piece {one} lies loose: keep off it."),
        _ => format!(" Pieces {} lie loose: keep off them.", listed(&numbers)),
    }
}

/// What to wait for at a hold.
pub(super) fn at_hold(setup: &Setup<'_>, step: &Step) -> String {
    let log = setup.shape.travel();
    let place = if step.before.travel <= log.lo {
        "The carriage is held short of the near end"
    } else if step.before.travel >= log.hi {
        "The carriage is held past the far end"
    } else {
        "The carriage is held beside the log"
    };
    if step.before.spinning {
        format!("{place}. The blade still turns: keep away from it.")
    } else {
        format!("{place}, the blade stands. Walk up only when it does.")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Where something goes over on the exit side nobody pushes from there; beside a flat blade nobody does from the entry side
    /// either.
    #[test]
    fn nobody_pushes_where_something_goes_over() {
        let told = |angle, forbidden| at_push(angle, Side::Left, [Stroke::Homebound; 2], forbidden);
        let from = |words: &str| {
            [
                "the exit side (right,",
                "the entry side (left,",
                "no place to push from",
            ]
            .map(|one| words.contains(one))
        };
        for entry in [false, true] {
            for angle in Angle::ALL {
                assert_eq!(from(&told(angle, [entry, false])), [true, false, false]);
            }
            assert_eq!(from(&told(Angle::Flat, [entry, true])), [false, false, true]);
        }
        assert_eq!(from(&told(Angle::Upright, [false, true])), [false, true, false]);
        assert_eq!(from(&told(Angle::Upright, [true, true])), [false, false, true]);
    }
}
