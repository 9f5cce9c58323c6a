//! What is owed to the order and does not come out.

use serde::Serialize;

use crate::job::Job;

/// A product of which fewer come out than are owed.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Owed {
    /// What it is called.
    pub name: String,
    /// How many are owed.
    pub least: u32,
    /// How many come out.
    pub count: u32,
}

/// The products of which fewer come out than are owed, by how many come out of each.
pub fn short_of(job: &Job, count: impl Fn(&str) -> u32) -> Vec<Owed> {
    let short = job.boards.iter().map(|spec| Owed {
        name: spec.name.clone(),
        least: spec.least,
        count: count(&spec.name),
    });
    short.filter(|one| one.count < one.least).collect()
}

/// What is owed and does not come out, in words; none where all does.
#[must_use]
pub fn owed_words(owed: &[Owed]) -> Option<String> {
    let owed: Vec<String> = owed
        .iter()
        .map(|one| format!("{} of {} {}", one.count, one.least, one.name))
        .collect();
    (!owed.is_empty()).then(|| format!("the order is not filled: {}", owed.join(", ")))
}
