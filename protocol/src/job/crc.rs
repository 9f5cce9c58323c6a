//! The check sum that seals a record of a stored job.

use crc::{Algorithm, Crc};

use super::SCHEMA_KEY;

/// The CRC-32 of polynomial 0xF4ACFB13 that seals records: bits run least significant first, the register starts
/// at and is finally inverted with all ones.
///
/// It tells every error of up to five bits in 4 092 bytes. The link uses another polynomial, so that a frame is
/// never taken for a record.
pub const ALGORITHM: Algorithm<u32> = Algorithm {
    width: 32,
    poly: 0xF4AC_FB13,
    init: 0xFFFF_FFFF,
    refin: true,
    refout: true,
    xorout: 0xFFFF_FFFF,
    check: 0x1697_D06A,
    residue: 0x904C_DDBF,
};

static CRC: Crc<u32> = Crc::<u32>::new(&ALGORITHM);

/// The check sum of a record: over the schema key, the check sum of the record before it (0 for the first), its
/// own length, and its bytes.
///
/// The chain ties each record to its place and to its own job.
#[must_use]
pub fn record_crc(before: u32, bytes: &[u8]) -> u32 {
    // A record is at most 4 092 bytes long; a longer slice saturates and fits no record.
    let length = u32::try_from(bytes.len()).unwrap_or(u32::MAX);
    let mut digest = CRC.digest();
    digest.update(&SCHEMA_KEY.to_le_bytes());
    digest.update(&before.to_le_bytes());
    digest.update(&length.to_le_bytes());
    digest.update(bytes);
    digest.finalize()
}
