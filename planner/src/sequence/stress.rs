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

use bunkside_protocol::{Act, Acts, Angle, Cut, Drive, Feed, Hold, Length, Move, Position, Stroke, Targets};

use super::feed::{Bite, Deepest, deepest, slowest};
use super::steady::fastest_steady;
use super::{Done, PlanErrorKind, Sequencer};
use crate::geometry::{Block, Interval};
use crate::limits::{LEAST_PASS, LIGAMENT};
use crate::machine::{Pose, room_over_kerf};
use crate::physics::strain::Pass;
use crate::plan::Column;
use crate::stock::Pick;

/// Edging kerfs deeper than this close on the blade.
const WEDGED: Length = Length::mm(100);

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
        if self.is_stressed() && self.frees_board && !self.measured {
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

    /// When a layer is off: what is left is measured, and its face straightened, from the entry side on, so that what has
    /// risen under the head is gone before it comes there.
    pub(super) fn look_and_straighten(&mut self, floor: Position) -> Done {
        let Some(face) = self.finished_face(floor) else {
            return Ok(());
        };
        self.hold(Acts::one(Act::Measure))?;
        let outermost = self.rim(face.hi);
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
        if mill.drive == Drive::Hand {
            return reach(mill.stroke(Angle::Flat, Feed::Forward));
        }
        let ready = if self.pose().travel == self.far {
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
        self.ready(stroke)?;
        self.swing(Angle::Flat)?;
        self.corner(rim, floor)?;
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
        let to = match stroke {
            Stroke::Outbound => self.far,
            Stroke::Homebound => self.near,
        };
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
mod tests {
    use std::vec::Vec;

    use bunkside_protocol::{LogRecord, MillRecord, Speed};

    use super::*;
    use crate::audit::audit;
    use crate::plan::{CutPlan, End, Freeing, Layer, Use};
    use crate::replay::{Setup, Step};
    use crate::rules::Severity;
    use crate::sequence::sequence_in;
    use crate::testing::{powered_mill, round_log};

    const BOARD: Use = Use::Board {
        product: 0,
        length: Length::mm(3_500),
        end: End::Near,
    };

    const fn column(to: Option<i32>, use_: Use) -> Column {
        Column {
            to: match to {
                Some(to) => Some(Position::mm(to)),
                None => None,
            },
            freeing: Freeing::Take,
            use_,
        }
    }

    const COLUMNS: [Column; 5] = [
        column(Some(-80), Use::Waste),
        column(Some(-20), BOARD),
        column(Some(40), BOARD),
        column(Some(100), BOARD),
        column(None, Use::Waste),
    ];

    /// Slabs down to these floors, and a layer of five columns; none of the moves refused.
    fn steps_down(
        mill: &MillRecord,
        log: &LogRecord,
        growth: Growth,
        slabs: &[i32],
        boards: Option<i32>,
    ) -> Vec<Step> {
        let setup = Setup::new(mill, log).unwrap();
        let layer = |floor: i32, columns| Layer {
            floor: Position::mm(floor),
            columns,
            passes: None,
            hold: Acts::NONE,
        };
        let mut layers: Vec<Layer<'_>> = slabs.iter().map(|floor| layer(*floor, &[])).collect();
        layers.extend(boards.map(|floor| layer(floor, &COLUMNS)));
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

    /// A slab, and a layer of five columns 145 mm deep.
    fn steps(mill: &MillRecord, growth: Growth) -> Vec<Step> {
        steps_down(mill, &round_log(300, 3_600), growth, &[265], Some(120))
    }

    fn holds(steps: &[Step], act: Act) -> usize {
        let held = |step: &&Step| matches!(step.told, Move::Hold(hold) if hold.acts.contains(act));
        steps.iter().filter(held).count()
    }

    /// Where the corner stands in cuts that meet no wood.
    fn empty(steps: &[Step]) -> Vec<(Position, Position)> {
        let cut = |step: &&Step| step.cut.is_some_and(|facts| facts.met.is_none());
        let corner = |step: &Step| (step.before.across, step.before.height);
        steps.iter().filter(cut).map(corner).collect()
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
    fn shallow_kerfs_get_no_wedge() {
        let steps = steps_down(
            &powered_mill(),
            &round_log(300, 3_600),
            Growth::Stressed,
            &[265],
            Some(180),
        );
        assert_eq!(holds(&steps, Act::WedgeKerf), 0);
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
        assert_eq!(empty(&calm), []);
        // √(150² − 115²) = 96.3 mm, and 96.8 mm through all of the kerf's height.
        let heights: Vec<Position> = empty(&stressed).iter().map(|(_, height)| *height).collect();
        assert!(!heights.is_empty() && heights.iter().all(|height| *height == Position::mm(265)));
        assert_eq!(
            (holds(&calm, Act::Measure), holds(&stressed, Act::Measure)),
            (0, 2)
        );
    }

    /// Waste that comes off before it is not measured.
    #[test]
    fn the_first_board_is_measured_when_it_is_unloaded() {
        let steps = steps(&powered_mill(), Growth::Stressed);
        let both = Acts::one(Act::Unload).and(Act::Measure);
        let at = steps
            .iter()
            .position(|step| step.told == Move::Hold(Hold { acts: both }));
        let freeing = steps[..at.unwrap()]
            .iter()
            .rev()
            .find(|step| step.cut.is_some())
            .unwrap();
        assert_eq!(freeing.before.height, Position::mm(120));
    }

    /// The strokes go from the entry side on, none bites deeper than the pass through wood may, and each begins where the
    /// one before it has been.
    #[test]
    fn a_wide_face_is_straightened_by_strokes_side_by_side() {
        let log = round_log(700, 3_600);
        let steps = steps_down(&powered_mill(), &log, Growth::Stressed, &[620, 500, 420], None);
        let rims: Vec<Position> = empty(&steps)
            .iter()
            .filter(|(_, height)| *height == Position::mm(500))
            .map(|(across, _)| *across)
            .collect();
        // The face reaches from −316 mm to 316 mm; a pass bites 200 mm, and two overlap by 20 mm.
        assert_eq!(rims.len(), 4, "{rims:?}");
        let first = Position::um(-316_228);
        for (before, rim) in core::iter::once(&first).chain(&rims).zip(&rims) {
            assert!(*rim > *before && *rim - *before <= Length::mm(181), "{rims:?}");
        }
        assert!(rims[3] >= Position::um(316_227), "{rims:?}");
    }

    /// Nothing has been sawn there: the kerf takes all of the cap only with the next layer.
    #[test]
    fn a_cap_thinner_than_a_kerf_is_no_face() {
        let steps = steps_down(
            &powered_mill(),
            &round_log(300, 3_600),
            Growth::Stressed,
            &[297, 265],
            Some(180),
        );
        let heights = empty(&steps).into_iter().map(|(_, height)| height);
        assert!(heights.into_iter().all(|height| height == Position::mm(265)));
    }

    /// The strokes of a face, and how fast they run.
    fn straightening(mill: &MillRecord, log: &LogRecord) -> Vec<(Stroke, Speed)> {
        let steps = steps_down(mill, log, Growth::Stressed, &[620, 500, 420], None);
        let straightens = |step: &&Step| {
            step.cut.is_some_and(|facts| facts.met.is_none()) && step.before.height == Position::mm(500)
        };
        let how = |step: &Step| match step.told {
            Move::Cut(cut) => (step.stroke.unwrap(), cut.speed),
            _ => unreachable!(),
        };
        steps.iter().filter(straightens).map(how).collect()
    }

    /// Either stroke bites as deep, so that none runs empty.
    #[test]
    fn without_a_knife_faces_are_straightened_to_and_fro() {
        let mut mill = powered_mill();
        mill.knife = None;
        let strokes = straightening(&mill, &round_log(700, 3_600));
        assert_eq!(strokes.len(), 4);
        assert!(
            strokes.windows(2).all(|pair| pair[0].0 != pair[1].0),
            "{strokes:?}"
        );
    }

    /// 15 300 W ÷ (5.5 mm × 200 mm × 60 N/mm²) = 231.8 mm/s: as fast as through wood as wide as the pass reaches.
    #[test]
    fn a_straightening_stroke_is_fed_as_through_wood() {
        let mut log = round_log(700, 3_600);
        log.cutting_energy = 60;
        let strokes = straightening(&powered_mill(), &log);
        let speeds: Vec<Speed> = strokes.iter().map(|(_, speed)| *speed).collect();
        assert_eq!(speeds, [Speed::mm_per_s(230); 4]);
    }

    /// With the knife on, a homebound flat pass bites 60 mm and an outbound one 200 mm.
    #[test]
    fn with_the_knife_on_faces_are_straightened_outbound() {
        let steps = steps(&powered_mill(), Growth::Stressed);
        let cut = |step: &&Step| step.cut.is_some_and(|facts| facts.met.is_none());
        for step in steps.iter().filter(cut) {
            assert!(step.before.knife);
            assert_eq!(step.stroke, Some(Stroke::Outbound));
        }
    }
}
