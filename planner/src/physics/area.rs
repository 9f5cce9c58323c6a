//! Area and first moments of a section's wood in a window.
//!
//! The ellipse is the unit disc under an affine map, `across = c + w p + s q`, `height = d + h q`; the window becomes
//! a parallelogram. The disc's part of a convex polygon is summed over the polygon's edges by Green's theorem: where
//! an edge lies inside the disc it spans a triangle with the centre, where it lies outside, a sector. The sum needs
//! no cases: no overlap, full containment and touching come out by themselves.
//!
//! ```text
//! triangle (0, a, b):     area (a × b)/2          moment area (a + b)/3
//! sector from α to β:     area (β - α)/2          moment (sin β - sin α, cos α - cos β)/3
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
}

/// The numbers of a section, in millimetres: on the controller as on the host.
#[derive(Clone, Copy, Debug, PartialEq)]
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
        let mm = |um: i32| f64::from(um) / 1000.0;
        Self {
            form: section.form(),
            centre: [
                mm(section.centre_across().as_um()),
                mm(section.centre_height().as_um()),
            ],
            half_width: mm(half_width.as_um()),
            half_height: mm(half_height.as_um()),
            skew: mm(skew.as_um()),
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

    /// Area and moments of the wood in a window: stretches across and up.
    pub(super) fn within(&self, across: Interval, height: Interval) -> Moments {
        let [x, y] = self.centre;
        let reach = libm::sqrt(self.half_width * self.half_width + self.skew * self.skew);
        // Further out there is no wood, and numbers would only lose digits.
        let (left, right) = cut(across, x - reach, x + reach);
        let (low, high) = cut(height, y - self.half_height, y + self.half_height);
        if left >= right || low >= high {
            return Moments::default();
        }
        match self.form {
            Form::Square => rectangle([left, low], [right, high]),
            Form::Round => self.ellipse_within([left, low], [right, high]),
        }
    }

    fn ellipse_within(&self, [left, low]: [f64; 2], [right, high]: [f64; 2]) -> Moments {
        let [x, y] = self.centre;
        let unit = |across: f64, height: f64| {
            let q = (height - y) / self.half_height;
            [(across - x - self.skew * q) / self.half_width, q]
        };
        let corners = [
            unit(left, low),
            unit(right, low),
            unit(right, high),
            unit(left, high),
        ];
        let disc = disc_within(&corners);
        let scale = self.half_width * self.half_height;
        let area = disc.area * scale;
        Moments {
            area,
            across: x * area + scale * (self.half_width * disc.across + self.skew * disc.height),
            height: y * area + scale * self.half_height * disc.height,
        }
    }
}

/// Area and moments of a section's wood in a window, stretches across and up.
///
/// The numbers of the section are exact; the result is within a few units in the last place of the section's area.
#[must_use]
pub fn moments(section: &Section, across: Interval, height: Interval) -> Moments {
    Outline::of(section).within(across, height)
}

fn cut(stretch: Interval, lo: f64, hi: f64) -> (f64, f64) {
    let mm = |um: i32| f64::from(um) / 1000.0;
    (
        libm::fmax(mm(stretch.lo.as_um()), lo),
        libm::fmin(mm(stretch.hi.as_um()), hi),
    )
}

fn rectangle([left, low]: [f64; 2], [right, high]: [f64; 2]) -> Moments {
    let area = (right - left) * (high - low);
    Moments {
        area,
        across: area * (left + right) / 2.0,
        height: area * (low + high) / 2.0,
    }
}

/// The unit disc's part of a convex polygon whose corners run counter-clockwise.
fn disc_within(corners: &[[f64; 2]; 4]) -> Moments {
    let mut sum = Moments::default();
    let [first, ..] = corners;
    let next = corners.iter().skip(1).chain([first]);
    for (a, b) in corners.iter().zip(next) {
        add_edge(&mut sum, *a, *b);
    }
    sum
}

/// Adds what one edge and the centre span: up to one stretch inside the disc between two outside.
fn add_edge(sum: &mut Moments, a: [f64; 2], b: [f64; 2]) {
    let [dx, dy] = [b[0] - a[0], b[1] - a[1]];
    let square = dx * dx + dy * dy;
    if square <= 0.0 {
        return;
    }
    // Where |a + t (b - a)| = 1: t is `middle` less or more `half`.
    let middle = -(a[0] * dx + a[1] * dy) / square;
    let cross = a[0] * dy - a[1] * dx;
    let inside = square - cross * cross;
    if inside <= 0.0 {
        add_sector(sum, a, b);
        return;
    }
    let half = libm::sqrt(inside) / square;
    let from = libm::fmin(libm::fmax(middle - half, 0.0), 1.0);
    let to = libm::fmin(libm::fmax(middle + half, 0.0), 1.0);
    let at = |t: f64| [a[0] + t * dx, a[1] + t * dy];
    let (p, q) = (at(from), at(to));
    if from > 0.0 {
        add_sector(sum, a, p);
    }
    if from < to {
        let area = (p[0] * q[1] - p[1] * q[0]) / 2.0;
        sum.area += area;
        sum.across += area * (p[0] + q[0]) / 3.0;
        sum.height += area * (p[1] + q[1]) / 3.0;
    }
    if to < 1.0 {
        add_sector(sum, q, b);
    }
}

fn add_sector(sum: &mut Moments, a: [f64; 2], b: [f64; 2]) {
    let (la, lb) = (
        libm::sqrt(a[0] * a[0] + a[1] * a[1]),
        libm::sqrt(b[0] * b[0] + b[1] * b[1]),
    );
    if la <= 0.0 || lb <= 0.0 {
        return;
    }
    let angle = libm::atan2(a[0] * b[1] - a[1] * b[0], a[0] * b[0] + a[1] * b[1]);
    sum.area += angle / 2.0;
    sum.across += (b[1] / lb - a[1] / la) / 3.0;
    sum.height += (a[0] / la - b[0] / lb) / 3.0;
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
