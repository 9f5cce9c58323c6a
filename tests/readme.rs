//! What README.md shows is what the tool does: its console blocks are run and compared, its pictures drawn again.
//!
//! A line `…` in a block stands for any lines. `BUNKSIDE_DRAW=1` writes the pictures anew.

use std::fs;
use std::os::unix::fs::symlink;
use std::path::{Path, PathBuf};
use std::process::Command;

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// An empty folder that sees the examples as a reader at the root does.
fn reader(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).unwrap();
    symlink(root().join("examples"), folder.join("examples")).unwrap();
    folder
}

fn output(folder: &Path, line: &str) -> String {
    let mut words = line.split_whitespace();
    assert_eq!(words.next(), Some("bunkside"), "{line}");
    let ran = Command::new(env!("CARGO_BIN_EXE_bunkside"))
        .args(words)
        .current_dir(folder)
        .output()
        .unwrap();
    String::from_utf8(ran.stdout).unwrap()
}

/// Whether the lines are the shown ones, `…` standing for any.
fn matches(shown: &[&str], lines: &[&str]) -> bool {
    match shown {
        [] => lines.is_empty(),
        ["…", rest @ ..] => (0..=lines.len()).any(|from| matches(rest, &lines[from..])),
        [first, rest @ ..] => lines.first() == Some(first) && matches(rest, &lines[1..]),
    }
}

#[test]
fn console_blocks_are_what_the_tool_prints() {
    let text = fs::read_to_string(root().join("README.md")).unwrap();
    let folder = reader("readme");
    let mut blocks = 0;
    for block in text.split("```console\n").skip(1) {
        let block = block.split("\n```").next().unwrap();
        let mut lines = block.lines();
        let command = lines.next().unwrap().strip_prefix("$ ").unwrap();
        let shown: Vec<&str> = lines.collect();
        let out = output(&folder, command);
        let printed: Vec<&str> = out.trim_end().lines().collect();
        assert!(matches(&shown, &printed), "{command} prints\n{out}");
        blocks += 1;
    }
    assert!(blocks >= 6);
}

#[test]
fn the_job_can_be_planned() {
    let text = fs::read_to_string(root().join("README.md")).unwrap();
    let job = text
        .split("```toml\n")
        .nth(1)
        .unwrap()
        .split("\n```")
        .next()
        .unwrap();
    let whole = fs::read_to_string(root().join("examples/jobs/g-04.toml")).unwrap();
    assert_eq!(job.trim_end(), whole.trim_end(), "the job is shown whole");
    let folder = reader("readme-job");
    fs::create_dir_all(folder.join("jobs")).unwrap();
    symlink(root().join("examples/mills"), folder.join("mills")).unwrap();
    fs::write(folder.join("jobs/job.toml"), job).unwrap();
    let out = output(&folder, "bunkside plan jobs/job.toml -o out");
    assert!(out.contains("verdict   passed"), "{out}");
}

#[test]
fn pictures_are_what_the_tool_draws() {
    let folder = reader("readme-pictures");
    output(&folder, "bunkside plan examples/jobs/g-04.toml -o out");
    for name in ["ends", "setting", "timeline", "margins"] {
        let drawn = fs::read_to_string(folder.join(format!("out/{name}.svg"))).unwrap();
        let kept = root().join(format!("examples/pictures/g-04-{name}.svg"));
        if std::env::var_os("BUNKSIDE_DRAW").is_some() {
            fs::write(&kept, &drawn).unwrap();
        }
        assert!(
            fs::read_to_string(&kept).unwrap() == drawn,
            "{} is old: draw it anew",
            kept.display()
        );
    }
}
