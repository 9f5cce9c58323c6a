//! What a file looks like, so that the wrong one is told in one sentence.

use std::fmt;
use std::path::Path;

use bunkside_protocol::job::MAGIC;

use super::Failure;
use crate::input::Key;
use crate::{job, mill, yard};

/// What a file looks like.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    Job,
    /// An order over many logs.
    Order,
    Mill,
    CutPlan,
    Moves,
    Stored,
    Hex,
    /// JSON that a verb told.
    Told,
    Report,
    Drawing,
    Picture,
    Pdf,
    Archive,
    Program,
    /// Prose, or TOML of which nothing is known here.
    Text,
    /// A text whose letters are written otherwise than here.
    Encoded,
    Bytes,
    Empty,
}

impl fmt::Display for Kind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Job => "a job",
            Self::Order => "an order over many logs",
            Self::Mill => "a mill profile",
            Self::CutPlan => "a cut plan",
            Self::Moves => "a list of moves",
            Self::Stored => "a stored job",
            Self::Hex => "a stored job as Intel HEX",
            Self::Told => "an answer for programs (--json)",
            Self::Report => "a page such as report.html",
            Self::Drawing => "a drawing",
            Self::Picture => "a picture",
            Self::Pdf => "a PDF page",
            Self::Archive => "an archive",
            Self::Program => "a program",
            Self::Text => "a text of another kind",
            Self::Encoded => "text in another encoding than UTF-8",
            Self::Bytes => "no text",
            Self::Empty => "empty",
        })
    }
}

/// Headings that jobs and mill profiles begin their tables with, each only its own.
const JOB_TABLES: [&str; 3] = ["[log]", "[setting]", "[[board]]"];
const MILL_TABLES: [&str; 6] = [
    "[blade]",
    "[carriage]",
    "[swing]",
    "[travel]",
    "[power]",
    "[[bunk]]",
];

/// What the statements of a cut plan begin with.
const STATEMENTS: [&str; 6] = ["plan", "hold", "layer", "slab", "take", "release"];

/// How files of other programs begin.
const BEGINNINGS: [(&[u8], Kind); 11] = [
    (&MAGIC, Kind::Stored),
    (b"\x89PNG", Kind::Picture),
    (b"\xff\xd8\xff", Kind::Picture),
    (b"GIF8", Kind::Picture),
    (b"RIFF", Kind::Picture),
    (b"%PDF", Kind::Pdf),
    (b"PK\x03\x04", Kind::Archive),
    (b"\x1f\x8b", Kind::Archive),
    (b"\x7fELF", Kind::Program),
    (b"MZ\x90", Kind::Program),
    (b":", Kind::Hex),
];

/// Those of texts.
const TEXTS: [(&str, Kind); 4] = [
    ("<svg", Kind::Drawing),
    ("<?xml", Kind::Drawing),
    ("<!doctype html", Kind::Report),
    ("<html", Kind::Report),
];

impl Kind {
    /// What bytes look like; none where they may be anything.
    pub(super) fn of(bytes: &[u8]) -> Option<Self> {
        if bytes.trim_ascii().is_empty() {
            return Some(Self::Empty);
        }
        if let Some((_, kind)) = BEGINNINGS.iter().find(|(begins, _)| bytes.starts_with(begins)) {
            return Some(*kind);
        }
        let Ok(text) = std::str::from_utf8(bytes) else {
            return Some(if is_encoded(bytes) {
                Self::Encoded
            } else {
                Self::Bytes
            });
        };
        if text.contains('\0') {
            return Some(Self::Bytes);
        }
        let text = text.trim_start();
        let head = |begins: &str| {
            text.get(..begins.len())
                .is_some_and(|head| head.eq_ignore_ascii_case(begins))
        };
        if let Some((_, kind)) = TEXTS.iter().find(|(begins, _)| head(begins)) {
            return Some(*kind);
        }
        if text.starts_with('{') {
            return Self::of_json(text);
        }
        Self::of_lines(text)
    }

    fn of_json(text: &str) -> Option<Self> {
        let told: serde_json::Value = serde_json::from_str(text).ok()?;
        match told.get("format")?.as_str()? {
            "bunkside-moves" | "bunkside-job" => Some(Self::Moves),
            other => other.starts_with("bunkside-").then_some(Self::Told),
        }
    }

    /// A text by its lines without comments: headings tell jobs and profiles, the first words a cut plan.
    fn of_lines(text: &str) -> Option<Self> {
        let lines = told_lines(text);
        let first = lines.first()?;
        if first.starts_with("plan \"") || first.starts_with("layer down to ") {
            return Some(Self::CutPlan);
        }
        let has = |tables: &[&str]| lines.iter().any(|line| tables.contains(line));
        match (has(&JOB_TABLES), has(&MILL_TABLES)) {
            (true, _) | (_, true) if is_prose(&lines) => Some(Self::Text),
            (true, false) if is_order(&lines) => Some(Self::Order),
            (true, false) => Some(Self::Job),
            (false, true) => Some(Self::Mill),
            _ => None,
        }
    }

    /// Whether it is one form or another of moves.
    const fn is_moves(self) -> bool {
        matches!(self, Self::Moves | Self::Stored | Self::Hex)
    }

    /// Which verb takes such a file.
    fn taken_by(self, shown: &str) -> String {
        match self {
            Self::Job => format!(
                "`bunkside plan {shown}` turns it into moves and judges them; then name the moves.json that it writes, with --job {shown}"
            ),
            Self::Order => {
                format!(
                    "`bunkside order {shown} -o DIR` says what to saw of each log, and writes a job for each"
                )
            }
            Self::Mill => "a job names its mill: `mill = \"...\"` in the first lines of the job".to_owned(),
            Self::CutPlan => {
                format!("`bunkside sequence {shown} --job JOB` turns it into moves and judges them")
            }
            Self::Moves | Self::Stored | Self::Hex => {
                format!(
                    "`bunkside audit {shown} --job JOB` judges it, `dry-run`, `explain` and `export` take it too"
                )
            }
            Self::Told => "no verb reads it again; name the file that it was made from".to_owned(),
            Self::Report | Self::Drawing => {
                "open it in a browser; name the job, the cut plan or the moves that it was made from"
                    .to_owned()
            }
            Self::Encoded => "save it as UTF-8 in the editor that wrote it".to_owned(),
            Self::Picture
            | Self::Pdf
            | Self::Archive
            | Self::Program
            | Self::Text
            | Self::Bytes
            | Self::Empty => "look whether it is the file you mean".to_owned(),
        }
    }
}

/// The lines of a text without comments and empty ones.
fn told_lines(text: &str) -> Vec<&str> {
    let lines = text
        .lines()
        .map(|line| line.split('#').next().unwrap_or_default().trim());
    lines.filter(|line| !line.is_empty()).collect()
}

/// Whether many logs are told of, here or in a table of their own.
fn is_order(lines: &[&str]) -> bool {
    let names = |line: &&str| line.split_once('=').is_some_and(|(key, _)| key.trim() == "logs");
    lines.iter().any(|line| line.replace(' ', "") == "[[log]]") || lines.iter().any(names)
}

/// Whether more than half of the lines are none of a TOML file, nor of a list or a text in one; or whether a line fences off an
/// example, as pages about files do.
fn is_prose(lines: &[&str]) -> bool {
    if lines.iter().any(|line| line.starts_with("```")) {
        return true;
    }
    let begins = |letter: char| letter.is_alphabetic();
    let words = lines
        .iter()
        .filter(|line| line.starts_with(begins) && !line.contains('='));
    2 * words.count() > lines.len()
}

/// Whether bytes that are no UTF-8 look like a text all the same: with the mark of UTF-16, or nearly all of them letters and signs
/// that every encoding writes alike.
fn is_encoded(bytes: &[u8]) -> bool {
    let plain = |byte: &&u8| byte.is_ascii_graphic() || byte.is_ascii_whitespace();
    let marked = bytes.starts_with(b"\xff\xfe") || bytes.starts_with(b"\xfe\xff");
    marked || bytes.iter().filter(plain).count() * 10 >= bytes.len() * 9
}

/// Whether a text is so far from what is wanted that to tell what is wrong with each line is of no use: prose, tables and keys
/// that nobody knows, hardly a word of a cut plan.
fn is_strange(bytes: &[u8], wanted: Kind) -> bool {
    let Ok(text) = std::str::from_utf8(bytes) else {
        return false;
    };
    let lines = told_lines(text);
    match wanted {
        Kind::Job => is_prose(&lines) || !knows(&lines, job::KEYS),
        Kind::Order => is_prose(&lines) || !knows(&lines, yard::KEYS),
        Kind::Mill => is_prose(&lines) || !knows(&lines, mill::KEYS),
        Kind::CutPlan => {
            let word =
                |line: &&&str| STATEMENTS.contains(&line.split_whitespace().next().unwrap_or_default());
            4 * lines.iter().filter(word).count() < lines.len()
        }
        _ => false,
    }
}

/// Whether a line opens a table that is known, or begins with a key that is before any table.
fn knows(lines: &[&str], keys: &[Key]) -> bool {
    let mut inside = false;
    lines.iter().any(|line| {
        let opens = line.starts_with('[');
        let counts = opens || !inside;
        inside |= opens;
        let name = line.trim_start_matches('[');
        let end = name.find(|letter: char| !(letter.is_alphanumeric() || letter == '_'));
        let name = name.get(..end.unwrap_or(name.len())).unwrap_or_default();
        counts && keys.iter().any(|key| key.name == name)
    })
}

/// Refuses a file that looks like anything but what is wanted here.
pub(super) fn expect(path: &Path, bytes: &[u8], wanted: Kind) -> Result<(), Failure> {
    let ending = path.extension().and_then(|ending| ending.to_str());
    let by_name = match ending {
        Some("cut") => Some(Kind::CutPlan),
        Some("toml") if wanted.is_moves() => Some(Kind::Job),
        _ => None,
    };
    let strange = || is_strange(bytes, wanted).then_some(Kind::Text);
    match Kind::of(bytes).or(by_name).or_else(strange) {
        // One log is many enough.
        Some(Kind::Job) if wanted == Kind::Order => Ok(()),
        Some(found) if found != wanted && !(wanted.is_moves() && found.is_moves()) => {
            Err(wrong(path, found, wanted))
        }
        _ => Ok(()),
    }
}

/// A file that is another kind of file than is wanted.
pub(super) fn wrong(path: &Path, found: Kind, wanted: Kind) -> Failure {
    let shown = path.display();
    let wanted = if wanted.is_moves() {
        "moves".to_owned()
    } else {
        wanted.to_string()
    };
    Failure::wrong(
        &format!("{shown} is {found}, not {wanted}"),
        &found.taken_by(&shown.to_string()),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_is_known_by_how_it_begins() {
        for (text, kind) in [
            ("", Some(Kind::Empty)),
            (" \n\n", Some(Kind::Empty)),
            ("\u{feff}# a log\n[log]\nname = \"a\"\n", Some(Kind::Job)),
            ("[[bunk]] # one\n", Some(Kind::Mill)),
            ("# mine\nplan \"G-04\"\n", Some(Kind::CutPlan)),
            ("layer down to 20 mm\n", Some(Kind::CutPlan)),
            ("[log]\n[blade]\n", None),
            ("anything", None),
            ("{\"moves\": []}", None),
            ("{\"format\": \"bunkside-moves\"}", Some(Kind::Moves)),
            ("{\"format\": \"bunkside-plan\"}", Some(Kind::Told)),
            ("<SVG>", Some(Kind::Drawing)),
            ("<!DOCTYPE html>", Some(Kind::Report)),
            (":10000000", Some(Kind::Hex)),
            ("a\0b", Some(Kind::Bytes)),
            ("A page\nthat tells of\n[log]\n", Some(Kind::Text)),
        ] {
            assert_eq!(Kind::of(text.as_bytes()), kind, "{text:?}");
        }
        assert_eq!(Kind::of(b"\x89PNG\r\n"), Some(Kind::Picture));
        assert_eq!(Kind::of(b"a\xff"), Some(Kind::Bytes));
        let latin = b"[log]\nname = \"L\xe4rche\"\nlength = \"4 m\"\n";
        assert_eq!(Kind::of(latin), Some(Kind::Encoded));
        let wide: Vec<u8> = "\u{feff}[log]\n"
            .encode_utf16()
            .flat_map(u16::to_le_bytes)
            .collect();
        assert_eq!(Kind::of(&wide), Some(Kind::Encoded));
    }

    /// What is nearly right is told line by line.
    #[test]
    fn a_text_of_another_kind_is_told_from_one_with_slips() {
        let (job, mill, plan) = (Kind::Job, Kind::Mill, Kind::CutPlan);
        for (text, wanted, strange) in [
            ("Some prose\nin lines.\n", job, true),
            ("Some prose\nin lines.\n", mill, true),
            ("Some prose\nin lines.\n", plan, true),
            ("[package]\nname = \"a\"\nlog = 1\n", job, true),
            ("[pakage]\n[log]\n", job, false),
            (
                "A job:\n```toml\n[log]\nname = \"a\"\n[setting]\n```\n",
                job,
                true,
            ),
            ("mill \"a.toml\"\n[lgo]\nname = \"a\"\n", job, false),
            (
                "[[board]]\nname = \"a\"\nlengths = [\n  \"1 m\",\n]\n",
                job,
                false,
            ),
            ("[travl]\nmin = 1\n[blade]\n", mill, false),
            ("[log]\n", mill, true),
            ("layr down to 5 mm\n slab\n", plan, false),
            ("plan G-04\n", plan, false),
        ] {
            assert_eq!(is_strange(text.as_bytes(), wanted), strange, "{text:?} {wanted}");
        }
    }
}
