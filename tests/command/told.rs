//! What stands beside a plan, because the terminal is not read where it is sawn.

use std::fs;
use std::path::PathBuf;

use bunkside::command::Exit;
use serde_json::Value;

use super::json::parsed;
use super::{call, example, folder, planned, quiet};

/// G-04 with something else in its job.
fn job(name: &str, [from, to]: [&str; 2]) -> PathBuf {
    let folder = folder(name);
    let mills = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/mills/");
    let text = fs::read_to_string(example("g-04")).unwrap();
    assert!(text.contains(from), "{from}");
    let text = text.replace("../mills/", mills).replace(from, to);
    fs::write(folder.join("job.toml"), text).unwrap();
    folder
}

fn read(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// What is odd about the log's measures stands in summary, report and `--json`, and not only in the terminal.
#[test]
fn a_butt_that_is_smaller_is_told_beside_the_plan() {
    let folder = job("small-butt", ["butt = \"290 mm\"", "butt = \"205 mm\""]);
    let line = "plan {}/job.toml -o {}/out --by-habit";
    let answer = call(&folder, line);
    assert_eq!(answer.exit, Exit::Good, "{}", answer.said);
    let words =
        "the butt is smaller than the small end: taken as written, the log is thicker at its small end";
    assert!(
        read(&answer.out).contains(&format!("warning: {words}")),
        "{}",
        answer.out
    );
    let told = parsed(&call(&folder, &format!("{line} --json")).out, "bunkside-plan");
    let doubts = told["log"]["doubts"].as_array().unwrap();
    assert!(doubts.len() == 1 && doubts[0].as_str().unwrap().starts_with(words));
    let report = fs::read_to_string(folder.join("out/report.html")).unwrap();
    assert!(report.contains("<p class=\"second\">The butt is smaller than the small end: taken"));

    let plain = planned("no-doubt", "g-04");
    let line = format!("plan {} -o {{}} --json", example("g-04"));
    let told = parsed(&quiet(&plain, &line, Exit::Good), "bunkside-plan");
    assert_eq!(told["log"]["doubts"], serde_json::json!([]));
}

/// A sawn piece without wane fills its box, with wood as dense as that of the whole log.
#[test]
fn what_a_piece_weighs_is_told_where_it_comes_free_and_where_it_is_lifted() {
    let folder = planned("weights", "g-04");
    let line = format!("plan {} -o {{}} --json", example("g-04"));
    let plan = parsed(&quiet(&folder, &line, Exit::Good), "bunkside-plan");
    let figure = |value: &Value| value.as_f64().unwrap();
    let dense = figure(&plan["log"]["mass_kg"]) / figure(&plan["volume"]["log_m3"]);
    let line = format!("dry-run {{}}/moves.json --job {} --json", example("g-04"));
    let told = parsed(&quiet(&folder, &line, Exit::Good), "bunkside-dry-run");
    let pieces = told["pieces"].as_array().unwrap();
    let deck = pieces.iter().find(|piece| piece["piece"] == 4).unwrap();
    let size = ["width_um", "height_um", "length_um"].map(|key| figure(&deck[key]) * 1e-6);
    let (mass, full) = (figure(&deck["mass_kg"]), size.iter().product::<f64>() * dense);
    assert!(mass > 0.95 * full && mass <= 1.001 * full, "{mass} of {full}");
    let report = fs::read_to_string(folder.join("report.html")).unwrap();
    let report = report.replace('\u{a0}', " ");
    let about = format!("about {mass:.0} kg");
    let named = "deck, 140 by 50 mm, 2.4 m from the far end, after 25 mm of trim";
    for words in [
        format!("Frees piece 4: {named}; {about} green"),
        format!("Take away piece 4: {named}; {about}."),
        format!("<li value=\"4\">{named}; {about}</li>"),
        "Weights are estimates, green without bark.".to_owned(),
    ] {
        assert!(report.contains(&words), "{words}");
    }
}
