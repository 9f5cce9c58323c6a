//! The log cut into slices at Gauss-Legendre places, worked out once: volumes of boxes that run along the whole log
//! are sums over them.
//!
//! A straight log, whatever its taper, takes six places, as does each stretch between few bends; one that bends everywhere takes
//! two between any two samples, because boxes at its outside come and go along it. That is exact where an area runs as a polynomial (of the eleventh degree
//! for six), as those of a whole taper do. All boxes are summed over the same places: what boxes take away adds up, to
//! the last digits, to what the places tell of the wood that is left, so that errors do not pile up from cut to cut.

use bunkside_protocol::Position;
use heapless::Vec;

use super::area::{Moments, Outline};
use super::body::Sum;
use crate::geometry::{Block, Interval, Section, Shape};
use crate::limits::SAMPLES_MAX;

/// Most slices: two between any two samples.
const SLICES_MAX: usize = 2 * (SAMPLES_MAX - 1);

/// A sample this near to the straight line between its neighbours is no bend: it was rounded, micrometres.
const ROUNDED: i64 = 2;

/// Places and weights of the Gauss-Legendre rules of two, three and six points on a stretch from 0 to 1: Abramowitz
/// and Stegun, table 25.4 (from memory; a test holds them against the integrals of powers).
const TWO: [(f64, f64); 2] = [(0.211_324_865_405_187_1, 0.5), (0.788_675_134_594_812_9, 0.5)];
const THREE: [(f64, f64); 3] = [
    (0.112_701_665_379_258_31, 5.0 / 18.0),
    (0.5, 8.0 / 18.0),
    (0.887_298_334_620_741_7, 5.0 / 18.0),
];
const SIX: [(f64, f64); 6] = [
    (0.033_765_242_898_423_99, 0.085_662_246_189_585_17),
    (0.169_395_306_766_867_74, 0.180_380_786_524_069_3),
    (0.380_690_406_958_401_55, 0.233_956_967_286_345_52),
    (0.619_309_593_041_598_5, 0.233_956_967_286_345_52),
    (0.830_604_693_233_132_3, 0.180_380_786_524_069_3),
    (0.966_234_757_101_576, 0.085_662_246_189_585_17),
];

/// One slice: where it lies, how thick it counts, and its outline; micrometres.
#[derive(Clone, Copy, Debug)]
struct Slice {
    travel: f64,
    thick: f64,
    outline: Outline,
}

/// The log in slices.
#[derive(Clone, Debug)]
pub struct Slices {
    slices: Vec<Slice, SLICES_MAX>,
    log: Interval,
}

impl Slices {
    /// Slices a log, whose stations are among the samples of its shape.
    #[must_use]
    pub fn new(shape: &Shape) -> Self {
        let mut slices = Self::none();
        slices.cut(shape);
        slices
    }

    /// Of no log.
    pub(crate) const fn none() -> Self {
        Self {
            slices: Vec::new(),
            log: Interval::new(Position::ZERO, Position::ZERO),
        }
    }

    /// Slices a log, in place.
    pub(crate) fn cut(&mut self, shape: &Shape) {
        let samples = shape.wood();
        let bends = || ends(samples, ROUNDED);
        let rule: &[(f64, f64)] = if bends().nth(5).is_none() { &SIX } else { &TWO };
        self.log = shape.travel();
        self.slices.clear();
        for (from, to) in bends().zip(bends().skip(1)) {
            stretch(samples, [from, to], rule, |slice| {
                // The rules are short enough for the most stretches they are taken for.
                let _ = self.slices.push(slice);
            });
        }
    }

    /// Volume and moments of the log's wood in a box.
    pub(crate) fn sum(&self, shape: &Shape, part: Block) -> Sum {
        if part.travel.meet(self.log) != self.log {
            return fine_sum(shape, part);
        }
        let mut window = Window::new(&part);
        for slice in &self.slices {
            window.add(slice);
        }
        window.sum
    }
}

/// Volume and moments of a log's wood in a box, by three places between any two samples.
pub(crate) fn fine_sum(shape: &Shape, part: Block) -> Sum {
    let mut window = Window::new(&part);
    let samples = shape.wood();
    for pair in samples.windows(2) {
        if let [from, to] = pair {
            let between = part.travel.meet(Interval::new(from.travel, to.travel));
            stretch(samples, [between.lo, between.hi], &THREE, |slice| {
                window.add(&slice);
            });
        }
    }
    window.sum
}

/// What has been found in a box so far.
struct Window {
    low: [f64; 2],
    high: [f64; 2],
    /// Of the window where all of it is wood.
    all: Option<Moments>,
    sum: Sum,
}

impl Window {
    fn new(part: &Block) -> Self {
        let (across, height) = (part.across, part.height);
        Self {
            low: [across.lo.as_um(), height.lo.as_um()].map(f64::from),
            high: [across.hi.as_um(), height.hi.as_um()].map(f64::from),
            all: None,
            sum: Sum::default(),
        }
    }

    fn add(&mut self, slice: &Slice) {
        let moments = slice.outline.within_knowing(self.low, self.high, &mut self.all);
        if moments.area != 0.0 {
            self.sum.slice(slice.travel, slice.thick, &moments);
        }
    }
}

/// Hands on the slices of a stretch.
fn stretch(samples: &[Section], [from, to]: [Position; 2], rule: &[(f64, f64)], mut give: impl FnMut(Slice)) {
    if from >= to {
        return;
    }
    let start = f64::from(from.as_um());
    let length = f64::from(to.as_um()) - start;
    for (place, weight) in rule {
        let travel = start + length * place;
        let place = |section: &Section| f64::from(section.travel.as_um());
        let pair = samples.windows(2).find_map(|pair| match pair {
            [near, far] if place(far) >= travel => Some((near, far)),
            _ => None,
        });
        if let Some((near, far)) = pair {
            let part = (travel - place(near)) / (place(far) - place(near));
            give(Slice {
                travel,
                thick: length * weight,
                outline: Outline::of(near).towards(&Outline::of(far), part),
            });
        }
    }
}

/// Where stretches end that bend by no more than `most` micrometres at any sample: the log's ends included.
fn ends(samples: &[Section], most: i64) -> impl Iterator<Item = Position> + '_ {
    let bends = samples.windows(3).filter_map(move |three| match three {
        [before, here, after] if !straight(before, here, after, most) => Some(here.travel),
        _ => None,
    });
    let first = samples.first().map(|section| section.travel);
    let last = samples.last().map(|section| section.travel);
    first.into_iter().chain(bends).chain(last)
}

/// Whether a section lies near the straight lines from one before it to one after it.
fn straight(before: &Section, here: &Section, after: &Section, most: i64) -> bool {
    let whole = (after.travel - before.travel).wide();
    let part = (here.travel - before.travel).wide();
    let numbers = |section: &Section| {
        let (half_width, half_height, skew) = section.half_diameters();
        let centre = [section.centre_across(), section.centre_height()];
        let [across, height] = centre.map(Position::wide);
        [across, height, half_width.wide(), half_height.wide(), skew.wide()]
    };
    let (before, here, after) = (numbers(before), numbers(here), numbers(after));
    before.iter().zip(here).zip(after).all(|((before, here), after)| {
        ((here - before) * whole - (after - before) * part).abs() <= most * whole
    })
}
