//! Volume, mass and centroid of the wood that stands.
//!
//! Across, areas are closed forms; along the rails each cell is summed over the stretches between samples and its own
//! ends with three Gauss-Legendre points. That is exact where the area runs as a polynomial of up to the fifth degree,
//! as that of a whole taper does (second). Cells are summed in the order they stand in, so that every machine gets
//! the same bits.

use super::area::{Moments, Outline};
use crate::geometry::{Interval, Section, Shape};
use crate::stock::{Owner, Pick, Stock};

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
    solid(stock, shape, |owner| pick.takes(owner))
}

/// The wood of one free piece; no volume where there is none with this number.
#[must_use]
pub fn piece(stock: &Stock, shape: &Shape, id: u8) -> Solid {
    solid(stock, shape, |owner| owner == Owner::Piece(id))
}

fn solid(stock: &Stock, shape: &Shape, takes: impl Fn(Owner) -> bool) -> Solid {
    let mut sum = Sum::default();
    for (cell, height) in stock.cells().filter(|(cell, _)| takes(cell.owner)) {
        let mut before: Option<Section> = None;
        shape.any_within(cell.travel, false, |section| {
            if let Some(before) = before.replace(*section) {
                sum.stretch(&before, section, cell.across, height);
            }
            false
        });
    }
    sum.solid()
}

/// Places and weights of the three-point rule on a stretch from 0 to 1: Abramowitz and Stegun 25.4.30, table 25.4
/// (from memory): places (1 ± sqrt(3/5))/2 and 1/2, weights 5/18, 8/18, 5/18.
const GAUSS: [(f64, f64); 3] = [
    (0.112_701_665_379_258_31, 5.0 / 18.0),
    (0.5, 8.0 / 18.0),
    (0.887_298_334_620_741_7, 5.0 / 18.0),
];

/// Volume and its moments along, across and up.
#[derive(Default)]
struct Sum {
    volume: f64,
    moments: [f64; 3],
}

impl Sum {
    /// Adds the wood of a window between two samples.
    fn stretch(&mut self, from: &Section, to: &Section, across: Interval, height: Interval) {
        let (start, end) = (
            f64::from(from.travel.as_um()) / 1000.0,
            f64::from(to.travel.as_um()) / 1000.0,
        );
        let (near, far) = (Outline::of(from), Outline::of(to));
        for (place, weight) in GAUSS {
            let slice = near.towards(&far, place).within(across, height);
            self.slice(start + (end - start) * place, (end - start) * weight, &slice);
        }
    }

    fn slice(&mut self, travel: f64, thick: f64, slice: &Moments) {
        let [along, across, height] = &mut self.moments;
        self.volume += thick * slice.area;
        *along += thick * slice.area * travel;
        *across += thick * slice.across;
        *height += thick * slice.height;
    }

    fn solid(&self) -> Solid {
        if self.volume <= 0.0 {
            return Solid::default();
        }
        Solid {
            volume_mm3: self.volume,
            centroid_mm: self.moments.map(|moment| moment / self.volume),
        }
    }
}

#[cfg(test)]
mod tests {
    use bunkside_protocol::{Form, Length, LogRecord, Position, Station, Timber};

    use super::*;
    use crate::geometry::Block;

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
            bark: Length::mm(10),
            timber: Timber::Soft,
            density: 850,
            stiffness: 9_000,
            cutting_energy: 30,
            smooth: false,
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
