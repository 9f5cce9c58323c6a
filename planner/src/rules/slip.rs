//! # slip
//!
//! **Guards** the log on its bunks. **Trips when** the push of a stroke, sideways and lengthwise together, comes nearer to
//! what grip, the slope of the wedges and dogs hold than the profile's factor allows. Dogs hold from the hold on at which
//! they are closed until the log is laid again. **Clears when** the pass feeds slower or bites less, or when the rest is
//! dogged. **Does not cover** ice, mud or mould under the log: where it lies wet on
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
    use bunkside_protocol::{Act, Angle, Length, Move};

    use crate::testing::{Case, Script, block, powered_mill, timber};

    /// A flat stroke across the top of a timber that lies on greased bunks.
    pub(in crate::rules) fn example() -> Case {
        after(Script::new())
    }

    fn after(script: Script) -> Case {
        let script = script
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

    /// Two dogs that hold 4 kN each, on the timber's exit side at its ends.
    #[test]
    fn permits_it_once_the_dogs_are_closed_and_refuses_it_with_them_open() {
        let held = |holds: &[&[Act]]| {
            let script = holds
                .iter()
                .fold(Script::at_rest(), |script, acts| script.hold(acts));
            let mut case = after(script.with(Move::Spin(true)));
            case.mill.dog_hold = 4_000;
            for travel in [700, 4_100] {
                let dog = block([travel - 10, 90, 0], [travel + 10, 120, 40]);
                case.mill.dogs.push(dog).unwrap();
            }
            case.refusals()
        };
        assert_eq!(held(&[]), ["slip"]);
        assert_eq!(held(&[&[Act::Dog]]), [""; 0]);
        // Laid again, the log lies free.
        assert_eq!(held(&[&[Act::Dog], &[Act::Reseat, Act::Measure]]), ["slip"]);
        assert_eq!(held(&[&[Act::Reseat, Act::Measure], &[Act::Dog]]), [""; 0]);
        assert_eq!(held(&[&[Act::Reseat, Act::Dog, Act::Measure]]), [""; 0]);
    }
}
