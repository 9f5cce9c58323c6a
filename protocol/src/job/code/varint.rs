//! Numbers of the move code: seven bits a byte, low bits first, the top bit set on all but the last.

use super::Sink;
use crate::job::error::EncodeError;

/// Writes a number in as few bytes as it takes, five at most.
pub(super) fn write(sink: &mut impl Sink, mut number: u32) -> Result<(), EncodeError> {
    loop {
        let [low, ..] = number.to_le_bytes();
        number >>= 7;
        if number == 0 {
            return sink.put(low & 0x7F);
        }
        sink.put(low | 0x80)?;
    }
}

/// Puts a signed number into an unsigned one, small magnitudes first: 0, -1, 1, -2, 2 …
pub(super) const fn zigzag(number: i32) -> u32 {
    ((number << 1) ^ (number >> 31)).cast_unsigned()
}

/// The signed number that [`zigzag`] put there.
pub(super) const fn unzigzag(number: u32) -> i32 {
    (number >> 1).cast_signed() ^ (number & 1).cast_signed().wrapping_neg()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bytes(number: u32) -> heapless::Vec<u8, 5> {
        let mut out = heapless::Vec::new();
        write(&mut out, number).unwrap();
        out
    }

    #[test]
    fn lengths_change_at_powers_of_128() {
        for (number, expected) in [
            (0, &[0x00][..]),
            (127, &[0x7F]),
            (128, &[0x80, 0x01]),
            (16_383, &[0xFF, 0x7F]),
            (16_384, &[0x80, 0x80, 0x01]),
            (u32::MAX, &[0xFF, 0xFF, 0xFF, 0xFF, 0x0F]),
        ] {
            assert_eq!(bytes(number), expected);
        }
    }

    #[test]
    fn zigzag_puts_small_magnitudes_first() {
        for (signed, unsigned) in [
            (0, 0),
            (-1, 1),
            (1, 2),
            (-2, 3),
            (i32::MAX, u32::MAX - 1),
            (i32::MIN, u32::MAX),
        ] {
            assert_eq!(zigzag(signed), unsigned);
            assert_eq!(unzigzag(unsigned), signed);
        }
    }
}
