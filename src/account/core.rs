//! What of the log's pith or rot lies in a board.

use bunkside_planner::geometry::Interval;
use bunkside_planner::layout::exact::Heart;
use bunkside_planner::plan::Board;
use bunkside_planner::replay::Setup;

use super::boards::stretch;
use super::pieces::Region;
use crate::job::{BoardSpec, Job};

/// What is wrong with a board that meets the core.
pub(super) fn core(
    job: &Job,
    setup: &Setup<'_>,
    region: &Region,
    spec: &BoardSpec,
    board: Board,
) -> Option<String> {
    let core = job.core.as_ref()?;
    if spec.core == Heart::Any {
        return None;
    }
    let along = stretch(job, setup, board.length, board.end).meet(core.travel);
    let (mut lies, mut whole) = (false, true);
    if !along.is_empty() {
        setup.shape.any_within(along, false, |section| {
            let [across, height] = core.in_section(section);
            // Floors and corners are snapped to the grid.
            let meets = |board: Interval, core: Interval| board.meet(core).length() > setup.mill.grid;
            let holds = |board: Interval, core: Interval| {
                let board = board.grown(setup.mill.grid);
                board.lo <= core.lo && core.hi <= board.hi
            };
            lies |= meets(region.across, across) && meets(region.height, height);
            whole &= holds(region.across, across) && holds(region.height, height);
            false
        });
    }
    match spec.core {
        Heart::Clear if lies => Some("the core of the log lies in it".to_owned()),
        Heart::Inside if lies && !whole => {
            Some("a part of the log's core lies in it, and not all".to_owned())
        }
        _ => None,
    }
}
