//! Bunkside's host tool as a library, so that tests can call in.
#![forbid(unsafe_code)]

pub mod account;
pub mod allot;
pub mod begun;
pub mod caution;
pub mod cli;
pub mod columns;
pub mod command;
pub mod cut_plan;
pub mod diagnostic;
pub mod explain;
pub mod export;
pub mod input;
pub mod job;
pub mod layout;
pub mod measure;
pub mod mill;
pub mod moves_json;
pub mod order;
pub mod planned;
pub mod setting;
pub mod species;
pub mod spread;
pub mod trace;
pub mod view;
pub mod yard;
