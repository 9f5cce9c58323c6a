//! Whether a kerf stands open in what is left, by rods: one whose foot is not the log's own underside stands over air, and two
//! at one height with air between them and nothing else are the sides of a slot.

use super::auditor::Second;
use super::boxes::{Bx, FAR, Um, meet};
use super::machine::Say;
use super::wood::{Owner, Rod};

/// What hangs over air by no more, and what is no deeper, does not count.
const LITTLE: Um = 1_000;

/// Whether a kerf stands open, up to two kerfs wide.
pub(crate) fn open(now: &Second<'_>) -> Say {
    let all = Bx {
        z: [-FAR, FAR],
        x: [-FAR, FAR],
        y: [-FAR, FAR],
    };
    let mut slices: Vec<Vec<Vec<Rod>>> = vec![vec![Vec::new(); now.wood.strips()]; now.wood.slices()];
    for (slice, strip, rod) in now.wood.within(all) {
        if rod.owner == Owner::Body && rod.wood[0] < rod.wood[1] {
            slices[slice][strip].push(rod);
        }
    }
    let mut worst = Say::No;
    for (slice, strips) in slices.iter().enumerate() {
        worst = worst.or(overhangs(now, slice, strips)).or(slots(now, strips));
    }
    worst
}

/// Whether side by side more than a little of rods stand over air at one height.
fn overhangs(now: &Second<'_>, slice: usize, strips: &[Vec<Rod>]) -> Say {
    let slack = now.ground.slack.by;
    let mut worst = Say::No;
    // The height of a sawn underside, and where it began.
    let mut since: Vec<(Um, Um)> = Vec::new();
    for (strip, rods) in strips.iter().enumerate() {
        let [from, to] = now.wood.across(strip);
        let own = now.wood.uncut(slice, Some(strip)).map_or(-FAR, |rod| rod.wood[0]);
        let sawn: Vec<Um> = rods
            .iter()
            .map(|rod| rod.wood[0])
            .filter(|foot| *foot > own)
            .collect();
        since.retain(|(foot, _)| sawn.contains(foot));
        for foot in sawn {
            if !since.iter().any(|(other, _)| *other == foot) {
                since.push((foot, from));
            }
        }
        for (_, began) in &since {
            worst = worst.or(Say::over(to - began, LITTLE, 2 * slack));
        }
    }
    worst
}

/// Whether two rods have nothing but air between them, deeper than a little and no wider than two kerfs.
fn slots(now: &Second<'_>, strips: &[Vec<Rod>]) -> Say {
    let (slack, kerf) = (now.ground.slack.by, i64::from(now.ground.mill.blade.kerf.as_um()));
    let mut worst = Say::No;
    for (one, rods) in strips.iter().enumerate() {
        for rod in rods {
            // What of its side is still free of wood, from strip to strip.
            let mut free = vec![rod.wood];
            for (other, beyond) in strips.iter().enumerate().skip(one + 1) {
                let gap = now.wood.across(other)[0] - now.wood.across(one)[1];
                let narrow = match Say::over(gap, 2 * kerf, 2 * slack) {
                    Say::No => Say::Yes,
                    Say::Unsure => Say::Unsure,
                    Say::Yes => break,
                };
                for held in beyond {
                    for part in &free {
                        let [lo, hi] = meet(*part, held.wood);
                        if gap > 0 {
                            worst = worst.or(Say::over(hi - lo, LITTLE, 2 * slack).and(narrow));
                        }
                    }
                    free = free.iter().flat_map(|part| without(*part, held.wood)).collect();
                }
                if free.is_empty() {
                    break;
                }
            }
        }
    }
    worst
}

/// What of a stretch lies outside another.
fn without(part: [Um; 2], held: [Um; 2]) -> impl Iterator<Item = [Um; 2]> {
    let below = [part[0], part[1].min(held[0])];
    let above = [part[0].max(held[1]), part[1]];
    [below, above].into_iter().filter(|[lo, hi]| lo < hi)
}
