//! The schema key: eight bytes that stand for the shape of everything in a stored job.

/// The written schema of this format version: header, records, and the order and type of every field of the mill
/// and log records as they are serialised.
///
/// A test takes the shape of the records from their own code and compares it with this text.
pub const SCHEMA: &str = include_str!("schema.txt");

/// FNV-1a, 64 bits, over the bytes of [`SCHEMA`] (lines end with a line feed). Every stored job carries it and
/// every check sum in it starts from it.
pub const SCHEMA_KEY: u64 = fnv1a_64(SCHEMA.as_bytes());

/// FNV-1a, 64 bits. It tells texts apart that differ by accident; it is no protection against intent.
#[must_use]
pub const fn fnv1a_64(bytes: &[u8]) -> u64 {
    let mut hash = 0xCBF2_9CE4_8422_2325_u64;
    let mut rest = bytes;
    while let Some((byte, after)) = rest.split_first() {
        #[expect(clippy::as_conversions, reason = "widening, in a const fn")]
        {
            hash ^= *byte as u64;
        }
        hash = hash.wrapping_mul(0x0000_0100_0000_01B3);
        rest = after;
    }
    hash
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Values of the FNV authors' own test list, from memory; worked out again with a second program.
    #[test]
    fn fnv_gives_its_published_values() {
        assert_eq!(fnv1a_64(b""), 0xCBF2_9CE4_8422_2325);
        assert_eq!(fnv1a_64(b"a"), 0xAF63_DC4C_8601_EC8C);
        assert_eq!(fnv1a_64(b"foobar"), 0x8594_4171_F739_67E8);
    }
}
