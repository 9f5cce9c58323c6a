//! The answer in one sentence, to be read aloud.

use bunkside_planner::rules::{Finding, Severity, by_id};
use bunkside_protocol::Speed;

use super::Names;
use super::alternative::{Alternative, Kind};
use super::course::Course;
use super::purpose::{Guard, guards, purpose};
use super::trial::{Allowed, Objected, Outcome};
use crate::account::cuts::stroke_words;
use crate::account::findings::figures;
use crate::measure::{System, clock};

/// Less than this is no difference.
const SECOND: f64 = 0.5;

/// The answer in one sentence.
pub(super) fn answer(
    course: &Course<'_>,
    at: usize,
    names: &Names,
    system: System,
    (findings, alternatives): (&[Finding], &[Alternative]),
) -> String {
    let does = format!(
        "{} {}",
        capital(&called(course, at)),
        purpose(course, at, names, system)
    );
    let refused = findings
        .iter()
        .find(|one| one.objection.severity == Severity::Refuse);
    if let Some(refusal) = refused {
        let will_do = alternatives.iter().find(|one| {
            one.strays.is_none() && matches!(&one.outcome, Outcome::Allowed(allowed) if allowed.same_pieces)
        });
        let instead = will_do.map(|one| format!("; allowed is instead: {}", one.instead));
        return format!(
            "{does}; it is refused {}{}.",
            by_rule(refusal, system),
            instead.unwrap_or_default()
        );
    }
    let of = |kind: Kind| alternatives.iter().find(|one| one.kind == kind);
    if let Some((ran, cut)) = course.cut_in_wood(at) {
        let mut words = does;
        if let Some(alternative) = of(Kind::OnePass) {
            words.push_str(&passes(&alternative.outcome, system));
        }
        if let Some(alternative) = of(Kind::OtherStroke) {
            words.push_str(&format!(
                "; it runs {}, {}",
                stroke_words(ran.step.stroke, ran.step.feed),
                direction(course, &alternative.outcome, "the other stroke", system)
            ));
        }
        if let Some(first) = of(Kind::Faster) {
            words.push_str(&format!(
                ", at {}{}",
                system.speed_among(cut.speed, first.speed.as_slice()),
                feed(course, (first, cut.speed), system)
            ));
        }
        return words + ".";
    }
    match of(Kind::LeftOut) {
        Some(Alternative {
            strays: Some(stray), ..
        }) => format!(
            "{does}; without it cut {} would cut elsewhere.",
            course.number(*stray)
        ),
        // The rules see a log that lies still: that it takes less without would be no advice.
        Some(Alternative {
            outcome: Outcome::Allowed(allowed),
            ..
        }) if allowed.same_pieces && guards(course, at).is_some() => match guards(course, at) {
            Some(Guard::Turning) => {
                let rules = match &allowed.warning {
                    Some(warning) => format!("{} warns without it", warning.finding.rule),
                    None => "no rule asks for it".to_owned(),
                };
                format!(
                    "{does}, so that nobody takes pieces away beside a turning blade; {rules}, the job asks for it \
                     (`stop_to_unload`)."
                )
            }
            Some(Guard::Play) => {
                format!("{does}; no rule asks for it, because none can see the play that a drive has.")
            }
            _ => format!("{does}; no rule asks for it, because none can see what stress does to the log."),
        },
        Some(alternative) => format!(
            "{does}; {}.",
            without(course, &alternative.outcome, names, system)
        ),
        None => does + ".",
    }
}

/// A move by its numbers: `move 12`, `move 12, cut 4,`.
fn called(course: &Course<'_>, at: usize) -> String {
    match course.moves.get(at) {
        Some(bunkside_protocol::Move::Cut(_)) => format!("move {at}, cut {},", course.number(at)),
        _ => format!("move {at}"),
    }
}

fn passes(outcome: &Outcome, system: System) -> String {
    match outcome {
        Outcome::Refused(refusal) => {
            format!(
                ", in two passes, because one is refused {}",
                by_rule(&refusal.finding, system)
            )
        }
        Outcome::Allowed(allowed) if allowed.seconds < -SECOND => format!(
            ", though one pass is allowed and takes {} less",
            clock(-allowed.seconds)
        ),
        _ => String::new(),
    }
}

/// What speaks against the other stroke, which is called so.
pub(super) fn direction(course: &Course<'_>, outcome: &Outcome, other: &str, system: System) -> String {
    match outcome {
        Outcome::Refused(refusal) => because(course, refusal, other, system),
        Outcome::Impossible(words) => format!("because for {other} {words}"),
        Outcome::Allowed(allowed) => match allowed.news() {
            Some(warning) => format!("because {}", warns(&warning.finding, other, system)),
            None if !allowed.same_pieces => format!("because on {other} other pieces come off"),
            None if allowed.seconds > SECOND => {
                format!("because {other} takes {} longer", clock(allowed.seconds))
            }
            None if allowed.seconds < -SECOND => format!(
                "though {other} is allowed and takes {} less",
                clock(-allowed.seconds)
            ),
            None => format!("and would do as well on {other}"),
        },
    }
}

fn feed(course: &Course<'_>, (first, usual): (&Alternative, Speed), system: System) -> String {
    match &first.outcome {
        Outcome::Impossible(_) => ", the fastest this mill feeds".to_owned(),
        Outcome::Refused(refusal) => format!(", {}", because(course, refusal, "faster", system)),
        Outcome::Allowed(allowed) => {
            let told = |speed| system.speed_among(speed, &[usual]);
            let speed = first.speed.map(told).unwrap_or_default();
            match allowed.news() {
                Some(warning) => format!(", because {}", warns(&warning.finding, &speed, system)),
                None => format!(
                    ", though {speed} is allowed and saves {}",
                    clock(-allowed.seconds)
                ),
            }
        }
    }
}

fn without(course: &Course<'_>, outcome: &Outcome, names: &Names, system: System) -> String {
    match outcome {
        Outcome::Refused(refusal) => format!(
            "without it {} would be refused {}",
            refusal
                .later
                .map_or_else(|| "the sequence".to_owned(), |later| called(course, later)),
            by_rule(&refusal.finding, system)
        ),
        Outcome::Impossible(words) => words.clone(),
        Outcome::Allowed(allowed) if !allowed.same_pieces => {
            format!("without it {}", allowed.lost_words(names))
        }
        Outcome::Allowed(Allowed {
            warning: Some(warning),
            ..
        }) => warns(&warning.finding, "leaving it out", system),
        Outcome::Allowed(allowed) if allowed.seconds < -SECOND => format!(
            "the rules do not ask for it, and without it the log takes {} less",
            clock(-allowed.seconds)
        ),
        Outcome::Allowed(allowed) if allowed.seconds > SECOND => format!(
            "the rules do not ask for it, but without it the log takes {} longer",
            clock(allowed.seconds)
        ),
        Outcome::Allowed(_) => "the rules do not ask for it".to_owned(),
    }
}

fn because(course: &Course<'_>, refusal: &Objected, otherwise: &str, system: System) -> String {
    let by_rule = by_rule(&refusal.finding, system);
    match refusal.later {
        None => format!("because {otherwise} is refused {by_rule}"),
        Some(later) => format!(
            "because otherwise {} would be refused {by_rule}",
            called(course, later)
        ),
    }
}

/// By which rule something is refused, what would happen, and the figures: `by straight: in wood the blade moves only along
/// the rails (found …, should be travel alone)`.
fn by_rule(finding: &Finding, system: System) -> String {
    format!("by {}: {}", finding.rule, said(finding, system))
}

/// What a rule warns of.
fn warns(finding: &Finding, of: &str, system: System) -> String {
    format!("{} warns of {of}: {}", finding.rule, said(finding, system))
}

/// What would happen, or else what the rule holds, with what was found and what would have been right.
fn said(finding: &Finding, system: System) -> String {
    let objection = &finding.objection;
    // A note says what would happen, then behind a semicolon what to do; some only what to do.
    let says = match (objection.note.split_once("; "), by_id(finding.rule)) {
        (Some((happens, _)), _) => happens,
        (None, Some(rule)) => rule.title,
        (None, None) => "nobody can say what would happen",
    };
    match figures(objection, system).as_str() {
        "" => says.to_owned(),
        figures => format!("{says} ({figures})"),
    }
}

fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters
        .next()
        .map(|first| first.to_uppercase().chain(letters).collect())
        .unwrap_or_default()
}
