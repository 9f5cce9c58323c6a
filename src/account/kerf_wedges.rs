//! Wedges against kerfs that close on the blade: where each goes, and when it is taken away.
//!
//! Which kerfs hold wedges is what the rules take for so. How many go into one and where: common practice, no source.

use bunkside_planner::geometry::{Block, Interval};
use bunkside_planner::replay::Setup;
use bunkside_planner::rules::{History, Moment, Scene};
use bunkside_protocol::{Act, Angle, Length, Move, Position};

use super::table::count;
use crate::measure::System;
use crate::trace::Trace;

/// How far from the end of its kerf the outermost wedge goes.
const FROM_END: Length = Length::mm(300);
/// How far apart neighbours stand at most.
const APART: Length = Length::mm(1_500);

/// A kerf that holds wedges.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WedgedKerf {
    /// The move that cut it last.
    pub cut: usize,
    /// How the blade stood.
    pub angle: Angle,
    /// What the wedges fill of it.
    pub block: Block,
    /// How far from the log's near end each wedge goes.
    pub places: Vec<Length>,
    /// The move at which they are driven.
    pub driven: usize,
    /// The move at which they are taken away; none where they stay to the end.
    pub out: Option<usize>,
}

impl WedgedKerf {
    /// The place of its rim: across for an upright kerf, above the bed for a flat one.
    #[must_use]
    pub const fn place(&self) -> Position {
        match self.angle {
            Angle::Flat => self.block.height.lo,
            Angle::Upright => self.block.across.hi,
        }
    }

    /// How many wedges it holds: `3 wedges`.
    #[must_use]
    pub fn wedges(&self) -> String {
        count(self.places.len() as u64, "wedge")
    }
}

/// Every kerf that is wedged, in the order in which that is done.
#[must_use]
pub fn wedged_kerfs(setup: &Setup<'_>, trace: &Trace, system: System) -> Vec<WedgedKerf> {
    let moves = trace.moves.iter().map(|traced| traced.step.told);
    if !moves.clone().any(|told| has(told, Act::WedgeKerf)) {
        return Vec::new();
    }
    let mut history = History::new(History::lowest_cut(moves));
    let mut kerfs: Vec<WedgedKerf> = Vec::new();
    for (at, traced) in trace.moves.iter().enumerate() {
        let after = trace.moves.get(at + 1).map_or(&trace.end, |next| &*next.before);
        history.note(&Scene {
            setup,
            moment: Moment::Move(&traced.step),
            before: &traced.before,
            after,
        });
        if !matches!(traced.step.told, Move::Hold(_)) {
            continue;
        }
        let held: Vec<(Angle, Block)> = history.wedged_kerfs().collect();
        for kerf in kerfs.iter_mut().filter(|kerf| kerf.out.is_none()) {
            if !held.contains(&(kerf.angle, kerf.block)) {
                kerf.out = Some(at);
            }
        }
        for (angle, block) in held {
            let known = kerfs
                .iter()
                .any(|kerf| kerf.out.is_none() && kerf.angle == angle && kerf.block == block);
            if !known {
                kerfs.push(WedgedKerf {
                    cut: cutter(trace, at, angle, block),
                    angle,
                    block,
                    places: places(block.travel, setup.shape.travel().lo, system),
                    driven: at,
                    out: None,
                });
            }
        }
    }
    kerfs
}

/// How many wedges are in after a move.
#[must_use]
pub fn wedges_in(kerfs: &[WedgedKerf], at: usize) -> usize {
    let held = kerfs
        .iter()
        .filter(|kerf| kerf.driven <= at && kerf.out.is_none_or(|out| out > at));
    held.map(|kerf| kerf.places.len()).sum()
}

/// How many wedges are in at one time, at most.
#[must_use]
pub fn most_in(kerfs: &[WedgedKerf]) -> usize {
    let driven = kerfs.iter().map(|kerf| wedges_in(kerfs, kerf.driven));
    driven.max().unwrap_or(0)
}

fn has(told: Move, act: Act) -> bool {
    matches!(told, Move::Hold(hold) if hold.acts.contains(act))
}

/// The last cut before a hold that left this kerf.
fn cutter(trace: &Trace, hold: usize, angle: Angle, block: Block) -> usize {
    let before = trace.moves.get(..hold).unwrap_or_default();
    let left = before.iter().rposition(|traced| {
        let kerf = traced.step.cut.map(|facts| facts.kerf);
        traced.step.before.angle == angle && kerf.is_some_and(|kerf| kerf.join(block) == kerf)
    });
    left.unwrap_or(hold)
}

/// Where wedges go along a kerf: not far from either end of it, and between no further apart than [`APART`]; told from the
/// near end of the log, in whole inches or halves of a decimetre.
fn places(kerf: Interval, near_end: Position, system: System) -> Vec<Length> {
    let step = match system {
        System::Metric => Length::mm(50),
        System::Inches => Length::um(25_400),
    };
    let from = |place: Position| {
        let away = (place - near_end).wide();
        let step = step.wide();
        Length::um((away + step / 2).div_euclid(step) * step)
    };
    let (first, last) = (kerf.lo + FROM_END, kerf.hi - FROM_END);
    if last - first < FROM_END {
        return vec![from(kerf.lo + kerf.length().half_floor())];
    }
    let gaps = i64::from((last - first).as_um()).div_euclid(i64::from(APART.as_um()) + 1) + 1;
    let between = |number: i64| {
        let way = (last - first).wide() * number / gaps;
        from(first + Length::um(way))
    };
    (0..=gaps).map(between).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn along(from: i32, to: i32, system: System) -> Vec<i32> {
        let kerf = Interval::new(Position::mm(from), Position::mm(to));
        let places = places(kerf, Position::mm(700), system);
        places.into_iter().map(Length::as_um).collect()
    }

    /// Of a kerf as long as a log of 3.6 m: 3 000 mm are two gaps of 1.5 m; one millimetre more are three.
    #[test]
    fn wedges_stand_near_both_ends_and_no_further_apart_than_told() {
        let metric = System::Metric;
        assert_eq!(along(700, 4_300, metric), [300_000, 1_800_000, 3_300_000]);
        assert_eq!(along(700, 4_301, metric).len(), 4);
        assert_eq!(along(700, 1_599, metric), [450_000]);
        assert_eq!(along(700, 1_600, metric), [300_000, 600_000]);
        // 300 mm are 11.8 in, 3 300 mm are 129.9 in.
        assert_eq!(
            along(700, 4_300, System::Inches),
            [12, 71, 130].map(|inches| inches * 25_400)
        );
    }
}
