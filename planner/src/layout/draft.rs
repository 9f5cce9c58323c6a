//! A cut plan in the making, in bounded memory.

use bunkside_protocol::{Acts, Position};
use heapless::Vec;

use crate::limits::{PLAN_COLUMNS_MAX, PLAN_LAYERS_MAX};
use crate::plan::{Column, CutPlan, Layer};

/// A layer, and which columns of the draft are its own.
#[derive(Clone, Copy, Debug)]
struct DraftLayer {
    floor: Position,
    first: usize,
    count: usize,
}

/// A cut plan in the making.
#[derive(Clone, Debug, Default)]
pub struct Draft {
    layers: Vec<DraftLayer, PLAN_LAYERS_MAX>,
    columns: Vec<Column, PLAN_COLUMNS_MAX>,
}

/// The draft has no more room.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DraftFull;

impl Draft {
    /// An empty draft.
    #[must_use]
    pub const fn new() -> Self {
        Self {
            layers: Vec::new(),
            columns: Vec::new(),
        }
    }

    /// How many layers it has.
    #[must_use]
    pub fn layers(&self) -> usize {
        self.layers.len()
    }

    /// Every column of every layer.
    #[must_use]
    pub fn columns(&self) -> &[Column] {
        &self.columns
    }

    pub(super) fn layer(&mut self, floor: Position) -> Result<(), DraftFull> {
        let layer = DraftLayer {
            floor,
            first: self.columns.len(),
            count: 0,
        };
        self.layers.push(layer).map_err(|_| DraftFull)
    }

    pub(super) fn column(&mut self, column: Column) -> Result<(), DraftFull> {
        let layer = self.layers.last_mut().ok_or(DraftFull)?;
        self.columns.push(column).map_err(|_| DraftFull)?;
        layer.count += 1;
        Ok(())
    }

    /// Lends the draft as a cut plan.
    pub fn with_plan<T>(&self, use_it: impl FnOnce(CutPlan<'_>) -> T) -> T {
        let mut layers: Vec<Layer<'_>, PLAN_LAYERS_MAX> = Vec::new();
        for layer in &self.layers {
            let columns = self
                .columns
                .get(layer.first..layer.first + layer.count)
                .unwrap_or(&[]);
            // As many as in the draft: there is room.
            let _ = layers.push(Layer {
                floor: layer.floor,
                columns,
                passes: None,
                hold: Acts::NONE,
            });
        }
        use_it(CutPlan { layers: &layers })
    }
}
