//! What the rules object to.

use bunkside_planner::audit::Verdict;
use bunkside_planner::rules::{Finding, Measure, Objection, RULES, Severity};
use bunkside_protocol::{Length, Move, Speed};
use serde::Serialize;

use super::table::{count, wrapped};
use crate::measure::System;
use crate::trace::Trace;

/// One finding.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FindingEntry {
    /// The rule's id.
    pub rule: &'static str,
    /// `warn` or `refuse`.
    pub severity: &'static str,
    /// Number of the move, from 0.
    #[serde(rename = "move")]
    pub index: u16,
    /// What was found.
    pub measured: Option<MeasureEntry>,
    /// What would have been right.
    pub limit: Option<MeasureEntry>,
    /// What would happen, and what would free it.
    pub note: &'static str,
}

/// A figure or a fact: in words, and as a number where it is one.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct MeasureEntry {
    /// In words.
    pub words: String,
    /// A distance.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub um: Option<Length>,
    /// A speed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub um_per_s: Option<Speed>,
    /// A force.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub newtons: Option<f64>,
    /// A power.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub watts: Option<f64>,
    /// A mass.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub kg: Option<f64>,
    /// A small distance that was computed, millimetres.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mm: Option<f64>,
    /// A share of a whole.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub share: Option<f64>,
    /// A number of things.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub count: Option<u32>,
}

impl MeasureEntry {
    /// That of a measure; none where there is nothing to say.
    #[must_use]
    pub fn of(measure: &Measure) -> Option<Self> {
        let words = measure.to_string();
        let words = Self {
            words,
            ..Self::default()
        };
        Some(match measure {
            Measure::None => return None,
            Measure::Length(length) => Self {
                um: Some(*length),
                ..words
            },
            Measure::Told(length, _) | Measure::Near(length, _) => Self {
                um: Some(*length),
                ..words
            },
            Measure::Piece(serial) => Self {
                count: Some(u32::from(*serial)),
                ..words
            },
            Measure::Speed(speed) => Self {
                um_per_s: Some(*speed),
                ..words
            },
            Measure::Force(newtons) => Self {
                newtons: Some(*newtons),
                ..words
            },
            Measure::Power(watts) => Self {
                watts: Some(*watts),
                ..words
            },
            Measure::Mass(kg) => Self {
                kg: Some(*kg),
                ..words
            },
            Measure::Millimetres(mm) => Self {
                mm: Some(*mm),
                ..words
            },
            Measure::Share(share) => Self {
                share: Some(*share),
                ..words
            },
            Measure::Count(count) => Self {
                count: Some(*count),
                ..words
            },
            _ => words,
        })
    }
}

impl From<&Finding> for FindingEntry {
    fn from(finding: &Finding) -> Self {
        Self {
            rule: finding.rule,
            severity: match finding.objection.severity {
                Severity::Warn => "warn",
                Severity::Refuse => "refuse",
            },
            index: finding.index,
            measured: MeasureEntry::of(&finding.objection.measured),
            limit: MeasureEntry::of(&finding.objection.limit),
            note: finding.objection.note,
        }
    }
}

/// The rule that warns where what comes free has to be held down.
pub const RELEASE_CLIMB: &str = "release-climb";

/// The moves that a hand carriage can only make with somebody behind the carriage, who holds down what comes free.
#[must_use]
pub fn second_person_moves(findings: &[Finding]) -> Vec<u16> {
    let warned = |one: &&Finding| one.rule == RELEASE_CLIMB && one.objection.severity == Severity::Warn;
    let mut moves: Vec<u16> = findings.iter().filter(warned).map(|one| one.index).collect();
    moves.sort_unstable();
    moves.dedup();
    moves
}

/// How many there are.
#[must_use]
pub fn second_person_cuts(findings: &[Finding]) -> usize {
    second_person_moves(findings).len()
}

/// The same in a sentence; none where nobody is needed.
#[must_use]
pub fn second_person_words(cuts: usize) -> Option<String> {
    (cuts > 0).then(|| {
        format!(
            "needs a second person ({}), who holds down with a pole, from behind the carriage, what comes free",
            count(cuts as u64, "cut")
        )
    })
}

/// How many of the cuts of a run some rule warns of.
#[must_use]
pub fn warned_cuts(trace: &Trace) -> usize {
    let warned = |index: u16| {
        let mut of = trace.findings.iter().filter(|one| one.index == index);
        of.any(|one| one.objection.severity == Severity::Warn)
    };
    let cuts = trace.moves.iter().map(|traced| &traced.step);
    let cuts = cuts.filter(|step| matches!(step.told, Move::Cut(_)) && warned(step.index));
    cuts.count()
}

/// The word for a verdict.
#[must_use]
pub const fn verdict_word(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Pass => "pass",
        Verdict::Warned => "warned",
        Verdict::Refused => "refused",
    }
}

/// A verdict in a sentence.
#[must_use]
pub fn verdict_words(verdict: Verdict, findings: &[Finding]) -> String {
    let of = |severity| -> u64 {
        let alike = findings.iter().filter(|one| one.objection.severity == severity);
        alike.map(|_| 1).sum()
    };
    let (warnings, refusals) = (
        count(of(Severity::Warn), "warning"),
        count(of(Severity::Refuse), "refusal"),
    );
    let rules = RULES.len();
    match verdict {
        Verdict::Pass => format!("passed: none of {rules} rules objects"),
        Verdict::Warned => format!("passed with {warnings}; judged by {rules} rules"),
        Verdict::Refused if of(Severity::Warn) == 0 => {
            format!("refused: {refusals}; judged by {rules} rules")
        }
        Verdict::Refused => format!("refused: {refusals}, {warnings}; judged by {rules} rules"),
    }
}

/// Findings of one rule that say the same.
struct Group<'a> {
    first: &'a Finding,
    moves: Vec<u16>,
}

/// Those alike together, refusals first, each in the order in which it was first made.
fn groups(findings: &[Finding]) -> Vec<Group<'_>> {
    let mut groups: Vec<Group<'_>> = Vec::new();
    for finding in findings {
        let alike = |group: &&mut Group<'_>| {
            group.first.rule == finding.rule
                && group.first.objection.severity == finding.objection.severity
                && group.first.objection.note == finding.objection.note
        };
        match groups.iter_mut().find(alike) {
            Some(group) if group.moves.last() == Some(&finding.index) => {}
            Some(group) => group.moves.push(finding.index),
            None => groups.push(Group {
                first: finding,
                moves: vec![finding.index],
            }),
        }
    }
    groups.sort_by_key(|group| std::cmp::Reverse(group.first.objection.severity));
    groups
}

/// How many moves are named before the rest are only counted.
const NAMED: usize = 4;

/// The findings as text, those alike together; empty where there are none.
#[must_use]
pub fn text(findings: &[Finding], system: System, indent: usize) -> String {
    let blank = " ".repeat(indent);
    let mut text = String::new();
    for group in groups(findings) {
        let objection = &group.first.objection;
        let severity = match objection.severity {
            Severity::Warn => "warning",
            Severity::Refuse => "refused",
        };
        text.push_str(&format!(
            "{blank}{severity}: {}, at {}: {}\n",
            group.first.rule,
            moves_words(&group.moves),
            figures(objection, system)
        ));
        text.push_str(&wrapped(&format!("{blank}    "), objection.note, 100));
    }
    text
}

fn moves_words(moves: &[u16]) -> String {
    let named: Vec<String> = moves.iter().take(NAMED).map(u16::to_string).collect();
    match (moves, moves.len().saturating_sub(NAMED)) {
        ([only], _) => format!("move {only}"),
        (_, 0) => match named.split_last() {
            Some((last, rest)) => format!("moves {} and {last}", rest.join(", ")),
            None => String::new(),
        },
        (_, more) => format!("moves {} and {more} more", named.join(", ")),
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

/// What was found and what would have been right, told with as many digits as tell them apart.
pub(crate) fn figures(objection: &Objection, system: System) -> String {
    let (measured, limit) = (&objection.measured, &objection.limit);
    let is = limit_word(objection.severity);
    if let (Measure::Length(found) | Measure::Told(found, _), Measure::Length(right)) = (measured, limit)
        && system.size(*found) == system.size(*right)
    {
        return format!("found {measured}, {is} {limit}");
    }
    if let (Measure::Speed(found), Measure::Speed(right)) = (measured, limit) {
        let told = |one, other| system.speed_among(one, &[other]);
        return format!("found {}, {is} {}", told(*found, *right), told(*right, *found));
    }
    if let Some(words) = not_there(measured, limit) {
        return words;
    }
    let say = |measure: &Measure| figure(measure, system);
    let right = match limit {
        Measure::State(_) | Measure::Feed(_) | Measure::Stroke(_) => "should be",
        _ => is,
    };
    match (measured, limit) {
        (Measure::None, _) => format!("{right} {}", say(limit)),
        (_, Measure::None) => say(measured),
        _ => format!("found {}, {right} {}", say(measured), say(limit)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn finding(index: u16, rule: &'static str, objection: Objection) -> Finding {
        Finding {
            rule,
            index,
            objection,
        }
    }

    #[test]
    fn those_alike_stand_together_and_refusals_first() {
        let length = |um| Measure::Length(Length::um(um));
        let deep = |um| Objection::refuse(length(um), length(165_000), "bite less");
        let off = Objection::warn(Measure::State("off"), Measure::State("fitted"), "fit it");
        let mut findings = vec![finding(3, "knife", off), finding(4, "reach", deep(165_020))];
        findings.extend((5..12).map(|index| finding(index, "reach", deep(170_000))));
        findings.push(finding(11, "reach", deep(171_000)));
        assert_eq!(
            text(&findings, System::Metric, 2),
            "  refused: reach, at moves 4, 5, 6, 7 and 4 more: found 165.02 mm, the limit is 165 mm\n      bite less\n  \
             warning: knife, at move 3: found off, should be fitted\n      fit it\n"
        );
        assert_eq!(
            verdict_words(Verdict::Refused, &findings),
            format!("refused: 9 refusals, 1 warning; judged by {} rules", RULES.len())
        );
    }

    #[test]
    fn moves_are_named_or_counted() {
        assert_eq!(moves_words(&[3]), "move 3");
        assert_eq!(moves_words(&[3, 5]), "moves 3 and 5");
        assert_eq!(moves_words(&[1, 2, 3, 4]), "moves 1, 2, 3 and 4");
        assert_eq!(moves_words(&[1, 2, 3, 4, 9]), "moves 1, 2, 3, 4 and 1 more");
    }

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

    #[test]
    fn figures_go_out_as_numbers_too() {
        let entry = |measure| serde_json::to_string(&MeasureEntry::of(&measure)).unwrap();
        assert_eq!(entry(Measure::None), "null");
        assert_eq!(
            entry(Measure::Length(Length::um(1_500))),
            r#"{"words":"1.5 mm","um":1500}"#
        );
        assert_eq!(
            entry(Measure::Told(Length::um(200), "beyond the end of travel")),
            r#"{"words":"0.2 mm beyond the end of travel","um":200}"#
        );
        assert_eq!(entry(Measure::Piece(2)), r#"{"words":"piece 2","count":2}"#);
        assert_eq!(entry(Measure::Count(3)), r#"{"words":"3","count":3}"#);
        assert_eq!(entry(Measure::State("off")), r#"{"words":"off"}"#);
    }
}
