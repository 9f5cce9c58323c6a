//! The plain layout, the hand habit: open the top until the first full-width board of the first product, then saw
//! layers of one height down to the bed, boards from the entry side on. Where the first product has no more room,
//! the next that has takes its place. Common practice, no source.

use bunkside_protocol::{Angle, Length, Position};

use super::room::{Room, room, top, usable};
use super::{Draft, Product, draft::DraftFull};
use crate::geometry::Interval;
use crate::limits::{LIGAMENT, PRODUCTS_MAX};
use crate::machine::{outward, room_over_kerf};
use crate::plan::{Column, Freeing, Use};
use crate::replay::Setup;

/// Why a log cannot be laid out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LayoutError {
    /// No product, or more than [`PRODUCTS_MAX`].
    Products,
    /// A product has no thickness, no width, or a length of nothing.
    Size {
        /// Number of the product, from 0.
        product: usize,
    },
    /// No product fits into the log at any height the mill can cut.
    NothingFits,
    /// The plan has more layers or columns than there is room for.
    Full,
}

impl core::fmt::Display for LayoutError {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::Products => write!(f, "an order has 1 to {PRODUCTS_MAX} products"),
            Self::Size { product } => {
                write!(f, "product {} has a size of nothing", product + 1)
            }
            Self::NothingFits => f.write_str("no board of the order fits into this log on this mill"),
            Self::Full => f.write_str("the plan has more layers or columns than there is room for"),
        }
    }
}

impl core::error::Error for LayoutError {}

impl From<DraftFull> for LayoutError {
    fn from(_: DraftFull) -> Self {
        Self::Full
    }
}

/// Lays a log out by the hand habit.
///
/// # Errors
///
/// [`LayoutError`] says why there is no plan.
pub fn plain(setup: &Setup<'_>, products: &[Product<'_>], end_trim: Length) -> Result<Draft, LayoutError> {
    if products.is_empty() || products.len() > PRODUCTS_MAX {
        return Err(LayoutError::Products);
    }
    let nothing = |size: &Length| *size <= Length::ZERO;
    let empty = |product: &Product<'_>| {
        nothing(&product.thickness) || nothing(&product.width) || product.lengths.iter().any(nothing)
    };
    if let Some(product) = products.iter().position(empty) {
        return Err(LayoutError::Size { product });
    }
    let mut left = [u16::MAX; PRODUCTS_MAX];
    for (left, product) in left.iter_mut().zip(products) {
        *left = product.most.unwrap_or(u16::MAX);
    }
    let mut bench = Bench {
        setup,
        products,
        usable: usable(setup, end_trim),
        left,
        draft: Draft::new(),
    };
    let (opened, _) = bench.open().ok_or(LayoutError::NothingFits)?;
    bench.slabs(opened)?;
    let mut face = opened;
    while let Some((product, height)) = bench.product_at(face) {
        let floor = bench.floor_under(face, height);
        bench.draft.layer(floor)?;
        bench.fill(product, Interval::new(floor + setup.mill.blade.kerf, face))?;
        face = floor;
    }
    Ok(bench.draft)
}

/// What the layout works with.
struct Bench<'a> {
    setup: &'a Setup<'a>,
    products: &'a [Product<'a>],
    usable: Interval,
    left: [u16; PRODUCTS_MAX],
    draft: Draft,
}

/// A board that fits: its product, width, length and room.
struct Fit {
    product: u8,
    width: Length,
    length: Length,
    room: Room,
}

impl Bench<'_> {
    /// The highest face, on whole millimetres from the top, under which the first product that fits at all has room.
    fn open(&self) -> Option<(Position, Length)> {
        let grid = self.setup.mill.grid;
        for number in 0..self.products.len() {
            let product = self.products.get(number)?;
            let mut face = outward(top(self.setup), grid, false);
            while self.floor_under(face, product.thickness) >= self.lowest_floor() {
                if self.fits(number, face).is_some() {
                    return Some((face, product.thickness));
                }
                face = face - Length::mm(1);
            }
        }
        None
    }

    /// The lowest floor that stays clear of bed, wedges and packing.
    fn lowest_floor(&self) -> Position {
        let (mill, log) = (self.setup.mill, self.setup.log);
        let bed = mill.clearances.bed.max(log.bed_clearance);
        let bunks = mill
            .bunks
            .iter()
            .map(|bunk| bunk.top)
            .max()
            .unwrap_or(Position::ZERO)
            .max(Position::ZERO);
        let wedge = mill.wedges.height + mill.clearances.bed;
        let undersides = mill
            .bunks
            .iter()
            .filter_map(|bunk| self.setup.shape.undersides(bunk.travel));
        let carried = undersides
            .map(|(bark, wood)| (bark + mill.clearances.bed).max(wood + LIGAMENT))
            .max();
        let over_packing = carried.unwrap_or(Position::ZERO);
        outward((bunks + bed.max(wedge)).max(over_packing), mill.grid, true)
    }

    /// Slabs down to the opened face, each no higher than the blade reaches.
    fn slabs(&mut self, opened: Position) -> Result<(), LayoutError> {
        let [_, upright] = self.reach_in_bark();
        let mut above = top(self.setup);
        let step = upright - self.setup.mill.blade.kerf - Length::mm(1);
        while above - opened > step {
            above = outward(above - step, self.setup.mill.grid, true);
            self.draft.layer(above)?;
        }
        if above - opened > self.setup.mill.grid {
            self.draft.layer(opened)?;
        }
        Ok(())
    }

    /// The floor under a board right below a face: on the grid, the board no thinner than it should be.
    fn floor_under(&self, face: Position, thickness: Length) -> Position {
        outward(
            face - thickness - self.setup.mill.blade.kerf,
            self.setup.mill.grid,
            false,
        )
    }

    /// The first product that has room right under a face, and its height.
    fn product_at(&self, face: Position) -> Option<(usize, Length)> {
        (0..self.products.len()).find_map(|number| {
            let product = self.products.get(number)?;
            let floor = self.floor_under(face, product.thickness);
            (floor >= self.lowest_floor() && self.fits(number, face).is_some())
                .then_some((number, product.thickness))
        })
    }

    /// The longest board of a product with room right under a face.
    fn fits(&self, number: usize, face: Position) -> Option<Fit> {
        let product = self.products.get(number)?;
        let [flat, upright] = self.reach();
        let kerf = self.setup.mill.blade.kerf;
        let cuttable = product.width + kerf <= flat && product.thickness + kerf <= upright;
        if self.left.get(number).is_none_or(|left| *left == 0) || !cuttable {
            return None;
        }
        let floor = self.floor_under(face, product.thickness);
        let height = Interval::new(floor + kerf, face);
        self.longest(number, height, None)
    }

    /// The longest board of a product in a height, from a place on where one is given.
    fn longest(&self, number: usize, height: Interval, from: Option<Position>) -> Option<Fit> {
        let product = self.products.get(number)?;
        let mut best: Option<Fit> = None;
        for length in product.lengths {
            if best.as_ref().is_some_and(|best| best.length >= *length) {
                continue;
            }
            let Some(room) = room(self.setup, self.usable, height, *length) else {
                continue;
            };
            let start = from.unwrap_or(outward(room.across.lo, self.setup.mill.grid, true));
            // The corner is rounded up to the grid: a board may come out wider by less than a step of it.
            let width = product.width + self.setup.mill.grid;
            if start >= room.across.lo && start + width <= room.across.hi {
                let product_number = u8::try_from(number).ok()?;
                best = Some(Fit {
                    product: product_number,
                    width: product.width,
                    length: *length,
                    room,
                });
            }
        }
        best
    }

    /// Fills a layer with boards from the entry side on.
    fn fill(&mut self, first: usize, height: Interval) -> Result<(), LayoutError> {
        let kerf = self.setup.mill.blade.kerf;
        let Some(fit) = self.longest(first, height, None) else {
            return Ok(());
        };
        let mut corner = outward(fit.room.across.lo, self.setup.mill.grid, true);
        let face = self.face(Interval::new(height.lo - kerf, height.lo));
        let bark = self.bark_edge(Interval::new(height.lo - kerf, height.hi));
        self.waste_up_to(bark, corner)?;
        let mut next = Some(fit);
        while let Some(board) = next {
            corner = outward(corner + board.width + kerf, self.setup.mill.grid, true);
            let use_ = Use::Board {
                product: board.product,
                length: board.length,
                end: board.room.end,
            };
            self.draft.column(Column {
                to: Some(corner),
                freeing: Freeing::Take,
                use_,
            })?;
            if let Some(left) = self.left.get_mut(usize::from(board.product)) {
                *left = left.saturating_sub(1);
            }
            next = self.another(height, corner);
        }
        self.waste_to_edge(corner, face.hi)
    }

    /// The next board in a layer: the first product of this height that has room right at the last kerf.
    fn another(&self, height: Interval, corner: Position) -> Option<Fit> {
        (0..self.products.len()).find_map(|number| {
            let product = self.products.get(number)?;
            let [flat, _] = self.reach();
            let over = height.length() - product.thickness;
            let wanted = over >= Length::ZERO
                && over < self.setup.mill.grid
                && product.width + self.setup.mill.blade.kerf <= flat
                && self.left.get(number).is_some_and(|left| *left > 0);
            if wanted {
                self.longest(number, height, Some(corner))
            } else {
                None
            }
        })
    }

    /// Waste from the wood's edge to the first board, in even columns that the blade reaches across.
    fn waste_up_to(&mut self, edge: Position, corner: Position) -> Result<(), LayoutError> {
        let (count, width) = self.even(corner - edge);
        for step in (0..count).rev() {
            self.waste(Some((corner - width.times(step)).snapped(self.setup.mill.grid)))?;
        }
        Ok(())
    }

    /// Waste from the last board to the wood's edge, in even columns that the blade reaches across.
    fn waste_to_edge(&mut self, corner: Position, edge: Position) -> Result<(), LayoutError> {
        let (count, width) = self.even(edge - corner);
        for step in 1..count {
            self.waste(Some((corner + width.times(step)).snapped(self.setup.mill.grid)))?;
        }
        self.waste(None)
    }

    /// How many columns a stretch of waste takes, one at least, and how wide they are.
    fn even(&self, width: Length) -> (i32, Length) {
        let [flat, _] = self.reach();
        let room = (flat - Length::mm(1)).wide().max(1);
        let count = width.wide().max(1).div_euclid(room) + 1;
        (
            i32::try_from(count).unwrap_or(i32::MAX),
            Length::um(width.wide() / count),
        )
    }

    fn waste(&mut self, to: Option<Position>) -> Result<(), LayoutError> {
        Ok(self.draft.column(Column {
            to,
            freeing: Freeing::Take,
            use_: Use::Waste,
        })?)
    }

    /// How far the wood reaches across anywhere along the log in a height.
    fn face(&self, height: Interval) -> Interval {
        let sections = self.setup.shape.wood().iter();
        sections
            .filter_map(|section| section.width_within(height))
            .reduce(Interval::join)
            .unwrap_or(Interval::new(Position::ZERO, Position::ZERO))
    }

    /// The outermost bark on the entry side anywhere along the log in a height: the housing has to stay clear of it.
    fn bark_edge(&self, height: Interval) -> Position {
        let sections = self.setup.shape.rough().iter();
        sections
            .filter_map(|section| section.width_within(height))
            .map(|width| width.lo)
            .min()
            .unwrap_or(Position::ZERO)
    }

    /// The widest flat and the highest upright kerf through wood without bark that leave a little in hand.
    fn reach(&self) -> [Length; 2] {
        self.room(Length::ZERO)
    }

    /// The same through wood with its bark on.
    fn reach_in_bark(&self) -> [Length; 2] {
        self.room(self.setup.shape.bark())
    }

    fn room(&self, bark: Length) -> [Length; 2] {
        let mill = self.setup.mill;
        let hand = self.setup.shape.between() + Length::mm(1);
        Angle::ALL.map(|angle| {
            let room = room_over_kerf(mill, angle, bark) - hand;
            outward(Position::um(room.wide()), mill.grid, false).from_origin()
        })
    }
}
