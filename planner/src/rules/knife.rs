//! # knife
//!
//! **Guards** the riving knife, and the operator when it is off. **Trips when** a homebound flat pass bites deeper
//! than a fitted knife that leads on that stroke allows; warns when an outbound pass, on which the knife trails,
//! runs with the knife off. **Clears when** the pass is shallower, or a hold takes the knife off, or fits it again.
//! **Does not cover** the fit of the knife itself: the mill's own manual does.

use bunkside_protocol::{Angle, Stroke};

use super::{Basis, Measure, Objection, Objections, Rule, Situation};

pub(super) const RULE: Rule = Rule {
    number: 0,
    id: "knife",
    title: "the knife is off where it would lead into wood, and on elsewhere",
    reason: "a leading knife rams uncut wood; without a trailing one the kerf can close on the blade",
    basis: Basis::Practice,
    check,
};

const LEADS: &str = "the knife runs ahead into uncut wood; take it off at a hold, or bite less";
const OFF: &str = "the knife is off although it would trail here; fit it at the next hold";

fn check(situation: &Situation<'_>, object: Objections<'_>) {
    let Some((step, facts)) = situation.cut() else {
        return;
    };
    let (Some(knife), Some(_), Some(stroke)) = (situation.setup.mill.knife, facts.met, step.stroke) else {
        return;
    };
    let [flat, upright] = knife.homebound_limit;
    let limit = match step.before.angle {
        Angle::Flat => flat,
        Angle::Upright => upright,
    };
    match stroke {
        Stroke::Homebound if step.before.knife && knife.leads_homebound && facts.bite > limit => {
            object(Objection::refuse(
                Measure::Length(facts.bite),
                Measure::Length(limit),
                LEADS,
            ));
        }
        Stroke::Outbound if !step.before.knife => {
            object(Objection::warn(
                Measure::State("off"),
                Measure::State("fitted"),
                OFF,
            ));
        }
        Stroke::Homebound | Stroke::Outbound => {}
    }
}
