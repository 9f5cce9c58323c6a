//! On which sides of the log nobody stands, because something goes over there: the one place that tells it, for every page.

use bunkside_planner::rules::forbids;
use bunkside_protocol::{Act, Move};

use crate::trace::Trace;

/// The rule that tells it.
const FALLS_OFF: &str = "falls-off";

/// Entry side, exit side: whether what a move frees goes over there, or what an earlier one freed and nobody has taken away yet.
/// Whatever the rule finds counts, in whichever way a stroke in doubt comes out.
#[must_use]
pub fn forbidden(trace: &Trace, at: u16) -> [bool; 2] {
    let unloads = |told: Move| matches!(told, Move::Hold(hold) if hold.acts.contains(Act::Unload));
    let mut before = trace.moves.iter().map(|traced| &traced.step);
    let cleared = before.rfind(|step| step.index < at && unloads(step.told));
    let since = cleared.map_or(0, |hold| hold.index);
    let findings = trace.findings.iter();
    let here = findings.filter(|one| one.rule == FALLS_OFF && (since..=at).contains(&one.index));
    here.map(|one| forbids(one.objection.note))
        .fold([false; 2], |[entry, exit], [left, right]| {
            [entry || left, exit || right]
        })
}
