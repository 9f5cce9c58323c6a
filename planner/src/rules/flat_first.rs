//! # flat-first
//!
//! **Guards** the blade against the piece it frees. **Trips when** the first column of a layer on the entry side,
//! with the log's own surface on its entry edge, is edged first, along its whole length or a part of it, and then
//! freed alone by a flat stroke. **Clears when** its flat kerf
//! comes first and the upright one frees it, or when two or more columns are released together, or the stroke is
//! labelled a release, or it reaches to a face that was sawn before, or it is the bed board: what a release lays on the blade is for `power` to judge, be it one column or
//! more. **Does not cover** inner columns: their notch may be cut either way.

use bunkside_protocol::{Angle, Move};

use super::{Basis, Measure, Objection, Objections, Rule, Situation};
use crate::limits::FIN;
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
    // What ends at a face that was sawn before has not been edged: no kerf holds it but this one.
    let face = situation.setup.shape.left().across.hi;
    let edged = piece.exit != Edge::Natural && piece.bounds.across.hi + FIN < face;
    if piece.entry == Edge::Natural && edged {
        object(Objection::refuse(
            Measure::State("upright before flat"),
            Measure::State("flat before upright"),
            NOTE,
        ));
    }
}

#[cfg(test)]
pub(super) mod tests {
    use crate::testing::{Case, Script, edged_over_bunks, powered_mill, tapered_log, timber};

    use bunkside_protocol::Position;

    use super::Angle;

    /// After the log is opened: edged upright outbound first, then freed flat homebound.
    fn edged_first(freeing: fn(Script, i32) -> Script) -> Script {
        let script = Script::opened()
            .swing(Angle::Upright)
            .corner(0.0, 206.5)
            .cut(4_530)
            .swing(Angle::Flat);
        freeing(script, 270).unload()
    }

    pub(in crate::rules) fn example() -> Case {
        Case::usual(edged_first(Script::cut))
    }

    #[test]
    fn refuses_an_edge_before_the_flat_kerf() {
        assert_eq!(example().refusals(), ["flat-first"]);
    }

    /// A layer's first column is cut flat outbound, then upright homebound. Common practice, no source.
    #[test]
    fn permits_flat_outbound_then_upright_homebound() {
        assert_eq!(Case::usual(Script::opened().first_column()).refusals(), [""; 0]);
    }

    #[test]
    fn permits_a_stroke_that_is_labelled_a_release() {
        assert_eq!(Case::usual(edged_first(Script::release)).refusals(), [""; 0]);
    }

    #[test]
    fn permits_two_columns_freed_together() {
        let script = Script::opened()
            .swing(Angle::Upright)
            .corner(-20.0, 206.5)
            .cut(4_530)
            .corner(50.0, 206.5)
            .cut(270)
            .travel_by_air(4_530)
            .swing(Angle::Flat)
            .corner(50.0, 206.5)
            .cut(270)
            .unload();
        assert_eq!(Case::usual(script).refusals(), [""; 0]);
    }

    /// Inner columns: either kerf first. Common practice, no source.
    #[test]
    fn permits_an_inner_column_edged_first() {
        let script = Script::opened()
            .first_column()
            .corner(60.0, 206.5)
            .cut(4_530)
            .swing(Angle::Flat)
            .cut(270)
            .unload();
        assert_eq!(Case::usual(script).refusals(), [""; 0]);
    }

    /// The slab has the log's own surface on both sides.
    #[test]
    fn permits_a_slab() {
        assert_eq!(Case::usual(Script::opened()).refusals(), [""; 0]);
    }

    /// A face on its exit side is no kerf of this blade; where a column is edged beside it, that is one.
    #[test]
    fn permits_a_slab_that_ends_at_a_face() {
        let refusals = |across: f64| {
            let case = Case::usual(Script::opened());
            let mut log = case.log.clone();
            log.sawn.exit = Some(Position::mm(60));
            let script = if across < 60.0 {
                edged_first(Script::cut)
            } else {
                Script::opened()
            };
            Case::new(powered_mill(), log, script).refusals()
        };
        assert!(!refusals(60.0).contains(&"flat-first"));
        assert!(refusals(0.0).contains(&"flat-first"));
    }

    /// At the thin end the column reaches to the log's other side, at the thick one it is edged.
    #[test]
    fn refuses_a_column_that_is_edged_for_a_part_of_its_length() {
        let script = Script::new()
            .travel(270)
            .corner(85.0, 190.0)
            .cut(4_530)
            .swing(Angle::Flat)
            .cut(270);
        let case = Case::new(powered_mill(), tapered_log(200, 240, 3_600), script);
        assert_eq!(case.refusals(), ["flat-first"]);
    }

    /// The strip that is edged off the bed board may be freed flat.
    #[test]
    fn permits_the_strip_of_the_bed_board() {
        let script = Script::new()
            .travel(270)
            .corner(-60.0, 31.0)
            .cut(4_530)
            .swing(Angle::Flat)
            .cut(270)
            .unload()
            .corner(0.0, 31.0)
            .cut(4_530)
            .corner(91.0, 31.0)
            .cut(270)
            .unload();
        let case = |script: Script| Case::new(powered_mill(), timber(180, 160, 3_600), script);
        assert_eq!(case(script).refusals(), [""; 0]);
        let taken = edged_over_bunks()
            .corner(0.0, 31.0)
            .cut(4_530)
            .corner(91.0, 31.0)
            .cut(270);
        assert_eq!(case(taken).refusals(), [""; 0]);
    }
}
