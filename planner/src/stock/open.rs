//! Kerfs that stand open in the body.

use bunkside_protocol::{Length, Position};

use super::{Cell, Owner, Stock};
use crate::geometry::{Interval, Section, Shape};
use crate::limits::{BESIDE, LIGAMENT};

impl Stock {
    /// Whether a kerf stands open in the body: more than a millimetre of its wood hangs over a gap, or wood stands on
    /// both sides of a gap that is more than a millimetre deep and no wider than `widest`.
    ///
    /// It is looked for in every section sampled, the log's ends among them, where a kerf that is not all along begins.
    #[must_use]
    pub fn has_open_kerf(&self, shape: &Shape, widest: Length) -> bool {
        shape.any_within(shape.travel(), false, |section| self.is_open_at(section, widest))
    }

    /// Where along the rails no wood of the body stands any more, [`LIGAMENT`] high or more, between some that does: what stands
    /// has fallen in two.
    #[must_use]
    pub fn parted_at(&self, shape: &Shape) -> Option<Position> {
        let (mut stood, mut gap) = (false, None);
        for section in shape.within(shape.travel(), false).sections() {
            let stands = self.stands_at(section) >= LIGAMENT;
            if stands && gap.is_some() {
                return gap;
            }
            if stood && !stands {
                gap = gap.or(Some(section.travel));
            }
            stood |= stands;
        }
        None
    }

    /// How high the wood of the body stands in a section, all bands together.
    fn stands_at(&self, section: &Section) -> Length {
        let (mut all, mut highest, mut band) = (Length::ZERO, Length::ZERO, None);
        for (cell, height) in self.cells().filter(|(cell, _)| stands(cell, section.travel)) {
            let held = section.height_in(cell.across, height).map(Interval::length);
            if band != Some(cell.band) {
                (all, highest, band) = (all + highest, Length::ZERO, Some(cell.band));
            }
            highest = highest.max(held.unwrap_or(Length::ZERO));
        }
        all + highest
    }

    fn is_open_at(&self, section: &Section, widest: Length) -> bool {
        let mut before: Option<(&Cell, Interval)> = None;
        for (cell, height) in self.cells().filter(|(cell, _)| stands(cell, section.travel)) {
            let Some(held) = section.height_in(cell.across, height) else {
                continue;
            };
            let beside = before.filter(|(other, _)| other.band == cell.band);
            let jams = beside.is_some_and(|(other, depth)| {
                let gap = cell.across.lo - other.across.hi;
                Length::ZERO < gap && gap <= widest && held.meet(depth).length() > BESIDE
            });
            if jams || self.overhangs(section, cell, height.lo) {
                return true;
            }
            before = Some((cell, held));
        }
        false
    }

    /// Whether wood of a cell that starts at `floor` has more than a millimetre of air right under it, where the log's
    /// own surface is not what ends it.
    fn overhangs(&self, section: &Section, cell: &Cell, floor: Position) -> bool {
        let (Some(below), Some(chord)) = (cell.band.checked_sub(1), section.chord(floor)) else {
            return false;
        };
        let wood = chord.meet(cell.across);
        let end = Interval::new(wood.hi, wood.hi);
        let lower = self.cells_of(below).iter();
        let lower = lower.filter(|cell| stands(cell, section.travel));
        let mut carried = wood.lo;
        // Cells are sorted from the entry side.
        for next in lower.map(|cell| cell.across).chain([end]) {
            if next.lo.min(wood.hi) - carried > BESIDE {
                return true;
            }
            carried = carried.max(next.hi);
        }
        false
    }
}

/// Whether a cell is of the body and stands at a place along the rails.
fn stands(cell: &Cell, travel: Position) -> bool {
    cell.owner == Owner::Body && cell.is_along(travel)
}

#[cfg(test)]
mod tests {
    use bunkside_protocol::{Angle, Length, LogRecord};

    use crate::replay::{Replay, Setup};
    use crate::testing::{Script, powered_mill, round_log, timber};

    /// Whether a kerf of up to 11 mm stands open after a script.
    fn left(log: &LogRecord, script: &Script) -> bool {
        let mill = powered_mill();
        let setup = Setup::new(&mill, log).unwrap();
        let mut replay = Replay::new(&setup, 0);
        for told in &script.moves {
            assert_eq!(replay.step(told).not_judged, None);
        }
        replay.stock().has_open_kerf(&setup.shape, Length::mm(11))
    }

    /// The same in a timber of 200 by 160 mm that lies from 0.6 to 4.2 m.
    fn open(script: Script) -> bool {
        left(&timber(200, 160, 3_600), &script)
    }

    /// Flat at a corner, from before the near end.
    fn flat(across: f64, height: f64) -> Script {
        Script::new()
            .travel(270)
            .swing(Angle::Flat)
            .corner(across, height)
    }

    fn upright(across: f64, height: f64) -> Script {
        Script::new()
            .travel(270)
            .swing(Angle::Upright)
            .corner(across, height)
    }

    #[test]
    fn wood_over_a_flat_kerf_counts_from_a_millimetre_on() {
        assert!(!open(Script::new()));
        assert!(open(flat(0.0, 100.0).cut(4_530)));
        // The timber's entry side lies at -100 mm.
        assert!(!open(flat(-99.0, 100.0).cut(4_530)));
        assert!(open(flat(-98.999, 100.0).cut(4_530)));
    }

    /// The kerf of 5.5 mm lies on the entry side of its corner; to a corner at -89 mm, 5.5 mm of wood stand beyond it.
    #[test]
    fn wood_on_both_sides_of_an_upright_kerf_counts_where_it_is_deep_and_narrow() {
        assert!(open(upright(-89.0, 100.0).cut(4_530)));
        assert!(open(upright(-89.0, 158.999).cut(4_530)));
        assert!(!open(upright(-89.0, 159.0).cut(4_530)));
        // No wood on the entry side.
        assert!(!open(upright(-94.5, 100.0).cut(4_530)));
        // Two kerfs side by side are 11 mm wide; with what is a hair more nothing can jam.
        let two = |apart: f64| open(upright(0.0, 100.0).cut(4_530).corner(apart, 100.0).cut(270));
        assert!(two(5.5) && !two(5.501));
    }

    /// The wood on the entry side of a kerf through half the length is sawn away: what stood beyond that kerf's end stands
    /// against the rest, without a gap.
    #[test]
    fn wood_that_stands_against_wood_has_no_kerf_between() {
        let half = upright(-89.0, 100.0).cut(2_000).cut(270);
        assert!(open(half.clone()));
        assert!(!open(half.corner(-94.5, 100.0).cut(4_530)));
    }

    #[test]
    fn a_notch_whose_column_is_gone_is_no_open_kerf() {
        let notch = flat(0.0, 100.0).cut(4_530).swing(Angle::Upright).cut(270);
        assert!(!open(notch.clone()) && !open(notch.unload()));
    }

    /// A kerf of a hand's breadth, between two sections that are sampled, at either end and in the middle.
    #[test]
    fn a_kerf_that_is_not_all_along_counts_wherever_it_is() {
        // The carriage starts at the near end.
        assert!(open(flat(-80.0, 100.0).cut(615)));
        let far = Script::new().travel(4_530).swing(Angle::Flat);
        assert!(open(far.corner(-80.0, 100.0).cut(4_185)));
        // Through all the width, and half the length.
        assert!(open(flat(110.0, 100.0).cut(2_000)));
        // What a notch leaves standing where its upright kerf stops short: the flat kerf under it.
        let short = flat(0.0, 100.0).cut(4_530).travel_by_air(270);
        assert!(open(short.swing(Angle::Upright).corner(0.0, 100.0).cut(4_000)));
    }

    /// A cap comes off a round log; in its lower half the log's own surface draws in under a flat kerf.
    #[test]
    fn the_logs_own_surface_is_no_open_kerf() {
        let log = round_log(300, 3_600);
        assert!(!left(&log, &Script::opened()));
        assert!(!left(&log, &Script::opened().first_column()));
        assert!(left(&log, &Script::opened().corner(0.0, 206.5).cut(4_530)));
        // At 60 mm of height its surface lies at 120 mm: 90, 120 and 150 make a right triangle.
        let edge = |across: f64| left(&log, &upright(across, 60.0).cut(4_530).unload());
        assert!(edge(-111.0) && !edge(-116.0) && !edge(-140.0));
    }
}
