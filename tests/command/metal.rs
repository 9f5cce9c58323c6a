//! Metal in a log: told, drawn, and followed into what it ends up in.

use std::fs;

use bunkside::command::Exit;

use super::json::parsed;
use super::{call, example, folder};

/// G-04 with metal in the middle of its uppermost board. The layer's floor is at 203.5 mm and its kerf 5.5 mm high, so that the
/// metal, from 225 mm up, has 16 mm of wood under it; the kerf over it runs 24 mm higher than 235 mm, and the upright ones
/// further off.
const METAL: &str = r#"
[[log.metal]]
from = "1.0 m"
to = "1.1 m"
across = ["-10 mm", "10 mm"]
height = ["225 mm", "235 mm"]

[setting]"#;

fn job(name: &str, metal: &str) -> std::path::PathBuf {
    let folder = folder(name);
    let mill = std::env::current_dir()
        .unwrap()
        .join("examples/mills/powered-165.toml");
    let text = fs::read_to_string(example("g-04")).unwrap();
    let text = text.replace("../mills/powered-165.toml", mill.to_str().unwrap());
    fs::write(folder.join("job.toml"), text.replacen("\n[setting]", metal, 1)).unwrap();
    folder
}

#[test]
fn a_board_with_metal_in_it_is_named_everywhere() {
    let folder = job("metal-in-a-board", METAL);
    let line = "plan {}/job.toml -o {}/out --by-habit";
    let answer = call(&folder, line);
    assert_eq!(answer.exit, Exit::Good, "{}{}", answer.out, answer.said);
    let read = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    let place = "1 to 1.1 m from the near end, from 10 mm on the entry side of the centre line to 10 mm on the exit side, 225 to \
                 235 mm above the bed; every kerf is to stay 10 mm off it, the nearest, cut 7, passes 16 mm off; piece 4, deck, is \
                 a board with metal in it: mark it, before any saw or planer meets it";
    let out = read(&answer.out);
    assert!(
        out.contains(&format!("metal M1 {}", place.replacen("1 to", "1.0 to", 1))),
        "{out}"
    );
    let told = parsed(&call(&folder, &format!("{line} --json")).out, "bunkside-plan");
    let metal = &told["metal"][0];
    assert_eq!(metal["along_um"], serde_json::json!([1_000_000, 1_100_000]));
    assert_eq!(metal["nearest"], serde_json::json!({"cut": 7, "off_um": 16_000}));
    assert_eq!(
        metal["pieces"],
        serde_json::json!([{"piece": 4, "board": "deck"}])
    );
    assert_eq!(metal["stays"], false);
    let file = |name: &str| {
        fs::read_to_string(folder.join("out").join(name))
            .unwrap()
            .replace('\u{a0}', " ")
    };
    let report = file("report.html");
    assert!(report.contains("<p class=\"second\">Metal in the log, M1: 1.0 to 1.1 m"));
    // It is to be marked where its piece is taken away, and there alone.
    let mark = "Metal (M1) is in piece 4: mark it";
    assert_eq!(report.matches(mark).count(), 1);
    let card = report
        .split("<li id=\"step-")
        .find(|card| card.contains(mark))
        .unwrap();
    assert!(card.contains("Take away piece 4: deck"));
    // Its mark is in every drawing up to that step, in the section and from the side, and in none after.
    let mut drawn = true;
    for card in report.split("<li id=\"step-").skip(1) {
        let card = card.split("</ol>").next().unwrap();
        let marks = card.matches(">M1</text>").count();
        assert_eq!(marks, if drawn { 2 } else { 0 });
        drawn &= !card.contains(mark);
    }
    assert!(!drawn);
    for (name, words) in [
        ("ends.svg", "metal, 1.0 to 1.1 m from the near end"),
        ("side.svg", "metal, 1.0 to 1.1 m from the near end"),
        ("setting.svg", ">metal M1</text>"),
    ] {
        assert!(file(name).contains(words), "{name}");
    }
}

/// What lies so low stays; without any metal nothing is said of it.
#[test]
fn metal_that_stays_on_the_bunks_is_told_so() {
    let low = METAL.replace(r#"["225 mm", "235 mm"]"#, r#"["50 mm", "52 mm"]"#);
    let folder = job(
        "metal-stays",
        &low.replace("1.0 m", "2.0 m").replace("1.1 m", "2.1 m"),
    );
    let line = "plan {}/job.toml -o {}/out --by-habit";
    let told = parsed(&call(&folder, &format!("{line} --json")).out, "bunkside-plan");
    assert_eq!(told["metal"][0]["stays"], true);
    assert_eq!(told["metal"][0]["pieces"], serde_json::json!([]));
    let none = job("no-metal", "\n[setting]");
    let answer = call(&none, line);
    assert!(!answer.out.contains("metal"), "{}", answer.out);
    assert!(
        !fs::read_to_string(none.join("out/report.html"))
            .unwrap()
            .contains("etal")
    );
}

/// Upright kerfs of the lower layers stand under where the metal was: it is gone with its board, and the order is searched as ever.
#[test]
fn the_order_of_cuts_looks_at_the_metal_that_is_still_there() {
    let folder = job("metal-that-is-gone", METAL);
    let answer = call(&folder, "plan {}/job.toml -o {}/out");
    assert_eq!(answer.exit, Exit::Good, "{}{}", answer.out, answer.said);
    assert!(
        answer.out.contains("order     least time: of all orders"),
        "{}",
        answer.out
    );
}

/// Rules know of metal only where there is wood: what stands out of the log, by more than a box may be too large, is told.
#[test]
fn metal_that_stands_out_of_the_log_is_told() {
    let told = |name: &str, top: &str| {
        let folder = job(name, &METAL.replace("235 mm", top));
        let said = call(&folder, "layout {}/job.toml").said;
        said.contains("stands out of the log")
    };
    assert!(!told("metal-within", "235 mm"));
    assert!(told("metal-proud", "400 mm"));
}
