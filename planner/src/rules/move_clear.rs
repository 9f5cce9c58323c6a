//! # move-clear
//!
//! **Guards** head and blade against what stands beside the kerf. **Trips when** the housing meets wood or bark in
//! any move, when the blade meets either outside a cut, when one of them enters a keep-out box, a bunk or a dog or comes
//! nearer to one than the axes are true to, or when a kerf comes nearer than 10 mm to a place with metal, or than the axes
//! are true to where that is more. **Clears when** the way leads round or the corner is set elsewhere. **Does not cover**
//! swings and free pieces: see the rules on those; nor metal that nobody has found and written into the job.

use bunkside_protocol::{Length, Move, Position};

use super::{Basis, Measure, Objection, Objections, Rule, Situation};
use crate::geometry::{Block, Interval};
use crate::machine::Apart;
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
    if situation.head_meets(step, wood).is_some() {
        object(refusal("housing in wood", HOUSING));
    }
    if !cutting && situation.blade_meets(step, near_log, wood).is_some() {
        object(refusal("blade in wood", BLADE));
    }
    let fixed = |block: Block| fixed_boxes(situation).any(|fixed| block.apart(clearance).overlaps(fixed));
    let blade_fixed = |block: Block| kept_out(situation, block.apart(clearance), cutting);
    if situation.head_meets(step, fixed).is_some()
        || situation.blade_meets(step, blade_fixed, blade_fixed).is_some()
    {
        object(refusal("in a kept-out place", BOX));
    }
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

const fn refusal(found: &'static str, note: &'static str) -> Objection {
    Objection::refuse(Measure::State(found), Measure::State("clear"), note)
}

/// Keep-out boxes, dogs and bunks.
fn fixed_boxes<'a>(situation: &Situation<'a>) -> impl Iterator<Item = Block> + 'a {
    let mill = situation.setup.mill;
    let bunks = mill.bunks.iter().map(|bunk| Block {
        travel: Interval::new(bunk.travel - bunk.half_size, bunk.travel + bunk.half_size),
        across: Interval::ALL,
        height: Interval::new(Position::MIN, bunk.top),
    });
    mill.keep_out
        .iter()
        .chain(&mill.dogs)
        .map(Block::from_record)
        .chain(bunks)
}

/// Whether the blade is where it may not be. How near a kerf may come to bunks and dogs is another rule's matter.
fn kept_out(situation: &Situation<'_>, block: Block, cutting: bool) -> bool {
    if cutting {
        situation
            .setup
            .mill
            .keep_out
            .iter()
            .any(|record| block.overlaps(Block::from_record(record)))
    } else {
        fixed_boxes(situation).any(|fixed| block.overlaps(fixed))
    }
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
        if let Some(blade) = situation.blade_meets(step, |blade| blade.overlaps(metal), in_wood) {
            let taken = taken(blade);
            most = most.max(Some(taken.across.length().min(taken.height.length())));
        }
    }
    most
}

#[cfg(test)]
pub(super) mod tests {
    use bunkside_protocol::mill::Box3;
    use bunkside_protocol::{Angle, Length, MillRecord};

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

    /// The upright kerf beside the log lies at 294.5 mm to 300 mm; boxes 5 mm and 4 mm beside it.
    #[test]
    fn keeps_out_of_boxes_and_dogs() {
        for dog in [false, true] {
            let clear = block([2_000, 200, 0], [2_100, 289, 40]);
            let near = block([2_000, 200, 0], [2_100, 290, 60]);
            assert_eq!(past(clear, dog).refusals(), [""; 0]);
            assert_eq!(past(near, dog).refusals(), ["move-clear"]);
            assert_eq!(
                past(near, dog).figures("move-clear").unwrap().0,
                "in a kept-out place"
            );
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
            let above = block([2_000, 400, 506], [2_100, 500, 600]);
            assert_eq!(past(above, dog).refusals(), [""; 0]);
        }
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
