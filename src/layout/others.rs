//! Layouts beside the best one, each the best of its kind.
//!
//! | kind | what is asked |
//! |---|---|
//! | without a layer | nothing lies so high as some layer of the best layout |
//! | without a product | none of a product that the best layout has |
//! | fewer boards | a board costs so much more, at the costs at which fewer boards come to be better: no layout of as few boards, or fewer, is worth more |
//! | owed | what is owed by `least` and not in the best layout is dearer, as little as brings it in: no layout with boards of such products that bring as much together is worth more, if need be among those with no more of them than are owed |
//!
//! Each is looked for as the best layout is, with the same bound, and mended as that is where it cannot be sawn. Of those that
//! come out alike the first is kept.

use std::collections::BTreeMap;

use bunkside_planner::layout::exact::Placed;
use bunkside_planner::replay::Setup;
use bunkside_protocol::Length;

use super::sawable::sawn_of;
use super::{Layout, Line, TRIES, Wishes, best_of, worth};
use crate::job::Job;
use crate::spread::{cores, each};

/// Fewer boards are asked for at no more costs than this.
const COSTS: usize = 6;

/// Layouts that bring less than this share of the best one are none that anybody asks for: a half.
const SHARE: i64 = 2;

/// How much dearer what is owed becomes, in eighths of its price.
const RAISES: [i64; 6] = [1, 2, 4, 8, 16, 32];

/// What a layout is the best of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// No layer is so high.
    WithoutLayer(Length),
    /// There is none of this product.
    WithoutProduct(u8),
    /// It has no more boards than so many.
    Fewer(u32),
    /// What is owed and not in the best layout brings as much in it.
    Owed,
}

/// A layout beside the best one.
#[derive(Clone, Debug)]
pub struct Other {
    /// What it is the best of.
    pub kind: Kind,
    /// It; one that can be sawn, where that is asked.
    pub layout: Layout,
    /// What it brings, thousandths of the job's money.
    pub brings: i64,
    /// No layout of its kind on the step brings more, sawn or not.
    pub bound: i64,
}

/// What makes two layouts different ones: heights of layers, and boards.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Make {
    /// How many layers there are of each height.
    pub layers: BTreeMap<Length, u32>,
    /// How many boards there are of each product and length, by their numbers.
    pub boards: BTreeMap<(u8, u8), u32>,
}

impl Make {
    /// That of the boards of a layout.
    #[must_use]
    pub fn of(placed: &[Placed]) -> Self {
        let undersides: BTreeMap<_, _> = placed.iter().map(|one| (one.height, one.tall)).collect();
        let (mut layers, mut boards) = (BTreeMap::new(), BTreeMap::new());
        for tall in undersides.into_values() {
            *layers.entry(tall).or_insert(0) += 1;
        }
        for one in placed {
            *boards.entry((one.product, one.length)).or_insert(0) += 1;
        }
        Self { layers, boards }
    }
}

/// What there is beside a layout that is the best of all, those that bring most first; with what can be sawn by rule of thumb
/// alone, where that is asked.
#[must_use]
pub fn others(job: &Job, setup: &Setup<'_>, best: &Layout, sawn: bool) -> Vec<Other> {
    let search = Search { job, setup, sawn };
    let make = Make::of(&best.boards);
    let mut asked: Vec<(Kind, Wishes)> = Vec::new();
    for height in make.layers.keys() {
        let wishes = Wishes {
            without: Some(*height),
            ..Wishes::of(job)
        };
        asked.push((Kind::WithoutLayer(*height), wishes));
    }
    let mut products: Vec<u8> = make.boards.keys().map(|(product, _)| *product).collect();
    products.dedup();
    for product in products {
        let lines = Line::all(job).into_iter().filter(|line| line.product != product);
        asked.push((Kind::WithoutProduct(product), Wishes::at(lines.collect())));
    }
    let mut found: Vec<Option<Other>> = each(&asked, cores(), &|(kind, wishes)| {
        search.best(*kind, wishes.clone(), &|_| 0)
    });
    found.push(search.owed(best));
    found.extend(search.fewer(best).into_iter().map(Some));
    let most = worth(job, &best.plan);
    let mut makes = vec![make];
    let mut kept: Vec<Other> = Vec::new();
    for other in found.into_iter().flatten() {
        let make = Make::of(&other.layout.boards);
        if other.brings >= most / SHARE && !makes.contains(&make) {
            makes.push(make);
            kept.push(other);
        }
    }
    kept.sort_by_key(|other| std::cmp::Reverse(other.brings));
    kept
}

struct Search<'a> {
    job: &'a Job,
    setup: &'a Setup<'a>,
    sawn: bool,
}

impl Search<'_> {
    /// The best layout of a kind; `beyond` is how much more than at the job's prices the boards of the best one, sawn or not, are
    /// worth at those that are asked.
    fn best(&self, kind: Kind, wishes: Wishes, beyond: &dyn Fn(&Layout) -> i64) -> Option<Other> {
        let any = best_of(self.job, self.setup, &wishes, TRIES)?;
        self.sawn_like(kind, wishes, any, beyond)
    }

    fn sawn_like(
        &self,
        kind: Kind,
        wishes: Wishes,
        any: Layout,
        beyond: &dyn Fn(&Layout) -> i64,
    ) -> Option<Other> {
        if any.boards.is_empty() {
            return None;
        }
        let bound = any.found.bound - beyond(&any);
        let layout = if self.sawn {
            sawn_of(self.job, self.setup, wishes, any)?
        } else {
            any
        };
        Some(Other {
            kind,
            brings: worth(self.job, &layout.plan),
            bound,
            layout,
        })
    }

    /// More of what is owed and not in the best layout: dearer, as little as makes it enough, or as many as there may be.
    fn owed(&self, best: &Layout) -> Option<Other> {
        let least = |product: u8| {
            self.job
                .boards
                .get(usize::from(product))
                .map_or(0, |board| board.least)
        };
        let short: Vec<u8> = (0..)
            .zip(&self.job.boards)
            .map(|(product, _)| product)
            .filter(|product| count(best, *product) < least(*product))
            .collect();
        let missing = |layout: &Layout| -> u32 {
            let missing = short
                .iter()
                .map(|product| least(*product).saturating_sub(count(layout, *product)));
            missing.sum()
        };
        let mut found: Option<(Layout, i64)> = None;
        let mut left = missing(best);
        for eighths in RAISES {
            if left == 0 {
                break;
            }
            let layout = best_of(self.job, self.setup, &self.dearer(&short, eighths), TRIES)?;
            if missing(&layout) < left {
                left = missing(&layout);
                found = Some((layout, eighths));
            }
        }
        let (layout, eighths) = found?;
        let wishes = self.dearer(&short, eighths);
        // No more of them than are owed, if that brings more.
        let mut capped = wishes.clone();
        for line in capped
            .lines
            .iter_mut()
            .filter(|line| short.contains(&line.product))
        {
            line.most = Some(least(line.product));
        }
        let exact = best_of(self.job, self.setup, &capped, TRIES).filter(|exact| {
            missing(exact) == left && worth(self.job, &exact.plan) > worth(self.job, &layout.plan)
        });
        let (layout, wishes) = exact.map_or((layout, wishes), |exact| (exact, capped));
        let beyond = |any: &Layout| {
            let raised = any.boards.iter().filter(|board| short.contains(&board.product));
            let values = raised.filter_map(|board| {
                let spec = self.job.boards.get(usize::from(board.product))?;
                spec.values.get(usize::from(board.length))
            });
            values.map(|value| raise(*value, eighths)).sum()
        };
        self.sawn_like(Kind::Owed, wishes, layout, &beyond)
    }

    /// Some products, each so many eighths dearer.
    fn dearer(&self, products: &[u8], eighths: i64) -> Wishes {
        let mut lines = Line::all(self.job);
        for line in lines.iter_mut().filter(|line| products.contains(&line.product)) {
            for value in &mut line.values {
                *value += raise(*value, eighths);
            }
        }
        Wishes::at(lines)
    }

    /// Layouts of fewer boards: of those that some cost of a board makes the best, the corners of the hull over number and worth.
    fn fewer(&self, best: &Layout) -> Vec<Other> {
        let (count, most) = (number(best), best.found.worth);
        // At this cost nothing is given up that half of the worth hangs on.
        let dearest = most / SHARE / count.max(1);
        let mut asked = 0;
        let mut corners = vec![(best.clone(), 0)];
        corners.extend(self.costing(dearest, &mut asked));
        let mut open = vec![(0, 1)];
        loop {
            let boards = |at: usize| corners.get(at).map_or(0, |(layout, _)| number(layout));
            let widest = (0..open.len()).max_by_key(|at| boards(open[*at].0) - boards(open[*at].1));
            let Some((from, to)) = widest.map(|at| open.swap_remove(at)) else {
                break;
            };
            let (Some((many, _)), Some((few, _))) = (corners.get(from), corners.get(to)) else {
                continue;
            };
            let fewer = number(many) - number(few);
            let cost = (worth(self.job, &many.plan) - worth(self.job, &few.plan)) / fewer.max(1);
            let on = |layout: &Layout| worth(self.job, &layout.plan) - cost * number(layout);
            if fewer < 2 || cost <= 0 || asked >= COSTS {
                continue;
            }
            let over = on(many).max(on(few)) + fewer;
            if let Some(next) = self.costing(cost, &mut asked)
                && on(&next.0) > over
            {
                corners.push(next);
                let at = corners.len() - 1;
                open.extend([(from, at), (at, to)]);
            }
        }
        let corners = corners.split_off(1);
        each(&corners, cores(), &|(layout, cost)| {
            let (boards, wishes) = (number(layout), self.at_cost(*cost));
            let kind = Kind::Fewer(u32::try_from(boards).ok()?);
            self.sawn_like(kind, wishes, layout.clone(), &|_| -cost * boards)
        })
        .into_iter()
        .flatten()
        .collect()
    }

    /// The best layout where each board costs so much.
    fn costing(&self, cost: i64, asked: &mut usize) -> Option<(Layout, i64)> {
        *asked += 1;
        let layout = best_of(self.job, self.setup, &self.at_cost(cost), TRIES)?;
        (!layout.boards.is_empty()).then_some((layout, cost))
    }

    fn at_cost(&self, cost: i64) -> Wishes {
        let lines = Line::all(self.job).into_iter().map(|line| Line {
            values: line
                .values
                .iter()
                .map(|value| if *value > 0 { (value - cost).max(0) } else { 0 })
                .collect(),
            ..line
        });
        Wishes::at(lines.collect())
    }
}

/// So many eighths of a price.
const fn raise(value: i64, eighths: i64) -> i64 {
    value * eighths / 8
}

/// How many boards of a product a layout has.
fn count(layout: &Layout, product: u8) -> u32 {
    let boards = layout.boards.iter().filter(|board| board.product == product);
    boards.map(|_| 1).sum()
}

/// How many boards a layout has.
fn number(layout: &Layout) -> i64 {
    i64::try_from(layout.boards.len()).unwrap_or(i64::MAX)
}

#[cfg(test)]
mod tests;
