//! Freeing columns and slabs.

use bunkside_protocol::{Angle, Drive, Feed, Length, Position, Stroke, Timber};

use super::faces::Faces;
use super::feed::deepest;
use super::passes::Kerf;
use super::{Done, PlanErrorKind, Sequencer};
use crate::geometry::{Block, Interval};
use crate::limits::LIGAMENT;
use crate::plan::{Column, Freeing, Layer, Use};
use crate::stock::Pick;

/// Whether a group is what a layer ends with.
#[derive(Clone, Copy)]
struct Closing {
    /// No wood beyond it holds at the floor.
    closing: bool,
    /// It is the last one over the bunks.
    bed: bool,
    /// It was to be taken, but has to be released, or what is left would not lie still.
    released: bool,
}

/// A flat kerf that frees what stands on a floor.
#[derive(Clone, Copy)]
struct FreeFlat {
    rim: Position,
    floor: Position,
    passes: Option<u8>,
    bed: bool,
    release: bool,
}

impl FreeFlat {
    const fn at(rim: Position, floor: Position) -> Self {
        Self {
            rim,
            floor,
            passes: None,
            bed: false,
            release: false,
        }
    }
}

impl<'a> Sequencer<'a, '_> {
    /// Frees a layer that is one slab: whole where the blade reaches across, else in columns of even width.
    pub(super) fn slab(&mut self, layer: &Layer<'_>, floor: Position, bed: bool) -> Done {
        let columns = self.faces().slab(floor)?;
        if bed && columns.len() == 1 {
            return Err(PlanErrorKind::NoEdge);
        }
        if columns.is_empty() {
            return Ok(());
        }
        if let (None, Some(dust)) = (self.faces().face(floor), self.faces().slab_face(floor)) {
            let rim = self.faces().rim(dust.hi);
            let grid = self.setup.mill.grid;
            return columns.iter().try_for_each(|column| {
                let rim = column.to.map_or(rim, |to| to.snapped(grid));
                self.free_flat(FreeFlat {
                    passes: layer.passes,
                    ..FreeFlat::at(rim, floor)
                })
            });
        }
        self.columns(
            &Layer {
                columns: &columns,
                ..*layer
            },
            floor,
            bed,
            false,
        )
    }

    /// Frees the columns of a layer from the entry side on; where asked to, they are all edged from both sides by turns first.
    pub(super) fn columns(&mut self, layer: &Layer<'_>, floor: Position, bed: bool, by_turns: bool) -> Done {
        let grid = self.setup.mill.grid;
        let mut before: Option<Position> = None;
        let mut rest = layer.columns;
        let mut number = 0;
        self.boards = None;
        if by_turns {
            self.edge_by_turns(layer.columns, floor)?;
        }
        while let [column, ..] = rest {
            self.column = Some(number);
            let mut released = false;
            let group = match column.freeing {
                Freeing::Take if bed && self.fits_as_one(rest, before, floor) => rest.len(),
                Freeing::Take if !by_turns && self.has_to_release(column, before, floor)? => {
                    released = true;
                    rest.len()
                }
                Freeing::Take | Freeing::Release if by_turns => {
                    released = true;
                    self.within_reach(rest, before, floor)
                }
                Freeing::Take => 1,
                Freeing::Release => rest
                    .iter()
                    .take_while(|next| next.freeing == Freeing::Release)
                    .count(),
            };
            let (now, later) = rest.split_at_checked(group).unwrap_or((rest, &[]));
            let boards = self.boards_among(now, before, floor);
            for (offset, column) in now.iter().enumerate() {
                self.column = Some(number + offset);
                let across = column.to.map(|to| to.snapped(grid));
                if let (Some(before), Some(across)) = (before, across)
                    && across <= before + self.setup.mill.blade.kerf
                {
                    return Err(PlanErrorKind::NotFurther);
                }
                before = across.or(before);
            }
            self.boards = boards;
            let closing = match before {
                Some(corner) => {
                    !self.faces().held_beyond(corner, floor) || self.comes_along(corner, floor, later)?
                }
                None => false,
            };
            let last = later.is_empty() || closing;
            self.group(
                now,
                floor,
                number == 0,
                layer.passes,
                Closing {
                    closing,
                    bed: bed && last,
                    released,
                },
            )?;
            number += group;
            rest = later;
        }
        Ok(())
    }

    /// Whether the waste beyond the last column would come off with it when that is sawn under, in one piece.
    fn comes_along(
        &mut self,
        corner: Position,
        floor: Position,
        later: &[Column],
    ) -> Result<bool, PlanErrorKind> {
        let beyond = Block {
            travel: Interval::ALL,
            across: Interval::new(corner, Position::MAX),
            height: Interval::new(floor + self.setup.mill.blade.kerf, Position::MAX),
        };
        let waste = matches!(later, [last] if last.to.is_none());
        let Some(face) = self.faces().face(floor).filter(|_| waste) else {
            return Ok(false);
        };
        let in_hand = self.setup.shape.between() + LIGAMENT;
        let both = self.faces().rim(face.hi) - face.lo + in_hand;
        if both > self.cover(Angle::Flat) || self.met(beyond).is_none() {
            return Ok(false);
        }
        let stroke = self.setup.mill.stroke(Angle::Flat, Feed::Forward);
        self.frees(&Kerf::plain(Angle::Flat, corner, floor, stroke), corner)
    }

    /// Whether the rest of the lowest layer is its last board with waste beyond, and narrow enough to be freed as one.
    fn fits_as_one(&self, rest: &[Column], before: Option<Position>, floor: Position) -> bool {
        let boards = rest.iter().skip(1).any(|column| column.use_ != Use::Waste);
        let (Some(before), Some(face)) = (before, self.faces().face(floor)) else {
            return false;
        };
        let rim = self.faces().rim(face.hi);
        let in_hand = self.setup.shape.between() + LIGAMENT;
        // The last stroke takes all that a shallow pass, which frees nothing, leaves of it.
        let first = rest.first().and_then(|column| column.to).unwrap_or(rim);
        let left = rim - (first - self.setup.mill.blade.kerf - LIGAMENT);
        !boards
            && rim - before + in_hand <= self.cover(Angle::Flat)
            && left + in_hand <= self.deepest_freeing()
    }

    /// Whether a column cannot be taken because the rest would not lie still, but all that is left of the layer can be
    /// released together.
    fn has_to_release(
        &mut self,
        column: &Column,
        before: Option<Position>,
        floor: Position,
    ) -> Result<bool, PlanErrorKind> {
        let (Some(across), Some(before), Some(face)) = (column.to, before, self.faces().face(floor)) else {
            return Ok(false);
        };
        let in_hand = self.setup.shape.between() + LIGAMENT;
        if self.faces().rim(face.hi) - before + in_hand > self.cover(Angle::Flat) {
            return Ok(false);
        }
        Ok(!self.rests_without(across.snapped(self.setup.mill.grid), floor)?)
    }

    /// Frees one column that is taken, or several that are released together.
    fn group(
        &mut self,
        group: &[Column],
        floor: Position,
        first: bool,
        passes: Option<u8>,
        Closing {
            closing,
            bed,
            released,
        }: Closing,
    ) -> Done {
        let grid = self.setup.mill.grid;
        let Some(end) = group.last() else { return Ok(()) };
        let released = released || end.freeing == Freeing::Release;
        if !released && !bed && !closing {
            return match end.to {
                Some(across) => self.take(across.snapped(grid), floor),
                None => self.take_to_edge(floor, passes),
            };
        }
        if bed && first && self.has_natural_entry(floor) {
            return Err(PlanErrorKind::NoEdge);
        }
        let column = self.column;
        for (number, edged) in group.iter().enumerate() {
            if let Some(across) = edged.to {
                self.column = column.map(|last| (last + number + 1).saturating_sub(group.len()));
                self.edge(across.snapped(grid), floor)?;
            }
        }
        self.column = column;
        let Some(face) = self.faces().face(floor) else {
            return Ok(());
        };
        let rim = match end.to {
            Some(across) if !closing => across.snapped(grid),
            _ => self.faces().rim(face.hi),
        };
        let release = released || (closing && first);
        self.free_flat(FreeFlat {
            passes,
            bed,
            release,
            ..FreeFlat::at(rim, floor)
        })
    }

    /// Takes one column: flat, then upright. Where the kerf itself takes all there is on its entry side, it is only
    /// edged.
    fn take(&mut self, across: Position, floor: Position) -> Done {
        if !self.faces().wood_before(across, floor) {
            return self.edge(across, floor);
        }
        let mill = self.setup.mill;
        let forward = mill.stroke(Angle::Flat, Feed::Forward);
        let frees = self.frees(&Kerf::plain(Angle::Flat, across, floor, forward), across)?;
        if self.would_hang() {
            // Until the upright kerf it would hang by a skin on its exit side: that one goes first.
            self.edge(across, floor)?;
            return self.free_flat(FreeFlat {
                release: true,
                ..FreeFlat::at(across, floor)
            });
        }
        let (flat, upright) = match mill.drive {
            // On a bowed log a cap may come off with the flat kerf already: then it climbs.
            Drive::Powered { .. } if frees => (forward.back(), forward),
            Drive::Powered { .. } if self.is_light(across, floor) => {
                let climb = mill.stroke(Angle::Upright, Feed::Climb);
                (climb.back(), climb)
            }
            Drive::Powered { .. } => (Stroke::Outbound, Stroke::Homebound),
            Drive::Hand { .. } => (forward, mill.stroke(Angle::Upright, Feed::Forward)),
        };
        self.kerf(Kerf::plain(Angle::Flat, across, floor, flat))?;
        self.kerf(Kerf::plain(Angle::Upright, across, floor, upright))
    }

    /// Takes what is left of a layer, up to the wood's own edge, with flat strokes.
    fn take_to_edge(&mut self, floor: Position, passes: Option<u8>) -> Done {
        match self.faces().face(floor) {
            Some(face) => self.free_flat(FreeFlat {
                passes,
                ..FreeFlat::at(self.faces().rim(face.hi), floor)
            }),
            None => Ok(()),
        }
    }

    /// Edges a column that is to be released: an upright kerf, on the stroke that the carriage is ready for.
    pub(super) fn edge(&mut self, across: Position, floor: Position) -> Done {
        let last = match self.setup.mill.drive {
            // Edged climbing, a light remainder is pressed down instead of lifted.
            Drive::Powered { .. } if self.is_light(across, floor) => {
                self.setup.mill.stroke(Angle::Upright, Feed::Climb)
            }
            Drive::Powered { .. } if self.pose().travel == self.carriage.far => Stroke::Homebound,
            Drive::Powered { .. } => Stroke::Outbound,
            Drive::Hand { .. } => self.setup.mill.stroke(Angle::Upright, Feed::Forward),
        };
        let edged = self.kerf(Kerf::plain(Angle::Upright, across, floor, last));
        edged.map_err(PlanErrorKind::while_edging)
    }

    /// Frees what stands on a floor with flat strokes, the last one climbing (hand: forward).
    ///
    /// Over the bunks a shallow pass goes before; elsewhere it does where one wide pass is not to be had. Where the
    /// pull-back aid bears on all that comes free, one outbound stroke does.
    fn free_flat(&mut self, free: FreeFlat) -> Done {
        let mill = self.setup.mill;
        if self.aid_bears(free.rim, free.floor) {
            let kerf = Kerf::plain(Angle::Flat, free.rim, free.floor, Stroke::Outbound);
            return self.kerf(Kerf {
                release: free.release,
                ..kerf
            });
        }
        let climb = mill.stroke(Angle::Flat, Feed::Climb);
        let (feed, usual) = match mill.drive {
            Drive::Powered { .. } => (Feed::Climb, if self.one_wide_pass(climb) { 1 } else { 2 }),
            Drive::Hand { .. } => (Feed::Forward, 1),
        };
        let at_least = free.passes.unwrap_or(usual).max(if free.bed { 2 } else { 1 });
        self.kerf(Kerf {
            at_least,
            release: free.release,
            shallow_first: free.bed,
            ..Kerf::plain(Angle::Flat, free.rim, free.floor, mill.stroke(Angle::Flat, feed))
        })
    }

    /// Whether the blade goes through a wide flat face in one pass: soft timber and no knife in the way.
    fn one_wide_pass(&self, stroke: Stroke) -> bool {
        let knife = self.setup.mill.knife.filter(|_| self.pose().knife);
        self.setup.log.timber == Timber::Soft && !knife.is_some_and(|knife| knife.leads(stroke))
    }

    /// Whether the pull-back aid bears on all that a flat stroke on this floor frees.
    fn aid_bears(&self, rim: Position, floor: Position) -> bool {
        let over = Block {
            travel: Interval::ALL,
            across: Interval::ALL,
            height: Interval::new(floor + self.setup.mill.blade.kerf, Position::MAX),
        };
        let bears = |widest| {
            self.met(over)
                .is_some_and(|wood| rim.max(wood.across.hi) - wood.across.lo <= widest)
        };
        self.pose().aid && self.setup.mill.aid.is_some_and(|aid| bears(aid.widest))
    }

    /// The deepest bite of the stroke that frees a group flat.
    fn deepest_freeing(&self) -> Length {
        let mill = self.setup.mill;
        let feed = if mill.drive.is_hand() {
            Feed::Forward
        } else {
            Feed::Climb
        };
        deepest(
            self.setup,
            Angle::Flat,
            mill.stroke(Angle::Flat, feed),
            self.pose().knife,
        )
        .depth
    }

    /// Whether the outermost wood on the entry side still has its own surface there: no upright kerf has edged it.
    fn has_natural_entry(&self, floor: Position) -> bool {
        let over = Interval::new(floor, floor + self.setup.mill.blade.kerf);
        let sections = self.setup.shape.wood().iter();
        let own = sections
            .filter_map(|section| section.width_within(over))
            .map(|width| width.lo)
            .min();
        let stands = self.faces().face(floor).map(|face| face.lo);
        let edged = own
            .zip(stands)
            .is_some_and(|(own, stands)| stands > own + LIGAMENT);
        self.setup.log.form == bunkside_protocol::Form::Round && !edged
    }

    /// Refuses to leave wood on a finished layer.
    pub(super) fn nothing_left_on(&mut self, floor: Position) -> Done {
        match self.faces().left_on(floor) {
            Some(from) => Err(PlanErrorKind::WoodLeft { from }),
            None => Ok(()),
        }
    }

    pub(super) const fn faces(&self) -> Faces<'_, 'a> {
        Faces {
            setup: self.setup,
            stock: self.replay.stock(),
        }
    }

    pub(super) fn met(&self, block: Block) -> Option<Block> {
        self.replay.stock().met(&self.setup.shape, block, Pick::Body)
    }
}

#[cfg(test)]
mod tests;
