//! What is said to whoever stands at the mill, and to whoever has to mend a plan.

use std::fs;
use std::path::Path;

use bunkside::command::Exit;
use serde_json::Value;

use super::json::parsed;
use super::{call, example, folder, planned, quiet};

/// A hand carriage cannot climb: each slab that it frees with bark needs somebody who holds it down.
#[test]
fn that_a_second_person_is_needed_stands_near_the_top() {
    let folder = planned("people", "p-07");
    let job = example("p-07");
    let audit = format!("audit {{}}/moves.json --job {job}");
    let told = parsed(
        &quiet(&folder, &format!("{audit} --json"), Exit::Good),
        "bunkside-audit",
    );
    let warned = told["findings"].as_array().unwrap().iter();
    let moves: Vec<&Value> = warned
        .filter(|one| one["rule"] == "release-climb")
        .map(|one| &one["move"])
        .collect();
    assert!(!moves.is_empty());
    assert_eq!(told["second_person_cuts"], moves.len());
    let words = format!("needs a second person ({} cuts)", moves.len());
    let line = quiet(&folder, &audit, Exit::Good)
        .lines()
        .nth(1)
        .unwrap()
        .to_owned();
    assert!(line.starts_with(&words), "{line}");
    let summary = fs::read_to_string(folder.join("audit.json")).unwrap();
    assert_eq!(
        serde_json::from_str::<Value>(&summary).unwrap()["second_person_cuts"],
        moves.len()
    );
    let plan = quiet(&folder, &format!("plan {job} -o {{}}"), Exit::Good);
    let line = plan.lines().nth(2).unwrap();
    assert!(line.starts_with(&format!("people    {words}")), "{line}");

    let alone = planned("people", "g-04");
    let plan = format!("plan {} -o {{}}", example("g-04"));
    assert!(!quiet(&alone, &plan, Exit::Good).contains("second person"));
    let told = quiet(&alone, &format!("{plan} --json"), Exit::Good);
    assert_eq!(parsed(&told, "bunkside-plan")["second_person_cuts"], 0);
}

/// What comes free is held down with a pole no oftener than by rule of thumb, unless time alone is asked for; what that saves is told.
#[test]
fn fewer_cuts_are_held_down_unless_time_alone_is_asked_for() {
    let folder = folder("pole");
    let told = |how: &str| {
        let line = format!("plan {} -o {{}} --json {how}", example("p-07"));
        parsed(&quiet(&folder, &line, Exit::Good), "bunkside-plan")
    };
    let [usual, hasty, habit] = ["", "--time-alone", "--by-habit"].map(told);
    let held = |told: &Value| told["second_person_cuts"].as_u64().unwrap();
    assert_eq!([held(&usual), held(&hasty), held(&habit)], [7, 13, 7]);
    let seconds = |told: &Value| told["order"]["seconds"].as_f64().unwrap();
    assert!(seconds(&hasty) < seconds(&usual) && seconds(&usual) < seconds(&habit));
    assert!(seconds(&usual) + 300.0 * 7.0 < seconds(&hasty) + 300.0 * 13.0);
    for (told, counted) in [(&usual, 300.0), (&hasty, 0.0)] {
        assert_eq!(
            (&told["order"]["hold_down_s"], &told["order"]["proven"]),
            (&counted.into(), &true.into())
        );
    }
    // A mill that climbs needs nobody.
    let line = format!("plan {} -o {{}} --json", example("g-04"));
    let climbs = parsed(&quiet(&folder, &line, Exit::Good), "bunkside-plan");
    assert_eq!(climbs["order"]["hold_down_s"], 0.0);
}

/// 33 N/mm² × 5 mm × 125 mm × 385 mm/s = 7 941 W are 136.9 N at 58 m/s; over the arc of a blade of 230 mm they come to
/// 1 − 125/460 of that along the rails, and 1.5 times as much where it meets a knot: 149.6 N.
#[test]
fn the_hardest_push_by_hand_is_told() {
    let folder = planned("push", "p-07");
    let plan = format!("plan {} -o {{}}", example("p-07"));
    let told = parsed(
        &quiet(&folder, &format!("{plan} --json"), Exit::Good),
        "bunkside-plan",
    );
    let push = &told["hardest_push"];
    let newtons = push["n"].as_f64().unwrap();
    assert!((newtons - 149.55).abs() < 0.1, "{newtons}");
    assert_eq!(
        (push["cut"].as_u64(), push["move"].as_u64()),
        (Some(26), Some(117))
    );
    let report = fs::read_to_string(folder.join("report.html")).unwrap();
    let report = report.replace('\u{a0}', " ");
    let drawn = report
        .matches("drawn back: the next setting comes from there")
        .count();
    assert!(drawn > 1, "{drawn}");
    // Its height is cranked: it comes back beside the log.
    let out = report
        .matches("out past the log: the carriage passes beside it.")
        .count();
    let beside = ["standing", "turning"].map(|blade| {
        let told = format!("beside the log, the blade {blade} past its entry side, ");
        report.matches(&told).count()
    });
    assert!(out > 3 && beside.iter().sum::<usize>() >= out, "{out} {beside:?}");
    let card = report.split("move 117, cut 26<").nth(1).unwrap();
    let card = card.split("</li>\n<li id=").next().unwrap();
    assert!(card.contains("Pushed by hand: 9 s or longer from one end of the log to the other, with up to 150 N (15 kg of weight) where it meets a knot."));
    let summary = quiet(&folder, &plan, Exit::Good);
    assert!(
        summary.contains("hardest at cut 26: by hand up to 150 N"),
        "{summary}"
    );

    let powered = planned("push", "g-04");
    let plan = format!("plan {} -o {{}} --json", example("g-04"));
    let told = parsed(&quiet(&powered, &plan, Exit::Good), "bunkside-plan");
    assert!(told["hardest_push"].is_null());
    assert!(
        !fs::read_to_string(powered.join("report.html"))
            .unwrap()
            .contains("Pushed")
    );
}

/// Printed by Chromium on A4 and on Letter and counted; B-01 takes it minutes.
#[test]
fn the_report_says_how_many_pages_it_takes() {
    for (name, seen) in [
        ("a-02", [17, 19]),
        ("e-09", [12, 13]),
        ("g-04", [8, 8]),
        ("oak-14", [17, 18]),
        ("p-07", [15, 17]),
    ] {
        let report = fs::read_to_string(planned("paper", name).join("report.html")).unwrap();
        let (_, told) = report.split_once("Printed on about ").unwrap();
        let (told, _) = told.split_once("</p>").unwrap();
        let number = |rest: &str| rest.split(' ').next().unwrap().parse::<i32>().unwrap();
        let a4 = number(told);
        let letter = match told.split_once("of A4, ") {
            None => a4,
            Some((_, rest)) => number(rest),
        };
        for ((pages, seen), paper) in [a4, letter].into_iter().zip(seen).zip(["A4", "Letter"]) {
            assert!(told.contains(&format!("{pages} or {} ", pages + 1)), "{told}");
            assert!(
                (pages - 1..=pages + 2).contains(&seen),
                "{name}, {paper}: {pages} or one more, {seen} seen"
            );
        }
        let (_, sheets) = told.split_once("up to ").unwrap();
        assert_eq!(number(sheets), (a4.max(letter) + 2) / 2, "{name}: {told}");
    }
}

/// A cut in air and one that stands still have no forces; they are not passed over in silence.
#[test]
fn cuts_without_forces_are_named() {
    let folder = folder("forceless");
    let moves = r#"[{"swing": "flat"}, {"spin": "up"},
        {"go": {"travel_um": 200000}}, {"go": {"across_um": -300000, "height_um": 260000}},
        {"cut": {"travel_um": 4700000, "speed_um_per_s": 300000}},
        {"cut": {"travel_um": 4700000, "speed_um_per_s": 300000}},
        {"cut": {"travel_um": 200000, "speed_um_per_s": 300000}}]"#;
    fs::write(folder.join("air.json"), moves).unwrap();
    let line = format!("audit {{}}/air.json --job {} --feeds", example("g-04"));
    let answer = call(&folder, &line);
    let words = "not shown: cuts 1, 3: no wood; cut 2: stands still\n";
    assert!(answer.out.contains(words), "{}", answer.out);
    let told = parsed(&call(&folder, &format!("{line} --json")).out, "bunkside-audit");
    let why: Vec<&Value> = told["feeds"]["not_shown"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| &one["why"])
        .collect();
    assert_eq!(why, ["no-wood", "stands-still", "no-wood"]);
    let whole = planned("forceless", "g-04");
    let line = format!("audit {{}}/moves.json --job {} --feeds", example("g-04"));
    assert!(!quiet(&whole, &line, Exit::Good).contains("not shown"));
}

/// The two findings of one rule on one move are about two things.
#[test]
fn cover_and_bite_are_told_apart() {
    let folder = folder("cover-and-bite");
    let moves = r#"[{"swing": "flat"}, {"spin": "up"},
        {"go": {"travel_um": 200000}}, {"go": {"across_um": 200000, "height_um": 150000}},
        {"cut": {"travel_um": 4700000, "speed_um_per_s": 100000}}]"#;
    fs::write(folder.join("deep.json"), moves).unwrap();
    let line = format!("audit {{}}/deep.json --job {}", example("oak-14"));
    let out = call(&folder, &line).out;
    let reach = |what: &str| {
        let named = |line: &&str| line.contains("refused: reach") && line.contains(what);
        assert_eq!(out.lines().filter(named).count(), 1, "{what}: {out}");
    };
    reach(" of cover, the limit is ");
    reach(" of bite, the limit is ");
}

/// An oval end has two figures, a round one has one; the mass says whose it is.
#[test]
fn both_figures_of_an_oval_end_are_told() {
    let folder = folder("oval");
    let text = fs::read_to_string(example("g-04")).unwrap();
    let text = text.replace("butt = \"290 mm\"", "butt = [\"290 mm\", \"305 mm\"]");
    let mill = std::env::current_dir()
        .unwrap()
        .join("examples/mills/powered-165.toml");
    let text = text.replace("../mills/powered-165.toml", mill.to_str().unwrap());
    assert!(text.contains("305 mm"));
    fs::write(folder.join("oval.toml"), text).unwrap();
    let line = "plan {}/oval.toml -o {}/out --by-habit";
    let plan = call(&folder, line);
    assert_eq!(plan.exit, Exit::Good, "{}", plan.said);
    let plan = plan.out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(plan.contains("215 mm at the near end, "), "{plan}");
    assert!(
        plan.contains(" wide and ") && plan.contains(" high at the far end, "),
        "{plan}"
    );
    assert!(plan.contains(" kg with its bark"), "{plan}");
}

/// Where the sequencer finds no way, the help names every way out, and programs learn where the plan lies.
#[test]
fn a_plan_without_a_way_says_what_would_free_it() {
    let folder = folder("no-way");
    let text = r#"mill = "MILL"
[log]
name = "Larch 3"
density = "850 kg/m3"
timber = "medium"
length = "3.2 m"
small_end = "280 mm"
butt = ["320 mm", "335 mm"]
butt_at = "far"
bark = "15 mm"
over_bark = true
sweep = { bow = "20 mm", toward = "exit" }
[setting]
near_end_at = "0.6 m"
bed_clearance = "30 mm"
[[board]]
name = "post"
thickness = "100 mm"
width = "100 mm"
lengths = ["3 m"]
price = { each = 15 }
most = 2
[[board]]
name = "board"
thickness = "28 mm"
width = "140 mm"
lengths = ["3 m", "1.5 m"]
price = { per_m = 1.5 }
"#;
    let mill = std::env::current_dir()
        .unwrap()
        .join("examples/mills/hand-150.toml");
    fs::write(
        folder.join("larch.toml"),
        text.replace("MILL", mill.to_str().unwrap()),
    )
    .unwrap();
    let answer = call(&folder, "plan {}/larch.toml -o {}/out --json");
    assert_eq!(answer.exit, Exit::Refused);
    let told = parsed(&answer.out, "bunkside-plan");
    let problem = &told["problem"];
    assert_eq!(problem["cut_plan"], "DIR/out/plan.cut");
    assert!(folder.join("out/plan.cut").exists());
    let help = problem["help"].as_str().unwrap();
    assert!(problem["message"].as_str().unwrap().contains("would roll"));
    for way in [
        "release the rest",
        "thinner layers",
        "narrower columns",
        "(most)",
        "[wedges]",
        "the blade reaches",
    ] {
        assert!(help.contains(way), "{way}: {help}");
    }
    let read = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(read(&answer.said).contains(&read(help)), "people read the same");
}

/// An example's job with more lines in its setting, in a folder of its own.
fn changed(folder: &Path, name: &str, lines: &str) {
    let mills = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/mills/");
    let job = fs::read_to_string(example(name))
        .unwrap()
        .replace("../mills/", mills);
    let job = job.replace("[setting]", &format!("[setting]\n{lines}"));
    fs::write(folder.join("job.toml"), job).unwrap();
}

/// The job on its own copy of the mill, which has a pull-back aid as well.
fn with_pull_back_aid(folder: &Path, mill: &str) {
    let path = format!("{}/examples/mills/{mill}.toml", env!("CARGO_MANIFEST_DIR"));
    let aid = "\n[pull_back_aid]\nwidest = \"400 mm\"\nfitted = true\n";
    let aided = fs::read_to_string(&path).unwrap() + aid;
    fs::write(folder.join("aided.toml"), aided).unwrap();
    let job = fs::read_to_string(folder.join("job.toml")).unwrap();
    fs::write(folder.join("job.toml"), job.replace(&path, "aided.toml")).unwrap();
}

/// With two people such a mill does, and summary, report and `--json` say what would save the second.
fn unfitted(folder: &Path, lies: &str) {
    let job = fs::read_to_string(folder.join("job.toml")).unwrap();
    fs::write(folder.join("two.toml"), job.replace("people = 1", "people = 2")).unwrap();
    let line = "plan {}/two.toml -o {}/two";
    let out = quiet(folder, line, Exit::Good);
    let out = out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(out.contains(lies), "{out}");
    let report = fs::read_to_string(folder.join("two/report.html")).unwrap();
    assert!(report.contains(&lies.replacen("the mill", "The mill", 1)));
    let told = parsed(
        &quiet(folder, &format!("{line} --json"), Exit::Good),
        "bunkside-plan",
    );
    assert!(told["unfitted_aid_cuts"].as_u64().unwrap() > 0);
}

/// A hand carriage frees slabs in forward feed, and nobody is there to hold them down.
#[test]
fn what_one_person_cannot_saw_alone_is_refused() {
    let folder = planned("alone", "p-07");
    changed(&folder, "p-07", "people = 1");
    // Planned for two, it may not be sawn by one.
    let audit = quiet(&folder, "audit {}/moves.json --job {}/job.toml", Exit::Refused);
    assert!(audit.contains("refused: one-person, at moves"), "{audit}");
    let export = call(
        &folder,
        "export {}/moves.json --job {}/job.toml --as hex -o {}/alone.hex",
    );
    assert_eq!(export.exit, Exit::Refused);
    assert!(!folder.join("alone.hex").exists());
    let line = "plan {}/job.toml -o {}/out --json";
    let answer = call(&folder, line);
    assert_eq!(answer.exit, Exit::Refused);
    let problem = parsed(&answer.out, "bunkside-plan")["problem"].clone();
    let message = problem["message"].as_str().unwrap();
    assert!(
        message.contains("the job says that one person works here"),
        "{message}"
    );
    let help = problem["help"].as_str().unwrap();
    assert!(
        help.contains("people = 2") && help.contains("up to 133.9 mm wide (`[pull_back_aid]`"),
        "{help}"
    );
    let what = "(`people = 1`): in layer 1 the slab; in layer 2 column 3 (waste); in layer 3 column 4";
    assert!(message.contains(what), "{message}");
    assert!(folder.join("out/plan.cut").exists() && !folder.join("out/moves.json").exists());
    // What draws the pieces home stands in for the second person.
    with_pull_back_aid(&folder, "hand-150");
    let mill = fs::read_to_string(folder.join("aided.toml")).unwrap();
    let lifted = mill.replace("fitted = true", "fitted = false");
    fs::write(folder.join("aided.toml"), &lifted).unwrap();
    let answer = call(&folder, line);
    let problem = parsed(&answer.out, "bunkside-plan")["problem"].clone();
    let lies = "the mill has a pull-back aid that is not fitted when the job starts: fitted (`fitted = true`), it would bear on";
    assert!(problem["help"].as_str().unwrap().contains(lies), "{problem}");
    unfitted(&folder, lies);
    // As wide as the refusal says it does, and a tenth of a millimetre less not.
    for (wide, exit) in [("134 mm", Exit::Good), ("133.8 mm", Exit::Refused)] {
        let narrow = mill.replace("widest = \"400 mm\"", &format!("widest = \"{wide}\""));
        fs::write(folder.join("aided.toml"), narrow).unwrap();
        assert_eq!(
            call(&folder, "plan {}/job.toml -o {}/narrow --by-habit").exit,
            exit,
            "{wide}"
        );
    }
    fs::write(folder.join("aided.toml"), mill).unwrap();
    let summary = quiet(&folder, "plan {}/job.toml -o {}/aided", Exit::Good);
    assert!(summary.contains("cuts rest on the pull-back aid"), "{summary}");
    let report = fs::read_to_string(folder.join("aided/report.html")).unwrap();
    let cards = report
        .matches("The pull-back aid bears on what comes free")
        .count();
    let told = summary.split(" cuts rest on the pull-back aid").next().unwrap();
    let told = told.rsplit(' ').next().unwrap();
    assert_eq!(cards.to_string(), told);
    assert!(report.contains("The pull-back aid is fitted and bears on pieces up to"));
    quiet(&folder, "audit {}/aided/moves.json --job {}/job.toml", Exit::Good);
    // On a carriage that climbs one person is enough.
    changed(&folder, "g-04", "people = 1");
    quiet(&folder, "plan {}/job.toml -o {}/alone", Exit::Good);
    quiet(&folder, "audit {}/alone/moves.json --job {}/job.toml", Exit::Good);
    changed(&folder, "g-04", "people = 1\nstop_to_unload = false");
    let answer = call(&folder, line);
    assert_eq!(answer.exit, Exit::BadInput);
    assert!(
        answer
            .said
            .contains("one person alone does not unload beside a turning blade")
    );
}

#[test]
fn an_export_tells_that_a_second_person_is_needed() {
    for (name, needed) in [("p-07", true), ("g-04", false)] {
        let folder = planned("export-people", name);
        let line = format!(
            "export {{}}/moves.json --job {} --as hex -o {{}}/out.hex",
            example(name)
        );
        let out = quiet(&folder, &line, Exit::Good);
        assert_eq!(out.contains("needs a second person ("), needed, "{out}");
        let told = parsed(
            &quiet(&folder, &format!("{line} --json"), Exit::Good),
            "bunkside-export",
        );
        assert_eq!(told["second_person_cuts"].as_u64().unwrap() > 0, needed);
        let aside = call(&folder, &line.replace(" -o {}/out.hex", "")).said;
        assert_eq!(aside.contains("needs a second person ("), needed, "{aside}");
    }
}

/// One person cannot hold down what a hand carriage frees: `layout` tells it as `plan` does.
#[test]
fn a_layout_that_one_person_cannot_saw_is_told() {
    let folder = folder("people-alone");
    let mills = fs::canonicalize("examples/mills").unwrap();
    let toml = fs::read_to_string(example("p-07")).unwrap();
    let alone = toml
        .replace("../mills", mills.to_str().unwrap())
        .replace("\n[setting]\n", "\n[setting]\npeople = 1\n");
    fs::write(folder.join("job.toml"), alone).unwrap();
    let told = quiet(&folder, "layout {}/job.toml --json", Exit::Refused);
    let told = parsed(&told, "bunkside-layout");
    let obstacle = told["obstacle"].as_str().unwrap();
    assert!(
        obstacle.contains("`people = 1`") && obstacle.contains("what would free it"),
        "{obstacle}"
    );
    assert_eq!(told["rules"], "refused");
    let text = quiet(&folder, "layout {}/job.toml", Exit::Refused);
    assert!(
        text.lines().next().unwrap().ends_with(", if they could be sawn"),
        "{text}"
    );
    let with_two = format!("layout {} --json", example("p-07"));
    assert_eq!(
        parsed(&quiet(&folder, &with_two, Exit::Good), "bunkside-layout")["obstacle"],
        Value::Null
    );
}
