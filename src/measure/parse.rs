//! The grammar of a measurement.
//!
//! ```text
//! measurement = [sign] amount [blanks] [unit]            the unit may fail only where one is declared
//! length      = measurement | [sign] whole feet joint amount [blanks] inches
//! joint       = [blanks] ["-"] [blanks]
//! ```

use nom::Parser;
use nom::bytes::complete::take_while;
use nom::character::complete::one_of;
use nom::combinator::opt;

use super::amount::{Parsed, Ratio, Trouble, amount, blanks, failure};
use super::fault::{Fault, MeasureError};
use super::quantity::{Quantity, Unit};
use super::{Measured, Rules};
use crate::diagnostic::Span;

/// A number in its unit.
#[derive(Clone, Copy)]
struct Term {
    value: Ratio,
    unit: &'static Unit,
}

/// A whole text as a number of base units of a quantity.
///
/// # Errors
/// What is wrong, and at which bytes of the text.
pub fn parse(quantity: Quantity, text: &str, rules: Rules) -> Result<Measured<i64>, MeasureError> {
    let (measured, taken) = parse_prefix(quantity, text, rules)?;
    let rest = &text[taken..];
    if rest.trim().is_empty() {
        return Ok(measured);
    }
    let fault = match quantity {
        Quantity::Length => second_length(rest, first_is_inch(&text[..taken])),
        _ => trailing(rest),
    };
    Err(located(quantity, text, fault))
}

/// The measurement that a text begins with, and how many bytes it takes.
///
/// # Errors
/// What is wrong, and at which bytes of the text.
pub fn parse_prefix(
    quantity: Quantity,
    text: &str,
    rules: Rules,
) -> Result<(Measured<i64>, usize), MeasureError> {
    let (start, _) = blanks(text).unwrap_or((text, ""));
    let (rest, value) = measurement(quantity, rules, start).map_err(|error| match error {
        nom::Err::Error(trouble) | nom::Err::Failure(trouble) => located(quantity, text, trouble),
        nom::Err::Incomplete(_) => located(quantity, text, trailing(start)),
    })?;
    let too_large = || {
        let len = start.len() - rest.len();
        located(
            quantity,
            text,
            Trouble {
                at: start,
                len,
                fault: Fault::TooLarge,
            },
        )
    };
    let (value, rounded) = value.and_then(Ratio::rounded).ok_or_else(too_large)?;
    if value.abs() > quantity.limit() {
        return Err(too_large());
    }
    Ok((Measured { value, rounded }, text.len() - rest.len()))
}

/// A fault as an error on the text it was found in.
fn located(quantity: Quantity, text: &str, trouble: Trouble<'_>) -> MeasureError {
    let start = text.len() - trouble.at.len();
    let fault = if text.trim().is_empty() {
        Fault::Empty
    } else {
        trouble.fault
    };
    MeasureError {
        quantity,
        fault,
        span: Span::new(start, start + trouble.len),
    }
}

/// The whole measurement in base units; none where the sum cannot be held.
fn measurement(quantity: Quantity, rules: Rules, input: &str) -> Parsed<'_, Option<Ratio>> {
    let (start, sign) = opt(one_of("-+−")).parse(input)?;
    let negative = matches!(sign, Some('-' | '−'));
    if negative && !rules.negative {
        return failure(input, start, Fault::Negative);
    }
    let (start, _) = blanks(start)?;
    let (rest, first) = term(quantity, rules, start)?;
    let (rest, value) = match inches_behind(quantity, first, start, rest)? {
        (rest, Some(inches)) => (
            rest,
            in_base(first).zip(in_base(inches)).and_then(|(a, b)| a.plus(b)),
        ),
        (rest, None) => (rest, in_base(first)),
    };
    let sign = if negative { -1 } else { 1 };
    Ok((rest, value.and_then(|value| value.times(sign, 1))))
}

fn in_base(term: Term) -> Option<Ratio> {
    term.value.times(term.unit.num, term.unit.den)
}

/// An amount and its unit.
fn term(quantity: Quantity, rules: Rules, input: &str) -> Parsed<'_, Term> {
    let (after, value) = amount(input)?;
    if let Some(end) = behind_exponent(after) {
        return failure(input, end, Fault::Exponent);
    }
    let (rest, _) = blanks(after)?;
    let (end, word) = unit_word(quantity, rest)?;
    if let Some(unit) = quantity.unit(word) {
        return Ok((end, Term { value, unit }));
    }
    let declared = rules.declared.filter(|_| quantity == Quantity::Length);
    match declared.and_then(|unit| quantity.unit(unit.name())) {
        Some(unit) if word.is_empty() => Ok((after, Term { value, unit })),
        _ if word.is_empty() => failure(input, after, Fault::MissingUnit),
        _ => failure(rest, end, Fault::UnknownUnit(word.to_owned())),
    }
}

/// What stands behind the exponent of a number such as 1e3; none where it has none.
fn behind_exponent(rest: &str) -> Option<&str> {
    let power = rest.strip_prefix(['e', 'E'])?;
    let digits = power.strip_prefix(['+', '-']).unwrap_or(power);
    let end = digits.trim_start_matches(|next: char| next.is_ascii_digit());
    (end.len() < digits.len()).then_some(end)
}

/// What stands where a unit should: letters, with strokes and powers behind them; a degree or inch mark.
fn unit_word(quantity: Quantity, input: &str) -> Parsed<'_, &str> {
    const MARKS: [char; 7] = ['"', '″', '”', '\'', '′', '’', '°'];
    if let Some(rest) = input.strip_prefix("''") {
        return Ok((rest, "''"));
    }
    if let Some(rest) = input.strip_prefix(MARKS) {
        return Ok((rest, &input[..input.len() - rest.len()]));
    }
    let (rest, letters) = take_while(char::is_alphabetic).parse(input)?;
    let goes_on = if quantity == Quantity::Length {
        rest.starts_with(['/', '²', '³'])
    } else {
        rest.starts_with(|next: char| next == '/' || next.is_alphanumeric())
    };
    if letters.is_empty() || !goes_on {
        return Ok((rest, letters));
    }
    let (rest, _) = take_while(|next: char| next == '/' || next.is_alphanumeric()).parse(rest)?;
    Ok((rest, &input[..input.len() - rest.len()]))
}

/// The inches that may stand behind whole feet.
fn inches_behind<'a>(
    quantity: Quantity,
    feet: Term,
    start: &'a str,
    input: &'a str,
) -> Parsed<'a, Option<Term>> {
    if quantity != Quantity::Length || !is(feet.unit, "ft") {
        return Ok((input, None));
    }
    let (joint, _) = blanks(input)?;
    let (behind, hyphen) = opt(one_of("-")).parse(joint)?;
    let (at, _) = blanks(behind)?;
    // 12'-6" and 12' - 6" are feet and inches; 12' -6" looks like twelve feet less six inches.
    let minus = hyphen.is_some() && joint.len() < input.len() && at.len() == behind.len();
    let (rest, inches) = match term(quantity, Rules::POSITIVE, at) {
        Ok((rest, inches)) if is(inches.unit, "in") => (rest, inches),
        Err(nom::Err::Failure(trouble)) if !starts_another(&trouble.fault) => {
            return Err(nom::Err::Failure(trouble));
        }
        _ => return Ok((input, None)),
    };
    if minus {
        return failure(joint, behind, Fault::MinusInches);
    }
    if !feet.value.is_whole() {
        return failure(start, input, Fault::FeetNotWhole);
    }
    if inches.value.num >= 12 * inches.value.den {
        return failure(at, rest, Fault::InchesOverFoot);
    }
    Ok((rest, Some(inches)))
}

/// Whether a fault leaves open that the text behind the feet is no part of the length.
const fn starts_another(fault: &Fault) -> bool {
    matches!(fault, Fault::MissingUnit | Fault::UnknownUnit(_))
}

/// Whether a unit is the same as the one of this name.
fn is(unit: &Unit, name: &str) -> bool {
    Quantity::Length
        .unit(name)
        .is_some_and(|other| other.num == unit.num && other.den == unit.den)
}

/// Whether a length that was read ends in inches.
fn first_is_inch(text: &str) -> bool {
    ["in", "inch", "inches", "\"", "″", "”", "''"]
        .iter()
        .any(|unit| text.to_lowercase().ends_with(unit))
}

/// What is wrong with text behind a length: often a second one.
fn second_length(rest: &str, after_inch: bool) -> Trouble<'_> {
    let start = rest.trim_start();
    let unsigned = start.trim_start_matches(['-', ' ']);
    match term(Quantity::Length, Rules::POSITIVE, unsigned) {
        Ok((_, _)) if unsigned.len() < start.len() => Trouble {
            at: start,
            len: 1,
            fault: Fault::HyphenBetween,
        },
        Ok((end, second)) => {
            let inches_first = after_inch && is(second.unit, "ft");
            let fault = if inches_first {
                Fault::InchesFirst
            } else {
                Fault::TwoLengths
            };
            Trouble {
                at: start,
                len: start.len() - end.len(),
                fault,
            }
        }
        Err(nom::Err::Failure(trouble)) => trouble,
        Err(_) => trailing(rest),
    }
}

/// Text that should not be there.
fn trailing(rest: &str) -> Trouble<'_> {
    let at = rest.trim_start();
    Trouble {
        at,
        len: at.trim_end().len(),
        fault: Fault::Trailing,
    }
}

#[cfg(test)]
mod tests;
