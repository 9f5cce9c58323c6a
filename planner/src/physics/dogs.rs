//! Where the dogs stand once they are closed on a log.
//!
//! A profile tells a dog as a box on the bed. To close it, it is shifted across the bed until it meets the log at its own
//! height, by no more than [`DOG_REACH`]; what it fills then reaches from its box to the log. One that would have to go further,
//! or that stands beside no wood, is left where it is and holds nothing.

use bunkside_protocol::Length;
use bunkside_protocol::mill::Box3;

use crate::geometry::{Block, Interval, Shape};
use crate::limits::{DOG_BITE, DOG_POINTS, DOG_REACH};

/// What a dog fills once it is closed on the log, from its box to the bark; none where it does not reach it.
#[must_use]
pub fn closed(dog: &Box3, shape: &Shape) -> Option<Block> {
    let dog = Block::from_record(dog);
    let middle = dog.travel.lo + dog.travel.length().half_floor();
    if !shape.travel().contains(middle) {
        return None;
    }
    let log = shape.rough_at(middle)?.across_in(Interval::ALL, dog.height)?;
    let (lo, hi) = (dog.across.lo.min(log.hi), dog.across.hi.max(log.lo));
    let further = (dog.across.lo - lo).max(hi - dog.across.hi);
    (further.max(Length::ZERO) <= DOG_REACH).then_some(Block {
        across: Interval::new(lo, hi),
        ..dog
    })
}

/// How far a dog is pushed across to close on the log; none where it does not reach it.
#[must_use]
pub fn pushed(dog: &Box3, shape: &Shape) -> Option<Length> {
    let open = Block::from_record(dog).across.length();
    Some(closed(dog, shape)?.across.length() - open)
}

/// What a dog fills on the bed: closed on the log, or where it stands if it does not reach it.
#[must_use]
pub fn filled(dog: &Box3, shape: &Shape) -> Block {
    closed(dog, shape).unwrap_or(Block::from_record(dog))
}

/// Where there has to be wood for a closed dog to hold: its points go through bark, which holds nothing.
#[must_use]
pub fn points(closed: Block) -> Block {
    Block {
        across: closed.across.grown(DOG_POINTS),
        ..closed.grown(DOG_BITE)
    }
}

/// Whether a closed dog has wood of the uncut log to hold, and not bark alone.
#[must_use]
pub fn bites(closed: Block, shape: &Shape) -> bool {
    let points = points(closed);
    shape.any_within(points.travel, false, |section| {
        section.across_in(points.across, points.height).is_some()
    })
}

/// Whether a part of blade or head meets what a dog fills on the bed. Where it closes is only looked at near its box.
#[must_use]
pub fn meets(dog: &Box3, shape: &Shape, part: Block) -> bool {
    let open = Block::from_record(dog);
    part.travel.overlaps(open.travel)
        && part.height.overlaps(open.height)
        && part.overlaps(filled(dog, shape))
}

#[cfg(test)]
mod tests {
    use bunkside_protocol::{Length, Position};

    use super::*;
    use crate::replay::Setup;
    use crate::testing::{block, powered_mill, round_log};

    /// Across and further of what a dog fills that is so high, on a log of 300 mm in 5 mm of bark from 600 mm to 4 200 mm.
    fn stretch(travel: [i32; 2], across: [i32; 2], high: i32) -> Option<[i32; 2]> {
        let (mill, mut log) = (powered_mill(), round_log(300, 3_600));
        log.bark = Length::mm(5);
        for station in &mut log.stations {
            station.centre_height = Position::mm(155);
        }
        let setup = Setup::new(&mill, &log).unwrap();
        let dog = block([travel[0], across[0], 0], [travel[1], across[1], high]);
        let closed = closed(&dog, &setup.shape)?;
        Some([closed.across.lo, closed.across.hi].map(|place| place.as_um()))
    }

    /// 20 mm above the bed the bark of 155 mm lies √(155² − 135²) = 76.158 mm out.
    #[test]
    fn a_dog_is_shifted_up_to_the_bark_at_its_own_height_on_either_side() {
        assert_eq!(stretch([690, 710], [130, 180], 20), Some([76_158, 180_000]));
        assert_eq!(stretch([690, 710], [-180, -130], 20), Some([-180_000, -76_158]));
        // It stands at the log already, or in it.
        assert_eq!(stretch([690, 710], [70, 180], 20), Some([70_000, 180_000]));
    }

    /// From 150 mm to the bark 76.158 mm out are 73.842 mm.
    #[test]
    fn tells_how_far_a_dog_is_pushed() {
        let (mill, mut log) = (powered_mill(), round_log(300, 3_600));
        log.bark = Length::mm(5);
        for station in &mut log.stations {
            station.centre_height = Position::mm(155);
        }
        let setup = Setup::new(&mill, &log).unwrap();
        let from = |across: i32| pushed(&block([690, across, 0], [710, 180, 20]), &setup.shape);
        assert_eq!(from(150), Some(Length::um(73_842)));
        assert_eq!(from(70), Some(Length::ZERO));
        assert_eq!(from(177), None);
    }

    /// 100 mm from the bark are within its reach, 101 mm are not; past the log's end it has none, nor as low as 2 mm high
    /// where the bark lies 24.8 mm out.
    #[test]
    fn one_that_is_too_far_away_stays_where_it_is() {
        assert!(stretch([690, 710], [176, 220], 20).is_some());
        assert_eq!(stretch([690, 710], [177, 220], 20), None);
        assert_eq!(stretch([690, 710], [130, 180], 2), None);
        assert_eq!(stretch([560, 600], [70, 180], 20), None);
        assert_eq!(stretch([4_210, 4_250], [70, 180], 20), None);
    }
}
