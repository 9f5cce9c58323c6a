//! What prices leave open is closed by cases: of some log no more than so many boards of a product come out, or more.
//!
//! Each case has its own prices and its own bound. The one that promises most is parted next, where the program mixes layouts of
//! one log that differ in the number of a product, until no case promises more than the best allotment brings.

use super::master::{Known, Mixed, mix};
use super::priced::{Prices, Span, ask};
use super::whole::Search;

/// Most cases that are looked at.
const CASES: usize = 2_000;

/// Most layouts of single logs that are looked for, beside those known already.
const ASKED: usize = 1_500;

/// Most rounds in which prices are set for one case.
const ROUNDS: u32 = 10;

/// Less of a layout than this counts as none of it.
const NONE: f64 = 1e-4;

/// A gap below a thousandth is small enough where there are more logs than these.
const FEW_LOGS: usize = 12;
const SMALL: i64 = 1_000;

/// A case: how many boards of some products some logs may give, and no allotment within it brings more than its bound.
#[derive(Clone, Debug)]
struct Case {
    spans: Vec<Span>,
    bound: i64,
    /// The prices at which that is so.
    prices: Prices,
}

impl Search<'_, '_> {
    /// Parts cases until the best allotment is proven, or as good as that, or there has been enough work; the bound is that of the
    /// cases left.
    pub(super) fn branch(&mut self, prices: &Prices) {
        let Some(bound) = self.bound else { return };
        let mut open = vec![Case {
            spans: Vec::new(),
            bound,
            prices: prices.clone(),
        }];
        let asked = self.memory.asked();
        for _ in 0..CASES {
            open.retain(|case| case.bound > self.brings);
            self.bound = Some(open.iter().map(|case| case.bound).max().unwrap_or(self.brings));
            self.told();
            let best = (0..open.len()).max_by_key(|case| open[*case].bound);
            let enough = self.work.stopped() || self.near_enough() || self.memory.asked() > asked + ASKED;
            let Some(best) = best.filter(|_| !enough) else {
                return;
            };
            let case = open.swap_remove(best);
            match self.parts(&case) {
                Some(cases) => open.extend(cases),
                None => {
                    open.push(case);
                    return;
                }
            }
        }
    }

    fn near_enough(&self) -> bool {
        let many = self.ground.lots.len() > FEW_LOGS;
        many && self
            .bound
            .is_some_and(|bound| (bound - self.brings) * SMALL <= bound)
    }

    /// The cases that one falls into: itself, where its bound came down, or two with less in each; none where it is as it was.
    fn parts(&mut self, case: &Case) -> Option<Vec<Case>> {
        let mut now = case.clone();
        let mixed = self.settle(&mut now)?;
        if now.bound <= self.brings {
            return Some(Vec::new());
        }
        self.choose(&now.prices);
        let parted = self.parted(&now.spans, &mixed);
        let Some(both) = parted else {
            return (now.bound < case.bound).then(|| vec![now]);
        };
        let with = |span: Span| {
            let mut spans = now.spans.clone();
            spans.push(span);
            Case { spans, ..now.clone() }
        };
        Some(both.into_iter().map(with).collect())
    }

    /// Sets the prices of a case; what the program mixes in the end. None where it cannot be told.
    fn settle(&mut self, case: &mut Case) -> Option<Mixed> {
        let mut prices = case.prices.clone();
        for number in 0..ROUNDS {
            let before = self.known.len();
            let round = ask(self.ground, &prices, &case.spans, (self.work, &self.memory));
            let bound = self.ground.floor(round.bound?);
            self.rounds += 1;
            if bound < case.bound {
                (case.bound, case.prices) = (bound, prices.clone());
            }
            for (log, pattern) in round.patterns.iter().enumerate() {
                if let Some(pattern) = pattern {
                    self.learn(log, pattern);
                }
            }
            let mixed = self.mixed(&case.spans)?;
            let done = case.bound <= self.brings || self.work.stopped();
            // The prices of the case above say nothing yet of this one.
            let settled = mixed.prices == prices || (number > 0 && self.known.len() == before);
            if done || settled {
                return Some(mixed);
            }
            prices = mixed.prices;
        }
        self.mixed(&case.spans)
    }

    /// What the program mixes within a case.
    fn mixed(&self, spans: &[Span]) -> Option<Mixed> {
        let mut whole: Vec<usize> = spans
            .iter()
            .filter(|span| span.least > 0)
            .map(|span| span.log)
            .collect();
        whole.sort_unstable();
        whole.dedup();
        mix(
            &self.within(spans),
            self.ground.lots.len(),
            self.ground.demands,
            &whole,
        )
    }

    /// The layouts that are known and lie within a case.
    fn within(&self, spans: &[Span]) -> Vec<&Known> {
        let fits = |one: &&Known| {
            let own = spans.iter().filter(|span| span.log == one.log);
            own.into_iter()
                .all(|span| span.holds(one.pattern.counts[span.product]))
        };
        self.known.iter().filter(fits).collect()
    }

    /// Where a case is best parted: the log and product of which most is mixed on either side of a number.
    fn parted(&self, spans: &[Span], mixed: &Mixed) -> Option<[Span; 2]> {
        let known = self.within(spans);
        let mut best: Option<(f64, [Span; 2])> = None;
        for log in 0..self.ground.lots.len() {
            let own = known.iter().zip(&mixed.shares);
            let own = own.filter(|(one, share)| one.log == log && **share > NONE);
            let own: Vec<(&[u32], f64)> = own.map(|(one, share)| (&*one.pattern.counts, *share)).collect();
            let nothing = 1.0 - own.iter().map(|(_, share)| share).sum::<f64>();
            for product in 0..self.ground.demands.len() {
                let counts = own.iter().map(|(counts, share)| (counts[product], *share));
                let counts: Vec<(u32, f64)> = counts.chain([(0, nothing.max(0.0))]).collect();
                for (most, _) in &counts {
                    let more: f64 = counts
                        .iter()
                        .filter(|(count, _)| count > most)
                        .map(|(_, share)| share)
                        .sum();
                    let share = more.min(1.0 - more);
                    if share > NONE && best.as_ref().is_none_or(|(least, _)| share > *least) {
                        best = Some((share, Span::both(log, product, *most)));
                    }
                }
            }
        }
        best.map(|(_, both)| both)
    }
}
