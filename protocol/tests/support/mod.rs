//! What the tests of the stored job share.
#![allow(dead_code, reason = "each test binary uses a part of it")]

#[path = "../../../tests/support/dice.rs"]
pub(crate) mod dice;
pub(crate) mod hex;
pub(crate) mod maker;
pub(crate) mod sample;
