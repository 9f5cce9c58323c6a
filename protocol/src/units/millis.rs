//! A span of time.

use serde::{Deserialize, Serialize};

/// How long, in milliseconds; sums saturate at about 49 days.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Millis(u32);

impl Millis {
    /// No time.
    pub const ZERO: Self = Self(0);

    /// A time in milliseconds.
    #[must_use]
    pub const fn new(ms: u32) -> Self {
        Self(ms)
    }

    /// The count of milliseconds.
    #[must_use]
    pub const fn as_ms(self) -> u32 {
        self.0
    }

    /// Both spans, one after the other.
    #[must_use]
    pub const fn plus(self, other: Self) -> Self {
        Self(self.0.saturating_add(other.0))
    }
}

impl core::fmt::Display for Millis {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        write!(f, "{}.{} s", self.0 / 1000, self.0 % 1000 / 100)
    }
}
