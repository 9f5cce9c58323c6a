//! What the rules object to.

use bunkside_planner::audit::Verdict;
use bunkside_planner::rules::{Finding, Measure, RULES, Severity};
use bunkside_protocol::{Length, Move, Speed};
use serde::Serialize;

use super::figures::{apart, number};
pub(crate) use super::figures::{figure_and_limit, figures, limit_word, not_there};
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
        let (measured, limit) = (&finding.objection.measured, &finding.objection.limit);
        let [found, right] = [measured, limit].map(Measure::to_string);
        let told = apart(measured, limit, [&found, &right]).unwrap_or([found, right]);
        let [measured, limit] = [measured, limit].map(MeasureEntry::of);
        let in_words = |entry: Option<MeasureEntry>, words: &String| {
            entry.map(|entry| MeasureEntry {
                words: words.clone(),
                ..entry
            })
        };
        Self {
            rule: finding.rule,
            severity: match finding.objection.severity {
                Severity::Warn => "warn",
                Severity::Refuse => "refuse",
            },
            index: finding.index,
            measured: in_words(measured, &told[0]),
            limit: in_words(limit, &told[1]),
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
    all: Vec<&'a Finding>,
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
            Some(group) => {
                group.all.push(finding);
                if group.moves.last() != Some(&finding.index) {
                    group.moves.push(finding.index);
                }
            }
            None => groups.push(Group {
                first: finding,
                all: vec![finding],
                moves: vec![finding.index],
            }),
        }
    }
    groups.sort_by_key(|group| std::cmp::Reverse(group.first.objection.severity));
    groups
}

impl Group<'_> {
    /// What was found, and what would have been right; where they differ, from the least to the greatest, or of which move it is.
    fn figures(&self, system: System) -> String {
        let told = |one: &Finding| figures(&one.objection, system);
        let words = told(self.first);
        if self.all.iter().all(|one| told(one) == words) {
            return words;
        }
        let alone = || format!("{words}, at move {}; others elsewhere", self.first.index);
        let limit = |one: &&&Finding| one.objection.limit != self.first.objection.limit;
        let numbers: Option<Vec<(f64, &Finding)>> = self
            .all
            .iter()
            .map(|one| Some((number(&one.objection.measured)?, *one)))
            .collect();
        let Some(mut numbers) = numbers.filter(|_| self.all.iter().find(limit).is_none()) else {
            return alone();
        };
        numbers.sort_by(|one, other| one.0.total_cmp(&other.0));
        let ends = numbers.first().zip(numbers.last());
        let ends = ends.map(|((_, least), (_, most))| (told(least), told(most)));
        let ends = ends.as_ref().and_then(|(least, most)| {
            let (least, _) = least.split_once(", ")?;
            let most = most.strip_prefix("found ")?;
            // A unit is told once.
            let (figure, unit) = least.rsplit_once(' ')?;
            let (_, rest) = most.split_once(' ')?;
            let same = rest.split(", ").next() == Some(unit);
            Some((if same { figure } else { least }, most))
        });
        ends.map_or_else(alone, |(least, most)| format!("{least} to {most}"))
    }
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
            group.figures(system)
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

#[cfg(test)]
mod tests {
    use super::*;
    use bunkside_planner::rules::Objection;

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
            "  refused: reach, at moves 4, 5, 6, 7 and 4 more: found 165.02 to 171 mm, the limit is 165 mm\n      bite less\n  \
             warning: knife, at move 3: found off, should be fitted\n      fit it\n"
        );
        assert_eq!(
            verdict_words(Verdict::Refused, &findings),
            format!("refused: 9 refusals, 1 warning; judged by {} rules", RULES.len())
        );
    }

    /// A limit that is exceeded by less than the usual digits show: on cards, in text and for programs the two differ.
    #[test]
    fn a_figure_never_looks_like_the_limit_it_exceeds() {
        let speed = |um| Measure::Speed(Speed::um_per_s(um));
        for (found, limit, told) in [
            (speed(400_001), speed(400_000), ["0.400001 m/s", "0.400000 m/s"]),
            (
                Measure::Force(250.04),
                Measure::Force(250.0),
                ["250.04 N", "250.00 N"],
            ),
            (Measure::Mass(1.04), Measure::Mass(1.0), ["1.04 kg", "1.00 kg"]),
            (Measure::Mass(1.5), Measure::Mass(1.0), ["1.5 kg", "1.0 kg"]),
        ] {
            let objection = Objection::refuse(found, limit, "");
            let words = figures(&objection, System::Metric);
            assert_eq!(words, format!("found {}, the limit is {}", told[0], told[1]));
            let entry = FindingEntry::from(&finding(3, "power", objection));
            assert_eq!(entry.measured.unwrap().words, told[0]);
            assert_eq!(entry.limit.unwrap().words, told[1]);
        }
    }

    #[test]
    fn moves_are_named_or_counted() {
        assert_eq!(moves_words(&[3]), "move 3");
        assert_eq!(moves_words(&[3, 5]), "moves 3 and 5");
        assert_eq!(moves_words(&[1, 2, 3, 4]), "moves 1, 2, 3 and 4");
        assert_eq!(moves_words(&[1, 2, 3, 4, 9]), "moves 1, 2, 3, 4 and 1 more");
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
