//! The hand-written sequences of `examples/sequences/`: the good ones pass, each of the refused ones is refused by the
//! rule it is named for, and says so in the words of its snapshot.

use std::ffi::OsString;
use std::fs;
use std::path::{Path, PathBuf};

use bunkside::cli::run;
use bunkside::command::{Answer, Exit};
use bunkside_planner::rules::RULES;

use crate::command::uncounted;

fn sequences(folder: &str) -> Vec<PathBuf> {
    let mut found: Vec<PathBuf> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|extension| extension == "json"))
        .collect();
    found.sort();
    found
}

/// A hand carriage is what makes a climb a fault, a log that hangs over its bunks what they do not carry, and heavy wood what
/// must not drop; everything else is audited with the log where it should lie on the powered mill.
fn audit(path: &Path) -> Answer {
    let job = match path.file_stem().and_then(|name| name.to_str()) {
        Some("climb-powered") => "examples/sequences/trunk-by-hand.toml",
        Some("falls-off") => "examples/sequences/trunk-heavy.toml",
        Some("support") => "examples/sequences/trunk-hanging.toml",
        _ => "examples/sequences/trunk.toml",
    };
    let words = ["audit", path.to_str().unwrap(), "--job", job].map(OsString::from);
    run(&words)
}

#[test]
fn good_sequences_pass() {
    let good = sequences("examples/sequences");
    assert!(good.len() >= 3);
    for path in good {
        let answer = audit(&path);
        assert_eq!(answer.exit, Exit::Good, "{}: {}", path.display(), answer.out);
    }
}

#[test]
fn refused_sequences_are_refused_by_the_rule_they_are_named_for() {
    for path in sequences("examples/sequences/refused") {
        let name = path.file_stem().unwrap().to_str().unwrap();
        let rule = if name == "combined-axes" {
            "not-judged"
        } else {
            name
        };
        let answer = audit(&path);
        assert_eq!(answer.exit, Exit::Refused, "{name}: {}", answer.out);
        assert!(
            answer.out.contains(&format!("refused: {rule},")),
            "{name}: {}",
            answer.out
        );
        insta::assert_snapshot!(format!("refused-{name}"), uncounted(&answer.out));
    }
}

#[test]
fn every_rule_has_a_refused_sequence() {
    let named: Vec<String> = sequences("examples/sequences/refused")
        .iter()
        .map(|path| path.file_stem().unwrap().to_str().unwrap().to_owned())
        .collect();
    for rule in RULES {
        assert!(
            named.iter().any(|name| name == rule.id),
            "{} has no sequence that it refuses",
            rule.id
        );
    }
}
