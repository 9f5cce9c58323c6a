//! Where free pieces lie, and where they may fall.

use bunkside_protocol::{Length, MillRecord, Position};

use super::{Pick, Piece, Stock};
use crate::geometry::{Block, Interval, Shape};

impl Stock {
    /// Where a free piece lies, and where it may fall: entry side, exit side. It counts as sagged by one kerf, and falls where
    /// nothing stands beside it: to one piece width beside the log, from the bed to its top, bark included.
    #[must_use]
    pub fn zones(&self, mill: &MillRecord, shape: &Shape, piece: &Piece) -> [Option<Block>; 3] {
        let (kerf, log, wood) = (mill.blade.kerf, shape.bounds(), piece.bounds);
        let top = wood.height.hi + shape.bark();
        let lying = Block {
            travel: wood.travel,
            across: wood.across.grown(kerf - Length::um(1)),
            height: Interval::new(wood.height.lo - kerf, top),
        };
        let width = wood.across.length();
        let falls = |side: Interval, zone: Interval| {
            let beside = Block { across: side, ..wood };
            let held = self.touched(shape, beside, Pick::Any, false);
            held.is_none().then_some(Block {
                travel: wood.travel,
                across: zone,
                height: Interval::new(Position::ZERO, top),
            })
        };
        let entry = falls(
            Interval::new(Position::MIN, wood.across.lo),
            Interval::new(log.across.lo - width, wood.across.lo),
        );
        let exit = falls(
            Interval::new(wood.across.hi, Position::MAX),
            Interval::new(wood.across.hi, log.across.hi + width),
        );
        [Some(lying), entry, exit]
    }
}
