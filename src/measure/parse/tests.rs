//! What is read as a measurement, and where an error points.

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
    ("12' - 6\"", 3_810_000, false),
    ("12 ft- 6 in", 3_810_000, false),
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
    ("1 ft -2 in", Fault::MinusInches, 5, 6),
    ("12' -6 1/2\"", Fault::MinusInches, 4, 5),
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
