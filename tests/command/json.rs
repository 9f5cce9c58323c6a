//! The shapes that `src/command/JSON.md` describes.

use std::collections::BTreeSet;

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
    let parts = ["boards_m3", "offcuts_m3", "kerfs_m3", "left_m3"];
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
    // No JSON where the input is no good.
    assert_eq!(call(&folder, "rules roof --json").out, "");
}
