//! # climb-powered
//!
//! **Guards** whoever stands at the carriage. **Trips when** a cut climbs on a hand-pushed carriage, or when the
//! pull of a climbing pass, shock counted, exceeds what the drive holds. **Clears when** the stroke is turned round
//! or the pass bites less or feeds slower. **Does not cover** a drive that fails: the controller's brake does.

use bunkside_protocol::{Drive, Feed, Move};

use super::{Basis, Measure, Objection, Objections, Rule, Situation};
use crate::physics::force::{pass_force, with_shock};

pub(super) const RULE: Rule = Rule {
    number: 0,
    id: "climb-powered",
    title: "climb cuts only on a powered carriage that can hold them",
    reason: "a climbing blade pulls the carriage through the log and out of the operator's hands",
    basis: Basis::Practice,
    check,
};

const HAND: &str = "a hand carriage never climbs; cut this one on the other stroke";
const PULL: &str = "the cut pulls harder than the drive holds; bite less or feed slower";

fn check(situation: &Situation<'_>, object: Objections<'_>) {
    let Some((step, facts)) = situation.cut() else {
        return;
    };
    if facts.met.is_none() || step.feed != Some(Feed::Climb) {
        return;
    }
    let Move::Cut(cut) = step.told else { return };
    match situation.setup.mill.drive {
        Drive::Hand => object(Objection::refuse(
            Measure::Feed(Feed::Climb),
            Measure::Feed(Feed::Forward),
            HAND,
        )),
        Drive::Powered { holding_force } => {
            let (mill, log) = (situation.setup.mill, situation.setup.log);
            let force = pass_force(mill, log, facts.bite, cut.speed, Feed::Climb);
            let pull = with_shock(force.along, mill);
            let limit = f64::from(holding_force);
            if pull > limit {
                object(Objection::refuse(
                    Measure::Force(pull),
                    Measure::Force(limit),
                    PULL,
                ));
            }
        }
    }
}
