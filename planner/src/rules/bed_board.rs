//! # bed-board
//!
//! **Guards** the last cut over the bunks. **Trips when** the last group freed near the bed, below a quarter of the
//! log, is freed by an upright stroke, was not edged on its entry side, had no shallow flat pass before it (at the
//! same height, in forward feed, freeing nothing), or is freed flat in the wrong feed: climbing on a powered
//! carriage, forward on a hand carriage. On most mills forward is outbound and climbing homebound. A pull-back aid
//! that bears on the whole width of what the stroke frees makes the shallow pass and the climb unnecessary. **Clears when** the
//! group is edged, entry edge first, then freed flat in two passes. **Does not cover** levels above a quarter of
//! the log: they are not near the bed.

use bunkside_protocol::{Angle, Drive, Feed};

use super::{Basis, Measure, Moment, Objection, Objections, Rule, Situation};

pub(super) const RULE: Rule = Rule {
    number: 0,
    id: "bed-board",
    title: "the last group over the bunks is edged, then freed flat",
    reason: "with little wood left to hold it, a board freed otherwise is lifted or driven into the bunks",
    basis: Basis::Practice,
    check,
};

const UPRIGHT: &str = "edge the last group first and free it with a flat stroke";
const EDGE: &str = "cut the entry edge of the last group before it is freed";
const SHALLOW: &str = "go before with a shallow flat pass in forward feed that frees nothing";
const FEED_POWERED: &str = "free the last group on the climbing flat stroke";
const FEED_HAND: &str = "free the last group flat, in forward feed";

fn check(situation: &Situation<'_>, object: Objections<'_>) {
    let Moment::End(_) = situation.moment else { return };
    let Some(last) = situation.history.last_freed() else {
        return;
    };
    let mut trip = |found: &'static str, wanted: &'static str, note: &'static str| {
        let objection = Objection::refuse(Measure::State(found), Measure::State(wanted), note);
        object(objection.to(last.index));
    };
    if last.angle == Angle::Upright {
        trip("freed upright", "freed flat", UPRIGHT);
        return;
    }
    if !last.edged {
        trip("bark on the entry edge", "edged", EDGE);
    }
    if last.aid {
        return;
    }
    if !last.shallow_before {
        trip("no shallow pass", "a shallow pass before", SHALLOW);
    }
    match situation.setup.mill.drive {
        Drive::Powered { .. } if last.feed != Some(Feed::Climb) => {
            trip("forward feed", "climbing", FEED_POWERED);
        }
        Drive::Hand { .. } if last.feed != Some(Feed::Forward) => trip("climbing", "forward feed", FEED_HAND),
        Drive::Powered { .. } | Drive::Hand { .. } => {}
    }
}

#[cfg(test)]
pub(super) mod tests {
    use bunkside_protocol::{Act, Length, Move, Stroke};

    use crate::testing::{Case, Script, edged_over_bunks, hand_mill, powered_mill, timber};

    use super::Angle;

    fn on_timber(script: Script) -> Case {
        Case::new(powered_mill(), timber(180, 160, 3_600), script)
    }

    /// Freed in one climbing pass, without the shallow one.
    pub(in crate::rules) fn example() -> Case {
        on_timber(
            edged_over_bunks()
                .travel_over(4_530)
                .corner(91.0, 31.0)
                .cut(270)
                .unload(),
        )
    }

    /// Entry edge first, then shallow outbound in forward feed, then the full width homebound, climbing. Common
    /// practice, no source.
    #[test]
    fn permits_the_board_that_is_edged_and_freed_in_two_flat_passes() {
        let script = edged_over_bunks()
            .corner(0.0, 31.0)
            .cut(4_530)
            .corner(91.0, 31.0)
            .cut(270);
        assert_eq!(on_timber(script).refusals(), [""; 0]);
    }

    /// On a hand carriage the entry edge is cut and the shallow pass made, in forward feed; the blade then lies flat
    /// at the far end. Common practice, no source.
    fn shallow_by_hand() -> Script {
        Script::new()
            .swing(Angle::Flat)
            .travel(270)
            .corner(-60.0, 31.0)
            .cut(4_530)
            .height(200.0)
            .swing(Angle::Upright)
            .height(31.0)
            .cut(270)
            .unload()
            .height(200.0)
            .swing(Angle::Flat)
            .corner(0.0, 31.0)
            .cut(4_530)
    }

    /// A hand carriage makes both passes outbound, in forward feed. Common practice, no source.
    #[test]
    fn permits_both_passes_outbound_on_a_hand_carriage() {
        let script = shallow_by_hand()
            .travel_over(270)
            .corner(91.0, 31.0)
            .cut(4_530)
            .unload();
        let case = Case::new(hand_mill(), timber(180, 160, 3_600), script);
        assert_eq!(case.refusals(), [""; 0]);
    }

    /// Homebound the flat blade climbs, and that by hand neither frees the board nor is done at all.
    #[test]
    fn refuses_a_climbing_stroke_that_frees_it_on_a_hand_carriage() {
        let script = shallow_by_hand().corner(91.0, 31.0).cut(270).unload();
        let case = Case::new(hand_mill(), timber(180, 160, 3_600), script);
        assert_eq!(case.refusals(), ["climb-powered", "bed-board"]);
        let figures = case.figures("bed-board").unwrap();
        assert_eq!(figures, ("climbing".into(), "forward feed".into()));
    }

    #[test]
    fn refuses_without_the_shallow_pass() {
        let case = example();
        assert_eq!(case.refusals(), ["bed-board"]);
        let figures = case.figures("bed-board").unwrap();
        assert_eq!(
            figures,
            ("no shallow pass".into(), "a shallow pass before".into())
        );
    }

    /// The finding goes to the freeing stroke, not to the hold after it.
    #[test]
    fn refuses_the_stroke_that_freed_the_group() {
        let case = example();
        let found = case.script.findings(&case.mill, &case.log);
        let finding = found.iter().find(|finding| finding.rule == "bed-board").unwrap();
        assert_eq!(usize::from(finding.index), case.script.moves.len() - 2);
    }

    #[test]
    fn a_pass_that_ran_in_climb_feed_is_not_the_shallow_one() {
        let script = edged_over_bunks()
            .travel_over(4_530)
            .corner(0.0, 31.0)
            .cut(270)
            .travel_over(4_530)
            .corner(91.0, 31.0)
            .cut(270);
        assert_eq!(on_timber(script).refusals(), ["bed-board"]);
    }

    #[test]
    fn refuses_a_board_with_its_own_surface_on_the_entry_side() {
        let script = Script::new()
            .swing(Angle::Flat)
            .travel(270)
            .corner(-20.0, 31.0)
            .cut(4_530)
            .corner(91.0, 31.0)
            .cut(270);
        let case = on_timber(script);
        assert_eq!(case.refusals(), ["bed-board"]);
        assert_eq!(case.figures("bed-board").unwrap().0, "bark on the entry edge");
    }

    /// Along the entry face, or in air short of the log, in line with it: neither is an edge.
    #[test]
    fn refuses_an_edge_kerf_that_takes_no_wood() {
        for to in [4_530, 280] {
            let script = Script::new()
                .travel(270)
                .corner(-90.0, 31.0)
                .cut(to)
                .height(200.0)
                .travel(270)
                .swing(Angle::Flat)
                .corner(0.0, 31.0)
                .cut(4_530)
                .corner(91.0, 31.0)
                .cut(270);
            let case = on_timber(script);
            assert_eq!(case.refusals(), ["bed-board"], "{to}");
            assert_eq!(case.figures("bed-board").unwrap().0, "bark on the entry edge");
        }
    }

    #[test]
    fn refuses_a_board_freed_upright() {
        let script = edged_over_bunks()
            .corner(0.0, 31.0)
            .cut(4_530)
            .swing(Angle::Upright)
            .cut(270);
        let case = on_timber(script);
        assert_eq!(case.refusals(), ["bed-board"]);
        assert_eq!(case.figures("bed-board").unwrap().0, "freed upright");
    }

    #[test]
    fn refuses_a_forward_stroke_that_frees_it_on_a_powered_carriage() {
        let script = edged_over_bunks()
            .corner(0.0, 31.0)
            .cut(4_530)
            .travel_over(270)
            .corner(91.0, 31.0)
            .cut(4_530);
        let case = on_timber(script.clone());
        assert_eq!(case.refusals(), ["bed-board"]);
        assert_eq!(case.figures("bed-board").unwrap().0, "forward feed");
        // A piece without bark: nothing but this rule asks for the climb. Under the aid it may run outbound.
        let mut moves = script.moves;
        let aided = Script::at_rest().hold(&[Act::AidOn]).moves;
        moves.splice(0..0, aided);
        assert_eq!(on_timber(Script { moves }).refusals(), [""; 0]);
    }

    /// The last piece goes under the pull-back aid, flat outbound, in one pass. Common practice, no source.
    #[test]
    fn the_aid_excuses_only_what_it_bears_on() {
        let script = edged_over_bunks()
            .with(Move::Spin(false))
            .hold(&[Act::AidOn])
            .with(Move::Spin(true))
            .corner(91.0, 31.0)
            .cut(4_530)
            .unload();
        let mut case = on_timber(script);
        assert_eq!(case.refusals(), [""; 0]);
        // The piece is 150 mm wide: from -60 to 90.
        case.mill.aid.as_mut().unwrap().widest = Length::mm(150);
        assert_eq!(case.refusals(), [""; 0]);
        case.mill.aid.as_mut().unwrap().widest = Length::um(149_900);
        assert_eq!(case.refusals(), ["bed-board"]);
    }

    /// On a mill whose flat blade runs the other way, forward is homebound and climbing outbound.
    #[test]
    fn permits_the_two_passes_the_other_way_round_where_the_teeth_run_so() {
        let script = edged_over_bunks()
            .travel_over(4_530)
            .corner(0.0, 31.0)
            .cut(270)
            .corner(91.0, 31.0)
            .cut(4_530);
        let mut case = on_timber(script);
        case.mill.swing.teeth_flat = Stroke::Homebound;
        assert_eq!(case.refusals(), [""; 0]);
    }

    /// Cuts in air below the last board change nothing.
    #[test]
    fn a_lower_cut_in_air_does_not_hide_the_last_group() {
        let mut case = example();
        case.script = case.script.corner(-500.0, 26.0).cut(4_530);
        assert_eq!(case.refusals(), ["bed-board"]);
    }

    #[test]
    fn levels_above_a_quarter_of_the_log_are_not_meant() {
        // A quarter of 160 mm is 40 mm.
        let at = |height: f64| {
            let script = Script::new()
                .travel(4_530)
                .swing(Angle::Flat)
                .corner(91.0, height)
                .cut(270);
            on_timber(script).refusals()
        };
        assert_eq!(at(40.0), [""; 0]);
        assert_eq!(at(39.9), ["bed-board"]);
    }

    #[test]
    fn a_pass_at_another_height_is_not_the_shallow_one() {
        let script = edged_over_bunks()
            .corner(0.0, 37.0)
            .cut(4_530)
            .corner(91.0, 31.0)
            .cut(270);
        assert_eq!(on_timber(script).refusals(), ["bed-board"]);
    }
}
