//! The move code: one byte a move, and operands only for what could not be foretold.
//!
//! Writer and reader keep the same [`Memory`] of what was said before: where each axis stands, the last four ends
//! along the rails, the last step of the other axes, the last two feeds for each angle and label. A code says
//! "that end", "the same step again", "the feed before last"; what is new follows as a number.
//!
//! | code | move |
//! |---|---|
//! | `02` `03` | swing to flat, to upright |
//! | `04` `05` | spin down, spin up |
//! | `06` | hold; its acts follow as a bit set |
//! | `10`…`1B` | hold for one act, by the act's number |
//! | `20`…`3F` | cut that is not along the rails alone: `001 r ff ss`, then a go code for its targets |
//! | `40`…`7F` | go: `01 tt aa hh` |
//! | `80`…`FF` | cut along the rails: `1 r ff ee ss` |
//!
//! The fields are those of `fields.rs`. Every sequence has exactly one written form.

mod decode;
mod encode;
pub(crate) mod fields;
mod memory;
mod varint;

pub use decode::CodeReader;
pub use encode::CodeWriter;
pub use memory::Memory;

use super::error::EncodeError;

/// The most bytes a move takes: two codes, three targets of five bytes, a speed of four.
pub const MOVE_MAX: usize = 21;

/// Takes bytes, one after the other.
pub trait Sink {
    /// Takes a byte.
    ///
    /// # Errors
    /// [`EncodeError::Full`] where there is no room for it.
    fn put(&mut self, byte: u8) -> Result<(), EncodeError>;
}

impl<const N: usize> Sink for heapless::Vec<u8, N> {
    fn put(&mut self, byte: u8) -> Result<(), EncodeError> {
        self.push(byte).map_err(|_| EncodeError::Full)
    }
}
