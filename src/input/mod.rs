//! Files in TOML, read against a table of keys.
//!
//! The keys of a file are data: a name, a [`Shape`] with its bounds, what happens when it is left out, and a line
//! that explains it. [`read`] walks a file with that table and collects all that is wrong: unknown keys, missing
//! keys, wrong types, values out of bounds, each with its place. What is left for the code that knows the
//! meaning are the checks between values.
//!
//! | module | holds |
//! |---|---|
//! | `schema` | keys and shapes |
//! | `sample` | a value that could stand at a key |
//! | `document` | a file's text as a TOML document |
//! | `walk` | a TOML document held against them |
//! | `twice` | what is wrong with the syntax, each thing once |
//! | `value` | one value held against its shape |
//! | `node` | what was read |
//! | `offset` | where in a file a byte of a quoted text stands |

mod document;
mod node;
mod offset;
mod plain;
mod sample;
mod schema;
mod twice;
mod value;
mod walk;

pub(crate) use document::parsed;
pub use document::read;
pub use node::{Node, Value};
pub use schema::{Key, Need, Shape, describe, describe_key, key_paths};
pub(crate) use schema::{in_unit, thousandths};
pub(crate) use walk::held;
#[cfg(test)]
pub(crate) use walk::{faulty_defaults, read_value};
