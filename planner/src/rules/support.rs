//! # support
//!
//! **Guards** the log's line, and whoever stands beside it. **Trips when** fewer than two bunks lie under the log, when
//! two that carry it stand too far apart or too much of it lies beyond the last one, when it balances beyond them, when
//! its underside lies higher above a bunk than can be packed, or than a pack stands on it, or below its top; and at a cut that
//! finds what remains sagging too far between bunks or at a free end; and when a log is laid again in which a kerf stands open: what hangs
//! over it breaks off, and nobody can say where the kerf lies afterwards. Warns where an end of the log does not lie
//! over the whole width of the outermost bunk that carries it; where a pack is higher than its bunk is wide along the rails;
//! and at the first cut after the log has been laid again by hand and has not been measured: nothing says that it lies where the sequence takes it to lie. **Clears when**
//! bunks are set, the log is shifted or laid otherwise, or more is left to the end below the last layers; when what the
//! kerfs have opened is freed and unloaded before the log is laid again, and it is measured at that hold or a later
//! one. **Does not cover** packing that gives way, and logs that rot or cracks have weakened: the beam is one of sound
//! green wood; nor what measuring shows: where the log lies elsewhere, plan anew.

use bunkside_protocol::{Act, Length, Move};

use super::{Basis, Measure, Objection, Objections, Rule, Situation};
use crate::physics::sag::{most_sag, sags_too_far};
use crate::physics::support::{Flaw, carrying, flaws, short_of_edges, slender};
use crate::replay::Setup;

pub(super) const RULE: Rule = Rule {
    number: 0,
    id: "support",
    title: "bunks carry the log, and it does not sag",
    reason: "a log that sags, tips or lies hollow moves as it is sawn, pinches the blade and gives boards of uneven thickness",
    basis: Basis::Physics,
    check,
};

const BUNKS: &str = "the log lies on fewer than two bunks and tips; shift it, or set bunks under it";
const SPACING: &str = "the bunks that carry the log stand too far apart; set another one between them";
const OVERHANG: &str = "too much of the log lies beyond its last bunk; shift it, or set a bunk under its end";
const PACKING: &str = "the log lies too high above a bunk to be packed; level it by its underside, turn its bow up, or raise the other bunks";
const PILE: &str = "the pack on a bunk would be more than three times as high as the bunk is wide and falls over; level the log by its underside, turn its bow up, or set a wider bunk";
const SLENDER: &str = "a pack is higher than its bunk is wide along the rails, and tips before the log slides; build it as a crib, planks crosswise, and brace it along the rails, or level the log by its underside";
const SUNK: &str = "the log would lie in a bunk; lower the bunk or lay the log higher";
const TIPS: &str =
    "the log balances beyond its last bunk and tips; shift it or set a bunk under its heavy end";
const NEAR_EDGE: &str = "the near end lies on a part of its bunk only and slips off more easily; plan again with the log shifted towards its near end by what is missing";
const FAR_EDGE: &str = "the far end lies on a part of its bunk only and slips off more easily; plan again with the log shifted towards its far end by what is missing";
const EDGES: &str = "the log is too short for the outermost bunks that carry it; set them nearer together";
const SAGS: &str = "what remains sags too far, by the stiffness of sound green wood; leave more below this layer, set another bunk, or feed slower where the blade presses down";

const LAID_AGAIN: &str = "the log was laid again: measure it at a hold before this cut, and plan anew if it does not lie as it did";

const OPEN: &str = "a kerf stands open, and nobody can say where it lies once the log is laid again: free and unload what it has opened first";

fn check(situation: &Situation<'_>, object: Objections<'_>) {
    let setup = situation.setup;
    let Some(step) = situation.step() else { return };
    if let Move::Hold(hold) = step.told
        && hold.acts.contains(Act::Reseat)
        && situation.has_open_kerf()
    {
        let (found, wanted) = (Measure::State("a kerf open"), Measure::State("none open"));
        object(Objection::refuse(found, wanted, OPEN));
    }
    if matches!(step.told, Move::Cut(_)) && situation.history.laid_again() {
        let (found, wanted) = (Measure::State("laid again"), Measure::State("measured"));
        object(Objection::warn(found, wanted, LAID_AGAIN));
    }
    if step.index == 0 {
        flaws(setup.mill, setup.log, &setup.shape, &mut |flaw| {
            object(objection(situation, flaw));
        });
        edges(setup, object);
        if let Some((high, wide)) = slender(setup.mill, &setup.shape) {
            object(Objection::warn(
                Measure::Length(high),
                Measure::Length(wide),
                SLENDER,
            ));
        }
    }
    let (Some((_, facts)), Move::Cut(cut), Some(feed)) = (situation.cut(), step.told, step.feed) else {
        return;
    };
    if facts.met.is_none() {
        return;
    }
    let pass = (facts.bite, cut.speed);
    if let Some(sag) = sags_too_far(setup, situation.before, step.before.angle, feed, pass) {
        let (found, limit) = (
            Measure::Millimetres(sag),
            Measure::Millimetres(most_sag(setup.mill)),
        );
        object(Objection::refuse(found, limit, SAGS));
    }
}

/// An end of the log that lies over a part of the bunk only that carries it.
fn edges(setup: &Setup<'_>, object: Objections<'_>) {
    let Some([near, far]) = short_of_edges(setup.mill, &setup.shape) else {
        return;
    };
    let mut bunks = carrying(setup.mill, &setup.shape);
    let outermost = if near >= far {
        bunks.next()
    } else {
        bunks.next_back()
    };
    let (short, wide) = (
        near.max(far),
        outermost.map_or(Length::ZERO, |bunk| bunk.half_size.times(2)),
    );
    if short > Length::ZERO {
        let note = match near + far {
            both if both > Length::ZERO => EDGES,
            _ if near >= far => NEAR_EDGE,
            _ => FAR_EDGE,
        };
        object(Objection::warn(
            Measure::Length(wide - short),
            Measure::Length(wide),
            note,
        ));
    }
}

fn objection(situation: &Situation<'_>, flaw: Flaw) -> Objection {
    let mill = situation.setup.mill;
    let (found, limit, note) = match flaw {
        Flaw::Bunks(count) => (Measure::Count(count), Measure::Count(2), BUNKS),
        Flaw::Spacing(apart) => (
            Measure::Length(apart),
            Measure::Length(mill.support.spacing),
            SPACING,
        ),
        Flaw::Overhang(beyond) => (
            Measure::Length(beyond),
            Measure::Length(mill.support.overhang),
            OVERHANG,
        ),
        Flaw::Packing(high) => (
            Measure::Length(high),
            Measure::Length(mill.wedges.packing),
            PACKING,
        ),
        Flaw::Pile(high, most) => (Measure::Length(high), Measure::Length(most), PILE),
        Flaw::Sunk(low) => (Measure::Length(-low), Measure::Length(Length::ZERO), SUNK),
        Flaw::Tips => (
            Measure::State("balances beyond the bunks"),
            Measure::State("balances between them"),
            TIPS,
        ),
    };
    Objection::refuse(found, limit, note)
}

#[cfg(test)]
pub(super) mod tests {
    use std::vec::Vec;

    use super::*;
    use crate::testing::{Case, Script, mm, powered_mill, round_log, tapered_log, timber};
    use bunkside_protocol::mill::Bunk;
    use bunkside_protocol::{Act, Angle, Cut, Length, LogRecord, Position, Speed, Targets};

    /// Nothing but the blade brought up to speed.
    fn lying(bunks: &[i32], log: LogRecord) -> Case {
        let mut case = Case::new(powered_mill(), log, Script::new());
        set(&mut case, bunks);
        case
    }

    fn set(case: &mut Case, places: &[i32]) {
        let like: Bunk = case.mill.bunks[0];
        case.mill.bunks = places
            .iter()
            .map(|travel| Bunk {
                travel: Position::mm(*travel),
                ..like
            })
            .collect();
    }

    fn refused(case: &Case, measured: &str, limit: &str) {
        assert_eq!(case.refusals(), ["support"]);
        assert_eq!(case.figures("support"), Some((measured.into(), limit.into())));
    }

    /// The moves at which it is warned that nobody has measured, of a job with these holds before its first of two cuts and
    /// those between them; the cuts are the last move but two and the last.
    fn unmeasured(before: &[&[Act]], between: &[&[Act]]) -> Vec<usize> {
        let held =
            |script: Script, holds: &[&[Act]]| holds.iter().fold(script, |script, acts| script.hold(acts));
        let script = held(Script::at_rest(), before).with(Move::Spin(true));
        let script = script
            .travel(4_530)
            .swing(Angle::Flat)
            .corner(100.0, 263.0)
            .cut(270);
        let first = script.moves.len() - 1;
        let script = held(script.with(Move::Spin(false)).unload(), between).with(Move::Spin(true));
        let script = script.corner(0.0, 206.5).cut(4_530);
        let case = Case::usual(script);
        assert_eq!(case.refusals(), [""; 0]);
        let found = case.script.findings(&case.mill, &case.log);
        let told = found
            .iter()
            .filter(|finding| finding.objection.note == LAID_AGAIN);
        told.map(|finding| {
            let objection = finding.objection;
            assert_eq!(
                (finding.rule, objection.severity),
                ("support", crate::rules::Severity::Warn)
            );
            usize::from(usize::from(finding.index) != first)
        })
        .collect()
    }

    #[test]
    fn warns_once_at_the_first_cut_after_the_log_was_laid_again() {
        use Act::{Reseat, Sharpen, Sweep};
        assert_eq!(unmeasured(&[], &[]), []);
        assert_eq!(unmeasured(&[&[Reseat]], &[]), [0]);
        assert_eq!(unmeasured(&[], &[&[Reseat]]), [1]);
        assert_eq!(unmeasured(&[&[Reseat]], &[&[Sharpen, Reseat], &[Sweep]]), [0, 1]);
    }

    #[test]
    fn permits_a_log_laid_again_once_it_is_measured() {
        use Act::{Measure, Reseat, Sharpen, Sweep};
        assert_eq!(
            unmeasured(
                &[&[Reseat], &[Measure]],
                &[&[Reseat], &[Sweep], &[Sharpen, Measure]]
            ),
            []
        );
        // At one hold it is laid first and measured then.
        assert_eq!(unmeasured(&[&[Measure, Reseat]], &[]), []);
        // Measured before it was laid.
        assert_eq!(
            unmeasured(&[&[Measure], &[Reseat]], &[&[Measure], &[Reseat]]),
            [0, 1]
        );
    }

    #[test]
    fn refuses_to_lay_a_log_again_with_a_kerf_open_and_permits_it_once_the_column_is_unloaded() {
        let laid = |script: Script| Case::usual(script.with(Move::Spin(false)).hold(&[Act::Reseat]));
        let flat = Script::opened().corner(0.0, 206.5).cut(4_530);
        refused(&laid(flat.clone()), "a kerf open", "none open");
        let column = flat.swing(Angle::Upright).cut(270).unload();
        assert_eq!(laid(column).refusals(), [""; 0]);
        assert_eq!(laid(Script::opened()).refusals(), [""; 0]);
        let edge = Script::opened().travel_by_air(270).swing(Angle::Upright);
        refused(
            &laid(edge.corner(0.0, 206.5).cut(4_530)),
            "a kerf open",
            "none open",
        );
        // Anything else may be done meanwhile.
        let swept = Script::opened().corner(0.0, 206.5).cut(4_530);
        let swept = swept.with(Move::Spin(false)).hold(&[Act::Sweep, Act::Measure]);
        assert_eq!(Case::usual(swept).refusals(), [""; 0]);
    }

    /// A log from 0.6 m to 4.2 m on bunks 2.5 m apart.
    pub(in crate::rules) fn example() -> Case {
        lying(&[900, 3_400], round_log(300, 3_600))
    }

    #[test]
    fn refuses_bunks_that_stand_too_far_apart() {
        refused(&example(), "2500 mm", "2400 mm");
        assert_eq!(lying(&[900, 3_300], round_log(300, 3_600)).refusals(), [""; 0]);
    }

    /// Bunks are 120 mm wide: the log begins at 600 mm and ends at 4 200 mm, so that it covers those from 660 mm to 4 140 mm
    /// whole, and of one at 610 mm what lies from 600 mm to 670 mm.
    #[test]
    fn warns_of_an_end_that_lies_on_a_part_of_its_bunk_and_not_of_one_that_covers_it() {
        for (bunks, note, measured) in [
            ([660, 2_400, 4_140], "", ""),
            ([659, 2_400, 4_000], NEAR_EDGE, "119 mm"),
            ([610, 2_400, 4_000], NEAR_EDGE, "70 mm"),
            ([800, 2_400, 4_141], FAR_EDGE, "119 mm"),
            ([659, 2_400, 4_141], EDGES, "119 mm"),
        ] {
            let case = lying(&bunks, round_log(300, 3_600));
            assert_eq!(case.refusals(), [""; 0], "{bunks:?}");
            let found = case.script.findings(&case.mill, &case.log);
            let notes: Vec<&str> = found.iter().map(|finding| finding.objection.note).collect();
            if note.is_empty() {
                assert_eq!(notes, [""; 0], "{bunks:?}");
            } else {
                assert_eq!(notes, [note], "{bunks:?}");
                assert_eq!(case.figures("support"), Some((measured.into(), "120 mm".into())));
            }
        }
    }

    /// The cone that balances at 1.757 m (see below) begins at 0.6 m, on a bunk at 1.7 m as wide as it may be: half as much as
    /// that reaches beyond the end moves what bears inward. 1 210 mm either way reach to 490 mm, so that it bears at 1.755 m;
    /// 1 220 mm reach to 480 mm, so that it bears at 1.76 m.
    #[test]
    fn a_log_balances_over_the_middle_of_what_it_covers() {
        let mut mill = powered_mill();
        mill.support.overhang = Length::mm(2_000);
        for (half, refusals) in [(1_210, &[""; 0][..]), (1_220, &["support"])] {
            let mut case = Case::new(mill.clone(), tapered_log(400, 100, 3_600), Script::new());
            set(&mut case, &[1_700, 4_000]);
            case.mill.bunks[0].half_size = Length::mm(half);
            assert_eq!(case.refusals(), refusals, "{half}");
        }
    }

    /// A log that lies on the bed, and a bunk that stands 5 mm higher.
    #[test]
    fn refuses_a_bunk_in_the_log() {
        let mut case = lying(&[900, 3_300], round_log(300, 3_600));
        case.mill.bunks[0].top = Position::mm(5);
        refused(&case, "-5 mm", "0 mm");
    }

    #[test]
    fn refuses_a_log_on_fewer_than_two_bunks() {
        refused(&lying(&[100, 1_800], round_log(300, 2_400)), "1", "2");
        refused(&lying(&[100, 5_800], round_log(300, 2_400)), "0", "2");
    }

    #[test]
    fn refuses_too_long_a_free_end_at_either_end() {
        for (bunks, refusals) in [
            ([1_800, 4_000], &[""; 0][..]),
            ([1_801, 4_000], &["support"]),
            ([800, 3_000], &[]),
            ([800, 2_999], &["support"]),
        ] {
            assert_eq!(
                lying(&bunks, round_log(300, 3_600)).refusals(),
                refusals,
                "{bunks:?}"
            );
        }
    }

    /// A cone from 400 mm to 100 mm over 3.6 m balances (400² + 2·400·100 + 3·100²)/(4·(400² + 400·100 + 100²)) × 3.6 m =
    /// 1.157 m from its butt (closed form of a frustum): at 1.757 m along the rails.
    #[test]
    fn refuses_a_log_that_balances_beyond_its_bunks() {
        let mut mill = powered_mill();
        mill.support.overhang = Length::mm(2_000);
        let on = |bunks: &[i32]| {
            let mut case = Case::new(mill.clone(), tapered_log(400, 100, 3_600), Script::new());
            set(&mut case, bunks);
            case.refusals()
        };
        assert_eq!(on(&[1_756, 4_000]), [""; 0]);
        assert_eq!(on(&[1_758, 4_000]), ["support"]);
    }

    /// Level by its centre line, a log of 400 mm and 290 mm lies (400 − 290)/2 mm = 55 mm over the bed at its small end,
    /// and at the bunk 100 mm before it 55 × 35/36 = 53.472 mm.
    #[test]
    fn refuses_more_packing_than_there_is_and_permits_as_much() {
        let mut log = tapered_log(400, 290, 3_600);
        for station in &mut log.stations {
            station.centre_height = Position::mm(200);
        }
        for (packing, refusals) in [(53_473, &[""; 0][..]), (53_471, &["support"])] {
            let mut case = lying(&[700, 2_300, 4_100], log.clone());
            case.mill.wedges.packing = Length::um(packing);
            assert_eq!(case.refusals(), refusals, "{packing}");
        }
        let mut case = lying(&[700, 2_300, 4_100], log);
        case.mill.wedges.packing = Length::mm(50);
        refused(&case, "53.472 mm", "50 mm");
    }

    /// Bunks 120 mm wide, so far under the log.
    #[test]
    fn warns_of_a_pack_higher_than_its_bunk_is_wide_and_refuses_one_three_times_as_high() {
        for (low, warned, refused) in [
            (120, false, false),
            (121, true, false),
            (360, true, false),
            (361, true, true),
        ] {
            let mut case = lying(&[900, 2_400, 3_900], round_log(300, 3_600));
            case.mill.wedges.packing = Length::mm(1_000);
            case.mill.bunks[1].top = Position::mm(-low);
            let found = case.script.findings(&case.mill, &case.log);
            let told: Vec<_> = found
                .iter()
                .map(|finding| {
                    let objection = finding.objection;
                    (objection.note, objection.measured, objection.limit)
                })
                .collect();
            let high = Measure::Length(Length::mm(low));
            let mut expected = Vec::new();
            if refused {
                expected.push((PILE, high, Measure::Length(Length::mm(360))));
            }
            if warned {
                expected.push((SLENDER, high, Measure::Length(Length::mm(120))));
            }
            assert_eq!(told, expected, "{low}");
        }
        // Where there is no more packing than that, it is what is missing.
        let mut case = lying(&[900, 2_400, 3_900], round_log(300, 3_600));
        case.mill.wedges.packing = Length::mm(300);
        case.mill.bunks[1].top = Position::mm(-400);
        assert_eq!(case.refusals(), ["support"]);
        assert_eq!(case.figures("support"), Some(("400 mm".into(), "300 mm".into())));
    }

    /// A middle bunk may lie lower, and is packed and wedged.
    #[test]
    fn permits_a_lower_bunk_and_refuses_one_that_stands_in_the_log() {
        for (top, refusals) in [
            (-60, &[""; 0][..]),
            (-61, &["support"]),
            (1, &[]),
            (2, &["support"]),
        ] {
            let mut case = lying(&[900, 2_400, 3_900], round_log(300, 3_600));
            case.mill.bunks[1].top = Position::mm(top);
            assert_eq!(case.refusals(), refusals, "{top}");
        }
    }

    /// A timber 100 mm high and wide, of 900 kg/m³ and 9 000 N/mm², on bunks 2.4 m apart: I = 100⁴/12 mm⁴, w = 900 kg/m³ ×
    /// 0.01 m² × 9.80665 m/s² = 0.088 26 N/mm, 5 w L⁴/384 EI = 0.5084 mm (textbook formula, by hand).
    fn slender() -> Case {
        let script = Script::new()
            .travel(270)
            .swing(Angle::Upright)
            .corner(-30.0, 60.0)
            .with(Move::Cut(Cut {
                to: Targets::travel(mm(4_530.0)),
                speed: Speed::mm_per_s(150),
                feed: None,
                release: false,
            }));
        let mut log = timber(100, 100, 3_600);
        log.density = 900;
        let mut case = Case::new(powered_mill(), log, script);
        set(&mut case, &[1_200, 3_600]);
        case
    }

    #[test]
    fn refuses_a_cut_into_what_sags_too_far_and_permits_less() {
        let mut case = slender();
        case.mill.support.sag = Length::um(509);
        assert_eq!(case.refusals(), [""; 0]);
        case.mill.support.sag = Length::um(508);
        refused(&case, "0.508 mm", "0.508 mm");
        assert_eq!(case.script.findings(&case.mill, &case.log)[0].index, 4);
    }

    /// In air nothing bends that matters.
    #[test]
    fn permits_a_stroke_in_air_over_what_sags() {
        let mut case = slender();
        case.mill.support.sag = Length::um(100);
        case.script = Script::new()
            .travel(270)
            .swing(Angle::Upright)
            .corner(-30.0, 110.0)
            .cut(4_530);
        assert_eq!(case.refusals(), [""; 0]);
    }

    /// Climbing upright, 40 mm deep at 150 mm/s: 25 N/mm² × 5.5 mm × 40 mm × 150 mm/s = 825 W, 13.75 N along the rim,
    /// θ = acos(6/7) = 0.5411, down 13.75 × (θ − sin θ cos θ) × 280/80 = 4.816 N, with shock × 1.5 = 7.224 N:
    /// P L³/48 EI = 0.0277 mm more (textbook formula, by hand).
    #[test]
    fn permits_what_sags_at_rest_and_refuses_the_press_of_a_climbing_pass() {
        let mut case = slender();
        case.script = Script::new()
            .travel(4_530)
            .swing(Angle::Upright)
            .corner(-30.0, 60.0)
            .cut(270);
        for (limit, refusals) in [(537, &[""; 0][..]), (535, &["support"])] {
            case.mill.support.sag = Length::um(limit);
            assert_eq!(case.refusals(), refusals, "{limit}");
        }
    }
}
