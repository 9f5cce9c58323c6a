//! `explain`: one sentence, and what every alternative meets.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use bunkside::account::wanted::{ALONE, STOP, STRESS};
use bunkside::command::Exit;
use bunkside_planner::rules::{NOT_JUDGED, by_id};
use serde_json::Value;

use super::json::parsed;
use super::{example, fails, folder, planned, quiet};

/// What `explain --json` tells of a move.
fn explained(folder: &Path, subject: &str, at: usize) -> Value {
    let (subject, job) = subject.split_once(' ').unwrap_or((subject, ""));
    let line = format!("explain {subject} {at} {job} --json");
    parsed(&quiet(folder, &line, Exit::Good), "bunkside-explain")
}

/// The answers by what is done instead.
fn answers(told: &Value) -> BTreeMap<String, (String, String)> {
    let word = |value: &Value| value.as_str().unwrap_or_default().to_owned();
    let alternatives = told["alternatives"].as_array().unwrap().iter();
    alternatives
        .map(|one| (word(&one["kind"]), (word(&one["answer"]), word(&one["rule"]))))
        .collect()
}

fn refused(rule: &str) -> (String, String) {
    ("refused".to_owned(), rule.to_owned())
}

#[test]
fn a_cut_a_hold_and_what_leads_up_to_them() {
    let folder = folder("explain");
    let job = example("g-04");
    for (name, number) in [
        ("cut", 14),
        ("shallow", 12),
        ("notch", 20),
        ("stop", 7),
        ("hold", 8),
        ("swing", 9),
        ("go", 10),
    ] {
        let out = quiet(&folder, &format!("explain {job} {number}"), Exit::Good);
        insta::assert_snapshot!(format!("explain-{name}"), out);
    }
}

/// A stop before pieces are taken away, and the hold itself: where the job or a rule speaks, that is told, as audit does. Without
/// the job nobody asks for the stop.
#[test]
fn leaving_out_a_stop_that_the_job_asks_for_or_a_hold_is_refused() {
    let folder = folder("explain-left-out");
    let job = example("g-04");
    let left_out = |at: usize| {
        let mut all = answers(&explained(&folder, &job, at));
        all.remove("left-out").unwrap()
    };
    assert_eq!(left_out(7), refused("stop-to-unload"));
    assert_eq!(left_out(8).0, "refused");
    let planned = planned("explain-left-out-turning", "g-04");
    let job = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(&job)).unwrap();
    let mills = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/mills/");
    let turning = job
        .replace("../mills/", mills)
        .replace("[setting]", "[setting]\nstop_to_unload = false");
    fs::write(planned.join("turning.toml"), turning).unwrap();
    let mut all = answers(&explained(&planned, "{}/moves.json --job {}/turning.toml", 7));
    assert_eq!(
        all.remove("left-out"),
        Some(("allowed".to_owned(), "hold-parked".to_owned()))
    );
}

/// Whoever names the same sequence by its job, its plan, its moves or its stored job gets the same answer; only where
/// the plan is known has a board its name.
#[test]
fn a_job_its_plan_and_its_moves_are_explained_alike() {
    let folder = planned("explain-alike", "g-04");
    let job = example("g-04");
    let of_job = quiet(&folder, &format!("explain {job} 53"), Exit::Good);
    assert!(
        of_job.contains("piece 7 (deck, 140 x 50 mm, bark edge)"),
        "{of_job}"
    );
    let of_plan = quiet(
        &folder,
        &format!("explain {{}}/plan.cut 53 --job {job}"),
        Exit::Good,
    );
    assert_eq!(of_plan, of_job);
    for file in ["moves.json", "moves.job"] {
        let by_move = quiet(
            &folder,
            &format!("explain {{}}/{file} 53 --job {job}"),
            Exit::Good,
        );
        assert_eq!(words(&by_move), words(&of_job.replace("deck, ", "")), "{file}");
        let by_cut = quiet(
            &folder,
            &format!("explain {{}}/{file} 14 --cut --job {job}"),
            Exit::Good,
        );
        assert_eq!(by_cut, by_move, "{file}");
    }
}

/// The words of a text, however its lines break.
fn words(out: &str) -> Vec<&str> {
    out.split_whitespace().collect()
}

/// On two columns that are edged and released together: each edge might have been a notch, the release might have
/// begun with one column. Judged by hand from the rules.
#[test]
fn columns_are_taken_instead_of_released_and_the_other_way_round() {
    let folder = folder("explain-freeing");
    let sequence = "examples/sequences/two-columns-released.json --job examples/sequences/trunk.toml";
    let edge = answers(&explained(&folder, sequence, 15));
    assert_eq!(edge["taken"].0, "allowed");
    let release = explained(&folder, sequence, 25);
    assert!(
        release["answer"]
            .as_str()
            .unwrap()
            .contains("frees pieces 3 and 4 together"),
        "{release}"
    );
    let instead = answers(&release);
    assert_eq!(instead["taken"].0, "allowed");
    // Two inner columns have no bark, so that nothing forbids to free them in forward feed; but the knife is off.
    assert_eq!(instead["other-stroke"].0, "allowed", "{release}");
    // Edged only, the first column comes off with the two others: 45 + 132.4 mm of cover, and the blade has 165 mm.
    let notch = answers(&explained(&folder, sequence, 10));
    assert_eq!(notch["other-angle-first"], refused("flat-first"));
    assert_eq!(notch["released"], refused("reach"));
}

/// By hand no stroke climbs.
#[test]
fn a_hand_carriage_is_told_that_it_never_climbs() {
    let folder = folder("explain-hand");
    let job = example("p-07");
    let mut strokes = 0;
    for at in 0..40 {
        let told = explained(&folder, &job, at);
        if told["kind"] != "cut" {
            continue;
        }
        assert_eq!(answers(&told)["other-stroke"], refused("climb-powered"), "{told}");
        let answer = told["answer"].as_str().unwrap();
        assert!(
            answer.contains("refused by climb-powered: a hand carriage never climbs (found climbing, should be forward feed)"),
            "{answer}"
        );
        // Whoever reads it is not told of a stroke that cannot be made as if it were a choice.
        if strokes == 0 {
            let text = quiet(&folder, &format!("explain {job} {at}"), Exit::Good);
            assert!(
                text.contains("climbing; a carriage that is pushed never climbs"),
                "{text}"
            );
            assert!(
                !text.contains("\noutbound, climbing") && !text.contains("\nclimb-powered:"),
                "{text}"
            );
        }
        strokes += 1;
    }
    assert!(strokes > 5);
}

/// What no author meant is told by the rules alone: here a slab that nobody unloaded.
#[test]
fn a_strangers_refused_move_is_told_with_what_the_rules_say() {
    let folder = folder("explain-stranger");
    let job = "--job examples/sequences/trunk.toml";
    for (name, at) in [
        ("free-piece", 9),
        ("release-climb", 4),
        ("combined-axes", 9),
        ("reach", 6),
    ] {
        let out = quiet(
            &folder,
            &format!("explain examples/sequences/refused/{name}.json {at} {job}"),
            Exit::Good,
        );
        assert!(out.contains("it is refused by "), "{out}");
        insta::assert_snapshot!(format!("explain-{name}"), out);
    }
}

/// Where a mill has power to spare, the fastest feed that is allowed is told, and what refuses more.
#[test]
fn a_slower_feed_than_need_be_is_told() {
    let folder = folder("explain-feed");
    let sequence = "examples/sequences/slab-and-two-columns.json --job examples/sequences/trunk.toml";
    let told = explained(&folder, sequence, 4);
    let faster: Vec<&Value> = told["alternatives"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|one| one["kind"] == "faster")
        .collect();
    let best = faster.first().unwrap();
    assert_eq!(best["answer"], "allowed");
    let usual = told["speed_um_per_s"].as_u64().unwrap();
    assert!(best["speed_um_per_s"].as_u64().unwrap() > usual);
    assert!(best["seconds"].as_f64().unwrap() < 0.0);
    assert!(
        told["answer"].as_str().unwrap().contains("is allowed and saves"),
        "{told}"
    );
}

/// Every move of a job has an answer of one sentence, refusals name rules that there are, and what is allowed takes a
/// time.
#[test]
fn every_move_is_explained() {
    for job in ["a-02", "g-04"] {
        let folder = planned("explain-all", job);
        let moves = fs::read_to_string(folder.join("moves.json")).unwrap();
        let count = moves.matches("\n  {").count();
        assert!(count > 50);
        let subject = format!("{{}}/moves.json --job {}", example(job));
        for at in (0..count).step_by(if job == "g-04" { 1 } else { 5 }) {
            let told = explained(&folder, &subject, at);
            let answer = told["answer"].as_str().unwrap();
            assert!(answer.starts_with(&format!("Move {at}")), "{answer}");
            assert!(answer.ends_with('.') && !answer.contains(". "), "{answer}");
            let alternatives = told["alternatives"].as_array().unwrap();
            assert!(!alternatives.is_empty(), "{answer}");
            for one in alternatives {
                match one["answer"].as_str().unwrap() {
                    "refused" => {
                        let rule = one["rule"].as_str().unwrap();
                        let of_job = [STRESS, STOP, ALONE].contains(&rule);
                        assert!(of_job || by_id(rule).is_some() || rule == NOT_JUDGED, "{one}");
                        assert!(one["note"].is_string() && one["seconds"].is_null());
                    }
                    "allowed" => assert!(one["seconds"].is_number() && one["same_pieces"].is_boolean()),
                    other => {
                        assert!(["impossible", "not-judged"].contains(&other), "{one}");
                        assert!(one["note"].is_string() && one["seconds"].is_null());
                    }
                }
            }
        }
    }
}

#[test]
fn numbers_that_there_are_not_are_told() {
    let folder = planned("explain-numbers", "g-04");
    let job = example("g-04");
    for (line, message, there) in [
        (format!("{job} 94"), "there is no move 94", "moves 0 to 92"),
        (
            format!("{job} -3"),
            "`-3` is not the number of a move",
            "moves 0 to 92",
        ),
        (
            format!("{job} first"),
            "`first` is not the number of a move",
            "moves 0 to 92",
        ),
        (format!("{job} 0 --cut"), "there is no cut 0", "cuts 1 to 20"),
        (format!("{job} 21 --cut"), "there is no cut 21", "cuts 1 to 20"),
        (
            format!("{job} 3 --job {job}"),
            "brings mill and log",
            "leave --job out",
        ),
        (
            "{}/plan.cut 3".to_owned(),
            "a cut plan needs its job",
            "add --job",
        ),
    ] {
        let said = fails(&folder, &format!("explain {line}"), Exit::BadInput);
        assert!(said.contains(message) && said.contains(there), "{said}");
    }
}

#[test]
fn what_is_not_run_is_not_explained() {
    let folder = folder("explain-unrun");
    let line = "explain examples/sequences/refused/combined-axes.json 10 --job examples/sequences/trunk.toml";
    let said = fails(&folder, line, Exit::Refused);
    assert!(
        said.contains("move 10 is not run, because move 9 cannot be judged"),
        "{said}"
    );
}

/// A cranked mill passes beside the log; the move before it says why it goes out.
#[test]
fn a_way_beside_the_log_is_explained() {
    let folder = folder("explain-beside");
    let job = example("p-07");
    let [out, along] = [16, 17].map(|at| quiet(&folder, &format!("explain {job} {at}"), Exit::Good));
    let line = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    let out = line(&out);
    let why = "Move 16 draws the blade out, so that the carriage passes beside the log and nobody cranks it up, and sets the height \
               meanwhile; ";
    assert!(out.contains(why), "{out}");
    let along = line(&along);
    assert!(
        along.contains("Move 17 runs the carriage empty to the near end, beside the log, because cut 4 begins there and runs outbound, forward feed;"),
        "{along}"
    );
    let home = line(&quiet(&folder, &format!("explain {job} 199"), Exit::Good));
    assert!(home.contains("to the near end, beside the log;"), "{home}");
}

/// What is planned by the rule of thumb is explained in that order, and moves are in theirs.
#[test]
fn an_order_by_habit_is_explained_as_such() {
    let folder = folder("explain-habit");
    let job = example("p-07");
    quiet(&folder, &format!("plan {job} -o {{}} --by-habit"), Exit::Good);
    let of_moves = format!("explain {{}}/moves.json 14 --job {job}");
    let by_habit = quiet(&folder, &format!("explain {job} 14 --by-habit"), Exit::Good);
    let count = |out: &str| out.lines().next().unwrap().to_owned();
    assert_eq!(count(&by_habit), count(&quiet(&folder, &of_moves, Exit::Good)));
    let plan = format!("explain {{}}/plan.cut 14 --job {job} --by-habit");
    assert_eq!(quiet(&folder, &plan, Exit::Good), by_habit);
    let other = quiet(&folder, &format!("explain {job} 14"), Exit::Good);
    assert_ne!(count(&other), count(&by_habit));
    let said = fails(&folder, &format!("{of_moves} --by-habit"), Exit::BadInput);
    assert!(said.contains("in their order already"), "{said}");
}
