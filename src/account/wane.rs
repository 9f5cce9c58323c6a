//! What is missing at the corners of a board.

use bunkside_planner::geometry::{Interval, Section};
use bunkside_planner::plan::Board;
use bunkside_planner::replay::Setup;
use bunkside_protocol::Length;

use super::boards::stretch;
use super::pieces::Region;
use crate::job::{BoardSpec, Job};
use crate::measure::System;

/// Places are looked at so far within a board: at its very faces there is nothing on either side.
const HAIR: Length = Length::um(2);

/// What is wrong with the wane of a board: how much of its faces or edges is missing, or along how much of its length.
pub(super) fn wane(
    job: &Job,
    setup: &Setup<'_>,
    region: &Region,
    spec: &BoardSpec,
    board: Board,
) -> Option<String> {
    let board = stretch(job, setup, board.length, board.end);
    let system = System::of(job.inches);
    // Floors and corners are snapped to the grid.
    let grid = setup.mill.grid;
    let missing = |most: Length| Missing {
        setup,
        region,
        most: most + grid,
    };
    let lies = lies(region, spec, grid);
    let of_width = |most: Length, along: Interval| missing(most).worst(lies, along);
    if let Some(over) = of_width(spec.wane.face, board) {
        return Some(format!(
            "{} of its width is missing at an edge, and {} may be",
            system.size(over),
            system.size(spec.wane.face)
        ));
    }
    if let Some(edge) = spec.wane.edge.filter(|_| spec.wane.face > Length::ZERO)
        && let Some(over) = missing(edge).worst(!lies, board)
    {
        return Some(format!(
            "{} of its thickness is missing on an edge, and {} may be",
            system.size(over),
            system.size(edge)
        ));
    }
    let whole = Length::um((board.length().wide() * i64::from(spec.wane.whole)).div_euclid(1_000));
    let parts = [
        Interval::new(board.lo, board.lo + whole),
        Interval::new(board.hi - whole, board.hi),
    ];
    let waned = parts.map(|part| !part.is_empty() && of_width(Length::ZERO, part).is_some());
    (waned == [true; 2]).then(|| {
        format!(
            "it has wane along more than {} % of its length",
            (1_000 - spec.wane.whole) / 10
        )
    })
}

/// Whether a board lies flat.
fn lies(region: &Region, spec: &BoardSpec, grid: Length) -> bool {
    region.across.length() + grid >= spec.width && region.height.length() + grid >= spec.thickness
}

/// What is missing of a region of the log.
#[derive(Clone, Copy)]
struct Missing<'a> {
    setup: &'a Setup<'a>,
    region: &'a Region,
    /// So much may be.
    most: Length,
}

impl Missing<'_> {
    /// The most that is missing anywhere along a stretch, where that is too much: across, at the underside and the face; or up,
    /// at either side.
    fn worst(&self, across: bool, along: Interval) -> Option<Length> {
        let mut worst = Length::ZERO;
        self.setup.shape.any_within(along, false, |section| {
            let missing = if across {
                self.at_faces(section)
            } else {
                self.at_sides(section)
            };
            worst = missing.into_iter().fold(worst, Length::max);
            false
        });
        (worst > self.most).then_some(worst)
    }

    fn at_faces(&self, section: &Section) -> [Length; 2] {
        let Region { across, height, .. } = self.region;
        [height.lo + HAIR, height.hi - HAIR].map(|face| match section.chord(face) {
            Some(chord) => (chord.lo - across.lo).max(across.hi - chord.hi),
            None => across.length(),
        })
    }

    fn at_sides(&self, section: &Section) -> [Length; 2] {
        let Region { across, height, .. } = self.region;
        // Where the log's side lies low, a step of the grid across is more than one up.
        let within = HAIR + self.setup.mill.grid;
        [across.lo + within, across.hi - within].map(|side| {
            let side = Interval::new(side, side + Length::um(1));
            match section.height_in(side, *height) {
                Some(held) => (held.lo - height.lo).max(height.hi - held.hi),
                None => height.length(),
            }
        })
    }
}
