//! Dogs and keep-out boxes: what is gone round, and what is told of those that are in the way.

use std::fs;
use std::path::Path;

use bunkside::command::Exit;

use super::{call, fails, folder, quiet};

/// A log that lies from 0.7 to 3.8 m on a hand mill whose blade swings under, with one more box on its bed.
fn beside(folder: &Path, kind: &str, [travel, across, height]: [[i32; 2]; 3]) {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples");
    let pair = |[from, to]: [i32; 2]| format!("[\"{from} mm\", \"{to} mm\"]");
    let lies = format!(
        "[[{kind}]]\ntravel = {}\nacross = {}\nheight = {}\n\n[[dog]]",
        pair(travel),
        pair(across),
        pair(height)
    );
    let mill = fs::read_to_string(root.join("mills/hand-150.toml")).unwrap();
    fs::write(folder.join("mill.toml"), mill.replacen("[[dog]]", &lies, 1)).unwrap();
    let job = fs::read_to_string(root.join("jobs/p-07.toml")).unwrap();
    fs::write(
        folder.join("job.toml"),
        job.replace("../mills/hand-150.toml", "mill.toml"),
    )
    .unwrap();
}

const PLAN: &str = "plan {}/job.toml -o {}/out --by-habit";

/// A dog 40 mm high where the blade swings at the near end, 30 mm past the log: the kerfs pass over it, what the swing sweeps
/// below the corner does not.
#[test]
fn the_blade_is_raised_to_swing_over_a_dog() {
    let folder = folder("swing-over");
    beside(&folder, "dog", [[400, 440], [-120, -80], [0, 40]]);
    quiet(&folder, PLAN, Exit::Good);
    let audit = "audit {}/out/moves.json --job {}/job.toml";
    let clean = call(&folder, audit);
    assert_eq!(clean.exit, Exit::Good, "{}", clean.out);
    // On a mill without the dog the same moves do for the same log, and are more than are needed.
    let raised = fs::read_to_string(folder.join("out/moves.json")).unwrap();
    beside(&folder, "dog", [[400, 440], [-120, -80], [0, 1]]);
    quiet(&folder, PLAN, Exit::Good);
    assert_ne!(fs::read_to_string(folder.join("out/moves.json")).unwrap(), raised);
}

#[test]
fn what_stands_in_the_way_is_named_with_its_place() {
    let folder = folder("in-the-way");
    beside(&folder, "keep_out", [[2_000, 2_100], [-400, -300], [0, 300]]);
    insta::assert_snapshot!("in-a-stroke", fails(&folder, PLAN, Exit::Refused));
    beside(&folder, "dog", [[400, 440], [150, 190], [0, 100]]);
    insta::assert_snapshot!("dog-in-a-stroke", fails(&folder, PLAN, Exit::Refused));
}

/// A dog may bite into the log by its points, 20 mm, and a box may stand beside it.
#[test]
fn what_lies_in_the_log_is_told_on_reading() {
    let folder = folder("in-the-log");
    let said = |kind: &str, place: [[i32; 2]; 3]| {
        beside(&folder, kind, place);
        call(&folder, PLAN).said
    };
    insta::assert_snapshot!(
        "box-in-the-log",
        said("keep_out", [[2_000, 2_100], [-100, 100], [100, 200]])
    );
    insta::assert_snapshot!(
        "dog-in-the-log",
        said("dog", [[2_000, 2_100], [-20, 20], [150, 200]])
    );
    // From the side, through it, and narrow from below.
    for (name, across, height) in [
        ("dog-deep-in-the-log", [-200, -60], [100, 140]),
        ("dog-through-the-log", [-200, 200], [0, 100]),
        ("dog-under-the-log", [-5, 5], [0, 100]),
    ] {
        insta::assert_snapshot!(name, said("dog", [[2_000, 2_100], across, height]));
    }
    // The wood begins 139.5 mm out there.
    for (kind, across, told) in [
        ("dog", [-200, -120], false),
        ("dog", [-200, -119], true),
        ("keep_out", [-400, -300], false),
    ] {
        let said = said(kind, [[2_000, 2_100], across, [100, 140]]);
        let places = ["of the mill lies", "of the mill stands"];
        assert_eq!(places.iter().any(|words| said.contains(words)), told, "{said}");
    }
}
