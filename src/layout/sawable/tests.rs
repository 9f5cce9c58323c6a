//! What is chosen can be sawn, and brings no less than the hand habit.

use bunkside_planner::geometry::Interval;
use bunkside_planner::layout::exact::{Core, Heart, Wane};
use bunkside_planner::machine::Apart;
use bunkside_protocol::Length;

use super::*;
use crate::layout::best;
use crate::order::tests::random::{Chance, log, mill};
use crate::order::tests::{example, seeds};

/// Metal keeps every kerf 10 mm off: where a floor comes too near, the lowest one is to lie over it.
#[test]
fn a_floor_over_metal_keeps_off_it() {
    let job = example("a-02");
    let setup = Setup::new(&job.mill, &job.log).unwrap();
    let [.., low] = job.log.metal[0].min;
    let [.., high] = job.log.metal[0].max;
    let clear = Apart::metal(&job.mill).height;
    assert_eq!(over_metal(&setup, low), Some(high + clear));
    assert_eq!(over_metal(&setup, high + clear), None);
    assert_eq!(over_metal(&setup, low - clear - job.mill.blade.kerf), None);
}

/// What is chosen passes by rule of thumb and brings no less than the hand habit does.
#[test]
fn examples_are_laid_out_for_most_of_what_can_be_sawn() {
    for (name, at_least) in [
        ("a-02", 217_000),
        ("g-04", 34_000),
        ("oak-14", 0),
        ("p-07", 38_000),
    ] {
        let job = example(name);
        let setup = Setup::new(&job.mill, &job.log).unwrap();
        let chosen = choose(&job, &setup).unwrap();
        assert_eq!(Search::new(&job, &setup).fault(&chosen), None, "{name}");
        let plain = lay_out_plainly(&job, &setup).unwrap();
        let brings = worth(&job, &chosen);
        assert!(brings >= worth(&job, &plain).max(at_least), "{name}: {brings}");
    }
}

/// Boards that may lack something at their corners are looked for as such, and found to be good by whoever counts them, who
/// looks at every section of the log along each.
#[test]
fn boards_with_wane_bring_more_and_count() {
    let tables = [
        Wane::NONE,
        Wane {
            face: Length::mm(15),
            edge: Some(Length::mm(8)),
            whole: 600,
        },
        Wane {
            face: Length::mm(15),
            edge: Some(Length::mm(8)),
            whole: 0,
        },
        Wane {
            face: Length::mm(15),
            edge: None,
            whole: 0,
        },
    ];
    let mut with_wane = 0;
    for name in ["a-02", "b-01", "e-09", "g-04", "oak-14", "p-07"] {
        let mut job = example(name);
        let mut before = 0;
        for wane in tables {
            for board in &mut job.boards {
                board.wane = wane;
            }
            let setup = Setup::new(&job.mill, &job.log).unwrap();
            let any = best(&job, &setup).unwrap();
            assert!(any.found.worth >= before, "{name}: {} {before}", any.found.worth);
            with_wane += usize::from(any.found.worth > before);
            before = any.found.worth;
            let chosen = choose(&job, &setup).unwrap();
            let (brings, lines) = told(&job, &setup, &chosen);
            assert_eq!(lines, [""; 0], "{name}: {wane:?}");
            assert_eq!(brings, worth(&job, &chosen), "{name}: {wane:?}");
        }
    }
    assert!(with_wane > 15, "{with_wane}");
}

/// What the boards that count bring, and the lines of those that do not.
fn told(job: &Job, setup: &Setup<'_>, chosen: &OwnedPlan) -> (i64, Vec<String>) {
    let planned = Planned::new(job, setup, chosen).unwrap();
    let boards = Boards::of(&planned);
    (sum(job, &boards), boards.spoilt_lines())
}

/// The less may lie in a board, the less is brought, and whoever counts the boards finds none that the core lies in: along all
/// of the log, or from 1 m to 2 m. By the hand habit, which knows no core, some do not count.
#[test]
fn boards_keep_clear_of_the_core_and_count() {
    let (mut less, mut spoilt) = (0, 0);
    for name in ["a-02", "b-01", "e-09", "g-04", "oak-14", "p-07"] {
        let mut job = example(name);
        let log = Setup::new(&job.mill, &job.log).unwrap().shape.travel();
        let part = Interval::new(log.lo + Length::mm(1_000), log.lo + Length::mm(2_000));
        let without = best(&job, &Setup::new(&job.mill, &job.log).unwrap()).unwrap();
        let mut before = i64::MAX;
        for (travel, heart) in [
            (log, Heart::Any),
            (part, Heart::Inside),
            (log, Heart::Inside),
            (log, Heart::Clear),
        ] {
            job.core = Some(Core {
                travel,
                thick: Length::mm(60),
            });
            for board in &mut job.boards {
                board.core = heart;
            }
            let setup = Setup::new(&job.mill, &job.log).unwrap();
            let any = best(&job, &setup).unwrap().found;
            if heart == Heart::Any {
                assert_eq!(any.worth, without.found.worth, "{name}");
                before = any.worth;
            }
            assert!(any.worth <= before, "{name}: {heart:?}");
            less += usize::from(any.worth < before);
            before = any.worth;
            let chosen = choose(&job, &setup).unwrap();
            let (brings, lines) = told(&job, &setup, &chosen);
            assert_eq!(lines, [""; 0], "{name}: {heart:?}");
            assert_eq!(brings, worth(&job, &chosen), "{name}: {heart:?}");
        }
        let setup = Setup::new(&job.mill, &job.log).unwrap();
        let plain = lay_out_plainly(&job, &setup).unwrap();
        spoilt += told(&job, &setup, &plain).1.len();
    }
    assert!(less > 6 && spoilt > 6, "{less} {spoilt}");
}

/// `BUNKSIDE_RUNS` for more of them.
#[test]
fn random_logs_bring_no_less_than_by_hand_and_can_be_sawn() {
    let (mut over, mut given_up, mut none) = (Vec::new(), Vec::new(), 0);
    let (mut spoilt, mut boards) = (0, 0);
    for seed in seeds(8) {
        let mut chance = Chance::new(seed + 7_000);
        let mut job = example("b-01");
        job.mill = mill(&mut chance);
        job.log = log(&mut chance, &mut job.mill, (180, 480), (4_950, 5_400));
        let setup = Setup::new(&job.mill, &job.log).unwrap();
        let Ok(plain) = lay_out_plainly(&job, &setup) else {
            continue;
        };
        let chosen = choose(&job, &setup).unwrap();
        let mut search = Search::new(&job, &setup);
        let [sawn, by_hand] = [&chosen, &plain].map(|plan| search.fault(plan).is_none());
        if !sawn {
            assert!(!by_hand, "{seed}: the plain layout can be sawn");
            none += 1;
            continue;
        }
        let planned = Planned::new(&job, &setup, &chosen).unwrap();
        spoilt += Boards::of(&planned).spoilt.len();
        boards += Boards::of(&planned).count();
        let brings = worth(&job, &chosen);
        let bound = best(&job, &setup).map_or(brings, |layout| layout.found.bound);
        assert!(brings <= bound, "{seed}: {brings} of {bound}");
        given_up.push(1.0 - brings as f64 / bound as f64);
        if by_hand {
            let plainly = worth(&job, &plain);
            assert!(brings >= plainly, "{seed}: {brings}, {plainly} by hand");
            over.push(brings as f64 / plainly.max(1) as f64);
        }
        println!("{seed}: {brings} of {bound}, by hand {}", worth(&job, &plain));
    }
    for all in [&mut over, &mut given_up] {
        all.sort_by(f64::total_cmp);
    }
    let middle = |all: &[f64]| all.get(all.len() / 2).copied().unwrap_or(f64::NAN);
    println!(
        "{} logs: {:.3} times what the hand habit brings in the median, {:.3} at worst; {:.4} of the bound given up in the \
         median, {:.4} at worst; {none} that nothing saws; of \
         {boards} boards {spoilt} do not count",
        given_up.len(),
        middle(&over),
        over.first().copied().unwrap_or(f64::NAN),
        middle(&given_up),
        given_up.last().copied().unwrap_or(f64::NAN),
    );
    assert_eq!(spoilt, 0, "of {boards} boards");
    assert!(given_up.len() >= 4, "{}", given_up.len());
}

/// A job from its text, its mill one of the examples.
fn job_of(text: &str) -> Job {
    let source = crate::diagnostic::Source::new("job.toml".to_owned(), text.to_owned());
    let jobs = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/jobs");
    let read = |path: &std::path::Path| std::fs::read_to_string(jobs.join(path));
    crate::job::read(&source, &read).job.unwrap()
}

/// A core 110 mm thick leaves 2 mm between the layers over it and those under it, which no blade saws off; kept apart they bring all
/// the same.
#[test]
fn layers_that_would_leave_too_little_between_them_are_kept_apart() {
    let job = job_of(
        r#"
        mill = "../mills/powered-165.toml"
        [log]
        name = "larch"
        species = "Douglas-fir, coast"
        length = "4.94 m"
        small_end = "470 mm"
        butt = "530 mm"
        butt_at = "far"
        core = { thick = "110 mm" }
        [setting]
        near_end_at = "0.6 m"
        bed_clearance = "25 mm"
        [[board]]
        name = "slat"
        thickness = "28 mm"
        width = "50 mm"
        lengths = ["4.9 m"]
        price = { per_m = 0.80 }
        "#,
    );
    let setup = Setup::new(&job.mill, &job.log).unwrap();
    let any = best(&job, &setup).unwrap();
    let mut search = Search::new(&job, &setup);
    assert!(any.found.close[0] > 0 && search.fault(&any.plan).is_some());
    let chosen = choose(&job, &setup).unwrap();
    assert_eq!(search.fault(&chosen), None);
    assert_eq!(worth(&job, &chosen), any.found.bound);
}

/// What stands beside a high layer in the middle of this log goes over when it leans a little. With floors that lie higher all below
/// is lost; without that layer little is.
#[test]
fn a_layer_that_cannot_be_sawn_costs_little_of_what_lies_below_it() {
    let job = job_of(
        r#"
        mill = "../mills/hand-150-aid.toml"
        [log]
        name = "short butt"
        species = "Douglas-fir, coast"
        length = "2697 mm"
        small_end = "594 mm"
        butt = "636 mm"
        butt_at = "near"
        bark = "12 mm"
        sweep = { bow = "7 mm", toward = "down" }
        [setting]
        level = "bottom"
        near_end_at = "500 mm"
        [[board]]
        name = "lath"
        thickness = "25.4 mm"
        width = "60 mm"
        lengths = ["2400 mm"]
        price = { each = 1.05 }
        wane = { face = "5 mm", edge = "5 mm" }
        [[board]]
        name = "post"
        thickness = "63 mm"
        width = "90 mm"
        lengths = ["2697 mm"]
        price = { each = 6.3 }
        [[board]]
        name = "block"
        thickness = "50 mm"
        width = "90 mm"
        lengths = ["899 mm"]
        price = { per_m3 = 446 }
        wane = { face = "15 mm", edge = "2 mm", along_percent = 50 }
        "#,
    );
    let setup = Setup::new(&job.mill, &job.log).unwrap();
    let any = best(&job, &setup).unwrap();
    let mut search = Search::new(&job, &setup);
    let higher = search
        .down_from(any.clone())
        .map_or(0, |layout| layout.found.worth);
    let all = any.found.worth;
    let chosen = choose(&job, &setup).unwrap();
    assert_eq!(search.fault(&chosen), None);
    let brings = worth(&job, &chosen);
    assert!(
        brings * 20 > all * 19 && higher * 3 < all * 2,
        "{brings}, {higher} of {all}"
    );
}
