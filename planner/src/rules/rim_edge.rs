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
            Measure::Length(overhang),
            Measure::Length(limit),
            NOTE,
        ));
    }
}
