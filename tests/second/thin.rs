//! Whether a kerf leaves thin wood hanging, by rods: a lath beside an upright kerf, a skin over or under a flat one, with air
//! beyond it where the uncut log has wood.

use bunkside_protocol::Angle;

use super::auditor::{Second, Stroked};
use super::boxes::{Um, around, meet};
use super::machine::Say;

/// Wood as thick as this holds,
const HOLDS: Um = 3_000;

/// and so does what reaches less far along the kerf's face.
const REACHES: Um = 30_000;

/// What is left thin beside the kerf that has just been cut.
pub(crate) fn left(now: &Second<'_>, stroked: &Stroked) -> Say {
    let mut worst = Say::No;
    for slice in 0..now.wood.slices() {
        // A slice is in the kerf where its middle is.
        let [near, far] = now.wood.slice(slice);
        let middle = (near + far) / 2;
        if middle <= stroked.kerf.z[0] || stroked.kerf.z[1] <= middle {
            continue;
        }
        worst = worst.or(match now.at.angle {
            Angle::Upright => laths(now, slice, stroked),
            Angle::Flat => skins(now, slice, stroked),
        });
    }
    worst
}

/// So long a stretch, on which both ends are known to a strip or so.
fn far_enough(now: &Second<'_>, long: Um) -> Say {
    Say::over(long + 1, REACHES, 4 * now.ground.slack.by)
}

fn laths(now: &Second<'_>, slice: usize, stroked: &Stroked) -> Say {
    let (kerf, wood) = (stroked.kerf, &now.wood);
    let (from, to) = (kerf.x[0], kerf.x[1]);
    let entry = (0..wood.strips())
        .rev()
        .filter(|strip| wood.across(*strip)[1] <= from);
    let exit = (0..wood.strips()).filter(|strip| wood.across(*strip)[0] >= to);
    let sides: [Vec<usize>; 2] = [entry.collect(), exit.collect()];
    let mut worst = Say::No;
    for strips in sides {
        // What still stands without a gap from the kerf on, and what ended by a kerf before it was thick enough.
        let mut stands: Vec<[Um; 2]> = vec![kerf.y];
        let mut thin: Vec<[Um; 2]> = Vec::new();
        for (number, strip) in strips.iter().enumerate() {
            let here: Vec<[Um; 2]> = wood.standing(slice, *strip).collect();
            let uncut = wood.uncut(slice, Some(*strip)).map_or([0, 0], |rod| rod.wood);
            let [lo, hi] = wood.across(*strip);
            let thick = if hi <= from { from - hi } else { lo - to };
            if thick >= HOLDS {
                break;
            }
            let both = |parts: &[[Um; 2]]| -> Vec<[Um; 2]> {
                let both = stands.iter().flat_map(|a| parts.iter().map(|b| meet(*a, *b)));
                both.filter(|[lo, hi]| lo < hi).collect()
            };
            if number > 0 {
                let gone = without(&stands, &here);
                thin.extend(
                    gone.iter()
                        .map(|part| meet(*part, uncut))
                        .filter(|[lo, hi]| lo < hi),
                );
            }
            stands = both(&here);
        }
        thin.sort_unstable();
        let mut run: Option<[Um; 2]> = None;
        for part in thin {
            let joined = run
                .filter(|run| run[1] >= part[0])
                .map_or(part, |run| around(run, part));
            worst = worst.or(far_enough(now, joined[1] - joined[0]));
            run = Some(joined);
        }
    }
    worst
}

fn skins(now: &Second<'_>, slice: usize, stroked: &Stroked) -> Say {
    let (kerf, wood) = (stroked.kerf, &now.wood);
    let mut worst = Say::No;
    for over in [true, false] {
        let mut run: Option<[Um; 2]> = None;
        for strip in 0..wood.strips() {
            let across = meet(wood.across(strip), kerf.x);
            let uncut = wood.uncut(slice, Some(strip)).map_or([0, 0], |rod| rod.wood);
            let thin = |rod: [Um; 2]| {
                let (at_kerf, sawn) = if over {
                    (rod[0] == kerf.y[1], rod[1] < uncut[1])
                } else {
                    (rod[1] == kerf.y[0], rod[0] > uncut[0])
                };
                at_kerf && sawn && rod[1] - rod[0] < HOLDS
            };
            if across[0] >= across[1] || !wood.standing(slice, strip).any(thin) {
                run = None;
                continue;
            }
            let joined = run.map_or(across, |run| around(run, across));
            worst = worst.or(far_enough(now, joined[1] - joined[0]));
            run = Some(joined);
        }
    }
    worst
}

/// What of some stretches lies outside others.
fn without(parts: &[[Um; 2]], held: &[[Um; 2]]) -> Vec<[Um; 2]> {
    held.iter().fold(parts.to_vec(), |parts, held| {
        let cut = parts
            .iter()
            .flat_map(|part| [[part[0], part[1].min(held[0])], [part[0].max(held[1]), part[1]]]);
        cut.filter(|[lo, hi]| lo < hi).collect()
    })
}
