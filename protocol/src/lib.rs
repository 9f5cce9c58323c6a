//! The words Bunkside's host, controller and page speak: units, moves, the mill and the log as records of
//! integers, and the bytes they travel as.
//!
//! | module | holds |
//! |---|---|
//! | [`units`] | micrometres, speeds, times: bounded integers, one type for each meaning |
//! | [`moves`] | the move sequence: go, cut, swing, spin, hold |
//! | [`mill`] | the mill profile: what the machine can and may do |
//! | [`frame`] | the link frame: COBS and a check sum |
//! | [`job`] | the stored job: header, log, moves as bytes, check sums, tag |
//! | [`log`] | the log as it lies on the bunks, under bark and over bark |
//!
//! This crate knows no geometry: it carries what `bunkside-planner` judges.
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

pub mod frame;
pub mod job;
pub mod log;
pub mod mill;
pub mod moves;
pub mod units;

pub use log::{Form, LogRecord, Sawn, Station, Surface, Timber};
pub use mill::{Drive, MillRecord};
pub use moves::{Act, Acts, Angle, Cut, Feed, Hold, Move, Stroke, Targets};
pub use units::{Length, Millis, Position, Speed};
