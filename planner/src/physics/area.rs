//! Area and first moments of a section's wood in a window.
//!
//! The ellipse is the unit disc under an affine map, `across = c + w p + s q`, `height = d + h q`; the window's upright
//! edges become two slanted lines. At every `q` the wood lies between those lines, each held within the disc:
//!
//! ```text
//! wood from clamp(left(q)) to clamp(right(q)), where clamp holds p within ± sqrt(1 - q²)
//! ```
//!
//! So the window's area and moments are what lies to the left of its right edge less what lies to the left of its
//! left edge. An edge runs in the disc over at most one stretch of `q`, where its integrals are polynomials; before and
//! after it they are those of the arc, in closed form:
//!
//! ```text
//! ∫ √(1-q²) dq    = (q √(1-q²) + asin q) / 2
//! ∫ (1-q²)/2 dq   = (q - q³/3) / 2
//! ∫ q √(1-q²) dq  = -√(1-q²)³ / 3
//! ```

use bunkside_protocol::Form;

use crate::geometry::{Interval, Section};

/// An area with its first moments: what a centroid and a volume are made of.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Moments {
    /// Square millimetres.
    pub area: f64,
    /// Area times place across, cubic millimetres.
    pub across: f64,
    /// Area times height above the bed, cubic millimetres.
    pub height: f64,
}

impl Moments {
    /// Where the area balances: across and height in millimetres; none where there is no area.
    #[must_use]
    pub fn centroid(&self) -> Option<[f64; 2]> {
        (self.area > 0.0).then(|| [self.across / self.area, self.height / self.area])
    }

    /// A rectangle between its lowest and its highest corner.
    fn rectangle([left, low]: [f64; 2], [right, high]: [f64; 2]) -> Self {
        let area = (right - left) * (high - low);
        Self {
            area,
            across: area * (left + right) * 0.5,
            height: area * (low + high) * 0.5,
        }
    }
}

/// The numbers of a section, in micrometres: on the controller as on the host.
#[derive(Clone, Copy, Debug)]
pub(super) struct Outline {
    form: Form,
    centre: [f64; 2],
    half_width: f64,
    half_height: f64,
    skew: f64,
}

impl Outline {
    pub(super) fn of(section: &Section) -> Self {
        let (half_width, half_height, skew) = section.half_diameters();
        Self {
            form: section.form(),
            centre: [section.centre_across(), section.centre_height()].map(|place| f64::from(place.as_um())),
            half_width: f64::from(half_width.as_um()),
            half_height: f64::from(half_height.as_um()),
            skew: f64::from(skew.as_um()),
        }
    }

    /// Part of the way to another one, unrounded.
    pub(super) fn towards(&self, other: &Self, part: f64) -> Self {
        let mix = |a: f64, b: f64| a + (b - a) * part;
        let ([ax, ay], [bx, by]) = (self.centre, other.centre);
        Self {
            form: self.form,
            centre: [mix(ax, bx), mix(ay, by)],
            half_width: mix(self.half_width, other.half_width),
            half_height: mix(self.half_height, other.half_height),
            skew: mix(self.skew, other.skew),
        }
    }

    /// Area and moments of the wood in a window, in micrometres; the window's lowest and highest corner.
    pub(super) fn within(&self, low: [f64; 2], high: [f64; 2]) -> Moments {
        self.within_knowing(low, high, &mut None)
    }

    /// The same; a window that is all wood is worked out once.
    pub(super) fn within_knowing(&self, low: [f64; 2], high: [f64; 2], all: &mut Option<Moments>) -> Moments {
        match self.form {
            Form::Square => self.rectangle_within(low, high),
            Form::Round => self.ellipse_within(low, high, all),
        }
    }

    fn rectangle_within(&self, [left, low]: [f64; 2], [right, high]: [f64; 2]) -> Moments {
        let [x, y] = self.centre;
        let (left, right) = (
            libm::fmax(left, x - self.half_width),
            libm::fmin(right, x + self.half_width),
        );
        let (low, high) = (
            libm::fmax(low, y - self.half_height),
            libm::fmin(high, y + self.half_height),
        );
        if left >= right || low >= high {
            return Moments::default();
        }
        Moments::rectangle([left, low], [right, high])
    }

    fn ellipse_within(
        &self,
        [left, low]: [f64; 2],
        [right, high]: [f64; 2],
        all: &mut Option<Moments>,
    ) -> Moments {
        let [x, y] = self.centre;
        let window = [[left - x, low - y], [right - x, high - y]];
        let [[entry, under], [exit, over]] = window;
        if under >= self.half_height || over <= -self.half_height {
            return Moments::default();
        }
        if self.holds_all(window) {
            return *all.get_or_insert_with(|| Moments::rectangle([left, low], [right, high]));
        }
        let (per_width, per_height) = (1.0 / self.half_width, 1.0 / self.half_height);
        let from = libm::fmax(under * per_height, -1.0);
        let to = libm::fmin(over * per_height, 1.0);
        let arcs = Arcs::new(from, to);
        let edge = |across: f64| Edge::new(across * per_width, self.skew * per_width, from, to);
        let mut disc = Moments::default();
        edge(exit).add(&mut disc, &arcs, 1.0);
        edge(entry).add(&mut disc, &arcs, -1.0);
        let scale = self.half_width * self.half_height;
        let area = disc.area * scale;
        Moments {
            area,
            across: x * area + scale * (self.half_width * disc.across + self.skew * disc.height),
            height: y * area + scale * self.half_height * disc.height,
        }
    }

    /// Whether a whole window, told from the centre, lies in the ellipse. Without skew that is as its furthest corner does.
    fn holds_all(&self, [[entry, under], [exit, over]]: [[f64; 2]; 2]) -> bool {
        if self.skew == 0.0 {
            let further = |one: f64, other: f64| if -one > other { one } else { other };
            self.holds([further(entry, exit), further(under, over)])
        } else {
            self.holds([entry, under])
                && self.holds([exit, under])
                && self.holds([exit, over])
                && self.holds([entry, over])
        }
    }

    /// Whether a point, told from the centre, lies in the ellipse.
    fn holds(&self, [across, height]: [f64; 2]) -> bool {
        let (wide, high) = (self.half_width, self.half_height);
        if self.skew == 0.0 {
            let (p, q) = (across * high, height * wide);
            let rim = wide * high;
            p * p + q * q <= rim * rim
        } else {
            let (p, q) = (across * high - self.skew * height, height * wide);
            let rim = wide * high;
            p * p + q * q <= rim * rim
        }
    }
}

/// Area and moments of a section's wood in a window, stretches across and up.
///
/// The numbers of the section are exact; the result is within a few units in the last place of the section's area.
#[must_use]
pub fn moments(section: &Section, across: Interval, height: Interval) -> Moments {
    let (across, height) = section.left_of(across, height);
    let found = Outline::of(section).within(
        [across.lo.as_um(), height.lo.as_um()].map(f64::from),
        [across.hi.as_um(), height.hi.as_um()].map(f64::from),
    );
    Moments {
        area: found.area * 1e-6,
        across: found.across * 1e-9,
        height: found.height * 1e-9,
    }
}

/// One upright edge of a window in the plane of the disc: the line `p = middle - lean q` from one `q` to another.
struct Edge {
    middle: f64,
    lean: f64,
    from: f64,
    to: f64,
    /// Where it is at either end.
    ends: [f64; 2],
    /// Whether all of it lies in the disc.
    inside: bool,
}

impl Edge {
    fn new(middle: f64, lean: f64, from: f64, to: f64) -> Self {
        let ends = if lean == 0.0 {
            [middle; 2]
        } else {
            [middle - lean * from, middle - lean * to]
        };
        let [start, end] = ends;
        // The disc is convex: a line lies in it where both its ends do.
        let inside = start * start + from * from <= 1.0 && end * end + to * to <= 1.0;
        Self {
            middle,
            lean,
            from,
            to,
            ends,
            inside,
        }
    }

    /// Adds what lies to the left of the edge, held within the disc.
    fn add(&self, sum: &mut Moments, arcs: &Arcs, sign: f64) {
        let [start, end] = self.ends;
        if self.inside {
            add_line(sum, [self.from, start], [self.to, end], sign);
            return;
        }
        // Where (middle - lean q)² + q² = 1.
        let square = 1.0 + self.lean * self.lean;
        let inside = square - self.middle * self.middle;
        let (mut enters, mut leaves) = (self.to, self.to);
        if inside > 0.0 {
            let (nearest, half) = if self.lean == 0.0 {
                (0.0, libm::sqrt(inside))
            } else {
                (self.middle * self.lean / square, libm::sqrt(inside) / square)
            };
            enters = libm::fmin(libm::fmax(nearest - half, self.from), self.to);
            leaves = libm::fmin(libm::fmax(nearest + half, enters), self.to);
        }
        if enters > self.from {
            arcs.add(
                sum,
                self.from,
                enters,
                if start < 0.0 { -sign } else { sign },
                sign,
            );
        }
        if leaves > enters {
            let at = |q: f64| [q, self.middle - self.lean * q];
            add_line(sum, at(enters), at(leaves), sign);
        }
        if self.to > leaves {
            arcs.add(sum, leaves, self.to, if end < 0.0 { -sign } else { sign }, sign);
        }
    }
}

/// Adds what lies to the left of a straight line between two points, each `[q, p]`.
fn add_line(sum: &mut Moments, [from, start]: [f64; 2], [to, end]: [f64; 2], sign: f64) {
    let width = (to - from) * sign;
    sum.area += width * (start + end) * 0.5;
    sum.across += width * (start * start + start * end + end * end) * (1.0 / 6.0);
    sum.height += width * (start * (from + from + to) + end * (from + to + to)) * (1.0 / 6.0);
}

/// The disc's arcs between two heights, with the half chords there: both edges of a window mostly need the same.
struct Arcs {
    ends: [f64; 2],
    chords: [f64; 2],
}

impl Arcs {
    fn new(from: f64, to: f64) -> Self {
        Self {
            ends: [from, to],
            chords: [half_chord(from), half_chord(to)],
        }
    }

    fn chord(&self, q: f64) -> f64 {
        let ([from, to], [low, high]) = (self.ends, self.chords);
        if q == from {
            low
        } else if q == to {
            high
        } else {
            half_chord(q)
        }
    }

    /// Adds what lies to the left of an arc from one height to another; `side` carries the sign of the arc's side as
    /// well as that of the edge.
    fn add(&self, sum: &mut Moments, from: f64, to: f64, side: f64, sign: f64) {
        let (low, high) = (self.chord(from), self.chord(to));
        let sine = to * low - from * high;
        let cosine = low * high + from * to;
        let angle = if cosine > 0.0 && sine < 0.5 {
            libm::asin(sine)
        } else {
            libm::atan2(sine, cosine)
        };
        sum.area += side * (to * high - from * low + angle) * 0.5;
        sum.across += sign * ((to - from) * 0.5 - (to * to * to - from * from * from) * (1.0 / 6.0));
        sum.height += side * (low * low * low - high * high * high) * (1.0 / 3.0);
    }
}

fn half_chord(q: f64) -> f64 {
    libm::sqrt(libm::fmax(1.0 - q * q, 0.0))
}

#[cfg(test)]
mod tests {
    use bunkside_protocol::{Length, Position, Station};

    use super::*;

    fn circle(radius: i32) -> Section {
        section(
            Form::Round,
            [Length::mm(radius), Length::mm(radius), Length::ZERO],
        )
    }

    fn section(form: Form, [half_width, half_height, skew]: [Length; 3]) -> Section {
        let station = Station {
            travel: Position::ZERO,
            centre_across: Position::ZERO,
            centre_height: Position::ZERO,
            half_width,
            half_height,
            skew,
        };
        Section::new(form, &station, Length::ZERO)
    }

    fn over(mm: i32) -> Interval {
        Interval::new(Position::mm(mm), Position::MAX)
    }

    fn under(mm: i32) -> Interval {
        Interval::new(Position::MIN, Position::mm(mm))
    }

    fn near(told: f64, expected: f64, within: f64) {
        assert!((told - expected).abs() <= within, "{told} is not {expected}");
    }

    /// Segments of a circle: A = R²/2 (θ - sin θ), centroid c³/(12 A) from the centre (standard closed forms, as in
    /// Machinery's Handbook); values computed from them and re-checked with Shapely.
    #[test]
    fn segments_agree_with_the_table() {
        for (radius, thick, area, centroid) in [
            (100, 20, 1_635.011_1, 88.072_797),
            (100, 50, 6_141.848_5, 70.502_016),
            (100, 80, 11_734.792_3, 53.436_768),
            (100, 100, 15_707.963_3, 42.441_318),
            (200, 60, 11_819.953_6, 164.338_084),
        ] {
            for turned in [false, true] {
                let (across, height) = if turned {
                    (over(radius - thick), Interval::ALL)
                } else {
                    (Interval::ALL, over(radius - thick))
                };
                let found = moments(&circle(radius), across, height);
                near(found.area, area, 1e-4);
                let [x, y] = found.centroid().unwrap();
                let (along, beside) = if turned { (x, y) } else { (y, x) };
                near(along, centroid, 1e-6);
                near(beside, 0.0, 1e-9);
            }
        }
    }

    /// R 200 without a top slab of 60 mm, a corner of it, and two sides cut off: exact integrals and
    /// inclusion-exclusion; the last centroid by Shapely, to the digits it gave.
    #[test]
    fn cut_circles_agree_with_the_exact_integrals() {
        let log = circle(200);
        let slabbed = moments(&log, Interval::ALL, under(140));
        near(slabbed.area, 113_843.752_5, 1e-4);
        near(slabbed.centroid().unwrap()[1], -17.062_583, 1e-6);
        let corner = moments(&log, over(50), over(60));
        near(corner.area, 12_703.603_961, 1e-6);
        let [x, y] = corner.centroid().unwrap();
        near(x, 104.821_797, 1e-6);
        near(y, 112.230_025, 1e-6);
        let cut = moments(&log, under(120), under(140));
        near(cut.area, 96_191.898_444, 1e-6);
        let [x, y] = cut.centroid().unwrap();
        near(x, -28.068_89, 1e-3);
        near(y, -19.827_39, 1e-3);
    }

    /// The board between 140 and 165 mm over the centre of R 200: its wane-free part is as wide as the outer face,
    /// 226.0531 mm, and solid; the whole of it follows from two segments.
    #[test]
    fn a_board_is_solid_within_its_outer_face() {
        let log = circle(200);
        let layer = Interval::new(Position::mm(140), Position::mm(165));
        let half = Position::um(113_026);
        let board = Interval::new(Position::um(-113_026), half);
        near(moments(&log, board, layer).area, 226.052 * 25.0, 1e-6);
        let wider = Interval::new(Position::um(-114_000), Position::um(114_000));
        assert!(moments(&log, wider, layer).area < 228.0 * 25.0 - 1e-3);
        let slabs =
            moments(&log, Interval::ALL, over(140)).area - moments(&log, Interval::ALL, over(165)).area;
        near(moments(&log, Interval::ALL, layer).area, slabs, 1e-8);
    }

    #[test]
    fn windows_that_hold_all_or_nothing_or_touch_are_no_special_cases() {
        let whole = core::f64::consts::PI * 100.0 * 100.0;
        let log = circle(100);
        near(moments(&log, Interval::ALL, Interval::ALL).area, whole, 1e-9);
        near(moments(&log, over(-100), under(100)).area, whole, 1e-9);
        for (across, height) in [
            (over(100), Interval::ALL),
            (over(200), over(0)),
            (over(80), over(80)),
        ] {
            near(moments(&log, across, height).area, 0.0, 1e-9);
        }
        let inside = Interval::new(Position::mm(-50), Position::mm(70));
        near(moments(&log, inside, inside).area, 120.0 * 120.0, 1e-9);
        // A corner on the circle: 60² + 80² = 100².
        let corner = Interval::new(Position::mm(0), Position::mm(60));
        near(
            moments(&log, corner, Interval::new(Position::mm(0), Position::mm(80))).area,
            4_800.0,
            1e-9,
        );
    }

    /// A skewed ellipse is a sheared and stretched circle: shearing keeps the area of every lying layer.
    #[test]
    fn a_skewed_ellipse_keeps_its_layers() {
        let upright = section(Form::Round, [Length::mm(150), Length::mm(100), Length::ZERO]);
        let skewed = section(Form::Round, [Length::mm(150), Length::mm(100), Length::mm(40)]);
        for layer in [over(60), under(-20), Interval::ALL] {
            let plain = moments(&upright, Interval::ALL, layer);
            let told = moments(&skewed, Interval::ALL, layer);
            near(told.area, plain.area, 1e-8);
            near(told.across, 0.4 * plain.height, 1e-6);
        }
    }

    #[test]
    fn a_squared_timber_is_a_rectangle() {
        let timber = section(Form::Square, [Length::mm(50), Length::mm(30), Length::ZERO]);
        let found = moments(&timber, over(20), under(10));
        near(found.area, 30.0 * 40.0, 1e-12);
        let [x, y] = found.centroid().unwrap();
        near(x, 35.0, 1e-12);
        near(y, -10.0, 1e-12);
    }
}
