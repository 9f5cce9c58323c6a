//! # rim-edge
//!
//! **Guards** whoever stands on the exit side, and the cut itself. **Trips when** the rim of a flat stroke that
//! runs through the wood runs out beyond the outermost wood, bark not counted, by more than the limit. **Clears
//! when** the corner is drawn back to where the wood reaches furthest. **Does not cover** a rim under standing
//! wood: that is no overhang.

use super::{Basis, Measure, Objection, Objections, Rule, Situation};

pub(super) const RULE: Rule = Rule {
    number: 0,
    id: "rim-edge",
    title: "a flat stroke that runs through keeps its rim at the wood's edge",
    reason: "teeth that leave the wood there tear bark and slivers up and throw them",
    basis: Basis::Practice,
    check,
};

const NOTE: &str = "draw the corner back to where the wood reaches furthest";

fn check(situation: &Situation<'_>, object: Objections<'_>) {
    let Some((_, facts)) = situation.cut() else { return };
    let limit = situation.setup.mill.clearances.rim_overhang;
    if let Some(overhang) = facts.overhang.filter(|overhang| *overhang > limit) {
        object(Objection::refuse(
            Measure::Told(overhang, "of overhang"),
            Measure::Length(limit),
            NOTE,
        ));
    }
}

#[cfg(test)]
pub(super) mod tests {
    use bunkside_protocol::{Angle, Length};

    use crate::testing::{Case, Script, tapered_log};

    /// The slab of the usual log, freed by a stroke whose rim runs at a place: its chord ends at 98.646 mm.
    fn slab(across: f64, bark: i32) -> Case {
        let script = Script::new()
            .travel(4_530)
            .swing(Angle::Flat)
            .corner(across, 263.0)
            .cut(270)
            .unload();
        let mut case = Case::usual(script);
        // Bark on the other side stands in no housing's way here.
        case.mill.reach.bite = [[[[Length::mm(205); 3]; 2]; 2]; 2];
        case.in_bark(bark)
    }

    pub(in crate::rules) fn example() -> Case {
        slab(102.7, 0)
    }

    #[test]
    fn permits_the_limit_and_refuses_more() {
        assert_eq!(slab(102.646, 0).refusals(), [""; 0]);
        assert_eq!(slab(102.647, 0).refusals(), ["rim-edge"]);
        assert_eq!(example().refusals(), ["rim-edge"]);
        assert_eq!(
            example().figures("rim-edge").unwrap(),
            ("4.054 mm of overhang".into(), "4 mm".into())
        );
    }

    #[test]
    fn bark_is_counted_apart() {
        assert_eq!(slab(104.6, 2).refusals(), [""; 0]);
        assert_eq!(slab(104.7, 2).refusals(), ["rim-edge"]);
    }

    /// In a pass that is not the last one the rim stands in or under wood.
    #[test]
    fn permits_a_rim_under_standing_wood() {
        let again = Script::opened()
            .corner(60.0, 206.5)
            .cut(4_530)
            .travel_by_air(270)
            .corner(0.0, 204.0)
            .cut(4_530);
        assert!(!Case::usual(again).refusals().contains(&"rim-edge"));
    }

    /// On a tapered log the rim stands where the wood reaches furthest; at the thin end it then runs out.
    #[test]
    fn on_a_tapered_log_the_thick_end_counts() {
        let at = |across: f64| {
            let script = Script::new()
                .travel(4_530)
                .swing(Angle::Flat)
                .corner(across, 190.0)
                .cut(270);
            let mut case = Case::usual(script);
            case.log = tapered_log(200, 230, 3_600);
            case.refusals()
        };
        // √(115² − 75²) = 87.178 mm at the thick end, √(100² − 90²) = 43.589 mm at the thin one.
        assert_eq!(at(91.1), [""; 0]);
        assert_eq!(at(91.2), ["rim-edge"]);
    }

    /// A pass that takes only what stands at the thick end is measured there.
    #[test]
    fn permits_the_last_of_several_passes() {
        let at = |across: f64| {
            let script = Script::new()
                .swing(Angle::Flat)
                .travel(270)
                .corner(60.0, 190.0)
                .cut(4_530)
                .corner(across, 190.0)
                .cut(270);
            let mut case = Case::usual(script);
            case.log = tapered_log(200, 230, 3_600);
            case.refusals()
        };
        assert_eq!(at(91.1), [""; 0]);
        assert_eq!(at(91.2), ["rim-edge"]);
    }
}
