//! What is said about input that cannot be used: status 2, what was found, what would do.

use std::fs;

use bunkside::command::Exit;
use serde_json::Value;

use super::json::parsed;
use super::{call, example, fails, folder, planned};

#[test]
fn command_lines_that_cannot_be_used() {
    let folder = folder("lines");
    fs::write(folder.join("bytes"), [0x42, 0xff, 0x00]).unwrap();
    fs::write(
        folder.join("broken.json"),
        "{\"moves\": [{\"swing\": \"flatt\"}]}",
    )
    .unwrap();
    let job = example("g-04");
    let lines = [
        "pln".to_owned(),
        "plan".to_owned(),
        format!("plan {job} --outputt {{}}"),
        format!("plan {job} {job}"),
        format!("plan {job} --output="),
        "plan {}/none.toml".to_owned(),
        "plan {}".to_owned(),
        "plan {}/bytes".to_owned(),
        "sequence {}/none.cut".to_owned(),
        format!("audit {{}}/broken.json --job {job}"),
        "audit {}/broken.json".to_owned(),
        format!("audit {{}}/broken.json --job {job} --mill {job}"),
        "audit {}/broken.json --mill examples/mills/hand-150.toml".to_owned(),
        format!("export {{}}/broken.json --job {job}"),
        format!("export {{}}/broken.json --job {job} --as hexx"),
        format!("export {{}}/broken.json --job {job} --as binary"),
        "rules reech".to_owned(),
        "help mil".to_owned(),
    ];
    let mut told = String::new();
    for line in lines {
        let said = fails(&folder, &line, Exit::BadInput);
        // The help that follows a missing operand has its own test.
        let said = said.split("\n\nusage:").next().unwrap().trim_end();
        told.push_str(&format!("$ bunkside {}\n{said}\n\n", line.replace("{}", "DIR")));
    }
    insta::assert_snapshot!("command-lines", told.trim_end());
}

#[test]
fn a_stored_job_that_is_damaged_is_no_input() {
    let folder = planned("damaged", "p-07");
    let path = folder.join("moves.job");
    let whole = fs::read(&path).unwrap();
    let line = format!("audit {{}}/moves.job --job {}", example("p-07"));
    for place in (0..whole.len()).step_by(41).skip(1) {
        let mut bytes = whole.clone();
        bytes[place] ^= 0x10;
        fs::write(&path, bytes).unwrap();
        let said = fails(&folder, &line, Exit::BadInput);
        assert!(said.contains("cannot be used: byte "), "{said}");
    }
}

/// Everything that is wrong with a job is told, from the job and from its mill, and nothing is made.
#[test]
fn a_bad_job_is_told_in_full() {
    let folder = folder("bad-job");
    let said = fails(
        &folder,
        "plan examples/bad/jobs/many-at-once.toml -o {}/out",
        Exit::BadInput,
    );
    assert!(said.matches(": error: ").count() > 2, "{said}");
    assert!(!folder.join("out").exists());
}

/// A warning is told and does not stop anything.
#[test]
fn a_warning_does_not_stop() {
    let folder = folder("warned");
    let answer = call(&folder, "plan examples/bad/jobs/butt-smaller.toml -o {}");
    assert!(
        answer
            .said
            .contains("warning: the butt is smaller than the small end"),
        "{}",
        answer.said
    );
    assert_eq!(answer.exit, Exit::Good, "{}", answer.out);
}

/// Names come from files, and steer no terminal: neither colours nor a line that looks like a verdict.
#[test]
fn names_steer_no_terminal() {
    let folder = folder("steering");
    let job = fs::read_to_string(example("g-04")).unwrap().replace(
        "../mills/",
        concat!(env!("CARGO_MANIFEST_DIR"), "/examples/mills/"),
    );
    for name in ["G\\u001b[31m", "G\\nverdict   passed", "G\\u202e40-"] {
        fs::write(
            folder.join("j.toml"),
            job.replace("\"G-04\"", &format!("\"{name}\"")),
        )
        .unwrap();
        let said = fails(&folder, "plan {}/j.toml -o {}/out", Exit::BadInput);
        let told = "`log.name` holds a line break or another character that cannot be printed";
        assert!(said.contains(told), "{said}");
        assert!(!said.contains(['\u{1b}', '\u{202e}']), "{said}");
    }
}

/// A folder that stands where a file is to go is not touched.
#[test]
fn nothing_is_overwritten_that_is_not_ours() {
    let folder = folder("not-ours");
    fs::create_dir_all(folder.join("moves.json")).unwrap();
    let said = fails(
        &folder,
        &format!("plan {} -o {{}}", example("g-04")),
        Exit::BadInput,
    );
    assert!(said.contains("DIR/moves.json"), "{said}");
    fs::write(folder.join("file"), "mine").unwrap();
    let said = fails(
        &folder,
        &format!("plan {} -o {{}}/file", example("g-04")),
        Exit::BadInput,
    );
    assert!(
        said.contains("DIR/file is there already and is no folder"),
        "{said}"
    );
    assert_eq!(fs::read_to_string(folder.join("file")).unwrap(), "mine");
    let left = fs::read_dir(&folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name());
    assert!(
        left.into_iter()
            .all(|name| !name.to_string_lossy().ends_with(".part"))
    );
}

/// A floor above the highest place of the log saws nothing: most likely it is in another unit.
#[test]
fn a_floor_above_the_log_is_told_where_it_stands() {
    let folder = planned("above-the-log", "g-04");
    let plan = fs::read_to_string(folder.join("plan.cut")).unwrap();
    let high = plan.replacen("layer down to 259 mm", "layer down to 259 in", 1);
    assert_ne!(high, plan);
    fs::write(folder.join("high.cut"), high).unwrap();
    let line = format!("sequence {{}}/high.cut --job {} -o {{}}/out", example("g-04"));
    let said = fails(&folder, &line, Exit::BadInput);
    assert!(said.contains("nothing of the log is there"), "{said}");
    assert!(said.contains("layer down to 259 in"), "{said}");
    assert!(!folder.join("out").exists());
}

/// However long a text is, what is said of it can be read.
#[test]
fn long_texts_are_cut_down() {
    let folder = folder("long-texts");
    let long = "x".repeat(20_000);
    let write = |name: &str, text: String| fs::write(folder.join(name), text).unwrap();
    let job = fs::read_to_string(example("g-04")).unwrap();
    write(
        "j.toml",
        job.replace("\"215 mm\"", &format!("\"3 {long}\""))
            .replace("fresh", &long)
            .replace("\"deck\"", &format!("\"deck\"\n{long} = 3")),
    );
    write(
        "p.cut",
        format!("plan \"G-04\"\nlayer down to 3 {long}\n{long}\n"),
    );
    write(
        "m.json",
        format!(
            "{{\"format\": \"{long}\", \"moves\": [{{\"{long}\": 3}}, {{\"swing\": \"{long}\"}}, {{\"go\": {{\"travel_um\": {}}}}}]}}",
            "9".repeat(20_000)
        ),
    );
    let job = example("g-04");
    for line in [
        "plan {}/j.toml".to_owned(),
        format!("sequence {{}}/p.cut --job {job}"),
        format!("audit {{}}/m.json --job {job}"),
        format!("plan {job} --{long}"),
        format!("rules {long}"),
        format!("help {long}"),
        format!("explain {job} {long}"),
        long.clone(),
    ] {
        let said = fails(&folder, &line, Exit::BadInput);
        let longest = said.lines().map(|line| line.chars().count()).max();
        let name = line.chars().take(40).collect::<String>();
        assert!(longest < Some(600), "{name}: {longest:?}");
        assert!(said.contains(" ... "), "{name}: {said}");
    }
}

/// A cut plan or a job is not taken for moves, and it is told how moves come of it.
#[test]
fn plans_are_pointed_to_the_verb_that_sequences_them() {
    let folder = planned("no-moves", "g-04");
    fs::copy(folder.join("plan.cut"), folder.join("plan.txt")).unwrap();
    let job = example("g-04");
    for (file, what, verb) in [
        (
            "{}/plan.cut",
            "a cut plan",
            "`bunkside sequence DIR/plan.cut --job JOB`",
        ),
        (
            "{}/plan.txt",
            "a cut plan",
            "`bunkside sequence DIR/plan.txt --job JOB`",
        ),
        (&*job, "a job", "`bunkside plan examples/jobs/g-04.toml`"),
    ] {
        for by in ["audit", "dry-run"] {
            let said = fails(&folder, &format!("{by} {file} --job {job}"), Exit::BadInput);
            assert!(said.contains(&format!("is {what}, not moves")), "{said}");
            assert!(said.contains(verb), "{said}");
            if !file.ends_with("txt") {
                let said = fails(&folder, &format!("{by} {file}"), Exit::BadInput);
                assert!(said.contains(verb), "before a mill is asked for: {said}");
            }
        }
    }
}

/// Moves that were made for another log or mill are run all the same, and it is told.
#[test]
fn moves_say_what_they_were_made_for() {
    let folder = planned("made-for", "g-04");
    let answer = call(
        &folder,
        &format!("audit {{}}/moves.json --job {}", example("p-07")),
    );
    for told in [
        "DIR/moves.json was made for log G-04; it is run on P-07",
        "DIR/moves.json was made for mill powered-165; it is run on hand-150",
    ] {
        assert!(answer.said.contains(told), "{}", answer.said);
    }
}

/// Programs read it as well, from every verb that runs such moves; of moves that are where they belong nothing is told.
#[test]
fn programs_learn_what_moves_were_made_for() {
    let folder = planned("made-for-json", "g-04");
    let other = |job: &str, verb: &str, more: &str| {
        let line = format!("{verb} {{}}/moves.json {more} --job {} --json", example(job));
        let format = format!("bunkside-{verb}");
        parsed(&call(&folder, &line).out, &format)["made_for_another"].take()
    };
    let both = serde_json::json!([
        { "what": "log", "made_for": "G-04", "run_on": "P-07" },
        { "what": "mill", "made_for": "powered-165", "run_on": "hand-150" },
    ]);
    for (verb, more) in [("audit", ""), ("dry-run", ""), ("explain", "0")] {
        assert_eq!(other("g-04", verb, more), serde_json::json!([]), "{verb}");
        assert_eq!(other("p-07", verb, more), both, "{verb}");
    }
    let kept: Value = serde_json::from_slice(&fs::read(folder.join("audit.json")).unwrap()).unwrap();
    assert_eq!(kept["made_for_another"], serde_json::json!([]));

    let mills = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/mills/");
    let longer = fs::read_to_string(example("g-04")).unwrap();
    let longer = longer.replace("length = \"3.66 m\"", "length = \"3.67 m\"");
    fs::write(folder.join("longer.toml"), longer.replace("../mills/", mills)).unwrap();
    let out = call(&folder, "audit {}/moves.job --job {}/longer.toml --json").out;
    let shape = serde_json::json!([{ "what": "log-shape", "made_for": null, "run_on": "G-04" }]);
    assert_eq!(parsed(&out, "bunkside-audit")["made_for_another"], shape);
    let moves = fs::read_to_string(folder.join("moves.json")).unwrap();
    fs::write(
        folder.join("other.json"),
        moves.replacen("\"G-04\"", "\"G-05\"", 1),
    )
    .unwrap();
    let line = format!(
        "export {{}}/other.json --job {} --as hex -o {{}}/o.hex --of-another --json",
        example("g-04")
    );
    let told = parsed(&quiet_but_warned(&folder, &line), "bunkside-export");
    assert_eq!(told["made_for_another"][0]["made_for"], "G-05");
}

/// What a call prints that ends well, whatever it says beside that.
fn quiet_but_warned(folder: &std::path::Path, line: &str) -> String {
    let answer = call(folder, line);
    assert_eq!(answer.exit, Exit::Good, "{}", answer.said);
    answer.out
}

/// Some editors write a byte order mark in front of every text; nobody sees it, so nobody can take it away.
#[test]
fn a_byte_order_mark_is_no_mistake() {
    let folder = planned("byte-order-mark", "g-04");
    let root = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/");
    let marked = |from: &str, to: &str, text: String| {
        assert!(!text.starts_with('\u{feff}'), "{from}");
        fs::write(folder.join(to), format!("\u{feff}{text}")).unwrap();
    };
    let read = |path: &str| fs::read_to_string(path).unwrap();
    let mill = format!("{root}mills/powered-165.toml");
    marked(&mill, "mill.toml", read(&mill));
    let job = read(&format!("{root}jobs/g-04.toml"));
    let named = job.replace("../mills/powered-165.toml", "mill.toml");
    assert_ne!(named, job);
    marked("job", "job.toml", named);
    for name in ["moves.json", "plan.cut"] {
        marked(name, name, fs::read_to_string(folder.join(name)).unwrap());
    }
    for line in [
        "audit {}/moves.json --job {}/job.toml",
        "sequence {}/plan.cut --job {}/job.toml -o {}/out",
        "plan {}/job.toml -o {}/out",
    ] {
        let answer = call(&folder, line);
        assert_eq!(answer.exit, Exit::Good, "{line}: {}", answer.said);
    }
}
