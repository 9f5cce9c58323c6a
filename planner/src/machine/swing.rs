//! What the blade sweeps while it changes its angle.

use bunkside_protocol::mill::{Box3, Turn};
use bunkside_protocol::{Length, MillRecord, Position};

use super::Pose;
use crate::geometry::{Block, Interval, root, scale};

/// Cosines of 0°, 10°, … 90° in parts of 2^15, rounded.
const COSINES: [i64; 10] = [
    32_768, 32_270, 30_792, 28_378, 25_102, 21_063, 16_384, 11_207, 5_690, 0,
];
/// One in the parts of [`COSINES`].
const ONE: i64 = 1 << 15;
/// Steps of ten degrees in a swing.
const STEPS: usize = 9;
/// Into how many pieces the blade's diameter is cut.
const PIECES: i64 = 8;

/// A point across and up, in micrometres: short for a pair that is handed on in every function below.
type Point = (i64, i64);

/// The blade's centre relative to the corner when it is upright: half a kerf to the entry side, a radius up.
#[must_use]
pub const fn upright_centre(mill: &MillRecord) -> (Length, Length) {
    (Length::um(-mill.blade.kerf.wide() / 2), mill.blade.radius)
}

/// The blade's centre relative to the corner when it lies flat: a radius to the entry side, half a kerf up.
#[must_use]
pub const fn flat_centre(mill: &MillRecord) -> (Length, Length) {
    (
        Length::um(-mill.blade.radius.wide()),
        Length::um(mill.blade.kerf.wide() / 2),
    )
}

/// How far the profile's pivot carries the upright centre past the flat one: across and up. Both are near zero
/// for a mill whose corner stays where it is when the blade swings.
#[must_use]
pub fn swing_error(mill: &MillRecord) -> (Length, Length) {
    let (across, height) = centre_at(mill, STEPS);
    let flat = flat_centre(mill);
    (
        Length::um(across - flat.0.wide()),
        Length::um(height - flat.1.wide()),
    )
}

/// The boxes that the disc sweeps when it swings where it stands, from either angle to the other.
///
/// Between two steps of ten degrees a point runs on an arc that leaves its chord by at most 1 − cos 5° of its
/// distance from the pivot; every box is larger by that.
pub fn swing_boxes<'a>(mill: &'a MillRecord, pose: &'a Pose) -> impl Iterator<Item = Block> + 'a {
    (0..STEPS).flat_map(move |step| {
        (0..PIECES).map(move |piece| {
            let radius = mill.blade.radius.wide();
            let edge = |number: i64| -radius + 2 * radius * number / PIECES;
            let (inner, outer) = (edge(piece), edge(piece + 1));
            let corners = [
                point_at(mill, step, inner),
                point_at(mill, step, outer),
                point_at(mill, step + 1, inner),
                point_at(mill, step + 1, outer),
            ];
            let nearest = if inner >= 0 { inner } else { -outer };
            let half = Length::um(root(radius * radius - nearest.max(0) * nearest.max(0)) + 1);
            let pad = mill.blade.kerf.half_floor() + Length::um(sagitta(mill) + 1);
            around(corners, pose, half).grown_in_section(pad)
        })
    })
}

/// The boxes that hub and housing sweep in the same swing: those of either angle, turned into the other.
pub fn head_swing_boxes<'a>(mill: &'a MillRecord, pose: &'a Pose) -> impl Iterator<Item = Block> + 'a {
    let [flat, upright] = &mill.head;
    let (on, back) = match mill.swing.turn {
        Turn::Over => (Turn::Over, Turn::Under),
        Turn::Under => (Turn::Under, Turn::Over),
    };
    let upright = upright.iter().map(move |part| (part, on));
    let flat = flat.iter().map(move |part| (part, back));
    upright
        .chain(flat)
        .flat_map(move |(part, turn)| (0..STEPS).map(move |step| turned_box(mill, pose, part, turn, step)))
}

/// A box around all that a swing sweeps, blade and head, as it lies from the blade's centre and the corner.
#[must_use]
pub fn swept(mill: &MillRecord) -> Block {
    let here = Pose {
        travel: Position::ZERO,
        across: Position::ZERO,
        height: Position::ZERO,
        ..Pose::parked(mill)
    };
    let none = Interval::new(Position::MAX, Position::MIN);
    let none = Block {
        travel: none,
        across: none,
        height: none,
    };
    swing_boxes(mill, &here)
        .chain(head_swing_boxes(mill, &here))
        .fold(none, Block::join)
}

/// Around a box of the head between two steps of a turn.
fn turned_box(mill: &MillRecord, pose: &Pose, part: &Box3, turn: Turn, step: usize) -> Block {
    let ([from, x0, y0], [to, x1, y1]) = (part.min, part.max);
    let pivot = (mill.swing.pivot_across.wide(), mill.swing.pivot_height.wide());
    let mut furthest = 0;
    let mut swept: Option<Block> = None;
    for (x, y) in [(x0, y0), (x0, y1), (x1, y0), (x1, y1)] {
        let (x, y) = (x.wide() - pivot.0, y.wide() - pivot.1);
        furthest = furthest.max(x * x + y * y);
        let at = |step: usize| {
            let (x, y) = turned((x, y), step, turn);
            (x + pivot.0, y + pivot.1)
        };
        let side = around(
            [at(step), at(step), at(step + 1), at(step + 1)],
            pose,
            Length::ZERO,
        );
        swept = Some(swept.map_or(side, |whole| whole.join(side)));
    }
    let along = Interval::new(pose.travel + from.from_origin(), pose.travel + to.from_origin());
    let swept = swept.unwrap_or_else(|| Block::from_record(part));
    Block {
        travel: along,
        ..swept
    }
    .grown_in_section(Length::um(bulge(root(furthest))))
}

fn around(corners: [Point; 4], pose: &Pose, half: Length) -> Block {
    let mut across = (i64::MAX, i64::MIN);
    let mut height = across;
    for (x, y) in corners {
        across = (across.0.min(x), across.1.max(x));
        height = (height.0.min(y), height.1.max(y));
    }
    let place = |origin: Position, (lo, hi): (i64, i64)| {
        Interval::new(origin + Length::um(lo), origin + Length::um(hi))
    };
    Block {
        travel: Interval::new(pose.travel - half, pose.travel + half),
        across: place(pose.across, across),
        height: place(pose.height, height),
    }
}

/// Largest distance of an arc of ten degrees from its chord: the disc's furthest point lies within the distance of
/// its centre from the pivot and a radius.
fn sagitta(mill: &MillRecord) -> i64 {
    let (dx, dy) = from_pivot(mill);
    bulge(root(dx * dx + dy * dy) + mill.blade.radius.wide())
}

/// By how much an arc of ten degrees leaves its chord, at so large a radius: 1 − cos 5° of it.
const fn bulge(radius: i64) -> i64 {
    radius * 125 / ONE + 1
}

/// The upright centre as seen from the pivot.
fn from_pivot(mill: &MillRecord) -> Point {
    let (x, y) = upright_centre(mill);
    (
        x.wide() - mill.swing.pivot_across.wide(),
        y.wide() - mill.swing.pivot_height.wide(),
    )
}

/// Turns a vector by so many steps of ten degrees, the way the mill swings from upright to flat.
fn turned((x, y): Point, step: usize, turn: Turn) -> Point {
    let cosine = COSINES.get(step).copied().unwrap_or(0);
    let sine = COSINES.get(STEPS.saturating_sub(step)).copied().unwrap_or(0);
    let sine = match turn {
        Turn::Over => sine,
        Turn::Under => -sine,
    };
    (
        scale(x, cosine, ONE) - scale(y, sine, ONE),
        scale(x, sine, ONE) + scale(y, cosine, ONE),
    )
}

fn centre_at(mill: &MillRecord, step: usize) -> Point {
    let (x, y) = turned(from_pivot(mill), step, mill.swing.turn);
    (
        x + mill.swing.pivot_across.wide(),
        y + mill.swing.pivot_height.wide(),
    )
}

/// A point of the disc's diameter in the section plane, `along` from the centre, upward when upright.
fn point_at(mill: &MillRecord, step: usize, along: i64) -> Point {
    let (cx, cy) = centre_at(mill, step);
    let (dx, dy) = turned((0, along), step, mill.swing.turn);
    (cx + dx, cy + dy)
}

#[cfg(test)]
mod tests {
    use bunkside_protocol::Angle;

    use super::*;
    use crate::machine::{blade_bounds, blade_boxes};
    use crate::testing::{hand_mill, powered_mill};

    #[test]
    fn sample_pivots_carry_the_corner_onto_itself() {
        for mill in [powered_mill(), hand_mill()] {
            let (across, height) = swing_error(&mill);
            assert!(
                across.abs() < Length::um(50) && height.abs() < Length::um(50),
                "{across} {height}"
            );
        }
    }

    /// Turning a disc under, about a pivot a radius to the entry side and a radius up, sweeps its rim √2 − 1 of a
    /// radius beyond and below the corner (plane geometry: the corner lies √2 R from the pivot, the rim sweeps it).
    #[test]
    fn swinging_under_sweeps_beyond_and_below_the_corner() {
        let mill = hand_mill();
        let pose = Pose {
            across: Position::ZERO,
            height: Position::ZERO,
            ..Pose::parked(&mill)
        };
        let swept = swing_boxes(&mill, &pose).reduce(Block::join).unwrap();
        let radius = f64::from(mill.blade.radius.as_um());
        let expected = (core::f64::consts::SQRT_2 - 1.0) * radius;
        let below = -f64::from(swept.height.lo.as_um());
        let beyond = f64::from(swept.across.hi.as_um());
        for reached in [below, beyond] {
            assert!(
                reached >= expected && reached < expected + 0.04 * radius,
                "{reached} {expected}"
            );
        }
    }

    /// A point 300 mm beside and 450 mm over the pivot passes straight over it at √(300² + 450²) = 540.8 mm.
    #[test]
    fn the_head_passes_higher_than_it_stands_at_either_angle() {
        let mill = powered_mill();
        let pose = Pose {
            across: Position::ZERO,
            height: Position::ZERO,
            ..Pose::parked(&mill)
        };
        let swept = head_swing_boxes(&mill, &pose).reduce(Block::join).unwrap();
        let top = f64::from(swept.height.hi.as_um()) / 1000.0;
        let furthest = libm::hypot(302.75, 447.25) + 2.75;
        assert!(top >= furthest && top < furthest + 5.0, "{top} {furthest}");
        assert!(swept.height.lo >= Position::mm(5), "{:?}", swept.height);
    }

    /// What the rules look at first holds all that they would look at: blade on the way, blade and head in a swing.
    #[test]
    fn the_boxes_around_hold_every_box() {
        let holds = |around: Block, block: Block| around.join(block) == around;
        for mill in [powered_mill(), hand_mill()] {
            let swept = swept(&mill);
            for place in 0..60 {
                let at = |travel: i32, across: i32, height: i32| Pose {
                    travel: Position::mm(travel * 97 % 4_000),
                    across: Position::um((across * 7_919 % 600_001 - 300_000).into()),
                    height: Position::um((height * 6_007 % 700_001).into()),
                    angle: if place % 2 == 0 {
                        Angle::Flat
                    } else {
                        Angle::Upright
                    },
                    ..Pose::parked(&mill)
                };
                let (from, to) = (at(place, 3 * place, 5 * place), at(11 * place, 13 * place, place));
                let around = blade_bounds(&mill, &from, &to);
                assert!(blade_boxes(&mill, &from, &to).all(|block| holds(around, block)));
                let around = swept.placed(from.travel, from.across, from.height);
                let parts = swing_boxes(&mill, &from).chain(head_swing_boxes(&mill, &from));
                assert_eq!(parts.reduce(Block::join), Some(around));
            }
        }
    }

    #[test]
    fn swinging_over_stays_above_the_corner_but_for_the_kerf() {
        let mill = powered_mill();
        let pose = Pose {
            across: Position::ZERO,
            height: Position::ZERO,
            ..Pose::parked(&mill)
        };
        let swept = swing_boxes(&mill, &pose).reduce(Block::join).unwrap();
        assert!(swept.height.lo >= Position::mm(-15), "{:?}", swept.height);
        assert!(swept.height.hi >= Position::mm(2 * 280));
    }
}
