//! # range
//!
//! **Guards** the end stops and drives. **Trips when** an axis is sent outside its range; when a cut has no feed or
//! one above the carriage's rapid; when a cut's end leaves less than the distance in which the carriage stops from
//! its feed; when a stroke starts or ends beyond the wood, or at its end, with the blade still in it. **Clears when** every
//! target lies inside, and every stroke runs out by the blade's chord and the clearance. **Does not cover** a carriage that
//! overruns its drive: end switches do.

use bunkside_protocol::mill::Axis;
use bunkside_protocol::{Length, Move, Position, Speed};

use super::{Basis, Measure, Objection, Objections, Rule, Situation};
use crate::geometry::scale;
use crate::limits::NEAR_END;
use crate::machine::{blade_boxes, run_out};
use crate::replay::Step;
use crate::stock::Pick;

pub(super) const RULE: Rule = Rule {
    number: 0,
    id: "range",
    title: "every target and run-out lies inside the mill's range",
    reason: "a carriage sent past its range hits the stop, and a blade that stops in the log's end binds or throws",
    basis: Basis::Machine,
    check,
};

fn check(situation: &Situation<'_>, object: Objections<'_>) {
    let Some(step) = situation.step() else { return };
    let mill = situation.setup.mill;
    let targets = match &step.told {
        Move::Go(targets) => *targets,
        Move::Cut(cut) => cut.to,
        Move::Swing(_) | Move::Spin(_) | Move::Hold(_) => return,
    };
    for (axis, target, beyond) in [
        (&mill.travel, targets.travel, "beyond the end of travel"),
        (&mill.across, targets.across, "beyond the end of across"),
        (&mill.height, targets.height, "beyond the end of height"),
    ] {
        if let Some(target) = target {
            inside(axis, target, Length::ZERO, (beyond, "within it"), OUTSIDE, object);
        }
    }
    if let (Move::Cut(cut), Some(target)) = (&step.told, targets.travel) {
        if cut.speed == Speed::ZERO || cut.speed > mill.travel.rapid {
            let (measured, limit) = (Measure::Speed(cut.speed), Measure::Speed(mill.travel.rapid));
            object(Objection::refuse(measured, limit, FEED));
        }
        let speed = i64::from(cut.speed.as_um_per_s());
        let acceleration = i64::from(mill.travel.acceleration);
        let stopping = Length::um(scale(speed, speed, 2 * acceleration.max(1)));
        if mill.travel.min <= target && target <= mill.travel.max {
            let words = ("too near the end stop of travel", "room to stop");
            inside(&mill.travel, target, stopping, words, NO_ROOM_TO_STOP, object);
        }
    }
    run_outs(situation, step, object);
}

const OUTSIDE: &str = "the axis cannot go there; set the log further inside, or plan a shallower run";
const FEED: &str = "the carriage cannot run at this feed; give one above zero and within its rapid";
const NO_ROOM_TO_STOP: &str =
    "the carriage could not stop from this feed before the end stop; feed slower or set the log further in";
const IN_THE_END: &str = "the stroke ends with the blade still in the log's end; let it run out further";
const WITHIN: &str = "over the log the stroke begins or ends with the disc still in the wood that it cuts; let it begin or end further from that, back through the kerf or past the log's end";

fn inside(
    axis: &Axis,
    target: Position,
    margin: Length,
    (found, right): (&'static str, &'static str),
    note: &'static str,
    object: Objections<'_>,
) {
    let low = axis.min + margin - target;
    let high = target - (axis.max - margin);
    let over = low.max(high);
    if over > Length::ZERO {
        object(Objection::refuse(
            Measure::Told(over, found),
            Measure::State(right),
            note,
        ));
    }
}

fn run_outs(situation: &Situation<'_>, step: &Step, object: Objections<'_>) {
    let Some(facts) = step.cut else { return };
    let Some(met) = facts.met else {
        return in_the_end(situation, step, object);
    };
    let need = run_out(situation.setup.mill, facts.cover);
    let log = situation.setup.shape.travel();
    let (low, high) = (
        step.before.travel.min(step.after.travel),
        step.before.travel.max(step.after.travel),
    );
    for (end, beyond) in [(low, met.travel.lo - low), (high, high - met.travel.hi)] {
        if beyond > Length::ZERO && beyond < need {
            let note = if log.lo < end && end < log.hi {
                WITHIN
            } else {
                IN_THE_END
            };
            object(Objection::refuse(
                Measure::Told(beyond, "of run-out"),
                Measure::Length(need),
                note,
            ));
        }
    }
}

/// Whether a stroke that has no kerf of full depth begins or ends with the disc in the log's end all the same, its centre not
/// past it.
fn in_the_end(situation: &Situation<'_>, step: &Step, object: Objections<'_>) {
    let (mill, log) = (situation.setup.mill, situation.setup.shape.travel());
    for pose in [&step.before, &step.after] {
        let inside = log.lo + NEAR_END < pose.travel && pose.travel < log.hi - NEAR_END;
        let stands_in = |block| {
            let wood = situation
                .before
                .touched(&situation.setup.shape, block, Pick::Body, false);
            wood.is_some()
        };
        if !inside && blade_boxes(mill, pose, pose).any(stands_in) {
            let (found, wanted) = (Measure::State("in the log's end"), Measure::State("clear of it"));
            object(Objection::refuse(found, wanted, IN_THE_END));
            return;
        }
    }
}

#[cfg(test)]
pub(super) mod tests {
    use crate::testing::{Case, Script, powered_mill, tapered_log, timber};
    use bunkside_protocol::{Angle, Cut};

    use super::{Length, Move, Speed};
    use crate::testing::stroke;

    pub(in crate::rules) fn example() -> Case {
        Case::usual(Script::new().travel(8_001))
    }

    #[test]
    fn refuses_a_target_outside_with_how_far() {
        let case = example();
        assert_eq!(case.refusals(), ["range"]);
        let told = |script: Script| Case::usual(script).figures("range").unwrap();
        for (script, beyond) in [
            (Script::new().travel(8_001), "1 mm beyond the end of travel"),
            (
                Script::new().corner(-1_200.1, 1_500.0),
                "0.1 mm beyond the end of across",
            ),
            (Script::new().height(1_502.5), "2.5 mm beyond the end of height"),
        ] {
            assert_eq!(told(script), (beyond.into(), "within it".into()));
        }
    }

    /// After the log is opened, flat at the middle of its near end, at 600 mm, 99 mm deep: half a chord of the disc of 280 mm is
    /// √(99 · 461) = 213.6 mm long, and the boxes of the disc reach a little further. An upright one is 56 mm deep.
    #[test]
    fn refuses_a_stroke_that_ends_with_the_disc_in_the_logs_end_and_permits_it_short_of_it() {
        let refused = |script: Script| Case::usual(script).refusals().contains(&"range");
        let flat = |travel: i32| refused(Script::opened().corner(0.0, 206.5).cut(travel));
        let first = (280..600).find(|travel| flat(*travel)).unwrap();
        assert!((355..=387).contains(&first), "{first}");
        assert!((first..=600).all(flat));
        let upright = |travel: i32| {
            let script = Script::opened().travel_by_air(270).swing(Angle::Upright);
            refused(script.corner(0.0, 206.5).cut(travel))
        };
        assert!(!upright(400) && upright(600));
        // Back out of a kerf that ends in the log.
        let back = Script::opened().corner(0.0, 206.5).cut(2_000).cut(270);
        assert_eq!(Case::usual(back).refusals(), [""; 0]);
    }

    #[test]
    fn permits_every_axis_to_its_ends_and_refuses_a_step_beyond() {
        let go = |script: Script| Case::usual(script).refusals();
        for (inside, beyond) in [
            (Script::new().travel(8_000), Script::new().travel(8_001)),
            (Script::new().travel(-900), Script::new().travel(-901)),
            (
                Script::new().corner(1_200.0, 1_500.0),
                Script::new().corner(1_200.1, 1_500.0),
            ),
            (
                Script::new().corner(-1_200.0, 1_500.0),
                Script::new().corner(-1_200.1, 1_500.0),
            ),
            (Script::new().height(-10.0), Script::new().height(-10.1)),
            (Script::new().height(1_500.0), Script::new().height(1_500.1)),
        ] {
            assert_eq!(go(inside), [""; 0]);
            assert_eq!(go(beyond), ["range"]);
        }
    }

    /// From 150 mm/s at 500 mm/s² the carriage stops in v²/2a = 22.5 mm.
    #[test]
    fn permits_room_to_stop_and_refuses_less() {
        let to = |end: f64| Case::usual(Script::new().cut_to(end)).refusals();
        assert_eq!(to(7_977.5), [""; 0]);
        assert!(to(7_977.6).contains(&"range"));
        assert_eq!(
            Case::usual(Script::new().travel(270).cut_to(-877.6))
                .figures("range")
                .unwrap(),
            (
                "0.1 mm too near the end stop of travel".into(),
                "room to stop".into()
            )
        );
        let home = |end: f64| Case::usual(Script::new().travel(270).cut_to(end)).refusals();
        assert_eq!(home(-877.5), [""; 0]);
        assert_eq!(home(-877.6), ["range"]);
    }

    #[test]
    fn a_stroke_beyond_the_end_is_told_once() {
        let case = Case::usual(Script::new().cut_to(8_000.1));
        let found = case.script.findings(&case.mill, &case.log);
        let range = found.iter().filter(|finding| finding.rule == "range");
        assert_eq!(range.count(), 1, "{found:?}");
    }

    #[test]
    fn refuses_no_feed_and_more_than_the_rapid() {
        let at = |speed: Speed| {
            let cut = Cut {
                speed,
                ..stroke(270.0)
            };
            Case::usual(Script::new().with(Move::Cut(cut))).refusals()
        };
        assert_eq!(at(Speed::ZERO), ["range"]);
        assert_eq!(at(Speed::mm_per_s(900)), [""; 0]);
        assert_eq!(at(Speed::um_per_s(900_001)), ["range"]);
    }

    /// An upright kerf 60 mm deep: the blade's chord is √(60 · 500) = 173.2 mm and the clearance 50 mm, so the
    /// stroke runs out 223.206 mm past either end.
    #[test]
    fn permits_the_run_out_and_refuses_less() {
        let to = |end: f64| {
            let script = Script::new().travel(4_530).corner(0.0, 100.0).cut_to(end);
            Case::new(powered_mill(), timber(180, 160, 3_600), script)
        };
        let far = |end: f64| {
            let script = Script::new().travel(270).corner(0.0, 100.0).cut_to(end);
            Case::new(powered_mill(), timber(180, 160, 3_600), script).refusals()
        };
        assert_eq!(far(4_423.206), [""; 0]);
        assert_eq!(far(4_423.205), ["range"]);
        assert_eq!(to(376.7).refusals(), [""; 0]);
        assert_eq!(to(376.8).refusals(), ["range"]);
        let figures = to(376.8).figures("range").unwrap();
        assert_eq!(figures, ("223.2 mm of run-out".into(), "223.206 mm".into()));
    }

    /// A clearance below zero would let the blade stop in the wood.
    #[test]
    fn a_run_out_below_zero_counts_as_none() {
        let script = Script::new().travel(4_530).corner(0.0, 100.0).cut(470).cut(100);
        let mut case = Case::new(powered_mill(), timber(180, 160, 3_600), script);
        case.mill.clearances.run_out = Length::mm(-200);
        assert_eq!(case.refusals(), ["range"]);
    }

    /// On a tapered log the face at 230 mm begins half-way: there a stroke may end, once the blade is out of it.
    #[test]
    fn a_stroke_may_end_half_way_where_its_wood_ends() {
        let to = |end: i32| {
            let script = Script::new()
                .travel(4_530)
                .swing(Angle::Flat)
                .corner(60.0, 230.0)
                .cut(end)
                .cut(4_530);
            Case::new(powered_mill(), tapered_log(200, 260, 3_600), script).refusals()
        };
        assert!(to(2_300).contains(&"range"));
        assert!(!to(2_000).contains(&"range"));
    }

    /// A stroke that runs into a kerf that another has cut from the other end, by less than its half chord.
    #[test]
    fn tells_what_helps_in_an_earlier_kerf() {
        let to = |end: i32| {
            let first = Script::opened().corner(0.0, 206.5).cut(2_000).cut(270);
            let over = first.corner(0.0, 300.0).travel(4_530).corner(0.0, 206.5);
            Case::usual(over.cut(end))
        };
        let notes = |case: &Case| -> std::vec::Vec<_> {
            let of_range = |finding: &&crate::rules::Finding| finding.rule == "range";
            let findings = case.script.findings(&case.mill, &case.log);
            findings
                .iter()
                .filter(of_range)
                .map(|finding| finding.objection.note)
                .collect()
        };
        assert_eq!(notes(&to(1_990)), [super::WITHIN]);
        for right in [1_700, 270] {
            assert_eq!(notes(&to(right)), [""; 0], "{right}");
        }
    }

    /// A stroke that stops in the wood and is taken up again runs out at its end alone.
    #[test]
    fn permits_a_stroke_in_two_parts() {
        let script = Script::opened().corner(0.0, 206.5).cut(2_000).cut(4_530);
        assert_eq!(Case::usual(script).refusals(), [""; 0]);
    }
}
