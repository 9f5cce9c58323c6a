//! A stored job for others: as bytes, as Intel HEX for a programmer, as JSON to look at, and what it takes.

mod figures;
mod hex;
mod json;

use bunkside_protocol::job::{EncodeError, JobParts, encode, encoded_max};

pub use figures::Figures;
pub use hex::{BeyondAddresses, HexFault, hex, read_hex};
pub use json::{StoredAsJson, json, read_json};

/// The bytes of a stored job.
///
/// # Errors
/// [`EncodeError`], as of [`encode`]; never for want of room.
pub fn binary(parts: &JobParts<'_>) -> Result<Vec<u8>, EncodeError> {
    let mut bytes = vec![0; encoded_max(parts.moves.len())];
    let len = encode(parts, &mut bytes)?;
    bytes.truncate(len);
    Ok(bytes)
}
