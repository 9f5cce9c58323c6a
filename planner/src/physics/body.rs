//! Volume, mass and centroid of the wood that stands.
//!
//! Across, areas are closed forms; along the rails they are summed over slices (see `slices.rs`). [`body`] and [`piece`]
//! sum all the cells of the stock over fine slices, in the order they stand in. [`Standing`] keeps the body's numbers while it is
//! sawn: each cut takes away the kerf's wood, the pieces that came free, and what was too thin to be a piece.
//! All of it is plain arithmetic in a fixed order, so that every machine gets the same bits.

use bunkside_protocol::{Length, Position};

use super::area::{self, Moments};
use super::slices::{Slices, fine_sum};
use crate::geometry::{Block, Shape};
use crate::stock::{NotJudged, Owner, Pick, Stock};

/// A solid's volume and where it balances.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Solid {
    /// Cubic millimetres.
    pub volume_mm3: f64,
    /// Travel, across, height in millimetres; the origin where there is no volume.
    pub centroid_mm: [f64; 3],
}

impl Solid {
    /// Kilograms at a density in kilograms a cubic metre.
    #[must_use]
    pub fn mass_kg(&self, density: u16) -> f64 {
        self.volume_mm3 * 1e-9 * f64::from(density)
    }
}

/// The wood of the body, of all free pieces, or all there is; bark not counted.
#[must_use]
pub fn body(stock: &Stock, shape: &Shape, pick: Pick) -> Solid {
    owned(stock, |owner| pick.takes(owner), |part| fine_sum(shape, part)).solid()
}

/// The wood of one free piece; no volume where there is none with this number.
#[must_use]
pub fn piece(stock: &Stock, shape: &Shape, id: u8) -> Solid {
    owned(
        stock,
        |owner| owner == Owner::Piece(id),
        |part| fine_sum(shape, part),
    )
    .solid()
}

/// The same by the places at which the log is sliced, which takes less.
pub(crate) fn piece_sliced(slices: &Slices, stock: &Stock, shape: &Shape, id: u8) -> Solid {
    owned(
        stock,
        |owner| owner == Owner::Piece(id),
        |part| slices.sum(shape, part),
    )
    .solid()
}

/// What one free piece weighs with its bark, about, as dense as the wood: kilograms for kilograms a cubic metre.
#[must_use]
pub fn piece_with_bark_kg(stock: &Stock, shape: &Shape, id: u8, density: u16) -> f64 {
    let mut solid = piece(stock, shape, id);
    solid.volume_mm3 += bark_mm3(stock, shape, id);
    solid.mass_kg(density)
}

/// The same of what a choice takes.
#[must_use]
pub fn body_with_bark_kg(stock: &Stock, shape: &Shape, pick: Pick, density: u16) -> f64 {
    let mut solid = body(stock, shape, pick);
    solid.volume_mm3 += owned_bark_mm3(stock, shape, |owner| pick.takes(owner));
    solid.mass_kg(density)
}

/// About how much bark is on one free piece, cubic millimetres: by what is in its boxes at five places along them.
pub(crate) fn bark_mm3(stock: &Stock, shape: &Shape, id: u8) -> f64 {
    owned_bark_mm3(stock, shape, |owner| owner == Owner::Piece(id))
}

fn owned_bark_mm3(stock: &Stock, shape: &Shape, takes: impl Fn(Owner) -> bool) -> f64 {
    if shape.bark() == Length::ZERO {
        return 0.0;
    }
    let own = stock.cells().filter(|(cell, _)| takes(cell.owner));
    own.map(|(cell, height)| {
        let along = cell.travel.meet(shape.travel());
        let area = |place: Position| {
            let sections = [shape.rough_at(place), shape.wood_at(place)];
            let [rough, wood] = sections.map(|section| {
                section.map_or(0.0, |section| area::moments(&section, cell.across, height).area)
            });
            rough - wood
        };
        // Simpson's rule, twice.
        let places = [(0, 1.0), (1, 4.0), (2, 2.0), (3, 4.0), (4, 1.0)];
        let areas = places
            .map(|(part, weight)| weight * area(along.lo + Length::um(along.length().wide() * part / 4)));
        areas.iter().sum::<f64>() / 12.0 * f64::from(along.length().as_um()) * 1e-3
    })
    .sum()
}

/// What is in the cells of some owners.
fn owned(stock: &Stock, takes: impl Fn(Owner) -> bool, inside: impl Fn(Block) -> Sum) -> Sum {
    let mut sum = Sum::default();
    for (cell, height) in stock.cells().filter(|(cell, _)| takes(cell.owner)) {
        sum.add(&inside(cell.block(height)));
    }
    sum
}

/// The body's numbers, kept while it is sawn.
#[derive(Clone, Copy, Debug)]
pub struct Standing {
    sum: Sum,
}

impl Standing {
    /// The uncut log.
    #[must_use]
    pub fn new(slices: &Slices, shape: &Shape) -> Self {
        Self {
            sum: slices.sum(shape, Block::ALL),
        }
    }

    /// Takes a kerf out of the stock, as [`Stock::carve`] does, and what the body loses by it out of these numbers.
    ///
    /// # Errors
    ///
    /// [`NotJudged`] where a capacity is exceeded; stock and numbers are then of no further use.
    pub fn carve(
        &mut self,
        slices: &Slices,
        shape: &Shape,
        stock: &mut Stock,
        kerf: Block,
    ) -> Result<usize, NotJudged> {
        let taken = taken(slices, shape, stock, kerf);
        self.carve_taken(slices, shape, stock, kerf, &taken)
    }

    /// The same, where what the kerf takes is known already.
    pub(crate) fn carve_taken(
        &mut self,
        slices: &Slices,
        shape: &Shape,
        stock: &mut Stock,
        kerf: Block,
        taken: &Sum,
    ) -> Result<usize, NotJudged> {
        self.sum.take(taken);
        let freed = stock.carve_telling(shape, kerf, &mut |lost| self.sum.take(&slices.sum(shape, lost)))?;
        let new = stock.newest(freed);
        if !new.is_empty() {
            let loose = |owner| match owner {
                Owner::Body => false,
                Owner::Piece(id) => new.iter().any(|piece| piece.id == id),
            };
            self.sum
                .take(&owned(stock, loose, |part| slices.sum(shape, part)));
        }
        Ok(freed)
    }

    /// The body as it stands.
    #[must_use]
    pub fn solid(&self) -> Solid {
        self.sum.solid()
    }
}

/// What wood of the body a kerf takes, as [`Standing`] counts it.
#[must_use]
pub fn in_kerf(slices: &Slices, shape: &Shape, stock: &Stock, kerf: Block) -> Solid {
    taken(slices, shape, stock, kerf).solid()
}

/// The body's wood in a kerf.
pub(crate) fn taken(slices: &Slices, shape: &Shape, stock: &Stock, kerf: Block) -> Sum {
    let mut sum = Sum::default();
    for (cell, height) in stock.cells().filter(|(cell, _)| cell.owner == Owner::Body) {
        let part = cell.block(height).meet(kerf);
        if !part.is_empty() {
            sum.add(&slices.sum(shape, part));
        }
    }
    sum
}

/// Volume and its moments along, across and up, micrometres.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Sum {
    volume: f64,
    moments: [f64; 3],
}

impl Sum {
    pub(super) fn slice(&mut self, travel: f64, thick: f64, slice: &Moments) {
        let [along, across, height] = &mut self.moments;
        let volume = thick * slice.area;
        self.volume += volume;
        *along += volume * travel;
        *across += thick * slice.across;
        *height += thick * slice.height;
    }

    fn add(&mut self, other: &Self) {
        self.volume += other.volume;
        for (mine, more) in self.moments.iter_mut().zip(other.moments) {
            *mine += more;
        }
    }

    fn take(&mut self, other: &Self) {
        self.volume -= other.volume;
        for (mine, less) in self.moments.iter_mut().zip(other.moments) {
            *mine -= less;
        }
    }

    pub(crate) fn solid(&self) -> Solid {
        // What is less than a cubic millimetre is what rounding has left.
        if self.volume <= 1e9 {
            return Solid::default();
        }
        let to_mm = 1e-3 / self.volume;
        Solid {
            volume_mm3: self.volume * 1e-9,
            centroid_mm: self.moments.map(|moment| moment * to_mm),
        }
    }
}

#[cfg(test)]
mod tests {
    use bunkside_protocol::{Form, Length, LogRecord, Position, Sawn, Station, Surface, Timber};

    use super::*;
    use crate::geometry::{Block, Interval};

    fn station(travel_um: i64, radius_um: i64) -> Station {
        Station {
            travel: Position::um(travel_um),
            centre_across: Position::mm(20),
            centre_height: Position::mm(300),
            half_width: Length::um(radius_um),
            half_height: Length::um(radius_um),
            skew: Length::ZERO,
        }
    }

    fn log(form: Form, stations: impl IntoIterator<Item = Station>) -> Shape {
        let mut record = LogRecord {
            form,
            stations: heapless::Vec::new(),
            sawn: Sawn::NONE,
            bark: Length::mm(10),
            timber: Timber::Soft,
            density: 850,
            stiffness: 9_000,
            cutting_energy: 30,
            surface: Surface::Barked,
            bed_clearance: Length::ZERO,
            between_bunks: None,
            metal: heapless::Vec::new(),
        };
        record.stations.extend(stations);
        Shape::new(&record).unwrap()
    }

    fn whole(shape: &Shape) -> Solid {
        body(&Stock::new(shape, []), shape, Pick::Body)
    }

    fn near(told: f64, expected: f64, share: f64) {
        assert!(
            (told - expected).abs() <= share * expected.abs(),
            "{told} is not {expected}"
        );
    }

    /// Two-end conic volumes, f (ds² + ds dl + dl²) L/3: Briggs 1994, Forest Products Measurements and Conversion
    /// Factors, table 2-1; worked values computed from it.
    /// Samples between the ends are rounded to a micrometre.
    #[test]
    fn tapered_logs_have_the_two_end_conic_volume() {
        let metric = whole(&log(
            Form::Round,
            [station(0, 150_000), station(4_800_000, 185_000)],
        ));
        near(metric.volume_mm3 * 1e-9, 0.424_618, 1e-5);
        let foot = 304_800.0 * 1e-3;
        let inches = whole(&log(
            Form::Round,
            [station(0, 127_000), station(4_876_800, 158_750)],
        ));
        near(inches.volume_mm3 / (foot * foot * foot), 11.090_1, 1e-5);
    }

    /// Mass of a 0.40 m by 4.8 m cylinder, 0.6031858 m³: white oak at 64 % moisture weighs 984 kg/m³ and 593.535 kg
    /// (density from the Wood Handbook's formula 1000 Gb (1 + MC)).
    #[test]
    fn a_cylinder_weighs_what_its_density_says() {
        let found = whole(&log(
            Form::Round,
            [station(600_000, 200_000), station(5_400_000, 200_000)],
        ));
        near(found.volume_mm3 * 1e-9, 0.603_185_8, 1e-7);
        near(found.mass_kg(984), 593.535, 1e-6);
        for (told, expected) in found.centroid_mm.into_iter().zip([3_000.0, 20.0, 300.0]) {
            near(told, expected, 1e-12);
        }
    }

    /// Frustum: V = π L (R² + R r + r²)/3, centroid L (R² + 2 R r + 3 r²)/(4 (R² + R r + r²)) from the end with R.
    #[test]
    fn a_frustum_agrees_with_its_closed_form() {
        let (length, big, small) = (4_000.0, 200.0, 8.0);
        let found = whole(&log(
            Form::Round,
            [station(0, 200_000), station(4_000_000, 8_000)],
        ));
        let sum = big * big + big * small + small * small;
        near(
            found.volume_mm3,
            core::f64::consts::PI * length * sum / 3.0,
            1e-12,
        );
        let along = length * (big * big + 2.0 * big * small + 3.0 * small * small) / (4.0 * sum);
        near(found.centroid_mm[0], along, 1e-12);
    }

    /// Solids of 40 cm butt, no tip, 4 m: Smalian and Huber are exact for the paraboloid, 0.251327 m³, Newton for the
    /// cone, 0.167552, and the neiloid, 0.125664 (identities of the solids; formulas in Briggs 1994, table 2-1).
    /// Stations join the curves by straight lines, hence the tolerance.
    #[test]
    fn solids_of_revolution_have_their_volumes() {
        for (power, volume, share) in [
            (0.5, 0.251_327, 0.002),
            (1.0, 0.167_552, 0.005),
            (1.5, 0.125_664, 0.01),
        ] {
            let stations = (0..17).map(|number| {
                // Close together near the tip, where the paraboloid is steep.
                let part = libm::pow(f64::from(number) / 16.0, 2.0);
                let radius =
                    Length::um(libm::round(libm::pow(part, power) * 200_000.0) as i64).max(Length::mm(1));
                station(libm::round(part * 4e6) as i64, radius.wide())
            });
            let found = whole(&log(Form::Round, stations));
            near(found.volume_mm3 * 1e-9, volume, share);
        }
    }

    /// What is cut off and what stays, kerf included, are the whole; volumes along one plane are segments times
    /// length.
    #[test]
    fn parts_add_up_to_the_whole() {
        let shape = log(Form::Round, [station(0, 200_000), station(3_000_000, 200_000)]);
        let mut stock = Stock::new(&shape, []);
        let all = whole(&shape).volume_mm3;
        let kerf = Block {
            travel: Interval::ALL,
            across: Interval::ALL,
            height: Interval::new(Position::mm(440), Position::mm(445)),
        };
        assert_eq!(stock.carve(&shape, kerf), Ok(1));
        // The segment of 60 mm in R 200 has 11 819.9536 mm² (closed form).
        let slab = 11_819.953_6 * 3_000.0;
        let piece = piece(&stock, &shape, stock.pieces()[0].id);
        assert!(piece.volume_mm3 < slab && slab - piece.volume_mm3 < 286.0 * 5.0 * 3_000.0);
        let body = body(&stock, &shape, Pick::Body).volume_mm3;
        near(body, all - slab, 1e-7);
        assert_eq!(super::piece(&stock, &shape, 99), Solid::default());
    }
}
