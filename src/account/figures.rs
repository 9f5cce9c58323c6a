//! Figures of findings, in words: what was found, and what would have been right.

use bunkside_planner::rules::{Measure, Objection, Severity};

use crate::measure::System;

/// A measure as a number, where it is one that can be more or less.
pub(super) fn number(measure: &Measure) -> Option<f64> {
    match measure {
        Measure::Length(length) => Some(f64::from(length.as_um())),
        Measure::Speed(speed) => Some(f64::from(speed.as_um_per_s())),
        Measure::Force(number)
        | Measure::Power(number)
        | Measure::Mass(number)
        | Measure::Millimetres(number)
        | Measure::Factor(number)
        | Measure::Share(number) => Some(*number),
        _ => None,
    }
}

/// A figure or a fact in words, in the reader's system.
pub(crate) fn figure(measure: &Measure, system: System) -> String {
    match measure {
        Measure::Length(length) => system.size(*length),
        Measure::Told(length, what) => format!("{} {what}", system.size(*length)),
        Measure::Near(by, what) => format!("{} too near to {what}", system.size(*by)),
        Measure::Speed(speed) => system.speed(*speed),
        Measure::Mass(kg) => system.load(*kg),
        other => other.to_string(),
    }
}

/// Of what a hold asks for and the mill does not have, as its rule tells it: what would be right, and what dogs would be.
const NOT_THERE: &str = "not on this mill";
const CLOSED: &str = "closed";

/// That a hold asks for what the mill does not have; none where it is something else that was found.
pub(crate) fn not_there(measured: &Measure, limit: &Measure) -> Option<String> {
    match (measured, limit) {
        (Measure::State(CLOSED), Measure::State(NOT_THERE)) => {
            Some("dogs are to be closed, and this mill has none".to_owned())
        }
        (Measure::State(asked), Measure::State(NOT_THERE)) => {
            Some(format!("something is to be {asked} that this mill does not have"))
        }
        _ => None,
    }
}

/// How a limit is led in: that of a warning forbids nothing.
pub(crate) const fn limit_word(severity: Severity) -> &'static str {
    match severity {
        Severity::Warn => "the warning begins at",
        Severity::Refuse => "the limit is",
    }
}

/// A figure and the one it is held against, of one kind, with as many more digits as tell them apart; none where they need none.
pub(super) fn apart(measured: &Measure, limit: &Measure, told: [&str; 2]) -> Option<[String; 2]> {
    if told[0] != told[1] {
        return None;
    }
    let unit = match (measured, limit) {
        (Measure::Length(found) | Measure::Told(found, _), Measure::Length(right)) if found != right => {
            return Some([measured.to_string(), limit.to_string()]);
        }
        (Measure::Speed(found), Measure::Speed(right)) => {
            let told = |one, other| System::Metric.speed_among(one, &[other]);
            return (found != right).then(|| [told(*found, *right), told(*right, *found)]);
        }
        (Measure::Force(_), Measure::Force(_)) => " N",
        (Measure::Power(_), Measure::Power(_)) => " W",
        (Measure::Mass(_), Measure::Mass(_)) => " kg",
        (Measure::Millimetres(_), Measure::Millimetres(_)) => " mm",
        (Measure::Share(_), Measure::Share(_)) => "",
        _ => return None,
    };
    let [found, right] = [number(measured)?, number(limit)?];
    (1..=DECIMALS)
        .map(|decimals| [found, right].map(|number| format!("{number:.decimals$}{unit}")))
        .find(|[found, right]| found != right)
}

/// More decimals than these are noise.
const DECIMALS: usize = 9;

/// A figure and the one it is held against, in the reader's system.
pub(crate) fn figure_and_limit(measured: &Measure, limit: &Measure, system: System) -> [String; 2] {
    if let (Measure::Speed(found), Measure::Speed(right)) = (measured, limit) {
        let told = |one, other| system.speed_among(one, &[other]);
        return [told(*found, *right), told(*right, *found)];
    }
    let plain = |measure: &Measure| match measure {
        Measure::Told(length, _) => system.size(*length),
        other => figure(other, system),
    };
    let [found, right] = [plain(measured), plain(limit)];
    apart(measured, limit, [&found, &right]).unwrap_or_else(|| [figure(measured, system), right])
}

/// What was found and what would have been right, told with as many digits as tell them apart.
pub(crate) fn figures(objection: &Objection, system: System) -> String {
    let (measured, limit) = (&objection.measured, &objection.limit);
    let is = limit_word(objection.severity);
    if let Some(words) = not_there(measured, limit) {
        return words;
    }
    let right = match limit {
        Measure::State(_) | Measure::Feed(_) | Measure::Stroke(_) => "should be",
        _ => is,
    };
    let [found, wanted] = figure_and_limit(measured, limit, system);
    match (measured, limit) {
        (Measure::None, _) => format!("{right} {wanted}"),
        (_, Measure::None) => found,
        _ => format!("found {found}, {right} {wanted}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_the_mill_does_not_have_is_told_in_a_sentence() {
        let told = |asked| {
            figures(
                &Objection::refuse(Measure::State(asked), Measure::State(NOT_THERE), ""),
                System::Metric,
            )
        };
        assert_eq!(told("closed"), "dogs are to be closed, and this mill has none");
        assert_eq!(
            told("fitted"),
            "something is to be fitted that this mill does not have"
        );
    }
}
