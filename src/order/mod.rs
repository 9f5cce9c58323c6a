//! The order of cuts that takes the least time.
//!
//! The habit order of [`bunkside_planner::sequence`] is what a sawyer does by rule of thumb. Here every order is looked at
//! of the kerfs in the table: which upright kerf is cut when, how far each flat stroke goes, on which stroke and in how many passes, when what
//! has come off is taken away, when the knife is taken off. It is a shortest path, layer by layer, over the wood that
//! stands and the place where carriage and blade stand; what a stroke takes and whether it may be made is told by the same
//! replay and the same rules that judge every sequence.
//!
//! | what is chosen | from what |
//! |---|---|
//! | upright kerfs | any that is not undercut, in as few passes as the depth allows or one more, evenly shared |
//! | flat kerf | to any edge whose earlier edges are cut, or through; where passes may be needed also to just short of an edge, in even shares, and where the habit order has its passes |
//! | stroke | outbound or homebound, for each pass |
//! | feed | the fastest that the rules have nothing against |
//! | unloading | at once or later, but before the blade goes under what has come off, and before the next layer |
//! | knife | fitted or taken off at any hold |
//!
//! What counts is time, and a price in seconds for every cut at which somebody has to hold down with a pole what comes free, if one
//! is asked for: a hand carriage cannot climb there. It is in what is guessed too, as far as that is told by what comes off.
//!
//! What is not chosen: the way between two strokes is always that of
//! [`bunkside_planner::sequence::Carriage`]; layers come in the order of the plan;
//! a kerf that is begun is finished before another. A stroke of which nobody can say what it frees is only looked at in a
//! layer that cannot be cut without, and what may have come free is then taken away at once. Such strokes are first those
//! of upright kerfs that leave something hanging by a thread whatever the order; where these are not enough all are looked
//! at, and nothing is proven.
//!
//! Where a layer has more than 16 upright kerfs, or more orders than can be looked at in twenty seconds, or the whole log
//! took two minutes already, edges are only cut from the entry side on, and nothing is proven.
//!
//! The search is exact because what it guesses beforehand is never more than what really happens, and because a place
//! where a layer ends is only left out where the best one reaches every next stroke as soon. What may break off with a
//! thread is left out of what is guessed.

mod carry_out;
mod course;
mod ends;
mod follow;
mod guess;
mod label;
mod level;
mod passes;
mod relaxed;
mod rest;
mod rims;
mod search;
mod shifts;
mod state;
#[cfg(test)]
pub(crate) mod tests;
mod wood;

use bunkside_planner::physics::support::flaws;
use bunkside_planner::plan::CutPlan;
use bunkside_planner::replay::Setup;
use bunkside_planner::sequence::{PlanError, PlanErrorKind};
use bunkside_protocol::Move;

pub use search::Effort;
#[cfg(test)]
pub(crate) use tests::example;

use course::Course;
use search::Bar;

/// How often a whole sequence may turn out to be refused between two strokes.
const TRIALS_MAX: usize = 24;

/// Strokes that may be run for one job before its layers are only looked at as far as that is cheap: less than two
/// minutes.
const STROKES_OF_A_JOB: usize = 1_000_000;

/// What is asked of an order.
#[derive(Clone, Copy, Debug, Default)]
pub struct Asked<'a> {
    /// Whether the blade is stopped whenever somebody unloads.
    pub stop_to_unload: bool,
    /// Rules that may warn, because they warn in the habit order too.
    pub tolerated: &'a [&'static str],
    /// Seconds that count for each cut at which somebody has to hold down what comes free, beside the time that it takes: fewer
    /// of these are worth so much time.
    pub hold_down: f64,
    /// The moves of an order that is known already: where its passes stand is looked at too.
    pub known: &'a [Move],
}

/// An order of cuts, and what is known of it.
#[derive(Clone, Debug)]
pub struct Ordered {
    /// The moves.
    pub moves: Vec<Move>,
    /// Seconds that they take, as the search has it.
    pub seconds: f64,
    /// Seconds that no order of these kerfs can do without: every kerf at the fastest feed of blade, engine and drive with its
    /// run-outs, the fewest swings, the shortest shifts, the fewest holds, and the fewest stops of the blade for a height set by hand.
    pub bound: f64,
    /// Whether no order that is looked at can be faster, what counts for holding down counted.
    pub proven: bool,
    /// What the search cost.
    pub effort: Effort,
}

/// Finds the order that takes the least time.
///
/// # Errors
///
/// [`PlanError`] where there is no order that every rule allows, or a layer is too much for the search.
pub fn least_time(setup: &Setup<'_>, plan: &CutPlan<'_>, asked: &Asked<'_>) -> Result<Ordered, PlanError> {
    let mut flaw = None;
    flaws(setup.mill, setup.log, &setup.shape, &mut |found| {
        flaw = flaw.or(Some(found));
    });
    if let Some(flaw) = flaw {
        return Err(PlanError {
            layer: 0,
            column: None,
            kind: PlanErrorKind::Support(flaw),
        });
    }
    let mut barred: Vec<Bar> = Vec::new();
    let mut spent = 0;
    for _ in 0..TRIALS_MAX {
        let left = STROKES_OF_A_JOB.saturating_sub(spent);
        let found = Course::find(setup, plan, asked, &barred, left)?;
        spent += found.effort.strokes;
        match found.carried_out(setup, asked) {
            Ok(ordered) => return Ok(ordered),
            Err(Some(bar)) if spent < STROKES_OF_A_JOB => barred.push(bar),
            Err(_) => break,
        }
    }
    Err(PlanError {
        layer: 0,
        column: None,
        kind: PlanErrorKind::Full,
    })
}
