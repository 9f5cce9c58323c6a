//! Intel HEX, the open text form that device programmers read.
//!
//! Each line is `:`, the count of data bytes, a 16-bit address, a type, the data and a sum that makes all bytes of the
//! line add up to 0 modulo 256. Type 00 is data, 01 the end, 04 the upper half of the addresses that follow.

use std::fmt::Write;

/// Data bytes in a full line.
const LINE: usize = 16;

/// The last byte would lie beyond what 32 bits can address.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct BeyondAddresses;

impl std::fmt::Display for BeyondAddresses {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("the bytes reach beyond an address of 32 bits")
    }
}

impl std::error::Error for BeyondAddresses {}

/// These bytes as Intel HEX, the first at address `at`. Lines hold 16 bytes and begin at multiples of 16.
///
/// # Errors
/// [`BeyondAddresses`].
pub fn hex(bytes: &[u8], at: u32) -> Result<String, BeyondAddresses> {
    let mut text = String::new();
    let mut upper = 0;
    let mut at = u64::from(at);
    let mut rest = bytes;
    while !rest.is_empty() {
        let address = u32::try_from(at).map_err(|_| BeyondAddresses)?;
        let [high, low] = [(address >> 16) as u16, address as u16];
        if high != upper {
            line(&mut text, 0, 4, &high.to_be_bytes());
            upper = high;
        }
        let (now, after) = rest.split_at(rest.len().min(LINE - usize::from(low) % LINE));
        line(&mut text, low, 0, now);
        at += now.len() as u64;
        rest = after;
    }
    line(&mut text, 0, 1, &[]);
    Ok(text)
}

fn line(text: &mut String, address: u16, kind: u8, data: &[u8]) {
    let [high, low] = address.to_be_bytes();
    let head = [data.len() as u8, high, low, kind];
    let sum = head
        .iter()
        .chain(data)
        .fold(0_u8, |sum, byte| sum.wrapping_add(*byte));
    text.push(':');
    for byte in head.iter().chain(data).chain([&sum.wrapping_neg()]) {
        write!(text, "{byte:02X}").expect("a string takes everything");
    }
    text.push('\n');
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The first is the example line that descriptions of the format print, from memory; the sums of the others
    /// were added up by hand: 04+42+55+4E+4B = 134, so CC; 02+04+20+01 = 27, so D9.
    #[test]
    fn lines_are_those_worked_out_by_hand() {
        let data = [
            0x21, 0x46, 0x01, 0x36, 0x01, 0x21, 0x47, 0x01, 0x36, 0x00, 0x7E, 0xFE, 0x09, 0xD2, 0x19, 0x01,
        ];
        assert_eq!(
            hex(&data, 0x0100).as_deref(),
            Ok(":10010000214601360121470136007EFE09D2190140\n:00000001FF\n")
        );
        assert_eq!(
            hex(b"BUNK", 0).as_deref(),
            Ok(":0400000042554E4BCC\n:00000001FF\n")
        );
        assert_eq!(
            hex(b"BUNK", 0x2001_0000).as_deref(),
            Ok(":020000042001D9\n:0400000042554E4BCC\n:00000001FF\n")
        );
        assert_eq!(hex(&[], 7).as_deref(), Ok(":00000001FF\n"));
    }

    /// Reads the text back by the description alone.
    fn back(text: &str) -> Vec<(u32, u8)> {
        let mut upper = 0;
        let mut found = Vec::new();
        for line in text.lines() {
            let digits = line.strip_prefix(':').unwrap();
            let byte = |place: usize| u8::from_str_radix(&digits[2 * place..2 * place + 2], 16).unwrap();
            let bytes: Vec<u8> = (0..digits.len() / 2).map(byte).collect();
            assert_eq!(
                bytes.iter().fold(0_u8, |sum, byte| sum.wrapping_add(*byte)),
                0,
                "{line}"
            );
            let [count, high, low, kind, data @ .., _] = bytes.as_slice() else {
                panic!("{line}")
            };
            assert_eq!(usize::from(*count), data.len());
            match (kind, data) {
                (0, data) => {
                    let address = upper | u32::from(u16::from_be_bytes([*high, *low]));
                    assert_eq!(
                        address >> 16,
                        (address + data.len() as u32 - 1) >> 16,
                        "a line within its upper half"
                    );
                    found.extend((address..).zip(data.iter().copied()));
                }
                (4, [a, b]) => upper = u32::from(u16::from_be_bytes([*a, *b])) << 16,
                (1, []) => {}
                _ => panic!("{line}"),
            }
        }
        found
    }

    #[test]
    fn every_byte_comes_back_at_its_address() {
        let bytes: Vec<u8> = (0..70_000_u32).map(|place| (place * 7 % 251) as u8).collect();
        for at in [0, 3, 0xFFF8, 0x0800_4001] {
            let expected: Vec<_> = (at..).zip(bytes.iter().copied()).collect();
            assert_eq!(back(&hex(&bytes, at).unwrap()), expected);
        }
    }

    #[test]
    fn addresses_end_at_32_bits() {
        assert!(hex(&[1], u32::MAX).is_ok());
        assert_eq!(hex(&[1, 2], u32::MAX), Err(BeyondAddresses));
    }
}
