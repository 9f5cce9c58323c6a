//! How the log is set, drawn: from the side over its bunks, from above where it goes sideways, bunk by bunk at a larger
//! scale, and how it is brought on. Sections are seen from the near end.

mod above;
mod bunks;
mod lengthwise;
mod staging;

use super::ends::dimension;
use super::scene::Scene;
use super::svg::{Anchor, Path, Place, WIDE, document as alone, head, inline, num, text};

/// Room at the foot for what the drawing is of.
const FOOT: f64 = 56.0;

/// The whole picture.
pub(super) fn document(scene: &Scene<'_>) -> String {
    let (body, height) = view(scene);
    alone(
        &format!("How log {} is set", scene.subject.log),
        WIDE,
        height,
        &body,
    )
}

/// The same for a page.
pub(super) fn figure(scene: &Scene<'_>) -> String {
    let (body, height) = view(scene);
    inline(
        "setting",
        "how the log is set: from the side, at every bunk, and how it is brought on",
        WIDE,
        height,
        &body,
    )
}

/// One part of the picture, and how high it is.
type Part = (String, f64);

fn view(scene: &Scene<'_>) -> Part {
    let parts = [
        Some(lengthwise::view(scene)),
        above::view(scene),
        bunks::view(scene),
        Some(staging::view(scene)),
    ];
    let mut drawn = String::new();
    let mut y = 0.0;
    for (part, height) in parts.into_iter().flatten() {
        drawn.push_str(&format!(r#"<g transform="translate(0 {})">{part}</g>"#, num(y)));
        y += height;
    }
    let foot = [WIDE - 24.0, y + FOOT - 20.0];
    drawn.push_str(&text("small soft", Anchor::End, foot, &scene.legend()));
    (drawn, y + FOOT)
}

/// An upright dimension line between two heights of the drawing, its figure beyond it on the side that `way` says (1: right,
/// −1: left); extension lines begin at `from`.
pub(super) fn upright(from: f64, x: f64, [low, high]: [f64; 2], way: f64, figure: &str) -> String {
    let mut lines = Path::new();
    for y in [low, high] {
        lines.line([from + way * 6.0, y], [x + way * 8.0, y]);
    }
    let mut tips = Path::new();
    let inside = low - high > 44.0;
    let (reach, point) = if inside { (0.0, 1.0) } else { (30.0, -1.0) };
    lines.line([x, low + reach], [x, high - reach]);
    tips.closed(head([x, low], [0.0, point], 14.0));
    tips.closed(head([x, high], [0.0, -point], 14.0));
    let anchor = if way > 0.0 { Anchor::Start } else { Anchor::End };
    // Where the heads stand outside, the figure stands beside the upper one, clear of what is measured from.
    let y = if inside {
        (low + high) / 2.0 + 10.0
    } else {
        high - 8.0
    };
    let place: Place = [x + way * 14.0, y];
    lines.element("dim") + &tips.element("tip") + &text("small", anchor, place, figure)
}

/// A level one below or above what it measures, from `from` on.
fn level([x0, x1]: [f64; 2], y: f64, from: f64, figure: &str) -> String {
    dimension([[x0.min(x1), y], [x0.max(x1), y]], [from, from], figure)
}
