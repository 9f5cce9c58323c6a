//! Orders and tables of logs, good and bad, and where it is said what is wrong.

use std::fmt::Write;
use std::path::Path;

use bunkside_protocol::Length;

use super::{LOGS_MAX, Outcome, read};
use crate::diagnostic::Source;
use crate::job;

const ORDER: &str = "\
mill = \"mills/powered-165.toml\"
logs = \"logs.csv\"
[setting]
near_end_at = \"0.6 m\"
[every_log]
species = \"western larch\"
bark = \"10 mm\"
[[board]]
name = \"stud\"
thickness = \"50 mm\"
width = \"100 mm\"
lengths = [\"2.4 m\", \"3.6 m\"]
price = { each = [5, 9] }
least = 4
most = 9
";

const SHEET: &str =
    "name,length (m),small_end (mm),butt (mm),butt_at\nA,3.7,300,330,far\nB,3.75,280,310,near\n";

fn outcome(order: &str, sheet: &str) -> Outcome {
    let load = |path: &Path| match path.to_str() {
        Some("logs.csv") => Ok(sheet.to_owned()),
        _ => std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("examples").join(path)),
    };
    read(&Source::new("order.toml", order), &load)
}

/// What is said of an order with such a table.
fn said(order: &str, sheet: &str) -> String {
    let outcome = outcome(order, sheet);
    let told = outcome.rendered();
    let errors = told.contains(": error: ");
    assert_eq!(outcome.yard.is_none(), errors, "{told}");
    told
}

#[test]
fn each_row_is_a_log() {
    assert_eq!(said(ORDER, SHEET), "");
    let yard = outcome(ORDER, SHEET).yard.unwrap();
    let names: Vec<&str> = yard.jobs.iter().map(|job| job.name.as_str()).collect();
    assert_eq!(names, ["A", "B"]);
    assert_eq!(yard.jobs[1].length, Length::mm(3_750));
    let demand = yard.demands[0];
    assert_eq!((demand.least, demand.most, demand.missing), (4, Some(9), 27_000));
}

/// A spreadsheet writes a mark in front, semicolons, quotes and its own line ends.
#[test]
fn what_spreadsheets_write_is_read_alike() {
    let expected = format!("{:?}", outcome(ORDER, SHEET).yard.unwrap().jobs);
    for sheet in [
        SHEET.replace('\n', "\r\n"),
        SHEET.replace(',', ";"),
        SHEET.replace(',', "\t"),
        SHEET.replace(',', " , "),
        format!("\n\n{SHEET}\n,,,,\n"),
        SHEET.replace("A,3.7,300", "\"A\",\"3.7 m\",\"300 mm\""),
        SHEET.replace("small_end (mm)", "Small end [mm]"),
        SHEET
            .replace("300,330", "30 cm,13/1 in")
            .replace("13/1 in", "330 mm"),
        SHEET.trim_end().to_owned(),
    ] {
        let outcome = outcome(ORDER, &sheet);
        let yard = outcome
            .yard
            .clone()
            .unwrap_or_else(|| panic!("{sheet}\n{}", outcome.rendered()));
        assert_eq!(format!("{:?}", yard.jobs), expected, "{sheet}");
    }
}

/// The file's own logs come first, and those of one order may stand in either place or in both.
#[test]
fn logs_may_stand_in_the_order_itself() {
    let own = "[[log]]\nname = \"C\"\nlength = \"3.7 m\"\nsmall_end = [\"300 mm\", \"290 mm\"]\nbutt = \"330 mm\"\nbutt_at = \"far\"\n\
               bark = \"12 mm\"\n[[log.metal]]\nfrom = \"1 m\"\nto = \"1.1 m\"\nacross = [\"-5 mm\", \"5 mm\"]\nheight = [\"200 mm\", \"210 mm\"]\n";
    let both = format!("{ORDER}{own}");
    assert_eq!(said(&both, SHEET), "");
    let yard = outcome(&both, SHEET).yard.unwrap();
    assert_eq!(yard.jobs.len(), 3);
    assert_eq!(
        (yard.jobs[0].name.as_str(), yard.jobs[0].log.bark),
        ("C", Length::mm(12))
    );
    assert_eq!(yard.jobs[0].log.metal.len(), 1);
    let alone = both.replace("logs = \"logs.csv\"\n", "");
    assert_eq!(outcome(&alone, "").yard.unwrap().jobs.len(), 1);
}

/// An oval log, a bow, a word and a flag in cells; an empty one is left out.
#[test]
fn cells_hold_what_keys_hold() {
    let sheet = "name,length,small_end (mm),butt,butt_at,sweep.bow (mm),sweep.toward,growth_stress,smooth\n\
                 A,3.7 m,300 x 290,\"330 mm x 320 mm\",Far,12,entry,HIGH,yes\n\
                 B,3.7 m,300,330 mm,near,,,,\n";
    assert_eq!(said(ORDER, sheet), "");
    let yard = outcome(ORDER, sheet).yard.unwrap();
    assert_eq!(yard.jobs[0].growth_stress, job::GrowthStress::High);
    assert_eq!(yard.jobs[1].growth_stress, job::GrowthStress::Low);
    let near = yard.jobs[0].log.stations[0];
    assert_ne!(near.half_width, near.half_height);
}

#[test]
fn what_is_wrong_with_a_table_is_told_by_row_and_column() {
    for (sheet, expected) in [
        (String::new(), "logs.csv:1:1: error: this table of logs is empty"),
        (
            SHEET.lines().next().unwrap().to_owned(),
            "names of columns, but no logs",
        ),
        (SHEET.replace("butt_at", "but_at"), "did you mean `butt_at`?"),
        (
            SHEET.replace("(m)", "(mn)"),
            "logs.csv:1:6: error: no unit of length is called `mn`",
        ),
        (SHEET.replace("butt_at", "butt_at (mm)"), "`butt_at` has no unit"),
        (
            SHEET.replace(",butt_at", ",name"),
            "logs.csv:1:42: error: two columns are called `name`",
        ),
        (SHEET.replace(",butt_at", ""), "no column is called `butt_at`"),
        (
            SHEET.replace("A,3.7", "A,3.7,"),
            "logs.csv:2:16: error: row 2 has 6 cells, but 5 columns have names",
        ),
        (SHEET.replace("name,", ","), "a column has no name"),
        (
            SHEET.replace("A,3.7,", "A,,"),
            "logs.csv:2:3: error: row 2 has no `length`",
        ),
        (
            SHEET.replace("A,3.7,", "A,3.7 mn,"),
            "logs.csv:2:7: error: row 2, `log.length`: no unit of length is called `mn`",
        ),
        (
            SHEET.replace("A,3.7,", "A,\"3,7\","),
            "logs.csv:2:5: error: row 2, `log.length`: a comma in a number",
        ),
        (
            SHEET.replace("near\n", "left\n"),
            "logs.csv:3:16: error: row 3, `log.butt_at` cannot be \"left\"",
        ),
        (
            SHEET.replace("B,", "A,"),
            "logs.csv:3:1: error: two logs are called \"A\"",
        ),
        (SHEET.replace("A,", "\"A,"), "this quote is never closed"),
        (
            SHEET.replace("A,", "\"A\"x,"),
            "something stands behind a closed quote",
        ),
        (SHEET.replace("300,", "300000,"), "row 2, "),
        ("{\"a\": 1}".to_owned(), "no key of a log is called `{\"a\": 1}`"),
        ("\0\u{1}\n\0".to_owned(), "no key of a log is called"),
        (
            format!("metal,{SHEET}"),
            "what is in none of them goes to a [[log]]",
        ),
    ] {
        let said = said(ORDER, &sheet);
        assert!(said.contains(expected), "{sheet}\n{expected}\n{said}");
    }
}

#[test]
fn what_is_wrong_with_an_order_is_told_once_at_its_place() {
    for (from, to, expected) in [
        ("logs = \"logs.csv\"\n", "", "this order has no logs"),
        (
            "logs = \"logs.csv\"",
            "logs = 3",
            "`logs` should be the name of a file",
        ),
        ("logs.csv", "lost.csv", "there is no table of logs at lost.csv"),
        ("[every_log]\n", "[evry_log]\n", "did you mean `every_log`?"),
        (
            "[every_log]\nspecies = \"western larch\"\nbark = \"10 mm\"\n",
            "[[every_log]]\n",
            "`every_log` should be a table",
        ),
        (
            "bark = \"10 mm\"",
            "brak = \"10 mm\"",
            "order.toml:7:1: error: no key is called `log.brak`",
        ),
        (
            "least = 4",
            "least = 40",
            "`least` is 40, more than `most`, which is 9",
        ),
        ("least = 4", "laest = 4", "did you mean `least`?"),
        (
            "least = 4",
            "missing = \"dear\"",
            "`board[1].missing` should be a number",
        ),
        ("least = 4", "priority = 4", "`board[1].priority`"),
        (
            "mills/powered-165.toml",
            "mills/none.toml",
            "there is no mill profile at mills/none.toml",
        ),
        ("near_end_at = \"0.6 m\"", "", "`setting.near_end_at` is missing"),
        (
            "logs = \"logs.csv\"",
            "log = 3",
            "`log` should be a table for each log",
        ),
        ("[setting]", "[setting", "order.toml:3:"),
        ("", "", ""),
    ] {
        let order = ORDER.replacen(from, to, 1);
        let said = said(&order, SHEET);
        assert!(said.contains(expected), "{expected}\n{said}");
        assert!(
            said.matches(expected).count() == 1 || expected.is_empty(),
            "{expected}\n{said}"
        );
    }
}

/// A length that one log is too short for is no news; that all are is.
#[test]
fn what_is_odd_for_one_of_many_is_not_told() {
    let short = SHEET.replace("A,3.7,", "A,3.0,");
    assert_eq!(said(ORDER, &short), "");
    let shorter = short.replace("B,3.75,", "B,3.0,");
    let said = said(ORDER, &shorter);
    assert_eq!(
        said.matches("no stud of 3600 mm comes out of this log").count(),
        1,
        "{said}"
    );
}

#[test]
fn so_many_logs_are_read_and_no_more() {
    let mut sheet = SHEET.lines().next().unwrap().to_owned() + "\n";
    for log in 0..LOGS_MAX {
        writeln!(sheet, "L{log},3.7,300,330,far").unwrap();
    }
    assert_eq!(outcome(ORDER, &sheet).yard.unwrap().jobs.len(), LOGS_MAX);
    sheet.push_str("one more,3.7,300,330,far\n");
    assert!(said(ORDER, &sheet).contains(&format!("this table has {} logs", LOGS_MAX + 1)));
    // What is wrong with every row is told of the first hundred.
    let bad = sheet
        .replace("one more,3.7,300,330,far\n", "")
        .replace(",far", ",left");
    let said = said(ORDER, &bad);
    assert!(
        said.contains("900 more are not shown") && said.len() < 60_000,
        "{}",
        said.len()
    );
}

/// Whatever stands in a table, it is read or told; each letter of a good one lost or doubled in turn.
#[test]
fn any_letter_of_a_table_can_be_wrong() {
    let sheet = "name,length (m),small_end (mm),butt (mm),butt_at,sweep.bow (mm),sweep.toward\n\"A \"\"1\"\"\",3.7,300 x 290,330,far,5,up\n";
    for at in 0..sheet.len() {
        for put in ["", "\"", "\n", ",", "x", "é", "-", "\u{0}"] {
            let mut changed = sheet.to_owned();
            changed.replace_range(at..=at, put);
            let _ = said(ORDER, &changed);
        }
    }
}

/// The job of each log says what the order said of it.
#[test]
fn each_log_can_be_had_as_a_job() {
    let order = ORDER.replace(
        "[every_log]\n",
        "[every_log]\niced = false\nsweep = { bow = \"5 mm\", toward = \"up\" }\n",
    );
    let sheet = SHEET.replace("A,", "\"A \"\"1\"\" \\\",");
    let yard = outcome(&order, &sheet).yard.unwrap();
    for (log, whole) in yard.jobs.iter().enumerate() {
        let text = yard.job_text(log, &[7], "mills/powered-165.toml");
        let load = |path: &Path| {
            std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("examples").join(path))
        };
        let outcome = job::read(&Source::new("job.toml", text.clone()), &load);
        let mut read = outcome
            .job
            .clone()
            .unwrap_or_else(|| panic!("{text}\n{}", outcome.rendered()));
        assert_eq!((read.boards[0].least, read.boards[0].most), (7, Some(7)));
        for (board, of_order) in read.boards.iter_mut().zip(&whole.boards) {
            (board.least, board.most) = (of_order.least, of_order.most);
        }
        // By itself it asks for the boards of the order's layout, and not for the hand habit's.
        assert_eq!(read.layout, job::Layouts::Best);
        read.layout = whole.layout;
        assert_eq!(format!("{read:?}"), format!("{whole:?}"));
    }
}
