//! Wedges in kerfs, as a step's drawing shows them.

use bunkside_planner::geometry::Block;
use bunkside_protocol::Angle;

use super::super::places::Place;
use super::super::svg::Path;
use super::Artist;
use crate::account::kerf_wedges::WedgedKerf;

/// A wedge is drawn at least so wide.
const WEDGE: f64 = 20.0;

impl Artist<'_, '_> {
    /// The wedges that are in their kerfs, and those that are driven at this move, the latter marked; whether any are.
    pub(super) fn wedges(&self, body: &mut String, place: &Place, at: usize) -> bool {
        let held = self.scene.wedged.iter();
        let held = held.filter(|kerf| kerf.driven <= at && kerf.out.is_none_or(|out| out > at));
        let mut driven = false;
        for kerf in held {
            let now = kerf.driven == at;
            driven |= now;
            if let Some([a, b]) = self.filled(place, kerf) {
                let mut wedge = Path::new();
                wedge.closed(pointed(kerf.angle, a, b));
                body.push_str(&wedge.element(if now { "flow" } else { "wedge" }));
            }
        }
        driven
    }

    /// What the wedges fill of a kerf in a section, as two corners of the drawing; none where there is no wood.
    fn filled(&self, place: &Place, kerf: &WedgedKerf) -> Option<[[f64; 2]; 2]> {
        let Block { across, height, .. } = kerf.block;
        match kerf.angle {
            Angle::Upright => {
                let held = place.wood.height_within(across)?.meet(height);
                (!held.is_empty()).then(|| self.plane.corners(across, held))
            }
            Angle::Flat => {
                let held = place.wood.width_within(height)?.meet(across);
                (!held.is_empty()).then(|| self.plane.corners(held, height))
            }
        }
    }
}

/// A wedge between two corners of a kerf, no narrower than can be seen: its tip at the bottom, or on the exit side.
fn pointed(angle: Angle, a: [f64; 2], b: [f64; 2]) -> [[f64; 2]; 3] {
    let middle = [f64::midpoint(a[0], b[0]), f64::midpoint(a[1], b[1])];
    let half = [0, 1].map(|axis: usize| ((a[axis] - b[axis]).abs() / 2.0).max(WEDGE / 2.0));
    match angle {
        Angle::Upright => {
            let (top, bottom) = (a[1].min(b[1]), a[1].max(b[1]));
            [
                [middle[0] - half[0], top],
                [middle[0] + half[0], top],
                [middle[0], bottom],
            ]
        }
        Angle::Flat => [
            [a[0], middle[1] - half[1]],
            [a[0], middle[1] + half[1]],
            [b[0], middle[1]],
        ],
    }
}
