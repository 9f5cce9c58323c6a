//! The link frame: COBS(message ‖ CRC-32C of it, little-endian) ‖ 0x00, at most 256 bytes.
//!
//! COBS (Cheshire and Baker, 1999) takes every zero out of the bytes, so that a zero ends a frame and nothing else
//! does: after any damage a receiver waits for the next one. What messages say is a later matter.

use crc::{CRC_32_ISCSI, Crc};

/// Longest frame, its closing zero included.
pub const FRAME_MAX: usize = 256;
/// Longest message: a frame less the closing zero, one byte of COBS for up to 254, and the check sum.
pub const MESSAGE_MAX: usize = FRAME_MAX - 2 - CHECK;
/// Bytes of the check sum.
const CHECK: usize = 4;

static CRC: Crc<u32> = Crc::<u32>::new(&CRC_32_ISCSI);

/// Why a frame cannot be made or read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FrameError {
    /// The message is longer than [`MESSAGE_MAX`], or the frame longer than [`FRAME_MAX`].
    TooLong,
    /// The bytes before the closing zero are no COBS.
    Coding,
    /// The check sum does not fit.
    CheckSum,
}

impl core::fmt::Display for FrameError {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        f.write_str(match self {
            Self::TooLong => "the frame is longer than 256 bytes",
            Self::Coding => "the frame is not coded as it should be",
            Self::CheckSum => "the frame's check sum does not fit",
        })
    }
}

impl core::error::Error for FrameError {}

/// Makes a frame of a message; answers how many bytes of `frame` it takes, the closing zero included.
///
/// # Errors
///
/// [`FrameError::TooLong`].
pub fn seal(message: &[u8], frame: &mut [u8; FRAME_MAX]) -> Result<usize, FrameError> {
    let mut plain = [0; MESSAGE_MAX + CHECK];
    let (body, rest) = plain
        .split_at_mut_checked(message.len())
        .ok_or(FrameError::TooLong)?;
    body.copy_from_slice(message);
    let check = CRC.checksum(message).to_le_bytes();
    rest.get_mut(..CHECK)
        .ok_or(FrameError::TooLong)?
        .copy_from_slice(&check);
    let coded = plain.get(..message.len() + CHECK).ok_or(FrameError::TooLong)?;
    let length = cobs::try_encode(coded, frame).map_err(|_| FrameError::TooLong)?;
    *frame.get_mut(length).ok_or(FrameError::TooLong)? = 0;
    Ok(length + 1)
}

/// Reads the frame before a closing zero (the zero itself left out) in place; answers the message.
///
/// # Errors
///
/// [`FrameError`]: nothing of a frame that does not fit is handed on.
pub fn open(frame: &mut [u8]) -> Result<&[u8], FrameError> {
    if frame.len() >= FRAME_MAX {
        return Err(FrameError::TooLong);
    }
    if frame.is_empty() || frame.contains(&0) {
        return Err(FrameError::Coding);
    }
    let length = cobs::decode_in_place(frame).map_err(|_| FrameError::Coding)?;
    let plain = frame.get(..length).ok_or(FrameError::Coding)?;
    let (message, check) = plain.split_last_chunk::<CHECK>().ok_or(FrameError::CheckSum)?;
    if u32::from_le_bytes(*check) == CRC.checksum(message) {
        Ok(message)
    } else {
        Err(FrameError::CheckSum)
    }
}

#[cfg(test)]
mod tests {
    use std::vec::Vec;

    use super::*;

    fn framed(message: &[u8]) -> Vec<u8> {
        let mut frame = [0; FRAME_MAX];
        let length = seal(message, &mut frame).unwrap();
        frame[..length].to_vec()
    }

    /// Cheshire and Baker 1999, IEEE/ACM Transactions on Networking 7(2); the first four also in the documentation of
    /// general COBS packages; the packet is taken from memory to be the paper's. The closing zero is not shown.
    #[test]
    fn coding_agrees_with_published_examples() {
        let packet = [0x45, 0, 0, 0x2C, 0x4C, 0x79, 0, 0, 0x40, 0x06, 0x4F, 0x37];
        let coded = [
            0x02, 0x45, 0x01, 0x04, 0x2C, 0x4C, 0x79, 0x01, 0x05, 0x40, 0x06, 0x4F, 0x37,
        ];
        let examples: [(&[u8], &[u8]); 7] = [
            (&[0], &[1, 1]),
            (&[0, 0], &[1, 1, 1]),
            (&[0, 0x11, 0], &[1, 2, 0x11, 1]),
            (&[0x11, 0x22, 0, 0x33], &[3, 0x11, 0x22, 2, 0x33]),
            (&[0x11, 0x22, 0x33, 0x44], &[5, 0x11, 0x22, 0x33, 0x44]),
            (&[0x11, 0, 0, 0], &[2, 0x11, 1, 1, 1]),
            (&packet, &coded),
        ];
        for (plain, coded) in examples {
            let mut made = [0; 64];
            let length = cobs::try_encode(plain, &mut made).unwrap();
            assert_eq!(&made[..length], coded);
            let length = cobs::decode_in_place(&mut made[..length]).unwrap();
            assert_eq!(&made[..length], plain);
        }
    }

    /// CRC-32C of the digits 1 to 9 is E3069283 (catalogue of parametrised CRC algorithms, CRC-32/ISCSI).
    #[test]
    fn a_frame_is_what_the_page_says() {
        let mut expected = Vec::from([0x0E]);
        expected.extend_from_slice(b"123456789");
        expected.extend_from_slice(&[0x83, 0x92, 0x06, 0xE3, 0]);
        assert_eq!(framed(b"123456789"), expected);
    }

    #[test]
    fn every_length_comes_back_and_one_more_does_not_fit() {
        for length in 0..=MESSAGE_MAX {
            let message: Vec<u8> = (0..length)
                .map(|byte| u8::try_from(byte * 7 % 256).unwrap())
                .collect();
            let mut frame = framed(&message);
            assert!(frame.len() <= FRAME_MAX);
            assert_eq!(frame.pop(), Some(0));
            assert!(!frame.contains(&0));
            assert_eq!(open(&mut frame), Ok(&message[..]));
        }
        assert_eq!(
            seal(&[1; MESSAGE_MAX + 1], &mut [0; FRAME_MAX]),
            Err(FrameError::TooLong)
        );
        assert_eq!(open(&mut [1; FRAME_MAX]), Err(FrameError::TooLong));
        assert_eq!(open(&mut []), Err(FrameError::Coding));
    }

    #[test]
    fn every_flipped_bit_and_every_cut_is_refused() {
        let whole = framed(b"a frame with a \0 inside");
        let coded = &whole[..whole.len() - 1];
        for bit in 0..coded.len() * 8 {
            let mut spoilt = coded.to_vec();
            spoilt[bit / 8] ^= 1 << (bit % 8);
            assert!(open(&mut spoilt).is_err(), "bit {bit}");
        }
        for end in 0..coded.len() {
            assert!(open(&mut coded[..end].to_vec()).is_err(), "cut at {end}");
        }
    }
}
