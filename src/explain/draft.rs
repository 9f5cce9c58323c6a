//! An altered sequence in the making.
//!
//! It begins as the sequence does; then come the moves that differ; at the end the carriage is brought to where the
//! sequence expects it, and the rest follows as it was.

use bunkside_planner::machine::Pose;
use bunkside_planner::replay::{Replay, Setup};
use bunkside_planner::sequence::{Between, Carriage, PlanErrorKind, Standing};
use bunkside_protocol::{Act, Acts, Angle, Cut, Hold, Move, Position, Speed, Stroke, Targets};

use super::course::{Course, by_hand};

/// An altered sequence.
#[derive(Clone, Debug)]
pub(super) struct Edit {
    /// The moves.
    pub(super) moves: Vec<Move>,
    /// For each, which move of the sequence it was; none for one that is new.
    pub(super) origin: Vec<Option<usize>>,
}

/// Why there is no such sequence: the blade cannot be brought where it should be.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Blocked(PlanErrorKind);

impl Blocked {
    pub(super) fn words(self) -> String {
        match self.0 {
            PlanErrorKind::NoWayOver { .. } => {
                "the blade cannot be raised far enough to pass over the log".to_owned()
            }
            other => other.to_string(),
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

    /// A stroke of a cut to a place, at a speed; its feed follows from angle and stroke. A blade that stands is brought up to
    /// speed for it.
    pub(super) fn stroke(&mut self, cut: Cut, to: Position, speed: Speed, origin: Option<usize>) {
        self.spin(true);
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

    /// Brings the blade to where a move of the sequence began, by the way that the sequencer would take: along the rails,
    /// over the log where it lies between, then the swing, then the corner, raised over what stands on the bed.
    pub(super) fn way(&mut self, to: &Pose) -> Result<(), Blocked> {
        self.go(|carriage, pose, stands| carriage.way(pose, to, stands))
    }

    /// Runs the carriage empty to a place.
    pub(super) fn along(&mut self, to: Position) -> Result<(), Blocked> {
        self.go(|carriage, pose, stands| carriage.way_along(pose, to, stands))
    }

    /// Swings the blade.
    pub(super) fn swing(&mut self, angle: Angle) -> Result<(), Blocked> {
        self.go(|carriage, pose, stands| carriage.way_around(pose, angle, stands))
    }

    fn go(
        &mut self,
        way: impl Fn(&Carriage<'_>, &Pose, &dyn Fn() -> Standing) -> Result<Between, PlanErrorKind>,
    ) -> Result<(), Blocked> {
        let log = self.setup.shape.travel();
        let carriage = Carriage::between(self.setup, log.lo, log.hi);
        let stock = self.replay.stock();
        let moves = way(&carriage, &self.pose(), &|| Standing::of(self.setup, stock)).map_err(Blocked)?;
        // Who sets the height by hand stops the blade first.
        let pose = self.pose();
        if moves.iter().any(|told| pose.is_cranked(self.setup.mill, told)) {
            self.spin(false);
        }
        for told in moves {
            self.push(told, None);
        }
        Ok(())
    }

    /// Has the blade stopped or brought up to speed, if it is not so already.
    fn spin(&mut self, on: bool) {
        if self.pose().spinning != on {
            self.push(Move::Spin(on), None);
        }
    }

    /// The rest of the sequence from a move on. Where the carriage stands elsewhere than it did, holds are taken where
    /// it stands, and it is brought to where the next cut begins.
    pub(super) fn rest(mut self, course: &Course<'a>, from: usize) -> Result<Edit, Blocked> {
        for at in from..course.moves.len() {
            let (Some(told), Some(ran)) = (course.moves.get(at), course.ran(at)) else {
                break;
            };
            let before = &ran.step.before;
            if self.stands_as(before) {
                self.spin(before.spinning);
                self.keep(course, at);
                return Ok(self.edit);
            }
            match told {
                told if course.brings(told) => {}
                Move::Cut(_) => {
                    self.way(before)?;
                    self.spin(before.spinning);
                    self.keep(course, at);
                    return Ok(self.edit);
                }
                _ => {
                    // The stops that lead to a hold are part of the way, which is made anew: it finds the blade as it did.
                    if by_hand(self.setup) {
                        self.spin(before.spinning);
                    }
                    self.push(*told, Some(at));
                }
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

#[cfg(test)]
mod tests {
    use super::*;
    use bunkside_planner::geometry::Block;
    use bunkside_planner::machine::swing_boxes;
    use bunkside_protocol::Length;
    use bunkside_protocol::mill::Box3;

    use crate::explain::sample::{Sample, g_04, p_07};
    use crate::trace::Trace;

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
            let work = |told: &&Move| !course.brings(told);
            assert!(
                edit.moves.iter().filter(work).eq(moves.iter().filter(work)),
                "{at}"
            );
        }
    }

    /// A box beside the log's far end, where nothing but the sweep of a swing comes: the blade is raised over it before it
    /// swings, as the sequencer would, and no rule that looks at what stands on the bed objects.
    #[test]
    fn the_blade_is_raised_over_what_stands_on_the_bed() {
        let Sample { setup, moves, .. } = &p_07();
        let mut mill = setup.mill.clone();
        let end = setup.shape.travel().hi;
        let kept = Box3 {
            min: [end, Position::mm(-400), Position::ZERO],
            max: [end + Length::mm(600), Position::mm(-350), Position::mm(150)],
        };
        mill.keep_out.push(kept).unwrap();
        let setup = Setup::new(&mill, setup.log).unwrap();
        let trace = Trace::run(&setup, moves);
        let course = Course::new(&setup, moves, &trace);
        let guards = |rule: &str| rule == "swing-clear" || rule == "move-clear";
        let mut raised = 0;
        for at in 1..moves.len() {
            let mut draft = Draft::before(&course, at);
            let pose = draft.pose();
            let other = Angle::ALL.into_iter().find(|one| *one != pose.angle).unwrap();
            let plain = swing_boxes(&mill, &pose).any(|part| part.overlaps(Block::from_record(&kept)));
            // At some places the blade stands in the box already.
            if draft.swing(other).is_err() {
                continue;
            }
            raised += usize::from(plain && draft.pose().height > pose.height);
            let run = Trace::run(&setup, &draft.edit.moves);
            let new = run.findings.iter().filter(|one| usize::from(one.index) >= at);
            assert_eq!(new.filter(|one| guards(one.rule)).count(), 0, "{at}");
        }
        assert!(raised > 3, "{raised}");
    }
}
