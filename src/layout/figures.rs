//! Figures of the layout: time, memory, what it brings over the hand habit. They are printed; memory, proofs and that nothing
//! sawn brings more than the bound are tested, on few logs unless more are asked for.
//!
//! `BUNKSIDE_RUNS=9 cargo test --release --lib layout::figures -- --nocapture --test-threads 1`

use std::time::{Duration, Instant};

use bunkside_planner::replay::Setup;
use bunkside_protocol::{Length, LogRecord, Position};

use super::{
    Layout, Line, Memories, STACKS, TRIES, Wishes, best, best_at, sawable, stretches, wanted, within, worth,
};
use crate::job::{BoardSpec, Job};
use crate::order::tests::random::{Chance, log, mill};
use crate::order::tests::{example, seeds};
use crate::planned::lay_out_plainly;

/// Bytes that may be lent for a layout.
const LENT_MAX: usize = 16 << 20;

/// What is wanted.
#[derive(Clone, Copy, Debug)]
enum Order {
    /// One section, one length.
    One,
    /// So many sections, five lengths each.
    Many(u8),
    /// The same, of every third section no more than four.
    Limited(u8),
}

/// A job on a log so thick, straight or swept by up to 20 mm a metre.
fn job(seed: u64, across: i64, swept: bool, order: Order) -> Job {
    let mut chance = Chance::new(seed + 7_000);
    let mut job = example("b-01");
    job.core = None;
    job.step = Length::um(100);
    job.mill.across.max = Position::mm(900);
    job.mill.across.min = Position::mm(-900);
    job.log = log(&mut chance, &mut job.mill, (across, across), (4_900, 5_000));
    if swept {
        sweep(&mut chance, &mut job.log);
    }
    let pattern = job.boards[0].clone();
    let length = |number: i64| Length::um(4_800_000 - number * 600_000);
    let (sections, lengths) = match order {
        Order::One => (1, 1),
        Order::Many(sections) | Order::Limited(sections) => (sections, 5),
    };
    job.boards = (0..sections)
        .map(|number| {
            let at = i64::from(number);
            let (thick, wide) = (
                [25, 32, 38, 50, 75][number as usize % 5],
                75 + at / 5 * 50 + at % 3 * 25,
            );
            let lengths: Vec<Length> = (0..lengths).map(length).collect();
            let price = chance.within(300, 500);
            let value = |length: &Length| thick * wide * length.wide() / 1_000 * price / 1_000_000;
            BoardSpec {
                name: format!("p{number}"),
                thickness: Length::um(thick * 1_000),
                width: Length::um(wide * 1_000),
                values: lengths.iter().map(value).collect(),
                lengths,
                least: 0,
                most: (matches!(order, Order::Limited(_)) && number % 3 == 0).then_some(4),
                ..pattern.clone()
            }
        })
        .collect();
    job
}

fn sweep(chance: &mut Chance, log: &mut LogRecord) {
    let (first, last) = (log.stations[0], log.stations[1]);
    let by = chance.within(10, 20) * (last.travel - first.travel).wide() / 1_000;
    let mut middle = first;
    middle.travel = Position::um((first.travel.from_origin().wide() + last.travel.from_origin().wide()) / 2);
    middle.half_width = Length::um((first.half_width.wide() + last.half_width.wide()) / 2);
    middle.half_height = middle.half_width;
    middle.centre_across = Position::um(by / 4);
    log.stations.insert(1, middle).unwrap();
}

/// The best layout, with the memory that was lent for it.
fn found(job: &Job, setup: &Setup<'_>) -> (Layout, usize) {
    let lent = |try_: u32| {
        let wishes = Wishes::of(job);
        let layout = within(job, setup, &wishes, (1 << try_, None)).ok()?;
        let heights = usize::try_from(setup.shape.bounds().height.length().wide() / 100).unwrap() + 2;
        let wanted: Vec<_> = wishes
            .lines
            .iter()
            .filter_map(|line| wanted(job, (line, &line.values), None))
            .collect();
        let memories = Memories::new(heights, stretches(&wanted).ok()?, wishes.stacks, 1 << try_);
        Some((layout, memories.bytes()))
    };
    (0..TRIES).find_map(lent).unwrap()
}

#[test]
fn time_and_memory() {
    println!("log mm  order             median ms  worst ms  lent MiB  boards  proven");
    let many = seeds(1).count() > 1;
    let thick: &[i64] = if many {
        &[180, 300, 600, 900, 1_200]
    } else {
        &[180, 300]
    };
    let orders = [
        ("one length", false, Order::One),
        ("75 lines", false, Order::Many(15)),
        ("75 lines, swept", true, Order::Many(15)),
        ("25 lines, limits", false, Order::Limited(5)),
    ];
    for across in thick.iter().copied() {
        for (name, swept, order) in orders.into_iter().take(if many { 4 } else { 3 }) {
            let (mut times, mut lent, mut boards, mut proven) = (Vec::new(), 0, 0, 0);
            for seed in seeds(1) {
                let job = job(seed, across, swept, order);
                let setup = Setup::new(&job.mill, &job.log).unwrap();
                let (layout, bytes) = found(&job, &setup);
                lent = lent.max(bytes);
                assert!(bytes <= LENT_MAX, "{across} {name}: {bytes}");
                let limited = matches!(order, Order::Limited(_));
                assert!(
                    limited || layout.found.worth == layout.found.bound,
                    "{across} {name}"
                );
                boards = boards.max(layout.boards.len());
                proven += u32::from(layout.found.worth == layout.found.bound);
                let took = (0..3).map(|_| {
                    let now = Instant::now();
                    let again = best(&job, &setup).unwrap();
                    assert_eq!(again.found.worth, layout.found.worth);
                    now.elapsed()
                });
                times.push(took.min().unwrap());
            }
            times.sort_unstable();
            let ms = |time: Duration| time.as_secs_f64() * 1e3;
            println!(
                "{across:6}  {name:16}  {:9.2}  {:8.2}  {:8.1}  {boards:6}  {proven} of {}",
                ms(times[times.len() / 2]),
                ms(times[times.len() - 1]),
                lent as f64 / f64::from(1 << 20),
                times.len()
            );
        }
    }
}

/// `BUNKSIDE_RUNS=500` for five hundred logs.
#[test]
fn value_over_the_hand_habit() {
    let (mut over, mut given_up, mut none) = (Vec::new(), Vec::new(), 0);
    for seed in seeds(4) {
        let mut chance = Chance::new(seed + 31_000);
        let names = ["b-01", "g-04", "p-07", "oak-14"];
        let mut job = example(names[usize::try_from(seed).unwrap() % names.len()]);
        job.mill = mill(&mut chance);
        job.log = log(&mut chance, &mut job.mill, (180, 480), (4_950, 5_400));
        let setup = Setup::new(&job.mill, &job.log).unwrap();
        let Some(found) = sawable(&job, &setup).filter(|found| !found.any.boards.is_empty()) else {
            continue;
        };
        let Some(sawn) = found.sawable else {
            none += 1;
            continue;
        };
        let brings = worth(&job, &sawn.plan) as f64;
        assert!(brings <= found.any.found.bound as f64, "{seed}");
        given_up.push(1.0 - brings / found.any.found.worth as f64);
        let plain = lay_out_plainly(&job, &setup).map_or(0, |plan| worth(&job, &plan));
        assert!(
            plain <= found.any.found.bound && brings <= found.any.found.bound as f64,
            "{seed}"
        );
        if plain > 0 {
            over.push(brings / plain as f64 - 1.0);
        }
    }
    let told = |name: &str, all: &mut Vec<f64>| {
        all.sort_unstable_by(f64::total_cmp);
        let at = |share: usize| all[(all.len() - 1) * share / 100] * 100.0;
        println!(
            "{name}: {} logs, median {:.2} %, least {:.2} %, tenth {:.2} %, ninetieth {:.2} %, most {:.2} %",
            all.len(),
            at(50),
            at(0),
            at(10),
            at(90),
            at(100)
        );
    };
    told("over the hand habit", &mut over);
    told("given up to be sawn", &mut given_up);
    println!("none found that can be sawn by rule of thumb: {none}");
}

/// What is found of a job at some lines, and what it took.
fn tell(name: &str, job: &Job, lines: &[Line]) {
    let setup = Setup::new(&job.mill, &job.log).unwrap();
    let now = Instant::now();
    let found = best_at(job, &setup, lines, STACKS).unwrap().found;
    assert!(
        found.worth <= found.bound && found.bound <= found.priced,
        "{name}"
    );
    println!(
        "{name:14} {:9.2} ms  {} of {}, {} by prices alone; {} rounds, {} stacks",
        now.elapsed().as_secs_f64() * 1e3,
        found.worth,
        found.bound,
        found.priced,
        found.rounds,
        found.stacks
    );
}

/// Three boards of each product are owed, and a missing one costs a third of what it brings.
fn owed(job: &Job) -> Vec<Line> {
    let mut lines = Vec::new();
    for line in Line::all(job) {
        let more = line.values.iter().max().map_or(0, |value| value / 3);
        let owed = line.most.map_or(3, |most| most.min(3));
        lines.push(Line {
            values: line.values.iter().map(|value| value + more).collect(),
            most: Some(owed),
            ..line.clone()
        });
        let most = line.most.map(|most| most - owed);
        if most != Some(0) {
            lines.push(Line { most, ..line });
        }
    }
    lines
}

/// Limits, and what is owed: `BUNKSIDE_RUNS=9` for all logs and examples.
#[test]
fn limits_take() {
    let many = seeds(1).count() > 1;
    for across in [300, 600, 900].into_iter().take(if many { 3 } else { 1 }) {
        for seed in seeds(1) {
            let job = job(seed, across, false, Order::Limited(5));
            tell(&format!("{across} mm, {seed}"), &job, &Line::all(&job));
        }
    }
    for name in ["e-09", "g-04", "b-01", "a-02", "oak-14"]
        .into_iter()
        .take(if many { 5 } else { 1 })
    {
        let mut job = example(name);
        job.step = Length::um(100);
        tell(name, &job, &Line::all(&job));
        tell(&format!("{name}, owed"), &job, &owed(&job));
    }
}
