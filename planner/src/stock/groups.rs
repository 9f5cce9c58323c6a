//! What hangs together.
//!
//! Two cells hang together where they share a face of wood that is wider than some least, and large enough. A cell that is
//! itself no wider than that joins what stands on either side of it, face to face, and nothing that lies further along
//! it: a plate a hair thick holds what is glued to both its sides, and not what hangs out over its edge. So is what two
//! kerfs leave between their ends that nearly meet, or one that nearly runs through: the blade is round, and cuts on
//! beyond its centre.

use bunkside_protocol::{Length, Position};

use super::carve::holds_wood;
use super::{Cell, Stock};
use crate::geometry::{Interval, Section, Shape};
use crate::limits::{CELLS_MAX, FIN, JOINT};

/// Which cells hang together: each cell names one nearer to its group's root, the root names itself.
pub(super) struct Groups {
    parent: [u8; CELLS_MAX],
}

impl Groups {
    pub(super) fn new() -> Self {
        let mut parent = [0; CELLS_MAX];
        for (slot, number) in parent.iter_mut().zip(0u8..) {
            *slot = number;
        }
        Self { parent }
    }

    pub(super) fn root(&mut self, cell: usize) -> usize {
        let mut at = cell;
        loop {
            let next = self.parent.get(at).map_or(at, |parent| usize::from(*parent));
            if next == at {
                return at;
            }
            // Halve the path on the way, so that it stays short.
            let beyond = self.parent.get(next).copied();
            if let (Some(slot), Some(beyond)) = (self.parent.get_mut(at), beyond) {
                *slot = beyond;
            }
            at = next;
        }
    }

    fn join(&mut self, a: usize, b: usize) {
        let (a, b) = (self.root(a), self.root(b));
        if let (Some(slot), Ok(low)) = (self.parent.get_mut(a.max(b)), u8::try_from(a.min(b))) {
            *slot = low;
        }
    }
}

/// How much wood two cells share that hang together.
#[derive(Clone, Copy)]
pub(super) struct Least {
    /// Wood no wider than this is none.
    width: Length,
    /// Square micrometres.
    area: i64,
}

impl Least {
    /// Wood, be it as little as it may.
    pub(super) const ANY: Self = Self { width: FIN, area: 0 };

    /// Whether a face is as large over a stretch of the log, so wide at each of its sections, and straight between them.
    fn met(self, shape: &Shape, travel: Interval, wide: impl Fn(&Section) -> Option<Interval>) -> bool {
        let (mut area, mut any) = (0, false);
        let mut before: Option<(Position, i64)> = None;
        shape.any_within(travel, false, |section| {
            let held = wide(section).map_or(0, |held| held.length().wide());
            any |= held > self.width.wide();
            if let Some((place, last)) = before {
                area += self.face(last, held, (section.travel - place).wide());
            }
            before = Some((section.travel, held));
            any && area >= self.area
        })
    }

    /// What counts of a face that is so wide at one end and at the other, the one less than no width where there is a gap.
    fn face(self, a: i64, b: i64, long: i64) -> i64 {
        let (width, [less, more]) = (self.width.wide(), [a.min(b), a.max(b)]);
        if width < less {
            (less + more) / 2 * long
        } else if width < more {
            // More is wider than less, or it would be no wider than that.
            (width + more) / 2 * (long * (more - width) / (more - less).max(1))
        } else {
            0
        }
    }
}

/// Which way a cell is a plate.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Plate {
    Lies,
    Stands,
    /// It lies across the rails, where kerfs end.
    Ends,
}

impl Stock {
    /// Joins what hangs together by `least`, where it is `asked` for.
    pub(super) fn join(
        &self,
        shape: &Shape,
        groups: &mut Groups,
        least: Least,
        asked: &dyn Fn(usize, usize) -> bool,
    ) {
        for (index, cell) in self.cells.iter().enumerate() {
            for (further, other) in self.cells.iter().enumerate().skip(index + 1) {
                if other.band > cell.band + 1 {
                    break;
                }
                // What hangs together already need not be looked at.
                if other.owner != cell.owner
                    || !asked(index, further)
                    || groups.root(index) == groups.root(further)
                {
                    continue;
                }
                if self.joined(shape, cell, other, least) {
                    groups.join(index, further);
                }
            }
        }
    }

    /// What holds for sure: more than a thread, and not only for a few centimetres.
    const fn sure(&self) -> Least {
        Least {
            width: self.thread,
            area: JOINT,
        }
    }

    /// Joins what hangs together for sure.
    pub(super) fn join_surely(&self, shape: &Shape, groups: &mut Groups) {
        let least = self.sure();
        let mut thin = [false; CELLS_MAX];
        let mut any = false;
        for (slot, cell) in thin.iter_mut().zip(&self.cells) {
            *slot = self.plate(shape, cell).is_some();
            any |= *slot;
        }
        let is_thin = |index: usize| thin.get(index).copied().unwrap_or(false);
        self.join(shape, groups, least, &|a, b| !is_thin(a) && !is_thin(b));
        if !any {
            return;
        }
        for (index, plate) in self.cells.iter().enumerate().filter(|(index, _)| is_thin(*index)) {
            self.bridge(shape, groups, plate, &|other| !is_thin(other));
            self.hang_on(shape, groups, index, &|other| !is_thin(other));
        }
    }

    /// Which way a cell is a plate: no more than a thread high or wide, or so short that two kerfs that end there leave no more of
    /// it, as round as the blade is.
    fn plate(&self, shape: &Shape, cell: &Cell) -> Option<Plate> {
        if self.band(cell.band).length() <= self.thread {
            return Some(Plate::Lies);
        }
        if cell.across.length() <= self.thread {
            return Some(Plate::Stands);
        }
        let log = shape.travel();
        let held = cell.travel.meet(log);
        let inner = i32::from(log.lo < held.lo) + i32::from(held.hi < log.hi);
        (inner > 0 && held.length() <= self.cusp.times(inner)).then_some(Plate::Ends)
    }

    /// Whether a cell is no more than a thread high or wide: a lath or a skin, or a part of one.
    pub(super) fn is_thin(&self, cell: &Cell) -> bool {
        self.band(cell.band).length() <= self.thread || cell.across.length() <= self.thread
    }

    /// Joins what stands on both sides of a plate, through it.
    fn bridge(&self, shape: &Shape, groups: &mut Groups, plate: &Cell, may: &dyn Fn(usize) -> bool) {
        let height = self.band(plate.band);
        let Some(way) = self.plate(shape, plate) else {
            return;
        };
        let beside = |cell: &Cell, before: bool| match (way, before) {
            (Plate::Lies, true) => cell.band + 1 == plate.band,
            (Plate::Lies, false) => plate.band + 1 == cell.band,
            (Plate::Stands, true) => cell.band == plate.band && cell.across.hi == plate.across.lo,
            (Plate::Stands, false) => cell.band == plate.band && cell.across.lo == plate.across.hi,
            (Plate::Ends, true) => cell.band == plate.band && cell.travel.hi == plate.travel.lo,
            (Plate::Ends, false) => cell.band == plate.band && cell.travel.lo == plate.travel.hi,
        };
        let cells = || self.cells.iter().enumerate();
        for (index, cell) in cells().filter(|(index, cell)| may(*index) && beside(cell, true)) {
            for (further, other) in cells().filter(|(further, other)| may(*further) && beside(other, false)) {
                let same = cell.owner == plate.owner && other.owner == plate.owner;
                if !same || groups.root(index) == groups.root(further) {
                    continue;
                }
                if self.through(shape, way, plate, height, [cell, other]) {
                    groups.join(index, further);
                }
            }
        }
    }

    /// Whether what stands on both sides of a plate hangs together through it.
    fn through(
        &self,
        shape: &Shape,
        way: Plate,
        plate: &Cell,
        height: Interval,
        [cell, other]: [&Cell; 2],
    ) -> bool {
        let across = cell.across.meet(plate.across).meet(other.across);
        let travel = cell.travel.meet(plate.travel).meet(other.travel);
        let narrower = |a: Option<Interval>, b: Option<Interval>| {
            let [a, b] = [a?, b?];
            Some(if a.length() < b.length() { a } else { b })
        };
        match way {
            Plate::Lies => self.sure().met(shape, travel, |section| {
                let held = |face| section.chord(face).map(|chord| chord.meet(across));
                narrower(held(height.lo), held(height.hi))
            }),
            Plate::Stands => self.sure().met(shape, travel, |section| {
                let held = |face| section.standing_chord(face).map(|chord| chord.meet(height));
                narrower(held(plate.across.lo), held(plate.across.hi))
            }),
            Plate::Ends => [plate.travel.lo, plate.travel.hi].into_iter().all(|face| {
                let section = shape.wood_at(face);
                section.is_some_and(|section| holds_wood(&section, across, height))
            }),
        }
    }

    /// Lets a plate go with one of those that it hangs on.
    fn hang_on(&self, shape: &Shape, groups: &mut Groups, index: usize, may: &dyn Fn(usize) -> bool) {
        let Some(plate) = self.cells.get(index) else {
            return;
        };
        for (further, other) in self.cells.iter().enumerate() {
            let near = other.band.abs_diff(plate.band) <= 1 && other.owner == plate.owner;
            if further == index || !near || !may(further) {
                continue;
            }
            let (lower, upper) = if other.band < plate.band {
                (other, plate)
            } else {
                (plate, other)
            };
            if self.joined(shape, lower, upper, self.sure()) {
                groups.join(index, further);
                return;
            }
        }
    }

    /// Whether two cells share a face of wood of which there is enough; the first one lies no higher.
    fn joined(&self, shape: &Shape, cell: &Cell, other: &Cell, least: Least) -> bool {
        let height = self.band(cell.band);
        if other.band == cell.band {
            joined_beside(shape, cell, other, height, least)
        } else {
            joined_above(shape, cell, other, height, least)
        }
    }
}

fn joined_beside(shape: &Shape, a: &Cell, b: &Cell, height: Interval, least: Least) -> bool {
    if a.across.hi == b.across.lo || b.across.hi == a.across.lo {
        let face = if a.across.hi == b.across.lo {
            a.across.hi
        } else {
            a.across.lo
        };
        return least.met(shape, a.travel.meet(b.travel), |section| {
            section.standing_chord(face).map(|chord| chord.meet(height))
        });
    }
    let across = a.across.meet(b.across);
    if across.is_empty() || (a.travel.hi != b.travel.lo && b.travel.hi != a.travel.lo) {
        return false;
    }
    let face = if a.travel.hi == b.travel.lo {
        a.travel.hi
    } else {
        a.travel.lo
    };
    shape.travel().contains(face)
        && shape
            .wood_at(face)
            .is_some_and(|section| holds_wood(&section, across, height))
}

fn joined_above(shape: &Shape, lower: &Cell, upper: &Cell, height: Interval, least: Least) -> bool {
    let across = lower.across.meet(upper.across);
    if across.is_empty() {
        return false;
    }
    least.met(shape, lower.travel.meet(upper.travel), |section| {
        section.chord(height.hi).map(|chord| chord.meet(across))
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::replay::Setup;
    use crate::testing::{powered_mill, timber};

    /// Of a face that runs straight from one width to another, what is wider than 0.4 mm counts: from 0 to 1 mm over 600 mm
    /// that is 360 mm, 0.7 mm wide on average.
    #[test]
    fn only_what_is_wide_enough_of_a_face_counts() {
        let least = Least {
            width: Length::um(400),
            area: 0,
        };
        assert_eq!(least.face(1_000, 3_000, 600), 1_200_000);
        assert_eq!(least.face(0, 1_000, 600), 252_000);
        assert_eq!(least.face(1_000, -1_000, 600), 126_000);
        assert_eq!(least.face(300, 400, 600), 0);
        assert_eq!(least.face(-5, 300, 600), 0);
    }

    #[test]
    fn a_face_is_met_by_width_and_size() {
        let (mill, log) = (powered_mill(), timber(180, 160, 3_600));
        let setup = Setup::new(&mill, &log).unwrap();
        let met = |width, area, wide| {
            let least = Least {
                width: Length::um(width),
                area,
            };
            let face = Interval::new(Position::ZERO, Position::um(wide));
            least.met(&setup.shape, Interval::ALL, |_| Some(face))
        };
        assert!(met(400, 0, 401) && !met(400, 0, 400));
        // Over 3.6 m.
        assert!(met(400, 3_600_000_000, 1_000) && !met(400, 3_600_000_001, 1_000));
    }
}
