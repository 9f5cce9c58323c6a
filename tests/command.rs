//! The verbs of the command line, called as the command line calls them.
//!
//! Snapshots show what a sawyer reads; figures in them come from the examples.

mod across;
mod carried;
mod explain;
mod exported;
mod grids;
mod hangs;
mod help;
mod input;
mod json;
mod kept_out;
mod lacking;
mod layouts;
mod lifting;
mod making;
mod metal;
mod open_setting;
mod orders;
mod pairs;
mod partly;
mod people;
mod process;
mod pushed;
mod sizes;
mod strangers;
mod stressed;
mod told;
mod wanted;
mod wedges;

use std::ffi::OsString;
use std::fs;
use std::path::{Path, PathBuf};

use bunkside::cli::run;
use bunkside::command::{Answer, Exit};
use bunkside_planner::rules::RULES;

/// The jobs of the examples.
const JOBS: [&str; 8] = ["a-02", "b-01", "d-18", "g-04", "l-21", "oak-14", "p-07", "s-11"];

/// A folder of one test, empty at its beginning.
fn folder(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).unwrap();
    folder
}

fn example(job: &str) -> String {
    format!("examples/jobs/{job}.toml")
}

/// Carries out a command line; blanks part its words, `{}` stands for the folder.
fn call(folder: &Path, line: &str) -> Answer {
    let folder = folder.to_str().unwrap();
    let words: Vec<OsString> = line
        .split_whitespace()
        .map(|word| word.replace("{}", folder).into())
        .collect();
    let mut answer = run(&words);
    answer.out = uncounted(&answer.out.replace(folder, "DIR"));
    answer.said = answer.said.replace(folder, "DIR");
    answer
}

/// A text that stays as it is when a rule is added.
pub(crate) fn uncounted(text: &str) -> String {
    text.replace(&format!("{} rules", RULES.len()), "N rules")
}

/// The same; it must end so, and say nothing on the side.
fn quiet(folder: &Path, line: &str, exit: Exit) -> String {
    let answer = call(folder, line);
    assert_eq!(answer.said, "", "{line}");
    assert_eq!(answer.exit, exit, "{line}: {}", answer.out);
    answer.out
}

/// A command that must fail so; answers with what it says.
fn fails(folder: &Path, line: &str, exit: Exit) -> String {
    let answer = call(folder, line);
    assert_eq!(answer.exit, exit, "{line}: {}{}", answer.said, answer.out);
    assert!(!answer.said.is_empty(), "{line}: nothing is said");
    answer.said
}

/// A long text, its middle left out.
fn shortened(text: &str) -> String {
    const ENDS: usize = 14;
    let lines: Vec<&str> = text.lines().collect();
    if lines.len() <= 2 * ENDS + 1 {
        return text.to_owned();
    }
    let left_out = format!("[{} lines]", lines.len() - 2 * ENDS);
    let (first, last) = (&lines[..ENDS], &lines[lines.len() - ENDS..]);
    let kept = first
        .iter()
        .copied()
        .chain([left_out.as_str()])
        .chain(last.iter().copied());
    kept.map(|line| format!("{line}\n")).collect()
}

/// Plans an example job into a folder of this test.
fn planned(test: &str, job: &str) -> PathBuf {
    let folder = folder(&format!("{test}-{job}"));
    quiet(&folder, &format!("plan {} -o {{}}", example(job)), Exit::Good);
    folder
}
