//! How a weight lies on its bed, and what a push does to it there.

use bunkside_protocol::Angle;

use super::GRAVITY;
use super::bed::{Bed, Contact, Load};
use super::body::Solid;
use super::margins::{Factor, Factors, LEAN};
use crate::replay::Setup;

/// A body's weight: newtons and newton millimetres.
#[derive(Clone, Copy, Debug)]
pub(super) struct Weight {
    pub(super) load: Load,
    /// Weight times place across.
    pub(super) across: f64,
}

impl Weight {
    pub(super) fn of(setup: &Setup<'_>, body: &Solid) -> Self {
        let force = body.mass_kg(setup.log.density) * GRAVITY;
        let [travel, across, _] = body.centroid_mm;
        Self {
            load: Load::at(force, travel - setup.bed.first),
            across: force * across,
        }
    }

    /// The same with a share of another one taken away.
    pub(super) fn less(&self, other: &Self, share: f64) -> Self {
        Self {
            load: self.load.less(&other.load, share),
            across: self.across - other.across * share,
        }
    }
}

/// What a weight does on the bed by itself.
#[derive(Clone, Copy, Debug)]
pub(super) struct Lie {
    /// What keeps it from tipping, and its moment towards the exit side about the middle.
    tip: [f64; 2],
    /// What keeps it from turning, and its moment about the log's centre.
    turn: [f64; 2],
    /// What lies on the first and the last bunk.
    ends: [f64; 2],
    /// What dogs hold there.
    dogs: [f64; 2],
}

impl Lie {
    /// With what dogs hold.
    pub(super) fn of(bed: &Bed, weight: &Weight, dogs: [f64; 2]) -> Self {
        let Weight { load, across } = weight;
        let [centre, _] = &bed.centre;
        let last = load.moment * bed.per_span;
        Self {
            tip: [bed.reach.under(load), across - bed.middle.under(load)],
            turn: [bed.lever.under(load), across - centre.under(load)],
            ends: [load.force - last, last],
            dogs,
        }
    }

    /// Against leaning over, its balance at a height: half its base, from the balance to the line it would go over, against how far
    /// the balance moves as it leans by [`LEAN`].
    pub(super) fn stands(&self, bed: &Bed, load: &Load, height: f64) -> Factor {
        let [reach, moment] = self.tip;
        let over = |contact: &Contact| (load.force * height - contact.height.under(load)) * LEAN;
        let exit = Factor::new(reach - moment, over(&bed.exit));
        exit.lesser(Factor::new(reach + moment, over(&bed.entry)))
    }

    /// With nothing pushing.
    pub(super) fn still(&self, bed: &Bed) -> Factors {
        let [first, last] = self.ends;
        let [first_dogs, last_dogs] = self.dogs;
        [
            self.tip(0.0, [0.0; 2]),
            self.turn(bed, 0.0, 0.0),
            Factor::FREE,
            Factor::new(first + first_dogs, 0.0).lesser(Factor::new(last + last_dogs, 0.0)),
        ]
    }

    /// With a push.
    pub(super) fn pushed(&self, bed: &Bed, levers: &Levers, push: &Push) -> Factors {
        let [sharp, dull] = push.pressed;
        let [hold_tip, hold_turn] = levers.holds;
        let [exit, entry] = levers.tip;
        let tip = |press: f64| self.tip(press * hold_tip, [press * exit, press * entry]);
        let turn = |press: f64| self.turn(bed, press * hold_turn, press * levers.turn);
        let off = levers.takes_off(push);
        let [first, last] = self.ends;
        let [first_off, last_off] = off;
        let [first_dogs, last_dogs] = self.dogs;
        [
            tip(sharp).lesser(tip(dull)),
            turn(sharp).lesser(turn(dull)),
            self.slip(bed, levers, push, off),
            Factor::new(first + first_dogs, first_off).lesser(Factor::new(last + last_dogs, last_off)),
        ]
    }

    /// Against tipping, with so much more to hold it, and so much more moment over the exit and the entry side.
    fn tip(&self, hold: f64, [exit, entry]: [f64; 2]) -> Factor {
        let [reach, moment] = self.tip;
        let (exit, entry) = (moment + exit, -(moment + entry));
        Factor::new(reach + hold, if exit > entry { exit } else { entry })
    }

    /// Against turning, with so much more to hold it, and so much more moment.
    fn turn(&self, bed: &Bed, hold: f64, moment: f64) -> Factor {
        let [lever, turning] = self.turn;
        if bed.turns {
            Factor::new(bed.grip * (lever + hold), libm::fabs(turning + moment))
        } else {
            Factor::FREE
        }
    }

    /// Against sliding, squared: sideways at the worse end, and lengthwise.
    fn slip(&self, bed: &Bed, levers: &Levers, push: &Push, off: [f64; 2]) -> Factor {
        let along = push.hardest_along();
        let sideways = levers.sideways(push);
        let mut held_along = 0.0;
        let mut worst = Factor::FREE;
        let slopes = bed.exit.slope.into_iter().zip(bed.entry.slope);
        let ends = self.ends.into_iter().zip(off).zip(self.dogs).zip(bed.grip_along);
        for ((((weight, off), dogs), grip_along), (side, (exit, entry))) in
            ends.zip(sideways.into_iter().zip(slopes))
        {
            let load = if weight > off { weight - off } else { 0.0 };
            held_along += grip_along * load + dogs;
            if side != 0.0 {
                let slope = if side > 0.0 { exit } else { entry };
                let held = (bed.grip + slope) * load + dogs;
                worst = worst.lesser(Factor::new(held, libm::fabs(side)));
            }
        }
        worst.with(Factor::new(held_along, along))
    }
}

/// The push of a pass at one place, with a sharp blade and with a dull one: newtons.
#[derive(Clone, Copy, Debug)]
pub(super) struct Push {
    /// Towards the deepest rim point: down when upright, to the exit side when flat.
    pub(super) pressed: [f64; 2],
    /// Outbound.
    pub(super) along: [f64; 2],
}

impl Push {
    fn hardest_along(&self) -> f64 {
        let [sharp, dull] = self.along.map(libm::fabs);
        if sharp > dull { sharp } else { dull }
    }
}

/// The levers of a newton that presses at a place of a pass.
#[derive(Clone, Copy, Debug)]
pub(super) struct Levers {
    angle: Angle,
    /// About the middle of the bed: over the exit side, at the height of its contacts, and over the entry side.
    tip: [f64; 2],
    /// About the log's centre.
    turn: f64,
    /// What it adds to what keeps the log from tipping, and from turning.
    holds: [f64; 2],
    /// Its share at the first and the last bunk.
    ends: [f64; 2],
    /// How much load a newton along the rails shifts to the last bunk.
    pitch: f64,
}

impl Levers {
    /// At a place along from the first bunk, across and up; the along part acts at `top`.
    pub(super) fn of(bed: &Bed, angle: Angle, [place, across, height]: [f64; 3], top: f64) -> Self {
        let last = place * bed.per_span;
        let [centre_across, centre_height] = &bed.centre;
        let (tip, turn, holds) = match angle {
            Angle::Flat => (
                [
                    height - bed.exit.height.at(place),
                    height - bed.entry.height.at(place),
                ],
                height - centre_height.at(place),
                [0.0; 2],
            ),
            Angle::Upright => (
                [across - bed.middle.at(place); 2],
                across - centre_across.at(place),
                [bed.reach.at(place), bed.lever.at(place)],
            ),
        };
        Self {
            angle,
            tip,
            turn,
            holds,
            ends: [1.0 - last, last],
            pitch: (top - bed.lowest) * bed.per_span,
        }
    }

    /// The most that a push takes off the first and the last bunk.
    fn takes_off(&self, push: &Push) -> [f64; 2] {
        let [sharp, dull] = push.along.map(|along| along * self.pitch);
        let (low, high) = if sharp < dull {
            (sharp, dull)
        } else {
            (dull, sharp)
        };
        match self.angle {
            Angle::Flat => [high, -low],
            Angle::Upright => {
                let [sharp, dull] = push.pressed;
                let off = |share: f64| {
                    let (sharp, dull) = (sharp * share, dull * share);
                    -(if sharp < dull { sharp } else { dull })
                };
                let [first, last] = self.ends.map(off);
                [first + high, last - low]
            }
        }
    }

    /// The harder sideways push at the first and the last bunk.
    fn sideways(&self, push: &Push) -> [f64; 2] {
        match self.angle {
            Angle::Flat => {
                let [sharp, dull] = push.pressed;
                let hardest = if libm::fabs(sharp) > libm::fabs(dull) {
                    sharp
                } else {
                    dull
                };
                self.ends.map(|share| share * hardest)
            }
            Angle::Upright => [0.0; 2],
        }
    }
}
