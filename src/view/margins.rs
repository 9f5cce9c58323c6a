//! How well the wood is held at every cut: a strip each for rolling, sliding and lifting, over the job, with the limit as a
//! line across. What lies over the scale is drawn up to its edge and told as a figure; a strip in which nothing comes near
//! its limit is drawn low. Where the cutting energy is an estimate, bars and figures are those of its hard end, as the rules judge
//! them; what a bar would gain where the timber saws as estimated is drawn pale.

use bunkside_planner::replay::Step as Moved;
use bunkside_protocol::{Angle, Feed, Move, Stroke};
use libm::log;

use super::plot::{broken, limit};
use super::scene::Scene;
use super::steps::capital;
use super::svg::{Anchor, Path, TINY, WIDE, document as alone, escape, inline, num, run_of, text};
use crate::account::cuts::stroke_words;
use crate::account::energy::Estimated;
use crate::account::feeds::{Factors, Held, figure};

const LEFT: f64 = 150.0;
const RIGHT: f64 = 20.0;
/// Height of a strip, and of the room over it for figures.
const STRIP: f64 = 150.0;
const OVER: f64 = 40.0;
/// Height of a strip in which every margin is more than so many times what is demanded.
const LOW: f64 = 60.0;
const FAR: f64 = 3.0;
/// Room for arrows and numbers below the strips of a row.
const NUMBERS: f64 = 104.0;
/// How many letters a line of the key holds.
const LETTERS: usize = 78;
/// At most so many cuts stand in a row, each with its figures.
const IN_A_ROW: usize = 13;
/// With more rows than this, more cuts stand in a row, and only the least figure of a strip is told.
const ROWS_WITH_FIGURES: usize = 3;
const IN_A_DENSE_ROW: usize = 30;
/// The scale is drawn from here to there, in equal steps for equal ratios.
const SCALE: [f64; 2] = [0.5, 10.0];
/// A figure of the scale is left out where it would run into what is demanded.
const APART: f64 = 1.8;

/// One cut in the picture.
struct Bar {
    /// Its number among the cuts.
    number: usize,
    angle: Angle,
    stroke: Option<Stroke>,
    feed: Option<Feed>,
    /// The least margins, as the rules judge them.
    least: Factors,
    /// The same where the timber saws as estimated.
    estimated: Factors,
}

/// All cuts, and how they are drawn.
struct Picture {
    bars: Vec<Bar>,
    demanded: Factors,
    /// How much harder than estimated the timber may saw, percent.
    percent: Option<u16>,
    /// The heights of the three strips.
    heights: [f64; 3],
}

/// One strip of a row.
struct Strip {
    /// The angle of the blade, the margin, and what it is where the timber saws as estimated.
    margins: Vec<(Angle, f64, f64)>,
    wanted: f64,
    /// Where it stands, and how high it is.
    foot: f64,
    height: f64,
}

/// The margins alone, row below row.
pub(super) fn document(scene: &Scene<'_>) -> String {
    let picture = Picture::of(scene);
    let (mut body, mut y) = picture.key();
    for words in broken(&picture.told(), LETTERS) {
        y += 34.0;
        body.push_str(&text("tiny soft", Anchor::Start, [24.0, y - 34.0], &words));
    }
    for row in picture.rows() {
        body.push_str(&format!(r#"<g transform="translate(0 {})">{row}</g>"#, num(y)));
        y += picture.row_height();
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

/// The same for a page, which may break between two rows, and where words are no part of a drawing.
pub(super) fn figures(scene: &Scene<'_>) -> String {
    let picture = Picture::of(scene);
    let (key, height) = picture.key();
    let mut figures = inline("margins", "what the bars mean", WIDE, height, &key);
    figures.push_str(&format!("<p class=\"soft\">{}</p>", escape(&picture.told())));
    for (number, row) in (1..).zip(picture.rows()) {
        let label = format!("margins, row {number}");
        figures.push_str(&inline("margins", &label, WIDE, picture.row_height(), &row));
    }
    figures
}

impl Picture {
    fn of(scene: &Scene<'_>) -> Self {
        let subject = &scene.subject;
        let setup = subject.setup;
        let estimated = subject
            .job
            .and_then(|job| Estimated::of(job, setup, subject.trace));
        let cuts = subject.trace.moves.iter().map(|traced| &traced.step);
        let cuts = cuts.filter(|step| matches!(step.told, Move::Cut(_)));
        let bar = |(number, step): (usize, &Moved)| {
            let least = Held::of(setup, step)?.least();
            let eased = estimated
                .as_ref()
                .and_then(|estimated| estimated.least(step.index));
            Some(Bar {
                number,
                angle: step.before.angle,
                stroke: step.stroke,
                feed: step.feed,
                least,
                estimated: eased.unwrap_or(least),
            })
        };
        let bars: Vec<Bar> = (1..).zip(cuts).filter_map(bar).collect();
        let demanded = Factors::demanded(setup);
        let near = |way: usize| {
            let wanted = FAR * demanded.named()[way].1;
            bars.iter().any(|bar| bar.least.named()[way].1 < wanted)
        };
        Self {
            heights: [0, 1, 2].map(|way| if near(way) { STRIP } else { LOW }),
            percent: estimated.map(|estimated| estimated.percent),
            bars,
            demanded,
        }
    }

    /// Height of a row: three strips, arrows and numbers.
    fn row_height(&self) -> f64 {
        self.foot() + NUMBERS
    }

    /// Where the last strip stands.
    fn foot(&self) -> f64 {
        self.heights.iter().map(|height| height + OVER).sum()
    }

    /// The rows one by one, as even as they can be.
    fn rows(&self) -> Vec<String> {
        let bars = &self.bars;
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
        rows.map(|bars| self.row(bars, spread)).collect()
    }

    fn row(&self, bars: &[Bar], spread: Spread) -> String {
        let end = LEFT + spread.width * bars.len() as f64;
        let mut drawn = String::new();
        let mut foot = 0.0;
        for (way, (name, wanted)) in self.demanded.named().into_iter().enumerate() {
            let height = self.heights[way];
            foot += height + OVER;
            let margins = bars
                .iter()
                .map(|bar| (bar.angle, bar.least.named()[way].1, bar.estimated.named()[way].1));
            let strip = Strip {
                margins: margins.collect(),
                wanted,
                foot,
                height,
            };
            drawn.push_str(&strip.behind(name, end));
            drawn.push_str(&strip.bars(spread));
            drawn.push_str(&strip.demand(end));
            drawn.push_str(&strip.lettering(spread));
        }
        drawn + &strokes(bars, foot, spread)
    }

    /// What the bars and arrows mean, and how high that is.
    fn key(&self) -> (String, f64) {
        let title = "Holding force over driving force, cut by cut";
        let mut drawn = text("small", Anchor::Start, [24.0, 40.0], title);
        let mut x = 24.0;
        let pale = self.percent.map(|_| ("pale", "more if as estimated"));
        for (class, words) in [("solid", "blade flat"), ("box", "blade upright")]
            .into_iter()
            .chain(pale)
        {
            let mut bar = Path::new();
            bar.rect([x, 66.0], [x + 20.0, 94.0]);
            drawn.push_str(&bar.element(class));
            drawn.push_str(&text("tiny", Anchor::Start, [x + 32.0, 90.0], words));
            x += 44.0 + run_of(words, TINY) + 10.0;
        }
        let mut line = Path::new();
        line.line([x, 80.0], [x + 40.0, 80.0]);
        drawn.push_str(&line.element("demand"));
        drawn.push_str(&text("tiny", Anchor::Start, [x + 52.0, 90.0], "limit"));
        let (arrows, foot) = key_of_strokes(&self.bars, 128.0);
        drawn.push_str(&arrows);
        (drawn, foot + 30.0)
    }

    /// What the figures mean.
    fn told(&self) -> String {
        let [low, most] = SCALE;
        let mut words = format!(
            "How many times over the wood is held: what holds it, divided by what drives it (turning moments for roll), the \
             less of while it cuts and at rest afterwards. At 1 it is about to move; below the limit the rules refuse the \
             cut, and the figure is framed. A dash: nothing drives it. Logarithmic scale from {low} to {most}: equal steps are \
             equal ratios; thin bars go on beyond it. Below the arrows: the numbers of the cuts."
        );
        if let Some(percent) = self.percent {
            words.push_str(&format!(
                " The cutting energy is an estimate, {percent} % off either way: bars and figures are those of timber that \
                 saws {percent} % harder, as the rules judge it; the hatched end of a bar comes on top where it saws as \
                 estimated, at the same feed."
            ));
        }
        words
    }
}

/// How the cuts lie in a row.
#[derive(Clone, Copy, Debug)]
struct Spread {
    /// Room for one cut.
    width: f64,
    /// Whether every figure is told.
    figures: bool,
}

/// The middle of a column.
fn middle(column: usize, spread: Spread) -> f64 {
    LEFT + spread.width * (column as f64 + 0.5)
}

impl Strip {
    /// Where a margin stands in the drawing.
    fn up(&self, margin: f64) -> f64 {
        let [low, most] = SCALE;
        let part = log(margin.clamp(low, most) / low) / log(most / low);
        self.foot - self.height * part
    }

    /// The lines behind it, its scale and its name.
    fn behind(&self, name: &str, end: f64) -> String {
        let mut faint = Path::new();
        let mut figures = String::new();
        for step in [1.0, 2.0, 5.0, 10.0] {
            let y = self.up(step);
            faint.line([LEFT, y], [end, y]);
            let told = step == 10.0 || self.height > LOW && step > 1.0;
            if told && !(self.wanted / APART..=self.wanted * APART).contains(&step) {
                let words = format!("{step:.0}");
                figures.push_str(&text("tiny soft", Anchor::End, [LEFT - 10.0, y + 7.0], &words));
            }
        }
        let mut base = Path::new();
        base.line([LEFT, self.foot], [end, self.foot]);
        let place = [8.0, self.foot - self.height * 0.6 - 2.0];
        [
            faint.element("fine faint-line"),
            base.element("thin"),
            figures,
            text("small", Anchor::Start, place, &capital(name)),
        ]
        .concat()
    }

    /// The limit.
    fn demand(&self, end: f64) -> String {
        let y = self.up(self.wanted);
        let mut line = Path::new();
        line.line([LEFT - 6.0, y], [end, y]);
        let place = [LEFT - 10.0, y + 7.0];
        line.element("demand") + &text("tiny number", Anchor::End, place, &limit(self.wanted))
    }

    /// The bars: filled for a flat blade, hollow for an upright one, thin and broken where they go on, pale where they would
    /// go on in timber that saws as estimated.
    fn bars(&self, spread: Spread) -> String {
        let half = (spread.width * 0.25).min(11.0);
        let (mut flat, mut upright) = (Path::new(), Path::new());
        let (mut pale, mut gaps, mut short) = (Path::new(), Path::new(), Path::new());
        for (column, &(angle, margin, estimated)) in self.margins.iter().enumerate() {
            let x = middle(column, spread);
            if margin.is_infinite() {
                continue;
            }
            let (top, more) = (self.up(margin), self.up(estimated));
            let beyond = margin > SCALE[1];
            // What is far from its limit does not take the eye.
            let half = if beyond { half * 0.3 } else { half };
            let bars = match angle {
                Angle::Flat => &mut flat,
                Angle::Upright => &mut upright,
            };
            bars.rect([x - half, top], [x + half, self.foot]);
            if top > more + 0.5 {
                pale.rect([x - half, more], [x + half, top]);
            }
            if beyond {
                gaps.open([[x - 9.0, top + 16.0], [x, top + 10.0], [x + 9.0, top + 16.0]]);
            }
            if margin < self.wanted {
                let wide = if spread.figures {
                    run_of(&figure(margin), TINY) / 2.0 + 5.0
                } else {
                    (spread.width * 0.25).min(11.0) + 3.0
                };
                let top = self.above(estimated);
                short.rect([x - wide, top - 25.0], [x + wide, top + 3.0]);
            }
        }
        [
            pale.element("pale"),
            flat.element("solid"),
            upright.element("box"),
            gaps.element("gap"),
            short.element("short"),
        ]
        .concat()
    }

    /// Where a bar's figure stands: above the bar and its pale end, and above the limit.
    fn above(&self, margin: f64) -> f64 {
        (self.up(margin) - 8.0).min(self.up(self.wanted) - 10.0)
    }

    /// The figures: all of them, or the least and a mark at each that is less than is demanded.
    fn lettering(&self, spread: Spread) -> String {
        let least = self.margins.iter().map(|(_, margin, _)| *margin);
        let least = least.fold(f64::INFINITY, f64::min);
        let mut told = false;
        let mut drawn = String::new();
        for (column, &(_, margin, estimated)) in self.margins.iter().enumerate() {
            let x = middle(column, spread);
            if margin.is_infinite() {
                drawn.push_str(&text("tiny soft", Anchor::Middle, [x, self.foot - 8.0], "–"));
                continue;
            }
            let short = margin < self.wanted;
            let words = if spread.figures && margin > 99.0 {
                "99+".to_owned()
            } else if spread.figures {
                figure(margin)
            } else if short {
                "!".to_owned()
            } else if margin <= least && !told {
                told = true;
                figure(margin)
            } else {
                continue;
            };
            let class = if short { "tiny now" } else { "tiny" };
            drawn.push_str(&text(class, Anchor::Middle, [x, self.above(estimated)], &words));
        }
        drawn
    }
}

/// The arrows and the numbers of the cuts below the strips.
fn strokes(bars: &[Bar], foot: f64, spread: Spread) -> String {
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
fn key_of_strokes(bars: &[Bar], first: f64) -> (String, f64) {
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
