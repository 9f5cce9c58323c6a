//! A place on an axis.

use core::ops::{Add, Sub};

use serde::{Deserialize, Serialize};

use super::{LIMIT_UM, Length, OutOfRange, clamp_um, write_mm};

/// Where, in micrometres from the origin of its axis, within ±100 m. Sums saturate at that limit.
///
/// The axis is told by the field that holds it: `travel` from the rails' zero mark, `across` from the bed's
/// centre line towards the exit side, `height` from the bed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "i32", into = "i32")]
pub struct Position(i32);

impl Position {
    /// The origin of its axis.
    pub const ZERO: Self = Self(0);
    /// The furthest place there is, 100 m; stands for "no end" in the stock.
    pub const MAX: Self = Self(LIMIT_UM);
    /// The furthest place the other way.
    pub const MIN: Self = Self(-LIMIT_UM);

    /// A place in micrometres, saturated at ±100 m.
    #[must_use]
    pub const fn um(um: i64) -> Self {
        Self(clamp_um(um))
    }

    /// A place in whole millimetres, saturated at ±100 m.
    #[must_use]
    pub const fn mm(mm: i32) -> Self {
        #[expect(clippy::as_conversions, reason = "widening, in a const fn")]
        Self(clamp_um(mm as i64 * 1000))
    }

    /// The count of micrometres.
    #[must_use]
    pub const fn as_um(self) -> i32 {
        self.0
    }

    /// The count of micrometres, wide enough to multiply.
    #[must_use]
    pub const fn wide(self) -> i64 {
        #[expect(clippy::as_conversions, reason = "widening, in a const fn")]
        {
            self.0 as i64
        }
    }

    /// How far it lies from the origin.
    #[must_use]
    pub const fn from_origin(self) -> Length {
        Length::um(self.wide())
    }

    /// The nearest place on a grid, half-way cases away from the origin. A grid of zero or less changes nothing.
    ///
    /// ```
    /// use bunkside_protocol::{Length, Position};
    /// let grid = Length::um(100);
    /// assert_eq!(Position::um(1_250).snapped(grid), Position::um(1_300));
    /// assert_eq!(Position::um(-1_250).snapped(grid), Position::um(-1_300));
    /// ```
    #[must_use]
    pub const fn snapped(self, grid: Length) -> Self {
        let step = grid.wide();
        if step <= 0 {
            return self;
        }
        let magnitude = (self.wide().abs() * 2 + step) / (2 * step) * step;
        Self::um(if self.0 < 0 { -magnitude } else { magnitude })
    }
}

impl core::fmt::Display for Position {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        write_mm(f, self.0)?;
        f.write_str(" mm")
    }
}

impl Add<Length> for Position {
    type Output = Self;
    fn add(self, by: Length) -> Self {
        Self::um(self.wide() + by.wide())
    }
}

impl Sub<Length> for Position {
    type Output = Self;
    fn sub(self, by: Length) -> Self {
        Self::um(self.wide() - by.wide())
    }
}

impl Sub for Position {
    type Output = Length;
    fn sub(self, other: Self) -> Length {
        Length::um(self.wide() - other.wide())
    }
}

impl TryFrom<i32> for Position {
    type Error = OutOfRange;
    fn try_from(um: i32) -> Result<Self, OutOfRange> {
        if (-LIMIT_UM..=LIMIT_UM).contains(&um) {
            Ok(Self(um))
        } else {
            Err(OutOfRange)
        }
    }
}

impl From<Position> for i32 {
    fn from(position: Position) -> Self {
        position.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn snapping_is_idempotent_and_nearest() {
        for grid in [1, 7, 100, 25_400] {
            for um in (-60_000..60_000).step_by(37) {
                let grid = Length::um(grid);
                let once = Position::um(um).snapped(grid);
                assert_eq!(once.snapped(grid), once);
                assert!((once - Position::um(um)).abs().times(2) <= grid);
            }
        }
    }
}
