use std::string::ToString;
use std::vec::Vec;

use bunkside_protocol::mill::HeightSetting;
use bunkside_protocol::{Angle, Millis, Position, Targets};

use crate::rules::Severity;
use crate::testing::{Case, Script, block, hand_mill, powered_mill, round_log, timber};

use super::{
    Act, BREAKS, BREAKS_TURNING, CRANKS, LIES, LOOSE, Length, MISSING, Move, NEAR, NOWHERE, OPEN, RULE,
    SHIFTS, SHORT, TURNS,
};

/// High over the log, but over it.
pub(in crate::rules) fn example() -> Case {
    Case::usual(Script::new().travel(2_000).unload().travel(4_530))
}

#[test]
fn refuses_a_carriage_over_the_log_and_permits_one_past_its_end() {
    let case = example();
    assert_eq!(case.refusals(), ["hold-parked"]);
    assert_eq!(
        case.figures("hold-parked").unwrap(),
        ("over the log".into(), "past its end".into())
    );
    for (travel, refused) in [(600, false), (601, true), (4_199, true), (4_200, false)] {
        let script = Script::at_rest().travel(travel).unload().travel(0);
        assert_eq!(!Case::usual(script).refusals().is_empty(), refused, "{travel}");
    }
}

/// Where the height is set at a crank, the blade stands before it is; a move that leaves the height as it is cranks nothing.
#[test]
fn warns_of_a_height_that_is_set_by_hand_beside_a_turning_blade() {
    let warned = |setting: HeightSetting, script: Script| {
        let mut case = Case::usual(script.with(Move::Spin(false)));
        case.mill.height_setting = setting;
        assert_eq!(case.refusals(), [""; 0]);
        let found = case.script.findings(&case.mill, &case.log);
        found
            .iter()
            .filter(|finding| finding.objection.note == CRANKS)
            .count()
    };
    let by_hand = HeightSetting::ByHand(Millis::new(25_000));
    let twice = |script: Script| script.travel(0).height(420.0).height(420.0).height(430.0);
    assert_eq!(warned(by_hand, twice(Script::new())), 2);
    assert_eq!(warned(by_hand, twice(Script::at_rest())), 0);
    assert_eq!(warned(HeightSetting::Driven, twice(Script::new())), 0);
}

/// Nor does anybody crank while he pushes, or in the way of a carriage that runs: the height is told by itself. Across goes with
/// it, since nobody walks for that; so does a travel or a height that is named and left as it is.
#[test]
fn refuses_a_height_that_is_set_by_hand_while_the_carriage_runs() {
    let refused = |setting: HeightSetting, travel: i32, height: i32| {
        let targets = Targets {
            travel: Some(Position::mm(travel)),
            across: Some(Position::mm(-30)),
            height: Some(Position::mm(height)),
        };
        let script = Script::at_rest().height(420.0).travel(0).with(Move::Go(targets));
        let mut case = Case::usual(script);
        case.mill.height_setting = setting;
        case.refusals() == ["hold-parked"]
    };
    let by_hand = HeightSetting::ByHand(Millis::new(25_000));
    assert!(refused(by_hand, 100, 430) && refused(by_hand, -1, 419));
    assert!(!refused(by_hand, 0, 430) && !refused(by_hand, 100, 420));
    assert!(!refused(HeightSetting::Driven, 100, 430));
}

/// Nor does anybody crank while a slab lies loose: it is unloaded first.
#[test]
fn refuses_a_height_that_is_set_by_hand_beside_a_loose_piece() {
    let refused = |setting: HeightSetting, unloads: bool| {
        let mut slab = Script::opened();
        slab.moves.pop();
        let slab = slab.travel(4_530).with(Move::Spin(false));
        let slab = if unloads { slab.unload() } else { slab };
        let mut case = Case::usual(slab.height(420.0));
        case.mill.height_setting = setting;
        let found = case.script.findings(&case.mill, &case.log);
        let last = case.script.moves.len() - 1;
        found
            .iter()
            .any(|finding| finding.objection.note == LOOSE && usize::from(finding.index) == last)
    };
    let by_hand = HeightSetting::ByHand(Millis::new(25_000));
    assert!(refused(by_hand, false) && !refused(by_hand, true));
    assert!(!refused(HeightSetting::Driven, false));
}

/// High over the log's end, the disc of 280 mm turning: with the clearance of 5 mm its centre belongs 285 mm past
/// the ends at 600 and 4 200 mm. A blade that stands may be nearer.
#[test]
fn refuses_a_turning_disc_over_the_logs_end_and_permits_a_standing_one() {
    let at = |script: Script, travel: i32| Case::usual(script.travel(travel).unload());
    for (travel, refused) in [
        (315, false),
        (316, true),
        (600, true),
        (4_200, true),
        (4_484, true),
        (4_485, false),
    ] {
        let refusals: &[&str] = if refused { &["hold-parked"] } else { &[] };
        assert_eq!(at(Script::new(), travel).refusals(), refusals, "{travel}");
        assert_eq!(at(Script::at_rest(), travel).refusals(), [""; 0], "{travel}");
    }
    let figures = at(Script::new(), 500).figures("hold-parked").unwrap();
    assert_eq!(figures, ("100 mm".into(), "285 mm".into()));
}

/// A head that reaches 400 mm out belongs as far past the end.
#[test]
fn refuses_a_head_over_the_logs_end_and_permits_it_further_out() {
    for (travel, refused) in [(195, false), (196, true)] {
        let mut case = Case::usual(Script::new().travel(travel).unload());
        case.mill.head[0].first_mut().unwrap().max[0] = Position::mm(400);
        assert_eq!(!case.refusals().is_empty(), refused, "{travel}");
    }
}

/// A blade of 400 mm covers 100 mm: √(400² − 300²) = 264.6 mm of it are past the centre in such a cut, and with 50
/// mm of run-out it has to stand 314.6 mm past the end where the rails are too short for more. They are so here by a
/// metre, and to brake from 500 mm/s takes 250 mm.
#[test]
fn permits_what_rails_allow_that_are_too_short_and_refuses_less() {
    let at = |travel: i32, rails: i32| {
        let mut case = Case::usual(Script::new().travel(travel).unload());
        (case.mill.blade.radius, case.mill.reach.cover) = (Length::mm(400), [Length::mm(100); 2]);
        case.mill.travel.min = Position::mm(rails);
        case.refusals()
    };
    assert_eq!(at(195, -900), [""; 0]);
    assert_eq!(at(196, -900), ["hold-parked"]);
    assert_eq!(at(285, 30), [""; 0]);
    assert_eq!(at(286, 30), ["hold-parked"]);
    // Too short for that too, no sequence can be made.
    assert_eq!(at(285, 40), ["hold-parked"]);
}

/// What a script leaves turning or lying is told of its end, whatever else it is about.
#[test]
fn refuses_an_end_with_a_turning_blade_or_a_loose_piece_and_permits_one_at_rest() {
    let ends = |script: Script| {
        let case = Case::usual(script);
        let found = case.script.all_findings(&case.mill, &case.log);
        let refused = found
            .iter()
            .filter(|finding| finding.objection.severity == Severity::Refuse);
        refused
            .map(|finding| (finding.rule, finding.objection.note))
            .collect::<Vec<_>>()
    };
    let mut lies = Script::opened();
    lies.moves.pop();
    assert_eq!(ends(Script::opened()), [("hold-parked", TURNS)]);
    assert_eq!(ends(Script::opened().with(Move::Spin(false))), []);
    let stopped = lies.clone().with(Move::Spin(false));
    assert_eq!(ends(stopped.clone()), [("hold-parked", LIES)]);
    assert_eq!(ends(stopped.unload()), []);
    assert_eq!(ends(lies), [("hold-parked", TURNS), ("hold-parked", LIES)]);
    assert_eq!(ends(Script::at_rest()), []);
}

#[test]
fn warns_of_a_kerf_left_open_and_permits_none() {
    let warns = |script: Script| {
        let case = Case::usual(script.with(Move::Spin(false)));
        let found = case.script.all_findings(&case.mill, &case.log);
        let open = found.iter().filter(|finding| finding.objection.note == OPEN);
        open.map(|finding| (finding.rule, finding.objection.severity))
            .collect::<Vec<_>>()
    };
    let told = [("hold-parked", Severity::Warn)];
    assert_eq!(warns(Script::opened()), []);
    let flat = Script::opened().corner(0.0, 206.5).cut(4_530);
    assert_eq!(warns(flat.clone()), told);
    // Through a part of the log only.
    assert_eq!(warns(Script::opened().corner(0.0, 206.5).cut(2_000)), told);
    let column = flat.swing(Angle::Upright).cut(270).unload();
    assert_eq!(warns(column), []);
    // Two kerfs of 5.5 mm side by side, and three.
    let edge = Script::opened().travel_by_air(270).swing(Angle::Upright);
    let two = edge.corner(0.0, 206.5).cut(4_530).corner(5.5, 206.5).cut(270);
    assert_eq!(warns(two.clone()), told);
    assert_eq!(warns(two.corner(11.0, 206.5).cut(4_530)), []);
}

#[test]
fn warns_of_a_hold_at_which_nothing_is_to_be_done() {
    let case = Case::usual(Script::at_rest().hold(&[]));
    assert_eq!(case.refusals(), [""; 0]);
    assert_eq!(case.warnings(), ["hold-parked"]);
    let reseat = Script::at_rest().hold(&[Act::Reseat, Act::Measure]);
    assert_eq!(Case::usual(reseat).warnings(), [""; 0]);
}

/// The notes of this rule's warnings.
fn warned(case: &Case) -> Vec<&'static str> {
    let found = case.script.findings(&case.mill, &case.log);
    let warns = found
        .iter()
        .filter(|finding| finding.rule == RULE.id && finding.objection.severity == Severity::Warn);
    warns.map(|finding| finding.objection.note).collect()
}

#[test]
fn warns_of_an_unloading_where_nothing_lies_and_permits_one_of_a_piece() {
    let case = Case::usual(Script::opened().unload());
    assert_eq!(case.refusals(), [""; 0]);
    assert_eq!(warned(&case), [NOWHERE]);
    assert_eq!(warned(&Case::usual(Script::opened())), [""; 0]);
    assert_eq!(warned(&Case::usual(Script::at_rest().unload())), [NOWHERE]);
}

/// A flat kerf over the log's whole length, and the upright one that frees its column.
#[test]
fn warns_of_a_log_that_is_wedged_with_a_kerf_open_and_permits_it_with_none() {
    let wedged = |script: Script| {
        let case = Case::usual(script.with(Move::Spin(false)).hold(&[Act::WedgeLog]));
        assert_eq!(case.refusals(), [""; 0]);
        warned(&case)
    };
    let flat = Script::opened().corner(0.0, 206.5).cut(4_530);
    assert_eq!(wedged(flat.clone()), [SHIFTS]);
    assert_eq!(wedged(flat.swing(Angle::Upright).cut(270).unload()), [""; 0]);
    assert_eq!(wedged(Script::new()), [""; 0]);
}

/// Two kerfs that miss each other by 0.2 mm leave a part that hangs by as much or lies free; those that meet leave none.
#[test]
fn warns_of_a_part_that_is_broken_off_and_not_where_all_is_sawn_free() {
    let case = |web: f64| broken_off(web, |script| script.with(Move::Spin(false)));
    assert_eq!(case(0.2).refusals(), [""; 0]);
    assert!(warned(&case(0.2)).contains(&BREAKS));
    assert!(!warned(&case(0.0)).contains(&BREAKS));
}

/// The same beside a turning blade.
#[test]
fn refuses_a_part_that_is_broken_off_beside_a_turning_blade_and_permits_it_sawn_free() {
    let case = |web: f64| broken_off(web, |script| script);
    let found = case(0.2).script.findings(&case(0.2).mill, &case(0.2).log);
    assert!(
        found
            .iter()
            .any(|one| one.objection.note == BREAKS_TURNING && one.objection.severity == Severity::Refuse)
    );
    assert_eq!(case(0.2).refusals(), ["hold-parked"]);
    assert!(!warned(&case(0.2)).contains(&BREAKS));
    assert_eq!(case(0.0).refusals(), [""; 0]);
}

/// A notch whose upright kerf stops so much over the flat one, and what is done before it is unloaded.
fn broken_off(web: f64, before: impl Fn(Script) -> Script) -> Case {
    let flat = Script::new()
        .swing(Angle::Flat)
        .travel(270)
        .corner(0.0, 100.0)
        .cut(4_530);
    let upright = flat.swing(Angle::Upright).corner(0.0, 105.5 + web).cut(270);
    Case::new(powered_mill(), timber(180, 160, 3_600), before(upright).unload())
}

/// The disc of 280 mm belongs 850 mm past the ends at 600 and 4 200 mm, so its centre 1 130 mm; on rails that go so far.
#[test]
fn warns_of_a_turning_blade_within_an_arms_reach_and_permits_one_further_out() {
    let told = |script: Script, travel: i32| {
        let mut case = Case::usual(script.travel(travel).unload());
        (case.mill.travel.min, case.mill.travel.max) = (Position::mm(-2_000), Position::mm(7_000));
        assert_eq!(case.refusals(), [""; 0], "{travel}");
        let mut found = case.script.all_findings(&case.mill, &case.log);
        found.retain(|one| one.objection.note == NEAR);
        found.first().map(|one| {
            (
                one.objection.measured.to_string(),
                one.objection.limit.to_string(),
            )
        })
    };
    let near = |found: &str| Some((found.into(), "850 mm".into()));
    assert_eq!(told(Script::new(), -530), None);
    assert_eq!(told(Script::new(), -529), near("849 mm"));
    assert_eq!(told(Script::new(), 315), near("5 mm"));
    assert_eq!(told(Script::new(), 4_530), near("50 mm"));
    assert_eq!(told(Script::new(), 5_329), near("849 mm"));
    assert_eq!(told(Script::new(), 5_330), None);
    // A blade at rest may be nearer.
    assert_eq!(told(Script::at_rest(), 315), None);
}

/// A head that reaches 300 mm out on one side only: on the other the disc is what is near.
#[test]
fn warns_of_the_head_where_that_is_nearer_and_permits_it_further_out() {
    let told = |travel: i32| {
        let mut case = Case::usual(Script::new().travel(travel).unload());
        (case.mill.travel.min, case.mill.travel.max) = (Position::mm(-2_000), Position::mm(7_000));
        case.mill.head[1].first_mut().unwrap().max[0] = Position::mm(300);
        let found = case.script.all_findings(&case.mill, &case.log);
        found.iter().any(|one| one.objection.note == NEAR)
    };
    assert!(told(-549));
    assert!(!told(-550));
    assert!(!told(5_330));
}

/// The timber's side lies at 90 mm: a dog at it holds, one 400 mm further off holds nothing.
#[test]
fn warns_of_dogs_that_are_not_there_or_hold_nothing_and_permits_those_that_hold() {
    let closed = |dogs: &[i32], hold: u32| {
        let script = Script::at_rest().hold(&[Act::Dog]);
        let mut case = Case::new(powered_mill(), timber(180, 160, 3_600), script);
        case.mill.dog_hold = hold;
        for across in dogs {
            let dog = block([690, *across, 0], [710, across + 30, 40]);
            case.mill.dogs.push(dog).unwrap();
        }
        assert_eq!(case.refusals(), [""; 0]);
        warned(&case)
    };
    assert_eq!(closed(&[], 4_000), [MISSING]);
    assert_eq!(closed(&[490], 4_000), [SHORT]);
    assert_eq!(closed(&[490, 90], 4_000), [""; 0]);
    // How hard they hold is not known of a mill that does not say.
    assert_eq!(closed(&[490], 0), [""; 0]);
}

#[test]
fn refuses_hands_near_a_loose_piece_and_permits_them_once_it_is_unloaded() {
    for act in Act::ALL {
        let mut lies = Script::opened().with(Move::Spin(false));
        let unload = lies.moves.remove(lies.moves.len() - 2);
        let near = act != Act::Unload;
        let refusals: &[&str] = if near { &["hold-parked"] } else { &[] };
        assert_eq!(
            Case::usual(lies.clone().hold(&[act])).refusals(),
            refusals,
            "{act:?}"
        );
        let same = lies.clone().hold(&[act, Act::Unload]);
        assert_eq!(Case::usual(same).refusals(), [""; 0], "{act:?}");
        let earlier = lies.with(unload).hold(&[act]);
        assert_eq!(Case::usual(earlier).refusals(), [""; 0], "{act:?}");
    }
}

/// The standing disc reaches 280 mm ahead and keeps 5 mm clear: its centre stands 285 mm short of the end at 600 mm.
#[test]
fn refuses_a_blade_at_the_wood() {
    let at = |travel: i32| {
        let script = Script::at_rest().corner(0.0, 20.0).travel(travel).unload();
        Case::usual(script).refusals()
    };
    assert_eq!(at(314), [""; 0]);
    assert!(at(316).contains(&"hold-parked"));
}

#[test]
fn refuses_a_hold_in_the_middle_of_a_cut() {
    let script = Script::opened()
        .corner(0.0, 206.5)
        .cut(2_000)
        .hold(&[Act::Sweep])
        .cut(4_530);
    assert_eq!(Case::usual(script).refusals(), ["hold-parked"]);
}

/// A sequence that stops in the wood leaves the blade there.
#[test]
fn refuses_an_end_in_the_middle_of_a_cut() {
    let script = Script::opened().corner(0.0, 206.5).cut(2_000);
    assert_eq!(Case::usual(script.clone()).refusals(), ["hold-parked"]);
    assert_eq!(Case::usual(script.cut(4_530)).refusals(), [""; 0]);
}

#[test]
fn refuses_hands_near_a_turning_blade() {
    for act in Act::ALL {
        let turning = Case::usual(Script::new().hold(&[act]));
        let standing = Case::usual(Script::at_rest().hold(&[act]));
        let stopped = Case::usual(Script::new().with(Move::Spin(false)).hold(&[act]));
        let near = act != Act::Unload;
        let refusals: &[&str] = if near { &["hold-parked"] } else { &[] };
        assert_eq!(turning.refusals(), refusals, "{act:?}");
        assert_eq!(standing.refusals(), [""; 0], "{act:?}");
        assert_eq!(stopped.refusals(), [""; 0], "{act:?}");
    }
}

#[test]
fn refuses_opposite_acts_at_one_hold() {
    for acts in [[Act::KnifeOn, Act::KnifeOff], [Act::AidOn, Act::AidOff]] {
        assert_eq!(
            Case::usual(Script::at_rest().hold(&acts)).refusals(),
            ["hold-parked"]
        );
    }
}

#[test]
fn warns_where_the_mill_lacks_what_is_to_be_fitted() {
    let on = |act| Case::new(hand_mill(), round_log(300, 3_600), Script::at_rest().hold(&[act]));
    assert_eq!(on(Act::AidOn).refusals(), [""; 0]);
    assert_eq!(on(Act::AidOn).warnings(), ["hold-parked"]);
    assert_eq!(on(Act::KnifeOn).warnings(), [""; 0]);
    let mut without = on(Act::KnifeOn);
    without.mill.knife = None;
    assert_eq!(without.warnings(), ["hold-parked"]);
}

/// Two millimetres short of the slab that lies free, where the way there is refused as well; the log itself is lower.
#[test]
fn refuses_a_hold_at_a_free_piece() {
    let at = |travel: i32| {
        let mut script = Script::opened();
        script.moves.pop();
        let script = script.corner(180.0, 280.0).with(Move::Spin(false));
        Case::usual(script.travel(travel).unload()).refusals()
    };
    assert_eq!(at(314), [""; 0]);
    assert_eq!(at(318), ["free-piece", "hold-parked"]);
}

/// The blade stands beside the log, past whose end its centre is; the head reaches over it.
#[test]
fn refuses_a_hold_with_the_head_at_the_wood() {
    let at = |travel: i32| {
        let script = Script::at_rest().corner(-165.0, 50.0).travel(travel).unload();
        Case::usual(script).refusals()
    };
    assert_eq!(at(475), [""; 0]);
    assert!(at(500).contains(&"hold-parked"));
}
