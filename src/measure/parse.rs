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
    let (at, _) = blanks(input)?;
    let (at, _) = opt(one_of("-")).parse(at)?;
    let (at, _) = blanks(at)?;
    let (rest, inches) = match term(quantity, Rules::POSITIVE, at) {
        Ok((rest, inches)) if is(inches.unit, "in") => (rest, inches),
        Err(nom::Err::Failure(trouble)) if !starts_another(&trouble.fault) => {
            return Err(nom::Err::Failure(trouble));
        }
        _ => return Ok((input, None)),
    };
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
mod tests {
    use super::*;
    use crate::measure::{LengthUnit, length, length_prefix};

    const GOOD: &[(&str, i32, bool)] = &[
        ("3.6 m", 3_600_000, false),
        ("3.6m", 3_600_000, false),
        ("228 mm", 228_000, false),
        ("22.8 cm", 228_000, false),
        ("0.5 um", 1, true),
        ("12 in", 304_800, false),
        ("12 IN", 304_800, false),
        ("1 inch", 25_400, false),
        ("2 inches", 50_800, false),
        ("1 in", 25_400, false),
        ("1 ft", 304_800, false),
        ("1/8 in", 3_175, false),
        ("1/16 in", 1_588, true),
        ("1/32 in", 794, true),
        ("1/3 in", 8_467, true),
        ("5 1/2 in", 139_700, false),
        ("1-1/2\"", 38_100, false),
        ("5½ in", 139_700, false),
        ("5/4 in", 31_750, false),
        ("12'6\"", 3_810_000, false),
        ("12 ft 6 in", 3_810_000, false),
        ("12ft6in", 3_810_000, false),
        ("12' 6 1/2\"", 3_822_700, false),
        ("12'-6\"", 3_810_000, false),
        ("12′ 6″", 3_810_000, false),
        ("12 feet 6 inches", 3_810_000, false),
        ("12''", 304_800, false),
        ("12 foot 0 in", 3_657_600, false),
        ("  8 mm  ", 8_000, false),
        ("+8 mm", 8_000, false),
        ("0 mm", 0, false),
        (".5 in", 12_700, false),
        ("100 m", 100_000_000, false),
        ("0.0004 mm", 0, true),
        ("0.0005 mm", 1, true),
    ];

    #[test]
    fn reads_lengths_exactly() {
        for (text, um, rounded) in GOOD {
            let read = length(text, Rules::POSITIVE).unwrap_or_else(|error| panic!("{text}: {error}"));
            assert_eq!((read.value.as_um(), read.rounded), (*um, *rounded), "{text}");
        }
    }

    #[test]
    fn every_thousand_inches_is_exact() {
        for inch in 0..3_937 {
            let read = length(&format!("{inch} in"), Rules::POSITIVE).unwrap();
            assert_eq!((read.value.as_um(), read.rounded), (inch * 25_400, false));
        }
    }

    #[test]
    fn signs_stand_in_front_and_only_where_they_may() {
        let signed = |text| length(text, Rules::SIGNED).map(|read| read.value.as_um());
        assert_eq!(signed("-20 mm"), Ok(-20_000));
        assert_eq!(signed("−20 mm"), Ok(-20_000));
        assert_eq!(signed("- 1/16 in"), Ok(-1_588), "half away from zero");
        assert_eq!(signed("-12 ft 6 in"), Ok(-3_810_000), "the sign is for all of it");
        let error = length(" -5 mm", Rules::POSITIVE).unwrap_err();
        assert_eq!((error.fault, error.span), (Fault::Negative, Span::new(1, 2)));
    }

    const BAD: &[(&str, Fault, usize, usize)] = &[
        ("", Fault::Empty, 0, 0),
        ("   ", Fault::Empty, 3, 3),
        ("mm", Fault::NoNumber, 0, 1),
        ("about 5 mm", Fault::NoNumber, 0, 1),
        ("3,6 m", Fault::Comma, 1, 2),
        ("3,600 mm", Fault::Comma, 1, 2),
        ("3. m", Fault::NoDecimals, 1, 2),
        ("1/ in", Fault::NoDenominator, 1, 2),
        ("1/0 in", Fault::ZeroDenominator, 2, 3),
        ("5 1/0 in", Fault::ZeroDenominator, 4, 5),
        ("5 3/2 in", Fault::FractionOverOne, 2, 5),
        ("5-2/2 in", Fault::FractionOverOne, 2, 5),
        ("5.5 1/2 in", Fault::FractionAfterDecimals, 4, 7),
        ("3.6", Fault::MissingUnit, 0, 3),
        ("12 ft 6", Fault::MissingUnit, 6, 7),
        ("6 in 12 ft", Fault::InchesFirst, 5, 10),
        ("6\" 12'", Fault::InchesFirst, 3, 6),
        ("3 m 60 cm", Fault::TwoLengths, 4, 9),
        ("12 ft 6 mm", Fault::TwoLengths, 6, 10),
        ("3 in 4 in", Fault::TwoLengths, 5, 9),
        ("12.5 ft 6 in", Fault::FeetNotWhole, 0, 7),
        ("12 ft 14 in", Fault::InchesOverFoot, 6, 11),
        ("12 ft 12 in", Fault::InchesOverFoot, 6, 11),
        ("3 m - 60 cm", Fault::HyphenBetween, 4, 5),
        ("101 m", Fault::TooLarge, 0, 5),
        ("999999999 m", Fault::TooLarge, 0, 11),
        ("9999999999 mm", Fault::TooManyDigits, 0, 10),
        ("1.1234567891 mm", Fault::TooManyDigits, 0, 12),
        ("1e400 m", Fault::Exponent, 0, 5),
        ("1.5E-3 m", Fault::Exponent, 0, 6),
        ("12 ft 1e1 in", Fault::Exponent, 6, 9),
        ("nan m", Fault::NoNumber, 0, 1),
        ("8 mm thick", Fault::Trailing, 5, 10),
        ("8 mm ä", Fault::Trailing, 5, 7),
    ];

    #[test]
    fn errors_point_at_the_character() {
        for (text, fault, start, end) in BAD {
            let error = length(text, Rules::POSITIVE).unwrap_err();
            assert_eq!(
                (&error.fault, error.span),
                (fault, Span::new(*start, *end)),
                "{text}"
            );
            assert!(
                !error.help().is_empty() && !error.to_string().ends_with('.'),
                "{text}"
            );
        }
    }

    #[test]
    fn an_unknown_unit_is_named_with_what_may_be_meant() {
        let error = length("3.6 mn", Rules::POSITIVE).unwrap_err();
        assert_eq!(error.fault, Fault::UnknownUnit("mn".to_owned()));
        assert_eq!(error.span, Span::new(4, 6));
        assert_eq!(error.help(), "did you mean `mm`? units are mm, cm, m, in or ft");
        let error = length("3 m/s", Rules::POSITIVE).unwrap_err();
        assert_eq!(error.fault, Fault::UnknownUnit("m/s".to_owned()));
    }

    #[test]
    fn a_bare_number_needs_a_declared_unit() {
        let declared = Rules::POSITIVE.declaring(Some(LengthUnit::Mm));
        assert_eq!(length("215", declared).unwrap().value.as_um(), 215_000);
        assert_eq!(length("215.5", declared).unwrap().value.as_um(), 215_500);
        assert_eq!(
            length("8 in", declared).unwrap().value.as_um(),
            203_200,
            "a unit that is written wins"
        );
        let inches = Rules::POSITIVE.declaring(Some(LengthUnit::In));
        assert_eq!(length("5 1/2", inches).unwrap().value.as_um(), 139_700);
        assert!(length("215 x", declared).is_err());
    }

    #[test]
    fn a_prefix_leaves_the_rest_alone() {
        let prefix = |text| {
            let (read, taken) = length_prefix(text, Rules::POSITIVE).unwrap();
            (read.value.as_um(), &text[taken..])
        };
        assert_eq!(prefix("228 mm take 3"), (228_000, " take 3"));
        assert_eq!(prefix(" 12 ft 6 in, 3"), (3_810_000, ", 3"));
        assert_eq!(
            prefix("12 ft 3 boards"),
            (3_657_600, " 3 boards"),
            "no inches, no part of the length"
        );
        assert_eq!(
            prefix("12 ft\n6 in"),
            (3_657_600, "\n6 in"),
            "a length ends with its line"
        );
        assert_eq!(prefix("140 mm..200 mm"), (140_000, "..200 mm"));
    }

    #[test]
    fn reads_the_other_quantities() {
        let read = |quantity, text| {
            let read = parse(quantity, text, Rules::SIGNED).unwrap_or_else(|error| panic!("{text}: {error}"));
            (read.value, read.rounded)
        };
        assert_eq!(read(Quantity::Angle, "-22.5 deg"), (-22_500, false));
        assert_eq!(read(Quantity::Angle, "0°"), (0, false));
        assert_eq!(read(Quantity::Time, "2.5 s"), (2_500, false));
        assert_eq!(read(Quantity::Time, "1 1/2 min"), (90_000, false));
        assert_eq!(read(Quantity::Speed, "0.4 m/s"), (400_000, false));
        assert_eq!(read(Quantity::Speed, "24 m/min"), (400_000, false));
        assert_eq!(read(Quantity::Speed, "60 ft/min"), (304_800, false));
        assert_eq!(read(Quantity::Acceleration, "0.5 m/s2"), (500_000, false));
        assert_eq!(read(Quantity::Force, "900 N"), (900, false));
        assert_eq!(read(Quantity::Force, "200 lbf"), (890, true));
        assert_eq!(read(Quantity::Power, "18 kW"), (18_000, false));
        assert_eq!(read(Quantity::Power, "25 hp"), (18_642, true));
        assert_eq!(read(Quantity::Mass, "2000 lb"), (907, true));
        assert_eq!(read(Quantity::Density, "820 kg/m³"), (820, false));
        assert_eq!(read(Quantity::Density, "50 lb/ft3"), (801, true));
        assert_eq!(read(Quantity::CuttingEnergy, "30 N/mm2"), (30, false));
        assert_eq!(read(Quantity::Stiffness, "9.5 GPa"), (9_500, false));
        assert_eq!(read(Quantity::Stiffness, "9500 N/mm2"), (9_500, false));
        assert_eq!(read(Quantity::Area, "0.5 in2"), (323, true));
    }

    #[test]
    fn a_wrong_kind_of_unit_is_named() {
        let error = parse(Quantity::Time, "3 m/min", Rules::POSITIVE).unwrap_err();
        assert_eq!(error.to_string(), "no unit of time is called `m/min`");
        assert_eq!(error.help(), "units are s, ms, min or h");
        let error = parse(
            Quantity::Speed,
            "0.4",
            Rules::POSITIVE.declaring(Some(LengthUnit::Mm)),
        )
        .unwrap_err();
        assert_eq!(
            error.fault,
            Fault::MissingUnit,
            "a declared unit is one of length"
        );
    }

    #[test]
    fn nothing_makes_it_panic() {
        let pieces = [
            "12",
            "'",
            "\"",
            " ",
            "ft",
            "in",
            "1/2",
            "-",
            "/",
            ".",
            "½",
            "é",
            "999999999",
            "hp",
            ",",
            "0",
        ];
        for one in pieces {
            for two in pieces {
                for three in pieces {
                    for four in pieces {
                        let text = format!("{one}{two}{three}{four}");
                        for quantity in [Quantity::Length, Quantity::Power] {
                            if let Err(error) = parse(quantity, &text, Rules::SIGNED) {
                                assert!(text.get(error.span.start..error.span.end).is_some(), "{text:?}");
                            }
                        }
                    }
                }
            }
        }
    }
}
