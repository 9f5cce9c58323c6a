//! The bound that holds on any step, on logs of every kind: `BUNKSIDE_RUNS` for more of them.

use bunkside_planner::replay::Setup;
use bunkside_protocol::Length;

use super::{best, bound_on_any_step};
use crate::order::tests::random::{Chance, log, mill};
use crate::order::tests::{example, seeds};

/// No layout on a step ten times finer brings more than the bound of a coarse one says, and the bound of a fine step is near what
/// there is.
#[test]
fn no_finer_step_brings_more_than_the_bound() {
    let mut gaps = Vec::new();
    for seed in seeds(3) {
        let mut chance = Chance::new(seed + 31_000);
        let names = ["b-01", "g-04", "p-07", "oak-14"];
        let mut job = example(names[usize::try_from(seed).unwrap() % names.len()]);
        job.mill = mill(&mut chance);
        job.log = log(&mut chance, &mut job.mill, (180, 480), (4_950, 5_400));
        let setup = Setup::new(&job.mill, &job.log).unwrap();
        job.step = Length::mm(1);
        let (coarse, above) = (
            best(&job, &setup).unwrap().found,
            bound_on_any_step(&job, &setup).unwrap(),
        );
        job.step = Length::um(100);
        let (fine, near) = (
            best(&job, &setup).unwrap().found,
            bound_on_any_step(&job, &setup).unwrap(),
        );
        assert!(
            coarse.worth <= above && fine.worth <= above,
            "{seed}: {coarse:?} {fine:?} {above}"
        );
        assert!(
            fine.worth <= near && coarse.worth <= near,
            "{seed}: {coarse:?} {fine:?} {near}"
        );
        if fine.worth > 0 {
            gaps.push([above, near].map(|bound| bound as f64 / fine.worth as f64));
        }
    }
    let middle = |which: usize| {
        let mut all: Vec<f64> = gaps.iter().map(|gap| gap[which]).collect();
        all.sort_by(f64::total_cmp);
        [all[all.len() / 2], all[all.len() - 1]]
    };
    let ([coarse, coarse_worst], [fine, fine_worst]) = (middle(0), middle(1));
    println!(
        "{} logs: with sizes to 1 mm {coarse:.4} times what 0.1 mm brings in the median, {coarse_worst:.4} at most; to 0.1 mm \
         {fine:.4}, {fine_worst:.4}",
        gaps.len()
    );
    assert!(fine < 1.01, "{fine}");
}
