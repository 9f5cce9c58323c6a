//! How the bunks carry the log.

use bunkside_protocol::mill::Bunk;
use bunkside_protocol::{Length, LogRecord, MillRecord, Position};

use super::slices::fine_sum;
use crate::geometry::{Block, Shape};
use crate::limits::{PACK_SLENDER, SEAT};

/// What is wrong with how a log lies on its bunks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Flaw {
    /// So few bunks carry it.
    Bunks(u32),
    /// Two neighbours of those that carry it stand so far apart.
    Spacing(Length),
    /// So much of it lies beyond the outermost bunk.
    Overhang(Length),
    /// Its underside lies so far above a bunk.
    Packing(Length),
    /// The pack on a bunk would be so high, and no higher than the other may one on it be.
    Pile(Length, Length),
    /// Its underside lies so far below the top of a bunk.
    Sunk(Length),
    /// It balances beyond the outermost bunk.
    Tips,
}

/// The bunks under the log, by rising travel.
pub fn carrying<'a>(
    mill: &'a MillRecord,
    shape: &Shape,
) -> impl DoubleEndedIterator<Item = &'a Bunk> + Clone {
    let log = shape.travel();
    mill.bunks.iter().filter(move |bunk| log.contains(bunk.travel))
}

/// How high the log's underside, bark included, lies above a bunk under it: what is to be packed there. Negative where it
/// lies below the bunk's top; none for a bunk that is not under the log.
#[must_use]
pub fn packing(bunk: &Bunk, shape: &Shape) -> Option<Length> {
    let (underside, _) = shape.undersides(bunk.travel)?;
    Some(underside - bunk.top)
}

/// How wide a bunk is along the rails: so long is the foot of a pack on it. Across, it lies on the whole bunk.
#[must_use]
pub fn foot(bunk: &Bunk) -> Length {
    bunk.half_size.times(2)
}

/// How high may be packed on a bunk: no higher than the mill has packing for, nor than a pack stands on it.
#[must_use]
pub fn most_packed(mill: &MillRecord, bunk: &Bunk) -> Length {
    let stands = foot(bunk).times(PACK_SLENDER);
    mill.wedges.packing.max(Length::ZERO).min(stands)
}

/// The highest pack that is higher than its bunk is wide along the rails, and how wide that is; none where there is none.
///
/// Pushed along the rails, a pack tips once the push is more of its load than half its width is of its height; the log slides
/// on it once the push is more than its grip of it. At a grip of 0.5 a pack as high as wide does both at once.
#[must_use]
pub fn slender(mill: &MillRecord, shape: &Shape) -> Option<(Length, Length)> {
    let packs = carrying(mill, shape).filter_map(|bunk| Some((packing(bunk, shape)?, foot(bunk))));
    packs.filter(|(high, wide)| high > wide).max()
}

/// How far the log's near end and its far end stop short of the outer edges of the outermost bunks that carry it; below zero
/// by what they reach further. None where no bunk carries it.
#[must_use]
pub fn short_of_edges(mill: &MillRecord, shape: &Shape) -> Option<[Length; 2]> {
    let mut bunks = carrying(mill, shape);
    let first = bunks.next()?;
    let (last, log) = (bunks.next_back().unwrap_or(first), shape.travel());
    Some([
        log.lo - (first.travel - first.half_size),
        (last.travel + last.half_size) - log.hi,
    ])
}

/// Tells everything that is wrong with how the log lies.
pub fn flaws(mill: &MillRecord, log: &LogRecord, shape: &Shape, tell: &mut dyn FnMut(Flaw)) {
    let bunks = carrying(mill, shape);
    let count = bunks.clone().fold(0_u32, |count, _| count.saturating_add(1));
    if count < 2 {
        tell(Flaw::Bunks(count));
    }
    let pairs = bunks.clone().zip(bunks.clone().skip(1));
    let apart = pairs.map(|(one, next)| (next.travel - one.travel).abs());
    if let Some(apart) = apart.max().filter(|apart| *apart > mill.support.spacing) {
        tell(Flaw::Spacing(apart));
    }
    let ends = shape.travel();
    if let (Some(first), Some(last)) = (bunks.clone().next(), bunks.clone().next_back()) {
        let beyond = (first.travel - ends.lo).max(ends.hi - last.travel);
        if beyond > mill.support.overhang {
            tell(Flaw::Overhang(beyond));
        }
        let balance = balance(log, shape);
        let millimetres = |place: Position| f64::from(place.as_um()) * 1e-3;
        // Where a bunk is covered in part only, it bears in the middle of that.
        let [near, far] = short_of_edges(mill, shape).unwrap_or_default();
        let inward = |short: Length| short.max(Length::ZERO).half_floor();
        let held = millimetres(first.travel + inward(near))..=millimetres(last.travel - inward(far));
        if count > 1 && !held.contains(&balance) {
            tell(Flaw::Tips);
        }
    }
    let high = |bunk| packing(bunk, shape);
    let packed = mill.wedges.packing.max(Length::ZERO);
    if let Some(high) = bunks.clone().filter_map(high).max().filter(|high| *high > packed) {
        tell(Flaw::Packing(high));
    }
    let piles = bunks.clone().filter_map(|bunk| {
        let (high, most) = (packing(bunk, shape)?, most_packed(mill, bunk));
        (most < packed && high > most).then_some((high, most))
    });
    if let Some((high, most)) = piles.max() {
        tell(Flaw::Pile(high, most));
    }
    if let Some(low) = bunks.filter_map(high).min().filter(|low| *low < -SEAT) {
        tell(Flaw::Sunk(-low));
    }
}

/// Where along the rails the uncut log balances, millimetres; bark not counted.
///
/// Between two stations the half-diameters run linearly, so that the area is a parabola: Simpson's rule is exact for it, and
/// for its moment. With faces it is summed in slices.
#[must_use]
pub fn balance(log: &LogRecord, shape: &Shape) -> f64 {
    if shape.is_sawn() {
        let [along, ..] = fine_sum(shape, Block::ALL).solid().centroid_mm;
        return along;
    }
    let millimetres = |um: i32| f64::from(um) * 1e-3;
    let (mut volume, mut moment) = (0.0, 0.0);
    for (a, b) in log.stations.iter().zip(log.stations.iter().skip(1)) {
        let [from, to] = [a, b].map(|station| millimetres(station.travel.as_um()));
        let [(aw, ah), (bw, bh)] = [a, b].map(|station| {
            (
                millimetres(station.half_width.as_um()),
                millimetres(station.half_height.as_um()),
            )
        });
        let (near, far) = (aw * ah, bw * bh);
        let middle = (aw + bw) * (ah + bh);
        let part = (to - from) * (1.0 / 6.0);
        volume += part * (near + middle + far);
        moment += part * (near * from + middle * (from + to) * 0.5 + far * to);
    }
    if volume > 0.0 { moment / volume } else { 0.0 }
}

impl core::fmt::Display for Flaw {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::Bunks(0) => f.write_str("no bunk carries the log"),
            Self::Bunks(_) => f.write_str("a single bunk carries the log"),
            Self::Spacing(apart) => write!(f, "two bunks that carry the log stand {apart} apart"),
            Self::Overhang(beyond) => write!(f, "{beyond} of the log lies beyond its last bunk"),
            Self::Packing(high) => write!(f, "the log lies {high} above a bunk, more than can be packed"),
            Self::Pile(high, most) => write!(
                f,
                "a pack on a bunk would be {high} high, and falls over above {most}"
            ),
            Self::Sunk(low) => write!(f, "the log would lie {low} below the top of a bunk"),
            Self::Tips => f.write_str("the log balances beyond its last bunk and would tip"),
        }
    }
}
