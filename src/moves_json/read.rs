//! Reading moves from JSON, and saying all that is wrong with them.

use std::collections::BTreeSet;

use bunkside_protocol::{Act, Acts, Angle, Cut, Feed, Hold, Move, Position, Speed, Targets};

use super::tree::{Entry, Kind, Node};
use super::{FORMAT, JOB_FORMAT, VERSION};
use crate::cut_plan::act_words;
use crate::diagnostic::{Diagnostic, Source, Span, any_error, nearest};

const KINDS: [&str; 5] = ["go", "cut", "swing", "spin", "hold"];
const AXES: [&str; 3] = ["travel_um", "across_um", "height_um"];
const CUT_FIELDS: [&str; 6] = [
    "travel_um",
    "across_um",
    "height_um",
    "speed_um_per_s",
    "feed",
    "release",
];
const SEQUENCE_FIELDS: [&str; 6] = ["format", "version", "log", "mill", "setting", "moves"];
/// Moves are numbered from 0 in sixteen bits, here and in a stored job.
const MOVES_MAX: usize = u16::MAX as usize;
/// What else a stored job says when it is shown as JSON.
const JOB_FIELDS: [&str; 4] = ["grid_um", "mill_digest", "log", "bytes"];

/// A move sequence as it stands in a file.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Sequence {
    /// The moves, each with its place in the text.
    pub moves: Vec<(Move, Span)>,
    /// The log they were made for, where the file says so.
    pub log: Option<String>,
    /// The mill they were made for, where the file says so.
    pub mill: Option<String>,
    /// The setting that was chosen for the log, where the file says so.
    pub setting: Option<String>,
}

/// Reads the moves of a sequence. There are moves exactly where no diagnostic is an error.
#[must_use]
pub fn read(source: &Source) -> (Option<Vec<Move>>, Vec<Diagnostic>) {
    let (sequence, said) = read_sequence(source);
    let moves = sequence.map(|sequence| sequence.moves.into_iter().map(|(next, _)| next).collect());
    (moves, said)
}

/// Reads a sequence with all that the file says of it.
#[must_use]
pub fn read_sequence(source: &Source) -> (Option<Sequence>, Vec<Diagnostic>) {
    let mut reader = Reader {
        said: Vec::new(),
        log: None,
        mill: None,
        setting: None,
    };
    let moves = match Node::parse(&source.text) {
        Ok(root) => reader.root(root),
        Err(syntax) => {
            reader.said.push(*syntax);
            None
        }
    };
    let moves = moves.filter(|_| !any_error(&reader.said));
    let Reader {
        said,
        log,
        mill,
        setting,
    } = reader;
    let sequence = moves.map(|moves| Sequence {
        moves,
        log,
        mill,
        setting,
    });
    (sequence, said)
}

struct Reader {
    said: Vec<Diagnostic>,
    log: Option<String>,
    mill: Option<String>,
    setting: Option<String>,
}

impl Reader {
    fn root(&mut self, root: Node<'_>) -> Option<Vec<(Move, Span)>> {
        let list = match root.kind() {
            Kind::List => root,
            Kind::Object => self.envelope(root)?,
            other => {
                let message = format!(
                    "a move sequence is an object with a list `moves`, not {}",
                    other.name()
                );
                self.said.push(Diagnostic::error(root.span(), message));
                return None;
            }
        };
        let Some(items) = list.items() else {
            self.wrong_kind("moves", list, "a list of moves");
            return None;
        };
        if let Some(first_over) = items.get(MOVES_MAX) {
            let message = format!(
                "{} moves are more than a sequence holds, {MOVES_MAX}",
                items.len()
            );
            self.said.push(
                Diagnostic::error(first_over.span(), message).with_help("saw the log in two sequences"),
            );
            return None;
        }
        let placed = |item: Node<'_>| Some((self.one(item)?, item.span()));
        Some(items.into_iter().filter_map(placed).collect())
    }

    /// What stands around the moves; answers with their list.
    fn envelope<'a>(&mut self, root: Node<'a>) -> Option<Node<'a>> {
        let entries = root.entries().unwrap_or_default();
        self.repeated(&entries);
        let find = |key: &str| {
            entries
                .iter()
                .find(|entry| entry.key == key)
                .map(|entry| entry.value)
        };
        let format = find("format").and_then(Node::text);
        let is_job = format.as_deref() == Some(JOB_FORMAT);
        for entry in &entries {
            let (key, value) = (&*entry.key, entry.value);
            match key {
                "format" if !is_job && format.as_deref() != Some(FORMAT) => {
                    let message = format!("format {} is not read here", value.written());
                    self.said.push(
                        Diagnostic::error(value.span(), message).with_help(format!("write \"{FORMAT}\"")),
                    );
                }
                "version" if value.written() != VERSION.to_string() => {
                    let message = format!("version {} is not read here", value.written());
                    let help = format!("this program reads version {VERSION}");
                    self.said
                        .push(Diagnostic::error(value.span(), message).with_help(help));
                }
                "log" if !is_job => self.log = self.name("log", value),
                "mill" => self.mill = self.name("mill", value),
                "setting" if !is_job => self.setting = self.name("setting", value),
                _ if SEQUENCE_FIELDS.contains(&key) || is_job && JOB_FIELDS.contains(&key) => {}
                _ => self.unknown(entry, &SEQUENCE_FIELDS, Diagnostic::warning),
            }
        }
        let moves = find("moves");
        if moves.is_none() {
            let span = Span::new(root.span().start, root.span().start + 1);
            let help = "write {\"format\": \"bunkside-moves\", \"version\": 1, \"moves\": [...]}";
            self.said
                .push(Diagnostic::error(span, "there is no list `moves`").with_help(help));
        }
        moves
    }

    /// What a log or a mill is called.
    fn name(&mut self, field: &str, value: Node<'_>) -> Option<String> {
        let name = value.text();
        if name.is_none() {
            self.wrong_kind(field, value, "a name in quotes");
        }
        name.map(|name| name.to_string())
    }

    fn one(&mut self, item: Node<'_>) -> Option<Move> {
        let Some(entries) = item.entries() else {
            self.wrong_kind(
                "a move",
                item,
                "an object with one field, such as {\"swing\": \"flat\"}",
            );
            return None;
        };
        let Some((entry, more)) = entries.split_first() else {
            let help = format!("name its kind: {}", KINDS.join(", "));
            self.said
                .push(Diagnostic::error(item.span(), "a move names no kind").with_help(help));
            return None;
        };
        if let Some(second) = more.first() {
            let message = format!("a move has one kind, and this one is `{}` already", entry.key);
            let help = "write each move as an object of its own";
            self.said
                .push(Diagnostic::error(second.key_span, message).with_help(help));
        }
        let value = entry.value;
        match &*entry.key {
            "go" => self.go(value),
            "cut" => self.cut(value),
            "swing" => self
                .word(
                    "swing",
                    value,
                    &[("flat", Angle::Flat), ("upright", Angle::Upright)],
                )
                .map(Move::Swing),
            "spin" => self
                .word("spin", value, &[("up", true), ("down", false)])
                .map(Move::Spin),
            "hold" => self.hold(value),
            other => {
                let message = format!("no kind of move is called `{other}`");
                let help = match nearest(other, KINDS) {
                    Some(meant) => format!("did you mean `{meant}`? The kinds are {}", KINDS.join(", ")),
                    None => format!("the kinds are {}", KINDS.join(", ")),
                };
                self.said
                    .push(Diagnostic::error(entry.key_span, message).with_help(help));
                None
            }
        }
    }

    fn go(&mut self, value: Node<'_>) -> Option<Move> {
        let entries = self.fields("go", value, &AXES)?;
        self.targets(&entries).map(Move::Go)
    }

    fn cut(&mut self, value: Node<'_>) -> Option<Move> {
        let entries = self.fields("cut", value, &CUT_FIELDS)?;
        let to = self.targets(&entries);
        let speed = match find(&entries, "speed_um_per_s") {
            Some(speed) => self.number("speed_um_per_s", speed, 0, i64::from(Speed::MAX.as_um_per_s())),
            None => {
                let message = "a cut needs `speed_um_per_s`, its feed in wood";
                let help = "for a quarter of a metre a second: \"speed_um_per_s\": 250000";
                self.said
                    .push(Diagnostic::error(value.span(), message).with_help(help));
                None
            }
        };
        let feeds = [("climb", Feed::Climb), ("forward", Feed::Forward)];
        let feed = match find(&entries, "feed") {
            Some(feed) => self.word("feed", feed, &feeds).map(Some),
            None => Some(None),
        };
        let release = find(&entries, "release").map_or(Some(false), |release| self.truth("release", release));
        Some(Move::Cut(Cut {
            to: to?,
            speed: Speed::try_from(u32::try_from(speed?).ok()?).ok()?,
            feed: feed?,
            release: release?,
        }))
    }

    fn hold(&mut self, value: Node<'_>) -> Option<Move> {
        let Some(items) = value.items() else {
            self.wrong_kind("hold", value, "a list of acts, such as [\"unload\"]");
            return None;
        };
        let words = Act::ALL.map(|act| (act_words(act), act));
        let mut acts = Some(Acts::NONE);
        for item in items {
            let act = self.word("hold", item, &words);
            if let (Some(before), Some(act)) = (acts, act)
                && before.contains(act)
            {
                let message = format!("`{}` is in this hold already", act_words(act));
                self.said.push(Diagnostic::warning(item.span(), message));
            }
            acts = acts.and_then(|before| Some(before.and(act?)));
        }
        Some(Move::Hold(Hold { acts: acts? }))
    }

    /// The fields of a move, unknown and repeated ones told.
    fn fields<'a>(&mut self, kind: &str, value: Node<'a>, known: &[&str]) -> Option<Vec<Entry<'a>>> {
        let Some(entries) = value.entries() else {
            self.wrong_kind(
                kind,
                value,
                "an object with its targets, such as {\"travel_um\": 200000}",
            );
            return None;
        };
        self.repeated(&entries);
        for entry in entries.iter().filter(|entry| !known.contains(&&*entry.key)) {
            self.unknown(entry, known, Diagnostic::error);
        }
        Some(entries)
    }

    fn targets(&mut self, entries: &[Entry<'_>]) -> Option<Targets> {
        let [travel, across, height] = AXES.map(|axis| match find(entries, axis) {
            None => Some(None),
            Some(value) => {
                let um = self.number(axis, value, Position::MIN.wide(), Position::MAX.wide());
                um.map(|um| Some(Position::um(um)))
            }
        });
        Some(Targets {
            travel: travel?,
            across: across?,
            height: height?,
        })
    }

    fn number(&mut self, name: &str, value: Node<'_>, low: i64, high: i64) -> Option<i64> {
        if value.kind() != Kind::Number {
            self.wrong_kind(name, value, "a whole number");
            return None;
        }
        let written = value.written();
        let whole = written
            .strip_prefix('-')
            .unwrap_or(written)
            .bytes()
            .all(|byte| byte.is_ascii_digit());
        match written.parse::<i64>() {
            Ok(number) if (low..=high).contains(&number) => return Some(number),
            _ if whole => {
                let message = format!("`{name}` is out of range: {written}");
                let help = format!("from {low} to {high}");
                self.said
                    .push(Diagnostic::error(value.span(), message).with_help(help));
            }
            _ => {
                let message = format!("`{name}` is a whole number, not {written}");
                let help = "lengths are in micrometres, speeds in micrometres a second, without a point or an exponent";
                self.said
                    .push(Diagnostic::error(value.span(), message).with_help(help));
            }
        }
        None
    }

    fn truth(&mut self, name: &str, value: Node<'_>) -> Option<bool> {
        match value.written() {
            "true" => Some(true),
            "false" => Some(false),
            _ => {
                self.wrong_kind(name, value, "true or false");
                None
            }
        }
    }

    fn word<T: Copy>(&mut self, name: &str, value: Node<'_>, words: &[(&str, T)]) -> Option<T> {
        let list = || {
            words
                .iter()
                .map(|(word, _)| format!("\"{word}\""))
                .collect::<Vec<_>>()
                .join(", ")
        };
        let Some(text) = value.text() else {
            self.wrong_kind(name, value, &format!("one of {}", list()));
            return None;
        };
        let found = words.iter().find(|(word, _)| *word == text);
        if found.is_none() {
            let message = format!("`{name}` cannot be \"{text}\"");
            let help = match nearest(&text, words.iter().map(|(word, _)| *word)) {
                Some(meant) => format!("did you mean \"{meant}\"? The words are {}", list()),
                None => format!("the words are {}", list()),
            };
            self.said
                .push(Diagnostic::error(value.span(), message).with_help(help));
        }
        found.map(|(_, meaning)| *meaning)
    }

    fn wrong_kind(&mut self, name: &str, value: Node<'_>, wanted: &str) {
        // A name of two words is no field's.
        let name = if name.contains(' ') {
            name.to_owned()
        } else {
            format!("`{name}`")
        };
        let message = format!("{name} is {wanted}, not {}", value.kind().name());
        self.said.push(Diagnostic::error(value.span(), message));
    }

    fn unknown(&mut self, entry: &Entry<'_>, known: &[&str], say: fn(Span, String) -> Diagnostic) {
        let message = format!("no field is called `{}` here", entry.key);
        let help = match nearest(&entry.key, known.iter().copied()) {
            Some(meant) => format!("did you mean `{meant}`?"),
            None => format!("the fields are {}", known.join(", ")),
        };
        self.said.push(say(entry.key_span, message).with_help(help));
    }

    fn repeated(&mut self, entries: &[Entry<'_>]) {
        let mut seen = BTreeSet::new();
        for entry in entries {
            if !seen.insert(&*entry.key) {
                let message = format!("`{}` is given twice", entry.key);
                self.said.push(Diagnostic::error(entry.key_span, message));
            }
        }
    }
}

fn find<'a>(entries: &[Entry<'a>], key: &str) -> Option<Node<'a>> {
    entries
        .iter()
        .find(|entry| entry.key == key)
        .map(|entry| entry.value)
}
