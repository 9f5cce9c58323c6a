use bunkside_protocol::{Angle, Length};

use crate::rules::Severity;
use crate::testing::{Case, Script, powered_mill, timber};

/// A flat kerf over a squared timber 180 mm wide and 160 mm high, so high over the bed, to its exit edge; and what is warned of
/// bark then, by move.
fn barks(script: Script, bark: i32) -> std::vec::Vec<(u16, super::Measure)> {
    let case = Case::new(powered_mill(), timber(180, 160, 3_600), script).in_bark(bark);
    let found = case.script.findings(&case.mill, &case.log);
    let of_bark = found.iter().filter(|one| one.objection.note == super::BARK);
    of_bark
        .map(|one| {
            assert_eq!((one.rule, one.objection.severity), ("thin-wood", Severity::Warn));
            (one.index, one.objection.measured)
        })
        .collect()
}

/// The timber's wood ends at 160 mm over its bark; the kerf takes the last 5 mm of it, and half a millimetre of the bark.
#[test]
fn warns_of_a_sheet_of_bark_over_a_flat_kerf() {
    let flat = |height: f64, bark: i32| {
        let script = Script::new().travel(4_530).swing(Angle::Flat);
        barks(script.corner(91.0, height).cut(270), bark)
    };
    let thick = |um: i64| super::Measure::Told(Length::um(um), "of bark alone");
    assert_eq!(flat(155.0, 30), [(4, thick(29_500))]);
    // The kerf leaves wood on it.
    assert_eq!(flat(154.0, 30), []);
    assert_eq!(flat(155.0, 9), []);
    assert_eq!(flat(154.5, 10), [(4, thick(10_000))]);
    assert_eq!(flat(159.0, 14), []);
    assert_eq!(flat(159.0, 15), [(4, thick(10_500))]);
}

/// In two passes it comes loose with the one that goes through.
#[test]
fn warns_at_the_pass_that_goes_through() {
    let script = Script::new().travel(4_530).swing(Angle::Flat);
    let script = script
        .corner(0.0, 155.0)
        .cut(270)
        .travel(4_530)
        .corner(91.0, 155.0)
        .cut(270);
    let found = barks(script, 30);
    let moves: std::vec::Vec<u16> = found.iter().map(|(index, _)| *index).collect();
    assert_eq!(moves, [7]);
}

/// The entry side's wood ends at -90 mm.
#[test]
fn warns_of_a_sheet_of_bark_beside_an_upright_kerf() {
    let upright = |across: f64| barks(Script::new().travel(270).corner(across, 100.0).cut(4_530), 30);
    assert_eq!(upright(-85.0).len(), 1);
    assert_eq!(upright(-84.0), []);
    // On the exit side the wood ends at 90 mm.
    assert_eq!(upright(90.0).len(), 1);
    assert_eq!(upright(89.0), []);
    assert_eq!(upright(0.0), []);
}

/// Two upright kerfs go 56.5 mm down from the opened face, and leave so much between them.
fn lath(wood: f64) -> Script {
    two_uprights(wood, 206.5)
}

fn two_uprights(wood: f64, height: f64) -> Script {
    Script::opened()
        .swing(Angle::Upright)
        .corner(0.0, height)
        .cut(4_530)
        .corner(5.5 + wood, height)
        .cut(270)
}

pub(in crate::rules) fn example() -> Case {
    Case::usual(lath(2.0))
}

#[test]
fn refuses_a_lath_between_two_upright_kerfs() {
    let case = example();
    assert_eq!(case.refusals(), ["thin-wood"]);
    // 56.5 mm high: the cube root of 0.02 mm × 56.5² mm² is 3.997 mm, and either face may be off by 0.2 mm.
    let figures = case.figures("thin-wood").unwrap();
    assert_eq!(figures, ("2 mm thick".into(), "4.397 mm".into()));
    assert_eq!(Case::usual(lath(4.3)).refusals(), ["thin-wood"]);
    assert_eq!(Case::usual(lath(4.4)).refusals(), [""; 0]);
}

/// Two upright kerfs leave so much between them, 56.5 mm high, and a flat one under both frees 51 mm of it.
fn freed_standing(wood: f64) -> Case {
    let script = lath(wood).travel_by_air(4_530).swing(Angle::Flat);
    Case::usual(script.corner(5.5 + wood, 206.5).release(270))
}

/// Eight times 6.375 mm are 51 mm.
#[test]
fn refuses_a_piece_freed_standing_on_a_narrow_foot() {
    let case = freed_standing(6.3);
    assert_eq!(case.refusals(), ["thin-wood"]);
    let figures = case.figures("thin-wood").unwrap();
    assert_eq!(figures, ("51 mm high".into(), "50.4 mm".into()));
    assert_eq!(freed_standing(6.4).refusals(), [""; 0]);
}

/// Two pieces between three upright kerfs, 51 mm high over a flat one that frees both; or one by one, unloaded between.
fn freed_side_by_side(wood: f64, at_once: bool) -> Case {
    let column = 5.5 + wood;
    let script = lath(wood)
        .corner(2.0 * column, 206.5)
        .cut(4_530)
        .swing(Angle::Flat);
    if at_once {
        return Case::usual(script.corner(2.0 * column, 206.5).release(270));
    }
    let script = script.corner(column, 206.5).release(270).unload();
    let script = script.travel(4_530).corner(2.0 * column, 206.5);
    Case::usual(script.release(270))
}

/// Four times 12.75 mm are 51 mm.
#[test]
fn warns_of_pieces_freed_side_by_side_on_narrow_feet() {
    let case = freed_side_by_side(12.7, true);
    let figures = case.figures("thin-wood").unwrap();
    assert_eq!(figures, ("51 mm high beside another".into(), "50.8 mm".into()));
    assert!(case.warnings().contains(&"thin-wood"));
    assert!(!freed_side_by_side(12.8, true).warnings().contains(&"thin-wood"));
    assert!(!freed_side_by_side(12.7, false).warnings().contains(&"thin-wood"));
}

/// Half of the log of 300 mm over a flat kerf, on so much wood at its exit side: it asks for about 10 mm of it.
fn half_on(left: f64) -> Case {
    let script = Script::new().travel(4_530).swing(Angle::Flat);
    let script = script.corner(0.0, 150.0).cut(270).travel_by_air(4_530);
    Case::usual(script.corner(150.0 - left, 150.0).cut(270))
}

#[test]
fn refuses_a_heavy_part_on_a_neck() {
    let case = half_on(7.0);
    assert!(case.refusals().contains(&"thin-wood"), "{:?}", case.refusals());
    let figures = case.figures("thin-wood").unwrap();
    assert_eq!(
        figures,
        ("6.671 mm that a part hangs by".into(), "10.167 mm".into())
    );
}

#[test]
fn permits_a_heavy_part_on_enough() {
    assert!(!half_on(11.0).refusals().contains(&"thin-wood"));
}

/// Common practice, no source: ten times as high as thick. The opened face lies at 263 mm.
#[test]
fn permits_a_low_fillet() {
    assert_eq!(Case::usual(two_uprights(2.0, 233.1)).refusals(), [""; 0]);
    assert_eq!(Case::usual(two_uprights(2.0, 233.0)).refusals(), ["thin-wood"]);
}

/// From the exit side, it is the second kerf that comes to stand on the entry side of the lath.
#[test]
fn refuses_a_lath_on_either_side_of_the_kerf() {
    let case = Case::usual(
        Script::opened()
            .swing(Angle::Upright)
            .corner(0.0, 206.5)
            .cut(4_530)
            .corner(-7.5, 206.5)
            .cut(270),
    );
    assert_eq!(case.refusals(), ["thin-wood"]);
}

/// A side 84.5 mm high with the timber's own surface on one side, freed by an upright kerf over a flat one: it balances half its
/// width from the kerf and 42.25 mm up, of which an eighth is 5.28 mm.
#[test]
fn warns_of_a_side_on_a_narrow_foot() {
    let warned = |wide: f64| {
        let script = Script::new().travel(270).swing(Angle::Flat);
        let script = script.corner(wide - 90.0, 70.0).cut(4_530).swing(Angle::Upright);
        let script = script.corner(wide - 84.5, 70.0).cut(270).unload();
        let case = Case::new(powered_mill(), timber(180, 160, 3_600), script);
        let told = case.figures("thin-wood");
        assert_eq!(case.refusals(), [""; 0]);
        case.warnings().contains(&"thin-wood").then_some(told).flatten()
    };
    let told = |most: &str| Some(("84.5 mm high".into(), most.into()));
    assert_eq!(warned(10.6), None);
    assert_eq!(warned(10.5), told("84 mm"));
    assert_eq!(warned(9.0), told("72 mm"));
}

/// The second kerf ends half way along the log: so does the lath.
#[test]
fn refuses_a_lath_along_a_part_of_the_log() {
    let case = Case::usual(
        Script::opened()
            .swing(Angle::Upright)
            .corner(0.0, 206.5)
            .cut(4_530)
            .corner(7.5, 206.5)
            .cut(2_000),
    );
    assert!(case.refusals().contains(&"thin-wood"), "{:?}", case.refusals());
}

/// The moves that this rule refuses.
fn refused(script: Script) -> std::vec::Vec<u16> {
    let case = Case::usual(script);
    let found = case.script.findings(&case.mill, &case.log);
    let own = found
        .iter()
        .filter(|one| one.rule == "thin-wood" && one.objection.severity == Severity::Refuse);
    own.map(|one| one.index).collect()
}

/// The lath stands from 2 m on; a third stroke on its entry side, 10 mm deeper, runs beside it only beyond that.
#[test]
fn permits_a_stroke_that_ends_before_the_lath_begins() {
    let beside = |to: i32| {
        let script = Script::opened().swing(Angle::Upright);
        let script = script.corner(0.0, 206.5).cut(4_530).corner(7.5, 206.5).cut(2_000);
        let lath = u16::try_from(script.moves.len() - 1).unwrap();
        let script = script.height(320.0).travel(270).corner(0.0, 196.5).cut(to);
        let deeper = u16::try_from(script.moves.len() - 1).unwrap();
        (refused(script), [lath, deeper])
    };
    let (found, [lath, _]) = beside(1_500);
    assert_eq!(found, [lath]);
    let (found, both) = beside(2_500);
    assert_eq!(found, both);
    // Where the one ends the other begins.
    let (found, [lath, _]) = beside(2_000);
    assert_eq!(found, [lath]);
}

/// 4.4 mm of wood, thick enough, stand beside the last kerf, and the lath far from it.
#[test]
fn permits_a_stroke_that_is_not_beside_the_lath() {
    let script = lath(2.0);
    let made = u16::try_from(script.moves.len() - 1).unwrap();
    let script = script
        .corner(-60.0, 206.5)
        .cut(4_530)
        .corner(-50.1, 206.5)
        .cut(270);
    assert_eq!(refused(script), [made]);
}

/// On the entry side of the last kerf stand 2 mm of wood down to 240 mm, 23 mm under the opened face, and under them what
/// another kerf leaves.
#[test]
fn refuses_a_lath_that_is_high_enough_as_a_whole() {
    let stepped = |under: f64, height: f64| {
        let script = Script::opened().swing(Angle::Upright);
        let script = script.corner(1.0, 240.0).cut(4_530);
        let script = script.corner(3.0 - under, height).cut(270);
        refused(script.corner(8.5, height).cut(4_530)).len()
    };
    // 56.5 mm high in all, but as thick as that below; 37 mm need 3.412 mm, and 29.5 mm are not high enough.
    assert_eq!(stepped(4.4, 206.5), 0);
    assert_eq!(stepped(4.3, 206.5), 1);
    assert_eq!(stepped(3.4, 226.0), 1);
    assert_eq!(stepped(3.5, 226.0), 0);
    assert_eq!(stepped(2.9, 233.5), 0);
}

/// A flat kerf under the opened face, 183.932 mm wide at 263 mm, hangs a skin on the exit side.
fn skin(wood: f64, reaches: f64) -> Case {
    let rim = -91.966 + reaches;
    Case::usual(
        Script::opened()
            .corner((rim * 10.0).round() / 10.0, 257.5 - wood)
            .cut(4_530),
    )
}

#[test]
fn refuses_a_skin_over_a_flat_kerf() {
    let case = skin(2.0, 100.0);
    assert_eq!(case.refusals(), ["thin-wood"]);
    // The log is 100.89 mm wide to either side there, so 108.92 mm: the cube root of 0.02 mm × 108.92² mm² is 6.19 mm.
    let figures = case.figures("thin-wood").unwrap();
    assert_eq!(figures, ("2 mm thick".into(), "6.59 mm".into()));
    assert_eq!(skin(6.2, 100.0).refusals(), ["thin-wood"]);
    assert_eq!(skin(6.8, 100.0).refusals(), [""; 0]);
    assert_eq!(skin(2.0, 40.0).refusals(), ["thin-wood"]);
    assert_eq!(skin(2.0, 20.0).refusals(), [""; 0]);
}

/// An upright slot parts the skin, 25 mm on its exit side and 25.4 mm on the other, where it runs; beyond its end all hangs
/// together.
#[test]
fn permits_a_skin_in_narrow_parts() {
    let slotted = |to: i32| {
        let script = Script::opened()
            .swing(Angle::Upright)
            .corner(-70.0, 240.0)
            .cut(to);
        let script = script.height(320.0).travel(4_530).swing(Angle::Flat);
        refused(script.corner(-45.0, 255.5).cut(270)).len()
    };
    assert_eq!(slotted(4_530), 0);
    assert_eq!(slotted(2_000), 1);
}

/// The same slot runs further than the flat kerf, beyond which both parts hang on.
#[test]
fn permits_a_skin_in_narrow_parts_that_hang_on() {
    let flat = |slot: f64| {
        let script = Script::opened()
            .swing(Angle::Upright)
            .corner(slot, 240.0)
            .cut(3_000);
        let script = script.height(320.0).travel(270).swing(Angle::Flat);
        refused(script.corner(-45.0, 255.5).cut(1_500)).len()
    };
    assert_eq!(flat(-70.0), 0);
    // Nearer to the log's side 30.4 mm are left on the exit side.
    assert_eq!(flat(-75.4), 1);
}

/// A flat kerf is open as far as 2 m, and the next one runs 2 mm over it.
#[test]
fn refuses_a_skin_over_a_kerf_that_ends_on_the_way() {
    let script = Script::opened().travel(270).corner(0.0, 206.5).cut(2_000);
    let script = script.travel(270).height(214.0).cut(4_530);
    assert_eq!(refused(script).len(), 1);
}

/// A stroke 4.5 mm lower widens the gap under a skin, and stands beside none.
#[test]
fn permits_a_stroke_that_is_not_beside_the_skin() {
    let script = Script::opened().corner(0.0, 255.5).cut(4_530);
    let lower = script.clone().corner(0.0, 251.0).cut(270);
    assert_eq!(refused(script).len(), 1);
    assert_eq!(refused(lower).len(), 1);
}

/// What lies under a flat kerf and over a lower one.
#[test]
fn refuses_a_skin_under_a_flat_kerf() {
    let under = |wood: f64| {
        let script = Script::opened().corner(0.0, 206.5).cut(4_530);
        let script = script.corner(0.0, 212.0 + wood).cut(270);
        Case::usual(script).refusals()
    };
    assert_eq!(under(2.0), ["thin-wood"]);
    assert_eq!(under(7.5), ["thin-wood"]);
    assert_eq!(under(8.0), [""; 0]);
}

/// An upright kerf 1 mm inside a round log's side leaves wood that runs out to nothing: its outer face is not sawn.
#[test]
fn permits_what_is_thin_under_the_bark() {
    let script = Script::new().travel(270).corner(-149.0, 150.0).cut(4_530);
    assert_eq!(Case::usual(script).refusals(), [""; 0]);
}

/// 3 mm, and either face may be off by 0.2 mm.
#[test]
fn warns_of_thin_wood_that_comes_free() {
    let warned = |wood: f64| {
        let script = Script::new().travel(4_530).swing(Angle::Flat);
        let script = script
            .corner(0.0, 150.0)
            .cut(270)
            .swing(Angle::Upright)
            .cut(4_530)
            .unload();
        let script = script
            .swing(Angle::Flat)
            .corner(0.0, 144.5 - wood)
            .cut(270)
            .swing(Angle::Upright)
            .cut(4_530);
        let case = Case::new(powered_mill(), timber(300, 160, 3_600), script);
        case.warnings().contains(&"thin-wood")
    };
    assert!(!warned(3.4));
    assert!(warned(3.3));
}
