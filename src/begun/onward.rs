//! What comes off a log that is partly sawn where nothing is laid out anew: the moves there are, gone on with as they are.

use bunkside_planner::replay::Setup;
use bunkside_protocol::Move;

use super::{Begun, refuses};
use crate::job::Job;
use crate::trace::Trace;

/// What the moves there are would still bring.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Onward {
    /// What their boards are worth, thousandths.
    pub worth: i64,
    /// How many boards they free, by product of the job: what is wanted beside those that are off.
    pub boards: Vec<u32>,
}

impl Onward {
    /// Of all the moves of a log, some of which are done; none where a rule refuses one that is not, with what is known now.
    pub(super) fn of(job: &Job, setup: &Setup<'_>, moves: &[Move], begun: &Begun) -> Option<Self> {
        let done = begun.moves.len();
        if done >= moves.len() || refuses(setup, moves, done..moves.len()).is_some() {
            return None;
        }
        let mut later = begun.clone();
        let trace = Trace::run(setup, moves);
        let freed = trace.moves.iter().skip(done).flat_map(|traced| &traced.freed);
        let worth = freed.map(|piece| later.count(job, setup, piece)).sum();
        let boards = later.off.iter().zip(&begun.off);
        Some(Self {
            worth,
            boards: boards.map(|(after, before)| after - before).collect(),
        })
    }
}
