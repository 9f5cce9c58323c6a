//! An altered sequence in the making.
//!
//! It begins as the sequence does; then come the moves that differ; at the end the carriage is brought to where the
//! sequence expects it, and the rest follows as it was.

use bunkside_planner::geometry::Interval;
use bunkside_planner::limits::APPROACH;
use bunkside_planner::machine::{Pose, swing_boxes};
use bunkside_planner::replay::{Replay, Setup};
use bunkside_protocol::{Act, Acts, Angle, Cut, Hold, Length, Move, Position, Speed, Stroke, Targets};

use super::course::{Course, brings};

/// An altered sequence.
#[derive(Clone, Debug)]
pub(super) struct Edit {
    /// The moves.
    pub(super) moves: Vec<Move>,
    /// For each, which move of the sequence it was; none for one that is new.
    pub(super) origin: Vec<Option<usize>>,
}

/// Why there is no such sequence.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Blocked {
    /// The blade cannot be raised far enough to pass over the log.
    NoWayOver,
    /// The blade cannot be raised far enough to swing.
    NoRoomToSwing,
}

impl Blocked {
    pub(super) const fn words(self) -> &'static str {
        match self {
            Self::NoWayOver => "the blade cannot be raised far enough to pass over the log",
            Self::NoRoomToSwing => "the blade cannot be raised far enough to swing clear of the bed",
        }
    }
}

/// An altered sequence in the making.
#[derive(Clone, Debug)]
pub(super) struct Draft<'a> {
    setup: &'a Setup<'a>,
    replay: Replay<'a>,
    edit: Edit,
}

impl<'a> Draft<'a> {
    /// The sequence up to a move.
    pub(super) fn before(course: &Course<'a>, at: usize) -> Self {
        let moves = course.moves.get(..at).unwrap_or(course.moves);
        let mut draft = Self {
            setup: course.setup,
            replay: Replay::new(course.setup, 0),
            edit: Edit {
                moves: moves.to_vec(),
                origin: (0..moves.len()).map(Some).collect(),
            },
        };
        match course.checkpoint(at) {
            Some(start) => draft.replay = start.into_owned().replay,
            None => moves.iter().for_each(|told| {
                draft.replay.step(told);
            }),
        }
        draft
    }

    /// The moves of the sequence as they are, from one on: nothing comes behind them.
    fn keep(&mut self, course: &Course<'_>, from: usize) {
        let rest = course.moves.get(from..).unwrap_or_default();
        self.edit.moves.extend_from_slice(rest);
        self.edit.origin.extend((from..course.moves.len()).map(Some));
    }

    /// One move.
    pub(super) fn push(&mut self, told: Move, origin: Option<usize>) {
        self.replay.step(&told);
        self.edit.moves.push(told);
        self.edit.origin.push(origin);
    }

    /// Whether pieces lie free.
    pub(super) fn has_pieces(&self) -> bool {
        !self.replay.stock().pieces().is_empty()
    }

    /// Has pieces that lie free taken away.
    pub(super) fn unload(&mut self) {
        if self.has_pieces() {
            let acts = Acts::one(Act::Unload);
            self.push(Move::Hold(Hold { acts }), None);
        }
    }

    /// Where everything stands.
    pub(super) fn pose(&self) -> Pose {
        *self.replay.pose()
    }

    /// A stroke of a cut to a place, at a speed; its feed follows from angle and stroke.
    pub(super) fn stroke(&mut self, cut: Cut, to: Position, speed: Speed, origin: Option<usize>) {
        let pose = self.pose();
        let stroke = Stroke::between(pose.travel, to);
        let feed = stroke.map(|stroke| self.setup.mill.feed(pose.angle, stroke));
        self.push(
            Move::Cut(Cut {
                to: Targets::travel(to),
                speed,
                feed: cut.feed.and(feed),
                ..cut
            }),
            origin,
        );
    }

    /// Brings the blade to where a move of the sequence began: along the rails, over the log where it lies between,
    /// then the swing, then the corner, from the entry side and from above.
    pub(super) fn way(&mut self, to: &Pose) -> Result<(), Blocked> {
        self.along(to.travel)?;
        self.swing(to.angle)?;
        self.corner(to.across, to.height);
        Ok(())
    }

    /// Runs the carriage empty to a place.
    pub(super) fn along(&mut self, to: Position) -> Result<(), Blocked> {
        let pose = self.pose();
        if pose.travel == to {
            return Ok(());
        }
        let mill = self.setup.mill;
        if Interval::between(pose.travel, to).overlaps(self.setup.shape.travel()) {
            let top = self.replay.stock().top(&self.setup.shape);
            let margin = self.setup.shape.between() + mill.clearances.body + mill.grid;
            let over = up(top.unwrap_or(Position::ZERO) + margin, mill.grid);
            if over > mill.height.max {
                return Err(Blocked::NoWayOver);
            }
            if over > pose.height {
                self.push(Move::Go(height(over)), None);
            }
        }
        self.push(Move::Go(Targets::travel(to)), None);
        Ok(())
    }

    /// Swings the blade, raised first where its sweep would go below the bed.
    pub(super) fn swing(&mut self, angle: Angle) -> Result<(), Blocked> {
        let (pose, mill) = (self.pose(), self.setup.mill);
        if pose.angle == angle {
            return Ok(());
        }
        let lowest = swing_boxes(mill, &pose).map(|block| block.height.lo).min();
        let below = Position::ZERO - lowest.unwrap_or(pose.height);
        if below > Length::ZERO {
            let raised = up(pose.height + below, mill.grid);
            if raised > mill.height.max {
                return Err(Blocked::NoRoomToSwing);
            }
            self.push(Move::Go(height(raised)), None);
        }
        self.push(Move::Swing(angle), None);
        Ok(())
    }

    fn corner(&mut self, across: Position, height: Position) {
        let (pose, mill) = (self.pose(), self.setup.mill);
        let from_entry = across >= pose.across;
        let from_above = height <= pose.height;
        if !from_entry || !from_above {
            let beside = (across - APPROACH).max(mill.across.min);
            let above = (height + APPROACH).min(mill.height.max);
            self.set_corner(
                if from_entry { pose.across } else { beside },
                if from_above { pose.height } else { above },
            );
        }
        self.set_corner(across, height);
    }

    fn set_corner(&mut self, across: Position, height: Position) {
        let pose = self.pose();
        let targets = Targets {
            travel: None,
            across: (across != pose.across).then_some(across),
            height: (height != pose.height).then_some(height),
        };
        if !targets.is_empty() {
            self.push(Move::Go(targets), None);
        }
    }

    /// The rest of the sequence from a move on. Where the carriage stands elsewhere than it did, holds are taken where
    /// it stands, and it is brought to where the next cut begins.
    pub(super) fn rest(mut self, course: &Course<'a>, from: usize) -> Result<Edit, Blocked> {
        for at in from..course.moves.len() {
            let (Some(told), Some(ran)) = (course.moves.get(at), course.ran(at)) else {
                break;
            };
            if self.stands_as(&ran.step.before) {
                self.keep(course, at);
                return Ok(self.edit);
            }
            match told {
                told if brings(told) => {}
                Move::Cut(_) => {
                    self.way(&ran.step.before)?;
                    self.keep(course, at);
                    return Ok(self.edit);
                }
                _ => self.push(*told, Some(at)),
            }
        }
        if let Some(last) = course.trace.moves.last() {
            self.along(last.step.after.travel)?;
        }
        Ok(self.edit)
    }

    fn stands_as(&self, pose: &Pose) -> bool {
        let here = self.pose();
        (here.travel, here.across, here.height, here.angle)
            == (pose.travel, pose.across, pose.height, pose.angle)
    }

    /// The rest of the sequence from a move on, whatever it meets.
    pub(super) fn verbatim(mut self, course: &Course<'_>, from: usize) -> Edit {
        self.keep(course, from);
        self.edit
    }
}

fn height(to: Position) -> Targets {
    Targets {
        height: Some(to),
        ..Targets::default()
    }
}

/// The grid place at or above a place.
fn up(place: Position, grid: Length) -> Position {
    let snapped = place.snapped(grid);
    if snapped < place { snapped + grid } else { snapped }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::explain::sample::{Sample, g_04};

    #[test]
    fn what_is_not_altered_is_the_sequence() {
        let Sample { setup, moves, trace } = &g_04();
        let course = Course::new(setup, moves, trace);
        for at in 0..=moves.len() {
            let edit = Draft::before(&course, at).rest(&course, at).unwrap();
            assert_eq!(edit.moves, *moves, "{at}");
            assert!((0..moves.len()).all(|at| edit.origin[at] == Some(at)));
        }
    }

    /// Wherever the carriage has been brought in between, the next cut begins where it did.
    #[test]
    fn the_carriage_is_brought_back_to_where_the_next_cut_begins() {
        let Sample { setup, moves, trace } = &g_04();
        let course = Course::new(setup, moves, trace);
        for at in (1..moves.len()).filter(|at| matches!(moves[*at], Move::Cut(_))) {
            let mut draft = Draft::before(&course, at + 1);
            let far = setup.shape.travel().hi + Length::mm(330);
            let near = setup.shape.travel().lo - Length::mm(330);
            let there = if draft.pose().travel > far { near } else { far };
            draft.along(there).unwrap();
            let edit = draft.rest(&course, at + 1).unwrap();
            let mut replay = Replay::new(setup, 0);
            for (told, origin) in edit.moves.iter().zip(&edit.origin) {
                let step = replay.step(told);
                if let (Move::Cut(_), Some(origin)) = (told, origin) {
                    assert_eq!(step.before, trace.moves[*origin].step.before, "{at}");
                }
            }
            let kept: Vec<usize> = edit.origin.iter().copied().flatten().collect();
            assert!(kept.is_sorted());
            let work = |told: &&Move| !brings(told);
            assert!(
                edit.moves.iter().filter(work).eq(moves.iter().filter(work)),
                "{at}"
            );
        }
    }
}
