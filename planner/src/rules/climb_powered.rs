//! # climb-powered
//!
//! **Guards** whoever stands at the carriage. **Trips when** a cut in wood or bark climbs on a hand-pushed carriage, or when
//! the pull of a climbing pass, shock counted, exceeds what the drive holds. **Clears when** the stroke is turned round
//! or the pass bites less or feeds slower. **Does not cover** a drive that fails: the controller's brake does.

use bunkside_protocol::{Drive, Feed, Move};

use super::{Basis, Measure, Objection, Objections, Rule, Situation};
use crate::physics::force::{pass_force, with_shock};
use crate::stock::Pick;

pub(super) const RULE: Rule = Rule {
    number: 0,
    id: "climb-powered",
    title: "climb cuts only on a powered carriage that can hold them",
    reason: "a climbing blade pulls the carriage through the log and out of the operator's hands",
    basis: Basis::Practice,
    check,
};

const HAND: &str = "a hand carriage never climbs; cut this one on the other stroke";
const PULL: &str = "the cut pulls harder than the drive holds; bite less or feed slower";

fn check(situation: &Situation<'_>, object: Objections<'_>) {
    let Some((step, facts)) = situation.cut() else {
        return;
    };
    if step.feed != Some(Feed::Climb) {
        return;
    }
    // Bark pulls too, however little is known of it: hands hold nothing of that.
    let (setup, before) = (situation.setup, situation.before);
    let pulls = facts.met.is_some()
        || setup.mill.drive.is_hand()
            && before
                .touched(&setup.shape, facts.kerf, Pick::Any, true)
                .is_some();
    if !pulls {
        return;
    }
    let Move::Cut(cut) = step.told else { return };
    match situation.setup.mill.drive {
        Drive::Hand { .. } => object(Objection::refuse(
            Measure::Feed(Feed::Climb),
            Measure::Feed(Feed::Forward),
            HAND,
        )),
        Drive::Powered { holding_force } => {
            let (mill, log) = (situation.setup.mill, situation.setup.log);
            let force = pass_force(mill, log, facts.bite, cut.speed, Feed::Climb);
            let pull = with_shock(force.along, mill);
            let limit = f64::from(holding_force);
            if pull > limit {
                object(Objection::refuse(
                    Measure::Force(pull),
                    Measure::Force(limit),
                    PULL,
                ));
            }
        }
    }
}

#[cfg(test)]
pub(super) mod tests {
    use bunkside_protocol::{Drive, Move, Speed};

    use super::{Feed, pass_force, with_shock};
    use crate::testing::{Case, Script, hand_mill, powered_mill, round_log, timber};
    use bunkside_protocol::{Angle, Length};

    /// A hand carriage never climbs: common practice, no source. The wide homebound pass that opens a log on a
    /// powered carriage is a climb cut.
    pub(in crate::rules) fn example() -> Case {
        Case::new(hand_mill(), round_log(300, 3_600), Script::opened())
    }

    /// Through bark alone, over the wood: of a log of 300 mm in 40 mm that is from 300 to 340 mm up.
    #[test]
    fn refuses_a_hand_carriage_that_climbs_in_bark() {
        let climbs = |height: f64| {
            let script = Script::new()
                .swing(Angle::Flat)
                .travel(4_530)
                .corner(60.0, height)
                .cut(270);
            let case = Case::new(hand_mill(), round_log(300, 3_600), script).in_bark(40);
            case.refusals().contains(&"climb-powered")
        };
        let homebound = hand_mill().feed(Angle::Flat, bunkside_protocol::Stroke::Homebound);
        assert_eq!(homebound, Feed::Climb);
        assert!(climbs(310.0) && !climbs(341.0));
    }

    #[test]
    fn refuses_a_hand_carriage_that_climbs() {
        let case = example();
        assert_eq!(case.refusals(), ["climb-powered"]);
        let figures = case.figures("climb-powered").unwrap();
        assert_eq!(figures, ("climbing".into(), "forward feed".into()));
    }

    /// Of the two strokes at either angle a hand carriage may cut on one: flat outbound, upright homebound where
    /// the blade swings under and its flat rim runs outbound. Common practice, no source.
    #[test]
    fn on_a_hand_carriage_permits_flat_outbound_and_upright_homebound_only() {
        for (angle, from, to, permitted) in [
            (Angle::Flat, 270, 4_530, true),
            (Angle::Flat, 4_530, 270, false),
            (Angle::Upright, 4_530, 270, true),
            (Angle::Upright, 270, 4_530, false),
        ] {
            let script = Script::new()
                .travel(from)
                .swing(angle)
                .corner(-60.0, 100.0)
                .cut(to);
            let case = Case::new(hand_mill(), timber(180, 160, 3_600), script);
            let refusals: &[&str] = if permitted { &[] } else { &["climb-powered"] };
            assert_eq!(case.refusals(), refusals, "{angle:?} {from} {to}");
        }
    }

    #[test]
    fn permits_a_hand_carriage_that_runs_home_in_air() {
        let script = Script::new()
            .travel(4_530)
            .swing(Angle::Flat)
            .corner(-200.0, 100.0)
            .cut(270);
        let case = Case::new(hand_mill(), timber(180, 160, 3_600), script);
        assert_eq!(case.refusals(), [""; 0]);
    }

    /// The slab bites 198.6 mm: its rim stands at 100 mm, and half the chord at 263 mm is 98.646 mm.
    #[test]
    fn permits_what_the_drive_holds_and_refuses_a_newton_less() {
        let bite = Length::um(198_646);
        let force = pass_force(
            &powered_mill(),
            &round_log(300, 3_600),
            bite,
            Speed::mm_per_s(150),
            Feed::Climb,
        );
        let pull = with_shock(force.along, &powered_mill());
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a pull of some newtons"
        )]
        let whole = pull as u32;
        assert!(whole > 10, "{pull}");
        let held_by = |holding_force: u32| {
            let mut case = Case::usual(Script::opened());
            case.mill.drive = Drive::Powered { holding_force };
            case.refusals()
        };
        assert_eq!(held_by(whole + 1), [""; 0]);
        assert_eq!(held_by(whole), ["climb-powered"]);
    }

    /// Halving the feed halves the pull.
    #[test]
    fn clears_when_the_carriage_feeds_slower() {
        let mut case = Case::usual(Script::opened());
        case.mill.drive = Drive::Powered { holding_force: 50 };
        assert_eq!(case.refusals(), ["climb-powered"]);
        for told in &mut case.script.moves {
            if let Move::Cut(cut) = told {
                cut.speed = Speed::mm_per_s(75);
            }
        }
        assert_eq!(case.refusals(), [""; 0]);
    }

    /// No profile makes knots press less than the wood between them.
    #[test]
    fn a_shock_factor_below_one_counts_as_one() {
        let mut case = Case::usual(Script::opened());
        case.mill.drive = Drive::Powered { holding_force: 10 };
        case.mill.factors.shock = 0;
        assert_eq!(case.refusals(), ["climb-powered"]);
    }
}
