//! Pieces that are two boards end to end: cross-cut once they are unloaded.

use bunkside_planner::plan::{End, Use};
use bunkside_planner::replay::Setup;
use bunkside_protocol::Length;
use serde::Serialize;

use super::pieces::{Named, Region, named, regions};
use crate::cut_plan::OwnedPlan;
use crate::job::Job;
use crate::measure::System;
use crate::trace::Trace;

/// A piece that is cross-cut into two boards.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct CrossCut {
    /// Its number among the pieces.
    pub piece: u16,
    /// Number of its layer, from 1.
    pub layer: usize,
    /// Number of its column, from 1.
    pub column: usize,
    /// The near board and the far one.
    pub boards: [CrossCutBoard; 2],
}

/// One of the two.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct CrossCutBoard {
    /// What the product is called.
    pub name: String,
    /// `near` or `far`: the end of the log it is measured from.
    pub end: &'static str,
    /// What is trimmed off that end first.
    pub trim_um: Length,
    /// How long it is from there.
    pub length_um: Length,
}

impl CrossCut {
    /// What is to be cut of a piece of this number that fills a region; none where it is not two boards.
    #[must_use]
    pub fn of(job: &Job, region: &Region, piece: u16) -> Option<Self> {
        if !matches!(region.use_, Use::Pair { .. }) {
            return None;
        }
        let mut boards = region.use_.boards().map(|board| {
            Some(CrossCutBoard {
                name: job.boards.get(usize::from(board.product))?.name.clone(),
                end: match board.end {
                    End::Near => "near",
                    End::Far => "far",
                },
                trim_um: job.end_trim,
                length_um: board.length,
            })
        });
        Some(Self {
            piece,
            layer: region.layer + 1,
            column: region.column.unwrap_or(0) + 1,
            boards: [boards.next()??, boards.next()??],
        })
    }

    /// Those of a run, in the order the pieces come off.
    #[must_use]
    pub fn all(job: &Job, setup: &Setup<'_>, plan: &OwnedPlan, trace: &Trace) -> Vec<Self> {
        let regions = regions(setup, plan);
        let whole = |one: &Named<'_>| {
            let region = one.region?;
            let holds = region.holds(one.piece.bounds, setup.mill.grid);
            holds.then(|| Self::of(job, region, one.piece.serial))?
        };
        named(trace, &regions).iter().filter_map(whole).collect()
    }

    /// Where to cut: `into two: 5a, deck, from the near end 25 mm of trim, then 1.8 m; 5b, …`.
    #[must_use]
    pub fn words(&self, system: System) -> String {
        let boards: Vec<String> = ["a", "b"]
            .iter()
            .zip(&self.boards)
            .map(|(letter, board)| {
                let trim = match board.trim_um {
                    Length::ZERO => String::new(),
                    trim => format!("{} of trim, then ", system.size(trim)),
                };
                format!(
                    "{}{letter}, {}, from the {} end {trim}{}",
                    self.piece,
                    board.name,
                    board.end,
                    system.run(board.length_um)
                )
            })
            .collect();
        format!("into two: {}", boards.join("; "))
    }
}
