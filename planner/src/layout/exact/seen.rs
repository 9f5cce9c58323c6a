//! Prices from the layouts seen so far.
//!
//! At any prices no layout may be worth less than one that was seen. Where the dearest of those seen, with what limits and what is
//! owed are worth, comes to least, the next prices are set; not too far from the best so far, since there they tell most. That is a
//! mix of layouts in which every one has as much weight as makes none dearer than another. Whatever comes out, what it leads to is a
//! bound: it need not be exact.

use heapless::Vec;

use super::group::Group;
use super::prices::{PriceList, Round};
use crate::limits::PRODUCTS_MAX;

/// Bits after the point of a weight.
const POINT: u32 = 24;

/// Bits after the point of a stride.
const STRIDE: u32 = 20;

/// No stride is longer.
const LONGEST: i128 = 1 << 60;

/// More money than a log is worth, thousandths.
const MONEY: i64 = 1 << 34;

/// No price goes further at once.
const FAR: i128 = 1 << 40;

/// All of the weight.
const WHOLE: i64 = 1 << POINT;

/// How often weight is moved between two layouts, at most.
const MOVES: usize = 400;

/// How often the weight that is moved is halved between too little and too much.
const HALVINGS: usize = 24;

/// A layout that was seen, as prices are set by it.
#[derive(Clone, Debug, Default)]
pub struct One {
    /// What it is worth at no prices.
    worth: i64,
    counts: Vec<u16, PRODUCTS_MAX>,
    weight: i64,
}

/// The layouts seen so far.
pub(super) struct Seen<'s> {
    lent: &'s mut [One],
    /// How many there are.
    made: usize,
    /// What a board of each group brings at most: prices of dear ones go further.
    dear: Vec<i64, PRODUCTS_MAX>,
    /// How far a price may go for one board too many.
    strides: Vec<i128, PRODUCTS_MAX>,
    /// How often in turn nothing came of it.
    idle: u32,
}

/// How often strides are shortened for the next prices.
const SHORTER: usize = 12;

impl<'s> Seen<'s> {
    pub(super) const fn new(dear: Vec<i64, PRODUCTS_MAX>, lent: &'s mut [One]) -> Self {
        Self {
            lent,
            made: 0,
            dear,
            strides: Vec::new(),
            idle: 0,
        }
    }

    fn all(&self) -> &[One] {
        self.lent.get(..self.made).unwrap_or(&[])
    }

    /// Goes further where as much came of the last prices as they promised, and less far where nothing did.
    pub(super) fn learn(&mut self, kept: bool, better: bool) {
        self.idle = if better { 0 } else { self.idle + 1 };
        if kept && self.made > 1 {
            self.stretch(1);
        } else if self.idle > 2 {
            self.stretch(-1);
            self.idle = 0;
        }
    }

    /// Doubles strides, or halves them.
    fn stretch(&mut self, by: i32) {
        for stride in &mut self.strides {
            *stride = if by > 0 {
                (*stride * 2).min(LONGEST)
            } else {
                (*stride / 2).max(1)
            };
        }
    }

    /// The next prices: as far as they promise anything; what no layout seen goes below there.
    pub(super) fn nearer(
        &mut self,
        groups: &[Group],
        (from, bound): (&PriceList, i64),
        prices: &mut PriceList,
    ) -> Option<i64> {
        for _ in 0..SHORTER {
            let least = self.next(groups, from, prices)?;
            if least < bound {
                return Some(least);
            }
            self.stretch(-1);
        }
        None
    }

    /// Takes in what a round came to.
    pub(super) fn take(&mut self, groups: &[Group], round: &Round, prices: &PriceList, gap: i64) {
        if self.made == 0 {
            self.begin(groups, round, prices, gap);
        }
        let priced = groups.iter().zip(prices).zip(&round.counts);
        let cost: i64 = priced.map(|((_, price), count)| price * i64::from(*count)).sum();
        let one = One {
            worth: round.brings + cost,
            counts: round.counts.clone(),
            weight: if self.made == 0 { WHOLE } else { 0 },
        };
        // As many as rounds: there is room.
        if let Some(slot) = self.lent.get_mut(self.made) {
            *slot = one;
            self.made += 1;
        }
    }

    /// First strides: so long that they would close the gap.
    fn begin(&mut self, groups: &[Group], round: &Round, prices: &PriceList, gap: i64) {
        let over = |((group, price), (count, dear)): ((&Group, &i64), (&u16, &i64))| {
            let (from, to) = group.best_at(*price);
            let count = i64::from(*count);
            let over = i128::from(count - count.clamp(from, to)) * i128::from(*dear);
            over * over
        };
        let all = groups.iter().zip(prices).zip(round.counts.iter().zip(&self.dear));
        let square: i128 = all.map(over).sum();
        let stride = |dear: &i64| {
            let (gap, dear) = (i128::from(gap.min(MONEY)), i128::from((*dear).min(MONEY)));
            (((gap * dear * dear) << STRIDE) / square.max(1)).clamp(1, LONGEST)
        };
        self.strides = self.dear.iter().map(stride).collect();
    }

    /// Prices so far on; what no layout seen goes below there.
    fn next(&mut self, groups: &[Group], from: &PriceList, prices: &mut PriceList) -> Option<i64> {
        let mut mixed = [0_i64; PRODUCTS_MAX];
        for one in self.all() {
            for (mixed, count) in mixed.iter_mut().zip(&one.counts) {
                *mixed += one.weight * i64::from(*count);
            }
        }
        for _ in 0..MOVES {
            self.priced(groups, from, &mixed, prices);
            let (dear, cheap) = self.ends(prices)?;
            if self.at(dear, prices) - self.at(cheap, prices) <= 1 {
                break;
            }
            let moved = self.shift(groups, (from, &mixed), (dear, cheap));
            if moved == 0 {
                break;
            }
            let counts = |at: usize| self.all().get(at).map(|one| &one.counts);
            if let (Some(more), Some(less)) = (counts(dear), counts(cheap)) {
                for (mixed, (more, less)) in mixed.iter_mut().zip(more.iter().zip(less)) {
                    *mixed += moved * (i64::from(*more) - i64::from(*less));
                }
            }
            self.lent.get_mut(dear)?.weight += moved;
            self.lent.get_mut(cheap)?.weight -= moved;
        }
        self.priced(groups, from, &mixed, prices);
        let dearest = (0..self.made).map(|at| self.at(at, prices)).max()?;
        let limits = groups.iter().zip(&*prices);
        Some(dearest + limits.map(|(group, price)| group.tail(*price, 0)).sum::<i64>())
    }

    /// What a layout is worth at prices.
    fn at(&self, at: usize, prices: &PriceList) -> i64 {
        self.all().get(at).map_or(i64::MIN / 2, |one| {
            let cost = one.counts.iter().zip(prices);
            one.worth - cost.map(|(count, price)| i64::from(*count) * price).sum::<i64>()
        })
    }

    /// The dearest layout, and the cheapest that has some weight.
    fn ends(&self, prices: &PriceList) -> Option<(usize, usize)> {
        let worth = |at: &usize| self.at(*at, prices);
        let weighs = |at: &usize| self.all().get(*at).is_some_and(|one| one.weight > 0);
        let dear = (0..self.made).max_by_key(worth)?;
        let cheap = (0..self.made).filter(weighs).min_by_key(worth)?;
        Some((dear, cheap))
    }

    /// How much weight is moved from the cheap one to the dear one until neither is the dearer, or all of it.
    fn shift(
        &self,
        groups: &[Group],
        (from, mixed): (&PriceList, &[i64; PRODUCTS_MAX]),
        (dear, cheap): (usize, usize),
    ) -> i64 {
        let (Some(more), Some(less)) = (self.all().get(dear), self.all().get(cheap)) else {
            return 0;
        };
        let mut prices = [0; PRODUCTS_MAX];
        let mut dearer_after = |moved: i64| {
            let mut mixed = *mixed;
            for (mixed, (more, less)) in mixed.iter_mut().zip(more.counts.iter().zip(&less.counts)) {
                *mixed += moved * (i64::from(*more) - i64::from(*less));
            }
            self.priced(groups, from, &mixed, &mut prices);
            self.at(dear, &prices) > self.at(cheap, &prices)
        };
        if dearer_after(less.weight) {
            return less.weight;
        }
        let (mut low, mut high) = (0_i64, less.weight);
        for _ in 0..HALVINGS {
            let middle = low.midpoint(high);
            if dearer_after(middle) {
                low = middle;
            } else {
                high = middle;
            }
        }
        low.max(i64::from(low == 0 && high > 0))
    }

    /// The prices at a mix of layouts: from the best ones so far on, as far as there are too many of a product, or too few.
    fn priced(
        &self,
        groups: &[Group],
        from: &PriceList,
        mixed: &[i64; PRODUCTS_MAX],
        prices: &mut PriceList,
    ) {
        let all = groups.iter().zip(&self.strides);
        for (((group, stride), from), (mixed, price)) in
            all.zip(from).zip(mixed.iter().zip(prices.iter_mut()))
        {
            *price = group.near(*from, |count| {
                let over = i128::from(mixed - count.saturating_mul(WHOLE));
                let way = (over * *stride) >> (POINT + STRIDE);
                i64::try_from(way.clamp(-FAR, FAR)).unwrap_or(0)
            });
        }
    }
}
