//! A cut plan that owns its layers, for the host.

use bunkside_planner::plan::{Column, CutPlan, Layer};
use bunkside_protocol::{Acts, Position};

/// One layer with its columns.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OwnedLayer {
    /// Corner height of its flat kerf: the kerf lies on top of it.
    pub floor: Position,
    /// Columns from the entry side on. None: the layer is one slab.
    pub columns: Vec<Column>,
    /// How many flat passes the author asks for; none leaves it to the sequencer.
    pub passes: Option<u8>,
    /// A hold before the layer is begun.
    pub hold: Acts,
}

/// Layers from top to bottom.
///
/// ```
/// use bunkside::cut_plan::{OwnedLayer, OwnedPlan};
/// use bunkside_protocol::{Acts, Position};
/// let slab = OwnedLayer { floor: Position::mm(187), columns: Vec::new(), passes: Some(2), hold: Acts::NONE };
/// let plan = OwnedPlan { layers: vec![slab] };
/// assert_eq!(plan.with_plan(|plan| plan.layers.len()), 1);
/// ```
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct OwnedPlan {
    /// The layers, each floor below the one before.
    pub layers: Vec<OwnedLayer>,
}

impl OwnedPlan {
    /// Lends the plan in the form that the planner takes.
    pub fn with_plan<T>(&self, use_it: impl FnOnce(CutPlan<'_>) -> T) -> T {
        let layers: Vec<Layer<'_>> = self
            .layers
            .iter()
            .map(|layer| Layer {
                floor: layer.floor,
                columns: &layer.columns,
                passes: layer.passes,
                hold: layer.hold,
            })
            .collect();
        use_it(CutPlan { layers: &layers })
    }
}

impl From<CutPlan<'_>> for OwnedPlan {
    fn from(plan: CutPlan<'_>) -> Self {
        let layers = plan
            .layers
            .iter()
            .map(|layer| OwnedLayer {
                floor: layer.floor,
                columns: layer.columns.to_vec(),
                passes: layer.passes,
                hold: layer.hold,
            })
            .collect();
        Self { layers }
    }
}
