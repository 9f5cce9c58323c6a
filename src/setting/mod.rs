//! The setting sheet: how a log is brought onto the bunks and packed, so that it lies as its layout assumes, and what
//! to measure on the first board.
//!
//! | module | tells |
//! |---|---|
//! | `across` | how far to shift the log across so that the blade gets wherever its boards need it |
//! | `bunks` | how far to pack the bunks that carry, and how far the others stay open; what stands against it |
//! | `carried` | how far to shift the log so that they carry it |
//! | `dogs` | which dogs hold nothing, and which stand where a wedge is to stand |
//! | `ends` | where the centres of both ends must come to lie; how far to raise and shift each end |
//! | `staging` | from which side, over bearers how high, how far off the next log stays |
//! | `roll` | from when on a log that rolls climbs over its wedges |
//! | `first` | the sizes of the first board, how far they may be off, and what to do when they are |
//! | `words` | all of it in sentences |
//!
//! Two bunks carry a stiff log: the outermost ones under it. Those between are left open until it lies on the
//! others, and are packed up to it and wedged then. Wedges stand on what carries the log: on the bunk, or on its pack.
//!
//! ```text
//!            ___________________________________
//!           |                                   |   the line that is laid parallel to the rails
//!           |___________________________________|
//!              |packing|     (open)      |on it|
//!   bed ────────bunk 1────────bunk 2─────bunk 3────
//! ```
//!
//! Heights are whole micrometres above the bed, over bark; nothing here decides where a cut goes.

mod across;
mod bunks;
mod carried;
mod dogs;
mod ends;
mod first;
mod roll;
mod staging;
pub mod words;

use bunkside_planner::replay::Setup;
use serde::Serialize;

pub use across::offset_within;
pub use bunks::{BunkRow, FlawKind, FlawRow, Lies, Role, rows as bunk_rows};
pub use carried::shift;
pub use dogs::{DogRow, InTheWay};
pub use ends::{Bow, EndRow};
pub use first::{BoardEnd, BoardPart, FirstBoard, IF_OFF, IfOff, Laid};
pub use roll::Roll;
pub use staging::{Bearer, Hand, Staging, Way};

use crate::cut_plan::OwnedPlan;
use crate::job::Job;
use crate::planned::Planned;
use crate::trace::Trace;

/// How one log is set on one mill.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Sheet {
    /// The bunks under the log, by rising travel.
    pub bunks: Vec<BunkRow>,
    /// Near end and far end.
    pub ends: [EndRow; 2],
    /// How far the log's centre line leaves the straight line between them.
    pub bow: Bow,
    /// The bunk between, by its number from 1, on which the log would rock before the two that carry it are packed.
    pub rocks_on: Option<usize>,
    /// The dogs, in the order of the mill's profile.
    pub dogs: Vec<DogRow>,
    /// Why it cannot be set so: what rule `support` refuses of it.
    pub flaws: Vec<FlawRow>,
    /// How it is brought onto the bunks.
    pub staging: Staging,
    /// What to measure on the first board; none where no plan says what a piece is to be, or no board comes off.
    pub first_board: Option<FirstBoard>,
}

impl Sheet {
    /// The sheet of a sequence as it ran; its first board is known where job and plan are.
    #[must_use]
    pub fn of(setup: &Setup<'_>, trace: &Trace, plan: Option<(&Job, &OwnedPlan)>) -> Self {
        let bunks = bunks::rows(setup);
        Self {
            ends: ends::rows(setup, &bunks),
            bow: ends::bow(setup),
            rocks_on: ends::rocks_on(&bunks),
            dogs: dogs::rows(setup),
            flaws: bunks::flaws(setup),
            staging: staging::staging(setup, trace, &bunks),
            first_board: plan.and_then(|(job, plan)| first::first_board(setup, trace, job, plan)),
            bunks,
        }
    }

    /// That of a job that was planned.
    #[must_use]
    pub fn planned(planned: &Planned<'_>) -> Self {
        Self::of(planned.setup, &planned.trace, Some((planned.job, planned.plan)))
    }
}
