//! # bed-clear
//!
//! **Guards** bunks, packing, wedges and dogs. **Trips when** a kerf comes nearer to the bed plane, the packing, a
//! wedge or a dog than the clearance or than the axes are true to, or leaves no wood under it where the log rests. A pack
//! lies across its whole bunk and reaches up to the log; wedges stand on what carries the log, so on the pack where there
//! is one, and rise from there by their height; a dog fills what lies between its box and the log on which it closes. The setting may allow
//! less clearance where the whole blade stays between the bunks. Timber bunks may be declared sacrificial to a depth:
//! coming nearer, or into them as deep as that, warns. Trips too when the blade of a stroke would meet a wedge in a
//! kerf: a hold drives wedges into all kerfs cut since the hold before that have wood on both sides, down to one kerf
//! short of their bottoms, and they stay until unloading leaves no wood on one side; and when wedges go in and more
//! kerfs are open than can be told apart. **Clears when** the layer ends higher; a kerf is wedged after its last
//! stroke, at a hold soon after it. **Does not cover** moves outside a cut, which keep as far off packs, wedges and dogs by
//! the rules on moves and swings; nor a log that sags between its bunks: see the rule on support; nor
//! heads of wedges that stand out of their kerfs: drive them in flush.

use bunkside_protocol::mill::{Bunk, BunkKind};
use bunkside_protocol::{Act, Length, Move, Position};

use super::{Basis, Measure, Objection, Objections, Rule, Situation};
use crate::geometry::{Block, Interval};
use crate::limits::LIGAMENT;
use crate::machine::Apart;
use crate::physics::dogs::meets;
use crate::physics::wedges;

pub(super) const RULE: Rule = Rule {
    number: 0,
    id: "bed-clear",
    title: "no kerf comes too near to bed, wedges or dogs",
    reason: "a blade that meets a steel bunk, a wedge or a dog throws teeth",
    basis: Basis::Machine,
    check,
};

const BED: &str = "the kerf comes too near to the bed; end the lowest layer higher";
const SACRIFICED: &str = "the kerf comes near to or into the sacrificial timber of a bunk";
const PACKING: &str = "the kerf comes too near to the packing under the log; end the lowest layer higher or lay the underside level";
const WEDGE: &str = "the kerf comes too near to a wedge, which stands on the bunk or on what is packed on it; end the layer higher, pack less, or use lower wedges";
const DOG: &str = "the kerf comes too near to a dog; shift the dog";

const IN_KERF: &str = "the blade would meet the wedge; wedge a kerf after its last stroke, or free and unload the wood beside it first";
const TOO_MANY: &str =
    "nobody can say which kerfs the wedges go into; wedge them at holds between the strokes";

fn check(situation: &Situation<'_>, object: Objections<'_>) {
    too_many_to_wedge(situation, object);
    let Some((step, facts)) = situation.cut() else {
        return;
    };
    if facts.kerf.is_empty() {
        return;
    }
    let mill = situation.setup.mill;
    // The blade reaches a radius further along than its centre.
    let kerf = Block {
        travel: facts.kerf.travel.grown(mill.blade.radius),
        ..facts.kerf
    };
    bed(situation, kerf, object);
    packing(situation, kerf, object);
    wedges(situation, kerf, object);
    let apart = Apart::bed(mill);
    let shape = &situation.setup.shape;
    let at_dog = |blade: Block| {
        let mut dogs = mill.dogs.iter();
        dogs.any(|dog| meets(dog, shape, blade.apart(apart)))
    };
    if situation.blade_meets(step, &at_dog, &mut { at_dog }).is_some() {
        object(Objection::refuse(
            Measure::State("at a dog"),
            Measure::Length(apart.across.min(apart.height)),
            DOG,
        ));
    }
    let at_wedge = |blade: Block| situation.history.wedged().meets(blade);
    if situation
        .blade_meets(step, &at_wedge, &mut { at_wedge })
        .is_some()
    {
        let found = Measure::State("at a wedge in a kerf");
        object(Objection::refuse(found, Measure::State("clear of it"), IN_KERF));
    }
}

/// Whether wedges go in and nobody can say where.
fn too_many_to_wedge(situation: &Situation<'_>, object: Objections<'_>) {
    let Some(Move::Hold(hold)) = situation.step().map(|step| step.told) else {
        return;
    };
    if hold.acts.contains(Act::WedgeKerf) && situation.history.wedged().is_full() {
        let found = Measure::State("more open kerfs than can be told apart");
        object(Objection::refuse(found, Measure::State("few"), TOO_MANY));
    }
}

fn span(bunk: &Bunk) -> Interval {
    Interval::new(bunk.travel - bunk.half_size, bunk.travel + bunk.half_size)
}

fn bed(situation: &Situation<'_>, kerf: Block, object: Objections<'_>) {
    let (mill, log) = (situation.setup.mill, situation.setup.log);
    let kept = |clearance| Apart::keeping(mill, clearance).height;
    let full = kept(mill.clearances.bed.max(log.bed_clearance));
    let over = || mill.bunks.iter().filter(|bunk| span(bunk).overlaps(kerf.travel));
    let clearance = if over().next().is_some() {
        full
    } else {
        log.between_bunks.map_or(full, kept)
    };
    let top = over()
        .map(|bunk| bunk.top)
        .max()
        .unwrap_or(Position::ZERO)
        .max(Position::ZERO);
    let measured = kerf.height.lo - top;
    if measured >= clearance {
        return;
    }
    let timber = |bunk: &Bunk| match bunk.kind {
        BunkKind::Timber { sacrificial } => {
            sacrificial > Length::ZERO && kerf.height.lo >= bunk.top - sacrificial
        }
        BunkKind::Steel => false,
    };
    // Nothing but sacrificial timber under the kerf: it may come down to its declared depth.
    let sacrificed = over().next().is_some() && over().all(timber);
    let (measured, limit) = (Measure::Length(measured), Measure::Length(clearance));
    object(if sacrificed {
        Objection::warn(measured, limit, SACRIFICED)
    } else {
        Objection::refuse(measured, limit, BED)
    });
}

/// Where the log is packed up, the packing reaches from the bunk to its underside, across the whole bunk. Packed or not,
/// wood has to stay under the kerf where the log rests.
fn packing(situation: &Situation<'_>, kerf: Block, object: Objections<'_>) {
    let (mill, shape) = (situation.setup.mill, &situation.setup.shape);
    let clearance = Apart::bed(mill).height;
    let mut worst: Option<Length> = None;
    for bunk in mill.bunks.iter().filter(|bunk| span(bunk).overlaps(kerf.travel)) {
        let Some((bark, wood)) = shape.undersides(bunk.travel) else {
            continue;
        };
        let over_pack = Some(kerf.height.lo - bark).filter(|_| bark > bunk.top);
        let over_wood = kerf.height.lo - (wood + LIGAMENT - clearance);
        let rests = || {
            let section = shape.rough_at(bunk.travel)?;
            let lowest = section.lowest_across();
            let across = Interval::new(lowest - mill.wedges.reach, lowest + mill.wedges.reach);
            let face = shape.is_sawn().then(|| section.underside());
            let across = face.map_or(across, |face| across.join(face));
            across.overlaps(kerf.across).then_some(over_wood)
        };
        let over_wood = if over_wood < clearance { rests() } else { None };
        let near = [over_pack, over_wood].into_iter().flatten();
        worst = near.chain(worst).min();
    }
    tell(worst, clearance, PACKING, object);
}

/// A wedge is taken to reach from its contact outward by its reach; without a reach there are none.
fn wedges(situation: &Situation<'_>, kerf: Block, object: Objections<'_>) {
    let (mill, shape) = (situation.setup.mill, &situation.setup.shape);
    let apart = Apart::bed(mill);
    let clearance = apart.height;
    let mut worst: Option<Length> = None;
    for bunk in mill.bunks.iter().filter(|bunk| span(bunk).overlaps(kerf.travel)) {
        let Some(top) = wedges::top(mill, bunk, shape) else {
            continue;
        };
        let above = kerf.height.lo - top;
        if above >= clearance {
            continue;
        }
        let Some(met) = wedges::at(mill, bunk, shape) else {
            continue;
        };
        let reach = mill.wedges.reach;
        let entry = Interval::new(met.lo - reach, met.lo);
        let exit = Interval::new(met.hi, met.hi + reach);
        if entry.grown(apart.across).overlaps(kerf.across) || exit.grown(apart.across).overlaps(kerf.across) {
            worst = worst.into_iter().chain([above]).min();
        }
    }
    tell(worst, clearance, WEDGE, object);
}

/// Refuses what comes nearer than the clearance.
fn tell(worst: Option<Length>, clearance: Length, note: &'static str, object: Objections<'_>) {
    if let Some(above) = worst.filter(|above| *above < clearance) {
        let (found, limit) = (Measure::Length(above), Measure::Length(clearance));
        object(Objection::refuse(found, limit, note));
    }
}

#[cfg(test)]
pub(super) mod tests {
    use bunkside_protocol::mill::BunkKind;
    use bunkside_protocol::{Angle, Length, LogRecord, MillRecord, Position};

    use crate::limits::LIGAMENT;
    use crate::testing::{Case, Script, block, powered_mill, round_log, timber};

    /// A flat kerf that frees nothing, at a corner.
    fn kerf(mill: MillRecord, log: LogRecord, across: f64, height: f64) -> Case {
        let script = Script::new()
            .swing(Angle::Flat)
            .travel(270)
            .corner(across, height)
            .cut(4_530);
        Case::new(mill, log, script)
    }

    fn without_wedges() -> MillRecord {
        let mut mill = powered_mill();
        mill.wedges.reach = Length::ZERO;
        mill
    }

    fn on_timber_bunks(sacrificial: i32) -> MillRecord {
        let mut mill = without_wedges();
        for bunk in &mut mill.bunks {
            bunk.kind = BunkKind::Timber {
                sacrificial: Length::mm(sacrificial),
            };
        }
        mill
    }

    fn log() -> LogRecord {
        timber(180, 160, 3_600)
    }

    pub(in crate::rules) fn example() -> Case {
        kerf(without_wedges(), log(), -60.0, 24.9)
    }

    #[test]
    fn permits_the_clearance_and_refuses_less() {
        assert_eq!(kerf(without_wedges(), log(), -60.0, 25.0).refusals(), [""; 0]);
        let case = example();
        assert_eq!(case.refusals(), ["bed-clear"]);
        let figures = case.figures("bed-clear").unwrap();
        assert_eq!(figures, ("24.9 mm".into(), "25 mm".into()));
    }

    /// A clearance of 25 mm holds the play of a height that is true to 20 mm, and not that of one true to 26 mm; how true the
    /// other axes are is no matter here.
    #[test]
    fn keeps_as_far_off_as_the_height_may_be_off() {
        let at = |tolerance: i32, height: f64| {
            let mut mill = without_wedges();
            mill.travel.tolerance = Length::mm(50);
            mill.height.tolerance = Length::mm(tolerance);
            kerf(mill, log(), -60.0, height)
        };
        let near = |case: Case| case.refusals().contains(&"bed-clear");
        assert!(!near(at(20, 25.0)) && !near(at(26, 26.0)));
        let case = at(26, 25.9);
        assert!(near(case.clone()));
        let figures = case.figures("bed-clear").unwrap();
        assert_eq!(figures, ("25.9 mm".into(), "26 mm".into()));
    }

    #[test]
    fn the_larger_clearance_of_mill_and_setting_counts() {
        let mut log = log();
        log.bed_clearance = Length::mm(5);
        assert_eq!(
            kerf(without_wedges(), log.clone(), -60.0, 15.0).refusals(),
            [""; 0]
        );
        assert_eq!(kerf(without_wedges(), log, -60.0, 14.9).refusals(), ["bed-clear"]);
    }

    /// Below zero a clearance would let the blade into the bed; the height is true to 0.2 mm.
    #[test]
    fn a_clearance_below_zero_counts_as_none() {
        let (mut mill, mut log) = (without_wedges(), log());
        mill.clearances.bed = Length::mm(-50);
        log.bed_clearance = Length::mm(-50);
        assert_eq!(kerf(mill.clone(), log.clone(), -60.0, 0.2).refusals(), [""; 0]);
        assert_eq!(kerf(mill, log, -60.0, 0.1).refusals(), ["bed-clear"]);
    }

    #[test]
    fn a_bunk_that_stands_higher_asks_for_more() {
        let mut mill = without_wedges();
        mill.bunks[1].top = Position::mm(10);
        let mut log = log();
        for station in &mut log.stations {
            station.centre_height = station.centre_height + Length::mm(10);
        }
        assert_eq!(kerf(mill.clone(), log.clone(), -60.0, 35.0).refusals(), [""; 0]);
        assert_eq!(kerf(mill, log, -60.0, 34.9).refusals(), ["bed-clear"]);
    }

    /// A kerf that stops between the bunks and is backed out of again; the rim runs 280 mm ahead of the centre.
    #[test]
    fn between_the_bunks_the_setting_may_allow_less_while_the_whole_blade_stays_there() {
        let mut mill = without_wedges();
        mill.bunks = [1_700, 3_900]
            .into_iter()
            .zip(&powered_mill().bunks)
            .map(|(travel, bunk)| bunkside_protocol::mill::Bunk {
                travel: Position::mm(travel),
                ..*bunk
            })
            .collect();
        let mut log = log();
        log.between_bunks = Some(Length::mm(18));
        let to = |end: f64| {
            let script = Script::new()
                .swing(Angle::Flat)
                .travel(270)
                .corner(-60.0, 18.0)
                .cut_to(end)
                .cut(270);
            Case::new(mill.clone(), log.clone(), script).refusals()
        };
        assert_eq!(to(1_360.0), [""; 0]);
        assert_eq!(to(1_360.1), ["bed-clear"]);
    }

    #[test]
    fn sacrificial_timber_warns_as_deep_as_it_is_declared() {
        let case = kerf(on_timber_bunks(3), log(), -60.0, -3.0);
        assert_eq!(case.refusals(), [""; 0]);
        assert!(case.warnings().contains(&"bed-clear"));
        assert_eq!(
            kerf(on_timber_bunks(3), log(), -60.0, -3.1).refusals(),
            ["bed-clear"]
        );
        assert_eq!(
            kerf(without_wedges(), log(), -60.0, -3.0).refusals(),
            ["bed-clear"]
        );
    }

    #[test]
    fn timber_that_is_not_declared_sacrificial_is_not() {
        assert_eq!(
            kerf(on_timber_bunks(0), log(), -60.0, 24.9).refusals(),
            ["bed-clear"]
        );
    }

    /// The wedges rise 15 mm and want 15 mm over them; they reach 60 mm to 120 mm from the middle.
    #[test]
    fn keeps_above_the_wedges_and_may_go_lower_beside_them() {
        let wide = || timber(300, 160, 3_600);
        assert_eq!(kerf(powered_mill(), wide(), -60.0, 30.0).refusals(), [""; 0]);
        assert_eq!(
            kerf(powered_mill(), wide(), -60.0, 29.9).refusals(),
            ["bed-clear"]
        );
        assert_eq!(kerf(powered_mill(), wide(), -135.0, 25.0).refusals(), [""; 0]);
        assert_eq!(
            kerf(powered_mill(), wide(), -134.9, 25.0).refusals(),
            ["bed-clear"]
        );
    }

    /// An upright kerf between the wedges, and one over those on the exit side.
    #[test]
    fn an_upright_kerf_may_go_lower_between_the_wedges() {
        let at = |across: f64, height: f64| {
            let script = Script::new().travel(4_530).corner(across, height).cut(270);
            Case::new(powered_mill(), timber(300, 160, 3_600), script).refusals()
        };
        assert_eq!(at(0.0, 25.0), [""; 0]);
        assert_eq!(at(45.0, 25.0), [""; 0]);
        assert_eq!(at(45.1, 25.0), ["bed-clear"]);
        assert_eq!(at(90.0, 29.9), ["bed-clear"]);
        assert_eq!(at(90.0, 30.0), [""; 0]);
    }

    /// Without its first bunk, the mill's next one is reached by a stroke that runs far enough.
    #[test]
    fn only_wedges_under_the_kerf_count() {
        let to = |end: i32| {
            let script = Script::new()
                .swing(Angle::Flat)
                .travel(270)
                .corner(-60.0, 27.0)
                .cut(end)
                .cut(270);
            let mut mill = powered_mill();
            mill.bunks.remove(0);
            let case = Case::new(mill, timber(300, 160, 3_600), script);
            case.refusals().contains(&"bed-clear")
        };
        assert!(!to(1_900));
        assert!(to(2_000));
    }

    /// Packed up by 30 mm, the wedges of 15 mm stand on the pack and reach up to 45 mm; with 15 mm over them: 60 mm.
    #[test]
    fn wedges_stand_on_the_pack() {
        let at = |across: f64, height: f64| kerf(powered_mill(), raised(30, 300), across, height).refusals();
        assert_eq!(at(-60.0, 60.0), [""; 0]);
        assert_eq!(at(-60.0, 59.9), ["bed-clear"]);
        let case = kerf(powered_mill(), raised(30, 300), -60.0, 59.9);
        let figures = case.figures("bed-clear").unwrap();
        assert_eq!(figures, ("14.9 mm".into(), "15 mm".into()));
        // Beside them, further out than 120 mm and the clearance, the pack counts: it lies across the whole bunk.
        assert_eq!(at(-135.0, 45.0), [""; 0]);
        assert_eq!(at(-135.0, 44.9), ["bed-clear"]);
    }

    /// A bunk that stands 30 mm lower is packed up to the log, with wedges on the pack as high as on the others.
    #[test]
    fn wedges_of_a_bunk_left_open_stand_as_high_once_it_is_packed() {
        for lower in 0..3 {
            let mut mill = powered_mill();
            mill.bunks[lower].top = Position::mm(-30);
            let at = |height: f64| kerf(mill.clone(), timber(300, 160, 3_600), -60.0, height).refusals();
            assert_eq!(at(30.0), [""; 0]);
            assert_eq!(at(29.9), ["bed-clear"]);
        }
    }

    /// Wedges 15 mm high that could reach 100 mm out meet a log of 150 mm radius √(150² − 135²) = 65.4 mm from its lowest
    /// line: an upright kerf keeps 15 mm off that.
    #[test]
    fn a_wedge_meets_a_round_log_where_its_own_height_does() {
        let at = |across: f64| {
            let script = Script::new().travel(4_530).corner(across, 25.0).cut(270);
            let mut mill = powered_mill();
            mill.wedges.reach = Length::mm(100);
            let case = Case::new(mill, round_log(300, 3_600), script);
            case.refusals().contains(&"bed-clear")
        };
        assert!(!at(50.3));
        assert!(at(50.5));
    }

    /// A timber that lies on sacrificial bunks, not packed up: wood of a few millimetres has to stay under the kerf, and
    /// nothing more is asked there.
    #[test]
    fn wood_stays_under_the_kerf_where_the_log_rests() {
        let at = |height: f64, clearance: i32| {
            let mut mill = on_timber_bunks(30);
            mill.wedges.reach = Length::mm(60);
            mill.wedges.height = Length::mm(-30);
            mill.clearances.bed = Length::mm(clearance);
            let mut log = log();
            log.bed_clearance = Length::mm(clearance);
            kerf(mill, log, -50.0, height).refusals()
        };
        let least = f64::from(LIGAMENT.as_um()) / 1000.0;
        for clearance in [0, 15] {
            assert_eq!(at(least, clearance), [""; 0], "{clearance}");
            assert_eq!(at(least - 0.1, clearance), ["bed-clear"], "{clearance}");
        }
    }

    /// A timber that is packed up by 30 mm: the packing wants 15 mm over it. Between the wedges, which stand 60 mm out.
    #[test]
    fn keeps_above_the_packing() {
        let at = |height: f64| {
            let script = Script::new().travel(4_530).corner(0.0, height).cut(270);
            Case::new(powered_mill(), raised(30, 180), script).refusals()
        };
        assert_eq!(at(45.0), [""; 0]);
        assert_eq!(at(44.9), ["bed-clear"]);
    }

    fn raised(by: i32, wide: i32) -> LogRecord {
        let mut log = timber(wide, 160, 3_600);
        for station in &mut log.stations {
            station.centre_height = station.centre_height + Length::mm(by);
        }
        log
    }

    #[test]
    fn keeps_above_a_dog() {
        let mut mill = powered_mill();
        let dog = block([2_000, -200, 0], [2_100, -100, 100]);
        mill.dogs.push(dog).unwrap();
        assert_eq!(kerf(mill.clone(), log(), -60.0, 115.0).refusals(), [""; 0]);
        assert_eq!(kerf(mill.clone(), log(), -60.0, 114.9).refusals(), ["bed-clear"]);
        // A stroke that stops short of the dog with its centre may yet reach it with its rim.
        let to = |end: i32| {
            let script = Script::new()
                .swing(Angle::Flat)
                .travel(270)
                .corner(-60.0, 90.0)
                .cut(end)
                .cut(270);
            Case::new(mill.clone(), log(), script).refusals()
        };
        assert_eq!(to(1_650), [""; 0]);
        assert_eq!(to(1_750), ["bed-clear"]);
    }
}
