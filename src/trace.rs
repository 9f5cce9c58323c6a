//! One run through a sequence, with everything that audit, dry run, pictures and report show of it.

mod hanging;

use std::sync::{Arc, OnceLock};

use bunkside_planner::audit::{Verdict, audit};
use bunkside_planner::geometry::Interval;
use bunkside_planner::machine::{Apart, blade_boxes, head_boxes};
use bunkside_planner::physics::body::piece_with_bark_kg;
use bunkside_planner::physics::timing::duration;
use bunkside_planner::replay::{Setup, Step};
use bunkside_planner::rules::{Finding, Severity};
use bunkside_planner::stock::{Piece, Stock};
use bunkside_protocol::{Length, Move};

pub use hanging::{Hanging, parted};

/// One move as it ran.
#[derive(Clone, Debug)]
pub struct Traced {
    /// What the move did.
    pub step: Step,
    /// When it began, seconds from the start.
    pub start: f64,
    /// How long it took, seconds.
    pub duration: f64,
    /// What it freed, from the entry side.
    pub freed: Vec<Piece>,
    /// What each of these weighs with its bark, which counts as heavy as the wood, kilograms.
    pub freed_kg: Vec<f64>,
    /// How many parts that hung by little wood come off at this hold.
    pub broken: u16,
    /// What these are; and at a cut what it leaves hanging so, if it does not free it: nobody can say.
    pub hanging: Vec<Hanging>,
    /// What stood before it: one for all moves between which nothing changes.
    pub before: Arc<Stock>,
}

impl Traced {
    /// Whether a move goes back across or up and the next comes on from there, so that the play of the drive is taken up.
    #[must_use]
    pub fn draws_back(&self, next: &Self) -> bool {
        let goes = |step: &Step| {
            let (from, to) = (step.before, step.after);
            (matches!(step.told, Move::Go(_)) && from.travel == to.travel)
                .then(|| [to.across - from.across, from.height - to.height])
        };
        let (Some(back), Some(on)) = (goes(&self.step), goes(&next.step)) else {
            return false;
        };
        let mut pairs = back.into_iter().zip(on);
        pairs.any(|(back, on)| back < Length::ZERO && on > Length::ZERO)
    }

    /// Whether the carriage passes beside the log, the blade out past its entry side and too low to pass over what stands.
    #[must_use]
    pub fn passes_beside(&self, setup: &Setup<'_>) -> bool {
        let (from, to, shape) = (&self.step.before, &self.step.after, &setup.shape);
        let along = Interval::between(from.travel, to.travel);
        if !matches!(self.step.told, Move::Go(_)) || along.is_empty() || !along.overlaps(shape.travel()) {
            return false;
        }
        let Some(top) = self.before.top(shape) else {
            return false;
        };
        let parts = || blade_boxes(setup.mill, from, to).chain(head_boxes(setup.mill, from, to));
        let (log, over) = (
            shape.bounds().across,
            shape.between() + Apart::body(setup.mill).height,
        );
        parts().all(|part| part.across.hi <= log.lo) && parts().any(|part| part.height.lo < top + over)
    }
}

/// A sequence as it ran.
#[derive(Clone, Debug)]
pub struct Trace {
    /// The moves, up to one that could not be judged.
    pub moves: Vec<Traced>,
    /// What stands at the end.
    pub end: Stock,
    /// What the rules found, each finding once, by move.
    pub findings: Vec<Finding>,
    /// What rules say against moves that were done before what they refuse them for was known; no part of `findings`.
    pub past: Vec<Finding>,
    /// How many moves were done before the rest was planned.
    pub done: usize,
    /// What the auditor says of it, but for that.
    pub verdict: Verdict,
    /// Up to which cutting energy it passes, N/mm², worked out once where it is asked for.
    pub(crate) passes_to: OnceLock<Option<u16>>,
}

impl Trace {
    /// Runs a sequence.
    #[must_use]
    pub fn run(setup: &Setup<'_>, moves: &[Move]) -> Self {
        let mut traced: Vec<Traced> = Vec::with_capacity(moves.len());
        let mut findings: Vec<Finding> = Vec::new();
        let mut end = setup.stock();
        let mut stands = Arc::new(end.clone());
        let mut clock = 0.0;
        let verdict = audit(
            setup,
            moves.iter().copied(),
            &mut |step, before, after| {
                let count = step.cut.map_or(0, |facts| usize::from(facts.freed));
                let duration = duration(setup, step, before);
                let pieces = after.pieces();
                let freed = pieces
                    .get(pieces.len().saturating_sub(count)..)
                    .unwrap_or(&[])
                    .to_vec();
                if *stands != *before {
                    stands = Arc::new(before.clone());
                }
                let weighs =
                    |freed: &Piece| piece_with_bark_kg(after, &setup.shape, freed.id, setup.log.density);
                traced.push(Traced {
                    freed_kg: freed.iter().map(weighs).collect(),
                    step: *step,
                    start: clock,
                    duration,
                    freed,
                    broken: match step.told {
                        Move::Hold(_) => after.freed().saturating_sub(before.freed()),
                        _ => 0,
                    },
                    hanging: Vec::new(),
                    before: Arc::clone(&stands),
                });
                clock += duration;
                end.clone_from(after);
            },
            &mut |finding| {
                if !findings.contains(&finding) {
                    findings.push(finding);
                }
            },
        );
        findings.sort_by_key(|finding| finding.index);
        hanging::tell(setup, &mut traced);
        Self {
            moves: traced,
            end,
            findings,
            past: Vec::new(),
            done: 0,
            verdict,
            passes_to: OnceLock::new(),
        }
    }

    /// Adds what somebody else objects to.
    pub fn object(&mut self, findings: Vec<Finding>) {
        for finding in findings {
            self.verdict = match (finding.objection.severity, self.verdict) {
                (Severity::Refuse, _) | (_, Verdict::Refused) => Verdict::Refused,
                (Severity::Warn, Verdict::Pass | Verdict::Warned) => Verdict::Warned,
            };
            self.findings.push(finding);
        }
        self.findings.sort_by_key(|finding| finding.index);
    }

    /// Sets aside what refuses the first moves, which are done.
    pub fn set_aside(&mut self, done: usize) {
        self.done = done;
        let is_past =
            |one: &Finding| usize::from(one.index) < done && one.objection.severity == Severity::Refuse;
        let (past, findings) = self.findings.iter().partition(|one| is_past(one));
        (self.past, self.findings) = (past, findings);
        let worst = self.findings.iter().map(|one| one.objection.severity).max();
        self.verdict = match worst {
            None => Verdict::Pass,
            Some(Severity::Warn) => Verdict::Warned,
            Some(Severity::Refuse) => Verdict::Refused,
        };
    }

    /// How long the whole sequence takes, seconds.
    #[must_use]
    pub fn seconds(&self) -> f64 {
        self.moves.last().map_or(0.0, |last| last.start + last.duration)
    }
}
