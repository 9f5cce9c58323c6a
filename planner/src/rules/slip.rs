//! # slip
//!
//! **Guards** the log on its bunks. **Trips when** the push of a stroke, sideways and lengthwise together, comes nearer to
//! what grip, the slope of the wedges and dogs hold than the profile's factor allows. Dogs hold from the hold on at which
//! they are closed until the log is laid again. Along the rails no more counts than tips the packs over the edges of their
//! bunks. **Clears when** the pass feeds slower or bites less, or when the rest is
//! dogged: a dog holds where its points meet wood through the bark. **Does not cover** ice that the job does not tell of (`iced`),
//! mud or mould under the log: where it lies wet on steel, write the grip of wet wood that has begun to slide into the profile.

use super::{Basis, Measure, Objection, Objections, Rule, Situation};
use crate::physics::margins::demanded;
use crate::physics::support::slender;

pub(super) const RULE: Rule = Rule {
    number: 0,
    id: "slip",
    title: "what stands does not slide on its bunks",
    reason: "wood that slides pinches the blade and spoils every cut after it",
    basis: Basis::Physics,
    check,
};

const SLIPS: &str = "the cut would push the wood off its place; feed slower, bite less, or dog what is left";

const PACKS_TIP: &str = "the cut would push the wood off its place, or tip its packs over; feed slower, bite less, dog what is left, or pack no higher than the bunks are wide";

fn check(situation: &Situation<'_>, object: Objections<'_>) {
    let Some(strain) = situation.step().and_then(|step| step.strain) else {
        return;
    };
    let limit = demanded(situation.setup.mill.factors.slip);
    let measured = strain.worst().slip;
    if measured < limit {
        let setup = situation.setup;
        let packs = slender(setup.mill, &setup.shape);
        object(Objection::refuse(
            Measure::Factor(measured),
            Measure::Factor(limit),
            if packs.is_some() { PACKS_TIP } else { SLIPS },
        ));
    }
}

#[cfg(test)]
pub(super) mod tests {
    use bunkside_protocol::{Act, Angle, Length, Move, Position};

    use crate::replay::{Replay, Setup};
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

    /// The margin of the pass at a grip of 0.5 where so much is packed on every bunk, each 120 mm wide.
    fn packed(high: i32) -> f64 {
        let mut case = example();
        case.mill.factors.grip_barked = 500;
        for bunk in &mut case.mill.bunks {
            bunk.top = Position::mm(-high);
        }
        let setup = Setup::new(&case.mill, &case.log).unwrap();
        let mut replay = Replay::new(&setup, 0);
        let steps = case.script.moves.iter().map(|told| replay.step(told));
        steps.last().unwrap().strain.unwrap().worst().slip
    }

    /// A pack bears along the rails half its width over its height of its load: 60/120 is the grip, 60/240 a half of it, 60/360
    /// a third. The push along adds to the other as (1/held)² does, with 2² at the grip, 4² and 6² on the packs: what comes to
    /// it is as 16 − 4 to 36 − 4 (closed form).
    #[test]
    fn a_pack_higher_than_its_bunk_is_wide_holds_less_along_the_rails() {
        let [none, as_high, twice, thrice] = [0, 120, 240, 360].map(|high| {
            let margin = packed(high);
            1.0 / (margin * margin)
        });
        assert!((as_high - none).abs() < 1e-12, "{none} {as_high}");
        let ratio = (thrice - none) / (twice - none);
        assert!((ratio - 32.0 / 12.0).abs() < 1e-9, "{ratio}");
    }

    /// What is told to do names the packs where it may be they that give way.
    #[test]
    fn refuses_a_pass_that_tips_the_packs_and_says_so() {
        let note = |high: i32| {
            let mut case = example();
            for bunk in &mut case.mill.bunks {
                bunk.top = Position::mm(-high);
            }
            case.mill.wedges.packing = Length::mm(400);
            let found = case.script.findings(&case.mill, &case.log);
            let slip = found.iter().find(|finding| finding.rule == "slip");
            slip.unwrap().objection.note
        };
        assert_eq!(note(120), super::SLIPS);
        assert_eq!(note(121), super::PACKS_TIP);
    }

    /// Two dogs that hold 4 kN each, on the timber's exit side at its ends.
    #[test]
    fn permits_it_once_the_dogs_are_closed_and_refuses_it_with_them_open() {
        let bites_at = |height: [i32; 2], holds: &[&[Act]]| {
            let script = holds
                .iter()
                .fold(Script::at_rest(), |script, acts| script.hold(acts));
            let mut case = after(script.with(Move::Spin(true)));
            case.mill.dog_hold = 4_000;
            for travel in [700, 4_100] {
                let dog = block([travel - 10, 90, height[0]], [travel + 10, 120, height[1]]);
                case.mill.dogs.push(dog).unwrap();
            }
            case.refusals()
        };
        let held = |holds: &[&[Act]]| bites_at([0, 40], holds);
        assert_eq!(held(&[]), ["slip"]);
        assert_eq!(held(&[&[Act::Dog]]), [""; 0]);
        // Laid again, the log lies free.
        assert_eq!(held(&[&[Act::Dog], &[Act::Reseat, Act::Measure]]), ["slip"]);
        assert_eq!(held(&[&[Act::Reseat, Act::Measure], &[Act::Dog]]), [""; 0]);
        assert_eq!(held(&[&[Act::Reseat, Act::Dog, Act::Measure]]), [""; 0]);
        // Over the kerf at 120 mm, in its way, they bite what it frees.
        assert_eq!(bites_at([130, 150], &[&[Act::Dog]]), ["bed-clear", "slip"]);
    }
}
