//! # knife
//!
//! **Guards** the riving knife, and the operator when it is off. **Trips when** a pass bites deeper than a fitted knife allows
//! on the stroke on which it leads: homebound, or outbound where the mill's knife runs ahead there; warns when a pass on the other
//! stroke, on which the knife would trail, runs with it off. **Clears when** the pass is shallower, or runs the other way, or a
//! hold takes the knife off, or fits it again. **Does not cover** the fit of the knife itself: the mill's own manual does.

use bunkside_protocol::Angle;

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
const OFF: &str = "the knife is off although it would trail here; fit it at a hold before it";

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
    let leads = knife.leads(stroke);
    if leads && step.before.knife && facts.bite > limit {
        let (measured, limit) = (Measure::Told(facts.bite, "of bite"), Measure::Length(limit));
        object(Objection::refuse(measured, limit, LEADS));
    }
    if !leads && !step.before.knife {
        let (measured, limit) = (Measure::State("off"), Measure::State("fitted"));
        object(Objection::warn(measured, limit, OFF));
    }
}

#[cfg(test)]
pub(super) mod tests {
    use bunkside_protocol::{Act, Angle, LogRecord, Timber};

    use crate::testing::{Case, Script, powered_mill, round_log, timber};

    fn fitted(script: Script, log: LogRecord) -> Case {
        let mut case = Case::new(powered_mill(), log, script);
        if let Some(knife) = &mut case.mill.knife {
            knife.fitted_at_start = true;
        }
        case
    }

    /// The wide homebound pass with the knife on.
    pub(in crate::rules) fn example() -> Case {
        fitted(Script::opened(), round_log(300, 3_600))
    }

    /// One flat homebound pass in a timber of 180 mm, so deep.
    fn homebound(depth: f64) -> Script {
        Script::new()
            .travel(4_530)
            .swing(Angle::Flat)
            .corner(depth - 90.0, 100.0)
            .cut(270)
    }

    #[test]
    fn permits_a_leading_knife_to_its_limit_and_refuses_more() {
        let case = |depth| fitted(homebound(depth), timber(180, 160, 3_600));
        assert_eq!(case(60.0).refusals(), [""; 0]);
        assert_eq!(case(60.1).refusals(), ["knife"]);
        assert_eq!(
            case(60.1).figures("knife").unwrap(),
            ("60.1 mm of bite".into(), "60 mm".into())
        );
    }

    /// A small log opens with one wide homebound flat pass if the knife is off and the timber soft, otherwise in
    /// passes. Common practice, no source.
    #[test]
    fn a_small_log_opens_in_one_wide_pass_without_the_knife_else_in_passes() {
        assert_eq!(Case::usual(Script::opened()).refusals(), [""; 0]);
        assert_eq!(example().refusals(), ["knife"]);
        let mut hard = Case::usual(Script::opened());
        hard.log.timber = Timber::Hard;
        assert_eq!(hard.refusals(), ["reach"]);
        // Forward outbound while the knife trails, the rest of it homebound: 139.8 mm, then 58.8 mm.
        let passes = Script::new()
            .swing(Angle::Flat)
            .travel(270)
            .corner(41.2, 263.0)
            .cut(4_530)
            .corner(100.0, 263.0)
            .cut(270)
            .unload();
        assert_eq!(fitted(passes.clone(), round_log(300, 3_600)).refusals(), [""; 0]);
        let mut hard = Case::usual(passes);
        hard.log.timber = Timber::Hard;
        assert_eq!(hard.refusals(), [""; 0]);
    }

    #[test]
    fn a_hold_takes_the_knife_off_and_fits_it_again() {
        let mut script = Script::at_rest().hold(&[Act::KnifeOff]);
        script.moves.extend(Script::opened().moves);
        let case = fitted(script, round_log(300, 3_600));
        assert_eq!(case.refusals(), [""; 0]);
        assert_eq!(case.warnings(), [""; 0]);
    }

    #[test]
    fn warns_of_a_pass_without_the_knife_where_it_would_trail() {
        let script = Script::new()
            .swing(Angle::Flat)
            .travel(270)
            .corner(0.0, 100.0)
            .cut(4_530);
        let mut case = Case::new(powered_mill(), timber(180, 160, 3_600), script.clone());
        assert_eq!(case.warnings(), ["knife"]);
        case.mill.knife = None;
        assert_eq!(case.warnings(), [""; 0]);
        assert_eq!(fitted(script, timber(180, 160, 3_600)).warnings(), [""; 0]);
    }

    /// The same pass outbound, with a knife that runs ahead there.
    fn outbound(depth: f64) -> Case {
        let script = Script::new().travel(270).swing(Angle::Flat);
        let script = script.corner(depth - 90.0, 100.0).cut(4_530);
        let mut case = fitted(script, timber(180, 160, 3_600));
        case.mill.knife.as_mut().unwrap().leads_homebound = false;
        case
    }

    #[test]
    fn a_knife_that_leads_outbound_is_refused_there_beyond_its_limit_and_not_asked_for() {
        assert_eq!(outbound(60.0).refusals(), [""; 0]);
        assert_eq!(outbound(60.1).refusals(), ["knife"]);
        let mut off = outbound(150.0);
        assert_eq!(off.refusals(), ["knife"]);
        off.mill.knife.as_mut().unwrap().fitted_at_start = false;
        assert_eq!((off.refusals(), off.warnings()), (std::vec![], std::vec![]));
    }

    #[test]
    fn a_knife_that_leads_outbound_trails_homebound_and_belongs_on_there() {
        let mut case = fitted(homebound(150.0), timber(180, 160, 3_600));
        case.mill.knife.as_mut().unwrap().leads_homebound = false;
        assert_eq!(case.refusals(), [""; 0]);
        case.mill.knife.as_mut().unwrap().fitted_at_start = false;
        assert_eq!(case.warnings(), ["knife"]);
    }
}
