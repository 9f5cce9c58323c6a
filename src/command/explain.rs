//! `explain`: why a move is there, and which alternative which rule refuses.

use bunkside_planner::rules::{Finding, by_id};
use bunkside_protocol::{Angle, Feed, Move, Speed, Stroke};
use serde::Serialize;

use super::another::Another;
use super::making::{HABIT, TIME_ALONE};
use super::subject::{JOB, LOG, MILL, Subject};
use super::{Done, Exit, Failure, JSON, Said, json};
use crate::account::energy::judged_words;
use crate::account::findings::{self, FindingEntry, MeasureEntry, figures};
use crate::account::table::{Side, Table, count, wrapped};
use crate::account::timeline::kind_word;
use crate::account::wanted::{ALONE, STOP, STRESS, Wanted};
use crate::caution::{CAUTION, CAUTION_LINES};
use crate::cli::{Arguments, Opt, Verb};
use crate::explain::{Alternative, Course, Explanation, Guard, Kind, Names, Objected, Outcome, explain};
use crate::measure::{System, clock};

/// The number is that of a cut.
pub const CUT: Opt = Opt {
    long: "cut",
    short: None,
    value: None,
    about: "MOVE is the number of a cut, from 1, instead of a move's, from 0",
};

/// The verb.
pub const VERB: Verb = Verb {
    name: "explain",
    summary: "why a move is there, and which alternative is refused by which rule",
    operands: &["SUBJECT", "MOVE"],
    options: &[CUT, JOB, MILL, LOG, HABIT, TIME_ALONE, JSON],
    about: "\
Tells what a move does, and why it is there, on this stroke and at this feed. SUBJECT is a job, a cut plan with
its --job, or moves from anybody with --job, --mill and --log as for `bunkside audit`. MOVE is its number as audit,
dry run and findings tell it. What was planned with --by-habit or --time-alone
is explained with it too.

Nothing is guessed: what could be done instead is worked out as moves, run to the end of the sequence and judged by
every rule. A cut is tried on the other stroke, faster, in one pass or two, with the other kerf of its notch first,
taken instead of released and released instead of taken; any other move is left out, taken together with the
next, or made at the other end. For each, the first refusal is told, or how much longer or shorter the log takes.
What a job asks of the blade and of people counts as it does in `bunkside audit`.",
    examples: &[
        "bunkside explain examples/jobs/g-04.toml 12",
        "bunkside explain out/moves.json 4 --cut --job examples/jobs/g-04.toml",
    ],
    run,
};

/// A move, explained, for programs.
#[derive(Clone, Debug, Serialize)]
struct Report {
    format: &'static str,
    version: u32,
    #[serde(rename = "move")]
    index: usize,
    cut: Option<usize>,
    kind: &'static str,
    answer: String,
    angle: Angle,
    stroke: Option<Stroke>,
    feed: Option<Feed>,
    speed_um_per_s: Option<Speed>,
    /// The cutting energy with which it is judged.
    made_for_another: Vec<Another>,
    judged_n_per_mm2: u16,
    findings: Vec<FindingEntry>,
    alternatives: Vec<Entry>,
    caution: &'static str,
}

/// An alternative for programs.
#[derive(Clone, Debug, Serialize)]
struct Entry {
    kind: &'static str,
    instead: String,
    answer: &'static str,
    /// The rule that refuses or warns.
    rule: Option<&'static str>,
    /// Other rules that object to the same move.
    also: Vec<&'static str>,
    /// The move that it objects to, where that is a later one.
    #[serde(rename = "move")]
    index: Option<usize>,
    measured: Option<MeasureEntry>,
    limit: Option<MeasureEntry>,
    note: Option<String>,
    speed_um_per_s: Option<Speed>,
    seconds: Option<f64>,
    same_pieces: Option<bool>,
    /// The first cut that would cut elsewhere, by its move.
    elsewhere: Option<usize>,
}

fn run(arguments: &Arguments, said: &mut Said) -> Done {
    let subject = Subject::read_any(arguments, said)?;
    let at = number(arguments, &subject.moves)?;
    let setup = subject.setup()?;
    let trace = subject.judged(&setup);
    let course = Course::new(&setup, &subject.moves, &trace).asked(subject.wanted.as_ref());
    let Some(explanation) = explain(&course, at, &subject.names, subject.system) else {
        let last = trace.moves.len().saturating_sub(1);
        return Err(Failure::ended(
            Exit::Refused,
            format!(
                "bunkside: move {at} is not run, because move {last} cannot be judged\n    \
                 help: explain move {last}, and mend it first\n"
            ),
        ));
    };
    let out = if arguments.has(&JSON) {
        json(&report(&course, explanation, subject.made_for_another.clone()))
    } else {
        text(&subject, &course, &explanation)
    };
    Ok((Exit::Good, out))
}

/// The move that is asked for.
fn number(arguments: &Arguments, moves: &[Move]) -> Result<usize, Failure> {
    let told = arguments.operand(1).unwrap_or_default().to_string_lossy();
    let cuts = moves.iter().enumerate();
    let cuts: Vec<usize> = cuts
        .filter(|(_, told)| matches!(told, Move::Cut(_)))
        .map(|(at, _)| at)
        .collect();
    let (word, there) = if arguments.has(&CUT) {
        ("cut", range("cut", 1, cuts.len()))
    } else {
        ("move", range("move", 0, moves.len()))
    };
    let number: usize = told.parse().map_err(|_| {
        let message = format!("`{told}` is not the number of a {word}");
        Failure::wrong(&message, &there)
    })?;
    let at = if arguments.has(&CUT) {
        number.checked_sub(1).and_then(|number| cuts.get(number).copied())
    } else {
        Some(number).filter(|number| *number < moves.len())
    };
    at.ok_or_else(|| Failure::wrong(&format!("there is no {word} {number}"), &there))
}

/// Which numbers there are.
fn range(word: &str, first: usize, count: usize) -> String {
    match count {
        0 => format!("the sequence has no {word}"),
        1 => format!("the sequence has {word} {first} only"),
        _ => format!("the sequence has {word}s {first} to {}", first + count - 1),
    }
}

fn report(course: &Course<'_>, explanation: Explanation, made_for_another: Vec<Another>) -> Report {
    let at = explanation.at;
    let step = &course.trace.moves[at].step;
    let alternatives = explanation.alternatives.iter();
    let alternatives = alternatives
        .map(|one| Entry::from(one).unless(unjudged(&explanation, one)))
        .collect();
    Report {
        format: "bunkside-explain",
        version: 1,
        index: at,
        cut: explanation.cut,
        kind: kind_word(&step.told),
        answer: explanation.answer,
        angle: step.before.angle,
        stroke: step.stroke,
        feed: step.feed,
        speed_um_per_s: match step.told {
            Move::Cut(cut) => Some(cut.speed),
            _ => None,
        },
        made_for_another,
        judged_n_per_mm2: course.setup.log.cutting_energy,
        findings: explanation.findings.iter().map(FindingEntry::from).collect(),
        alternatives,
        caution: CAUTION,
    }
}

impl From<&Alternative> for Entry {
    fn from(alternative: &Alternative) -> Self {
        let (answer, objected) = match &alternative.outcome {
            Outcome::Refused(objected) => ("refused", Some(objected)),
            Outcome::Allowed(allowed) => ("allowed", allowed.warning.as_ref()),
            Outcome::Impossible(_) => ("impossible", None),
        };
        let allowed = match &alternative.outcome {
            Outcome::Allowed(allowed) => Some(allowed),
            _ => None,
        };
        let objection = objected.map(|one| one.finding.objection);
        Self {
            kind: alternative.kind.word(),
            instead: alternative.instead.clone(),
            answer,
            rule: objected.map(|one| one.finding.rule),
            also: objected.map_or_else(Vec::new, |one| one.also.iter().map(|one| one.rule).collect()),
            index: objected.and_then(|one| one.later),
            measured: objection.and_then(|one| MeasureEntry::of(&one.measured)),
            limit: objection.and_then(|one| MeasureEntry::of(&one.limit)),
            note: match &alternative.outcome {
                Outcome::Impossible(words) => Some(words.clone()),
                _ => objection.map(|one| one.note.to_owned()),
            },
            speed_um_per_s: alternative.speed,
            seconds: allowed.map(|one| one.seconds),
            same_pieces: allowed.map(|one| one.same_pieces),
            elsewhere: alternative.strays,
        }
    }
}

impl Entry {
    /// The same, or that no rule judges it: that it is quicker would read as advice.
    fn unless(self, unjudged: Option<&'static str>) -> Self {
        match unjudged {
            Some(why) => Self {
                answer: "not-judged",
                note: Some(why.to_owned()),
                seconds: None,
                same_pieces: None,
                ..self
            },
            None => self,
        }
    }
}

fn text(subject: &Subject, course: &Course<'_>, explanation: &Explanation) -> String {
    let system = subject.system;
    let mut text = format!(
        "{} on {}: {}\n\n{}",
        subject.name,
        subject.mill_name,
        count(subject.moves.len() as u64, "move"),
        wrapped("", &explanation.answer, 100)
    );
    let said = findings::text(&explanation.findings, system, 2);
    if !said.is_empty() {
        text.push_str(&format!("\nthe rules say of it\n{said}"));
    }
    let (never, made): (Vec<Alternative>, Vec<Alternative>) = explanation
        .alternatives
        .iter()
        .cloned()
        .partition(|one| never_climbs(course, one));
    if !made.is_empty() {
        let made = Explanation {
            alternatives: made,
            ..explanation.clone()
        };
        text.push_str(&format!(
            "\n{}{}",
            table(course, &made, &subject.names, system).text(0),
            reasons(&made.alternatives, system)
        ));
    }
    for one in never {
        text.push_str(&format!(
            "\nleft out: {}; a carriage that is pushed never climbs\n",
            one.instead
        ));
    }
    if subject.wanted.as_ref().is_some_and(Wanted::is_stressed) && saves(explanation) {
        text.push_str(&format!("\n{}", wrapped("", STRESSED, 100)));
    }
    if explanation.cut.is_some() {
        let judged = judged_words(&subject.log, subject.energy.as_ref());
        text.push_str(&format!("\n{}", wrapped("", &judged, 100)));
    }
    format!("{text}\n{}\n", CAUTION_LINES.join("\n"))
}

/// Why timber under growth stress is not sawn in the least time.
const STRESSED: &str = "The job tells of growth stress (`growth_stress`): such timber is sawn by rule of thumb, which lets it out layer by \
                        layer, whatever time that takes; what no rule refuses may take less, and none sees what stress does then.";

/// Whether something else is allowed and takes less.
fn saves(explanation: &Explanation) -> bool {
    let outcomes = explanation.alternatives.iter().map(|one| &one.outcome);
    outcomes
        .filter_map(|outcome| match outcome {
            Outcome::Allowed(allowed) => Some(allowed.seconds),
            _ => None,
        })
        .any(|seconds| seconds < -0.5)
}

/// Whether an alternative climbs on a carriage that is pushed: nobody can make that stroke.
fn never_climbs(course: &Course<'_>, one: &Alternative) -> bool {
    let by_rule = |objected: &Objected| objected.later.is_none() && objected.finding.rule == "climb-powered";
    course.setup.mill.drive.is_hand()
        && matches!(&one.outcome, Outcome::Refused(objected) if by_rule(objected))
}

/// Why no rule can judge an alternative that none objects to: it would leave out a guard against what they do not see.
fn unjudged(explanation: &Explanation, one: &Alternative) -> Option<&'static str> {
    let leaves_out = match one.kind {
        Kind::LeftOut | Kind::Faster => true,
        Kind::Together => explanation.guards == Some(Guard::Play),
        _ => false,
    } && matches!(&one.outcome, Outcome::Allowed(allowed) if allowed.warning.is_none());
    let guard = explanation.guards.filter(|_| leaves_out)?;
    Some(match guard {
        Guard::Stress => "none sees what stress does; keep it",
        Guard::Turning => "who unloads needs it; keep it",
        Guard::Play => "none sees play in the drives; keep it",
    })
}

fn table(course: &Course<'_>, explanation: &Explanation, names: &Names, system: System) -> Table {
    let mut table = Table::new(&[
        ("instead", Side::Left),
        ("the rules say", Side::Left),
        ("the log takes", Side::Left),
    ]);
    for one in &explanation.alternatives {
        let (mut says, mut takes) = says(one, names);
        if let Some(why) = unjudged(explanation, one) {
            // That it takes less would read as advice.
            (says, takes) = (vec![format!("not judged: {why}")], String::new());
        }
        if let Some(stray) = one.strays {
            says.insert(0, format!("cut {} cuts elsewhere;", course.number(stray)));
        }
        let at = match (&one.outcome, one.speed) {
            (Outcome::Allowed(_), Some(speed)) if one.kind != Kind::Faster => {
                let usual = match course.moves.get(explanation.at) {
                    Some(Move::Cut(cut)) => cut.speed,
                    _ => speed,
                };
                format!(", at {}", system.speed_among(speed, &[usual]))
            }
            _ => String::new(),
        };
        let mut says = says.into_iter();
        table.row([
            format!("{}{at}", one.instead),
            says.next().unwrap_or_default(),
            takes,
        ]);
        for more in says {
            table.row([String::new(), more, String::new()]);
        }
    }
    table
}

/// What the rules say of an alternative, in lines, and what it costs.
fn says(one: &Alternative, names: &Names) -> (Vec<String>, String) {
    match &one.outcome {
        Outcome::Refused(objected) => (places("refused:", objected), String::new()),
        Outcome::Impossible(words) => (vec![words.clone()], String::new()),
        Outcome::Allowed(allowed) => {
            let mut says = match &allowed.warning {
                Some(warning) => places("allowed, warned:", warning),
                None => vec!["allowed".to_owned()],
            };
            let leaves_out = one.kind == Kind::LeftOut;
            match says.last_mut() {
                Some(last) if !allowed.same_pieces && leaves_out => {
                    last.push_str(", but");
                    says.push(format!("  {}", allowed.lost_words(names)));
                }
                Some(last) if !allowed.same_pieces => last.push_str(", but other pieces come off"),
                _ => {}
            }
            let is_the_same = allowed.same_pieces && one.strays.is_none();
            let takes = is_the_same.then(|| longer(allowed.seconds));
            (says, takes.unwrap_or_default())
        }
    }
}

/// Most letters of a line that names rules.
const LINE: usize = 44;

/// The rules that object, and to which move, in as many lines as it takes.
fn places(head: &str, objected: &Objected) -> Vec<String> {
    let mut words: Vec<String> = shown(objected).map(|one| one.rule.to_owned()).collect();
    words.extend(objected.later.map(|later| format!("at move {later}")));
    let mut lines = vec![head.to_owned()];
    let last = words.len().saturating_sub(1);
    for (number, mut word) in words.into_iter().enumerate() {
        if number < last {
            word.push(',');
        }
        match lines.last_mut() {
            Some(line) if line.chars().count() + 1 + word.chars().count() <= LINE || number == 0 => {
                line.push(' ');
                line.push_str(&word);
            }
            _ => lines.push(format!("  {word}")),
        }
    }
    lines
}

/// What rules have against a move.
fn shown(objected: &Objected) -> impl Iterator<Item = &Finding> {
    std::iter::once(&objected.finding).chain(&objected.also)
}

/// How many rules are told with their ways out of each alternative; of more only the figures are.
const IN_FULL: usize = 2;

fn longer(seconds: f64) -> String {
    if seconds.abs() < 0.5 {
        "as long".to_owned()
    } else if seconds > 0.0 {
        format!("{} longer", clock(seconds))
    } else {
        format!("{} less", clock(-seconds))
    }
}

/// Each rule that objects, with its figures and a way out, once; of those that object beside two others only the figures.
fn reasons(alternatives: &[Alternative], system: System) -> String {
    let objected = alternatives.iter().filter_map(|one| match &one.outcome {
        Outcome::Refused(objected) => Some(objected),
        Outcome::Allowed(allowed) => allowed.warning.as_ref(),
        Outcome::Impossible(_) => None,
    });
    let objected: Vec<&Objected> = objected.collect();
    let mut text = String::new();
    let mut told: Vec<(&str, &str)> = Vec::new();
    let mut is_new = |finding: &Finding| {
        let key = (finding.rule, finding.objection.note);
        let is_new = !told.contains(&key);
        told.push(key);
        is_new
    };
    for finding in objected.iter().flat_map(|one| shown(one).take(IN_FULL)) {
        if !is_new(finding) {
            continue;
        }
        let objection = &finding.objection;
        text.push_str(&format!(
            "\n{}: {}\n    {}\n",
            finding.rule,
            holds(finding),
            figures(objection, system)
        ));
        text.push_str(&wrapped("    ", objection.note, 100));
    }
    let beside = objected.iter().flat_map(|one| shown(one).skip(IN_FULL));
    let beside: Vec<&Finding> = beside.filter(|one| is_new(one)).collect();
    if !beside.is_empty() {
        text.push('\n');
    }
    for finding in beside {
        let Finding { rule, objection, .. } = finding;
        let figures = figures(objection, system);
        text.push_str(&wrapped(
            &format!("{rule}: "),
            &format!("{figures}: {}", objection.note),
            100,
        ));
    }
    text
}

/// What a rule holds.
fn holds(finding: &Finding) -> &'static str {
    match finding.rule {
        STRESS => "timber under growth stress moves as it is opened",
        STOP => "the job says that the blade stands while anybody unloads",
        ALONE => "the job says that one person works here",
        rule => by_id(rule).map_or("what happens could not be told", |rule| rule.title),
    }
}
