//! # edge-then-release
//!
//! **Guards** the blade against wood that hangs loose, and hands against a stack. **Trips when** an upright stroke
//! cuts wood and the wood to its exit side has already been undercut; or when it frees a piece that lies over another
//! one, freed by it or loose already, or under one that is loose already, by more than 3 mm across and along, neither of them a scrap
//! under 20 cm³. **Clears when** every edge is cut before
//! the flat stroke that releases the group, and each group is unloaded before the one under it is freed. **Does not
//! cover** how wide a release may be: see the rule on reach; nor pieces stacked by flat strokes, each of which lies on
//! what the last one left.

use bunkside_protocol::Angle;

use super::{Basis, Measure, Objection, Objections, Rule, Situation};
use crate::limits::{BESIDE, LIGAMENT};
use crate::stock::{Piece, is_scrap};

pub(super) const RULE: Rule = Rule {
    number: 0,
    id: "edge-then-release",
    title: "no upright stroke cuts wood undercut beyond its own column, or frees a piece that lies on another",
    reason: "undercut wood chatters, pinches the plate and breaks out; pieces stacked on one another slide off",
    basis: Basis::Practice,
    check,
};

const NOTE: &str = "cut the upright kerfs of the group first, then release it with one flat stroke";
const STACK: &str = "free one piece at a time from the top, and unload it before the one under it is freed";

fn check(situation: &Situation<'_>, object: Objections<'_>) {
    let Some((step, facts)) = situation.cut() else {
        return;
    };
    if step.before.angle == Angle::Upright && facts.met.is_some() && facts.undercut > BESIDE {
        object(Objection::refuse(
            Measure::Told(facts.undercut, "undercut"),
            Measure::Length(BESIDE),
            NOTE,
        ));
    }
    if step.before.angle == Angle::Upright {
        let freed = situation.freed();
        let over = |piece: &&Piece| {
            let mut under = situation.before.pieces().iter().chain(freed);
            under.any(|under| lies_over(piece, under))
        };
        // What lies loose on what comes free goes with it.
        let loaded = |piece: &&Piece| {
            let mut loose = situation.before.pieces().iter();
            loose.any(|loose| lies_over(loose, piece))
        };
        let stacked = freed.iter().find(over).map(|piece| (piece, "none under it"));
        let piled = || freed.iter().find(loaded).map(|piece| (piece, "none on it"));
        if let Some((piece, wanted)) = stacked.or_else(piled) {
            object(Objection::refuse(
                Measure::Piece(piece.serial),
                Measure::State(wanted),
                STACK,
            ));
        }
    }
}

/// Whether a piece lies on another, or would if that did not hang there.
fn lies_over(piece: &Piece, under: &Piece) -> bool {
    let (piece, under) = (piece.bounds, under.bounds);
    !is_scrap(piece)
        && !is_scrap(under)
        && piece.height.lo >= under.height.hi
        && piece.across.meet(under.across).length() > LIGAMENT
        && piece.travel.meet(under.travel).length() > LIGAMENT
}

#[cfg(test)]
pub(super) mod tests {
    use bunkside_protocol::{Angle, Length};

    use crate::testing::{Case, Script, powered_mill, tapered_log, timber};

    /// After the log is opened, a flat kerf to one corner and then an upright one at another.
    fn flat_then_upright(flat: f64, upright: (f64, f64)) -> Case {
        let script = Script::opened()
            .corner(flat, 206.5)
            .cut(4_530)
            .swing(Angle::Upright)
            .corner(upright.0, upright.1)
            .cut(270);
        Case::usual(script)
    }

    pub(in crate::rules) fn example() -> Case {
        flat_then_upright(60.0, (0.0, 206.5))
    }

    #[test]
    fn refuses_an_edge_over_a_kerf_that_reaches_beyond_it() {
        let case = example();
        assert_eq!(case.refusals(), ["edge-then-release"]);
        let figures = case.figures("edge-then-release").unwrap();
        assert_eq!(figures, ("60 mm undercut".into(), "1 mm".into()));
    }

    #[test]
    fn permits_a_millimetre_and_refuses_more() {
        assert_eq!(flat_then_upright(1.0, (0.0, 206.5)).refusals(), [""; 0]);
        assert_eq!(
            flat_then_upright(1.1, (0.0, 206.5)).refusals(),
            ["edge-then-release"]
        );
    }

    /// The wood beyond an edge ends where the log's own surface does. Over a kerf whose top lies 90 mm under the middle
    /// of a log of 150 mm radius that is at 120 mm: 90, 120 and 150 make a right triangle.
    #[test]
    fn permits_a_millimetre_up_to_the_logs_own_surface() {
        let refused = |across: f64| {
            let script = Script::new()
                .swing(Angle::Flat)
                .travel(270)
                .corner(130.0, 54.5)
                .cut(2_000)
                .height(320.0)
                .travel(270)
                .swing(Angle::Upright)
                .corner(across, 100.0)
                .cut(4_530);
            Case::usual(script).refusals().contains(&"edge-then-release")
        };
        assert!(!refused(119.0));
        assert!(refused(118.999));
    }

    /// Edges first, then one flat stroke under them all. Common practice, no source.
    #[test]
    fn permits_edges_before_the_release() {
        let script = Script::opened()
            .swing(Angle::Upright)
            .corner(0.0, 206.5)
            .cut(4_530)
            .corner(60.0, 206.5)
            .cut(270)
            .travel_by_air(4_530)
            .swing(Angle::Flat)
            .corner(60.0, 206.5)
            .release(270)
            .unload();
        assert_eq!(Case::usual(script).refusals(), [""; 0]);
    }

    /// Two floors are cut flat under the entry side, then one upright stroke goes down through both.
    fn stack(unloads: bool) -> Case {
        let upper = Script::opened().corner(0.0, 220.5).cut(4_530);
        let upper = if unloads {
            upper.swing(Angle::Upright).cut(270).unload().swing(Angle::Flat)
        } else {
            upper.height(320.0).travel(270)
        };
        let lower = upper.corner(0.0, 165.0).cut(4_530).swing(Angle::Upright);
        Case::usual(lower.cut(270).unload())
    }

    /// Common practice, no source.
    #[test]
    fn refuses_an_edge_that_frees_a_stack() {
        let case = stack(false);
        assert_eq!(case.refusals(), ["edge-then-release"]);
        let figures = case.figures("edge-then-release").unwrap();
        assert_eq!(figures, ("piece 3".into(), "none under it".into()));
        assert_eq!(stack(true).refusals(), [""; 0]);
    }

    /// A column lies loose on the next one down, which the upright stroke frees under it.
    #[test]
    fn refuses_to_free_what_a_loose_piece_lies_on() {
        let freed_under = |unloads: bool| {
            let upper = Script::opened().corner(0.0, 220.5).cut(4_530);
            let upper = upper.swing(Angle::Upright).cut(270);
            let upper = if unloads { upper.unload() } else { upper };
            let lower = upper.swing(Angle::Flat).corner(0.0, 165.0).cut(4_530);
            let case = Case::usual(lower.swing(Angle::Upright).cut(270).unload());
            let refused = case.refusals().contains(&"edge-then-release");
            (refused, case.figures("edge-then-release"))
        };
        let told = Some(("piece 3".into(), "none on it".into()));
        assert_eq!(freed_under(false), (true, told));
        assert!(!freed_under(true).0);
    }

    /// Where the upright stroke may stop 15 mm short, what is left of its kerf there may break off over and under a flat kerf: two
    /// scraps of 5.5 mm by 15 mm are no stack.
    #[test]
    fn permits_scraps_over_scraps() {
        let mut case = Case::new(
            powered_mill(),
            timber(60, 60, 400),
            Script::new()
                .swing(Angle::Flat)
                .travel(270)
                .corner(0.0, 45.0)
                .cut(1_400)
                .swing(Angle::Upright)
                .corner(0.0, 30.0)
                .cut(600),
        );
        case.mill.travel.tolerance = Length::mm(15);
        assert!(
            !case.refusals().contains(&"edge-then-release"),
            "{:?}",
            case.refusals()
        );
    }

    /// The undercut counts at whatever height it lies, not only at the corner of the upright kerf.
    #[test]
    fn refuses_an_edge_that_runs_on_below_the_undercut() {
        let case = flat_then_upright(60.0, (0.0, 150.0));
        assert_eq!(case.refusals(), ["edge-then-release"]);
        assert_eq!(case.figures("edge-then-release").unwrap().0, "60 mm undercut");
    }

    /// In the lower half the log's own surface draws in under the kerf: that is no undercut, on a straight log or a
    /// tapered one.
    #[test]
    fn the_logs_own_underside_is_no_undercut() {
        for log in [
            timber(300, 300, 3_600),
            tapered_log(260, 300, 3_600),
            Case::usual(Script::new()).log,
        ] {
            for across in [100.0, 120.0, 140.0] {
                let script = Script::new().travel(270).corner(across, 105.0).cut(4_530);
                let found = script.refusals(&powered_mill(), &log);
                assert!(!found.contains(&"edge-then-release"), "{across} {found:?}");
            }
        }
    }
}
