//! Bunkside's host tool as a library, so that tests can call in.

pub mod diagnostic;
pub mod measure;
