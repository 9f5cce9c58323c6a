//! A part that hangs by little wood, or drops, beside a hand carriage: told in the same words everywhere, and nobody sent to where it
//! falls. The log is a pine of many battens; beside its last studs the outermost strip hangs by a skin.

use std::fs;
use std::path::{Path, PathBuf};

use bunkside::command::Exit;

use super::{call, folder, quiet};

fn read(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The plan of it, made by rule of thumb.
fn sawn(name: &str) -> PathBuf {
    let folder = folder(name);
    let mills = fs::canonicalize("examples/mills").unwrap();
    let toml = include_str!("hangs.toml").replace("MILLS", &mills.display().to_string());
    fs::write(folder.join("job.toml"), toml).unwrap();
    fs::write(folder.join("plan.cut"), include_str!("hangs.cut")).unwrap();
    let line = "sequence {}/plan.cut --job {}/job.toml --by-habit -o {}/out";
    quiet(&folder, line, Exit::Good);
    folder
}

/// The cards of a report.
pub(super) fn cards(folder: &Path) -> Vec<String> {
    let report = fs::read_to_string(folder.join("out/report.html")).unwrap();
    let report = report.replace('\u{a0}', " ");
    report
        .split("<li id=\"step-")
        .skip(1)
        .map(str::to_owned)
        .collect()
}

/// One part is neither sawn free nor sure to stand: its number is told at the cut that leaves it, at the hold at which it is broken
/// off, in the list of pieces and in pictures; and how it is broken off is told in one sentence.
#[test]
fn a_part_that_hangs_is_told_in_the_same_words_everywhere() {
    let folder = sawn("hangs");
    let left = "piece 55 comes free or hangs by little wood";
    let broken = "break off piece 55 if it hangs by little wood";
    let how = "with a long bar, from beyond its end, the blade standing, nobody under or beside it";
    let moves = "{}/out/moves.json";
    let job = "--job {}/job.toml";
    let dry = read(&quiet(&folder, &format!("dry-run {moves} {job}"), Exit::Good));
    assert!(dry.contains(&format!("height 90 mm; {left}")), "{dry}");
    assert!(dry.contains(&format!("hold: unload; {broken}")), "{dry}");
    let audit = read(&quiet(&folder, &format!("audit {moves} {job}"), Exit::Good));
    assert!(audit.contains(&format!("45 mm {left}")), "{audit}");
    assert!(audit.contains(&format!("hold at move 447: {broken}")), "{audit}");
    let found = "found piece 55, should be sawn free it may hang by little wood; break it off";
    assert!(audit.contains(&format!("{found} {how}")), "{audit}");
    let explain = |at: u16| {
        let line = format!("explain {moves} {at} {job}");
        read(&quiet(&folder, &line, Exit::Good))
    };
    assert!(explain(445).contains(&format!("Move 445, cut 103, is the one at which {left};")));
    assert!(explain(447).contains(&format!("Move 447 holds to unload, {broken};")));
    let json = quiet(
        &folder,
        "audit {}/out/moves.json --job {}/job.toml --json",
        Exit::Good,
    );
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    let cuts = json["cuts"].as_array().unwrap();
    let hangs = cuts.iter().filter(|cut| cut.get("hanging").is_some());
    let hangs: Vec<[u64; 2]> = hangs
        .map(|cut| [&cut["cut"], &cut["hanging"][0]["piece"]].map(|number| number.as_u64().unwrap()))
        .collect();
    assert_eq!(hangs, [[103, 55]], "as on the card");
    let cards = cards(&folder);
    let told = |words: &str| cards.iter().filter(|card| card.contains(words)).count();
    assert_eq!(
        told("Piece 55 comes free or hangs by little wood; about 3 kg."),
        1
    );
    let tick = format!("Break off piece 55 if it hangs by little wood: {how}. Then take it away.");
    assert_eq!([told(&tick), told("Piece 55: 27.6 by 45 mm, about 3 kg")], [1, 1]);
    let hold = cards.iter().find(|card| card.contains(&tick)).unwrap();
    assert!(!hold.contains("Take away whatever"), "{hold}");
    let ends = fs::read_to_string(folder.join("out/ends.svg")).unwrap();
    assert!(
        (1..=60).all(|number| ends.contains(&format!(">{number}<"))),
        "no gap"
    );
}

/// Where a piece goes over on the exit side, whoever pushes is sent to the other; everywhere else to the exit side.
#[test]
fn whoever_pushes_is_not_sent_to_where_a_piece_falls() {
    let folder = sawn("hangs-push");
    let (mut exit, mut entry) = (0, 0);
    for card in cards(&folder) {
        let falls = card.contains("off the exit side");
        let [to_exit, to_entry] =
            [" end, on the exit side (right", " end, on the entry side (left"].map(|to| card.contains(to));
        assert_eq!(
            [to_exit || to_entry, to_entry],
            [card.contains("Pushed by hand"), falls],
            "{card}"
        );
        exit += usize::from(to_exit);
        entry += usize::from(to_entry);
    }
    assert_eq!([exit > 100, entry == 2], [true; 2], "{exit} {entry}");
}

/// Dogs in bark of 20 mm, which their points go through, hold nothing: nobody is told to close them.
#[test]
fn dogs_that_hold_nothing_are_left_open() {
    let folder = sawn("hangs-dogs");
    let report = fs::read_to_string(folder.join("out/report.html")).unwrap();
    assert!(!report.contains("Close the dogs") && !report.contains("close it on the log"));
    assert!(read(&report).contains("meets only bark and holds nothing: leave it open"));
    let text = include_str!("hangs.toml").replace("bark = \"20 mm\"", "bark = \"6 mm\"");
    let mills = fs::canonicalize("examples/mills").unwrap();
    fs::write(
        folder.join("job.toml"),
        text.replace("MILLS", &mills.display().to_string()),
    )
    .unwrap();
    let line = "sequence {}/plan.cut --job {}/job.toml --by-habit -o {}/thin";
    assert_eq!(call(&folder, line).exit, Exit::Good);
    let report = fs::read_to_string(folder.join("thin/report.html")).unwrap();
    assert!(report.contains("Close the dogs") && report.contains("close it on the log"));
}
