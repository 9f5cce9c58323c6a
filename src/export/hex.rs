//! Intel HEX, the open text form that device programmers read.
//!
//! Each line is `:`, the count of data bytes, a 16-bit address, a type, the data and a sum that makes all bytes of the
//! line add up to 0 modulo 256. Type 00 is data, 01 the end, 04 the upper half of the addresses that follow; 02 the
//! same in sixteens, as older programmers write it.

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

/// Why a text is not the Intel HEX of one stretch of bytes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct HexFault {
    /// The line, from 1.
    pub line: usize,
    /// What is wrong with it.
    pub what: &'static str,
}

impl std::fmt::Display for HexFault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "line {}: {}", self.line, self.what)
    }
}

impl std::error::Error for HexFault {}

/// The bytes that Intel HEX tells of, wherever they begin; they must follow each other without a gap.
///
/// # Errors
/// [`HexFault`]: the first line that is no such line, whose sum is wrong, or that does not go on where the one before
/// it ended; or that there is no end.
pub fn read_hex(text: &str) -> Result<Vec<u8>, HexFault> {
    let mut bytes = Vec::new();
    let (mut upper, mut next) = (0_u64, None);
    let mut ended = false;
    let mut last = 0;
    for (number, written) in (1..).zip(text.lines()) {
        let fault = |what| HexFault { line: number, what };
        last = number;
        if written.trim().is_empty() {
            continue;
        }
        if ended {
            return Err(fault("something stands behind the end"));
        }
        let record = record(written.trim()).map_err(fault)?;
        let (address, data) = (upper + u64::from(record.address), record.data);
        match (record.kind, data.as_slice()) {
            (0, data) => {
                if next.is_some_and(|next| next != address) {
                    return Err(fault("its bytes do not follow those of the line before"));
                }
                next = Some(address + data.len() as u64);
                bytes.extend_from_slice(data);
            }
            (1, []) => ended = true,
            (2, [high, low]) => upper = u64::from(u16::from_be_bytes([*high, *low])) << 4,
            (4, [high, low]) => upper = u64::from(u16::from_be_bytes([*high, *low])) << 16,
            // Where a program starts is of no matter here.
            (3 | 5, [_, _, _, _]) => {}
            _ => return Err(fault("no such kind of line is read here")),
        }
    }
    if ended {
        Ok(bytes)
    } else {
        Err(HexFault {
            line: last.max(1),
            what: "the text ends without the line that ends it",
        })
    }
}

/// A line of Intel HEX, its sum checked.
struct Record {
    address: u16,
    kind: u8,
    data: Vec<u8>,
}

fn record(written: &str) -> Result<Record, &'static str> {
    let digits = written.strip_prefix(':').ok_or("a line begins with `:`")?;
    if digits.len() % 2 != 0 || !digits.bytes().all(|digit| digit.is_ascii_hexdigit()) {
        return Err("what stands behind `:` is not pairs of hexadecimal digits");
    }
    let value = |digit: u8| (digit as char).to_digit(16).unwrap_or(0) as u8;
    let pairs = digits.as_bytes().chunks_exact(2);
    let bytes: Vec<u8> = pairs.map(|pair| value(pair[0]) << 4 | value(pair[1])).collect();
    let [count, high, low, kind, data @ .., _] = bytes.as_slice() else {
        return Err("the line is cut short");
    };
    if usize::from(*count) != data.len() {
        return Err("it holds another number of bytes than it says");
    }
    if bytes.iter().fold(0_u8, |sum, byte| sum.wrapping_add(*byte)) != 0 {
        return Err("its check sum does not fit");
    }
    Ok(Record {
        address: u16::from_be_bytes([*high, *low]),
        kind: *kind,
        data: data.to_vec(),
    })
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
    fn what_was_written_is_read() {
        let bytes: Vec<u8> = (0..70_000_u32).map(|place| (place * 7 % 251) as u8).collect();
        for at in [0, 3, 0xFFF8, 0x0800_4001] {
            let text = hex(&bytes, at).unwrap();
            assert_eq!(read_hex(&text).as_deref(), Ok(&*bytes));
            assert_eq!(
                read_hex(&text.replace('\n', "\r\n").to_lowercase()).as_deref(),
                Ok(&*bytes)
            );
        }
        assert_eq!(read_hex(":00000001FF\n"), Ok(vec![]));
        // 02+00+00+02+10+00 = 14, so EC: a segment, as older programmers write it; and where a program starts.
        let old = ":020000021000EC\n:0400000300003800C1\n:0400000042554E4BCC\n:00000001FF\n";
        assert_eq!(read_hex(old).as_deref(), Ok(&b"BUNK"[..]));
    }

    #[test]
    fn what_is_no_such_text_is_told_by_its_line() {
        for (text, line, what) in [
            ("", 1, "ends without"),
            (":0400000042554E4BCC\n", 1, "ends without"),
            ("0400000042554E4BCC\n", 1, "begins with"),
            (":0400000042554E4BC\n", 1, "pairs"),
            (":04000000é2554E4BCC\n", 1, "pairs"),
            (":00FF01\n", 1, "cut short"),
            (":0500000042554E4BCB\n", 1, "another number"),
            (":0400000042554E4BCD\n", 1, "check sum"),
            (":0400000042554E4ACC\n", 1, "check sum"),
            (":0400000042554E4BCC\n:0400050042554E4BC7\n", 2, "do not follow"),
            (":00000001FF\n:00000001FF\n", 2, "behind the end"),
            (":00000006FA\n", 1, "no such kind"),
        ] {
            let fault = read_hex(text).unwrap_err();
            assert_eq!(fault.line, line, "{text}");
            assert!(fault.what.contains(what), "{text}: {fault}");
        }
    }

    #[test]
    fn addresses_end_at_32_bits() {
        assert!(hex(&[1], u32::MAX).is_ok());
        assert_eq!(hex(&[1, 2], u32::MAX), Err(BeyondAddresses));
    }
}
