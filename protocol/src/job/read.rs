//! Reading a stored job.

use serde::{Deserialize, Serialize};

use super::code::CodeReader;
use super::crc::record_crc;
use super::error::{DecodeError, DecodeFault, TagError};
use super::header::{HEADER_LEN, Header};
use super::tag::{self, YardKey};
use super::{CRC_LEN, RECORD_MAX, TAG_LEN, mill_digest};
use crate::log::LogRecord;
use crate::mill::MillRecord;
use crate::moves::Move;

/// A stored job whose bytes were all looked at: every check sum fits, the log can be read, and so can every move.
///
/// That the bytes are whole says nothing about whether the moves are safe: that is for the rules.
#[derive(Clone, Debug)]
pub struct JobReader<'a> {
    bytes: &'a [u8],
    header: Header,
    log: LogRecord,
    /// The move code with its check sums.
    code: &'a [u8],
    /// Where it begins.
    code_at: usize,
}

const _: () = assert!(size_of::<JobReader<'_>>() <= 1024);

impl<'a> JobReader<'a> {
    /// Looks at every byte of a job. There must be no more bytes than its own.
    ///
    /// It takes time in proportion to the bytes, and no memory beside its own size (at most 1 KiB).
    ///
    /// # Errors
    /// The first thing that is wrong, with its byte offset: header, check sums, log, moves, in this order.
    pub fn open(bytes: &'a [u8]) -> Result<Self, DecodeError> {
        let header = Header::read(bytes)?;
        if header.job_len() != Some(bytes.len()) {
            return Err(DecodeFault::Length.at(bytes.len()));
        }
        // The length fits, so that every part below is there.
        let short = DecodeFault::Length.at(bytes.len());
        let log_len = usize::from(header.log_len);
        let mut records = Records {
            bytes,
            at: HEADER_LEN,
            before: header_crc(bytes).ok_or(short)?,
        };
        let log = records.next(log_len)?;
        let code_at = records.at;
        let code_len = header.stored_code_len().ok_or(short)?;
        let code = bytes
            .get(code_at..)
            .and_then(|rest| rest.get(..code_len))
            .ok_or(short)?;
        for record in code.chunks(RECORD_MAX + CRC_LEN) {
            records.next(record.len().checked_sub(CRC_LEN).ok_or(short)?)?;
        }
        if header.tagged {
            records.next(TAG_LEN)?;
        }
        let log = read_record::<LogRecord>(log).ok_or(DecodeFault::Log.at(HEADER_LEN))?;
        log.check()
            .map_err(|found| DecodeFault::Figure(found).at(HEADER_LEN))?;
        let job = Self {
            bytes,
            header,
            log,
            code,
            code_at,
        };
        job.moves().try_for_each(|next| next.map(drop))?;
        Ok(job)
    }

    /// The bytes it was read from.
    #[must_use]
    pub const fn bytes(&self) -> &'a [u8] {
        self.bytes
    }

    /// What the job says about itself.
    #[must_use]
    pub const fn header(&self) -> &Header {
        &self.header
    }

    /// The log as measured and set.
    #[must_use]
    pub const fn log(&self) -> &LogRecord {
        &self.log
    }

    /// Whether the job was planned for this mill profile.
    #[must_use]
    pub fn is_for(&self, mill: &MillRecord) -> bool {
        self.header.mill == mill_digest(mill)
    }

    /// The moves, from the first. Each was read once before; an error now means that the bytes have changed
    /// under the reader.
    #[must_use]
    pub fn moves(&self) -> Moves<'a> {
        let bytes = CodeBytes {
            chunks: self.code.chunks(RECORD_MAX + CRC_LEN),
            record: [].iter(),
        };
        Moves {
            code: CodeReader::new(self.header.grid, self.header.move_count, bytes),
            code_at: self.code_at,
        }
    }

    /// Whether a yard vouches for this job.
    ///
    /// # Errors
    /// [`TagError`] where there is no tag, or one that this key did not make.
    pub fn verify_tag(&self, key: &YardKey) -> Result<(), TagError> {
        if !self.header.tagged {
            return Err(TagError::Missing);
        }
        let parts = self.bytes.split_last_chunk::<CRC_LEN>();
        let parts = parts.and_then(|(bytes, _)| bytes.split_last_chunk::<TAG_LEN>());
        match parts {
            Some((signed, found)) if tag::same(found, &key.tag(signed)) => Ok(()),
            _ => Err(TagError::Wrong),
        }
    }
}

/// The moves of a stored job, one after the other.
#[derive(Clone, Debug)]
pub struct Moves<'a> {
    /// None only for a grid that no header can hold.
    code: Option<CodeReader<CodeBytes<'a>>>,
    code_at: usize,
}

impl Moves<'_> {
    /// How many moves are still to come.
    #[must_use]
    pub fn left(&self) -> u32 {
        self.code.as_ref().map_or(0, CodeReader::left)
    }
}

impl Iterator for Moves<'_> {
    type Item = Result<Move, DecodeError>;

    fn next(&mut self) -> Option<Self::Item> {
        let next = self.code.as_mut()?.next()?;
        Some(next.map_err(|error| DecodeError {
            offset: stored_offset(self.code_at, error.offset),
            ..error
        }))
    }
}

/// Where a byte of the move code stands in the job: a check sum follows every full record.
const fn stored_offset(code_at: usize, offset: usize) -> usize {
    code_at
        .saturating_add(offset)
        .saturating_add((offset / RECORD_MAX).saturating_mul(CRC_LEN))
}

/// The bytes of the move code, without the check sums between them.
#[derive(Clone, Debug)]
struct CodeBytes<'a> {
    chunks: core::slice::Chunks<'a, u8>,
    record: core::slice::Iter<'a, u8>,
}

impl Iterator for CodeBytes<'_> {
    type Item = u8;

    fn next(&mut self) -> Option<u8> {
        loop {
            if let Some(byte) = self.record.next() {
                return Some(*byte);
            }
            let (record, _) = self.chunks.next()?.split_last_chunk::<CRC_LEN>()?;
            self.record = record.iter();
        }
    }
}

/// Goes over the records of a job and compares their check sums.
struct Records<'a> {
    bytes: &'a [u8],
    at: usize,
    before: u32,
}

impl<'a> Records<'a> {
    fn next(&mut self, len: usize) -> Result<&'a [u8], DecodeError> {
        let short = DecodeFault::Length.at(self.bytes.len());
        let rest = self.bytes.get(self.at..).ok_or(short)?;
        let (record, after) = rest.split_at_checked(len).ok_or(short)?;
        let found = after.first_chunk::<CRC_LEN>().ok_or(short)?;
        self.before = record_crc(self.before, record);
        if u32::from_le_bytes(*found) != self.before {
            return Err(DecodeFault::Crc.at(self.at.saturating_add(len)));
        }
        self.at = self.at.saturating_add(len).saturating_add(CRC_LEN);
        Ok(record)
    }
}

fn header_crc(bytes: &[u8]) -> Option<u32> {
    let crc = bytes.first_chunk::<HEADER_LEN>()?.last_chunk()?;
    Some(u32::from_le_bytes(*crc))
}

/// The record that these bytes hold; none where they are not its one written form.
pub(super) fn read_record<'b, T>(bytes: &'b [u8]) -> Option<T>
where
    T: Serialize + Deserialize<'b>,
{
    let record = postcard::from_bytes(bytes).ok()?;
    // Postcard would accept numbers that are longer than they need to be, and bytes left over.
    postcard::serialize_with_flavor(&record, Same(bytes))
        .ok()?
        .then_some(record)
}

/// Compares what postcard writes with what it read.
struct Same<'a>(&'a [u8]);

impl postcard::ser_flavors::Flavor for Same<'_> {
    type Output = bool;

    fn try_push(&mut self, byte: u8) -> postcard::Result<()> {
        match self.0.split_first() {
            Some((first, rest)) if *first == byte => {
                self.0 = rest;
                Ok(())
            }
            _ => Err(postcard::Error::SerializeBufferFull),
        }
    }

    fn finalize(self) -> postcard::Result<bool> {
        Ok(self.0.is_empty())
    }
}
