//! The sequence that a move belongs to.

use std::borrow::Cow;

use bunkside_planner::replay::{Replay, Setup};
use bunkside_planner::rules::{History, Moment, Scene};
use bunkside_protocol::mill::HeightSetting;
use bunkside_protocol::{Cut, Move};

use crate::account::wanted::Wanted;
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
    /// What the job asks beyond the rules, where that is to be held against alternatives as well.
    pub(super) wanted: Option<&'a Wanted>,
    /// Every way in which strokes in doubt may turn out, as the auditor numbers them.
    worlds: Vec<World<'a>>,
    /// Every so many moves there is a checkpoint.
    apart: usize,
}

/// A sequence as it ran in one of the ways in which strokes in doubt may turn out.
#[derive(Clone, Debug)]
struct World<'a> {
    checkpoints: Vec<Checkpoint<'a>>,
    /// How many moves ran: up to one that could not be judged.
    ran: usize,
    /// How many strokes had an end in doubt.
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
    /// One move on; whether it could be judged.
    fn run(&mut self, setup: &'a Setup<'a>, told: &Move) -> bool {
        let step = self.replay.step(told);
        self.history.note(&Scene {
            setup,
            moment: Moment::Move(&step),
            before: self.replay.previous(),
            after: self.replay.stock(),
        });
        step.not_judged.is_none()
    }
}

impl<'a> Course<'a> {
    /// A sequence that ran.
    #[must_use]
    pub fn new(setup: &'a Setup<'a>, moves: &'a [Move], trace: &'a Trace) -> Self {
        Self::with_checkpoints(setup, moves, trace, trace.moves.len() / CHECKPOINTS_MAX + 1)
    }

    /// The same, alternatives held against what the job asks beyond the rules as well; the trace has been.
    #[must_use]
    pub const fn asked(mut self, wanted: Option<&'a Wanted>) -> Self {
        self.wanted = wanted;
        self
    }

    /// The same with a checkpoint every so many moves.
    fn with_checkpoints(setup: &'a Setup<'a>, moves: &'a [Move], trace: &'a Trace, apart: usize) -> Self {
        let mut course = Self {
            setup,
            moves,
            trace,
            wanted: None,
            worlds: Vec::new(),
            apart,
        };
        let first = course.world(0);
        let doubts = first.doubts;
        course.worlds.push(first);
        if doubts > 0 {
            // So many worlds share the checkpoints.
            course.apart = (moves.len() << doubts) / CHECKPOINTS_MAX + apart;
            course.worlds = vec![course.world(0)];
        }
        while course.worlds.len() < 1 << course.doubts() {
            course.worlds.push(course.world(course.worlds.len()));
        }
        course
    }

    /// Runs the sequence with strokes in doubt turning out in one way.
    fn world(&self, number: usize) -> World<'a> {
        let mut here = Checkpoint {
            replay: Replay::new(self.setup, u8::try_from(number).unwrap_or(u8::MAX)),
            history: History::new(History::lowest_cut(self.moves.iter().copied())),
        };
        let mut world = World {
            checkpoints: Vec::new(),
            ran: 0,
            doubts: 0,
        };
        for told in self.moves {
            if world.ran.is_multiple_of(self.apart) {
                world.checkpoints.push(here.clone());
            }
            world.ran += 1;
            if !here.run(self.setup, told) {
                break;
            }
        }
        world.doubts = here.replay.doubts();
        if world.ran.is_multiple_of(self.apart) {
            world.checkpoints.push(here);
        }
        world
    }

    /// All that there is before a move, or at the end.
    pub(super) fn checkpoint(&self, at: usize) -> Option<Cow<'_, Checkpoint<'a>>> {
        self.checkpoint_in(0, at)
    }

    /// The same where strokes in doubt turn out in another way.
    pub(super) fn checkpoint_in(&self, world: usize, at: usize) -> Option<Cow<'_, Checkpoint<'a>>> {
        let world = self.worlds.get(world)?;
        if at > world.ran {
            return None;
        }
        let since = self.moves.get(at - at % self.apart..at)?;
        let mut checkpoint = Cow::Borrowed(world.checkpoints.get(at / self.apart)?);
        for told in since {
            checkpoint.to_mut().run(self.setup, told);
        }
        Some(checkpoint)
    }

    /// How many strokes at most have an end in doubt.
    pub(super) fn doubts(&self) -> u8 {
        self.worlds.iter().map(|world| world.doubts).max().unwrap_or(0)
    }

    /// How many strokes have an end in doubt in one of the ways in which they may turn out.
    pub(super) fn doubts_in(&self, world: usize) -> u8 {
        self.worlds.get(world).map_or(0, |world| world.doubts)
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

    /// Where the moves begin that only bring the blade to a move: right before it.
    pub(super) fn lead(&self, at: usize) -> usize {
        let before = self.moves.get(..at).unwrap_or_default();
        let leads = before.iter().rev().take_while(|told| self.brings(told)).count();
        at - leads
    }

    /// Whether a move only brings the blade to its place: goes and swings, and where the height is set by hand also that the blade
    /// is stopped and brought up to speed again, without which nobody may set it.
    pub(super) const fn brings(&self, told: &Move) -> bool {
        brings(told) || by_hand(self.setup) && matches!(told, Move::Spin(_))
    }

    /// The next move that is more than bringing the blade to its place.
    pub(super) fn next(&self, at: usize) -> Option<usize> {
        let after = self.moves.iter().enumerate().skip(at + 1);
        after
            .into_iter()
            .find(|(_, told)| !self.brings(told))
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

/// Whether the height is set by hand, with the blade standing.
pub(super) const fn by_hand(setup: &Setup<'_>) -> bool {
    matches!(setup.mill.height_setting, HeightSetting::ByHand(_))
}

/// Whether a move brings the blade to its place by going or swinging.
const fn brings(told: &Move) -> bool {
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
        assert_eq!(apart.worlds[0].checkpoints.len(), moves.len() / 7 + 1);
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
