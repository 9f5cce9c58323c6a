//! Where to stand. Common practice, no source: the mill's own manual comes first, and the page says so.
//!
//! What is known here and not from a drawing: which way the teeth run, so which way the blade throws what it catches;
//! where a piece comes free; which way the carriage comes.

use bunkside_planner::replay::{Setup, Step};
use bunkside_protocol::mill::Side;
use bunkside_protocol::{Angle, Feed, Stroke};

use crate::account::table::listed;
use crate::trace::Traced;

/// Where to stand while a stroke cuts.
pub(super) fn at_cut(setup: &Setup<'_>, traced: &Traced) -> String {
    let step = &traced.step;
    let angle = step.before.angle;
    let frees = !traced.freed.is_empty();
    if setup.mill.drive.is_hand() {
        return at_push(angle, setup.mill.entry, setup.mill.teeth(angle));
    }
    let mut words = match (angle, frees) {
        (Angle::Flat, _) => "Stand at the near end, clear of the entry side.",
        (Angle::Upright, true) => "Stand at the near end, clear of the entry side and of the blade's line.",
        (Angle::Upright, false) => "Stand at the near end, clear of the blade's line.",
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
        (Some(Feed::Climb), Some(Stroke::Homebound)) => {
            " The cut pulls the carriage towards you: keep off the rails."
        }
        (Some(Feed::Climb), _) => " The cut pulls the carriage: keep off the rails.",
        (_, Some(Stroke::Homebound)) => " The carriage comes towards you: keep off the rails.",
        _ => "",
    });
    words
}

/// Where to push a carriage from: nobody can do that from one end of the rails.
///
/// Where forward feed frees a piece with bark, which it lifts and throws, somebody holds it down from behind the carriage:
/// [`super::second`] tells where he stands and when.
fn at_push(angle: Angle, entry: Side, teeth: Stroke) -> String {
    let line = match angle {
        Angle::Flat => "plane",
        Angle::Upright => "line",
    };
    let thrown = match teeth {
        Stroke::Outbound => "far",
        Stroke::Homebound => "near",
    };
    let exit = match entry {
        Side::Left => "right",
        Side::Right => "left",
    };
    format!(
        "Push from where the mill's manual puts you; common practice: behind the carriage as it runs, on the exit side ({exit}, seen \
         from the near end), out of the blade's {line}, off the side it throws to: the {thrown} end. Nobody else along the rails or \
         at either end."
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
