//! What can be wrong with a job, writing it and reading it.

use core::fmt;

use crate::log::OutOfRange;
use crate::units::Length;

/// An axis of the carriage, as errors name it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum JobAxis {
    /// Along the rails.
    Travel,
    /// Across the bed.
    Across,
    /// Above the bed.
    Height,
}

impl fmt::Display for JobAxis {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Travel => "travel",
            Self::Across => "across",
            Self::Height => "height",
        })
    }
}

/// Why a job could not be written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum EncodeError {
    /// The lent buffer is too short.
    Full,
    /// The grid is finer than 1 µm or coarser than [`super::GRID_MAX`].
    Grid(Length),
    /// A target does not lie on the grid.
    OffGrid {
        /// Which move, counted from 0.
        index: u32,
        /// On which axis.
        axis: JobAxis,
    },
    /// There are more moves, or more bytes of them, than the header can count.
    TooLong,
}

impl fmt::Display for EncodeError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Full => f.write_str("the buffer is too short for the job"),
            Self::Grid(grid) => write!(
                f,
                "a grid of {grid} is not between 0.001 mm and {}",
                super::GRID_MAX
            ),
            Self::OffGrid { index, axis } => {
                write!(
                    f,
                    "move {index}: the target on the {axis} axis does not lie on the grid"
                )
            }
            Self::TooLong => f.write_str("the job has more moves than its header can count"),
        }
    }
}

impl core::error::Error for EncodeError {}

/// Why bytes are not a job, and where in them that shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DecodeError {
    /// Byte offset, from the start of what was handed in.
    pub offset: usize,
    /// What is wrong there.
    pub fault: DecodeFault,
}

/// What is wrong with the bytes of a job.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DecodeFault {
    /// They do not begin like a job.
    Magic,
    /// They are of a format version that is not read here.
    Version(u8),
    /// They were written with another schema.
    Schema(u64),
    /// A flag is set that has no meaning.
    Flags(u8),
    /// There are fewer or more bytes than the header says.
    Length,
    /// The check sum of a record does not fit its bytes.
    Crc,
    /// The grid is not one that can be written.
    Grid,
    /// The record of the log is not one, or not in its one written form.
    Log,
    /// The record of the log holds a figure that no log has.
    Figure(OutOfRange),
    /// The record of the mill is not one, or not in its one written form.
    Mill,
    /// No move has this code.
    Code(u8),
    /// The move code ends within a move, or before the last one.
    Short,
    /// A number takes more bits than it may.
    Number,
    /// A target or a speed lies outside the range of its unit.
    Range,
    /// The move could be written otherwise, and the one right way is that other one.
    Form,
    /// Bytes are left over after the last move.
    Trailing,
}

impl DecodeFault {
    /// At this offset.
    #[must_use]
    pub const fn at(self, offset: usize) -> DecodeError {
        DecodeError { offset, fault: self }
    }
}

impl fmt::Display for DecodeFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Magic => f.write_str("this is not a stored job"),
            Self::Version(found) => {
                write!(
                    f,
                    "format version {found} is not read here, only version {}",
                    super::FORMAT_VERSION
                )
            }
            Self::Schema(found) => {
                write!(f, "schema key {found:016x} is not {:016x}", super::SCHEMA_KEY)
            }
            Self::Flags(found) => write!(f, "flags {found:#04x} have no meaning"),
            Self::Length => f.write_str("the job is not as long as its header says"),
            Self::Crc => f.write_str("the check sum of the record does not fit its bytes"),
            Self::Grid => f.write_str("the grid is out of range"),
            Self::Log => f.write_str("the record of the log cannot be read"),
            Self::Figure(found) => write!(f, "{found}"),
            Self::Mill => f.write_str("the record of the mill cannot be read"),
            Self::Code(found) => write!(f, "no move has the code {found:#04x}"),
            Self::Short => f.write_str("the moves end too early"),
            Self::Number => f.write_str("a number takes more than 32 bits"),
            Self::Range => f.write_str("a target or a speed lies outside its range"),
            Self::Form => f.write_str("the move is not in its one written form"),
            Self::Trailing => f.write_str("bytes are left over after the last move"),
        }
    }
}

impl fmt::Display for DecodeError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "byte {}: {}", self.offset, self.fault)
    }
}

impl core::error::Error for DecodeError {}

/// Why a job is not vouched for by a yard key.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TagError {
    /// It carries no tag.
    Missing,
    /// Its tag was not made with this key over these bytes.
    Wrong,
}

impl fmt::Display for TagError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Missing => "the job carries no yard tag",
            Self::Wrong => "the yard tag was not made with this key over this job",
        })
    }
}

impl core::error::Error for TagError {}

#[cfg(test)]
mod tests {
    use std::format;
    use std::string::String;

    use super::*;

    #[test]
    fn texts_are_one_clause_in_lower_case() {
        let faults = [
            DecodeFault::Magic,
            DecodeFault::Version(2),
            DecodeFault::Schema(7),
            DecodeFault::Flags(4),
            DecodeFault::Length,
            DecodeFault::Crc,
            DecodeFault::Grid,
            DecodeFault::Log,
            DecodeFault::Figure(OutOfRange {
                figure: crate::log::STIFFNESS,
                found: 65_535,
            }),
            DecodeFault::Mill,
            DecodeFault::Code(1),
            DecodeFault::Short,
            DecodeFault::Number,
            DecodeFault::Range,
            DecodeFault::Form,
            DecodeFault::Trailing,
        ];
        let axis = JobAxis::Height;
        let errors = [
            EncodeError::Full,
            EncodeError::TooLong,
            EncodeError::OffGrid { index: 0, axis },
        ];
        let texts = faults.iter().map(|fault| format!("{}", fault.at(3)));
        let texts = texts.chain(errors.iter().map(|error| format!("{error}")));
        let mut texts: std::vec::Vec<String> = texts.collect();
        for text in &texts {
            // Units are written as they are everywhere.
            let words = text.replace(" N/mm2", "").replace(" J/cm3", "");
            assert!(
                words.chars().all(|letter| !letter.is_uppercase()) && !text.ends_with('.'),
                "{text}"
            );
        }
        texts.sort();
        texts.dedup();
        assert_eq!(
            texts.len(),
            faults.len() + errors.len(),
            "each says something of its own"
        );
        assert_eq!(
            format!("{}", DecodeFault::Code(0x1C).at(77)),
            "byte 77: no move has the code 0x1c"
        );
        assert_eq!(
            [JobAxis::Travel, JobAxis::Across, JobAxis::Height].map(|axis| format!("{axis}")),
            ["travel", "across", "height"]
        );
        assert_eq!(format!("{}", TagError::Missing), "the job carries no yard tag");
        assert_eq!(
            format!("{}", TagError::Wrong),
            "the yard tag was not made with this key over this job"
        );
        assert_eq!(
            format!("{}", EncodeError::Grid(Length::ZERO)),
            "a grid of 0 mm is not between 0.001 mm and 25.4 mm"
        );
    }
}
