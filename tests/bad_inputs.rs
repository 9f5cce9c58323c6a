//! Every input in `examples/bad/` and exactly what is said about it.
//!
//! Each file has one idea, told in its first line. What is said is read by a sawyer: place, what was found, what would do.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use bunkside::diagnostic::{Source, any_error, render_all};
use bunkside::{job, mill};

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
        assert!(profile.is_none() && any_error(&said), "{}", source.name);
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
        "guessed-timber",
        "board-too-long",
        "thicker-than-wide",
        "rounded",
    ] {
        let source = source(Path::new(&format!("examples/bad/jobs/{name}.toml")));
        let outcome = job::read(&source, &load);
        assert!(outcome.job.is_some(), "{}", outcome.rendered());
    }
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
