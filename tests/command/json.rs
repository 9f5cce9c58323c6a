//! The shapes that `src/command/JSON.md` describes.

use std::collections::BTreeSet;
use std::fs;

use bunkside::command::Exit;
use bunkside_planner::rules::RULES;
use serde_json::Value;

use super::{JOBS, call, example, folder, planned, quiet};

const PAGE: &str = include_str!("../../src/command/JSON.md");

/// Every key of a value, at any depth.
fn keys(value: &Value, found: &mut BTreeSet<String>) {
    match value {
        Value::Object(fields) => {
            for (key, value) in fields {
                found.insert(key.clone());
                keys(value, found);
            }
        }
        Value::Array(items) => items.iter().for_each(|item| keys(item, found)),
        _ => {}
    }
}

/// What is printed, its keys held against the page.
pub(super) fn parsed(out: &str, format: &str) -> Value {
    let value: Value = serde_json::from_str(out).unwrap();
    assert_eq!((&value["format"], &value["version"]), (&format.into(), &1.into()));
    assert!(PAGE.contains(&format!("`{format}`, version 1")), "{format}");
    let mut found = BTreeSet::new();
    keys(&value, &mut found);
    for key in found {
        assert!(PAGE.contains(&format!("`{key}`")), "{key} is not described");
    }
    value
}

#[test]
fn every_key_is_described_and_figures_agree() {
    for job in JOBS {
        let folder = planned("json", job);
        let toml = example(job);
        let plan = parsed(
            &quiet(&folder, &format!("plan {toml} -o {{}} --json"), Exit::Good),
            "bunkside-plan",
        );
        let audit = parsed(
            &quiet(
                &folder,
                &format!("audit {{}}/moves.job --job {toml} --json"),
                Exit::Good,
            ),
            "bunkside-audit",
        );
        let dry = parsed(
            &quiet(
                &folder,
                &format!("dry-run {{}}/moves.job --job {toml} --json"),
                Exit::Good,
            ),
            "bunkside-dry-run",
        );
        assert_eq!(audit["starts_at"], dry["starts_at"]);
        assert_eq!(audit["starts_at"]["angle"], "upright");
        assert!(audit["starts_at"]["height_um"].as_i64().unwrap() > 1_000_000);
        assert_eq!(plan["findings"], audit["findings"]);
        assert_eq!(plan["totals"], dry["totals"]);
        let cuts = audit["cuts"].as_array().unwrap();
        assert_eq!(plan["totals"]["cuts"], cuts.len());
        let freed: Vec<&Value> = cuts
            .iter()
            .flat_map(|cut| cut["freed"].as_array().unwrap())
            .collect();
        let pieces = dry["pieces"].as_array().unwrap();
        assert_eq!(
            (freed.len(), &plan["totals"]["pieces"]),
            (pieces.len(), &pieces.len().into())
        );
        for (number, (piece, freed)) in pieces.iter().zip(freed).enumerate() {
            assert_eq!(piece["piece"], number + 1);
            assert_eq!(piece["width_um"], freed["width_um"]);
        }
        volumes_add_up(&plan);
        times_add_up(&dry);
    }
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap()
}

fn volumes_add_up(plan: &Value) {
    let volume = &plan["volume"];
    let parts = ["boards_m3", "off_m3", "offcuts_m3", "kerfs_m3", "left_m3"];
    let sum: f64 = parts.iter().map(|part| number(&volume[part])).sum();
    assert!((sum - number(&volume["log_m3"])).abs() < 1e-9, "{volume}");
    let rows = plan["boards"].as_array().unwrap().iter();
    let boards: f64 = rows
        .map(|row| {
            let sizes = ["thickness_um", "width_um", "length_um", "count"];
            sizes.iter().map(|size| number(&row[size])).product::<f64>() * 1e-18
        })
        .sum();
    assert!((boards - number(&volume["boards_m3"])).abs() < 1e-9, "{volume}");
    assert!(boards < 0.75 * number(&volume["log_m3"]));
}

fn times_add_up(dry: &Value) {
    let seconds = &dry["totals"]["seconds"];
    let parts = ["cutting", "going", "swinging", "spinning", "holding"];
    let sum: f64 = parts.iter().map(|part| number(&seconds[part])).sum();
    assert!((sum - number(&seconds["all"])).abs() < 1e-6, "{seconds}");
    let moves = dry["moves"].as_array().unwrap();
    assert_eq!(dry["totals"]["moves"], moves.len());
    let sum: f64 = moves.iter().map(|one| number(&one["seconds"])).sum();
    assert!((sum - number(&seconds["all"])).abs() < 1e-6, "{seconds}");
}

#[test]
fn rules_are_listed_for_programs() {
    let folder = folder("rules");
    let all = parsed(&quiet(&folder, "rules --json", Exit::Good), "bunkside-rules");
    assert_eq!(all["rules"].as_array().unwrap().len(), RULES.len());
    let one = parsed(
        &quiet(&folder, "rules reach --json", Exit::Good),
        "bunkside-rules",
    );
    assert_eq!(one["rules"][0]["id"], "reach");
}

/// Programs get JSON whatever happens, and wherever they ask for it.
#[test]
fn what_is_wrong_is_told_to_programs() {
    let folder = folder("wrong-json");
    fs::write(
        folder.join("moves.json"),
        "{\"moves\": [\n  {\"swing\": \"flatt\"}, {\"flip\": 3}\n], \"extra\": 1}",
    )
    .unwrap();
    let job = example("g-04");
    let error = |line: &str| {
        let answer = call(&folder, line);
        assert_eq!(answer.exit, Exit::BadInput, "{line}");
        let told = parsed(&answer.out, "bunkside-error");
        assert_eq!(told["status"], 2);
        assert!(!answer.said.is_empty(), "people read it too");
        told["problems"].as_array().unwrap().clone()
    };
    let rule = error("rules roof --json");
    assert_eq!(rule.len(), 1);
    assert_eq!(rule[0]["message"], "no rule is called `roof`");
    assert!(rule[0]["file"].is_null() && rule[0]["line"].is_null());

    let moves = error(&format!("audit {{}}/moves.json --job {job} --json"));
    let told: Vec<(&str, u64, u64)> = moves
        .iter()
        .map(|one| {
            let number = |key: &str| one[key].as_u64().unwrap();
            (
                one["severity"].as_str().unwrap(),
                number("line"),
                number("column"),
            )
        })
        .collect();
    assert_eq!(told, [("error", 2, 13), ("error", 2, 24), ("warning", 3, 4)]);
    assert!(moves[0]["help"].as_str().unwrap().starts_with("did you mean"));

    for line in [
        "--json",
        "--json roof",
        "rules --json --jsn",
        "rules --json --json",
        "help --json",
        "--json help",
    ] {
        assert_eq!(error(line).len(), 1, "{line}");
    }
    assert_eq!(call(&folder, "rules roof").out, "", "nobody asked");
    assert_eq!(call(&folder, "rules -- --json").out, "", "it is no option there");
}

/// The option stands before the verb as well as behind it.
#[test]
fn json_may_be_asked_for_first() {
    let folder = folder("json-first");
    let behind = quiet(&folder, "rules reach --json", Exit::Good);
    assert_eq!(quiet(&folder, "--json rules reach", Exit::Good), behind);
}

/// Where a plan cannot be made to be explained, that is told too, with the status it has.
#[test]
fn a_log_that_cannot_be_planned_is_told_to_programs() {
    let folder = folder("unplanned-json");
    let line =
        "explain examples/sequences/refused/combined-axes.json 10 --job examples/sequences/trunk.toml --json";
    let answer = call(&folder, line);
    assert_eq!(answer.exit, Exit::Refused);
    let told = parsed(&answer.out, "bunkside-error");
    assert_eq!(told["status"], 1);
    let message = told["problems"][0]["message"].as_str().unwrap();
    assert!(message.contains("move 10 is not run"), "{message}");
}
