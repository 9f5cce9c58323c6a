//! Prices at which no more boards of a product are taken than there may be.

use heapless::Vec;

use super::best::Solver;
use super::counted::keep;
use super::group::{Group, Groups, groups, taken_off};
use super::laid::Wanted;
use super::row::Full;
use super::seen::Seen;
use crate::limits::PRODUCTS_MAX;

/// Rounds in which prices are set, at most.
pub(super) const ROUNDS: usize = 60;

/// The prices of products that are counted, one for each group.
pub(super) type PriceList = [i64; PRODUCTS_MAX];

/// The prices of products that are counted.
pub(super) struct Prices {
    pub(super) groups: Groups,
    /// The prices of the best bound.
    pub(super) best: PriceList,
    /// The prices where the best layout was found.
    pub(super) kept: PriceList,
    pub(super) bound: i64,
    pub(super) worth: i64,
    pub(super) rounds: usize,
}

impl Prices {
    pub(super) fn new(wanted: &[Wanted<'_>], most: &[Option<u16>]) -> Self {
        Self {
            groups: groups(wanted, most),
            best: [0; PRODUCTS_MAX],
            kept: [0; PRODUCTS_MAX],
            bound: i64::MAX,
            worth: -1,
            rounds: 0,
        }
    }

    /// What limits and what is owed are worth at prices.
    pub(super) fn limits(&self, prices: &PriceList) -> i64 {
        let all = self.groups.iter().zip(prices);
        all.map(|(group, price)| group.tail(*price, 0)).sum()
    }

    /// No more boards than so many of each product.
    pub(super) fn most(&self) -> [Option<u16>; PRODUCTS_MAX] {
        let mut most = [None; PRODUCTS_MAX];
        for group in &self.groups {
            if let Some(most) = most.get_mut(usize::from(group.product)) {
                *most = group.most();
            }
        }
        most
    }

    /// Sets prices, from none on: each time to where the layouts seen so far leave least, not too far from the best so far.
    pub(super) fn set(&mut self, solver: &mut Solver<'_, '_>) -> Result<(), Full> {
        let wanted = solver.wanted;
        let dear = self.groups.iter().map(|group| group.dearest(wanted)).collect();
        let lent = core::mem::take(&mut solver.seen);
        let rounds = lent.len().clamp(1, ROUNDS);
        let came = self.seek((Seen::new(dear, lent), rounds), &mut |own, prices| {
            own.round(solver, prices)
        });
        solver.seen = lent;
        came
    }

    fn seek(
        &mut self,
        (mut seen, rounds): (Seen<'_>, usize),
        ask: &mut dyn FnMut(&Self, &PriceList) -> Result<Round, Full>,
    ) -> Result<(), Full> {
        let mut prices = [0_i64; PRODUCTS_MAX];
        let mut promised = i64::MAX;
        while self.rounds < rounds {
            self.rounds += 1;
            let round = ask(self, &prices)?;
            if round.worth > self.worth {
                (self.worth, self.kept) = (round.worth, prices);
            }
            let less = self.bound.saturating_sub(round.bound);
            if less > 0 {
                (self.bound, self.best) = (round.bound, prices);
            }
            let gap = self.bound - self.worth;
            if gap <= 0 || self.fits(&round, &prices) {
                break;
            }
            seen.take(&self.groups, &round, &prices, gap);
            seen.learn(less.saturating_mul(2) >= promised, less > 0);
            let Some(least) = seen.nearer(&self.groups, (&self.best, self.bound), &mut prices) else {
                break;
            };
            promised = self.bound - least;
            // Less than a thousandth of what is open is not worth a round.
            if promised <= gap / 1_000 {
                break;
            }
        }
        Ok(())
    }

    /// Whether no price would change for what was taken.
    fn fits(&self, round: &Round, prices: &PriceList) -> bool {
        let mut all = self.groups.iter().zip(prices).zip(&round.counts);
        all.all(|((group, price), count)| {
            let (from, to) = group.best_at(*price);
            (from..=to).contains(&i64::from(*count))
        })
    }

    /// The best layout at prices: its bound, how much is taken of each product, and what it is worth without what is too much.
    #[inline(never)]
    fn round(&self, solver: &mut Solver<'_, '_>, prices: &PriceList) -> Result<Round, Full> {
        let wanted = solver.wanted;
        let brings = |[product, length]: [u8; 2]| {
            let worth = wanted.get(usize::from(product)).map(|wanted| wanted.worth);
            worth
                .and_then(|worth| worth.get(usize::from(length)))
                .copied()
                .unwrap_or(0)
        };
        let mut counts = [0_u16; PRODUCTS_MAX];
        let (mut left, mut worth) = (self.most(), 0);
        let less = taken_off(&self.groups, prices);
        let best = solver.solve(&less, &mut |level, row| {
            let keeps = keep(level, row, &mut left);
            let items = level
                .pattern
                .iter()
                .filter_map(|number| row.items.get(usize::from(*number)));
            for (board, keeps) in items
                .zip(&keeps)
                .flat_map(|(item, keeps)| item.boards.iter().zip(keeps))
            {
                let Some(board) = *board else { continue };
                if let Some(count) = counts.get_mut(usize::from(board[0])) {
                    *count = count.saturating_add(1);
                }
                worth += if *keeps { brings(board) } else { 0 };
            }
        })?;
        let own = |group: &Group| counts.get(usize::from(group.product)).copied().unwrap_or(0);
        worth += self
            .groups
            .iter()
            .map(|group| group.gains(own(group)))
            .sum::<i64>();
        Ok(Round {
            bound: best.worth + self.limits(prices),
            worth,
            brings: best.worth,
            counts: self.groups.iter().map(own).collect(),
        })
    }
}

/// What came of a round.
#[derive(Clone, Debug)]
pub(super) struct Round {
    /// No layout is worth more.
    pub(super) bound: i64,
    /// What the one found is worth without what is too much.
    pub(super) worth: i64,
    /// What the boards are worth at the prices.
    pub(super) brings: i64,
    /// How many boards of each group were taken.
    pub(super) counts: Vec<u16, PRODUCTS_MAX>,
}

#[cfg(test)]
mod tests {
    use std::vec;
    use std::vec::Vec as List;

    use super::*;
    use crate::testing::Dice;

    /// Any of some layouts, each with what it is worth and its boards.
    type Few = List<(i64, List<u16>)>;

    fn asked(few: &Few, own: &Prices, prices: &PriceList) -> Round {
        let paid = |(worth, counts): &(i64, List<u16>)| {
            let cost = counts.iter().zip(prices);
            worth - cost.map(|(count, price)| i64::from(*count) * price).sum::<i64>()
        };
        let (at, brings) = (0..)
            .zip(few)
            .map(|(at, one)| (at, paid(one)))
            .max_by_key(|(_, paid)| *paid)
            .unwrap();
        let within = |(_, counts): &&(i64, List<u16>)| {
            let all = own.groups.iter().zip(counts);
            all.clone()
                .all(|(group, count)| group.most().is_none_or(|most| *count <= most))
        };
        let gained = |(worth, counts): &(i64, List<u16>)| {
            let gains = own.groups.iter().zip(counts);
            worth + gains.map(|(group, count)| group.gains(*count)).sum::<i64>()
        };
        let one: &(i64, List<u16>) = &few[at];
        Round {
            bound: brings + own.limits(prices),
            worth: Some(one).filter(within).map_or(0, gained),
            brings,
            counts: one.1.iter().copied().collect(),
        }
    }

    /// Layouts of boards of several sizes, as many as have room at random.
    fn few(seed: u64) -> (Few, Groups, List<i64>) {
        let mut dice = Dice::new(seed);
        let mut within = |from: i64, to: i64| from + dice.below((to - from + 1) as u64) as i64;
        let kinds = within(1, 6) as usize;
        let dear: List<i64> = (0..kinds).map(|_| within(1, 60) * within(100, 1_000)).collect();
        let room = dear.iter().max().unwrap() * within(5, 30);
        let mut few: Few = vec![(0, vec![0; kinds])];
        for _ in 0..within(20, 300) {
            let mut left = room;
            let mut counts = vec![0; kinds];
            let mut worth = 0;
            for _ in 0..kinds {
                let at = within(0, kinds as i64 - 1) as usize;
                let more = within(0, left / dear[at]);
                counts[at] += more as u16;
                left -= more * dear[at];
                worth += more * dear[at] * within(90, 110) / 100;
            }
            few.push((worth + left * 8 / 10, counts));
        }
        let groups = (0..kinds)
            .map(|at| {
                let (first, most) = (within(0, 6) as u16, within(0, 8) as u16);
                match within(0, 2) {
                    0 => Group::limit(at as u8, most),
                    1 => Group::owed(at as u8, first, dear[at] / within(2, 5), None),
                    _ => Group::owed(at as u8, first, dear[at] / within(2, 5), Some(most)),
                }
            })
            .collect();
        (few, groups, dear)
    }

    /// The least bound that many small steps find: never more than a hundredth of what was open lower than that of few rounds.
    #[test]
    fn prices_leave_about_as_little_open_as_there_is() {
        let mut rounds = 0;
        for seed in 0..200 {
            let (few, groups, dear) = few(seed);
            let none = Prices {
                groups,
                ..Prices::new(&[], &[])
            };
            let mut prices = Prices {
                groups: none.groups.clone(),
                ..Prices::new(&[], &[])
            };
            let mut lent = vec![super::super::seen::One::default(); ROUNDS];
            let seen = Seen::new(dear.iter().copied().collect(), &mut lent);
            prices
                .seek((seen, ROUNDS), &mut |own, prices| Ok(asked(&few, own, prices)))
                .unwrap();
            rounds += prices.rounds;
            let mut at = [0; PRODUCTS_MAX];
            let open = asked(&few, &none, &at).bound;
            let mut least = open;
            let best = few
                .iter()
                .filter(|(_, counts)| {
                    let mut all = none.groups.iter().zip(counts);
                    all.all(|(group, count)| group.most().is_none_or(|most| *count <= most))
                })
                .map(|(worth, counts)| {
                    let gains = none.groups.iter().zip(counts);
                    worth + gains.map(|(group, count)| group.gains(*count)).sum::<i64>()
                })
                .max()
                .unwrap();
            for step in 0..3_000 {
                let round = asked(&few, &none, &at);
                least = least.min(round.bound);
                for ((price, group), (count, dear)) in at
                    .iter_mut()
                    .zip(&none.groups)
                    .zip(round.counts.iter().zip(&dear))
                {
                    let (from, to) = group.best_at(*price);
                    let over = i64::from(*count) - i64::from(*count).clamp(from, to);
                    let (low, high) = group.prices();
                    *price = (*price + over.signum() * (dear / (20 + step / 4)).max(1)).clamp(low, high);
                }
            }
            assert!(prices.bound >= best, "{seed}: {} {best}", prices.bound);
            let more = prices.bound - least;
            assert!(
                more * 50 <= open - best,
                "{seed}: {} over {least} of {open}, {best}",
                prices.bound
            );
        }
        std::println!("{rounds} rounds for 200");
    }
}
