//! Logs that lie beside the across axis.

use std::fs;
use std::path::Path;

use bunkside::command::Exit;
use serde_json::Value;

use super::{call, example, fails, folder, quiet};

/// G-04 on a mill whose corner goes 900 mm to either side and whose bunks are longer than that, so far off the bed's centre line.
fn beside(folder: &Path, offset: &str) {
    let mills = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/mills");
    let mill = fs::read_to_string(mills.join("powered-165.toml")).unwrap();
    let long_bunks = mill.replace("\nspacing = ", "\nbunk_width = \"5 m\"\nspacing = ");
    fs::write(folder.join("mill.toml"), long_bunks).unwrap();
    let job = fs::read_to_string(example("g-04")).unwrap();
    let job = job.replace("../mills/powered-165.toml", "mill.toml");
    let set = format!("near_end_at = \"0.6 m\"\noffset = \"{offset}\"\n");
    fs::write(
        folder.join("job.toml"),
        job.replace("near_end_at = \"0.6 m\"\n", &set),
    )
    .unwrap();
}

const PLAN: &str = "plan {}/job.toml -o {}/out";

/// What is told to do does: with the offset that is offered the log is planned, and nothing is refused.
#[test]
fn a_log_beside_the_axis_is_refused_with_how_far_to_shift_it() {
    let folder = folder("beside-across");
    for offset in ["-960 mm", "830 mm", "1.9 m"] {
        beside(&folder, offset);
        let told = fails(&folder, PLAN, Exit::Refused);
        if offset == "830 mm" {
            insta::assert_snapshot!("beside-the-across-axis", told);
        }
        let (_, offered) = told
            .split_once("(offset = \"")
            .unwrap_or_else(|| panic!("{told}"));
        let (offered, _) = offered.split_once('"').unwrap();
        beside(&folder, offered);
        quiet(&folder, PLAN, Exit::Good);
    }
}

/// The best layout may lie where the log cannot be parted: then it is said why no moves saw it.
#[test]
fn a_layout_says_why_no_moves_saw_it() {
    let folder = folder("layout-beside-across");
    beside(&folder, "800 mm");
    let layout = "layout {}/job.toml --json";
    let answer = call(&folder, layout);
    assert_eq!(answer.exit, Exit::Refused);
    let report: Value = serde_json::from_str(&answer.out).unwrap();
    assert_eq!(report["rules"], "refused");
    let obstacle = report["obstacle"].as_str().unwrap();
    assert!(
        obstacle.contains("beyond the end of the across axis on the exit side"),
        "{obstacle}"
    );
    for board in report["boards"].as_array().unwrap() {
        let on_edge = board["on_edge"].as_bool().unwrap();
        let wide = if on_edge { "thickness_um" } else { "width_um" };
        let far = board["across_um"].as_i64().unwrap() + board[wide].as_i64().unwrap();
        assert!(far <= 894_400, "{board}");
    }
    beside(&folder, "0 mm");
    let report: Value = serde_json::from_str(&quiet(&folder, layout, Exit::Good)).unwrap();
    assert_eq!(report["obstacle"], Value::Null);
}
