//! What hangs by little wood, and how it is broken off. Common practice, no source.

use bunkside_planner::rules::BREAK_OFF;

use super::Subject;
use super::parts::{by, sideways};
use super::steps::capital;
use crate::account::hangs::{broken_off, left};
use crate::measure::System;
use crate::trace::{Hanging, Traced};

/// What to do at a hold at which parts come off that were not sawn free: each where it is, then how; empty where none does.
pub(super) fn ticks(subject: &Subject<'_>, traced: &Traced) -> Vec<String> {
    let Some(what) = broken_off(traced) else {
        return Vec::new();
    };
    let parts = traced.hanging.iter();
    let mut lines: Vec<String> = parts.map(|part| told(subject, part)).collect();
    lines.push(format!("{}: {BREAK_OFF}. Then take it away.", capital(&what)));
    lines
}

/// What a cut leaves hanging, if it does not free it: `Piece 55 comes free or hangs by little wood; about 3 kg.`; empty where it
/// leaves nothing.
pub(super) fn sentence(traced: &Traced, system: System) -> String {
    let masses: Vec<String> = traced
        .hanging
        .iter()
        .map(|part| system.about(part.mass_kg))
        .collect();
    left(traced).map_or_else(String::new, |words| {
        format!(" {}; {}.", capital(&words), masses.join(", "))
    })
}

/// One part, its side, where it is and what it weighs.
fn told(subject: &Subject<'_>, part: &Hanging) -> String {
    let (system, near_end) = (subject.system, subject.setup.shape.travel().lo);
    let wood = part.piece.bounds;
    let middle = wood.across.lo + wood.across.length().half_floor();
    format!(
        "Piece {}: {}, {}, its middle {}, from {} to {} above the bed, and from {} to {} of the log's near end.",
        part.piece.serial,
        by(system, wood.across.length(), wood.height.length()),
        system.about(part.mass_kg),
        sideways(system, middle),
        system.size(wood.height.lo.from_origin()),
        system.size(wood.height.hi.from_origin()),
        system.run(wood.travel.lo - near_end),
        system.run(wood.travel.hi - near_end)
    )
}
