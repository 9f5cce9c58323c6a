//! What is said of an order, gathered from all its logs: each thing once, at its place in the file or in the table of logs.

use crate::diagnostic::{Diagnostic, Severity, Source, Span};

/// What was said so far.
pub(super) struct Gathered {
    order: Source,
    /// The table of logs.
    pub(super) sheet: Option<Source>,
    /// Where it begins behind the order.
    base: usize,
    of_order: Vec<Diagnostic>,
    of_sheet: Vec<Diagnostic>,
    /// Warnings of what all logs share, and of how many logs they were said.
    shared: Vec<(Diagnostic, usize)>,
}

impl Gathered {
    pub(super) const fn new(order: Source, sheet: Option<Source>, base: usize) -> Self {
        Self {
            order,
            sheet,
            base,
            of_order: Vec::new(),
            of_sheet: Vec::new(),
            shared: Vec::new(),
        }
    }

    /// What is said of the order, and of the table of logs behind it.
    pub(super) fn all(&mut self, said: Vec<Diagnostic>) {
        for one in said {
            match self.in_sheet(one.span) {
                Some(span) => self.of_sheet.push(Diagnostic { span, ..one }),
                None => self.of_order.push(one),
            }
        }
    }

    /// What is said of the table of logs, with its own places.
    pub(super) fn all_of_sheet(&mut self, said: Vec<Diagnostic>) {
        self.of_sheet.extend(said);
    }

    /// What is said of one log, out of so many.
    pub(super) fn of_log(&mut self, said: Vec<Diagnostic>, row: Option<usize>, logs: usize) {
        for one in said {
            let in_sheet = self.in_sheet(one.span);
            if let Some(span) = in_sheet {
                let row = row.map_or_else(String::new, |row| format!("row {row}, "));
                let message = format!("{row}{}", one.message);
                let help = one.help.replace("in [log]", "as a column");
                self.of_sheet.push(Diagnostic {
                    span,
                    message,
                    help,
                    ..one
                });
            } else if one.severity == Severity::Error {
                let help = one.help.replace("in [log]", "in this [[log]]");
                let one = Diagnostic { help, ..one };
                if !self.of_order.contains(&one) {
                    self.of_order.push(one);
                }
            } else {
                self.share(one, logs);
            }
        }
    }

    /// What is odd for one of many logs, such as a length that it does not have, is nothing to be told; for all of them it is.
    fn share(&mut self, one: Diagnostic, logs: usize) {
        let same =
            |(other, _): &&mut (Diagnostic, usize)| other.span == one.span && other.message == one.message;
        let times = match self.shared.iter_mut().find(same) {
            Some((_, times)) => {
                *times += 1;
                *times
            }
            None => {
                self.shared.push((one.clone(), 1));
                1
            }
        };
        if times == logs && !self.of_order.contains(&one) {
            self.of_order.push(one);
        }
    }

    fn in_sheet(&self, span: Span) -> Option<Span> {
        let inside = self.sheet.is_some() && span.start >= self.base;
        inside.then(|| Span::new(span.start - self.base, span.end.max(self.base) - self.base))
    }

    /// A place in words.
    pub(super) fn place(&self, span: Span) -> String {
        match (self.in_sheet(span), &self.sheet) {
            (Some(span), Some(sheet)) => {
                format!("in line {} of {}", sheet.place(span.start).line, sheet.name)
            }
            _ => format!(
                "in line {} of {}",
                self.order.place(span.start).line,
                self.order.name
            ),
        }
    }

    /// The order and its table of logs with what is said of them.
    pub(super) fn reports(self) -> Vec<(Source, Vec<Diagnostic>)> {
        let order = (self.order, self.of_order);
        let sheet = self.sheet.map(|sheet| (sheet, self.of_sheet));
        std::iter::once(order).chain(sheet).collect()
    }
}
