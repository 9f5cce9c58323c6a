//! On which sides of the log nobody stands, because something goes over there: the one place that tells it, for every page.

use bunkside_planner::physics::falling::worst_each_way;
use bunkside_planner::replay::Setup;
use bunkside_planner::rules::forbids;
use bunkside_planner::stock::Piece;
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

/// The numbers of the pieces that go over as they come free, and so do not stand where they were.
#[must_use]
pub fn gone_over(setup: &Setup<'_>, trace: &Trace) -> Vec<u16> {
    let told = |index: u16| {
        trace
            .findings
            .iter()
            .any(|one| one.rule == FALLS_OFF && one.index == index)
    };
    let cuts = trace.moves.iter().enumerate();
    cuts.filter(|(_, traced)| !traced.freed.is_empty() && told(traced.step.index))
        .flat_map(|(at, traced)| {
            let after = trace.moves.get(at + 1).map_or(&trace.end, |next| &*next.before);
            let angle = traced.step.before.angle;
            let goes = move |piece: &&Piece| {
                let each = worst_each_way(setup, after, angle, core::slice::from_ref(piece));
                each.iter().any(Option::is_some)
            };
            traced.freed.iter().filter(goes).map(|piece| piece.serial)
        })
        .collect()
}
