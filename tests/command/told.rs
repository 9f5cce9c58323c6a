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
        "Weights are estimates, green with bark.".to_owned(),
    ] {
        assert!(report.contains(&words), "{words}");
    }
}

/// The flat kerf of a layer that ends at 203.5 mm reaches up to 209 mm: 3 mm under metal that begins at 212 mm, where 10 mm are
/// asked for. It passes by where the layer ends at 212 - 10 - 5.5 mm or lower, or at 220 + 10 mm or higher; a step of the grid
/// nearer it does not.
#[test]
fn a_kerf_too_near_to_metal_is_told_by_how_much_and_where_it_passes_by() {
    let metal = "[[log.metal]]\nfrom = \"1.0 m\"\nto = \"1.1 m\"\nacross = [\"-10 mm\", \"10 mm\"]\nheight = [\"212 mm\", \"220 mm\"]\n";
    let folder = job("near-metal", ["[setting]", &format!("{metal}\n[setting]")]);
    let refused = |line: &str| {
        let answer = call(&folder, line);
        if answer.exit == Exit::Refused {
            read(&answer.said)
        } else {
            String::new()
        }
    };
    let said = refused("plan {}/job.toml -o {}/out");
    for words in [
        "the flat kerf would come 7 mm too near to the metal that begins 1.6 m along the rails: it keeps 10 mm off",
        "end the layer at 230 mm or higher, or at 196.5 mm or lower (`layer down to`)",
    ] {
        assert!(said.contains(words), "{said}");
    }
    let plan = fs::read_to_string(folder.join("out/plan.cut")).unwrap();
    for (floor, near) in [("196.5", false), ("197", true), ("229.5", true), ("230", false)] {
        let floor = format!("layer down to {floor} mm");
        let other = plan.replace("layer down to 203.5 mm", &floor);
        assert_ne!(other, plan);
        fs::write(folder.join("other.cut"), other).unwrap();
        let said = refused("sequence {}/other.cut --job {}/job.toml -o {}/other");
        assert_eq!(said.contains("too near to the metal"), near, "{floor}: {said}");
    }
}

/// The upright kerf before 74.8 mm begins at 69.3 mm: 2.3 mm beside metal that ends at 67 mm.
#[test]
fn an_upright_kerf_too_near_to_metal_is_told_likewise() {
    let metal = "[[log.metal]]\nfrom = \"1.0 m\"\nto = \"1.1 m\"\nacross = [\"60 mm\", \"67 mm\"]\nheight = [\"225 mm\", \"230 mm\"]\n";
    let folder = job("beside-metal", ["[setting]", &format!("{metal}\n[setting]")]);
    let answer = call(&folder, "plan {}/job.toml -o {}/out");
    assert_eq!(answer.exit, Exit::Refused);
    let said = read(&answer.said);
    for words in [
        "the upright kerf would come 7.7 mm too near to the metal that begins 1.6 m along the rails",
        "end the column at 82.5 mm or further to the exit side, or at 50 mm or nearer to the entry side (`to`)",
    ] {
        assert!(said.contains(words), "{said}");
    }
}

/// Each dog of the example closes where a wedge is to stand; further out neither reaches the log.
#[test]
fn what_is_wrong_with_the_dogs_is_told() {
    let folder = planned("dogs", "p-07");
    let line = format!("plan {} -o {{}}", example("p-07"));
    let out = read(&quiet(&folder, &line, Exit::Good));
    let words = "dog 1 stands in the place of the exit side's wedge of bunk 1: set the wedge beside it, along the log";
    assert!(out.contains(&format!("dogs {words}")), "{out}");
    let report = fs::read_to_string(folder.join("report.html")).unwrap();
    let line = words.replacen("dog", "Dog", 1);
    assert!(report.contains(&line), "{line}");

    let mill = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/mills/hand-150.toml");
    let text = fs::read_to_string(mill).unwrap();
    let away = text.replace(
        "across = [\"130 mm\", \"180 mm\"]",
        "across = [\"300 mm\", \"350 mm\"]",
    );
    assert_ne!(text, away);
    fs::write(folder.join("mill.toml"), away).unwrap();
    let job = fs::read_to_string(example("p-07")).unwrap();
    fs::write(
        folder.join("job.toml"),
        job.replace("../mills/hand-150.toml", "mill.toml"),
    )
    .unwrap();
    let out = read(&quiet(&folder, "plan {}/job.toml -o {}/away", Exit::Good));
    let words = "dogs dog 1, 0.2 m from the near end, does not reach the log and holds nothing dog 2, 2.9 m from the near end, does";
    assert!(out.contains(words), "{out}");
}

/// The setting sheet is in the order in which it is done.
#[test]
fn the_log_is_packed_for_before_it_comes_and_wedged_once_it_lies_there() {
    let folder = planned("sheet", "p-07");
    let report = fs::read_to_string(folder.join("report.html")).unwrap();
    let report = report.replace('\u{a0}', " ");
    let places = [
        "Before the log comes<",
        "Mark where the near end is to lie",
        "Bunk 1, 0.2 m (7 7/8 in) from the near end: pack",
        "Bunk 3, ",
        "Set the wedges on the bunk",
        "Stage it on the entry side",
        "Bearers: ",
        "Bringing it on<",
        "It weighs about",
        "Once it lies there<",
        "Both ends: centre ",
        "Bunk 2, ",
        "Wedge both sides",
        "Dog 1, ",
        "Before the first cut look along the log",
        "While this log is sawn, the blade turning or not, nothing waits on the entry side",
        "The first board<",
        "What the figures on the cards mean: across is the face that an upright kerf leaves on its exit side",
    ];
    let mut from = 0;
    for words in places {
        let at = report[from..].find(words);
        from += at.unwrap_or_else(|| panic!("{words} does not come next"));
    }
}

/// The last card, and no other, says what is done with what is left on the bunks.
#[test]
fn the_last_card_says_what_becomes_of_the_rest() {
    for (name, words) in [
        (
            "g-04",
            "With the blade standing, take out the wedges and take away what is left on the bunks, about ",
        ),
        (
            "p-07",
            "With the blade standing, open the dogs, take out the wedges and take away what is left",
        ),
    ] {
        let folder = planned("rest", name);
        let report = fs::read_to_string(folder.join("report.html")).unwrap();
        let report = report.replace('\u{a0}', " ");
        let (before, last) = report.rsplit_once("<li id=\"step-").unwrap();
        assert_eq!(
            (before.matches(words).count(), last.matches(words).count()),
            (0, 1),
            "{name}"
        );
    }
}

/// The example's cut plan with a hold before its second layer, carried out; summary and page.
fn held(name: &str, acts: &str) -> (String, String) {
    let folder = planned(name, "g-04");
    let plan = fs::read_to_string(folder.join("plan.cut")).unwrap();
    let (first, rest) = plan.split_at(plan.rfind("\nlayer").unwrap());
    fs::write(folder.join("held.cut"), format!("{first}\nhold {acts}\n{rest}")).unwrap();
    let line = format!("sequence {{}}/held.cut --job {} -o {{}}/out", example("g-04"));
    let out = read(&quiet(&folder, &line, Exit::Good));
    let report = fs::read_to_string(folder.join("out/report.html")).unwrap();
    (out, report.replace('\u{a0}', " "))
}

/// What nobody can do is no line to tick, and the warning is a sentence.
#[test]
fn an_act_that_the_mill_has_nothing_for_is_no_line_to_tick() {
    let (out, report) = held("no-dogs", "dog, sweep");
    let words = "hold-parked, at move ";
    assert!(
        out.contains(words) && out.contains(": dogs are to be closed, and this mill has none"),
        "{out}"
    );
    assert!(report.contains("Hold: sweep. The moves say \u{201c}dog the log\u{201d}, and this mill has no dogs: there is nothing to do."));
    assert!(!report.contains("Close the dogs"), "it is no line to tick");
    assert!(report.contains(
        "Warning, rule hold-parked: dogs are to be closed, and this mill has none; the mill has no such thing"
    ));
    let (_, report) = held("no-aid", "aid off");
    assert!(report.contains(
        "Hold: look. The moves say \u{201c}lift the pull-back aid\u{201d}, and this mill has no pull-back aid"
    ));
    assert!(!report.contains("Lift the pull-back aid away"));
}

/// Laid again, the log lies where the setting sheet has it: the figures stand on the card, the same as there.
#[test]
fn a_log_that_is_laid_again_is_told_how_high() {
    let (_, report) = held("laid-again", "re-seat, measure");
    let folder = planned("laid-where", "g-04");
    let told = parsed(
        &quiet(
            &folder,
            &format!("plan {} -o {{}} --json", example("g-04")),
            Exit::Good,
        ),
        "bunkside-plan",
    );
    let setting = &told["setting"];
    let mm = |um: &Value| (um.as_f64().unwrap() / 100.0).round() / 10.0;
    let [near, far] = [0, 1].map(|end| mm(&setting["ends"][end]["bottom_um"]));
    let lies = format!(
        "its underside, bark and all, {near} mm above the bed at the near end and {far} mm at the far end."
    );
    assert!(report.contains(&lies), "{lies}");
    let bunks = setting["bunks"].as_array().unwrap();
    for row in bunks.iter().filter(|row| row["role"] == "carries") {
        let pack = format!("pack {} mm", mm(&row["gap_um"]));
        let card = report.split("Lay the log again where it lay").nth(1).unwrap();
        assert!(card[..600].contains(&pack), "{pack}");
    }
}

/// A stroke needs √(280² − 115²) = 255.3 mm and 60 mm for the blade under 165 mm of cover to run out, and from 0.6 m/s at 0.6 m/s²
/// 300 mm to stop on.
#[test]
fn a_log_too_near_the_end_of_the_rails_is_told_which_end_and_what_is_missing() {
    let folder = job("rails", ["/powered-165.toml", "/powered-165.toml"]);
    let mill = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/mills/powered-165.toml");
    let short = fs::read_to_string(mill).unwrap();
    for (from, to, words) in [
        (
            "min = \"-600 mm\"",
            "min = \"0 mm\"",
            "the log's near end lies too near the end of the rails: from there to where they end for the carriage, at 0 mm (`travel.min` of the mill), there are 600 mm, and every stroke needs 615.3 mm to run out of the wood and to stop, 15.3 mm more",
        ),
        (
            "max = \"8 m\"",
            "max = \"4.8 m\"",
            "the log's far end lies too near the end of the rails: from there to where they end for the carriage, at 4800 mm (`travel.max` of the mill), there are 540 mm",
        ),
    ] {
        assert!(short.contains(from));
        fs::write(folder.join("mill.toml"), short.replacen(from, to, 1)).unwrap();
        let text = fs::read_to_string(folder.join("job.toml")).unwrap();
        fs::write(folder.join("short.toml"), text.replace(mill, "mill.toml")).unwrap();
        let answer = call(&folder, "plan {}/short.toml -o {}/out");
        assert_eq!(answer.exit, Exit::Refused, "{}", answer.out);
        let said = read(&answer.said);
        assert!(said.contains(words), "{said}");
        assert!(said.contains("what would free it: shift the log"), "{said}");
    }
}

/// What a peeled log leaves is wane, and it has no bark to be weighed with.
#[test]
fn a_peeled_log_is_told_without_bark() {
    let folder = job("peeled", ["bark = \"8 mm\"", "bark = \"0 mm\""]);
    let plan = call(&folder, "plan {}/job.toml -o {}/out --by-habit");
    assert_eq!(plan.exit, Exit::Good, "{}", plan.said);
    let audit = call(&folder, "audit {}/out/moves.json --job {}/job.toml").out;
    let dry = call(&folder, "dry-run {}/out/moves.json --job {}/job.toml").out;
    let explain = call(&folder, "explain {}/job.toml 14").out;
    let report = fs::read_to_string(folder.join("out/report.html")).unwrap();
    let ends = fs::read_to_string(folder.join("out/ends.svg")).unwrap();
    for told in [&plan.out, &audit, &dry, &explain, &report, &ends] {
        let told = read(told).replace('\u{a0}', " ").replace("with bark or wane", "");
        for words in [
            "its bark",
            "with bark",
            "under bark",
            "bark edge",
            "rough line: bark",
        ] {
            assert!(!told.contains(words), "{words}: {told}");
        }
    }
    assert!(audit.contains("mm, wane") && dry.contains("  wane") && explain.contains("wane"));
}

/// The step that is told is the one that was searched on, in summary and layout alike: the job's, rounded up to the mill's grid.
#[test]
fn the_step_is_the_one_that_was_searched_on() {
    let folder = job(
        "step",
        ["[setting]\n", "[setting]\nlayout = \"best\"\nstep = \"0.7 mm\"\n"],
    );
    let mill = fs::read_to_string("examples/mills/powered-165.toml").unwrap();
    fs::write(
        folder.join("mill.toml"),
        mill.replace("grid = \"0.1 mm\"", "grid = \"0.5 mm\""),
    )
    .unwrap();
    let text = fs::read_to_string(folder.join("job.toml")).unwrap();
    let (_, rest) = text.split_once("[log]").unwrap();
    fs::write(
        folder.join("job.toml"),
        format!("mill = \"mill.toml\"\n\n[log]{rest}"),
    )
    .unwrap();
    for line in ["plan {}/job.toml -o {}/out --by-habit", "layout {}/job.toml"] {
        let told = read(&call(&folder, line).out);
        assert!(
            told.contains("on a step of 1 mm") && !told.contains("step of 0."),
            "{told}"
        );
    }
}
