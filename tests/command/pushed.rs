//! A log on a carriage that is pushed: what cards, audit and `explain` say of what comes free, what goes over and what is pushed.

use std::fs;
use std::path::PathBuf;

use bunkside::command::Exit;

use super::hangs::cards;
use super::{call, folder, quiet};

/// The plan of it on a mill, with a layout.
fn planned(name: &str, mill: &str, setting: &str) -> PathBuf {
    let folder = folder(name);
    let mills = fs::canonicalize("examples/mills").unwrap();
    let toml = include_str!("pushed.toml")
        .replace("MILLS", &mills.display().to_string())
        .replace("hand-150", mill)
        .replace("0.6 m", if mill == "powered-165" { "0.76 m" } else { "0.6 m" })
        .replace("140 mm", if mill == "powered-165" { "150 mm" } else { "140 mm" })
        .replace("[setting]", &format!("[setting]\n{setting}"));
    fs::write(folder.join("job.toml"), toml).unwrap();
    quiet(&folder, "plan {}/job.toml -o {}/out", Exit::Good);
    folder
}

fn read(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// What goes over as it comes free is not said to stand on edge, neither at its cut nor where it is taken away.
#[test]
fn what_goes_over_is_not_said_to_stand() {
    let folder = planned("pushed-over", "hand-150", "");
    let cards = cards(&folder);
    let over = |card: &&String| {
        card.contains("it drops off the entry side: nobody beside the log there until the carriage is held")
    };
    let over: Vec<&String> = cards.iter().filter(over).collect();
    assert_eq!(over.len(), 2);
    for card in over {
        assert!(!card.contains("on edge"), "{card}");
    }
    assert!(cards.iter().all(|card| !card.contains("Piece 6 stands loose")));
}

/// Where one stroke frees a board and a strip, both are named, and the pole bears on both; where it frees one, that is named.
#[test]
fn what_a_pole_holds_is_named() {
    let cards = cards(&planned("pushed-pole", "hand-150", ""));
    let told = |words: &str| cards.iter().filter(|card| card.contains(words)).count();
    assert_eq!(
        told("Frees pieces 12 (board) and 13 (waste); about 6 kg and about 1 kg"),
        1
    );
    assert_eq!(told("holds pieces 12 and 13 down with the pole"), 1);
    assert_eq!(
        told("It bears on all of them at once: fit a crosspiece of 200 mm or more"),
        1
    );
    assert_eq!(told("holds piece 2 down from behind the carriage"), 1);
    assert_eq!(told("the loose piece"), 0);
}

/// A strip on edge falls over under a pole: its card says so.
#[test]
fn a_narrow_piece_under_a_pole_has_its_own_caution() {
    let cards = cards(&planned("pushed-narrow", "hand-150", "layout = \"best\""));
    let narrow = |card: &&String| card.contains("stands loose on edge") && card.contains("class=\"pole\"");
    let narrow: Vec<&String> = cards.iter().filter(narrow).collect();
    assert!(!narrow.is_empty());
    for card in narrow {
        assert!(
            card.contains(
                "a pole keeps it from lifting, not from falling over. Press down on its top, never aside"
            ),
            "{card}"
        );
        assert!(card.contains("may fall over: stay 1.0 m off it"), "{card}");
    }
}

/// Cut 9 holds the carriage back most where it bites most, and the wood is held least elsewhere: audit tells both, the card the first.
#[test]
fn audit_and_card_tell_one_push() {
    let folder = planned("pushed-feeds", "hand-150", "");
    let audit = quiet(
        &folder,
        "audit {}/out/moves.json --job {}/job.toml --feeds",
        Exit::Good,
    );
    let row = audit.lines().find(|line| line.starts_with("  9 ")).unwrap();
    assert!(row.contains("58 N") && row.contains("holds back 24 N"), "{row}");
    assert!(read(&audit).contains("push: the hardest that whoever pushes feels of it anywhere along the stroke. along, across: the forces where the wood is held least"));
    let cards = cards(&folder);
    let card = cards.iter().find(|card| card.contains(", cut 9<")).unwrap();
    assert!(card.contains("with up to 58 N"), "{card}");
    let driven = planned("pushed-driven", "powered-165", "");
    let audit = quiet(
        &driven,
        "audit {}/out/moves.json --job {}/job.toml --feeds",
        Exit::Good,
    );
    assert!(!audit.contains("push"), "{audit}");
}

/// A rule that warns of a stroke whichever way it runs is no reason for one of them.
#[test]
fn a_warning_that_stands_either_way_is_no_reason() {
    let folder = planned("pushed-reason", "powered-165", "");
    let told = read(&call(&folder, "explain {}/job.toml 46").out);
    assert!(
        told.contains("the rules say of it warning: falls-off, at move 46"),
        "{told}"
    );
    assert!(!told.contains("warns of the other stroke"), "{told}");
    assert!(
        told.contains("homebound, climbing, because the other stroke takes 17 s longer"),
        "{told}"
    );
}

/// An empty way has a plain reason before any rule: where the next cut begins.
#[test]
fn an_empty_way_has_a_plain_reason_first() {
    let folder = planned("pushed-empty", "hand-150", "");
    for (at, way) in [
        (
            17,
            "to the near end, beside the log, because cut 4 begins there and runs outbound, forward feed;",
        ),
        (
            86,
            "to the far end, beside the log, because cut 19 begins there and runs homebound, forward feed;",
        ),
    ] {
        let told = read(&call(&folder, &format!("explain {{}}/job.toml {at}")).out);
        assert!(
            told.contains(&format!("Move {at} runs the carriage empty {way}")),
            "{told}"
        );
    }
}

/// Figures that differ are told from the least to the greatest.
#[test]
fn figures_of_several_moves_are_told_as_a_range() {
    let folder = planned("pushed-range", "hand-150", "");
    let audit = read(&quiet(
        &folder,
        "audit {}/out/moves.json --job {}/job.toml",
        Exit::Good,
    ));
    let (_, told) = audit.split_once("falls-off, at moves 45 and 88: found ").unwrap();
    assert!(
        told.starts_with("1.2 to 4.9 kg, the warning begins at 1.0 kg"),
        "{told}"
    );
}
