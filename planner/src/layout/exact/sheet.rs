//! Layers and boards as they are to be sawn: what is left between two of them is nothing, or enough to come off as a piece.
//!
//! A layout says which boards there are and that they have room. Where two layers, or two boards, would leave less between them
//! than a kerf and a piece that can be handled, they are moved together or apart, as far as every board keeps its room.

use bunkside_protocol::Length;
use heapless::Vec;

use super::order::{Rows, Terms};
use super::reach::{Over, Reaches};
use super::row::{BOARDS_MAX, Full, Pattern, holds, up};
use super::stack::Level;
use super::{Item, Row, Um};
use crate::limits::{LEAST_WASTE, PLAN_COLUMNS_MAX, PLAN_LAYERS_MAX, STANDS_ALONE};

/// A layer of a sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct SheetLayer {
    /// Its row.
    pub(crate) row: u16,
    /// Its floor, in steps, and from there to its face.
    pub(crate) floor: usize,
    pub(crate) advance: usize,
    /// Its first board among those of all layers, and how many it has.
    pub(crate) first: usize,
    pub(crate) count: usize,
}

/// A board, or two end to end, on a sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct SheetBoard {
    /// Its number in the row.
    pub(crate) number: u16,
    pub(crate) item: Item,
    /// Its entry side.
    pub(crate) corner: Um,
    /// Which of its boards count.
    pub(crate) keeps: [bool; 2],
}

/// Where the boards of a layer stand that have room to move together.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Lean {
    /// In the middle of their room.
    #[default]
    Middle,
    /// As far to the entry side as it goes.
    Entry,
    /// As far to the exit side as it goes.
    Exit,
}

impl Lean {
    /// The place on the step between two; none where there is none.
    fn place(self, (from, to): (Um, Um), step: Um) -> Option<Um> {
        let wanted = match self {
            Self::Middle => up(from.midpoint(to), step),
            Self::Entry => up(from, step),
            Self::Exit => to - to.rem_euclid(step),
        };
        let places = up(from, step)..=to;
        [wanted, up(from, step)]
            .into_iter()
            .find(|place| places.contains(place))
    }
}

/// Layers from the top down, and their boards: no more than so many.
#[derive(Clone, Debug, Default)]
pub struct Sheet<const BOARDS: usize = PLAN_COLUMNS_MAX> {
    /// How the boards of each layer lean; in the middle where none is told.
    pub(crate) leans: Vec<Lean, PLAN_LAYERS_MAX>,
    pub(crate) layers: Vec<SheetLayer, PLAN_LAYERS_MAX>,
    pub(crate) boards: Vec<SheetBoard, BOARDS>,
}

impl<const BOARDS: usize> Sheet<BOARDS> {
    /// Becomes the same as another one, but for how its boards lean.
    pub(crate) fn copy(&mut self, other: &Self, leans: &[Lean]) {
        self.clear();
        self.leans.extend(leans.iter().copied().take(PLAN_LAYERS_MAX));
        self.layers.extend(other.layers.iter().copied());
        self.boards.extend(other.boards.iter().copied());
    }

    /// Takes everything off it.
    pub(crate) fn clear(&mut self) {
        self.leans.clear();
        self.layers.clear();
        self.boards.clear();
    }

    /// Takes a layer in, below those before, and of its boards such as count: what else would lie there is left in one piece as far as that
    /// can be. None is taken in in which nothing lies, as where rounding alone had room for a board.
    pub(crate) fn add(&mut self, level: &Level, row: &Row<'_>, keeps: &[[bool; 2]]) -> Result<(), Full> {
        let first = self.boards.len();
        let boards = level.pattern.iter().zip(&level.corners).zip(keeps);
        for ((number, corner), keeps) in boards.filter(|(_, keeps)| **keeps != [false; 2]) {
            let item = *row.items.get(usize::from(*number)).ok_or(Full)?;
            let board = SheetBoard {
                number: *number,
                item,
                corner: *corner,
                keeps: *keeps,
            };
            self.boards.push(board).map_err(|_| Full)?;
        }
        if first == self.boards.len() {
            return Ok(());
        }
        let layer = SheetLayer {
            row: u16::try_from(level.row).map_err(|_| Full)?,
            floor: level.floor,
            advance: row.advance,
            first,
            count: self.boards.len() - first,
        };
        self.layers.push(layer).map_err(|_| Full)
    }

    /// The boards of a layer.
    pub(crate) fn boards_of(&self, layer: &SheetLayer) -> &[SheetBoard] {
        self.boards
            .get(layer.first..layer.first + layer.count)
            .unwrap_or(&[])
    }

    /// Moves layers and boards together or apart; at how many places less is left between two layers, and between two boards, than can be
    /// handled.
    pub(crate) fn close(&mut self, reaches: &Reaches<'_>, rows: &Rows<'_>, terms: &Terms) -> [usize; 2] {
        let step = reaches.step.max(1);
        let [_, laths] = terms.thin;
        let stack = Stack {
            reaches,
            rows,
            least: terms.least_between(),
            slab: (terms.kerf_and(Length::ZERO), terms.kerf_and(LEAST_WASTE)),
            flat_top: terms.flat_top,
        };
        let mut left = [stack.close(self), 0];
        for number in 0..self.layers.len() {
            if let Some(layer) = self.layers.get(number).copied() {
                let height =
                    Length::um(i64::try_from(layer.advance).unwrap_or(0) * i64::from(step)) - terms.kerf;
                // No waste that is too thin beside the blade, or too narrow to stand when it comes free.
                let eighths = i64::from(STANDS_ALONE);
                let foot = Length::um((height.wide() + eighths - 1) / eighths);
                let piece = terms.kerf + LEAST_WASTE.max(laths.least(height)).max(foot);
                let lean = self.leans.get(number).copied().unwrap_or_default();
                left[1] += self.close_row(reaches, rows, &layer, (piece.as_um(), lean));
            }
        }
        left
    }

    fn close_row(
        &mut self,
        reaches: &Reaches<'_>,
        rows: &Rows<'_>,
        layer: &SheetLayer,
        (piece, lean): (Um, Lean),
    ) -> usize {
        let Some(row) = rows.get(usize::from(layer.row)) else {
            return 0;
        };
        let step = reaches.step;
        let room = |board: &SheetBoard| {
            let (lo, hi) = reaches.item(&row, &board.item, Over::One(layer.floor));
            (lo, hi - board.item.width)
        };
        let Some(boards) = self.boards.get_mut(layer.first..layer.first + layer.count) else {
            return 0;
        };
        // All in one: from where to where the first may stand.
        let (mut from, mut to, mut off) = (Um::MIN / 2, Um::MAX / 2, 0);
        for board in &*boards {
            let (lo, hi) = room(board);
            (from, to) = (from.max(lo - off), to.min(hi - off));
            off += board.item.advance;
        }
        if let Some(mut corner) = lean.place((from, to), step) {
            for board in boards {
                board.corner = corner;
                corner += board.item.advance;
            }
            return 0;
        }
        // Else each on its own, far enough from the one before, or together with it.
        let mut rooms: Vec<(Um, Um), BOARDS_MAX> = Vec::new();
        // As many as boards of a layer: there is room.
        rooms.extend(boards.iter().map(room).take(BOARDS_MAX));
        spread(boards, &rooms, (piece, step))
    }
}

/// Sets boards one after the other, each within its own places: what is left between two is nothing, or enough for a piece. Where
/// that cannot be, each is set as soon as it may; at how many places.
fn spread(boards: &mut [SheetBoard], rooms: &[(Um, Um)], (piece, step): (Um, Um)) -> usize {
    let (mut next, mut left) = (Um::MIN / 2, 0);
    // The first of those that stand together.
    let mut together = 0;
    for number in 0..boards.len() {
        let (Some((lo, _)), Some(advance)) = (
            rooms.get(number).copied(),
            boards.get(number).map(|board| board.item.advance),
        ) else {
            break;
        };
        let free = up(lo.max(next), step);
        let gap = free - next;
        let apart = up(next + piece, step);
        let mut corner = free;
        if number > 0 && gap > 0 && gap < piece {
            let rest = boards.get(number..).unwrap_or(&[]);
            if fits(rest, rooms.get(number..).unwrap_or(&[]), apart, step) {
                corner = apart;
            } else if !shift(boards, rooms, (together, number), gap) {
                left += 1;
            }
        }
        if gap > 0 && (corner == apart || gap >= piece) {
            together = number;
        }
        if let Some(board) = boards.get_mut(number) {
            board.corner = corner;
        }
        next = corner + advance;
    }
    left
}

/// Whether boards, each set as soon as it may, have room from a corner on.
fn fits(boards: &[SheetBoard], rooms: &[(Um, Um)], corner: Um, step: Um) -> bool {
    let mut next = corner;
    boards.iter().zip(rooms).all(|(board, (lo, hi))| {
        let at = up((*lo).max(next), step);
        next = at + board.item.advance;
        at <= *hi
    })
}

/// Moves boards from one to before another on by so much, where all of them have room; whether they do.
fn shift(boards: &mut [SheetBoard], rooms: &[(Um, Um)], (from, to): (usize, usize), by: Um) -> bool {
    let (Some(boards), Some(rooms)) = (boards.get_mut(from..to), rooms.get(from..to)) else {
        return false;
    };
    let fits = boards
        .iter()
        .zip(rooms)
        .all(|(board, (_, hi))| board.corner + by <= *hi);
    for board in boards.iter_mut().filter(|_| fits) {
        board.corner += by;
    }
    fits
}

/// The layers of a sheet, to be moved up and down.
struct Stack<'s> {
    reaches: &'s Reaches<'s>,
    rows: &'s Rows<'s>,
    /// The least that may be between two layers, in steps, unless there is nothing.
    least: usize,
    /// What the kerf takes whole over the first layer, and the least that may be there else.
    slab: (usize, usize),
    /// Whether there is a face over the first layer, as wide as the log, and no cap.
    flat_top: bool,
}

impl Stack<'_> {
    fn close<const BOARDS: usize>(&self, sheet: &mut Sheet<BOARDS>) -> usize {
        let mut left = 0;
        for lower in (1..sheet.layers.len()).rev() {
            let gap = self.over(sheet, lower);
            if gap == 0 || gap >= self.least {
                continue;
            }
            let top = self.joined(sheet, lower - 1, true);
            let bottom = self.joined(sheet, lower, false);
            let above = self.over(sheet, top);
            let more = self.least - gap;
            let moved = self.shift(sheet, (top, lower - 1), gap, false)
                || (above >= self.least + more && self.shift(sheet, (top, lower - 1), more, true))
                || self.shift(sheet, (lower, bottom), gap, true);
            left += usize::from(!moved);
        }
        self.under_the_top(sheet);
        left
    }

    /// Lowers the first layer where the slab over it would come off as a rag, if there is room: else the rules warn of it.
    fn under_the_top<const BOARDS: usize>(&self, sheet: &mut Sheet<BOARDS>) {
        let (whole, least) = if self.flat_top { (0, self.least) } else { self.slab };
        let gap = self.over(sheet, 0);
        if sheet.layers.is_empty() || gap <= whole || gap >= least {
            return;
        }
        if self.flat_top {
            let bottom = self.joined(sheet, 0, false);
            let apart = |more: usize| {
                let below = self.over(sheet, bottom + 1);
                below == 0 || below + more >= self.least || bottom + 1 == sheet.layers.len()
            };
            if apart(gap) && self.shift(sheet, (0, bottom), gap, true) {
                return;
            }
        }
        let (bottom, more) = (self.joined(sheet, 0, false), least - gap);
        let last = bottom + 1 == sheet.layers.len();
        let below = self.over(sheet, bottom + 1);
        let apart = last || below == more || below >= self.least + more;
        if apart {
            self.shift(sheet, (0, bottom), more, false);
        }
    }

    fn face(layer: &SheetLayer) -> usize {
        layer.floor + layer.advance
    }

    /// What is between a layer and the one over it, or the top.
    fn over<const BOARDS: usize>(&self, sheet: &Sheet<BOARDS>, number: usize) -> usize {
        let Some(layer) = sheet.layers.get(number) else {
            return 0;
        };
        let above = number.checked_sub(1).and_then(|above| sheet.layers.get(above));
        let floor = above.map_or(self.reaches.heights() - 1, |above| above.floor);
        floor.saturating_sub(Self::face(layer))
    }

    /// The last layer, up or down from one, with nothing in between.
    fn joined<const BOARDS: usize>(&self, sheet: &Sheet<BOARDS>, from: usize, up: bool) -> usize {
        let mut at = from;
        if up {
            while at > 0 && self.over(sheet, at) == 0 {
                at -= 1;
            }
        } else {
            while at + 1 < sheet.layers.len() && self.over(sheet, at + 1) == 0 {
                at += 1;
            }
        }
        at
    }

    /// Moves layers by so many steps where all boards keep their room; whether they do.
    fn shift<const BOARDS: usize>(
        &self,
        sheet: &mut Sheet<BOARDS>,
        (first, last): (usize, usize),
        by: usize,
        up: bool,
    ) -> bool {
        let moved = |layer: &SheetLayer| {
            if up {
                Some(layer.floor + by)
            } else {
                layer.floor.checked_sub(by)
            }
        };
        let fits = |layer: &SheetLayer| {
            let (Some(row), Some(floor)) = (self.rows.get(usize::from(layer.row)), moved(layer)) else {
                return false;
            };
            let mut pattern = Pattern::new();
            let full = sheet
                .boards_of(layer)
                .iter()
                .any(|board| pattern.push(board.number).is_err());
            !full
                && floor + row.advance < self.reaches.heights()
                && (row.floors.0..=row.floors.1).contains(&floor)
                && holds(self.reaches, &row, Over::One(floor), &pattern)
        };
        let Some(layers) = sheet.layers.get(first..=last) else {
            return false;
        };
        if !layers.iter().all(fits) {
            return false;
        }
        if let Some(layers) = sheet.layers.get_mut(first..=last) {
            for layer in layers {
                layer.floor = if up { layer.floor + by } else { layer.floor - by };
            }
        }
        true
    }
}
