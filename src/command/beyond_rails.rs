//! A log of which an end lies too near the end of the rails: which one, what room there is, and what a stroke needs.

use bunkside_protocol::Length;

use crate::job::{Job, longest_log};
use crate::measure::System;

/// It in a sentence; `missing` is what the rails are too short by.
pub(super) fn words(missing: Length, job: &Job) -> String {
    let system = System::of(job.inches);
    let travel = &job.mill.travel;
    let near = job.setting.near_end_at;
    let near_end = (near - travel.min, "near", travel.min, "travel.min");
    let far_end = (travel.max - (near + job.length), "far", travel.max, "travel.max");
    // A stroke needs the same room past either end, so that the end with less of it is the one that lacks most.
    let (room, end, stops, key) = if near_end.0 <= far_end.0 {
        near_end
    } else {
        far_end
    };
    format!(
        "the log's {end} end lies too near the end of the rails: from there to where they end for the carriage, at {} (`{key}` of \
         the mill), there are {}, and every stroke needs {} to run out of the wood and to stop, {} more; the longest log that these \
         rails take is {} long",
        system.size(stops.from_origin()),
        system.size(room),
        system.size(room + missing),
        system.size_at_least(missing),
        system.run_at_most(longest_log(&job.mill))
    )
}
