//! From a job to a cut plan, and from a cut plan to moves and what they do.

use bunkside_planner::layout::{LayoutError, Product, plain};
use bunkside_planner::replay::Setup;
use bunkside_planner::sequence::{Growth, PlanError, sequence_in};
use bunkside_protocol::{Act, Move};

use crate::cut_plan::OwnedPlan;
use crate::job::{GrowthStress, Job};
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
}

/// Which boards come from where, by the plain layout.
///
/// # Errors
/// [`LayoutError`], as of [`plain()`].
pub fn lay_out(job: &Job, setup: &Setup<'_>) -> Result<OwnedPlan, LayoutError> {
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
    /// Turns a plan into moves and runs them.
    ///
    /// # Errors
    /// [`PlanError`], as of [`sequence_in()`].
    pub fn new(job: &'a Job, setup: &'a Setup<'a>, plan: &'a OwnedPlan) -> Result<Self, PlanError> {
        let growth = match job.growth_stress {
            GrowthStress::High => Growth::Stressed,
            GrowthStress::Medium | GrowthStress::Low => Growth::Calm,
        };
        let mut moves = moves(setup, plan, growth)?;
        if job.setting.stop_to_unload {
            moves = stopped_to_unload(&moves);
        }
        let trace = Trace::run(setup, &moves);
        Ok(Self {
            job,
            setup,
            plan,
            moves,
            trace,
        })
    }
}

/// The moves that carry a plan out; no more than a replay can number.
fn moves(setup: &Setup<'_>, plan: &OwnedPlan, growth: Growth) -> Result<Vec<Move>, PlanError> {
    let mut moves = Vec::new();
    plan.with_plan(|plan| {
        sequence_in(setup, &plan, growth, &mut |next| {
            let room = moves.len() < usize::from(u16::MAX);
            if room {
                moves.push(*next);
            }
            room
        })
    })?;
    Ok(moves)
}

/// The same moves, the blade stopped for every hold at which pieces are taken away.
fn stopped_to_unload(moves: &[Move]) -> Vec<Move> {
    let mut stopped = Vec::with_capacity(moves.len());
    let mut spinning = false;
    for (at, told) in moves.iter().enumerate() {
        let unloads = matches!(told, Move::Hold(hold) if hold.acts.contains(Act::Unload));
        if let Move::Spin(on) = told {
            spinning = *on;
        }
        if !(unloads && spinning) {
            stopped.push(*told);
            continue;
        }
        let ends = moves.get(at + 1) == Some(&Move::Spin(false));
        stopped.extend([Move::Spin(false), *told]);
        if !ends {
            stopped.push(Move::Spin(true));
        }
    }
    stopped
}

#[cfg(test)]
mod tests {
    use super::*;
    use bunkside_protocol::{Acts, Angle, Hold};

    #[test]
    fn the_blade_stands_whenever_somebody_unloads() {
        let hold = |act| Move::Hold(Hold { acts: Acts::one(act) });
        let (unload, sweep) = (hold(Act::Unload), hold(Act::Sweep));
        let (up, down, swing) = (Move::Spin(true), Move::Spin(false), Move::Swing(Angle::Flat));
        for (told, expected) in [
            (vec![up, unload, swing], vec![up, down, unload, up, swing]),
            (vec![up, sweep, swing], vec![up, sweep, swing]),
            (vec![up, unload, down], vec![up, down, unload, down]),
            (vec![up, down, unload, up], vec![up, down, unload, up]),
            (vec![unload], vec![unload]),
        ] {
            assert_eq!(stopped_to_unload(&told), expected, "{told:?}");
        }
    }
}
