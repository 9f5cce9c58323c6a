//! Upright kerfs in one pass or more: the least that they take, from the end where the first begins to the one where the
//! last leaves the carriage.

use bunkside_planner::machine::{Apart, Pose};
use bunkside_planner::physics::motion::rapid;
use bunkside_planner::physics::timing::go;
use bunkside_protocol::{Position, Stroke};

use super::guess::{Guess, STROKES};
use super::relaxed::pass_of;
use super::state::{Placed, Wood};

/// Seconds from either end to either: the near one first.
type Ends = [[f64; 2]; 2];

const NEVER: Ends = [[f64::INFINITY; 2]; 2];
const DONE: Ends = [[0.0, f64::INFINITY], [f64::INFINITY, 0.0]];

/// An upright kerf in a number of passes.
#[derive(Clone, Debug)]
pub(super) struct Passes {
    pub(super) of: u8,
    /// From where the first pass begins.
    whole: Ends,
    /// By how many passes are made: from where the carriage stands after them.
    left: Vec<Ends>,
}

impl Passes {
    /// A kerf of a layer, cut with the knife as it is.
    pub(super) fn new(guess: &Guess<'_>, edge: usize, of: u8, knife: bool) -> Self {
        let heights: Vec<Position> = (1..=of)
            .map(|pass| guess.placed(pass_of(edge, of, pass), false).height)
            .collect();
        let mut passes = Self {
            of,
            whole: NEVER,
            left: vec![DONE; usize::from(of) + 1],
        };
        for pass in (1..=of).rev() {
            let placed = guess.placed(pass_of(edge, of, pass), false);
            let after = passes.ends(pass);
            let mut whole = NEVER;
            for stroke in STROKES {
                let Some(seconds) = guess.stroke(&Wood::UNTOUCHED, &placed, stroke, knife) else {
                    continue;
                };
                let out = usize::from(stroke == Stroke::Outbound);
                for to in 0..2 {
                    whole[1 - out][to] = seconds + after[out][to];
                }
            }
            let mut left = NEVER;
            if let Some(above) = usize::from(pass).checked_sub(2).and_then(|at| heights.get(at)) {
                for (from, begin, to) in [0, 1].into_iter().flat_map(every) {
                    let way = guess.between(&placed, *above, from != begin) + whole[begin][to];
                    left[from][to] = left[from][to].min(way);
                }
            }
            if let Some(place) = passes.left.get_mut(usize::from(pass) - 1) {
                *place = left;
            }
            passes.whole = whole;
        }
        passes
    }

    fn ends(&self, made: u8) -> Ends {
        self.left.get(usize::from(made)).copied().unwrap_or(NEVER)
    }

    /// From the end where the first pass begins to where the last one ends, far or not.
    pub(super) fn whole(&self, from_far: bool, to_far: bool) -> f64 {
        self.whole[usize::from(from_far)][usize::from(to_far)]
    }

    /// From where the carriage stands after some passes.
    pub(super) fn left(&self, made: u8, from_far: bool, to_far: bool) -> f64 {
        self.ends(made)[usize::from(from_far)][usize::from(to_far)]
    }
}

fn every(from: usize) -> impl Iterator<Item = (usize, usize, usize)> {
    (0..4).map(move |ends| (from, ends / 2, ends % 2))
}

impl Guess<'_> {
    /// From one pass to the next of the same kerf: down, or up, back and down where both run the same way.
    fn between(&self, placed: &Placed, from: Position, back: bool) -> f64 {
        let (mill, to) = (self.setup.mill, placed.height);
        let pose = |height| Pose {
            height,
            ..Pose::parked(mill)
        };
        let set = |from, to| go(mill, &pose(from), &pose(to));
        if !back {
            let crank = if from == to { 0.0 } else { self.crank };
            return crank + set(from, to);
        }
        let (near, far) = (self.carriage.near, self.carriage.far);
        let over = self.over.max(from);
        let crank = |from, to| if from == to { 0.0 } else { self.crank };
        let raised = crank(over, to) + set(from, over) + set(over, to);
        let in_again = self.in_again(placed.across);
        let beside = self.out(Some(placed.across));
        let beside = beside.map_or(f64::INFINITY, |out| {
            let set = set(from, to);
            // What is drawn out or in takes no time of its own while the height is set.
            crank(from, to) + (set.max(out) + in_again).min(out + set.max(in_again))
        });
        raised.min(beside) + rapid(&mill.travel, far - near)
    }

    /// The least height at which the carriage passes over the lowest column of the layer, and over what stands under it.
    pub(super) fn passes_over(&self) -> Position {
        let margin = self.setup.shape.between() + Apart::body(self.setup.mill).height;
        let columns = (0..=self.level.edges.len()).filter_map(|column| self.top_of(column));
        let top = columns.min().max(self.top_under());
        top.map_or(self.level.floor, |top| (top + margin).max(self.level.floor))
    }
}
