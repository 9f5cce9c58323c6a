//! # release-climb
//!
//! **Guards** the operator against a thrown slab. **Trips when** a flat stroke that frees a piece with a bark edge
//! runs in forward feed, which lifts it; on a hand carriage, which cannot climb, it warns. **Clears when** the
//! stroke climbs (homebound, on most mills) or a pull-back aid bears on the piece. **Does not cover** pieces with
//! four sawn edges.

use bunkside_protocol::{Angle, Drive, Feed, Length};

use super::{Basis, Measure, Objection, Objections, Rule, Situation};

pub(super) const RULE: Rule = Rule {
    number: 0,
    id: "release-climb",
    title: "a flat stroke that frees a piece with bark climbs",
    reason: "forward feed lifts out of the wood: it catches the loose piece by its bark and throws it",
    basis: Basis::Practice,
    check,
};

const CLIMB: &str = "free this piece on the climbing stroke, or bring the pull-back aid to bear";
const STAND_CLEAR: &str =
    "a hand carriage cannot climb here: hold the piece down and stand clear of the entry side";

fn check(situation: &Situation<'_>, object: Objections<'_>) {
    let Some((step, _)) = situation.cut() else { return };
    if step.before.angle != Angle::Flat || step.feed != Some(Feed::Forward) {
        return;
    }
    let aid = match situation.setup.mill.aid {
        Some(aid) if step.before.aid => aid.widest,
        _ => Length::ZERO,
    };
    let loose = |piece: &&crate::stock::Piece| piece.bark_edge && piece.bounds.across.length() > aid;
    if situation.freed().iter().find(loose).is_none() {
        return;
    }
    let (measured, limit) = (Measure::Feed(Feed::Forward), Measure::Feed(Feed::Climb));
    object(match situation.setup.mill.drive {
        Drive::Hand => Objection::warn(measured, limit, STAND_CLEAR),
        Drive::Powered { .. } => Objection::refuse(measured, limit, CLIMB),
    });
}
