//! What taking columns off a layer does to a log, one after the other from the entry side: how near it comes to rolling,
//! sliding or lifting.
//!
//! Nobody asks the other rules here, so that it goes on beyond what they allow. Every kerf runs at the fastest feed at which
//! nothing moves, else at the slowest there is.

use bunkside_planner::geometry::{Block, Interval};
use bunkside_planner::machine::{Pose, kerf_box};
use bunkside_planner::physics::margins::Margins;
use bunkside_planner::physics::strain::{Pass, Strain};
use bunkside_planner::replay::{Replay, Setup, Step};
use bunkside_planner::sequence::{Bite, fastest_steady};
use bunkside_planner::stock::Pick;
use bunkside_protocol::{
    Act, Acts, Angle, Cut, Drive, Hold, Length, MillRecord, Move, Position, Speed, Stroke, Targets,
};

/// How far beyond the log every stroke runs.
const BEYOND: Length = Length::mm(600);

/// What taking a column does to the log.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Column {
    /// The least margins in its cuts, at the feed they take.
    pub during: Margins,
    /// The margins at rest when it has gone.
    pub rest: Margins,
    /// Whether each of its cuts has a feed at which nothing moves.
    pub fed: bool,
}

impl Column {
    fn of(cuts: &[(Step, Option<Speed>)]) -> Self {
        let fed = cuts.iter().all(|(_, speed)| speed.is_some());
        let strains: Vec<Strain> = cuts.iter().filter_map(|(step, _)| step.strain).collect();
        let during = strains.iter().map(|strain| strain.during);
        Self {
            during: during.fold(Margins::FREE, |least, during| least.worse(&during)),
            rest: strains.last().map_or(Margins::FREE, |strain| strain.rest),
            fed,
        }
    }
}

/// A log being sawn.
#[derive(Clone, Debug)]
pub struct Saw<'a> {
    setup: &'a Setup<'a>,
    /// What has been sawn so far.
    pub replay: Replay<'a>,
}

impl<'a> Saw<'a> {
    /// The log as it is brought on, the blade up to speed.
    #[must_use]
    pub fn new(setup: &'a Setup<'a>) -> Self {
        let mut saw = Self {
            setup,
            replay: Replay::new(setup, 0),
        };
        saw.replay.step(&Move::Spin(true));
        saw
    }

    /// One cut over the whole log, and what it freed taken away; with the speed at which nothing moves, if there is one.
    pub fn cut(
        &mut self,
        angle: Angle,
        stroke: Stroke,
        across: Position,
        height: Position,
    ) -> (Step, Option<Speed>) {
        let ends = self.setup.shape.travel().grown(BEYOND);
        let (from, to) = match stroke {
            Stroke::Outbound => (ends.lo, ends.hi),
            Stroke::Homebound => (ends.hi, ends.lo),
        };
        self.replay.step(&Move::Swing(angle));
        self.replay.step(&Move::Go(Targets {
            travel: Some(from),
            across: Some(across),
            height: Some(height),
        }));
        let fed = self.feed(stroke);
        let step = self.replay.step(&Move::Cut(Cut {
            to: Targets::travel(to),
            speed: fed.unwrap_or(self.setup.mill.power.feed_min),
            feed: None,
            release: false,
        }));
        let acts = Acts::one(Act::Unload);
        self.replay.step(&Move::Hold(Hold { acts }));
        (step, fed)
    }

    fn feed(&self, stroke: Stroke) -> Option<Speed> {
        let (setup, pose) = (self.setup, *self.replay.pose());
        let kerf = kerf_box(setup.mill, &pose, Interval::ALL);
        let Some(met) = self.replay.stock().met(&setup.shape, kerf, Pick::Body) else {
            return Some(setup.mill.power.feed_max);
        };
        let bite = Bite {
            feed: setup.mill.feed(pose.angle, stroke),
            depth: depth(&pose, &met),
        };
        let body = self.replay.body();
        let pass = Pass::of(setup, self.replay.stock(), &body, &pose, stroke, Interval::ALL)?;
        fastest_steady(setup, &bite, &pass).ok().map(|fed| fed.speed)
    }

    /// Takes everything above a height away.
    pub fn open(&mut self, height: Position) {
        let wood = self.setup.shape.bounds().across;
        let mut across = wood.lo;
        while across <= wood.hi {
            across = across + self.setup.mill.blade.radius;
            self.cut(Angle::Flat, Stroke::Homebound, across, height);
        }
    }

    /// The corners of columns of one width, from the entry side of what stands above a floor.
    #[must_use]
    pub fn even(&self, floor: Position, width: Length) -> Vec<Position> {
        let kerf = self.setup.mill.blade.kerf;
        let above = Block {
            travel: Interval::ALL,
            across: Interval::ALL,
            height: Interval::new(floor + kerf, Position::MAX),
        };
        let mut corners = Vec::new();
        if let Some(wood) = self.replay.stock().met(&self.setup.shape, above, Pick::Body) {
            let mut across = wood.across.lo + width + kerf;
            while across < wood.across.hi {
                corners.push(across);
                across = across + width + kerf;
            }
        }
        corners
    }

    /// Takes columns off a layer, each with a flat kerf outbound and an upright one homebound.
    pub fn columns(&mut self, floor: Position, corners: &[Position]) -> Vec<Column> {
        let take = |across: &Position| {
            let flat = self.cut(Angle::Flat, Stroke::Outbound, *across, floor);
            let upright = self.cut(Angle::Upright, Stroke::Homebound, *across, floor);
            Column::of(&[flat, upright])
        };
        corners.iter().map(take).collect()
    }

    /// Takes what is left of a layer beyond its last upright kerf: flat kerfs free it alone, no wider than the blade reaches, up to
    /// just beyond the wood; none where nothing is left.
    pub fn last(&mut self, floor: Position) -> Option<Column> {
        let mill = self.setup.mill;
        let above = Block {
            travel: Interval::ALL,
            across: Interval::ALL,
            height: Interval::new(floor + mill.blade.kerf, Position::MAX),
        };
        let left = self
            .replay
            .stock()
            .met(&self.setup.shape, above, Pick::Body)?
            .across;
        let [reach, _] = mill.reach.cover.map(|cover| cover.wide().max(1));
        let passes = left.length().wide().div_euclid(reach) + 1;
        // Under a hand carriage's flat blade only the outbound stroke keeps off climbing; a drive climbs home.
        let stroke = match mill.drive {
            Drive::Hand { .. } => Stroke::Outbound,
            Drive::Powered { .. } => Stroke::Homebound,
        };
        let cuts: Vec<_> = (1..=passes)
            .map(|pass| {
                let edge = left.lo + Length::um(left.length().wide() * pass / passes);
                self.cut(Angle::Flat, stroke, edge + Length::mm(1), floor)
            })
            .collect();
        Some(Column::of(&cuts))
    }
}

fn depth(pose: &Pose, met: &Block) -> Length {
    match pose.angle {
        Angle::Flat => pose.across - met.across.lo,
        Angle::Upright => met.height.hi - pose.height,
    }
}

/// How many columns are taken before the log would roll, slide or lift, by the factors of the profile.
#[must_use]
pub fn held(mill: &MillRecord, columns: &[Column]) -> usize {
    use bunkside_planner::physics::margins::demanded;
    let factors = &mill.factors;
    let holds = |margins: &Margins| {
        margins.roll() >= demanded(factors.roll)
            && margins.slip >= demanded(factors.slip)
            && margins.lift >= demanded(factors.lift)
    };
    let keeps = |column: &&Column| column.fed && holds(&column.during) && holds(&column.rest);
    columns.iter().take_while(keeps).count()
}
