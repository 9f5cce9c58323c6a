use core::sync::atomic::AtomicBool;
use std::time::Instant;

use bunkside_planner::replay::Setup;

use super::sawn::by_habit;
use super::whole::{Work, allot};
use super::{Demand, Lot, Pattern, brings, made, sawn};
use crate::job::Job;
use crate::order::tests::example;
use crate::order::tests::random::{Chance, log};

/// So many logs of one example, and what is wanted of all of them.
fn yard(seed: u64, logs: usize) -> (Vec<Job>, Vec<Demand>) {
    let mut chance = Chance::new(seed + 400_000);
    let names = ["b-01", "g-04", "oak-14", "a-02"];
    let name = names[usize::try_from(chance.within(0, 3)).unwrap()];
    let jobs: Vec<Job> = (0..logs)
        .map(|_| {
            let mut job = example(name);
            job.log = log(&mut chance, &mut job.mill, (180, 480), (3_600, 5_400));
            job
        })
        .collect();
    let demands = jobs[0].boards.iter().map(|board| {
        let owed = u32::try_from(chance.within(0, 4)).unwrap() * u32::try_from(logs).unwrap() / 2;
        let more = u32::try_from(chance.within(0, 3)).unwrap() * u32::try_from(logs).unwrap();
        Demand {
            least: owed,
            most: chance.one_in(2).then_some(owed + more),
            missing: board.values.iter().copied().max().unwrap_or(0) * 3,
        }
    });
    let demands = demands.collect();
    (jobs, demands)
}

fn lots(jobs: &[Job]) -> Vec<Lot<'_>> {
    let setup = |job| Lot {
        job,
        setup: Setup::new(&job.mill, &job.log).unwrap(),
    };
    jobs.iter().map(setup).collect()
}

/// Where the best layout cannot be sawn, nor one like it, the hand habit's may bring something, and of a log too that was left.
#[test]
fn no_log_brings_less_than_by_the_hand_habit() {
    let stop = AtomicBool::new(false);
    let work = Work {
        threads: 2,
        stop: &stop,
        until: None,
    };
    let mut by_hand = 0;
    for seed in crate::order::tests::seeds(12) {
        let (jobs, demands) = yard(seed, 3);
        let lots = lots(&jobs);
        let sawn = sawn(&lots, &demands, &[None, None, None], &work);
        let own = |log: usize| sawn[log].as_ref().map(|sawn| sawn.pattern.clone());
        for log in 0..lots.len() {
            let others: Vec<Option<Pattern>> = (0..lots.len())
                .map(|other| if other == log { None } else { own(other) })
                .collect();
            let most = demands.iter().zip(made(&others, demands.len()));
            let most = most.map(|(demand, made)| demand.most.map(|most| most - made));
            let beside = |pattern: Option<Pattern>| {
                let mut all = others.clone();
                all[log] = pattern;
                brings(&all, &demands)
            };
            let habit = by_habit(&lots[log], most).map(|sawn| sawn.pattern);
            by_hand += usize::from(own(log).is_some_and(|own| own.lines.is_empty()));
            assert!(beside(own(log)) >= beside(habit), "{seed}, log {log}");
        }
    }
    assert!(by_hand > 0);
}

#[test]
fn no_limit_is_passed_and_the_bound_holds() {
    let logs: usize = std::env::var("BUNKSIDE_LOGS").map_or(5, |logs| logs.parse().unwrap());
    for seed in crate::order::tests::seeds(4) {
        let (jobs, demands) = yard(seed, logs);
        let lots = lots(&jobs);
        let started = Instant::now();
        let mut first = None;
        let stop = AtomicBool::new(false);
        let work = Work {
            threads: 2,
            stop: &stop,
            until: None,
        };
        let found = allot(&lots, &demands, &work, &mut |brings, _| {
            if brings > i64::MIN {
                first.get_or_insert(started.elapsed());
            }
        });
        let bound = found.bound.unwrap();
        let took = started.elapsed();
        let sawn = sawn(&lots, &demands, &found.chosen, &work);
        let sawn: Vec<Option<Pattern>> = sawn.into_iter().map(|sawn| Some(sawn?.pattern)).collect();
        let worth: i64 = sawn.iter().flatten().map(|pattern| pattern.worth).sum();
        let gap = |brings: i64| 100.0 * (bound - brings) as f64 / worth.max(1) as f64;
        println!(
            "{seed}: {logs} logs, {} of {bound}, gap {:.4} %, {} rounds, {} known, {took:.1?}, first {:.1?}; sawn: gap {:.4} %, {:.1?}",
            found.brings,
            gap(found.brings),
            found.rounds,
            found.known,
            first.unwrap(),
            gap(brings(&sawn, &demands)),
            started.elapsed(),
        );
        assert!(found.brings <= bound, "{seed}");
        assert_eq!(brings(&found.chosen, &demands), found.brings);
        for (demand, made) in demands.iter().zip(made(&found.chosen, demands.len())) {
            assert!(demand.most.is_none_or(|most| made <= most), "{seed}");
        }
        for (demand, made) in demands.iter().zip(made(&sawn, demands.len())) {
            assert!(demand.most.is_none_or(|most| made <= most), "{seed}, sawn");
        }
        assert!(brings(&sawn, &demands) <= bound, "{seed}");
    }
}
