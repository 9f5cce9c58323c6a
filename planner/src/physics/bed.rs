//! The lines along the rails on which the log lies.
//!
//! Two bunks carry a stiff log: the outermost ones under it. What lies between and beyond them runs linearly, so a
//! load's moment about a line of the bed is a sum of two products. With a single bunk the log lies on its two edges; with
//! none, on its own ends.
//!
//! The log lies on wedges where [`wedges`](super::wedges) has them stand, and on a face sawn before where that carries it. A
//! face tips over its edges, and does not turn; it has no bark, and grips as smooth wood does.

use bunkside_protocol::mill::DOGS_MAX;
use bunkside_protocol::{Form, Length, LogRecord, MillRecord, Position, Surface};
use heapless::Vec;

use super::dogs::{bites, closed, points};
use super::support;
use super::wedges::{contacts, flat};
use crate::geometry::{Block, Interval, Section, Shape};
use crate::limits::SEAT;
use crate::stock::{Pick, Stock};

/// A force and its moment about the first bunk: newtons, newton millimetres.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Load {
    pub(super) force: f64,
    pub(super) moment: f64,
}

impl Load {
    /// A force that acts at a distance from the first bunk.
    pub(super) fn at(force: f64, place: f64) -> Self {
        Self {
            force,
            moment: force * place,
        }
    }

    /// The same with a share of another one taken away.
    pub(super) fn less(&self, other: &Self, share: f64) -> Self {
        Self {
            force: self.force - other.force * share,
            moment: self.moment - other.moment * share,
        }
    }
}

/// A measure that runs linearly along the bed: what it is at the first bunk, and how it changes a millimetre.
#[derive(Clone, Copy, Debug)]
pub(super) struct Line {
    first: f64,
    change: f64,
}

impl Line {
    fn through([first, last]: [f64; 2], span: f64) -> Self {
        Self {
            first,
            change: (last - first) / span,
        }
    }

    /// The sum of a load's forces, each times the measure where it acts.
    pub(super) fn under(&self, load: &Load) -> f64 {
        let even = self.first * load.force;
        if self.change == 0.0 {
            even
        } else {
            even + self.change * load.moment
        }
    }

    /// What it is at a distance from the first bunk.
    pub(super) fn at(&self, place: f64) -> f64 {
        if self.change == 0.0 {
            self.first
        } else {
            self.first + self.change * place
        }
    }
}

/// One side's contacts with the wedges, or with the bunks where a squared timber lies flat; millimetres.
#[derive(Clone, Copy, Debug)]
pub(super) struct Contact {
    pub(super) height: Line,
    /// Rise of the log's underside there, outward, at the first and the last bunk.
    pub(super) slope: [f64; 2],
}

/// On what the log lies.
#[derive(Clone, Debug)]
pub(crate) struct Bed {
    /// Where the first of the carrying bunks stands, millimetres.
    pub(super) first: f64,
    /// One over the distance to the last one.
    pub(super) per_span: f64,
    /// The middle between both sides' contacts, across.
    pub(super) middle: Line,
    /// Half the distance between them.
    pub(super) reach: Line,
    pub(super) entry: Contact,
    pub(super) exit: Contact,
    /// The section's centre, across and up.
    pub(super) centre: [Line; 2],
    /// How far it lies over the higher of the contacts.
    pub(super) lever: Line,
    /// The lowest of the contacts, above the bed.
    pub(super) lowest: f64,
    /// Whether the log can turn about its centre where it lies.
    pub(super) turns: bool,
    /// How much of the load on it the bed holds by grip.
    pub(super) grip: f64,
    /// The same along the rails at the first and the last bunk: a high pack tips before the log slides on it.
    pub(super) grip_along: [f64; 2],
    /// What each dog fills across once it is closed; nothing where it does not reach the log.
    dogs: Vec<Option<Interval>, DOGS_MAX>,
}

impl Bed {
    /// Of no log.
    pub(crate) const NONE: Self = {
        let line = Line {
            first: 0.0,
            change: 0.0,
        };
        let contact = Contact {
            height: line,
            slope: [0.0; 2],
        };
        Self {
            first: 0.0,
            per_span: 1.0,
            middle: line,
            reach: line,
            entry: contact,
            exit: contact,
            centre: [line; 2],
            lever: line,
            lowest: 0.0,
            turns: false,
            grip: 0.0,
            grip_along: [0.0; 2],
            dogs: Vec::new(),
        }
    };

    pub(crate) fn new(mill: &MillRecord, log: &LogRecord, shape: &Shape) -> Self {
        let places = carrying(mill, shape);
        let [first, last] = places.map(|place| millimetres(place.as_um()));
        let span = libm::fmax(last - first, 1.0);
        let [a, b] = places.map(|place| Rest::at(mill, shape, place));
        let line = |measure: fn(&Rest) -> f64| Line::through([measure(&a), measure(&b)], span);
        let on_face = [&a, &b].map(|rest| rest.on_face);
        let grip = mill.factors.grip(log.surface);
        let grip = if log.sawn.bottom.is_some() {
            grip.min(mill.factors.grip(Surface::Smooth))
        } else {
            grip
        };
        Self {
            first,
            per_span: 1.0 / span,
            middle: line(|rest| (rest.exit.across + rest.entry.across) * 0.5),
            reach: line(|rest| (rest.exit.across - rest.entry.across) * 0.5),
            entry: Contact {
                height: line(|rest| rest.entry.height),
                slope: [a.entry.slope, b.entry.slope],
            },
            exit: Contact {
                height: line(|rest| rest.exit.height),
                slope: [a.exit.slope, b.exit.slope],
            },
            centre: [line(|rest| rest.centre[0]), line(|rest| rest.centre[1])],
            lever: line(|rest| rest.centre[1] - libm::fmax(rest.entry.height, rest.exit.height)),
            lowest: [&a, &b]
                .map(|rest| libm::fmin(rest.entry.height, rest.exit.height))
                .into_iter()
                .fold(f64::INFINITY, libm::fmin),
            turns: log.form == Form::Round && on_face != [true; 2],
            grip: f64::from(grip) * 1e-3,
            grip_along: stand(mill, shape).map(|stands| libm::fmin(f64::from(grip) * 1e-3, stands)),
            dogs: dogs(mill, shape),
        }
    }

    /// What dogs hold that have wood of the body below a height where they close on it, newtons, each in proportion at the
    /// first and the last bunk. Their points go through bark, which holds nothing.
    ///
    /// The height is the underside of a kerf that is about to be cut: what it frees lies above it, so that a dog which bites
    /// below it still holds what stands when the kerf is through.
    pub(super) fn dogs_on(
        &self,
        mill: &MillRecord,
        (shape, stock): (&Shape, &Stock),
        below: Position,
    ) -> [f64; 2] {
        let kept = Interval::new(Position::MIN, below);
        let mut held = [0.0; 2];
        for (dog, across) in mill.dogs.iter().zip(&self.dogs) {
            let Some(across) = *across else { continue };
            let bites = points(Block {
                across,
                ..Block::from_record(dog)
            });
            let bites = Block {
                height: bites.height.meet(kept),
                ..bites
            };
            if stock.touched(shape, bites, Pick::Body, false).is_none() {
                continue;
            }
            let [lo, hi] = [bites.travel.lo, bites.travel.hi].map(|end| millimetres(end.as_um()));
            let last = libm::fmin(
                libm::fmax(((lo + hi) * 0.5 - self.first) * self.per_span, 0.0),
                1.0,
            );
            let [at_first, at_last] = &mut held;
            *at_first += f64::from(mill.dog_hold) * (1.0 - last);
            *at_last += f64::from(mill.dog_hold) * last;
        }
        held
    }

    /// Whether closed dogs hold anything: none does that meets only bark.
    pub(crate) fn has_dogs(&self) -> bool {
        self.dogs.iter().any(Option::is_some)
    }
}

fn dogs(mill: &MillRecord, shape: &Shape) -> Vec<Option<Interval>, DOGS_MAX> {
    let mut dogs = Vec::new();
    for dog in &mill.dogs {
        // There is room for as many as a profile has.
        let filled = closed(dog, shape).filter(|filled| mill.dog_hold > 0 && bites(*filled, shape));
        let _full = dogs.push(filled.map(|filled| filled.across));
    }
    dogs
}

/// How much of its load the pack on the first and on the last carrying bunk bears along the rails before it tips over the edge
/// of its bunk; infinite where nothing is packed.
fn stand(mill: &MillRecord, shape: &Shape) -> [f64; 2] {
    let mut bunks = support::carrying(mill, shape);
    let first = bunks.next();
    [first, bunks.next_back().or(first)].map(|bunk| {
        let packed = bunk.and_then(|bunk| Some((bunk.half_size, support::packing(bunk, shape)?)));
        match packed {
            Some((half, high)) if high > SEAT => millimetres(half.as_um()) / millimetres(high.as_um()),
            _ => f64::INFINITY,
        }
    })
}

/// Where the outermost carrying bunks stand.
fn carrying(mill: &MillRecord, shape: &Shape) -> [Position; 2] {
    let log = shape.travel();
    let mut under = mill.bunks.iter().filter(|bunk| log.contains(bunk.travel));
    match (under.next(), under.next_back()) {
        (None, _) => [log.lo, log.hi],
        (Some(only), None) => [only.travel - only.half_size, only.travel + only.half_size],
        (Some(first), Some(last)) => [first.travel, last.travel],
    }
}

/// A point where the log lies on a wedge.
struct Point {
    across: f64,
    height: f64,
    slope: f64,
}

/// How the log lies at one bunk.
struct Rest {
    /// Whether on a face that was sawn before, without wedges.
    on_face: bool,
    entry: Point,
    exit: Point,
    centre: [f64; 2],
}

impl Rest {
    fn at(mill: &MillRecord, shape: &Shape, place: Position) -> Self {
        // A shape has two sections at least; without any nothing would be held.
        let Some(section) = shape.rough_at(place) else {
            let nowhere = || Point {
                across: 0.0,
                height: 0.0,
                slope: 0.0,
            };
            return Self {
                on_face: false,
                entry: nowhere(),
                exit: nowhere(),
                centre: [0.0; 2],
            };
        };
        let lowest = section.height().lo;
        let face = flat(mill, shape, place);
        let squared = (section.form() == Form::Square).then(|| section.underside());
        let [entry, exit] = match face.or(squared) {
            Some(under) => [under.lo, under.hi].map(|across| Point {
                across: millimetres(across.as_um()),
                height: millimetres(lowest.as_um()),
                slope: 0.0,
            }),
            None => on_wedges(mill, &section),
        };
        Self {
            on_face: face.is_some(),
            entry,
            exit,
            centre: [section.centre_across(), section.centre_height()]
                .map(|place| millimetres(place.as_um())),
        }
    }
}

fn on_wedges(mill: &MillRecord, section: &Section) -> [Point; 2] {
    let lowest = section.height().lo;
    let Interval { lo: entry, hi: exit } = contacts(mill, section);
    [(entry, -1.0), (exit, 1.0)].map(|(across, outward)| {
        let height = section.standing_chord(across).map_or(lowest, |chord| chord.lo);
        let on_face = section.underside().length() > Length::ZERO && height <= lowest;
        let slope = libm::fmax(outward * rise(section, across), 0.0);
        Point {
            across: millimetres(across.as_um()),
            height: millimetres(height.as_um()),
            slope: if on_face { 0.0 } else { slope },
        }
    })
}

/// How the underside rises towards the exit side at a place across.
fn rise(section: &Section, across: Position) -> f64 {
    let (half_width, half_height, skew) = section.half_diameters();
    let [width, height, skew] = [half_width, half_height, skew].map(|half| millimetres(half.as_um()));
    let reach = libm::sqrt(width * width + skew * skew);
    let along = millimetres((across - section.centre_across()).as_um()) / reach;
    // Steeper than a wedge ever stands is not counted.
    let chord = libm::sqrt(libm::fmax(1.0 - along * along, 0.01));
    height * (skew + width * along / chord) / (reach * reach)
}

fn millimetres(um: i32) -> f64 {
    f64::from(um) * 1e-3
}
