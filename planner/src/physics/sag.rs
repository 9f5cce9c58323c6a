//! How far what remains of the log sags between its bunks and at its free ends.
//!
//! A stretch between two bunks counts as a beam that lies on both, a free end as one that leans on its last two bunks; what
//! neighbouring stretches take back is not counted. Each is taken to be all along as where the log is weakest (where it is
//! thicker it is heavier, but stiffer by more), and to bear the force of the pass where that bends it most; where kerfs end
//! within it, to be as slender as at its weakest place and as heavy as at its heaviest. Wood over a kerf that is held
//! further along weighs and does not stiffen. Bark weighs nothing and stiffens nothing.
//!
//! ```text
//! between two bunks, L apart:           5 w L⁴/384 EI + P L³/48 EI
//! free end a, beyond a stretch of L:    w a³ (3 a + 4 L)/24 EI + P a² (a + L)/3 EI
//! ```
//!
//! Mostly the lower part of the log, which no kerf has reached, would carry all of it: down to a height that is found once
//! for a job. Only below that the section of what really remains is looked at.

use bunkside_protocol::{Angle, Feed, Form, Length, LogRecord, MillRecord, Position, Speed};

use super::GRAVITY;
use super::force::{Demand, demand, pass_force, with_shock};
use super::second::Second;
use super::support::carrying;
use crate::geometry::{Interval, Section, Shape};
use crate::replay::Setup;
use crate::stock::Stock;

/// What the weight of a beam and a force do to it: newtons a millimetre, newtons, newton square millimetres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Burden {
    /// Its own weight.
    pub weight: f64,
    /// The force of a pass, straight down.
    pub press: f64,
    /// Modulus of elasticity times second moment.
    pub stiffness: f64,
}

/// How far a beam of a length, millimetres, that lies on both its ends sags in its middle, the force there.
#[must_use]
pub fn between(length: f64, burden: &Burden) -> f64 {
    let cube = length * length * length;
    let bends = cube * (burden.weight * length * (5.0 / 384.0) + burden.press * (1.0 / 48.0));
    give(bends, burden.stiffness)
}

/// How far the tip of a free end sags, the force there, beyond a stretch between two bunks; both in millimetres. Without
/// such a stretch the end is held as in a wall.
#[must_use]
pub fn beyond(free: f64, stretch: f64, burden: &Burden) -> f64 {
    let square = free * free;
    let weight = burden.weight * free * (3.0 * free + 4.0 * stretch) * (1.0 / 24.0);
    let bends = square * (weight + burden.press * (free + stretch) * (1.0 / 3.0));
    give(bends, burden.stiffness)
}

fn give(bends: f64, stiffness: f64) -> f64 {
    if bends <= 0.0 {
        0.0
    } else if stiffness <= 0.0 {
        f64::INFINITY
    } else {
        bends / stiffness
    }
}

/// A stretch of the log that bends.
struct Beam {
    travel: Interval,
    /// Its length, and for a free end that of the stretch it leans on.
    length: f64,
    leans_on: Option<f64>,
    /// Where it is likely to be weakest.
    places: [Option<Section>; 3],
    /// The weakest of them where little is left on the bunks.
    weakest: Section,
    /// The area of the whole log where it is thickest.
    whole: f64,
}

impl Beam {
    /// A stretch between two bunks, or from a bunk to an end; none where there is no log.
    fn new(shape: &Shape, [from, to]: [Position; 2], leans_on: Option<f64>) -> Option<Self> {
        let travel = Interval::between(from, to);
        if travel.is_empty() {
            return None;
        }
        let middle = travel.lo + travel.length().half_floor();
        let [at_from, in_middle, at_to] = [from, middle, to].map(|place| shape.wood_at(place));
        let whole = [&at_from, &in_middle, &at_to]
            .into_iter()
            .flatten()
            .fold(0.0, |whole, section| libm::fmax(whole, area(section)));
        let places = [at_from, in_middle, if leans_on.is_some() { None } else { at_to }];
        let height = shape.bounds().height;
        let low = height.lo + Length::um(height.length().wide() / 8);
        let mut weakest: Option<(f64, Section)> = None;
        for section in places.iter().flatten() {
            let strength = strength(section, low);
            if weakest.is_none_or(|(least, _)| strength < least) {
                weakest = Some((strength, *section));
            }
        }
        let (_, weakest) = weakest?;
        Some(Self {
            travel,
            length: apart(travel.lo, travel.hi),
            leans_on,
            places,
            weakest,
            whole,
        })
    }

    fn sag(&self, burden: &Burden) -> f64 {
        match self.leans_on {
            None => between(self.length, burden),
            Some(stretch) => beyond(self.length, stretch, burden),
        }
    }
}

/// The greatest of what is told of all that bends of a log on its bunks.
fn worst(mill: &MillRecord, shape: &Shape, tell: &mut dyn FnMut(&Beam) -> f64) -> f64 {
    let mut worst = 0.0;
    let mut look = |ends, leans_on| {
        if let Some(beam) = Beam::new(shape, ends, leans_on) {
            worst = libm::fmax(worst, tell(&beam));
        }
    };
    let ends = shape.travel();
    let bunks = carrying(mill, shape).map(|bunk| bunk.travel);
    let mut last: Option<Position> = None;
    let mut stretch = 0.0;
    for place in bunks.clone() {
        match last {
            None => {
                let next = bunks.clone().nth(1).map_or(0.0, |next| apart(place, next));
                look([place, ends.lo], Some(next));
            }
            Some(last) => {
                stretch = apart(last, place);
                look([last, place], None);
            }
        }
        last = Some(place);
    }
    if let Some(last) = last {
        look([last, ends.hi], Some(stretch));
    }
    worst
}

/// How many times the height of the log is halved to find down to where it is sound.
const HALVINGS: u8 = 5;

/// Down to where the lower part of the log alone carries all of it, and the force of every pass that the engine can drive;
/// none where not even the whole log does.
pub(crate) fn sound_down_to(mill: &MillRecord, log: &LogRecord, shape: &Shape) -> Option<Position> {
    let limit = most_sag(mill);
    let press = with_shock(strongest(mill), mill);
    let height = shape.bounds().height;
    let mut sound = Some(height.lo);
    worst(mill, shape, &mut |beam| {
        let carries = |level: Position| {
            let lower = Interval::new(Position::MIN, level);
            let left = Second::of(&beam.weakest, Interval::ALL, lower);
            beam.sag(&burden(log, beam.whole, press, left.central().against_weight())) <= limit
        };
        // Down to where another one needs it, this one is sound as well.
        if sound.is_some_and(carries) {
            return 0.0;
        }
        let Interval { mut lo, mut hi } = height;
        sound = sound.filter(|_| carries(hi));
        for _ in 0..HALVINGS {
            let middle = lo + (hi - lo).half_floor();
            if carries(middle) {
                hi = middle;
            } else {
                lo = middle;
            }
        }
        sound = sound.map(|sound| sound.max(hi));
        0.0
    });
    sound
}

/// How far what stands of the log sags, millimetres: the worst stretch of it, under its own weight, that of the free pieces
/// on it, and a force straight down. Infinite where nothing stiffens it.
#[must_use]
pub fn sag(setup: &Setup<'_>, stock: &Stock, press: f64) -> f64 {
    worst(setup.mill, &setup.shape, &mut |beam| {
        beam_sag(setup, beam, stock, press)
    })
}

/// The greatest sag that the profile allows, millimetres.
pub(crate) fn most_sag(mill: &MillRecord) -> f64 {
    millimetres(mill.support.sag)
}

/// How far the log sags while a cut is made, where that is too far; millimetres.
pub(crate) fn sags_too_far(
    setup: &Setup<'_>,
    stock: &Stock,
    angle: Angle,
    feed: Feed,
    (bite, speed): (Length, Speed),
) -> Option<f64> {
    let (mill, log) = (setup.mill, setup.log);
    let driven = demand(mill, log, bite, speed).power <= Demand::most(mill).power;
    let sound = setup.sound;
    if driven && sound.is_some_and(|sound| stock.intact_up_to() >= sound) {
        return None;
    }
    // Only upright, climbing, does a pass press down.
    let press = match (angle, feed) {
        (Angle::Upright, Feed::Climb) => with_shock(pass_force(mill, log, bite, speed, feed).across, mill),
        (Angle::Upright | Angle::Flat, _) => 0.0,
    };
    let sag = sag(setup, stock, libm::fmax(press, 0.0));
    (sag > most_sag(mill)).then_some(sag)
}

/// How far a stretch of what remains sags. Where kerfs end within it, it is looked at on both sides of each end as well: it is
/// as slender as at the weakest of them, and as heavy as at the heaviest.
fn beam_sag(setup: &Setup<'_>, beam: &Beam, stock: &Stock, press: f64) -> f64 {
    let held = beam.travel.meet(setup.shape.travel());
    let sag = |found: Standing| beam.sag(&burden(setup.log, found.area, press, found.second));
    let end = |beyond| stock.next_end(beyond).filter(|end| *end < held.hi);
    let Some(mut here) = end(held.lo) else {
        return standing(stock, &beam.weakest).map_or(0.0, sag);
    };
    let mut worst: Option<Standing> = None;
    let mut look = |section: &Section| {
        if let Some(found) = standing(stock, section) {
            worst = Some(worst.map_or(found, |worst| worst.worse(&found)));
        }
    };
    beam.places.iter().flatten().for_each(&mut look);
    loop {
        for place in [here - Length::um(1), here] {
            setup.shape.wood_at(place).iter().for_each(&mut look);
        }
        match end(here) {
            Some(next) => here = next,
            None => break,
        }
    }
    worst.map_or(0.0, sag)
}

/// What bends at one place: all wood that weighs, square millimetres, and the second moment of what carries it.
#[derive(Clone, Copy)]
struct Standing {
    area: f64,
    second: f64,
}

impl Standing {
    /// As heavy as the heavier, as slender as the more slender.
    fn worse(&self, other: &Self) -> Self {
        Self {
            area: libm::fmax(self.area, other.area),
            second: libm::fmin(self.second, other.second),
        }
    }
}

/// What stands at a section; none where the wood ends. Wood that hangs on elsewhere, but lies here on a kerf, weighs and does not
/// carry.
fn standing(stock: &Stock, section: &Section) -> Option<Standing> {
    let (mut body, mut dead) = (Second::default(), 0.0);
    stock.carried_at(section.travel, &mut |cell, height, carries| {
        let part = Second::of(section, cell.across, height);
        if carries {
            body.add(&part);
        } else {
            dead += part.area;
        }
    });
    // Less than a square millimetre is no beam.
    (body.area >= 1.0).then(|| Standing {
        area: body.area + dead,
        second: body.central().against_weight(),
    })
}

/// The burden of a beam of so much wood a millimetre, square millimetres, with a second moment.
fn burden(log: &LogRecord, area: f64, press: f64, second: f64) -> Burden {
    Burden {
        weight: area * f64::from(log.density) * 1e-9 * GRAVITY,
        press,
        stiffness: second * f64::from(log.stiffness),
    }
}

/// The greatest force of any pass that the engine drives, newtons: no part of it is more than all of it along the rim.
fn strongest(mill: &MillRecord) -> f64 {
    let rim_speed = f64::from(mill.blade.rim_speed.as_um_per_s()) * 1e-6;
    if rim_speed > 0.0 {
        Demand::most(mill).power / rim_speed
    } else {
        f64::INFINITY
    }
}

/// What tells the weaker of two sections below a height: as the square of a flat segment's second moment, with the seventh
/// power of how thick it is and the radius of its underside.
///
/// With faces it is the second moment itself: a segment's falls and grows alike.
fn strength(section: &Section, height: Position) -> f64 {
    if section.is_sawn() {
        let lower = Interval::new(Position::MIN, height);
        return Second::of(section, Interval::ALL, lower).central().height_squared;
    }
    let (half_width, half_height, _) = section.half_diameters();
    let thick = libm::fmax(millimetres(height - section.height().lo), 0.0);
    let (width, radius) = match section.form() {
        Form::Square => (millimetres(half_width), thick),
        Form::Round => (millimetres(half_width), millimetres(half_height)),
    };
    let cube = thick * thick * thick;
    cube * cube * thick * width * width / libm::fmax(radius, 1e-3)
}

/// The whole area of a section, square millimetres.
fn area(section: &Section) -> f64 {
    if section.is_sawn() {
        return Second::of(section, Interval::ALL, Interval::ALL).area;
    }
    let (half_width, half_height, _) = section.half_diameters();
    let product = millimetres(half_width) * millimetres(half_height);
    match section.form() {
        Form::Square => 4.0 * product,
        Form::Round => core::f64::consts::PI * product,
    }
}

fn apart(one: Position, other: Position) -> f64 {
    millimetres((other - one).abs())
}

fn millimetres(length: Length) -> f64 {
    f64::from(length.as_um()) * 1e-3
}
