//! From places on the bed to places in a drawing of the log's section.

use bunkside_planner::geometry::{Block, Interval};
use bunkside_protocol::mill::Side;
use bunkside_protocol::{Length, Position};

use super::svg::{Anchor, Place, WIDE};

/// Micrometres as a float.
pub(super) fn um(position: Position) -> f64 {
    f64::from(position.as_um())
}

/// A length in micrometres as a float.
pub(super) fn long(length: Length) -> f64 {
    f64::from(length.as_um())
}

/// Free room around what is drawn, in units.
#[derive(Clone, Copy, Debug)]
pub(super) struct Margins {
    pub(super) entry: f64,
    pub(super) exit: f64,
    pub(super) top: f64,
    pub(super) bottom: f64,
}

/// How a section lies in a drawing, as seen from the near end: on which hand the entry side lies, the mill says.
#[derive(Clone, Copy, Debug)]
pub(super) struct Plane {
    /// Units a micrometre.
    pub(super) scale: f64,
    /// Where the bed's centre line stands.
    centre: f64,
    /// Where the bed lies.
    bed: f64,
    /// 1 where the exit side lies on the right, -1 where it lies on the left.
    pub(super) exit: f64,
    /// Height of the drawing.
    pub(super) height: f64,
    /// How high above the bed the drawing reaches, and how far down, micrometres.
    reach: [f64; 2],
    sides: [f64; 2],
}

impl Plane {
    /// A drawing of everything in a box, down to the bed at least.
    pub(super) fn of(bounds: Block, entry: Side, margins: Margins) -> Self {
        let (lo, hi) = (um(bounds.across.lo), um(bounds.across.hi));
        let scale = (WIDE - margins.entry - margins.exit) / (hi - lo).max(1.0);
        let (bottom, top) = (um(bounds.height.lo).min(0.0), um(bounds.height.hi).max(1.0));
        let (exit, centre) = match entry {
            Side::Left => (1.0, margins.entry - lo * scale),
            Side::Right => (-1.0, WIDE - margins.entry + lo * scale),
        };
        let bed = margins.top + top * scale;
        Self {
            scale,
            centre,
            bed,
            exit,
            height: bed - bottom * scale + margins.bottom,
            reach: [bottom - margins.bottom / scale, top + margins.top / scale],
            sides: [lo - margins.entry / scale, hi + margins.exit / scale],
        }
    }

    pub(super) fn x(&self, across: f64) -> f64 {
        self.centre + self.exit * across * self.scale
    }

    pub(super) fn y(&self, height: f64) -> f64 {
        self.bed - height * self.scale
    }

    pub(super) fn at(&self, [across, height]: Place) -> Place {
        [self.x(across), self.y(height)]
    }

    /// A stretch across, cut off a little beyond the drawing.
    pub(super) fn across(&self, stretch: Interval) -> [f64; 2] {
        clamped(stretch, self.sides)
    }

    /// A stretch up, cut off a little beyond the drawing.
    pub(super) fn up(&self, stretch: Interval) -> [f64; 2] {
        clamped(stretch, self.reach)
    }

    /// The two corners of a window.
    pub(super) fn corners(&self, across: Interval, height: Interval) -> [Place; 2] {
        let ([left, right], [low, high]) = (self.across(across), self.up(height));
        [self.at([left, high]), self.at([right, low])]
    }

    /// How lettering is set that runs from its place towards the exit side.
    pub(super) fn towards_exit(&self) -> Anchor {
        if self.exit > 0.0 {
            Anchor::Start
        } else {
            Anchor::End
        }
    }
}

fn clamped(stretch: Interval, [lo, hi]: [f64; 2]) -> [f64; 2] {
    let beyond = 2_000.0;
    [
        um(stretch.lo).clamp(lo - beyond, hi + beyond),
        um(stretch.hi).clamp(lo - beyond, hi + beyond),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_entry_side_lies_where_the_mill_says() {
        let mm = |lo, hi| Interval::new(Position::mm(lo), Position::mm(hi));
        let bounds = Block {
            travel: mm(0, 1_000),
            across: mm(-100, 150),
            height: mm(20, 270),
        };
        let margins = Margins {
            entry: 300.0,
            exit: 100.0,
            top: 50.0,
            bottom: 80.0,
        };
        let left = Plane::of(bounds, Side::Left, margins);
        let right = Plane::of(bounds, Side::Right, margins);
        let near = |found: f64, wanted: f64| assert!((found - wanted).abs() < 1e-9, "{found} {wanted}");
        let [x, y] = left.at([-100_000.0, 270_000.0]);
        near(x, 300.0);
        near(y, 50.0);
        near(left.x(150_000.0), 900.0);
        near(right.x(-100_000.0), 700.0);
        near(right.x(150_000.0), 100.0);
        near(left.height, 50.0 + 270.0 * 2.4 + 80.0);
    }
}
