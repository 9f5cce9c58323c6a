//! What of the wood at one place along the rails hangs together there with what lies on the bunks.

use bunkside_protocol::Position;

use super::{Cell, Owner, Stock};
use crate::geometry::Interval;
use crate::limits::CELLS_MAX;

impl Stock {
    /// Tells of all wood at a place: its cell, its height, and whether it is the body's and hangs together, at this place, with
    /// the lowest of it. What does not lies on a kerf here, and is held further along if at all.
    pub(crate) fn carried_at(&self, travel: Position, tell: &mut dyn FnMut(&Cell, Interval, bool)) {
        let mut carried = [false; CELLS_MAX];
        while self.carry_more(travel, &mut carried) {}
        for ((cell, height), carried) in self.cells().zip(carried) {
            if stands_at(cell, travel) {
                tell(cell, height, carried);
            }
        }
    }

    /// Goes through the cells once from below; answers whether to go on.
    fn carry_more(&self, travel: Position, carried: &mut [bool; CELLS_MAX]) -> bool {
        let (mut lowest, mut found, mut left) = (None, false, false);
        for (index, cell) in self.cells.iter().enumerate() {
            let known = carried.get(index).copied().unwrap_or(true);
            if cell.owner != Owner::Body || !stands_at(cell, travel) {
                continue;
            }
            // Cells are sorted by their bands.
            let lowest = *lowest.get_or_insert(cell.band);
            if known {
                continue;
            }
            if cell.band == lowest || self.hangs_on(cell, travel, carried) {
                found = true;
                if let Some(slot) = carried.get_mut(index) {
                    *slot = true;
                }
            } else {
                left = true;
            }
        }
        found && left
    }

    /// Whether a cell has wood that is carried under, over or beside it.
    fn hangs_on(&self, cell: &Cell, travel: Position, carried: &[bool; CELLS_MAX]) -> bool {
        let from = self
            .cells
            .partition_point(|other| other.band.saturating_add(1) < cell.band);
        let near = self.cells.iter().zip(carried).skip(from);
        near.take_while(|(other, _)| other.band <= cell.band.saturating_add(1))
            .filter(|(other, carried)| **carried && stands_at(other, travel))
            .any(|(other, _)| {
                if other.band == cell.band {
                    other.across.hi == cell.across.lo || cell.across.hi == other.across.lo
                } else {
                    other.across.overlaps(cell.across)
                }
            })
    }

    /// The next place beyond one at which wood of the body ends or begins by a kerf.
    pub(crate) fn next_end(&self, beyond: Position) -> Option<Position> {
        let body = self.cells.iter().filter(|cell| cell.owner == Owner::Body);
        let ends = body.flat_map(|cell| [cell.travel.lo, cell.travel.hi]);
        ends.filter(|end| *end > beyond).min()
    }
}

/// Where two cells meet the further one stands.
fn stands_at(cell: &Cell, travel: Position) -> bool {
    cell.travel.lo <= travel && travel < cell.travel.hi
}

#[cfg(test)]
mod tests {
    use bunkside_protocol::Length;

    use super::*;
    use crate::geometry::{Block, Shape};
    use crate::testing::timber;

    /// How much of a timber of 200 by 200 mm, 3 m long, is carried at its middle and what is not: square millimetres.
    fn carried(kerfs: &[Block]) -> [i64; 2] {
        let shape = Shape::new(&timber(200, 200, 3_000)).unwrap();
        let mut stock = Stock::new(&shape, []);
        for kerf in kerfs {
            stock.carve(&shape, *kerf).unwrap();
        }
        let bounds = shape.bounds();
        let mut areas = [0, 0];
        let middle = bounds.travel.lo + bounds.travel.length().half_floor();
        stock.carried_at(middle, &mut |cell, height, carried| {
            let sides = [cell.across.meet(bounds.across), height.meet(bounds.height)];
            let [wide, high] = sides.map(|side| i64::from(side.length().as_um() / 1_000));
            areas[usize::from(!carried)] += wide * high;
        });
        areas
    }

    /// A flat kerf 10 mm thick, 100 mm under the top.
    fn flat(travel: Interval, across: Interval) -> Block {
        let shape = Shape::new(&timber(200, 200, 3_000)).unwrap();
        let top = shape.bounds().height.hi;
        let [low, high] = [100, 90].map(|below| top - Length::mm(below));
        Block {
            travel,
            across,
            height: Interval::new(low, high),
        }
    }

    fn from_entry(to: i32) -> Interval {
        Interval::new(Position::MIN, Position::mm(to))
    }

    #[test]
    fn wood_over_a_kerf_is_carried_where_it_hangs_on() {
        let shape = Shape::new(&timber(200, 200, 3_000)).unwrap();
        let log = shape.bounds().travel;
        assert_eq!(carried(&[]), [200 * 200, 0]);
        // Half the width: the rest is held on the exit side.
        let half = flat(Interval::ALL, from_entry(0));
        assert_eq!(carried(&[half]), [200 * 200 - 100 * 10, 0]);
        // All of it, up to just beyond the middle: it hangs on further along, and lies on the kerf here.
        let middle = log.lo + log.length().half_floor();
        let past = |by: i32| Interval::new(Position::MIN, middle + Length::mm(by));
        assert_eq!(carried(&[flat(past(1), Interval::ALL)]), [200 * 100, 200 * 90]);
        // Up to the middle: here it hangs on.
        assert_eq!(carried(&[flat(past(0), Interval::ALL)]), [200 * 200, 0]);
    }

    #[test]
    fn a_leg_that_hangs_from_above_is_carried() {
        let half = flat(Interval::ALL, from_entry(0));
        // Upright from below the kerf's top to half the height over it, between leg and stem.
        let slot = Block {
            travel: Interval::ALL,
            across: Interval::new(Position::mm(-30), Position::mm(-20)),
            height: Interval::new(half.height.lo, half.height.hi + Length::mm(40)),
        };
        assert_eq!(carried(&[half, slot]), [200 * 200 - 100 * 10 - 10 * 40, 0]);
    }
}
