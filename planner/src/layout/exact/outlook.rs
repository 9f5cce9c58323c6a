//! What may still come of the wood and the boards that a stack leaves.

use bunkside_protocol::Length;
use heapless::Vec;

use super::best::Known;
use super::counted::Counts;
use super::group::Group;
use super::search::Search;
use crate::limits::PRODUCTS_MAX;

/// By what stacks look best.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum By {
    /// What they may come to at the prices.
    Bound,
    /// What is left of the wood and of the boards that are wanted.
    Left,
    /// What may come of so much of the wood below, in per cent.
    Share(i64),
}

/// Where layers are looked for: below a floor and down to a face, or to the lowest floor where that is 0.
#[derive(Clone, Copy, Debug)]
pub(super) struct Gap {
    pub(super) top: usize,
    pub(super) lowest: usize,
}

/// At how many heights the log is measured.
const SAMPLES: usize = 32;

/// A product, as it takes wood.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Kind {
    group: Option<usize>,
    /// With its kerfs, in square millimetres.
    area: i64,
    worth: i64,
}

/// The products, the dearest for their size first.
pub(super) type Kinds = Vec<Kind, PRODUCTS_MAX>;

/// Finds them.
pub(super) fn kinds((wanted, terms, _): &Known<'_>, groups: &[Group]) -> Kinds {
    let mut kinds = Kinds::new();
    for (at, one) in wanted.iter().enumerate() {
        let group = groups.iter().position(|group| usize::from(group.product) == at);
        let worth = one.worth.iter().copied().max().unwrap_or(0);
        let wide = |size: Length| (size + terms.kerf).wide() / 1_000;
        let kind = Kind {
            group,
            area: (wide(one.thickness) * wide(one.width)).max(1),
            worth,
        };
        if worth <= 0 {
            continue;
        }
        let place = kinds.partition_point(|other: &Kind| {
            i128::from(other.worth) * i128::from(kind.area) >= i128::from(worth) * i128::from(other.area)
        });
        let _ = kinds.insert(place, kind);
    }
    kinds
}

impl Search<'_, '_, '_, '_> {
    /// How good a stack looks.
    pub(super) fn look(&self, base: i64, counts: &Counts, (floor, gap): (usize, Gap), by: By) -> i64 {
        let worth = base + self.counted.gains(counts);
        match by {
            By::Bound => self.least_bound(base, counts, floor),
            By::Left => worth + self.left(counts, (floor, gap)),
            By::Share(share) => worth + self.share(counts, (floor, gap), share),
        }
    }

    /// What may still come of the wood below a floor and of the boards that are left: less than of each alone, and the less the
    /// nearer both are.
    fn left(&self, counts: &Counts, (floor, gap): (usize, Gap)) -> i64 {
        let (wanted, ..) = self.known.0;
        let wood = self.below(self.full, floor) - self.below(self.full, gap.lowest);
        if wanted.len() > self.counted.products() {
            return wood;
        }
        let groups = self.counted.groups.iter().zip(counts);
        let boards = groups
            .map(|(group, count)| group.brings(*count, wanted))
            .try_fold(0_i64, |sum, one| sum.checked_add(one?));
        boards.map_or(wood, |boards| of_both(wood, boards))
    }

    /// What may still come of so much of the wood below a floor, in per cent, if the boards that are left are taken from the dearest for
    /// their size down.
    fn share(&self, counts: &Counts, (floor, gap): (usize, Gap), share: i64) -> i64 {
        let mut wood = (self.area(floor) - self.area(gap.lowest)) * share / 100;
        let mut worth = 0;
        for kind in &self.kinds {
            let most = kind.group.and_then(|at| {
                let left = self.counted.groups.get(at)?.left(*counts.get(at)?);
                left.most()
            });
            let room = wood / kind.area;
            let own = most.map_or(room, |most| room.min(i64::from(most)));
            worth += own * kind.worth;
            wood -= own * kind.area;
            if own == room && most.is_none_or(|most| i64::from(most) > room) {
                worth += kind.worth * wood / kind.area;
                break;
            }
        }
        worth
    }

    /// About how large the section below a floor is, in square millimetres.
    fn area(&self, floor: usize) -> i64 {
        let all = (0..SAMPLES).map(|at| self.reaches.wide((2 * at + 1) * floor / (2 * SAMPLES)));
        let sum: i64 = all.map(|wide| i64::from(wide) / 1_000).sum();
        let tall = i64::try_from(floor).unwrap_or(0) * i64::from(self.reaches.step) / 1_000;
        sum * tall / i64::try_from(SAMPLES).unwrap_or(1)
    }
}

/// Less than either of two: their product over the root of their squares' sum.
fn of_both(one: i64, other: i64) -> i64 {
    let most = one.max(other);
    if one.min(other) <= 0 {
        return 0;
    }
    // So that squares do not run over.
    let shift = 34_u32.saturating_sub(most.leading_zeros());
    let (a, b) = (one >> shift, other >> shift);
    let root = (a * a + b * b).isqrt().max(1);
    (a * b / root) << shift
}
