//! The mill profile as bytes: what a controller is given once, and every job names by its digest.

use super::error::{DecodeError, DecodeFault, EncodeError};
use super::read::read_record;
use crate::mill::MillRecord;

/// Writes the record of a mill profile, the bytes that [`super::mill_digest`] runs over; answers with how many.
///
/// # Errors
/// [`EncodeError::Full`] where the buffer is too short.
pub fn encode_mill(mill: &MillRecord, out: &mut [u8]) -> Result<usize, EncodeError> {
    postcard::to_slice(mill, out)
        .map(|bytes| bytes.len())
        .map_err(|_| EncodeError::Full)
}

/// Reads the record of a mill profile. There must be no more bytes than its own, in its one written form.
///
/// # Errors
/// [`DecodeFault::Mill`].
pub fn decode_mill(bytes: &[u8]) -> Result<MillRecord, DecodeError> {
    read_record(bytes).ok_or(DecodeFault::Mill.at(0))
}
