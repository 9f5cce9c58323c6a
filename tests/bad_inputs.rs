//! Every input in `examples/bad/` and exactly what is said about it.
//!
//! Each file has one idea, told in its first line. What is said is read by a sawyer: place, what was found, what would do.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use bunkside::diagnostic::{Source, any_error, render_all};
use bunkside::{job, mill};

use crate::dice::Dice;

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn load(path: &Path) -> std::io::Result<String> {
    fs::read_to_string(root().join(path))
}

/// The files of a folder, by name, as paths from the root.
fn files(folder: &str) -> Vec<PathBuf> {
    let entries = fs::read_dir(root().join(folder)).expect("the folder is there");
    let mut files: Vec<PathBuf> = entries
        .map(|entry| Path::new(folder).join(entry.expect("an entry").file_name()))
        .collect();
    files.sort();
    files
}

fn source(path: &Path) -> Source {
    Source::new(path.to_string_lossy(), load(path).expect("the file is there"))
}

fn stem(path: &Path) -> String {
    path.file_stem().expect("a file").to_string_lossy().into_owned()
}

/// The idea of a file, and what is said about it.
fn shown(source: &Source, said: &str) -> String {
    let idea = source.text.lines().next().unwrap_or_default();
    assert!(
        idea.starts_with("# ") && idea.ends_with('.'),
        "{}: tell the idea first",
        source.name
    );
    assert!(!said.is_empty(), "{}: nothing is said", source.name);
    format!("{idea}\n\n{said}")
}

#[test]
fn bad_jobs() {
    for path in files("examples/bad/jobs") {
        let source = source(&path);
        let outcome = job::read(&source, &load);
        let refused = outcome.reports.iter().any(|(_, said)| any_error(said));
        assert_eq!(outcome.job.is_none(), refused, "{}", source.name);
        insta::assert_snapshot!(
            format!("job-{}", stem(&path)),
            shown(&source, &outcome.rendered())
        );
    }
}

#[test]
fn bad_mills() {
    for path in files("examples/bad/mills") {
        let source = source(&path);
        let (profile, said) = mill::read(&source);
        assert_eq!(profile.is_none(), any_error(&said), "{}", source.name);
        insta::assert_snapshot!(
            format!("mill-{}", stem(&path)),
            shown(&source, &render_all(&source, &said))
        );
    }
}

/// A warning alone leaves a job that can be used.
#[test]
fn what_is_only_odd_is_warned() {
    for name in [
        "butt-smaller",
        "two-units-mixed-up",
        "ten-times-too-thick",
        "guessed-timber",
        "board-too-long",
        "thicker-than-wide",
        "rounded",
    ] {
        let source = source(Path::new(&format!("examples/bad/jobs/{name}.toml")));
        let outcome = job::read(&source, &load);
        assert!(outcome.job.is_some(), "{}", outcome.rendered());
    }
    let odd = source(Path::new("examples/bad/mills/hardly-any-mill.toml"));
    assert!(mill::read(&odd).0.is_some());
}

/// No snapshot is left over from a file that is gone.
#[test]
fn every_snapshot_has_its_input() {
    let inputs: BTreeSet<String> = [("job", "examples/bad/jobs"), ("mill", "examples/bad/mills")]
        .iter()
        .flat_map(|(kind, folder)| {
            files(folder)
                .iter()
                .map(|path| format!("{kind}-{}", stem(path)))
                .collect::<Vec<_>>()
        })
        .collect();
    let kept: BTreeSet<String> = files("tests/snapshots")
        .iter()
        .filter_map(|path| stem(path).strip_prefix("system__bad_inputs__").map(str::to_owned))
        .collect();
    assert_eq!(inputs, kept);
}

/// Whatever is lost, doubled or swapped in a file, there is a job or a reason why not, never neither and never a panic.
#[test]
fn mangled_files_are_read_or_refused() {
    let mut dice = Dice::new(0x5eed_10c5);
    for name in ["g-04", "a-02", "oak-14"] {
        let path = format!("examples/jobs/{name}.toml");
        let whole = load(Path::new(&path)).expect("the example is there");
        for _ in 0..400 {
            let source = Source::new(path.as_str(), mangled(&whole, &mut dice));
            let outcome = job::read(&source, &load);
            let refused = outcome.reports.iter().any(|(_, said)| any_error(said));
            assert_eq!(
                outcome.job.is_none(),
                refused,
                "{}\n{}",
                source.text,
                outcome.rendered()
            );
        }
    }
    let whole = load(Path::new("examples/mills/hand-150.toml")).expect("the example is there");
    for _ in 0..400 {
        let source = Source::new("mill", mangled(&whole, &mut dice));
        let (profile, said) = mill::read(&source);
        assert_eq!(profile.is_none(), any_error(&said), "{}", source.text);
        assert!(profile.is_some() || !render_all(&source, &said).is_empty());
    }
}

/// A text with up to three places spoilt.
fn mangled(text: &str, dice: &mut Dice) -> String {
    const PIECES: [&str; 12] = ["\"", "-", "9", " mm", "]", "[", "{", "=", "\n", "½", "0.", "#"];
    let mut letters: Vec<char> = text.chars().collect();
    for _ in 0..=dice.below(3) {
        let at = usize::try_from(dice.below(letters.len() as u64 - 8)).unwrap_or(0);
        match dice.below(3) {
            0 => drop(letters.drain(at..at + 1 + at % 7)),
            1 => letters.swap(at, at + 1),
            _ => {
                let piece = PIECES[at % PIECES.len()];
                letters.splice(at..at, piece.chars());
            }
        }
    }
    letters.into_iter().collect()
}
