//! The header of a stored job: 48 bytes of fixed size with a check sum of their own.

use super::crc::record_crc;
use super::digest::Digest;
use super::error::{DecodeError, DecodeFault};
use super::{CRC_LEN, GRID_MAX, RECORD_MAX, SCHEMA_KEY, TAG_LEN};
use crate::units::Length;

/// How many bytes a header has.
pub const HEADER_LEN: usize = 48;
/// What a stored job begins with.
pub const MAGIC: [u8; 4] = *b"BUNK";
/// The version of the format.
pub const FORMAT_VERSION: u8 = 1;

const FLAG_TAG: u8 = 1;

/// What a stored job says about itself before anything else.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Header {
    /// The grid that every target lies on.
    pub grid: Length,
    /// The mill profile it was planned for.
    pub mill: Digest,
    /// How many moves it has.
    pub move_count: u32,
    /// How many bytes the record of the log takes.
    pub log_len: u16,
    /// How many bytes the move code takes, check sums not counted.
    pub code_len: u32,
    /// Whether a yard tag stands at its end.
    pub tagged: bool,
}

impl Header {
    /// The bytes of the header, its check sum included.
    #[must_use]
    pub fn to_bytes(&self) -> [u8; HEADER_LEN] {
        let flags = if self.tagged { FLAG_TAG } else { 0 };
        let fields = MAGIC
            .into_iter()
            .chain([FORMAT_VERSION, flags])
            .chain(self.log_len.to_le_bytes())
            .chain(SCHEMA_KEY.to_le_bytes())
            // A grid is positive, so that its sign tells nothing.
            .chain(i32::from(self.grid).to_le_bytes())
            .chain(self.move_count.to_le_bytes())
            .chain(self.code_len.to_le_bytes())
            .chain(self.mill.to_bytes());
        let mut out = [0; HEADER_LEN];
        for (place, byte) in out.iter_mut().zip(fields) {
            *place = byte;
        }
        if let Some((bytes, crc)) = out.split_last_chunk_mut() {
            *crc = record_crc(0, bytes).to_le_bytes();
        }
        out
    }

    /// Reads a header at the start of these bytes.
    ///
    /// # Errors
    /// The first of [`DecodeFault::Length`], [`DecodeFault::Magic`], [`DecodeFault::Version`],
    /// [`DecodeFault::Schema`], [`DecodeFault::Crc`], [`DecodeFault::Flags`], [`DecodeFault::Grid`],
    /// [`DecodeFault::Log`] that applies.
    pub fn read(bytes: &[u8]) -> Result<Self, DecodeError> {
        let end = bytes.len();
        if !bytes.starts_with(&MAGIC) {
            return Err(DecodeFault::Magic.at(0));
        }
        let (header, _) = bytes
            .split_first_chunk::<HEADER_LEN>()
            .ok_or(DecodeFault::Length.at(end))?;
        Self::read_fields(header).ok_or(DecodeFault::Length.at(end))?
    }

    /// Reads the fields; none only if their sizes did not add up to a header's.
    fn read_fields(header: &[u8; HEADER_LEN]) -> Option<Result<Self, DecodeError>> {
        let mut fields = Fields(header);
        let _magic = fields.take::<4>()?;
        let [version, flags] = fields.take()?;
        let log_len = u16::from_le_bytes(fields.take()?);
        let schema = u64::from_le_bytes(fields.take()?);
        let grid = i32::from_le_bytes(fields.take()?);
        let move_count = u32::from_le_bytes(fields.take()?);
        let code_len = u32::from_le_bytes(fields.take()?);
        let mill = Digest::from_bytes(fields.take()?);
        let crc = u32::from_le_bytes(fields.take()?);
        let (bytes, _) = header.split_last_chunk::<CRC_LEN>()?;

        let fault = if version != FORMAT_VERSION {
            Some(DecodeFault::Version(version).at(4))
        } else if schema != SCHEMA_KEY {
            Some(DecodeFault::Schema(schema).at(8))
        } else if record_crc(0, bytes) != crc {
            Some(DecodeFault::Crc.at(HEADER_LEN - CRC_LEN))
        } else if flags & !FLAG_TAG != 0 {
            Some(DecodeFault::Flags(flags).at(5))
        } else if usize::from(log_len) > RECORD_MAX {
            Some(DecodeFault::Log.at(6))
        } else if grid < 1 || grid > i32::from(GRID_MAX) {
            Some(DecodeFault::Grid.at(16))
        } else {
            None
        };
        Some(fault.map_or_else(
            || {
                Ok(Self {
                    grid: Length::um(i64::from(grid)),
                    mill,
                    move_count,
                    log_len,
                    code_len,
                    tagged: flags & FLAG_TAG != 0,
                })
            },
            Err,
        ))
    }

    /// How many bytes the whole job takes; none where they are more than this machine can address.
    #[must_use]
    pub fn job_len(&self) -> Option<usize> {
        let tag = if self.tagged { TAG_LEN + CRC_LEN } else { 0 };
        (HEADER_LEN + CRC_LEN + tag)
            .checked_add(usize::from(self.log_len))?
            .checked_add(self.stored_code_len()?)
    }

    /// How many bytes the move code takes with its check sums.
    pub(super) fn stored_code_len(&self) -> Option<usize> {
        let code = usize::try_from(self.code_len).ok()?;
        code.div_ceil(RECORD_MAX).checked_mul(CRC_LEN)?.checked_add(code)
    }
}

/// The fields of a header, one after the other.
struct Fields<'a>(&'a [u8]);

impl Fields<'_> {
    fn take<const N: usize>(&mut self) -> Option<[u8; N]> {
        let (field, rest) = self.0.split_first_chunk()?;
        self.0 = rest;
        Some(*field)
    }
}
