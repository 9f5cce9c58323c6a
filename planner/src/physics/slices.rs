//! The log cut into slices at Gauss-Legendre places, worked out once: volumes of boxes that run along the whole log
//! are sums over them.
//!
//! A straight log, whatever its taper, takes six places, as does each stretch between few bends, and each half of the two on
//! either side of a single one: a kerf comes and goes anywhere along a log that is bowed. The more it bends the
//! fewer places a stretch takes, because it is shorter: four, three, and two where the log bends at every sample. That is
//! exact where an area runs as a polynomial (of the eleventh degree for six), as those of a whole taper do. All boxes are
//! summed over the same places: what boxes take away adds up, to the last digits, to what the places tell of the wood that
//! is left, so that errors do not pile up from cut to cut.

use bunkside_protocol::{Length, Position};
use heapless::Vec;

use super::area::{Moments, Outline};
use super::body::Sum;
use crate::geometry::{Block, Interval, Section, Shape};
use crate::limits::SAMPLES_MAX;

/// Most slices: two between any two samples.
const SLICES_MAX: usize = 2 * (SAMPLES_MAX - 1);

/// A sample this near to the straight line between its neighbours is no bend: it was rounded, micrometres.
const ROUNDED: i64 = 2;

/// Places and weights of the Gauss-Legendre rules of two, three, four and six points on a stretch from 0 to 1: Abramowitz
/// and Stegun, table 25.4 (from memory; a test holds them against the integrals of powers).
const TWO: [(f64, f64); 2] = [(0.211_324_865_405_187_1, 0.5), (0.788_675_134_594_812_9, 0.5)];
const THREE: [(f64, f64); 3] = [
    (0.112_701_665_379_258_31, 5.0 / 18.0),
    (0.5, 8.0 / 18.0),
    (0.887_298_334_620_741_7, 5.0 / 18.0),
];
const FOUR: [(f64, f64); 4] = [
    (0.069_431_844_202_973_71, 0.173_927_422_568_726_93),
    (0.330_009_478_207_571_87, 0.326_072_577_431_273_07),
    (0.669_990_521_792_428_1, 0.326_072_577_431_273_07),
    (0.930_568_155_797_026_3, 0.173_927_422_568_726_93),
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
        let stretches = bends().skip(1).fold(0_usize, |count, _| count.saturating_add(1));
        let rules: [&[(f64, f64)]; 3] = [&SIX, &FOUR, &THREE];
        let finest = rules
            .into_iter()
            .find(|rule| stretches * rule.len() <= SLICES_MAX);
        let rule = finest.unwrap_or(&TWO);
        let parts = if stretches == 2 { 2 } else { 1 };
        self.log = shape.travel();
        self.slices.clear();
        for (from, to) in bends().zip(bends().skip(1)) {
            for part in 0..parts {
                let place = |part: i64| from + Length::um((to - from).wide() * part / parts);
                stretch(samples, [place(part), place(part + 1)], rule, |slice| {
                    // The rules are short enough for the most stretches they are taken for.
                    let _ = self.slices.push(slice);
                });
            }
        }
    }

    /// Whether the log bends nowhere.
    pub(crate) fn straight(&self) -> bool {
        self.slices.len() <= SIX.len()
    }

    /// Volume and moments of the log's wood in a box.
    pub(crate) fn sum(&self, shape: &Shape, part: Block) -> Sum {
        if part.travel.meet(self.log) != self.log {
            return fine_sum(shape, part);
        }
        let mut window = Window::new(&part.meet(shape.left()));
        for slice in &self.slices {
            window.add(slice);
        }
        window.sum
    }
}

/// Volume and moments of a log's wood in a box, by three places between any two samples.
pub(crate) fn fine_sum(shape: &Shape, part: Block) -> Sum {
    let mut window = Window::new(&part.meet(shape.left()));
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

#[cfg(test)]
mod tests {
    use bunkside_protocol::Length;

    use super::*;
    use crate::testing::round_log;

    /// A rule of n places is exact for powers up to 2 n - 1 (theorem): ∫ x^k from 0 to 1 is 1/(k + 1).
    #[test]
    fn the_rules_integrate_powers() {
        let rules: [&[(f64, f64)]; 4] = [&TWO, &THREE, &FOUR, &SIX];
        for rule in rules {
            let mut due = 1.0;
            let mut powers: std::vec::Vec<f64> = rule.iter().map(|(_, weight)| *weight).collect();
            for _ in 0..2 * rule.len() {
                let sum: f64 = powers.iter().sum();
                assert!((sum - 1.0 / due).abs() < 1e-15, "{sum} is not 1/{due}");
                for (power, (place, _)) in powers.iter_mut().zip(rule) {
                    *power *= place;
                }
                due += 1.0;
            }
            let beyond: f64 = powers.iter().sum();
            assert!((beyond - 1.0 / due).abs() > 1e-9, "no rule is exact for more");
        }
    }

    /// A log that bends at every station, its stations as far apart as they can be.
    #[test]
    fn every_log_fits_whole_and_in_as_many_slices_as_there_is_room_for() {
        for (stretches, slices) in [
            (1, 6),
            (2, 24),
            (5, 30),
            (6, 24),
            (8, 32),
            (9, 27),
            (10, 30),
            (11, 22),
            (16, 32),
        ] {
            let mut log = round_log(300, 4_000);
            let station = log.stations[0];
            log.stations.clear();
            for number in 0..=stretches {
                let mut station = station;
                station.travel = Position::mm(4_000 * number / stretches);
                station.centre_across = Position::mm(if number % 2 == 0 { 0 } else { 20 });
                log.stations.push(station).unwrap();
            }
            let shape = Shape::new(&log).unwrap();
            let cut = Slices::new(&shape);
            assert_eq!(cut.slices.len(), slices, "{stretches} stretches");
            let thick: f64 = cut.slices.iter().map(|slice| slice.thick).sum();
            let whole = f64::from(Length::mm(4_000).as_um());
            assert!((thick - whole).abs() < 1e-6 * whole, "{thick}");
        }
    }
}
