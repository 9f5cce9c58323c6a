//! From prices to whole layouts.

use core::sync::atomic::{AtomicBool, Ordering};
use std::time::Instant;

use super::master::{Known, Mixed, mix};
use super::priced::{Answers, Prices, Round, ask, left_over};
use super::{Demand, Lot, Pattern, brings, made};
use crate::spread::each;

/// Most rounds in which prices are set.
const ROUNDS: u32 = 200;

/// Prices are looked for between the best ones so far and what the program says: so many hundredths of the way to the former.
const STAY: i64 = 30;

/// Nothing is looked for below a millionth of what all brings.
const SMALL: i64 = 1_000_000;

/// As good as a whole.
const WHOLE: f64 = 0.999;

/// Stacks that are looked at for one log alone.
const ALONE: usize = 5_000;

/// Stacks that are looked at where a log is asked what it may bring beside all others.
pub(super) const FEW: usize = 500;

/// How often each log is asked anew what it may bring beside all others.
const SWEEPS: u32 = 6;

/// An allotment, and what is known of it.
#[derive(Clone, Debug)]
pub struct Allotment {
    /// The layout of each log; none for one that is left.
    pub chosen: Vec<Option<Pattern>>,
    /// What it brings, less what is missing of what is owed, thousandths.
    pub brings: i64,
    /// None brings more, sawn or not.
    pub bound: Option<i64>,
    /// How often prices were set.
    pub rounds: u32,
    /// How many layouts were known in the end.
    pub known: usize,
    /// Whether it was stopped before it was done.
    pub stopped: bool,
}

/// What is told on the way: what the best allotment so far brings, and the bound.
pub type Tell<'t> = &'t mut dyn FnMut(i64, Option<i64>);

/// How the work is done.
#[derive(Debug)]
pub struct Work<'w> {
    /// On how many threads.
    pub threads: usize,
    /// Set from outside where it is to end with what there is.
    pub stop: &'w AtomicBool,
    /// When it is to end with what there is, if it has no more time than that.
    pub until: Option<Instant>,
}

impl Work<'_> {
    /// Whether it is to end with what there is.
    #[must_use]
    pub fn stopped(&self) -> bool {
        self.stop.load(Ordering::Relaxed) || self.until.is_some_and(|until| Instant::now() >= until)
    }
}

/// Allots logs to what is wanted.
#[must_use]
pub fn allot(lots: &[Lot<'_>], demands: &[Demand], work: &Work<'_>, tell: Tell<'_>) -> Allotment {
    let worth: Vec<i64> = lots.iter().map(|lot| most(lot, demands)).collect();
    let ground = Ground {
        lots,
        demands,
        worth: &worth,
        coin: coin(lots, demands),
    };
    let mut search = Search {
        ground,
        work,
        memory: Answers::default(),
        known: Vec::new(),
        best: vec![None; lots.len()],
        brings: i64::MIN,
        bound: None,
        rounds: 0,
        tell,
    };
    search.alone();
    let mixed = if search.done() { None } else { search.prices() };
    if let Some(mixed) = &mixed {
        search.dive(mixed);
    }
    search.improve();
    if let Some(mixed) = mixed.filter(|_| !search.done()) {
        search.choose(&mixed.prices);
        search.improve();
        search.branch(&mixed.prices);
    }
    Allotment {
        brings: search.brings,
        bound: search.bound,
        rounds: search.rounds,
        known: search.known.len(),
        stopped: work.stopped(),
        chosen: search.best,
    }
}

/// More than any layout of a log brings, what is owed counted at what missing it would cost: all of its wood as the dearest board.
fn most(lot: &Lot<'_>, demands: &[Demand]) -> i64 {
    let log = lot.setup.shape.bounds();
    let room = i128::from(log.across.length().wide()) * i128::from(log.height.length().wide());
    let boards = lot.job.boards.iter().zip(demands);
    let dearest = boards.flat_map(|(board, demand)| {
        let face = i128::from(board.thickness.wide().max(1)) * i128::from(board.width.wide().max(1));
        // No more than two boards lie end to end.
        let each =
            |value: &i64| 2 * i128::from(value.saturating_add(demand.missing)) * (room / face.max(1) + 1);
        board.values.iter().map(each).collect::<Vec<_>>()
    });
    let dearest = dearest.max().unwrap_or(0);
    i64::try_from(dearest).unwrap_or(i64::MAX).clamp(1, MOST)
}

/// The greatest number that all values and costs are multiples of.
fn coin(lots: &[Lot<'_>], demands: &[Demand]) -> i64 {
    let boards = lots.iter().flat_map(|lot| &lot.job.boards);
    let values = boards.flat_map(|board| &board.values).copied();
    let all = values.chain(demands.iter().map(|demand| demand.missing));
    let common = |mut a: i64, mut b: i64| {
        while b != 0 {
            (a, b) = (b, a % b);
        }
        a.abs()
    };
    all.fold(0, common).max(1)
}

/// What no log brings more than, so that sums of it can be told.
const MOST: i64 = 1_000_000_000_000;

/// The logs, and what is wanted of them.
#[derive(Clone, Copy)]
pub(super) struct Ground<'s, 'a> {
    pub(super) lots: &'s [Lot<'a>],
    pub(super) demands: &'s [Demand],
    /// No layout of a log brings more, what is owed counted at what missing it would cost.
    pub(super) worth: &'s [i64],
    /// What any allotment brings is a multiple of this.
    pub(super) coin: i64,
}

pub(super) struct Search<'s, 'a> {
    pub(super) ground: Ground<'s, 'a>,
    pub(super) work: &'s Work<'s>,
    pub(super) memory: Answers,
    pub(super) known: Vec<Known>,
    best: Vec<Option<Pattern>>,
    pub(super) brings: i64,
    pub(super) bound: Option<i64>,
    pub(super) rounds: u32,
    tell: Tell<'s>,
}

impl Search<'_, '_> {
    /// One log alone is laid out for what is wanted, and nothing else has to be looked at.
    fn alone(&mut self) {
        let [lot] = self.ground.lots else { return };
        let Some((layout, lines)) = left_over(lot, self.ground.demands, ALONE) else {
            return;
        };
        let missing: i64 = self
            .ground
            .demands
            .iter()
            .map(|one| i64::from(one.least) * one.missing)
            .sum();
        self.bound = Some(self.ground.floor(layout.found.bound - missing));
        self.keep(vec![Some(Pattern::of(lot.job, &layout, (lines, ALONE)))]);
    }

    /// Sets prices until no log has a better layout at them; what the program says then.
    fn prices(&mut self) -> Option<Mixed> {
        let mut center = Prices::none(self.ground.demands.len());
        for (price, demand) in center.least.iter_mut().zip(self.ground.demands) {
            *price = demand.missing;
        }
        center = center.within(self.ground.demands);
        let none = Prices::none(self.ground.demands.len());
        let round = self.round(&none, &mut center.clone());
        self.first(&round);
        let _round = self.round(&center.clone(), &mut center);
        let mut mixed = None;
        while self.rounds < ROUNDS && !self.done() {
            let now = mix(
                &self.known.iter().collect::<Vec<_>>(),
                self.ground.lots.len(),
                self.ground.demands,
                &[],
            )?;
            let low = now.brings;
            let near = now.prices.towards(&center, STAY).within(self.ground.demands);
            let before = self.known.len();
            let _round = self.round(&near, &mut center);
            if self.known.len() == before && near != now.prices {
                let prices = now.prices.clone();
                let _round = self.round(&prices, &mut center);
            }
            let done = self.known.len() == before
                || self
                    .bound
                    .is_some_and(|bound| (bound as f64 - low) * SMALL as f64 <= bound as f64);
            mixed = Some(now);
            if done {
                break;
            }
        }
        mixed
    }

    /// Says how far it is.
    pub(super) fn told(&mut self) {
        (self.tell)(self.brings, self.bound);
    }

    /// Whether nothing better can be found, or there is no more time to.
    fn done(&self) -> bool {
        self.bound.is_some_and(|bound| bound <= self.brings) || self.work.stopped()
    }

    /// Asks all logs at prices: new layouts are known from then on, the bound may fall.
    fn round(&mut self, prices: &Prices, center: &mut Prices) -> Round {
        self.rounds += 1;
        let round = ask(self.ground, prices, &[], (self.work, &self.memory));
        if let Some(bound) = round.bound.map(|bound| self.ground.floor(bound))
            && self.bound.is_none_or(|least| bound < least)
        {
            self.bound = Some(bound);
            *center = prices.clone();
        }
        for (log, pattern) in round.patterns.iter().enumerate() {
            if let Some(pattern) = pattern {
                self.learn(log, pattern);
            }
        }
        (self.tell)(self.brings, self.bound);
        round
    }

    pub(super) fn learn(&mut self, log: usize, pattern: &Pattern) {
        let same = |one: &Known| {
            one.log == log && one.pattern.counts == pattern.counts && one.pattern.worth >= pattern.worth
        };
        if pattern.worth > 0 && !self.known.iter().any(same) {
            self.known.push(Known {
                log,
                pattern: pattern.clone(),
            });
        }
    }

    /// A first allotment: the best of every log, as long as no limit is passed.
    fn first(&mut self, round: &Round) {
        let mut chosen: Vec<Option<Pattern>> = vec![None; self.ground.lots.len()];
        for (log, pattern) in round.patterns.iter().enumerate() {
            chosen[log] = pattern
                .clone()
                .filter(|pattern| self.ground.has_room(&chosen, pattern));
        }
        self.keep(chosen);
    }

    /// Takes an allotment where it brings more than any before.
    pub(super) fn keep(&mut self, chosen: Vec<Option<Pattern>>) {
        let now = brings(&chosen, self.ground.demands);
        if now > self.brings {
            (self.best, self.brings) = (chosen, now);
            (self.tell)(self.brings, self.bound);
        }
    }

    /// Fixes what the program has as good as whole, log by log, and mixes the rest anew.
    fn dive(&mut self, mixed: &Mixed) {
        let mut chosen: Vec<Option<Pattern>> = vec![None; self.ground.lots.len()];
        let mut open = vec![true; self.ground.lots.len()];
        let mut shares = mixed.shares.clone();
        // Those that came later were not mixed.
        let mut known: Vec<Known> = self.known.iter().take(shares.len()).cloned().collect();
        loop {
            let mut order: Vec<usize> = (0..known.len()).collect();
            order.sort_by(|a, b| shares[*b].total_cmp(&shares[*a]).then(a.cmp(b)));
            let mut fixed = false;
            for column in order {
                if fixed && shares[column] < WHOLE {
                    break;
                }
                let one = &known[column];
                if open[one.log] && self.ground.has_room(&chosen, &one.pattern) && shares[column] > 1e-6 {
                    chosen[one.log] = Some(one.pattern.clone());
                    open[one.log] = false;
                    fixed = true;
                }
            }
            if !fixed || self.done() {
                break;
            }
            let left = self.ground.left(&chosen);
            known.retain(|one| open[one.log] && self.ground.has_room(&chosen, &one.pattern));
            if known.is_empty() {
                break;
            }
            let all: Vec<&Known> = known.iter().collect();
            let Some(next) = mix(&all, self.ground.lots.len(), &left, &[]) else {
                break;
            };
            shares = next.shares;
        }
        let still_open = open.iter().enumerate().filter(|(_, open)| **open);
        for (log, _) in still_open {
            self.ground.fill(&mut chosen, log);
        }
        self.keep(chosen);
    }

    /// Asks log after log for its best layout beside all others, until none brings more.
    fn improve(&mut self) {
        for _ in 0..SWEEPS {
            let before = self.brings;
            let logs: Vec<usize> = (0..self.ground.lots.len()).collect();
            // What one log may gain alone does not hang on those before that gain nothing: many are asked at once.
            let mut from = 0;
            while from < logs.len() && !self.done() {
                let some = &logs[from..(from + 2 * self.work.threads).min(logs.len())];
                let (ground, best) = (self.ground, &self.best);
                let gained = each(some, self.work.threads, &|log| {
                    let mut chosen = best.clone();
                    ground.fill(&mut chosen, *log);
                    (brings(&chosen, ground.demands), chosen)
                });
                let first = gained
                    .into_iter()
                    .enumerate()
                    .find(|(_, (now, _))| *now > self.brings);
                match first {
                    Some((at, (_, chosen))) => {
                        self.keep(chosen);
                        from += at + 1;
                    }
                    None => from += some.len(),
                }
            }
            if self.brings == before || self.done() {
                break;
            }
        }
    }
}

impl Ground<'_, '_> {
    /// A bound as the most that an allotment below it can bring.
    pub(super) const fn floor(&self, bound: i64) -> i64 {
        bound - bound.rem_euclid(self.coin)
    }

    /// Whether there may be as many boards more.
    fn has_room(&self, chosen: &[Option<Pattern>], pattern: &Pattern) -> bool {
        let made = made(chosen, self.demands.len());
        let all = self.demands.iter().zip(made.iter().zip(&pattern.counts));
        all.into_iter()
            .all(|(demand, (made, count))| demand.most.is_none_or(|most| *count == 0 || made + count <= most))
    }

    /// What is left of each product beside a choice.
    pub(super) fn left(&self, chosen: &[Option<Pattern>]) -> Vec<Demand> {
        let made = made(chosen, self.demands.len());
        let all = self.demands.iter().zip(made);
        all.map(|(demand, made)| Demand {
            least: demand.least.saturating_sub(made),
            most: demand.most.map(|most| most.saturating_sub(made)),
            ..*demand
        })
        .collect()
    }

    /// The best layout of a log beside those of all others.
    fn fill(&self, chosen: &mut [Option<Pattern>], log: usize) {
        let Some(slot) = chosen.get_mut(log) else { return };
        let old = slot.take();
        let left = self.left(chosen);
        let before = brings_of(old.as_ref(), &left);
        let found = left_over(&self.lots[log], &left, FEW);
        let new = found.map(|(layout, lines)| Pattern::of(self.lots[log].job, &layout, (lines, FEW)));
        let better = new.filter(|new| brings_of(Some(new), &left) > before);
        chosen[log] = better.or(old);
    }
}

/// What a layout brings where so many of each product are left to be made.
pub(super) fn brings_of(pattern: Option<&Pattern>, left: &[Demand]) -> i64 {
    let Some(pattern) = pattern else { return 0 };
    let saved = left.iter().zip(&pattern.counts);
    let saved = saved.map(|(left, count)| i64::from(left.least.min(*count)) * left.missing);
    pattern.worth + saved.sum::<i64>()
}
