//! Planner.
#![no_std]
#![forbid(unsafe_code)]

pub mod plan;
