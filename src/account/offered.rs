//! What the best layout that can be sawn would bring, beside a log that is laid out by the hand habit.

use serde::Serialize;

use super::boards::Boards;
use super::table::count;
use super::value::money_words;
use super::value::sum;
use crate::job::Layouts;
use crate::layout::{money, quickly};
use crate::planned::{Planned, lay_out_plainly};

/// What another layout would bring.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Offered {
    /// How many boards of it count.
    pub boards: u32,
    /// What these bring together, in the job's money.
    pub brings: f64,
    /// What the boards bring that are planned.
    pub planned_brings: f64,
    /// How much more that is, percent; none where what is planned brings nothing.
    pub more_percent: Option<f64>,
    /// What is owed to the order and planned, of which fewer would come out.
    pub leaves_out: Vec<String>,
}

impl Offered {
    /// That of a log that is laid out by the hand habit, whose boards are these; none of another cut plan, where no other layout
    /// brings more, or where to find it takes much work.
    #[must_use]
    pub fn of(planned: &Planned<'_>, boards: &Boards) -> Option<Self> {
        let (job, setup) = (planned.job, planned.setup);
        let by_habit = || lay_out_plainly(job, setup).is_ok_and(|plain| plain == *planned.plan);
        if job.layout != Layouts::ByHabit || job.begun.is_some() || !by_habit() {
            return None;
        }
        let now = sum(job, boards);
        let plan = quickly(job, setup, now)?;
        let best = Boards::of(&Planned::new(job, setup, &plan).ok()?);
        let brings = sum(job, &best);
        let short = |name: &str| boards.owed.iter().find(|one| one.name == name);
        let short = |name: &str| short(name).map_or(0, |one| one.least - one.count);
        let fewer = best.owed.iter().zip(best.owed_lines());
        let fewer = fewer.filter(|(one, _)| one.least - one.count > short(&one.name));
        (brings > now).then(|| Self {
            leaves_out: fewer.map(|(_, line)| line).collect(),
            boards: best.boards.iter().map(|row| row.count).sum(),
            brings: money(brings),
            planned_brings: money(now),
            more_percent: (now > 0).then(|| (brings - now) as f64 * 100.0 / now as f64),
        })
    }

    /// It in a sentence.
    #[must_use]
    pub fn words(&self) -> String {
        let advice = if self.leaves_out.is_empty() {
            ": write `layout = \"best\"` under [setting] and plan again".to_owned()
        } else {
            format!(
                ", but the order would not be filled as it is now ({}): write `layout = \"best\"` under [setting] only where that may be",
                self.leaves_out.join("; ")
            )
        };
        let more = self
            .more_percent
            .map_or_else(String::new, |more| format!(", {more:.0} % more"));
        format!(
            "by the hand habit, worth {} in the job's money; the best layout that can be sawn would bring {} worth {}\
             {more}{advice}",
            money_words(self.planned_brings),
            count(u64::from(self.boards), "board"),
            money_words(self.brings)
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What brings nothing now has no percentage more.
    #[test]
    fn how_much_more_is_told_only_beside_something() {
        let words = |planned_brings: f64, more_percent| {
            let offered = Offered {
                boards: 3,
                brings: 12.0,
                planned_brings,
                more_percent,
                leaves_out: Vec::new(),
            };
            offered.words()
        };
        let some = words(10.0, Some(20.0));
        assert!(
            some.contains("bring 3 boards worth 12.00, 20 % more: write"),
            "{some}"
        );
        let none = words(0.0, None);
        assert!(none.contains("bring 3 boards worth 12.00: write"), "{none}");
    }
}
