//! Who works at the mill: what is too heavy to be lifted, and the example for one person.

use std::fs;

use bunkside::command::Exit;
use serde_json::Value;

use super::json::parsed;
use super::{call, example, folder, planned, quiet};

/// Who works alone lifts 25 kg and two lift 50 kg: what weighs more is counted in summary, page and `--json`, and said of each
/// piece on the card that takes it away.
#[test]
fn what_is_too_heavy_to_be_lifted_is_told() {
    let (folder, job) = (folder("lifting"), example("s-11"));
    let line = format!("plan {job} -o {{}}/one");
    let out = quiet(&folder, &line, Exit::Good);
    let one = parsed(
        &quiet(&folder, &format!("{line} --json"), Exit::Good),
        "bunkside-plan",
    );
    let audit = parsed(
        &quiet(
            &folder,
            &format!("audit {{}}/one/moves.json --job {job} --json"),
            Exit::Good,
        ),
        "bunkside-audit",
    );
    let freed = |audit: &Value| -> Vec<(u64, f64)> {
        let cuts = audit["cuts"].as_array().unwrap().iter();
        let pieces = cuts.flat_map(|cut| cut["freed"].as_array().unwrap());
        let of = |piece: &Value| {
            (
                piece["piece"].as_u64().unwrap(),
                piece["mass_kg"].as_f64().unwrap(),
            )
        };
        pieces.map(of).collect()
    };
    let pieces = freed(&audit);
    let heavy: Vec<&(u64, f64)> = pieces.iter().filter(|(_, kg)| *kg > 25.0).collect();
    let [(number, kg)] = heavy.as_slice() else {
        panic!("{pieces:?}");
    };
    let told = &one["lifting"];
    assert_eq!(
        (
            &told["people"],
            &told["limit_kg"],
            &told["pieces"],
            &told["heaviest"]
        ),
        (&1.into(), &25.0.into(), &1.into(), &(*number).into())
    );
    assert!(
        (told["heaviest_kg"].as_f64().unwrap() - kg).abs() < 1e-9,
        "{told}"
    );
    assert!(told["left_kg"].is_null(), "{told}");
    let words = format!(
        "piece weighs more than 25 kg; it is piece {number}, about {kg:.0} kg, bark counted as heavy as the wood; nobody lifts that alone: slide it off end by end on skids, or have a helper (25 kg for each: reference mass of ISO 11228-1, from memory)"
    );
    let read = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(read(&out).contains(&format!("lifting 1 {words}")), "{out}");
    let report = fs::read_to_string(folder.join("one/report.html")).unwrap();
    let report = report.replace('\u{a0}', " ");
    let (head, steps) = report.split_once("</header>").unwrap();
    assert!(head.contains(&words), "{head}");
    let ticks: Vec<&str> = steps.split("Take away piece ").skip(1).collect();
    assert_eq!(ticks.len(), pieces.len());
    for tick in ticks {
        let tick = tick.split("</span>").next().unwrap();
        let is = tick.starts_with(&format!("{number}:"));
        assert_eq!(tick.contains("kg, not to be lifted by one alone."), is, "{tick}");
    }

    let two = fs::read_to_string(&job).unwrap();
    let mills = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/mills/");
    let two = two
        .replace("../mills/", mills)
        .replace("people = 1", "people = 3");
    fs::write(folder.join("two.toml"), two).unwrap();
    let line = "plan {}/two.toml -o {}/two";
    let told = parsed(
        &quiet(&folder, &format!("{line} --json"), Exit::Good),
        "bunkside-plan",
    );
    assert!(told["lifting"].is_null());
    assert!(!quiet(&folder, line, Exit::Good).contains("\nlifting"));
    // B-01's beams are two people's limit and more.
    let folder = planned("lifting", "b-01");
    let told = parsed(
        &quiet(
            &folder,
            &format!("plan {} -o {{}} --json", example("b-01")),
            Exit::Good,
        ),
        "bunkside-plan",
    );
    assert_eq!(
        (&told["lifting"]["people"], &told["lifting"]["limit_kg"]),
        (&2.into(), &50.0.into())
    );
    let report = fs::read_to_string(folder.join("report.html")).unwrap();
    let heavy = told["lifting"]["pieces"].as_u64().unwrap();
    let ticks = report.matches(", not to be lifted by two.").count();
    assert_eq!(ticks as u64, heavy);
}

/// The example for one person: its mill has an aid that is fitted. Without that, or with it lifted away, it is refused.
#[test]
fn the_example_for_one_person_needs_its_aid() {
    let (folder, mills) = (
        folder("one-person"),
        concat!(env!("CARGO_MANIFEST_DIR"), "/examples/mills/"),
    );
    let job = fs::read_to_string(example("s-11")).unwrap();
    let mill = fs::read_to_string(format!("{mills}hand-150-aid.toml")).unwrap();
    assert!(job.contains("people = 1") && mill.contains("fitted = true"));
    fs::write(
        folder.join("job.toml"),
        job.replace("../mills/hand-150-aid.toml", "mill.toml"),
    )
    .unwrap();
    let (before, aid) = mill.split_once("[pull_back_aid]").unwrap();
    let (_, after) = aid.split_once("\n\n").unwrap();
    for (text, exit) in [
        (mill.clone(), Exit::Good),
        (mill.replace("fitted = true", "fitted = false"), Exit::Refused),
        (format!("{before}{after}"), Exit::Refused),
    ] {
        fs::write(folder.join("mill.toml"), text).unwrap();
        let answer = call(&folder, "plan {}/job.toml -o {}/out");
        assert_eq!(answer.exit, exit, "{}{}", answer.out, answer.said);
        assert_eq!(
            answer.said.contains("one person works here"),
            exit == Exit::Refused,
            "{}",
            answer.said
        );
    }
    let help = quiet(&folder, "help job", Exit::Good);
    let help = help.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        help.contains("has no pull-back aid is refused every round log"),
        "{help}"
    );
}

/// Of a frozen log it has to be said whether ice lies where it is held. Where it does it is reckoned with what ice holds, and B-01
/// then turns in its bed; where not, summary and page tell to look again.
#[test]
fn ice_is_asked_for_and_reckoned_with() {
    let (folder, job) = (folder("frozen"), example("b-01"));
    let mills = fs::canonicalize(&job).unwrap();
    let mills = mills.parent().unwrap().parent().unwrap().join("mills");
    let text = fs::read_to_string(&job)
        .unwrap()
        .replace("../mills", mills.to_str().unwrap())
        .replace("layout = \"best\"", "");
    let planned = |name: &str, state: &str, exit: Exit| {
        let text = text.replace("state = \"fresh\"", state);
        assert!(text.contains(state));
        fs::write(folder.join(format!("{name}.toml")), text).unwrap();
        let answer = call(&folder, &format!("plan {{}}/{name}.toml -o {{}}/{name}"));
        assert_eq!(answer.exit, exit, "{}{}", answer.out, answer.said);
        let words = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
        let page = fs::read_to_string(folder.join(name).join("report.html")).unwrap_or_default();
        [words(&(answer.out + &answer.said)), words(&page)]
    };
    let [asked, _] = planned("asked", "state = \"frozen\"", Exit::BadInput);
    assert!(asked.contains("add iced = false to [log]"), "{asked}");
    for told in planned("swept", "state = \"frozen\"\niced = false", Exit::Good) {
        assert!(told.contains("with a grip of 0.5 (grip_barked"), "{told}");
    }
    for state in ["frozen", "fresh"] {
        let state = format!("state = \"{state}\"\niced = true");
        let [refused, _] = planned("iced", &state, Exit::Refused);
        assert!(refused.contains("would roll"), "{refused}");
        assert!(refused.contains("knock ice and snow off"), "{refused}");
    }
    for told in planned("fresh", "state = \"fresh\"", Exit::Good) {
        assert!(!told.contains("with a grip of"), "{told}");
    }
}
