//! # hold-parked
//!
//! **Guards** the operator at a hold, and at the end of the sequence. **Trips when** the carriage stands over the
//! log, its centre not past either end, or blade or head stands at or in wood; when hands go to knife, kerf, wedges,
//! dogs or teeth while the blade turns; and when knife or aid is to be both fitted and taken off. Warns when a hold
//! fits what the mill does not have: the sequence was made for another mill. **Clears when** the carriage is run out
//! clear of the log and, for such work, the blade is stopped and has run down. **Does not cover** lock-out for
//! repair: local codes and the mill's own manual do.

use bunkside_protocol::{Act, Move};

use super::{Basis, Measure, Moment, Objection, Objections, Rule, Situation};
use crate::machine::{Pose, blade_boxes, head_boxes};
use crate::stock::Pick;

pub(super) const RULE: Rule = Rule {
    number: 0,
    id: "hold-parked",
    title: "at a hold the carriage stands clear, and the blade still where hands go near it",
    reason: "a turning blade within reach of hands, or a carriage over the log, needs only one slip",
    basis: Basis::Practice,
    check,
};

const CLEAR: &str = "run the carriage out clear of the log first";
const STANDING: &str = "stop the blade and let it run down before the hold";

const BOTH: &str = "ask for the one or the other: nobody can say how it is left";
const MISSING: &str = "the mill has no such thing: leave the act out, or set the mill right";

fn check(situation: &Situation<'_>, object: Objections<'_>) {
    let step = match situation.moment {
        Moment::Move(step) => step,
        Moment::End(end) => return parked(situation, &end.pose, object),
    };
    let Move::Hold(hold) = step.told else { return };
    parked(situation, &step.before, object);
    if step.before.spinning && hold.acts.iter().any(Act::needs_standing_blade) {
        object(refusal("turning", "standing", STANDING));
    }
    let mill = situation.setup.mill;
    for (on, off, has) in [
        (Act::KnifeOn, Act::KnifeOff, mill.knife.is_some()),
        (Act::AidOn, Act::AidOff, mill.aid.is_some()),
    ] {
        if hold.acts.contains(on) && hold.acts.contains(off) {
            object(refusal("fitted and taken off", "one of them", BOTH));
        }
        if hold.acts.contains(on) && !has {
            let (found, wanted) = (Measure::State("fitted"), Measure::State("not on this mill"));
            object(Objection::warn(found, wanted, MISSING));
        }
    }
}

/// Whether the carriage stands clear.
fn parked(situation: &Situation<'_>, pose: &Pose, object: Objections<'_>) {
    let log = situation.setup.shape.travel();
    if log.lo < pose.travel && pose.travel < log.hi {
        object(refusal("over the log", "past its end", CLEAR));
        return;
    }
    let (mill, clearance) = (situation.setup.mill, situation.clearance());
    let mut boxes = blade_boxes(mill, pose, pose).chain(head_boxes(mill, pose, pose));
    if boxes.any(|block| situation.meets_wood(block.grown(clearance), Pick::Any)) {
        object(refusal("at the log", "clear of it", CLEAR));
    }
}

const fn refusal(found: &'static str, wanted: &'static str, note: &'static str) -> Objection {
    Objection::refuse(Measure::State(found), Measure::State(wanted), note)
}

#[cfg(test)]
pub(super) mod tests {
    use crate::testing::{Case, Script, hand_mill, round_log};

    use super::{Act, Move};

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
            let script = Script::new().travel(travel).unload().travel(0);
            assert_eq!(!Case::usual(script).refusals().is_empty(), refused, "{travel}");
        }
    }

    /// The disc reaches 280 mm ahead and keeps 5 mm clear: its centre stands 285 mm short of the end at 600 mm.
    #[test]
    fn refuses_a_blade_at_the_wood() {
        let at = |travel: i32| {
            let script = Script::new().corner(0.0, 20.0).travel(travel).unload();
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
            let near = matches!(
                act,
                Act::WedgeLog
                    | Act::WedgeKerf
                    | Act::Dog
                    | Act::KnifeOn
                    | Act::KnifeOff
                    | Act::Reseat
                    | Act::Sharpen
            );
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

    /// Two millimetres short of the slab that lies free; the log itself is lower.
    #[test]
    fn refuses_a_hold_at_a_free_piece() {
        let at = |travel: i32| {
            let mut script = Script::opened();
            script.moves.pop();
            Case::usual(script.corner(180.0, 280.0).travel(travel).unload()).refusals()
        };
        assert_eq!(at(314), [""; 0]);
        assert_eq!(at(318), ["hold-parked"]);
    }

    /// The blade stands beside the log, past whose end its centre is; the head reaches over it.
    #[test]
    fn refuses_a_hold_with_the_head_at_the_wood() {
        let at = |travel: i32| {
            let script = Script::new().corner(-165.0, 50.0).travel(travel).unload();
            Case::usual(script).refusals()
        };
        assert_eq!(at(475), [""; 0]);
        assert!(at(500).contains(&"hold-parked"));
    }
}
