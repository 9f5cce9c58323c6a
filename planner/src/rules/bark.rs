//! Bark that is sawn loose without any wood on it.

use bunkside_protocol::{Angle, Position};

use super::Scene;
use crate::geometry::{Block, Interval};
use crate::limits::{BARK_SHEET, BESIDE};
use crate::stock::{Bark, Pick};

/// The thickest sheet of bark that a cut saws loose without any wood on it; none where it saws none, or one so thin that it falls
/// apart.
pub(super) fn sheet_of_bark(scene: &Scene<'_>) -> Option<Bark> {
    let shape = &scene.setup.shape;
    if shape.bark() < BARK_SHEET {
        return None;
    }
    let (step, facts) = scene.cut()?;
    let (angle, kerf) = (step.before.angle, facts.kerf);
    if facts.met.is_none() {
        scene.before.touched(shape, kerf, Pick::Body, true)?;
    }
    let beyond = match angle {
        Angle::Flat => [
            Some(Block {
                height: Interval::new(kerf.height.hi, Position::MAX),
                ..kerf
            }),
            None,
        ],
        Angle::Upright => {
            let sides = [
                Interval::new(Position::MIN, kerf.across.lo),
                Interval::new(kerf.across.hi, Position::MAX),
            ];
            sides.map(|across| Some(Block { across, ..kerf }))
        }
    };
    let sheets = beyond.into_iter().flatten().filter_map(|side| {
        let sheet = scene.before.bark_alone(shape, side)?;
        let hangs = angle == Angle::Flat && hangs_on(scene, side);
        (sheet.thick >= BARK_SHEET && !hangs).then_some(sheet)
    });
    sheets.max_by_key(|sheet| sheet.thick)
}

/// Whether what lies over a flat kerf goes on beyond its rim: a pass that leaves some of the kerf to a later one leaves the bark
/// on it, and bark beside wood sticks to that.
fn hangs_on(scene: &Scene<'_>, over: Block) -> bool {
    let beyond = Block {
        across: Interval::new(over.across.hi, over.across.hi + BESIDE),
        ..over
    };
    let shape = &scene.setup.shape;
    scene.after.touched(shape, beyond, Pick::Body, true).is_some()
}
