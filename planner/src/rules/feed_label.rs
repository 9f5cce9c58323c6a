//! # feed-label
//!
//! **Guards** the reader of a sequence. **Trips when** a cut is labelled climb or forward and the stroke and angle
//! make it the other. **Clears when** the label or the stroke is set right; a missing label is derived. **Does not
//! cover** a profile that has the teeth the wrong way round: read the arrow on the guard.

use bunkside_protocol::Move;

use super::{Basis, Measure, Objection, Objections, Rule, Situation};

pub(super) const RULE: Rule = Rule {
    number: 0,
    id: "feed-label",
    title: "the declared feed is what stroke and angle make it",
    reason: "a climb cut taken for a forward one is met with the wrong feed and in the wrong place to stand",
    basis: Basis::Consistency,
    check,
};

const NOTE: &str = "at this angle the stroke gives the other feed; set the label or the stroke right";

fn check(situation: &Situation<'_>, object: Objections<'_>) {
    let Some(step) = situation.step() else { return };
    let Move::Cut(cut) = step.told else { return };
    if let (Some(label), Some(feed)) = (cut.feed, step.feed)
        && label != feed
    {
        object(Objection::refuse(Measure::Feed(label), Measure::Feed(feed), NOTE));
    }
}
