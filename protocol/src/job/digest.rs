//! The digest of a mill profile: which machine a job was planned for.

use blake2::{Blake2s128, Digest as _};
use postcard::ser_flavors::Flavor;

use crate::mill::MillRecord;

/// Sixteen bytes that stand for a mill profile: BLAKE2s with an output of 16 bytes, over the postcard bytes of its
/// record.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
pub struct Digest([u8; 16]);

impl Digest {
    /// A digest as it was stored.
    #[must_use]
    pub const fn from_bytes(bytes: [u8; 16]) -> Self {
        Self(bytes)
    }

    /// Its bytes.
    #[must_use]
    pub const fn to_bytes(self) -> [u8; 16] {
        self.0
    }
}

impl core::fmt::Display for Digest {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        self.0.iter().try_for_each(|byte| write!(f, "{byte:02x}"))
    }
}

impl core::fmt::Debug for Digest {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        write!(f, "Digest({self})")
    }
}

/// The digest of a mill profile. It runs over the bytes as they are made and keeps none of them.
#[must_use]
pub fn mill_digest(mill: &MillRecord) -> Digest {
    // A mill record has no part that cannot be serialised, and the hash takes any number of bytes: if this ever
    // failed, the digest would be all zeros, which no profile has.
    let hash = postcard::serialize_with_flavor(mill, Hash(Blake2s128::new()));
    Digest(hash.unwrap_or_default())
}

/// Hashes what postcard writes.
struct Hash(Blake2s128);

impl Flavor for Hash {
    type Output = [u8; 16];

    fn try_push(&mut self, byte: u8) -> postcard::Result<()> {
        self.0.update([byte]);
        Ok(())
    }

    fn try_extend(&mut self, bytes: &[u8]) -> postcard::Result<()> {
        self.0.update(bytes);
        Ok(())
    }

    fn finalize(self) -> postcard::Result<Self::Output> {
        Ok(self.0.finalize().into())
    }
}
