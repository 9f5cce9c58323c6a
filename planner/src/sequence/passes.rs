//! Kerfs in as many passes as they need.

use bunkside_protocol::{Angle, Cut, Drive, Length, Move, Position, Stroke, Targets, Timber};
use heapless::Vec;

use super::carriage::outward;
use super::feed::{deepest, fastest};
use super::{Done, PlanErrorKind, Sequencer};
use crate::geometry::{Block, Interval};
use crate::limits::{BESIDE, FIN, LIGAMENT, PASSES_MAX};
use crate::machine::{Pose, head_boxes, kerf_box};
use crate::replay::CutFacts;
use crate::stock::Pick;

/// One pass: how much of the kerf is left for later ones, and the stroke.
type Pass = (Length, Stroke);

/// What kind of kerf is cut.
#[derive(Clone, Copy)]
pub(super) struct Kerf {
    pub(super) angle: Angle,
    pub(super) across: Position,
    pub(super) height: Position,
    /// The stroke of the last pass.
    pub(super) last: Stroke,
    /// At least so many passes.
    pub(super) at_least: u8,
    /// Whether it is meant to release columns.
    pub(super) release: bool,
}

impl Sequencer<'_, '_> {
    /// Cuts a kerf in as many passes as it needs; pieces that come free are unloaded. Nothing happens where the
    /// kerf meets no wood.
    pub(super) fn kerf(&mut self, kerf: Kerf) -> Done {
        let Some(bite) = self.bite(&kerf)? else {
            return Ok(());
        };
        for (left, stroke) in self.passes(&kerf, bite)? {
            let (across, height) = match kerf.angle {
                Angle::Flat => (
                    outward(kerf.across - left, self.setup.mill.grid, false),
                    kerf.height,
                ),
                Angle::Upright => (
                    kerf.across,
                    outward(kerf.height + left, self.setup.mill.grid, true),
                ),
            };
            self.ready(stroke)?;
            self.swing(kerf.angle)?;
            self.corner(across, height)?;
            self.stroke(stroke, kerf.release && left == Length::ZERO)?;
            self.unload()?;
        }
        Ok(())
    }

    /// How far the rim of a flat pass may go without freeing anything: wood beyond it holds through the bottom and
    /// the top of the kerf's height alike.
    fn held_up_to(&self, kerf: &Kerf) -> Position {
        let thick = self.setup.mill.blade.kerf;
        let edges = [
            Interval::new(kerf.height, kerf.height + FIN),
            Interval::new(kerf.height + thick - FIN, kerf.height + thick),
        ];
        let outermost = |height| {
            let block = Block {
                travel: Interval::ALL,
                across: Interval::ALL,
                height,
            };
            let met = self.replay.stock().met(&self.setup.shape, block, Pick::Body);
            met.map_or(kerf.across, |wood| wood.across.hi)
        };
        edges.into_iter().map(outermost).fold(kerf.across, Position::min) - LIGAMENT
    }

    /// How deep the kerf's fresh wood is, its cover checked; none where there is none.
    fn bite(&self, kerf: &Kerf) -> Result<Option<Length>, PlanErrorKind> {
        let pose = Pose {
            across: kerf.across,
            height: kerf.height,
            angle: kerf.angle,
            ..self.pose()
        };
        let shape = &self.setup.shape;
        let whole = kerf_box(self.setup.mill, &pose, Interval::ALL);
        let Some(met) = self.replay.stock().met(shape, whole, Pick::Body) else {
            return Ok(None);
        };
        let standing = match kerf.angle {
            Angle::Flat => Block {
                height: whole.height.grown(BESIDE),
                ..whole
            },
            Angle::Upright => Block {
                across: whole.across.grown(BESIDE),
                ..whole
            },
        };
        let over = match kerf.angle {
            // Wood under a flat kerf is no cover.
            Angle::Flat => Block {
                height: Interval::new(whole.height.lo, standing.height.hi),
                ..whole
            },
            Angle::Upright => standing,
        };
        let limit = self.cover(kerf.angle);
        let depth = |wood: &Block| CutFacts::depth(kerf.angle, &pose, wood) + shape.between();
        let cover = self
            .replay
            .stock()
            .met(shape, over, Pick::Body)
            .map_or(Length::ZERO, |wood| depth(&wood));
        if cover > limit {
            return Err(match kerf.angle {
                Angle::Flat => PlanErrorKind::TooWide { cover, limit },
                Angle::Upright => PlanErrorKind::TooDeep { cover, limit },
            });
        }
        let clearance = self.setup.mill.clearances.body;
        let hits = |block: Block| {
            let along = Block {
                travel: Interval::ALL,
                ..block.grown(clearance)
            };
            self.replay
                .stock()
                .touched(shape, along, Pick::Body, true)
                .is_some()
        };
        if head_boxes(self.setup.mill, &pose, &pose).any(hits) {
            return Err(PlanErrorKind::HousingInWood);
        }
        Ok(Some(depth(&met)))
    }

    /// Splits a bite into passes, the last on the stroke that is wanted, the ones before on alternate strokes (a
    /// hand carriage: all on the same one).
    fn passes(&self, kerf: &Kerf, bite: Length) -> Result<Vec<Pass, PASSES_MAX>, PlanErrorKind> {
        let alternate = !matches!(self.setup.mill.drive, Drive::Hand);
        let knife = self.pose().knife;
        let share = Length::um(bite.wide() / i64::from(kerf.at_least.max(1)) + 1);
        let mut passes: Vec<Pass, PASSES_MAX> = Vec::new();
        // Rounding to the grid and what hides between samples may add to each pass.
        let in_hand = self.setup.mill.grid + self.setup.shape.between();
        let (mut left, mut stroke) = (Length::ZERO, kerf.last);
        while left < bite {
            let limit = deepest(self.setup, kerf.angle, stroke, knife) - in_hand;
            if limit < self.setup.mill.grid {
                return Err(PlanErrorKind::NoPower);
            }
            passes
                .insert(0, (left, stroke))
                .map_err(|_| PlanErrorKind::NoPower)?;
            left += limit.min(share.max(self.setup.mill.grid));
            if alternate {
                stroke = stroke.back();
            }
        }
        Ok(passes)
    }

    /// One cut through the whole log, at the fastest feed that fits.
    fn stroke(&mut self, stroke: Stroke, release: bool) -> Done {
        let pose = self.pose();
        let to = match stroke {
            Stroke::Outbound => self.far,
            Stroke::Homebound => self.near,
        };
        let feed = self.setup.mill.feed(pose.angle, stroke);
        let whole = kerf_box(self.setup.mill, &pose, Interval::ALL);
        let bite = self
            .replay
            .stock()
            .met(&self.setup.shape, whole, Pick::Body)
            .map_or(Length::ZERO, |wood| {
                CutFacts::depth(pose.angle, &pose, &wood) + self.setup.shape.between()
            });
        let speed = fastest(self.setup, feed, bite).ok_or(PlanErrorKind::NoPower)?;
        self.emit(&Move::Cut(Cut {
            to: Targets::travel(to),
            speed,
            feed: Some(feed),
            release,
        }))
        .map(|_| ())
    }

    /// Whether the blade goes through a wide flat face in one pass: soft timber and no knife in the way.
    pub(super) fn one_wide_pass(&self) -> bool {
        self.setup.log.timber == Timber::Soft && !self.pose().knife
    }
}
