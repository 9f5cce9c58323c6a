//! From layouts to layouts that can be sawn: what no rule of thumb saws is laid out otherwise, with no more boards of any product.

use super::priced::left_over;
use super::whole::{FEW, Ground, Work, brings_of};
use super::{Demand, Lot, Pattern};
use bunkside_planner::plan::{Board, Use};

use crate::account::boards::Boards;
use crate::cut_plan::OwnedPlan;
use crate::job::Job;
use crate::layout::{Layout, Line, best_at, by_hand, is_sawable, sawable_at, worth};
use crate::planned::Planned;
use crate::spread::each;

/// What is sawn of a log.
#[derive(Clone, Debug)]
pub struct Sawn {
    /// What it is to the whole order.
    pub pattern: Pattern,
    /// What comes out of it, and how.
    pub plan: OwnedPlan,
}

/// How often each log is asked for more once it is known what can be sawn.
const SWEEPS: u32 = 3;

/// The same allotment with layouts that can be sawn by rule of thumb; none for a log of which nothing is sawn. Where less comes out
/// than was hoped for, logs are asked for what is still wanted.
#[must_use]
pub fn sawn(
    lots: &[Lot<'_>],
    demands: &[Demand],
    chosen: &[Option<Pattern>],
    work: &Work<'_>,
) -> Vec<Option<Sawn>> {
    let logs: Vec<usize> = (0..lots.len()).collect();
    let mut sawn = each(&logs, work.threads, &|log| {
        like(&lots[*log], demands, chosen[*log].as_ref()?)
    });
    let less = |log: &usize| {
        let hoped = chosen[*log].as_ref().map_or(i64::MAX, |pattern| pattern.worth);
        sawn[*log].as_ref().map_or(0, |sawn| sawn.pattern.worth) < hoped
    };
    let short: Vec<usize> = logs.iter().copied().filter(less).collect();
    let ground = Ground {
        lots,
        demands,
        worth: &[],
        coin: 1,
    };
    for sweep in 0..SWEEPS {
        // What one log lost another may make up for, in the end.
        let asked = if sweep == 0 { &short } else { &logs };
        let before = sawn.iter().flatten().map(|sawn| sawn.pattern.worth).sum::<i64>();
        if short.is_empty() || work.stopped() {
            break;
        }
        for log in asked {
            if work.stopped() {
                break;
            }
            more(ground, &mut sawn, *log);
        }
        let now = sawn.iter().flatten().map(|sawn| sawn.pattern.worth).sum::<i64>();
        if sweep > 0 && now == before {
            break;
        }
    }
    sawn
}

/// A layout as a pattern has it, or one like it that can be sawn; where there is none, by the hand habit.
fn like(lot: &Lot<'_>, demands: &[Demand], pattern: &Pattern) -> Option<Sawn> {
    let lines = no_more(&pattern.lines, &pattern.counts, demands);
    let sawn = || {
        let layout = best_at(lot.job, &lot.setup, &pattern.lines, pattern.stacks)?;
        sawable_at(lot.job, &lot.setup, (&lines, FEW), layout)
    };
    if let Some(layout) = sawn() {
        return Some(Sawn::of(lot, layout, lines));
    }
    let most = demands.iter().zip(&pattern.counts);
    by_habit(lot, most.map(|(demand, count)| demand.most.map(|_| *count)))
}

/// What the hand habit makes of a log, with no more boards of each product than so many, if there is a limit.
pub(super) fn by_habit(lot: &Lot<'_>, most: impl Iterator<Item = Option<u32>>) -> Option<Sawn> {
    let mut job = lot.job.clone();
    for (board, most) in job.boards.iter_mut().zip(most) {
        board.most = most;
    }
    let plan = sound(&job, lot, by_hand(&job, &lot.setup)?)?;
    let mut counts = vec![0; job.boards.len()];
    for board in boards(&plan) {
        *counts.get_mut(usize::from(board.product))? += 1;
    }
    let pattern = Pattern {
        counts,
        worth: worth(&job, &plan),
        lines: Vec::new(),
        stacks: 0,
    };
    (pattern.worth > 0).then_some(Sawn { pattern, plan })
}

/// The plan without boards that would not count: the habit minds neither wane nor core. None where it cannot be sawn without them.
fn sound(job: &Job, lot: &Lot<'_>, mut plan: OwnedPlan) -> Option<OwnedPlan> {
    let spoilt = |plan: &OwnedPlan| Some(Boards::of(&Planned::new(job, &lot.setup, plan).ok()?).spoilt);
    let found = spoilt(&plan)?;
    if found.is_empty() {
        return Some(plan);
    }
    for one in found {
        let layer = plan.layers.get_mut(one.layer.checked_sub(1)?)?;
        layer.columns.get_mut(one.column.checked_sub(1)?)?.use_ = Use::Waste;
    }
    (is_sawable(job, &lot.setup, &plan) && spoilt(&plan)?.is_empty()).then_some(plan)
}

/// The boards of a plan.
fn boards(plan: &OwnedPlan) -> Vec<Board> {
    plan.with_plan(|plan| {
        let columns = plan.layers.iter().flat_map(|layer| layer.columns);
        columns.flat_map(|column| column.use_.boards()).collect()
    })
}

impl Sawn {
    fn of(lot: &Lot<'_>, layout: Layout, lines: Vec<Line>) -> Self {
        Self {
            pattern: Pattern::of(lot.job, &layout, (lines, FEW)),
            plan: layout.plan,
        }
    }
}

/// The same lines with no more than so many of any product that only so many can be used of.
fn no_more(lines: &[Line], counts: &[u32], demands: &[Demand]) -> Vec<Line> {
    let mut left = counts.to_vec();
    let mut limited = lines.to_vec();
    let used = |line: &&mut Line| {
        demands
            .get(usize::from(line.product))
            .is_some_and(|demand| demand.most.is_some())
    };
    for line in limited.iter_mut().filter(used) {
        let left = left.get_mut(usize::from(line.product));
        let own = left.as_deref().copied().unwrap_or(0);
        let most = line.most.map_or(own, |most| most.min(own));
        line.most = Some(most);
        if let Some(left) = left {
            *left -= most;
        }
    }
    limited.retain(|line| line.most != Some(0));
    limited
}

/// Asks a log for what is wanted beside what all others give, and takes it where it brings more.
fn more(ground: Ground<'_, '_>, sawn: &mut [Option<Sawn>], log: usize) {
    let Some(slot) = sawn.get_mut(log) else { return };
    let old = slot.take();
    let others: Vec<Option<Pattern>> = sawn
        .iter()
        .map(|sawn| Some(sawn.as_ref()?.pattern.clone()))
        .collect();
    let left = ground.left(&others);
    let before = brings_of(old.as_ref().map(|old| &old.pattern), &left);
    let lot = &ground.lots[log];
    let best = || {
        let (layout, lines) = left_over(lot, &left, FEW)?;
        let hoped = Pattern::of(lot.job, &layout, (lines.clone(), FEW));
        if brings_of(Some(&hoped), &left) <= before {
            return None;
        }
        let layout = sawable_at(lot.job, &lot.setup, (&lines, FEW), layout)?;
        Some(Sawn::of(lot, layout, lines))
    };
    let habit = by_habit(lot, left.iter().map(|demand| demand.most));
    // Of several alike the first.
    let all = [old, best(), habit].into_iter().flatten().rev();
    sawn[log] = all.max_by_key(|one| brings_of(Some(&one.pattern), &left));
}
