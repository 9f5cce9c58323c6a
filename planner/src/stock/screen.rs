//! What stands between a loose piece and a kerf.

use bunkside_protocol::Length;

use super::{Owner, Piece, Slender, Stock, Thin};
use crate::geometry::{Block, Interval, Section, Shape};

impl Stock {
    /// Whether wood of the body stands in the gap beside a piece that holds what leans on it: at every place along the rails over
    /// more than half of the heights that the gap and the piece share, in one thickness that does not break off.
    #[must_use]
    pub(crate) fn screens(&self, shape: &Shape, piece: &Piece, gap: Block, slender: Slender) -> bool {
        let reach = gap.height.meet(piece.bounds.height).length();
        let open = |section: &Section| {
            let window = section.height_in(piece.bounds.across, gap.height);
            let faced = window.map_or(Length::ZERO, Interval::length);
            let held = self.screened(section, gap, |thick| slender.holds(Thin { thick, reach }));
            held + held <= faced && faced > Length::ZERO
        };
        let mut from = gap.travel.lo;
        while from < gap.travel.hi {
            let to = self
                .next_end(from)
                .map_or(gap.travel.hi, |end| end.min(gap.travel.hi));
            // Where two cells meet the further one stands.
            let stretch = Interval::new(from, to - Length::um(1));
            if shape.any_within(stretch, false, open) {
                return false;
            }
            from = to;
        }
        true
    }

    /// Over how much height wood stands in a gap that holds, in one section.
    fn screened(&self, section: &Section, gap: Block, holds: impl Fn(Length) -> bool) -> Length {
        let mut held = Length::ZERO;
        for (band, _) in (0u8..).zip(&self.floors) {
            let height = self.band(band).meet(gap.height);
            if height.is_empty() {
                continue;
            }
            let mut run: Option<Interval> = None;
            let mut highest = Length::ZERO;
            for cell in self.cells_of(band) {
                if cell.owner != Owner::Body || !cell.is_along(section.travel) {
                    continue;
                }
                let across = cell.across.meet(gap.across);
                run = match run {
                    Some(run) if run.hi == across.lo => Some(run.join(across)),
                    _ => Some(across),
                };
                let Some(held) = run.and_then(|run| section.across_in(run, height)) else {
                    continue;
                };
                if holds(held.length()) {
                    let up = section.height_in(held, height);
                    highest = highest.max(up.map_or(Length::ZERO, Interval::length));
                }
            }
            held += highest;
        }
        held
    }
}

#[cfg(test)]
mod tests {
    use bunkside_protocol::{Angle, Position};

    use super::*;
    use crate::testing::{powered_mill, timber};

    /// A timber of 200 by 200 mm, 3 m long from 0.6 m on, of which a column of 100 mm to the entry side of 0 lies loose, 80 mm high
    /// over a kerf of 20 mm. What is sawn out of the rest then; and whether what stands up to 10 mm beside the column's kerf holds
    /// a push of 10 N: 80 mm high, 5.04 mm and 0.4 mm.
    fn holds(cut: &[Block]) -> bool {
        let (mill, shape) = (powered_mill(), Shape::new(&timber(200, 200, 3_000)).unwrap());
        let mut stock = Stock::new(&shape, []);
        stock.carve(&shape, kerf(-100..0, 100..120)).unwrap();
        assert_eq!(stock.carve(&shape, kerf(-10..0, 100..250)), Ok(1));
        for kerf in cut {
            stock.carve(&shape, *kerf).unwrap();
        }
        let piece = stock.pieces()[0];
        let gap = kerf(-10..10, 120..250);
        let slender = Slender::between(&mill, Angle::Upright);
        stock.screens(&shape, &piece, gap, slender)
    }

    fn kerf(across: core::ops::Range<i32>, height: core::ops::Range<i32>) -> Block {
        let [across, height] =
            [across, height].map(|side| Interval::new(Position::mm(side.start), Position::mm(side.end)));
        Block {
            travel: Interval::ALL,
            across,
            height,
        }
    }

    #[test]
    fn wood_screens_where_it_is_thick_enough() {
        assert!(holds(&[]));
        assert!(holds(&[kerf(6..30, 100..250)]));
        assert!(!holds(&[kerf(5..30, 100..250)]));
        // Two that are too thin are not one that is thick enough.
        assert!(!holds(&[kerf(5..6, 100..250)]));
    }

    #[test]
    fn wood_screens_where_it_is_more_than_half_as_high() {
        assert!(!holds(&[kerf(0..30, 160..250)]));
        assert!(holds(&[kerf(0..30, 161..250)]));
        assert!(holds(&[kerf(0..30, 120..159)]));
        assert!(!holds(&[kerf(0..30, 120..160)]));
        // Above and below a slot.
        assert!(holds(&[kerf(0..30, 140..179)]));
        assert!(!holds(&[kerf(0..30, 140..180)]));
    }

    #[test]
    fn wood_screens_where_it_stands_all_along() {
        let along = |from: i32, to: i32| Block {
            travel: Interval::new(Position::mm(from), Position::mm(to)),
            ..kerf(5..30, 100..250)
        };
        assert!(!holds(&[along(2_000, 2_010)]));
        assert!(!holds(&[along(600, 610)]));
        assert!(!holds(&[along(3_590, 3_600)]));
        // Beyond the end of the log.
        assert!(holds(&[along(500, 600)]));
    }
}
