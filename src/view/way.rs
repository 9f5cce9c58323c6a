//! What a drawing says of a stroke: which way it runs, and its feed.

use bunkside_planner::replay::Step as Moved;
use bunkside_protocol::{Angle, Stroke};

use super::places::Place;
use super::plane::{Plane, um};
use super::svg::{Anchor, WIDE, num, run_of, text};
use crate::account::cuts::stroke_words;

/// Stroke and feed, beside the blade, with the arrow from behind (outbound) or from before (homebound).
pub(super) fn beside_blade(plane: &Plane, place: &Place, step: &Moved) -> String {
    let words = stroke_words(step.stroke, step.feed);
    let [x, y] = plane.at([um(step.before.across), um(step.before.height)]);
    let length = run_of(words, 34.0) + 84.0;
    if step.before.angle == Angle::Upright {
        let (at, way) = beside(x, length);
        return mark(step.stroke, [at + way * 22.0, 42.0]) + &said(words, [at + way * 56.0, 54.0], way);
    }
    let way = plane.exit;
    let edge = if way > 0.0 { 22.0 } else { WIDE - 22.0 };
    let wood = plane.x(um(place.rough.width().lo));
    let (first, second) = words.split_once(", ").unwrap_or((words, ""));
    if (wood - edge) * way > length || second.is_empty() {
        return mark(step.stroke, [edge + way * 22.0, y - 44.0])
            + &said(words, [edge + way * 56.0, y - 32.0], way);
    }
    mark(step.stroke, [edge + way * 22.0, y - 82.0])
        + &said(&format!("{first},"), [edge + way * 56.0, y - 70.0], way)
        + &said(second, [edge + way * 8.0, y - 28.0], way)
}

/// Stroke and feed over a drawing: for paper, where letters that can be read have no room beside the blade.
pub(super) fn over(step: &Moved) -> String {
    let words = stroke_words(step.stroke, step.feed);
    format!(
        r#"<path class="paper" d="M0,-54h{WIDE}v66h-{WIDE}z"/>{}{}"#,
        mark(step.stroke, [24.0, -22.0]),
        text("now over", Anchor::Start, [62.0, 2.0], words)
    )
}

/// Where words of a length begin beside an upright blade, and which way they run: beyond it, else before it, else from the
/// edge of the drawing on, so that none is cut off.
fn beside(blade: f64, length: f64) -> (f64, f64) {
    if blade + length + 24.0 < WIDE {
        (blade + 24.0, 1.0)
    } else if blade - length - 36.0 > 0.0 {
        (blade - 36.0, -1.0)
    } else {
        (0.0, 1.0)
    }
}

/// Words in the accent, from a place on towards the right (1) or ending there (-1).
fn said(words: &str, at: [f64; 2], way: f64) -> String {
    let anchor = if way > 0.0 { Anchor::Start } else { Anchor::End };
    text("now", anchor, at, words)
}

/// The draughtsman's sign for an arrow that flies away, or comes.
fn mark(stroke: Option<Stroke>, [x, y]: [f64; 2]) -> String {
    let (x, y) = (num(x), num(y));
    let inside = match stroke {
        Some(Stroke::Outbound) => {
            format!(r#"<path class="kerf way" d="M{x},{y}m-13,-13l26,26m0,-26l-26,26"/>"#)
        }
        Some(Stroke::Homebound) => format!(r#"<circle class="flow" cx="{x}" cy="{y}" r="8"/>"#),
        None => return String::new(),
    };
    format!(r#"<circle class="kerf way" cx="{x}" cy="{y}" r="19"/>{inside}"#)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_word_beside_a_blade_is_cut_off() {
        for length in [300.0, 520.0, 700.0] {
            for blade in (0..=1_000).map(f64::from) {
                let (at, way) = beside(blade, length);
                let ends = [at, at + way * length];
                assert!(
                    ends.iter().all(|end| (0.0..=WIDE).contains(end)),
                    "{blade} {length} {ends:?}"
                );
            }
        }
    }
}
