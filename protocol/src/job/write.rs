//! Writing a stored job into a lent buffer.

use super::code::{CodeWriter, Sink};
use super::crc::record_crc;
use super::digest::Digest;
use super::error::EncodeError;
use super::header::{HEADER_LEN, Header};
use super::tag::YardKey;
use super::{CRC_LEN, MOVE_MAX, RECORD_MAX, TAG_LEN};
use crate::log::LogRecord;
use crate::moves::Move;
use crate::units::Length;

/// Everything a stored job is made of.
#[derive(Clone, Copy, Debug)]
pub struct JobParts<'a> {
    /// The mill profile it was planned for: [`super::mill_digest`] of its record.
    pub mill: Digest,
    /// The grid that every target lies on.
    pub grid: Length,
    /// The log as measured and set.
    pub log: &'a LogRecord,
    /// The moves.
    pub moves: &'a [Move],
    /// The yard key to tag it with, if it is to be tagged.
    pub key: Option<&'a YardKey>,
}

/// A buffer of this many bytes holds any job with so many moves.
#[must_use]
pub const fn encoded_max(moves: usize) -> usize {
    let code = moves.saturating_mul(MOVE_MAX);
    let sums = code.div_ceil(RECORD_MAX).saturating_mul(CRC_LEN);
    (HEADER_LEN + RECORD_MAX + CRC_LEN + TAG_LEN + CRC_LEN)
        .saturating_add(code)
        .saturating_add(sums)
}

/// Writes a job, and answers with how many bytes it took.
///
/// # Errors
/// [`EncodeError`]; what was written into the buffer is then of no use.
pub fn encode(job: &JobParts<'_>, out: &mut [u8]) -> Result<usize, EncodeError> {
    let mut writer = JobWriter::new(job.mill, job.grid, job.log, out)?;
    for next in job.moves {
        writer.push(*next)?;
    }
    writer.finish(job.key)
}

/// Writes a job move by move, for a sequencer that has no room for the moves themselves.
#[derive(Debug)]
pub struct JobWriter<'a> {
    header: Header,
    code: CodeWriter<Records<'a>>,
    failed: Option<EncodeError>,
}

impl<'a> JobWriter<'a> {
    /// Begins a job in a buffer.
    ///
    /// # Errors
    /// [`EncodeError::Grid`], or [`EncodeError::Full`] where not even header and log have room.
    pub fn new(mill: Digest, grid: Length, log: &LogRecord, out: &'a mut [u8]) -> Result<Self, EncodeError> {
        let place = out.get_mut(HEADER_LEN..).ok_or(EncodeError::Full)?;
        let log_len = postcard::to_slice(log, place)
            .map_err(|_| EncodeError::Full)?
            .len();
        if log_len > RECORD_MAX {
            return Err(EncodeError::TooLong);
        }
        let header = Header {
            grid,
            mill,
            move_count: 0,
            log_len: u16::try_from(log_len).map_err(|_| EncodeError::TooLong)?,
            code_len: 0,
            tagged: false,
        };
        let records = Records {
            at: (HEADER_LEN + CRC_LEN).saturating_add(log_len),
            out,
            code_len: 0,
        };
        let code = CodeWriter::new(grid, records)?;
        Ok(Self {
            header,
            code,
            failed: None,
        })
    }

    /// Writes a move.
    ///
    /// # Errors
    /// [`EncodeError`]; every later call gives the same one.
    pub fn push(&mut self, next: Move) -> Result<(), EncodeError> {
        if let Some(error) = self.failed {
            return Err(error);
        }
        self.code
            .push(next)
            .inspect_err(|error| self.failed = Some(*error))
    }

    /// Seals the job, tagged if a key is given, and answers with how many bytes it took.
    ///
    /// # Errors
    /// [`EncodeError`], also one that an earlier move met.
    pub fn finish(self, key: Option<&YardKey>) -> Result<usize, EncodeError> {
        if let Some(error) = self.failed {
            return Err(error);
        }
        let move_count = self.code.count();
        let Records { out, code_len, .. } = self.code.into_sink();
        let header = Header {
            move_count,
            code_len,
            tagged: key.is_some(),
            ..self.header
        };
        let mut sealer = Sealer {
            out,
            at: 0,
            before: 0,
        };
        seal_all(&mut sealer, &header, key).ok_or(EncodeError::Full)?;
        Ok(sealer.at)
    }
}

/// The buffer, as the move code runs into it: a gap for a check sum is left after every full record.
#[derive(Debug)]
struct Records<'a> {
    out: &'a mut [u8],
    at: usize,
    code_len: u32,
}

impl Sink for Records<'_> {
    fn put(&mut self, byte: u8) -> Result<(), EncodeError> {
        let code_len = self.code_len.checked_add(1).ok_or(EncodeError::TooLong)?;
        let full = usize::try_from(self.code_len).is_ok_and(|len| len > 0 && len.is_multiple_of(RECORD_MAX));
        if full {
            self.at = self.at.saturating_add(CRC_LEN);
        }
        *self.out.get_mut(self.at).ok_or(EncodeError::Full)? = byte;
        self.at = self.at.saturating_add(1);
        self.code_len = code_len;
        Ok(())
    }
}

/// Writes what can only be known at the end: the header, the check sums, the tag. None where there is no room.
fn seal_all(sealer: &mut Sealer<'_>, header: &Header, key: Option<&YardKey>) -> Option<()> {
    let bytes = header.to_bytes();
    *sealer.out.first_chunk_mut()? = bytes;
    sealer.at = HEADER_LEN;
    sealer.before = u32::from_le_bytes(*bytes.last_chunk()?);
    sealer.seal(usize::from(header.log_len))?;
    let mut rest = usize::try_from(header.code_len).ok()?;
    while rest > 0 {
        let len = rest.min(RECORD_MAX);
        sealer.seal(len)?;
        rest = rest.saturating_sub(len);
    }
    if let Some(key) = key {
        let (before, after) = sealer.out.split_at_mut_checked(sealer.at)?;
        *after.first_chunk_mut()? = key.tag(before);
        sealer.seal(TAG_LEN)?;
    }
    Some(())
}

/// Goes over the records of a buffer and writes their check sums.
struct Sealer<'a> {
    out: &'a mut [u8],
    at: usize,
    before: u32,
}

impl Sealer<'_> {
    /// Seals the next so many bytes as a record.
    fn seal(&mut self, len: usize) -> Option<()> {
        let (record, after) = self.out.get_mut(self.at..)?.split_at_mut_checked(len)?;
        self.before = record_crc(self.before, record);
        *after.first_chunk_mut()? = self.before.to_le_bytes();
        self.at = self.at.checked_add(len)?.checked_add(CRC_LEN)?;
        Some(())
    }
}
