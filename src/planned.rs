//! From a job to a cut plan, and from a cut plan to moves and what they do.

use std::sync::OnceLock;

use bunkside_planner::audit::Verdict;
use bunkside_planner::layout::{LayoutError, Product, plain};
use bunkside_planner::limits::HAND_PUSH;
use bunkside_planner::replay::Setup;
use bunkside_planner::sequence::{Growth, PlanError, PlanErrorKind, sequence_after};
use bunkside_protocol::{Act, Drive, MillRecord, Move};

use crate::account::findings::{RELEASE_CLIMB, second_person_cuts, warned_cuts};
use crate::account::totals::Totals;
use crate::cut_plan::OwnedPlan;
use crate::job::{GrowthStress, Job, Layouts};
use crate::layout::choose;
use crate::order::{Asked, Effort, least_time};
use crate::trace::Trace;

/// A job with a cut plan, the moves that carry it out, and those moves as they ran.
#[derive(Clone, Debug)]
pub struct Planned<'a> {
    /// The job.
    pub job: &'a Job,
    /// Its log on its mill.
    pub setup: &'a Setup<'a>,
    /// What comes out of the log, and how.
    pub plan: &'a OwnedPlan,
    /// The moves.
    pub moves: Vec<Move>,
    /// The moves as they ran, and what the rules say of them.
    pub trace: Trace,
    /// How the order of cuts was chosen.
    pub order: Order,
    /// What it takes by hand, worked out once.
    by_hand: OnceLock<Option<(f64, u32)>>,
}

/// How an order of cuts was chosen.
#[derive(Clone, Debug)]
pub enum Order {
    /// By rule of thumb.
    Habit,
    /// By rule of thumb, because a search found no order among the passes that it looks at.
    NoneFound,
    /// By rule of thumb, because growth stress is let out first.
    Stress,
    /// By rule of thumb, because the log is partly sawn.
    Begun,
    /// The least time of all orders that were looked at.
    Least(Searched),
}

/// What a search of all orders came to.
#[derive(Clone, Copy, Debug)]
pub struct Searched {
    /// Seconds that no order can do without.
    pub bound: f64,
    /// Whether no order that was looked at can be faster.
    pub proven: bool,
    /// Seconds by rule of thumb; none where that finds no way.
    pub habit: Option<f64>,
    /// Seconds that counted for each cut at which somebody has to hold down what comes free.
    pub hold_down: f64,
    /// How many cuts some rule warns of by rule of thumb; none where that finds no way.
    pub habit_warned: Option<usize>,
    /// What the search cost.
    pub effort: Effort,
}

/// Seconds that count for each cut at which somebody has to hold down with a pole what comes free, behind a hand carriage that cannot
/// climb: an order with one of them less may take five minutes longer (our judgement, no source).
pub const HOLD_DOWN: f64 = 300.0;

/// Which boards come from where, chosen as the job asks for; what still stands of a partly sawn log is laid out for most.
///
/// # Errors
/// [`LayoutError`], as of [`plain()`].
pub fn lay_out(job: &Job, setup: &Setup<'_>) -> Result<OwnedPlan, LayoutError> {
    match job.layout {
        _ if job.begun.is_some() => choose(job, setup),
        Layouts::ByHabit => lay_out_plainly(job, setup),
        Layouts::Best => choose(job, setup),
    }
}

/// The same by the plain layout, the hand habit, whatever the job asks for.
///
/// # Errors
/// [`LayoutError`], as of [`plain()`].
pub fn lay_out_plainly(job: &Job, setup: &Setup<'_>) -> Result<OwnedPlan, LayoutError> {
    let products: Vec<Product<'_>> = job
        .boards
        .iter()
        .map(|board| Product {
            thickness: board.thickness,
            width: board.width,
            lengths: &board.lengths,
            most: board.most.map(|most| u16::try_from(most).unwrap_or(u16::MAX)),
        })
        .collect();
    let draft = plain(setup, &products, job.end_trim)?;
    Ok(draft.with_plan(|plan| plan.into()))
}

impl<'a> Planned<'a> {
    /// Turns a plan into moves by rule of thumb, and runs them.
    ///
    /// # Errors
    /// [`PlanError`], as of [`sequence_after()`].
    pub fn new(job: &'a Job, setup: &'a Setup<'a>, plan: &'a OwnedPlan) -> Result<Self, PlanError> {
        let order = match job.growth_stress {
            GrowthStress::High => Order::Stress,
            GrowthStress::Medium | GrowthStress::Low if job.begun.is_some() => Order::Begun,
            GrowthStress::Medium | GrowthStress::Low => Order::Habit,
        };
        let moves = by_habit(job, setup, plan)?;
        Ok(Self::run(job, setup, plan, moves, order))
    }

    /// The same in the order that [`Planned::in_order`] finds, [`HOLD_DOWN`] counted.
    ///
    /// # Errors
    /// [`PlanError`], as of [`sequence_after()`], where neither finds a way.
    pub fn in_least_time(job: &'a Job, setup: &'a Setup<'a>, plan: &'a OwnedPlan) -> Result<Self, PlanError> {
        Self::in_order(job, setup, plan, HOLD_DOWN)
    }

    /// Turns a plan into the moves that take the least time, so many seconds counted beside it for each cut at which somebody has
    /// to hold down what comes free, and runs them. Stressed timber and what is partly sawn keep to the rule of thumb.
    ///
    /// # Errors
    /// [`PlanError`], as of [`sequence_after()`], where neither finds a way.
    pub fn in_order(
        job: &'a Job,
        setup: &'a Setup<'a>,
        plan: &'a OwnedPlan,
        hold_down: f64,
    ) -> Result<Self, PlanError> {
        let habit = Self::new(job, setup, plan);
        if keeps_to_habit(job) || matches!(&habit, Err(error) if !may_be_of_the_order(error)) {
            return habit;
        }
        let tolerated = habit.as_ref().map_or_else(|_| Vec::new(), Self::warned_of);
        let asked = Asked {
            stop_to_unload: job.setting.stop_to_unload,
            tolerated: &tolerated,
            hold_down,
            known: habit.as_ref().map_or(&[], |habit| &habit.moves),
        };
        let Ok(found) = plan.with_plan(|plan| least_time(setup, &plan, &asked)) else {
            return habit.map(|habit| Self {
                order: Order::NoneFound,
                ..habit
            });
        };
        // What is refused is no order to be compared with.
        let stands =
            |habit: &&Self| habit.trace.verdict != Verdict::Refused && habit.needs_second().is_none();
        let standing = habit.as_ref().ok().filter(stands);
        let seconds = standing.map(|habit| habit.trace.seconds());
        let habit_warned = standing.map(|habit| warned_cuts(&habit.trace));
        let searched = |proven, bound| {
            Order::Least(Searched {
                bound,
                proven,
                habit: seconds,
                hold_down,
                habit_warned,
                effort: found.effort,
            })
        };
        let least = Self::run(job, setup, plan, found.moves, searched(found.proven, found.bound));
        let told = (least.trace.seconds() - found.seconds).abs() < SAME;
        let counts = |planned: &Self| {
            planned.trace.seconds() + hold_down * second_person_cuts(&planned.trace.findings) as f64
        };
        match habit {
            // Where the search gave up before its end, or the rule of thumb parts a kerf at a place that is not looked at.
            Ok(habit) if stands(&&habit) && counts(&habit) < counts(&least) => Ok(Self {
                // Its kerfs are parted elsewhere, so that it may lie below the bound of the others.
                order: searched(false, found.bound.min(habit.trace.seconds())),
                ..habit
            }),
            // The search may count a stop more than is made, where the blade stood already.
            _ => Ok(Self {
                order: searched(found.proven && told, found.bound.min(least.trace.seconds())),
                ..least
            }),
        }
    }

    /// The rules that warn of it and may warn of another order; not that somebody holds down what comes free, where one works alone.
    fn warned_of(&self) -> Vec<&'static str> {
        let mut rules: Vec<&'static str> = Vec::new();
        for finding in &self.trace.findings {
            let held_down = self.job.setting.is_alone() && finding.rule == RELEASE_CLIMB;
            if !held_down && !rules.contains(&finding.rule) {
                rules.push(finding.rule);
            }
        }
        rules
    }

    /// How many cuts need a second person where the job says that there is none.
    #[must_use]
    pub fn needs_second(&self) -> Option<usize> {
        let cuts = second_person_cuts(&self.trace.findings);
        (self.job.setting.is_alone() && cuts > 0).then_some(cuts)
    }

    fn run(
        job: &'a Job,
        setup: &'a Setup<'a>,
        plan: &'a OwnedPlan,
        mut moves: Vec<Move>,
        order: Order,
    ) -> Self {
        // What is done stays as it is.
        let done = job.begun.as_ref().map_or(0, |begun| begun.moves.len());
        let rest = moves.split_off(done.min(moves.len()));
        let turns = moves.iter().rev().find_map(|told| match told {
            Move::Spin(on) => Some(*on),
            _ => None,
        });
        moves.extend(spun_up_last(
            &rest,
            turns.unwrap_or(false),
            job.setting.stop_to_unload,
        ));
        let mut trace = Trace::run(setup, &moves);
        trace.set_aside(done);
        Self {
            job,
            setup,
            plan,
            moves,
            trace,
            order,
            by_hand: OnceLock::new(),
        }
    }

    /// Seconds and strokes of the same plan by rule of thumb on a carriage that is pushed by hand, and so never climbs;
    /// none where it cannot be sawn that way, or is partly sawn. Stressed timber is sawn as such there too.
    #[must_use]
    pub fn by_hand(&self) -> Option<(f64, u32)> {
        *self.by_hand.get_or_init(|| self.pushed())
    }

    fn pushed(&self) -> Option<(f64, u32)> {
        if self.job.begun.is_some() {
            return None;
        }
        let mill = MillRecord {
            drive: Drive::Hand { push: HAND_PUSH },
            ..self.setup.mill.clone()
        };
        let setup = Setup::new(&mill, self.setup.log).ok()?;
        let moves = moves(&setup, self.plan, growth(self.job), &[]).ok()?;
        let moves = spun_up_last(&moves, false, self.job.setting.stop_to_unload);
        let trace = Trace::run(&setup, &moves);
        let totals = Totals::of(&setup, &trace);
        Some((trace.seconds(), totals.strokes))
    }
}

/// The moves that carry a plan out by rule of thumb, those that are done of the log before them.
///
/// # Errors
/// [`PlanError`], as of [`sequence_after()`].
pub fn by_habit(job: &Job, setup: &Setup<'_>, plan: &OwnedPlan) -> Result<Vec<Move>, PlanError> {
    let done = job.begun.as_ref().map_or(&[][..], |begun| &begun.moves);
    moves(setup, plan, growth(job), done)
}

/// What is done about the growth stress of a job's log.
const fn growth(job: &Job) -> Growth {
    match job.growth_stress {
        GrowthStress::High => Growth::Stressed,
        GrowthStress::Medium | GrowthStress::Low => Growth::Calm,
    }
}

/// Whether no other order than the rule of thumb's is looked at.
fn keeps_to_habit(job: &Job) -> bool {
    job.growth_stress == GrowthStress::High || job.begun.is_some()
}

/// Seconds by which two sums of the same times may differ.
const SAME: f64 = 1e-6;

/// Whether another order might do what the rule of thumb cannot.
const fn may_be_of_the_order(error: &PlanError) -> bool {
    !matches!(
        error.kind,
        PlanErrorKind::Support(_)
            | PlanErrorKind::NotBelow
            | PlanErrorKind::UnderWood { .. }
            | PlanErrorKind::NotFurther
            | PlanErrorKind::WoodLeft { .. }
            | PlanErrorKind::Metal { .. }
            | PlanErrorKind::BeyondRails { .. }
    )
}

/// The moves that carry a plan out behind those that are done; no more than a replay can number.
fn moves(setup: &Setup<'_>, plan: &OwnedPlan, growth: Growth, done: &[Move]) -> Result<Vec<Move>, PlanError> {
    let mut moves = done.to_vec();
    plan.with_plan(|plan| {
        sequence_after(setup, &mut done.iter().copied(), &plan, growth, &mut |next| {
            let room = moves.len() < usize::from(u16::MAX);
            if room {
                moves.push(*next);
            }
            room
        })
    })?;
    Ok(moves)
}

/// The same moves, the blade brought up to speed right before the next cut and not before: after a stop it stands while the
/// carriage runs back over a kerf with wedges in it, and while somebody sets a height by hand. Where nothing is cut any more it
/// stands until the end. If asked to, it is also stopped for every hold at which pieces are taken away. It may turn at the start.
pub(crate) fn spun_up_last(moves: &[Move], turns: bool, stop_to_unload: bool) -> Vec<Move> {
    let mut spun = Vec::with_capacity(moves.len());
    let (mut wanted, mut turns) = (turns, turns);
    for told in moves {
        let stops = match told {
            Move::Spin(on) => {
                wanted = *on;
                !wanted
            }
            Move::Hold(hold) => stop_to_unload && hold.acts.contains(Act::Unload),
            Move::Go(_) | Move::Swing(_) | Move::Cut(_) => false,
        };
        let starts = matches!(told, Move::Cut(_)) && wanted;
        if (stops && turns) || (starts && !turns) {
            turns = starts;
            spun.push(Move::Spin(turns));
        }
        if !matches!(told, Move::Spin(_)) {
            spun.push(*told);
        }
    }
    spun
}

#[cfg(test)]
mod tests {
    use super::*;
    use bunkside_protocol::{Acts, Angle, Cut, Hold, Speed, Targets};

    #[test]
    fn the_blade_stands_from_a_stop_to_the_next_cut() {
        let hold = |act| Move::Hold(Hold { acts: Acts::one(act) });
        let (unload, sweep) = (hold(Act::Unload), hold(Act::Sweep));
        let (up, down, swing) = (Move::Spin(true), Move::Spin(false), Move::Swing(Angle::Flat));
        let cut = Move::Cut(Cut {
            to: Targets::default(),
            speed: Speed::mm_per_s(100),
            feed: None,
            release: false,
        });
        for (told, stop_to_unload, expected) in [
            (vec![up, swing, cut, down], false, vec![swing, up, cut, down]),
            (
                vec![up, cut, unload, swing, cut],
                false,
                vec![up, cut, unload, swing, cut],
            ),
            (
                vec![up, cut, unload, swing, cut],
                true,
                vec![up, cut, down, unload, swing, up, cut],
            ),
            // The moves stop it themselves.
            (
                vec![up, cut, down, sweep, up, swing, cut],
                false,
                vec![up, cut, down, sweep, swing, up, cut],
            ),
            (
                vec![up, cut, down, unload, up, swing, cut],
                true,
                vec![up, cut, down, unload, swing, up, cut],
            ),
            (
                vec![up, cut, down, unload, up, down, sweep, up, cut],
                false,
                vec![up, cut, down, unload, sweep, up, cut],
            ),
            // It stands anyway for who sweeps right after it.
            (
                vec![up, cut, unload, unload, down, sweep, up, cut],
                true,
                vec![up, cut, down, unload, unload, sweep, up, cut],
            ),
            // Nothing is cut any more: the carriage comes home with the blade at rest.
            (
                vec![up, cut, unload, swing, down],
                true,
                vec![up, cut, down, unload, swing],
            ),
            (
                vec![up, cut, down, unload, up, swing, down],
                false,
                vec![up, cut, down, unload, swing],
            ),
            (vec![unload, up], true, vec![unload]),
            // Who never starts it is told so by the rules.
            (vec![cut], false, vec![cut]),
        ] {
            assert_eq!(spun_up_last(&told, false, stop_to_unload), expected, "{told:?}");
        }
    }
}
