//! Numbers as people write them on a tape and on paper, exact.
//!
//! ```text
//! amount = whole ["." digits] | "." digits
//!        | whole "/" whole                      a plain fraction; 5/4 is a size of the trade
//!        | whole joint whole "/" whole          a whole number and a fraction under one
//!        | vulgar | whole [joint] vulgar        ½ and its like
//! joint  = blanks | [blanks] "-" [blanks]
//! ```

use nom::bytes::complete::take_while;
use nom::character::complete::{char, digit0, digit1};
use nom::combinator::opt;
use nom::error::{ErrorKind, ParseError};
use nom::{IResult, Parser};

use super::fault::Fault;

/// Most digits before and behind the point.
const DIGITS_MAX: usize = 9;

/// An exact number; the denominator is positive.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Ratio {
    pub(super) num: i128,
    pub(super) den: i128,
}

impl Ratio {
    const fn whole(num: i128) -> Self {
        Self { num, den: 1 }
    }

    /// The sum of both; none where it cannot be held.
    pub(super) fn plus(self, other: Self) -> Option<Self> {
        let num = self
            .num
            .checked_mul(other.den)?
            .checked_add(other.num.checked_mul(self.den)?)?;
        Some(Self {
            num,
            den: self.den.checked_mul(other.den)?,
        })
    }

    /// So many times as much.
    pub(super) fn times(self, num: i128, den: i128) -> Option<Self> {
        Some(Self {
            num: self.num.checked_mul(num)?,
            den: self.den.checked_mul(den)?,
        })
    }

    /// The nearest whole number, half away from zero, and whether that changed it.
    pub(super) fn rounded(self) -> Option<(i64, bool)> {
        let magnitude = self.num.checked_abs()?;
        let (whole, rest) = (magnitude / self.den, magnitude % self.den);
        let nearest = i64::try_from(whole + i128::from(rest >= self.den - rest)).ok()?;
        Some((if self.num < 0 { -nearest } else { nearest }, rest != 0))
    }

    /// Whether it is a whole number.
    pub(super) const fn is_whole(self) -> bool {
        self.num % self.den == 0
    }
}

/// A fault with the text it was found at.
#[derive(Debug)]
pub(super) struct Trouble<'a> {
    /// From the fault to the end of the input.
    pub(super) at: &'a str,
    /// Offending bytes from there.
    pub(super) len: usize,
    /// What is wrong.
    pub(super) fault: Fault,
}

impl<'a> ParseError<&'a str> for Trouble<'a> {
    fn from_error_kind(at: &'a str, _: ErrorKind) -> Self {
        Self {
            at,
            len: at.chars().next().map_or(0, char::len_utf8),
            fault: Fault::NoNumber,
        }
    }

    fn append(_: &'a str, _: ErrorKind, other: Self) -> Self {
        other
    }
}

/// The outcome of a part of the grammar.
pub(super) type Parsed<'a, T> = IResult<&'a str, T, Trouble<'a>>;

/// A fault that no other reading of the text can cure: the bytes from `at` up to where `rest` begins.
pub(super) fn failure<'a, T>(at: &'a str, rest: &str, fault: Fault) -> Parsed<'a, T> {
    Err(nom::Err::Failure(Trouble {
        at,
        len: at.len() - rest.len(),
        fault,
    }))
}

/// Blanks, none or more; never a line end.
pub(super) fn blanks(input: &str) -> Parsed<'_, &str> {
    take_while(|character| matches!(character, ' ' | '\t' | '\u{a0}' | '\u{202f}' | '\u{2009}')).parse(input)
}

/// A number without sign or unit.
pub(super) fn amount(input: &str) -> Parsed<'_, Ratio> {
    if let (rest, Some(vulgar)) = opt(vulgar).parse(input)? {
        return Ok((rest, vulgar));
    }
    let (rest, whole) = digit0(input)?;
    if whole.is_empty() && !rest.starts_with('.') {
        return Err(nom::Err::Error(Trouble::from_error_kind(input, ErrorKind::Digit)));
    }
    let whole = number(input, whole)?;
    match rest.chars().next() {
        Some('.') => decimals(input, rest, whole),
        Some(',') if rest[1..].starts_with(|next: char| next.is_ascii_digit()) => {
            failure(rest, &rest[1..], Fault::Comma)
        }
        Some('/') => over(rest, whole),
        _ => mixed(rest, whole),
    }
}

/// What follows a decimal point.
fn decimals<'a>(input: &'a str, point: &'a str, whole: i128) -> Parsed<'a, Ratio> {
    let (rest, digits) = digit0(&point[1..])?;
    if digits.is_empty() {
        return failure(point, rest, Fault::NoDecimals);
    }
    if digits.len() > DIGITS_MAX {
        return failure(input, rest, Fault::TooManyDigits);
    }
    let mut scale = 1;
    for _ in 0..digits.len() {
        scale *= 10;
    }
    if let Ok((after, _)) = fraction_behind(rest) {
        let fraction = blanks(rest)?.0;
        return failure(fraction, after, Fault::FractionAfterDecimals);
    }
    let value = Ratio {
        num: whole * scale + number(&point[1..], digits)?,
        den: scale,
    };
    match rest.strip_prefix(',') {
        Some(after) if after.starts_with(|next: char| next.is_ascii_digit()) => {
            failure(rest, after, Fault::Comma)
        }
        _ => Ok((rest, value)),
    }
}

/// `/` and a denominator.
fn over(stroke: &str, num: i128) -> Parsed<'_, Ratio> {
    let (rest, _) = char('/').parse(stroke)?;
    let (after, digits) = digit0(rest)?;
    if digits.is_empty() {
        return failure(stroke, rest, Fault::NoDenominator);
    }
    let den = number(rest, digits)?;
    if den == 0 {
        failure(rest, after, Fault::ZeroDenominator)
    } else {
        Ok((after, Ratio { num, den }))
    }
}

/// A whole number that a fraction may follow.
fn mixed(rest: &str, whole: i128) -> Parsed<'_, Ratio> {
    match fraction_behind(rest) {
        Ok((after, fraction)) if fraction.num < fraction.den => {
            let num = whole * fraction.den + fraction.num;
            Ok((
                after,
                Ratio {
                    num,
                    den: fraction.den,
                },
            ))
        }
        Ok((after, _)) => {
            let fraction = rest.trim_start_matches(|c: char| !c.is_ascii_digit());
            failure(fraction, after, Fault::FractionOverOne)
        }
        Err(nom::Err::Error(_)) => Ok((rest, Ratio::whole(whole))),
        Err(failed) => Err(failed),
    }
}

/// A joint and a fraction.
fn fraction_behind(input: &str) -> Parsed<'_, Ratio> {
    let (rest, before) = blanks(input)?;
    let (rest, hyphen) = opt(char('-')).parse(rest)?;
    let (rest, _) = blanks(rest)?;
    if let (rest, Some(fraction)) = opt(vulgar).parse(rest)? {
        return Ok((rest, fraction));
    }
    let (stroke, digits) = digit1(rest)?;
    if (before.is_empty() && hyphen.is_none()) || !stroke.starts_with('/') {
        return Err(nom::Err::Error(Trouble::from_error_kind(rest, ErrorKind::Char)));
    }
    over(stroke, number(rest, digits)?)
}

/// One of the fractions that have a character of their own.
fn vulgar(input: &str) -> Parsed<'_, Ratio> {
    let found = input.chars().next();
    let (num, den) = match found {
        Some('½') => (1, 2),
        Some('¼') => (1, 4),
        Some('¾') => (3, 4),
        Some('⅛') => (1, 8),
        Some('⅜') => (3, 8),
        Some('⅝') => (5, 8),
        Some('⅞') => (7, 8),
        _ => return Err(nom::Err::Error(Trouble::from_error_kind(input, ErrorKind::Char))),
    };
    Ok((&input[found.map_or(0, char::len_utf8)..], Ratio { num, den }))
}

/// Digits as a number; `at` is the text that begins with them.
fn number<'a>(at: &'a str, digits: &str) -> Result<i128, nom::Err<Trouble<'a>>> {
    let value = if digits.is_empty() {
        Some(0)
    } else {
        digits.parse().ok()
    };
    value
        .filter(|_| digits.len() <= DIGITS_MAX)
        .ok_or(nom::Err::Failure(Trouble {
            at,
            len: digits.len(),
            fault: Fault::TooManyDigits,
        }))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> (i128, i128, &str) {
        let (rest, ratio) = amount(text).unwrap();
        (ratio.num, ratio.den, rest)
    }

    #[test]
    fn reads_every_way_of_writing_a_number() {
        assert_eq!(read("12 mm"), (12, 1, " mm"));
        assert_eq!(read("3.60"), (360, 100, ""));
        assert_eq!(read(".5\""), (5, 10, "\""));
        assert_eq!(read("5 1/2"), (11, 2, ""));
        assert_eq!(read("5-1/2\""), (11, 2, "\""));
        assert_eq!(read("5 - 1/2"), (11, 2, ""));
        assert_eq!(read("5/4 in"), (5, 4, " in"));
        assert_eq!(read("5½"), (11, 2, ""));
        assert_eq!(read("¾ in"), (3, 4, " in"));
        assert_eq!(read("5 6"), (5, 1, " 6"), "no stroke, no fraction");
        assert_eq!(read("5-6"), (5, 1, "-6"));
    }

    #[test]
    fn rounds_half_away_from_zero_once() {
        let round = |num, den| Ratio { num, den }.rounded().unwrap();
        assert_eq!(round(3, 2), (2, true));
        assert_eq!(round(-3, 2), (-2, true));
        assert_eq!(round(5, 4), (1, true));
        assert_eq!(round(7, 4), (2, true));
        assert_eq!(round(4, 2), (2, false));
        assert_eq!(round(0, 7), (0, false));
        assert_eq!(
            Ratio {
                num: i128::MAX,
                den: 1
            }
            .rounded(),
            None
        );
    }
}
