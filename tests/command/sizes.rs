//! Boards that are wanted in another size than they are sawn in.

use std::fs;

use bunkside::command::Exit;
use serde_json::Value;

use super::{call, example, folder, quiet};

/// A job's text, its mill found from anywhere.
fn toml(name: &str) -> String {
    let mills = fs::canonicalize("examples/mills").unwrap();
    let toml = fs::read_to_string(example(name)).unwrap();
    toml.replace("../mills", mills.to_str().unwrap())
}

fn layout(toml: &str) -> Value {
    let folder = folder("sizes-layout");
    fs::write(folder.join("job.toml"), toml).unwrap();
    serde_json::from_str(&quiet(
        &folder,
        "layout {}/job.toml --geometry-only --json",
        Exit::Good,
    ))
    .unwrap()
}

const FINISH: &str = "\n[finish]\nplaning = \"3 mm\"\nmoisture_percent = 12\nvariation = \"0.5 mm\"\n";

/// Douglas-fir shrinks by 7.6 % at most, by 0.6 of that to 12 % (Wood Handbook, table 4-3, equation 4-9); 1.645 deviations leave 5 %
/// too small (Brown, EM 8731, table 2). 143 mm ÷ 0.9544 + 0.8224 mm = 150.655 mm, 53 mm ÷ 0.9544 + 0.8224 mm = 56.355 mm.
#[test]
fn boards_are_sawn_larger_than_they_are_wanted() {
    let report = layout(&(toml("g-04") + FINISH));
    let sizes = report["sizes"].as_array().unwrap();
    assert_eq!(sizes.len(), 3);
    assert_eq!(
        (&sizes[0]["wanted_width_um"], &sizes[0]["wanted_thickness_um"]),
        (&140_000.into(), &50_000.into())
    );
    assert_eq!(
        (&sizes[0]["width_um"], &sizes[0]["thickness_um"]),
        (&150_700.into(), &56_400.into())
    );
    let boards = report["boards"].as_array().unwrap();
    let decks = boards.iter().filter(|board| board["product"] == "deck");
    let sawn: Vec<&Value> = decks.map(|board| &board["width_um"]).collect();
    assert!(!sawn.is_empty() && sawn.iter().all(|width| **width == 150_700));
    // Larger boards, fewer of them.
    let as_wanted = layout(&toml("g-04"));
    assert_eq!(as_wanted["sizes"], Value::Array(Vec::new()));
    assert!(report["value"].as_f64() < as_wanted["value"].as_f64());
}

/// What is sawn as it is wanted is not told; flat-sawn boards shrink less in thickness, by 4.8 % at most.
#[test]
fn each_part_may_be_left_out() {
    let flat = FINISH.replace("planing = \"3 mm\"\n", "grain = \"flat\"\n");
    let flat = flat.replace("variation = \"0.5 mm\"\n", "");
    let job = toml("g-04").replace("name = \"rail\"", "name = \"rail\"\nas_sawn = true") + &flat;
    let report = layout(&job);
    let sizes = report["sizes"].as_array().unwrap();
    let names: Vec<&Value> = sizes.iter().map(|size| &size["name"]).collect();
    assert_eq!(names, ["deck", "lath"]);
    // 50 mm ÷ 0.9712 = 51.483 mm, 140 mm ÷ 0.9544 = 146.689 mm.
    assert_eq!(
        (&sizes[0]["thickness_um"], &sizes[0]["width_um"]),
        (&51_500.into(), &146_700.into())
    );
}

/// 2 by 6 inches is 1 1/2 by 5 1/2 inches dry (PS 20, table 3). A price for a board foot counts 2 by 6: 12 of them in 12 ft.
#[test]
fn a_nominal_size_is_the_standards_and_sold_by_its_name() {
    let sized = "thickness = '1-1/4\"'\nwidth = '6\"'";
    let job = toml("oak-14");
    assert!(job.contains(sized));
    let job = job.replace(sized, "nominal = \"2 x 6\"");
    let dry = layout(&(job.clone() + "\n[finish]\nmoisture_percent = 19\n"));
    let size = &dry["sizes"][0];
    assert_eq!(
        (&size["wanted_thickness_um"], &size["wanted_width_um"]),
        (&38_100.into(), &139_700.into())
    );
    // Red oak shrinks by 8.6 %, by 11/30 of that to 19 %: ÷ 0.968467.
    assert_eq!(
        (&size["thickness_um"], &size["width_um"]),
        (&39_400.into(), &144_300.into())
    );
    let path = folder("sizes-nominal");
    fs::write(path.join("job.toml"), job).unwrap();
    let plan = quiet(&path, "plan {}/job.toml --by-habit --json -o {}/out", Exit::Good);
    let plan: Value = serde_json::from_str(&plan).unwrap();
    let boards = plan["boards"].as_array().unwrap();
    let tread = boards.iter().find(|board| board["name"] == "tread").unwrap();
    // Green it is 5 5/8 in wide: 142.875 mm.
    assert_eq!(tread["width_um"], 142_875);
    let feet = tread["length_um"].as_f64().unwrap() / 304_800.0;
    let each = tread["board_feet"].as_f64().unwrap() / tread["count"].as_f64().unwrap();
    assert!((each - feet).abs() < 1e-9, "{each} board feet in {feet} ft");
}

#[test]
fn the_summary_tells_what_is_allowed_for() {
    let path = folder("sizes-summary");
    fs::write(path.join("job.toml"), toml("g-04") + FINISH).unwrap();
    let answer = call(&path, "plan {}/job.toml --by-habit -o {}/out");
    let told: Vec<&str> = answer
        .out
        .lines()
        .skip_while(|line| !line.starts_with("sizes"))
        .take_while(|line| !line.starts_with("layers"))
        .collect();
    insta::assert_snapshot!("sizes-g-04", told.join("\n"));
    let report = fs::read_to_string(path.join("out/report.html")).unwrap();
    assert!(report.contains("Sawn larger than wanted"));
}

/// A board that lies flat or quarter sawn as a whole has the size that such a one needs, any other the size that does anywhere. The
/// plan reads back so; where all have to be as large as anywhere, those are too small.
#[test]
fn boards_are_sawn_smaller_where_they_lie_flat_or_quarter_sawn() {
    let folder = folder("sizes-grain");
    let by_grain = FINISH.replace("moisture", "grain = \"as_it_lies\"\nmoisture");
    fs::write(folder.join("job.toml"), toml("oak-14") + &by_grain).unwrap();
    fs::write(folder.join("any.toml"), toml("oak-14") + FINISH).unwrap();
    let report = call(&folder, "layout {}/job.toml --json -o {}/layout");
    let report: Value = serde_json::from_str(&report.out).unwrap();
    let any: Value =
        serde_json::from_str(&call(&folder, "layout {}/any.toml --geometry-only --json").out).unwrap();
    assert!(report["value"].as_f64() >= any["value"].as_f64());
    assert_eq!(report["proven"], true);
    let size = |of: &Value| {
        [
            of["thickness_um"].as_i64().unwrap(),
            of["width_um"].as_i64().unwrap(),
        ]
    };
    let (mut smaller, mut grains) = (0, Vec::new());
    for board in report["boards"].as_array().unwrap() {
        let sizes = report["sizes"].as_array().unwrap();
        let sized = sizes.iter().find(|one| one["name"] == board["product"]).unwrap();
        let grain = board["grain"].as_str().unwrap();
        if size(board) != size(sized) {
            assert_eq!(size(board), size(&sized[grain]), "{board}");
            smaller += 1;
        }
        if !grains.contains(&grain) {
            grains.push(grain);
        }
    }
    assert!(smaller > 0 && grains.len() == 3, "{smaller} {grains:?}");
    assert!(any["boards"][0].get("grain").is_none() && any["sizes"][0].get("flat").is_none());
    let sawn = |job: &str| {
        let line = format!("sequence {{}}/layout/plan.cut --job {{}}/{job}.toml --json -o {{}}/{job}");
        let said = call(&folder, &line);
        serde_json::from_str::<Value>(&said.out).unwrap_or_else(|_| panic!("{said:?}"))
    };
    let [own, other] = ["job", "any"].map(sawn);
    let rows = own["boards"].as_array().unwrap().iter();
    let count: u64 = rows.map(|row| row["count"].as_u64().unwrap()).sum();
    assert_eq!(
        own["spoilt"].as_array().map(Vec::len),
        Some(0),
        "{}",
        own["spoilt"]
    );
    assert_eq!(count, report["boards"].as_array().unwrap().len() as u64);
    assert!(other.to_string().contains("too small for"), "{other}");
}
