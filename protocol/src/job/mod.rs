//! The stored job: what a controller keeps and re-verifies before it saws.
//!
//! ```text
//! header 48 | log | crc 4 | code up to 4 092 | crc 4 | code | crc 4 | … [ tag 16 | crc 4 ]
//! ```
//!
//! - The header names the grid, the mill profile by its [`Digest`], and every length; it has its own check sum.
//! - Each check sum also runs over the schema key, the length of its record and the check sum before it, so that
//!   no record can be lost, moved or taken from another job.
//! - The log is a postcard record. The moves are the byte code of [`code`].
//! - The tag, if there is one, is BLAKE2s keyed with the yard key over every byte before it.
//!
//! A job has exactly one written form: what can be read, and is written again, gives the same bytes. `WIRE.md`
//! beside this crate says all of this byte by byte.
//!
//! The wire is not the judge: moves that make no sense (a go to nowhere, a hold for nothing, a cut that also
//! lifts) are carried as they are, so that the rules can say what is wrong with them.
//!
//! ```
//! use bunkside_protocol::job::{Digest, JobParts, JobReader, encode};
//! use bunkside_protocol::{Angle, Length, LogRecord, Move};
//!
//! fn store(mill: Digest, log: &LogRecord, out: &mut [u8]) -> Result<usize, Box<dyn core::error::Error>> {
//!     let moves = [Move::Swing(Angle::Flat), Move::Spin(true)];
//!     let parts = JobParts { mill, grid: Length::um(100), log, moves: &moves, key: None };
//!     let len = encode(&parts, out)?;
//!     let job = JobReader::open(&out[..len])?;
//!     assert_eq!(job.moves().collect::<Result<Vec<_>, _>>()?, moves);
//!     Ok(len)
//! }
//! ```

pub mod code;
mod crc;
mod digest;
mod error;
mod header;
mod profile;
mod read;
mod schema;
mod tag;
mod write;

pub use code::MOVE_MAX;
pub use crc::{ALGORITHM as CRC_ALGORITHM, record_crc};
pub use digest::{Digest, mill_digest};
pub use error::{DecodeError, DecodeFault, EncodeError, JobAxis, TagError};
pub use header::{FORMAT_VERSION, HEADER_LEN, Header, MAGIC};
pub use profile::{decode_mill, encode_mill};
pub use read::{JobReader, Moves};
pub use schema::{SCHEMA, SCHEMA_KEY, fnv1a_64};
pub use tag::{TAG_LEN, YardKey};
pub use write::{JobParts, JobWriter, encode, encoded_max};

use crate::units::Length;

/// How many bytes a record may have before its check sum: up to here the check sum tells every error of five bits.
pub const RECORD_MAX: usize = 4092;
/// How many bytes a check sum takes.
pub const CRC_LEN: usize = 4;
/// The coarsest grid, one inch.
pub const GRID_MAX: Length = Length::um(25_400);
