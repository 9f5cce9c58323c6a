//! The sequence that a move belongs to.

use std::borrow::Cow;

use bunkside_planner::replay::{Replay, Setup};
use bunkside_planner::rules::{History, Moment, Scene};
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
    /// Every so many moves there is one.
    apart: usize,
    doubts: u8,
}

/// Most checkpoints of a sequence: each is some 20 kB. In a longer one they stand further apart.
const CHECKPOINTS_MAX: usize = 4_096;

/// All that there is before a move.
#[derive(Clone, Debug)]
pub(super) struct Checkpoint<'a> {
    pub(super) replay: Replay<'a>,
    pub(super) history: History,
}

impl<'a> Checkpoint<'a> {
    /// One move on.
    fn run(&mut self, setup: &'a Setup<'a>, told: &Move) {
        let step = self.replay.step(told);
        self.history.note(&Scene {
            setup,
            moment: Moment::Move(&step),
            before: self.replay.previous(),
            after: self.replay.stock(),
        });
    }
}

impl<'a> Course<'a> {
    /// A sequence that ran.
    #[must_use]
    pub fn new(setup: &'a Setup<'a>, moves: &'a [Move], trace: &'a Trace) -> Self {
        Self::with_checkpoints(setup, moves, trace, trace.moves.len() / CHECKPOINTS_MAX + 1)
    }

    /// The same with a checkpoint every so many moves.
    fn with_checkpoints(setup: &'a Setup<'a>, moves: &'a [Move], trace: &'a Trace, apart: usize) -> Self {
        let told = trace.moves.len();
        let mut here = Checkpoint {
            replay: Replay::new(setup, 0),
            history: History::new(History::lowest_cut(moves.iter().copied())),
        };
        let mut checkpoints = Vec::with_capacity(told / apart + 1);
        for (at, ran) in trace.moves.iter().enumerate() {
            if at.is_multiple_of(apart) {
                checkpoints.push(here.clone());
            }
            here.run(setup, &ran.step.told);
        }
        let doubts = here.replay.doubts();
        if told.is_multiple_of(apart) {
            checkpoints.push(here);
        }
        Self {
            setup,
            moves,
            trace,
            checkpoints,
            apart,
            doubts,
        }
    }

    /// All that there is before a move, or at the end.
    pub(super) fn checkpoint(&self, at: usize) -> Option<Cow<'_, Checkpoint<'a>>> {
        let since = self.trace.moves.get(at - at % self.apart..at)?;
        let mut checkpoint = Cow::Borrowed(self.checkpoints.get(at / self.apart)?);
        for ran in since {
            checkpoint.to_mut().run(self.setup, &ran.step.told);
        }
        Some(checkpoint)
    }

    /// How many strokes had an end in doubt.
    pub(super) const fn doubts(&self) -> u8 {
        self.doubts
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::explain::sample::{Sample, g_04};

    /// In a long sequence checkpoints stand apart, and what is between them is run again.
    #[test]
    fn what_stands_between_two_checkpoints_is_as_it_was() {
        let Sample { setup, moves, trace } = &g_04();
        let close = Course::with_checkpoints(setup, moves, trace, 1);
        let apart = Course::with_checkpoints(setup, moves, trace, 7);
        assert_eq!(apart.checkpoints.len(), moves.len() / 7 + 1);
        for at in 0..=moves.len() {
            let (one, other) = (close.checkpoint(at).unwrap(), apart.checkpoint(at).unwrap());
            assert_eq!(one.replay.pose(), other.replay.pose(), "{at}");
            assert_eq!(one.replay.stock(), other.replay.stock(), "{at}");
            assert_eq!(one.history, other.history, "{at}");
        }
        let beyond = |course: &Course<'_>| course.checkpoint(moves.len() + 1).is_none();
        assert!(beyond(&close) && beyond(&apart));
    }
}
