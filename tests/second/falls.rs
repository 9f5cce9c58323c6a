//! Whether an upright stroke lets a heavy piece drop off the log, by rods: what each weighs, and on what it comes to lie.

use bunkside_protocol::Angle;

use super::auditor::{Said, Second, add, not};
use super::machine::{Say, um};
use super::wood::{Bx, FAR, Owner, Um, around, shared};

/// What is lighter is caught by hand, grams.
const CAUGHT: Um = 8_000;

/// What is said of the pieces that a stroke has just freed, each with the box around it.
pub(crate) fn judge(now: &Second<'_>, freed: &[(u32, Bx)], said: &mut Said) {
    if now.at.angle == Angle::Flat {
        return;
    }
    let (mut drops, mut tips) = (Say::No, Say::No);
    for (id, bx) in freed {
        let (falls, leans) = falling(now, *id, *bx, freed);
        drops = drops.or(falls);
        tips = tips.or(leans);
    }
    add(said, "falls-off", true, drops);
    add(said, "falls-off", false, tips.and(not(drops)));
}

/// Whether a piece drops, and whether it leans out further than it lies on something.
fn falling(now: &Second<'_>, id: u32, bx: Bx, freed: &[(u32, Bx)]) -> (Say, Say) {
    let slack = now.ground.slack.by;
    let near = 3 * um(now.ground.mill.blade.kerf.as_um());
    let loose = || now.pieces.iter().map(|piece| piece.bx);
    let others = || freed.iter().filter(|other| other.0 != id).map(|other| other.1);
    let (mut volume, mut moment) = (0.0, 0.0);
    let mut floor: Option<[Um; 2]> = None;
    for (slice, strip, rod) in now.wood.within(bx) {
        if rod.owner != Owner::Piece(id) || rod.wood[0] >= rod.wood[1] {
            continue;
        }
        let ([near_end, far_end], [lo, hi]) = (now.wood.slice(slice), now.wood.across(strip));
        let sides = [far_end - near_end, hi - lo, rod.wood[1] - rod.wood[0]];
        let held: f64 = sides.iter().map(|side| *side as f64 * 1e-6).product();
        volume += held;
        moment += held * (lo + hi) as f64 / 2.0;
        let under = Bx {
            z: now.wood.slice(slice),
            x: now.wood.across(strip),
            y: [rod.wood[0] - near, rod.wood[0]],
        };
        let on_body = now
            .wood
            .standing(slice, strip)
            .any(|wood| shared(wood, under.y) > 0);
        if on_body || loose().chain(others()).any(|other| other.overlaps(&under)) {
            floor = Some(floor.map_or(under.x, |floor| around(floor, under.x)));
        }
    }
    let grams = (volume * f64::from(now.ground.log.density) * 1e3).round() as Um;
    // A strip and a slice count by their middles.
    let heavy = Say::over(grams, CAUGHT, if slack == 0 { 1 } else { grams / 20 });
    let balance = (moment / volume.max(1e-12)).round() as Um;
    let beyond = floor.map_or(FAR, |[lo, hi]| (lo - balance).max(balance - hi));
    let leans = |limit: Um| heavy.and(Say::over(beyond, limit, 4 * slack));
    (leans((bx.x[1] - bx.x[0]) / 4), leans(0))
}
