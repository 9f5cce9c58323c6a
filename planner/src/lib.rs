//! Bunkside's planner: what stands after each cut, which rules a sequence keeps, and how a cut plan becomes moves.
//!
//! | module | holds |
//! |---|---|
//! | [`geometry`] | sections, chords and boxes in integers |
//! | [`stock`] | the wood that remains, what is free, what a stroke meets |
//! | [`plan`] | the cut plan as data |
//! | [`limits`] | every capacity and bound, with its reason |
//!
//! No allocation, no panic: what cannot be represented is answered as an error that names the limit.
#![no_std]
#![forbid(unsafe_code)]
#![cfg_attr(
    not(test),
    warn(
        clippy::indexing_slicing,
        clippy::unwrap_used,
        clippy::expect_used,
        clippy::panic,
        clippy::float_arithmetic,
        clippy::as_conversions,
        clippy::std_instead_of_core
    )
)]

#[cfg(test)]
extern crate std;

pub mod audit;
pub mod geometry;
pub mod layout;
pub mod limits;
pub mod machine;
pub mod physics;
pub mod plan;
pub mod replay;
pub mod rules;
pub mod sequence;
pub mod stock;

#[cfg(test)]
mod testing;
