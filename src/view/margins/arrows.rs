//! The arrows under the bars: stroke and feed of every cut.

use bunkside_protocol::{Feed, Stroke};

use super::super::svg::{Anchor, Path, text};
use super::{Bar, Spread, middle};
use crate::account::cuts::stroke_words;

/// The arrows and the numbers of the cuts below the strips.
pub(super) fn strokes(bars: &[Bar], foot: f64, spread: Spread) -> String {
    let size = if spread.figures { 1.0 } else { 0.75 };
    let (mut climbing, mut forward) = (Path::new(), Path::new());
    let mut numbers = String::new();
    for (column, bar) in bars.iter().enumerate() {
        let x = middle(column, spread);
        let arrows = match bar.feed {
            Some(Feed::Climb) => &mut climbing,
            _ => &mut forward,
        };
        arrow(arrows, bar.stroke, [x, foot + 28.0], size);
        if spread.figures || column % 2 == 0 {
            let (class, number) = (if spread.figures { "small" } else { "tiny" }, bar.number);
            numbers.push_str(&text(
                class,
                Anchor::Middle,
                [x, foot + 76.0],
                &number.to_string(),
            ));
        }
    }
    climbing.element("tip") + &forward.element("box") + &numbers
}

/// An arrow: its way tells the stroke, filled climbs, hollow is forward feed.
fn arrow(path: &mut Path, stroke: Option<Stroke>, [x, y]: [f64; 2], size: f64) {
    let way = match stroke {
        Some(Stroke::Outbound) => size,
        Some(Stroke::Homebound) => -size,
        None => return,
    };
    path.closed([
        [x + way * 17.0, y],
        [x - way * 13.0, y - size * 15.0],
        [x - way * 13.0, y + size * 15.0],
    ]);
}

/// The arrows of the strokes that are run, in words, two side by side; and the foot of the last.
pub(super) fn key_of_strokes(bars: &[Bar], first: f64) -> (String, f64) {
    let kinds = [Stroke::Outbound, Stroke::Homebound]
        .into_iter()
        .flat_map(|stroke| [(stroke, Feed::Forward), (stroke, Feed::Climb)]);
    let run = kinds.filter(|&(stroke, feed)| {
        bars.iter()
            .any(|bar| (bar.stroke, bar.feed) == (Some(stroke), Some(feed)))
    });
    let mut drawn = String::new();
    let mut foot = first - 24.0;
    for (place, (stroke, feed)) in run.enumerate() {
        let x = if place % 2 == 0 { 24.0 } else { 400.0 };
        let y = first + 40.0 * (place / 2) as f64;
        let mut tip = Path::new();
        arrow(&mut tip, Some(stroke), [x + 17.0, y], 1.0);
        drawn.push_str(&tip.element(if feed == Feed::Climb { "tip" } else { "box" }));
        let words = stroke_words(Some(stroke), Some(feed));
        drawn.push_str(&text("tiny", Anchor::Start, [x + 42.0, y + 9.0], words));
        foot = y + 22.0;
    }
    (drawn, foot)
}
