//! The time line: the carriage's way over time, row below row. A rising line runs outbound, a falling one homebound;
//! how it is drawn tells the angle of the blade and the feed.

use bunkside_protocol::{Angle, Feed, Move};

use super::plane::um;
use super::scene::Scene;
use super::svg::{Anchor, Path, WIDE, document as alone, inline, num, run_of, text};
use crate::trace::Traced;

const LEFT: f64 = 150.0;
const RIGHT: f64 = 26.0;
const TOP: f64 = 106.0;
/// Room over the ways of a row.
const ABOVE: f64 = 46.0;
/// Height of a row, and of the ways in it.
const ROW: f64 = 228.0;
const WAY: f64 = 96.0;
/// About so many strokes and holds go into a row.
const IN_A_ROW: usize = 11;

/// The time line alone, row below row.
pub(super) fn document(scene: &Scene<'_>) -> String {
    let mut body = key(scene);
    let mut y = TOP;
    for row in rows(scene) {
        body.push_str(&format!(r#"<g transform="translate(0 {})">{row}</g>"#, num(y)));
        y += ROW;
    }
    let words = format!("Log {}, times are estimates", scene.subject.log);
    body.push_str(&text("small soft", Anchor::End, [WIDE - 24.0, y + 20.0], &words));
    alone(
        &format!("Time line of log {}", scene.subject.log),
        WIDE,
        y + 40.0,
        &body,
    )
}

/// The same for a page, which may break between two rows.
pub(super) fn figures(scene: &Scene<'_>) -> String {
    let mut figures = inline("timeline", "what the lines mean", WIDE, TOP - 14.0, &key(scene));
    for (number, row) in (1..).zip(rows(scene)) {
        figures.push_str(&inline(
            "timeline",
            &format!("time line, row {number}"),
            WIDE,
            ROW,
            &row,
        ));
    }
    figures
}

/// How time and way lie in the drawing.
#[derive(Clone, Copy, Debug)]
struct Axes {
    /// Seconds in a row.
    row: f64,
    /// Where the carriage's way begins and ends, micrometres.
    way: [f64; 2],
    /// Where the log begins and ends.
    log: [f64; 2],
    /// Where the carriage stands at first.
    parked: f64,
}

impl Axes {
    fn at(&self, row: f64, seconds: f64, travel: f64) -> [f64; 2] {
        let part = (travel - self.way[0]) / (self.way[1] - self.way[0]).max(1.0);
        [
            LEFT + (seconds - row * self.row) / self.row * (WIDE - LEFT - RIGHT),
            ABOVE + WAY * (1.0 - part),
        ]
    }

    /// A stretch of time and way, cut where a row ends: number of the row, beginning, end.
    fn parts(&self, from: [f64; 2], to: [f64; 2]) -> Vec<(f64, [f64; 2], [f64; 2])> {
        let mut parts = Vec::new();
        let mut row = (from[0] / self.row).floor();
        let mut start = from;
        while start[0] < to[0] {
            let stop = ((row + 1.0) * self.row).min(to[0]);
            let part = (stop - from[0]) / (to[0] - from[0]);
            let end = [stop, from[1] + (to[1] - from[1]) * part];
            parts.push((
                row,
                self.at(row, start[0], start[1]),
                self.at(row, end[0], end[1]),
            ));
            start = end;
            row += 1.0;
        }
        parts
    }
}

/// The rows one by one.
fn rows(scene: &Scene<'_>) -> Vec<String> {
    let axes = axes(scene);
    let count = (scene.subject.trace.seconds() / axes.row).ceil().max(1.0);
    let mut drawn = Vec::new();
    let mut row = 0.0;
    while row < count {
        drawn.push(grid(&axes, row) + &ways(scene, &axes, row));
        row += 1.0;
    }
    drawn
}

fn axes(scene: &Scene<'_>) -> Axes {
    let trace = scene.subject.trace;
    let rows = scene.steps.len().div_ceil(IN_A_ROW).max(1);
    let minutes = (trace.seconds() / 60.0 / rows as f64).ceil().max(1.0);
    let ways = trace
        .moves
        .iter()
        .flat_map(|traced| [um(traced.step.before.travel), um(traced.step.after.travel)]);
    let way = ways.fold([f64::INFINITY, f64::NEG_INFINITY], |[lo, hi], at| {
        [lo.min(at), hi.max(at)]
    });
    let way = if way[0] < way[1] { way } else { [0.0, 1.0] };
    let log = [scene.bounds.travel.lo, scene.bounds.travel.hi].map(um);
    Axes {
        row: minutes * 60.0,
        way: [way[0].min(log[0]), way[1].max(log[1])],
        log,
        parked: trace
            .moves
            .first()
            .map_or(0.0, |traced| um(traced.step.before.travel)),
    }
}

/// Minutes below; at the side where the log ends, and how far the carriage's way goes beyond it.
fn grid(axes: &Axes, row: f64) -> String {
    let [mut lines, mut limits] = [(); 2].map(|()| Path::new());
    let mut words = String::new();
    let start = row * axes.row;
    let [near, far] = axes.log.map(|travel| axes.at(row, start, travel)[1]);
    for (y, name) in [(far, "far end"), (near, "near end")] {
        lines.line([LEFT, y], [WIDE - RIGHT, y]);
        words.push_str(&text("small", Anchor::End, [LEFT - 14.0, y + 10.0], name));
    }
    let [low, high] = axes.way.map(|travel| axes.at(row, start, travel)[1]);
    let lowest = if axes.parked == axes.way[0] {
        "parked"
    } else {
        "run-out"
    };
    for (y, at, beyond, name) in [
        (high, high.min(far - 30.0), far - high > 1.0, "run-out"),
        (low, low.max(near + 30.0), low - near > 1.0, lowest),
    ] {
        if beyond {
            limits.line([LEFT, y], [WIDE - RIGHT, y]);
            words.push_str(&text("small soft", Anchor::End, [LEFT - 14.0, at + 10.0], name));
        }
    }
    let each = minutes_between(axes.row);
    let mut minute = 0.0;
    while minute * 60.0 <= axes.row + 1.0 {
        let [x, y] = axes.at(row, row * axes.row + minute * 60.0, axes.way[0]);
        lines.line([x, y], [x, y + 9.0]);
        let total = minute + row * axes.row / 60.0;
        let unit = if minute == 0.0 { " min" } else { "" };
        let label = format!("{total:.0}{unit}");
        words.push_str(&text("small soft", Anchor::Middle, [x, y + 60.0], &label));
        minute += each;
    }
    lines.element("thin faint") + &limits.element("ghost") + &words
}

/// How many minutes lie between two figures of the axis.
fn minutes_between(row: f64) -> f64 {
    let steps = [1.0, 2.0, 5.0, 10.0, 20.0, 60.0];
    let fits = |step: &&f64| row / 60.0 / **step <= 12.0;
    steps.iter().find(fits).copied().unwrap_or(120.0)
}

fn ways(scene: &Scene<'_>, axes: &Axes, wanted: f64) -> String {
    let [mut empty, mut stands, mut flat, mut upright, mut climb, mut hold] = [(); 6].map(|()| Path::new());
    let mut numbers = String::new();
    for traced in &scene.subject.trace.moves {
        let (from, to) = stretch(traced);
        for (_, a, b) in axes.parts(from, to).into_iter().filter(|part| part.0 == wanted) {
            match traced.step.told {
                Move::Hold(_) => hold.rect([a[0], a[1] - 13.0], [b[0], b[1] + 13.0]),
                Move::Cut(_) if traced.step.cut.is_some_and(|facts| facts.met.is_some()) => {
                    if traced.step.feed == Some(Feed::Climb) {
                        climb.line(a, b);
                    }
                    match traced.step.before.angle {
                        Angle::Flat => flat.line(a, b),
                        Angle::Upright => upright.line(a, b),
                    }
                }
                _ if from[1] == to[1] => stands.line(a, b),
                _ => empty.line(a, b),
            };
        }
        if (to[0] / axes.row).floor() == wanted {
            numbers.push_str(&freed(traced, axes, wanted, to));
        }
    }
    [
        empty.element("empty"),
        stands.element("stands"),
        hold.element("stop"),
        climb.element("climb"),
        flat.element("flat"),
        upright.element("upright"),
        upright.element("hollow"),
        numbers,
    ]
    .concat()
}

fn stretch(traced: &Traced) -> ([f64; 2], [f64; 2]) {
    let (start, end) = (traced.start, traced.start + traced.duration);
    (
        [start, um(traced.step.before.travel)],
        [end, um(traced.step.after.travel)],
    )
}

/// The numbers of the pieces that a stroke frees, at its end.
fn freed(traced: &Traced, axes: &Axes, row: f64, [seconds, travel]: [f64; 2]) -> String {
    let numbers: Vec<String> = traced
        .freed
        .iter()
        .map(|piece| piece.serial.to_string())
        .collect();
    let words = match numbers.as_slice() {
        [] => return String::new(),
        [first, .., last] => format!("{first}–{last}"),
        [one] => one.clone(),
    };
    let [x, y] = axes.at(row, seconds, travel);
    let above = traced.step.after.travel > traced.step.before.travel;
    let half = run_of(&words, 34.0) / 2.0;
    let x = (x + 6.0).clamp(LEFT + half + 6.0, WIDE - RIGHT - half);
    let y = if above { y - 12.0 } else { y + 36.0 };
    text("number mid", Anchor::Middle, [x, y], &words)
}

/// What a hold is called, and how far beside the start of a sign its word stands.
const HOLD: &str = "hold";
const BESIDE: f64 = 54.0;

/// What the lines mean; of those that are not in every time line, the ones that are in this.
fn key(scene: &Scene<'_>) -> String {
    let moves = || scene.subject.trace.moves.iter();
    let climbs = moves().any(|traced| {
        traced.step.feed == Some(Feed::Climb) && traced.step.cut.is_some_and(|facts| facts.met.is_some())
    });
    let mut drawn = String::new();
    let entries: [(&[&str], &str, bool); 5] = [
        (&["flat"], "flat", true),
        (&["upright", "hollow"], "upright", true),
        (&["climb", "flat"], "climbing", climbs),
        (&["empty"], "empty", true),
        (&["stands"], "set, wait", true),
    ];
    let entries = || entries.into_iter().filter(|(_, _, drawn)| *drawn);
    // As far apart as the width lets them stand, and no further.
    let words = entries().map(|(_, words, _)| words).chain([HOLD]);
    let (count, wide) = words.fold((0.0, 0.0), |(count, wide), words| {
        (count + 1.0, wide + BESIDE + run_of(words, 28.0))
    });
    let gap = ((WIDE - 48.0 - wide) / (count - 1.0)).min(24.0);
    let mut x = 24.0;
    for (classes, words, _) in entries() {
        let mut line = Path::new();
        let rises = if classes == ["stands"] { 0.0 } else { 11.0 };
        line.line([x, 31.0 + rises], [x + 46.0, 31.0 - rises]);
        for class in classes {
            drawn.push_str(&line.element(class));
        }
        drawn.push_str(&text("small", Anchor::Start, [x + BESIDE, 42.0], words));
        x += BESIDE + run_of(words, 28.0) + gap;
    }
    let mut stop = Path::new();
    stop.rect([x, 18.0], [x + 46.0, 44.0]);
    drawn.push_str(&stop.element("stop"));
    drawn.push_str(&text("small", Anchor::Start, [x + BESIDE, 42.0], HOLD));
    let words = "rising: outbound, falling: homebound; figures: pieces that come off";
    drawn + &text("small soft", Anchor::Start, [24.0, 84.0], words)
}
