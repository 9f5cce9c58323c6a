//! A second auditor, written from the rules' words and not from their code: it sees moves, mill and log, keeps the wood
//! as an array of rods, and says of every rule whether it objects to a move. Where its model is too coarse to tell it
//! says so.
//!
//! | module | holds |
//! |---|---|
//! | [`wood`] | the wood that stands, as rods in slices and strips, and what hangs together; [`outline`] and [`boxes`] help |
//! | [`machine`] | blade, head and swing by boxes inside them and boxes around them |
//! | [`auditor`] | runs a sequence; [`strokes`], [`bed`] and [`practice`] say what each rule holds; [`wedges`] keeps those in kerfs, [`open`] looks for open ones, [`thin`] for thin wood, [`bark`] for sheets of it, [`screen`] for what holds a piece back, [`falls`] for what drops |
//! | [`small`], [`worlds`] | every sequence of a small world, where rods are exact: both auditors agree on every one |
//! | [`agree`] | spoilt sequences on round logs, as far as this auditor is sure |
#![allow(
    clippy::disallowed_methods,
    reason = "an outside check computes with what the planner must not use"
)]

mod agree;
mod auditor;
mod bark;
mod bed;
mod boxes;
mod falls;
mod machine;
mod neck;
mod open;
mod outline;
mod practice;
mod screen;
mod small;
mod strokes;
mod thin;
mod threads;
mod wedges;
mod wood;
mod worlds;

use bunkside_planner::rules::{NOT_JUDGED, RULES};

/// The rules that are said again here.
const SAID_AGAIN: [&str; 20] = [
    "range",
    "straight",
    "reach",
    "swing-clear",
    "move-clear",
    "spin-up",
    "bed-clear",
    "knife",
    "climb-powered",
    "feed-label",
    "flat-first",
    "release-climb",
    "edge-then-release",
    "rim-edge",
    "bed-board",
    "free-piece",
    "hold-parked",
    "thin-wood",
    "falls-off",
    NOT_JUDGED,
];

/// Rules on forces and balance: outside figures hold them, not a second look at the geometry.
const HELD_ELSEWHERE: [&str; 5] = ["power", "support", "roll", "slip", "lift"];

#[test]
fn every_rule_is_said_again_or_held_elsewhere() {
    for rule in RULES {
        let known = SAID_AGAIN.contains(&rule.id) || HELD_ELSEWHERE.contains(&rule.id);
        assert!(known, "{} is said nowhere but in its own file", rule.id);
    }
}
