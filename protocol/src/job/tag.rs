//! The yard tag: who made a job, for a controller that is paired with a yard.

use blake2::Blake2sMac;
use blake2::digest::consts::U16;
use blake2::digest::{FixedOutput, KeyInit, Update};

/// How many bytes a tag has.
pub const TAG_LEN: usize = 16;

/// The key that a yard's host and its controllers share.
#[derive(Clone, PartialEq, Eq)]
pub struct YardKey([u8; 32]);

impl YardKey {
    /// A key of 32 bytes, which must come from a source that nobody can foretell.
    #[must_use]
    pub const fn new(bytes: [u8; 32]) -> Self {
        Self(bytes)
    }

    /// The tag over these bytes: BLAKE2s keyed with all 32 bytes, output of 16 bytes.
    #[must_use]
    pub fn tag(&self, bytes: &[u8]) -> [u8; TAG_LEN] {
        let mut mac = Blake2sMac::<U16>::new(&self.0.into());
        mac.update(bytes);
        mac.finalize_fixed().into()
    }
}

impl core::fmt::Debug for YardKey {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        f.write_str("YardKey(kept secret)")
    }
}

/// Whether two tags are the same, in a time that does not depend on where they differ.
pub(super) fn same(one: &[u8; TAG_LEN], other: &[u8; TAG_LEN]) -> bool {
    let differ = one.iter().zip(other).fold(0, |differ, (a, b)| differ | (a ^ b));
    core::hint::black_box(differ) == 0
}

#[cfg(test)]
mod tests {
    use blake2::{Blake2s128, Blake2s256, Digest};

    use super::*;

    /// RFC 7693 appendix B, from memory: BLAKE2s of "abc" with an output of 32 bytes.
    #[test]
    fn the_hash_is_the_one_of_the_rfc() {
        let expected = [
            0x50, 0x8C, 0x5E, 0x8C, 0x32, 0x7C, 0x14, 0xE2, 0xE1, 0xA7, 0x2B, 0xA3, 0x4E, 0xEB, 0x45, 0x2F,
            0x37, 0x45, 0x8B, 0x20, 0x9E, 0xD6, 0x3A, 0x29, 0x4D, 0x99, 0x9B, 0x4C, 0x86, 0x67, 0x59, 0x82,
        ];
        assert_eq!(<[u8; 32]>::from(Blake2s256::digest(b"abc")), expected);
    }

    /// Both worked out with a second implementation of BLAKE2s (`hashlib.blake2s` with `digest_size=16`, and with
    /// `key=bytes(range(32))`): the short output is a parameter of the hash, not a cut of the long one.
    #[test]
    fn short_output_and_key_are_parameters() {
        let plain = 0xAA49_3811_9B1D_C7B8_7CBA_D0FF_D200_D0AE_u128;
        assert_eq!(<[u8; 16]>::from(Blake2s128::digest(b"abc")), plain.to_be_bytes());
        let mut key = [0; 32];
        for (byte, value) in key.iter_mut().zip(0..) {
            *byte = value;
        }
        let keyed = 0x61BA_5F16_5C19_4692_E09D_1252_0CC4_C74A_u128;
        assert_eq!(YardKey::new(key).tag(b"abc"), keyed.to_be_bytes());
    }
}
