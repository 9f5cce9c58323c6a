//! Spoilt so exactly that it is known that the wood rolls, slides or lifts: by a tenth more than its weight, the wedges,
//! grip and dogs hold, worked out from what stands there.

use bunkside_planner::geometry::{Block, Interval, Section};
use bunkside_planner::machine::Pose;
use bunkside_protocol::{
    Act, Angle, Cut, Feed, Length, LogRecord, MillRecord, Move, Position, Speed, Surface,
};

use super::class::{Class, Spoilt, aimed};
use super::figures::{Push, at, axis, contacts, mm, most, push, standing};
use super::good::{Good, Met};
use super::practice::turned;
use crate::dice::Dice;

pub(crate) fn classes() -> Vec<Class> {
    vec![
        aimed("roll", "feed until the flat blade tips it", feed_tips),
        aimed("roll", "feed until the flat blade turns it", feed_turns),
        aimed("roll", "set the wedges too narrow", narrow_wedges),
        aimed("roll", "one column too many from the entry side", one_too_many),
        aimed("roll", "wedges on which it goes over as it leans", leans_over),
        aimed("slip", "feed until the flat blade slides it", feed_slides),
        aimed("slip", "feed a rip until it slides", feed_slides_along),
        aimed("slip", "greased bunks and no dogs", greased),
        aimed("slip", "ice under the log and no dogs", iced),
        aimed("slip", "feed as for closed dogs, never closed", dogs_left_open),
        aimed("lift", "feed until the blade lifts it", feed_lifts),
        aimed("lift", "as light as what lifts, no dogs", too_light),
        aimed(
            "lift",
            "against the teeth instead of with them on light wood",
            turned_on_light,
        ),
    ]
}

/// How many times its driver what resists is to be at most: every factor of the examples is more.
const TOO_NEAR: f64 = 1.08;

/// Where weight hinders the push by more than this share of what holds, what is not known of either counts too much.
const MOST_HINDERED: f64 = 0.5;

fn demands_more(factor: u16) -> Option<()> {
    (f64::from(factor) >= 1.15e3).then_some(())
}

/// At a speed in metres a second.
fn at_speed(good: &Good<'_>, at: usize, met: &Met<'_>, speed: f64) -> Option<Spoilt> {
    let limit = f64::from(Speed::MAX.as_um_per_s()) * 1e-6;
    let was = f64::from(met.told.speed.as_um_per_s()) * 1e-6;
    if !(speed > was && speed < limit) {
        return None;
    }
    let speed = Speed::um_per_s((speed * 1e6).ceil() as u32);
    Some(good.with(at, 1, &[Move::Cut(Cut { speed, ..met.told })]).into())
}

/// With another mill, the moves as they were.
fn on_mill(good: &Good<'_>, change: impl FnOnce(&mut MillRecord)) -> Spoilt {
    let mut mill = good.mill().clone();
    change(&mut mill);
    Spoilt {
        mill: Some(mill),
        ..good.moves.clone().into()
    }
}

fn of_angle<'g>(good: &'g Good<'_>, at: usize, angle: Angle) -> Option<(Met<'g>, Push)> {
    let met = good.met(at).filter(|met| met.pose.angle == angle)?;
    Some((met, push(good, &met)?))
}

/// Whether a flat pass pushes towards the exit side, 1, or the entry side, -1.
fn side(met: &Met<'_>) -> Option<f64> {
    Some(match met.step.feed? {
        Feed::Climb => 1.0,
        Feed::Forward => -1.0,
    })
}

/// Weight × what is left of the reach on the side it is pushed to = push × height over the wedges.
fn feed_tips(good: &Good<'_>, at_move: usize, _: &mut Dice) -> Option<Spoilt> {
    let (met, push) = of_angle(good, at_move, Angle::Flat)?;
    demands_more(good.mill().factors.roll)?;
    let wedges = contacts(good)?;
    let over = at(met.pose.height) - most(wedges, |wedge| wedge.height);
    let body = standing(good, &met.ran.before, None);
    let left = mm(good.mill().wedges.reach) / TOO_NEAR - side(&met)? * body.across;
    let hinders = -side(&met)? * body.across > mm(good.mill().wedges.reach) * MOST_HINDERED;
    if over < 30.0 || left <= 0.0 || hinders {
        return None;
    }
    at_speed(good, at_move, &met, body.weight * left / (push.aside * over))
}

/// Grip × weight × height of the centre over the wedges = push × height over the axis it turns about, which weight helps or hinders.
fn turning(good: &Good<'_>, met: &Met<'_>, push: &Push) -> Option<[f64; 3]> {
    let wedges = contacts(good)?;
    let over = at(met.pose.height) + mm(good.mill().blade.kerf) / 2.0 - axis(wedges, push.travel);
    let body = standing(good, &met.ran.before, None);
    let holds = body.weight * most(wedges, |wedge| wedge.lever);
    let by_weight = side(met)? * over.signum() * body.weight * body.across;
    (over.abs() > 20.0).then_some([holds, by_weight, push.aside * over.abs()])
}

fn feed_turns(good: &Good<'_>, at_move: usize, _: &mut Dice) -> Option<Spoilt> {
    let (met, push) = of_angle(good, at_move, Angle::Flat)?;
    demands_more(good.mill().factors.roll)?;
    let [holds, by_weight, drives] = turning(good, &met, &push)?;
    let held = grip(good.mill(), good.setup.log) * holds;
    if -by_weight > held * MOST_HINDERED {
        return None;
    }
    at_speed(good, at_move, &met, (held / TOO_NEAR - by_weight) / drives)
}

fn grip(mill: &MillRecord, log: &LogRecord) -> f64 {
    let grip = match log.surface {
        Surface::Barked => mill.factors.grip_barked,
        Surface::Smooth => mill.factors.grip_smooth,
        Surface::Iced => mill.factors.grip_iced,
    };
    f64::from(grip) * 1e-3
}

/// What a cut leaves balances nearer to the wedges' line than they are allowed to stand.
fn narrow_wedges(good: &Good<'_>, at_move: usize, _: &mut Dice) -> Option<Spoilt> {
    let met = good.met(at_move)?;
    demands_more(good.mill().factors.roll)?;
    contacts(good)?;
    let after = &good.ran.get(at_move + 1)?.before;
    let off = standing(good, after, None).across.abs();
    if met.facts.freed == 0 || off < 8.0 {
        return None;
    }
    let reach = Length::um((off * TOO_NEAR * 1e3) as i64);
    (reach < good.mill().wedges.reach).then(|| on_mill(good, |mill| mill.wedges.reach = reach))
}

/// Wedges so near to the lowest line that the uncut log, which balances its half height over it or more, goes over when it leans
/// by 1 in 7; not one that lies on a face and not on wedges.
fn leans_over(good: &Good<'_>, at_move: usize, _: &mut Dice) -> Option<Spoilt> {
    if good.setup.log.sawn.bottom.is_some() {
        return None;
    }
    let first = (0..good.moves.len()).find(|at| good.met(*at).is_some())?;
    demands_more(good.mill().factors.roll)?;
    let halves = good
        .setup
        .shape
        .wood()
        .iter()
        .map(|section| mm(section.height().length()) / 2.0);
    let reach = Length::um((halves.fold(f64::MAX, f64::min) / 7.0 * TOO_NEAR * 1e3) as i64);
    let narrower = at_move == first && reach < good.mill().wedges.reach;
    narrower.then(|| on_mill(good, |mill| mill.wedges.reach = reach))
}

/// Before the first cut everything above a low height goes, from the entry side so far that the rest tips.
fn one_too_many(good: &Good<'_>, at_move: usize, dice: &mut Dice) -> Option<Spoilt> {
    let first = (0..good.moves.len()).find(|at| good.cut(*at).is_some())?;
    let met = good.met(at_move).filter(|_| at_move == first)?;
    demands_more(good.mill().factors.roll)?;
    let wedges = contacts(good)?;
    let height =
        Position::um((most(wedges, |wedge| wedge.height) * 1e3) as i64) + Length::mm(dice.within(20, 50));
    let tips = |across: &Position| {
        let gone = Block {
            travel: Interval::ALL,
            across: Interval::new(Position::MIN, *across),
            height: Interval::new(height, Position::MAX),
        };
        let rest = standing(good, &met.ran.before, Some(gone));
        rest.across * TOO_NEAR >= mm(good.mill().wedges.reach)
    };
    let corner = (-10..30).map(|step| Position::mm(step * 10)).find(tips)?;
    if corner >= good.setup.shape.bounds().across.hi - Length::mm(60) {
        return None;
    }
    // Where the flat kerf runs through, all that is over it comes off.
    let held = |section: &Section| {
        let chord = section.chord(height);
        chord.is_some_and(|chord| chord.hi > corner + Length::mm(10))
    };
    if !good.setup.shape.wood().iter().any(held) {
        return None;
    }
    let flat = Pose {
        across: corner,
        height,
        angle: Angle::Flat,
        ..met.pose
    };
    let far = met.step.after.travel;
    let there = Pose { travel: far, ..flat };
    let edge = Pose {
        angle: Angle::Upright,
        ..there
    };
    let [out, home] = [far, met.pose.travel].map(|travel| {
        Move::Cut(Cut {
            to: bunkside_protocol::Targets::travel(travel),
            feed: None,
            ..met.told
        })
    });
    let mut put = good.way(&met.pose, &flat);
    put.push(out);
    put.extend(good.way(&there, &edge));
    put.push(home);
    Some(good.with(at_move, 0, &put).into())
}

/// What dogs hold together.
fn dogs(good: &Good<'_>) -> f64 {
    let count = u32::try_from(good.mill().dogs.len()).expect("a few dogs");
    f64::from(good.mill().dog_hold) * f64::from(count)
}

/// A flat cut, and at how many metres a second it is pushed aside with more than grip, slope and dogs that hold so much hold at
/// both bunks together: that is too much at one of them.
fn sliding<'g>(good: &'g Good<'_>, at_move: usize, dogs: f64) -> Option<(Met<'g>, f64)> {
    let (met, push) = of_angle(good, at_move, Angle::Flat)?;
    let (mill, log) = (good.mill(), good.setup.log);
    demands_more(mill.factors.slip)?;
    let slope = most(contacts(good)?, |wedge| wedge.slope);
    let weight = standing(good, &met.ran.before, None).weight;
    let held = (grip(mill, log) + slope) * weight + dogs;
    Some((met, held / (TOO_NEAR * push.aside)))
}

fn feed_slides(good: &Good<'_>, at_move: usize, _: &mut Dice) -> Option<Spoilt> {
    let (met, speed) = sliding(good, at_move, dogs(good))?;
    at_speed(good, at_move, &met, speed)
}

/// Fed until the flat blade slides it but for the dogs, and every hold at which they are closed left out.
fn dogs_left_open(good: &Good<'_>, at_move: usize, _: &mut Dice) -> Option<Spoilt> {
    let (met, speed) = sliding(good, at_move, 0.0)?;
    let was = f64::from(met.told.speed.as_um_per_s()) * 1e-6;
    let mut spoilt = if speed > was {
        at_speed(good, at_move, &met, speed)?
    } else {
        good.moves.clone().into()
    };
    let told = spoilt.moves.len();
    spoilt
        .moves
        .retain(|told| !matches!(told, Move::Hold(hold) if hold.acts.contains(Act::Dog)));
    (spoilt.moves.len() < told).then_some(spoilt)
}

/// In forward feed an upright blade lifts, so that no more than the weight lies on the bunks.
fn ripping<'g>(good: &'g Good<'_>, at: usize) -> Option<(Met<'g>, Push)> {
    of_angle(good, at, Angle::Upright).filter(|(met, _)| met.step.feed == Some(Feed::Forward))
}

fn feed_slides_along(good: &Good<'_>, at_move: usize, _: &mut Dice) -> Option<Spoilt> {
    let (met, push) = ripping(good, at_move)?;
    let mill = good.mill();
    demands_more(mill.factors.slip)?;
    let weight = standing(good, &met.ran.before, None).weight;
    let held = grip(mill, good.setup.log) * weight + dogs(good);
    at_speed(good, at_move, &met, held / (TOO_NEAR * push.along))
}

/// So little grip that this pass slides it along.
fn greased(good: &Good<'_>, at_move: usize, _: &mut Dice) -> Option<Spoilt> {
    let grip = too_slippery(good, at_move)?;
    Some(on_mill(good, |mill| {
        mill.dog_hold = 0;
        mill.factors.grip_barked = grip;
        mill.factors.grip_smooth = grip;
        mill.factors.grip_iced = grip;
    }))
}

/// The same where only ice grips so little, and the log lies on it.
fn iced(good: &Good<'_>, at_move: usize, _: &mut Dice) -> Option<Spoilt> {
    let grip = too_slippery(good, at_move)?;
    Some(Spoilt {
        log: Some(LogRecord {
            surface: Surface::Iced,
            ..good.setup.log.clone()
        }),
        ..on_mill(good, |mill| {
            mill.dog_hold = 0;
            mill.factors.grip_iced = grip;
        })
    })
}

/// With what grip a pass slides what stands along, thousandths.
fn too_slippery(good: &Good<'_>, at_move: usize) -> Option<u16> {
    let flat = of_angle(good, at_move, Angle::Flat);
    let (met, push) = flat.or_else(|| ripping(good, at_move))?;
    demands_more(good.mill().factors.slip)?;
    let speed = f64::from(met.told.speed.as_um_per_s()) * 1e-6;
    let weight = standing(good, &met.ran.before, None).weight;
    let grip = (1e3 * TOO_NEAR * push.along * speed / weight).floor();
    (1.0..f64::from(u16::MAX)).contains(&grip).then_some(grip as u16)
}

fn feed_lifts(good: &Good<'_>, at_move: usize, _: &mut Dice) -> Option<Spoilt> {
    let (met, push) = ripping(good, at_move)?;
    demands_more(good.mill().factors.lift)?;
    let held = standing(good, &met.ran.before, None).weight + dogs(good);
    at_speed(good, at_move, &met, held / (TOO_NEAR * push.aside))
}

/// The wood so light that this pass lifts it, and no dogs that hold it down.
fn lighter(good: &Good<'_>, met: &Met<'_>, push: &Push, moves: Vec<Move>) -> Option<Spoilt> {
    demands_more(good.mill().factors.lift)?;
    let log = good.setup.log;
    let speed = f64::from(met.told.speed.as_um_per_s()) * 1e-6;
    let weight = standing(good, &met.ran.before, None).weight;
    let density = f64::from(log.density) * TOO_NEAR * push.aside * speed / weight;
    let light = (1.0..f64::from(log.density)).contains(&density);
    light.then(|| Spoilt {
        log: Some(LogRecord {
            density: density as u16,
            ..log.clone()
        }),
        moves,
        ..on_mill(good, |mill| mill.dog_hold = 0)
    })
}

fn too_light(good: &Good<'_>, at_move: usize, _: &mut Dice) -> Option<Spoilt> {
    let (met, push) = ripping(good, at_move)?;
    lighter(good, &met, &push, good.moves.clone())
}

/// An upright kerf that climbs presses down; from its other end it lifts.
fn turned_on_light(good: &Good<'_>, at_move: usize, _: &mut Dice) -> Option<Spoilt> {
    let (met, push) = of_angle(good, at_move, Angle::Upright)?;
    (met.step.feed == Some(Feed::Climb)).then_some(())?;
    lighter(good, &met, &push, turned(good, at_move)?.moves)
}
