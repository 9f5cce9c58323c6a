//! One elliptic section of the log and its chords.
//!
//! The ellipse is held by two pairs of conjugate half-diameters. The first pair, `(half_width, 0)` and
//! `(skew, half_height)`, makes every lying chord a shift and one square root; the second, `(0, rise)` and
//! `(reach, lean)`, does the same for standing chords. Roots and the second pair keep eight binary places more than
//! a micrometre: chords are within two micrometres of the true ones, also where they are short.

mod chords;

use bunkside_protocol::{Form, Length, Position, Station};

use super::{Interval, fine_root, scale};
use crate::limits::FIN;

/// How many of a fine number's units are a micrometre.
const FINE: i64 = 256;

/// A section at one place along the rails.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Section {
    /// Where along the rails.
    pub travel: Position,
    form: Form,
    centre_across: i64,
    centre_height: i64,
    half_width: i64,
    half_height: i64,
    skew: i64,
    /// Half the full width.
    reach: i64,
    /// The same, fine.
    fine_reach: i64,
    /// Height of the outermost exit-side point over the centre, fine.
    fine_lean: i64,
    /// Half the standing chord through the centre, fine.
    fine_rise: i64,
}

impl Section {
    /// The section a station tells, grown by a thickness of bark all round (zero for the wood itself).
    ///
    /// Bark adds its thickness to both half-diameters; on an ellipse that falls short of an even coat by less
    /// than a hundredth of the thickness at the ovalities logs have.
    #[must_use]
    pub fn new(form: Form, station: &Station, bark: Length) -> Self {
        Self::from_numbers(
            form,
            station.travel,
            [station.centre_across.wide(), station.centre_height.wide()],
            [
                station.half_width.wide() + bark.wide(),
                station.half_height.wide() + bark.wide(),
            ],
            station.skew.wide(),
        )
    }

    fn from_numbers(
        form: Form,
        travel: Position,
        [centre_across, centre_height]: [i64; 2],
        [half_width, half_height]: [i64; 2],
        skew: i64,
    ) -> Self {
        let fine_reach = fine_root(half_width * half_width + skew * skew);
        let fine_height = half_height * FINE * FINE;
        Self {
            travel,
            form,
            centre_across,
            centre_height,
            half_width,
            half_height,
            skew,
            reach: scale(fine_reach, 1, FINE),
            fine_reach,
            fine_lean: scale(fine_height, skew, fine_reach),
            fine_rise: scale(fine_height, half_width, fine_reach),
        }
    }

    /// The section part of the way from this one to another, every number in proportion.
    #[must_use]
    pub fn towards(&self, other: &Self, travel: Position) -> Self {
        let whole = (other.travel - self.travel).wide();
        let part = (travel - self.travel).wide();
        let mix = |a: i64, b: i64| a + scale(b - a, part, whole);
        Self::from_numbers(
            self.form,
            travel,
            [
                mix(self.centre_across, other.centre_across),
                mix(self.centre_height, other.centre_height),
            ],
            [
                mix(self.half_width, other.half_width),
                mix(self.half_height, other.half_height),
            ],
            mix(self.skew, other.skew),
        )
    }

    /// The lowest place of the section part of the way from this one to another, without the rest of it.
    pub(super) fn underside_towards(&self, other: &Self, travel: Position) -> Position {
        let whole = (other.travel - self.travel).wide();
        let part = (travel - self.travel).wide();
        let mix = |a: i64, b: i64| a + scale(b - a, part, whole);
        let centre = mix(self.centre_height, other.centre_height);
        Position::um(centre - mix(self.half_height, other.half_height))
    }

    /// The outline.
    #[must_use]
    pub const fn form(&self) -> Form {
        self.form
    }

    /// Centre across the bed.
    #[must_use]
    pub const fn centre_across(&self) -> Position {
        Position::um(self.centre_across)
    }

    /// Centre above the bed.
    #[must_use]
    pub const fn centre_height(&self) -> Position {
        Position::um(self.centre_height)
    }

    /// The conjugate half-diameters: half width, half height, skew.
    #[must_use]
    pub const fn half_diameters(&self) -> (Length, Length, Length) {
        (
            Length::um(self.half_width),
            Length::um(self.half_height),
            Length::um(self.skew),
        )
    }

    /// From the lowest to the highest point.
    #[must_use]
    pub const fn height(&self) -> Interval {
        Interval::new(
            Position::um(self.centre_height - self.half_height),
            Position::um(self.centre_height + self.half_height),
        )
    }

    /// From the outermost entry-side to the outermost exit-side point.
    #[must_use]
    pub const fn width(&self) -> Interval {
        Interval::new(
            Position::um(self.centre_across - self.reach),
            Position::um(self.centre_across + self.reach),
        )
    }

    /// Where across the lowest point lies.
    #[must_use]
    pub const fn lowest_across(&self) -> Position {
        Position::um(self.centre_across - self.skew)
    }

    /// Where across it lies on what carries it: the lowest point, or the whole underside of a squared timber.
    #[must_use]
    pub fn underside(&self) -> Interval {
        match self.form {
            Form::Round => Interval::new(self.lowest_across(), self.lowest_across()),
            Form::Square => self.width(),
        }
    }

    /// The lying chord at a height; none where the section has no width there.
    #[must_use]
    pub fn chord(&self, height: Position) -> Option<Interval> {
        let up = height.wide() - self.centre_height;
        if up.abs() >= self.half_height {
            return None;
        }
        let (left, right) = self.lying(up);
        Some(Interval::new(Position::um(left), Position::um(right)))
    }

    /// The standing chord at a place across; none where the section has no height there.
    #[must_use]
    pub fn standing_chord(&self, across: Position) -> Option<Interval> {
        let along = across.wide() - self.centre_across;
        if along.abs() >= self.reach {
            return None;
        }
        let (low, high) = self.standing(along);
        Some(Interval::new(Position::um(low), Position::um(high)))
    }

    /// How far across the section reaches between two heights; none where it does not reach in between them.
    #[must_use]
    pub fn width_within(&self, height: Interval) -> Option<Interval> {
        let low = (height.lo.wide() - self.centre_height).max(-self.half_height);
        let high = (height.hi.wide() - self.centre_height).min(self.half_height);
        if low >= high {
            return None;
        }
        let lean = share(self.fine_lean, 1, FINE);
        let (leftmost, rightmost) = ((-lean).clamp(low, high), lean.clamp(low, high));
        let (left, mut right) = self.lying(leftmost);
        if rightmost != leftmost {
            (_, right) = self.lying(rightmost);
        }
        Some(Interval::new(Position::um(left), Position::um(right)))
    }

    /// How far up and down the section reaches between two places across; none where it does not reach there.
    #[must_use]
    pub fn height_within(&self, across: Interval) -> Option<Interval> {
        let left = (across.lo.wide() - self.centre_across).max(-self.reach);
        let right = (across.hi.wide() - self.centre_across).min(self.reach);
        if left >= right {
            return None;
        }
        let (lowest, highest) = ((-self.skew).clamp(left, right), self.skew.clamp(left, right));
        let (low, mut high) = self.standing(lowest);
        if highest != lowest {
            (_, high) = self.standing(highest);
        }
        Some(Interval::new(Position::um(low), Position::um(high)))
    }

    /// The stretch across that a window (stretches across and up) really holds; none where it holds nothing.
    #[must_use]
    pub fn across_in(&self, across: Interval, height: Interval) -> Option<Interval> {
        let held = self.width_within(height)?.meet(across);
        if held.is_empty() { None } else { Some(held) }
    }

    /// The stretch up that a window (stretches across and up) really holds; none where it holds nothing.
    #[must_use]
    pub fn height_in(&self, across: Interval, height: Interval) -> Option<Interval> {
        let held = self.height_within(across)?.meet(height);
        if held.is_empty() { None } else { Some(held) }
    }

    /// Whether a window surely holds some wood, told without a root: no says nothing.
    pub(crate) fn surely_meets(&self, across: Interval, height: Interval) -> bool {
        !across.is_empty() && !height.is_empty() && self.well_within(across, height)
    }

    /// Whether a window surely holds more than a fin of wood both ways, told without a root: no says nothing.
    pub(crate) fn surely_holds(&self, across: Interval, height: Interval) -> bool {
        across.length() > FIN && height.length() > FIN && self.well_within(across, height)
    }

    /// Whether a window's place nearest to the centre lies within half of the width and three quarters of the height. From
    /// there an ellipse that is not turned goes on by a ninth of its half-diameters at least, which is more than a fin.
    fn well_within(&self, across: Interval, height: Interval) -> bool {
        let off = |window: Interval, centre: i64| {
            let (from, to) = (window.lo.wide() - centre, window.hi.wide() - centre);
            from.max(-to).max(0)
        };
        self.skew == 0
            && off(across, self.centre_across) <= self.half_width / 2
            && off(height, self.centre_height) <= self.half_height - self.half_height / 4
    }

    /// Whether a whole window lies inside the section.
    #[must_use]
    pub fn holds(&self, across: Interval, height: Interval) -> bool {
        [height.lo, height.hi].into_iter().all(|edge| {
            self.chord(edge)
                .is_some_and(|chord| chord.lo <= across.lo && across.hi <= chord.hi)
        })
    }

    /// Both ends of the lying chord at `up` over the centre, `|up| <= half_height`.
    fn lying(&self, up: i64) -> (i64, i64) {
        if self.form == Form::Square {
            return (
                self.centre_across - self.half_width,
                self.centre_across + self.half_width,
            );
        }
        if up == 0 {
            // The root is exact: the half-diameter itself.
            return (
                self.centre_across - self.half_width,
                self.centre_across + self.half_width,
            );
        }
        let middle = self.centre_across + share(self.skew, up, self.half_height);
        let fine = fine_root(self.half_height * self.half_height - up * up);
        let half = stretch(fine, self.half_width, self.half_height);
        (middle - half, middle + half)
    }

    /// Both ends of the standing chord at `along` from the centre, `|along| <= reach`.
    fn standing(&self, along: i64) -> (i64, i64) {
        if self.form == Form::Square {
            return (
                self.centre_height - self.half_height,
                self.centre_height + self.half_height,
            );
        }
        let middle = self.centre_height + share(self.fine_lean, along, self.fine_reach);
        if along == 0 && self.skew == 0 {
            // So is this one.
            let half = scale(self.fine_rise, 1, FINE);
            return (self.centre_height - half, self.centre_height + half);
        }
        let reach_squared = self.half_width * self.half_width + self.skew * self.skew;
        let fine = fine_root(reach_squared - along * along);
        let half = stretch(fine, self.fine_rise, self.fine_reach);
        (middle - half, middle + half)
    }
}

/// [`scale`], without a division where the first factor is zero: an ellipse that is not turned.
const fn share(part: i64, of: i64, whole: i64) -> i64 {
    if part == 0 { 0 } else { scale(part, of, whole) }
}

/// A fine number times `wide / whole`, in micrometres: [`scale`], without a division where both are the same, in a
/// circle. Neither the number nor the two are negative.
const fn stretch(fine: i64, wide: i64, whole: i64) -> i64 {
    if wide == whole && whole > 0 {
        // (2·w·f + w·FINE) / (2·w·FINE) is (2·f + FINE) / (2·FINE): FINE is a power of two.
        (fine + FINE / 2) / FINE
    } else {
        scale(wide, fine, whole * FINE)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn circle(radius: i32) -> Section {
        Section::new(
            Form::Round,
            &Station {
                travel: Position::ZERO,
                centre_across: Position::ZERO,
                centre_height: Position::mm(radius),
                half_width: Length::mm(radius),
                half_height: Length::mm(radius),
                skew: Length::ZERO,
            },
            Length::ZERO,
        )
    }

    /// Chords of a circle of radius 100 and 200 mm: table of segments, closed form c = 2 sqrt(h(2R - h)).
    #[test]
    fn circle_chords_agree_with_the_segment_table() {
        for (radius, segment, chord_um) in [
            (100, 20, 120_000),
            (100, 50, 173_205),
            (100, 80, 195_959),
            (200, 60, 285_657),
        ] {
            let height = Position::mm(2 * radius - segment);
            let chord = circle(radius).chord(height).unwrap();
            assert!(
                (chord.length().as_um() - chord_um).abs() <= 2,
                "{radius} {segment} {chord:?}"
            );
        }
    }

    #[test]
    fn a_turned_ellipse_reaches_as_far_as_its_half_diameters_say() {
        // Half axes 150 and 100 mm turned by 30 degrees: S = R diag(a², b²) Rᵀ, in exact numbers
        // Syy = 13 125, Sxy = 5 412.659, Sxx = 19 375 square millimetres.
        let half_height = 114_564; // sqrt(13 125) mm
        let skew = 47_246; // 5 412.659 / 114.564
        let half_width = 130_931; // 150 * 100 / 114.564
        let section = Section::new(
            Form::Round,
            &Station {
                travel: Position::ZERO,
                centre_across: Position::mm(10),
                centre_height: Position::mm(120),
                half_width: Length::um(half_width),
                half_height: Length::um(half_height),
                skew: Length::um(skew),
            },
            Length::ZERO,
        );
        let width = section.width().length().as_um();
        assert!((width - 2 * 139_194).abs() <= 4, "{width}"); // sqrt(19 375) = 139.194 mm
        let all = section.width_within(Interval::ALL).unwrap();
        assert!((all.length().as_um() - width).abs() <= 4);
        let tall = section.height_within(Interval::ALL).unwrap();
        assert!((tall.length() - section.height().length()).abs() <= Length::um(4));
    }

    #[test]
    fn windows_hold_what_chords_say() {
        let section = circle(100);
        let upper = Interval::new(Position::mm(150), Position::mm(180));
        let held = section.across_in(Interval::ALL, upper).unwrap();
        assert_eq!(held, section.chord(Position::mm(150)).unwrap());
        assert!(section.holds(Interval::new(Position::mm(-59), Position::mm(59)), upper));
        assert!(!section.holds(Interval::new(Position::mm(-61), Position::mm(59)), upper));
        assert!(
            section
                .across_in(Interval::new(Position::mm(90), Position::mm(99)), upper)
                .is_none()
        );
        assert!(
            section
                .width_within(Interval::new(Position::mm(200), Position::mm(300)))
                .is_none()
        );
    }

    /// What is told without a root is what the roots tell.
    #[test]
    fn quick_answers_are_never_wrong() {
        let mut dice = crate::testing::Dice::new(11);
        let (mut quick, mut all) = (0, 0);
        for _ in 0..40_000 {
            let mut within =
                |from: i64, to: i64| from + i64::try_from(dice.below((to - from) as u64)).unwrap();
            let size = [2_000, 60_000, 600_000][usize::try_from(within(0, 3)).unwrap()];
            let station = Station {
                travel: Position::ZERO,
                centre_across: Position::um(within(-size, size)),
                centre_height: Position::um(within(-size, size)),
                half_width: Length::um(within(1_000, size)),
                half_height: Length::um(within(1_000, size)),
                skew: Length::ZERO,
            };
            let form = if within(0, 4) == 0 {
                Form::Square
            } else {
                Form::Round
            };
            let section = Section::new(form, &station, Length::ZERO);
            let mut window = |centre: Position| {
                let lo = centre + Length::um(within(-2 * size, 2 * size));
                let long = if within(0, 3) == 0 {
                    within(-10, 120)
                } else {
                    within(0, 2 * size)
                };
                Interval::new(lo, lo + Length::um(long))
            };
            let (across, height) = (window(station.centre_across), window(station.centre_height));
            let held = section.across_in(across, height);
            if section.surely_meets(across, height) {
                quick += 1;
                assert!(held.is_some(), "{section:?} {across:?} {height:?}");
            }
            if section.surely_holds(across, height) {
                let up = section.height_in(across, height);
                let thick = [held, up].map(|held| held.is_some_and(|held| held.length() > FIN));
                assert_eq!(thick, [true; 2], "{section:?} {across:?} {height:?}");
            }
            all += u32::from(held.is_some());
        }
        assert!(quick > 4_000 && quick < all, "{quick} of {all}");
    }
}
