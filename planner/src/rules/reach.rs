//! # reach
//!
//! **Guards** hub and housing against the wood, and the blade against too deep a bite. **Trips when** the cover
//! exceeds the mill's for the angle, when the bite exceeds the one for angle, feed, knife and timber, or when the
//! profile claims more cover than the blade has between rim and hub. **Clears when** the corner is set less deep;
//! a bite, not a cover, is also cured by more passes. **Does not cover** power: see the rule on power.

use bunkside_protocol::{Angle, Feed, Length};

use super::{Basis, Measure, Objection, Objections, Rule, Situation};

pub(super) const RULE: Rule = Rule {
    number: 0,
    id: "reach",
    title: "cover and bite stay within the blade's limits",
    reason: "wood deeper than the plate reaches meets the hub; too deep a bite stalls or bends the blade",
    basis: Basis::Machine,
    check,
};

const COVER: &str = "wood stands over the kerf further than the blade reaches; more passes do not help, a narrower column or a lower layer does";
const BITE: &str = "the pass takes too much at once; take it in more passes";
const PROFILE: &str = "the mill profile allows more cover than there is between rim and hub";

fn check(situation: &Situation<'_>, object: Objections<'_>) {
    let Some((step, facts)) = situation.cut() else {
        return;
    };
    let mill = situation.setup.mill;
    let [flat, upright] = mill.reach.cover;
    let cover = match step.before.angle {
        Angle::Flat => flat,
        Angle::Upright => upright,
    };
    let plate = mill.blade.radius - mill.blade.hub;
    if cover > plate {
        object(Objection::refuse(
            Measure::Length(cover),
            Measure::Length(plate),
            PROFILE,
        ));
    }
    if facts.cover > cover.min(plate) {
        object(Objection::refuse(
            Measure::Length(facts.cover),
            Measure::Length(cover.min(plate)),
            COVER,
        ));
    }
    let feed = step.feed.unwrap_or(Feed::Forward);
    let bite = mill.reach.bite(
        step.before.angle,
        feed,
        step.before.knife,
        situation.setup.log.timber,
    );
    if facts.bite > bite && facts.bite > Length::ZERO {
        object(Objection::refuse(
            Measure::Length(facts.bite),
            Measure::Length(bite),
            BITE,
        ));
    }
}
