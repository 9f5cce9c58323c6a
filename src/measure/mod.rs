//! Measurements as people write them, read exactly.
//!
//! | written | read as |
//! |---|---|
//! | `3.6 m`, `228 mm`, `22.8 cm` | metric, decimals with a point |
//! | `12 in`, `5 1/2 in`, `1-1/2"`, `5½ in`, `5/4 in` | inches, whole, mixed or as a fraction |
//! | `12'6"`, `12 ft 6 in`, `12' 6 1/2"`, `12'-6"` | feet and inches; whole feet, less than a foot of inches |
//! | `15 deg`, `2.5 s`, `24 m/min`, `900 N`, `18 kW` and others | see [`Quantity`] |
//!
//! A bare number is a length only where the caller says which unit its file declares. Reading is exact: an inch is
//! 25 400 micrometres. What is not a whole number of base units is rounded once, half away from zero, and
//! [`Measured::rounded`] says so. Errors point at the offending bytes and say what would do.
//!
//! ```
//! use bunkside::measure::{Rules, length};
//! let board = length("5 1/2 in", Rules::POSITIVE).unwrap();
//! assert_eq!((board.value.as_um(), board.rounded), (139_700, false));
//! let error = length("3.6 mn", Rules::POSITIVE).unwrap_err();
//! assert_eq!((error.span.start, error.to_string().as_str()), (4, "no unit of length is called `mn`"));
//! ```

mod amount;
mod fault;
mod parse;
mod print;
mod quantity;
mod system;

use bunkside_protocol::{Length, Millis, Speed};

pub use fault::{Fault, MeasureError};
pub use parse::{parse, parse_prefix};
pub use print::{Printed, Smallest, feet_and_inches, inches, millimetres};
pub use quantity::{LengthUnit, Quantity};
pub use system::{System, clock};

/// A value and whether it had to be rounded to be held.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Measured<T> {
    /// The value.
    pub value: T,
    /// Whether the text said something that is not a whole number of base units.
    pub rounded: bool,
}

impl<T> Measured<T> {
    /// The same with another value.
    pub fn map<U>(self, change: impl FnOnce(T) -> U) -> Measured<U> {
        Measured {
            value: change(self.value),
            rounded: self.rounded,
        }
    }
}

/// Whether a text tells a fraction that a tape has, from halves to sixty-fourths: that it is no whole number of micrometres
/// matters to nobody who reads a tape.
#[must_use]
pub fn is_on_a_tape(text: &str) -> bool {
    let Some((_, below)) = text.split_once('/') else {
        return false;
    };
    let digits: String = below
        .trim_start()
        .chars()
        .take_while(char::is_ascii_digit)
        .collect();
    ["2", "4", "8", "16", "32", "64"].contains(&digits.as_str())
}

/// What a text may say.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Rules {
    /// Whether a minus sign may stand in front.
    pub negative: bool,
    /// The unit of a bare number, if the file declares one.
    pub declared: Option<LengthUnit>,
}

impl Rules {
    /// Zero or more, always with a unit.
    pub const POSITIVE: Self = Self {
        negative: false,
        declared: None,
    };
    /// With or without a sign, always with a unit.
    pub const SIGNED: Self = Self {
        negative: true,
        declared: None,
    };

    /// The same for a file that declares a unit for its bare numbers.
    #[must_use]
    pub const fn declaring(self, declared: Option<LengthUnit>) -> Self {
        Self { declared, ..self }
    }
}

/// A whole text as a length.
///
/// # Errors
/// What is wrong, and at which bytes of the text.
pub fn length(text: &str, rules: Rules) -> Result<Measured<Length>, MeasureError> {
    Ok(parse(Quantity::Length, text, rules)?.map(Length::um))
}

/// The length that a text begins with, and how many bytes it takes; blanks in front are skipped. For
/// languages in which a length is one word of a line.
///
/// # Errors
/// What is wrong, and at which bytes of the text.
pub fn length_prefix(text: &str, rules: Rules) -> Result<(Measured<Length>, usize), MeasureError> {
    let (measured, taken) = parse_prefix(Quantity::Length, text, rules)?;
    Ok((measured.map(Length::um), taken))
}

/// A whole text as a time.
///
/// # Errors
/// What is wrong, and at which bytes of the text.
pub fn time(text: &str) -> Result<Measured<Millis>, MeasureError> {
    let measured = parse(Quantity::Time, text, Rules::POSITIVE)?;
    Ok(measured.map(|ms| Millis::new(u32::try_from(ms).unwrap_or(u32::MAX))))
}

/// A whole text as a speed.
///
/// # Errors
/// What is wrong, and at which bytes of the text.
pub fn speed(text: &str) -> Result<Measured<Speed>, MeasureError> {
    let measured = parse(Quantity::Speed, text, Rules::POSITIVE)?;
    Ok(measured.map(|speed| Speed::um_per_s(u32::try_from(speed).unwrap_or(u32::MAX))))
}
