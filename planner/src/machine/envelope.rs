//! The boxes that blade and head fill.

use bunkside_protocol::mill::Box3;
use bunkside_protocol::{Angle, Length, MillRecord, Position};

use super::{Apart, Pose};
use crate::geometry::{Block, Interval, root};

/// Into how many strips the blade's disc is cut, rim to rim.
const STRIPS: i32 = 8;

/// Half the chord of the blade at a depth from its rim, √(d(2R − d)); the radius beyond the centre. A radius below zero counts as
/// none.
#[must_use]
pub fn chord(radius: Length, depth: Length) -> Length {
    let radius = radius.wide().max(0);
    let depth = depth.wide().clamp(0, radius);
    Length::um(root(depth * (2 * radius - depth)) + 1)
}

/// How far past the log's end the blade's centre must stand so that nothing of it is left in a cut of this cover.
#[must_use]
pub fn run_out(mill: &MillRecord, cover: Length) -> Length {
    chord(mill.blade.radius, cover) + Apart::keeping(mill, mill.clearances.run_out).travel
}

/// How deep wood with this much bark on it may lie over a kerf: within the mill's cover, the plate between rim and
/// hub, and short of the head's boxes by the clearance.
#[must_use]
pub fn room_over_kerf(mill: &MillRecord, angle: Angle, bark: Length) -> Length {
    let [flat, upright] = mill.reach.cover;
    let ([flat_head, _], [_, upright_head]) = (&mill.head, &mill.head);
    let plate = mill.blade.radius - mill.blade.hub;
    let apart = Apart::body(mill);
    let (cover, head, clearance) = match angle {
        Angle::Flat => (
            flat,
            nearest(flat_head, |part| {
                let [_, across, _] = part.max;
                -across.from_origin()
            }),
            apart.across,
        ),
        Angle::Upright => (
            upright,
            nearest(upright_head, |part| {
                let [_, _, height] = part.min;
                height.from_origin()
            }),
            apart.height,
        ),
    };
    let free = head.map_or(Length::MAX, |head| head - clearance) - bark;
    cover.min(plate).min(free)
}

/// The least depth over the corner at which any of the head's boxes begins.
fn nearest(head: &[Box3], depth: impl Fn(&Box3) -> Length) -> Option<Length> {
    head.iter().map(depth).min()
}

/// The stretch across and up that the kerf of a pose fills: one kerf wide, the whole disc deep.
#[must_use]
pub fn kerf_box(mill: &MillRecord, pose: &Pose, travel: Interval) -> Block {
    let (across, height) = plate(mill, pose, Length::ZERO, mill.blade.radius.times(2));
    Block {
        travel,
        across,
        height,
    }
}

/// The blade's disc on its way between two poses of one angle, as boxes from the rim inward.
pub fn blade_boxes<'a>(
    mill: &'a MillRecord,
    from: &'a Pose,
    to: &'a Pose,
) -> impl Iterator<Item = Block> + 'a {
    let radius = mill.blade.radius;
    (0..STRIPS).map(move |strip| {
        let edge = |number: i32| Length::um(2 * radius.wide() * i64::from(number) / i64::from(STRIPS));
        let (near, far) = (edge(strip), edge(strip + 1));
        // Depth is counted from the nearer rim; a strip is as long as its longest chord.
        let deepest = if far <= radius {
            far
        } else {
            radius.times(2) - near
        };
        let half = chord(radius, deepest);
        let at = |pose: &Pose| {
            let (across, height) = plate(mill, pose, near, far);
            Block {
                travel: Interval::new(pose.travel - half, pose.travel + half),
                across,
                height,
            }
        };
        at(from).join(at(to))
    })
}

/// A box around all of [`blade_boxes`].
#[must_use]
pub fn blade_bounds(mill: &MillRecord, from: &Pose, to: &Pose) -> Block {
    let radius = mill.blade.radius;
    let half = chord(radius, radius);
    let at = |pose: &Pose| {
        let (across, height) = plate(mill, pose, Length::ZERO, radius.times(2));
        Block {
            travel: Interval::new(pose.travel - half, pose.travel + half),
            across,
            height,
        }
    };
    at(from).join(at(to))
}

/// Hub and housing on their way between two poses of one angle.
pub fn head_boxes<'a>(
    mill: &'a MillRecord,
    from: &'a Pose,
    to: &'a Pose,
) -> impl Iterator<Item = Block> + 'a {
    let [flat, upright] = &mill.head;
    let boxes = match from.angle {
        Angle::Flat => flat,
        Angle::Upright => upright,
    };
    boxes.iter().map(move |record| {
        let part = Block::from_record(record);
        part.placed(from.travel, from.across, from.height)
            .join(part.placed(to.travel, to.across, to.height))
    })
}

/// The part of the plate between two depths from the working rim.
fn plate(mill: &MillRecord, pose: &Pose, near: Length, far: Length) -> (Interval, Interval) {
    let kerf = mill.blade.kerf;
    let (x, y): (Position, Position) = (pose.across, pose.height);
    match pose.angle {
        Angle::Flat => (Interval::new(x - far, x - near), Interval::new(y, y + kerf)),
        Angle::Upright => (Interval::new(x - kerf, x), Interval::new(y + near, y + far)),
    }
}
