//! # edge-then-release
//!
//! **Guards** the blade against wood that hangs loose. **Trips when** an upright stroke cuts wood and the wood to
//! its exit side has already been undercut. **Clears when** every edge is cut before the flat stroke that releases
//! the group. **Does not cover** how wide a release may be: see the rule on reach.

use bunkside_protocol::Angle;

use super::{Basis, Measure, Objection, Objections, Rule, Situation};
use crate::limits::BESIDE;

pub(super) const RULE: Rule = Rule {
    number: 0,
    id: "edge-then-release",
    title: "no upright stroke cuts wood that is undercut beyond its own column",
    reason: "undercut wood chatters, pinches the plate and breaks out",
    basis: Basis::Practice,
    check,
};

const NOTE: &str = "cut the upright kerfs of the group first, then release it with one flat stroke";

fn check(situation: &Situation<'_>, object: Objections<'_>) {
    let Some((step, facts)) = situation.cut() else {
        return;
    };
    if step.before.angle == Angle::Upright && facts.met.is_some() && facts.undercut > BESIDE {
        object(Objection::refuse(
            Measure::Length(facts.undercut),
            Measure::Length(BESIDE),
            NOTE,
        ));
    }
}
