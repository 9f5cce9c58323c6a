//! Plans of random logs on random mills: laid out, sequenced and audited.
//!
//! Set `BUNKSIDE_RUNS` to plan more than the few hundred of an ordinary run, and `BUNKSIDE_FROM` to start at another
//! seed than 0.
//!
//! Distribution, all uniform: small-end diameter 160 to 700 mm, taper 0 to 15 mm/m, length 1.2 to 6 m, ovality 0 to
//! 12 %, turn any, bow 0 to 12 mm/m over the length upward, downward or sideways, bark 0 to 25 mm, timber any, 500 to 1200 kg/m3,
//! level by centre, top or bottom; one to four products 16 to 75 mm by 60 to 180 mm in one to three lengths, some of them
//! on edge; mills
//! powered over, powered under (teeth either way) and hand, kerf 4 to 7 mm, engine 5 to 20 kW,
//! gullets filled to 20 to 80 %, knife fitted or not, aid bearing or not, grid 50 to 794 µm, fractions of an inch among
//! them, covers of 70 to 170 mm in a third, the least overhang of the rim in a third; in half of the
//! cases some neighbouring columns are released together. All of them lie still in one test, and move as they are
//! opened in another. In a third one to three dogs and keep-out boxes, 20 to 200 mm wide and 10 to 150 mm high, stand on the
//! bed within 0.7 m of the log's ends.

mod chance;

use std::collections::BTreeMap;
use std::string::{String, ToString};
use std::vec::Vec;

use bunkside_protocol::mill::{Box3, Turn};
use bunkside_protocol::{
    Act, Angle, Drive, Form, Length, LogRecord, MillRecord, Move, Position, Station, Stroke, Timber,
};

use chance::Chance;

use super::{Growth, sequence_in};
use crate::audit::{Verdict, audit};
use crate::layout::{Draft, Product, plain};
use crate::limits::FIN;
use crate::plan::{Column, CutPlan, End, Freeing, Layer, Use};
use crate::replay::{Setup, Step};
use crate::rules::Severity;
use crate::testing::{hand_mill, powered_mill, round_log};

fn random_mill(chance: &mut Chance) -> MillRecord {
    let mut mill = if chance.one_in(3) {
        hand_mill()
    } else {
        powered_mill()
    };
    if matches!(mill.drive, Drive::Powered { .. }) && chance.one_in(2) {
        let under = hand_mill();
        mill.swing = under.swing;
        mill.head = under.head;
    }
    if matches!(mill.drive, Drive::Powered { .. }) && chance.one_in(4) {
        mill.swing.teeth_flat = Stroke::Homebound;
    }
    mill.blade.kerf = Length::um(chance.within(40, 70) * 100);
    if mill.swing.turn == Turn::Over {
        let half = mill.blade.kerf.half_floor();
        (mill.swing.pivot_across, mill.swing.pivot_height) = (-half, half);
    }
    mill.power.watts = u32::try_from(chance.within(5_000, 20_000)).unwrap();
    mill.power.gullet_fill = u16::try_from(chance.within(200, 800)).unwrap();
    mill.grid =
        Length::um([50, 100, 200, 500, 254, 397, 350, 794][usize::try_from(chance.within(0, 7)).unwrap()]);
    if chance.one_in(3) {
        mill.reach.cover =
            [70, 70].map(|least| Length::mm(i32::try_from(chance.within(least, 170)).unwrap()));
    }
    if let Some(aid) = &mut mill.aid {
        aid.on_at_start = chance.one_in(3);
    }
    if let Some(knife) = &mut mill.knife {
        knife.fitted_at_start = chance.one_in(2);
        // In one of three it leads outbound, by a number drawn already.
        knife.leads_homebound = mill.power.watts % 3 > 0;
    }
    mill
}

/// Sets bunks and wedges for a log, as an operator does: bunks a sixth of its length from either end, and wedges where its
/// underside rises by 24 degrees.
fn set(mill: &mut MillRecord, log: &LogRecord) {
    let (near, far) = (
        log.stations[0].travel,
        log.stations[log.stations.len() - 1].travel,
    );
    let length = far - near;
    let places = [1, 3, 5].map(|sixths| near + Length::um(length.wide() * sixths / 6));
    for (bunk, place) in mill.bunks.iter_mut().zip(places) {
        bunk.travel = place;
    }
    let half = log
        .stations
        .iter()
        .map(|station| station.half_height)
        .max()
        .unwrap();
    mill.wedges.reach = Length::um(half.wide() * 2 / 5);
    mill.wedges.height = Length::um(half.wide() / 10);
    mill.wedges.packing = Length::mm(200);
}

/// Boxes on the bed about the log's ends, each a dog or kept free.
fn stand_boxes(chance: &mut Chance, mill: &mut MillRecord, log: &LogRecord) {
    for _ in 0..chance.within(1, 3) {
        let end = if chance.one_in(2) {
            0
        } else {
            log.stations.len() - 1
        };
        let from = log.stations[end].travel + Length::mm(i32::try_from(chance.within(-700, 600)).unwrap());
        let across = i32::try_from(chance.within(-600, 500)).unwrap();
        let mut size = |low, high| Length::mm(i32::try_from(chance.within(low, high)).unwrap());
        let (long, wide, high) = (size(20, 100), size(20, 200), size(10, 150));
        let record = Box3 {
            min: [from, Position::mm(across), Position::ZERO],
            max: [from + long, Position::mm(across) + wide, Position::ZERO + high],
        };
        let full = if chance.one_in(2) {
            mill.dogs.push(record)
        } else {
            mill.keep_out.push(record)
        };
        full.unwrap();
    }
}

fn random_log(chance: &mut Chance) -> LogRecord {
    let mut log = round_log(300, 3_600);
    let length = chance.within(1_200, 6_000);
    let taper = chance.within(0, 15) * length / 1000;
    let small = chance.within(160, 700);
    let (near, far) = if chance.one_in(2) {
        (small, small + taper)
    } else {
        (small + taper, small)
    };
    let oval = chance.within(0, 12);
    let turn = f64::from(i32::try_from(chance.within(0, 179)).unwrap()).to_radians();
    let bow = chance.within(0, 12) * length / 1000;
    let (bow_x, bow_y) =
        [(0, bow), (0, -bow), (bow, 0), (-bow, 0)][usize::try_from(chance.within(0, 3)).unwrap()];
    let level = chance.within(0, 2);
    log.bark = Length::mm(i32::try_from(chance.within(0, 25)).unwrap());
    log.timber = Timber::ALL[usize::try_from(chance.within(0, 2)).unwrap()];
    log.density = u16::try_from(chance.within(500, 1_200)).unwrap();
    log.stations.clear();
    let count = if bow == 0 { 2 } else { 17 };
    let mut lowest = i64::MAX;
    for number in 0..count {
        let part = |from: i64, to: i64| from * 1000 + (to - from) * 1000 * number / (count - 1);
        let radius = part(near, far) / 2;
        let (a, b) = (radius as f64, radius as f64 * (1.0 - oval as f64 / 100.0));
        let (s, c) = libm::sincos(turn);
        let (syy, sxy) = (a * a * s * s + b * b * c * c, (a * a - b * b) * s * c);
        let half_height = libm::sqrt(syy);
        let along = number as f64 / (count - 1) as f64;
        let arch = 4.0 * along * (1.0 - along);
        let base = match level {
            0 => (near.max(far) * 500) as f64,
            1 => (near.max(far) * 1000) as f64 - half_height,
            _ => half_height,
        };
        let height = (base + arch * (bow_y * 1000) as f64) as i64;
        lowest = lowest.min(height - half_height as i64 - log.bark.wide());
        let station = Station {
            travel: Position::um(600_000 + part(0, length)),
            centre_across: Position::um((arch * (bow_x * 1000) as f64) as i64),
            centre_height: Position::um(height),
            half_width: Length::um((a * b / half_height) as i64),
            half_height: Length::um(half_height as i64),
            skew: Length::um((sxy / half_height) as i64),
        };
        log.stations.push(station).unwrap();
    }
    for station in &mut log.stations {
        station.centre_height = station.centre_height - Length::um(lowest);
    }
    log.form = Form::Round;
    log
}

/// The same columns, some neighbours released together where the blade surely reaches under both.
fn released(chance: &mut Chance, columns: &[Column]) -> Vec<Column> {
    let mut columns = columns.to_vec();
    let mut number = 1;
    while number + 1 < columns.len() {
        let place = |number: usize| columns.get(number).and_then(|column| column.to);
        let narrow = match (place(number - 1), place(number + 1)) {
            (Some(before), Some(after)) => after - before < Length::mm(190),
            _ => false,
        };
        if narrow && chance.one_in(2) {
            for column in columns.iter_mut().skip(number).take(2) {
                column.freeing = Freeing::Release;
            }
            number += 3;
        } else {
            number += 1;
        }
    }
    columns
}

/// What a mill lets drop that does not say how much, kilograms.
const DROPS: u16 = 18;

/// What became of one random case: `planned`, or why not; a refusal by the auditor is an error.
fn run_case(seed: u64, growth: Growth, boxed: bool, drops: u16) -> Result<String, String> {
    let mut chance = Chance::new(seed);
    let mut mill = random_mill(&mut chance);
    let log = random_log(&mut chance);
    set(&mut mill, &log);
    mill.loose.drops = drops;
    if Chance::new(seed.rotate_left(32)).one_in(3) {
        // The least that the grid lets the rim keep.
        mill.clearances.rim_overhang = mill.grid + FIN + FIN;
    }
    if boxed {
        stand_boxes(&mut Chance::new(!seed), &mut mill, &log);
    }
    let setup = Setup::new(&mill, &log).map_err(|error| error.to_string())?;
    let whole = setup.shape.travel().length();
    let lengths: Vec<Length> = (0..chance.within(1, 3))
        .map(|shorter| (whole - Length::mm(60) - Length::um(shorter * 600_000)).max(Length::mm(300)))
        .collect();
    let products: Vec<Product<'_>> = (0..chance.within(1, 4))
        .map(|_| {
            let (thickness, width) = (chance.within(160, 750), chance.within(600, 1800));
            let on_edge = chance.one_in(4) && width <= thickness * 4;
            let (thickness, width) = if on_edge {
                (width, thickness)
            } else {
                (thickness, width)
            };
            Product {
                thickness: Length::um(thickness * 100),
                width: Length::um(width * 100),
                lengths: &lengths,
                most: chance.one_in(4).then_some(2),
            }
        })
        .collect();
    let draft = match plain(&setup, &products, Length::mm(25)) {
        Ok(draft) => draft,
        Err(error) => return Ok(std::format!("layout: {error}")),
    };
    check_boards(&setup, &products, &draft, Length::mm(25))?;
    judge_draft(&mut chance, &setup, &draft, growth)
}

/// Every board of a plain layout lies in sound wood along its whole length: the corners of its section inside the
/// ellipse of the record at fifty places, by the implicit equation in floats, which the planner does not use.
fn check_boards(
    setup: &Setup<'_>,
    products: &[Product<'_>],
    draft: &Draft,
    end_trim: Length,
) -> Result<(), String> {
    let kerf = setup.mill.blade.kerf;
    let log = setup.shape.travel();
    draft.with_plan(|plan| {
        for layer in plan.layers {
            for column in layer.columns {
                let (Some(to), Use::Board { product, length, end }) = (column.to, column.use_) else {
                    continue;
                };
                let size = products.get(usize::from(product)).ok_or("no such product")?;
                let start = match end {
                    End::Near => log.lo + end_trim,
                    End::Far => log.hi - end_trim - length,
                };
                for place in 0..=50 {
                    let travel = start + Length::um(length.wide() * place / 50);
                    for across in [to - kerf - size.width, to - kerf] {
                        for height in [layer.floor + kerf, layer.floor + kerf + size.thickness] {
                            let out = outside(setup.log, travel, across, height);
                            if out > 0.000_05 {
                                return Err(std::format!("wane {out} at {travel} {across} {height}"));
                            }
                        }
                    }
                }
            }
        }
        Ok(())
    })
}

/// How far, as a share of the half-diameter, a point lies outside the log's record; negative inside.
fn outside(log: &LogRecord, travel: Position, across: Position, height: Position) -> f64 {
    let after = log
        .stations
        .iter()
        .position(|station| station.travel >= travel)
        .unwrap_or(1)
        .max(1);
    let (a, b) = (&log.stations[after - 1], &log.stations[after]);
    let part = f64::from((travel - a.travel).as_um()) / f64::from((b.travel - a.travel).as_um());
    let mix = |a: i32, b: i32| f64::from(a) + (f64::from(b) - f64::from(a)) * part;
    let x = f64::from(across.as_um()) - mix(a.centre_across.as_um(), b.centre_across.as_um());
    let y = f64::from(height.as_um()) - mix(a.centre_height.as_um(), b.centre_height.as_um());
    let up = y / mix(a.half_height.as_um(), b.half_height.as_um());
    let along =
        (x - up * mix(a.skew.as_um(), b.skew.as_um())) / mix(a.half_width.as_um(), b.half_width.as_um());
    libm::sqrt(up * up + along * along) - 1.0
}

/// Sequences and audits one draft.
fn judge_draft(
    chance: &mut Chance,
    setup: &Setup<'_>,
    draft: &Draft,
    growth: Growth,
) -> Result<String, String> {
    let mut moves = Vec::new();
    let some_released = chance.one_in(2);
    let made = draft.with_plan(|plan| {
        let columns: Vec<Vec<Column>> = plan
            .layers
            .iter()
            .map(|layer| {
                if some_released {
                    released(chance, layer.columns)
                } else {
                    layer.columns.to_vec()
                }
            })
            .collect();
        let layers: Vec<Layer<'_>> = plan
            .layers
            .iter()
            .zip(&columns)
            .map(|(layer, columns)| Layer { columns, ..*layer })
            .collect();
        sequence_in(setup, &CutPlan { layers: &layers }, growth, &mut |told| {
            moves.push(*told);
            true
        })
    });
    if let Err(error) = made {
        return Ok(std::format!(
            "sequence: {}",
            std::format!("{:?}", error.kind)
                .split([' ', '('])
                .next()
                .unwrap_or("")
        ));
    }
    let steps = audited(setup, &moves)?;
    if growth == Growth::Stressed {
        check_care(setup, &steps)?;
    }
    Ok("planned".to_string())
}

/// Whether every target of a move lies on the grid.
fn on_grid(grid: Length, told: &Move) -> bool {
    let targets = match told {
        Move::Go(targets) => *targets,
        Move::Cut(cut) => cut.to,
        Move::Swing(_) | Move::Spin(_) | Move::Hold(_) => return true,
    };
    let places = [targets.travel, targets.across, targets.height];
    places.iter().flatten().all(|place| place.snapped(grid) == *place)
}

/// The moves as they ran; the first refusal is an error.
fn audited(setup: &Setup<'_>, moves: &[Move]) -> Result<Vec<Step>, String> {
    if let Some(told) = moves.iter().find(|told| !on_grid(setup.mill.grid, told)) {
        return Err(std::format!("off-grid {told:?}"));
    }
    let mut refused = None;
    let mut steps = Vec::new();
    let verdict = audit(
        setup,
        moves.iter().copied(),
        &mut |step, _, _| steps.push(*step),
        &mut |finding| {
            if finding.objection.severity == Severity::Refuse && refused.is_none() {
                let told = moves.get(usize::from(finding.index));
                let (rule, objection) = (finding.rule, finding.objection);
                refused = Some(std::format!("{rule} {objection:?} at {} {told:?}", finding.index));
            }
        },
    );
    match (verdict, refused) {
        (Verdict::Refused, refused) => Err(refused.unwrap_or_default()),
        _ => Ok(steps),
    }
}

/// What is done with a stressed log, told from how its moves ran: the knife is on but for passes too deep for it; nothing
/// runs through air but flat strokes at the height of the cut before, after a look at the log.
fn check_care(setup: &Setup<'_>, steps: &[Step]) -> Result<(), String> {
    let (mut looked, mut floor, mut looks) = (false, None, 0);
    for step in steps {
        if let Move::Hold(hold) = step.told
            && hold.acts.contains(Act::Measure)
        {
            (looked, looks) = (true, looks + 1);
        }
        let Some(facts) = step.cut else { continue };
        let pose = step.before;
        let deep = setup.mill.knife.is_some_and(|knife| {
            let [flat, upright] = knife.homebound_limit;
            let limit = if pose.angle == Angle::Flat { flat } else { upright };
            step.stroke.is_some_and(|stroke| knife.leads(stroke)) && facts.bite > limit
        });
        if setup.mill.knife.is_some() && !pose.knife && !deep {
            return Err(std::format!("knife-off at {} without need", step.index));
        }
        if facts.met.is_some() {
            looked = false;
            floor = (pose.angle == Angle::Flat).then_some(pose.height).or(floor);
        } else if !looked || pose.angle != Angle::Flat || floor != Some(pose.height) {
            return Err(std::format!(
                "straightens-nothing at {}: {looked} {floor:?} {pose:?}",
                step.index
            ));
        }
    }
    if looks == 0 {
        return Err("not-measured anywhere".to_string());
    }
    Ok(())
}

#[test]
fn random_logs_plan_and_none_is_refused() {
    plan_many(Growth::Calm, false);
}

#[test]
fn random_stressed_logs_plan_and_none_is_refused() {
    plan_many(Growth::Stressed, false);
}

/// An edging kerf ends in the log's flank and leaves a heavy side hanging by a thread: whether that breaks or not, nothing drops.
#[test]
fn what_would_drop_when_a_thread_breaks_is_not_edged() {
    let told = run_case(1_406, Growth::Stressed, false, 8);
    assert_eq!(told.as_deref(), Ok("sequence: WouldFall"));
}

/// Blade and head go round what stands on the bed, or it is said that they cannot.
#[test]
fn random_logs_beside_dogs_and_keep_out_boxes_plan_or_are_told_what_is_in_the_way() {
    plan_many(Growth::Calm, true);
}

/// At least 85 in 100 of those laid out are planned, half of them where boxes stand about; and the auditor refuses none of them.
fn plan_many(growth: Growth, boxed: bool) {
    let asked = |name: &str, usual: u64| {
        std::env::var(name)
            .ok()
            .and_then(|number| number.parse().ok())
            .unwrap_or(usual)
    };
    let (from, runs) = (asked("BUNKSIDE_FROM", 0), asked("BUNKSIDE_RUNS", 400));
    let mut outcomes: BTreeMap<String, (u32, u64)> = BTreeMap::new();
    let mut refused: BTreeMap<String, (u32, u64, String)> = BTreeMap::new();
    for seed in from..from + runs {
        match run_case(seed, growth, boxed, DROPS) {
            Ok(outcome) => {
                let told = outcomes.entry(outcome).or_insert((0, seed));
                told.0 += 1;
            }
            Err(why) => {
                let rule = why.split(' ').next().unwrap_or("").to_string();
                refused.entry(rule).or_insert((0, seed, why)).0 += 1;
            }
        }
    }
    let counted = |of: &dyn Fn(&str) -> bool| -> u32 {
        let told = outcomes.iter().filter(|(outcome, _)| of(outcome));
        told.map(|(_, (count, _))| *count).sum()
    };
    let planned = counted(&|outcome| outcome == "planned");
    let laid_out = counted(&|outcome| !outcome.starts_with("layout"));
    std::println!("{outcomes:#?}");
    assert!(refused.is_empty(), "{refused:#?}");
    assert!(
        u64::from(laid_out) * 100 >= runs * 88,
        "{laid_out} laid out: {outcomes:#?}"
    );
    assert!(
        planned * 100 >= laid_out * if boxed { 50 } else { 85 },
        "{planned} of {laid_out} planned: {outcomes:#?}"
    );
}
