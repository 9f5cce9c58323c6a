//! Which piece is which column of a cut plan.

use bunkside_planner::geometry::{Block, Interval};
use bunkside_planner::plan::{Board, Freeing, Use};
use bunkside_planner::replay::Setup;
use bunkside_planner::stock::Piece;
use bunkside_protocol::{Length, Position};

use crate::cut_plan::OwnedPlan;
use crate::job::Job;
use crate::trace::Trace;

/// What a cut plan wants of one stretch of the log's section.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Region {
    /// Number of the layer, from 0.
    pub layer: usize,
    /// Number of the column in it, from 0; none for a slab.
    pub column: Option<usize>,
    /// Across, without the kerf.
    pub across: Interval,
    /// Up, without the kerf.
    pub height: Interval,
    /// What it becomes.
    pub use_: Use,
    /// How it is freed.
    pub freeing: Freeing,
}

/// The regions of a plan, from the top and from the entry side; places snapped as the sequencer snaps them.
#[must_use]
pub fn regions(setup: &Setup<'_>, plan: &OwnedPlan) -> Vec<Region> {
    let (grid, kerf) = (setup.mill.grid, setup.mill.blade.kerf);
    let mut regions = Vec::new();
    let mut face = Position::MAX;
    for (layer, told) in plan.layers.iter().enumerate() {
        let floor = told.floor.snapped(grid);
        let height = Interval::new(floor + kerf, face);
        face = floor;
        if told.columns.is_empty() {
            regions.push(Region {
                layer,
                column: None,
                across: Interval::ALL,
                height,
                use_: Use::Waste,
                freeing: Freeing::Take,
            });
        }
        let mut corner = Position::MIN;
        for (column, told) in told.columns.iter().enumerate() {
            let next = told.to.map(|to| to.snapped(grid));
            regions.push(Region {
                layer,
                column: Some(column),
                across: Interval::new(corner, next.map_or(Position::MAX, |to| to - kerf)),
                height,
                use_: told.use_,
                freeing: told.freeing,
            });
            corner = next.unwrap_or(Position::MAX);
        }
    }
    regions
}

/// The region a piece fills: the one that holds the middle of its box; none for a piece that no column wants.
#[must_use]
pub fn region_of<'r>(regions: &'r [Region], piece: &Piece) -> Option<&'r Region> {
    let middle = |stretch: Interval| stretch.lo + stretch.length().half_floor();
    let (across, height) = (middle(piece.bounds.across), middle(piece.bounds.height));
    regions
        .iter()
        .find(|region| region.across.contains(across) && region.height.contains(height))
}

/// What a cut plan wants of a piece that a move freed. The plan is of what stood when it was made: it wants nothing of a piece that was
/// off by then.
#[must_use]
pub fn wanted<'r>(trace: &Trace, regions: &'r [Region], index: u16, piece: &Piece) -> Option<&'r Region> {
    (usize::from(index) >= trace.done)
        .then(|| region_of(regions, piece))
        .flatten()
}

/// A piece and where it came from.
#[derive(Clone, Copy, Debug)]
pub struct Named<'r> {
    /// The piece.
    pub piece: Piece,
    /// Number of the move that freed it, from 0.
    pub index: u16,
    /// What the plan wants of it.
    pub region: Option<&'r Region>,
}

/// Every piece of a run in the order they come off.
#[must_use]
pub fn named<'r>(trace: &Trace, regions: &'r [Region]) -> Vec<Named<'r>> {
    let freed = trace
        .moves
        .iter()
        .flat_map(|traced| traced.freed.iter().map(|piece| (*piece, traced.step.index)));
    freed
        .map(|(piece, index)| Named {
            piece,
            index,
            region: wanted(trace, regions, index, &piece),
        })
        .collect()
}

impl Region {
    /// The same, ending with the wood of a piece where it goes on for ever.
    #[must_use]
    pub fn ending_at(&self, wood: Block) -> Self {
        let ends = |own: Interval, wood: Interval| Interval {
            lo: if own.lo == Position::MIN { wood.lo } else { own.lo },
            hi: if own.hi == Position::MAX { wood.hi } else { own.hi },
        };
        Self {
            across: ends(self.across, wood.across),
            height: ends(self.height, wood.height),
            ..*self
        }
    }

    /// Whether the wood of a piece is all of it, but for so much; where it goes on for ever, it ends with the wood. Above the first
    /// layer of a partly sawn log no plan tells where the wood ends.
    #[must_use]
    pub fn is_filled_by(&self, wood: Block, but: Length) -> bool {
        let own = self.ending_at(wood);
        let as_large = |own: Interval, wood: Interval| own.length() <= wood.length() + but;
        let whole = as_large(own.across, wood.across) && as_large(own.height, wood.height);
        whole && self.holds(wood, but)
    }

    /// Whether the wood of a piece lies in it, but for so much.
    #[must_use]
    pub fn holds(&self, wood: Block, but: Length) -> bool {
        let inside = |outer: Interval, inner: Interval| {
            let outer = outer.grown(but);
            outer.lo <= inner.lo && inner.hi <= outer.hi
        };
        inside(self.across, wood.across) && inside(self.height, wood.height)
    }
}

/// What the boards of a column are called: `deck`, or of two `deck and shelf end to end`; none for waste.
#[must_use]
pub fn called(job: &Job, use_: Use) -> Option<String> {
    called_of(job, use_.boards())
}

/// The same of these boards.
pub fn called_of(job: &Job, boards: impl Iterator<Item = Board>) -> Option<String> {
    let names: Option<Vec<&str>> = boards
        .map(|board| Some(job.boards.get(usize::from(board.product))?.name.as_str()))
        .collect();
    match names?.as_slice() {
        [] => None,
        [one] => Some((*one).to_owned()),
        more => Some(format!("{} end to end", more.join(" and "))),
    }
}
