//! A cut plan in the making, in bounded memory.

use bunkside_protocol::{Acts, Position};
use heapless::Vec;

use super::mend::{Mend, height_on};
use crate::limits::{PLAN_COLUMNS_MAX, PLAN_LAYERS_MAX};
use crate::plan::{Column, CutPlan, Layer};
use crate::replay::Setup;

/// A layer, and which columns of the draft are its own.
#[derive(Clone, Copy, Debug)]
struct DraftLayer {
    floor: Position,
    first: usize,
    count: usize,
}

/// A cut plan in the making, of no more than so many columns.
#[derive(Clone, Debug, Default)]
pub struct Draft<const COLUMNS: usize = PLAN_COLUMNS_MAX> {
    layers: Vec<DraftLayer, PLAN_LAYERS_MAX>,
    columns: Vec<Column, COLUMNS>,
}

/// The draft has no more room.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DraftFull;

impl<const COLUMNS: usize> Draft<COLUMNS> {
    /// An empty draft.
    #[must_use]
    pub const fn new() -> Self {
        Self {
            layers: Vec::new(),
            columns: Vec::new(),
        }
    }

    /// Empties it.
    pub(super) fn clear(&mut self) {
        self.layers.clear();
        self.columns.clear();
    }

    /// Mends the layer on a floor, whose boards lean so already; whether there was anything to do.
    pub fn mend(&mut self, setup: &Setup<'_>, floor: Position, mend: &Mend) -> bool {
        let at = self.layers.iter().position(|layer| layer.floor == floor);
        let Some(layer) = at.and_then(|at| self.layers.get(at)).copied() else {
            return false;
        };
        let height = height_on(setup, self.layers.iter().map(|layer| layer.floor), floor);
        let own = layer.first..layer.first + layer.count;
        let Some(columns) = self.columns.get_mut(own.clone()) else {
            return false;
        };
        let Some(left) = mend.carry_out(setup, columns, height) else {
            return false;
        };
        let gone = layer.count - left;
        self.columns.copy_within(own.end.., own.end - gone);
        self.columns.truncate(self.columns.len() - gone);
        for later in &mut self.layers {
            if later.floor == floor {
                later.count = left;
            } else if later.first >= own.end {
                later.first -= gone;
            }
        }
        true
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
