//! How long layouts take, of the examples and of an order with as many lines as there may be, each with grain as nobody minds it and
//! as it lies: `BUNKSIDE_RUNS=5 cargo test --release --lib layouts_take -- --nocapture`. Fewer runs look at the quick ones alone.

use std::time::{Duration, Instant};

use bunkside_planner::replay::Setup;
use bunkside_protocol::Length;

use super::{best, bound_on_any_step};
use crate::job::{BoardSpec, Job};
use crate::order::tests::random::Chance;
use crate::order::tests::{example, seeds};

/// The least of some times, each of a layout and of a bound on any step.
fn times(job: &Job) -> [Duration; 2] {
    let setup = Setup::new(&job.mill, &job.log).unwrap();
    let mut least = [Duration::MAX; 2];
    for _ in seeds(1) {
        let started = Instant::now();
        let found = best(job, &setup).unwrap().found;
        least[0] = least[0].min(started.elapsed());
        assert_eq!(found.worth, found.bound, "{found:?}");
        let started = Instant::now();
        assert!(bound_on_any_step(job, &setup).is_some());
        least[1] = least[1].min(started.elapsed());
    }
    least
}

/// Sizes as of Douglas-fir dried to 12 %: 4.56 % of what shrinks tangentially, 3.72 % of what lies at 45 degrees.
fn dried(job: &Job, by_grain: bool) -> Job {
    let mut job = job.clone();
    for board in &mut job.boards {
        let [thickness, width] = [board.thickness, board.width];
        let up = |size: Length, share: f64| {
            let tenths = (size.wide() as f64 / (1.0 - share) / 100.0).ceil();
            Length::um(tenths as i64 * 100)
        };
        let [most, midway] = [0.0456, 0.0372];
        (board.thickness, board.width) = (up(thickness, most), up(width, most));
        if by_grain {
            board.by_grain = [
                Some([up(thickness, midway), board.width]),
                Some([board.thickness, up(width, midway)]),
            ];
        }
    }
    job
}

/// An order of 75 lines: five thicknesses, five widths, three lengths each, as products with one length; some of them limited.
fn long_order(limited: usize) -> Job {
    let mut job = example("g-04");
    job.step = Length::um(100);
    let pattern = job.boards[0].clone();
    let mut chance = Chance::new(75);
    job.boards.clear();
    for (number, thickness) in [19, 25, 32, 38, 50].into_iter().enumerate() {
        for (other, width) in [75, 100, 125, 150, 175].into_iter().enumerate() {
            for (third, length) in [3_600, 2_400, 1_800].into_iter().enumerate() {
                let at = number * 15 + other * 3 + third;
                let value = thickness * width * length / 10_000 * chance.within(80, 120) / 100;
                job.boards.push(BoardSpec {
                    name: format!("p{at}"),
                    thickness: Length::mm(thickness as i32),
                    width: Length::mm(width as i32),
                    lengths: vec![Length::mm(length as i32)],
                    values: vec![value],
                    least: 0,
                    most: (at % 75 < limited).then_some(2),
                    ..pattern.clone()
                });
            }
        }
    }
    job
}

/// Those that are laid out in no time.
const QUICK: [&str; 4] = ["e-09", "g-04", "p-07", "s-11"];

#[test]
fn layouts_take() {
    let mut jobs: Vec<(String, Job)> = ["a-02", "b-01", "e-09", "g-04", "oak-14", "p-07", "s-11"]
        .map(|name| (name.to_owned(), example(name)))
        .into();
    jobs.push(("75 lines".to_owned(), long_order(0)));
    if seeds(1).count() == 1 {
        jobs.retain(|(name, _)| QUICK.contains(&name.as_str()));
    }
    for (_, job) in &mut jobs {
        job.step = Length::um(100);
    }
    let only = std::env::var("BUNKSIDE_ONLY").unwrap_or_default();
    for (name, job) in jobs.into_iter().filter(|(name, _)| name.contains(&only)) {
        let words = [false, true].map(|by_grain| {
            let [layout, bound] = times(&dried(&job, by_grain)).map(|time| time.as_secs_f64() * 1e3);
            format!("{layout:7.2} ms, bound {bound:7.2} ms")
        });
        println!("{name:10} {}; by grain {}", words[0], words[1]);
    }
}
