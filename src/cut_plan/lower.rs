//! From a document to the plan that the sequencer works on.

use bunkside_planner::plan::{Column, End, Part, Use};
use bunkside_protocol::{Acts, Length};

use super::document::{Board, ColumnLine, Document, Pair, Statement, What};
use super::plan::{OwnedLayer, OwnedPlan};
use crate::diagnostic::{Diagnostic, any_error, nearest};

impl Document {
    /// The plan as data, for an order of boards of these names and a log of this length. None where a board cannot
    /// be in it, or where a line could not be read; where lines are out of order ([`super::parse`] tells), a plan
    /// comes out all the same, and is not to be used.
    ///
    /// Without an order, [`Document::board_names`] serves as one.
    #[must_use]
    pub fn lower(&self, names: &[String], log_length: Length) -> (Option<OwnedPlan>, Vec<Diagnostic>) {
        let order = Order { names, log_length };
        let mut diagnostics = Vec::new();
        let mut plan = OwnedPlan::default();
        let mut hold = Acts::NONE;
        let mut whole = true;
        for statement in self.statements() {
            match statement {
                Statement::Plan(_) | Statement::Slab(_) => {}
                Statement::Broken(_) => whole = false,
                Statement::Hold(line) => {
                    hold = line.acts.iter().fold(hold, |acts, item| acts.and(item.act.value));
                }
                Statement::Layer(line) => plan.layers.push(OwnedLayer {
                    floor: line.floor.value,
                    columns: Vec::new(),
                    passes: line.passes.as_ref().map(|passes| passes.count.value),
                    hold: std::mem::take(&mut hold),
                }),
                Statement::Column(line) => {
                    let column = order.column(line, &mut diagnostics);
                    if let (Some(layer), Some(column)) = (plan.layers.last_mut(), column) {
                        layer.columns.push(column);
                    }
                }
            }
        }
        let usable = whole && !any_error(&diagnostics);
        (usable.then_some(plan), diagnostics)
    }
}

/// What the words of a plan refer to.
struct Order<'a> {
    names: &'a [String],
    log_length: Length,
}

impl Order<'_> {
    fn column(&self, line: &ColumnLine, diagnostics: &mut Vec<Diagnostic>) -> Option<Column> {
        let use_ = match &line.what {
            What::Waste(_) => Use::Waste,
            What::Board(board) => {
                let Part { product, length } = self.part(board, diagnostics)?;
                let end = board.from.as_ref().map_or(End::Near, |from| from.which.value);
                Use::Board { product, length, end }
            }
            What::Pair(pair) => self.pair(pair, diagnostics)?,
        };
        Some(Column {
            to: line.place.value,
            freeing: line.freeing.value,
            use_,
        })
    }

    /// Two boards end to end, both looked at before either is given up.
    fn pair(&self, pair: &Pair, diagnostics: &mut Vec<Diagnostic>) -> Option<Use> {
        let both = [&pair.near, &pair.far].map(|board| self.part(board, diagnostics));
        let [Some(near), Some(far)] = both else {
            return None;
        };
        if near.length.wide() + far.length.wide() > self.log_length.wide() {
            let message = format!(
                "two boards longer together than the log, which is {}",
                self.log_length
            );
            diagnostics.push(
                Diagnostic::error(pair.span(), message).with_help("write shorter lengths, or one board"),
            );
            return None;
        }
        Some(Use::Pair { near, far })
    }

    fn part(&self, board: &Board, diagnostics: &mut Vec<Diagnostic>) -> Option<Part> {
        let name = &board.name.value;
        let Some(number) = self.names.iter().position(|known| known == name) else {
            let message = format!("the order has no board called \"{}\"", name.escape_debug());
            diagnostics.push(Diagnostic::error(board.name.span, message).with_help(self.names_help(name)));
            return None;
        };
        let Ok(product) = u8::try_from(number) else {
            let message = format!(
                "\"{}\" is board number {} of the order",
                name.escape_debug(),
                number + 1
            );
            diagnostics.push(
                Diagnostic::error(board.name.span, message).with_help("an order holds 256 boards at most"),
            );
            return None;
        };
        if let Some(length) = &board.length
            && length.value > self.log_length
        {
            let message = format!("a board longer than the log, which is {}", self.log_length);
            diagnostics.push(
                Diagnostic::error(length.span, message)
                    .with_help("write a shorter length, or leave it out for the whole length of the log"),
            );
            return None;
        }
        Some(Part {
            product,
            length: board
                .length
                .as_ref()
                .map_or(self.log_length, |length| length.value),
        })
    }

    fn names_help(&self, name: &str) -> String {
        let listed: Vec<String> = self
            .names
            .iter()
            .take(8)
            .map(|known| format!("\"{}\"", known.escape_debug()))
            .collect();
        let more = if self.names.len() > listed.len() {
            " and more"
        } else {
            ""
        };
        let has = match listed.as_slice() {
            [] => "it has none".to_owned(),
            names => format!("it has {}{more}", names.join(", ")),
        };
        match nearest(name, self.names.iter().map(String::as_str)) {
            Some(known) => format!("did you mean \"{}\"? {has}", known.escape_debug()),
            None => has,
        }
    }
}
