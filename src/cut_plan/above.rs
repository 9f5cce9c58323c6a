//! Floors at which nothing of the log is there.

use bunkside_protocol::Position;

use super::document::{Document, Statement};
use crate::diagnostic::Diagnostic;
use crate::measure::System;

impl Document {
    /// Tells every floor at or above the highest place of the log, bark included: nothing could be sawn there, and the height is
    /// likely to be in another unit or from another place than the bed.
    #[must_use]
    pub fn above_log(&self, top: Position, system: System) -> Vec<Diagnostic> {
        let floors = self.statements().filter_map(|statement| match statement {
            Statement::Layer(line) => Some(&line.floor),
            _ => None,
        });
        floors
            .filter(|floor| floor.value >= top)
            .map(|floor| {
                let message = format!(
                    "nothing of the log is there: its highest place, bark included, is {} above the bed",
                    system.size(top.from_origin())
                );
                Diagnostic::error(floor.span, message)
                    .with_help("floors are heights above the bed: write a lower one, or look at its unit")
            })
            .collect()
    }
}
