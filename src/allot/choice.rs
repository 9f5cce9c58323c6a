//! The best choice among layouts that are known.

use super::priced::Prices;
use super::whole::{Ground, Search};
use super::{Demand, Pattern};

/// Most choices that are gone through.
const NODES: u32 = 100_000;

/// With more logs than these there are too many choices to be gone through.
const LOGS: usize = 40;

/// A layout as a choice sees it, or none.
struct Likely<'k> {
    /// How much less it brings at the prices than the best layout of its log.
    less: i64,
    pattern: Option<&'k Pattern>,
}

struct Choice<'k> {
    demands: &'k [Demand],
    /// The layouts of each log, the best at the prices first; the log's number.
    logs: Vec<(usize, Vec<Likely<'k>>)>,
    /// What the best layouts of all logs come to at the prices.
    bound: i64,
    made: Vec<u32>,
    worth: i64,
    taken: Vec<usize>,
    best: (i64, Option<Vec<usize>>),
    nodes: u32,
}

impl Search<'_, '_> {
    /// Goes through choices of known layouts that may bring more than the best allotment, by what they bring at prices.
    pub(super) fn choose(&mut self, prices: &Prices) {
        let Ground { lots, demands, .. } = self.ground;
        if lots.len() > LOGS {
            return;
        }
        let mut logs: Vec<(usize, Vec<Likely<'_>>)> = Vec::new();
        let mut bound = prices.limits(demands);
        for log in 0..lots.len() {
            let own = self
                .known
                .iter()
                .filter(|one| one.log == log)
                .map(|one| Some(&one.pattern));
            let mut own: Vec<Likely<'_>> = own
                .chain([None])
                .map(|pattern| Likely {
                    less: -pattern.map_or(0, |pattern| prices.of(pattern)),
                    pattern,
                })
                .collect();
            own.sort_by_key(|one| one.less);
            let most = own.first().map_or(0, |one| one.less);
            bound -= most;
            own.iter_mut().for_each(|one| one.less -= most);
            logs.push((log, own));
        }
        // Those with the clearest choice first.
        logs.sort_by_key(|(_, own)| -own.get(1).map_or(i64::MAX / 2, |second| second.less));
        let mut choice = Choice {
            demands,
            bound,
            made: vec![0; demands.len()],
            worth: 0,
            taken: Vec::new(),
            best: (self.brings, None),
            nodes: NODES,
            logs,
        };
        choice.go(0, 0);
        let Some(taken) = choice.best.1.take() else { return };
        let mut chosen: Vec<Option<Pattern>> = vec![None; lots.len()];
        for ((log, own), at) in choice.logs.iter().zip(taken) {
            chosen[*log] = own[at].pattern.cloned();
        }
        self.keep(chosen);
    }
}

impl Choice<'_> {
    fn go(&mut self, at: usize, less: i64) {
        if self.nodes == 0 {
            return;
        }
        self.nodes -= 1;
        let Some(layouts) = self.logs.get(at).map(|(_, own)| own.len()) else {
            let all = self.demands.iter().zip(&self.made);
            let missing =
                all.map(|(demand, made)| i64::from(demand.least.saturating_sub(*made)) * demand.missing);
            let brings = self.worth - missing.sum::<i64>();
            if brings > self.best.0 {
                self.best = (brings, Some(self.taken.clone()));
            }
            return;
        };
        for number in 0..layouts {
            let one = &self.logs[at].1[number];
            let (more, pattern) = (one.less, one.pattern);
            if self.bound - less - more <= self.best.0 {
                return;
            }
            let counts: &[u32] = pattern.map_or(&[], |pattern| &pattern.counts);
            let room = self.demands.iter().zip(self.made.iter().zip(counts));
            let room = room.into_iter().all(|(demand, (made, count))| {
                demand.most.is_none_or(|most| *count == 0 || made + count <= most)
            });
            if !room {
                continue;
            }
            let worth = pattern.map_or(0, |pattern| pattern.worth);
            for (made, count) in self.made.iter_mut().zip(counts) {
                *made += count;
            }
            self.worth += worth;
            self.taken.push(number);
            self.go(at + 1, less + more);
            self.taken.pop();
            self.worth -= worth;
            for (made, count) in self.made.iter_mut().zip(counts) {
                *made -= count;
            }
        }
    }
}
