//! The check sum, against values published elsewhere and against the definition.

use bunkside_protocol::job::{CRC_ALGORITHM, SCHEMA_KEY, record_crc};
use crc::{CRC_32_ISCSI, CRC_32_ISO_HDLC, Crc};

use crate::support::dice::Dice;

/// A CRC as it is defined: the remainder of a long division, bit by bit, with nothing from the code under test.
/// Bits run least significant first, the register begins and ends inverted.
pub(crate) fn by_definition(polynomial: u32, bytes: &[u8]) -> u32 {
    let mut register = u32::MAX;
    for byte in bytes {
        for place in 0..8 {
            let bit = u32::from(byte >> place & 1);
            let out = register >> 31 ^ bit;
            register <<= 1;
            if out == 1 {
                register ^= polynomial;
            }
        }
    }
    !register.reverse_bits()
}

/// Check values of the catalogue of parametrised CRC algorithms (CRC `RevEng`) for the nine digits (CRC-32/ISO-HDLC and CRC-32/ISCSI): the `crc`
/// crate and the definition above both give them.
#[test]
fn the_definition_gives_published_values() {
    let digits = b"123456789";
    assert_eq!(Crc::<u32>::new(&CRC_32_ISO_HDLC).checksum(digits), 0xCBF4_3926);
    assert_eq!(Crc::<u32>::new(&CRC_32_ISCSI).checksum(digits), 0xE306_9283);
    assert_eq!(by_definition(0x04C1_1DB7, digits), 0xCBF4_3926);
    assert_eq!(by_definition(0x1EDC_6F41, digits), 0xE306_9283);
    // Of CRC-32/ISO-HDLC alone: nothing, 32 zeros, 32 bytes of ones, 0 to 31.
    assert_eq!(by_definition(0x04C1_1DB7, &[]), 0);
    assert_eq!(by_definition(0x04C1_1DB7, &[0; 32]), 0x190A_55AD);
    assert_eq!(by_definition(0x04C1_1DB7, &[0xFF; 32]), 0xFF6C_AB0B);
    let rising: Vec<u8> = (0..32).collect();
    assert_eq!(by_definition(0x04C1_1DB7, &rising), 0x9126_7E8A);
}

#[test]
fn the_job_s_algorithm_is_the_definition() {
    let job = Crc::<u32>::new(&CRC_ALGORITHM);
    assert_eq!(CRC_ALGORITHM.poly, 0xF4AC_FB13);
    assert_eq!(job.checksum(b"123456789"), CRC_ALGORITHM.check);
    let mut dice = Dice::new(1);
    for len in (0..100).chain([4091, 4092, 4096]) {
        let bytes: Vec<u8> = (0..len).map(|_| dice.next() as u8).collect();
        let sum = job.checksum(&bytes);
        assert_eq!(sum, by_definition(0xF4AC_FB13, &bytes));
        // Over its own check sum the register always ends at the same value.
        let sealed = [&bytes[..], &sum.to_le_bytes()].concat();
        assert_eq!(!by_definition(0xF4AC_FB13, &sealed), CRC_ALGORITHM.residue);
    }
}

#[test]
fn a_record_s_sum_covers_key_place_length_and_bytes() {
    let mut dice = Dice::new(2);
    for len in [0_u32, 1, 44, 4092] {
        let bytes: Vec<u8> = (0..len).map(|_| dice.next() as u8).collect();
        let before = dice.next() as u32;
        let all = [
            &SCHEMA_KEY.to_le_bytes()[..],
            &before.to_le_bytes(),
            &len.to_le_bytes(),
            &bytes,
        ]
        .concat();
        assert_eq!(record_crc(before, &bytes), by_definition(0xF4AC_FB13, &all));
    }
}

/// Nothing but zeros is never a record, whatever its length: the register does not begin at zero.
#[test]
fn zeros_are_no_record() {
    for len in 0..=4092 {
        assert_ne!(record_crc(0, &vec![0; len]), 0);
    }
}

/// The distance that the polynomial is chosen for (Koopman's tables: six up to 32 736 bits): no two, three or four
/// flips and no burst of up to 32 bits in a full record go unseen. Pairs and bursts are all tried; of threes and
/// fours a sample.
#[test]
fn small_errors_in_a_full_record_are_seen() {
    // What one flipped bit does to the check sum depends on its place alone: the sum is linear.
    let plain = by_definition(0xF4AC_FB13, &[0; 4092]);
    let mut effect = vec![0_u32; 4096 * 8];
    for (place, effect) in effect.iter_mut().enumerate().skip(4092 * 8) {
        *effect = 1 << (place - 4092 * 8);
    }
    let mut last = {
        let mut bytes = [0; 4092];
        bytes[4091] = 0x80;
        by_definition(0xF4AC_FB13, &bytes) ^ plain
    };
    for place in (0..4092 * 8).rev() {
        effect[place] = last;
        // One place earlier is one more division step.
        last = last >> 1
            ^ if last & 1 == 1 {
                0xF4AC_FB13_u32.reverse_bits()
            } else {
                0
            };
    }
    let sorted: std::collections::BTreeSet<u32> = effect.iter().copied().collect();
    assert!(
        sorted.len() == effect.len() && !sorted.contains(&0),
        "one or two flips"
    );

    let mut dice = Dice::new(3);
    for _ in 0..300_000 {
        let mut pick = || effect[dice.below(4096 * 8) as usize];
        let (a, b, c, d) = (pick(), pick(), pick(), pick());
        assert!(a == b || !sorted.contains(&(a ^ b)), "three flips");
        let four = a ^ b ^ c ^ d;
        assert!(four != 0 || [b, c, d].contains(&a), "four flips");
    }
    for start in 0..effect.len() {
        let burst = &effect[start..effect.len().min(start + 32)];
        assert!(independent(burst), "a burst from bit {start}");
    }
}

/// Whether no choice among these comes to zero.
fn independent(effects: &[u32]) -> bool {
    let mut basis = [0_u32; 32];
    effects.iter().all(|effect| {
        let mut left = *effect;
        while left != 0 {
            let top = left.ilog2() as usize;
            if basis[top] == 0 {
                basis[top] = left;
                return true;
            }
            left ^= basis[top];
        }
        false
    })
}
