//! Logs that are partly sawn: told by moves and how many of them are done, laid out and sawn on, whatever is found or wanted then.

use std::fs;
use std::path::PathBuf;

use bunkside::command::Exit;
use serde_json::{Value, json};

use super::json::parsed;
use super::{call, example, folder, quiet};

/// G-04 with something changed, and its moves by the hand habit as it was: 24 cuts in 97 moves. After move 32 a slab and the layer's
/// first two columns are off, a piece of waste and a deck board, and unloaded.
fn begun(name: &str, change: impl Fn(String) -> String) -> PathBuf {
    let folder = folder(name);
    quiet(
        &folder,
        &format!("plan {} -o {{}}/first --by-habit", example("g-04")),
        Exit::Good,
    );
    let mill = std::env::current_dir()
        .unwrap()
        .join("examples/mills/powered-165.toml");
    let text = fs::read_to_string(example("g-04")).unwrap();
    let text = text.replace("../mills/powered-165.toml", mill.to_str().unwrap());
    let changed = change(text.clone());
    fs::write(folder.join("job.toml"), changed).unwrap();
    folder
}

fn read(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// What `plan` tells of the log after so many moves.
fn planned_on(folder: &std::path::Path, done: usize) -> Value {
    let line = format!("plan {{}}/job.toml --after {{}}/first/moves.json --done {done} -o {{}}/rest --json");
    parsed(&quiet(folder, &line, Exit::Good), "bunkside-plan")
}

fn moves(folder: &std::path::Path, of: &str) -> Vec<Value> {
    let text = fs::read_to_string(folder.join(of).join("moves.json")).unwrap();
    let told: Value = serde_json::from_str(&text).unwrap();
    told["moves"].as_array().unwrap().clone()
}

/// The order as it was: what is off is taken off it, the layer that is begun is gone on with, and what comes out begins with the moves
/// that are done. The audit sees moves, mill and log, and passes the whole.
#[test]
fn an_unfinished_layer_is_gone_on_with_and_what_is_off_counts() {
    let folder = begun("partly-layer", |text| text);
    let told = planned_on(&folder, 33);
    assert_eq!(told["done"]["boards"], json!([{"name": "deck", "count": 1}]));
    assert_eq!(
        [
            &told["done"]["moves"],
            &told["done"]["planned_from"],
            &told["done"]["others"]
        ],
        [&json!(33), &json!(33), &json!(3)]
    );
    assert_eq!(told["done"]["refused"], json!([]));
    assert_eq!(told["order"]["chosen"], "begun");
    // The deck board is 140 by 50 mm, 2.4 m long.
    let volume = |part: &str| told["volume"][part].as_f64().unwrap();
    assert!((volume("off_m3") - 0.140 * 0.050 * 2.4).abs() < 1e-9, "{told}");
    let parts = ["boards_m3", "off_m3", "offcuts_m3", "kerfs_m3", "left_m3"];
    let sum: f64 = parts.into_iter().map(volume).sum();
    assert!((sum - volume("log_m3")).abs() < 1e-9, "{told}");
    let [first, rest] = ["first", "rest"].map(|of| moves(&folder, of));
    assert_eq!(first[..33], rest[..33]);
    assert_ne!(first, rest);
    // No board from the entry side of what stands in the first layer: its columns begin 30 mm beside the bed's middle.
    let layout = "layout {}/job.toml --after {}/first/moves.json --done 33 --json";
    let layout = parsed(&quiet(&folder, layout, Exit::Good), "bunkside-layout");
    assert_eq!(layout["proven"], true);
    assert_eq!(layout["done"]["boards"], told["done"]["boards"]);
    let boards = layout["boards"].as_array().unwrap();
    assert!(boards.len() > 10);
    for board in boards {
        let [height, across] = ["height_um", "across_um"].map(|of| board[of].as_i64().unwrap());
        assert!(height < 203_500 || across > 0, "{board}");
    }
    quiet(&folder, "audit {}/rest/moves.job --job {}/job.toml", Exit::Good);
    let out = quiet(
        &folder,
        "plan {}/job.toml --after {}/first/moves.job --done 33 -o {}/rest",
        Exit::Good,
    );
    let words = "done the first 33 moves (5 min 55 s): go on with move 33, and not before; off already, and taken off the order: \
                 1 of deck; 3 other pieces beside";
    assert!(read(&out).contains(words), "{out}");
    assert!(
        read(&out).contains("off 1 board, 0.017 m3, counted beside these; with them"),
        "{out}"
    );
    // The cut plan that it writes is one of the rest.
    let sequence = "sequence {}/rest/plan.cut --job {}/job.toml --after {}/first/moves.json --done 33 -o {}/again --json";
    parsed(&quiet(&folder, sequence, Exit::Good), "bunkside-plan");
    assert_eq!(moves(&folder, "again"), moves(&folder, "rest"));
}

/// The rows of the table of the pieces on the page of the rest: what each is called, by its number.
fn pieces_told(page: &str) -> Vec<String> {
    let (_, table) = page.split_once("<h2>The pieces</h2>").unwrap();
    let (table, _) = table.split_once("</ol>").unwrap();
    let rows = table.lines().filter_map(|line| line.strip_prefix("<li value=\""));
    rows.enumerate()
        .map(|(at, row)| {
            let (number, words) = row.split_once("\">").unwrap();
            assert_eq!(number, (at + 1).to_string());
            words.to_owned()
        })
        .collect()
}

/// How many boards the name of a piece tells of: two where they lie end to end, none of a slab or of waste.
fn boards_told(piece: &str) -> i64 {
    let named = ["beam", "deck", "rail", "lath"];
    let what = piece.split([',', ';']).next().unwrap();
    match what.strip_suffix(" end to end") {
        Some(both) => i64::try_from(both.split(" and ").count()).unwrap(),
        None => i64::from(named.contains(&what)),
    }
}

/// The layer that is begun is bounded above by what stands: its boards are boards in the summary, in the table of the pieces, on the
/// cards and in the pictures. What is off is told as what it was counted as.
#[test]
fn a_piece_is_called_the_same_everywhere() {
    let folder = begun("partly-names", |text| text);
    for done in [12, 29, 33, 41, 50, 65] {
        let told = planned_on(&folder, done);
        let page = fs::read_to_string(folder.join("rest/report.html")).unwrap();
        let pieces = pieces_told(&page);
        let count = |rows: &Value| -> i64 {
            let rows = rows.as_array().unwrap().iter();
            rows.map(|row| row["count"].as_i64().unwrap()).sum()
        };
        let (off, on): (Vec<&String>, Vec<&String>) = pieces
            .iter()
            .partition(|piece| piece.contains("off already") || piece.contains("begun already"));
        let boards = |pieces: &[&String]| -> i64 { pieces.iter().map(|piece| boards_told(piece)).sum() };
        assert_eq!(boards(&on), count(&told["boards"]), "{done}: {pieces:#?}");
        assert_eq!(
            boards(&off),
            count(&told["done"]["boards"]),
            "{done}: {pieces:#?}"
        );
        let others = off.iter().filter(|piece| boards_told(piece) == 0).count();
        assert_eq!(told["done"]["others"], others, "{done}: {pieces:#?}");
        assert!(
            off.iter().all(|piece| !piece.contains("waste")),
            "{done}: {off:#?}"
        );
        // The board that is measured first.
        let first = &told["setting"]["first_board"];
        let number = usize::try_from(first["piece"].as_i64().unwrap()).unwrap();
        let name = first["name"].as_str().unwrap();
        assert!(
            pieces[number - 1].starts_with(name),
            "{done}: {first} {pieces:#?}"
        );
        for (number, piece) in (1..).zip(&pieces).filter(|(_, piece)| boards_told(piece) > 0) {
            for card in [
                format!("Frees piece {number}, waste"),
                format!(">{number} (waste)"),
            ] {
                assert!(!page.contains(&card), "{done}: {card}: {piece}");
            }
        }
        // In the picture of the ends all but boards is stippled.
        let ends = fs::read_to_string(folder.join("rest/ends.svg")).unwrap();
        let stippled = |figure: &str| {
            let (figure, _) = figure.split_once("</svg>").unwrap();
            figure.matches("class=\"stipple\"").count()
        };
        let most = ends.split("<svg x=").skip(1).map(stippled).max().unwrap();
        let no_boards = pieces.iter().filter(|piece| boards_told(piece) == 0).count();
        assert_eq!(most, no_boards, "{done}: {pieces:#?}");
    }
}

/// That the log is partly sawn stands before all else on the page; what is done is ticked and told as done, and the page opens at the
/// first step that is not.
#[test]
fn the_page_goes_on_where_the_log_was_left() {
    let folder = begun("partly-page", |text| text);
    for done in [1, 33, 41] {
        planned_on(&folder, done);
        let page = fs::read_to_string(folder.join("rest/report.html")).unwrap();
        let (head, _) = page.split_once("<p class=\"verdict\">").unwrap();
        let moves = if done == 1 {
            "1 move is"
        } else {
            &format!("{done} moves are")
        };
        let words = format!("This log is partly sawn: {moves} done");
        assert!(head.contains(&words), "{done}");
        let (_, next) = page.split_once(" data-next=\"").unwrap();
        let next: usize = next.split_once('"').unwrap().0.parse().unwrap();
        let cards = page.split("<li id=\"step-").skip(1);
        for (number, card) in (1..).zip(cards) {
            let (card, _) = card.split_once("</li>\n<li id=").unwrap_or((card, ""));
            let (_, at) = card.split_once(": move ").unwrap();
            let at: usize = at.split([',', '<', '.']).next().unwrap().parse().unwrap();
            let is_done = at < done;
            assert_eq!(number < next, is_done, "{done}: {number}");
            assert_eq!(card.contains(" data-done=\"\""), is_done, "{done}: {number}");
            assert_eq!(card.contains(". Done</p>"), is_done, "{done}: {number}");
            let (open, ticked) = ("<input type=\"checkbox\"/>", "<input type=\"checkbox\" checked");
            assert!(
                !card.contains(if is_done { open } else { ticked }),
                "{done}: {number}"
            );
            let go_on = format!("Go on here, with move {done}: this log is partly sawn");
            assert_eq!(card.contains(&go_on), number == next, "{done}: {number}");
        }
    }
    let whole = fs::read_to_string(folder.join("first/report.html")).unwrap();
    assert!(!whole.contains("partly sawn") && !whole.contains("data-next=") && !whole.contains(". Done</p>"));
}

/// Before the upright kerf of a column its flat one is cut: that column is finished first, as it was to be.
#[test]
fn a_column_that_is_begun_is_finished_first() {
    let folder = begun("partly-column", |text| text);
    let told = planned_on(&folder, 29);
    assert_eq!(
        [&told["done"]["moves"], &told["done"]["planned_from"]],
        [&json!(29), &json!(31)]
    );
    assert_eq!(told["done"]["boards"], json!([{"name": "deck", "count": 1}]));
    assert_eq!(moves(&folder, "first")[..31], moves(&folder, "rest")[..31]);
}

/// Rot, 60 mm thick, found after the second layer: no board of the rest has it in it.
#[test]
fn a_core_that_is_found_is_kept_clear_of() {
    let folder = begun("partly-core", |text| {
        text.replace("[log]\n", "[log]\ncore = { thick = \"60 mm\" }\n")
    });
    let told = planned_on(&folder, 65);
    let plain = begun("partly-sound", |text| text);
    let sound = planned_on(&plain, 65);
    let volume = |told: &Value| told["volume"]["boards_m3"].as_f64().unwrap();
    assert!(volume(&told) > 0.0 && volume(&told) < volume(&sound), "{told}");
    assert_eq!(told["spoilt"], json!([]));
}

const NAIL: &str = r#"
[[log.metal]]
from = "1.0 m"
to = "1.1 m"
across = ["20 mm", "22 mm"]
height = ["HEIGHT"]

[setting]"#;

/// A nail under all that is cut so far: kerfs keep 10 mm off it.
#[test]
fn metal_that_is_found_is_kept_off() {
    let nail = NAIL.replace("HEIGHT", "150 mm\", \"160 mm");
    let folder = begun("partly-metal", |text| text.replacen("\n[setting]", &nail, 1));
    let told = planned_on(&folder, 41);
    let off = told["metal"][0]["nearest"]["off_um"].as_i64().unwrap();
    assert!(off >= 10_000, "{told}");
    assert_eq!(told["done"]["refused"], json!([]));
}

/// What stands is sawn past a nail that a kerf has passed, boards and kerfs off it where leaning boards does not do.
#[test]
fn what_stands_is_sawn_past_metal() {
    for [from, to] in [[-2, 0], [4, 6], [-30, -28], [60, 62]] {
        let nail = NAIL.replace("HEIGHT", "193 mm\", \"199.5 mm");
        let nail = nail.replace("\"20 mm\", \"22 mm\"", &format!("\"{from} mm\", \"{to} mm\""));
        let folder = begun("partly-anywhere", |text| text.replacen("\n[setting]", &nail, 1));
        let told = planned_on(&folder, 41);
        assert_ne!(told["verdict"], "refused");
        let boards = told["boards"].as_array().unwrap();
        assert!(
            boards
                .iter()
                .map(|row| row["count"].as_i64().unwrap())
                .sum::<i64>()
                > 8,
            "{from}"
        );
    }
}

/// A nail that a kerf has passed by 4 mm, under the deck's layer (its floor at 203.5 mm): that is told, and does not hinder the rest;
/// a controller would refuse the kerf, so that it gets no moves.
#[test]
fn metal_beside_a_kerf_that_is_cut_hinders_nothing() {
    let nail = NAIL.replace("HEIGHT", "193 mm\", \"199.5 mm");
    let folder = begun("partly-past", |text| text.replacen("\n[setting]", &nail, 1));
    let line = "plan {}/job.toml --after {}/first/moves.json --done 41 -o {}/rest";
    let answer = call(&folder, line);
    assert_eq!(answer.exit, Exit::Good, "{}{}", answer.out, answer.said);
    let out = read(&answer.out);
    assert!(
        out.contains("warning: with what is known now rule move-clear would refuse move 28, which is done"),
        "{out}"
    );
    assert!(!folder.join("rest/moves.job").exists() && folder.join("rest/moves.json").exists());
    let page = fs::read_to_string(folder.join("rest/report.html")).unwrap();
    let (head, cards) = page.split_once("<p class=\"verdict\">").unwrap();
    let warned = "would refuse move 28, which is done";
    assert!(head.contains(warned) && cards.contains(warned) && head.contains("no moves.job is written"));
    let told = parsed(&call(&folder, &format!("{line} --json")).out, "bunkside-plan");
    assert_eq!(told["done"]["refused"][0]["rule"], "move-clear");
    assert_ne!(told["verdict"], "refused");
}

/// Another order, for beams alone: a deck board is off that is one. Of two that are owed and the most, one is left to be sawn; of one,
/// none.
#[test]
fn a_changed_order_is_filled_with_what_is_off() {
    let order = |count: u32| {
        move |text: String| {
            let at = text.find("[[board]]").unwrap();
            let order = "[[board]]\nname = \"beam\"\nthickness = \"50 mm\"\nwidth = \"140 mm\"\nlengths = [\"3.6 m\", \"2.4 m\"]\n\
                         price = { each = [9, 6] }\n";
            format!("{}{order}most = {count}\nleast = {count}\n", &text[..at])
        }
    };
    let folder = begun("partly-order", order(2));
    let told = planned_on(&folder, 33);
    assert_eq!(told["done"]["boards"], json!([{"name": "beam", "count": 1}]));
    let boards = told["boards"].as_array().unwrap();
    let counts: i64 = boards.iter().map(|row| row["count"].as_i64().unwrap()).sum();
    assert_eq!((counts, &told["owed"]), (1, &json!([])));
    let folder = begun("partly-order", order(1));
    let answer = call(
        &folder,
        "plan {}/job.toml --after {}/first/moves.json --done 33 -o {}/rest",
    );
    assert_eq!(answer.exit, Exit::Refused, "{}", answer.out);
    let said = read(&answer.said);
    assert!(said.contains("no board of what is left of the order"), "{said}");
}

/// Every way in which moves and their number do not tell what stands says what would.
#[test]
fn what_tells_nothing_of_a_log_is_said() {
    let folder = begun("partly-wrong", |text| text);
    let refused = "examples/sequences/refused/bed-clear.json";
    let says = |line: &str, words: &str| {
        let answer = call(&folder, &format!("plan {{}}/job.toml -o {{}}/rest {line}"));
        assert_eq!(answer.exit, Exit::BadInput, "{line}: {}", answer.out);
        assert!(read(&answer.said).contains(words), "{line}: {}", answer.said);
    };
    says(
        "--done 3",
        "--done says how many moves are done, and not of which",
    );
    says("--after {}/first/moves.json", "add --done N");
    let after = "--after {}/first/moves.json --done";
    says(&format!("{after} many"), "`many`, which is no number of moves");
    says(&format!("{after} 98"), "has 97 moves, of which 98 cannot be done");
    says(
        &format!("--after {refused} --done 6"),
        "is refused itself: rule range",
    );
    says("--after {}/none.json --done 1", "there is no file at");
    quiet(
        &folder,
        &format!("plan {} -o {{}}/other", example("p-07")),
        Exit::Good,
    );
    says(
        "--after {}/other/moves.json --done 9",
        "was made for log P-07, and the job is of log G-04",
    );
    says(
        "--after {}/other/moves.job --done 9",
        "holds another log than the job has now",
    );
    let nothing = call(
        &folder,
        "plan {}/job.toml --after {}/first/moves.json --done 97 -o {}/rest",
    );
    assert_eq!(nothing.exit, Exit::Refused, "{}", nothing.out);
    assert!(
        read(&nothing.said).contains("no board of what is left of the order has room in what still stands"),
        "{}",
        nothing.said
    );
}
