//! The plain layout, the hand habit: open the top until the first full-width board of the first product, then saw
//! layers of one height down to the bed, boards from the entry side on. Where the first product has no more room,
//! the next that has takes its place. Common practice, no source.

use bunkside_protocol::{Angle, Length, Position};

use super::drawing::{Drawing, Timber};
use super::room::{Room, room, top, usable};
use super::{Draft, Product, draft::DraftFull};
use crate::geometry::Interval;
use crate::limits::{LEAST_WASTE, PLAN_COLUMNS_MAX, PRODUCTS_MAX, STANDS_ALONE};
use crate::machine::outward;
use crate::plan::{Column, Freeing, Use};
use crate::replay::Setup;
use crate::stock::Slender;

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
    let mut draft = Draft::new();
    let mut bench = Bench {
        drawing: Drawing {
            timber: Timber::new(setup),
            draft: &mut draft,
        },
        products,
        usable: usable(setup, end_trim),
        left,
    };
    let (opened, _) = bench.open().ok_or(LayoutError::NothingFits)?;
    bench.drawing.slabs(opened)?;
    let mut face = opened;
    while let Some((product, height)) = bench.product_at(face) {
        let floor = bench.floor_under(face, height);
        bench.drawing.draft.layer(floor)?;
        bench.fill(product, Interval::new(floor + setup.mill.blade.kerf, face))?;
        face = floor;
    }
    Ok(draft)
}

/// What the layout works with.
struct Bench<'a, 'd> {
    drawing: Drawing<'a, 'd, PLAN_COLUMNS_MAX>,
    products: &'a [Product<'a>],
    usable: Interval,
    left: [u16; PRODUCTS_MAX],
}

/// A board that fits: its product, width, length and room.
struct Fit {
    product: u8,
    width: Length,
    length: Length,
    room: Room,
}

impl Bench<'_, '_> {
    /// The highest face, on whole millimetres from the top, under which the first product that fits at all has room, and over
    /// which the kerf takes all or leaves enough to come off as a slab.
    fn open(&self) -> Option<(Position, Length)> {
        let (grid, kerf) = (self.drawing.setup.mill.grid, self.drawing.setup.mill.blade.kerf);
        let log = top(self.drawing.setup);
        let slab = |face: Position| log - face <= kerf || log - face >= kerf + LEAST_WASTE;
        for number in 0..self.products.len() {
            let product = self.products.get(number)?;
            let mut face = outward(top(self.drawing.setup), grid, false);
            while self.floor_under(face, product.thickness) >= self.drawing.lowest_floor() {
                if slab(face) && self.fits(number, face).is_some() {
                    return Some((face, product.thickness));
                }
                face = face - Length::mm(1);
            }
        }
        None
    }

    /// The floor under a board right below a face: on the grid, the board no thinner than it should be.
    fn floor_under(&self, face: Position, thickness: Length) -> Position {
        outward(
            face - thickness - self.drawing.setup.mill.blade.kerf,
            self.drawing.setup.mill.grid,
            false,
        )
    }

    /// The first product that has room right under a face, and its height.
    fn product_at(&self, face: Position) -> Option<(usize, Length)> {
        (0..self.products.len()).find_map(|number| {
            let product = self.products.get(number)?;
            let floor = self.floor_under(face, product.thickness);
            (floor >= self.drawing.lowest_floor() && self.fits(number, face).is_some())
                .then_some((number, product.thickness))
        })
    }

    /// The longest board of a product with room right under a face.
    fn fits(&self, number: usize, face: Position) -> Option<Fit> {
        let product = self.products.get(number)?;
        let [flat, upright] = self.drawing.reach();
        let kerf = self.drawing.setup.mill.blade.kerf;
        let thin = Angle::ALL.map(|angle| Slender::between(self.drawing.setup.mill, angle));
        let cuttable = product.width + kerf <= flat
            && product.thickness + kerf <= upright
            && product.thickness <= product.width.times(STANDS_ALONE)
            && !Slender::board(thin, [product.width, product.thickness]);
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
            let Some(room) = room(self.drawing.setup, self.usable, height, *length) else {
                continue;
            };
            let start = from.unwrap_or(outward(room.across.lo, self.drawing.setup.mill.grid, true));
            // The corner is rounded up to the grid: a board may come out wider by less than a step of it.
            let width = product.width + self.drawing.setup.mill.grid;
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
        let kerf = self.drawing.setup.mill.blade.kerf;
        let Some(fit) = self.longest(first, height, None) else {
            return Ok(());
        };
        let mut corner = outward(fit.room.across.lo, self.drawing.setup.mill.grid, true);
        let face = self.drawing.face(Interval::new(height.lo - kerf, height.lo));
        let bark = self.drawing.bark_edge(Interval::new(height.lo - kerf, height.hi));
        self.drawing.waste_up_to(bark, corner)?;
        let mut next = Some(fit);
        while let Some(board) = next {
            corner = outward(corner + board.width + kerf, self.drawing.setup.mill.grid, true);
            let use_ = Use::Board {
                product: board.product,
                length: board.length,
                end: board.room.end,
            };
            self.drawing.draft.column(Column {
                to: Some(corner),
                freeing: Freeing::Take,
                use_,
            })?;
            if let Some(left) = self.left.get_mut(usize::from(board.product)) {
                *left = left.saturating_sub(1);
            }
            next = self.another(height, corner);
        }
        Ok(self.drawing.waste_to_edge(corner, face.hi)?)
    }

    /// The next board in a layer: the first product of this height that has room right at the last kerf.
    fn another(&self, height: Interval, corner: Position) -> Option<Fit> {
        (0..self.products.len()).find_map(|number| {
            let product = self.products.get(number)?;
            let [flat, _] = self.drawing.reach();
            let over = height.length() - product.thickness;
            let wanted = over >= Length::ZERO
                && over < self.drawing.setup.mill.grid
                && product.width + self.drawing.setup.mill.blade.kerf <= flat
                && self.left.get(number).is_some_and(|left| *left > 0);
            if wanted {
                self.longest(number, height, Some(corner))
            } else {
                None
            }
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{powered_mill, round_log};

    /// A slender end and a thick butt: the first board is found deep under the top. The blade reaches 164 mm or so: however much
    /// that is, no two floors lie so near each other that what is between them breaks off.
    #[test]
    fn no_slab_is_left_thin_between_two_others() {
        let mill = powered_mill();
        let mut slabs = 0;
        for butt in (560..=1_000).step_by(2) {
            let log = centred(butt);
            let setup = Setup::new(&mill, &log).unwrap();
            let lengths = [Length::mm(3_500)];
            let products = [Product {
                thickness: Length::mm(38),
                width: Length::mm(100),
                lengths: &lengths,
                most: None,
            }];
            let draft = plain(&setup, &products, Length::mm(25)).unwrap();
            draft.with_plan(|plan| {
                let slab_floors = plan.layers.iter().take_while(|layer| layer.columns.is_empty());
                let floors: std::vec::Vec<Position> = slab_floors.map(|layer| layer.floor).collect();
                for pair in floors.windows(2) {
                    slabs += 1;
                    assert!(pair[0] - pair[1] > Length::mm(35), "{butt}: {floors:?}");
                }
            });
        }
        assert!(slabs > 50, "{slabs}");
    }

    /// From 250 mm to so many, its centre line level.
    fn centred(butt_mm: i32) -> bunkside_protocol::LogRecord {
        let mut log = crate::testing::tapered_log(250, butt_mm, 3_600);
        for station in &mut log.stations {
            station.centre_height = Position::um(i64::from(butt_mm) * 500);
        }
        log
    }

    /// The opened face of a log 400 mm thick, for the first product of the order that fits.
    fn opened(products: &[(i32, i32)]) -> Result<Position, LayoutError> {
        let (mill, log) = (powered_mill(), round_log(400, 3_600));
        let setup = Setup::new(&mill, &log).unwrap();
        let lengths = [Length::mm(3_000)];
        let product = |(thickness, width): &(i32, i32)| Product {
            thickness: Length::mm(*thickness),
            width: Length::mm(*width),
            lengths: &lengths,
            most: None,
        };
        let products: std::vec::Vec<Product<'_>> = products.iter().map(product).collect();
        let draft = plain(&setup, &products, Length::mm(25))?;
        Ok(draft.with_plan(|plan| plan.layers.first().unwrap().floor))
    }

    /// Under a face 7 mm below the top there are 104.9 mm, but a slab of 1.5 mm would lie over its kerf of 5.5 mm.
    #[test]
    fn a_first_slab_is_no_sheet() {
        assert_eq!(opened(&[(40, 100)]), Ok(Position::mm(391)));
        assert_eq!(opened(&[(40, 150)]), Ok(Position::mm(385)));
    }

    /// 150 mm wide needs the cube root of 0.02 mm × 150² mm², 7.663 mm, and 0.4 mm for what both faces may be off.
    #[test]
    fn a_board_that_breaks_off_is_not_laid_out() {
        assert_eq!(opened(&[(8, 150)]), Err(LayoutError::NothingFits));
        assert!(opened(&[(9, 150)]).is_ok());
        assert_eq!(opened(&[(8, 150), (40, 100)]), Ok(Position::mm(391)));
    }

    #[test]
    fn a_board_that_would_not_stand_when_it_comes_free_is_not_laid_out() {
        assert_eq!(opened(&[(150, 18)]), Err(LayoutError::NothingFits));
        assert!(opened(&[(144, 18)]).is_ok());
        assert_eq!(opened(&[(145, 18)]), Err(LayoutError::NothingFits));
    }
}
