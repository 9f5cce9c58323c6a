//! Whether an upright stroke lets a heavy piece drop off the log, by rods: what each weighs, and on what it comes to lie.

use bunkside_protocol::Angle;

use super::auditor::{Said, Second, add, not};
use super::machine::{Say, um};
use super::wood::{Bx, FAR, Owner, Um, around, shared};

/// What is lighter is caught by hand, grams.
const CAUGHT: Um = 8_000;

/// What is said of the pieces that a stroke has just freed, each with the box around it.
pub(crate) fn judge(now: &Second<'_>, freed: &[(u32, Bx)], said: &mut Said) {
    let (mut drops, mut tips, mut heavy) = (Say::No, Say::No, Say::No);
    for (id, bx) in freed {
        let (falls, leans, more) = falling(now, *id, *bx, freed);
        drops = drops.or(falls);
        tips = tips.or(leans);
        heavy = heavy.or(leans.and(more));
    }
    if now.at.angle == Angle::Flat {
        drops = Say::No;
    }
    let refused = drops.or(heavy);
    add(said, "falls-off", true, refused);
    add(said, "falls-off", false, tips.and(not(refused)));
}

/// Whether a piece drops, whether it goes over at all, and whether it is heavier than may.
fn falling(now: &Second<'_>, id: u32, bx: Bx, freed: &[(u32, Bx)]) -> (Say, Say, Say) {
    let slack = now.ground.slack;
    let near = 3 * um(now.ground.mill.blade.kerf.as_um());
    let loose = || now.pieces.iter().map(|piece| piece.bx);
    let others = || freed.iter().filter(|other| other.0 != id).map(|other| other.1);
    let (mut volume, mut moment) = (0.0, [0.0; 2]);
    // What lies under it, slice by slice.
    let mut floors: Vec<(usize, [Um; 2])> = Vec::new();
    for (slice, strip, rod) in now.wood.within(bx) {
        if rod.owner != Owner::Piece(id) || rod.wood[0] >= rod.wood[1] {
            continue;
        }
        let (z, x) = (now.wood.slice(slice), now.wood.across(strip));
        let sides = [z[1] - z[0], x[1] - x[0], rod.wood[1] - rod.wood[0]];
        let held: f64 = sides.iter().map(|side| *side as f64 * 1e-6).product();
        volume += held;
        for (moment, [lo, hi]) in moment.iter_mut().zip([z, x]) {
            *moment += held * (lo + hi) as f64 / 2.0;
        }
        let y = [rod.wood[0] - near, rod.wood[0]];
        let under = Bx { z, x, y };
        let on_body = now.wood.standing(slice, strip).any(|wood| shared(wood, y) > 0);
        if !on_body && !loose().chain(others()).any(|other| other.overlaps(&under)) {
            continue;
        }
        match floors.last_mut().filter(|floor| floor.0 == slice) {
            Some(floor) => floor.1 = around(floor.1, x),
            None => floors.push((slice, x)),
        }
    }
    let grams = (volume * f64::from(now.ground.log.density) * 1e3).round() as Um;
    // A strip and a slice count by their middles.
    let over = |limit: Um| Say::over(grams, limit, if slack.by == 0 { 1 } else { grams / 20 });
    let heavy = over(CAUGHT);
    let more = over(1_000 * Um::from(now.ground.mill.loose.tips));
    let [along, balance] = moment.map(|moment| (moment / volume.max(1e-12)).round() as Um);
    let ends: Vec<(Um, [Um; 2])> = floors
        .iter()
        .flat_map(|(slice, x)| now.wood.slice(*slice).map(|z| (z, *x)))
        .collect();
    let beyond = beyond(&ends, along, balance);
    // On a log that tapers a slice's floor is as wide as in its middle.
    let leans = |limit: Um| heavy.and(Say::over(beyond, limit, 6 * slack.by));
    (leans((bx.x[1] - bx.x[0]) / 4), leans(0), more)
}

/// How far a place lies outside the hull of some floors.
fn beyond(floors: &[(Um, [Um; 2])], along: Um, balance: Um) -> Um {
    let mut hull: Option<[Um; 2]> = None;
    for near in floors.iter().filter(|floor| floor.0 <= along) {
        for far in floors.iter().filter(|floor| floor.0 >= along) {
            let part = (along - near.0) as f64 / (far.0 - near.0).max(1) as f64;
            let at = |side: usize| {
                let [from, to] = [near.1[side], far.1[side]].map(|place| place as f64);
                (from + (to - from) * part).round() as Um
            };
            let here = [at(0), at(1)];
            hull = Some(hull.map_or(here, |hull| around(hull, here)));
        }
    }
    hull.map_or(FAR, |[lo, hi]| (lo - balance).max(balance - hi))
}
