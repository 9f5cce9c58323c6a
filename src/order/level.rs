//! One layer as the search sees it: where it may be cut, and what stands on it.

use bunkside_planner::geometry::{Block, Interval};
use bunkside_planner::machine::{Pose, blade_boxes, head_boxes, kerf_box};
use bunkside_planner::plan::Layer;
use bunkside_planner::replay::{Replay, Setup};
use bunkside_planner::sequence::{Faces, PlanErrorKind};
use bunkside_planner::stock::{Edge as Side, NotJudged, Pick, Piece, Stock};
use bunkside_protocol::{Angle, Length, Position};

use super::rims::Known;
use super::state::Wood;
use super::wood::Doubt;

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
    /// Whether what hangs over the entry side, and comes off with the first edge, lies in the way of every flat stroke.
    pub(super) hangs: bool,
    /// What hangs by a thread once an upright kerf is cut, each alone.
    pub(super) threads: Vec<Block>,
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
        known: &[Known],
    ) -> Result<Option<Self>, PlanErrorKind> {
        let floor = layer.floor.snapped(setup.mill.grid);
        let stock = replay.stock();
        let faces = Faces { setup, stock };
        let is_slab = layer.columns.is_empty();
        let face_of = |faces: &Faces<'_, '_>| {
            if is_slab {
                faces.slab_face(floor)
            } else {
                faces.face(floor)
            }
        };
        let Some(face) = face_of(&faces) else {
            return Ok(None);
        };
        let slab;
        let columns = if is_slab {
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
            hangs: false,
            threads: Vec::new(),
        };
        let mut before: Option<Position> = None;
        for across in columns.iter().filter_map(|column| column.to) {
            let across = across.snapped(setup.mill.grid);
            if before.is_some_and(|before| across <= before + setup.mill.blade.kerf) {
                return Err(PlanErrorKind::NotFurther);
            }
            before = Some(across);
            let kerf = level.upright(setup, replay, across);
            let met = stock.met(&setup.shape, kerf, Pick::Body);
            // What is no higher than the flat kerf goes with that.
            let depth = met.map_or(Length::ZERO, |met| met.height.hi - floor);
            if depth > setup.mill.blade.kerf {
                level.edges.push(Edge { across, depth });
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
        let mut edged = stock.clone().with_threads_held();
        edged.unload();
        level
            .find_threads(setup, replay, &edged)
            .map_err(PlanErrorKind::NotJudged)?;
        let hanging = level
            .edge_all(setup, replay, &mut edged)
            .map_err(PlanErrorKind::NotJudged)?;
        // What hangs over the log's sides is gone once it has been edged.
        let left = Faces { setup, stock: &edged };
        if let Some(face) = face_of(&left) {
            level.face = face;
            level.place_rims(setup, &faces, known);
            level
                .keep_held(setup, replay, &edged)
                .map_err(PlanErrorKind::NotJudged)?;
        }
        level
            .flatten_all(setup, replay, &mut edged)
            .map_err(PlanErrorKind::NotJudged)?;
        level.hangs = level.in_the_way(setup, replay, &hanging);
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

    pub(super) fn flat(&self, setup: &Setup<'_>, replay: &Replay<'_>, across: Position) -> Block {
        let pose = Pose {
            across,
            height: self.floor,
            angle: Angle::Flat,
            ..*replay.pose()
        };
        kerf_box(setup.mill, &pose, Interval::ALL)
    }

    fn find_threads(
        &mut self,
        setup: &Setup<'_>,
        replay: &Replay<'_>,
        stock: &Stock,
    ) -> Result<(), NotJudged> {
        for edge in self.edges.clone() {
            let mut edged = stock.clone();
            edged.carve(&setup.shape, self.upright(setup, replay, edge.across))?;
            self.threads.extend(hanging(setup, &edged)?);
        }
        // Each has a bit in a state.
        self.threads.truncate(EDGES_MAX);
        Ok(())
    }

    /// Whether every order leaves something hanging by a thread: what is beyond the last upright kerf is not undercut before.
    pub(super) fn is_never_sure(&self) -> bool {
        let last = self.edges.last().map(|edge| edge.across);
        let beyond = |part: &Block| last.is_some_and(|last| part.across.lo >= last);
        self.threads.iter().any(beyond)
    }

    /// What stands for certain while the layer is cut, its kerfs left out of account; none where it cannot be told.
    pub(super) fn standing(&self, setup: &Setup<'_>, stock: &Stock, doubt: Doubt) -> Option<Stock> {
        let mut standing = stock.clone();
        if doubt == Doubt::Edged {
            standing = standing.with_threads_held();
            for part in &self.threads {
                standing.carve(&setup.shape, *part).ok()?;
            }
        }
        Some(standing)
    }

    /// The same where what hangs by a thread is gone once it has been edged.
    pub(super) fn without_threads(&self) -> Self {
        let mut level = self.clone();
        for part in &self.threads {
            let column = self.column(part);
            if let Some(comes) = level.comes_off.get_mut(column) {
                *comes = ComesOff {
                    loose: true,
                    ..ComesOff::default()
                };
            }
        }
        level
    }

    /// In which column a piece lies.
    fn column(&self, piece: &Block) -> usize {
        let middle = piece.across.lo + piece.across.length().half_floor();
        self.edges.iter().filter(|edge| edge.across <= middle).count()
    }

    /// Cuts every upright kerf of the layer, to see what comes off by them alone; what does with the first, from its entry
    /// side.
    fn edge_all(
        &mut self,
        setup: &Setup<'_>,
        replay: &Replay<'_>,
        stock: &mut Stock,
    ) -> Result<Vec<Block>, NotJudged> {
        self.comes_off = vec![ComesOff::default(); self.edges.len() + 1];
        let mut hanging = Vec::new();
        for (number, edge) in self.edges.clone().into_iter().enumerate() {
            stock.carve(&setup.shape, self.upright(setup, replay, edge.across))?;
            self.note(stock.pieces(), true);
            if number == 0 {
                let pieces = stock.pieces().iter().map(|piece| piece.bounds);
                hanging = pieces.filter(|piece| piece.across.hi <= edge.across).collect();
            }
            stock.unload();
        }
        Ok(hanging)
    }

    /// Whether blade or head would come, on any flat stroke that may be the next, where one of these pieces lies or may fall to
    /// the entry side: with nothing beside it there, as the rule on free pieces has it.
    fn in_the_way(&self, setup: &Setup<'_>, replay: &Replay<'_>, hanging: &[Block]) -> bool {
        let (mill, stock, log) = (setup.mill, replay.stock(), setup.shape.bounds());
        let falls = |piece: &Block| {
            let beside = Block {
                across: Interval::new(Position::MIN, piece.across.lo),
                ..*piece
            };
            let zone = Block {
                across: Interval::new(log.across.lo - piece.across.length(), piece.across.lo),
                height: Interval::new(Position::ZERO, piece.height.hi),
                ..*piece
            };
            let held = stock.touched(&setup.shape, beside, Pick::Any, false);
            if held.is_some() { *piece } else { zone }
        };
        let zones: Vec<Block> = hanging.iter().map(falls).collect();
        let meets = |block: Block| zones.iter().any(|zone| zone.overlaps(block));
        let swept = |rim: &Rim| {
            let from = Pose {
                travel: log.travel.lo,
                across: rim.across,
                height: self.floor,
                angle: Angle::Flat,
                ..*replay.pose()
            };
            let to = Pose {
                travel: log.travel.hi,
                ..from
            };
            blade_boxes(mill, &from, &to).any(meets) || head_boxes(mill, &from, &to).any(meets)
        };
        // No flat stroke but to the first edge has gone before, and the next covers the second column.
        let stands = self
            .comes_off
            .get(1)
            .is_some_and(|comes| !comes.loose && comes.pieces > 0);
        let [cover, _] = mill.reach.cover;
        let first = self.edges.first().filter(|_| stands);
        let reached = first.map_or(Position::MAX, |edge| edge.across + cover + mill.grid);
        let mut next = self.rims.iter().filter(|rim| rim.across <= reached);
        !zones.is_empty() && next.all(swept)
    }

    /// Cuts the flat kerf from rim to rim, to see what comes off by it.
    fn flatten_all(
        &mut self,
        setup: &Setup<'_>,
        replay: &Replay<'_>,
        stock: &mut Stock,
    ) -> Result<(), NotJudged> {
        for rim in self.rims.clone() {
            stock.carve(&setup.shape, self.flat(setup, replay, rim.across))?;
            self.note(stock.pieces(), false);
            stock.unload();
        }
        Ok(())
    }

    fn note(&mut self, pieces: &[Piece], loose: bool) {
        for piece in pieces {
            let column = self.column(&piece.bounds);
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

    /// What tells which pieces wait, before the first of them comes free.
    pub(super) fn since(&self, wood: &Wood) -> (u8, u64) {
        let off = self.freed(usize::from(wood.rim), wood.cut);
        let loose = self.comes_off.iter().enumerate().filter(|(_, comes)| comes.loose);
        let beside = loose.fold(0, |edges, (column, _)| {
            let before = column.checked_sub(1).map_or(0, bit);
            edges | before | if column < self.edges.len() { bit(column) } else { 0 }
        });
        (u8::try_from(off).unwrap_or(u8::MAX), wood.cut & beside)
    }

    /// Whether pieces lie free that a flat kerf would go under: what an upright one alone has freed lies beside the log.
    pub(super) fn lies_over(&self, wood: &Wood) -> bool {
        let now = self.freed(usize::from(wood.rim), wood.cut);
        wood.since.is_some_and(|(before, _)| usize::from(before) < now)
    }

    /// Whether what hung over the entry side lies in the way of every flat stroke.
    pub(super) fn lies_beside(&self, wood: &Wood) -> bool {
        let first = bit(0);
        self.hangs && wood.cut & first != 0 && wood.since.is_some_and(|(_, cut)| cut & first == 0)
    }

    /// Whether an upright kerf leaves something that has to be taken away before any flat stroke.
    pub(super) fn drops(&self, edge: usize) -> bool {
        (edge == 0 && self.hangs) || (edge + 1 == self.edges.len() && self.is_never_sure())
    }

    /// Whether a flat stroke that frees these columns is called a release.
    pub(super) fn is_release(&self, to: usize, columns: &core::ops::Range<usize>) -> bool {
        let through = to == self.through();
        let first = self.flat_off(0..columns.start).next().is_none();
        self.flat_off(columns.clone()).count() > 1 || (through && first && !self.edges.is_empty())
    }
}

/// What would come free if every thread broke.
///
/// # Errors
///
/// More pieces than a stock holds.
pub(super) fn hanging(setup: &Setup<'_>, stock: &Stock) -> Result<Vec<Block>, NotJudged> {
    let mut broken = stock.clone().with_threads_broken();
    broken.carve(&setup.shape, Block::out_of_the_way())?;
    let known = stock.freed();
    let parts = broken.pieces().iter().filter(|piece| piece.serial > known);
    Ok(parts.map(|piece| piece.bounds).collect())
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
