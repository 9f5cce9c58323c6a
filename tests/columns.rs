//! The plot of margins by columns taken agrees with what the auditor reckons of the sequence itself.

use std::fs;
use std::path::Path;

use bunkside::account::feeds::{Feeds, figure};
use bunkside::diagnostic::Source;
use bunkside::job::{self, Job};
use bunkside::measure::System;
use bunkside::moves_json;
use bunkside::planned::{Planned, lay_out};
use bunkside::trace::Trace;
use bunkside::view::{Subject, pictures};
use bunkside_planner::replay::Setup;
use bunkside_protocol::{Move, Position};

fn read_job(path: &str) -> Job {
    let load = |path: &Path| fs::read_to_string(path);
    let text = load(Path::new(path)).unwrap();
    job::read(&Source::new(path, text), &load).job.unwrap()
}

fn plot(subject: &Subject<'_>) -> String {
    let files = pictures(subject);
    files
        .into_iter()
        .find(|(name, _)| *name == "columns.svg")
        .unwrap()
        .1
}

/// The lettering of a class, in the order it is drawn.
fn lettering(drawn: &str, class: &str) -> Vec<String> {
    let opens = format!("<text class=\"{class}\"");
    drawn
        .split(opens.as_str())
        .skip(1)
        .map(|rest| {
            rest.split_once('>')
                .unwrap()
                .1
                .split('<')
                .next()
                .unwrap()
                .to_owned()
        })
        .collect()
}

/// Its small print as one text.
fn told_in(drawn: &str) -> String {
    lettering(drawn, "tiny soft").join(" ")
}

/// A picture of moves on the log of the example sequences.
fn plot_of(moves: &[Move]) -> String {
    let job = read_job("examples/sequences/trunk.toml");
    let setup = Setup::new(&job.mill, &job.log).unwrap();
    let trace = Trace::run(&setup, moves);
    plot(&Subject {
        setup: &setup,
        trace: &trace,
        log: "TRUNK",
        mill: "powered-165",
        system: System::Metric,
        job: None,
        plan: None,
        order: None,
    })
}

/// The widest layer of G-04 is sawn as the plot supposes: two columns, each edged and freed before the next. Its figures must be
/// those of the sequence, which were reckoned move by move.
#[test]
fn a_layer_that_is_sawn_column_by_column_has_the_figures_of_its_cuts() {
    let job = read_job("examples/jobs/g-04.toml");
    let setup = Setup::new(&job.mill, &job.log).unwrap();
    let plan = lay_out(&job, &setup).unwrap();
    let planned = Planned::new(&job, &setup, &plan).unwrap();
    let drawn = plot(&Subject::planned(&planned));
    let feeds = Feeds::of(&setup, &planned.trace);
    let floor = Position::mm(148);
    let poses = planned.trace.moves.iter().map(|traced| traced.step.before);
    let poses: Vec<_> = poses.collect();
    let mut expected = Vec::new();
    let mut corners: Vec<Position> = Vec::new();
    for cut in &feeds.cuts {
        let pose = poses[usize::from(cut.index)];
        if pose.height != floor {
            continue;
        }
        let least = cut.held.least().named().map(|(_, margin)| margin);
        match corners.iter().position(|across| *across == pose.across) {
            None => {
                corners.push(pose.across);
                expected.push(least);
            }
            Some(known) => {
                for (before, margin) in expected[known].iter_mut().zip(least) {
                    *before = before.min(margin);
                }
            }
        }
    }
    // What is left is freed by flat strokes alone: in the plot at other places than in the sequence.
    expected.truncate(2);
    let told = lettering(&drawn, "tiny mid");
    assert_eq!(
        told.len(),
        3 * 3 + 3,
        "every column of the layer, the last one too: {told:?}"
    );
    for way in 0..3 {
        let figures = expected.iter().map(|margins| figure(margins[way]) + " times");
        assert!(figures.eq(told[3 * way..].iter().take(2).cloned()), "{told:?}");
        assert!(told[3 * way + 2].ends_with(" times"), "{told:?}");
    }
    assert_eq!(told[9..], ["1", "2", "3"]);
    let drawn = told_in(&drawn);
    // Its middle lies between the kerfs at 203.5 and 148 mm, so it is as wide as the log.
    let widest = setup.shape.wood().iter().map(|section| section.width().length());
    let widest = System::Metric.size(widest.max().unwrap());
    assert!(
        drawn.contains(&format!("the widest layer, {widest} across (over flat kerf 3")),
        "{drawn}"
    );
    assert!(drawn.contains("148 mm). Its columns"), "{drawn}");
}

#[test]
fn columns_that_would_let_the_wood_move_are_told() {
    let path = "examples/sequences/refused/lift.json";
    let text = fs::read_to_string(path).unwrap();
    let moves = moves_json::read(&Source::new(path, text)).0.unwrap();
    let drawn = plot_of(&moves);
    let short = lettering(&drawn, "tiny now mid");
    assert!(!short.is_empty(), "{drawn}");
    for figure in short {
        assert!(
            figure.trim_end_matches(" times").parse::<f64>().unwrap() < 1.2,
            "{figure}"
        );
    }
    let told = told_in(&drawn);
    assert!(
        told.contains("would move, and it is refused")
            && told.contains("It is no order to saw by")
            && told.contains("What it is for: "),
        "{told}"
    );
    let lines: Vec<&str> = drawn.matches("<path class=\"next\"").collect();
    assert_eq!(lines.len(), 1, "where it is refused: {drawn}");
    assert!(drawn.contains(">refused "), "{drawn}");
}

#[test]
fn without_upright_kerfs_there_is_no_layer() {
    let drawn = plot_of(&[]);
    assert_eq!(
        lettering(&drawn, "tiny soft"),
        ["No layer has columns that could be taken."]
    );
    assert!(!drawn.contains("class=\"solid\""), "{drawn}");
}
