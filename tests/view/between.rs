//! No move between two strokes is left out of the cards: counted against the moves that ran.

use bunkside::measure::System;
use bunkside::trace::Traced;
use bunkside::view::Subject;
use bunkside_protocol::{Angle, Length, Move, Position};

use super::{JOBS, example, file, with_planned};

/// The cards of a report, without their drawings.
fn cards(report: &str) -> Vec<String> {
    let cards = report.split("<li id=\"step-").skip(1);
    cards
        .map(|card| {
            let (_, told) = card.split_once("<div class=\"tell\">").unwrap();
            told.split("</div>\n</li>").next().unwrap().to_owned()
        })
        .collect()
}

/// The move that a card tells of.
fn at(card: &str) -> usize {
    let number = card.split(": move ").nth(1).unwrap();
    let digits = number.split(|letter: char| !letter.is_ascii_digit()).next();
    digits.unwrap().parse().unwrap()
}

fn side(across: Position) -> &'static str {
    match across.from_origin().cmp(&Length::ZERO) {
        core::cmp::Ordering::Equal => "on the centre line",
        core::cmp::Ordering::Greater => "exit side of the centre line",
        core::cmp::Ordering::Less => "entry side of the centre line",
    }
}

/// What must stand on the card of a move that changes something: each in small letters, the first in front.
fn wanted(traced: &Traced, system: System) -> Vec<Vec<String>> {
    let (before, after) = (traced.step.before, traced.step.after);
    let mut all = Vec::new();
    if before.spinning != after.spinning {
        let how = if after.spinning { "up to speed" } else { "run down" };
        all.push(vec![how.to_owned()]);
    }
    if before.angle != after.angle {
        let how = if after.angle == Angle::Flat {
            "flat"
        } else {
            "upright"
        };
        let high = system.size(after.height.from_origin());
        all.push(vec![
            format!("swing the blade {how}"),
            format!("at {high} above the bed"),
        ]);
    }
    let high = format!("to {} above the bed", system.size(after.height.from_origin()));
    if after.height > before.height {
        all.push(vec![format!("raise {high}")]);
    }
    if after.travel > before.travel {
        all.push(vec!["outbound, empty".to_owned()]);
    }
    if after.travel < before.travel {
        all.push(vec!["homebound, empty".to_owned()]);
    }
    if after.across != before.across {
        let figure = system.size(after.across.from_origin().abs());
        let figure = (after.across.from_origin() != Length::ZERO).then_some(figure);
        let words = [
            Some("set across".to_owned()),
            figure,
            Some(side(after.across).to_owned()),
        ];
        all.push(words.into_iter().flatten().collect());
    }
    if after.height < before.height {
        all.push(vec![format!("lower {high}")]);
    }
    all
}

/// The first thing that a card leaves out of what its moves do, in their order.
fn left_out(told: &str, moves: &[Traced], system: System) -> Option<String> {
    let told = told.to_lowercase();
    let mut rest = told.as_str();
    for traced in moves {
        for words in wanted(traced, system).iter().flatten() {
            let words = words.to_lowercase();
            let Some(found) = rest.find(&words) else {
                return Some(format!("move {}: {words}", traced.step.index));
            };
            rest = &rest[found + words.len()..];
        }
    }
    None
}

/// The text that tells the moves before a card's cut or hold.
fn before(card: &str) -> &str {
    let (before, _) = card.split_once("<p class=\"say\">").unwrap();
    before
}

/// Every move that raises, lowers, shifts, swings, spins or runs stands before the cut that follows it.
#[test]
fn every_move_between_two_strokes_stands_on_the_card() {
    let (mut told, mut dropped) = (0, 0);
    for name in JOBS {
        let job = example(name);
        with_planned(&job, |planned| {
            let subject = Subject::planned(planned);
            let report = file(&subject, "report.html").replace('\u{a0}', " ");
            let moves = &planned.trace.moves;
            let mut first = 0;
            for card in cards(&report) {
                let at = at(&card);
                let lead = &moves[first..at];
                let before = before(&card);
                assert_eq!(left_out(before, lead, subject.system), None, "{name}: {card}");
                let lines: Vec<&str> = before
                    .lines()
                    .filter(|line| line.contains("type=\"checkbox\""))
                    // Where whoever pushes goes is no move: `people.rs` counts those.
                    .filter(|line| !line.contains("<span>Go "))
                    .collect();
                let changing = lead
                    .iter()
                    .filter(|traced| !wanted(traced, subject.system).is_empty());
                let changing = changing.count();
                told += changing;
                if planned.setup.mill.drive.is_hand() {
                    let parked = usize::from(first == 0);
                    assert_eq!(
                        lines.len(),
                        changing + parked,
                        "{name}: a line to tick each: {card}"
                    );
                    for line in &lines[parked..] {
                        let less = before.replacen(line, "", 1);
                        let seen = left_out(&less, lead, subject.system).is_some()
                            || lines.iter().filter(|one| one == &line).count() > 1;
                        assert!(seen, "{name}: {line} could be left out");
                        dropped += 1;
                    }
                } else {
                    assert!(lines.is_empty(), "{name}: a drive does it: {card}");
                }
                first = at + 1;
            }
            let last = cards(&report).pop().unwrap();
            let (_, after) = last.split_once("<p class=\"say\">").unwrap();
            assert_eq!(
                left_out(after, &moves[first..], subject.system),
                None,
                "{name}: {last}"
            );
        });
    }
    assert!(told > 500 && dropped > 50, "{told} {dropped}");
}

/// Before the carriage is drawn home over wood the blade is raised, and the card says so first.
#[test]
fn the_blade_is_raised_before_an_empty_run() {
    let mut raised = 0;
    for name in JOBS {
        let job = example(name);
        with_planned(&job, |planned| {
            let report = file(&Subject::planned(planned), "report.html").replace('\u{a0}', " ");
            let moves: Vec<Move> = planned.moves.to_vec();
            let rises = |at: usize| {
                let traced = &planned.trace.moves[at].step;
                traced.after.height > traced.before.height
            };
            for card in cards(&report) {
                let (before, at) = (before(&card).to_lowercase(), at(&card));
                let start = (0..at).rev().find(|at| matches!(moves[*at], Move::Cut(_)));
                let (Some(start), Some(run)) = (start, before.find("bound, empty")) else {
                    continue;
                };
                if (start + 1..at).any(rises) {
                    raised += 1;
                    assert!(
                        before.find("raise to").is_some_and(|raise| raise < run),
                        "{name}: {card}"
                    );
                }
            }
        });
    }
    assert!(raised > 2, "{raised}");
}
