//! How a kerf comes about along its stroke: how deep it bites at a few places, and how much of its wood has gone on the way
//! there.
//!
//! What of a kerf has gone is told by the areas it cuts at those places, and at every sample between them where the log
//! bends; in between they run linearly. Where a kerf grazes the wood, as it does along the back of a log
//! that bends, its area is taken exactly. In all it is what the log's slices told.

use bunkside_protocol::{Angle, Length, Position, Stroke};
use heapless::Vec;

use super::area::moments;
use super::body::Solid;
use super::slices::Slices;
use crate::geometry::{Block, Interval, Section, Shape};
use crate::stock::{Owner, Stock};

/// At how many places along its stroke a pass is looked at.
pub(super) const PLACES: usize = 5;

/// One place along a stroke.
#[derive(Clone, Copy, Debug)]
pub struct Going {
    /// Where along the rails.
    pub travel: Position,
    /// How deep the kerf bites there, as deep as the shape may hide between its samples.
    pub bite: Length,
    /// The share of the kerf's wood that has gone on the way there.
    pub share: f64,
    /// Where that balances along the rails, millimetres.
    pub middle: f64,
}

impl Going {
    /// What stands when the blade has come so far: a body without the part of a kerf's wood that has gone.
    #[must_use]
    pub fn standing(&self, body: &Solid, kerf: &Solid) -> Solid {
        let gone = self.share * kerf.volume_mm3;
        let left = body.volume_mm3 - gone;
        if left <= 0.0 {
            return Solid::default();
        }
        let [_, across, height] = kerf.centroid_mm;
        let less = |all: f64, part: f64| (body.volume_mm3 * all - gone * part) / left;
        let [x, y, z] = body.centroid_mm;
        Solid {
            volume_mm3: left,
            centroid_mm: [less(x, self.middle), less(y, across), less(z, height)],
        }
    }
}

/// Where a stroke bites, by its run: both ends of the stretch over which it meets wood, and samples spread between, but none
/// between two that bite alike.
#[must_use]
pub fn going(
    (shape, slices): (&Shape, &Slices),
    stock: &Stock,
    angle: Angle,
    kerf: Block,
    engaged: Interval,
    stroke: Stroke,
    whole: &Solid,
) -> Vec<Going, PLACES> {
    let mut found: Vec<Going, PLACES> = Vec::new();
    let (start, quarters) = match stroke {
        Stroke::Outbound => (engaged.lo, [0, 1, 2, 3, 4]),
        Stroke::Homebound => (engaged.hi, [4, 3, 2, 1, 0]),
    };
    let mut so_far = SoFar::default();
    let mut last = start;
    for quarter in quarters {
        let Some(section) = section(shape, engaged, quarter) else {
            continue;
        };
        if !slices.straight() {
            on_the_way(shape.wood(), [last, section.travel], &mut |sample| {
                let (_, area) = bite(stock, angle, kerf, sample);
                so_far.go_on(millimetres(sample.travel - start), area);
            });
            last = section.travel;
        }
        let (bite, area) = bite(stock, angle, kerf, &section);
        so_far.go_on(millimetres(section.travel - start), area);
        if bite <= Length::ZERO {
            continue;
        }
        let place = Going {
            travel: section.travel,
            bite: bite + shape.between(),
            share: so_far.volume,
            middle: so_far.moment,
        };
        if let [.., before, last] = found.as_mut_slice()
            && before.bite == place.bite
            && last.bite == place.bite
        {
            *last = place;
        } else {
            // There are no more quarters than places.
            let _ = found.push(place);
        }
    }
    let start = millimetres(start - Position::ZERO);
    found
        .iter_mut()
        .for_each(|place| so_far.settle(place, start, whole));
    found
}

/// Hands on the samples between two places, from the one to the other.
fn on_the_way(samples: &[Section], [from, to]: [Position; 2], hand_on: &mut dyn FnMut(&Section)) {
    let between = Interval::between(from, to);
    let inside = |section: &&Section| between.lo < section.travel && section.travel < between.hi;
    if from < to {
        samples.iter().filter(inside).for_each(hand_on);
    } else {
        samples.iter().rev().filter(inside).for_each(hand_on);
    }
}

/// What has gone since a stroke began, by the areas cut at its places: twice its volume, and its moment about where the
/// stroke began. Against the stroke's run both are negative.
#[derive(Default)]
struct SoFar {
    run: f64,
    area: f64,
    volume: f64,
    moment: f64,
}

impl SoFar {
    /// Up to another place; in between the area runs linearly.
    fn go_on(&mut self, run: f64, area: f64) {
        let (step, both) = (run - self.run, self.area + area);
        self.volume += step * both;
        self.moment += step * (self.run * both + step * (both + area) * (1.0 / 3.0));
        (self.run, self.area) = (run, area);
    }

    /// Turns what had gone at a place into a share of all that goes, and the place where that balances. What the areas say
    /// of the whole kerf, the slices know better.
    fn settle(&self, place: &mut Going, start: f64, whole: &Solid) {
        if place.share == 0.0 {
            (place.share, place.middle) = (0.0, start);
            return;
        }
        let [balance, ..] = whole.centroid_mm;
        let share = place.share / self.volume;
        let off = balance - start - self.moment / self.volume;
        place.middle = start + place.middle / place.share + off * share;
        place.share = share;
    }
}

/// The section at so many quarters of a stretch. Between the ends a sample does that lies nearby: it need not be worked
/// out.
fn section(shape: &Shape, engaged: Interval, quarter: i64) -> Option<Section> {
    let place = Position::um(engaged.lo.wide() + engaged.length().wide() * quarter / 4);
    let off = |section: &Section| (section.travel - place).abs().wide();
    let near = match quarter {
        0 | 4 => 0,
        _ => shape.travel().length().wide() / 32,
    };
    match shape.wood().iter().min_by_key(|section| off(section)) {
        Some(sample) if off(sample) <= near && engaged.contains(sample.travel) => Some(*sample),
        _ => shape.wood_at(place),
    }
}

/// The end of a stretch that lies further from a place.
fn further(stretch: Interval, place: Position) -> Position {
    if stretch.hi - place > place - stretch.lo {
        stretch.hi
    } else {
        stretch.lo
    }
}

/// How deep a kerf bites into the body at a section, and what it cuts there: square millimetres.
fn bite(stock: &Stock, angle: Angle, kerf: Block, section: &Section) -> (Length, f64) {
    let (mut bite, mut area) = (Length::ZERO, 0.0);
    for (cell, band) in stock.cells().filter(|(cell, _)| cell.owner == Owner::Body) {
        let across = cell.across.meet(kerf.across);
        let height = band.meet(kerf.height);
        if across.is_empty() || height.is_empty() || !cell.travel.contains(section.travel) {
            continue;
        }
        let found = match angle {
            Angle::Flat => section
                .across_in(across, height)
                .map(|held| (kerf.across.hi - held.lo, held.length(), height.length())),
            Angle::Upright => section
                .height_in(across, height)
                .map(|held| (held.hi - kerf.height.lo, held.length(), across.length())),
        };
        if let Some((depth, held, thick)) = found {
            bite = bite.max(depth);
            // Where a face of the kerf runs out of the wood, what it cuts is thinner than the kerf.
            let (chord, side) = match angle {
                Angle::Flat => (section.chord(further(height, section.centre_height())), across),
                Angle::Upright => (
                    section.standing_chord(further(across, section.centre_across())),
                    height,
                ),
            };
            let thinner = chord.map_or(Length::ZERO, |chord| chord.meet(side).length());
            let thinner = thinner.max(Length::ZERO);
            area += if thinner < held.half_floor() {
                // It grazes the wood.
                moments(section, across, height).area
            } else {
                (millimetres(held) + millimetres(thinner)) * 0.5 * millimetres(thick)
            };
        }
    }
    (bite, area)
}

fn millimetres(length: Length) -> f64 {
    f64::from(length.as_um()) * 1e-3
}
