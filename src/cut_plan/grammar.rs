//! The grammar, line by line; `GRAMMAR.md` shows it as a whole.
//!
//! A parser gets what is left of its line, so that the length of its input tells where it stands. A line that cannot
//! be read is kept as it is, told once, and the next one is read as if nothing had been.

use bunkside_planner::plan::{End, Freeing};
use bunkside_protocol::{Act, Length, Position};
use nom::branch::alt;
use nom::bytes::complete::{tag, take_while};
use nom::character::complete::{hex_digit1, none_of, one_of};
use nom::combinator::cond;
use nom::multi::{fold_many0, many0};
use nom::sequence::delimited;
use nom::{IResult, Parser};

use super::PASSES_MAX;
use super::check::check;
use super::document::{
    ActItem, BYTE_ORDER_MARK, Board, ColumnLine, Document, EndWords, HoldLine, LayerLine, Line, LineKind,
    Pair, Passes, Piece, PlanLine, Statement, What, Word,
};
use super::fault::{Fault, Problem, word_at};
use super::words::{FIRST_WORDS, act};
use crate::diagnostic::{Diagnostic, Source, Span, nearest};
use crate::measure::{self, Rules};

/// Words that end a length.
const AFTER_LENGTH: [&str; 4] = ["to", "from", "with", "and"];

type Parsed<'a, T> = IResult<&'a str, T, Fault>;

/// Reads a cut plan. Every line is kept, good or not, so that the document prints back as it was; all that is wrong
/// with words, lengths and the order of lines is told. Names of boards are looked up by [`Document::lower`].
#[must_use]
pub fn parse(source: &Source) -> (Document, Vec<Diagnostic>) {
    let mut diagnostics = Vec::new();
    let bom = source.text.starts_with(BYTE_ORDER_MARK);
    let mut start = if bom { BYTE_ORDER_MARK.len() } else { 0 };
    let mut lines = Vec::new();
    while let Some(newline) = source.text[start..].find('\n') {
        let end = start + newline;
        let (text, line_end) = match source.text[start..end].strip_suffix('\r') {
            Some(text) => (text, "\r\n"),
            None => (&source.text[start..end], "\n"),
        };
        lines.push(line(text, start, line_end, &mut diagnostics));
        start = end + 1;
    }
    lines.push(line(&source.text[start..], start, "", &mut diagnostics));
    let document = Document { bom, lines };
    check(&document, source.text.len(), &mut diagnostics);
    (document, diagnostics)
}

/// One line of the text, which begins at byte `start`.
fn line(text: &str, start: usize, end: &'static str, diagnostics: &mut Vec<Diagnostic>) -> Line {
    let grammar = Grammar {
        end: start + text.len(),
    };
    match grammar.line(text) {
        Ok((comment, (statement, gap))) => Line {
            statement,
            gap: gap.to_owned(),
            comment: comment.to_owned(),
            end,
        },
        Err(nom::Err::Error(fault) | nom::Err::Failure(fault)) => {
            diagnostics.push(fault.to_diagnostic(grammar.end));
            grammar.broken(text, end)
        }
        Err(nom::Err::Incomplete(_)) => grammar.broken(text, end),
    }
}

/// The parsers of one line.
#[derive(Clone, Copy)]
struct Grammar {
    /// Where the line ends in the text.
    end: usize,
}

impl Grammar {
    /// `[statement] [comment]`; what is left is the comment.
    fn line(self, input: &str) -> Parsed<'_, (Option<Statement>, &str)> {
        let (at, _) = blanks(input)?;
        if ends(at) {
            return Ok((at, (None, &input[..input.len() - at.len()])));
        }
        let (rest, statement) = self.statement(input)?;
        let (comment, gap) = blanks(rest)?;
        if !ends(comment) {
            let kind = line_name(&statement);
            return fail(comment, |found| Problem::Trailing { found, kind });
        }
        Ok((comment, (Some(statement), gap)))
    }

    /// A line that cannot be read, kept as it is.
    fn broken(self, text: &str, end: &'static str) -> Line {
        let trimmed = text.trim_end_matches(is_blank);
        let at = trimmed.trim_start_matches(is_blank);
        let start = self.end - text.len() + (trimmed.len() - at.len());
        let word = word_at(at);
        let meant = nearest(word, FIRST_WORDS.map(|(word, _)| word)).unwrap_or(word);
        Line {
            statement: Some(Statement::Broken(Piece {
                blank: text[..trimmed.len() - at.len()].to_owned(),
                text: at.to_owned(),
                span: Span::new(start, start + at.len()),
                value: first_word(meant),
            })),
            gap: text[trimmed.len()..].to_owned(),
            comment: String::new(),
            end,
        }
    }

    fn statement(self, input: &str) -> Parsed<'_, Statement> {
        let (at, _) = blanks(input)?;
        match first_word(word_at(at)) {
            Some(LineKind::Plan) => self.plan(input),
            Some(LineKind::Hold) => self.hold(input),
            Some(LineKind::Layer) => self.layer(input),
            Some(LineKind::Slab) => self.word(&["slab"]).map(Statement::Slab).parse(input),
            Some(LineKind::Column) => self.column(input),
            None => fail(at, Problem::FirstWord),
        }
    }

    fn plan(self, input: &str) -> Parsed<'_, Statement> {
        let (rest, (plan, name)) = (self.word(&["plan"]), self.piece(name)).parse(input)?;
        let (more, _) = blanks(rest)?;
        let set = (self.word(&["set"]), self.piece(self::name));
        let (rest, set) = cond(begins_with(more, "set"), set).parse(rest)?;
        Ok((rest, Statement::Plan(PlanLine { plan, name, set })))
    }

    fn hold(self, input: &str) -> Parsed<'_, Statement> {
        let more = (
            self.piece(tag(",")).map(|comma| comma.map(|_| ())),
            self.piece(act_name),
        )
            .map(|(comma, act)| ActItem {
                comma: Some(comma),
                act,
            });
        let (rest, (hold, act, more)) =
            (self.word(&["hold"]), self.piece(act_name), many0(more)).parse(input)?;
        let mut acts = vec![ActItem { comma: None, act }];
        acts.extend(more);
        Ok((rest, Statement::Hold(HoldLine { hold, acts })))
    }

    fn layer(self, input: &str) -> Parsed<'_, Statement> {
        let (rest, (layer, down, to, floor)) = (
            self.word(&["layer"]),
            self.word(&["down"]),
            self.word(&["to"]),
            self.piece(position),
        )
            .parse(input)?;
        let (more, _) = blanks(rest)?;
        let passes = (
            self.word(&["with"]),
            self.piece(count),
            self.piece(keyword(&["passes", "pass"])),
        )
            .map(|(with, count, passes)| Passes {
                with,
                count,
                passes: passes.map(|_| ()),
            });
        let (rest, passes) = cond(!ends(more), passes).parse(rest)?;
        let words = [layer, down, to];
        Ok((rest, Statement::Layer(LayerLine { words, floor, passes })))
    }

    fn column(self, input: &str) -> Parsed<'_, Statement> {
        let freeing = keyword(&["take", "release"]).map(|word| match word {
            "take" => Freeing::Take,
            _ => Freeing::Release,
        });
        let (rest, (freeing, what)) = (self.piece(freeing), |rest| self.what(rest)).parse(input)?;
        let (rest, (to, place)) = (self.word(what.may_follow()), self.piece(place)).parse(rest)?;
        Ok((
            rest,
            Statement::Column(ColumnLine {
                freeing,
                what,
                to,
                place,
            }),
        ))
    }

    fn what(self, input: &str) -> Parsed<'_, What> {
        let (after, word) = self.piece(keyword(&["waste", "board"])).parse(input)?;
        if word.value == "waste" {
            return Ok((after, What::Waste(word.map(|_| ()))));
        }
        let (rest, near) = self.board(input)?;
        let (and_at, next) = next_word(rest)?;
        if next != "and" {
            return Ok((rest, What::Board(Box::new(near))));
        }
        if near.length.is_none() {
            return fail(and_at, Problem::NoLength);
        }
        let (rest, and) = self.word(&["and"]).parse(rest)?;
        let (far_end, far) = self.board(rest)?;
        if far.length.is_none() {
            let (at, _) = blanks(far_end)?;
            return fail(at, Problem::NoLength);
        }
        if let Some(from) = near.from.as_ref().or(far.from.as_ref()) {
            let (start, end) = (from.from.span.start, from.end.span.end);
            return Err(nom::Err::Failure(Fault {
                rest: self.end - start,
                len: end - start,
                problem: Problem::EndInPair,
            }));
        }
        Ok((far_end, What::Pair(Box::new(Pair { near, and, far }))))
    }

    fn board(self, input: &str) -> Parsed<'_, Board> {
        let (rest, (board, name)) = (self.word(&["board"]), self.piece(name)).parse(input)?;
        let (_, next) = next_word(rest)?;
        let mut length = cond(
            !next.is_empty() && !next.starts_with(char::is_alphabetic),
            self.piece(board_length),
        );
        let (rest, length) = length.parse(rest)?;
        let (_, next) = next_word(rest)?;
        let end = keyword(&["near", "far"]).map(|word| if word == "near" { End::Near } else { End::Far });
        let from = (self.word(&["from"]), self.piece(end), self.word(&["end"]))
            .map(|(from, which, end)| EndWords { from, which, end });
        let (rest, from) = cond(next == "from", from).parse(rest)?;
        let board = Board {
            board,
            name,
            length,
            from,
        };
        Ok((rest, board))
    }

    /// A piece with the blanks in front of it.
    fn piece<'a, T>(
        self,
        mut inner: impl Parser<&'a str, Output = T, Error = Fault>,
    ) -> impl Parser<&'a str, Output = Piece<T>, Error = Fault> {
        move |input: &'a str| {
            let (at, blank) = blanks(input)?;
            let (rest, value) = inner.parse(at)?;
            let piece = Piece {
                blank: blank.to_owned(),
                text: at[..at.len() - rest.len()].to_owned(),
                span: Span::new(self.end - at.len(), self.end - rest.len()),
                value,
            };
            Ok((rest, piece))
        }
    }

    /// One of certain words, whichever it is.
    fn word<'a>(self, wanted: &'static [&'static str]) -> impl Parser<&'a str, Output = Word, Error = Fault> {
        self.piece(keyword(wanted).map(|_| ()))
    }
}

/// One of certain words.
fn keyword<'a>(
    wanted: &'static [&'static str],
) -> impl Parser<&'a str, Output = &'static str, Error = Fault> {
    move |at: &'a str| match wanted.iter().find(|word| **word == word_at(at)) {
        Some(word) => Ok((&at[word.len()..], *word)),
        None => fail(at, |found| Problem::Word { wanted, found }),
    }
}

/// A name in double quotes.
fn name(at: &str) -> Parsed<'_, String> {
    let Some(open) = at.strip_prefix('"') else {
        return fail(at, Problem::Name);
    };
    let (rest, name) = fold_many0(name_character, String::new, |mut name: String, character| {
        name.push(character);
        name
    })
    .parse(open)?;
    match rest.strip_prefix('"') {
        Some(rest) if name.trim().is_empty() => stop(at, at.len() - rest.len(), Problem::EmptyName),
        Some(rest) => Ok((rest, name)),
        None => stop(at, at.trim_end().len(), Problem::OpenName),
    }
}

/// One character of a name, or what stands for it.
fn name_character(at: &str) -> Parsed<'_, char> {
    let Some(escaped) = at.strip_prefix('\\') else {
        return none_of("\"").parse(at);
    };
    let number = delimited(tag("u{"), hex_digit1, tag("}"))
        .map_opt(|digits| u32::from_str_radix(digits, 16).ok().and_then(char::from_u32));
    let found: Parsed<'_, char> = alt((one_of("\"\\"), number)).parse(escaped);
    match found {
        Ok(found) => Ok(found),
        Err(_) => stop(at, 1, Problem::Escape),
    }
}

/// An act's words, up to a comma or the end of the line.
fn act_name(at: &str) -> Parsed<'_, Act> {
    let words = at[..at.find([',', '#']).unwrap_or(at.len())].trim_end_matches(is_blank);
    match act(words) {
        Some(act) => Ok((&at[words.len()..], act)),
        None if words.is_empty() => fail(at, Problem::NoAct),
        None => stop(at, words.len(), Problem::Act(words.to_owned())),
    }
}

/// A number of passes.
fn count(at: &str) -> Parsed<'_, u8> {
    let word = word_at(at);
    match word.parse() {
        Ok(count @ 1..=PASSES_MAX) => Ok((&at[word.len()..], count)),
        _ => fail(at, Problem::Count),
    }
}

/// A place across, or the wood's own edge.
fn place(at: &str) -> Parsed<'_, Option<Position>> {
    match word_at(at) {
        "edge" => Ok((&at["edge".len()..], None)),
        word if word.starts_with(char::is_alphabetic) => fail(at, Problem::NoPlace),
        "" => fail(at, Problem::NoPlace),
        _ => position.map(Some).parse(at),
    }
}

/// A place on an axis.
fn position(at: &str) -> Parsed<'_, Position> {
    let (rest, length) = length(at, Rules::SIGNED)?;
    Ok((rest, Position::ZERO + length))
}

/// The length of a board.
fn board_length(at: &str) -> Parsed<'_, Length> {
    let (rest, length) = length(at, Rules::POSITIVE)?;
    if length == Length::ZERO {
        return stop(at, at.len() - rest.len(), Problem::ZeroLength);
    }
    Ok((rest, length))
}

fn length(at: &str, rules: Rules) -> Parsed<'_, Length> {
    let text = &at[..length_end(at)];
    if text.is_empty() {
        return fail(at, Problem::NoLength);
    }
    match measure::length(text, rules) {
        Ok(measured) => Ok((&at[text.len()..], measured.value)),
        Err(error) => {
            let (at, len) = (&at[error.span.start..], error.span.end - error.span.start);
            stop(at, len, Problem::Length(error))
        }
    }
}

/// Where a length ends: in front of a word that is no unit of it, of a comma that is none of its digits', or of
/// what ends the line. Whether it is a length is not judged here.
fn length_end(at: &str) -> usize {
    let mut end = 0;
    loop {
        let blank = at[end..].len() - at[end..].trim_start_matches(is_blank).len();
        let word = word_at(&at[end + blank..]);
        let follows_digit = at[..end].ends_with(char::is_numeric);
        let other = word.starts_with(char::is_alphabetic) && (AFTER_LENGTH.contains(&word) || !follows_digit);
        if word.is_empty() || word == "," || other {
            return end;
        }
        end += blank + word.len();
        // A comma between digits is a slip in the number, which its own parser tells best.
        if at[end..]
            .strip_prefix(',')
            .is_some_and(|more| more.starts_with(|c: char| c.is_ascii_digit()))
        {
            end += 1;
        }
    }
}

/// The blanks an input begins with.
fn blanks(input: &str) -> Parsed<'_, &str> {
    take_while(is_blank).parse(input)
}

fn is_blank(character: char) -> bool {
    matches!(character, ' ' | '\t')
}

/// The next word behind blanks.
fn next_word(input: &str) -> Parsed<'_, &str> {
    let (at, _) = blanks(input)?;
    Ok((at, word_at(at)))
}

/// Whether a line says no more.
fn ends(at: &str) -> bool {
    at.is_empty() || at.starts_with('#')
}

fn first_word(word: &str) -> Option<LineKind> {
    FIRST_WORDS
        .iter()
        .find(|(first, _)| *first == word)
        .map(|(_, kind)| *kind)
}

const fn line_name(statement: &Statement) -> &'static str {
    match statement {
        Statement::Plan(_) => "a plan line",
        Statement::Hold(_) => "a hold",
        Statement::Layer(_) => "a layer line",
        Statement::Slab(_) => "a slab",
        Statement::Column(_) => "a column",
        Statement::Broken(_) => "a line",
    }
}

/// The line cannot be read because of its next word.
fn fail<T>(at: &str, problem: impl FnOnce(String) -> Problem) -> Parsed<'_, T> {
    Err(nom::Err::Failure(Fault::at_word(at, problem)))
}

/// The line cannot be read because of so many bytes of it.
fn stop<T>(at: &str, len: usize, problem: Problem) -> Parsed<'_, T> {
    Err(nom::Err::Failure(Fault {
        rest: at.len(),
        len,
        problem,
    }))
}

/// Whether a text begins with a word, and the word ends there.
fn begins_with(text: &str, word: &str) -> bool {
    text.strip_prefix(word)
        .is_some_and(|rest| !rest.starts_with(|next: char| next.is_alphanumeric() || next == '_'))
}
