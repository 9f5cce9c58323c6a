//! Where the dogs stand once they are closed on the log.

use bunkside_planner::geometry::Block;
use bunkside_planner::physics::dogs::{bites, closed, pushed};
use bunkside_protocol::{Length, Position};

use super::plane::um;
use super::scene::Scene;
use super::side::Rail;
use super::steps::capital;
use super::svg::{Path, Place};
use crate::setting::words::Words;

/// A dog counts as standing at a bunk no further than this from it.
const AT_BUNK: Length = Length::mm(400);
/// No dog is drawn smaller than this, in units.
const LEAST: f64 = 10.0;

/// A dog of the mill.
#[derive(Clone, Copy, Debug)]
pub(super) struct Dog {
    /// Its number in the profile, from 1.
    pub(super) number: usize,
    /// What it fills: closed on the log, or as it stands in the profile.
    pub(super) block: Block,
    /// Whether it reaches the log's wood, and so holds it: one that does not is left open.
    pub(super) holds: bool,
    /// How far it is pushed across to close on the log.
    pushed: Length,
}

/// Every dog of the mill, in the order of its profile.
pub(super) fn dogs(scene: &Scene<'_>) -> Vec<Dog> {
    let setup = scene.subject.setup;
    let dogs = setup.mill.dogs.iter();
    (1..)
        .zip(dogs)
        .map(|(number, dog)| {
            let closed = closed(dog, &setup.shape);
            Dog {
                number,
                block: closed.unwrap_or(Block::from_record(dog)),
                holds: closed.is_some_and(|closed| bites(closed, &setup.shape)),
                pushed: pushed(dog, &setup.shape).unwrap_or(Length::ZERO),
            }
        })
        .collect()
}

impl Dog {
    /// Its middle along the rails.
    fn travel(&self) -> Position {
        self.block.travel.lo + self.block.travel.length().half_floor()
    }

    /// Whether it is drawn with a bunk: one that holds, and stands nearest to that one.
    pub(super) fn stands_at(&self, scene: &Scene<'_>, bunk: Position) -> bool {
        let off = |at: Position| (at - self.travel()).abs();
        let rows = scene.sheet.bunks.iter().map(|row| off(row.at_um));
        self.holds && off(bunk) <= AT_BUNK && rows.min() == Some(off(bunk))
    }

    /// The side of it that touches the log, away from a line along the bed.
    pub(super) fn reach(&self, lowest: f64) -> f64 {
        let across = self.block.across;
        let [lo, hi] = [um(across.lo) - lowest, um(across.hi) - lowest].map(f64::abs);
        lo.min(hi)
    }

    /// Drawn in a section.
    pub(super) fn section(&self, at: &dyn Fn(Place) -> Place) -> String {
        let (across, height) = (self.block.across, self.block.height);
        let mut path = Path::new();
        path.rect(
            at([um(across.lo), um(height.hi)]),
            at([um(across.hi), um(height.lo)]),
        );
        path.element("solid")
    }

    /// Drawn from the side.
    pub(super) fn side(&self, rail: &Rail) -> String {
        let (travel, height) = (self.block.travel, self.block.height);
        let middle = rail.x(um(self.travel()));
        let half = ((rail.x(um(travel.hi)) - rail.x(um(travel.lo))) / 2.0).max(LEAST / 2.0);
        let foot = rail.y(um(height.lo));
        let mut path = Path::new();
        path.rect(
            [middle - half, rail.y(um(height.hi)).min(foot - LEAST)],
            [middle + half, foot],
        );
        path.element("solid")
    }

    /// Where it closes, as a line to do.
    pub(super) fn words(&self, scene: &Scene<'_>, words: Words) -> String {
        let system = words.system;
        let from = system.run_both(self.travel() - scene.bounds.travel.lo);
        let name = format!("Dog {}, {from} from the near end", self.number);
        let row = scene.sheet.dogs.iter().find(|row| row.dog == self.number);
        let wrong = row.and_then(|row| words.dog(row));
        let wrong = wrong.map(|words| capital(&words) + ".").unwrap_or_default();
        if !self.holds {
            return wrong;
        }
        let middle = self.block.across.lo + self.block.across.length().half_floor();
        let side = if middle > Position::ZERO { "exit" } else { "entry" };
        let push = match self.pushed {
            Length::ZERO => String::new(),
            by => format!(" push it {} across to the log and", system.size_both(by)),
        };
        format!(
            "{name}, {side} side:{push} close it on the log before the first cut. It stands up to {} above the bed. {wrong}",
            system.size_both(self.block.height.hi.from_origin())
        )
        .trim_end()
        .to_owned()
    }
}
