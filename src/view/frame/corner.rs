//! Where the blade's corner stands, as dimension lines of a step's drawing.

use bunkside_planner::replay::Step as Moved;
use bunkside_protocol::{Angle, Length};

use super::super::ends::dimension;
use super::super::labels::Box2;
use super::super::parts::bare;
use super::super::places::Place;
use super::super::plane::{Plane, um};
use super::super::svg::{Anchor, Path, WIDE, head, run_of, text};
use super::numbers::UNDER_FIGURES;
use super::{Artist, BESIDE};

/// The largest a figure is set on a screen: on a phone.
pub(super) const FIGURES: f64 = 40.0;
/// How large one is set on paper.
const ON_PAPER: f64 = 76.0;
/// How far from the top the line stands that tells how far across.
const LEVEL: f64 = 98.0;

impl Artist<'_, '_> {
    /// Where the corner stands: across from the centre line, and above the bed.
    pub(super) fn corner(&self, place: &Place, step: &Moved) -> String {
        let system = self.scene.subject.system;
        let (across, height) = (step.before.across, step.before.height);
        let [x, y] = self.plane.at([um(across), um(height)]);
        let top = self.plane.y(um(self.scene.bounds.height.hi));
        let mut drawn = String::new();
        if across.from_origin() != Length::ZERO {
            let figure = bare(system, across.from_origin().abs());
            let ends = if across.from_origin() > Length::ZERO {
                [[self.plane.x(0.0), LEVEL], [x, LEVEL]]
            } else {
                [[x, LEVEL], [self.plane.x(0.0), LEVEL]]
            };
            let from = ends.map(|end| {
                if end[0] == x && step.before.angle == Angle::Flat {
                    y
                } else {
                    top
                }
            });
            drawn.push_str(&dimension(ends, from, &figure));
        }
        drawn
            + &upward(
                &self.plane,
                [x, y],
                self.out(place),
                &bare(system, height.from_origin()),
            )
    }

    /// What the figures of both lines may cover, and the lines themselves.
    pub(super) fn figures(&self, place: &Place, step: &Moved) -> Vec<Box2> {
        let system = self.scene.subject.system;
        let across = step.before.across;
        let [x, y] = self.plane.at([um(across), um(step.before.height)]);
        let out = self.out(place);
        let edge = if self.plane.exit > 0.0 { WIDE } else { 0.0 };
        let bed = self.plane.y(0.0);
        let mut covered = vec![
            [[out - self.plane.exit * 12.0, y - 40.0], [edge, bed]],
            [[x, y - 4.0], [out, y + 4.0]],
        ];
        if across.from_origin() != Length::ZERO {
            let half = run_of(&bare(system, across.from_origin().abs()), FIGURES) / 2.0;
            let middle = f64::midpoint(self.plane.x(0.0), x);
            covered.push([
                [middle - half, LEVEL - 12.0 - FIGURES * 0.72],
                [middle + half, UNDER_FIGURES],
            ]);
        }
        covered
    }

    /// Where the line stands that tells how high.
    fn out(&self, place: &Place) -> f64 {
        self.plane.x(um(place.rough.width().hi)) + self.plane.exit * BESIDE
    }
}

/// An upright dimension line from the bed to a corner, standing at `out`.
fn upward(plane: &Plane, [x, y]: [f64; 2], out: f64, figure: &str) -> String {
    let bed = plane.y(0.0);
    let away = plane.exit;
    let mut lines = Path::new();
    lines.line([x + away * 12.0, y], [out + away * 10.0, y]);
    let mut tips = Path::new();
    if bed - y > 60.0 {
        lines.line([out, y], [out, bed]);
        tips.closed(head([out, y], [0.0, -1.0], 16.0));
        tips.closed(head([out, bed], [0.0, 1.0], 16.0));
    } else {
        lines.line([out, y - 36.0], [out, bed + 30.0]);
        tips.closed(head([out, y], [0.0, 1.0], 16.0));
        tips.closed(head([out, bed], [0.0, -1.0], 16.0));
    }
    let middle = ((y + bed) / 2.0).min(bed - 30.0);
    let beside = [out + away * 14.0, middle + 12.0];
    let told = |class: &str| text(class, plane.towards_exit(), beside, figure);
    let words = if within(beside[0] + away * run_of(figure, ON_PAPER)) {
        told("")
    } else {
        // On paper, where it is set larger, it ends at the edge and breaks its line.
        let (edge, anchor) = if away > 0.0 {
            (WIDE - 4.0, Anchor::End)
        } else {
            (4.0, Anchor::Start)
        };
        told("beside") + &text("printed", anchor, [edge, beside[1]], figure)
    };
    lines.element("dim") + &tips.element("tip") + &words
}

/// Whether a place lies in the drawing.
fn within(x: f64) -> bool {
    (0.0..=WIDE).contains(&x)
}

#[cfg(test)]
mod tests {
    use bunkside_planner::geometry::{Block, Interval};
    use bunkside_protocol::Position;
    use bunkside_protocol::mill::Side;

    use super::*;
    use crate::view::plane::Margins;

    /// 5 figures of 76 units, 0.56 as wide as they are high, take 213: beside a line 100 from the edge they would run over it.
    #[test]
    fn a_figure_on_paper_stays_in_its_drawing() {
        let stretch = |lo, hi| Interval::new(Position::mm(lo), Position::mm(hi));
        let bounds = Block {
            travel: stretch(0, 1_000),
            across: stretch(-200, 200),
            height: stretch(0, 400),
        };
        for (entry, edge) in [(Side::Left, WIDE), (Side::Right, 0.0)] {
            let margins = Margins {
                entry: 100.0,
                exit: 200.0,
                top: 10.0,
                bottom: 10.0,
            };
            let plane = Plane::of(bounds, entry, margins);
            let drawn = |inset: f64| upward(&plane, [500.0, 100.0], edge - plane.exit * inset, "294.5");
            assert!(!drawn(240.0).contains("printed"), "there is room");
            let close = drawn(100.0);
            let (_, printed) = close.split_once("class=\"printed").unwrap();
            let end = if plane.exit > 0.0 {
                " end\" x=\"996\""
            } else {
                "\" x=\"4\""
            };
            assert!(
                printed.starts_with(end) && close.contains("class=\"beside"),
                "{close}"
            );
        }
    }
}
