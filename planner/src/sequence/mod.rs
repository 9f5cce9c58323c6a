//! From a cut plan to moves.
//!
//! | a column that is | is freed by |
//! |---|---|
//! | taken | its flat kerf, then its upright one (hand carriage: each on the stroke that is forward) |
//! | taken to the edge, or a slab | one flat stroke that climbs, after shallower ones where a single one is too deep |
//! | released with its neighbours | an upright kerf at each edge, then one flat stroke under them all |
//! | last at the lowest level | edged first, a shallow flat pass outbound, then the climbing one |
//!
//! The sequencer runs its own moves through a replay as it goes, so it knows what stands before every cut. It is
//! deterministic, and what it emits is judged by the auditor like anybody's.

#[cfg(test)]
mod axes;
mod beside;
mod carriage;
mod columns;
mod error;
mod faces;
mod falls;
mod feed;
#[cfg(test)]
mod habits;
mod passes;
#[cfg(test)]
mod refused;
mod room;
mod steady;
mod stress;
#[cfg(test)]
mod tests;

use bunkside_protocol::{Act, Acts, Angle, Hold, Length, Move, Position};

pub use beside::Standing;
pub use carriage::{Between, Carriage, MOVES_BETWEEN, Start};
pub use error::{AxisEnd, PlanError, PlanErrorKind, Shortfall};
pub use faces::Faces;
pub use feed::{Bite, Deepest, DepthLimit, Fed, Limit, deepest, fastest, fits};
pub use passes::metal_near;
pub use room::Fixture;
pub use steady::{fastest_steady, feed_of, holds};
pub use stress::{Growth, WEDGED};

use crate::geometry::Block;
use crate::machine::Pose;
use crate::physics::support::flaws;
use crate::plan::{CutPlan, Layer};
use crate::replay::{Replay, Setup, Step};
use crate::stock::Stock;

/// Where moves go. It answers `false` when there is no more room.
pub type Sink<'s> = &'s mut dyn FnMut(&Move) -> bool;

/// Turns a cut plan into moves.
///
/// # Errors
///
/// [`PlanError`] names the layer and column that cannot be cut, and what stands in the way. Moves that went to the
/// sink before it are of no use.
pub fn sequence(setup: &Setup<'_>, plan: &CutPlan<'_>, sink: Sink<'_>) -> Result<(), PlanError> {
    sequence_in(setup, plan, Growth::Calm, sink)
}

/// The same, in timber that may move as it is opened.
///
/// # Errors
///
/// As of [`sequence()`].
pub fn sequence_in(
    setup: &Setup<'_>,
    plan: &CutPlan<'_>,
    growth: Growth,
    sink: Sink<'_>,
) -> Result<(), PlanError> {
    sequence_after(setup, &mut core::iter::empty(), plan, growth, sink)
}

/// The same on a log that is partly sawn: the plan is of what stands after the moves that are `done`, and only those that follow them
/// go to the sink.
///
/// # Errors
///
/// As of [`sequence()`].
pub fn sequence_after(
    setup: &Setup<'_>,
    done: &mut dyn Iterator<Item = Move>,
    plan: &CutPlan<'_>,
    growth: Growth,
    sink: Sink<'_>,
) -> Result<(), PlanError> {
    let whole = |kind| PlanError {
        layer: 0,
        column: None,
        kind,
    };
    let carriage = Carriage::new(setup).map_err(whole)?;
    let mut flaw = None;
    flaws(setup.mill, setup.log, &setup.shape, &mut |found| {
        flaw = flaw.or(Some(found));
    });
    if let Some(flaw) = flaw {
        return Err(whole(PlanErrorKind::Support(flaw)));
    }
    let mut sequencer = Sequencer::new(setup, carriage, sink);
    for told in done {
        sequencer.replay.step(&told);
    }
    sequencer.growth = growth;
    sequencer.run(plan).map_err(|kind| PlanError {
        layer: sequencer.layer,
        column: sequencer.column,
        kind,
    })
}

/// The hold with which every sequence begins, the blade still standing: the dogs are closed, where any hold the log; none
/// where none does.
#[must_use]
pub fn first_hold(setup: &Setup<'_>) -> Option<Move> {
    let acts = Acts::one(Act::Dog);
    setup.bed.has_dogs().then_some(Move::Hold(Hold { acts }))
}

/// Whether the blade has to stand at a hold: where hands go near it, and where something may hang by a thread that is broken
/// off as the rest is unloaded.
#[must_use]
pub fn blade_stands(acts: Acts, stock: &Stock) -> bool {
    acts.iter().any(Act::needs_standing_blade) || acts.contains(Act::Unload) && stock.is_in_doubt()
}

/// That a layer's floor does not lie under all wood: nothing would be sawn of it, nor come off.
///
/// # Errors
///
/// [`PlanErrorKind::UnderWood`] where it lies in the bark under the log, or lower.
pub fn not_under_wood(setup: &Setup<'_>, floor: Position) -> Result<(), PlanErrorKind> {
    let lowest = setup.shape.wood().iter().map(|section| section.height().lo).min();
    match lowest {
        Some(wood) if floor < wood => Err(PlanErrorKind::UnderWood { wood }),
        _ => Ok(()),
    }
}

/// A sequence in the making.
struct Sequencer<'a, 's> {
    setup: &'a Setup<'a>,
    replay: Replay<'a>,
    sink: Sink<'s>,
    carriage: Carriage<'a>,
    layer: usize,
    column: Option<usize>,
    growth: Growth,
    /// Where the boards lie, on their floor, among the columns that are being freed; none where all of them are waste.
    boards: Option<Block>,
    /// Whether the first board has been measured.
    measured: bool,
}

type Done = Result<(), PlanErrorKind>;

impl<'a, 's> Sequencer<'a, 's> {
    /// Not a result: it is large, and would be kept twice on the way out of one.
    fn new(setup: &'a Setup<'a>, carriage: Carriage<'a>, sink: Sink<'s>) -> Self {
        Self {
            setup,
            replay: Replay::new(setup, 0),
            sink,
            carriage,
            layer: 0,
            column: None,
            growth: Growth::Calm,
            boards: None,
            measured: false,
        }
    }

    fn run(&mut self, plan: &CutPlan<'_>) -> Done {
        // Of a log that is partly sawn the dogs are closed already, and what came off last may lie there.
        if !self.pose().dogged {
            self.emit_all(first_hold(self.setup).as_slice())?;
        }
        self.unload()?;
        self.fit_knife()?;
        let mut above: Option<Position> = None;
        for (number, layer) in plan.layers.iter().enumerate() {
            (self.layer, self.column) = (number, None);
            let floor = layer.floor.snapped(self.setup.mill.grid);
            if above.is_some_and(|above| floor + self.setup.mill.blade.kerf >= above) {
                return Err(PlanErrorKind::NotBelow);
            }
            not_under_wood(self.setup, floor)?;
            above = Some(floor);
            self.hold(layer.hold)?;
            self.layer(layer, floor, number + 1 == plan.layers.len())?;
        }
        self.column = None;
        let stock = self.replay.stock();
        let home = self
            .carriage
            .home(self.replay.pose(), || Standing::of(self.setup, stock))?;
        self.emit_all(&home)?;
        self.stop()
    }

    fn layer(&mut self, layer: &Layer<'_>, floor: Position, lowest: bool) -> Done {
        let log = self.setup.shape.bounds().height;
        let near_bed = floor.wide() < log.lo.wide() + log.length().wide() / 4;
        if layer.columns.is_empty() {
            self.slab(layer, floor, lowest && near_bed)?;
        } else {
            let bed = lowest && near_bed;
            self.columns(layer, floor, bed, self.is_stressed() && !bed)?;
        }
        self.column = None;
        self.nothing_left_on(floor)?;
        if self.is_stressed() && !lowest {
            self.look_and_straighten(floor)?;
        }
        Ok(())
    }

    /// Sends a move on its way; the blade is brought up to speed right before a cut and not before, so that it stands while the
    /// carriage runs back over a kerf with wedges in it; and it is stopped before somebody sets a height by hand.
    fn emit(&mut self, told: &Move) -> Result<Step, PlanErrorKind> {
        if self.pose().is_cranked(self.setup.mill, told) {
            self.stop()?;
        }
        if matches!(told, Move::Cut(_)) && !self.pose().spinning {
            self.send(&Move::Spin(true))?;
        }
        self.send(told)
    }

    /// Stops the blade, if it turns.
    fn stop(&mut self) -> Done {
        if self.pose().spinning {
            self.send(&Move::Spin(false))?;
        }
        Ok(())
    }

    /// Sends a move on its way and replays it.
    fn send(&mut self, told: &Move) -> Result<Step, PlanErrorKind> {
        if !(self.sink)(told) {
            return Err(PlanErrorKind::Full);
        }
        let step = self.replay.step(told);
        match step.not_judged {
            Some(reason) => Err(PlanErrorKind::NotJudged(reason)),
            None => Ok(step),
        }
    }

    fn emit_all(&mut self, moves: &[Move]) -> Done {
        moves.iter().try_for_each(|told| self.emit(told).map(|_| ()))
    }

    /// A hold, with the blade stopped where it has to stand.
    fn hold(&mut self, acts: Acts) -> Done {
        if acts.is_empty() {
            return Ok(());
        }
        if blade_stands(acts, self.replay.stock()) {
            self.stop()?;
        }
        self.emit(&Move::Hold(Hold { acts })).map(|_| ())
    }

    /// Has the freed pieces taken away, if there are any, or may be.
    fn unload(&mut self) -> Done {
        let stock = self.replay.stock();
        if stock.pieces().is_empty() && !stock.is_in_doubt() {
            Ok(())
        } else {
            let acts = self.while_unloading();
            self.hold(acts)
        }
    }

    fn pose(&self) -> Pose {
        *self.replay.pose()
    }

    /// The most cover at an angle, short of what the shape may hide between two samples.
    fn cover(&self, angle: Angle) -> Length {
        let mill = self.setup.mill;
        let [flat, upright] = mill.reach.cover;
        let cover = if angle == Angle::Flat { flat } else { upright };
        cover.min(mill.blade.radius - mill.blade.hub)
    }
}
