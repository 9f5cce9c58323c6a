//! Volume and centroid of what stands, finer than the strips of the fine model by far.
//!
//! The fine model tells whose the wood of a strip is; how much of it there is, is summed here over two places across each
//! strip and three along each slice (Gauss-Legendre), from the standing chord that the ellipse's own formula has there. A
//! corner of wood that no strip's middle meets belongs to whom the nearest strip's wood at the same height does.

use bunkside_planner::geometry::{Block, Interval};
use bunkside_planner::physics::body::Solid;
use bunkside_protocol::{LogRecord, Position};

use super::sections::Ellipse;
use super::voxels::{Owner, SLICES, STRIP, Voxels, at, corners, inside, sections};

/// Gauss-Legendre places and weights on a stretch from 0 to 1 (Abramowitz and Stegun, table 25.4).
const ALONG: [(f64, f64); 3] = [
    (0.112_701_665_379_258_3, 5.0 / 18.0),
    (0.5, 8.0 / 18.0),
    (0.887_298_334_620_741_7, 5.0 / 18.0),
];
const ACROSS: [f64; 2] = [0.211_324_865_405_187_1, 0.788_675_134_594_812_9];

/// Where the owner of a corner is looked for: strips and slices further on, nearest first.
const AROUND: [(isize, isize); 12] = [
    (0, 1),
    (0, -1),
    (1, 0),
    (-1, 0),
    (1, 1),
    (1, -1),
    (-1, 1),
    (-1, -1),
    (0, 2),
    (0, -2),
    (2, 0),
    (-2, 0),
];

/// A standing line of wood: where, between which heights, and the area it stands for; micrometres.
struct Column {
    along: f64,
    across: f64,
    low: f64,
    high: f64,
    base: f64,
}

/// The heights between which wood of the body may stand in a strip.
type Bands = Vec<[f64; 2]>;

/// What stands of the log.
pub(super) struct Exact {
    columns: Vec<Column>,
    /// Where the columns of each strip begin.
    firsts: Vec<usize>,
    bands: Vec<Bands>,
    /// Of the body, as long as nothing more is carved.
    sum: Sum,
    strips: usize,
    left: f64,
    start: f64,
    slice: f64,
}

/// A sum of wood: cubic millimetres, and their moments.
#[derive(Clone, Copy, Debug, Default)]
struct Sum {
    volume: f64,
    moments: [f64; 3],
}

impl Sum {
    fn add(&mut self, column: &Column, [low, high]: [f64; 2]) {
        if low < high {
            let volume = column.base * (high - low) * 1e-9;
            self.volume += volume;
            let places = [column.along, column.across, (low + high) / 2.0];
            for (moment, place) in self.moments.iter_mut().zip(places) {
                *moment += volume * place * 1e-3;
            }
        }
    }

    fn solid(&self) -> (f64, [f64; 3]) {
        (self.volume, self.moments.map(|moment| moment / self.volume))
    }
}

impl Exact {
    /// The whole log, in the strips of a fine model.
    pub(super) fn new(record: &LogRecord, voxels: &Voxels) -> Self {
        let sections = sections(record);
        let (mut columns, mut firsts) = (Vec::new(), vec![0]);
        for slice in 0..SLICES {
            let begin = voxels.middle(slice) - voxels.slice() / 2.0;
            let ellipses = ALONG.map(|(place, weight)| {
                let along = begin + place * voxels.slice();
                (along, weight * voxels.slice(), at(&sections, along))
            });
            for strip in 0..voxels.strips() {
                for (along, thick, ellipse) in &ellipses {
                    let left = voxels.left() + strip as f64 * STRIP;
                    let places = ACROSS.map(|place| left + place * STRIP);
                    let held = places.map(|across| column(ellipse, [*along, across], thick * STRIP / 2.0));
                    columns.extend(held.into_iter().flatten());
                }
                firsts.push(columns.len());
            }
        }
        let bands = vec![vec![[f64::MIN, f64::MAX]]; firsts.len() - 1];
        let mut whole = Self {
            columns,
            firsts,
            bands,
            sum: Sum::default(),
            strips: voxels.strips(),
            left: voxels.left(),
            start: voxels.begin(0).as_um().into(),
            slice: voxels.slice(),
        };
        whole.sum = whole.total();
        whole
    }

    /// Takes a kerf out, and what came free by it in the fine model, which was carved before.
    pub(super) fn carve(&mut self, kerf: Block, voxels: &Voxels) {
        let [along, across, up] = corners(kerf);
        for (place, bands) in self.bands.iter_mut().enumerate() {
            let [z, x] = voxels.place(place);
            if inside(z, along) && inside(x, across) {
                *bands = without(bands, up);
            }
            bands.retain(|band| !matches!(owner(voxels, place, *band), Some(Owner::Piece(_))));
        }
        self.sum = self.total();
    }

    /// The body told holds what stands without its wood in a box, to a thousandth of its volume, and balances where it
    /// does, to a tenth of a millimetre.
    pub(super) fn compare(&self, told: &Solid, gone: Option<Block>, what: &str) {
        let mut sum = self.sum;
        if let Some(gone) = gone {
            self.take(&mut sum, gone);
        }
        let (volume, centroid) = sum.solid();
        let off = (told.volume_mm3 - volume).abs() / volume;
        assert!(off <= 0.001, "{what}: off by {off} of {volume} mm³");
        for (told, expected) in told.centroid_mm.into_iter().zip(centroid) {
            assert!(
                (told - expected).abs() <= 0.1,
                "{what}: {told} mm is not {expected}"
            );
        }
    }

    fn total(&self) -> Sum {
        let mut sum = Sum::default();
        for (place, bands) in self.bands.iter().enumerate() {
            for column in self.of(place) {
                for [low, high] in bands {
                    sum.add(column, [low.max(column.low), high.min(column.high)]);
                }
            }
        }
        sum
    }

    /// Takes what stands in a box from a sum. Of a slice that the box ends in, a part in proportion.
    fn take(&self, sum: &mut Sum, gone: Block) {
        let [along, across, up] = corners(gone);
        for (place, bands) in self.bands.iter().enumerate() {
            let begin = self.start + (place / self.strips) as f64 * self.slice;
            let (from, to) = (begin.max(along[0]), (begin + self.slice).min(along[1]));
            let x = self.left + ((place % self.strips) as f64 + 0.5) * STRIP;
            if from >= to || !inside(x, across) {
                continue;
            }
            let part = (to - from) / self.slice;
            for column in self.of(place) {
                let cut = Column {
                    along: if part < 1.0 {
                        (from + to) / 2.0
                    } else {
                        column.along
                    },
                    base: -part * column.base,
                    ..*column
                };
                for [low, high] in bands {
                    let (low, high) = (low.max(column.low), high.min(column.high));
                    sum.add(&cut, [low.max(up[0]), high.min(up[1])]);
                }
            }
        }
    }

    /// The columns of a strip.
    fn of(&self, place: usize) -> &[Column] {
        &self.columns[self.firsts[place]..self.firsts[place + 1]]
    }
}

/// The wood of an ellipse at a place along and across.
fn column(ellipse: &Ellipse, [along, across]: [f64; 2], base: f64) -> Option<Column> {
    let [low, high] = ellipse.wood(across)?;
    Some(Column {
        along,
        across,
        low,
        high,
        base,
    })
}

/// Bands without what lies between two heights.
fn without(bands: &Bands, [from, to]: [f64; 2]) -> Bands {
    let parts = bands
        .iter()
        .flat_map(|[low, high]| [[*low, high.min(from)], [low.max(to), *high]]);
    parts.filter(|[low, high]| low < high).collect()
}

/// Whose the wood of a band is, or of the same band as near as there is any.
fn owner(voxels: &Voxels, place: usize, band: [f64; 2]) -> Option<Owner> {
    let (slice, strip) = (place / voxels.strips(), place % voxels.strips());
    voxels.owner(place, band).or_else(|| {
        AROUND.iter().find_map(|(further, beside)| {
            let slice = slice
                .checked_add_signed(*further)
                .filter(|slice| *slice < SLICES)?;
            let strip = strip
                .checked_add_signed(*beside)
                .filter(|strip| *strip < voxels.strips())?;
            voxels.owner(slice * voxels.strips() + strip, band)
        })
    })
}

/// A cone's frustum, V = π L (R² + R r + r²)/3 with its centroid L (R² + 2 R r + 3 r²)/(4 (R² + R r + r²)) from the wide end, and
/// its lower half (standard closed forms).
#[test]
fn the_lines_of_wood_sum_up_to_a_frustum() {
    let mut record = super::sections::blank_record();
    for (travel, radius) in [(0, 200_000.0), (4_000, 150_000.0)] {
        let station = super::sections::turned(travel, [0, 300_000], [radius, radius], 0.0);
        record.stations.push(station).expect("two fit");
    }
    let mut voxels = Voxels::new(&record, &[5, 58]);
    let mut exact = Exact::new(&record, &voxels);
    let (wide, narrow) = (200.0, 150.0);
    let squares = wide * wide + wide * narrow + narrow * narrow;
    let whole = std::f64::consts::PI * 4_000.0 * squares / 3.0;
    let along = 4_000.0 * (wide * wide + 2.0 * wide * narrow + 3.0 * narrow * narrow) / (4.0 * squares);
    let near = |told: f64, expected: f64, within: f64| {
        assert!((told - expected).abs() <= within, "{told} is not {expected}");
    };
    let (volume, [z, x, y]) = exact.sum.solid();
    near(volume, whole, 1e-5 * whole);
    near(z, along, 0.001);
    near(x, 0.0, 0.001);
    near(y, 300.0, 0.001);
    // A kerf over the middle leaves the lower half.
    let over = Block {
        travel: Interval::ALL,
        across: Interval::ALL,
        height: Interval::new(Position::mm(300), Position::mm(305)),
    };
    voxels.carve(over);
    exact.carve(over, &voxels);
    let (volume, [z, _, y]) = exact.sum.solid();
    near(volume, whole / 2.0, 1e-5 * whole);
    near(z, along, 0.002);
    // Of half a disc the centroid lies 4 r/3π from its diameter; the mean of r³ over that of r².
    let cubes = (wide * wide + narrow * narrow) * (wide + narrow) / 4.0;
    near(
        300.0 - y,
        4.0 / (3.0 * std::f64::consts::PI) * cubes / (squares / 3.0),
        0.002,
    );
}
