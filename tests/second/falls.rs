//! Whether an upright stroke lets a piece drop off the log, by rods: what each weighs, and on what it comes to lie.

use bunkside_protocol::Angle;

use super::auditor::{Piece, Said, Second, add, not};
use super::machine::{Say, um};
use super::wood::{Bx, FAR, Owner, Um, around, shared};

/// What is said of the pieces that a stroke has just freed, each with the box around it.
pub(crate) fn judge(now: &Second<'_>, freed: &[(u32, Bx)], pieces: &[Piece], said: &mut Said) {
    let (mut drops, mut tips, mut heavy) = (Say::No, Say::No, Say::No);
    for ((id, bx), piece) in freed.iter().zip(pieces) {
        let (falls, leans, more, foot) = falling(now, *id, *bx, freed);
        add(said, "thin-wood", false, narrow(now, piece, &foot));
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

/// On what a piece comes to lie, between which places across where it balances, and where that is across and up.
struct Foot {
    across: Option<[Um; 2]>,
    balance: Um,
    level: Um,
}

/// Whether a side, sawn on one side only, balances less than 1 in 8 from the edge of what it stands on, there.
fn narrow(now: &Second<'_>, piece: &Piece, foot: &Foot) -> Say {
    let [wide, high] = [piece.bx.x, piece.bx.y].map(|[lo, hi]| hi - lo);
    if now.ground.slack.by > 0 {
        // Strips are too coarse for what balances on a narrow foot.
        return Say::over(high - 4 * wide, 0, wide).and(Say::Unsure);
    }
    let Some([lo, hi]) = foot.across else {
        return Say::No;
    };
    let away = [foot.balance - lo, hi - foot.balance];
    let up = foot.level - piece.bx.y[0];
    let stands = high > 4 * wide && away.iter().all(|away| *away >= 0);
    let [entry, exit] = piece.natural;
    let leans = |away: Um| Say::of(stands && up > 8 * away);
    let entry_edge = leans(away[0]).and(not(entry)).and(exit);
    let exit_edge = leans(away[1]).and(entry).and(not(exit));
    entry_edge.or(exit_edge)
}

/// Whether a piece that is heavier than may drops, whether one goes over at all, and whether it is heavier than may tip; and on what
/// it lies.
fn falling(now: &Second<'_>, id: u32, bx: Bx, freed: &[(u32, Bx)]) -> (Say, Say, Say, Foot) {
    let slack = now.ground.slack;
    let near = 3 * um(now.ground.mill.blade.kerf.as_um());
    let loose = || now.pieces.iter().map(|piece| piece.bx);
    let others = || freed.iter().filter(|other| other.0 != id).map(|other| other.1);
    let (mut volume, mut bark, mut moment) = (0.0, 0.0, [0.0; 3]);
    // What lies under it, slice by slice.
    let mut floors: Vec<(usize, [Um; 2])> = Vec::new();
    // Its bark may reach further across and down than its wood.
    let with_bark = Bx { x: [-FAR, FAR], ..bx };
    for (slice, strip, rod) in now.wood.within(with_bark) {
        if rod.owner != Owner::Piece(id) {
            continue;
        }
        let (z, x) = (now.wood.slice(slice), now.wood.across(strip));
        let alone = (rod.rough[1] - rod.rough[0]) - (rod.wood[1] - rod.wood[0]).max(0);
        let sides = [z[1] - z[0], x[1] - x[0], alone];
        bark += sides.iter().map(|side| *side as f64 * 1e-6).product::<f64>();
        if rod.wood[0] >= rod.wood[1] {
            continue;
        }
        let sides = [z[1] - z[0], x[1] - x[0], rod.wood[1] - rod.wood[0]];
        let held: f64 = sides.iter().map(|side| *side as f64 * 1e-6).product();
        volume += held;
        for (moment, [lo, hi]) in moment.iter_mut().zip([z, x, rod.wood]) {
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
    let weighs = |bark: f64| ((volume + bark) * f64::from(now.ground.log.density) * 1e3).round() as Um;
    let grams = weighs(bark);
    // Bark may go on lengthwise where the piece has no wood any more, to the log's ends at most, and come along.
    let [whole, own] = [now.wood.length(), bx.z].map(|[lo, hi]| (hi - lo) as f64);
    let further = if slack.by > 0 && own < whole {
        weighs(1.5 * bark * whole / own)
    } else {
        grams
    };
    // A strip and a slice count by their middles.
    let over = |limit: Um| {
        let known = |grams: Um| Say::over(grams, limit, if slack.by == 0 { 1 } else { grams / 20 });
        known(grams).or(known(further).and(Say::Unsure))
    };
    let loose = &now.ground.mill.loose;
    // What is lighter than a kilogram falls as chips do, and over a flat plate what may drop.
    let counts = match now.at.angle {
        Angle::Upright => 1,
        Angle::Flat => loose.drops.min(loose.tips),
    };
    let [counts, much, more] =
        [counts, loose.drops, loose.tips].map(|kilograms| over(1_000 * Um::from(kilograms)));
    let [along, balance, level] = moment.map(|moment| (moment / volume.max(1e-12)).round() as Um);
    let ends: Vec<(Um, [Um; 2])> = floors
        .iter()
        .flat_map(|(slice, x)| now.wood.slice(*slice).map(|z| (z, *x)))
        .collect();
    let across = hull(&ends, along);
    let beyond = across.map_or(FAR, |[lo, hi]| (lo - balance).max(balance - hi));
    let foot = Foot {
        across,
        balance,
        level,
    };
    // On a log that tapers a slice's floor is as wide as in its middle.
    let leans = |limit: Um| Say::over(beyond, limit, 6 * slack.by);
    let drops = much.and(leans((bx.x[1] - bx.x[0]) / 4));
    (drops, counts.and(leans(0)), more, foot)
}

/// From where to where the hull of some floors reaches at a place along.
fn hull(floors: &[(Um, [Um; 2])], along: Um) -> Option<[Um; 2]> {
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
    hull
}
