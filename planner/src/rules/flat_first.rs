//! # flat-first
//!
//! **Guards** the blade against the piece it frees. **Trips when** the first column of a layer on the entry side,
//! with bark on its entry edge, is edged first and then freed alone by a flat stroke. **Clears when** its flat kerf
//! comes first and the upright one frees it, or when two or more columns are released together, or the stroke is
//! labelled a release, or it is the bed board. **Does not cover** inner columns: their notch may be cut either way.

use bunkside_protocol::{Angle, Move};

use super::{Basis, Measure, Objection, Objections, Rule, Situation};
use crate::stock::Edge;

pub(super) const RULE: Rule = Rule {
    number: 0,
    id: "flat-first",
    title: "a layer's first column is cut flat before upright",
    reason: "freed by the upright kerf the piece lies beside the blade; freed by the flat one it lies on it",
    basis: Basis::Practice,
    check,
};

const NOTE: &str = "cut the flat kerf of this column first and free it with the upright one";

fn check(situation: &Situation<'_>, object: Objections<'_>) {
    let Some((step, _)) = situation.cut() else { return };
    let Move::Cut(cut) = step.told else { return };
    if step.before.angle != Angle::Flat || cut.release || situation.is_bed_level(step.before.height) {
        return;
    }
    let [piece] = situation.freed() else { return };
    if piece.entry == Edge::Natural && piece.exit == Edge::Sawn {
        object(Objection::refuse(
            Measure::State("upright before flat"),
            Measure::State("flat before upright"),
            NOTE,
        ));
    }
}
