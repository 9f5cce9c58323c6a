//! What does not come out of a log, and from which end what does is measured.

use std::fs;
use std::path::Path;

use bunkside::command::Exit;
use serde_json::{Value, json};

use super::json::parsed;
use super::{example, folder, planned, quiet};

const MORE: &str = "\n[[board]]\nname = \"door\"\nthickness = \"20 mm\"\nwidth = \"180 mm\"\nlengths = [\"2.4 m\"]\n\
    price = { per_m = 1 }\n\n[[board]]\nname = \"beam\"\nthickness = \"155 mm\"\nwidth = \"155 mm\"\nlengths = [\"3.6 m\"]\n\
    price = { each = 9 }\n\n[[board]]\nname = \"sleeper\"\nthickness = \"150 mm\"\nwidth = \"250 mm\"\nlengths = [\"3.6 m\"]\n\
    price = { each = 9 }\n";

/// G-04 is sawn on a mill that covers 165 mm: 180 mm across is beyond it, lying or on edge. No column is for a beam or a lath.
#[test]
fn what_does_not_come_out_is_told_with_the_reason_that_is_known() {
    let folder = folder("lacking");
    let job = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(example("g-04"))).unwrap();
    let mills = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/mills/");
    fs::write(folder.join("job.toml"), job.replace("../mills/", mills) + MORE).unwrap();
    let line = "plan {}/job.toml -o {}/out";
    let told = parsed(
        &quiet(&folder, &format!("{line} --json"), Exit::Good),
        "bunkside-plan",
    );
    let names: Vec<&Value> = told["absent"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| &one["name"])
        .collect();
    assert_eq!(
        names,
        [&json!("lath"), &json!("door"), &json!("beam"), &json!("sleeper")]
    );
    let text = quiet(&folder, line, Exit::Good);
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    // Beside the verdict as well, where it is not passed over.
    let short = "o lath, no door, no beam, no sleeper comes out of this log";
    assert!(text.contains(&format!("short n{short} verdict ")), "{text}");
    let report = fs::read_to_string(folder.join("out/report.html")).unwrap();
    let report = report.replace('\u{a0}', " ");
    assert!(report.contains(&format!("<p class=\"short-order\">N{short}.</p>")));
    for words in [
        "one of lath, beam: the cut plan has no column for it",
        "one of door: 180 x 20 mm and a kerf are beyond the mill's reach, 165 mm across and 165 mm high",
        "one of sleeper: 250 x 150 mm and a kerf are beyond the mill's reach",
    ] {
        assert!(text.contains(words), "{words}: {text}");
        assert!(report.contains(words), "{words}");
    }
}

/// 3.6 m leave 10 mm of the 3.61 m between the trims, and 2.4 m more.
#[test]
fn boards_are_told_with_the_end_they_are_measured_from() {
    let folder = folder("measured-from");
    let line = format!("plan {} -o {{}}", example("g-04"));
    let told = parsed(
        &quiet(&folder, &format!("{line} --json"), Exit::Good),
        "bunkside-plan",
    );
    assert_eq!(told["boards"][0]["end"], "far");
    let text = quiet(&folder, &line, Exit::Good);
    assert!(text.contains("2.4 m  from the far end"), "{text}");
    assert!(
        fs::read_to_string(folder.join("plan.cut"))
            .unwrap()
            .contains("2400 mm from far end"),
        "as the cut plan has it"
    );
    let report = fs::read_to_string(folder.join("report.html")).unwrap();
    let words = "deck, 140 by 50 mm, 2.4 m from the far end, after 25 mm of trim";
    assert!(
        report.replace('\u{a0}', " ").matches(words).count() > 1,
        "in its step and in the list"
    );
}

/// A cut plan of somebody's own that ends a layer in the wedges is not a fault of the tool, and no share is below zero.
#[test]
fn a_cut_plan_that_asks_for_too_much_is_told_so() {
    let folder = folder("own-plan");
    let plan = "plan \"G-04\"\nlayer down to 203.5 mm\n  slab\nlayer down to 148 mm\n  slab\nlayer down to 92.5 mm\n  slab\nlayer down to 52 mm\n  slab\n";
    fs::write(folder.join("low.cut"), plan).unwrap();
    let line = format!("sequence {{}}/low.cut --job {} -o {{}}/out", example("g-04"));
    let text = quiet(&folder, &line, Exit::Refused);
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(text.contains("0.000 m3, 0 % of the log"), "{text}");
    assert!(!text.contains(" -0"), "{text}");
    assert!(!text.contains("fault of Bunkside"), "{text}");
    assert!(
        text.contains("The cut plan asks for it: its lowest layer ends at 52 mm. Clear of bed, packs and wedges along the whole log it ends at 82.5 mm or higher"),
        "{text}"
    );
}

/// Nothing that a controller could load is left by a sequence that a rule refuses, not even by the plan before; the moves can be
/// looked at and run in thought.
#[test]
fn no_stored_job_is_left_where_a_rule_refuses() {
    let folder = planned("not-stored", "g-04");
    assert!(folder.join("moves.job").exists());
    let low = [203.5, 148.0, 92.5, 52.0].map(|floor| format!("layer down to {floor} mm\n  slab\n"));
    let low = format!("plan \"G-04\"\n{}", low.concat());
    fs::write(folder.join("low.cut"), low).unwrap();
    let job = example("g-04");
    let line = format!("sequence {{}}/low.cut --job {job} -o {{}}");
    let text = quiet(&folder, &line, Exit::Refused);
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(text.contains("verdict refused: "), "{text}");
    let told = "no moves.job is written: what the rules refuse is not handed to a controller";
    assert!(text.contains(told), "{text}");
    assert!(!folder.join("moves.job").exists(), "{text}");
    let list = fs::read_to_string(folder.join(".bunkside")).unwrap();
    assert!(list.contains("moves.json"), "{list}");
    let json = parsed(
        &quiet(&folder, &format!("{line} --json"), Exit::Refused),
        "bunkside-plan",
    );
    assert!(!json["files"].to_string().contains("moves.job"), "{json}");
    for verb in ["audit", "dry-run"] {
        let line = format!("{verb} {{}}/moves.json --job {job}");
        assert!(!quiet(&folder, &line, Exit::Refused).is_empty(), "{verb}");
    }
    // The next plan that passes stores its job again.
    quiet(&folder, &format!("plan {job} -o {{}}"), Exit::Good);
    assert!(folder.join("moves.job").exists());
}

/// The third layer's board of 140 mm called a rail, which is 75 mm wide: it counts, and is told to be larger.
#[test]
fn a_board_that_is_larger_than_its_product_is_told_to_be_so() {
    let folder = folder("larger");
    let line = format!("plan {} -o {{}}", example("g-04"));
    let told = |line: &str| {
        parsed(
            &quiet(&folder, &format!("{line} --json"), Exit::Good),
            "bunkside-plan",
        )
    };
    assert_eq!(told(&line)["larger"].as_array().unwrap().len(), 0);
    let plan = fs::read_to_string(folder.join("plan.cut")).unwrap();
    let plan = plan.replace("\"deck\" 3600 mm", "\"rail\" 3600 mm");
    fs::write(folder.join("mine.cut"), plan).unwrap();
    let line = format!("sequence {{}}/mine.cut --job {} -o {{}}/out", example("g-04"));
    let rails = told(&line);
    assert_eq!(rails["larger"][0]["layer"], 3);
    assert_eq!(rails["larger"].as_array().unwrap().len(), 1);
    let text = quiet(&folder, &line, Exit::Good);
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    let words = "(layer 3, column 2), rail: it comes out 140 x 50 mm, larger than 75 x 50 mm";
    assert!(text.contains(words), "{text}");
}

/// More are owed than come out.
#[test]
fn an_order_that_is_not_filled_is_told_beside_the_verdict() {
    let folder = folder("owed");
    let job = fs::read_to_string(example("g-04")).unwrap();
    let mills = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/mills/");
    let job = job.replace("../mills/", mills)
        + &MORE.replace("price = { each = 9 }", "price = { each = 9 }\nleast = 3");
    fs::write(folder.join("job.toml"), job).unwrap();
    let text = quiet(&folder, "plan {}/job.toml -o {}/out", Exit::Good);
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    let short =
        "the order is not filled: 0 of 3 beam, 0 of 3 sleeper; no lath, no door comes out of this log";
    assert!(text.contains(&format!("short {short} verdict ")), "{text}");
}

/// A profile may leave out what the mill carries; then nobody has compared it with the log.
#[test]
fn a_mill_that_does_not_say_what_it_carries_is_told_of() {
    let folder = folder("no-log-max");
    let read = |path: &str| fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(path)).unwrap();
    let mill: String = read("examples/mills/powered-165.toml")
        .lines()
        .filter(|line| !line.starts_with("log_max"))
        .map(|line| format!("{line}\n"))
        .collect();
    fs::write(folder.join("mill.toml"), mill).unwrap();
    let job = read(&example("g-04")).replace("../mills/powered-165.toml", "mill.toml");
    fs::write(folder.join("job.toml"), job).unwrap();
    let told =
        |job: &str| quiet(&folder, &format!("plan {job} -o {{}}/out"), Exit::Good).contains("(`log_max`)");
    assert!(told("{}/job.toml"));
    assert!(!told(&example("g-04")));
}
