//! The best layout as boards, and as a cut plan.

use bunkside_protocol::{Length, Position};

use super::best::{Ground, Memory, Solver};
use super::counted::{Found, Lent, Open, counted, priced};
use super::grain::Side;
use super::heart::Core;
use super::laid::Wanted;
use super::order::Barred;
use super::row::Full;
use super::sheet::{Lean, Sheet, SheetBoard, SheetLayer};
use super::{Heights, Item};
use crate::geometry::Interval;
use crate::layout::draft::{Draft, DraftFull};
use crate::layout::drawing::{Drawing, Remains, Timber};
use crate::layout::room::{top, usable};
use crate::limits::PLAN_COLUMNS_MAX;
use crate::machine::outward;
use crate::plan::{Column, End, Freeing, Part, Use};
use crate::replay::Setup;

/// What is to be got out of a log.
#[derive(Clone, Copy, Debug)]
pub struct Asked<'a> {
    /// The products.
    pub wanted: &'a [Wanted<'a>],
    /// No more than so many boards of each, none where that is open; beside `wanted`.
    pub most: &'a [Option<u16>],
    /// Taken off each end after sawing.
    pub end_trim: Length,
    /// Corners and floors lie on this step: a whole number of steps of the mill's grid.
    pub step: Length,
    /// No floor lies lower than this; none where clearance over the bed alone counts.
    pub lowest: Option<Position>,
    /// Whether what is between two layers comes off as a piece, unless there is nothing: what is thinner cannot be sawn. Where numbers
    /// are limited, prices and what is found on the way are all that is looked at.
    pub apart: bool,
    /// Where layers do not lie, because there they cannot be sawn: no more than [`BARRED_MAX`](super::BARRED_MAX). With any, numbers that
    /// are limited are looked at as with [`Asked::apart`].
    pub barred: &'a [Barred],
    /// What a layout that is known brings, if there is one: where numbers are limited, only those that bring more are looked for, and
    /// none to begin with.
    pub reached: Option<i64>,
    /// Pith or rot, if there is any.
    pub core: Option<Core>,
    /// How the boards of each layer lean, from the top down; in the middle where none is told.
    pub leans: &'a [Lean],
    /// What still stands, where the log is partly sawn.
    pub standing: Option<Remains<'a>>,
}

/// A board as it lies in the log.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Placed {
    /// Its product, by number.
    pub product: u8,
    /// Which of the product's lengths it has.
    pub length: u8,
    /// The end of the usable part that it is measured from.
    pub end: End,
    /// Its underside.
    pub height: Position,
    /// Its entry side.
    pub across: Position,
    /// How high and how wide it lies.
    pub tall: Length,
    /// See [`Placed::tall`].
    pub wide: Length,
    /// On which side of the pith it was put, so that its rings lie as its size has it; any where that is the size for anywhere.
    pub side: Side,
}

/// The best layout of a log.
#[derive(Debug)]
pub struct Sawn<'a, 's, const BOARDS: usize = PLAN_COLUMNS_MAX> {
    setup: &'a Setup<'a>,
    standing: Option<Remains<'a>>,
    sheet: &'s Sheet<BOARDS>,
    heights: Heights,
    /// What was found.
    pub found: Found,
}

/// Finds the best layout: it is left open, and closed up on a sheet. With no memory for [`Desk::labels`](super::Desk) nothing is
/// searched for where count limits are: the gap tells what that may cost.
///
/// # Errors
///
/// [`Full`] where the memory does not do.
#[inline(never)]
pub fn exact<'a, 's, const BOARDS: usize>(
    setup: &'a Setup<'a>,
    asked: &Asked<'a>,
    memory: Memory<'_>,
    lent: &mut Lent<'_>,
    (open, sheet): (&mut Open<BOARDS>, &'s mut Sheet<BOARDS>),
) -> Result<Sawn<'a, 's, BOARDS>, Full> {
    let mut solver = Solver::new(&ground(setup, asked), asked.wanted, memory)?;
    counted(&mut solver, asked.most, lent, open)?;
    closed(setup, asked, &mut solver, lent, (open, sheet))
}

/// Finds what prices tell of the best layout: the same where no numbers are limited, and else what comes of it with no memory for more.
/// A program that asks for no more has no search in it.
///
/// # Errors
///
/// [`Full`] where the memory does not do.
#[inline(never)]
pub fn by_prices<'a, 's, const BOARDS: usize>(
    setup: &'a Setup<'a>,
    asked: &Asked<'a>,
    memory: Memory<'_>,
    (open, sheet): (&mut Open<BOARDS>, &'s mut Sheet<BOARDS>),
) -> Result<Sawn<'a, 's, BOARDS>, Full> {
    let mut solver = Solver::new(&ground(setup, asked), asked.wanted, memory)?;
    priced(&mut solver, asked.most, open)?;
    closed(setup, asked, &mut solver, &mut Lent::none(), (open, sheet))
}

/// The layout that [`exact`] found for the same, but for the lean of its boards: those lean as asked now. Nothing is looked for
/// anew, since what a layout is worth does not depend on it.
///
/// # Errors
///
/// [`Full`] where the memory does not do.
pub fn leaning<'a, 's, const BOARDS: usize>(
    setup: &'a Setup<'a>,
    asked: &Asked<'a>,
    memory: Memory<'_>,
    lent: &mut Lent<'_>,
    (open, sheet): (&Open<BOARDS>, &'s mut Sheet<BOARDS>),
) -> Result<Sawn<'a, 's, BOARDS>, Full> {
    let mut solver = Solver::new(&ground(setup, asked), asked.wanted, memory)?;
    closed(setup, asked, &mut solver, lent, (open, sheet))
}

fn closed<'a, 's, const BOARDS: usize>(
    setup: &'a Setup<'a>,
    asked: &Asked<'a>,
    solver: &mut Solver<'_, '_>,
    lent: &mut Lent<'_>,
    (open, sheet): (&Open<BOARDS>, &'s mut Sheet<BOARDS>),
) -> Result<Sawn<'a, 's, BOARDS>, Full> {
    let found = open.close(solver, (asked.most, asked.leans), lent, sheet)?;
    Ok(Sawn {
        setup,
        standing: asked.standing,
        sheet,
        heights: solver.terms.heights,
        found,
    })
}

/// Where a layout is looked for.
pub(super) fn ground<'a>(setup: &'a Setup<'a>, asked: &Asked<'a>) -> Ground<'a> {
    let timber = Timber::of(setup, asked.standing);
    Ground {
        setup,
        reached: asked.reached,
        usable: usable(setup, asked.end_trim),
        lowest: asked.lowest.map_or(timber.lowest_floor(), |lowest| {
            outward(lowest.max(timber.lowest_floor()), setup.mill.grid, true)
        }),
        top: timber.top(),
        // Down from a face that is sawn.
        flat_top: timber.top() < top(setup),
        apart: asked.apart,
        barred: asked.barred,
        step: asked.step,
        reach: timber.reach(),
        core: asked.core,
        standing: asked.standing.map(|remains| remains.stock),
        off_metal: asked.standing.is_some_and(|remains| remains.off_metal),
        relaxed: false,
    }
}

impl<const BOARDS: usize> Sawn<'_, '_, BOARDS> {
    /// The floor of every layer of boards, from the top down.
    pub fn floors(&self) -> impl Iterator<Item = Position> + '_ {
        self.sheet.layers.iter().map(|layer| self.floor(layer))
    }

    /// Every board, from the top down and from the entry side on.
    pub fn boards(&self, each: &mut dyn FnMut(Placed)) {
        let kerf = self.setup.mill.blade.kerf;
        for layer in &self.sheet.layers {
            let height = self.floor(layer) + kerf;
            for board in self.sheet.boards_of(layer) {
                self.ends(&board.item, board.keeps, &mut |[product, length], end, side| {
                    each(Placed {
                        product,
                        length,
                        end,
                        height,
                        across: Position::um(i64::from(board.corner)),
                        tall: self.face(layer) - height,
                        wide: Length::um(i64::from(board.item.width)),
                        side,
                    });
                });
            }
        }
    }

    /// The boards of an item, each with the end it is measured from and its side of the pith.
    fn ends(&self, item: &Item, keeps: [bool; 2], each: &mut dyn FnMut([u8; 2], End, Side)) {
        let boards = item.boards.iter().zip(keeps).zip(item.reach);
        for ((board, keeps), reach) in boards {
            let end = if reach.from_far { End::Far } else { End::Near };
            if let (Some(board), true) = (board, keeps) {
                each(*board, end, reach.side);
            }
        }
    }

    fn floor(&self, layer: &SheetLayer) -> Position {
        self.heights.at(layer.floor)
    }

    fn face(&self, layer: &SheetLayer) -> Position {
        self.heights.at(layer.floor + layer.advance)
    }

    /// Draws the cut plan.
    ///
    /// # Errors
    ///
    /// [`DraftFull`] where it has more layers or columns than the draft has room for.
    pub fn draw<const COLUMNS: usize>(
        &self,
        wanted: &[Wanted<'_>],
        draft: &mut Draft<COLUMNS>,
    ) -> Result<(), DraftFull> {
        draft.clear();
        let mut drawing = Drawing {
            timber: Timber::of(self.setup, self.standing),
            draft,
        };
        let mut above: Option<Position> = None;
        for layer in &self.sheet.layers {
            let (floor, face) = (self.floor(layer), self.face(layer));
            match above {
                None => drawing.slabs(face)?,
                Some(above) if above > face => drawing.waste_layers(above, face)?,
                Some(_) => {}
            }
            drawing.draft.layer(floor)?;
            self.columns(&mut drawing, layer, (floor, face), wanted)?;
            above = Some(floor);
        }
        Ok(())
    }

    fn columns<const COLUMNS: usize>(
        &self,
        drawing: &mut Drawing<'_, '_, COLUMNS>,
        layer: &SheetLayer,
        (floor, face): (Position, Position),
        wanted: &[Wanted<'_>],
    ) -> Result<(), DraftFull> {
        let kerf = self.setup.mill.blade.kerf;
        let edge = drawing.face(Interval::new(floor, floor + kerf)).hi;
        let (mut last, natural) = drawing.entry_edge(Interval::new(floor, face));
        let mut first = natural;
        for board in self.sheet.boards_of(layer) {
            let corner = Position::um(i64::from(board.corner));
            if first || corner > last {
                drawing.waste_up_to(last, corner)?;
            }
            let to = corner + Length::um(i64::from(board.item.advance));
            drawing.draft.column(Column {
                to: Some(to),
                freeing: Freeing::Take,
                use_: self.use_of(board, wanted),
            })?;
            (last, first) = (to, false);
        }
        drawing.waste_to_edge(last, edge)
    }

    fn use_of(&self, board: &SheetBoard, wanted: &[Wanted<'_>]) -> Use {
        let mut parts: [Option<(Part, End)>; 2] = [None; 2];
        self.ends(&board.item, board.keeps, &mut |[product, length], end, _| {
            let lengths = wanted
                .get(usize::from(product))
                .map_or(&[][..], |wanted| wanted.lengths);
            let free = parts.iter_mut().find(|part| part.is_none());
            if let (Some(length), Some(slot)) = (lengths.get(usize::from(length)), free) {
                *slot = Some((
                    Part {
                        product,
                        length: *length,
                    },
                    end,
                ));
            }
        });
        match parts {
            [Some((near, _)), Some((far, _))] => Use::Pair { near, far },
            [Some((Part { product, length }, end)), None] => Use::Board { product, length, end },
            _ => Use::Waste,
        }
    }
}
