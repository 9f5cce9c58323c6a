//! A cut plan as a tree that keeps every blank and comment, so that it prints back as it was written.

use bunkside_planner::plan::{End, Freeing};
use bunkside_protocol::{Act, Length, Position};

use crate::diagnostic::{Diagnostic, Span};

/// Put by some editors at the start of a text; it says nothing.
pub(super) const BYTE_ORDER_MARK: &str = "\u{feff}";

/// A piece of a line: how it was written and what it means.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Piece<T> {
    /// The blanks in front of it.
    pub blank: String,
    /// The piece itself, as written.
    pub text: String,
    /// Where the piece stands, without its blanks.
    pub span: Span,
    /// What it means.
    pub value: T,
}

/// A word of the language: it means only itself.
pub type Word = Piece<()>;

/// A cut plan: every line of the text, good or not.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Document {
    /// Whether the text begins with a byte order mark, which says nothing.
    pub bom: bool,
    /// The lines, in the order of the text. The last one has no line end; it may be empty.
    pub lines: Vec<Line>,
}

/// One line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    /// What it says, if it says anything.
    pub statement: Option<Statement>,
    /// The blanks behind that, and in front of the comment.
    pub gap: String,
    /// The comment with its `#`; empty where there is none.
    pub comment: String,
    /// How the line ends: `\n`, `\r\n`, or nothing at the end of the text.
    pub end: &'static str,
}

/// What a line says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Statement {
    /// Which log the plan is for.
    Plan(PlanLine),
    /// A planned stop before the next layer.
    Hold(HoldLine),
    /// The next layer begins.
    Layer(LayerLine),
    /// The layer is one slab.
    Slab(Word),
    /// The next column of the layer.
    Column(ColumnLine),
    /// A line that cannot be read, with the kind that it seems to be.
    Broken(Piece<Option<LineKind>>),
}

/// The kinds of line, for telling what a broken one was meant to be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LineKind {
    /// `plan`
    Plan,
    /// `hold`
    Hold,
    /// `layer`
    Layer,
    /// `slab`
    Slab,
    /// `take` or `release`
    Column,
}

/// `plan "G-04"`
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PlanLine {
    /// `plan`
    pub plan: Word,
    /// The log's name.
    pub name: Piece<String>,
    /// `set` and the setting that was chosen for the log.
    pub set: Option<(Word, Piece<String>)>,
}

/// `hold measure, sweep`
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct HoldLine {
    /// `hold`
    pub hold: Word,
    /// What is to be done; one at least.
    pub acts: Vec<ActItem>,
}

/// One act of a hold, with the comma in front of every one but the first.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ActItem {
    /// `,`
    pub comma: Option<Word>,
    /// The act.
    pub act: Piece<Act>,
}

/// `layer down to 132 mm with 2 passes`
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LayerLine {
    /// `layer`, `down`, `to`
    pub words: [Word; 3],
    /// Height of its floor.
    pub floor: Piece<Position>,
    /// How many flat passes, if the author says.
    pub passes: Option<Passes>,
}

/// `with 2 passes`
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Passes {
    /// `with`
    pub with: Word,
    /// How many, from 1 to [`super::PASSES_MAX`].
    pub count: Piece<u8>,
    /// `pass` or `passes`
    pub passes: Word,
}

/// `take board "deck" 2.4 m from far end to 75.6 mm`
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ColumnLine {
    /// `take` or `release`
    pub freeing: Piece<Freeing>,
    /// What the column becomes.
    pub what: What,
    /// `to`
    pub to: Word,
    /// The corner of its upright kerf; none for `edge`.
    pub place: Piece<Option<Position>>,
}

/// What a column becomes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum What {
    /// `waste`
    Waste(Word),
    /// A board.
    Board(Box<Board>),
    /// Two boards end to end.
    Pair(Box<Pair>),
}

/// `board "deck" 1.8 m and board "shelf" 1.5 m`
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Pair {
    /// Measured from the near end; it has a length and names no end.
    pub near: Board,
    /// `and`
    pub and: Word,
    /// Measured from the far end; it has a length and names no end.
    pub far: Board,
}

/// `board "deck" 2.4 m from far end`
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Board {
    /// `board`
    pub board: Word,
    /// The product's name in the order.
    pub name: Piece<String>,
    /// Its length; left out, it is as long as the log.
    pub length: Option<Piece<Length>>,
    /// Which end it is measured from; left out, the near one.
    pub from: Option<EndWords>,
}

/// `from far end`
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct EndWords {
    /// `from`
    pub from: Word,
    /// `near` or `far`
    pub which: Piece<End>,
    /// `end`
    pub end: Word,
}

impl Document {
    /// The text it was read from, byte for byte.
    #[must_use]
    pub fn to_text(&self) -> String {
        let mut text = String::from(if self.bom { BYTE_ORDER_MARK } else { "" });
        for line in &self.lines {
            if let Some(statement) = &line.statement {
                statement.print(&mut text);
            }
            text.extend([line.gap.as_str(), line.comment.as_str(), line.end]);
        }
        text
    }

    /// The log the plan is for, if it says.
    #[must_use]
    pub fn title(&self) -> Option<&str> {
        self.title_piece().map(|name| name.value.as_str())
    }

    /// A warning where the plan says that it is for another log than this one.
    #[must_use]
    pub fn other_log(&self, log_name: &str) -> Option<Diagnostic> {
        let title = self.title_piece().filter(|title| title.value != log_name)?;
        let message = format!("this plan is for log \"{}\"", title.value.escape_debug());
        let help = format!(
            "the log at hand is \"{}\"; saw no log by the plan of another",
            log_name.escape_debug()
        );
        Some(Diagnostic::warning(title.span, message).with_help(help))
    }

    /// The setting that was chosen for the log, where the plan says so, and where it says that.
    #[must_use]
    pub fn setting(&self) -> Option<(&str, Span)> {
        let setting = self.statements().find_map(|statement| match statement {
            Statement::Plan(line) => line.set.as_ref(),
            _ => None,
        });
        setting.map(|(_, piece)| (piece.value.as_str(), piece.span))
    }

    /// Where the plan says which log it is for, or where it begins.
    #[must_use]
    pub fn title_span(&self) -> Span {
        self.title_piece().map_or(Span::new(0, 0), |piece| piece.span)
    }

    fn title_piece(&self) -> Option<&Piece<String>> {
        self.statements().find_map(|statement| match statement {
            Statement::Plan(line) => Some(&line.name),
            _ => None,
        })
    }

    /// The names of its boards in the order they are first met: an order to lower it by where there is no job.
    #[must_use]
    pub fn board_names(&self) -> Vec<String> {
        let mut names: Vec<String> = Vec::new();
        for statement in self.statements() {
            let Statement::Column(line) = statement else {
                continue;
            };
            for board in line.what.boards() {
                if !names.contains(&board.name.value) {
                    names.push(board.name.value.clone());
                }
            }
        }
        names
    }

    /// What its lines say, without the lines that say nothing.
    pub fn statements(&self) -> impl Iterator<Item = &Statement> {
        self.lines.iter().filter_map(|line| line.statement.as_ref())
    }
}

impl Statement {
    /// From its first piece to its last.
    #[must_use]
    pub fn span(&self) -> Span {
        let (first, last) = match self {
            Self::Plan(line) => {
                let last = line
                    .set
                    .as_ref()
                    .map_or(line.name.span, |(_, setting)| setting.span);
                (line.plan.span, last)
            }
            Self::Hold(line) => (
                line.hold.span,
                line.acts.last().map_or(line.hold.span, |item| item.act.span),
            ),
            Self::Layer(line) => {
                let last = line
                    .passes
                    .as_ref()
                    .map_or(line.floor.span, |passes| passes.passes.span);
                (line.words[0].span, last)
            }
            Self::Slab(word) => (word.span, word.span),
            Self::Column(line) => (line.freeing.span, line.place.span),
            Self::Broken(piece) => (piece.span, piece.span),
        };
        Span::new(first.start, last.end)
    }

    fn print(&self, out: &mut String) {
        match self {
            Self::Plan(line) => {
                line.plan.print(out);
                line.name.print(out);
                if let Some((set, setting)) = &line.set {
                    set.print(out);
                    setting.print(out);
                }
            }
            Self::Hold(line) => {
                line.hold.print(out);
                for item in &line.acts {
                    item.comma.iter().for_each(|comma| comma.print(out));
                    item.act.print(out);
                }
            }
            Self::Layer(line) => {
                line.words.iter().for_each(|word| word.print(out));
                line.floor.print(out);
                if let Some(passes) = &line.passes {
                    passes.with.print(out);
                    passes.count.print(out);
                    passes.passes.print(out);
                }
            }
            Self::Slab(word) => word.print(out),
            Self::Column(line) => {
                line.freeing.print(out);
                line.what.print(out);
                line.to.print(out);
                line.place.print(out);
            }
            Self::Broken(piece) => piece.print(out),
        }
    }
}

impl What {
    /// The words that may come next in its line.
    pub(super) const fn may_follow(&self) -> &'static [&'static str] {
        match self {
            Self::Board(board) => match (&board.from, &board.length) {
                (None, Some(_)) => &["to", "from", "and"],
                (None, None) => &["to", "from"],
                (Some(_), _) => &["to"],
            },
            Self::Waste(_) | Self::Pair(_) => &["to"],
        }
    }

    /// Its boards, the near one of two first.
    pub fn boards(&self) -> impl Iterator<Item = &Board> {
        let both = match self {
            Self::Waste(_) => [None, None],
            Self::Board(board) => [Some(&**board), None],
            Self::Pair(pair) => [Some(&pair.near), Some(&pair.far)],
        };
        both.into_iter().flatten()
    }

    fn print(&self, out: &mut String) {
        match self {
            Self::Waste(word) => word.print(out),
            Self::Board(board) => board.print(out),
            Self::Pair(pair) => {
                pair.near.print(out);
                pair.and.print(out);
                pair.far.print(out);
            }
        }
    }
}

impl Pair {
    /// From its first board to the length of the second.
    #[must_use]
    pub fn span(&self) -> Span {
        let last = self
            .far
            .length
            .as_ref()
            .map_or(self.far.name.span, |length| length.span);
        Span::new(self.near.board.span.start, last.end)
    }
}

impl Board {
    fn print(&self, out: &mut String) {
        self.board.print(out);
        self.name.print(out);
        self.length.iter().for_each(|length| length.print(out));
        if let Some(end) = &self.from {
            end.from.print(out);
            end.which.print(out);
            end.end.print(out);
        }
    }
}

impl<T> Piece<T> {
    fn print(&self, out: &mut String) {
        out.extend([self.blank.as_str(), self.text.as_str()]);
    }

    /// The same piece with another meaning.
    pub(super) fn map<U>(self, change: impl FnOnce(T) -> U) -> Piece<U> {
        Piece {
            blank: self.blank,
            text: self.text,
            span: self.span,
            value: change(self.value),
        }
    }
}
