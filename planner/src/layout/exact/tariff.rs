//! Prices for a stack so far: what lies below it may take no more than it has left.
//!
//! At the prices that suit the whole log many stacks may come to more than the best, though they have what is dear already, or have
//! none of it. Prices of their own tell better what they may come to, and what they tell holds for every other stack as well. What is
//! found below one on the way is a layout too, without what is too much.

use heapless::Vec;

use super::best::rows_of;
use super::counted::{COUNTED_MAX, Counts, Label, keep};
use super::group::{Group, Groups, taken_off};
use super::laid::Wanted;
use super::order::Rows;
use super::prices::{PriceList, Round};
use super::row::{BOARDS_MAX, Bench, Full};
use super::search::Search;
use super::seen::{One, Seen};
use super::stack::{Level, Rank, Work, levels};
use super::ways::Seek;
use super::{Item, Row};
use crate::limits::{PLAN_LAYERS_MAX, PRODUCTS_MAX};

/// How many prices are kept.
pub(super) const TARIFFS: usize = 8;

/// Rounds in which prices are set for one stack.
const ROUNDS: usize = 4;

/// Prices, and up to which face what is worth most below is known at them.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Tariff {
    prices: [i64; COUNTED_MAX],
    top: usize,
    rises: usize,
}

/// The prices that are kept.
#[derive(Clone, Debug, Default)]
pub(super) struct Tariffs {
    all: Vec<Tariff, TARIFFS>,
    /// Which is written next.
    next: usize,
}

/// A layer below a stack: row, floor, boards.
pub(super) type LayerBelow = (usize, usize, Vec<u16, BOARDS_MAX>);

/// Layers from the top down.
pub(super) type Layers = Vec<LayerBelow, PLAN_LAYERS_MAX>;

/// What was found below a stack at some prices.
struct Below {
    worth: i64,
    /// How many boards of each group, and what they are worth without what is too much, layer by layer.
    counts: Vec<u16, PRODUCTS_MAX>,
    kept: i64,
    rank: Rank,
}

impl Search<'_, '_, '_, '_> {
    /// What a stack may come to at the prices that were found for others.
    pub(super) fn least_at_tariffs(&self, worth: i64, counts: &Counts, floor: usize) -> i64 {
        let bounds = self.at_tariffs(worth, counts, floor);
        bounds.map(|(bound, _)| bound).min().unwrap_or(i64::MAX)
    }

    /// The same at each of them.
    fn at_tariffs<'t>(
        &'t self,
        worth: i64,
        counts: &'t Counts,
        floor: usize,
    ) -> impl Iterator<Item = (i64, &'t [i64; COUNTED_MAX])> {
        let height = self.reaches.heights();
        let all = self.tariffs.all.iter().enumerate();
        let known = all.filter(move |(_, tariff)| tariff.top >= floor);
        known.filter_map(move |(at, tariff)| {
            let own = self.lent.rises.get(at * height..at * height + tariff.rises)?;
            let groups = self.counted.groups.iter().zip(counts).zip(&tariff.prices);
            let tail: i64 = groups
                .map(|((group, count), price)| group.tail(*price, *count))
                .sum();
            Some((worth + tail + self.below(own, floor), &tariff.prices))
        })
    }

    /// What a stack may come to, at prices of its own if there is time for that: no more is spent on prices than on stacks.
    pub(super) fn priced(&mut self, number: usize, label: &Label) -> Result<i64, Full> {
        let [stacks, prices] = self.filled;
        if prices > stacks || self.lent.rises.len() < TARIFFS * self.reaches.heights() {
            let floor = usize::try_from(label.floor).map_err(|_| Full)?;
            return Ok(self.least_bound(label.base, &label.counts, floor));
        }
        self.price(number, label)
    }

    /// What a stack may come to at prices of its own.
    pub(super) fn price(&mut self, number: usize, label: &Label) -> Result<i64, Full> {
        let floor = usize::try_from(label.floor).map_err(|_| Full)?;
        let mut least = self.least_bound(label.base, &label.counts, floor);
        let pairs = self.counted.groups.iter().zip(&label.counts);
        let left: Groups = pairs.map(|(group, count)| group.left(*count)).collect();
        let (wanted, ..) = self.known.0;
        let mut all: [One; ROUNDS] = Default::default();
        let mut seen = Seen::new(left.iter().map(|group| group.dearest(wanted)).collect(), &mut all);
        let mut at = self.suits(label, floor);
        let (mut best, mut bound) = (at, i64::MAX);
        let mut promised = i64::MAX;
        for _ in 0..ROUNDS {
            let found = self.find_below(&left, &at, floor)?;
            let tails = left.iter().zip(&at).map(|(group, price)| group.tail(*price, 0));
            let tail: i64 = tails.sum();
            let own = label.base + self.counted.gains(&label.counts);
            let round = Round {
                bound: own + found.worth + tail,
                worth: label.base + found.kept,
                brings: found.worth,
                counts: found.counts.clone(),
            };
            least = least.min(round.bound);
            if round.worth > self.found.worth
                && let Some(layers) = self.layers_below(&left, &at, &found.rank)?
            {
                self.complete((number, label), layers)?;
            }
            if least <= self.found.worth {
                break;
            }
            let less = bound.saturating_sub(round.bound);
            if less > 0 {
                (best, bound) = (at, round.bound);
            }
            let gap = bound - self.found.worth;
            seen.take(&left, &round, &at, gap);
            seen.learn(less.saturating_mul(2) >= promised, less > 0);
            let Some(next) = seen.nearer(&left, (&best, bound - own), &mut at) else {
                break;
            };
            promised = bound - own - next;
            if promised <= gap / 50 {
                break;
            }
        }
        Ok(least)
    }

    /// The prices known so far that tell least of a stack.
    fn suits(&self, label: &Label, floor: usize) -> PriceList {
        let mut prices = [0; PRODUCTS_MAX];
        let whole = (self.bound(label.base, &label.counts, floor), &self.counted.prices);
        let known = self.at_tariffs(label.base, &label.counts, floor);
        let (_, own) = known.fold(whole, |least, one| if one.0 < least.0 { one } else { least });
        for (price, own) in prices.iter_mut().zip(own) {
            *price = *own;
        }
        prices
    }

    /// Does something with rows at prices, and the memory for what is best of them, which a tariff has.
    fn at_prices<T>(
        &mut self,
        prices: &PriceList,
        slot: usize,
        what: impl FnOnce(&Rows<'_>, &mut Work<'_>) -> Result<T, Full>,
    ) -> Result<T, Full> {
        let less = taken_off(self.counted.groups, prices);
        let height = self.reaches.heights();
        let rises = self.lent.rises.get_mut(slot * height..(slot + 1) * height);
        let (known, sides) = self.known;
        let own = (&mut *self.lent.tiers, &mut *self.lent.more);
        let rows = rows_of(known, sides, (&less, None), own)?;
        let mut work = Work {
            bench: self.bench.lent(),
            rising: &mut *self.rising,
            marks: &mut *self.marks,
            stairs: &mut *self.stairs,
            rises: rises.ok_or(Full)?,
        };
        what(&rows, &mut work)
    }

    /// Finds what is worth most below a floor at prices, and keeps it.
    fn find_below(&mut self, left: &Groups, prices: &PriceList, floor: usize) -> Result<Below, Full> {
        let slot = self.tariffs.next;
        self.tariffs.next = (slot + 1) % TARIFFS;
        if slot >= self.tariffs.all.len() {
            self.tariffs.all.push(Tariff::default()).map_err(|_| Full)?;
        }
        // Nothing is known of it until all is.
        *self.tariffs.all.get_mut(slot).ok_or(Full)? = Tariff::default();
        let (reaches, (wanted, ..), span) = (self.reaches, self.known.0, self.span(floor));
        let mut tally = Tally::new(left);
        let (rank, worth, filled) = self.at_prices(prices, slot, |rows, work| {
            let (rank, worth) = Rank::stack(reaches, rows, span, work)?;
            levels(&rank, reaches, rows, work, &mut |level| {
                if let Some(row) = rows.get(level.row) {
                    tally.take(wanted, &level, &row);
                }
            })?;
            Ok((rank, worth, work.bench.filled))
        })?;
        self.filled[1] += filled;
        let mut own = [0; COUNTED_MAX];
        for (own, price) in own.iter_mut().zip(prices) {
            *own = *price;
        }
        *self.tariffs.all.get_mut(slot).ok_or(Full)? = Tariff {
            prices: own,
            top: floor,
            rises: rank.rises,
        };
        Ok(Below {
            worth,
            counts: left
                .iter()
                .map(|group| of(&tally.counts, group.product))
                .collect(),
            kept: tally.kept(left, self.counted.groups),
            rank,
        })
    }

    /// Takes in layers below a stack, as stacks, each filled anew with what the others leave of the boards that are wanted.
    fn complete(&mut self, (number, label): (usize, &Label), mut layers: Layers) -> Result<(), Full> {
        for at in 0..layers.len() {
            let mut taken = label.counts;
            for (row, _, pattern) in layers
                .iter()
                .enumerate()
                .filter(|(other, _)| *other != at)
                .map(|(_, layer)| layer)
            {
                taken = self.with_boards((0, taken), *row, pattern)?.1;
            }
            let Some((row, floor, pattern)) = layers.get_mut(at) else {
                break;
            };
            let own = self.rows.get(*row).ok_or(Full)?;
            let (base, counts) = self.with_boards((0, taken), *row, pattern)?;
            let mut most = base + self.counted.gains(&counts);
            self.fill((*row, &own), *floor, &taken, (i64::MIN / 4, Seek::Worth))?;
            let mut best = None;
            for state in 1..self.states {
                let worth = self.lent.states.get(state).ok_or(Full)?.worth;
                if worth > most {
                    (most, best) = (worth, Some(state));
                }
            }
            if let Some(state) = best {
                self.pattern(state, pattern)?;
            }
        }
        let mut above = (number, *label);
        for (row, floor, pattern) in layers.iter().filter(|layer| !layer.2.is_empty()) {
            above = self.add(above, (*row, *floor), pattern)?;
        }
        Ok(())
    }

    /// What stands so far, and how many, with boards of a row more.
    pub(super) fn with_boards(
        &self,
        (mut base, mut counts): (i64, Counts),
        row: usize,
        pattern: &[u16],
    ) -> Result<(i64, Counts), Full> {
        let items = self.rows.get(row).ok_or(Full)?.items;
        for item in pattern.iter().filter_map(|at| items.get(usize::from(*at))) {
            base += item.worth;
            counts = self.counted.with(&counts, item).ok_or(Full)?;
        }
        Ok((base, counts))
    }

    /// The layers that were found last below a stack, without what is too much; none where one has boards that another is as good as.
    fn layers_below(
        &mut self,
        left: &Groups,
        prices: &PriceList,
        rank: &Rank,
    ) -> Result<Option<Layers>, Full> {
        let slot = (self.tariffs.next + TARIFFS - 1) % TARIFFS;
        let (reaches, full) = (self.reaches, self.rows);
        let mut most = most_of(left);
        let mut layers = Layers::new();
        let mut lost = false;
        let mut take = |level: &Level, row: &Row<'_>, own: &Row<'_>| {
            let keeps = keep(level, row, &mut most);
            let mut pattern: Vec<u16, BOARDS_MAX> = Vec::new();
            for (item, keeps) in items_of(level, row).zip(&keeps) {
                if item
                    .boards
                    .iter()
                    .zip(keeps)
                    .any(|(board, keeps)| board.is_some() && !keeps)
                {
                    continue;
                }
                match number_of(own, item) {
                    // No more than the level has: there is room.
                    Some(at) => lost |= pattern.push(at).is_err(),
                    None => lost = true,
                }
            }
            lost |= layers.push((level.row, level.floor, pattern)).is_err();
        };
        self.at_prices(prices, slot, |rows, work| {
            levels(rank, reaches, rows, work, &mut |level| {
                if let (Some(row), Some(own)) = (rows.get(level.row), full.get(level.row)) {
                    take(&level, &row, &own);
                }
            })
        })?;
        Ok((!lost).then_some(layers))
    }

    /// Takes a stack in with a layer more, whether another one is as good or not.
    pub(super) fn add(
        &mut self,
        (number, label): (usize, Label),
        (row, floor): (usize, usize),
        pattern: &[u16],
    ) -> Result<(usize, Label), Full> {
        let (base, counts) = self.with_boards((label.base, label.counts), row, pattern)?;
        let first = self.boards;
        let kept = self
            .lent
            .boards
            .get_mut(first..first + pattern.len())
            .ok_or(Full)?;
        kept.copy_from_slice(pattern);
        self.boards += pattern.len();
        let worth = base + self.counted.gains(&counts);
        let own = Label::of(
            (number, row, floor),
            (first, pattern.len()),
            (base, worth, counts),
        )?;
        let more = Label {
            bound: self.least_bound(base, &counts, floor),
            ..own
        };
        Ok((self.keep(more)?, more))
    }
}

impl Bench<'_> {
    /// The same memory for something else meanwhile.
    fn lent(&mut self) -> Bench<'_> {
        Bench {
            ways: self.ways,
            front: self.front,
            rooms: self.rooms,
            sums: self.sums,
            widest_gap: 0,
            filled: 0,
        }
    }
}

/// The number of an item in a row, if it has it.
fn number_of(row: &Row<'_>, item: &Item) -> Option<u16> {
    let told = |item: &Item| (item.width, item.reach, item.within, item.boards);
    let at = row.items.iter().position(|other| told(other) == told(item))?;
    u16::try_from(at).ok()
}

/// What is found below a stack, counted.
struct Tally {
    /// No more boards than so many of each product.
    most: [Option<u16>; PRODUCTS_MAX],
    counts: [u16; PRODUCTS_MAX],
    /// The same without columns that hold one too many, and what those boards are worth.
    taken: [u16; PRODUCTS_MAX],
    worth: i64,
}

impl Tally {
    fn new(left: &Groups) -> Self {
        Self {
            most: most_of(left),
            counts: [0; PRODUCTS_MAX],
            taken: [0; PRODUCTS_MAX],
            worth: 0,
        }
    }

    fn take(&mut self, wanted: &[Wanted<'_>], level: &Level, row: &Row<'_>) {
        let keeps = keep(level, row, &mut self.most);
        for (item, keeps) in items_of(level, row).zip(&keeps) {
            let mut boards = item.boards.iter().zip(keeps);
            let whole = boards.all(|(board, keeps)| board.is_none() || *keeps);
            for [product, length] in item.boards.iter().flatten() {
                let product = usize::from(*product);
                let own = [Some(&mut self.counts), whole.then_some(&mut self.taken)];
                for count in own.into_iter().flatten().filter_map(|all| all.get_mut(product)) {
                    *count = count.saturating_add(1);
                }
                let worth = wanted.get(product).map(|wanted| wanted.worth);
                let worth = worth.and_then(|worth| worth.get(usize::from(*length)));
                self.worth += if whole { worth.copied().unwrap_or(0) } else { 0 };
            }
        }
    }

    /// What is worth keeping, with all that boards gain by their number, those of the stack too.
    fn kept(&self, left: &Groups, groups: &[Group]) -> i64 {
        let gains = left.iter().zip(groups).map(|(left, group)| {
            let before = group.gains(u16::MAX) - left.gains(u16::MAX);
            before + left.gains(of(&self.taken, group.product))
        });
        self.worth + gains.sum::<i64>()
    }
}

fn of(counts: &[u16; PRODUCTS_MAX], product: u8) -> u16 {
    counts.get(usize::from(product)).copied().unwrap_or(0)
}

/// No more boards than so many are left of each product.
fn most_of(left: &Groups) -> [Option<u16>; PRODUCTS_MAX] {
    let mut most = [None; PRODUCTS_MAX];
    for group in left {
        if let Some(most) = most.get_mut(usize::from(group.product)) {
            *most = group.most();
        }
    }
    most
}

/// The boards of a level.
fn items_of<'i>(level: &'i Level, row: &'i Row<'_>) -> impl Iterator<Item = &'i Item> + use<'i> {
    level
        .pattern
        .iter()
        .filter_map(|number| row.items.get(usize::from(*number)))
}
