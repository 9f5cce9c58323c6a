//! Second moments of a section's wood in windows: how stiff it is against bending.
//!
//! Everything is told about the section's own centre, so that windows of one section add up. As in `area.rs` the ellipse is
//! the unit disc under an affine map and the window a parallelogram. Green's theorem sums over the boundary of what they
//! share: a straight edge spans a triangle with the centre, an arc a sector.
//!
//! ```text
//! triangle (0, a, b), twice its area c = a × b:   ∫x² = c (ax² + ax bx + bx²)/12,  ∫xy = c (2 ax ay + ax by + bx ay + 2 bx by)/24
//! sector from α to β:                             ∫x² = (β - α)/8 + (sin β cos β - sin α cos α)/8,  ∫xy = (sin²β - sin²α)/8
//! ```

use bunkside_protocol::Form;

use crate::geometry::{Interval, Section};

/// Area, first and second moments about the section's centre, in powers of a millimetre.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Second {
    /// Area.
    pub area: f64,
    /// Area times place across.
    pub across: f64,
    /// Area times height.
    pub height: f64,
    /// Area times the square of the place across.
    pub across_squared: f64,
    /// Area times the square of the height.
    pub height_squared: f64,
    /// Area times place across times height.
    pub mixed: f64,
}

/// Second moments about the centroid.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Central {
    /// Of the squares across.
    pub across_squared: f64,
    /// Of the squares of height: against bending up and down.
    pub height_squared: f64,
    /// Of the products.
    pub mixed: f64,
}

impl Second {
    /// That of a section's wood in a window, stretches across and up.
    #[must_use]
    pub fn of(section: &Section, across: Interval, height: Interval) -> Self {
        let (across, height) = section.left_of(across, height);
        let ellipse = Ellipse::of(section);
        let reach = libm::sqrt(ellipse.half_width * ellipse.half_width + ellipse.skew * ellipse.skew);
        // Further out there is no wood, and numbers would only lose digits.
        let (left, right) = cut(across, section.centre_across().as_um(), reach);
        let (low, high) = cut(height, section.centre_height().as_um(), ellipse.half_height);
        if left >= right || low >= high {
            return Self::default();
        }
        match section.form() {
            Form::Square => rectangle([left, low], [right, high]),
            Form::Round => ellipse.within([left, low], [right, high]),
        }
    }

    /// Adds that of another window of the same section.
    pub fn add(&mut self, other: &Self) {
        self.area += other.area;
        self.across += other.across;
        self.height += other.height;
        self.across_squared += other.across_squared;
        self.height_squared += other.height_squared;
        self.mixed += other.mixed;
    }

    /// About the centroid; nothing where there is no area.
    #[must_use]
    pub fn central(&self) -> Central {
        if self.area <= 0.0 {
            return Central::default();
        }
        let (x, y) = (self.across / self.area, self.height / self.area);
        Central {
            across_squared: self.across_squared - x * self.across,
            height_squared: self.height_squared - y * self.height,
            mixed: self.mixed - x * self.height,
        }
    }
}

impl Central {
    /// What counts against a load that presses straight down on a beam that is free to give way sideways as well.
    ///
    /// Of unlike legs, as an L has them, a beam bends towards its weak side and so gives way more than its second moment of
    /// height alone tells: by `1 / (1 - mixed² / (height_squared · across_squared))`.
    #[must_use]
    pub fn against_weight(&self) -> f64 {
        if self.across_squared <= 0.0 {
            return 0.0;
        }
        let stiff = self.height_squared - self.mixed * self.mixed / self.across_squared;
        libm::fmax(stiff, 0.0)
    }
}

fn cut(stretch: Interval, centre_um: i32, reach: f64) -> (f64, f64) {
    let from_centre = |um: i32| (f64::from(um) - f64::from(centre_um)) * 1e-3;
    (
        libm::fmax(from_centre(stretch.lo.as_um()), -reach),
        libm::fmin(from_centre(stretch.hi.as_um()), reach),
    )
}

fn rectangle([left, low]: [f64; 2], [right, high]: [f64; 2]) -> Second {
    let (wide, tall) = (right - left, high - low);
    let (area, x, y) = (wide * tall, (left + right) * 0.5, (low + high) * 0.5);
    Second {
        area,
        across: area * x,
        height: area * y,
        across_squared: area * (wide * wide * (1.0 / 12.0) + x * x),
        height_squared: area * (tall * tall * (1.0 / 12.0) + y * y),
        mixed: area * x * y,
    }
}

/// A section about its centre, in millimetres.
struct Ellipse {
    half_width: f64,
    half_height: f64,
    skew: f64,
}

impl Ellipse {
    fn of(section: &Section) -> Self {
        let (half_width, half_height, skew) = section.half_diameters();
        let mm = |um: i32| f64::from(um) * 1e-3;
        Self {
            half_width: mm(half_width.as_um()),
            half_height: mm(half_height.as_um()),
            skew: mm(skew.as_um()),
        }
    }

    fn within(&self, [left, low]: [f64; 2], [right, high]: [f64; 2]) -> Second {
        let (per_width, per_height) = (1.0 / self.half_width, 1.0 / self.half_height);
        let unit = |across: f64, height: f64| {
            let q = height * per_height;
            [(across - self.skew * q) * per_width, q]
        };
        let corners = [
            unit(left, low),
            unit(right, low),
            unit(right, high),
            unit(left, high),
        ];
        if corners.iter().all(|[p, q]| p * p + q * q <= 1.0) {
            return rectangle([left, low], [right, high]);
        }
        self.mapped(&disc_within(&corners))
    }

    /// From the unit disc to the ellipse.
    fn mapped(&self, disc: &Second) -> Second {
        let (w, h, s) = (self.half_width, self.half_height, self.skew);
        let scale = w * h;
        Second {
            area: scale * disc.area,
            across: scale * (w * disc.across + s * disc.height),
            height: scale * h * disc.height,
            across_squared: scale
                * (w * w * disc.across_squared + s * (2.0 * w * disc.mixed + s * disc.height_squared)),
            height_squared: scale * h * h * disc.height_squared,
            mixed: scale * h * (w * disc.mixed + s * disc.height_squared),
        }
    }
}

/// A shallower dip of an edge into the disc, as a share of its length squared, is none: the arc it would part is so short
/// that rounding could turn it round.
const DIP: f64 = 1e-13;

/// The unit disc's part of a convex polygon whose corners run counter-clockwise.
fn disc_within(corners: &[[f64; 2]; 4]) -> Second {
    let mut sum = Second::default();
    // Where the boundary first came into the disc, and where the last edge in it ended.
    let (mut entered, mut left): (Option<[f64; 2]>, Option<[f64; 2]>) = (None, None);
    let mut around = true;
    let [first, ..] = corners;
    for (a, b) in corners.iter().zip(corners.iter().skip(1).chain([first])) {
        let [dx, dy] = [b[0] - a[0], b[1] - a[1]];
        let square = dx * dx + dy * dy;
        let cross = a[0] * dy - a[1] * dx;
        around &= cross > 0.0;
        let inside = square - cross * cross;
        if square <= 0.0 || inside <= square * DIP {
            continue;
        }
        // Where |a + t (b - a)| = 1: t is `middle` less or more `half`.
        let middle = -(a[0] * dx + a[1] * dy) / square;
        let half = libm::sqrt(inside) / square;
        let (from, to) = (libm::fmax(middle - half, 0.0), libm::fmin(middle + half, 1.0));
        if from >= to {
            continue;
        }
        let at = |t: f64| [a[0] + t * dx, a[1] + t * dy];
        let p = if from > 0.0 { at(from) } else { *a };
        let q = if to < 1.0 { at(to) } else { *b };
        add_triangle(&mut sum, p, q);
        match left {
            Some(left) => add_arc(&mut sum, left, p),
            None => entered = Some(p),
        }
        left = Some(q);
    }
    close(&mut sum, entered, left, around);
    sum
}

/// The last arc; the whole disc where the polygon runs around it.
fn close(sum: &mut Second, entered: Option<[f64; 2]>, left: Option<[f64; 2]>, around: bool) {
    match (entered, left) {
        (Some(entered), Some(left)) => add_arc(sum, left, entered),
        _ if around && sum.area <= 0.0 => {
            let quarter = core::f64::consts::FRAC_PI_4;
            sum.area = 4.0 * quarter;
            sum.across_squared = quarter;
            sum.height_squared = quarter;
        }
        _ => {}
    }
}

fn add_triangle(sum: &mut Second, [ax, ay]: [f64; 2], [bx, by]: [f64; 2]) {
    let cross = ax * by - ay * bx;
    let (sixth, twelfth) = (cross * (1.0 / 6.0), cross * (1.0 / 12.0));
    sum.area += cross * 0.5;
    sum.across += sixth * (ax + bx);
    sum.height += sixth * (ay + by);
    sum.across_squared += twelfth * (ax * ax + ax * bx + bx * bx);
    sum.height_squared += twelfth * (ay * ay + ay * by + by * by);
    sum.mixed += twelfth * (ax * ay + bx * by + 0.5 * (ax * by + bx * ay));
}

/// The arc from where one edge ended to where the next begins; none at a corner inside.
fn add_arc(sum: &mut Second, from: [f64; 2], to: [f64; 2]) {
    if from != to {
        add_sector(sum, from, to);
    }
}

/// The sector counter-clockwise from one point of the circle to another.
fn add_sector(sum: &mut Second, [ax, ay]: [f64; 2], [bx, by]: [f64; 2]) {
    let mut angle = libm::atan2(ax * by - ay * bx, ax * bx + ay * by);
    // A hair's breadth back is rounding: edges meet on the circle.
    if angle < -1e-7 {
        angle += 2.0 * core::f64::consts::PI;
    }
    let (even, uneven) = (angle * 0.125, (bx * by - ax * ay) * 0.125);
    sum.area += angle * 0.5;
    sum.across += (by - ay) * (1.0 / 3.0);
    sum.height += (ax - bx) * (1.0 / 3.0);
    sum.across_squared += even + uneven;
    sum.height_squared += even - uneven;
    sum.mixed += (by * by - ay * ay) * 0.125;
}

#[cfg(test)]
mod tests {
    use core::f64::consts::PI;

    use bunkside_protocol::{Length, Position, Station};

    use super::*;

    fn section(form: Form, half_diameters: [f64; 3]) -> Section {
        #[expect(clippy::cast_possible_truncation, reason = "test sizes are small")]
        let [half_width, half_height, skew] =
            half_diameters.map(|mm| Length::um((mm * 1000.0).round() as i64));
        let station = Station {
            travel: Position::ZERO,
            centre_across: Position::mm(37),
            centre_height: Position::mm(-12),
            half_width,
            half_height,
            skew,
        };
        Section::new(form, &station, Length::ZERO)
    }

    fn cube(number: f64) -> f64 {
        number * number * number
    }

    fn circle(radius: f64) -> Section {
        section(Form::Round, [radius, radius, 0.0])
    }

    /// Millimetres from the centre of the sections above.
    fn window(across: [i32; 2], height: [i32; 2]) -> (Interval, Interval) {
        let [left, right] = across.map(|mm| Position::mm(mm.saturating_add(37)));
        let [low, high] = height.map(|mm| Position::mm(mm.saturating_sub(12)));
        (Interval::new(left, right), Interval::new(low, high))
    }

    fn of(section: &Section, across: [i32; 2], height: [i32; 2]) -> Second {
        let (across, height) = window(across, height);
        Second::of(section, across, height)
    }

    const FAR: [i32; 2] = [-9_000, 9_000];

    fn near(told: f64, expected: f64, within: f64) {
        assert!((told - expected).abs() <= within, "{told} is not {expected}");
    }

    /// Whole sections: circle π r⁴/4, ellipse π a b³/4, rectangle b h³/12 (standard closed forms).
    #[test]
    fn whole_sections_agree_with_their_closed_forms() {
        let found = of(&circle(100.0), FAR, FAR).central();
        near(found.height_squared, PI * 1e8 / 4.0, 1e-4);
        near(found.across_squared, PI * 1e8 / 4.0, 1e-4);
        near(found.mixed, 0.0, 1e-6);
        let found = of(&section(Form::Round, [150.0, 80.0, 0.0]), FAR, FAR).central();
        near(found.height_squared, PI * 150.0 * cube(80.0) / 4.0, 1e-4);
        near(found.across_squared, PI * 80.0 * cube(150.0) / 4.0, 1e-3);
        let found = of(&section(Form::Square, [60.0, 40.0, 0.0]), FAR, FAR).central();
        near(found.height_squared, 120.0 * cube(80.0) / 12.0, 1e-6);
        near(found.against_weight(), found.height_squared, 1e-6);
    }

    /// About their own centroids: half circle (π/8 − 8/(9π)) r⁴ = 0.109 757 r⁴, quarter (π/16 − 4/(9π)) r⁴ =
    /// 0.054 878 r⁴, mixed in the quarter (1/8 − 4/(9π)) r⁴ = −0.016 471 r⁴ (standard closed forms).
    #[test]
    fn halves_and_quarters_of_a_circle_agree_with_their_closed_forms() {
        let log = circle(100.0);
        for (across, height) in [(FAR, [0, 9_000]), (FAR, [-9_000, 0])] {
            let found = of(&log, across, height).central();
            near(found.height_squared, (PI / 8.0 - 8.0 / (9.0 * PI)) * 1e8, 1e-3);
            near(found.across_squared, PI / 8.0 * 1e8, 1e-3);
        }
        for (across, height, sign) in [
            ([0, 9_000], [0, 9_000], 1.0),
            ([-9_000, 0], [0, 9_000], -1.0),
            ([-9_000, 0], [-9_000, 0], 1.0),
            ([0, 9_000], [-9_000, 0], -1.0),
        ] {
            let found = of(&log, across, height).central();
            near(found.height_squared, (PI / 16.0 - 4.0 / (9.0 * PI)) * 1e8, 1e-3);
            near(found.across_squared, found.height_squared, 1e-3);
            near(found.mixed, sign * (0.125 - 4.0 / (9.0 * PI)) * 1e8, 1e-3);
        }
    }

    /// A segment of half angle α about the diameter along its chord: r⁴/4 (α − sin α cos α + 2 sin³α cos α) (standard
    /// closed form, as in Machinery's Handbook; from memory).
    #[test]
    fn segments_agree_with_their_closed_form() {
        for low in [-95, -60, -5, 0, 20, 80, 99] {
            let alpha = libm::acos(f64::from(low) / 100.0);
            let (sine, cosine) = libm::sincos(alpha);
            let expected = 1e8 / 4.0 * (alpha - sine * cosine + 2.0 * cube(sine) * cosine);
            near(
                of(&circle(100.0), FAR, [low, 9_000]).height_squared,
                expected,
                1e-3,
            );
            near(
                of(&circle(100.0), [low, 9_000], FAR).across_squared,
                expected,
                1e-3,
            );
        }
    }

    /// Area and first moments are those of `area.rs`, which was checked against a table and a geometry library; second
    /// moments against sums over thin slices of exact chords.
    #[test]
    fn windows_anywhere_agree_with_areas_and_slices() {
        let mut dice = crate::testing::Dice::new(3);
        for _ in 0..400 {
            let mut within =
                |from: i32, to: i32| from + i32::try_from(dice.below((to - from) as u64)).unwrap();
            let halves = [within(20, 300), within(20, 300), within(-60, 60)].map(f64::from);
            let section = section(Form::Round, halves);
            let mut stretch = || {
                let (a, b) = (within(-350, 350), within(-350, 350));
                [a.min(b), a.max(b)]
            };
            let (across, height) = (stretch(), stretch());
            let found = of(&section, across, height);
            let (x, y) = window(across, height);
            let area = crate::physics::area::moments(&section, x, y);
            let size = halves[0] * halves[1];
            near(found.area, area.area, 1e-9 * size);
            near(found.across, area.across - 37.0 * area.area, 1e-6 * size);
            near(found.height, area.height + 12.0 * area.area, 1e-6 * size);
            let sliced = slices(halves, across, height);
            let scale = size * 350.0 * 350.0;
            near(found.across_squared, sliced[0], 3e-6 * scale);
            near(found.height_squared, sliced[1], 3e-6 * scale);
            near(found.mixed, sliced[2], 3e-6 * scale);
        }
    }

    /// Squares across, squares of height and products, summed over slices of a window in an ellipse.
    fn slices([w, h, s]: [f64; 3], across: [i32; 2], height: [i32; 2]) -> [f64; 3] {
        const COUNT: i32 = 20_000;
        let [left, right] = across.map(f64::from);
        let (low, high) = (f64::from(height[0]).max(-h), f64::from(height[1]).min(h));
        let thick = (high - low) / f64::from(COUNT);
        let mut sums = [0.0; 3];
        if thick <= 0.0 {
            return sums;
        }
        for slice in 0..COUNT {
            let y = low + thick * (f64::from(slice) + 0.5);
            let half = w * libm::sqrt((1.0 - y * y / (h * h)).max(0.0));
            let (from, to) = ((s * y / h - half).max(left), (s * y / h + half).min(right));
            if from < to {
                sums[0] += thick * (cube(to) - cube(from)) / 3.0;
                sums[1] += thick * (to - from) * y * y;
                sums[2] += thick * (to * to - from * from) / 2.0 * y;
            }
        }
        sums
    }

    /// Windows that share edges add up to the one around them; rounding where edges meet on the outline costs nothing.
    #[test]
    fn windows_of_one_section_add_up() {
        let mut dice = crate::testing::Dice::new(4);
        for _ in 0..300 {
            let log = circle(100.0);
            let split = i32::try_from(dice.below(220)).unwrap() - 110;
            // 60² + 80² = 100²: corners of the window on the outline.
            let [low, high] = dice.pick(&[[-60, 80], [60, 80], [-80, 60], [0, 100], [-300, 60]]);
            let whole = of(&log, [-80, 60], [low, high]);
            let mut sum = of(&log, [-80, split.clamp(-80, 60)], [low, high]);
            sum.add(&of(&log, [split.clamp(-80, 60), 60], [low, high]));
            near(sum.area, whole.area, 1e-6);
            near(sum.height_squared, whole.height_squared, 1e-3);
            near(sum.across_squared, whole.across_squared, 1e-3);
            near(sum.mixed, whole.mixed, 1e-3);
        }
    }

    /// An angle of two legs of 100 by 10 mm, their centroids 22.5 mm across and 27.5 mm up from the common one: each way
    /// (100·10³ + 10·100³)/12 + 2 000·27.5² = 2 354 166.7 and 841 666.7 + 2 000·22.5² = 1 854 166.7, mixed
    /// −2 000·22.5·27.5 = −1 237 500 mm⁴ (parallel axes, by hand); against weight 2 354 166.7 − 1 237 500²/1 854 166.7.
    #[test]
    fn an_angle_gives_way_towards_its_weak_side() {
        let timber = section(Form::Square, [200.0, 200.0, 0.0]);
        let mut angle = of(&timber, [0, 100], [0, 10]);
        angle.add(&of(&timber, [0, 10], [10, 110]));
        let found = angle.central();
        near(found.height_squared, 2_354_166.7, 0.1);
        near(found.across_squared, 1_854_166.7, 0.1);
        near(found.mixed, -1_237_500.0, 0.1);
        near(found.against_weight(), 1_528_239.7, 0.1);
    }
}
