//! Mass, forces and times, in `f64` with functions from `libm` only, so that host and controller get the same bits.
#![cfg_attr(
    not(test),
    expect(clippy::float_arithmetic, reason = "physics is the one place for floats")
)]

pub mod area;
pub(crate) mod bed;
pub mod body;
pub mod dogs;
pub mod falling;
mod footing;
pub mod force;
pub mod going;
pub mod margins;
pub mod motion;
pub mod sag;
pub mod second;
pub mod slices;
pub mod strain;
pub mod support;
pub mod timing;
pub mod under;
pub mod wedges;

#[cfg(test)]
mod faces_tests;
#[cfg(test)]
mod tests;

/// Standard acceleration of free fall, m/s² (exact by definition: 3rd CGPM, 1901).
pub const GRAVITY: f64 = 9.806_65;
