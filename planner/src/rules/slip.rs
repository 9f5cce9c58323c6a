//! # slip
//!
//! **Guards** the log on its bunks. **Trips when** the push of a stroke, sideways and lengthwise together, comes nearer to
//! what grip, the slope of the wedges and dogs hold than the profile's factor allows. **Clears when** the pass feeds slower
//! or bites less, or when the rest is dogged. **Does not cover** ice, mud or mould under the log: where it lies wet on
//! steel, write the grip of wet wood that has begun to slide into the profile.

use super::{Basis, Measure, Objection, Objections, Rule, Situation};
use crate::physics::margins::demanded;

pub(super) const RULE: Rule = Rule {
    number: 0,
    id: "slip",
    title: "what stands does not slide on its bunks",
    reason: "wood that slides pinches the blade and spoils every cut after it",
    basis: Basis::Physics,
    check,
};

const SLIPS: &str = "the cut would push the wood off its place; feed slower, bite less, or dog what is left";

fn check(situation: &Situation<'_>, object: Objections<'_>) {
    let Some(strain) = situation.step().and_then(|step| step.strain) else {
        return;
    };
    let limit = demanded(situation.setup.mill.factors.slip);
    let measured = strain.worst().slip;
    if measured < limit {
        object(Objection::refuse(
            Measure::Factor(measured),
            Measure::Factor(limit),
            SLIPS,
        ));
    }
}

#[cfg(test)]
pub(super) mod tests {
    use bunkside_protocol::{Angle, Length};

    use crate::testing::{Case, Script, powered_mill, timber};

    /// A flat stroke across the top of a timber that lies on greased bunks.
    pub(in crate::rules) fn example() -> Case {
        let script = Script::new()
            .travel(4_530)
            .swing(Angle::Flat)
            .corner(94.0, 120.0)
            .cut(270);
        let mut case = Case::new(powered_mill(), timber(180, 160, 3_600), script);
        case.mill.factors.grip_barked = 80;
        case.mill.clearances.rim_overhang = Length::mm(10);
        case
    }

    #[test]
    fn refuses_a_wide_pass_on_greased_bunks() {
        let case = example();
        assert_eq!(case.refusals(), ["slip"]);
    }

    #[test]
    fn permits_it_where_the_bunks_grip() {
        let mut case = example();
        case.mill.factors.grip_barked = 500;
        assert_eq!(case.refusals(), [""; 0]);
    }
}
