//! The auditor under attack: sequences that were good are spoilt in every way we know, and it is counted which rule
//! refuses what.
//!
//! | module | holds |
//! |---|---|
//! | [`good`] | what is spoilt: the examples, and random logs on three kinds of mill |
//! | [`aimed`], [`practice`] | for every rule, ways to break it so exactly that it must refuse each time |
//! | [`loose`] | the same of what comes loose beside the blade, and of metal near it |
//! | [`under`] | the same of packs, wedges and dogs under the log, at rapid and in a swing |
//! | [`burden`], [`hold`] | the same of what engine, bunks and the wood's weight bear, by [`figures`] of its own |
//! | [`blind`] | changes that may or may not matter |
//! | [`count`] | the campaign, and its table |
//!
//! Set `BUNKSIDE_WORLDS` for more random logs than an ordinary run has, `BUNKSIDE_EACH` for more mutants of each, and
//! `BUNKSIDE_REPORT` to the page that the counts are written to; `tests/campaign` does.

pub(crate) mod aimed;
pub(crate) mod blind;
pub(crate) mod burden;
pub(crate) mod class;
pub(crate) mod count;
pub(crate) mod figures;
pub(crate) mod good;
pub(crate) mod hold;
pub(crate) mod loose;
pub(crate) mod practice;
pub(crate) mod under;
