//! What the best layout that can be sawn would bring, beside a log that is laid out by the hand habit.

use serde::Serialize;

use super::boards::Boards;
use super::table::count;
use super::value::sum;
use crate::job::Layouts;
use crate::layout::{money, quickly};
use crate::planned::{Planned, lay_out_plainly};

/// What another layout would bring.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Offered {
    /// How many boards of it count.
    pub boards: u32,
    /// What these bring together, in the job's money.
    pub brings: f64,
    /// What the boards bring that are planned.
    pub planned_brings: f64,
    /// How much more that is, percent.
    pub more_percent: f64,
}

impl Offered {
    /// That of a log that is laid out by the hand habit, whose boards are these; none of another cut plan, where no other layout
    /// brings more, or where to find it takes much work.
    #[must_use]
    pub fn of(planned: &Planned<'_>, boards: &Boards) -> Option<Self> {
        let (job, setup) = (planned.job, planned.setup);
        let by_habit = || lay_out_plainly(job, setup).is_ok_and(|plain| plain == *planned.plan);
        if job.layout != Layouts::ByHabit || !by_habit() {
            return None;
        }
        let now = sum(job, boards);
        let plan = quickly(job, setup, now)?;
        let best = Boards::of(&Planned::new(job, setup, &plan).ok()?);
        let brings = sum(job, &best);
        (brings > now).then(|| Self {
            boards: best.boards.iter().map(|row| row.count).sum(),
            brings: money(brings),
            planned_brings: money(now),
            more_percent: (brings - now) as f64 * 100.0 / now.max(1) as f64,
        })
    }

    /// It in a sentence.
    #[must_use]
    pub fn words(&self) -> String {
        format!(
            "by the hand habit, worth {:.2} in the job's money; the best layout that can be sawn would bring {} worth {:.2}, \
             {:.0} % more: write `layout = \"best\"` under [setting] and plan again",
            self.planned_brings,
            count(u64::from(self.boards), "board"),
            self.brings,
            self.more_percent
        )
    }
}
