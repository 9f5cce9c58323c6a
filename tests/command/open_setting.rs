//! Jobs that leave open how the log is set.

use std::fs;
use std::path::Path;

use bunkside::command::Exit;
use serde_json::Value;

use super::{call, example, fails, folder, quiet};

/// G-04 with other lines for how it lies.
fn job(folder: &Path, name: &str, setting: &str) {
    let toml = fs::read_to_string(example("g-04")).unwrap();
    let mills = fs::canonicalize("examples/mills").unwrap();
    let told = ["level", "offset", "turn"];
    let left: Vec<&str> = toml
        .lines()
        .filter(|line| {
            !told
                .iter()
                .any(|key| line.split('=').next().is_some_and(|word| word.trim() == *key))
        })
        .collect();
    let toml = (left.join("\n") + "\n")
        .replace("[setting]\n", &format!("[setting]\nlayout = \"best\"\n{setting}"))
        .replace("../mills", mills.to_str().unwrap());
    fs::write(folder.join(name), toml).unwrap();
}

const OPEN: &str = "level = \"best\"\noffset = \"best\"\nturn = \"best\"\n";

fn layout(folder: &Path, name: &str) -> Value {
    serde_json::from_str(&quiet(folder, &format!("layout {{}}/{name} --json"), Exit::Good)).unwrap()
}

/// What is told of a chosen setting is what comes out where that setting is written into the job, and no other of the grid brings
/// more: each is tried by itself, level by level, every 30 degrees of half a turn.
#[test]
fn the_setting_that_brings_most_is_found_and_can_be_written_down() {
    let folder = folder("setting-open");
    job(&folder, "open.toml", OPEN);
    let open = layout(&folder, "open.toml");
    let chosen = &open["setting"];
    assert_eq!(chosen["settings"], 120, "{chosen}");
    assert_eq!(chosen["all"], true, "{chosen}");
    assert_eq!(chosen["brings"], open["value"]);
    assert!(
        chosen["brings"].as_f64() > chosen["first_brings"].as_f64(),
        "{chosen}"
    );
    assert!(chosen["brings"].as_f64() <= chosen["bound"].as_f64(), "{chosen}");

    let write = chosen["write"].as_str().unwrap().replace(", ", "\n") + "\n";
    job(&folder, "told.toml", &write);
    let told = layout(&folder, "told.toml");
    assert_eq!(told["setting"], Value::Null);
    assert_eq!(told["value"], open["value"], "{write}");
    assert_eq!(told["boards"], open["boards"], "{write}");

    for level in ["bottom", "centre", "top"] {
        for turn in (0..180).step_by(30) {
            job(
                &folder,
                "other.toml",
                &format!("level = \"{level}\"\nturn = \"{turn} deg\"\n"),
            );
            let answer = call(&folder, "layout {}/other.toml --json --geometry-only");
            if answer.exit == Exit::Good {
                let other: Value = serde_json::from_str(&answer.out).unwrap();
                assert!(
                    other["value"].as_f64() <= open["setting"]["bound"].as_f64(),
                    "{level} {turn}"
                );
            }
        }
    }
}

/// Cut plan and moves name the setting that was chosen, and are read back with it; for another setting they are told to be so.
#[test]
fn cut_plan_and_moves_keep_the_setting_that_was_chosen() {
    let folder = folder("setting-kept");
    job(&folder, "open.toml", OPEN);
    job(&folder, "top.toml", "level = \"top\"\n");
    let line = "plan {}/open.toml -o {}/out --json";
    let plan: Value = serde_json::from_str(&quiet(&folder, line, Exit::Good)).unwrap();
    let chosen = &plan["chosen_setting"];
    let cut = fs::read_to_string(folder.join("out/plan.cut")).unwrap();
    let moves: Value =
        serde_json::from_str(&fs::read_to_string(folder.join("out/moves.json")).unwrap()).unwrap();
    let named = moves["setting"].as_str().unwrap();
    assert!(cut.contains(&format!(" set \"{named}\"\n")), "{cut}");
    assert!(
        named.contains(&format!("level {}", chosen["level_percent"])),
        "{named} {chosen}"
    );

    let audit = "audit {}/out/moves.json --json --job {}";
    let judged: Value =
        serde_json::from_str(&quiet(&folder, &format!("{audit}/open.toml"), Exit::Good)).unwrap();
    assert_eq!(judged["verdict"], plan["verdict"]);
    let again = "sequence {}/out/plan.cut --job {}/open.toml -o {}/again --json";
    let again: Value = serde_json::from_str(&quiet(&folder, again, Exit::Good)).unwrap();
    assert_eq!(again["chosen_setting"]["write"], chosen["write"]);
    assert_eq!(again["chosen_setting"]["brings"], Value::Null);

    let other = call(&folder, &format!("{audit}/top.toml"));
    assert!(other.said.contains("set otherwise"), "{}", other.said);
    let line = "sequence {}/out/plan.cut --job {}/top.toml -o {}/other";
    let said = fails(&folder, line, Exit::BadInput);
    assert!(
        said.contains("plan.cut:1:") && said.contains("set otherwise"),
        "{said}"
    );

    fs::write(
        folder.join("bare.cut"),
        cut.replace(&format!(" set \"{named}\""), ""),
    )
    .unwrap();
    let said = fails(
        &folder,
        "sequence {}/bare.cut --job {}/open.toml -o {}/other",
        Exit::BadInput,
    );
    assert!(said.contains("does not say which it is for"), "{said}");
    fs::write(
        folder.join("odd.cut"),
        cut.replace(named, "level 7, offset 0 mm, turn 1 deg"),
    )
    .unwrap();
    let said = fails(
        &folder,
        "sequence {}/odd.cut --job {}/open.toml -o {}/other",
        Exit::BadInput,
    );
    assert!(said.contains("none of what may be chosen"), "{said}");
}

/// Metal is told with the log as it lies, so that there is no turning it: the job's own line is pointed at.
#[test]
fn with_metal_in_the_log_only_its_offset_may_be_left_open() {
    let folder = folder("setting-metal");
    let toml = fs::read_to_string(example("a-02")).unwrap();
    let mills = fs::canonicalize("examples/mills").unwrap();
    let toml = toml
        .replace("[setting]\n", "[setting]\nturn = \"best\"\n")
        .replace("../mills", mills.to_str().unwrap());
    fs::write(folder.join("job.toml"), toml).unwrap();
    let said = fails(&folder, "layout {}/job.toml", Exit::BadInput);
    assert!(said.contains("turn") && said.contains("metal"), "{said}");
}
