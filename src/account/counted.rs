//! What a piece is called that was to be a board: what does not count as one is not called by its product, anywhere.

use super::boards::{Boards, Spoilt};
use super::pieces::{Region, called};
use crate::job::Job;

/// A column that was to be boards.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Counted {
    /// What it is called: `beam`, or `board that does not count as beam`.
    pub name: String,
    /// Whether any of its boards counts.
    pub counts: bool,
    /// Why what does not count does not; none where all of it does.
    pub why: Option<String>,
}

impl Counted {
    /// Of a column of a cut plan that ran; none of waste.
    #[must_use]
    pub fn of(boards: &Boards, job: &Job, region: &Region) -> Option<Self> {
        let name = called(job, region.use_)?;
        let column = region.column.unwrap_or(0) + 1;
        let here = |one: &&Spoilt| one.layer == region.layer + 1 && one.column == column;
        let spoilt: Vec<&Spoilt> = boards.spoilt.iter().filter(here).collect();
        let counts = spoilt.len() < region.use_.boards().count();
        let name = match spoilt.as_slice() {
            [] => name,
            [one, ..] if counts => format!("{name}, of which {} does not count", one.name),
            _ => format!("board that does not count as {name}"),
        };
        let mut whys: Vec<&str> = spoilt.iter().map(|one| one.why.as_str()).collect();
        whys.dedup();
        Some(Self {
            name,
            counts,
            why: (!whys.is_empty()).then(|| whys.join("; ")),
        })
    }
}

impl Spoilt {
    /// Which piece it is, and where the cut plan has it: `piece 12 (layer 6, column 3)`.
    #[must_use]
    pub fn place(&self) -> String {
        let told = format!("layer {}, column {}", self.layer, self.column);
        self.piece
            .map_or(told.clone(), |piece| format!("piece {piece} ({told})"))
    }
}
