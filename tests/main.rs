//! System tests of the host tool: one binary, one module for each area.
//!
//! A new area is a file beside this one and a `mod` line here.

mod attack;
mod bad_inputs;
mod columns;
mod command;
mod cut_plan;
#[path = "support/dice.rs"]
mod dice;
mod export;
mod feeds;
mod fixtures;
mod fuzz;
mod keys;
mod moves_json;
mod oracle;
mod readme;
mod report;
mod second;
mod sequences;
mod setting;
mod statics;
mod tidy;
mod view;
