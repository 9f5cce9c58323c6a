//! Whether a kerf runs close beside a loose piece with nothing between that holds it, by rods.

use super::auditor::{Second, not};
use super::boxes::{Bx, Um, around, meet, shared};
use super::machine::{Say, Slack, play};

/// No cut is so near to a loose piece with nothing between.
const CLOSE: Um = 50_000;

/// Whether a kerf runs close beside a free piece and none of the log's body holds it back.
pub(crate) fn alongside(now: &Second<'_>, kerf: Bx, piece: Bx) -> Say {
    let Slack { by, along } = now.ground.slack;
    let x = [kerf.x[1].min(piece.x[1]), kerf.x[0].max(piece.x[0])];
    let facing = Say::over(shared(kerf.z, piece.z), 0, 2 * along)
        .and(Say::over(shared(kerf.y, piece.y), 0, 2 * by))
        .and(Say::over(x[1] - x[0] + 1, 0, 2 * by))
        .and(Say::over(CLOSE - (x[1] - x[0]), 0, 2 * by));
    if facing == Say::No {
        return Say::No;
    }
    let gap = Bx {
        z: meet(kerf.z, piece.z),
        x,
        y: meet(kerf.y, piece.y),
    };
    let held = if screened(now, gap, piece, -1) {
        Say::Yes
    } else if by > 0 && screened(now, gap, piece, 1) {
        Say::Unsure
    } else {
        Say::No
    };
    facing.and(not(held))
}

/// How thick wood is that holds half the piece's weight, newtons, leaning on it from so high up: over twice that height it moves
/// by no more than 2 mm, at 500 N/mm² across the grain; and both faces may be off.
fn least(now: &Second<'_>, piece: Bx, high: Um) -> Um {
    let millimetres = |[lo, hi]: [Um; 2]| ((hi - lo) / 1_000) as f64;
    let volume = millimetres(piece.z) * millimetres(piece.x) * millimetres(piece.y);
    let kilograms = volume * 1e-9 * f64::from(now.ground.log.density);
    let push = (kilograms * 9.81 / 2.0).floor().max(10.0);
    let high = high as f64 / 1_000.0;
    // 2 P h² ÷ (E t³) = 2 mm
    let thick = (2.0 * push * high * high / (500.0 * 2.0)).cbrt();
    let [_, across, _] = play(now.ground.mill);
    (thick.clamp(3.0, 100.0) * 1_000.0).ceil() as Um + 2 * across
}

/// Whether wood in the gap holds the piece at every place, as far as the rods tell, which may be off `towards` one way.
fn screened(now: &Second<'_>, gap: Bx, piece: Bx, towards: Um) -> bool {
    let Slack { by, along } = now.ground.slack;
    let (by, along) = (2 * towards * by, towards * along);
    let least = least(now, piece, gap.y[1] - gap.y[0]) - by;
    (0..now.wood.slices()).all(|slice| {
        let z = now.wood.slice(slice);
        if shared(z, gap.z) - along.max(0) <= 0 {
            return true;
        }
        // As high as the log is where the piece lies.
        let log = (0..now.wood.strips()).filter(|strip| shared(now.wood.across(*strip), piece.x) > 0);
        let log = log.filter_map(|strip| now.wood.uncut(slice, Some(strip)).map(|rod| rod.wood));
        let faced = log.reduce(around).map_or(0, |log| shared(log, gap.y));
        faced <= 0 || 2 * (held(now, slice, gap, least) + by) > faced
    })
}

/// Over how much height wood as thick as that stands in a gap, in one slice.
fn held(now: &Second<'_>, slice: usize, gap: Bx, least: Um) -> Um {
    let strips = || (0..now.wood.strips()).filter(|strip| shared(now.wood.across(*strip), gap.x) > 0);
    let ends = strips().flat_map(|strip| now.wood.standing(slice, strip).flatten().collect::<Vec<_>>());
    let mut ends: Vec<Um> = ends
        .chain(gap.y)
        .filter(|end| gap.y[0] <= *end && *end <= gap.y[1])
        .collect();
    ends.sort_unstable();
    ends.dedup();
    let mut all = 0;
    for level in ends.windows(2) {
        let level = [level[0], level[1]];
        let (mut run, mut thickest) = (0, 0);
        for strip in strips() {
            let stands = now
                .wood
                .standing(slice, strip)
                .any(|wood| shared(wood, level) > 0);
            run = if stands {
                run + shared(now.wood.across(strip), gap.x)
            } else {
                0
            };
            thickest = thickest.max(run);
        }
        if thickest >= least {
            all += level[1] - level[0];
        }
    }
    all
}
