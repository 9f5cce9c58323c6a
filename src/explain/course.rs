//! The sequence that a move belongs to.

use bunkside_planner::replay::{Replay, Setup};
use bunkside_planner::rules::{History, Moment, Situation};
use bunkside_protocol::{Cut, Move};

use crate::trace::{Trace, Traced};

/// A sequence as it ran.
#[derive(Clone, Debug)]
pub struct Course<'a> {
    /// The log on its mill.
    pub setup: &'a Setup<'a>,
    /// All moves.
    pub moves: &'a [Move],
    /// The moves as they ran, up to one that could not be judged.
    pub trace: &'a Trace,
    checkpoints: Vec<Checkpoint<'a>>,
}

/// All that there is before a move.
#[derive(Clone, Debug)]
pub(super) struct Checkpoint<'a> {
    pub(super) replay: Replay<'a>,
    pub(super) history: History,
}

impl<'a> Course<'a> {
    /// A sequence that ran.
    #[must_use]
    pub fn new(setup: &'a Setup<'a>, moves: &'a [Move], trace: &'a Trace) -> Self {
        let mut replay = Replay::new(setup, 0);
        let mut history = History::new(History::lowest_cut(moves.iter().copied()));
        let mut checkpoints = Vec::with_capacity(trace.moves.len() + 1);
        for ran in &trace.moves {
            checkpoints.push(Checkpoint {
                replay: replay.clone(),
                history,
            });
            let step = replay.step(&ran.step.told);
            let past = history;
            history.note(&Situation {
                setup,
                moment: Moment::Move(&step),
                before: &ran.before,
                after: replay.stock(),
                history: &past,
            });
        }
        checkpoints.push(Checkpoint { replay, history });
        Self {
            setup,
            moves,
            trace,
            checkpoints,
        }
    }

    /// All that there is before a move, or at the end.
    pub(super) fn checkpoint(&self, at: usize) -> Option<&Checkpoint<'a>> {
        self.checkpoints.get(at)
    }

    /// How many strokes had an end in doubt.
    pub(super) fn doubts(&self) -> u8 {
        self.checkpoints.last().map_or(0, |last| last.replay.doubts())
    }

    /// A move as it ran.
    pub(super) fn ran(&self, at: usize) -> Option<&'a Traced> {
        self.trace.moves.get(at)
    }

    /// A move that is a cut along the rails alone, as it ran.
    pub(super) fn cut(&self, at: usize) -> Option<(&'a Traced, Cut)> {
        let ran = self.ran(at)?;
        match ran.step.told {
            Move::Cut(cut) if cut.to.is_travel_only() => Some((ran, cut)),
            _ => None,
        }
    }

    /// The same, where it meets wood.
    pub(super) fn cut_in_wood(&self, at: usize) -> Option<(&'a Traced, Cut)> {
        let in_wood = |traced: &Traced| traced.step.cut.is_some_and(|facts| facts.met.is_some());
        self.cut(at).filter(|(ran, _)| in_wood(ran))
    }

    /// Where the moves begin that only bring the blade to a move: the goes and swings right before it.
    pub(super) fn lead(&self, at: usize) -> usize {
        let before = self.moves.get(..at).unwrap_or_default();
        let leads = before.iter().rev().take_while(|told| brings(told)).count();
        at - leads
    }

    /// The next move that is more than bringing the blade to its place.
    pub(super) fn next(&self, at: usize) -> Option<usize> {
        let after = self.moves.iter().enumerate().skip(at + 1);
        after
            .into_iter()
            .find(|(_, told)| !brings(told))
            .map(|(at, _)| at)
    }

    /// The same backwards.
    pub(super) fn previous(&self, at: usize) -> Option<usize> {
        self.lead(at).checked_sub(1)
    }

    /// The number of a cut among the cuts, from 1.
    #[must_use]
    pub fn number(&self, at: usize) -> usize {
        let upto = self.moves.iter().take(at + 1);
        upto.filter(|told| matches!(told, Move::Cut(_))).count()
    }

    /// The first cut behind a move.
    pub(super) fn next_cut(&self, at: usize) -> Option<usize> {
        let mut after = self.moves.iter().enumerate().skip(at + 1);
        after
            .find(|(_, told)| matches!(told, Move::Cut(_)))
            .map(|(at, _)| at)
    }
}

/// Whether a move only brings the blade to its place.
pub(super) const fn brings(told: &Move) -> bool {
    matches!(told, Move::Go(_) | Move::Swing(_))
}
