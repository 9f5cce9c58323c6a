//! Whether a kerf leaves thin wood hanging, by rods: a lath beside an upright kerf, a skin over or under a flat one, with air
//! beyond it where the uncut log has wood.

use bunkside_protocol::Angle;

use super::auditor::{Second, Stroked};
use super::boxes::{Um, around, meet};
use super::machine::{Say, play};

/// Wood that reaches less far along the kerf's face holds.
const REACHES: Um = 30_000;

/// From how far it reaches on wood of a thickness breaks off beside a kerf, where both its faces may be off: a push of 10 N
/// at one edge, borne by twice as much as it reaches, moves it by 2 mm at a stiffness of 500 N/mm² across the grain.
fn breaks_from(now: &Second<'_>, thick: Um) -> Um {
    let [_, across, height] = play(now.ground.mill);
    let off = match now.at.angle {
        Angle::Upright => across,
        Angle::Flat => height,
    };
    let left = (thick - 2 * off).max(0) as f64 / 1_000.0;
    if left < 3.0 {
        return REACHES;
    }
    // 2 P h² ÷ (E t³) = 2 mm
    let reach = (2.0 * 500.0 * left.powi(3) / (2.0 * 10.0)).sqrt();
    REACHES.max((reach * 1_000.0) as Um + 1)
}

/// A part of what stands beside the kerf, and how thick it is there.
#[derive(Clone, Copy)]
struct Part {
    held: [Um; 2],
    thick: Um,
}

/// The worst of what stands in parts one over the other or one beside the other, as thick as the thickest of those that are
/// taken together.
fn worst_of(now: &Second<'_>, mut parts: Vec<Part>) -> Say {
    parts.sort_unstable_by_key(|part| part.held);
    let mut worst = Say::No;
    for most in &parts {
        let mut run: Option<[Um; 2]> = None;
        for part in parts.iter().filter(|part| part.thick <= most.thick) {
            let joined = run
                .filter(|run| run[1] >= part.held[0])
                .map_or(part.held, |run| around(run, part.held));
            let limit = breaks_from(now, most.thick);
            worst = worst.or(Say::over(
                joined[1] - joined[0] + 1,
                limit,
                4 * now.ground.slack.by,
            ));
            run = Some(joined);
        }
    }
    worst
}

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
        // What still stands without a gap from the kerf on, how high the log was there, and what ended by a kerf.
        let mut stands: Vec<[Um; 2]> = vec![kerf.y];
        let mut log: Option<[Um; 2]> = None;
        let mut parts: Vec<Part> = Vec::new();
        for (number, strip) in strips.iter().enumerate() {
            let here: Vec<[Um; 2]> = wood.standing(slice, *strip).collect();
            let uncut = wood.uncut(slice, Some(*strip)).map(|rod| rod.wood);
            let [lo, hi] = wood.across(*strip);
            let thick = if hi <= from { from - hi } else { lo - to };
            if stands.is_empty() || thick >= 100_000 {
                break;
            }
            let sawn = sawn(uncut, &here);
            if let (true, Some(log)) = (number > 0, log) {
                let ends = stands.iter().flat_map(|a| sawn.iter().map(|b| meet(*a, *b)));
                let held = ends.map(|part| meet(part, log)).filter(|[lo, hi]| lo < hi);
                parts.extend(held.map(|held| Part { held, thick }));
                stands = without(&stands, &sawn);
            } else {
                let both = stands.iter().flat_map(|a| here.iter().map(|b| meet(*a, *b)));
                let held: Vec<[Um; 2]> = both.filter(|[lo, hi]| lo < hi).collect();
                stands = held.iter().map(|part| open(*part, uncut)).collect();
            }
            log = uncut
                .map(|uncut| log.map_or(uncut, |log| around(log, uncut)))
                .or(log);
        }
        worst = worst.or(worst_of(now, parts));
    }
    worst
}

/// A stretch, and where it ends with the uncut log, the air beyond.
fn open([lo, hi]: [Um; 2], uncut: Option<[Um; 2]>) -> [Um; 2] {
    let ends = |end: Um| uncut.is_some_and(|uncut| uncut.contains(&end));
    let lo = if ends(lo) { Um::MIN / 4 } else { lo };
    [lo, if ends(hi) { Um::MAX / 4 } else { hi }]
}

/// What has been sawn away of a rod, with the air beyond where that reaches its end.
fn sawn(uncut: Option<[Um; 2]>, here: &[[Um; 2]]) -> Vec<[Um; 2]> {
    let whole: Vec<[Um; 2]> = uncut.into_iter().collect();
    let gone = without(&whole, here).into_iter();
    gone.map(|part| open(part, uncut)).collect()
}

fn skins(now: &Second<'_>, slice: usize, stroked: &Stroked) -> Say {
    let (kerf, wood) = (stroked.kerf, &now.wood);
    let mut worst = Say::No;
    for over in [true, false] {
        let mut parts: Vec<Part> = Vec::new();
        for strip in 0..wood.strips() {
            let held = meet(wood.across(strip), kerf.x);
            let uncut = wood.uncut(slice, Some(strip)).map_or([0, 0], |rod| rod.wood);
            let thin = |rod: &[Um; 2]| {
                if over {
                    rod[0] == kerf.y[1] && rod[1] < uncut[1]
                } else {
                    rod[1] == kerf.y[0] && rod[0] > uncut[0]
                }
            };
            if let Some(rod) = wood.standing(slice, strip).find(thin)
                && held[0] < held[1]
            {
                let thick = rod[1] - rod[0];
                parts.push(Part { held, thick });
            }
        }
        worst = worst.or(worst_of(now, parts));
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
