//! An altered sequence run no further than it differs.
//!
//! Up to the first move that differs everything is known, and from where the wood, the pieces, the blade and all that the
//! rules remember are as they were, everything is known again. Where a stroke's end is in doubt, both outcomes are judged so,
//! each held against the same outcome of the sequence.

use bunkside_planner::geometry::Block;
use bunkside_planner::physics::timing::duration;
use bunkside_planner::replay::{Replay, Step};
use bunkside_planner::rules::{End, Finding, History, Moment, RULES, Scene, Situation, judge};
use bunkside_planner::stock::{Piece, Stock};

use super::course::{Checkpoint, Course};
use super::draft::Edit;
use crate::trace::Traced;

/// What an altered sequence comes to, beside what the sequence comes to.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Rerun {
    /// What the rules find from the first move on that differs, as the altered sequence numbers its moves.
    pub(super) findings: Vec<Finding>,
    /// How much longer it takes, seconds.
    pub(super) seconds: f64,
    /// Whether the same pieces come off.
    pub(super) same_pieces: bool,
    /// The pieces of the sequence that do not come off as they were, by their numbers.
    pub(super) lost: Vec<u16>,
}

/// Runs an altered sequence as far as it differs.
pub(super) fn rerun(course: &Course<'_>, edit: &Edit) -> Rerun {
    let mut first = Run::new(course, edit, 0);
    let joined = first.run();
    let mut doubts = first.doubts(joined);
    let mut findings = core::mem::take(&mut first.findings);
    let mut world = 1;
    while world < 1_u8 << doubts {
        let mut other = Run::new(course, edit, world);
        let joined = other.run();
        doubts = doubts.max(other.doubts(joined));
        findings.extend(other.findings);
        world += 1;
    }
    if world > 1 {
        findings.sort_by_key(|finding| finding.index);
    }
    let until = joined.unwrap_or(course.trace.moves.len());
    // What is replaced; where moves are repeated, what comes once more.
    let between = |from: usize, to: usize| course.trace.moves.get(from..to).unwrap_or_default();
    let (replaced, repeated) = (between(first.first, until), between(until, first.first));
    let time = |moves: &[Traced]| moves.iter().map(|traced| traced.duration).sum::<f64>();
    let pieces = |moves| <[Traced]>::iter(moves).flat_map(|traced| &traced.freed);
    let freed = boxes(first.freed.iter().chain(pieces(repeated)));
    Rerun {
        seconds: first.seconds + time(repeated) - time(replaced),
        same_pieces: freed == boxes(pieces(replaced)),
        lost: lost(pieces(replaced), &freed),
        findings,
    }
}

/// The same by running all of it.
#[cfg(test)]
pub(super) fn whole(course: &Course<'_>, edit: &Edit) -> Rerun {
    use crate::trace::Trace;
    let trace = Trace::run(course.setup, &edit.moves);
    let pieces = |trace: &Trace| boxes(trace.moves.iter().flat_map(|traced| &traced.freed));
    Rerun {
        seconds: trace.seconds() - course.trace.seconds(),
        same_pieces: pieces(&trace) == pieces(course.trace),
        lost: lost(
            course.trace.moves.iter().flat_map(|traced| &traced.freed),
            &pieces(&trace),
        ),
        findings: trace.findings,
    }
}

struct Run<'r, 'a> {
    course: &'r Course<'a>,
    edit: &'r Edit,
    /// In which way strokes in doubt turn out in the sequence that it is held against.
    world: usize,
    /// The first move that differs.
    first: usize,
    replay: Replay<'a>,
    history: History,
    findings: Vec<Finding>,
    freed: Vec<Piece>,
    seconds: f64,
}

impl<'r, 'a> Run<'r, 'a> {
    /// Strokes in doubt turn out as `assumed`; the sequence has fewer of them where the alteration brings them about.
    fn new(course: &'r Course<'a>, edit: &'r Edit, assumed: u8) -> Self {
        let alike = course.moves.iter().zip(&edit.moves);
        let alike = alike.take_while(|(one, other)| one == other).count();
        let world = usize::from(assumed) & ((1 << course.doubts()) - 1);
        // What the rules know beforehand is how low the sequence cuts.
        let history = History::new(History::lowest_cut(edit.moves.iter().copied()));
        let known = course
            .checkpoint_in(world, 0)
            .is_some_and(|start| start.history == history);
        let start = course.checkpoint_in(world, alike).filter(|_| known);
        Self {
            course,
            edit,
            world,
            first: if start.is_some() { alike } else { 0 },
            history: start.as_ref().map_or(history, |start| start.history),
            replay: start.map_or_else(
                || Replay::new(course.setup, assumed),
                |start| start.into_owned().replay.assuming(assumed),
            ),
            findings: Vec::new(),
            freed: Vec::new(),
            seconds: 0.0,
        }
    }

    /// How many strokes are in doubt from beginning to end, of those that the sequence goes on with from where it joins.
    fn doubts(&self, joined: Option<usize>) -> u8 {
        match joined {
            Some(_) => self.course.doubts_in(self.world),
            None => self.replay.doubts(),
        }
    }

    /// Runs until everything is as it was in the sequence before some move, which is answered; or to the end.
    fn run(&mut self) -> Option<usize> {
        let mut last = self.first.saturating_sub(1);
        for at in self.first..self.edit.moves.len() {
            if let Some(joined) = self.joins(at) {
                return Some(joined);
            }
            last = at;
            if !self.step(at) {
                return None;
            }
        }
        let end = End {
            index: u16::try_from(last).unwrap_or(u16::MAX),
            pose: *self.replay.pose(),
        };
        let stock = self.replay.stock().clone();
        let scene = Scene {
            setup: self.course.setup,
            moment: Moment::End(&end),
            before: &stock,
            after: &stock,
        };
        note(&mut self.findings, &scene.with(&self.history));
        None
    }

    /// One move; whether it could be judged.
    fn step(&mut self, at: usize) -> bool {
        let Some(told) = self.edit.moves.get(at) else {
            return false;
        };
        let before = self.replay.stock().clone();
        let step: Step = self.replay.step(told);
        let after = self.replay.stock();
        self.seconds += duration(self.course.setup, &step, &before);
        let count = step.cut.map_or(0, |facts| usize::from(facts.freed));
        let pieces = after.pieces();
        let freed = pieces.get(pieces.len().saturating_sub(count)..);
        self.freed.extend_from_slice(freed.unwrap_or_default());
        let scene = Scene {
            setup: self.course.setup,
            moment: Moment::Move(&step),
            before: &before,
            after,
        };
        note(&mut self.findings, &scene.with(&self.history));
        self.history.note(&scene);
        step.not_judged.is_none()
    }

    /// The move of the sequence before which all was as it is now, where the moves from here on are its rest.
    fn joins(&self, at: usize) -> Option<usize> {
        let joined = (*self.edit.origin.get(at)?)?;
        let rest = (self.edit.moves.get(at..)?, self.course.moves.get(joined..)?);
        let checkpoint = self.course.checkpoint_in(self.world, joined)?;
        let Checkpoint { replay, history } = &*checkpoint;
        let alike = replay.pose() == self.replay.pose()
            && *history == self.history
            && replay.doubts_as(&self.replay)
            && stands_alike(replay.stock(), self.replay.stock())
            && rest.0 == rest.1;
        alike.then_some(joined)
    }
}

fn note(findings: &mut Vec<Finding>, situation: &Situation<'_>) {
    judge(RULES, situation, &mut |finding| {
        if !findings.contains(&finding) {
            findings.push(finding);
        }
    });
}

/// Whether the same wood stands and lies there.
fn stands_alike(one: &Stock, other: &Stock) -> bool {
    one.freed() == other.freed()
        && one.is_in_doubt() == other.is_in_doubt()
        && one.pieces() == other.pieces()
        && one.cells().eq(other.cells())
}

/// The boxes of pieces, in no order.
fn boxes<'p>(pieces: impl Iterator<Item = &'p Piece>) -> Vec<[i32; 6]> {
    let mut boxes: Vec<[i32; 6]> = pieces.map(|piece| sides(piece.bounds)).collect();
    boxes.sort_unstable();
    boxes
}

/// Which pieces are not among others.
fn lost<'p>(pieces: impl Iterator<Item = &'p Piece>, others: &[[i32; 6]]) -> Vec<u16> {
    let lost = pieces.filter(|piece| others.binary_search(&sides(piece.bounds)).is_err());
    lost.map(|piece| piece.serial).collect()
}

fn sides(block: Block) -> [i32; 6] {
    let Block {
        travel,
        across,
        height,
    } = block;
    [travel.lo, travel.hi, across.lo, across.hi, height.lo, height.hi].map(|place| place.as_um())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::explain::draft::Draft;
    use crate::explain::sample::{Sample, g_04, g_04_in_doubt};
    use crate::explain::trial::{is_known, origin};
    use bunkside_protocol::{Act, Acts, Hold, Move};

    /// However little of it is run, an altered sequence comes to what it comes to when all of it is run.
    #[test]
    fn what_is_run_again_comes_to_the_same_as_the_whole() {
        let Sample { setup, moves, trace } = &g_04();
        same_as_whole(&Course::new(setup, moves, trace));
    }

    /// So it does where a stroke may run through or not, and where two may.
    #[test]
    fn it_does_where_strokes_are_in_doubt() {
        for count in [1, 2] {
            let Sample { setup, moves, trace } = &g_04_in_doubt(count);
            let course = Course::new(setup, moves, trace);
            assert_eq!(usize::from(course.doubts()), count);
            same_as_whole(&course);
        }
    }

    fn same_as_whole(course: &Course<'_>) {
        let (setup, moves) = (course.setup, course.moves);
        let mut joined = 0;
        for (at, told) in moves.iter().enumerate() {
            let mut hold = Draft::before(course, at);
            hold.push(
                Move::Hold(Hold {
                    acts: Acts::one(Act::Measure),
                }),
                None,
            );
            let mut twice = Draft::before(course, at);
            twice.push(*told, None);
            let mut there_and_back = Draft::before(course, at);
            let here = there_and_back.pose().travel;
            let log = setup.shape.travel();
            let there = if here < log.lo { log.hi } else { log.lo };
            there_and_back.along(there).unwrap();
            for edit in [
                hold.verbatim(course, at),
                twice.verbatim(course, at),
                Draft::before(course, at).verbatim(course, at + 1),
                there_and_back.rest(course, at).unwrap(),
            ] {
                let (quick, slow) = (rerun(course, &edit), whole(course, &edit));
                assert!((quick.seconds - slow.seconds).abs() < 1e-6, "{at}");
                assert_eq!(quick.same_pieces, slow.same_pieces, "{at}");
                assert_eq!(quick.lost, slow.lost, "{at}");
                let alike = moves
                    .iter()
                    .zip(&edit.moves)
                    .take_while(|(one, other)| one == other);
                let alike = alike.count();
                let new = |found: &[Finding]| -> Vec<Finding> {
                    let mut new: Vec<Finding> = Vec::new();
                    for one in found.iter().filter(|one| usize::from(one.index) >= alike) {
                        if !is_known(course, one, origin(&edit, one)) && !new.contains(one) {
                            new.push(*one);
                        }
                    }
                    new.sort_by_key(|one| one.index);
                    new
                };
                assert_eq!(new(&quick.findings), new(&slow.findings), "{at}");
                joined += usize::from(Run::new(course, &edit, 0).run().is_some());
            }
        }
        assert!(joined > moves.len(), "{joined}");
    }
}
