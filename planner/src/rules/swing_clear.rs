//! # swing-clear
//!
//! **Guards** blade, log and bed while the blade changes its angle. **Trips when** the blade's centre is not past
//! the log's ends, or its sweep meets wood, bark, the bed plane, a bunk, a dog or a keep-out box, or comes nearer to bed
//! plane or bunk than the height is true to, or to a pack, a wedge or a closed dog than a kerf may.
//! **Clears when** the carriage runs out further or the head is raised first. **Does not cover** people: nobody stands
//! at the ends while the blade swings.

use bunkside_protocol::{Length, MillRecord, Move, Position};

use super::{Basis, Measure, Objection, Objections, Rule, Situation, too_near};
use crate::geometry::{Block, Interval};
use crate::physics::under::{is_near, note};
use crate::replay::Step;
use crate::stock::Pick;

pub(super) const RULE: Rule = Rule {
    number: 0,
    id: "swing-clear",
    title: "the blade swings only past the log's ends and in the clear",
    reason: "the swing sweeps rim and housing far outside the kerf, and below the corner when it turns under",
    basis: Basis::Machine,
    check,
};

const OVER_LOG: &str = "run past the log's end before the blade swings";
const WOOD: &str = "the sweep meets the log; run out further before the blade swings";
const BED: &str = "the sweep goes below the bed; raise the head before the blade swings";
const BED_NEAR: &str =
    "the sweep is nearer to the bed than the height is true to; raise the head before the blade swings";
const UNDER: &str = "the sweep meets what lies under the log; raise the head before the blade swings";
const BOX: &str = "the sweep meets a dog or a keep-out box; swing elsewhere";

fn check(situation: &Situation<'_>, object: Objections<'_>) {
    let Some(step) = situation.step() else { return };
    if !matches!(step.told, Move::Swing(_)) || step.before.angle == step.after.angle {
        return;
    }
    let log = situation.setup.shape.travel();
    let centre = step.before.travel;
    if log.lo < centre && centre < log.hi {
        let inside = (centre - log.lo).min(log.hi - centre);
        object(Objection::refuse(
            Measure::Told(inside, "inside the log's end"),
            Measure::State("past it"),
            OVER_LOG,
        ));
        return;
    }
    let mill = situation.setup.mill;
    let clearance = situation.clearance();
    let wood = |block: Block| situation.meets_wood(block.apart(clearance), Pick::Body);
    if situation
        .swing_meets(step, &|block| situation.near_log(block), &mut { wood })
        .is_some()
    {
        let past = (log.lo - centre).max(centre - log.hi);
        object(Objection::refuse(
            Measure::Length(past),
            Measure::Length(reach_to_log(mill, centre <= log.lo) + clearance.travel),
            WOOD,
        ));
    }
    bed(situation, step, object);
    let fixed = |block: Block| {
        let mut boxes = mill.dogs.iter().chain(&mill.keep_out).map(Block::from_record);
        boxes.any(|fixed| block.apart(clearance).overlaps(fixed))
    };
    let (setup, mut boxed, mut worst) = (situation.setup, false, None);
    situation.swing_meets(
        step,
        &|block| fixed(block) || is_near(setup, block),
        &mut |block| {
            boxed |= fixed(block);
            note(setup, block, &mut worst);
            false
        },
    );
    too_near(mill, worst, UNDER, object);
    if boxed {
        object(Objection::refuse(
            Measure::State("meets a fixed box"),
            Measure::State("clear"),
            BOX,
        ));
    }
}

/// How far blade or head reach towards the log from the blade's centre, past the log's near end or its far one.
fn reach_to_log(mill: &MillRecord, near: bool) -> Length {
    let heads = mill.head.iter().flatten().map(|part| {
        let ([lo, ..], [hi, ..]) = (part.min, part.max);
        if near { hi.from_origin() } else { -lo.from_origin() }
    });
    heads.fold(mill.blade.radius, Length::max)
}

/// Refuses a sweep below the bed plane or the top of a bunk, or nearer to either than the height is true to.
fn bed(situation: &Situation<'_>, step: &Step, object: Objections<'_>) {
    let mill = situation.setup.mill;
    let play = mill.height.play();
    let mut over = play;
    let highest = mill
        .bunks
        .iter()
        .map(|bunk| bunk.top)
        .fold(Position::ZERO, Position::max);
    let low = |block: Block| block.height.lo < highest + play;
    situation.swing_meets(step, &low, &mut |block| {
        over = over.min(block.height.lo - bed_under(mill, block));
        false
    });
    if over < Length::ZERO {
        let found = Measure::Told(-over, "below the bed");
        object(Objection::refuse(found, Measure::State("above it"), BED));
    } else if over < play {
        let found = Measure::Told(over, "above the bed");
        object(Objection::refuse(found, Measure::Length(play), BED_NEAR));
    }
}

/// The bed plane under a box, or the top of a bunk there that stands higher.
fn bed_under(mill: &MillRecord, block: Block) -> Position {
    let under = mill.bunks.iter().filter(|bunk| {
        Interval::new(bunk.travel - bunk.half_size, bunk.travel + bunk.half_size).overlaps(block.travel)
    });
    under.map(|bunk| bunk.top).fold(Position::ZERO, Position::max)
}

#[cfg(test)]
pub(super) mod tests {
    use std::format;
    use std::vec::Vec;

    use bunkside_protocol::{Angle, Length, MillRecord, Position};

    use crate::machine::swept;
    use crate::testing::{Case, Script, block, hand_mill, powered_mill, timber};

    /// High over the log, but over it.
    pub(in crate::rules) fn example() -> Case {
        Case::usual(Script::new().travel(2_000).swing(Angle::Flat).travel(0))
    }

    #[test]
    fn refuses_over_the_log_and_permits_past_its_ends() {
        let case = example();
        assert_eq!(case.refusals(), ["swing-clear"]);
        assert_eq!(
            case.figures("swing-clear").unwrap(),
            ("1400 mm inside the log's end".into(), "past it".into())
        );
        for (travel, refused) in [(600, false), (601, true), (4_199, true), (4_200, false)] {
            let script = Script::new().travel(travel).swing(Angle::Flat).travel(0);
            assert_eq!(!Case::usual(script).refusals().is_empty(), refused, "{travel}");
        }
    }

    fn at(mill: MillRecord, travel: i32, across: f64, height: f64) -> Case {
        let script = Script::new()
            .corner(across, height)
            .travel(travel)
            .swing(Angle::Flat);
        Case::new(mill, timber(180, 160, 3_600), script)
    }

    /// Near the end of the log and beside it on the entry side: swinging over sweeps away from it, swinging under
    /// sweeps 0.414 of the radius beyond the corner, into it.
    #[test]
    fn the_way_round_decides_what_is_swept() {
        assert_eq!(at(powered_mill(), 500, -110.0, 160.0).refusals(), [""; 0]);
        assert_eq!(at(hand_mill(), 500, -110.0, 160.0).refusals(), ["swing-clear"]);
        assert_eq!(at(hand_mill(), 300, -110.0, 160.0).refusals(), [""; 0]);
        // A radius of 280 mm and a clearance of 5 mm past the end nothing is met.
        let figures = at(hand_mill(), 500, -110.0, 160.0).figures("swing-clear");
        assert_eq!(figures, Some(("100 mm".into(), "285 mm".into())));
    }

    /// A housing that reaches out further than the blade has to run out further, at the end towards which it does.
    #[test]
    fn a_long_housing_is_told_how_far_to_run_out() {
        let figures = |travel: i32, reaches: [i32; 2]| {
            let mut mill = powered_mill();
            for head in &mut mill.head {
                for part in head {
                    (part.min[0], part.max[0]) = (Position::mm(reaches[0]), Position::mm(reaches[1]));
                }
            }
            at(mill, travel, 250.0, 50.0).figures("swing-clear")
        };
        let told = |found: &str, limit: &str| Some((found.into(), limit.into()));
        assert_eq!(figures(300, [-300, 900]), told("300 mm", "905 mm"));
        assert_eq!(figures(300, [-900, 100]), None);
        assert_eq!(figures(4_500, [-900, 100]), told("300 mm", "905 mm"));
    }

    /// Swinging under goes 0.414 of the radius below the corner, 116 mm here (plane geometry), and a little more
    /// because the sweep is held in boxes.
    #[test]
    fn under_needs_height_over_the_bed_and_over_does_not() {
        assert_eq!(at(hand_mill(), 0, 0.0, 115.0).refusals(), ["swing-clear"]);
        assert_eq!(at(hand_mill(), 0, 0.0, 130.0).refusals(), [""; 0]);
        assert_eq!(at(powered_mill(), 0, 0.0, 31.0).refusals(), [""; 0]);
    }

    #[test]
    fn a_bunk_that_stands_higher_counts() {
        let mut mill = hand_mill();
        mill.bunks[0].travel = Position::mm(100);
        mill.support.overhang = Length::mm(1_800);
        assert_eq!(at(mill.clone(), 0, 0.0, 130.0).refusals(), [""; 0]);
        mill.bunks[0].top = Position::mm(40);
        assert_eq!(at(mill, 0, 0.0, 130.0).refusals(), ["swing-clear"]);
    }

    /// A bunk that reaches out past the log's end, packed up by 30 mm; blade and head sweep to 14 mm over the pack, and 14 mm over the
    /// wedges on it, lowest 280 mm to the entry side of the corner.
    #[test]
    fn keeps_off_what_lies_under_the_log() {
        let found = |reach: i32, lower: Length| {
            let mut mill = hand_mill();
            mill.wedges.reach = Length::mm(reach);
            for bunk in &mut mill.bunks {
                bunk.top = Position::mm(-30);
            }
            (mill.bunks[0].travel, mill.bunks[0].half_size) = (Position::mm(620), Length::mm(300));
            let sweeps = swept(&mill).height.lo;
            let top = Position::mm(if reach > 0 { 15 } else { 0 });
            let height = f64::from((top + Length::mm(15) - sweeps - lower).as_um()) / 1e3;
            let case = at(mill, 300, 370.0, height);
            (case.refusals(), case.figures("swing-clear"))
        };
        for (reach, what) in [(0, "the pack on bunk 1"), (60, "a wedge at bunk 1")] {
            assert_eq!(found(reach, Length::ZERO), (Vec::new(), None));
            let near = Some((format!("1 mm too near to {what}"), "15 mm clear of it".into()));
            assert_eq!(found(reach, Length::mm(1)), (["swing-clear"].into(), near));
        }
    }

    #[test]
    fn keeps_out_of_boxes_and_dogs() {
        let boxed = block([-100, -400, 400], [100, -300, 500]);
        let mut mill = powered_mill();
        mill.keep_out.push(boxed).unwrap();
        assert_eq!(at(mill, 0, 0.0, 300.0).refusals(), ["swing-clear"]);
        let mut mill = powered_mill();
        mill.dogs.push(boxed).unwrap();
        assert_eq!(at(mill.clone(), 0, 0.0, 300.0).refusals(), ["swing-clear"]);
        assert_eq!(at(mill, 0, 300.0, 900.0).refusals(), [""; 0]);
    }

    /// The housing swings along, and passes higher than it stands at either angle: under a beam 90 mm over it, it
    /// does not.
    #[test]
    fn the_housing_counts_all_the_way_round() {
        let under_beam = |clear: i32| {
            let mut mill = powered_mill();
            let beam = block([-100, 100, 300 + 450 + clear], [100, 300, 900]);
            mill.keep_out.push(beam).unwrap();
            let script = Script::new()
                .corner(-300.0, 300.0)
                .travel(0)
                .corner(0.0, 300.0)
                .swing(Angle::Flat);
            Case::new(mill, timber(180, 160, 3_600), script).refusals()
        };
        assert_eq!(under_beam(100), [""; 0]);
        assert_eq!(under_beam(50), ["swing-clear"]);
    }

    #[test]
    fn permits_a_swing_to_the_angle_it_has() {
        let script = Script::new().travel(2_000).swing(Angle::Upright).travel(0);
        assert_eq!(Case::usual(script).refusals(), [""; 0]);
    }

    #[test]
    fn a_clearance_below_zero_counts_as_none() {
        let mut mill = hand_mill();
        mill.clearances.body = Length::mm(-500);
        assert_eq!(at(mill, 500, -110.0, 160.0).refusals(), ["swing-clear"]);
    }
}
