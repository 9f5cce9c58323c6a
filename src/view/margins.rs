//! How well the wood is held at every cut: a strip each for rolling, sliding and lifting, over the job, with what is
//! demanded as a line across. What lies over the scale is drawn up to its edge and told as a figure.

use bunkside_planner::replay::Step as Moved;
use bunkside_protocol::{Angle, Feed, Move, Stroke};
use libm::log;

use super::scene::Scene;
use super::steps::capital;
use super::svg::{Anchor, Path, WIDE, document as alone, inline, num, run_of, text};
use crate::account::cuts::stroke_words;
use crate::account::feeds::{Factors, Held, figure};

const LEFT: f64 = 138.0;
const RIGHT: f64 = 20.0;
/// Height of a strip, and of the room over it for figures.
const STRIP: f64 = 128.0;
const OVER: f64 = 40.0;
/// Height of a row: three strips, arrows and numbers.
const ROW: f64 = 3.0 * (STRIP + OVER) + 104.0;
/// At most so many cuts stand in a row, each with its figures.
const IN_A_ROW: usize = 13;
/// With more rows than this, more cuts stand in a row, and only the least figure of a strip is told.
const ROWS_WITH_FIGURES: usize = 3;
const IN_A_DENSE_ROW: usize = 30;
/// The scale is drawn from here to there, in equal steps for equal ratios.
const SCALE: [f64; 2] = [0.5, 20.0];
/// A figure of the scale is left out where it would run into what is demanded.
const APART: f64 = 1.8;

/// One cut in the picture.
struct Bar {
    /// Its number among the cuts.
    number: usize,
    angle: Angle,
    stroke: Option<Stroke>,
    feed: Option<Feed>,
    held: Held,
}

/// The margins alone, row below row.
pub(super) fn document(scene: &Scene<'_>) -> String {
    let (mut body, mut y) = key(scene);
    for row in rows(scene) {
        body.push_str(&format!(r#"<g transform="translate(0 {})">{row}</g>"#, num(y)));
        y += ROW;
    }
    let words = format!("Log {}, margins are estimates", scene.subject.log);
    body.push_str(&text("small soft", Anchor::End, [WIDE - 24.0, y + 24.0], &words));
    alone(
        &format!("How well log {} is held at every cut", scene.subject.log),
        WIDE,
        y + 44.0,
        &body,
    )
}

/// The same for a page, which may break between two rows.
pub(super) fn figures(scene: &Scene<'_>) -> String {
    let (key, height) = key(scene);
    let mut figures = inline("margins", "what the bars mean", WIDE, height, &key);
    for (number, row) in (1..).zip(rows(scene)) {
        let label = format!("margins, row {number}");
        figures.push_str(&inline("margins", &label, WIDE, ROW, &row));
    }
    figures
}

fn bars(scene: &Scene<'_>) -> Vec<Bar> {
    let setup = scene.subject.setup;
    let cuts = scene.subject.trace.moves.iter().map(|traced| &traced.step);
    let cuts = cuts.filter(|step| matches!(step.told, Move::Cut(_)));
    let bar = |(number, step): (usize, &Moved)| {
        Some(Bar {
            number,
            angle: step.before.angle,
            stroke: step.stroke,
            feed: step.feed,
            held: Held::of(setup, step)?,
        })
    };
    (1..).zip(cuts).filter_map(bar).collect()
}

/// How the cuts lie in a row.
#[derive(Clone, Copy, Debug)]
struct Spread {
    /// Room for one cut.
    width: f64,
    /// Whether every figure is told.
    figures: bool,
}

/// The rows one by one, as even as they can be.
fn rows(scene: &Scene<'_>) -> Vec<String> {
    let bars = bars(scene);
    let demanded = Factors::demanded(scene.subject.setup);
    let figures = bars.len() <= ROWS_WITH_FIGURES * IN_A_ROW;
    let most = if figures { IN_A_ROW } else { IN_A_DENSE_ROW };
    let count = bars.len().div_ceil(most).max(1);
    let each = bars.len().div_ceil(count).max(1);
    // A short job is not stretched over the whole width.
    let columns = if count == 1 { most } else { each };
    let spread = Spread {
        width: (WIDE - LEFT - RIGHT) / columns as f64,
        figures,
    };
    let rows = bars.chunks(each);
    rows.map(|bars| row(bars, &demanded, spread)).collect()
}

fn row(bars: &[Bar], demanded: &Factors, spread: Spread) -> String {
    let end = LEFT + spread.width * bars.len() as f64;
    let mut drawn = String::new();
    for (way, (name, wanted)) in demanded.named().into_iter().enumerate() {
        let foot = (way + 1) as f64 * (STRIP + OVER);
        let margins: Vec<(Angle, f64)> = bars
            .iter()
            .map(|bar| (bar.angle, bar.held.least().named()[way].1))
            .collect();
        drawn.push_str(&behind(name, wanted, foot, end));
        drawn.push_str(&strip(&margins, wanted, foot, spread));
        drawn.push_str(&demand(wanted, foot, end));
        drawn.push_str(&lettering(&margins, wanted, foot, spread));
    }
    drawn + &strokes(bars, spread)
}

/// The middle of a column.
fn middle(column: usize, spread: Spread) -> f64 {
    LEFT + spread.width * (column as f64 + 0.5)
}

/// How high a margin stands over the foot of its strip.
fn high(margin: f64) -> f64 {
    let [low, most] = SCALE;
    let part = log(margin.clamp(low, most) / low) / log(most / low);
    STRIP * part
}

/// The lines behind a strip, its scale and its name.
fn behind(name: &str, wanted: f64, foot: f64, end: f64) -> String {
    let mut faint = Path::new();
    let mut figures = String::new();
    for step in [1.0, 2.0, 5.0, 10.0, 20.0] {
        let y = foot - high(step);
        faint.line([LEFT, y], [end, y]);
        let told = [2.0, 5.0, 20.0].contains(&step);
        if told && !(wanted / APART..=wanted * APART).contains(&step) {
            let words = format!("{step:.0}");
            figures.push_str(&text("tiny soft", Anchor::End, [LEFT - 10.0, y + 7.0], &words));
        }
    }
    let mut base = Path::new();
    base.line([LEFT, foot], [end, foot]);
    [
        faint.element("fine faint-line"),
        base.element("thin"),
        figures,
        text(
            "small",
            Anchor::Start,
            [8.0, foot - STRIP / 2.0 - 10.0],
            &capital(name),
        ),
    ]
    .concat()
}

/// What is demanded.
fn demand(wanted: f64, foot: f64, end: f64) -> String {
    let y = foot - high(wanted);
    let mut line = Path::new();
    line.line([LEFT - 6.0, y], [end, y]);
    let place = [LEFT - 10.0, y + 7.0];
    line.element("demand") + &text("tiny number", Anchor::End, place, &factor(wanted))
}

/// A factor without zeros that say nothing.
fn factor(wanted: f64) -> String {
    format!("{wanted:.3}")
        .trim_end_matches('0')
        .trim_end_matches('.')
        .to_owned()
}

/// The bars of a strip: filled for a flat blade, hollow for an upright one, broken where they go on.
fn strip(margins: &[(Angle, f64)], wanted: f64, foot: f64, spread: Spread) -> String {
    let half = (spread.width * 0.25).min(11.0);
    let (mut flat, mut upright, mut broken, mut short) = (Path::new(), Path::new(), Path::new(), Path::new());
    for (column, &(angle, margin)) in margins.iter().enumerate() {
        let x = middle(column, spread);
        if margin.is_infinite() {
            continue;
        }
        let top = foot - high(margin);
        let bars = match angle {
            Angle::Flat => &mut flat,
            Angle::Upright => &mut upright,
        };
        bars.rect([x - half, top], [x + half, foot]);
        if margin > SCALE[1] {
            broken.open([
                [x - half - 5.0, top + 16.0],
                [x, top + 8.0],
                [x + half + 5.0, top + 16.0],
            ]);
        }
        if margin < wanted {
            let wide = if spread.figures {
                run_of(&figure(margin), 24.0) / 2.0 + 5.0
            } else {
                half + 3.0
            };
            let top = above(top, foot, wanted);
            short.rect([x - wide, top - 25.0], [x + wide, top + 3.0]);
        }
    }
    [
        flat.element("solid"),
        upright.element("box"),
        broken.element("gap"),
        short.element("short"),
    ]
    .concat()
}

/// Where a bar's figure stands: above the bar, and above what is demanded.
fn above(top: f64, foot: f64, wanted: f64) -> f64 {
    (top - 8.0).min(foot - high(wanted) - 10.0)
}

/// The figures of a strip: all of them, or the least and a mark at each that is less than is demanded.
fn lettering(margins: &[(Angle, f64)], wanted: f64, foot: f64, spread: Spread) -> String {
    let least = margins
        .iter()
        .map(|(_, margin)| *margin)
        .fold(f64::INFINITY, f64::min);
    let mut told = false;
    let mut drawn = String::new();
    for (column, &(_, margin)) in margins.iter().enumerate() {
        let x = middle(column, spread);
        if margin.is_infinite() {
            drawn.push_str(&text("tiny soft", Anchor::Middle, [x, foot - 8.0], "–"));
            continue;
        }
        let y = above(foot - high(margin), foot, wanted);
        let class = if margin < wanted { "tiny now" } else { "tiny" };
        let words = if spread.figures && margin > 99.0 {
            "99+".to_owned()
        } else if spread.figures {
            figure(margin)
        } else if margin < wanted {
            "!".to_owned()
        } else if margin <= least && !told {
            told = true;
            figure(margin)
        } else {
            continue;
        };
        drawn.push_str(&text(class, Anchor::Middle, [x, y], &words));
    }
    drawn
}

/// The arrows and the numbers of the cuts below the strips.
fn strokes(bars: &[Bar], spread: Spread) -> String {
    let foot = 3.0 * (STRIP + OVER);
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

/// What the bars and arrows mean, and how high that is.
fn key(scene: &Scene<'_>) -> (String, f64) {
    let mut drawn = String::new();
    let mut x = 24.0;
    for (class, words) in [("solid", "blade flat"), ("box", "blade upright")] {
        let mut bar = Path::new();
        bar.rect([x, 16.0], [x + 20.0, 44.0]);
        drawn.push_str(&bar.element(class));
        drawn.push_str(&text("tiny", Anchor::Start, [x + 32.0, 40.0], words));
        x += 44.0 + run_of(words, 24.0) + 16.0;
    }
    let mut line = Path::new();
    line.line([x, 30.0], [x + 40.0, 30.0]);
    drawn.push_str(&line.element("demand"));
    drawn.push_str(&text("tiny", Anchor::Start, [x + 52.0, 40.0], "demanded"));
    let (arrows, mut y) = key_of_strokes(&bars(scene));
    drawn.push_str(&arrows);
    for words in [
        "A bar tells how many times what drives the wood is what holds it: the less of while it",
        "cuts and at rest afterwards. What is less than is demanded is framed; a dash: nothing",
        "drives it. Below the arrows stand the numbers of the cuts.",
    ] {
        y += 30.0;
        drawn.push_str(&text("tiny soft", Anchor::Start, [24.0, y], words));
    }
    (drawn, y + 30.0)
}

/// The arrows of the strokes that are run, in words, two side by side; and the foot of the last.
fn key_of_strokes(bars: &[Bar]) -> (String, f64) {
    let kinds = [Stroke::Outbound, Stroke::Homebound]
        .into_iter()
        .flat_map(|stroke| [(stroke, Feed::Forward), (stroke, Feed::Climb)]);
    let run = kinds.filter(|&(stroke, feed)| {
        bars.iter()
            .any(|bar| (bar.stroke, bar.feed) == (Some(stroke), Some(feed)))
    });
    let mut drawn = String::new();
    let mut foot: f64 = 54.0;
    for (place, (stroke, feed)) in run.enumerate() {
        let x = if place % 2 == 0 { 24.0 } else { 400.0 };
        let y = 78.0 + 40.0 * (place / 2) as f64;
        let mut tip = Path::new();
        arrow(&mut tip, Some(stroke), [x + 17.0, y], 1.0);
        drawn.push_str(&tip.element(if feed == Feed::Climb { "tip" } else { "box" }));
        let words = stroke_words(Some(stroke), Some(feed));
        drawn.push_str(&text("tiny", Anchor::Start, [x + 42.0, y + 9.0], words));
        foot = y + 22.0;
    }
    (drawn, foot)
}
