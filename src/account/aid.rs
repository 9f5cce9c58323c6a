//! Cuts at which the pull-back aid stands in for climbing, or for somebody who holds down what comes free.

use bunkside_planner::replay::Setup;
use bunkside_planner::rules::aid_bears;
use bunkside_protocol::{Angle, Feed, Move, Stroke};

use super::table::count;
use crate::measure::System;
use crate::trace::{Trace, Traced};

/// Whether a cut frees pieces with bark, or lacking a corner, in a way that is only right because the aid bears on all of
/// them.
#[must_use]
pub fn rests_on_aid(setup: &Setup<'_>, traced: &Traced) -> bool {
    let step = &traced.step;
    let flat = matches!(step.told, Move::Cut(_)) && step.before.angle == Angle::Flat;
    let climbs = step.feed == Some(Feed::Climb) && step.stroke == Some(Stroke::Homebound);
    let bark = traced.freed.iter().any(|piece| piece.bark_edge);
    flat && bark && !climbs && aid_bears(setup.mill, step, &traced.freed)
}

/// How many cuts are only right under the aid, in words; none where there is no such cut.
#[must_use]
pub fn aid_words(setup: &Setup<'_>, trace: &Trace, system: System) -> Option<String> {
    let cuts = trace.moves.iter().filter(|traced| rests_on_aid(setup, traced));
    let cuts = cuts.count() as u64;
    let (rest, they) = if cuts == 1 {
        ("rests", "it is")
    } else {
        ("rest", "they are")
    };
    let widest = system.size_at_most(setup.mill.aid?.widest);
    (cuts > 0).then(|| {
        format!(
            "{} {rest} on the pull-back aid, which bears on pieces up to {widest} wide: without it {they} not to be made",
            count(cuts, "cut")
        )
    })
}
