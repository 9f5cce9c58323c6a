//! # release-climb
//!
//! **Guards** the operator against a thrown slab. **Trips when** a flat stroke that frees a piece with a bark edge, or saws
//! loose a sheet of bark alone, 10 mm thick or more, runs in forward feed, which lifts it; on a hand carriage, which cannot climb,
//! it warns, and says how the piece is held down there: with a pole from behind the carriage, away from where the teeth throw (our
//! judgement, no source). **Clears when** the stroke climbs (homebound, on most mills) or a pull-back aid bears on all that the
//! stroke frees, from the outer side of the first piece to that of the last. **Does not cover** pieces with four sawn edges, and
//! sheets of bark that an upright stroke saws loose.

use bunkside_protocol::{Angle, Drive, Feed};

use super::bark::sheet_of_bark;
use super::{Basis, Measure, Objection, Objections, Rule, Situation};

pub(super) const RULE: Rule = Rule {
    number: 0,
    id: "release-climb",
    title: "a flat stroke that frees a piece with bark or wane climbs",
    reason: "forward feed lifts out of the wood: it catches the loose piece by its bark and throws it",
    basis: Basis::Practice,
    check,
};

const CLIMB: &str = "free this piece on the climbing stroke, or bring the pull-back aid to bear";
const STAND_CLEAR: &str = "a hand carriage cannot climb here: somebody behind it, once all of it has gone by, holds the piece down with a \
                           pole, never by hand near the blade, and all stand clear of the entry side; the mill's manual comes first";

fn check(situation: &Situation<'_>, object: Objections<'_>) {
    let Some((step, _)) = situation.cut() else { return };
    if step.before.angle != Angle::Flat || step.feed != Some(Feed::Forward) {
        return;
    }
    let bark = situation.freed().iter().any(|piece| piece.bark_edge);
    let wood_held = !bark || situation.aid_bears(step);
    if wood_held && sheet_of_bark(situation).is_none_or(|sheet| situation.aid_reaches(step, sheet.across)) {
        return;
    }
    let (measured, limit) = (Measure::Feed(Feed::Forward), Measure::Feed(Feed::Climb));
    object(match situation.setup.mill.drive {
        Drive::Hand { .. } => Objection::warn(measured, limit, STAND_CLEAR),
        Drive::Powered { .. } => Objection::refuse(measured, limit, CLIMB),
    });
}

#[cfg(test)]
pub(super) mod tests {
    use bunkside_protocol::{Act, Length, Move, Stroke};

    use super::Angle;
    use crate::testing::{Case, Script, hand_mill, powered_mill, round_log, timber};

    /// The slab comes off outbound, in forward feed.
    fn outbound() -> Script {
        Script::new()
            .swing(Angle::Flat)
            .travel(270)
            .corner(100.0, 263.0)
            .cut(4_530)
            .unload()
    }

    pub(in crate::rules) fn example() -> Case {
        Case::usual(outbound())
    }

    #[test]
    fn refuses_a_slab_freed_in_forward_feed() {
        let case = example();
        assert_eq!(case.refusals(), ["release-climb"]);
        let figures = case.figures("release-climb").unwrap();
        assert_eq!(figures, ("forward feed".into(), "climbing".into()));
    }

    #[test]
    fn permits_a_slab_freed_climbing_on_whichever_stroke_climbs() {
        assert_eq!(Case::usual(Script::opened()).refusals(), [""; 0]);
        let mut case = example();
        case.mill.swing.teeth_flat = Stroke::Homebound;
        assert_eq!(case.refusals(), [""; 0]);
    }

    /// A hand carriage cannot climb: the operator holds the piece down and stands clear. Common practice, no source.
    #[test]
    fn warns_on_a_hand_carriage() {
        let case = Case::new(hand_mill(), round_log(300, 3_600), outbound());
        assert_eq!(case.refusals(), [""; 0]);
        assert!(case.warnings().contains(&"release-climb"));
    }

    #[test]
    fn permits_what_the_aid_bears_on() {
        let mut script = Script::at_rest().hold(&[Act::AidOn]);
        script.moves.extend(outbound().moves);
        let case = |widest: i64| {
            let mut case = Case::usual(script.clone());
            case.mill.aid.as_mut().unwrap().widest = Length::um(widest);
            case.refusals()
        };
        // The slab is 183.932 mm wide over its kerf.
        assert_eq!(case(184_000), [""; 0]);
        assert_eq!(case(183_900), ["release-climb"]);
    }

    /// The slab as above, parted by an upright kerf first, reaches just as far: 183.932 mm over both pieces.
    #[test]
    fn the_aid_bears_on_no_part_of_a_group_that_is_wider_than_it() {
        let mut script = Script::at_rest().hold(&[Act::AidOn]);
        let parted = Script::new().travel(270).corner(0.0, 263.0).cut(4_530);
        let freed = parted
            .height(400.0)
            .swing(Angle::Flat)
            .travel(270)
            .corner(100.0, 263.0)
            .cut(4_530)
            .unload();
        script.moves.extend(freed.moves);
        let case = |widest: i64| {
            let mut case = Case::usual(script.clone());
            case.mill.aid.as_mut().unwrap().widest = Length::um(widest);
            case.refusals()
        };
        assert_eq!(case(184_000), [""; 0]);
        for widest in [100_000, 183_900] {
            assert_eq!(case(widest), ["release-climb"], "{widest}");
        }
    }

    #[test]
    fn permits_a_piece_without_bark() {
        let case = Case::new(
            powered_mill(),
            timber(180, 160, 3_600),
            Script::new()
                .swing(Angle::Flat)
                .travel(270)
                .corner(91.0, 100.0)
                .cut(4_530),
        );
        assert_eq!(case.refusals(), [""; 0]);
    }

    /// The far end is wider by 10 mm: over the kerf, half the slab is 91.97 mm at the near end and 95.03 mm at the far one. At
    /// 91.9 mm it hangs there by 3.13 mm at its thickest, by 3 mm or more on 15 cm: 470 mm². At 91.7 mm on 39 cm: 1230 mm².
    #[test]
    fn a_skin_at_one_end_of_the_log_holds_no_slab() {
        let left_at = |across: f64| {
            let script = Script::new().swing(Angle::Flat).travel(270).corner(across, 263.0);
            let mut case = Case::usual(script.cut(4_530).with(Move::Spin(false)).unload());
            case.log.stations.last_mut().unwrap().half_width += Length::mm(5);
            case.refusals()
        };
        assert_eq!(left_at(94.2), ["release-climb"]);
        assert_eq!(left_at(91.9), ["release-climb"]);
        assert_eq!(left_at(91.7), [""; 0]);
    }

    /// A flat stroke over the usual log in bark 30 mm thick, its wood 300 mm high, to beyond its bark there.
    fn through_bark(height: f64, end: i32) -> Case {
        let script = Script::new().travel(4_800 - end).swing(Angle::Flat);
        Case::usual(script.corner(95.0, height).cut(end)).in_bark(30)
    }

    #[test]
    fn refuses_a_sheet_of_bark_sawn_off_in_forward_feed() {
        let refused = |height, end| through_bark(height, end).refusals();
        assert_eq!(refused(301.0, 4_530), ["release-climb"]);
        assert_eq!(refused(301.0, 270), [""; 0]);
        // The kerf is 5.5 mm thick; what is thinner than 10 mm falls apart.
        assert_eq!(refused(314.5, 4_530), ["release-climb"]);
        assert_eq!(refused(314.6, 4_530), [""; 0]);
    }

    #[test]
    fn warns_of_a_sheet_of_bark_on_a_hand_carriage() {
        let mut case = through_bark(301.0, 4_530);
        case.mill = hand_mill();
        let case = case.in_bark(30);
        assert!(
            !case.refusals().contains(&"release-climb"),
            "{:?}",
            case.refusals()
        );
        assert!(case.warnings().contains(&"release-climb"));
    }

    /// The bark over the kerf is √(180² - (306.5 - 150)²) = 88.9 mm wide to either side.
    #[test]
    fn permits_a_sheet_of_bark_that_the_aid_bears_on() {
        let case = |widest: i32| {
            let mut case = through_bark(301.0, 4_530);
            let mut moves = Script::at_rest().hold(&[Act::AidOn]).moves;
            moves.extend(case.script.moves);
            case.script.moves = moves;
            case.mill.aid.as_mut().unwrap().widest = Length::mm(widest);
            case.refusals()
        };
        assert_eq!(case(178), [""; 0]);
        assert_eq!(case(177), ["release-climb"]);
    }

    /// What the upright kerf frees falls beside the blade.
    #[test]
    fn permits_a_column_freed_upright() {
        assert_eq!(Case::usual(Script::opened().first_column()).refusals(), [""; 0]);
    }
}
