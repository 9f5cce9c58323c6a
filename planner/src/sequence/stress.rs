//! Timber that moves as it is opened. Common practice, no source.
//!
//! Growth stress bends what is left of a log as wood comes off one side of it, closes kerfs on the blade, and makes boards
//! thicker at one end than at the other. What helps is to let it out evenly and to look often:
//!
//! | what | how it is done here |
//! |---|---|
//! | wood from both sides by turns | the flat blade only comes in from the entry side, so it is the edging kerfs that are cut from both sides by turns; the columns are released after that, as many at a time as the blade reaches under |
//! | open kerfs | a wedge goes into each edging kerf that is deeper than [`WEDGED`], with the blade standing |
//! | the riving knife | is fitted before the first cut where the mill has one |
//! | measuring | the first board, and what is left after every layer |
//! | straightening | one more flat stroke over each finished face, at its own height: it meets no wood that anybody planned, but takes what has risen |
//!
//! The lowest layer is sawn as ever: what little is left there moves no more.

use bunkside_protocol::{Act, Acts, Angle, Cut, Feed, Hold, Length, Move, Position, Stroke, Targets};

use super::feed::{Bite, fastest, slowest};
use super::{Done, PlanErrorKind, Sequencer};
use crate::geometry::{Block, Interval};
use crate::limits::LIGAMENT;
use crate::machine::room_over_kerf;
use crate::plan::Column;
use crate::stock::Pick;

/// Edging kerfs deeper than this close on the blade.
const WEDGED: Length = Length::mm(100);

/// By how much two straightening strokes over one wide face overlap.
const OVERLAP: Length = Length::mm(20);

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
        let pieces = self.replay.stock().pieces();
        if self.is_stressed() && !self.measured && pieces.iter().any(|piece| !piece.bark_edge) {
            self.measured = true;
            acts.and(Act::Measure)
        } else {
            acts
        }
    }

    /// The edging kerfs of a layer, from both sides by turns.
    pub(super) fn edge_by_turns(&mut self, columns: &[Column], floor: Position) -> Done {
        let grid = self.setup.mill.grid;
        let corners = || columns.iter().filter_map(|column| column.to);
        let count = corners().count();
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
                self.hold(Acts::one(Act::WedgeKerf))?;
            }
        }
        Ok(())
    }

    /// How many of the next columns the flat blade reaches under at once: one at least.
    pub(super) fn within_reach(&self, rest: &[Column], before: Option<Position>, floor: Position) -> usize {
        let Some(face) = self.face(floor) else { return 1 };
        // The housing has to stay clear of the bark on the entry side.
        let start = before.unwrap_or_else(|| face.lo.min(self.bark_above(floor)));
        let in_hand = self.setup.shape.between() + self.setup.mill.grid + LIGAMENT;
        let room = room_over_kerf(self.setup.mill, Angle::Flat, Length::ZERO).min(self.cover(Angle::Flat));
        let reached = |column: &&Column| {
            let end = column.to.unwrap_or_else(|| self.rim(face.hi));
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

    /// When a layer is off: what is left is measured, and its face straightened.
    pub(super) fn look_and_straighten(&mut self, floor: Position) -> Done {
        let skin = Block {
            travel: Interval::ALL,
            across: Interval::ALL,
            height: Interval::new(floor - Length::mm(1), floor),
        };
        let Some(face) = self.met(skin) else { return Ok(()) };
        self.hold(Acts::one(Act::Measure))?;
        let step = self.setup.mill.blade.radius.times(2) - OVERLAP;
        let mut rim = self.rim(face.across.hi);
        while rim > face.across.lo {
            let stroke = self.straightening_stroke();
            self.ready(stroke)?;
            self.swing(Angle::Flat)?;
            self.corner(rim, floor)?;
            self.skim(stroke)?;
            rim = rim - step;
        }
        Ok(())
    }

    /// Forward feed on a hand carriage, which cannot climb; else whichever stroke the carriage is ready for.
    fn straightening_stroke(&self) -> Stroke {
        let mill = self.setup.mill;
        if mill.drive == bunkside_protocol::Drive::Hand {
            mill.stroke(Angle::Flat, Feed::Forward)
        } else if self.pose().travel == self.far {
            Stroke::Homebound
        } else {
            Stroke::Outbound
        }
    }

    /// A flat stroke through what may have risen, no faster than through wood as wide as the blade reaches.
    fn skim(&mut self, stroke: Stroke) -> Result<(), PlanErrorKind> {
        let feed = self.setup.mill.feed(Angle::Flat, stroke);
        let bite = Bite {
            feed,
            depth: self.cover(Angle::Flat),
        };
        let speed = fastest(self.setup, &bite).map_or_else(|_| slowest(self.setup), |fed| fed.speed);
        let to = match stroke {
            Stroke::Outbound => self.far,
            Stroke::Homebound => self.near,
        };
        self.emit(&Move::Cut(Cut {
            to: Targets::travel(to),
            speed,
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
mod tests {
    use std::vec::Vec;

    use bunkside_protocol::MillRecord;

    use super::*;
    use crate::audit::audit;
    use crate::plan::{CutPlan, Freeing, Layer, Use};
    use crate::replay::{Setup, Step};
    use crate::rules::Severity;
    use crate::sequence::sequence_in;
    use crate::testing::{powered_mill, round_log};

    const fn column(to: Option<i32>) -> Column {
        Column {
            to: match to {
                Some(to) => Some(Position::mm(to)),
                None => None,
            },
            freeing: Freeing::Take,
            use_: Use::Waste,
        }
    }

    const COLUMNS: [Column; 5] = [
        column(Some(-80)),
        column(Some(-20)),
        column(Some(40)),
        column(Some(100)),
        column(None),
    ];

    /// A slab and a layer of five columns 145 mm deep; none of the moves refused.
    fn steps(mill: &MillRecord, growth: Growth) -> Vec<Step> {
        let log = round_log(300, 3_600);
        let setup = Setup::new(mill, &log).unwrap();
        let layer = |floor: i32, columns| Layer {
            floor: Position::mm(floor),
            columns,
            passes: None,
            hold: Acts::NONE,
        };
        let layers = [layer(265, &[]), layer(120, &COLUMNS)];
        let mut moves = Vec::new();
        sequence_in(&setup, &CutPlan { layers: &layers }, growth, &mut |told| {
            moves.push(*told);
            true
        })
        .unwrap();
        let mut steps = Vec::new();
        audit(
            &setup,
            moves.iter().copied(),
            &mut |step, _, _| steps.push(*step),
            &mut |finding| assert_ne!(finding.objection.severity, Severity::Refuse, "{finding:?}"),
        );
        steps
    }

    fn holds(steps: &[Step], act: Act) -> usize {
        let held = |step: &&Step| matches!(step.told, Move::Hold(hold) if hold.acts.contains(act));
        steps.iter().filter(held).count()
    }

    #[test]
    fn edging_kerfs_go_from_both_sides_by_turns_each_with_a_wedge() {
        let steps = steps(&powered_mill(), Growth::Stressed);
        let upright = |step: &&Step| step.cut.is_some() && step.before.angle == Angle::Upright;
        let places: Vec<Position> = steps
            .iter()
            .filter(upright)
            .map(|step| step.before.across)
            .collect();
        assert_eq!(places, [-80, 100, -20, 40].map(Position::mm));
        // The kerf nearest to either side is less deep than the others, but all are deeper than 100 mm.
        assert_eq!(holds(&steps, Act::WedgeKerf), 4);
    }

    #[test]
    fn every_flat_stroke_of_the_layer_releases_what_was_edged() {
        let steps = steps(&powered_mill(), Growth::Stressed);
        let floor = Position::mm(120);
        let freeing: Vec<bool> = steps
            .iter()
            .filter(|step| step.before.height == floor && step.cut.is_some_and(|facts| facts.freed > 0))
            .map(|step| matches!(step.told, Move::Cut(cut) if cut.release))
            .collect();
        assert!(
            freeing.len() >= 2 && freeing.iter().all(|release| *release),
            "{freeing:?}"
        );
    }

    #[test]
    fn the_knife_is_fitted_before_the_blade_turns() {
        let mut mill = powered_mill();
        if let Some(knife) = &mut mill.knife {
            knife.fitted_at_start = false;
        }
        let steps = steps(&mill, Growth::Stressed);
        assert!(matches!(steps[0].told, Move::Hold(hold) if hold.acts.contains(Act::KnifeOn)));
        assert!(matches!(steps[1].told, Move::Spin(true)));
    }

    /// After the slab the face is measured and straightened; the first board is measured as it comes off; after the last
    /// layer there is nothing that could be sawn straight.
    #[test]
    fn each_face_is_measured_and_straightened_and_so_is_the_first_board() {
        let stressed = steps(&powered_mill(), Growth::Stressed);
        let calm = steps(&powered_mill(), Growth::Calm);
        let empty = |steps: &[Step]| {
            let cut = |step: &&Step| step.cut.is_some_and(|facts| facts.met.is_none());
            steps
                .iter()
                .filter(cut)
                .map(|step| step.before.height)
                .collect::<Vec<_>>()
        };
        assert_eq!(empty(&calm), []);
        assert_eq!(empty(&stressed), [Position::mm(265)]);
        assert_eq!(
            (holds(&calm, Act::Measure), holds(&stressed, Act::Measure)),
            (0, 2)
        );
    }
}
