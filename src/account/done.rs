//! What is done already of a log that is partly sawn, and how to go on.

use serde::Serialize;

use super::findings::FindingEntry;
use super::table::count;
use crate::job::Job;
use crate::layout::money;
use crate::measure::clock;
use crate::trace::Trace;

/// What is done.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Done {
    /// How many moves are done: the number of the first that is not.
    pub moves: usize,
    /// How long they take, seconds; none where the rest is not put in order.
    pub seconds: Option<f64>,
    /// From which move on the rest is planned: later where a column that is begun is finished first.
    pub planned_from: usize,
    /// The boards that are off by then, of products of which there are any.
    pub boards: Vec<Off>,
    /// How many pieces came off beside them.
    pub others: u32,
    /// What the moves that are not done would bring as they are, in the job's money, and their boards; none where a rule refuses one
    /// of them with what is known now, or there are none.
    pub onward: Option<OnwardEntry>,
    /// What rules refuse of them because of metal that has been found since.
    pub refused: Vec<FindingEntry>,
}

/// What moves that are there already would bring.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct OnwardEntry {
    /// What their boards are worth.
    pub value: f64,
    /// Their boards, of products of which there are any.
    pub boards: Vec<Off>,
}

impl OnwardEntry {
    /// Of a job.
    #[must_use]
    pub fn of(job: &Job) -> Option<Self> {
        let onward = job.begun.as_ref()?.onward.as_ref()?;
        Some(Self {
            value: money(onward.worth),
            boards: named(job, &onward.boards),
        })
    }

    /// Its boards and what they bring; none where it has none.
    #[must_use]
    pub fn words(&self) -> Option<String> {
        let boards = listed(&self.boards)?;
        Some(format!("{boards}, worth {:.2}", self.value))
    }
}

/// Boards by the names of their products.
fn named(job: &Job, counts: &[u32]) -> Vec<Off> {
    let some = job.boards.iter().zip(counts).filter(|(_, count)| **count > 0);
    some.map(|(spec, count)| Off {
        name: spec.name.clone(),
        count: *count,
    })
    .collect()
}

fn listed(boards: &[Off]) -> Option<String> {
    let all: Vec<String> = boards
        .iter()
        .map(|off| format!("{} of {}", off.count, off.name))
        .collect();
    (!all.is_empty()).then(|| all.join(", "))
}

/// Boards that are off.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Off {
    /// What the product is called.
    pub name: String,
    /// How many.
    pub count: u32,
}

impl Done {
    /// That of a job, and of its moves, where they are known; none where nothing is done.
    #[must_use]
    pub fn of(job: &Job, trace: Option<&Trace>) -> Option<Self> {
        let begun = job.begun.as_ref()?;
        let moves = begun.done;
        let begins = |trace: &Trace| {
            trace
                .moves
                .get(moves)
                .map_or_else(|| trace.seconds(), |next| next.start)
        };
        Some(Self {
            moves,
            planned_from: begun.moves.len(),
            seconds: trace.map(begins),
            boards: named(job, &begun.off),
            others: begun.others,
            onward: OnwardEntry::of(job),
            refused: trace.map_or_else(Vec::new, |trace| {
                trace.past.iter().map(FindingEntry::from).collect()
            }),
        })
    }

    /// It in a sentence or two.
    #[must_use]
    pub fn words(&self) -> String {
        let moves = count(self.moves as u64, "move");
        format!("the first {moves}{}: {}", self.takes(), self.rest())
    }

    /// The same, said first of all to who has not heard that the log is partly sawn.
    #[must_use]
    pub fn headline(&self) -> String {
        let (moves, are) = (
            count(self.moves as u64, "move"),
            if self.moves == 1 { "is" } else { "are" },
        );
        format!(
            "this log is partly sawn: {moves} {are} done{}; {}",
            self.takes(),
            self.rest()
        )
    }

    fn takes(&self) -> String {
        self.seconds
            .map_or_else(String::new, |seconds| format!(" ({})", clock(seconds)))
    }

    /// How to go on, and what is off.
    fn rest(&self) -> String {
        let boards = listed(&self.boards).map_or_else(
            || "no board of the order is off".to_owned(),
            |boards| format!("off already, and taken off the order: {boards}"),
        );
        let onward = self.onward.as_ref().and_then(OnwardEntry::words);
        let onward = onward.map_or_else(String::new, |boards| {
            format!(". The moves there are, gone on with as they are, would still free {boards}")
        });
        let finished = if self.planned_from > self.moves {
            format!(
                ", which finishes the column that is begun as it was to be: the rest is new from move {} on",
                self.planned_from
            )
        } else {
            String::new()
        };
        format!(
            "go on with move {}, and not before{finished}; {boards}; {} beside{onward}",
            self.moves,
            count(u64::from(self.others), "other piece")
        )
    }

    /// What is refused of it; none where nothing is.
    #[must_use]
    pub fn refused_words(&self) -> Option<String> {
        let first = self.refused.first()?;
        Some(format!(
            "warning: with what is known now rule {} would refuse move {}, which is done ({}). What follows is judged by every \
             rule all the same, but no moves.job is written: a controller judges every move anew, and would refuse that one. Take \
             the metal out where the kerf has laid it bare, and take it out of the job; then plan again",
            first.rule, first.index, first.note
        ))
    }
}
