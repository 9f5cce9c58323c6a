//! Parts that hang by so little wood that nobody can say whether they came free. They are broken off at the next unloading, which is
//! where they get their numbers; found here once, for cards, lists and pictures alike.

use bunkside_planner::geometry::Block;
use bunkside_planner::physics::body::{piece, piece_with_bark_kg};
use bunkside_planner::replay::Setup;
use bunkside_planner::stock::{Piece, Stock};
use bunkside_protocol::Move;

use super::Traced;

/// One such part.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hanging {
    /// What it is once it is broken off.
    pub piece: Piece,
    /// What it weighs with its bark, which counts as heavy as the wood, kilograms.
    pub mass_kg: f64,
    /// Its wood, cubic millimetres.
    pub wood_mm3: f64,
}

/// The stock with everything broken off that hangs by little wood; none where that cannot be told.
#[must_use]
pub fn parted(setup: &Setup<'_>, stock: &Stock) -> Option<Stock> {
    let mut broken = stock.clone().with_threads_broken();
    broken.carve(&setup.shape, Block::out_of_the_way()).ok()?;
    Some(broken)
}

/// What hangs in a stock.
fn hanging(setup: &Setup<'_>, stock: &Stock) -> Vec<Hanging> {
    let Some(broken) = parted(setup, stock) else {
        return Vec::new();
    };
    let parts = broken.pieces().iter();
    let parts = parts.filter(|part| part.serial > stock.freed());
    parts
        .map(|part| Hanging {
            piece: *part,
            mass_kg: piece_with_bark_kg(&broken, &setup.shape, part.id, setup.log.density),
            wood_mm3: piece(&broken, &setup.shape, part.id).volume_mm3,
        })
        .collect()
}

/// Tells of every part that is broken off at a hold there, and at the cut that left it hanging.
pub(super) fn tell(setup: &Setup<'_>, moves: &mut [Traced]) {
    for hold in 0..moves.len() {
        let breaks = moves.get(hold).is_some_and(|traced| traced.broken > 0);
        let parts = match moves.get(hold).filter(|_| breaks) {
            Some(traced) => hanging(setup, &traced.before),
            None => continue,
        };
        for part in &parts {
            if let Some(cut) = left_by(setup, moves, hold, part).and_then(|cut| moves.get_mut(cut)) {
                cut.hanging.push(*part);
            }
        }
        if let Some(traced) = moves.get_mut(hold) {
            traced.hanging = parts;
        }
    }
}

/// The cut after which a part hangs for the first time.
fn left_by(setup: &Setup<'_>, moves: &[Traced], hold: usize, part: &Hanging) -> Option<usize> {
    let hangs = |stock: &Stock| {
        let mut parts = hanging(setup, stock).into_iter();
        parts.any(|one| one.piece.bounds.overlaps(part.piece.bounds))
    };
    let cuts = moves.get(..hold)?.iter().enumerate().rev();
    let mut cuts = cuts.filter(|(_, traced)| matches!(traced.step.told, Move::Cut(_)));
    cuts.find(|(_, traced)| !hangs(&traced.before)).map(|(at, _)| at)
}
