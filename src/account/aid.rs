//! Cuts at which the pull-back aid stands in for climbing, or for somebody who holds down what comes free.

use bunkside_planner::geometry::Interval;
use bunkside_planner::replay::Setup;
use bunkside_protocol::{Angle, Feed, Length, Move, Stroke};

use super::table::count;
use crate::measure::System;
use crate::trace::{Trace, Traced};

/// Whether a cut frees pieces with bark, or lacking a corner, in a way that is only right because the aid bears on all of
/// them.
#[must_use]
pub fn rests_on_aid(setup: &Setup<'_>, traced: &Traced) -> bool {
    let step = &traced.step;
    let Some(aid) = setup.mill.aid.filter(|_| step.before.aid) else {
        return false;
    };
    let flat = matches!(step.told, Move::Cut(_)) && step.before.angle == Angle::Flat;
    let climbs = step.feed == Some(Feed::Climb) && step.stroke == Some(Stroke::Homebound);
    let across = traced.freed.iter().map(|piece| piece.bounds.across);
    let group = across.reduce(|all, one| Interval::new(all.lo.min(one.lo), all.hi.max(one.hi)));
    let wide = group.map_or(Length::ZERO, Interval::length);
    let bark = traced.freed.iter().any(|piece| piece.bark_edge);
    flat && bark && !climbs && wide <= aid.widest
}

/// How many cuts are only right under the aid, in words; none where there is no such cut.
#[must_use]
pub fn aid_words(setup: &Setup<'_>, trace: &Trace, system: System) -> Option<String> {
    let cuts = trace.moves.iter().filter(|traced| rests_on_aid(setup, traced));
    let cuts = cuts.count() as u64;
    let widest = system.size(setup.mill.aid?.widest);
    (cuts > 0).then(|| {
        format!(
            "{} rest on the pull-back aid, which bears on pieces up to {widest} wide: without it they are not to be made",
            count(cuts, "cut")
        )
    })
}
