//! Timber that moves as it is opened. Common practice, no source.
//!
//! Growth stress bends what is left of a log as wood comes off one side of it, closes kerfs on the blade, and makes boards
//! thicker at one end than at the other. What helps is to let it out evenly and to look often:
//!
//! | what | how it is done here |
//! |---|---|
//! | wood from both sides by turns | the flat blade only comes in from the entry side, so it is the edging kerfs that are cut from both sides by turns; the columns are released after that, as many at a time as the blade reaches under |
//! | open kerfs | a wedge goes into each edging kerf that is deeper than [`WEDGED`], with the blade standing; none goes into a flat kerf, in which the blade runs again |
//! | the riving knife | is fitted before the first cut where the mill has one |
//! | measuring | the first board, and what is left after every layer |
//! | straightening | one more flat stroke over each finished face, at its own height: it meets no wood that anybody planned, but takes what has risen; as many side by side as the face is wide |
//!
//! The lowest layer is sawn as ever: what little is left there moves no more.

use bunkside_protocol::{Act, Acts, Angle, Cut, Feed, Hold, Length, Move, Position, Stroke, Targets};

use super::feed::{Bite, Deepest, deepest, slowest};
use super::steady::fastest_steady;
use super::{Done, PlanErrorKind, Sequencer};
use crate::geometry::{Block, Interval};
use crate::limits::{LEAST_PASS, LIGAMENT, WEDGED_MAX};
use crate::machine::{Pose, room_over_kerf};
use crate::physics::strain::Pass;
use crate::plan::{Column, Use};
use crate::stock::Pick;

/// Edging kerfs deeper than this close on the blade.
pub const WEDGED: Length = Length::mm(100);

/// By how much two straightening strokes over one wide face overlap.
const OVERLAP: Length = Length::mm(20);

/// How far under a floor wood is looked for, to tell where its face is.
const SKIN: Length = Length::mm(1);

/// What the log does when it is opened.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Growth {
    /// It lies still.
    #[default]
    Calm,
    /// It moves: growth stress is high.
    Stressed,
}

impl Sequencer<'_, '_> {
    /// Whether care is taken of growth stress.
    pub(super) fn is_stressed(&self) -> bool {
        self.growth == Growth::Stressed
    }

    /// Before the blade is started: the knife, where the mill has one.
    pub(super) fn fit_knife(&mut self) -> Done {
        if !self.is_stressed() || self.setup.mill.knife.is_none() || self.pose().knife {
            return Ok(());
        }
        let acts = Acts::one(Act::KnifeOn);
        self.emit(&Move::Hold(Hold { acts })).map(|_| ())
    }

    /// What else is done when pieces are taken away: the first board is measured.
    pub(super) fn while_unloading(&mut self) -> Acts {
        let acts = Acts::one(Act::Unload);
        if self.is_stressed() && !self.measured && self.board_lies() {
            self.measured = true;
            acts.and(Act::Measure)
        } else {
            acts
        }
    }

    /// Whether a board lies loose: waste that comes off before it, in a pass of its own, is none.
    fn board_lies(&self) -> bool {
        let pieces = self.replay.stock().pieces();
        let lies = |boards: Block| pieces.iter().any(|piece| piece.bounds.overlaps(boards));
        self.boards.is_some_and(lies)
    }

    /// The boards among some columns, from the entry side of the first to the exit side of the last, as their lowest
    /// millimetre; `before` is the corner on the entry side of them all.
    pub(super) fn boards_among(
        &self,
        columns: &[Column],
        before: Option<Position>,
        floor: Position,
    ) -> Option<Block> {
        let (grid, kerf) = (self.setup.mill.grid, self.setup.mill.blade.kerf);
        let mut from = before.unwrap_or(Position::MIN);
        let mut boards: Option<Interval> = None;
        for column in columns {
            let corner = column.to.map(|to| to.snapped(grid));
            if column.use_ != Use::Waste {
                let board = Interval::new(from, corner.map_or(Position::MAX, |corner| corner - kerf));
                boards = Some(boards.map_or(board, |boards| boards.join(board)));
            }
            from = corner.unwrap_or(from);
        }
        boards.map(|across| Block {
            travel: Interval::ALL,
            across,
            height: Interval::new(floor + kerf, floor + kerf + SKIN),
        })
    }

    /// The edging kerfs of a layer, from both sides by turns.
    pub(super) fn edge_by_turns(&mut self, columns: &[Column], floor: Position) -> Done {
        let grid = self.setup.mill.grid;
        let corners = || columns.iter().filter_map(|column| column.to);
        let count = corners().count();
        let mut wedged = 0;
        for turn in 0..count {
            let number = if turn % 2 == 0 {
                turn / 2
            } else {
                count - 1 - turn / 2
            };
            let Some(across) = corners().nth(number) else {
                continue;
            };
            let across = across.snapped(grid);
            let deep = self.depth_at(across, floor) > WEDGED;
            self.edge(across, floor)?;
            if deep {
                wedged += 1;
                if wedged > WEDGED_MAX {
                    return Err(PlanErrorKind::Wedges { most: WEDGED_MAX });
                }
                self.hold(Acts::one(Act::WedgeKerf))?;
            }
        }
        Ok(())
    }

    /// How many of the next columns the flat blade reaches under at once: one at least.
    pub(super) fn within_reach(&self, rest: &[Column], before: Option<Position>, floor: Position) -> usize {
        let Some(face) = self.faces().face(floor) else {
            return 1;
        };
        // The housing has to stay clear of the bark on the entry side.
        let start = before.unwrap_or_else(|| face.lo.min(self.bark_above(floor)));
        let in_hand = self.setup.shape.between() + self.setup.mill.grid + LIGAMENT;
        let room = room_over_kerf(self.setup.mill, Angle::Flat, Length::ZERO).min(self.cover(Angle::Flat));
        let reached = |column: &&Column| {
            let end = column.to.unwrap_or_else(|| self.faces().rim(face.hi));
            end - start + in_hand <= room
        };
        rest.iter().take_while(reached).count().max(1)
    }

    /// The outermost bark on the entry side over a floor.
    fn bark_above(&self, floor: Position) -> Position {
        let over = Interval::new(floor, Position::MAX);
        let sections = self.setup.shape.rough().iter();
        let widths = sections.filter_map(|section| section.width_within(over));
        widths.map(|width| width.lo).min().unwrap_or(Position::MAX)
    }

    /// When a layer is off: what is left is measured, and its face straightened, from the entry side on, so that what has
    /// risen under the head is gone before it comes there.
    pub(super) fn look_and_straighten(&mut self, floor: Position) -> Done {
        let Some(face) = self.finished_face(floor) else {
            return Ok(());
        };
        self.hold(Acts::one(Act::Measure))?;
        let outermost = self.faces().rim(face.hi);
        let mut rim = face.lo;
        while rim < outermost {
            let (stroke, deepest) = self.straightening_stroke();
            let reach = deepest.depth.min(self.cover(Angle::Flat));
            let advance = reach - OVERLAP;
            if advance < LEAST_PASS {
                return Err(PlanErrorKind::NoPass(deepest.limit));
            }
            rim = (rim + advance).snapped(self.setup.mill.grid).min(outermost);
            self.skim(rim, floor, stroke, reach)?;
        }
        Ok(())
    }

    /// From the entry-most to the exit-most wood just under a floor; none where no kerf has run on it, as over a cap that is
    /// thinner than a kerf.
    fn finished_face(&self, floor: Position) -> Option<Interval> {
        let level = |height| Block {
            travel: Interval::ALL,
            across: Interval::ALL,
            height,
        };
        match self.met(level(Interval::new(floor, Position::MAX))) {
            Some(_) => None,
            None => self
                .met(level(Interval::new(floor - SKIN, floor)))
                .map(|wood| wood.across),
        }
    }

    /// The stroke that bites deepest, and how deep: forward feed on a hand carriage, which cannot climb; else, where both
    /// bite as deep, the one that the carriage is ready for.
    fn straightening_stroke(&self) -> (Stroke, Deepest) {
        let mill = self.setup.mill;
        let reach = |stroke| {
            (
                stroke,
                deepest(self.setup, Angle::Flat, stroke, self.pose().knife),
            )
        };
        if mill.drive.is_hand() {
            return reach(mill.stroke(Angle::Flat, Feed::Forward));
        }
        let ready = if self.pose().travel == self.carriage.far {
            Stroke::Homebound
        } else {
            Stroke::Outbound
        };
        let (first, second) = (reach(ready), reach(ready.back()));
        if second.1.depth > first.1.depth {
            second
        } else {
            first
        }
    }

    /// One flat stroke through what may have risen, no faster than through as much wood just under the face.
    fn skim(&mut self, rim: Position, floor: Position, stroke: Stroke, reach: Length) -> Done {
        let over = Pose {
            across: rim,
            height: floor,
            angle: Angle::Flat,
            ..self.pose()
        };
        self.begin(&over, stroke)?;
        self.possible(&self.pose(), stroke)?;
        let setup = self.setup;
        let feed = setup.mill.feed(Angle::Flat, stroke);
        let under = Block {
            travel: Interval::ALL,
            across: Interval::new(rim - reach, rim),
            height: Interval::new(floor - setup.mill.blade.kerf, floor),
        };
        let pose = Pose {
            height: under.height.lo,
            ..self.pose()
        };
        let bite = Bite { feed, depth: reach };
        let speed = self.met(under).and_then(|wood| {
            let (stock, body) = (self.replay.stock(), self.replay.body());
            let pass = Pass::engaged(setup, stock, &body, &pose, stroke, under, wood.travel);
            fastest_steady(setup, &bite, &pass).ok().map(|fed| fed.speed)
        });
        let (_, to) = self.carriage.course(stroke);
        self.emit(&Move::Cut(Cut {
            to: Targets::travel(to),
            speed: speed.unwrap_or_else(|| slowest(setup)),
            feed: Some(feed),
            release: false,
        }))
        .map(|_| ())
    }

    /// How much wood stands over a floor where an upright kerf is to go.
    fn depth_at(&self, across: Position, floor: Position) -> Length {
        let kerf = Block {
            travel: Interval::ALL,
            across: Interval::new(across - self.setup.mill.blade.kerf, across),
            height: Interval::new(floor, Position::MAX),
        };
        let wood = self.replay.stock().met(&self.setup.shape, kerf, Pick::Body);
        wood.map_or(Length::ZERO, |wood| wood.height.hi - floor)
    }
}

#[cfg(test)]
mod tests;
