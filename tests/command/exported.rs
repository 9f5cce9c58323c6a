//! What `export` writes, what it says of it, and that every verb reads it again.

use std::fs;

use bunkside::command::Exit;
use serde_json::{Value, json};

use super::json::parsed;
use super::{call, example, fails, folder, planned, quiet};

const MILL: &str = "examples/mills/powered-165.toml";
const FORMS: [&str; 3] = ["binary", "hex", "json"];

#[test]
fn programs_are_told_what_was_written() {
    let folder = planned("export-json", "g-04");
    let job = example("g-04");
    for form in FORMS {
        let line = format!("export {{}}/moves.json --job {job} --as {form} -o {{}}/out.{form}");
        let told = parsed(
            &quiet(&folder, &format!("{line} --json"), Exit::Good),
            "bunkside-export",
        );
        let length = |name: &str| fs::metadata(folder.join(name)).unwrap().len();
        assert_eq!(told["as"], form);
        assert_eq!(told["file"], format!("DIR/out.{form}"));
        assert_eq!(told["bytes"], length(&format!("out.{form}")));
        assert_eq!(told["job_bytes"], length("moves.job"), "{form}");
        assert_eq!(told["verdict"], "pass");
        let moves: Value =
            serde_json::from_str(&fs::read_to_string(folder.join("moves.json")).unwrap()).unwrap();
        let moves = moves["moves"].as_array().unwrap().clone();
        assert_eq!(told["moves"], moves.len());
        let cuts: Vec<_> = moves.iter().filter(|one| !one["cut"].is_null()).collect();
        assert_eq!(told["cuts"], cuts.len());
        let per_cut = told["code_bytes"].as_f64().unwrap() / cuts.len() as f64;
        assert_eq!(told["code_bytes_per_cut"], json!(per_cut));
        let said = quiet(&folder, &line, Exit::Good);
        let first = format!("DIR/out.{form}: {} bytes", told["bytes"]);
        assert!(said.starts_with(&first), "{said}");
    }
    let line = format!("export {{}}/moves.json --job {job} --as hex --json");
    assert!(fails(&folder, &line, Exit::BadInput).contains("name a file: -o FILE"));
}

#[test]
fn every_form_is_read_again_with_its_log() {
    let folder = planned("export-back", "g-04");
    let job = example("g-04");
    let audit = |line: &str| {
        let told = parsed(&quiet(&folder, line, Exit::Good), "bunkside-audit");
        (told["cuts"].clone(), told["feeds"].clone())
    };
    let known = audit(&format!("audit {{}}/moves.job --mill {MILL} --json"));
    for form in FORMS {
        let export = format!("export {{}}/moves.json --job {job} --as {form} -o {{}}/out.{form}");
        quiet(&folder, &export, Exit::Good);
        let alone = format!("audit {{}}/out.{form} --mill {MILL} --json");
        assert_eq!(audit(&alone), known, "{form}");
        let log = format!("audit {{}}/moves.json --mill {MILL} --log {{}}/out.{form} --json");
        let answer = call(&folder, &log);
        assert_eq!(answer.exit, Exit::Good, "{form}: {}", answer.said);
        assert_eq!(parsed(&answer.out, "bunkside-audit")["cuts"], known.0, "{form}");
        let other = format!("audit {{}}/out.{form} --mill examples/mills/hand-150.toml");
        assert!(
            fails(&folder, &other, Exit::BadInput).contains("planned for another mill"),
            "{form}"
        );
    }
}

/// What is read is not written over, nor what people write themselves.
#[test]
fn nothing_is_exported_over_a_job() {
    let folder = planned("export-over", "g-04");
    let job = fs::read_to_string(example("g-04")).unwrap();
    let mills = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/mills/");
    fs::write(folder.join("j.toml"), job.replace("../mills/", mills)).unwrap();
    fs::copy(MILL, folder.join("m.toml")).unwrap();
    fs::copy(example("p-07"), folder.join("other.toml")).unwrap();
    fs::write(folder.join("note.txt"), "for Tuesday: two decks\n").unwrap();
    for (to, says) in [
        ("j.toml", "is read by this very line"),
        ("moves.json", "is read by this very line"),
        ("other.toml", "is a job, which would be written over"),
        ("m.toml", "is a mill profile, which would be written over"),
        ("plan.cut", "is a cut plan, which would be written over"),
        (
            "note.txt",
            "is something else than moves, which would be written over",
        ),
    ] {
        let stood = fs::read(folder.join(to)).unwrap();
        let line = format!("export {{}}/moves.json --job {{}}/j.toml --as json -o {{}}/{to}");
        let said = fails(&folder, &line, Exit::BadInput);
        assert!(said.contains(says), "{to}: {said}");
        assert_eq!(fs::read(folder.join(to)).unwrap(), stood, "{to}");
    }
    let line = "export {}/moves.json --job {}/j.toml --as json -o {}/moves.job";
    quiet(&folder, line, Exit::Good);
}

#[test]
fn what_was_spoilt_on_its_way_is_told() {
    let folder = planned("export-spoilt", "g-04");
    let job = example("g-04");
    for form in ["hex", "json"] {
        let export = format!("export {{}}/moves.json --job {job} --as {form} -o {{}}/out.{form}");
        quiet(&folder, &export, Exit::Good);
    }
    let spoilt = |from: &str, of: &str, by: &str, says: &str| {
        let text = fs::read_to_string(folder.join(from)).unwrap();
        assert!(text.contains(of), "{of}");
        fs::write(folder.join("spoilt"), text.replacen(of, by, 1)).unwrap();
        let said = fails(
            &folder,
            &format!("audit {{}}/spoilt --mill {MILL}"),
            Exit::BadInput,
        );
        assert!(said.contains(says), "{said}");
    };
    spoilt(
        "out.hex",
        ":10001000",
        ":10001001",
        "line 2: its check sum does not fit",
    );
    spoilt(
        "out.hex",
        ":00000001FF\n",
        "",
        "ends without the line that ends it",
    );
    spoilt("out.json", "\"log\": {", "\"lag\": {", "missing field `log`");
    spoilt("out.json", "\"density\":", "\"density\":-", "cannot be used");
    fs::write(folder.join("spoilt"), ":0400000041424344F2\n:00000001FF\n").unwrap();
    let said = fails(
        &folder,
        &format!("audit {{}}/spoilt --mill {MILL}"),
        Exit::BadInput,
    );
    assert!(said.contains("Intel HEX, but of no stored job"), "{said}");
    let said = fails(
        &folder,
        &format!("audit {{}}/moves.json --mill {MILL} --log {{}}/moves.json"),
        Exit::BadInput,
    );
    assert!(said.contains("holds no log"), "{said}");
}

/// Moves of another log, or of another shape of it, go to no machine by mistake; to look at them harms nobody.
#[test]
fn moves_of_another_log_are_exported_only_where_that_is_meant() {
    let folder = planned("export-another", "g-04");
    let job = example("g-04");
    let moves = fs::read_to_string(folder.join("moves.json")).unwrap();
    let shape = fs::read_to_string(&job).unwrap();
    let mills = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/mills/");
    let longer = shape.replace("length = \"3.66 m\"", "length = \"3.67 m\"");
    assert_ne!(shape, longer);
    fs::write(folder.join("longer.toml"), longer.replace("../mills/", mills)).unwrap();
    let named = |from: &str, to: &str| {
        assert!(moves.contains(from));
        moves.replacen(from, to, 1)
    };
    let log = named("\"log\": \"G-04\"", "\"log\": \"G-05\"");
    let mill = named("\"mill\": \"powered-165\"", "\"mill\": \"another\"");
    fs::write(folder.join("log.json"), log).unwrap();
    fs::write(folder.join("mill.json"), mill).unwrap();
    for (from, job) in [
        ("log.json", job.as_str()),
        ("mill.json", &job),
        ("moves.job", "{}/longer.toml"),
    ] {
        for form in FORMS {
            let line = format!("export {{}}/{from} --job {job} --as {form} -o {{}}/out.{form}");
            if form == "json" {
                assert_eq!(call(&folder, &line).exit, Exit::Good, "{from}");
                continue;
            }
            let said = fails(&folder, &line, Exit::BadInput);
            assert!(said.contains("made for another log or mill"), "{said}");
            assert!(!folder.join(format!("out.{form}")).exists());
            if from != "moves.job" {
                let answer = call(&folder, &format!("{line} --of-another"));
                assert_eq!(answer.exit, Exit::Good, "{}", answer.said);
                fs::remove_file(folder.join(format!("out.{form}"))).unwrap();
            }
        }
    }
}

/// Who exports a job is told what to do first, whether or not a form is named; and the help says where the bytes are told.
#[test]
fn a_job_is_planned_before_it_is_exported() {
    let folder = folder("export-job");
    for form in ["", "--as hex"] {
        let told = fails(
            &folder,
            &format!("export {} {form}", example("g-04")),
            Exit::BadInput,
        );
        let told = told.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(told.contains("is a job, not moves"), "{told}");
        assert!(
            told.contains("turns it into moves and judges them; then name the moves.json that it writes"),
            "{told}"
        );
    }
    assert!(quiet(&folder, "help export", Exit::Good).contains("protocol/WIRE.md"));
}
