//! # move-clear
//!
//! **Guards** head and blade against what stands beside the kerf, and what lies under the log against them. **Trips
//! when** the housing meets wood or bark in any move, when the blade meets either outside a cut, when one of them enters a
//! keep-out box, a bunk or a closed dog or comes nearer to one than the axes are true to, when outside a cut one of them,
//! the blade turning or not, comes nearer to a pack, a wedge or a closed dog than a kerf may, or when a kerf comes
//! nearer than 10 mm to a place with metal, or than the axes are true to where that is more. Packs and wedges stay when
//! the wood over them is gone. **Clears when** the way leads round or over, or the corner is set elsewhere. **Does not
//! cover** swings and free pieces: see the rules on those; nor metal that nobody has found and written into the job.

use bunkside_protocol::mill::{Box3, Bunk};
use bunkside_protocol::{Length, Move};

use super::{Basis, Measure, Objection, Objections, Rule, Situation, too_near};
use crate::geometry::{Block, Interval};
use crate::machine::Apart;
use crate::physics::dogs::meets;
use crate::physics::under::{is_near, note};
use crate::replay::Step;
use crate::stock::Pick;

pub(super) const RULE: Rule = Rule {
    number: 0,
    id: "move-clear",
    title: "the housing touches no wood, the blade none outside a cut",
    reason: "a head pushed into the log bends the rails, and a blade that touches wood at rapid is thrown",
    basis: Basis::Machine,
    check,
};

const HOUSING: &str =
    "the housing would push against the log; free the wood beside it first, or set the corner less deep";
const BLADE: &str = "the blade would touch wood outside a cut; go round, or make it a cut";
const BOX: &str = "blade or housing would enter a keep-out box, a bunk or a dog";
const UNDER: &str =
    "blade or housing would run into what lies under the log; raise the head first, and lower it past that";
const METAL: &str = "the kerf would meet metal in the log; lay the kerf elsewhere";
const NEAR_METAL: &str =
    "where metal lies is known to about 10 mm: lay the kerf further off, or take the metal out";

fn check(situation: &Situation<'_>, object: Objections<'_>) {
    let Some(step) = situation.step() else { return };
    let cutting = match step.told {
        Move::Go(_) => false,
        Move::Cut(_) => true,
        Move::Swing(_) | Move::Spin(_) | Move::Hold(_) => return,
    };
    let clearance = situation.clearance();
    let wood = |block: Block| situation.meets_wood(block.apart(clearance), Pick::Body);
    let near_log = |block: Block| situation.near_log(block);
    if situation.head_meets(step, &mut { wood }).is_some() {
        object(refusal("housing in wood", HOUSING));
    }
    if !cutting && situation.blade_meets(step, &near_log, &mut { wood }).is_some() {
        object(refusal("blade in wood", BLADE));
    }
    standing(situation, step, cutting, object);
    let kept = Apart::metal(situation.setup.mill);
    if let Some(metal) = metal_met(situation, step, None) {
        object(Objection::refuse(
            Measure::Length(metal),
            Measure::Length(Length::ZERO),
            METAL,
        ));
    } else if metal_met(situation, step, Some(kept)).is_some() {
        let found = Measure::State("a kerf too near to metal");
        let limit = Measure::Length(kept.across.max(kept.height));
        object(Objection::refuse(found, limit, NEAR_METAL));
    }
}

/// What stands fixed; and outside a cut what lies under the log, which in one is the bed's rule's matter.
fn standing(situation: &Situation<'_>, step: &Step, cutting: bool, object: Objections<'_>) {
    let (setup, clearance) = (situation.setup, situation.clearance());
    let (mut boxed, mut worst) = (false, None);
    situation.head_meets(step, &mut |block| {
        boxed |= kept_out(situation, block.apart(clearance), false);
        if !cutting {
            note(setup, block, &mut worst);
        }
        false
    });
    let blade_boxed = |block: Block| kept_out(situation, block.apart(clearance), cutting);
    let near = |block: Block| blade_boxed(block) || (!cutting && is_near(setup, block));
    situation.blade_meets(step, &near, &mut |block| {
        boxed |= blade_boxed(block);
        if !cutting {
            note(setup, block, &mut worst);
        }
        false
    });
    if boxed {
        object(refusal("in a kept-out place", BOX));
    }
    too_near(setup.mill, worst, UNDER, object);
}

const fn refusal(found: &'static str, note: &'static str) -> Objection {
    Objection::refuse(Measure::State(found), Measure::State("clear"), note)
}

/// Whether blade or head are where they may not be. How near a kerf may come to bunks and dogs is another rule's matter.
fn kept_out(situation: &Situation<'_>, block: Block, cutting: bool) -> bool {
    let (mill, shape) = (situation.setup.mill, &situation.setup.shape);
    let within = |record: &Box3| block.overlaps(Block::from_record(record));
    let at_dog = |dog: &Box3| meets(dog, shape, block);
    let at_bunk = |bunk: &Bunk| {
        let travel = Interval::new(bunk.travel - bunk.half_size, bunk.travel + bunk.half_size);
        block.height.lo < bunk.top && block.travel.overlaps(travel)
    };
    mill.keep_out.iter().any(within)
        || (!cutting && (mill.dogs.iter().any(at_dog) || mill.bunks.iter().any(at_bunk)))
}

/// How much of a place with metal the blade would take, where wood still stands around it. The rim counts as far
/// as it reaches ahead of the centre. What is kept from it makes the metal as much larger.
fn metal_met(situation: &Situation<'_>, step: &Step, kept: Option<Apart>) -> Option<Length> {
    step.cut?;
    let mut most: Option<Length> = None;
    let metals = situation.setup.log.metal.iter().map(Block::from_record);
    for metal in metals.map(|metal| kept.map_or(metal, |kept| metal.apart(kept))) {
        let taken = |blade: Block| Block {
            travel: metal.travel.meet(blade.travel),
            across: metal.across.meet(blade.across),
            height: metal.height.meet(blade.height),
        };
        let in_wood = |blade: Block| {
            let taken = taken(blade);
            !taken.is_empty() && situation.meets_wood(taken, Pick::Any)
        };
        if let Some(blade) = situation.blade_meets(step, &|blade| blade.overlaps(metal), &mut { in_wood }) {
            let taken = taken(blade);
            most = most.max(Some(taken.across.length().min(taken.height.length())));
        }
    }
    most
}

#[cfg(test)]
pub(super) mod tests {
    use bunkside_protocol::mill::Box3;
    use std::string::String;
    use std::vec::Vec;

    use bunkside_protocol::{Angle, Length, MillRecord, Position};

    use crate::testing::{Case, Script, block, hand_mill, powered_mill, round_log, timber};

    /// At rapid through the log.
    pub(in crate::rules) fn example() -> Case {
        Case::usual(Script::new().travel(270).corner(0.0, 206.5).travel(4_530))
    }

    #[test]
    fn refuses_the_blade_in_wood_outside_a_cut() {
        let case = example();
        assert_eq!(case.refusals(), ["move-clear"]);
        assert_eq!(case.figures("move-clear").unwrap().0, "blade in wood");
    }

    /// Flat, 5 mm over the log.
    #[test]
    fn permits_the_clearance_and_refuses_less() {
        let over = |bark: i32, height: f64| {
            let script = Script::new()
                .swing(Angle::Flat)
                .travel(270)
                .corner(100.0, height)
                .travel(4_530);
            Case::usual(script).in_bark(bark).refusals()
        };
        assert_eq!(over(0, 305.0), [""; 0]);
        assert_eq!(over(0, 304.9), ["move-clear"]);
        assert_eq!(over(20, 325.0), [""; 0]);
        assert_eq!(over(20, 324.9), ["move-clear"]);
    }

    /// A kerf whose upper face lies where the wood ends leaves bark standing beyond its rim.
    #[test]
    fn bark_stays_on_wood_that_a_shallow_kerf_leaves() {
        let over = |height: f64| {
            let script = Script::new()
                .swing(Angle::Flat)
                .travel(270)
                .corner(0.0, 154.5)
                .cut(4_530)
                .corner(60.0, height)
                .travel(270);
            let case = Case::new(powered_mill(), timber(180, 160, 3_600), script);
            case.in_bark(10).refusals()
        };
        assert_eq!(over(175.0), [""; 0]);
        assert_eq!(over(174.9), ["move-clear"]);
    }

    /// A blade in its own kerf touches wood on both sides, whatever clearance a profile claims.
    #[test]
    fn refuses_to_run_back_through_a_kerf_at_rapid() {
        for body in [5, 0, -20] {
            let mut case = Case::usual(Script::opened().corner(0.0, 206.5).cut(4_530).travel(270));
            case.mill.clearances.body = Length::mm(body);
            assert_eq!(case.refusals(), ["move-clear"], "{body}");
        }
    }

    /// Backing out of a kerf that stops is a stroke of its own, at feed.
    #[test]
    fn permits_to_back_out_of_a_kerf_as_a_cut() {
        assert_eq!(
            Case::usual(Script::opened().corner(0.0, 206.5).cut(2_000).cut(270)).refusals(),
            [""; 0]
        );
    }

    /// The head that swings over stands on the exit side of the upright blade, 211 mm above the corner; the one that
    /// swings under on the entry side. A timber of 230 mm: the deepest corner whose head clears it by 5 mm lies at
    /// 24 mm.
    #[test]
    fn refuses_the_housing_in_wood() {
        let at = |mill: MillRecord, across: f64, height: f64| {
            let script = Script::new().travel(4_530).corner(across, height).cut(270);
            let mut case = Case::new(mill, timber(230, 230, 3_600), script);
            case.mill.reach.cover = [Length::mm(210); 2];
            case.log.bed_clearance = Length::mm(15);
            case.mill.wedges.reach = Length::ZERO;
            case.refusals()
        };
        assert_eq!(at(powered_mill(), -110.0, 24.0), ["reach"]);
        assert_eq!(at(powered_mill(), -110.0, 23.9), ["reach", "move-clear"]);
        assert_eq!(at(hand_mill(), -110.0, 23.9), ["reach"]);
        assert_eq!(at(hand_mill(), 110.0, 23.9), ["reach", "move-clear"]);
    }

    /// The first column is deeper than the head stands off: 211 mm from the rim, less the clearance, wood above the
    /// flat kerf is in its way.
    #[test]
    fn refuses_the_housing_over_a_flat_kerf_that_is_too_deep() {
        let at = |across: f64| {
            let script = Script::new()
                .swing(Angle::Flat)
                .travel(270)
                .corner(0.0, 60.0)
                .cut(4_530)
                .travel_over(270)
                .corner(across, 60.0)
                .cut(4_530);
            let mut case = Case::new(powered_mill(), timber(240, 160, 3_600), script);
            case.mill.reach.cover = [Length::mm(210); 2];
            case.refusals()
        };
        assert_eq!(at(86.0), [""; 0]);
        assert_eq!(at(86.1), ["move-clear"]);
    }

    fn past(boxed: Box3, dog: bool) -> Case {
        let script = Script::new().corner(300.0, 50.0).travel(4_530);
        let mut case = Case::new(powered_mill(), round_log(300, 3_600), script);
        let list = if dog {
            &mut case.mill.dogs
        } else {
            &mut case.mill.keep_out
        };
        list.push(boxed).unwrap();
        case
    }

    /// The upright kerf beside the log lies at 294.5 mm to 300 mm; boxes 5 mm and 4 mm beside it, dogs 15 mm and 14 mm.
    #[test]
    fn keeps_out_of_boxes_and_dogs() {
        for (dog, clear) in [(false, 289), (true, 279)] {
            let beside = |to: i32| past(block([2_000, 200, 0], [2_100, to, 60]), dog);
            assert_eq!(beside(clear).refusals(), [""; 0]);
            let near = beside(clear + 1);
            assert_eq!(near.refusals(), ["move-clear"]);
            let found = if dog {
                "0.5 mm too near to dog 1"
            } else {
                "in a kept-out place"
            };
            assert_eq!(near.figures("move-clear").unwrap().0, found);
        }
    }

    #[test]
    fn keeps_off_the_bunks() {
        let at = |height: f64| Case::usual(Script::new().corner(300.0, height).travel(4_530)).refusals();
        assert_eq!(at(5.0), [""; 0]);
        assert_eq!(at(4.9), ["move-clear"]);
    }

    fn with_metal(script: Script, metal: Box3) -> Case {
        let mut case = Case::usual(script);
        case.log.metal.push(metal).unwrap();
        case
    }

    #[test]
    fn refuses_a_kerf_through_metal() {
        let metal = block([2_000, -50, 200], [2_050, -40, 265]);
        let case = with_metal(Script::opened(), metal);
        assert_eq!(case.refusals(), ["move-clear"]);
        assert_eq!(
            case.figures("move-clear").unwrap(),
            ("2 mm".into(), "0 mm".into())
        );
    }

    /// Where a detector finds metal is known to about 10 mm (common practice, no source). The kerf's floor lies at 263 mm.
    #[test]
    fn keeps_a_kerf_as_far_from_metal_as_its_place_is_unknown() {
        let up_to = |top: i32| with_metal(Script::opened(), block([2_000, -50, 200], [2_050, -40, top]));
        for near in [263, 254] {
            let case = up_to(near);
            assert_eq!(case.refusals(), ["move-clear"], "{near}");
            assert_eq!(
                case.figures("move-clear").unwrap(),
                ("a kerf too near to metal".into(), "10 mm".into())
            );
        }
        let mut case = up_to(253);
        assert_eq!(case.refusals(), [""; 0]);
        case.mill.height.tolerance = Length::um(10_100);
        assert!(case.refusals().contains(&"move-clear"));
    }

    /// A nail that went off with the slab is no longer in the way of the kerfs under it.
    #[test]
    fn permits_kerfs_under_metal_that_is_gone() {
        let nail = block([2_000, -8, 279], [2_050, 8, 300]);
        assert_eq!(
            with_metal(Script::opened().first_column(), nail).refusals(),
            [""; 0]
        );
    }

    /// A stroke that stops short of metal with its centre may yet reach it with its rim.
    #[test]
    fn refuses_metal_that_the_rim_reaches() {
        let metal = block([2_000, -100, 200], [2_050, 0, 230]);
        let to =
            |end: i32| with_metal(Script::opened().corner(0.0, 206.5).cut(end).cut(270), metal).refusals();
        assert_eq!(to(1_700), [""; 0]);
        assert_eq!(to(1_900), ["move-clear"]);
    }

    /// The head stands from 10 mm beside and 211 mm over the corner on.
    #[test]
    fn keeps_the_head_out_of_boxes_and_dogs() {
        for dog in [false, true] {
            let within = block([2_000, 400, 300], [2_100, 500, 400]);
            assert_eq!(past(within, dog).refusals(), ["move-clear"]);
            let above = block([2_000, 400, if dog { 515 } else { 505 }], [2_100, 500, 600]);
            assert_eq!(past(above, dog).refusals(), [""; 0]);
        }
    }

    /// Upright past the exit side of a timber 180 mm wide, packed up by 30 mm, with wedges 15 mm high on the packs that reach from
    /// 60 to 120 mm and a dog 40 mm high that closes from 150 on: what it finds, and whether that refuses.
    fn low(script: Script, across: f64, height: f64) -> Option<String> {
        let mut mill = powered_mill();
        for bunk in &mut mill.bunks {
            bunk.top = Position::mm(-30);
        }
        mill.dogs.push(block([1_500, 150, 0], [1_600, 220, 40])).unwrap();
        let script = script.corner(across, 100.0).corner(across, height).travel(4_530);
        let case = Case::new(mill, timber(180, 160, 3_600), script);
        let found = case.figures("move-clear")?;
        assert_eq!(case.refusals(), ["move-clear"]);
        assert_eq!(found.1, "15 mm clear of it");
        Some(found.0)
    }

    /// 15 mm over the pack, over the wedges on it, over what the dog fills from its box to the timber, whether the blade turns or
    /// stands; beside the dog and the wedges, further down.
    #[test]
    fn keeps_as_far_off_what_lies_under_the_log_as_a_kerf() {
        for script in [Script::new(), Script::at_rest()] {
            let at = |across: f64, height: f64| low(script.clone(), across, height);
            assert_eq!(at(300.0, 15.0), None);
            let pack = Some("0.1 mm too near to the pack on bunk 1".into());
            assert_eq!(at(300.0, 14.9), pack);
            assert_eq!(at(130.0, 55.0), None);
            assert_eq!(at(130.0, 54.9), Some("0.1 mm too near to dog 1".into()));
            assert_eq!(at(240.5, 29.9), None);
            assert_eq!(at(240.4, 29.9), Some("0.1 mm too near to dog 1".into()));
        }
    }

    #[test]
    fn keeps_off_wedges() {
        let at = |across: f64, height: f64| {
            let script = Script::new().corner(across, height).travel(4_530);
            let case = Case::new(powered_mill(), timber(180, 160, 3_600), script);
            (case.refusals(), case.figures("move-clear"))
        };
        let wedge = Some((
            "0.1 mm too near to a wedge at bunk 1".into(),
            "15 mm clear of it".into(),
        ));
        assert_eq!(at(120.0, 30.0), (Vec::new(), None));
        assert_eq!(at(120.0, 29.9), (["move-clear"].into(), wedge.clone()));
        assert_eq!(at(140.5, 29.8), (Vec::new(), None));
        assert_eq!(at(140.4, 29.8), (["move-clear"].into(), wedge));
    }

    /// In a cut the head, which stands 170 to 220 mm out from 261 mm up, keeps 5 mm off what a dog fills from its box 235 mm out to
    /// the timber at 150 mm.
    #[test]
    fn keeps_the_head_off_a_closed_dog_in_a_cut() {
        let at = |high: i32, along: i32| {
            let mut mill = powered_mill();
            mill.head[1] = [block([-120, 10, 211], [120, 60, 450])].into_iter().collect();
            let dog = block([along, 235, 200], [along + 100, 260, high]);
            mill.dogs.push(dog).unwrap();
            let script = Script::new().corner(160.0, 50.0).cut(4_530);
            // The blade, which stands in the dog, is another rule's matter.
            let case = Case::new(mill, timber(300, 300, 3_600), script);
            case.refusals().contains(&"move-clear")
        };
        assert!(!at(256, 2_000));
        assert!(at(257, 2_000));
        // It closes on no wood past the log's end.
        assert!(!at(257, 4_300));
    }

    #[test]
    fn keeps_the_blade_out_of_boxes_in_a_cut() {
        let near = block([2_000, 200, 0], [2_100, 290, 60]);
        let script = Script::new().corner(300.0, 50.0).cut(4_530);
        let mut case = Case::usual(script);
        assert_eq!(case.refusals(), [""; 0]);
        case.mill.keep_out.push(near).unwrap();
        assert_eq!(case.refusals(), ["move-clear"]);
    }
}
