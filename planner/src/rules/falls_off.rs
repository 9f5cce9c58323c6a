//! # falls-off
//!
//! **Guards** against a piece that drops off the log's side onto rails, carriage or feet as the kerf lets go of it. **Trips when**
//! an upright stroke frees a piece that drops: with no wood of the log or another piece within three kerfs under it, or one that
//! balances beyond the hull of that wood by more than a quarter of its own width, or beyond its ends; where it weighs more than the
//! mill lets drop (`loose.drops`; left out 18 kg, common practice, no source). It warns of one that is lighter, and where a piece
//! of more than 1 kg balances beyond that wood at all; and where a flat stroke frees one heavier than may drop that does: its blade
//! lies under the piece until it has passed, then the piece goes over. A piece that goes over so is refused where it is heavier
//! than the mill lets tip (`loose.tips`; left out 50 kg, two people at 25 kg, ISO 11228-1, from memory). Bark is weighed with the
//! wood. **Clears when** the kerf stands further in, or ends higher, so that the piece balances on wood; the refusal of a piece that
//! drops though it lies on some, when it is edged first and released by a flat stroke; that of one that is heavy, when upright kerfs
//! or a layer between part it first. **Does not cover** a floor that slopes.

use bunkside_protocol::Angle;

use super::{Basis, Measure, Objection, Objections, Rule, Situation};
use crate::geometry::Interval;
use crate::physics::falling::{self, Falling, Over};

pub(super) const RULE: Rule = Rule {
    number: 0,
    id: "falls-off",
    title: "nothing heavy falls off the log as it comes free",
    reason: "what drops as the kerf lets go of it strikes rails, carriage or feet, and nobody can stop it",
    basis: Basis::Practice,
    check,
};

const DROPS: &str = "edge it first and release it with a flat stroke, whose blade lies under it; or cut further in or end higher, where it balances on wood";
const HEAVY: &str = "it goes over, and is heavier than may (loose.tips): part it first, or cut further in or end higher, where it balances on wood";
const FALLS_DOWN: &str =
    "nothing lies under it, however it is freed: cut further in or end higher, where the kerf ends in wood";
const DROPS_ENTRY: &str =
    "it drops off the entry side: nobody beside the log there until the carriage is held";
const DROPS_EXIT: &str = "it drops off the exit side: nobody beside the log there until the carriage is held";
const TIPS_ENTRY: &str = "it tips off the entry side: nobody beside the log there until the carriage is held";
const TIPS_EXIT: &str = "it tips off the exit side: nobody beside the log there until the carriage is held";
const AFTER_ENTRY: &str = "once the blade is past, it tips off the entry side: nobody beside the log there until the carriage is held";
const AFTER_EXIT: &str = "once the blade is past, it tips off the exit side: nobody beside the log there until the carriage is held";
const AFTER_DOWN: &str =
    "once the blade is past, nothing carries it: nobody beside the log until the carriage is held";

/// On which sides of the log nobody stands after what a finding of this rule says: entry side, exit side.
#[must_use]
pub fn forbids(note: &str) -> [bool; 2] {
    match note {
        DROPS_ENTRY | TIPS_ENTRY | AFTER_ENTRY => [true, false],
        DROPS_EXIT | TIPS_EXIT | AFTER_EXIT => [false, true],
        // Of what is refused, and of what nothing carries, nobody can say where it goes.
        _ => [true, true],
    }
}

fn check(situation: &Situation<'_>, object: Objections<'_>) {
    let (Some((step, facts)), freed) = (situation.cut(), situation.freed()) else {
        return;
    };
    if freed.is_empty() {
        return;
    }
    let (setup, angle) = (situation.setup, step.before.angle);
    let each = falling::worst_each_way(setup, situation.after, angle, freed);
    let Some(one) = falling::worst(setup, angle, each) else {
        return;
    };
    let mass = Measure::Mass(one.mass_kg);
    if one.drops_too_heavy(setup, angle) {
        let most = Measure::Mass(f64::from(setup.mill.loose.drops));
        let note = match one.over {
            Over::Down => FALLS_DOWN,
            Over::Entry | Over::Exit | Over::End => DROPS,
        };
        object(Objection::refuse(mass, most, note));
        return;
    }
    if one.is_refused(setup, angle) {
        let most = Measure::Mass(f64::from(setup.mill.loose.tips));
        object(Objection::refuse(mass, most, HEAVY));
        return;
    }
    let most = Measure::Mass(falling::counts(setup, angle));
    for one in each.into_iter().flatten() {
        let mass = Measure::Mass(one.mass_kg);
        object(warning(one, angle, facts.kerf.across, [mass, most]));
    }
}

/// Where what goes over goes, which is not refused.
fn warning(one: Falling, angle: Angle, kerf: Interval, [mass, most]: [Measure; 2]) -> Objection {
    match (angle, one.drops, one.over) {
        (Angle::Upright, true, _) if one.across.lo >= kerf.lo => Objection::warn(mass, most, DROPS_EXIT),
        (Angle::Upright, true, _) => Objection::warn(mass, most, DROPS_ENTRY),
        (Angle::Upright, false, Over::Entry) => Objection::warn(mass, most, TIPS_ENTRY),
        // What has nothing under it, or balances beyond its end, drops.
        (Angle::Upright, false, Over::Exit | Over::End | Over::Down) => {
            Objection::warn(mass, most, TIPS_EXIT)
        }
        (Angle::Flat, _, Over::Entry) => Objection::warn(mass, most, AFTER_ENTRY),
        (Angle::Flat, _, Over::Exit) => Objection::warn(mass, most, AFTER_EXIT),
        (Angle::Flat, _, Over::End | Over::Down) => Objection::warn(mass, most, AFTER_DOWN),
    }
}

#[cfg(test)]
pub(super) mod tests {
    use bunkside_protocol::Angle;

    use super::*;
    use crate::testing::{Case, Script, powered_mill, round_log, tapered_log};

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

    /// Both sides of a small log, edged and then freed by one flat stroke, lie on a floor of 65 mm to either side at most and
    /// balance beyond it: what goes off the exit side is told beside what goes off the entry side.
    #[test]
    fn tells_of_each_side_that_something_goes_over() {
        let script = Script::new().corner(-58.0, 37.5).cut(4_530).height(320.0);
        let script = script.corner(62.0, 37.5).cut(270).height(320.0).travel(4_530);
        let script = script.swing(Angle::Flat).corner(68.0, 37.5).cut(270);
        let (mut mill, mut log) = (powered_mill(), round_log(150, 3_600));
        log.density = 1_100;
        mill.loose.drops = 0;
        let found = script.all_findings(&mill, &log);
        let sides: std::vec::Vec<[bool; 2]> = found
            .iter()
            .filter(|one| one.rule == RULE.id && one.index == 10)
            .map(|one| forbids(one.objection.note))
            .collect();
        assert_eq!(
            sides.first_chunk(),
            Some(&[[true, false], [false, true]]),
            "{found:?}"
        );
    }

    /// Of what is refused, or has nothing under it, nobody knows where it goes.
    #[test]
    fn forbids_both_sides_where_nobody_can_say() {
        let both = [DROPS, HEAVY, FALLS_DOWN, AFTER_DOWN].map(forbids);
        assert_eq!(both, [[true, true]; 4]);
        assert_eq!(
            [DROPS_EXIT, TIPS_EXIT, AFTER_EXIT].map(forbids),
            [[false, true]; 3]
        );
        assert_eq!(
            [DROPS_ENTRY, TIPS_ENTRY, AFTER_ENTRY].map(forbids),
            [[true, false]; 3]
        );
    }

    #[test]
    fn permits_one_that_is_as_light_as_may_drop_and_warns_of_it() {
        assert_eq!(weighing(940, -122.0).refusals(), ["falls-off"]);
        let told = |drops: u16, density: u16| {
            let mut case = weighing(density, -122.0);
            case.mill.loose.drops = drops;
            (case.refusals().len(), case.warnings().contains(&"falls-off"))
        };
        assert_eq!(told(8, 930), (0, true));
        assert_eq!([told(7, 930), told(9, 940)], [(1, false), (0, true)]);
        let light = |across: f64| weighing(930, across).warnings().contains(&"falls-off");
        assert_eq!([-138.0, -139.0].map(light), [true, false]);
    }

    /// Its wood weighs 7.9 kg. In bark of 5 mm the segment beyond 127.5 mm of a circle of 155 mm has 3294 mm², 886 mm² more than
    /// that of the wood; the flat kerf ends 75 mm below its middle and takes about 45 mm² of it: 2.8 kg.
    #[test]
    fn weighs_the_bark_too() {
        let told = |bark: i32| {
            let case = weighing(930, -122.0).in_bark(bark);
            (case.refusals(), case.figures("falls-off"))
        };
        assert_eq!(told(0).0, [""; 0]);
        let (refused, figures) = told(5);
        assert_eq!(refused, ["falls-off"]);
        assert_eq!(figures, Some(("10.7 kg".into(), "8.0 kg".into())));
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

    /// What may tip is the mill's to say, and what drops is refused however light the mill says.
    #[test]
    fn refuses_to_let_tip_what_is_heavier_than_the_mill_says() {
        let told = |across: f64, tips: u16| {
            let mut case = side(across);
            case.mill.loose.tips = tips;
            (case.refusals(), case.figures("falls-off"))
        };
        let figures = |limit: &str| Some(("11.2 kg".into(), limit.into()));
        assert_eq!(told(-119.0, 11), (std::vec!["falls-off"], figures("11.0 kg")));
        assert_eq!(told(-119.0, 12), (std::vec![], figures("1.0 kg")));
        assert_eq!(told(-110.0, 1).0, [""; 0]);
        assert_eq!(told(-122.0, 1_000).0, ["falls-off"]);
    }

    /// A log that tapers from 360 to 240 mm: its floor reaches 146 mm out at the butt, but 130 mm where the piece balances.
    #[test]
    fn looks_at_the_floor_where_the_piece_balances() {
        let tapers = |across: f64| {
            let mut case = side(across);
            case.log = tapered_log(360, 240, 3_600);
            case.log.density = 1_400;
            case.warnings().contains(&"falls-off")
        };
        assert!(tapers(-118.0));
        assert!(!tapers(-110.0));
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

    /// The same side, its upright kerf cut first, down to where it hangs by 4.1 mm yet: the flat blade lies under it when it comes
    /// free. It goes over once that has passed.
    #[test]
    fn permits_what_a_flat_stroke_frees() {
        let script = Script::opened().height(320.0).swing(Angle::Upright);
        let script = script.corner(-122.0, 78.0).cut(4_530).height(320.0);
        let script = script
            .swing(Angle::Flat)
            .corner(-122.0, 75.0)
            .release(270)
            .unload();
        let mut case = example();
        case.script = script;
        assert_eq!(case.refusals(), [""; 0]);
        assert!(
            case.warnings().contains(&"falls-off"),
            "once the blade has passed"
        );
        case.mill.loose.tips = 9;
        assert_eq!(case.refusals(), ["falls-off"]);
        assert_eq!(
            case.figures("falls-off"),
            Some(("9.4 kg".into(), "9.0 kg".into()))
        );
    }
}
