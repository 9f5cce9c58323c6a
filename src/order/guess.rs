//! The least that strokes, and what is left of a layer, can take.
//!
//! Nothing here may be more than what really happens: the search is exact only because of that. A stroke is guessed at
//! the fastest feed that blade, engine and drive allow, as if the log could not move; what is left of a layer at the
//! kerfs that are left, the fewest swings, the shortest shifts and the fewest holds.

use std::cell::RefCell;

use bunkside_planner::geometry::{Block, Interval};
use bunkside_planner::machine::{Pose, kerf_box};
use bunkside_planner::physics::motion::rapid;
use bunkside_planner::physics::timing::{through, walk_and_acts};
use bunkside_planner::replay::{Setup, beside};
use bunkside_planner::sequence::{Bite, Carriage, deepest, fastest};
use bunkside_planner::stock::{Pick, Stock};
use bunkside_protocol::mill::HeightSetting;
use bunkside_protocol::{Acts, Angle, Feed, Length, Millis, Position, Stroke};
use rustc_hash::FxHashMap as HashMap;

use super::ends::{past_the_log, stopping};
use super::level::Level;
use super::passes::Passes;
use super::relaxed::Relaxed;
use super::state::{Kerf, Placed, Wood};

pub(super) const STROKES: [Stroke; 2] = [Stroke::Outbound, Stroke::Homebound];

type Key = ((u8, usize), Kerf, Stroke, bool);

/// The least that strokes, and what is left of a layer, can take.
#[derive(Debug)]
pub(super) struct Guess<'a> {
    pub(super) setup: &'a Setup<'a>,
    pub(super) carriage: Carriage<'a>,
    pub(super) level: &'a Level,
    /// What stood when the layer was begun.
    pub(super) stock: &'a Stock,
    known: RefCell<HashMap<Key, Option<f64>>>,
    /// Where the carriage at least has to rise to, to pass over what stands.
    pub(super) over: Position,
    /// Where the blade stands across when it passes beside the log instead, as it stands or swung before that; none where it cannot.
    pub(super) past: Option<Position>,
    /// The entry-most place across from which the layer may begin.
    pub(super) begins: Position,
    /// For every edge, without the knife and with it, every number of passes.
    ways: Vec<[Vec<Passes>; 2]>,
    /// For every rim how far the next flat stroke reaches at most.
    pub(super) farthest: Vec<Position>,
    /// For every edge, and for every rim, the least that it takes to start from an upright kerf and to stop there.
    pub(super) edge_stops: Vec<f64>,
    pub(super) rim_stops: Vec<f64>,
    /// For every edge the least that its kerf takes.
    pub(super) upright: Vec<f64>,
    /// For every rim the least that the flat kerf takes from there on, holds included.
    pub(super) flat: Vec<f64>,
    pub(super) walk: f64,
    /// Whether it is the last layer.
    pub(super) lowest: bool,
    /// Whether the pull-back aid may bear.
    pub(super) aided: bool,
    /// Whether the knife may be off where it would trail.
    bare: bool,
    pub(super) unload: f64,
    /// Seconds that count for a stroke at which somebody holds down what comes free; nothing where only time is asked for.
    pub(super) hold_down: f64,
    /// What it takes to stop the blade for a height that is set by hand, and to start it again; nothing elsewhere.
    pub(super) crank: f64,
    /// The least from every state on; none where there are too many.
    pub(super) relaxed: Option<Relaxed>,
    /// Whether edges are only cut from the entry side on.
    pub(super) ascending: bool,
    /// The most that an end is worth.
    pub(super) simple: f64,
}

impl<'a> Guess<'a> {
    pub(super) fn new(
        setup: &'a Setup<'a>,
        carriage: Carriage<'a>,
        level: &'a Level,
        stock: &'a Stock,
        walk: f64,
        [lowest, aided, bare, stops]: [bool; 4],
    ) -> Self {
        let mut guess = Self {
            lowest,
            aided,
            bare,
            crank: crank(setup, stops),
            setup,
            carriage,
            level,
            stock,
            known: RefCell::default(),
            over: level.floor,
            past: past_the_log(setup, &carriage),
            begins: Position::MIN,
            farthest: Vec::new(),
            edge_stops: Vec::new(),
            rim_stops: Vec::new(),
            ways: Vec::new(),
            upright: Vec::new(),
            flat: vec![f64::INFINITY; level.through() + 1],
            walk,
            unload: seconds(setup.mill.hold_times.unload),
            hold_down: 0.0,
            relaxed: None,
            ascending: false,
            simple: 0.0,
        };
        guess.upright = (0..level.edges.len())
            .map(|edge| guess.whole_edge(edge))
            .collect();
        guess.over = guess.passes_over();
        guess.ways = (0..level.edges.len())
            .map(|edge| {
                [false, true].map(|knife| {
                    let counts = guess.counts(edge);
                    counts.map(|of| Passes::new(&guess, edge, of, knife)).collect()
                })
            })
            .collect();
        guess.whole_flat();
        guess.farthest = (0..level.through()).map(|rim| guess.farthest(rim)).collect();
        guess.note_stops();
        guess.value(&[0.0; 8]);
        guess
    }

    /// Whether a flat stroke is in forward feed.
    pub(super) fn is_forward(&self, stroke: Stroke) -> bool {
        self.setup.mill.feed(Angle::Flat, stroke) == Feed::Forward
    }

    pub(super) fn is_hand(&self) -> bool {
        self.setup.mill.drive.is_hand()
    }

    /// Whether somebody walks to set the height: that takes longer than any shift, and is counted instead of them.
    pub(super) fn is_set_by_hand(&self) -> bool {
        matches!(self.setup.mill.height_setting, HeightSetting::ByHand(_))
    }

    /// The highest wood of a column; bark is left out, as it may be thinner than told.
    pub(super) fn top_of(&self, column: usize) -> Option<Position> {
        let edge = |edge: usize| self.level.edges.get(edge).map(|edge| edge.across);
        let from = column.checked_sub(1).and_then(edge).unwrap_or(Position::MIN);
        let to = edge(column).map_or(Position::MAX, |to| to - self.setup.mill.blade.kerf);
        let block = Block {
            travel: Interval::ALL,
            across: Interval::new(from, to),
            height: Interval::new(self.level.floor, Position::MAX),
        };
        let met = self.stock.met(&self.setup.shape, block, Pick::Body);
        met.map(|wood| wood.height.hi)
    }

    /// The highest wood under the layer.
    pub(super) fn top_under(&self) -> Option<Position> {
        let block = Block {
            travel: Interval::ALL,
            across: Interval::ALL,
            height: Interval::new(Position::MIN, self.level.floor),
        };
        let met = self.stock.met(&self.setup.shape, block, Pick::Body);
        met.map(|wood| wood.height.hi)
    }

    /// Every number of passes in which an edge may be cut.
    pub(super) fn ways(&self, edge: usize, knife: bool) -> &[Passes] {
        let ways = self.ways.get(edge);
        ways.and_then(|ways| ways.get(usize::from(knife)))
            .map_or(&[], Vec::as_slice)
    }

    /// How far a flat stroke reaches from a rim, whatever has come off before.
    fn farthest(&self, from: usize) -> Position {
        let wood = Wood {
            rim: u8::try_from(from).unwrap_or(u8::MAX),
            cut: self.level.all(),
            ..Wood::UNTOUCHED
        };
        let reached = (from + 1..=self.level.through()).rev();
        let mut reached = reached.filter(|to| self.either_way(&wood, self.flat_kerf(*to, 0)).is_finite());
        let rim = reached.next().and_then(|to| self.level.rim(to));
        rim.map_or(Position::MAX, |rim| rim.across)
    }

    pub(super) fn flat_kerf(&self, to: usize, made: u8) -> Kerf {
        Kerf::Flat {
            to: u8::try_from(to).unwrap_or(u8::MAX),
            made,
        }
    }

    pub(super) fn either_way(&self, wood: &Wood, kerf: Kerf) -> f64 {
        let placed = self.placed(kerf, false);
        let ways = STROKES.into_iter().flat_map(|stroke| {
            [false, true].map(|knife| self.stroke(wood, &placed, stroke, knife).unwrap_or(f64::INFINITY))
        });
        ways.fold(f64::INFINITY, f64::min)
    }

    /// In how many passes an edge may be cut: as few as can be, or one more.
    pub(super) fn counts(&self, edge: usize) -> core::ops::RangeInclusive<u8> {
        let Some(edge) = self.level.edges.get(edge) else {
            return 1..=1;
        };
        let reach = |stroke| deepest(self.setup, Angle::Upright, stroke, false).depth;
        let limit = STROKES.map(reach).into_iter().fold(Length::ZERO, Length::max);
        let limit = (limit - self.setup.mill.grid).max(Length::mm(1));
        let fewest = (edge.depth.wide() - 1).max(0) / limit.wide() + 1;
        let fewest = u8::try_from(fewest).unwrap_or(u8::MAX - 1);
        fewest..=fewest.saturating_add(1)
    }

    /// Whether the knife is off where it would trail.
    fn is_warned_of(&self, stroke: Stroke, knife: bool) -> bool {
        let fitted = self.setup.mill.knife.filter(|_| !knife && !self.bare);
        fitted.is_some_and(|fitted| !fitted.leads(stroke))
    }

    /// From where on wood stands for certain, the first columns gone: one that hangs over the log's side, or is no wider
    /// than the kerf beside it, goes with that.
    fn stands_from(&self, off: usize) -> Position {
        let level = self.level;
        let mut still = (off..)
            .zip(level.comes_off.iter().skip(off))
            .filter(|(_, comes)| !comes.loose && comes.pieces > 0);
        still
            .next()
            .and_then(|(column, _)| column.checked_sub(1))
            .and_then(|edge| level.edges.get(edge))
            .map_or(Position::MIN, |edge| edge.across)
    }

    /// How far the wood in and over a flat kerf reaches from its rim: cut as far as a rim already, the first columns gone.
    fn flat_cover(&self, pose: &Pose, rim: u8, off: usize) -> Length {
        let level = self.level;
        let from = self.stands_from(off);
        let kerf = kerf_box(self.setup.mill, pose, Interval::ALL);
        let over = beside(pose, kerf);
        let cut = level
            .rim(usize::from(rim))
            .map_or(Position::MIN, |rim| rim.across);
        let fresh = Block {
            across: Interval::new(over.across.lo.max(from).max(cut), over.across.hi),
            ..over
        };
        let above = Block {
            across: Interval::new(over.across.lo.max(from), over.across.hi.min(cut)),
            height: Interval::new(kerf.height.hi, over.height.hi),
            ..over
        };
        let met = |block| self.stock.met(&self.setup.shape, block, Pick::Body);
        let reach = |block| met(block).map_or(Length::ZERO, |wood: Block| pose.across - wood.across.lo);
        reach(fresh).max(reach(above))
    }

    /// Where the corner stands in a pass.
    pub(super) fn placed(&self, kerf: Kerf, release: bool) -> Placed {
        let level = self.level;
        let (angle, across, height) = match kerf {
            Kerf::Upright { edge, of, pass } => {
                let left = self.left(edge, of, pass);
                let across = level.edges.get(usize::from(edge)).map(|edge| edge.across);
                let height = if left == Length::ZERO {
                    level.floor
                } else {
                    (level.floor + left).snapped(self.setup.mill.grid)
                };
                (Angle::Upright, across.unwrap_or(Position::ZERO), height)
            }
            Kerf::Flat { to, .. } => {
                let rim = level.rim(usize::from(to));
                let across = rim.map_or(Position::ZERO, |rim| rim.across);
                (Angle::Flat, across, level.floor)
            }
        };
        Placed {
            kerf,
            angle,
            across,
            height,
            release,
        }
    }

    /// How much of an edge is left after a pass.
    fn left(&self, edge: u8, of: u8, pass: u8) -> Length {
        let depth = self
            .level
            .edges
            .get(usize::from(edge))
            .map_or(Length::ZERO, |edge| edge.depth);
        Length::um(depth.wide() * i64::from(of.saturating_sub(pass)) / i64::from(of.max(1)))
    }

    /// The least that a stroke takes; none where it cannot be made.
    pub(super) fn stroke(&self, wood: &Wood, placed: &Placed, stroke: Stroke, knife: bool) -> Option<f64> {
        let from = match placed.kerf {
            Kerf::Flat { .. } => (wood.rim, self.level.freed(usize::from(wood.rim), wood.cut)),
            Kerf::Upright { .. } => (0, 0),
        };
        let kerf = match placed.kerf {
            Kerf::Flat { to, .. } => Kerf::Flat { to, made: 0 },
            upright @ Kerf::Upright { .. } => upright,
        };
        let key = (from, kerf, stroke, knife);
        if let Some(known) = self.known.borrow().get(&key) {
            return *known;
        }
        let found = self.work_out(from, placed, stroke, knife);
        self.known.borrow_mut().insert(key, found);
        found
    }

    fn work_out(
        &self,
        (from, off): (u8, usize),
        placed: &Placed,
        stroke: Stroke,
        knife: bool,
    ) -> Option<f64> {
        let (setup, mill) = (self.setup, self.setup.mill);
        let feed = mill.feed(placed.angle, stroke);
        if mill.drive.is_hand() && feed == Feed::Climb {
            return None;
        }
        if self.is_warned_of(stroke, knife) {
            return None;
        }
        let (start, end) = self.carriage.course(stroke);
        let pose = Pose {
            travel: start,
            across: placed.across,
            height: placed.height,
            angle: placed.angle,
            ..Pose::parked(mill)
        };
        let mut fresh = kerf_box(mill, &pose, Interval::ALL);
        match placed.kerf {
            Kerf::Flat { .. } => {
                let cut = self
                    .level
                    .rim(usize::from(from))
                    .map_or(Position::MIN, |rim| rim.across);
                fresh.across.lo = fresh.across.lo.max(cut).max(self.stands_from(off));
            }
            Kerf::Upright { edge, of, pass } if pass > 1 => {
                let above = self.left(edge, of, pass - 1) - mill.grid;
                fresh.height.hi = fresh.height.hi.min(self.level.floor + above);
            }
            Kerf::Upright { .. } => {}
        }
        let Some(met) = self.stock.met(&setup.shape, fresh, Pick::Body) else {
            return Some(rapid(&mill.travel, start - end));
        };
        let depth = match placed.angle {
            Angle::Flat => placed.across - met.across.lo,
            Angle::Upright => met.height.hi - placed.height,
        };
        let depth = (depth - mill.grid).max(Length::ZERO);
        let cover = match placed.angle {
            Angle::Flat => self.flat_cover(&pose, from, off).max(depth),
            Angle::Upright => depth,
        };
        let [flat, _] = mill.reach.cover;
        if placed.angle == Angle::Flat && cover > flat {
            return None;
        }
        if depth > deepest(setup, placed.angle, stroke, knife).depth {
            return None;
        }
        let fed = fastest(setup, &Bite { feed, depth }).ok()?;
        Some(through(mill, start, end, Some((met.travel, cover)), fed.speed))
    }

    pub(super) fn pieces(&self, freed: usize) -> f64 {
        self.unload * count(freed)
    }
}

/// What a hold takes at which nothing but unloading is done, the pieces themselves not counted.
pub(super) fn walk(setup: &Setup<'_>, stopped: bool) -> f64 {
    let stop = if stopped { stopping(setup.mill) } else { 0.0 };
    stop + walk_and_acts(setup.mill, Acts::NONE)
}

/// What it takes to stop the blade for a height that is set by hand. Where it is stopped whenever somebody unloads, a height may
/// be set at any of those stops, and nothing is counted.
fn crank(setup: &Setup<'_>, stops: bool) -> f64 {
    let by_hand = matches!(setup.mill.height_setting, HeightSetting::ByHand(_));
    if by_hand && !stops {
        stopping(setup.mill)
    } else {
        0.0
    }
}

pub(super) fn seconds(time: Millis) -> f64 {
    f64::from(time.as_ms()) / 1e3
}

pub(super) fn count(number: usize) -> f64 {
    f64::from(u32::try_from(number).unwrap_or(u32::MAX))
}
