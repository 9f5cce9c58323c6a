//! Lengths for reports, in millimetres or in inches to the fraction a tape shows.

use bunkside_protocol::Length;

const INCH_UM: i64 = 25_400;

/// The smallest division that is printed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Smallest {
    /// Eighths of an inch.
    Eighth,
    /// Sixteenths.
    Sixteenth,
    /// Thirty-seconds.
    ThirtySecond,
}

impl Smallest {
    /// How many make an inch.
    #[must_use]
    pub const fn per_inch(self) -> i64 {
        match self {
            Self::Eighth => 8,
            Self::Sixteenth => 16,
            Self::ThirtySecond => 32,
        }
    }
}

/// A length as text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Printed {
    /// The text, with its unit.
    pub text: String,
    /// Whether reading the text gives the same micrometres again.
    pub exact: bool,
}

impl core::fmt::Display for Printed {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        f.write_str(&self.text)
    }
}

/// Millimetres with so many decimals, at most 3: `228 mm`, `5.5 mm`. Trailing zeros are kept, for columns of figures.
#[must_use]
pub fn millimetres(length: Length, decimals: u8) -> Printed {
    let decimals = usize::from(decimals.min(3));
    let step = [1_000, 100, 10, 1][decimals];
    let parts = nearest(length.wide(), step);
    let per_mm = 1_000 / step;
    let (whole, rest) = (parts.abs() / per_mm, parts.abs() % per_mm);
    let sign = if parts < 0 { "-" } else { "" };
    let text = if decimals == 0 {
        format!("{sign}{whole} mm")
    } else {
        format!("{sign}{whole}.{rest:0decimals$} mm")
    };
    Printed {
        text,
        exact: parts * step == length.wide(),
    }
}

/// Inches with a fraction in lowest terms: `5 1/2 in`.
#[must_use]
pub fn inches(length: Length, smallest: Smallest) -> Printed {
    let parts = parts_of_inch(length, smallest);
    let sign = if parts < 0 { "-" } else { "" };
    let text = format!("{sign}{} in", mixed(parts.abs(), smallest));
    Printed {
        text,
        exact: exact(parts, smallest, length),
    }
}

/// Feet and inches: `12 ft 6 1/2 in`; inches alone below a foot, feet alone where no inch is left.
#[must_use]
pub fn feet_and_inches(length: Length, smallest: Smallest) -> Printed {
    let parts = parts_of_inch(length, smallest);
    let foot = 12 * smallest.per_inch();
    let (feet, rest) = (parts.abs() / foot, parts.abs() % foot);
    if feet == 0 {
        return inches(length, smallest);
    }
    let sign = if parts < 0 { "-" } else { "" };
    let text = if rest == 0 {
        format!("{sign}{feet} ft")
    } else {
        format!("{sign}{feet} ft {} in", mixed(rest, smallest))
    };
    Printed {
        text,
        exact: exact(parts, smallest, length),
    }
}

/// A count of the smallest division as a whole number and a fraction.
fn mixed(parts: i64, smallest: Smallest) -> String {
    let (whole, mut num) = (parts / smallest.per_inch(), parts % smallest.per_inch());
    let mut den = smallest.per_inch();
    while num != 0 && num % 2 == 0 {
        num /= 2;
        den /= 2;
    }
    match (whole, num) {
        (_, 0) => format!("{whole}"),
        (0, _) => format!("{num}/{den}"),
        _ => format!("{whole} {num}/{den}"),
    }
}

fn parts_of_inch(length: Length, smallest: Smallest) -> i64 {
    nearest(length.wide() * smallest.per_inch(), INCH_UM)
}

fn exact(parts: i64, smallest: Smallest, length: Length) -> bool {
    nearest(parts * INCH_UM, smallest.per_inch()) == length.wide()
}

/// The quotient to the nearest whole number, half away from zero.
const fn nearest(value: i64, by: i64) -> i64 {
    let magnitude = (value.abs() * 2 + by) / (2 * by);
    if value < 0 { -magnitude } else { magnitude }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::{Rules, length};

    #[test]
    fn prints_what_a_tape_shows() {
        let print = |um, smallest| feet_and_inches(Length::um(um), smallest).text;
        assert_eq!(print(139_700, Smallest::Sixteenth), "5 1/2 in");
        assert_eq!(print(3_822_700, Smallest::Sixteenth), "12 ft 6 1/2 in");
        assert_eq!(print(3_657_600, Smallest::Sixteenth), "12 ft");
        assert_eq!(print(1_588, Smallest::Sixteenth), "1/16 in");
        assert_eq!(print(0, Smallest::Sixteenth), "0 in");
        assert_eq!(print(-25_400, Smallest::Sixteenth), "-1 in");
        assert_eq!(print(304_700, Smallest::Sixteenth), "1 ft", "rounding carries");
        assert_eq!(inches(Length::um(3_822_700), Smallest::Eighth).text, "150 1/2 in");
        assert_eq!(millimetres(Length::um(228_040), 1).text, "228.0 mm");
        assert_eq!(millimetres(Length::um(-5_550), 1).text, "-5.6 mm");
        assert_eq!(millimetres(Length::um(1_499), 0).text, "1 mm");
        assert_eq!(millimetres(Length::um(7), 3).text, "0.007 mm");
    }

    #[test]
    fn says_whether_it_is_exact() {
        assert!(
            inches(Length::um(1_588), Smallest::Sixteenth).exact,
            "1/16 in is read as 1588 again"
        );
        assert!(!inches(Length::um(1_587), Smallest::Sixteenth).exact);
        assert!(!inches(Length::um(794), Smallest::Sixteenth).exact);
        assert!(inches(Length::um(794), Smallest::ThirtySecond).exact);
        assert!(millimetres(Length::um(5_500), 1).exact);
        assert!(!millimetres(Length::um(5_550), 1).exact);
    }

    /// Whatever is printed is read again: the same where exact, within half a division otherwise.
    #[test]
    fn printed_lengths_read_back() {
        let mut state = 0x2545_f491_4f6c_dd1d_u64;
        for _ in 0..20_000 {
            state ^= state << 13;
            state ^= state >> 7;
            state ^= state << 17;
            let um = i64::try_from(state % 200_000_001).unwrap() - 100_000_000;
            let um = if state & (1 << 60) == 0 { um % 500_000 } else { um };
            let original = Length::um(um);
            for smallest in [Smallest::Eighth, Smallest::Sixteenth, Smallest::ThirtySecond] {
                for printed in [inches(original, smallest), feet_and_inches(original, smallest)] {
                    read_back(original, &printed, INCH_UM / smallest.per_inch());
                }
            }
            for decimals in 0..=3 {
                read_back(
                    original,
                    &millimetres(original, decimals),
                    [1_000, 100, 10, 1][usize::from(decimals)],
                );
            }
        }
    }

    fn read_back(original: Length, printed: &Printed, division: i64) {
        let read = length(&printed.text, Rules::SIGNED).unwrap_or_else(|error| panic!("{printed}: {error}"));
        assert_eq!(read.value == original, printed.exact, "{printed} {original}");
        assert!(
            (read.value - original).wide().abs() * 2 <= division + 2,
            "{printed} {original}"
        );
    }
}
