//! One elliptic section of the log and its chords.
//!
//! The ellipse is held by two pairs of conjugate half-diameters. The first pair, `(half_width, 0)` and
//! `(skew, half_height)`, makes every lying chord a shift and one square root; the second, `(0, rise)` and
//! `(reach, lean)`, does the same for standing chords. Roots and the second pair keep eight binary places more than
//! a micrometre: chords are within two micrometres of the true ones, also where they are short.
//!
//! Faces sawn along the log cut flat sides off the ellipse: chords end at them.

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
    /// From the lowest to the highest point, and from the outermost entry-side to the outermost exit-side one, as faces
    /// leave them.
    height: Interval,
    /// See [`Section::height`].
    width: Interval,
    /// Whether faces are sawn along it.
    sawn: bool,
    /// Half the full width of the ellipse, fine.
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
        let reach = scale(fine_reach, 1, FINE);
        let around =
            |centre: i64, half: i64| Interval::new(Position::um(centre - half), Position::um(centre + half));
        Self {
            travel,
            form,
            centre_across,
            centre_height,
            half_width,
            half_height,
            skew,
            height: around(centre_height, half_height),
            width: around(centre_across, reach),
            sawn: false,
            fine_reach,
            fine_lean: scale(fine_height, skew, fine_reach),
            fine_rise: scale(fine_height, half_width, fine_reach),
        }
    }

    /// What faces leave of it: the stretches across and up that they leave of everything. All empty where that is nothing.
    ///
    /// A face across takes as much of the width whatever the height, so that what is left is as wide as the ellipse between
    /// its lying faces, up to the standing ones; and the other way about.
    #[must_use]
    pub fn left_by(self, across: Interval, height: Interval) -> Self {
        if across == Interval::ALL && height == Interval::ALL {
            return self;
        }
        let none = Interval::new(Position::MAX, Position::MIN);
        let width = self.width_within(height).map_or(none, |width| width.meet(across));
        let high = self.height_within(across).map_or(none, |high| high.meet(height));
        let nothing = width.is_empty() || high.is_empty();
        Self {
            width: if nothing { none } else { width },
            height: if nothing { none } else { high },
            sawn: true,
            ..self
        }
    }

    /// The section part of the way from this one to another, every number in proportion; whole, whatever faces leave of
    /// either.
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

    /// The lowest place of the ellipse part of the way from this one to another, without the rest of it.
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
        self.height
    }

    /// From the outermost entry-side to the outermost exit-side point.
    #[must_use]
    pub const fn width(&self) -> Interval {
        self.width
    }

    /// Where across the lowest point lies; the middle of a face underneath.
    #[must_use]
    pub fn lowest_across(&self) -> Position {
        let lowest = Position::um(self.centre_across - self.skew);
        if !self.sawn {
            return lowest;
        }
        let under = self.underside();
        under.lo + under.length().half_floor()
    }

    /// Where across it lies on what carries it: the lowest point, a face underneath, or the whole underside of a squared timber.
    #[must_use]
    pub fn underside(&self) -> Interval {
        let lowest = Position::um(self.centre_across - self.skew);
        match self.form {
            Form::Square => self.width(),
            Form::Round if self.sawn => self.chord(self.height.lo).unwrap_or_else(|| {
                let lowest = lowest.max(self.width.lo).min(self.width.hi);
                Interval::new(lowest, lowest)
            }),
            Form::Round => Interval::new(lowest, lowest),
        }
    }

    /// Whether faces are sawn along it.
    #[must_use]
    pub const fn is_sawn(&self) -> bool {
        self.sawn
    }

    /// What faces leave of a window.
    pub(crate) fn left_of(&self, across: Interval, height: Interval) -> (Interval, Interval) {
        if self.sawn {
            (across.meet(self.width), height.meet(self.height))
        } else {
            (across, height)
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
        self.lying_chord(height, Interval::new(Position::um(left), Position::um(right)))
    }

    /// What faces leave of a lying chord.
    fn lying_chord(&self, height: Position, chord: Interval) -> Option<Interval> {
        if !self.sawn {
            return Some(chord);
        }
        let left = chord.meet(self.width);
        (self.height.contains(height) && !left.is_empty()).then_some(left)
    }

    /// The standing chord at a place across; none where the section has no height there.
    #[must_use]
    pub fn standing_chord(&self, across: Position) -> Option<Interval> {
        let along = across.wide() - self.centre_across;
        if along.abs() >= self.reach() {
            return None;
        }
        let (low, high) = self.standing(along);
        let chord = Interval::new(Position::um(low), Position::um(high));
        if !self.sawn {
            return Some(chord);
        }
        let left = chord.meet(self.height);
        (self.width.contains(across) && !left.is_empty()).then_some(left)
    }

    /// Half the full width of the ellipse.
    const fn reach(&self) -> i64 {
        if self.sawn {
            scale(self.fine_reach, 1, FINE)
        } else {
            self.width.hi.wide() - self.centre_across
        }
    }

    /// How far across the section reaches between two heights; none where it does not reach in between them.
    #[must_use]
    pub fn width_within(&self, height: Interval) -> Option<Interval> {
        if self.sawn {
            let width = self.ellipse_within(height.meet(self.height))?.meet(self.width);
            return (!width.is_empty()).then_some(width);
        }
        self.ellipse_within(height)
    }

    /// How far across the ellipse reaches between two heights.
    fn ellipse_within(&self, height: Interval) -> Option<Interval> {
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
        if self.sawn {
            let height = self
                .ellipse_standing_within(across.meet(self.width))?
                .meet(self.height);
            return (!height.is_empty()).then_some(height);
        }
        self.ellipse_standing_within(across)
    }

    /// How far up and down the ellipse reaches between two places across.
    fn ellipse_standing_within(&self, across: Interval) -> Option<Interval> {
        let reach = self.reach();
        let left = (across.lo.wide() - self.centre_across).max(-reach);
        let right = (across.hi.wide() - self.centre_across).min(reach);
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
        let (across, height) = self.left_of(across, height);
        !across.is_empty() && !height.is_empty() && self.well_within(across, height)
    }

    /// Whether a window surely holds more than a fin of wood both ways, told without a root: no says nothing.
    pub(crate) fn surely_holds(&self, across: Interval, height: Interval) -> bool {
        let (across, height) = self.left_of(across, height);
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
mod tests;
