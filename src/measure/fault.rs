//! What can be wrong with a measurement, and what would do.

use core::fmt;

use super::quantity::Quantity;
use crate::diagnostic::{Diagnostic, Span, nearest};

/// Units of mass that are written for forces.
const MASSES: [&str; 4] = ["kg", "t", "lb", "lbs"];

/// What is wrong.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Fault {
    /// Nothing is written.
    Empty,
    /// Something else stands where a number must.
    NoNumber,
    /// A minus sign where only positive values do.
    Negative,
    /// A comma in a number.
    Comma,
    /// A number with more digits than can be held.
    TooManyDigits,
    /// Nothing stands behind the decimal point.
    NoDecimals,
    /// Nothing stands under the fraction stroke.
    NoDenominator,
    /// A fraction over nought.
    ZeroDenominator,
    /// A fraction of one or more behind a whole number.
    FractionOverOne,
    /// A fraction behind a number that has decimals.
    FractionAfterDecimals,
    /// A number without a unit.
    MissingUnit,
    /// No unit of this quantity is called so.
    UnknownUnit(String),
    /// Inches before feet.
    InchesFirst,
    /// Two lengths that are not feet and inches.
    TwoLengths,
    /// Inches behind feet that are not whole.
    FeetNotWhole,
    /// A foot or more of inches behind feet.
    InchesOverFoot,
    /// A hyphen between feet and inches that looks like a minus sign.
    MinusInches,
    /// A minus or hyphen before a second length.
    HyphenBetween,
    /// A number such as 1e3.
    Exponent,
    /// More than can be held.
    TooLarge,
    /// Text behind the measurement.
    Trailing,
}

/// What is wrong with a measurement, and where in its text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MeasureError {
    /// What was to be read.
    pub quantity: Quantity,
    /// What is wrong.
    pub fault: Fault,
    /// The offending bytes of the text.
    pub span: Span,
}

impl MeasureError {
    /// What would do.
    #[must_use]
    pub fn help(&self) -> String {
        let examples = self.quantity.examples();
        let units = self.quantity.unit_words();
        match &self.fault {
            Fault::Empty | Fault::NoNumber | Fault::Trailing => format!("write it like {examples}"),
            Fault::Negative => format!("write {} of zero or more, without a sign", self.quantity.name()),
            Fault::Comma => "write decimals with a point, and nothing between thousands".to_owned(),
            Fault::TooManyDigits => "at most nine digits before the point and nine behind it".to_owned(),
            Fault::Exponent => format!("write all its digits: {examples}"),
            Fault::NoDecimals => "write a digit behind the point, or leave the point out".to_owned(),
            Fault::NoDenominator => "write a whole fraction, such as 1/2".to_owned(),
            Fault::ZeroDenominator => "divide by 2, 4, 8, 16, 32 or another number above zero".to_owned(),
            Fault::FractionOverOne => "carry it into the whole number: 5 3/2 is 6 1/2".to_owned(),
            Fault::FractionAfterDecimals => "write either decimals or a fraction: 5.5 or 5 1/2".to_owned(),
            Fault::MissingUnit if self.span.start > 0 && self.quantity == Quantity::Length => {
                format!("put a unit behind every number, as in 12 ft 6 in: {units}")
            }
            Fault::MissingUnit => format!("put a unit behind the number: {units}"),
            Fault::UnknownUnit(found)
                if self.quantity == Quantity::Force && MASSES.contains(&found.as_str()) =>
            {
                format!("`{found}` is a mass: 1 kg weighs 9.81 N, 1 lb weighs 1 lbf; units are {units}")
            }
            Fault::UnknownUnit(found) => {
                match nearest(found, self.quantity.units().iter().map(|unit| unit.name)) {
                    Some(near) => format!("did you mean `{near}`? units are {units}"),
                    None => format!("units are {units}"),
                }
            }
            Fault::InchesFirst => "write feet first: 12 ft 6 in".to_owned(),
            Fault::TwoLengths => {
                "write one number with one unit; only feet and inches go together: 12 ft 6 in".to_owned()
            }
            Fault::FeetNotWhole => {
                "write whole feet before inches: 12 ft 6 in, or feet alone: 12.5 ft".to_owned()
            }
            Fault::InchesOverFoot => "carry them into the feet: 12 ft 14 in is 13 ft 2 in".to_owned(),
            Fault::MinusInches => {
                "write 12 ft 6 in, or 12'-6\" with no blank before the hyphen; a length that is less is written out".to_owned()
            }
            Fault::HyphenBetween => {
                "a hyphen may join feet and inches, or a whole number and its fraction".to_owned()
            }
            Fault::TooLarge => format!("write at most {}", self.quantity.limit_words()),
        }
    }

    /// As a diagnostic on the text alone; shift its span to where the text stands in a file.
    #[must_use]
    pub fn to_diagnostic(&self) -> Diagnostic {
        Diagnostic::error(self.span, self.to_string()).with_help(self.help())
    }
}

impl fmt::Display for MeasureError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let name = self.quantity.name();
        match &self.fault {
            Fault::Empty => write!(f, "{name} is missing"),
            Fault::NoNumber => write!(f, "{name} begins with a number"),
            Fault::Negative => f.write_str("it may not be negative"),
            Fault::Comma => f.write_str("a comma in a number can be read in two ways"),
            Fault::TooManyDigits => f.write_str("more digits than can be held"),
            Fault::Exponent => f.write_str("a number with an exponent"),
            Fault::NoDecimals => f.write_str("no digit behind the decimal point"),
            Fault::NoDenominator => f.write_str("no number under the fraction stroke"),
            Fault::ZeroDenominator => f.write_str("a fraction cannot be over zero"),
            Fault::FractionOverOne => f.write_str("a fraction of one or more behind a whole number"),
            Fault::FractionAfterDecimals => f.write_str("a fraction behind decimals"),
            Fault::MissingUnit => f.write_str("a number without a unit"),
            Fault::UnknownUnit(found) => write!(f, "no unit of {} is called `{found}`", bare(name)),
            Fault::InchesFirst => f.write_str("feet stand before inches"),
            Fault::TwoLengths => f.write_str("two lengths where one is wanted"),
            Fault::FeetNotWhole => f.write_str("feet that are not whole cannot have inches behind them"),
            Fault::InchesOverFoot => f.write_str("a foot or more of inches behind feet"),
            Fault::MinusInches => f.write_str("a hyphen before inches can be read as a minus sign"),
            Fault::HyphenBetween => f.write_str("a hyphen between two lengths"),
            Fault::TooLarge => write!(f, "{name} beyond {}", self.quantity.limit_words()),
            Fault::Trailing => write!(f, "something stands behind {name}"),
        }
    }
}

impl core::error::Error for MeasureError {}

/// The name without its article.
fn bare(name: &str) -> &str {
    name.split_once(' ').map_or(name, |(_, rest)| rest)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::{Rules, parse};

    /// 9.806 65 m/s² is standard gravity, and a pound of it a pound-force (by definition).
    #[test]
    fn a_mass_is_no_force_and_nothing_near_it_is_meant() {
        for mass in ["30 kg", "30 lb"] {
            let help = parse(Quantity::Force, mass, Rules::POSITIVE).unwrap_err().help();
            assert!(help.contains("is a mass: 1 kg weighs 9.81 N"), "{help}");
        }
    }
}
