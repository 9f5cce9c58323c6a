//! Bunkside's controller: takes a stored job, judges it with the very rules that the host judged it with, and lets the
//! blade be used only for a job that passed.
//!
//! | module | holds |
//! |---|---|
//! | [`verify`] | a stored job opened, replayed and judged: the [`Report`] |
//! | [`permit`] | the output that lets a job be run, high only after one has passed |
//! | [`mod@make`] | a cut plan sequenced and stored as bytes, with no more memory than those bytes |
//! | [`mod@replan`] | what still stands of a log laid out anew, on a coarser step than the host's, as a job |
//!
//! The library runs on the host as it runs on the controller. The image for the emulated board is in
//! `src/bin/qemu/`.
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

pub mod make;
pub mod permit;
pub mod replan;
pub mod verify;

pub use make::{Made, MakeError, make};
pub use permit::Permit;
pub use replan::{ReplanError, Replanned, Rest, replan};
pub use verify::{OpenJob, Refusal, Report, Verified, bits};
