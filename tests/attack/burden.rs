//! Spoilt so exactly that it is known that engine, teeth or gullets are asked too much, or that the bunks do not carry the
//! log.

use std::f64::consts::PI;

use bunkside_planner::geometry::{Block, Interval};
use bunkside_planner::stock::Pick;
use bunkside_protocol::mill::Bunk;
use bunkside_protocol::{
    Act, Angle, Cut, Drive, Length, LogRecord, MillRecord, Move, Position, Speed, Station, Targets,
};

use super::aimed::{halfway, hold};
use super::class::{Class, Spoilt, aimed};
use super::figures::{mm, push};
use super::good::{Good, Met, across, up};
use crate::dice::Dice;

pub(crate) fn classes() -> Vec<Class> {
    vec![
        aimed("power", "feed faster than the engine carries", feed_stalls),
        aimed("power", "deepen to more than the engine carries", deep_stalls),
        aimed("power", "feed more than a tooth may bite", feed_bites),
        aimed("power", "feed more than the gullets take", feed_chokes),
        aimed("power", "feed faster than the mill may", too_fast),
        aimed("power", "hardly feed at all", crawling),
        aimed(
            "power",
            "back through an open kerf faster than that",
            back_too_fast,
        ),
        aimed("power", "push harder than the mill lets", pushed_hard),
        aimed("power", "lay more on the blade than it bears", on_the_blade),
        aimed("support", "take the bunks in between away", bunks_apart),
        aimed("support", "a hair too much beyond the last bunk", overhanging),
        aimed("support", "all bunks but one taken away", on_one_bunk),
        aimed("support", "a bunk lower than can be packed", sunk_bunk),
        aimed("support", "a bunk in the log", raised_bunk),
        aimed("support", "too limber for its length", limber),
        aimed("support", "lay the log again with a kerf open", laid_half_sawn),
    ]
}

/// A hundredth more than is allowed.
const MORE: f64 = 1.01;
/// What nothing can be below.
const HAIR: Length = Length::um(1);
/// How far bark and rounding may lie below a bunk's top, and more.
const SEAT: Length = Length::mm(5);

fn at_speed(good: &Good<'_>, at: usize, met: &Met<'_>, metres: f64) -> Option<Spoilt> {
    let limit = f64::from(Speed::MAX.as_um_per_s()) * 1e-6;
    if !(metres > 0.0 && metres < limit) {
        return None;
    }
    let speed = Speed::um_per_s((metres * 1e6).ceil() as u32);
    Some(good.with(at, 1, &[Move::Cut(Cut { speed, ..met.told })]).into())
}

/// Energy × kerf in newtons a millimetre, and the watts that reach the rim.
fn engine(mill: &MillRecord, log: &LogRecord) -> (f64, f64) {
    let watts = f64::from(mill.power.watts) * f64::from(mill.power.efficiency) * 1e-3;
    (f64::from(log.cutting_energy) * mm(mill.blade.kerf), watts)
}

/// Watts = newtons a millimetre × millimetres deep × metres a second.
fn feed_stalls(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    let met = good.met(at)?;
    let (energy, watts) = engine(good.mill(), good.setup.log);
    at_speed(good, at, &met, MORE * watts / (energy * mm(met.facts.bite)))
}

/// The same stroke at the same feed, set so deep.
fn deep_stalls(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    let met = good.met(at)?;
    let (energy, watts) = engine(good.mill(), good.setup.log);
    let speed = f64::from(met.told.speed.as_um_per_s()) * 1e-6;
    let deep = Length::um((MORE * watts / (energy * speed) * 1e3) as i64);
    if deep >= good.mill().blade.radius.times(2) {
        return None;
    }
    let by = deep - met.facts.bite;
    let set = match met.pose.angle {
        Angle::Flat => across(met.pose.across + by),
        Angle::Upright => up(met.pose.height - by),
    };
    Some(good.with(at, 0, &[set]).into())
}

/// How many teeth pass in a second.
fn passing(mill: &MillRecord) -> f64 {
    let blade = &mill.blade;
    let turns = f64::from(blade.rim_speed.as_um_per_s()) * 1e-3 / (2.0 * PI * mm(blade.radius));
    turns * f64::from(blade.teeth)
}

fn feed_bites(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    let (met, mill) = (good.met(at)?, good.mill());
    let speed = MORE * mm(mill.power.bite_max) * passing(mill) * 1e-3;
    at_speed(good, at, &met, speed)
}

/// A tooth's chip is its bite × the depth.
fn feed_chokes(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    let (met, mill) = (good.met(at)?, good.mill());
    let room = f64::from(mill.blade.gullet) * f64::from(mill.power.gullet_fill) * 1e-3;
    let speed = MORE * room / mm(met.facts.bite) * passing(mill) * 1e-3;
    at_speed(good, at, &met, speed)
}

fn too_fast(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    let met = good.met(at)?;
    let speed = Speed::um_per_s(good.mill().power.feed_max.as_um_per_s() + 1);
    Some(good.with(at, 1, &[Move::Cut(Cut { speed, ..met.told })]).into())
}

/// A hair below a quarter of the mill's slowest.
fn crawling(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    let met = good.met(at)?;
    let speed = Speed::um_per_s(good.mill().power.feed_min.as_um_per_s().div_ceil(4) - 1);
    Some(good.with(at, 1, &[Move::Cut(Cut { speed, ..met.told })]).into())
}

/// A hundredth more than the arms' hardest push.
fn pushed_hard(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    let (met, mill) = (good.met(at)?, good.mill());
    let Drive::Hand { push: most } = mill.drive else {
        return None;
    };
    at_speed(good, at, &met, MORE * f64::from(most) / push(good, &met)?.along)
}

/// A flat stroke frees a piece or more, and the blade bears less than half of what they fill of the boxes around them: a triangle
/// does.
fn on_the_blade(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    let met = good.met(at)?;
    let flat = met.pose.angle == Angle::Flat && !met.ran.freed.is_empty();
    let boxes = met.ran.freed.iter().map(|piece| {
        let sides = [piece.bounds.travel, piece.bounds.across, piece.bounds.height];
        sides.iter().map(|side| mm(side.length()) * 1e-3).product::<f64>()
    });
    let kilograms = boxes.sum::<f64>() * f64::from(good.setup.log.density);
    (flat && kilograms > 8.0).then(|| on_bunks(good, |mill| mill.loose.on_blade = (kilograms / 4.0) as u16))
}

/// Just after a flat stroke that frees nothing, with a finger's breadth of wood on its kerf along its rim, and no piece lying.
fn half_sawn<'a>(good: &'a Good<'_>, at: usize) -> Option<Met<'a>> {
    let met = good.met(at)?;
    let wood = met.facts.met?;
    let (middle, _) = halfway(good, &met)?;
    let (kerf, finger) = (good.mill().blade.kerf, Length::mm(15));
    let on_it = Block {
        travel: Interval::new(middle, middle + Length::mm(1)),
        across: Interval::new(met.pose.across - finger, met.pose.across),
        height: Interval::new(met.pose.height + kerf, Position::MAX),
    };
    let stands = met.ran.before.met(&good.setup.shape, on_it, Pick::Body)?;
    let thick = stands.height.length() > finger && stands.across == on_it.across;
    let sawn = wood.across.lo <= on_it.across.lo && wood.across.hi >= on_it.across.hi;
    let alone = met.facts.freed == 0 && met.ran.before.pieces().is_empty();
    (met.pose.angle == Angle::Flat && thick && sawn && alone).then_some(met)
}

fn back_too_fast(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    let met = half_sawn(good, at)?;
    let back = Cut {
        to: Targets::travel(met.pose.travel),
        speed: Speed::um_per_s(good.mill().power.feed_max.as_um_per_s() + 1),
        feed: None,
        ..met.told
    };
    Some(good.with(at + 1, 0, &[Move::Cut(back)]).into())
}

fn laid_half_sawn(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    half_sawn(good, at)?;
    let put = [Move::Spin(false), hold(&[Act::Reseat]), Move::Spin(true)];
    Some(good.with(at + 1, 0, &put).into())
}

/// The same moves with other bunks; a move is changed nowhere, so that there is one mutant of each draw.
fn on_bunks(good: &Good<'_>, change: impl FnOnce(&mut MillRecord)) -> Spoilt {
    let mut mill = good.mill().clone();
    change(&mut mill);
    Spoilt {
        mill: Some(mill),
        ..good.moves.clone().into()
    }
}

/// The bunks under the log, from the near end: there is one mutant of each number that is drawn here.
fn under(good: &Good<'_>, at: usize, most: usize) -> Option<Vec<Bunk>> {
    let log = good.setup.shape.travel();
    let bunks = good.mill().bunks.iter().copied();
    let under: Vec<Bunk> = bunks.filter(|bunk| log.contains(bunk.travel)).collect();
    (at < most && under.len() > 1).then_some(under)
}

fn bunks_apart(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    let under = under(good, at, 1)?;
    let (first, last) = (*under.first()?, *under.last()?);
    let apart = last.travel - first.travel > good.mill().support.spacing;
    apart.then(|| {
        on_bunks(good, |mill| {
            mill.bunks.retain(|bunk| *bunk == first || *bunk == last);
        })
    })
}

/// The last bunk stands a micrometre too far from the log's end, and none beyond it.
fn overhanging(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    let first = *under(good, at, 1)?.first()?;
    let place = good.setup.shape.travel().hi - good.mill().support.overhang - HAIR;
    (place > first.travel + Length::mm(300)).then(|| {
        on_bunks(good, |mill| {
            mill.bunks.clear();
            let last = Bunk {
                travel: place,
                ..first
            };
            mill.bunks.extend([first, last]);
        })
    })
}

fn on_one_bunk(good: &Good<'_>, at: usize, dice: &mut Dice) -> Option<Spoilt> {
    let under = under(good, at, 1)?;
    let one = dice.pick(&under);
    Some(on_bunks(good, |mill| mill.bunks.retain(|bunk| *bunk == one)))
}

/// No log of these lies below its bunks by more than a seat.
fn sunk_bunk(good: &Good<'_>, at: usize, dice: &mut Dice) -> Option<Spoilt> {
    let one = dice.pick(&under(good, at, 3)?);
    let by = good.mill().wedges.packing + SEAT;
    Some(on_bunks(good, |mill| {
        for bunk in mill.bunks.iter_mut().filter(|bunk| **bunk == one) {
            bunk.top = bunk.top - by;
        }
    }))
}

/// No log of these lies higher above its bunks than can be packed.
fn raised_bunk(good: &Good<'_>, at: usize, dice: &mut Dice) -> Option<Spoilt> {
    let one = dice.pick(&under(good, at, 3)?);
    let by = good.mill().wedges.packing + SEAT;
    Some(on_bunks(good, |mill| {
        for bunk in mill.bunks.iter_mut().filter(|bunk| **bunk == one) {
            bunk.top = bunk.top + by;
        }
    }))
}

/// 5 w L⁴ ÷ 384 E I of the longest stretch between two bunks, as light as the log is thin and as stiff as it is thick.
fn limber(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    let (mill, log) = (good.mill(), good.setup.log);
    let under = under(good, at, 1)?;
    let stretches = under.windows(2).map(|pair| mm(pair[1].travel - pair[0].travel));
    let long = stretches.fold(0.0, f64::max);
    let half = |station: &Station| (mm(station.half_width), mm(station.half_height));
    let thin = log.stations.iter().map(half).map(|(wide, high)| wide * high);
    let weight = PI * thin.fold(f64::INFINITY, f64::min) * 1e-9 * f64::from(log.density) * 9.806_65;
    let thick = log.stations.iter().map(half);
    let second = PI / 4.0
        * thick
            .map(|(wide, high)| wide * high * high * high)
            .fold(0.0, f64::max);
    let stiffness = 5.0 * weight * libm::pow(long, 4.0) / (384.0 * second * mm(mill.support.sag)) / MORE;
    (stiffness >= 1.0).then(|| Spoilt {
        log: Some(LogRecord {
            stiffness: stiffness as u16,
            ..log.clone()
        }),
        ..good.moves.clone().into()
    })
}
