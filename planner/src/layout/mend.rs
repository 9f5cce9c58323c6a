//! What may be done about one layer of a layout that cannot be cut.

use bunkside_protocol::{Angle, Length, Position};

use super::exact::Lean;
use crate::limits::{LEAST_WASTE, STANDS_ALONE};
use crate::plan::{Column, Freeing, Use};
use crate::replay::Setup;
use crate::stock::Slender;

/// What is done about one layer.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Mend {
    /// How its boards lean.
    pub lean: Lean,
    /// Whether waste between two columns that is too narrow to stand goes to one of them.
    pub absorbed: Option<Side>,
    /// From this column on all are released together.
    pub released: Option<usize>,
}

/// On which side the column lies that becomes wider.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// Nearer to the entry side.
    Entry,
    /// Nearer to the exit side.
    Exit,
}

const LEANS: [Lean; 3] = [Lean::Middle, Lean::Exit, Lean::Entry];

impl Mend {
    /// What may be done about a layer where a column cannot be cut, least first: a board that comes out wider has to be sawn again.
    pub fn all(column: Option<usize>) -> impl Iterator<Item = Self> {
        let near = column.map(|at| [Some(at), at.checked_sub(1), Some(at + 1), at.checked_sub(2)]);
        let absorbed = [None, Some(Side::Entry), Some(Side::Exit)];
        let released = near
            .into_iter()
            .flatten()
            .flatten()
            .map(|from| (None, Some(from)));
        let first = absorbed.into_iter().map(|absorbed| (absorbed, None));
        first
            .chain(released)
            .flat_map(|(absorbed, released)| {
                LEANS.into_iter().map(move |lean| Self {
                    lean,
                    absorbed,
                    released,
                })
            })
            .skip(1)
    }

    /// Does it to the columns of a layer so high, which lean so already; how many of them are left, in front, or none where there was
    /// nothing to do.
    #[must_use]
    pub fn carry_out(&self, setup: &Setup<'_>, columns: &mut [Column], height: Length) -> Option<usize> {
        if let Some(side) = self.absorbed {
            let left = absorb(setup, columns, height, side);
            return (left < columns.len()).then_some(left);
        }
        for column in columns.iter_mut().skip(self.released.unwrap_or(usize::MAX)) {
            column.freeing = Freeing::Release;
        }
        Some(columns.len())
    }
}

/// How high the boards of a layer on a floor may be, from their undersides to the floor above or the top of the log.
pub fn height_on(setup: &Setup<'_>, floors: impl Iterator<Item = Position>, floor: Position) -> Length {
    let above = floors.filter(|own| *own > floor).min();
    above.unwrap_or_else(|| setup.shape.bounds().height.hi) - floor - setup.mill.blade.kerf
}

/// Gives what is left between two columns of a layer of a height, and is too narrow to stand when it comes free, to waste beside
/// it or else to the column on a side; how many columns are left, in front.
fn absorb(setup: &Setup<'_>, columns: &mut [Column], height: Length, side: Side) -> usize {
    let kerf = setup.mill.blade.kerf;
    let thin = Slender::between(setup.mill, Angle::Upright).least(height);
    let is_sliver = |from: Position, column: &Column| {
        let wide = column.to.map(|to| to - kerf - from);
        let narrow = |wide: Length| wide < LEAST_WASTE.max(thin) || wide.times(STANDS_ALONE) < height;
        column.use_ == Use::Waste && wide.is_some_and(narrow)
    };
    let mut left = columns.len();
    let mut at = 1;
    while at + 1 < left {
        let sliver = match (columns.get(at - 1), columns.get(at)) {
            (Some(Column { to: Some(from), .. }), Some(column)) => is_sliver(*from, column),
            _ => false,
        };
        if !sliver {
            at += 1;
            continue;
        }
        let wastes = [at - 1, at + 1].map(|at| columns.get(at).is_some_and(|one| one.use_ == Use::Waste));
        let to = columns.get(at).and_then(|sliver| sliver.to);
        columns.copy_within(at + 1..left, at);
        left -= 1;
        let towards_entry = match wastes {
            [true, _] => true,
            [false, true] => false,
            [false, false] => side == Side::Entry,
        };
        // The next column begins where the one before it ends, and becomes wider by itself.
        if let (true, Some(wider)) = (towards_entry, columns.get_mut(at - 1)) {
            wider.to = to;
        }
    }
    left
}

#[cfg(test)]
mod tests {
    use std::vec::Vec;

    use super::*;
    use crate::plan::End;
    use crate::testing::{powered_mill, round_log};

    #[test]
    fn least_is_done_first() {
        let none: Vec<Mend> = Mend::all(None).collect();
        let lean = |lean| Mend {
            lean,
            ..Mend::default()
        };
        assert_eq!(none[..2], [lean(Lean::Exit), lean(Lean::Entry)]);
        assert!(none[2..].iter().all(|mend| mend.absorbed.is_some()));
        assert_eq!(none.len(), 2 + 3 + 3);
        let all: Vec<Mend> = Mend::all(Some(0)).collect();
        assert_eq!(all.first(), none.first());
        assert_eq!(all.len(), none.len() + 3 + 3);
        assert!(all[none.len()..].iter().all(|mend| mend.released.is_some()));
    }

    /// Columns with waste of some widths between boards, 152.5 mm high: 19.1 mm of it stand by themselves.
    #[test]
    fn what_is_too_narrow_to_stand_goes_to_one_side() {
        let (mill, log) = (powered_mill(), round_log(400, 4_000));
        let setup = Setup::new(&mill, &log).unwrap();
        let kerf = mill.blade.kerf;
        let height = Length::um(152_500);
        let board = Use::Board {
            product: 0,
            length: Length::mm(3_000),
            end: End::Near,
        };
        let row = |uses: &[(Use, i64)]| {
            let mut to = Position::ZERO;
            let mut columns: Vec<Column> = Vec::new();
            for (use_, wide) in uses {
                to = to + Length::um(*wide) + kerf;
                columns.push(Column {
                    to: Some(to),
                    freeing: Freeing::Take,
                    use_: *use_,
                });
            }
            columns
        };
        let between = |wide: i64, side: Side| {
            let mut columns = row(&[
                (board, 46_400),
                (Use::Waste, wide),
                (board, 46_400),
                (Use::Waste, 9_000),
            ]);
            let before = columns.len();
            let left = absorb(&setup, &mut columns, height, side);
            columns.truncate(left);
            (left < before, columns)
        };
        let wider = 46_400 + 1_900 + kerf.wide();
        for (side, first, second) in [(Side::Entry, wider, 46_400), (Side::Exit, 46_400, wider)] {
            let expected = row(&[(board, first), (board, second), (Use::Waste, 9_000)]);
            assert_eq!(between(1_900, side), (true, expected));
            assert!(between(19_000, side).0);
            assert!(!between(19_100, side).0);
        }
        // Waste beside it takes it, whichever side is asked for.
        for side in [Side::Entry, Side::Exit] {
            for uses in [
                [board, Use::Waste, Use::Waste, board],
                [board, Use::Waste, board, Use::Waste],
            ] {
                let mut columns = row(&[
                    (uses[0], 46_400),
                    (uses[1], 1_900),
                    (uses[2], 40_000),
                    (uses[3], 30_000),
                ]);
                let left = absorb(&setup, &mut columns, height, side);
                columns.truncate(left);
                let wastes = columns.iter().filter(|column| column.use_ == Use::Waste).count();
                assert_eq!((columns.len(), wastes), (3, 1));
            }
        }
    }
}
