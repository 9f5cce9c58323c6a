//! Where the log lies on its bunks along the rails, and how far to shift it.

use std::fs;
use std::path::Path;

use bunkside::command::Exit;

use super::{call, example, folder, quiet};

/// Example A-02, 3.14 m long, with its near end elsewhere; the mill's bunks are 120 mm wide and stand at 0.9 m, 2.4 m, 3.9 m and
/// 5.2 m.
fn at(place: &str) -> std::path::PathBuf {
    let folder = folder(&format!("carried-{}", place.replace(' ', "-")));
    let job = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(example("a-02"))).unwrap();
    let mills = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/mills/");
    let moved = job
        .replace("../mills/", mills)
        .replace("near_end_at = \"0.83 m\"", &format!("near_end_at = \"{place}\""));
    assert!(moved.contains(place) && moved.contains(mills));
    fs::write(folder.join("job.toml"), moved).unwrap();
    folder
}

fn on_one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The near end at the middle of the first bunk: half of its 120 mm lie beyond it.
#[test]
fn an_end_on_a_part_of_its_bunk_is_told_with_how_far_to_shift_the_log() {
    let folder = at("0.9 m");
    let out = on_one_line(&quiet(&folder, "plan {}/job.toml -o {}/out", Exit::Good));
    assert!(
        out.contains("warning: support, at move 0: found 60 mm, the warning begins at 120 mm"),
        "{out}"
    );
    assert!(
        out.contains(
            "60 mm of its width lie beyond the log's end: to mend that, do not push the log, for these cuts are planned for where it is to lie; take 60 mm off `near_end_at` in the job and plan again"
        ),
        "{out}"
    );
    let report = fs::read_to_string(folder.join("out/report.html")).unwrap();
    let report = on_one_line(&report.replace('\u{a0}', " "));
    assert!(report.contains("do not push the log, for these cuts are planned for where it is to lie"));
    let whole = on_one_line(&quiet(&at("0.84 m"), "plan {}/job.toml -o {}/out", Exit::Good));
    assert!(whole.contains("none of N rules objects"), "{whole}");
}

/// At 2.5 m it lies on the bunks at 3.9 m and 5.2 m alone, with 1.4 m beyond the first, and 1.2 m is the most. The bunk at 2.4 m
/// begins at 2.34 m, 160 mm back: from there on it carries, over its whole width.
#[test]
fn a_log_that_is_not_carried_is_told_which_way_and_how_far() {
    let folder = at("2.5 m");
    let said = on_one_line(&call(&folder, "plan {}/job.toml -o {}/out").said);
    assert!(
        said.contains(
            "1.4 m of the log lies beyond its last bunk, and 1.2 m is the most (`support.overhang`)"
        ),
        "{said}"
    );
    assert!(
        said.contains("shift the log 160 mm towards its near end (near_end_at = \"2.34 m\")"),
        "{said}"
    );
    let there = on_one_line(&quiet(&at("2.34 m"), "plan {}/job.toml -o {}/out", Exit::Good));
    assert!(there.contains("none of N rules objects"), "{there}");
    let read = on_one_line(&call(&at("4.4 m"), "plan {}/job.toml -o {}/out").said);
    // On the last bunk alone: the two last are covered whole up to 3.84 m, 560 mm back.
    assert!(
        read.contains("shift the log 560 mm towards its near end"),
        "{read}"
    );
}

/// Whatever the near end's place, whether a tape shows it or not: what is told is followed to the letter, and the log is carried.
#[test]
fn where_a_log_is_told_to_be_shifted_it_is_carried() {
    let mut told = 0;
    for (number, place) in ["1036 mm", "1.2345 m", "2503.7 mm", "40 13/16 in"]
        .into_iter()
        .enumerate()
    {
        let at = |place: &str| {
            let folder = folder(&format!("shifted-{number}"));
            let mill = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/mills/hand-150-aid.toml");
            let sizes = if place.ends_with("in") {
                "thickness = \"2 in\"\nwidth = \"4 in\"\nlengths = [\"7 ft\"]"
            } else {
                "thickness = \"50 mm\"\nwidth = \"100 mm\"\nlengths = [\"2170 mm\"]"
            };
            let job = format!(
                "mill = {mill:?}\n[log]\nname = \"T\"\nspecies = \"western larch\"\nlength = \"4341 mm\"\nsmall_end = \"178 mm\"\n\
                 butt = \"223 mm\"\nbutt_at = \"far\"\n[setting]\nnear_end_at = \"{place}\"\nbed_clearance = \"25 mm\"\n\
                 [[board]]\nname = \"p\"\n{sizes}\nprice = {{ each = 5.00 }}\n"
            );
            fs::write(folder.join("job.toml"), job).unwrap();
            on_one_line(&call(&folder, "plan {}/job.toml -o {}/out").said)
        };
        let said = at(place);
        let advised = said
            .split("(near_end_at = \"")
            .nth(1)
            .and_then(|rest| rest.split('"').next());
        let Some(advised) = advised else {
            assert!(!said.contains("`support."), "{place}: {said}");
            continue;
        };
        told += 1;
        let followed = at(advised);
        assert!(
            !followed.contains("`support.") && !followed.contains("shift the log"),
            "{advised}: {followed}"
        );
    }
    assert!(told >= 3, "{told}");
}

/// At the zero mark the log lies where it may; on the operator's side of it, that is told.
#[test]
fn a_log_that_reaches_behind_the_zero_mark_is_warned_of() {
    let said = |place: &str| on_one_line(&call(&at(place), "layout {}/job.toml").said);
    assert!(!said("0 mm").contains("zero mark"), "{}", said("0 mm"));
    assert!(
        said("-1 mm").contains("the log reaches 1 mm to the operator's side of the rails' zero mark"),
        "{}",
        said("-1 mm")
    );
}
