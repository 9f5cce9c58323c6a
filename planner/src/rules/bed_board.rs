//! # bed-board
//!
//! **Guards** the last cut over the bunks. **Trips when** the last group freed at the lowest level, near the bed,
//! is freed by an upright stroke, was not edged on its entry side, had no shallow flat pass before it (in forward
//! feed, outbound on most mills, freeing nothing), or is freed flat in the wrong feed: climbing on a powered carriage, forward and
//! outbound on a hand carriage. A pull-back aid that bears makes the shallow pass and the climb unnecessary.
//! **Clears when** the group is edged, entry edge first, then freed flat in two passes. **Does not cover** levels
//! above a quarter of the log: they are not near the bed.

use bunkside_protocol::{Angle, Drive, Feed, Stroke};

use super::{Basis, Measure, Moment, Objection, Objections, Rule, Situation};

pub(super) const RULE: Rule = Rule {
    number: 0,
    id: "bed-board",
    title: "the last group over the bunks is edged, then freed flat",
    reason: "with little wood left to hold it, a board freed otherwise is lifted or driven into the bunks",
    basis: Basis::Practice,
    check,
};

const UPRIGHT: &str = "edge the last group first and free it with a flat stroke";
const EDGE: &str = "cut the entry edge of the last group before it is freed";
const SHALLOW: &str = "go before with a shallow flat pass in forward feed that frees nothing";
const FEED_POWERED: &str = "free the last group on the climbing flat stroke";
const FEED_HAND: &str = "free the last group flat and outbound, in forward feed";

fn check(situation: &Situation<'_>, object: Objections<'_>) {
    let Moment::End(_) = situation.moment else { return };
    let Some(last) = situation.history.last_freed() else {
        return;
    };
    if !situation
        .history
        .lowest()
        .is_some_and(|height| situation.is_bed_level(height))
    {
        return;
    }
    let mut trip = |found: &'static str, wanted: &'static str, note: &'static str| {
        object(Objection::refuse(
            Measure::State(found),
            Measure::State(wanted),
            note,
        ));
    };
    if last.angle == Angle::Upright {
        trip("freed upright", "freed flat", UPRIGHT);
        return;
    }
    if !last.edged {
        trip("bark on the entry edge", "edged", EDGE);
    }
    if last.aid {
        return;
    }
    if !last.shallow_before {
        trip("no shallow pass", "a shallow pass before", SHALLOW);
    }
    let powered = matches!(situation.setup.mill.drive, Drive::Powered { .. });
    if powered && last.feed != Some(Feed::Climb) {
        trip("forward feed", "climbing", FEED_POWERED);
    }
    if !powered && (last.feed != Some(Feed::Forward) || last.stroke != Some(Stroke::Outbound)) {
        trip(
            "not outbound in forward feed",
            "outbound, forward feed",
            FEED_HAND,
        );
    }
}
