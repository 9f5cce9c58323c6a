//! `audit`, `dry-run` and `export` of moves that others made, or tampered with.

use std::fs;
use std::path::Path;

use bunkside::command::Exit;
use bunkside::diagnostic::Source;
use bunkside::moves_json;
use bunkside_protocol::{Act, Length, Move};

use super::{call, example, fails, planned, quiet, shortened};

/// Changes the moves of a folder.
fn tamper(folder: &Path, change: impl FnOnce(&mut Vec<Move>)) {
    let path = folder.join("moves.json");
    let text = fs::read_to_string(&path).unwrap();
    let mut moves = moves_json::read(&Source::new("moves", text)).0.unwrap();
    change(&mut moves);
    fs::write(path, moves_json::write(&moves)).unwrap();
}

#[test]
fn a_piece_left_lying_is_refused() {
    let folder = planned("lying", "g-04");
    tamper(&folder, |moves| {
        let first = moves
            .iter()
            .position(|one| matches!(one, Move::Hold(hold) if hold.acts.contains(Act::Unload)));
        moves.remove(first.unwrap());
    });
    let line = format!("audit {{}}/moves.json --job {}", example("g-04"));
    let out = quiet(&folder, &line, Exit::Refused);
    assert!(out.contains("refused: free-piece"), "{out}");
    insta::assert_snapshot!("refused", shortened(&out));
    let out = quiet(&folder, &format!("{line} --json"), Exit::Refused);
    let told: serde_json::Value = serde_json::from_str(&out).unwrap();
    assert_eq!(told["verdict"], "refused");
    let refusals = told["findings"].as_array().unwrap().iter();
    assert!(
        refusals
            .clone()
            .any(|one| one["rule"] == "free-piece" && one["severity"] == "refuse")
    );
    let dry = quiet(&folder, &line.replace("audit", "dry-run"), Exit::Refused);
    assert!(dry.contains("verdict   refused"), "{dry}");
}

#[test]
fn a_kerf_in_the_bed_is_refused_and_not_exported() {
    let folder = planned("bed", "g-04");
    tamper(&folder, |moves| {
        for one in moves.iter_mut() {
            let to = match one {
                Move::Go(to) => to,
                Move::Cut(cut) => &mut cut.to,
                _ => continue,
            };
            to.height = to.height.map(|height| height - Length::mm(85));
        }
    });
    let job = example("g-04");
    let out = quiet(
        &folder,
        &format!("audit {{}}/moves.json --job {job}"),
        Exit::Refused,
    );
    assert!(out.contains("refused: bed-clear"), "{out}");
    for form in ["binary", "hex"] {
        let line = format!("export {{}}/moves.json --job {job} --as {form} -o {{}}/out");
        let said = fails(&folder, &line, Exit::Refused);
        assert!(said.starts_with("bunkside: not exported, refused:"), "{said}");
        assert!(!folder.join("out").exists());
    }
    let line = format!("export {{}}/moves.json --job {job} --as json -o {{}}/out.json");
    assert_eq!(call(&folder, &line).exit, Exit::Good, "to look at");
}

/// A cut that moves two axes cannot be judged, and what comes after it is not run.
#[test]
fn what_cannot_be_judged_is_refused() {
    let folder = planned("unjudged", "g-04");
    tamper(&folder, |moves| {
        let cut = moves.iter_mut().filter_map(|one| match one {
            Move::Cut(cut) => Some(cut),
            _ => None,
        });
        let cut = cut.last().unwrap();
        cut.to.height = Some(bunkside_protocol::Position::mm(100));
    });
    let out = quiet(
        &folder,
        &format!("audit {{}}/moves.json --job {}", example("g-04")),
        Exit::Refused,
    );
    insta::assert_snapshot!("not-judged", out.lines().skip(26).collect::<Vec<_>>().join("\n"));
}

#[test]
fn mill_and_log_may_come_from_elsewhere() {
    let folder = planned("elsewhere", "oak-14");
    let job = example("oak-14");
    let mill = "--mill examples/mills/powered-165.toml";
    let whole = quiet(
        &folder,
        &format!("audit {{}}/moves.json --job {job} --json"),
        Exit::Good,
    );
    // Only the log and its setting: products and mill are gone.
    let text = fs::read_to_string(&job).unwrap();
    let (text, _) = text.split_once("[[board]]").unwrap();
    fs::write(folder.join("log.toml"), text.replace("mill = ", "# ")).unwrap();
    for line in [
        format!("audit {{}}/moves.json {mill} --log {job} --json"),
        format!("audit {{}}/moves.json {mill} --log {{}}/log.toml --json"),
        format!("audit {{}}/moves.json {mill} --log {{}}/moves.job --json"),
        format!("audit {{}}/moves.job {mill} --json"),
    ] {
        assert_eq!(quiet(&folder, &line, Exit::Good), whole, "{line}");
    }
    // Told in inches where the log was measured so.
    let out = quiet(
        &folder,
        &format!("audit {{}}/moves.json {mill} --log {{}}/log.toml"),
        Exit::Good,
    );
    assert!(out.contains(" in  ") && !out.contains(" mm"), "{out}");
}

#[test]
fn a_stored_job_is_taken_for_its_own_mill_only() {
    let folder = planned("other-mill", "g-04");
    let said = fails(
        &folder,
        "audit {}/moves.job --mill examples/mills/hand-150.toml",
        Exit::BadInput,
    );
    assert!(
        said.contains("was planned for another mill profile than hand-150 is now"),
        "{said}"
    );
    let other = call(
        &folder,
        &format!("audit {{}}/moves.job --job {}", example("b-01")),
    );
    assert!(
        other.said.contains("holds another log shape than B-01 has now"),
        "{}",
        other.said
    );
    assert_eq!(
        other.exit,
        Exit::Refused,
        "moves for a small log push the head into a large one"
    );
}

#[test]
fn exports_hold_the_stored_job() {
    let folder = planned("export", "g-04");
    let job = example("g-04");
    let line = format!("export {{}}/moves.json --job {job} --as");
    let figures = quiet(&folder, &format!("{line} binary -o {{}}/again.job"), Exit::Good);
    let bytes = fs::read(folder.join("again.job")).unwrap();
    assert_eq!(bytes, fs::read(folder.join("moves.job")).unwrap());
    assert!(
        figures.starts_with("DIR/again.job: ") && figures.contains(" a freed piece"),
        "{figures}"
    );
    let hex = call(&folder, &format!("{line} hex"));
    assert_eq!(hex.out, bunkside::export::hex(&bytes, 0).unwrap());
    assert!(
        hex.said.contains("bytes a move"),
        "figures stand aside: {}",
        hex.said
    );
    let json = call(&folder, &format!("{line} json")).out;
    let (moves, said) = moves_json::read(&Source::new("job.json", json));
    assert!(moves.is_some() && said.is_empty());
}
