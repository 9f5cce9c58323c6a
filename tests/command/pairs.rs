//! A column of two boards end to end, from the text of a cut plan to what the sawyer reads.

use std::fs;
use std::path::{Path, PathBuf};

use bunkside::command::Exit;
use serde_json::{Value, json};

use super::json::parsed;
use super::{call, example, fails, folder, quiet};

const PLAN: &str = "plan \"G-04\"\nlayer down to 259 mm\n  slab\nlayer down to 203.5 mm\n  take waste to -70.7 mm\n  \
    take waste to 74.8 mm\n  take waste to edge\nlayer down to 148 mm\n  take waste to -95.4 mm\n  \
    take board \"deck\" 1.8 m and board \"deck\" 1.7 m to 50.1 mm\n  take waste to edge\n";

/// Example G-04 with its deck in more lengths, and a cut plan for it: 3.66 m, of which 25 mm is trimmed at each end.
fn given(name: &str, plan: &str) -> (PathBuf, String) {
    let folder = folder(name);
    let job = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(example("g-04"))).unwrap();
    let changes = [
        (
            "../mills/",
            concat!(env!("CARGO_MANIFEST_DIR"), "/examples/mills/"),
        ),
        ("[\"3.6 m\", \"2.4 m\"]\nprice = { each = [9.50, 6.00] }", DECK),
        ("most = 2\n", ""),
    ];
    let job = changes.iter().fold(job, |job, (from, to)| {
        assert!(job.contains(from), "{from}");
        job.replacen(from, to, 1)
    });
    fs::write(folder.join("job.toml"), job).unwrap();
    fs::write(folder.join("p.cut"), plan).unwrap();
    (folder, "sequence {}/p.cut --job {}/job.toml -o {}".to_owned())
}

const DECK: &str = "[\"3.6 m\", \"2.4 m\", \"1.8 m\", \"1.7 m\"]\nprice = { each = 6 }";

/// Both boards count, each with its own length and volume, and the sawyer is told where to cut and from which end.
#[test]
fn two_boards_of_a_column_count_and_are_told_apart() {
    let (folder, line) = given("pair", PLAN);
    let plan = parsed(
        &quiet(&folder, &format!("{line} --json"), Exit::Good),
        "bunkside-plan",
    );
    let rows: Vec<[&Value; 3]> = plan["boards"]
        .as_array()
        .unwrap()
        .iter()
        .map(|row| [&row["name"], &row["length_um"], &row["count"]])
        .collect();
    let row = |length| [json!("deck"), json!(length), json!(1)];
    let wanted = [row(1_800_000), row(1_700_000)];
    assert_eq!(rows.len(), 2);
    for (row, wanted) in rows.iter().zip(&wanted) {
        assert_eq!(row.map(Clone::clone), *wanted);
    }
    // 140 mm × 50 mm × (1.8 m + 1.7 m) = 0.0245 m3.
    let volume = plan["volume"]["boards_m3"].as_f64().unwrap();
    assert!((volume - 0.0245).abs() < 1e-9, "{volume}");
    let board = |end, length| json!({"name": "deck", "end": end, "trim_um": 25_000, "length_um": length});
    let piece = &plan["setting"]["first_board"]["piece"];
    assert_eq!(
        plan["cross_cuts"],
        json!([{"piece": piece, "layer": 3, "column": 2, "boards": [board("near", 1_800_000), board("far", 1_700_000)]}])
    );
    // The first board is measured at the near end of the one and at the far end of the other.
    let first = &plan["setting"]["first_board"];
    assert_eq!(first["name"], "deck and deck end to end");
    let from: Vec<i64> = first["ends"]
        .as_array()
        .unwrap()
        .iter()
        .map(|end| end["from_near_end_um"].as_i64().unwrap())
        .collect();
    assert_eq!(from, [25_000, 3_660_000 - 25_000]);

    let text = quiet(&folder, &line, Exit::Good);
    let words = format!(
        "cross-cut piece {piece} into two: {piece}a, deck, from the near end 25 mm of trim, then 1.8 m; {piece}b, deck, from \
         the far end 25 mm of trim, then 1.7 m"
    );
    let on_one_line = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(on_one_line.contains(&words), "{text}");
    let report = fs::read_to_string(folder.join("report.html"))
        .unwrap()
        .replace('\u{a0}', " ");
    assert_eq!(
        report.matches(&format!("Away from the mill, {words}.")).count(),
        1
    );
    let listed = format!(
        "<li value=\"{piece}\">deck and deck end to end, 140 by 50 mm, 1.8 m and 1.7 m; about 16 kg; {}</li>",
        words.replace(&format!(" piece {piece}"), "")
    );
    assert!(report.contains(&listed), "{listed}");
}

/// Higher up the thin near end has too much wane (the text of the example has its board from the far end there): only the
/// board that lies there does not count.
#[test]
fn each_of_two_boards_has_its_own_wane() {
    let pair = "board \"deck\" 1.8 m and board \"deck\" 1.7 m";
    let higher = PLAN
        .replace(pair, "waste")
        .replace("waste to 74.8", &format!("{pair} to 74.8"));
    let (folder, line) = given("pair-wane", &higher);
    let plan = parsed(
        &quiet(&folder, &format!("{line} --json"), Exit::Good),
        "bunkside-plan",
    );
    let (boards, spoilt) = (
        plan["boards"].as_array().unwrap(),
        plan["spoilt"].as_array().unwrap(),
    );
    assert_eq!((boards.len(), spoilt.len()), (1, 1));
    assert_eq!(boards[0]["length_um"], 1_700_000);
    assert_eq!(
        (&spoilt[0]["layer"], &spoilt[0]["column"]),
        (&json!(2), &json!(2))
    );
}

/// A plan handed out again is the text that was handed in, and the moves are those of one board in its place.
#[test]
fn a_pair_is_sawn_as_one_board() {
    let (folder, line) = given("pair-moves", PLAN);
    quiet(&folder, &line, Exit::Good);
    assert_eq!(fs::read_to_string(folder.join("plan.cut")).unwrap(), PLAN);
    let moves = fs::read(folder.join("moves.json")).unwrap();
    let (folder, line) = given(
        "pair-one",
        &PLAN.replace("1.8 m and board \"deck\" 1.7 m", "3.6 m"),
    );
    let alone = quiet(&folder, &line, Exit::Good);
    assert_eq!(fs::read(folder.join("moves.json")).unwrap(), moves);
    assert!(!alone.contains("cross-cut"), "{alone}");
}

#[test]
fn a_pair_that_cannot_be_is_told_by_line_and_column() {
    let wrong = [
        (
            "1.8 m and board \"deck\" 1.7 m",
            "2.4 m and board \"deck\" 1.25 m",
        ),
        (
            "take waste to 74.8",
            "take board \"deck\" 1.8 m and board \"rail\" 1.5 m to 74.8",
        ),
    ];
    let plan = wrong
        .iter()
        .fold(PLAN.to_owned(), |plan, (from, to)| plan.replacen(from, to, 1));
    let narrow = "layer down to 92.5 mm\n  take waste to -92.5 mm\n  take board \"deck\" 1.8 m and board \"deck\" 1.7 m to -12 mm\n";
    let (folder, line) = given("pair-wrong", &(plan + narrow));
    insta::assert_snapshot!("pairs", fails(&folder, &line, Exit::BadInput));
}

/// 1.8 m and 1.81 m are the 3.61 m that the trims leave, to the micrometre.
#[test]
fn both_together_may_take_all_that_the_trims_leave() {
    for (far, exit) in [("1.81 m", Exit::Good), ("1810.001 mm", Exit::BadInput)] {
        let (folder, line) = given("pair-full", &PLAN.replace("1.7 m", far));
        let job = fs::read_to_string(folder.join("job.toml")).unwrap();
        fs::write(
            folder.join("job.toml"),
            job.replace("\"1.7 m\"", &format!("\"{far}\"")),
        )
        .unwrap();
        let answer = call(&folder, &line);
        assert_eq!(answer.exit, exit, "{far}: {}", answer.said);
    }
}

#[test]
fn a_pair_that_cannot_be_sawn_is_named_with_both_boards() {
    let plan = "plan \"G-04\"\nlayer down to 150 mm\n  take board \"deck\" 1.8 m and board \"deck\" 1.7 m to 110 mm\n  take waste to edge\n";
    let (folder, line) = given("pair-unplanned", plan);
    let said = fails(&folder, &line, Exit::Refused);
    let on_one_line = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(on_one_line.contains("(deck, 1.8 m, and deck, 1.7 m)"), "{said}");
}
