//! Lengths, places, speeds and times as bounded integers.
//!
//! `Position` says where, `Length` says how far; adding two positions does not compile. Both saturate at
//! ±100 m, far beyond any log, so no arithmetic on them can overflow or panic.

mod length;
mod millis;
mod position;
mod speed;

pub use length::Length;
pub use millis::Millis;
pub use position::Position;
pub use speed::Speed;

/// The largest magnitude of a [`Position`] or a [`Length`]: 100 m in micrometres.
pub const LIMIT_UM: i32 = 100_000_000;

/// A number that lies outside the range its unit allows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct OutOfRange;

impl core::fmt::Display for OutOfRange {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        f.write_str("the number lies outside the range of its unit")
    }
}

impl core::error::Error for OutOfRange {}

/// Clamps a wide count of micrometres into the range of [`LIMIT_UM`].
pub(crate) const fn clamp_um(um: i64) -> i32 {
    #[expect(clippy::as_conversions, reason = "both casts are exact after the comparison")]
    {
        if um > LIMIT_UM as i64 {
            LIMIT_UM
        } else if um < -(LIMIT_UM as i64) {
            -LIMIT_UM
        } else {
            um as i32
        }
    }
}

/// Writes a count of micrometres as millimetres with the digits that are needed: `12`, `-0.5`, `3.175`.
pub(crate) fn write_mm(f: &mut core::fmt::Formatter<'_>, um: i32) -> core::fmt::Result {
    let magnitude = um.unsigned_abs();
    let (whole, rest) = (magnitude / 1000, magnitude % 1000);
    let sign = if um < 0 { "-" } else { "" };
    if rest == 0 {
        write!(f, "{sign}{whole}")
    } else if rest % 100 == 0 {
        write!(f, "{sign}{whole}.{}", rest / 100)
    } else if rest % 10 == 0 {
        write!(f, "{sign}{whole}.{:02}", rest / 10)
    } else {
        write!(f, "{sign}{whole}.{rest:03}")
    }
}
