//! A speed along an axis.

use serde::{Deserialize, Serialize};

use super::OutOfRange;

/// How fast, in micrometres a second, from 0 to 200 m/s (a blade's rim runs at 40 to 60).
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "u32", into = "u32")]
pub struct Speed(u32);

impl Speed {
    /// Standing still.
    pub const ZERO: Self = Self(0);
    /// The largest speed, 200 m/s.
    pub const MAX: Self = Self(200_000_000);

    /// A speed in micrometres a second, saturated at 200 m/s.
    #[must_use]
    pub const fn um_per_s(speed: u32) -> Self {
        if speed > Self::MAX.0 {
            Self::MAX
        } else {
            Self(speed)
        }
    }

    /// A speed in millimetres a second, saturated at 200 m/s.
    #[must_use]
    pub const fn mm_per_s(speed: u32) -> Self {
        Self::um_per_s(speed.saturating_mul(1000))
    }

    /// The count of micrometres a second.
    #[must_use]
    pub const fn as_um_per_s(self) -> u32 {
        self.0
    }
}

impl core::fmt::Display for Speed {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        let mm = self.0 / 1000;
        write!(f, "{}.{:03} m/s", mm / 1000, mm % 1000)
    }
}

impl TryFrom<u32> for Speed {
    type Error = OutOfRange;
    fn try_from(speed: u32) -> Result<Self, OutOfRange> {
        if speed <= Self::MAX.0 {
            Ok(Self(speed))
        } else {
            Err(OutOfRange)
        }
    }
}

impl From<Speed> for u32 {
    fn from(speed: Speed) -> Self {
        speed.0
    }
}
