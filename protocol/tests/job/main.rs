//! Tests of the stored job, beside the golden bytes.

#[path = "../support/mod.rs"]
mod support;

mod codec;
mod crc;
mod forge;
mod records;
mod schema;
mod wire;
