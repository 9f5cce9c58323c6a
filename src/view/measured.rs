//! What is measured at a hold: what it should read, how much off is too much, and what to do then.

use bunkside_planner::replay::Step;
use bunkside_protocol::{Act, Acts, Angle, Position};

use super::Subject;
use super::steps::capital;
use crate::account::care::{Looked, looked};
use crate::setting::Sheet;
use crate::setting::words::Words;

/// The lines of a hold that asks for measuring.
pub(super) fn measured(subject: &Subject<'_>, sheet: &Sheet, at: usize, acts: Acts) -> Vec<String> {
    let moves = &subject.trace.moves;
    let looked = moves
        .get(at)
        .and_then(|traced| Some((traced, looked(traced, acts)?)));
    let Some((traced, looked)) = looked else {
        return vec!["Measure.".to_owned()];
    };
    let system = subject.system;
    let words = Words { system, both: false };
    let mut lines = vec![capital(looked.words()) + "."];
    let lies = |piece| traced.before.pieces().iter().any(|one| one.serial == piece);
    let board = sheet.first_board.as_ref().filter(|board| lies(board.piece));
    lines.extend(board.map(|board| format!("It should measure: {}.", words.first_board(board))));
    let floor = face(moves.iter().take(at).map(|traced| &traced.step));
    let floor = floor.filter(|_| !acts.contains(Act::Reseat));
    if let Some(floor) = floor {
        let where_ = match looked {
            Looked::Board => "The face sawn last",
            Looked::Face => "The face",
        };
        lines.push(format!(
            "{where_} should read {} above the bed from end to end. More than {} off anywhere, a kerf, is too much: stop, measure where, lay the \
             log again at the heights of the setting sheet, wedge it, measure it, and plan what is left anew.",
            system.size(floor.from_origin()),
            system.size_at_most(subject.setup.mill.blade.kerf)
        ));
    }
    lines
}

/// The height of the face that the last flat cut in wood left below it; none before there is one.
fn face<'s>(steps: impl DoubleEndedIterator<Item = &'s Step>) -> Option<Position> {
    let sawn =
        |step: &&Step| step.before.angle == Angle::Flat && step.cut.is_some_and(|facts| facts.met.is_some());
    steps.rev().find(sawn).map(|step| step.before.height)
}
