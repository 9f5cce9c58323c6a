//! What hangs by little wood, and how it is broken off. Common practice, no source.

use bunkside_planner::geometry::Block;
use bunkside_planner::physics::body::piece_with_bark_kg;
use bunkside_planner::stock::Piece;

use super::Subject;
use super::parts::{by, sideways};
use crate::trace::Traced;

/// What to do at a hold at which parts come off that were not sawn free, a line each and one how; empty where none does.
pub(super) fn broken_off(subject: &Subject<'_>, traced: &Traced) -> Vec<String> {
    if traced.broken == 0 {
        return Vec::new();
    }
    let mut lines: Vec<String> = hanging(subject, traced)
        .iter()
        .map(|(part, mass_kg)| told(subject, part, *mass_kg))
        .collect();
    if lines.is_empty() {
        lines.push("A part hangs by little wood.".to_owned());
    }
    lines.push(
        "With the blade standing, break it off with a long bar, from beyond its end: out from under it, and nobody beside it."
            .to_owned(),
    );
    lines
}

/// The parts, and what each weighs with its bark, kilograms.
fn hanging(subject: &Subject<'_>, traced: &Traced) -> Vec<(Piece, f64)> {
    let (shape, known) = (&subject.setup.shape, traced.before.freed());
    let mut broken = (*traced.before).clone().with_threads_broken();
    if broken.carve(shape, Block::out_of_the_way()).is_err() {
        return Vec::new();
    }
    let parts = broken.pieces().iter().filter(|piece| piece.serial > known);
    parts
        .map(|part| {
            let density = subject.setup.log.density;
            (*part, piece_with_bark_kg(&broken, shape, part.id, density))
        })
        .collect()
}

/// One part, its side, where it is and what it weighs.
fn told(subject: &Subject<'_>, part: &Piece, mass_kg: f64) -> String {
    let (system, near_end) = (subject.system, subject.setup.shape.travel().lo);
    let wood = part.bounds;
    let middle = wood.across.lo + wood.across.length().half_floor();
    format!(
        "A part hangs by little wood: {}, {}, its middle {}, from {} to {} above the bed, and from {} to {} of the log's near end.",
        by(system, wood.across.length(), wood.height.length()),
        system.about(mass_kg),
        sideways(system, middle),
        system.size(wood.height.lo.from_origin()),
        system.size(wood.height.hi.from_origin()),
        system.run(wood.travel.lo - near_end),
        system.run(wood.travel.hi - near_end)
    )
}
