//! Random logs on the mills of the examples.

use std::sync::OnceLock;

use bunkside_planner::layout::{Product, plain};
use bunkside_planner::limits::STANDS_ALONE;
use bunkside_planner::plan::{Column, Freeing, Use};
use bunkside_planner::replay::{Replay, Setup};
use bunkside_planner::sequence::Faces;
use bunkside_protocol::mill::Box3;
use bunkside_protocol::{Acts, Form, Length, LogRecord, MillRecord, Position, Station, Timber};

use super::super::level::Level;
use crate::cut_plan::{OwnedLayer, OwnedPlan};

/// A small generator of the xorshift family; the seed tells the case.
pub(crate) struct Chance(u64);

impl Chance {
    pub(crate) fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1)
    }

    fn next(&mut self) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 11
    }

    pub(crate) fn within(&mut self, low: i64, high: i64) -> i64 {
        let span = u64::try_from(high - low + 1).unwrap();
        low + i64::try_from(self.next() % span).unwrap()
    }

    pub(crate) fn mm(&mut self, low: i64, high: i64) -> Length {
        Length::um(self.within(low * 10, high * 10) * 100)
    }

    pub(crate) fn one_in(&mut self, count: i64) -> bool {
        self.within(1, count) == 1
    }
}

/// The mill and the log of an example.
fn sample(name: &'static str) -> (MillRecord, LogRecord) {
    let job = super::example(name);
    (job.mill, job.log)
}

/// A mill of the examples: three powered for each by hand.
pub(crate) fn mill(chance: &mut Chance) -> MillRecord {
    static BOTH: OnceLock<[MillRecord; 2]> = OnceLock::new();
    let [powered, hand] = BOTH.get_or_init(|| [sample("b-01").0, sample("p-07").0]);
    let mut mill = if chance.one_in(4) { hand } else { powered }.clone();
    if let Some(knife) = &mut mill.knife {
        knife.fitted_at_start = chance.one_in(2);
    }
    mill.power.watts = u32::try_from(chance.within(7_000, 20_000)).unwrap();
    if let Some(knife) = &mut mill.knife {
        // In one of three it leads outbound, by a number drawn already.
        knife.leads_homebound = mill.power.watts % 3 > 0;
    }
    mill
}

/// A log with its underside on the bunks, small end and length in millimetres; the mill's bunks and wedges are set for it.
pub(crate) fn log(
    chance: &mut Chance,
    mill: &mut MillRecord,
    small: (i64, i64),
    length: (i64, i64),
) -> LogRecord {
    let mut log = sample("b-01").1;
    let length = chance.within(length.0, length.1);
    let small = chance.within(small.0, small.1);
    let large = small + chance.within(0, 12) * length / 1000;
    let (near, far) = if chance.one_in(2) {
        (small, large)
    } else {
        (large, small)
    };
    log.bark = Length::mm(i32::try_from(chance.within(0, 15)).unwrap());
    log.timber = Timber::ALL[usize::try_from(chance.within(0, 2)).unwrap()];
    log.form = Form::Round;
    log.metal.clear();
    log.stations.clear();
    for (at, across) in [(0, near), (length, far)] {
        let half = Length::um(across * 500);
        let station = Station {
            travel: Position::um(600_000 + at * 1000),
            centre_across: Position::ZERO,
            centre_height: Position::um(large * 500 + log.bark.wide()),
            half_width: half,
            half_height: half,
            skew: Length::ZERO,
        };
        log.stations.push(station).unwrap();
    }
    for (bunk, sixths) in mill.bunks.iter_mut().zip([1, 3, 5]) {
        bunk.travel = Position::um(600_000 + length * 1000 * sixths / 6);
    }
    let half = Length::um(large * 500);
    mill.wedges.reach = Length::um(half.wide() * 2 / 5);
    mill.wedges.height = Length::um(half.wide() / 10);
    mill.wedges.packing = Length::mm(200);
    mill.dogs.clear();
    log
}

/// One or two boxes on the bed past the log's ends, each a dog or kept free.
pub(super) fn stand_boxes(chance: &mut Chance, mill: &mut MillRecord, log: &LogRecord) {
    for _ in 0..chance.within(1, 2) {
        let end = if chance.one_in(2) {
            0
        } else {
            log.stations.len() - 1
        };
        let out = if end == 0 { -1 } else { 1 };
        let from = log.stations[end].travel + Length::um(out * chance.within(150, 450) * 1000);
        let across = Position::ZERO + chance.mm(-400, 300);
        let (long, wide, high) = (chance.mm(20, 60), chance.mm(20, 200), chance.mm(10, 60));
        let record = Box3 {
            min: [from, across, Position::ZERO],
            max: [from + long, across + wide, Position::ZERO + high],
        };
        let full = if chance.one_in(2) {
            mill.dogs.push(record)
        } else {
            mill.keep_out.push(record)
        };
        full.unwrap();
    }
}

/// One or two layers of one to four columns anywhere in the log.
pub(super) fn plan(chance: &mut Chance, setup: &Setup<'_>) -> OwnedPlan {
    let log = setup.shape.bounds().height;
    let height = |percent: i64| log.lo + Length::um(log.length().wide() * percent / 100);
    let two = chance.one_in(3);
    let low = if chance.one_in(3) { 15 } else { 27 };
    let first = if two {
        chance.within(60, 85)
    } else {
        chance.within(low, 80)
    };
    let second = two.then(|| chance.within(low, first - 20));
    let floors = [Some(first), second].into_iter().flatten();
    let layers = floors.map(|floor| {
        let edges = chance.within(0, if two { 1 } else { 3 });
        let across = |percent: i64| Position::um(log.length().wide() * percent / 100);
        let mut places: Vec<Position> = (0..edges).map(|_| across(chance.within(-40, 40))).collect();
        places.sort();
        // No column stands on a foot too narrow for its height.
        let apart = Length::um(log.length().wide() / i64::from(STANDS_ALONE)) + setup.mill.blade.kerf;
        places.dedup_by(|next, last| *next - *last < apart);
        let columns = places.into_iter().map(Some).chain([None]);
        let columns = columns.map(|to| Column {
            to,
            freeing: Freeing::Take,
            use_: Use::Waste,
        });
        OwnedLayer {
            floor: height(floor),
            columns: if edges == 0 { Vec::new() } else { columns.collect() },
            passes: chance.one_in(6).then_some(2),
            hold: Acts::NONE,
        }
    });
    OwnedPlan {
        layers: layers.collect(),
    }
}

/// Cuts one layer below the log's middle, its last upright kerf where what is beyond hangs by a thread.
pub(super) fn leave_a_thread(chance: &mut Chance, setup: &Setup<'_>, plan: &mut OwnedPlan) {
    let log = setup.shape.bounds().height;
    let floor = log.lo + Length::um(log.length().wide() * chance.within(27, 45) / 100);
    let floor = floor.snapped(setup.mill.grid);
    let replay = Replay::new(setup, 0);
    let faces = Faces {
        setup,
        stock: replay.stock(),
    };
    let end = faces.face(floor).unwrap().hi;
    let width = chance.one_in(2).then(|| chance.mm(40, 120));
    plan.layers.truncate(1);
    for tenths in 1..100 {
        let last = (end - Length::um(tenths * 100)).snapped(setup.mill.grid);
        let other = width.map(|width| last - width);
        let column = |to| Column {
            to,
            freeing: Freeing::Take,
            use_: Use::Waste,
        };
        if let Some(layer) = plan.layers.first_mut() {
            let edges = other.into_iter().chain([last]).map(Some);
            layer.floor = floor;
            layer.columns = edges.chain([None]).map(column).collect();
        }
        let hangs = plan.with_plan(|plan| {
            let level = plan
                .layers
                .first()
                .map(|layer| Level::new(setup, &replay, 0, layer, &[]));
            matches!(level, Some(Ok(Some(level))) if !level.threads.is_empty())
        });
        if hangs {
            return;
        }
    }
}

/// An order of one to three products, laid out on a log the plain way.
pub(super) fn laid_out(chance: &mut Chance, setup: &Setup<'_>) -> Option<OwnedPlan> {
    let whole = setup.shape.travel().length();
    let lengths = [whole - Length::mm(60)];
    let count = chance.within(1, 3);
    let products: Vec<Product<'_>> = (0..count)
        .map(|_| Product {
            thickness: chance.mm(20, 80),
            width: chance.mm(70, 180),
            lengths: &lengths,
            most: chance.one_in(4).then_some(3),
        })
        .collect();
    let draft = plain(setup, &products, Length::mm(25)).ok()?;
    Some(draft.with_plan(|plan| plan.into()))
}
