//! The steps of a sequence in words: every cut and every hold, with what leads up to it.

use bunkside_planner::replay::Step as Moved;
use bunkside_planner::rules::Finding;
use bunkside_planner::stock::Stock;
use bunkside_protocol::{Act, Acts, Angle, Length, Move};

use super::Subject;
use super::acts::{CLOSE_DOGS, in_full, in_short, lacking, laid_again, left_out};
use super::between::Between;
use super::broken::{sentence as left_hanging, ticks as broken_off};
use super::lead::{Lead, rest};
use super::measured::measured;
use super::metal::name;
use super::on_edge::{on_edge, open_to_exit, push_from_afar};
use super::parts::{Kind, Part, sideways};
use super::pusher::{Pushed, pushed};
use super::second::{Second, first_held};
use super::stand::{at_cut, at_hold, lies_loose};
use super::wedging::Wedging;
use crate::account::aid::rests_on_aid;
use crate::account::care::straightens;
use crate::account::cuts::stroke_words;
use crate::account::falls::{forbidden, gone_over};
use crate::account::findings::second_person_moves;
use crate::account::lifting::{is_heavy, not_lifted};
use crate::account::table::listed;
use crate::measure::System;
use crate::setting::Sheet;
use crate::setting::words::Words;
use crate::species::State;
use crate::trace::Traced;

/// What a step is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Doing {
    /// A stroke that takes wood, or what has risen of a finished face.
    Cut,
    /// A stop for the operator.
    Hold,
}

/// One step.
#[derive(Clone, Debug)]
pub(super) struct Step {
    /// Its number among the steps, from 1.
    pub(super) number: usize,
    /// Its place among the moves of the trace.
    pub(super) at: usize,
    pub(super) doing: Doing,
    /// What happens, to be read aloud.
    pub(super) sentence: String,
    /// Where to stand.
    pub(super) stand: String,
    /// Where a second person stands who holds down what comes free, and when the pole lies on it; empty where nobody does.
    pub(super) second: String,
    /// What is to be done at a hold, one act a line.
    pub(super) ticks: Vec<String>,
    /// Every move before it that changes anything, in order.
    pub(super) lead: Vec<String>,
    /// The same after the last one.
    pub(super) tail: Vec<String>,
    /// What the rules say of it and of the moves that lead up to it.
    pub(super) findings: Vec<Finding>,
    /// Numbers of the pieces it frees, or that lie there at a hold.
    pub(super) pieces: Vec<u16>,
}

/// The steps of a run, and last the moves that park the carriage, if a finding hangs on them.
pub(super) fn steps(subject: &Subject<'_>, parts: &[Part], sheet: &Sheet) -> Vec<Step> {
    let held_down = second_person_moves(&subject.trace.findings);
    let numbers = numbers(subject);
    let teller = Teller {
        subject,
        parts,
        sheet,
        second: Second::of(subject, &held_down),
        first_held: first_held(subject, &numbers, &held_down),
        held_down,
        wedging: Wedging::of(subject, numbers),
        gone_over: gone_over(subject.setup, subject.trace),
        pushed: pushed(subject.setup, subject.trace),
    };
    let mut steps: Vec<Step> = Vec::new();
    let between = Between {
        setup: subject.setup,
        system: subject.system,
    };
    let start = subject.trace.moves.first();
    let mut lead = Lead::default();
    lead.lines
        .extend(start.map(|first| between.parked(&first.step.before)));
    let mut first = 0;
    for (at, traced) in subject.trace.moves.iter().enumerate() {
        let pushed = teller.pushed.get(at).and_then(Option::as_ref);
        lead.go_round(pushed);
        let step = match traced.step.told {
            Move::Hold(hold) => teller.hold(at, traced, hold.acts),
            Move::Cut(_) if is_step(subject, traced) => {
                if teller.pole_lies_on(at) {
                    lead.lines.insert(0, Second::DRAW_BACK_AND_LEAVE.to_owned());
                }
                teller.cut(steps.len() + 1, traced)
            }
            _ => {
                let told = between.told_before(traced, subject.trace.moves.get(at + 1));
                lead.tell(traced, told, pushed);
                continue;
            }
        };
        let range = first..=traced.step.index;
        let findings = &subject.trace.findings;
        steps.push(Step {
            number: steps.len() + 1,
            at,
            lead: core::mem::take(&mut lead).lines,
            findings: findings
                .iter()
                .filter(|one| range.contains(&one.index))
                .copied()
                .collect(),
            ..step
        });
        first = traced.step.index.saturating_add(1);
    }
    let late = subject.trace.findings.iter().filter(|one| one.index >= first);
    if let Some(last) = steps.last_mut() {
        last.findings.extend(late);
        if teller.pole_lies_on(subject.trace.moves.len()) {
            lead.lines.insert(0, Second::DRAW_BACK_AND_LEAVE.to_owned());
        }
        last.tail = lead.lines;
        last.tail.push(rest(subject));
    }
    steps
}

/// Of a stroke over a finished face.
const STRAIGHTENS: &str = " Straightens the face: takes off what has risen. The plan knows of no wood there.";

/// Of a stroke that frees bark in forward feed, or outbound.
const UNDER_AID: &str = " The pull-back aid bears on what comes free: without it this cut is not to be made.";

/// Whether a cut meets wood, or nobody can say.
fn takes_wood(step: &Moved) -> bool {
    step.not_judged.is_some() || step.cut.is_some_and(|facts| facts.met.is_some())
}

/// Whether a move is a step of its own.
fn is_step(subject: &Subject<'_>, traced: &Traced) -> bool {
    match traced.step.told {
        Move::Hold(_) => true,
        Move::Cut(_) => takes_wood(&traced.step) || straightens(subject.setup, traced),
        Move::Go(_) | Move::Swing(_) | Move::Spin(_) => false,
    }
}

/// The number of the step that each move is, from 1.
fn numbers(subject: &Subject<'_>) -> Vec<Option<usize>> {
    let mut last = 0;
    let moves = subject.trace.moves.iter();
    moves
        .map(|traced| {
            is_step(subject, traced).then(|| {
                last += 1;
                last
            })
        })
        .collect()
}

struct Teller<'s, 'a> {
    subject: &'s Subject<'a>,
    parts: &'s [Part],
    sheet: &'s Sheet,
    /// The moves at which somebody holds down what comes free.
    held_down: Vec<u16>,
    /// Where he stands.
    second: Option<Second>,
    /// The step that tells it in full.
    first_held: Option<usize>,
    wedging: Wedging<'s, 'a>,
    /// The pieces that go over as they come free.
    gone_over: Vec<u16>,
    /// What each move asks of whoever pushes.
    pushed: Vec<Option<Pushed>>,
}

impl Teller<'_, '_> {
    fn cut(&self, number: usize, traced: &Traced) -> Step {
        let step = &traced.step;
        let pieces: Vec<u16> = traced.freed.iter().map(|piece| piece.serial).collect();
        let mut sentence = format!(
            "{} {}, {}.",
            self.blade(step),
            capital(stroke_words(step.stroke, step.feed)),
            self.system().run((step.after.travel - step.before.travel).abs())
        );
        if let Some(reason) = step.not_judged {
            sentence.push_str(&format!(" What this cut does cannot be told: {reason}."));
        }
        if straightens(self.subject.setup, traced) {
            sentence.push_str(STRAIGHTENS);
        }
        if let Some(frees) = self.frees(&pieces) {
            sentence.push_str(&format!(" {frees}"));
        }
        sentence.push_str(&left_hanging(traced, self.system()));
        if let Some(stands) = on_edge(&traced.freed, &self.gone_over, self.system()) {
            sentence.push_str(&format!(" {stands}"));
        }
        if rests_on_aid(self.subject.setup, traced) {
            sentence.push_str(UNDER_AID);
        }
        let second = self.second.as_ref();
        let second = second.filter(|_| self.held_down.contains(&step.index));
        let afar = self.subject.setup.mill.drive.is_hand();
        let afar = afar.then(|| {
            let open = open_to_exit(self.subject.setup, traced);
            push_from_afar(&open, &self.gone_over, self.system())
        });
        let full = self.first_held.filter(|first| *first < number);
        Step {
            stand: at_cut(
                self.subject.setup,
                traced,
                forbidden(self.subject.trace, step.index),
                second.is_some(),
            ) + &afar.flatten().unwrap_or_default()
                + &lies_loose(&lying(&traced.before)),
            second: second.map_or_else(String::new, |second| {
                second.words(full, &traced.freed, self.system())
            }),
            doing: Doing::Cut,
            sentence,
            pieces,
            ..blank()
        }
    }

    /// Where the blade stands: `Blade flat, 61 mm above the bed, its rim 40 mm to the exit side of the centre line.`
    fn blade(&self, step: &Moved) -> String {
        let pose = step.before;
        let high = self.system().size(pose.height.from_origin());
        let across = sideways(self.system(), pose.across);
        match pose.angle {
            Angle::Flat => format!("Blade flat, {high} above the bed, rim {across}."),
            Angle::Upright => format!("Blade upright, {across}, down to {high} above the bed."),
        }
    }

    fn frees(&self, pieces: &[u16]) -> Option<String> {
        match pieces {
            [] => None,
            [one] => Some(format!(
                "Frees piece {}{}.",
                self.piece(*one),
                self.weight(pieces)
            )),
            more => {
                let named: Vec<String> = more.iter().map(|one| self.named(*one)).collect();
                Some(format!("Frees pieces {}{}.", listed(&named), self.weight(pieces)))
            }
        }
    }

    /// What pieces weigh: `; about 13 kg green with bark`.
    fn weight(&self, pieces: &[u16]) -> String {
        let freed = self.parts.iter().filter(|part| pieces.contains(&part.serial));
        let freed: Vec<&Part> = freed.collect();
        let masses: Vec<String> = freed
            .iter()
            .map(|part| self.system().about(part.mass_kg))
            .collect();
        let wood = as_weighed(self.subject, freed.iter().any(|part| part.bark));
        if masses.is_empty() {
            return String::new();
        }
        format!("; {}{wood}", listed(&masses))
    }

    /// A piece by its number and what it is.
    fn piece(&self, serial: u16) -> String {
        match self.parts.iter().find(|part| part.serial == serial) {
            Some(part) if part.kind == Kind::Board => format!("{serial}: {}", part.described(self.system())),
            Some(part) => format!("{serial}, {}", part.what_and_why()),
            None => serial.to_string(),
        }
    }

    /// The same where there are several: `12 (board)`.
    fn named(&self, serial: u16) -> String {
        let part = self.parts.iter().find(|part| part.serial == serial);
        part.map_or_else(
            || serial.to_string(),
            |part| {
                let what = if part.spoilt.is_some() {
                    "waste"
                } else {
                    part.what()
                };
                format!("{serial} ({what})")
            },
        )
    }

    /// A piece by its number and what it is, with its weight.
    fn weighed(&self, serial: u16) -> String {
        let part = self.parts.iter().find(|part| part.serial == serial);
        let mass = part.map(|part| format!("; {}", self.system().about(part.mass_kg)));
        self.piece(serial) + &mass.unwrap_or_default()
    }

    /// That a piece is too heavy to be lifted; empty where it is not.
    fn heavy(&self, serial: u16) -> String {
        let part = self.parts.iter().find(|part| part.serial == serial);
        let heavy = part
            .zip(self.subject.job)
            .filter(|(part, job)| is_heavy(job, part.mass_kg));
        heavy.map_or_else(String::new, |(_, job)| format!(", {}", not_lifted(job)))
    }

    fn hold(&self, at: usize, traced: &Traced, acts: Acts) -> Step {
        let pieces: Vec<u16> = lying(&traced.before);
        let mut ticks: Vec<String> = Vec::new();
        if self.pole_lies_on(at) {
            ticks.push(Second::DRAW_BACK.to_owned());
        }
        let mill = self.subject.setup.mill;
        let (undone, done): (Vec<Act>, Vec<Act>) = acts.iter().partition(|act| lacking(mill, *act).is_some());
        ticks.extend(done.iter().flat_map(|act| match *act {
            Act::Measure => measured(self.subject, self.sheet, at, acts),
            Act::WedgeKerf => self.wedging.driven(at),
            Act::Dog if self.opens(at) => vec![CLOSE_DOGS.to_owned()],
            other => self.ticks(other, &pieces, traced.broken > 0),
        }));
        if acts.contains(Act::Unload) {
            ticks.extend(on_edge(traced.before.pieces(), &self.gone_over, self.system()));
        }
        ticks.extend(broken_off(self.subject, traced));
        ticks.extend(self.wedging.taken(at, acts));
        let words: Vec<&str> = done.iter().map(|act| in_short(*act)).collect();
        let words = if words.is_empty() { vec!["look"] } else { words };
        let undone = undone
            .iter()
            .filter_map(|act| Some(left_out(*act, lacking(mill, *act)?)));
        let undone: String = undone.collect();
        Step {
            stand: at_hold(self.subject.setup, &traced.step),
            doing: Doing::Hold,
            sentence: format!("Hold: {}.{undone}", listed(&words)),
            ticks,
            pieces: if acts.contains(Act::Unload) {
                pieces
            } else {
                Vec::new()
            },
            ..blank()
        }
    }

    /// Whether nothing has been cut and no dog closed before a move: the dogs are open still.
    fn opens(&self, at: usize) -> bool {
        let before = self.subject.trace.moves.get(..at).unwrap_or_default();
        before.iter().all(|traced| match traced.step.told {
            Move::Cut(_) => false,
            Move::Hold(hold) => !hold.acts.contains(Act::Dog),
            Move::Go(_) | Move::Swing(_) | Move::Spin(_) => true,
        })
    }

    /// Whether the last cut before a move freed what a second person holds down.
    fn pole_lies_on(&self, at: usize) -> bool {
        let before = self.subject.trace.moves.get(..at).unwrap_or_default();
        let last = before.iter().rev().find(|traced| is_step(self.subject, traced));
        last.is_some_and(|traced| self.held_down.contains(&traced.step.index))
    }

    fn ticks(&self, act: Act, pieces: &[u16], hangs: bool) -> Vec<String> {
        match act {
            Act::Unload if !pieces.is_empty() => {
                let pieces = pieces.iter().rev();
                pieces
                    .flat_map(|one| {
                        let away = format!("Take away piece {}{}.", self.weighed(*one), self.heavy(*one));
                        std::iter::once(away)
                            .chain(self.metal(*one))
                            .chain(self.cross_cut(*one))
                    })
                    .collect()
            }
            // What hangs is taken away once it is broken off.
            Act::Unload if hangs => Vec::new(),
            Act::Reseat => laid_again(
                self.sheet,
                Words {
                    system: self.system(),
                    both: false,
                },
            ),
            other => vec![in_full(other).to_owned()],
        }
    }

    /// That there is metal in a piece.
    fn metal(&self, serial: u16) -> Option<String> {
        let part = self.parts.iter().find(|part| part.serial == serial)?;
        let names: Vec<String> = part.metal.iter().map(|number| name(*number)).collect();
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        (!names.is_empty()).then(|| {
            format!(
                "Metal ({}) is in piece {serial}: mark it, before any saw or planer meets it.",
                listed(&names)
            )
        })
    }

    /// Where a piece that is two boards is cut, once it is away.
    fn cross_cut(&self, serial: u16) -> Option<String> {
        let part = self.parts.iter().find(|part| part.serial == serial)?;
        let words = part.cross_cut.as_ref()?.words(self.system());
        Some(format!("Away from the mill, cross-cut piece {serial} {words}."))
    }

    fn system(&self) -> System {
        self.subject.system
    }
}

fn blank() -> Step {
    Step {
        number: 0,
        at: 0,
        doing: Doing::Hold,
        sentence: String::new(),
        stand: String::new(),
        second: String::new(),
        ticks: Vec::new(),
        lead: Vec::new(),
        tail: Vec::new(),
        findings: Vec::new(),
        pieces: Vec::new(),
    }
}

/// What of the wood is weighed: ` green with bark`; nothing where nothing is known of it and it has none.
pub(super) fn as_weighed(subject: &Subject<'_>, bark: bool) -> String {
    let state = subject.job.map(|job| match job.state {
        State::Fresh | State::Frozen => "green",
        State::Dry => "dry",
    });
    let bark = bark && subject.setup.log.bark > Length::ZERO;
    let words = [state, bark.then_some("with bark")];
    let words = words.into_iter().flatten();
    words.map(|word| format!(" {word}")).collect()
}

/// Numbers of the pieces that lie on or beside the log.
pub(super) fn lying(stock: &Stock) -> Vec<u16> {
    let mut pieces: Vec<u16> = stock.pieces().iter().map(|piece| piece.serial).collect();
    pieces.sort_unstable();
    pieces
}

/// The same with a capital letter.
pub(super) fn capital(words: &str) -> String {
    let mut letters = words.chars();
    match letters.next() {
        Some(first) => first.to_uppercase().chain(letters).collect(),
        None => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sentence_begins_with_a_capital() {
        assert_eq!(capital("outbound, climbing"), "Outbound, climbing");
        assert_eq!(capital(""), "");
    }
}
