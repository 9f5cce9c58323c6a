//! # falls-off
//!
//! **Guards** against a heavy piece that drops off the log's side onto rails, carriage or feet as the upright kerf lets go of it.
//! **Trips when** an upright stroke frees a piece of more than 8 kg, bark not counted, with no wood of the log within three kerfs
//! under it, or one that balances beyond that wood by more than a quarter of its own width. It warns where such a piece balances
//! beyond it at all: it may tip. **Clears when** the piece is edged first and released by a flat stroke, whose
//! blade lies under it; or when less is taken, so that it lies on its floor. **Does not cover** what a flat stroke frees; nor a
//! piece on a floor that slopes, or that carries only a part of its length.

use bunkside_protocol::Angle;

use super::{Basis, Measure, Objection, Objections, Rule, Situation};
use crate::limits::FALLS;
use crate::physics::falling::{self, Over};

pub(super) const RULE: Rule = Rule {
    number: 0,
    id: "falls-off",
    title: "no upright stroke lets a heavy piece drop off the log",
    reason: "what drops as the kerf lets go of it strikes rails, carriage or feet, and nobody can stop it",
    basis: Basis::Practice,
    check,
};

const DROPS: &str =
    "edge it first and release it with a flat stroke, whose blade lies under it, or take less on this side";
const FALLS_DOWN: &str = "nothing lies under it: end the kerf higher, then release it with a flat stroke, whose blade lies under it";
const TIPS_ENTRY: &str = "it may tip off the entry side: nobody stands there until the blade is parked";
const TIPS_EXIT: &str = "it may tip off the exit side: nobody stands there until the blade is parked";

fn check(situation: &Situation<'_>, object: Objections<'_>) {
    let freed = situation.freed();
    let upright = situation
        .step()
        .is_some_and(|step| step.before.angle == Angle::Upright);
    if !upright || freed.is_empty() {
        return;
    }
    let Some(one) = falling::worst(situation.setup, situation.after, freed) else {
        return;
    };
    let (mass, most) = (Measure::Mass(one.mass_kg), Measure::Mass(FALLS));
    object(match (one.drops, one.over) {
        (true, Over::Down) => Objection::refuse(mass, most, FALLS_DOWN),
        (true, Over::Entry | Over::Exit) => Objection::refuse(mass, most, DROPS),
        (false, Over::Entry) => Objection::warn(mass, most, TIPS_ENTRY),
        (false, Over::Exit | Over::Down) => Objection::warn(mass, most, TIPS_EXIT),
    });
}

#[cfg(test)]
pub(super) mod tests {
    use bunkside_protocol::Angle;

    use crate::testing::{Case, Script, powered_mill, round_log};

    /// A side of the usual log, as heavy as green oak: cut under at half its radius, where the log is 130 mm wide to either side of
    /// its centre, then freed by an upright kerf whose corner stands here.
    fn side(across: f64) -> Case {
        weighing(1_100, across)
    }

    fn weighing(density: u16, across: f64) -> Case {
        let script = Script::opened().corner(across, 75.0).cut(4_530).height(320.0);
        let script = script
            .swing(Angle::Upright)
            .corner(across, 75.0)
            .cut(270)
            .unload();
        let mut log = round_log(300, 3_600);
        log.density = density;
        Case::new(powered_mill(), log, script)
    }

    pub(in crate::rules) fn example() -> Case {
        side(-122.0)
    }

    /// The segment beyond 127.5 mm of a circle of 150 mm has 2408 mm² and balances at 136.6 mm: 7 mm beyond the floor, which ends
    /// at 129.9 mm, and a quarter of its width is 5.6 mm. The flat kerf has taken 20 mm² of it.
    #[test]
    fn refuses_a_heavy_side_that_balances_beyond_its_floor() {
        let case = example();
        assert_eq!(case.refusals(), ["falls-off"]);
        let figures = case.figures("falls-off").unwrap();
        assert_eq!(figures, ("9.4 kg".into(), "8.0 kg".into()));
        assert_eq!(side(-121.0).refusals(), ["falls-off"]);
    }

    #[test]
    fn permits_one_that_can_be_caught_by_hand() {
        assert_eq!(weighing(940, -122.0).refusals(), ["falls-off"]);
        assert_eq!(weighing(930, -122.0).refusals(), [""; 0]);
    }

    /// 1.5 mm further in it is less than a quarter of its width that it balances beyond its floor; at 40 mm in it does no more.
    #[test]
    fn permits_with_a_warning_one_that_may_tip_and_one_that_lies_safe() {
        let told = |across: f64| {
            let case = side(across);
            (case.refusals(), case.warnings().contains(&"falls-off"))
        };
        assert_eq!(told(-120.0), (std::vec![], true));
        assert_eq!(told(-112.0), (std::vec![], true));
        assert_eq!(told(-110.0), (std::vec![], false));
    }

    /// The upright kerf comes out of the log's flank 1.7 mm over its corner; in wood as heavy as none is, so that the side is.
    #[test]
    fn refuses_a_side_with_nothing_under_it() {
        let through = |density: u16| {
            let script = Script::opened().height(320.0).swing(Angle::Upright);
            let script = script.corner(-131.0, 75.0).cut(4_530).unload();
            let mut log = round_log(300, 3_600);
            log.density = density;
            Case::new(powered_mill(), log, script)
        };
        assert_eq!(through(2_200).refusals(), ["falls-off"]);
        assert_eq!(through(1_800).refusals(), [""; 0]);
    }

    /// The same side, its upright kerf cut first: the flat blade lies under it when it comes free.
    #[test]
    fn permits_what_a_flat_stroke_frees() {
        let script = Script::opened().height(320.0).swing(Angle::Upright);
        let script = script.corner(-122.0, 75.0).cut(4_530).height(320.0);
        let script = script
            .swing(Angle::Flat)
            .corner(-122.0, 75.0)
            .release(270)
            .unload();
        let mut case = example();
        case.script = script;
        assert_eq!(case.refusals(), [""; 0]);
    }
}
