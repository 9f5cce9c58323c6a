//! # feed-label
//!
//! **Guards** the reader of a sequence. **Trips when** a cut is labelled climb or forward and the stroke and angle
//! make it the other. **Clears when** the label or the stroke is set right; a missing label is derived. **Does not
//! cover** a profile that has the teeth the wrong way round: read the arrow on the guard.

use bunkside_protocol::Move;

use super::{Basis, Measure, Objection, Objections, Rule, Situation};

pub(super) const RULE: Rule = Rule {
    number: 0,
    id: "feed-label",
    title: "the declared feed is what stroke and angle make it",
    reason: "a climb cut taken for a forward one is met with the wrong feed and in the wrong place to stand",
    basis: Basis::Consistency,
    check,
};

const NOTE: &str = "at this angle the stroke gives the other feed; set the label or the stroke right";

fn check(situation: &Situation<'_>, object: Objections<'_>) {
    let Some(step) = situation.step() else { return };
    let Move::Cut(cut) = step.told else { return };
    if let (Some(label), Some(feed)) = (cut.feed, step.feed)
        && label != feed
    {
        object(Objection::refuse(Measure::Feed(label), Measure::Feed(feed), NOTE));
    }
}

#[cfg(test)]
pub(super) mod tests {
    use bunkside_protocol::{Angle, Feed, Stroke};

    use crate::testing::{Case, Script, hand_mill, powered_mill, round_log};

    fn labelled(script: Script, stroke: Stroke, label: Feed) -> Script {
        let (from, to) = match stroke {
            Stroke::Outbound => (270, 4_530),
            Stroke::Homebound => (4_530, 270),
        };
        script.travel(from).labelled(to, label)
    }

    /// In air, so that nothing but the label can be wrong.
    pub(in crate::rules) fn example() -> Case {
        Case::usual(labelled(Script::new(), Stroke::Homebound, Feed::Forward))
    }

    /// Every stroke at every angle on a mill that swings over, whose rim runs outbound at both angles, and on one
    /// that swings under, whose rim runs outbound when flat and homebound when upright.
    #[test]
    fn permits_the_true_label_and_refuses_the_other() {
        use Angle::{Flat, Upright};
        use Stroke::{Homebound, Outbound};
        for (mill, angle, forward) in [
            (powered_mill(), Flat, Outbound),
            (powered_mill(), Upright, Outbound),
            (hand_mill(), Flat, Outbound),
            (hand_mill(), Upright, Homebound),
        ] {
            for stroke in [Outbound, Homebound] {
                let told = |label| {
                    let script = labelled(Script::new().swing(angle), stroke, label);
                    script.refusals(&mill, &round_log(300, 3_600))
                };
                let (truth, other) = if stroke == forward {
                    (Feed::Forward, Feed::Climb)
                } else {
                    (Feed::Climb, Feed::Forward)
                };
                assert_eq!(told(truth), [""; 0], "{angle:?} {stroke:?}");
                assert_eq!(told(other), ["feed-label"], "{angle:?} {stroke:?}");
            }
        }
    }

    #[test]
    fn refuses_with_the_label_and_the_truth() {
        let figures = example().figures("feed-label").unwrap();
        assert_eq!(figures, ("forward feed".into(), "climbing".into()));
    }

    #[test]
    fn permits_a_missing_label_and_a_stroke_that_goes_nowhere() {
        assert_eq!(Case::usual(Script::opened()).refusals(), [""; 0]);
        let script = Script::new().travel(270).labelled(270, Feed::Climb);
        assert_eq!(Case::usual(script).refusals(), [""; 0]);
    }
}
