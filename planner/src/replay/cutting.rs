//! What a cut meets.

use bunkside_protocol::{Angle, Length, Position};

use super::{Setup, Step};
use crate::geometry::{Block, Interval};
use crate::limits::BESIDE;
use crate::machine::{Pose, kerf_box};
use crate::stock::{Pick, Stock};

/// What a cut meets and frees, at the worst place along the log.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct CutFacts {
    /// The kerf at its full depth.
    pub kerf: Block,
    /// The smallest box around the fresh wood it takes; none where it runs in air or an earlier kerf.
    pub met: Option<Block>,
    /// From the rim to the outermost fresh wood.
    pub bite: Length,
    /// From the rim to the outermost wood on the housing side, earlier kerf included, while wood stands over it.
    pub cover: Length,
    /// How far the rim of a flat stroke runs out beyond the outermost wood on the exit side, bark not counted;
    /// none for an upright stroke, a stroke in air, or a rim that stays in or under wood.
    pub overhang: Option<Length>,
    /// How far wood to the exit side of an upright stroke is undercut already.
    pub undercut: Length,
    /// Whether the stroke ends so near the end of the wood that nobody can say whether it runs through.
    pub doubtful: bool,
    /// How many pieces it freed: the last so many of the stock after it.
    pub freed: u8,
}

/// What the stroke meets, with the stock as it is before.
pub(super) fn before(setup: &Setup<'_>, stock: &Stock, step: &Step, travel: Settled) -> CutFacts {
    let pose = step.before;
    let kerf = kerf_box(setup.mill, &pose, travel.stretch);
    let between = setup.shape.between();
    let met = stock.met(&setup.shape, kerf, Pick::Body);
    let depth = |wood: Block| CutFacts::depth(pose.angle, &pose, &wood).max(Length::ZERO);
    let bite = met.map_or(Length::ZERO, |wood| depth(wood) + between);
    let cover = stock
        .met(&setup.shape, beside(&pose, kerf), Pick::Body)
        .map_or(Length::ZERO, |wood| depth(wood) + between);
    let engaged = met.map(|wood| wood.travel);
    CutFacts {
        kerf,
        met,
        bite,
        cover,
        overhang: match (pose.angle, engaged) {
            (Angle::Flat, Some(engaged)) => overhang(setup, stock, &pose, kerf, engaged),
            _ => None,
        },
        undercut: match (pose.angle, engaged) {
            (Angle::Upright, Some(engaged)) => {
                stock.undercut(&setup.shape, engaged, pose.across, pose.height)
            }
            _ => Length::ZERO,
        },
        doubtful: travel.doubtful,
        freed: 0,
    }
}

/// The stretch of travel over which the kerf is taken to have its full depth.
#[derive(Clone, Copy, Debug)]
pub(super) struct Settled {
    pub(super) stretch: Interval,
    pub(super) doubtful: bool,
}

/// Where wood counts as standing over the kerf: in it, and just beside it where the head is: above a flat kerf, on
/// both sides of an upright one.
#[must_use]
pub fn beside(pose: &Pose, kerf: Block) -> Block {
    match pose.angle {
        Angle::Flat => Block {
            height: Interval::new(kerf.height.lo, kerf.height.hi + BESIDE),
            ..kerf
        },
        Angle::Upright => Block {
            across: kerf.across.grown(BESIDE),
            ..kerf
        },
    }
}

fn overhang(setup: &Setup<'_>, stock: &Stock, pose: &Pose, kerf: Block, engaged: Interval) -> Option<Length> {
    let over = Interval::new(kerf.height.lo, kerf.height.hi + BESIDE);
    let beyond = Block {
        travel: engaged,
        across: Interval::new(pose.across, Position::MAX),
        height: over,
    };
    if stock.touched(&setup.shape, beyond, Pick::Body, false).is_some() {
        return None;
    }
    let mut outermost: Option<Position> = None;
    setup.shape.any_within(engaged, false, |section| {
        if let Some(chord) = section.width_within(kerf.height) {
            outermost = Some(outermost.map_or(chord.hi, |hi| hi.max(chord.hi)));
        }
        false
    });
    // A face that was sawn before has no bark.
    let face = setup.shape.left().across.hi;
    outermost.map(|hi| pose.across - (hi + setup.shape.bark()).min(face))
}
