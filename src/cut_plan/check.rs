//! The order of lines, floors and columns.
//!
//! A line that cannot be read was told already; what it may have said is not held against its neighbours.

use bunkside_protocol::{Act, Acts, Position};

use super::document::{ColumnLine, Document, HoldLine, LayerLine, LineKind, PlanLine, Statement};
use super::rounding::rounding;
use super::words::act_words;
use crate::diagnostic::{Diagnostic, Span};

/// Acts that undo each other, which no single hold can want.
const OPPOSITES: [(Act, Act); 2] = [(Act::KnifeOn, Act::KnifeOff), (Act::AidOn, Act::AidOff)];

/// Tells all that is wrong with a document's order. The text ends at byte `end`.
pub(super) fn check(document: &Document, end: usize, diagnostics: &mut Vec<Diagnostic>) {
    let mut check = Check::new(diagnostics);
    for statement in document.statements() {
        match statement {
            Statement::Plan(line) => check.plan(line),
            Statement::Hold(line) => check.hold(line),
            Statement::Layer(line) => check.layer(line),
            Statement::Slab(word) => check.slab(word.span),
            Statement::Column(line) => check.column(line),
            Statement::Broken(piece) => check.broken(piece.value),
        }
        check.begun = true;
    }
    check.finish(document, end);
}

/// What has been read so far.
struct Check<'a> {
    diagnostics: &'a mut Vec<Diagnostic>,
    /// Whether any line has said anything.
    begun: bool,
    /// Whether there was a plan line, or a line that may have been one.
    titled: bool,
    /// The hold that the next layer is to begin with.
    held: Option<(Span, Acts)>,
    /// Whether the layers so far include one that could not be read.
    blurred: bool,
    /// The lowest floor so far.
    floor: Option<Position>,
    /// The layer that is being read.
    layer: Option<Layer>,
}

/// What has been read of a layer.
struct Layer {
    /// Where its line stands; none where it could not be read.
    span: Option<Span>,
    /// Whether it may hold what could not be read.
    blurred: bool,
    slab: Option<Span>,
    columns: usize,
    /// The last place, if it is known.
    place: Option<Position>,
    /// Where `edge` stands.
    edge: Option<Span>,
}

impl Layer {
    const fn new(span: Option<Span>) -> Self {
        Self {
            span,
            blurred: span.is_none(),
            slab: None,
            columns: 0,
            place: None,
            edge: None,
        }
    }
}

impl<'a> Check<'a> {
    const fn new(diagnostics: &'a mut Vec<Diagnostic>) -> Self {
        Self {
            diagnostics,
            begun: false,
            titled: false,
            held: None,
            blurred: false,
            floor: None,
            layer: None,
        }
    }

    fn error(&mut self, span: Span, message: impl Into<String>, help: impl Into<String>) {
        self.diagnostics
            .push(Diagnostic::error(span, message).with_help(help));
    }

    fn plan(&mut self, line: &PlanLine) {
        let span = Span::new(line.plan.span.start, line.name.span.end);
        if self.titled {
            self.error(
                span,
                "a second plan line",
                "one text holds one plan; put the other in a file of its own",
            );
        } else if self.begun {
            self.error(
                span,
                "the plan line does not come first",
                "move it above everything but comments",
            );
        }
        self.titled = true;
    }

    fn hold(&mut self, line: &HoldLine) {
        let mut acts = self.held.map_or(Acts::NONE, |(_, acts)| acts);
        for item in &line.acts {
            let (act, span) = (item.act.value, item.act.span);
            let words = act_words(act);
            if acts.contains(act) {
                let message = format!("`{words}` is asked for twice before one layer");
                self.diagnostics
                    .push(Diagnostic::warning(span, message).with_help("once is enough"));
            }
            if let Some(other) = opposite(act)
                && acts.contains(other)
            {
                let message = format!("`{words}` undoes `{}` of the same hold", act_words(other));
                self.error(span, message, "leave out one of them");
            }
            acts = acts.and(act);
        }
        let start = self.held.map_or(line.hold.span.start, |(span, _)| span.start);
        let end = line
            .acts
            .last()
            .map_or(line.hold.span.end, |item| item.act.span.end);
        self.held = Some((Span::new(start, end), acts));
    }

    fn layer(&mut self, line: &LayerLine) {
        self.close_layer();
        self.held = None;
        let (floor, span) = (line.floor.value, line.floor.span);
        if floor <= Position::ZERO {
            self.error(
                span,
                format!("a floor at {floor}, which is not above the bed"),
                "write a height above the bed",
            );
        }
        match self.floor {
            Some(before) if floor >= before && floor > Position::ZERO => {
                let message = format!("this floor, {floor}, is not below the one before, {before}");
                self.error(
                    span,
                    message,
                    "layers go from top to bottom, and floors are heights above the bed",
                );
            }
            _ => {}
        }
        self.floor = Some(self.floor.map_or(floor, |before| before.min(floor)));
        let start = line.words[0].span.start;
        self.layer = Some(Layer::new(Some(Span::new(start, line.floor.span.end))));
    }

    fn slab(&mut self, span: Span) {
        let Some(mut layer) = self.opened(span, "a slab") else {
            return;
        };
        if layer.slab.is_some() {
            self.error(
                span,
                "a second slab in one layer",
                "a layer is one slab; give the other a layer of its own",
            );
        } else if layer.columns > 0 {
            self.error(span, "a slab in a layer that has columns", SLAB_HELP);
        }
        layer.slab = Some(span);
        self.layer = Some(layer);
    }

    fn column(&mut self, line: &ColumnLine) {
        let span = Span::new(line.freeing.span.start, line.place.span.end);
        let Some(mut layer) = self.opened(span, "a column") else {
            return;
        };
        if layer.slab.is_some() && layer.columns == 0 {
            self.error(span, "a column in a layer that is one slab", SLAB_HELP);
        }
        if let Some(edge) = layer.edge.take() {
            let help =
                "nothing is left beyond `edge`: give this column a place, or move it to the end of its layer";
            self.error(edge, "`edge` in a column that is not the last of its layer", help);
        }
        match (line.place.value, layer.place) {
            (Some(place), Some(before)) if place <= before => {
                let message =
                    format!("this place, {place}, is not to the exit side of the one before, {before}");
                let help = "columns go from the entry side to the exit side; places are counted from the bed's centre line, \
                            and those on the entry side are negative";
                self.error(line.place.span, message, help);
            }
            (Some(place), _) => layer.place = Some(place),
            (None, _) => layer.edge = Some(line.place.span),
        }
        layer.columns += 1;
        self.layer = Some(layer);
    }

    fn broken(&mut self, meant: Option<LineKind>) {
        match meant {
            Some(LineKind::Plan) => self.titled = true,
            Some(LineKind::Hold) => {}
            Some(LineKind::Layer) => {
                self.close_layer();
                self.held = None;
                self.blurred = true;
                self.layer = Some(Layer::new(None));
            }
            Some(LineKind::Slab | LineKind::Column) | None => match &mut self.layer {
                Some(layer) => {
                    layer.blurred = true;
                    layer.edge = None;
                }
                None => self.layer = Some(Layer::new(None)),
            },
        }
    }

    /// The layer that a slab or column belongs to, to be put back; tells where there is none.
    fn opened(&mut self, span: Span, what: &str) -> Option<Layer> {
        let held = self.held.take();
        if self.layer.is_none() {
            let help = "begin with a layer line, as in `layer down to 187.5 mm`";
            self.error(span, format!("{what} before the first layer"), help);
            // Told once: what follows belongs to a layer that is not there.
            return Some(Layer::new(None));
        }
        if let Some((hold, _)) = held {
            let help = "a hold stands right before a layer line; move it above or below this layer";
            self.error(hold, "a hold inside a layer", help);
        }
        self.layer.take()
    }

    fn close_layer(&mut self) {
        if let Some(layer) = self.layer.take()
            && let Some(span) = layer.span
            && !layer.blurred
            && layer.columns == 0
            && layer.slab.is_none()
        {
            self.error(
                span,
                "an empty layer",
                "say what comes out of it: `slab`, or columns with `take` or `release`",
            );
        }
    }

    fn finish(mut self, document: &Document, end: usize) {
        let seen_layer = self.layer.is_some() || self.floor.is_some() || self.blurred;
        self.close_layer();
        if let Some((span, _)) = self.held {
            self.error(
                span,
                "a hold that no layer follows",
                "a hold stands right before a layer line; leave it out at the end",
            );
        }
        if !self.titled {
            let first = document
                .statements()
                .next()
                .map_or(Span::at(end), |first| Span::at(first.span().start));
            self.error(
                first,
                "the plan line is missing",
                "begin with the log's name, as in `plan \"G-04\"`",
            );
        }
        if !seen_layer {
            self.error(
                Span::at(end),
                "a plan without a layer",
                "write a layer, as in `layer down to 187.5 mm`",
            );
        }
        self.diagnostics.extend(rounding(document));
    }
}

const SLAB_HELP: &str =
    "a layer is either one slab, freed whole, or columns; for a slab in columns, take them as waste";

fn opposite(act: Act) -> Option<Act> {
    OPPOSITES.iter().find_map(|(one, other)| match act {
        _ if act == *one => Some(*other),
        _ if act == *other => Some(*one),
        _ => None,
    })
}
