//! Several logs and one order, held against one mixed-integer program over all of them: limits and what is owed count the boards of
//! every log.

use core::sync::atomic::AtomicBool;
use std::time::Instant;

use bunkside_planner::replay::Setup;

use super::case;
use super::model::Model;
use super::wood::Wood;
use super::{LOOSE, TIGHT};
use crate::allot::{Demand, Lot, Work, allot};
use crate::job::Job;
use crate::order::tests::random::Chance;
use crate::order::tests::seeds;

/// Two or three logs, and how many of each product all of them are to give.
fn yard(seed: u64) -> (Vec<Job>, Vec<Demand>) {
    let mut chance = Chance::new(seed + 700_000);
    let first = case::job(&mut chance);
    let logs = chance.within(2, 3);
    let mut jobs = vec![first];
    for _ in 1..logs {
        let next = case::another(&mut chance, &jobs[0]);
        jobs.push(next);
    }
    let demands = jobs[0].boards.iter().map(|board| {
        let least = u32::try_from(chance.within(0, 5)).unwrap();
        let more = u32::try_from(chance.within(0, 4)).unwrap();
        Demand {
            least,
            most: chance.one_in(2).then_some(least + more),
            missing: board.values.iter().copied().max().unwrap_or(0) * chance.within(0, 3),
        }
    });
    let demands = demands.collect();
    (jobs, demands)
}

#[test]
fn no_allotment_is_worth_more_or_less_than_a_general_solver_finds() {
    let (mut proven, mut equal, mut cases, mut told) = (0, 0, 0, Vec::new());
    let stop = AtomicBool::new(false);
    let work = Work {
        threads: 2,
        stop: &stop,
        until: None,
    };
    for seed in seeds(16) {
        let (jobs, demands) = yard(seed);
        let setups: Vec<Setup<'_>> = jobs
            .iter()
            .map(|job| Setup::new(&job.mill, &job.log).unwrap())
            .collect();
        let lots: Vec<Lot<'_>> = jobs
            .iter()
            .map(|job| Lot {
                job,
                setup: Setup::new(&job.mill, &job.log).unwrap(),
            })
            .collect();
        let started = Instant::now();
        let found = allot(&lots, &demands, &work, &mut |_, _| {});
        let took = started.elapsed();
        let woods: Vec<Wood<'_>> = jobs
            .iter()
            .zip(&setups)
            .map(|(job, setup)| Wood::new(job, setup))
            .collect();
        let started = Instant::now();
        let loose = Model::of_order(&woods, LOOSE, &demands);
        let [mut least, most] = loose.solve();
        let tight = Model::of_order(&woods, TIGHT, &demands);
        if loose.choices != tight.choices {
            [least, _] = tight.solve();
        }
        let solved = started.elapsed();
        let bound = found.bound.unwrap();
        cases += 1;
        equal += usize::from((least..=most).contains(&found.brings));
        assert!(
            found.brings <= most,
            "{seed}: {} is more than {most}",
            found.brings
        );
        assert!(bound >= least, "{seed}: the bound {bound} is less than {least}");
        if bound == found.brings {
            proven += 1;
            assert!(
                (least..=most).contains(&bound),
                "{seed}: {bound}, {least} to {most}"
            );
        } else {
            told.push(format!(
                "{seed}: {} of {bound}, the solver {least} to {most}",
                found.brings
            ));
        }
        if std::env::var("BUNKSIDE_RUNS").is_ok() {
            println!(
                "{seed}: {} logs, {} of {bound}, {took:.1?}, the solver {least} to {most}, {solved:.1?}",
                jobs.len(),
                found.brings
            );
        }
    }
    println!("{proven} of {cases} proven; {}", told.join("; "));
    assert!(
        equal * 10 >= cases * 9 && proven * 10 >= cases * 7,
        "{equal} equal, {proven} proven of {cases}"
    );
}
