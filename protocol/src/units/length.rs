//! A distance along an axis, signed.

use core::ops::{Add, AddAssign, Neg, Sub};

use serde::{Deserialize, Serialize};

use super::{LIMIT_UM, OutOfRange, clamp_um, write_mm};

/// How far, in micrometres, within ±100 m. Sums saturate at that limit.
///
/// ```
/// use bunkside_protocol::Length;
/// assert_eq!(Length::mm(5) + Length::mm(-7), Length::mm(-2));
/// assert_eq!(Length::mm(1) .to_string_mm().as_str(), "1");
/// ```
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "i32", into = "i32")]
pub struct Length(i32);

impl Length {
    /// No distance.
    pub const ZERO: Self = Self(0);
    /// The largest distance, 100 m.
    pub const MAX: Self = Self(LIMIT_UM);

    /// A distance in micrometres, saturated at ±100 m.
    #[must_use]
    pub const fn um(um: i64) -> Self {
        Self(clamp_um(um))
    }

    /// A distance in whole millimetres, saturated at ±100 m.
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

    /// The distance without its sign.
    #[must_use]
    pub const fn abs(self) -> Self {
        Self(self.0.abs())
    }

    /// Half of it, rounded down.
    #[must_use]
    pub const fn half_floor(self) -> Self {
        Self(self.0.div_euclid(2))
    }

    /// So many times as far, saturated at ±100 m.
    #[must_use]
    pub const fn times(self, factor: i32) -> Self {
        #[expect(clippy::as_conversions, reason = "widening, in a const fn")]
        Self(clamp_um(self.0 as i64 * factor as i64))
    }

    /// The millimetres as text, at most three decimals.
    #[must_use]
    pub fn to_string_mm(self) -> heapless::String<16> {
        let mut text = heapless::String::new();
        // Eleven characters at most: the write cannot fail.
        let _ = core::fmt::write(&mut text, format_args!("{}", Millimetres(self)));
        text
    }
}

struct Millimetres(Length);

impl core::fmt::Display for Millimetres {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        write_mm(f, self.0.0)
    }
}

impl core::fmt::Display for Length {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        write_mm(f, self.0)?;
        f.write_str(" mm")
    }
}

impl Add for Length {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self::um(self.wide() + other.wide())
    }
}

impl AddAssign for Length {
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}

impl Sub for Length {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self::um(self.wide() - other.wide())
    }
}

impl Neg for Length {
    type Output = Self;
    fn neg(self) -> Self {
        Self(-self.0)
    }
}

impl TryFrom<i32> for Length {
    type Error = OutOfRange;
    fn try_from(um: i32) -> Result<Self, OutOfRange> {
        if (-LIMIT_UM..=LIMIT_UM).contains(&um) {
            Ok(Self(um))
        } else {
            Err(OutOfRange)
        }
    }
}

impl From<Length> for i32 {
    fn from(length: Length) -> Self {
        length.0
    }
}

#[cfg(test)]
mod tests {
    use std::string::ToString;

    use super::*;

    #[test]
    fn saturates_instead_of_overflowing() {
        assert_eq!(Length::MAX + Length::MAX, Length::MAX);
        assert_eq!(-Length::MAX - Length::MAX, -Length::MAX);
        assert_eq!(Length::um(i64::MAX), Length::MAX);
        assert_eq!(Length::mm(i32::MIN), -Length::MAX);
    }

    #[test]
    fn prints_no_more_digits_than_it_has() {
        assert_eq!(Length::um(3175).to_string(), "3.175 mm");
        assert_eq!(Length::um(-500).to_string(), "-0.5 mm");
        assert_eq!(Length::um(1010).to_string(), "1.01 mm");
        assert_eq!(Length::mm(3600).to_string(), "3600 mm");
    }

    #[test]
    fn refuses_numbers_beyond_the_limit() {
        assert_eq!(Length::try_from(LIMIT_UM + 1), Err(OutOfRange));
        assert_eq!(Length::try_from(i32::MIN), Err(OutOfRange));
        assert_eq!(Length::try_from(-LIMIT_UM), Ok(-Length::MAX));
    }
}
