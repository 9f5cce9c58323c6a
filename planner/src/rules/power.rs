//! # power
//!
//! **Guards** blade and engine. **Trips when** a pass takes more power than reaches the rim, when a tooth bites more
//! than it may, when its chip, thought solid, takes more of the gullet than it may, when the feed in wood, through
//! an open kerf or along a face is faster than the mill's fastest, or when the feed in wood is below a quarter of the
//! mill's slowest; when a cut holds a hand carriage back by more than its hardest push (`carriage.push`), a knot counted; or when
//! a flat stroke frees more at once than may lie on the turning blade (`loose.on_blade`; left out, what the engine turns it
//! under, see `physics/falling.rs`); a feed at which the teeth only rub, or below the mill's slowest, warns. **Clears when** the carriage
//! feeds as it may, or the pass bites less; and what lies on the blade, when upright kerfs or a layer between part it and it is
//! freed by several strokes. **Does not cover** what the wood really takes: cutting energy is what the log's
//! record tells, the hard end where that is an estimate, and dull teeth and knots add to it; bark, which counts as nothing, and
//! takes power and dulls teeth where it is thick or full of grit; whoever hears the engine labour slows down.

use bunkside_protocol::{Angle, Drive, Feed, Length, LogRecord, MillRecord, Move, Speed};

use super::{Basis, Measure, Objection, Objections, Rule, Situation};
use crate::limits::BESIDE;
use crate::physics::falling::laid_on_blade;
use crate::physics::force::{Demand, demand, held_back, least_tooth_bite};
use crate::replay::{CutFacts, Step};
use crate::stock::Pick;

pub(super) const RULE: Rule = Rule {
    number: 0,
    id: "power",
    title: "a pass stays within engine, teeth, gullets and arms",
    reason: "a stalled or choked blade heats, bends and grips the wood; teeth that only rub burn it and wander",
    basis: Basis::Physics,
    check,
};

const ENGINE: &str = "by the cutting energy it is planned with the wood takes more power than reaches the rim; feed slower or bite less";
const TOOTH: &str = "each tooth bites more than it may; feed slower";
const GULLET: &str = "the chips choke the gullets; feed slower or bite less";
const FAST: &str = "the feed is faster than the mill may run in wood";
const TOUCHES: &str =
    "the blade touches a face, and saws where the wood has risen: feed no faster than the mill may in wood";
const PUSH: &str =
    "the carriage is pushed harder than the mill lets (carriage.push); feed slower or bite less";
const LIES_ON: &str = "all this comes to lie on the turning blade and brakes it (loose.on_blade); part it by upright kerfs or a layer between, and free it by several strokes";
const RUBS: &str =
    "the teeth rub more than they cut, heat and wander; feed faster, in more passes where one takes too much";
/// A feed in wood so many times below the mill's slowest is none: the unit was mistaken, or worse (our judgement, no source).
const CRAWL: u32 = 4;

const CRAWLS: &str = "the blade hardly moves on and grinds itself hot in the wood; feed faster, in more passes where one takes too much";
const SLOW: &str = "the feed is below the mill's slowest in wood; in more passes each can be fed faster";

fn check(situation: &Situation<'_>, object: Objections<'_>) {
    let Some((step, facts)) = situation.cut() else {
        return;
    };
    let (mill, log) = (situation.setup.mill, situation.setup.log);
    let Move::Cut(cut) = step.told else { return };
    // A blade that cannot be is refused by the rule on reach.
    let a_blade = mill.blade.rim_speed > Speed::ZERO && mill.blade.radius > Length::ZERO;
    if !a_blade {
        return;
    }
    if facts.met.is_some() {
        judge(mill, log, (facts.bite, step.feed), cut.speed, object);
        lies_on_blade(situation, step, facts, object);
    } else if facts.cover > Length::ZERO {
        fast(mill, cut.speed, FAST, object);
    } else if cut.speed > mill.power.feed_max && touches(situation, facts) {
        fast(mill, cut.speed, TOUCHES, object);
    }
}

/// Whether wood lies within a hair of a kerf that meets none: of the blade on a sawn face, or of its rim along one.
fn touches(situation: &Situation<'_>, facts: &CutFacts) -> bool {
    let near = facts.kerf.grown_in_section(BESIDE);
    let shape = &situation.setup.shape;
    situation.before.met(shape, near, Pick::Body).is_some()
}

fn fast(mill: &MillRecord, speed: Speed, note: &'static str, object: Objections<'_>) {
    let fastest = mill.power.feed_max;
    if speed > fastest {
        let (found, limit) = (Measure::Speed(speed), Measure::Speed(fastest));
        object(Objection::refuse(found, limit, note));
    }
}

/// What a flat stroke frees, and so lays on the blade that still turns under it.
fn lies_on_blade(situation: &Situation<'_>, step: &Step, facts: &CutFacts, object: Objections<'_>) {
    let freed = situation.freed();
    if step.before.angle != Angle::Flat || freed.is_empty() {
        return;
    }
    if let Some(mass) = laid_on_blade(situation.setup, situation.after, facts.kerf, freed) {
        let most = f64::from(situation.setup.mill.loose.on_blade);
        let (found, limit) = (Measure::Mass(mass), Measure::Mass(most));
        object(Objection::refuse(found, limit, LIES_ON));
    }
}

fn judge(
    mill: &MillRecord,
    log: &LogRecord,
    (bite, feed): (Length, Option<Feed>),
    speed: Speed,
    object: Objections<'_>,
) {
    let (asked, most, least) = (
        demand(mill, log, bite, speed),
        Demand::most(mill),
        least_tooth_bite(mill),
    );
    let slowest = mill.power.feed_min;
    if asked.power > most.power {
        let (found, limit) = (Measure::Power(asked.power), Measure::Power(most.power));
        object(Objection::refuse(found, limit, ENGINE));
    }
    if asked.gullet > most.gullet {
        let (found, limit) = (Measure::Share(asked.gullet), Measure::Share(most.gullet));
        object(Objection::refuse(found, limit, GULLET));
    }
    if asked.tooth > most.tooth {
        let (found, limit) = (
            Measure::Millimetres(asked.tooth),
            Measure::Millimetres(most.tooth),
        );
        object(Objection::refuse(found, limit, TOOTH));
    }
    if let (Drive::Hand { push }, Some(Feed::Forward)) = (mill.drive, feed) {
        let (pushed, most) = (held_back(mill, asked.power, bite), f64::from(push));
        if pushed > most {
            let (found, limit) = (Measure::Force(pushed), Measure::Force(most));
            object(Objection::refuse(found, limit, PUSH));
        }
    }
    fast(mill, speed, FAST, object);
    if speed.as_um_per_s().saturating_mul(CRAWL) < slowest.as_um_per_s() {
        let least = Speed::um_per_s(slowest.as_um_per_s().div_ceil(CRAWL));
        let (found, limit) = (Measure::Speed(speed), Measure::Speed(least));
        object(Objection::refuse(found, limit, CRAWLS));
    } else if asked.tooth < least {
        let (found, limit) = (Measure::Millimetres(asked.tooth), Measure::Millimetres(least));
        object(Objection::warn(found, limit, RUBS));
    } else if speed < slowest {
        object(Objection::warn(
            Measure::Speed(speed),
            Measure::Speed(slowest),
            SLOW,
        ));
    }
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use crate::testing::{Case, Script, hand_mill, mm, powered_mill, stroke, timber};
    use bunkside_protocol::{Angle, Cut};

    /// In a timber of 180 by 160 mm an upright pass bites 100 mm at the near end, outbound and forward, at a speed in
    /// millimetres a second. On the usual powered mill the rim turns at 60 m/s on a radius of 280 mm with 6 teeth, so
    /// that 204.628 teeth pass in a second.
    fn at(speed: u32) -> Case {
        let cut = Cut {
            speed: Speed::mm_per_s(speed),
            ..stroke(4_530.0)
        };
        let script = Script::new()
            .travel(270)
            .swing(Angle::Upright)
            .corner(-60.0, 60.0)
            .with(Move::Cut(cut));
        let mut mill = powered_mill();
        mill.knife = None;
        // So heavy that no pass moves it.
        let mut log = timber(180, 160, 3_600);
        log.density = 9_000;
        Case::new(mill, log, script)
    }

    /// 120 N/mm² × 5.5 mm × 100 mm × 300 mm/s = 19 800 W, and 18 000 W × 0.85 = 15 300 W reach the rim.
    pub(in crate::rules) fn example() -> Case {
        let mut case = at(300);
        case.log.cutting_energy = 120;
        case
    }

    #[test]
    fn refuses_what_stalls_the_engine() {
        let case = example();
        assert_eq!(case.refusals(), ["power"]);
        assert_eq!(case.figures("power"), Some(("19800 W".into(), "15300 W".into())));
    }

    /// 15 300 W ÷ (5.5 mm × 100 mm × 120 N/mm²) = 231.8 mm/s.
    #[test]
    fn permits_what_the_engine_carries_and_refuses_a_little_more() {
        for (speed, refusals) in [(231, &[""; 0][..]), (232, &["power"])] {
            let mut case = at(speed);
            case.log.cutting_energy = 120;
            assert_eq!(case.refusals(), refusals, "{speed}");
        }
    }

    /// 300 mm/s ÷ 204.628 a second = 1.466 mm; 480 mm/s: 2.346 mm, and 100 mm deep 0.391 of a gullet of 600 mm².
    #[test]
    fn refuses_a_tooth_that_bites_too_much() {
        for (most_um, refusals) in [(1_467, &[""; 0][..]), (1_466, &["power"])] {
            let mut case = at(300);
            case.mill.power.bite_max = Length::um(most_um);
            assert_eq!(case.refusals(), refusals, "{most_um}");
        }
        let mut case = at(480);
        case.mill.power.bite_max = Length::mm(2);
        assert_eq!(
            case.figures("power"),
            Some(("2.346 mm".into(), "2.000 mm".into()))
        );
    }

    #[test]
    fn refuses_gullets_that_choke_and_clears_with_a_shallower_bite() {
        for (fill, refusals) in [(391, &[""; 0][..]), (390, &["power"])] {
            let mut case = at(480);
            case.mill.power.gullet_fill = fill;
            assert_eq!(case.refusals(), refusals, "{fill}");
        }
        let mut case = at(480);
        case.mill.power.gullet_fill = 390;
        let Some(Move::Go(targets)) = case.script.moves.get_mut(3) else {
            panic!("the corner");
        };
        targets.height = Some(mm(70.0));
        assert_eq!(case.refusals(), [""; 0]);
    }

    #[test]
    fn refuses_a_feed_beyond_the_mills_fastest() {
        assert_eq!(at(500).refusals(), [""; 0]);
        assert_eq!(at(501).refusals(), ["power"]);
    }

    /// 0.05 mm × 204.628 a second = 10.2 mm/s; the mill's slowest is 40 mm/s, and a quarter of it 10 mm/s.
    #[test]
    fn warns_of_teeth_that_rub_and_of_a_feed_below_the_slowest() {
        for (speed, warnings, limit) in [
            (10, &["power"][..], "0.050 mm"),
            (11, &["power"], "0.040 m/s"),
            (39, &["power"], "0.040 m/s"),
            (40, &[], ""),
        ] {
            let case = slowest_of_40(speed);
            assert_eq!(case.refusals(), [""; 0], "{speed}");
            assert_eq!(case.warnings(), warnings, "{speed}");
            let told = case.figures("power").map(|(_, limit)| limit);
            assert_eq!(told.unwrap_or_default(), limit, "{speed}");
        }
    }

    fn slowest_of_40(speed: u32) -> Case {
        let mut case = at(speed);
        case.mill.power.feed_min = Speed::mm_per_s(40);
        case
    }

    #[test]
    fn refuses_a_feed_below_a_quarter_of_the_slowest() {
        assert_eq!(slowest_of_40(10).refusals(), [""; 0]);
        let case = slowest_of_40(9);
        assert_eq!(case.refusals(), ["power"]);
        let figures = case.figures("power").unwrap();
        assert_eq!(figures, ("0.009 m/s".into(), "0.010 m/s".into()));
    }

    /// 25 N/mm² × 5.5 mm × 100 mm × 0.3 m/s ÷ 60 m/s × (1 − 100/560) × 1.5 for knots = 84.7 N hold the carriage back.
    #[test]
    fn refuses_a_hand_carriage_that_is_pushed_harder_than_the_mill_lets() {
        let pushed = |push: u32, speed: u32| {
            let cut = Cut {
                speed: Speed::mm_per_s(speed),
                ..stroke(270.0)
            };
            let script = Script::new().swing(Angle::Upright).travel(4_530);
            let mut case = at(300);
            case.mill = hand_mill();
            case.mill.knife = None;
            case.mill.drive = Drive::Hand { push };
            case.script = script.corner(-60.0, 60.0).with(Move::Cut(cut));
            case
        };
        assert_eq!(pushed(85, 300).refusals(), [""; 0]);
        assert_eq!(pushed(84, 300).refusals(), ["power"]);
        assert_eq!(pushed(84, 297).refusals(), [""; 0]);
        let figures = pushed(84, 300).figures("power").unwrap();
        assert_eq!(figures, ("85 N".into(), "84 N".into()));
    }

    /// The slab over 263 mm weighs 0.7 g/cm³ × 3.6 m × the segment of its circle over 268.5 mm, of 3952 mm²: 9.96 kg. A column of it
    /// that an upright stroke frees lies beside the blade.
    #[test]
    fn refuses_more_on_the_turning_blade_than_it_bears() {
        let slab = |on_blade: u16| {
            let mut case = Case::usual(Script::opened());
            case.mill.loose.on_blade = on_blade;
            case
        };
        assert_eq!(slab(10).refusals(), [""; 0]);
        assert_eq!(slab(9).refusals(), ["power"]);
        assert_eq!(
            slab(9).figures("power"),
            Some(("10.0 kg".into(), "9.0 kg".into()))
        );
        let mut case = Case::usual(Script::opened().first_column());
        case.mill.loose.on_blade = 10;
        assert_eq!(case.refusals(), [""; 0]);
    }

    /// Parted by an upright kerf first, the slab lies on the blade just the same.
    #[test]
    fn all_that_one_stroke_frees_counts() {
        let parted = Script::new().travel(270).swing(Angle::Upright);
        let parted = parted.corner(0.0, 263.0).cut(4_530).height(400.0);
        let freed = parted.swing(Angle::Flat).corner(100.0, 263.0).cut(270).unload();
        let mut case = Case::usual(freed);
        case.mill.loose.on_blade = 9;
        assert_eq!(case.refusals(), ["power"]);
        case.mill.loose.on_blade = 10;
        assert_eq!(case.refusals(), [""; 0]);
    }

    /// Back through a kerf of half the log's length.
    #[test]
    fn refuses_a_plate_between_wood_faster_than_the_mill_saws() {
        let back = |script: Script, speed: u32| {
            let cut = Cut {
                speed: Speed::mm_per_s(speed),
                ..stroke(270.0)
            };
            Case::usual(script.with(Move::Cut(cut)))
        };
        let flat = Script::opened().corner(-60.0, 206.5).cut(2_000);
        assert_eq!(back(flat.clone(), 500).refusals(), [""; 0]);
        assert_eq!(back(flat.clone(), 501).refusals(), ["power"]);
        assert_eq!(
            back(flat, 501).figures("power"),
            Some(("0.501 m/s".into(), "0.500 m/s".into()))
        );
        let edge = Script::opened().travel_by_air(270).swing(Angle::Upright);
        let edge = edge.corner(-60.0, 206.5).cut(2_000);
        assert_eq!(back(edge.clone(), 500).refusals(), [""; 0]);
        assert_eq!(back(edge, 501).refusals(), ["power"]);
    }

    /// The slab's kerf has left a face at 263 mm: a blade that lies on it saws what rises, one well over it nothing. The rim
    /// of an upright blade comes as near to it.
    #[test]
    fn refuses_to_run_along_a_face_faster_than_the_mill_saws_and_permits_it_well_over_it() {
        let back = |angle: Angle, height: f64, speed: u32| {
            let cut = Cut {
                speed: Speed::mm_per_s(speed),
                ..stroke(270.0)
            };
            let over = Script::opened().travel_by_air(4_530).swing(angle);
            Case::usual(over.corner(100.0, height).with(Move::Cut(cut)))
        };
        for angle in [Angle::Flat, Angle::Upright] {
            assert_eq!(back(angle, 263.0, 500).refusals(), [""; 0], "{angle:?}");
            assert_eq!(back(angle, 263.0, 501).refusals(), ["power"], "{angle:?}");
            assert_eq!(back(angle, 263.9, 501).refusals(), ["power"], "{angle:?}");
            assert_eq!(back(angle, 264.1, 501).refusals(), [""; 0], "{angle:?}");
        }
        assert_eq!(
            back(Angle::Flat, 263.0, 501).figures("power"),
            Some(("0.501 m/s".into(), "0.500 m/s".into()))
        );
    }

    #[test]
    fn permits_in_air_what_is_too_fast_in_wood() {
        let mut case = at(501);
        case.log = timber(60, 40, 3_600);
        assert_eq!(case.refusals(), [""; 0]);
        assert_eq!(case.warnings(), [""; 0]);
    }

    /// A rim that stands asks no power; that it cannot saw is another rule's matter.
    #[test]
    fn leaves_a_blade_that_cannot_be_to_the_rule_on_reach() {
        let mut case = at(300);
        case.mill.blade.rim_speed = Speed::ZERO;
        assert_eq!(case.refusals(), ["reach"]);
    }

    /// A blade without teeth or gullets carries no chip out.
    #[test]
    fn refuses_a_blade_without_teeth_or_gullets() {
        let mut case = at(300);
        case.mill.blade.teeth = 0;
        assert_eq!(case.refusals(), ["power"]);
        let mut case = at(300);
        case.mill.blade.gullet = 0;
        assert_eq!(case.refusals(), ["power"]);
    }
}
