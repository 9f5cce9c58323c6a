//! The check sum, against values published elsewhere and against the definition.

use std::collections::BTreeSet;

use bunkside_protocol::job::{CRC_ALGORITHM, CRC_LEN, RECORD_MAX, SCHEMA_KEY, record_crc};
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

/// Bits of the longest record with its check sum.
const BITS: usize = (RECORD_MAX + CRC_LEN) * 8;

/// `x^n` modulo the polynomial for every place in the longest record: what a flip there does to the check sum.
/// A set of flips goes unseen where these come to zero, wherever in the record it begins.
fn effects() -> Vec<u32> {
    let next = |effect: &u32| Some(effect << 1 ^ if effect >> 31 == 1 { CRC_ALGORITHM.poly } else { 0 });
    std::iter::successors(Some(1), next).take(BITS).collect()
}

/// A proof that a record has Hamming distance six, as Koopman's tables say of this polynomial up to 32 736 bits of
/// data. Odd numbers of flips are seen because the polynomial has an even number of terms and so x + 1 as a factor;
/// that leaves two and four, of which the lowest may be taken to stand in place 0: every choice of the others is
/// tried.
#[test]
fn up_to_five_flips_in_a_record_are_seen() {
    let terms = CRC_ALGORITHM.poly.count_ones() + 1;
    assert!(terms.is_multiple_of(2), "odd numbers of flips");

    let effects = effects();
    let known: BTreeSet<u32> = effects.iter().copied().collect();
    assert!(known.len() == BITS, "two flips");

    // A coarse table in front: most sums are none of the effects by their low bits alone.
    let coarse = |effect: u32| (effect & 0xF_FFFF) as usize;
    let mut maybe = vec![0_u64; (1 << 20) / 64];
    for effect in &effects {
        maybe[coarse(*effect) / 64] |= 1 << (coarse(*effect) % 64);
    }
    for (second, effect) in effects.iter().enumerate().skip(1) {
        for other in &effects[second + 1..] {
            let sum = 1 ^ effect ^ other;
            if maybe[coarse(sum) / 64] >> (coarse(sum) % 64) & 1 == 1 {
                assert!(
                    !known.contains(&sum),
                    "four flips: place 0, {second} and two more"
                );
            }
        }
    }
}

/// One bit more, and four flips can go unseen: the limit is where the tables put it.
#[test]
fn the_longest_record_is_the_longest_that_could_be() {
    let effects = effects();
    let last = effects[BITS - 1];
    let beyond = last << 1 ^ if last >> 31 == 1 { CRC_ALGORITHM.poly } else { 0 };
    let known: BTreeSet<u32> = effects.iter().copied().collect();
    assert!(
        effects
            .iter()
            .skip(1)
            .any(|effect| known.contains(&(1 ^ effect ^ beyond)))
    );
}

/// The proof speaks of the sum that records really carry: a flip in one changes it by the effect of its place.
#[test]
fn a_flip_has_the_effect_of_its_place() {
    let effects = effects();
    let mut dice = Dice::new(4);
    let mut bytes: Vec<u8> = (0..RECORD_MAX).map(|_| dice.next() as u8).collect();
    let before = dice.next() as u32;
    let plain = record_crc(before, &bytes);
    for _ in 0..500 {
        // Bits run least significant first; the last one of the record stands just above the 32 of the sum.
        let bit = dice.below(RECORD_MAX as u64 * 8) as usize;
        bytes[bit / 8] ^= 1 << (bit % 8);
        let effect = effects[BITS - 1 - bit];
        assert_eq!(
            plain ^ record_crc(before, &bytes),
            effect.reverse_bits(),
            "bit {bit}"
        );
        bytes[bit / 8] ^= 1 << (bit % 8);
    }
}

/// Whatever 32 neighbouring bits become: their effects are independent, at every place.
#[test]
fn every_burst_in_a_record_is_seen() {
    for (start, burst) in effects().windows(32).enumerate() {
        assert!(independent(burst), "a burst from place {start}");
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
