//! The program itself: status, streams, and no colour.

use std::fs::File;
use std::io::Read;
use std::process::{Command, Output, Stdio};

use super::{example, folder};

fn bunkside(words: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_bunkside"));
    command.args(words).output().unwrap()
}

#[test]
fn status_and_streams_are_those_of_the_answer() {
    let folder = folder("process");
    let out = folder.to_str().unwrap();
    let good = bunkside(&["plan", &example("g-04"), "-o", out]);
    assert_eq!((good.status.code(), good.stderr.as_slice()), (Some(0), &b""[..]));
    let text = String::from_utf8(good.stdout).unwrap();
    assert!(text.starts_with("G-04 on powered-165\n"), "{text}");
    assert!(!text.contains('\u{1b}'), "no colour, so that it reads everywhere");

    let moves = format!("{out}/moves.json");
    let other = bunkside(&["audit", &moves, "--job", &example("b-01")]);
    assert_eq!(other.status.code(), Some(1));

    let bad = bunkside(&["plan", "none.toml"]);
    assert_eq!((bad.status.code(), bad.stdout.as_slice()), (Some(2), &b""[..]));
    assert!(
        String::from_utf8(bad.stderr)
            .unwrap()
            .contains("there is no file at none.toml")
    );
}

/// Without `-o` the results go to a folder of the log's name, where the command runs.
#[test]
fn a_folder_is_named_after_the_log() {
    let folder = folder("named");
    let job = format!("{}/{}", env!("CARGO_MANIFEST_DIR"), example("g-04"));
    let mut command = Command::new(env!("CARGO_BIN_EXE_bunkside"));
    let ran = command
        .args(["plan", &job])
        .current_dir(&folder)
        .output()
        .unwrap();
    assert_eq!(ran.status.code(), Some(0));
    assert!(folder.join("G-04/moves.job").exists());
}

/// A full disk is no success; `/dev/full` is one that always is.
#[test]
fn what_cannot_be_written_is_told() {
    let Ok(full) = File::options().write(true).open("/dev/full") else {
        return;
    };
    for (words, status) in [
        (vec!["rules"], 2),
        (vec!["help", "job"], 2),
        (vec!["plan", "none.toml", "--json"], 2),
    ] {
        let mut command = Command::new(env!("CARGO_BIN_EXE_bunkside"));
        let ran = command
            .args(&words)
            .stdout(full.try_clone().unwrap())
            .output()
            .unwrap();
        assert_eq!(ran.status.code(), Some(status), "{words:?}");
        let said = String::from_utf8(ran.stderr).unwrap();
        assert!(said.contains("could be written: "), "{words:?}: {said}");
    }
}

/// A reader that has read enough is no fault, and nothing is said of it.
#[test]
fn a_reader_may_go_away() {
    let mut command = Command::new(env!("CARGO_BIN_EXE_bunkside"));
    // It is gone before anything is written.
    let job = example("p-07");
    let mut child = command
        .args(["plan", &job, "--by-habit", "--json", "-o"])
        .arg(folder("reader-gone"))
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let mut said = String::new();
    child.stderr.take().unwrap().read_to_string(&mut said).unwrap();
    assert_eq!((child.wait().unwrap().code(), said.as_str()), (Some(0), ""));
}
