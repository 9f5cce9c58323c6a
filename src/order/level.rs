//! One layer as the search sees it: where it may be cut, and what stands on it.

use bunkside_planner::geometry::{Block, Interval};
use bunkside_planner::limits::{LEAST_PASS, LIGAMENT};
use bunkside_planner::machine::{Pose, kerf_box};
use bunkside_planner::plan::Layer;
use bunkside_planner::replay::{Replay, Setup};
use bunkside_planner::sequence::{Faces, PlanErrorKind, deepest};
use bunkside_planner::stock::{Edge as Side, NotJudged, Pick, Piece, Stock};
use bunkside_protocol::{Angle, Length, Position, Stroke};

use super::state::Wood;

/// Most upright kerfs in one layer: each has a bit in a state.
pub(super) const EDGES_MAX: usize = 64;

/// An upright kerf of a layer.
#[derive(Clone, Copy, Debug)]
pub(super) struct Edge {
    /// Its corner.
    pub(super) across: Position,
    /// How deep its wood is, from the floor.
    pub(super) depth: Length,
}

/// A place at which the rim of a flat kerf may stand.
#[derive(Clone, Copy, Debug)]
pub(super) struct Rim {
    pub(super) across: Position,
    /// How many edges have to be cut before the rim goes there: what is undercut cannot be edged any more.
    pub(super) after: usize,
    /// How many columns it undercuts from side to side.
    pub(super) columns: usize,
    /// The edge that it meets, and whose upright kerf may be cut after it.
    pub(super) own: Option<usize>,
}

/// What comes off a column.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct ComesOff {
    /// In how many pieces.
    pub(super) pieces: usize,
    /// Whether any of them has bark, or lacks a corner.
    pub(super) bark: bool,
    /// Whether they all have the log's own surface on the entry side.
    pub(super) natural: bool,
    /// Whether it hangs over the log's side so far that no flat kerf is needed: an upright one beside it frees it, or a
    /// part of it.
    pub(super) loose: bool,
}

/// One layer as the search sees it.
#[derive(Clone, Debug)]
pub(super) struct Level {
    /// Its number in the plan.
    pub(super) number: usize,
    pub(super) floor: Position,
    /// Whether it lies below a quarter of the log.
    pub(super) near_bed: bool,
    /// From the entry-most to the exit-most wood on the floor.
    pub(super) face: Interval,
    /// From entry to exit side.
    pub(super) edges: Vec<Edge>,
    /// From entry to exit side; the last one runs through.
    pub(super) rims: Vec<Rim>,
    /// What comes off each column.
    pub(super) comes_off: Vec<ComesOff>,
    /// How many flat passes the author asks for before something comes free.
    pub(super) asked: u8,
}

impl Level {
    /// A layer on the wood that stands before it; none where nothing does.
    ///
    /// # Errors
    ///
    /// What stands in the way of any order.
    pub(super) fn new(
        setup: &Setup<'_>,
        replay: &Replay<'_>,
        number: usize,
        layer: &Layer<'_>,
    ) -> Result<Option<Self>, PlanErrorKind> {
        let floor = layer.floor.snapped(setup.mill.grid);
        let stock = replay.stock();
        let faces = Faces { setup, stock };
        let Some(face) = faces.face(floor) else {
            return Ok(None);
        };
        let slab;
        let columns = if layer.columns.is_empty() {
            slab = faces.slab(floor)?;
            slab.as_slice()
        } else {
            layer.columns
        };
        let log = setup.shape.bounds().height;
        let mut level = Self {
            number,
            floor,
            near_bed: floor.wide() < log.lo.wide() + log.length().wide() / 4,
            face,
            edges: Vec::new(),
            rims: Vec::new(),
            comes_off: Vec::new(),
            asked: layer.passes.unwrap_or(1),
        };
        let mut before: Option<Position> = None;
        for across in columns.iter().filter_map(|column| column.to) {
            let across = across.snapped(setup.mill.grid);
            if before.is_some_and(|before| across <= before + setup.mill.blade.kerf) {
                return Err(PlanErrorKind::NotFurther);
            }
            before = Some(across);
            let kerf = level.upright(setup, replay, across);
            if let Some(met) = stock.met(&setup.shape, kerf, Pick::Body) {
                level.edges.push(Edge {
                    across,
                    depth: met.height.hi - floor,
                });
            }
        }
        let open_ended = columns.last().is_none_or(|column| column.to.is_none());
        if let (false, Some(last)) = (open_ended, level.edges.last())
            && faces.held_beyond(last.across, floor)
        {
            return Err(PlanErrorKind::WoodLeft { from: last.across });
        }
        if level.edges.len() > EDGES_MAX {
            return Err(PlanErrorKind::Full);
        }
        let mut edged = stock.clone();
        edged.unload();
        level
            .edge_all(setup, replay, &mut edged)
            .map_err(PlanErrorKind::NotJudged)?;
        // What hangs over the log's sides is gone once it has been edged.
        let left = Faces { setup, stock: &edged };
        if let Some(face) = left.face(floor) {
            level.face = face;
            level.place_rims(setup, &faces);
        }
        level
            .flatten_all(setup, replay, &mut edged)
            .map_err(PlanErrorKind::NotJudged)?;
        Ok(Some(level))
    }

    fn upright(&self, setup: &Setup<'_>, replay: &Replay<'_>, across: Position) -> Block {
        let pose = Pose {
            across,
            height: self.floor,
            angle: Angle::Upright,
            ..*replay.pose()
        };
        kerf_box(setup.mill, &pose, Interval::ALL)
    }

    /// Every edge that wood beyond still holds has a rim of its own. Where passes may be needed, there are rims between:
    /// just short of freeing a column, and in even shares.
    fn place_rims(&mut self, setup: &Setup<'_>, faces: &Faces<'_, '_>) {
        let mill = setup.mill;
        let through = faces.rim(self.face.hi);
        let mut rims: Vec<Rim> = Vec::new();
        let mut from = self.face.lo;
        for (number, edge) in self.edges.iter().enumerate() {
            let between = self.between(setup, from, edge.across, number);
            rims.extend(between.into_iter().filter(|rim| rim.across < through));
            if edge.across < self.face.hi && faces.held_beyond(edge.across, self.floor) {
                rims.push(Rim {
                    across: edge.across,
                    after: number,
                    columns: number + 1,
                    own: Some(number),
                });
            }
            from = edge.across.max(self.face.lo);
        }
        rims.extend(self.between(setup, from, through, self.edges.len()));
        rims.retain(|rim| {
            let inside = rim.across > self.face.lo + mill.grid;
            inside && (rim.own.is_some() || rim.across < through)
        });
        rims.sort_by_key(|rim| (rim.across, rim.own.is_none()));
        rims.dedup_by_key(|rim| rim.across);
        rims.push(Rim {
            across: through,
            after: self.edges.len(),
            columns: self.edges.len() + 1,
            own: None,
        });
        self.rims = rims;
    }

    /// Rims in the column that ends at an edge, none of which frees it.
    fn between(&self, setup: &Setup<'_>, from: Position, to: Position, column: usize) -> Vec<Rim> {
        let (mill, width) = (setup.mill, to - from);
        let rim = |across: Position| Rim {
            across: across.snapped(mill.grid),
            after: column,
            columns: column,
            own: None,
        };
        let mut rims = Vec::new();
        let short = to - mill.blade.kerf - LIGAMENT - mill.grid;
        if width <= mill.blade.kerf + LIGAMENT + LIGAMENT {
            return rims;
        }
        if column < self.edges.len() {
            rims.push(rim(short));
        }
        let limits = limits(setup);
        let most = limits.into_iter().fold(Length::mm(10), Length::max);
        for limit in limits.into_iter().filter(|limit| *limit < width) {
            let short_of = (to - limit).min(short);
            rims.push(rim(short_of));
        }
        let fewest = width.wide() / most.wide() + 1;
        for shares in fewest..=fewest + 1 {
            for share in 1..shares {
                let across = from + Length::um(width.wide() * share / shares);
                if across < short {
                    rims.push(rim(across));
                }
            }
        }
        // Nobody skims a hair off before the pass that counts.
        rims.retain(|rim| rim.across - from >= LEAST_PASS);
        rims
    }

    /// Cuts every upright kerf of the layer, to see what comes off by them alone.
    fn edge_all(
        &mut self,
        setup: &Setup<'_>,
        replay: &Replay<'_>,
        stock: &mut Stock,
    ) -> Result<(), NotJudged> {
        self.comes_off = vec![ComesOff::default(); self.edges.len() + 1];
        for edge in self.edges.clone() {
            stock.carve(&setup.shape, self.upright(setup, replay, edge.across))?;
            self.note(stock.pieces(), true);
            stock.unload();
        }
        Ok(())
    }

    /// Cuts the flat kerf from rim to rim, to see what comes off by it.
    fn flatten_all(
        &mut self,
        setup: &Setup<'_>,
        replay: &Replay<'_>,
        stock: &mut Stock,
    ) -> Result<(), NotJudged> {
        for rim in self.rims.clone() {
            let pose = Pose {
                across: rim.across,
                height: self.floor,
                angle: Angle::Flat,
                ..*replay.pose()
            };
            stock.carve(&setup.shape, kerf_box(setup.mill, &pose, Interval::ALL))?;
            self.note(stock.pieces(), false);
            stock.unload();
        }
        Ok(())
    }

    fn note(&mut self, pieces: &[Piece], loose: bool) {
        for piece in pieces {
            let middle = piece.bounds.across.lo + piece.bounds.across.length().half_floor();
            let column = self.edges.iter().filter(|edge| edge.across <= middle).count();
            if let Some(comes) = self.comes_off.get_mut(column) {
                comes.natural = piece.entry == Side::Natural && (comes.natural || comes.pieces == 0);
                comes.pieces += 1;
                comes.bark |= piece.bark_edge;
                comes.loose |= loose;
            }
        }
    }

    /// The rim after which nothing is left.
    pub(super) fn through(&self) -> usize {
        self.rims.len()
    }

    /// How many edges and columns a rim stands for; rims are numbered from 1, 0 is none.
    pub(super) fn rim(&self, number: usize) -> Option<&Rim> {
        number.checked_sub(1).and_then(|at| self.rims.get(at))
    }

    /// Every edge as bits.
    pub(super) fn all(&self) -> u64 {
        first(self.edges.len())
    }

    /// How many columns have come off, with the rim here and these edges cut.
    pub(super) fn freed(&self, rim: usize, cut: u64) -> usize {
        let Some(rim) = self.rim(rim) else { return 0 };
        match rim.own {
            Some(edge) if cut & bit(edge) == 0 => edge,
            _ => rim.columns,
        }
    }

    /// What comes off the columns in a range by a flat kerf.
    pub(super) fn flat_off(&self, columns: core::ops::Range<usize>) -> impl Iterator<Item = &ComesOff> {
        let columns = self.comes_off.get(columns).unwrap_or(&[]);
        columns.iter().filter(|comes| !comes.loose)
    }

    /// How many pieces come off the columns in a range by a flat kerf.
    pub(super) fn pieces(&self, columns: core::ops::Range<usize>) -> usize {
        self.flat_off(columns).map(|comes| comes.pieces).sum()
    }

    /// How many pieces are still to come off.
    pub(super) fn pieces_left(&self, rim: usize, cut: u64) -> usize {
        let off = self.freed(rim, cut);
        let beside = |column: usize| {
            let before = column.checked_sub(1).is_some_and(|edge| cut & bit(edge) != 0);
            before || (column < self.edges.len() && cut & bit(column) != 0)
        };
        let loose = self.comes_off.iter().enumerate();
        let loose = loose.filter(|(column, comes)| comes.loose && !beside(*column));
        self.pieces(off..self.edges.len() + 1) + loose.map(|(_, comes)| comes.pieces).sum::<usize>()
    }

    /// Whether pieces lie free that a flat kerf would go under: what an upright one alone has freed lies beside the log.
    pub(super) fn lies_over(&self, wood: &Wood) -> bool {
        let now = self.freed(usize::from(wood.rim), wood.cut);
        let before = |(rim, cut)| self.freed(usize::from(rim), cut);
        wood.since.map(before).is_some_and(|before| before < now)
    }

    /// Whether a flat stroke that frees these columns is called a release.
    pub(super) fn is_release(&self, to: usize, columns: &core::ops::Range<usize>) -> bool {
        let through = to == self.through();
        let first = self.flat_off(0..columns.start).next().is_none();
        self.flat_off(columns.clone()).count() > 1 || (through && first && !self.edges.is_empty())
    }
}

/// How deep flat strokes may bite, out and home, with the knife and without; a grid step and what hides between samples
/// kept in hand.
fn limits(setup: &Setup<'_>) -> [Length; 4] {
    let in_hand = setup.mill.grid + setup.shape.between();
    let strokes = [Stroke::Outbound, Stroke::Homebound];
    let [[a, b], [c, d]] = [false, true].map(|knife| {
        let knife = knife && setup.mill.knife.is_some();
        strokes.map(|stroke| deepest(setup, Angle::Flat, stroke, knife).depth - in_hand)
    });
    [a, b, c, d]
}

/// The bit of an edge.
pub(super) const fn bit(edge: usize) -> u64 {
    1u64 << edge
}

/// The bits of the first edges.
pub(super) const fn first(count: usize) -> u64 {
    if count >= 64 {
        u64::MAX
    } else {
        (1u64 << count) - 1
    }
}
