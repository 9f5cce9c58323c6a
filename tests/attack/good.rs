//! Good sequences to be spoilt: the examples, and random logs on three kinds of mill, planned by the sequencer that
//! follows the habits of hand sawyers.

use std::fs;
use std::path::Path;

use bunkside::diagnostic::Source;
use bunkside::job::{self, Job};
use bunkside::planned::{Planned, lay_out};
use bunkside::trace::{Trace, Traced};
use bunkside_planner::audit::Verdict;
use bunkside_planner::layout::{Draft, Product, plain};
use bunkside_planner::machine::Pose;
use bunkside_planner::plan::{Column, CutPlan, Freeing, Layer};
use bunkside_planner::replay::{CutFacts, Setup, Step};
use bunkside_planner::sequence::sequence;
use bunkside_protocol::mill::{Knife, PullBackAid};
use bunkside_protocol::{
    Cut, Length, LogRecord, MillRecord, Move, Position, Station, Stroke, Targets, Timber,
};

use crate::dice::Dice;

// The newest last: each has a seed of its own by its place.
const JOBS: [&str; 9] = [
    "a-02", "b-01", "e-09", "g-04", "oak-14", "p-07", "s-11", "d-18", "l-21",
];

/// A log on a mill.
#[derive(Clone)]
pub(crate) struct World {
    pub(crate) name: String,
    pub(crate) mill: MillRecord,
    pub(crate) log: LogRecord,
}

/// A good sequence, and what each of its moves did.
pub(crate) struct Good<'a> {
    pub(crate) world: &'a World,
    pub(crate) setup: &'a Setup<'a>,
    pub(crate) moves: Vec<Move>,
    pub(crate) ran: Vec<Traced>,
}

/// A cut that meets wood, with all that is known of it.
#[derive(Clone, Copy)]
pub(crate) struct Met<'g> {
    pub(crate) told: Cut,
    pub(crate) pose: Pose,
    pub(crate) step: &'g Step,
    pub(crate) facts: &'g CutFacts,
    pub(crate) ran: &'g Traced,
}

impl<'a> Good<'a> {
    /// None where the sequence is no good one.
    fn new(world: &'a World, setup: &'a Setup<'a>, moves: Vec<Move>) -> Option<Self> {
        let trace = Trace::run(setup, &moves);
        (trace.verdict != Verdict::Refused).then_some(Self {
            world,
            setup,
            moves,
            ran: trace.moves,
        })
    }

    pub(crate) fn mill(&self) -> &'a MillRecord {
        self.setup.mill
    }

    pub(crate) fn pose(&self, at: usize) -> Pose {
        self.ran[at].step.before
    }

    /// The sequence with some moves put in the place of others.
    pub(crate) fn with(&self, at: usize, range: usize, put: &[Move]) -> Vec<Move> {
        let mut moves = self.moves.clone();
        moves.splice(at..at + range, put.iter().copied());
        moves
    }

    pub(crate) fn cut(&self, at: usize) -> Option<Cut> {
        match *self.moves.get(at)? {
            Move::Cut(cut) => Some(cut),
            _ => None,
        }
    }

    /// The cut at a place, where it meets wood.
    pub(crate) fn met(&self, at: usize) -> Option<Met<'_>> {
        let told = self.cut(at)?;
        let ran = &self.ran[at];
        let facts = ran.step.cut.as_ref()?;
        facts.met?;
        Some(Met {
            told,
            pose: ran.step.before,
            step: &ran.step,
            facts,
            ran,
        })
    }

    pub(crate) fn go(&self, at: usize) -> Option<Targets> {
        match *self.moves.get(at)? {
            Move::Go(to) => Some(to),
            _ => None,
        }
    }

    pub(crate) fn cuts_after(&self, at: usize) -> bool {
        self.moves[at..].iter().any(|next| matches!(next, Move::Cut(_)))
    }

    /// The middle of the log along the rails.
    pub(crate) fn middle(&self) -> Position {
        let log = self.setup.shape.travel();
        log.lo + Length::um(i64::from((log.hi - log.lo).as_um()) / 2)
    }

    /// Whether a cut follows before the height is told anew.
    pub(crate) fn is_cut_at(&self, at: usize) -> bool {
        let later = self.moves[at + 1..].iter();
        later
            .take_while(|next| !matches!(next, Move::Go(to) if to.height.is_some()))
            .any(|next| matches!(next, Move::Cut(_)))
    }

    /// The way from one pose past the log's end to another: up, along, round, across, down.
    pub(crate) fn way(&self, from: &Pose, to: &Pose) -> Vec<Move> {
        let mut way = vec![up(self.mill().height.max), Move::Go(Targets::travel(to.travel))];
        if from.angle != to.angle {
            way.push(Move::Swing(to.angle));
        }
        way.extend([across(to.across), up(to.height)]);
        way
    }

    /// The place from which a stroke runs that ends where this one begins, and its cut.
    pub(crate) fn turned(&self, at: usize) -> Option<(Pose, Cut)> {
        let cut = self.cut(at)?;
        let pose = self.pose(at);
        let back = Cut {
            to: Targets::travel(pose.travel),
            feed: None,
            ..cut
        };
        let travel = cut.to.travel?;
        Some((Pose { travel, ..pose }, back))
    }
}

/// To a height, nothing else.
pub(crate) fn up(height: Position) -> Move {
    Move::Go(Targets {
        height: Some(height),
        ..Targets::default()
    })
}

/// To a place across, nothing else.
pub(crate) fn across(place: Position) -> Move {
    Move::Go(Targets {
        across: Some(place),
        ..Targets::default()
    })
}

fn example(name: &str) -> Job {
    let path = format!("examples/jobs/{name}.toml");
    let text = fs::read_to_string(&path).unwrap();
    let load = |mill: &Path| fs::read_to_string(mill);
    let outcome = job::read(&Source::new(path, text), &load);
    let said = outcome.rendered();
    outcome.job.unwrap_or_else(|| panic!("{said}"))
}

/// Every example, planned, with its own stream of numbers.
pub(crate) fn each_example(mut check: impl FnMut(&Good<'_>, &mut Dice)) {
    for (name, seed) in JOBS.into_iter().zip(11..) {
        let job = example(name);
        let world = World {
            name: name.to_owned(),
            mill: job.mill.clone(),
            log: job.log.clone(),
        };
        let setup = Setup::new(&world.mill, &world.log).unwrap();
        let plan = lay_out(&job, &setup).unwrap();
        let planned = Planned::new(&job, &setup, &plan).unwrap();
        let good = Good::new(&world, &setup, planned.moves.clone()).expect("a good example");
        check(&good, &mut Dice::new(seed));
    }
}

/// The mills of the examples, as they are and in between: a powered one that swings under.
pub(crate) struct Mills {
    over: MillRecord,
    under: MillRecord,
    hand: MillRecord,
    log: LogRecord,
}

impl Mills {
    pub(crate) fn new() -> Self {
        let (powered, by_hand) = (example("g-04"), example("p-07"));
        let (over, hand) = (powered.mill, by_hand.mill);
        assert!(hand.drive.is_hand(), "the pole is sawn by hand");
        let mut under = hand.clone();
        under.drive = over.drive;
        under.reach.bite = over.reach.bite;
        under.power = over.power;
        Self {
            over,
            under,
            hand,
            log: powered.log,
        }
    }

    /// The powered mill that swings over, and a log.
    pub(crate) fn records(&self) -> (MillRecord, LogRecord) {
        (self.over.clone(), self.log.clone())
    }

    /// A mill of one of three kinds: the blade swings over, under, or the carriage is pushed by hand.
    fn mill(&self, dice: &mut Dice) -> (&'static str, MillRecord) {
        let (name, mut mill) = match dice.below(3) {
            0 => ("powered over", self.over.clone()),
            1 => ("powered under", self.under.clone()),
            _ => ("hand", self.hand.clone()),
        };
        if let Some(knife) = &mut mill.knife {
            knife.fitted_at_start = dice.once_in(3);
        } else if dice.once_in(2) {
            mill.knife = Some(Knife {
                leads_homebound: true,
                homebound_limit: [Length::mm(60), Length::mm(165)],
                fitted_at_start: false,
            });
        }
        if !mill.drive.is_hand() {
            if dice.once_in(4) {
                mill.swing.teeth_flat = Stroke::Homebound;
            }
            if dice.once_in(3) {
                mill.aid = Some(PullBackAid {
                    widest: Length::mm(300),
                    on_at_start: dice.once_in(2),
                });
            }
        }
        (name, mill)
    }

    /// A log of 180 to 420 mm, 1.8 to 3.6 m long, level underneath: taper to 12 mm/m, bow to 8 mm/m upward or to a
    /// side, ovality to 8 %, bark to 20 mm.
    fn log(&self, dice: &mut Dice) -> LogRecord {
        let mut log = self.log.clone();
        let length = dice.between(1_800, 3_600);
        let small = dice.between(180, 420);
        let taper = dice.between(0, 12) * length / 1000;
        let (near, far) = if dice.once_in(2) {
            (small, small + taper)
        } else {
            (small + taper, small)
        };
        let flat = dice.between(0, 80);
        let bow = if dice.once_in(2) {
            0
        } else {
            dice.between(0, 8) * length
        };
        let (aside, upward) = dice.pick(&[(0, 1), (1, 0), (-1, 0)]);
        log.bark = Length::mm(dice.within(0, 20));
        log.timber = dice.pick(&Timber::ALL);
        log.stations.clear();
        let count = if bow == 0 { 2 } else { 9 };
        for number in 0..count {
            let part = |from: i64, to: i64| from + (to - from) * number / (count - 1);
            let half_width = part(near * 500, far * 500);
            let half_height = half_width * (1000 - flat) / 1000;
            let arch = 4 * bow * number * (count - 1 - number) / (count - 1) / (count - 1);
            let station = Station {
                travel: Position::um(600_000 + part(0, length * 1000)),
                centre_across: Position::um(aside * arch),
                centre_height: Position::um(half_height + upward * arch + log.bark.wide()),
                half_width: Length::um(half_width),
                half_height: Length::um(half_height),
                skew: Length::ZERO,
            };
            log.stations.push(station).unwrap();
        }
        log
    }

    /// Random logs on random mills with a plan for each; `check` is not called where there is no good one.
    pub(crate) fn each_random(
        &self,
        seeds: std::ops::Range<u64>,
        mut check: impl FnMut(&Good<'_>, &mut Dice),
    ) {
        for seed in seeds {
            let mut dice = Dice::new(1_000_000 + seed);
            let (kind, mut mill) = self.mill(&mut dice);
            if let Some(knife) = &mut mill.knife {
                knife.leads_homebound = seed % 3 > 0;
            }
            let world = World {
                name: format!("seed {seed}, {kind}"),
                mill,
                log: self.log(&mut dice),
            };
            let setup = Setup::new(&world.mill, &world.log).unwrap();
            let moves = random_moves(&setup, &mut dice);
            if let Some(good) = moves.and_then(|moves| Good::new(&world, &setup, moves)) {
                check(&good, &mut dice);
            }
        }
    }
}

fn random_moves(setup: &Setup<'_>, dice: &mut Dice) -> Option<Vec<Move>> {
    let lengths = [setup.shape.travel().length() - Length::mm(60)];
    let products: Vec<Product<'_>> = (0..dice.within(1, 3))
        .map(|_| Product {
            thickness: Length::um(dice.between(200, 750) * 100),
            width: Length::um(dice.between(500, 1500) * 100),
            lengths: &lengths,
            most: None,
        })
        .collect();
    let draft = plain(setup, &products, Length::mm(25)).ok()?;
    let release = dice.once_in(2);
    let mut moves = Vec::new();
    let mut sink = |told: &Move| {
        moves.push(*told);
        true
    };
    let made = sequenced(setup, &draft, release.then_some(dice), &mut sink);
    made.then_some(moves)
}

/// Sequences a draft; with dice, some neighbours that the blade surely reaches under are released together.
fn sequenced(
    setup: &Setup<'_>,
    draft: &Draft,
    mut dice: Option<&mut Dice>,
    sink: &mut dyn FnMut(&Move) -> bool,
) -> bool {
    draft.with_plan(|plan| {
        let columns: Vec<Vec<Column>> = plan
            .layers
            .iter()
            .map(|layer| released(layer.columns, dice.as_deref_mut()))
            .collect();
        let layers: Vec<Layer<'_>> = plan
            .layers
            .iter()
            .zip(&columns)
            .map(|(layer, columns)| Layer { columns, ..*layer })
            .collect();
        sequence(setup, &CutPlan { layers: &layers }, sink).is_ok()
    })
}

fn released(columns: &[Column], dice: Option<&mut Dice>) -> Vec<Column> {
    let mut columns = columns.to_vec();
    let Some(dice) = dice else { return columns };
    let mut number = 1;
    while number + 1 < columns.len() {
        let ends = columns[number - 1].to.zip(columns[number + 1].to);
        let narrow = ends.is_some_and(|(before, after)| after - before < Length::mm(140));
        if narrow && dice.once_in(2) {
            columns[number].freeing = Freeing::Release;
            columns[number + 1].freeing = Freeing::Release;
            number += 3;
        } else {
            number += 1;
        }
    }
    columns
}
