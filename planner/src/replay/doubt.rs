//! Strokes of which nobody can say what they free: they end so near the end of the wood that they may or may not run through,
//! stop in the log where the round blade leaves little between its kerf and the log's end or another kerf, or leave a part that
//! hangs by less than 3 mm of wood, or less than the axes are true to.
//!
//! Each end in doubt is judged both ways. So are the threads, but all of a sequence together: in one world every one holds, in
//! the other every one breaks. Who unloads takes away in both what hangs by a thread.

use bunkside_protocol::{Angle, Length, Position, Stroke};

use super::cutting::Settled;
use super::{Replay, Step};
use crate::geometry::{Block, Interval};
use crate::machine::{chord, kerf_box, thread};
use crate::stock::{NotJudged, Pick, Threads};

/// How many strokes in doubt are judged both ways: their outcomes fit the bits of one small number.
pub(super) const DOUBTS_MAX: u8 = 3;

impl Replay<'_> {
    /// The stretch over which a stroke's kerf has its full depth; where its end is in doubt, as it is assumed to
    /// have turned out. Its start never is: a stroke starts in air, or where the blade came to a stop in its kerf.
    pub(super) fn settled_travel(&mut self, step: &Step) -> Result<Settled, NotJudged> {
        let stretch = Interval::between(step.before.travel, step.after.travel);
        let tolerance = self.setup.mill.travel.play();
        let outward = match step.stroke {
            Some(Stroke::Outbound) => tolerance,
            Some(Stroke::Homebound) => -tolerance,
            None => Length::ZERO,
        };
        let end = step.after.travel;
        let [short, long] = if self.in_doubt(step, end, outward) {
            [end - outward, end + outward]
        } else if let Some(further) = self.rounds_on(step, outward) {
            [end, end + further]
        } else {
            return Ok(Settled {
                stretch,
                doubtful: false,
            });
        };
        let end = if self.assume()? { long } else { short };
        Ok(Settled {
            stretch: Interval::between(step.before.travel, end),
            doubtful: true,
        })
    }

    /// Takes parts that hang by a thread to hang on or to come free until the next unloading, as is assumed of them all.
    pub(super) fn settle_threads(&mut self) -> Result<(), NotJudged> {
        let breaks = match self.threads_break {
            Some(breaks) => breaks,
            None => self.assume()?,
        };
        self.threads_break = Some(breaks);
        self.stock
            .say_of_threads(if breaks { Threads::Break } else { Threads::Hold });
        Ok(())
    }

    /// What is assumed of the next thing in doubt.
    fn assume(&mut self) -> Result<bool, NotJudged> {
        if self.doubts >= DOUBTS_MAX {
            return Err(NotJudged::TooManyDoubts);
        }
        let assumed = self.assumed & (1 << self.doubts) != 0;
        self.doubts += 1;
        Ok(assumed)
    }

    /// Whether wood would be left beyond an end of the stroke if it fell short by the tolerance, but not if it ran
    /// on by as much.
    fn in_doubt(&self, step: &Step, end: Position, outward: Length) -> bool {
        if outward == Length::ZERO {
            return false;
        }
        self.wood_beyond(step, end - outward, outward) && !self.wood_beyond(step, end + outward, outward)
    }

    /// How far beyond its end a stroke that stops in the log may free what it does not free with the kerf of its full depth: the
    /// blade is round, and what it leaves there hangs at most by a few square centimetres of wood.
    ///
    /// Where the rim goes deeper than it would have to, the disc leaves nothing for half its chord at that depth beyond its
    /// centre, so too on either side of what two kerfs leave between their round ends, and for about as far again less than
    /// `limits::JOINT`.
    fn rounds_on(&mut self, step: &Step, outward: Length) -> Option<Length> {
        let (end, log) = (step.after.travel, self.setup.shape.travel());
        if outward == Length::ZERO || !log.contains(end) || !self.wood_beyond(step, end, outward) {
            return None;
        }
        let mill = self.setup.mill;
        let radius = mill.blade.radius;
        let onward = |length: Length| {
            if outward > Length::ZERO {
                (end + length, Interval::new(end, end + length))
            } else {
                (end - length, Interval::new(end - length, end))
            }
        };
        let near = kerf_box(mill, &step.before, onward(radius).1);
        let met = self.stock.met(&self.setup.shape, near, Pick::Body)?;
        let deeper = match step.before.angle {
            Angle::Flat => step.before.across - met.across.hi,
            Angle::Upright => met.height.lo - step.before.height,
        };
        let deeper = deeper.max(mill.blade.kerf) + thread(mill);
        let nothing = chord(radius, deeper);
        // Up to the log's end there is one round end, up to another kerf there are two.
        let both = Length::um(nothing.wide() * 7 / 2);
        let further = if log.contains(onward(both).0) {
            both
        } else {
            nothing.times(2)
        };
        let [so_far, longer] = [end, onward(further).0].map(|end| {
            let kerf = kerf_box(mill, &step.before, Interval::between(step.before.travel, end));
            self.would_free(kerf)
        });
        self.catch_up();
        let further = if outward > Length::ZERO { further } else { -further };
        (so_far != longer).then_some(further)
    }

    fn wood_beyond(&self, step: &Step, end: Position, outward: Length) -> bool {
        let travel = if outward > Length::ZERO {
            Interval::new(end, Position::MAX)
        } else {
            Interval::new(Position::MIN, end)
        };
        let kerf: Block = kerf_box(self.setup.mill, &step.before, travel);
        self.stock
            .touched(&self.setup.shape, kerf, Pick::Body, false)
            .is_some()
    }
}
