//! What a drawing says of a stroke: which way it runs, and its feed.

use bunkside_planner::replay::Step as Moved;
use bunkside_protocol::{Angle, Stroke};

use super::places::Place;
use super::plane::{Plane, um};
use super::svg::{Anchor, Place as Corner, WIDE, num, run_of, text};
use crate::account::cuts::stroke_words;

/// Stroke and feed, beside the blade, with the arrow from behind (outbound) or from before (homebound); where there is room
/// off the boxes of the housing, and what else is taken; what they cover.
pub(super) fn beside_blade(
    plane: &Plane,
    place: &Place,
    step: &Moved,
    house: &[[Corner; 2]],
) -> (String, Option<[Corner; 2]>) {
    let words = stroke_words(step.stroke, step.feed);
    let [x, y] = plane.at([um(step.before.across), um(step.before.height)]);
    let labels = match step.before.angle {
        Angle::Upright => beside(words, x),
        Angle::Flat => {
            let wood = plane.x(um(place.rough.width().lo));
            at_edge(words, plane.exit, [wood, y], plane.y(0.0))
        }
    };
    let label = chosen(&labels, house);
    (
        label.map_or_else(String::new, |label| label.drawn(step.stroke)),
        label.map(Label::covers),
    )
}

/// Stroke and feed as they may stand: with the sign before the first line, from a place on towards the right (1) or the left (-1).
#[derive(Clone, Debug, PartialEq)]
struct Label {
    lines: Vec<String>,
    /// Where the first line would begin without its sign, and its foot.
    at: Corner,
    way: f64,
}

/// The largest these words are set on a screen: on a phone.
const LARGEST: f64 = 40.0;
/// Room for the sign before the words.
const SIGN: f64 = 56.0;
/// From one line to the next.
const LINE: f64 = 40.0;
/// Room around words.
const AROUND: f64 = 28.0;

impl Label {
    fn new(words: &str, lines: usize, at: Corner, way: f64) -> Self {
        let lines = match words.split_once(", ").filter(|_| lines > 1) {
            Some((first, second)) => vec![format!("{first},"), second.to_owned()],
            None => vec![words.to_owned()],
        };
        Self { lines, at, way }
    }

    /// From where to where it runs, and from its top to its foot.
    fn covers(&self) -> [Corner; 2] {
        let runs = self.lines.iter().map(|line| run_of(line, LARGEST));
        let far = self.at[0] + self.way * (runs.fold(0.0, f64::max) + SIGN);
        let more = self.lines.iter().skip(1).map(|_| LINE).sum::<f64>();
        [
            [self.at[0].min(far), self.at[1] - 32.0],
            [self.at[0].max(far), self.at[1] + more + 8.0],
        ]
    }

    fn is_inside(&self) -> bool {
        let [low, high] = self.covers();
        low[0] >= 0.0 && high[0] <= WIDE
    }

    fn is_clear_of(&self, house: &[[Corner; 2]]) -> bool {
        let [low, high] = self.covers();
        house.iter().all(|[a, b]| {
            let apart = |axis: usize| a[axis].max(b[axis]) < low[axis] || a[axis].min(b[axis]) > high[axis];
            apart(0) || apart(1)
        })
    }

    fn drawn(&self, stroke: Option<Stroke>) -> String {
        let [x, y] = self.at;
        let mut drawn = mark(stroke, [x + self.way * 22.0, y - 12.0]);
        let mut foot = y;
        for line in &self.lines {
            drawn.push_str(&said(line, [x + self.way * SIGN, foot], self.way));
            foot += LINE;
        }
        drawn
    }
}

/// The first that keeps within the drawing and off the housing, else the first that keeps within the drawing.
fn chosen<'l>(labels: &'l [Label], house: &[[Corner; 2]]) -> Option<&'l Label> {
    let inside = || labels.iter().filter(|label| label.is_inside());
    inside()
        .find(|label| label.is_clear_of(house))
        .or_else(|| inside().next())
}

/// Where words may stand beside an upright blade, best first: beyond it or before it, in one line or two, else from the edge on.
fn beside(words: &str, blade: f64) -> Vec<Label> {
    let (beyond, before) = ((blade + 24.0, 1.0), (blade - 36.0, -1.0));
    [
        (beyond, 1),
        (before, 1),
        (beyond, 2),
        (before, 2),
        ((0.0, 1.0), 1),
    ]
    .into_iter()
    .map(|((x, way), lines)| Label::new(words, lines, [x, if lines > 1 { 40.0 } else { 54.0 }], way))
    .collect()
}

/// Where they may stand at the edge of the entry side for a flat blade, best first: over it, in one line where that has room
/// before the wood; under it; at the top of the other edge.
fn at_edge(words: &str, way: f64, [wood, blade]: Corner, bed: f64) -> Vec<Label> {
    let (edge, other) = if way > 0.0 {
        (22.0, WIDE - 22.0)
    } else {
        (WIDE - 22.0, 22.0)
    };
    let room = (wood - edge) * way > run_of(words, LARGEST) + SIGN + AROUND;
    let over = match room {
        true => Label::new(words, 1, [edge, blade - 32.0], way),
        false => Label::new(words, 2, [edge, blade - 70.0], way),
    };
    let under = Label::new(words, if room { 1 } else { 2 }, [edge, blade + 54.0], way);
    let fits = under.covers()[1][1] + 10.0 < bed;
    let length = run_of(words, LARGEST) + SIGN;
    let away = if way > 0.0 { other - length } else { other + length };
    let top = Label::new(words, 1, [away, 46.0], way);
    [Some(over), fits.then_some(under), Some(top)]
        .into_iter()
        .flatten()
        .collect()
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

/// Words in the accent, from a place on towards the right (1) or ending there (-1).
fn said(words: &str, at: [f64; 2], way: f64) -> String {
    let anchor = if way > 0.0 { Anchor::Start } else { Anchor::End };
    text("now", anchor, at, words)
}

/// The draughtsman's sign for an arrow that flies away, or comes.
pub(super) fn mark(stroke: Option<Stroke>, [x, y]: [f64; 2]) -> String {
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

    const WORDS: [&str; 3] = [
        "outbound, climbing",
        "outbound, forward feed",
        "homebound, forward feed",
    ];

    #[test]
    fn no_word_beside_a_blade_is_cut_off() {
        for words in WORDS {
            for blade in (0..=1_000).map(f64::from) {
                let labels = beside(words, blade);
                assert!(
                    chosen(&labels, &[]).is_some_and(Label::is_inside),
                    "{blade} {words}"
                );
                for way in [1.0, -1.0] {
                    let labels = at_edge(words, way, [blade, 400.0], 800.0);
                    assert!(
                        chosen(&labels, &[]).is_some_and(Label::is_inside),
                        "{blade} {words}"
                    );
                }
            }
        }
    }

    /// A housing over the entry side at a flat blade: the words go under it, or to the other edge where the bed is near; one
    /// before an upright blade: they go beyond it, in two lines where one is too long.
    #[test]
    fn words_keep_off_the_housing() {
        let house = [[[20.0, 0.0], [180.0, 500.0]]];
        for (blade, bed, lines, under) in [(500.0, 800.0, 2, true), (500.0, 540.0, 1, false)] {
            let labels = at_edge(WORDS[1], 1.0, [300.0, blade], bed);
            assert!(!labels[0].is_clear_of(&house));
            let label = chosen(&labels, &house).unwrap();
            assert_eq!((label.lines.len(), label.at[1] > blade), (lines, under));
            assert!(label.is_clear_of(&house) && label.is_inside());
        }
        let labels = beside(WORDS[2], 530.0);
        let label = chosen(&labels, &[[[0.0, 0.0], [450.0, 90.0]]]).unwrap();
        assert_eq!((label.way, label.lines.len()), (1.0, 2));
        let labels = beside(WORDS[2], 640.0);
        assert_eq!(chosen(&labels, &[]).unwrap().lines.len(), 1);
    }
}
