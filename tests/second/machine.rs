//! What blade and head fill, stated from the disc itself: boxes that lie inside it, and one that holds it.

use bunkside_planner::machine::Pose;
use bunkside_protocol::mill::{Box3, Turn};
use bunkside_protocol::{Angle, MillRecord};

use super::wood::{Bx, Um};

/// Whether something is so, where a model is not exact.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Say {
    No,
    Unsure,
    Yes,
}

impl Say {
    pub(crate) const fn of(is: bool) -> Self {
        if is { Self::Yes } else { Self::No }
    }

    /// Whether a value lies over a limit, where it is known to so much.
    pub(crate) const fn over(value: Um, limit: Um, slack: Um) -> Self {
        if value > limit + slack {
            Self::Yes
        } else if value > limit - slack {
            Self::Unsure
        } else {
            Self::No
        }
    }

    pub(crate) fn and(self, other: Self) -> Self {
        self.min(other)
    }

    pub(crate) fn or(self, other: Self) -> Self {
        self.max(other)
    }
}

/// How exact a model is: along, where a kerf ends in the log or wood runs out, and across and up.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Slack {
    pub(crate) along: Um,
    pub(crate) by: Um,
}

/// A pose in micrometres.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct At {
    pub(crate) z: Um,
    pub(crate) x: Um,
    pub(crate) y: Um,
    pub(crate) angle: Angle,
    pub(crate) spinning: bool,
    pub(crate) knife: bool,
    pub(crate) aid: bool,
}

impl From<&Pose> for At {
    fn from(pose: &Pose) -> Self {
        Self {
            z: pose.travel.as_um().into(),
            x: pose.across.as_um().into(),
            y: pose.height.as_um().into(),
            angle: pose.angle,
            spinning: pose.spinning,
            knife: pose.knife,
            aid: pose.aid,
        }
    }
}

pub(crate) fn um(length: impl Into<i32>) -> Um {
    i64::from(length.into())
}

pub(crate) fn of_record(record: &Box3) -> Bx {
    let side = |axis: usize| [record.min[axis].as_um().into(), record.max[axis].as_um().into()];
    Bx {
        z: side(0),
        x: side(1),
        y: side(2),
    }
}

/// How far the axes may be off, along, across and up: no less than a tenth of a millimetre, of which none is truer.
pub(crate) fn play(mill: &MillRecord) -> [Um; 3] {
    [&mill.travel, &mill.across, &mill.height].map(|axis| um(axis.tolerance.as_um()).abs().max(100))
}

/// A clearance, or where the axes may be off by more, that.
pub(crate) fn kept(mill: &MillRecord, clearance: Um) -> [Um; 3] {
    play(mill).map(|play| play.max(clearance))
}

/// Into how many strips the disc is cut.
const BANDS: Um = 64;

/// Half the chord of the disc at a depth from its rim, rounded down.
pub(crate) fn half_chord(radius: Um, depth: Um) -> Um {
    let from_centre = (radius - depth) as f64;
    let radius = radius as f64;
    (radius * radius - from_centre * from_centre)
        .max(0.0)
        .sqrt()
        .floor() as Um
}

/// The blade on its way between two poses of one angle, and how surely some test holds somewhere in it, with so much
/// room around: `hit` answers whether a box meets what is asked for, surely or perhaps.
pub(crate) fn blade(
    mill: &MillRecord,
    [from, to]: [&At; 2],
    pad: [Um; 3],
    hit: impl Fn(Bx, bool) -> bool,
) -> Say {
    let radius: Um = mill.blade.radius.as_um().into();
    let part = |near: Um, far: Um, half: Um| {
        let at = |pose: &At| plate(mill, pose, [near, far], half);
        at(from).join(at(to))
    };
    let around = part(0, 2 * radius, radius);
    if !hit(around.padded(pad), false) {
        return Say::No;
    }
    let inside = (0..BANDS).any(|band| {
        let (near, far) = (2 * radius * band / BANDS, 2 * radius * (band + 1) / BANDS);
        let half = half_chord(radius, near).min(half_chord(radius, far));
        let inside = part(near, far, half);
        hit(inside.padded(pad), true)
    });
    if inside { Say::Yes } else { Say::Unsure }
}

/// The part of the plate between two depths from the working rim, so far to both sides along.
fn plate(mill: &MillRecord, pose: &At, [near, far]: [Um; 2], half: Um) -> Bx {
    let kerf: Um = mill.blade.kerf.as_um().into();
    let z = [pose.z - half, pose.z + half];
    match pose.angle {
        Angle::Flat => Bx {
            z,
            x: [pose.x - far, pose.x - near],
            y: [pose.y, pose.y + kerf],
        },
        Angle::Upright => Bx {
            z,
            x: [pose.x - kerf, pose.x],
            y: [pose.y + near, pose.y + far],
        },
    }
}

/// The kerf of a stroke between two places along.
pub(crate) fn kerf_of(mill: &MillRecord, pose: &At, z: [Um; 2]) -> Bx {
    let radius: Um = mill.blade.radius.as_um().into();
    Bx {
        z,
        ..plate(mill, pose, [0, 2 * radius], 0)
    }
}

/// The same for hub and housing, which are boxes.
pub(crate) fn head(
    mill: &MillRecord,
    [from, to]: [&At; 2],
    pad: [Um; 3],
    hit: impl Fn(Bx, bool) -> bool,
) -> Say {
    let boxes = match from.angle {
        Angle::Flat => &mill.head[0],
        Angle::Upright => &mill.head[1],
    };
    let says = boxes.iter().map(|record| {
        let part = of_record(record);
        let way = part
            .placed(from.z, from.x, from.y)
            .join(part.placed(to.z, to.x, to.y));
        if !hit(way.padded(pad), false) {
            Say::No
        } else if hit(way.padded(pad), true) {
            Say::Yes
        } else {
            Say::Unsure
        }
    });
    says.max().unwrap_or(Say::No)
}

/// One part of what turns in a swing: a stretch of the section plane, and how far it reaches along.
struct Turning {
    points: Vec<[f64; 2]>,
    half: Vec<[Um; 2]>,
    thick: f64,
    /// Turned from upright to flat, or the other way.
    back: bool,
}

/// Blade and head while the blade swings where it stands, and how surely some test holds somewhere in it.
pub(crate) fn swing(mill: &MillRecord, pose: &At, pad: [Um; 3], hit: impl Fn(Bx, bool) -> bool) -> Say {
    let parts = turning(mill);
    let mut worst = Say::No;
    for part in &parts {
        // Sure: small boxes around points that are in it. Surely not: boxes that hold all of it for ten degrees.
        for ten in 0..9 {
            let corners = (0..=1).flat_map(|end| turned(mill, part, f64::from(10 * (ten + end))));
            let reach = part.reach(mill) * 0.006 + part.thick / 2.0 + 2.0;
            let grow = reach.ceil() as Um;
            let z = part
                .half
                .iter()
                .copied()
                .reduce(|a, b| [a[0].min(b[0]), a[1].max(b[1])]);
            let hull = hull(corners, pose, z.unwrap_or([0, 0]))
                .grown(0, grow)
                .padded(pad);
            if !hit(hull, false) {
                continue;
            }
            worst = worst.or(Say::Unsure);
            for degree in 0..10 {
                let angle = f64::from(10 * ten + degree);
                for (point, half) in turned(mill, part, angle).into_iter().zip(&part.half) {
                    let near = (part.thick / 2.0) as Um;
                    let small = hull_of_point(point, pose, *half).grown(0, near).padded(pad);
                    if hit(small, true) {
                        return Say::Yes;
                    }
                }
            }
        }
    }
    worst
}

/// How low blade and head come in a swing, by points a degree apart, and by how much less it might be: half the
/// blade's thickness, and what an arc of ten degrees leaves its chord by.
pub(crate) fn lowest_in_swing(mill: &MillRecord, pose: &At) -> (Um, Um) {
    let (mut lowest, mut reach) = (f64::MAX, 0.0_f64);
    for part in turning(mill) {
        reach = reach.max(part.reach(mill));
        for angle in 0..=90 {
            let points = turned(mill, &part, f64::from(angle));
            lowest = points.iter().map(|point| point[1]).fold(lowest, f64::min);
        }
    }
    let less = f64::from(mill.blade.kerf.as_um()) / 2.0 + reach * 0.01;
    (pose.y + lowest.round() as Um, less as Um + 5)
}

impl Turning {
    fn reach(&self, mill: &MillRecord) -> f64 {
        let pivot = pivot(mill);
        let far = |point: &[f64; 2]| (point[0] - pivot[0]).hypot(point[1] - pivot[1]);
        self.points.iter().map(far).fold(0.0, f64::max)
    }
}

fn pivot(mill: &MillRecord) -> [f64; 2] {
    [mill.swing.pivot_across, mill.swing.pivot_height].map(|length| f64::from(length.as_um()))
}

/// The disc by points of its diameter as it stands upright, and the head's boxes at both angles by points inside.
fn turning(mill: &MillRecord) -> Vec<Turning> {
    let (radius, kerf) = (
        f64::from(mill.blade.radius.as_um()),
        f64::from(mill.blade.kerf.as_um()),
    );
    let steps: Vec<f64> = (0..=32).map(|step| f64::from(step) / 16.0 - 1.0).collect();
    let half = |part: &f64| (radius * (1.0 - part * part).max(0.0).sqrt()) as Um;
    let mut parts = vec![Turning {
        points: steps
            .iter()
            .map(|part| [-kerf / 2.0, radius + part * radius])
            .collect(),
        half: steps.iter().map(|part| [-half(part), half(part)]).collect(),
        thick: kerf,
        back: false,
    }];
    for (boxes, back) in [(&mill.head[1], false), (&mill.head[0], true)] {
        for part in boxes.iter().map(of_record) {
            let mix = |[lo, hi]: [Um; 2], part: i32| lo as f64 + (hi - lo) as f64 * f64::from(part) / 8.0;
            let points: Vec<[f64; 2]> = (0..=8)
                .flat_map(|across| (0..=8).map(move |up| (across, up)))
                .map(|(across, up)| [mix(part.x, across), mix(part.y, up)])
                .collect();
            parts.push(Turning {
                half: vec![part.z; points.len()],
                points,
                thick: 0.0,
                back,
            });
        }
    }
    parts
}

/// The points of a part after so many degrees of its turn, from the corner.
fn turned(mill: &MillRecord, part: &Turning, degrees: f64) -> Vec<[f64; 2]> {
    let over = mill.swing.turn == Turn::Over;
    let angle = if over == part.back { -degrees } else { degrees };
    let (sin, cos) = angle.to_radians().sin_cos();
    let pivot = pivot(mill);
    let turn = |point: &[f64; 2]| {
        let (x, y) = (point[0] - pivot[0], point[1] - pivot[1]);
        [pivot[0] + x * cos - y * sin, pivot[1] + x * sin + y * cos]
    };
    part.points.iter().map(turn).collect()
}

fn hull_of_point([x, y]: [f64; 2], pose: &At, half: [Um; 2]) -> Bx {
    let (x, y) = (pose.x + x as Um, pose.y + y as Um);
    Bx {
        z: [pose.z + half[0], pose.z + half[1]],
        x: [x, x],
        y: [y, y],
    }
}

fn hull(points: impl Iterator<Item = [f64; 2]>, pose: &At, half: [Um; 2]) -> Bx {
    let boxes = points.map(|point| hull_of_point(point, pose, half));
    boxes.reduce(Bx::join).expect("a part has points")
}
