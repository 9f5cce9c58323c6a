//! How well the wood is held at every cut: a strip each for rolling, sliding and lifting, over the job, with the limit as a
//! line across. What lies over the scale is drawn up to its edge and told as a figure; a strip in which nothing comes near
//! its limit is drawn low. Where the cutting energy is an estimate, bars and figures are those of its upper end, as the rules judge
//! them; what a bar would gain where the timber saws as estimated is drawn pale.

mod arrows;

use bunkside_planner::replay::Step as Moved;
use bunkside_protocol::{Angle, Feed, Move, Stroke};
use libm::log;

use super::plot::{broken, limit};
use super::scene::Scene;
use super::steps::capital;
use super::svg::{Anchor, Path, TINY, WIDE, document as alone, escape, inline, num, run_of, text};
use crate::account::care::straightens;
use crate::account::energy::Estimated;
use crate::account::feeds::{Factors, Forceless, Held, cuts_words, figure};
use arrows::{key_of_strokes, strokes};

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
/// How far the paper around a figure reaches.
const HALO: f64 = 5.0;
/// At most so many cuts stand in a row, each with its figures.
const IN_A_ROW: usize = 13;
/// With more rows than this, more cuts stand in a row, and only the least figure of a strip is told.
const ROWS_WITH_FIGURES: usize = 3;
const IN_A_DENSE_ROW: usize = 30;
/// The scale is drawn from here to there, in equal steps for equal ratios.
const SCALE: [f64; 2] = [0.5, 10.0];
/// Why a straightening cut has no bar.
const STRAIGHTEN: &str = "straightening a face, where no wood is known of";
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
    /// Which cuts have no bars, and why; empty where all have.
    left_out: String,
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
            left_out: left_out(scene),
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
        words + &self.left_out
    }
}

/// The cuts without bars, by why.
fn left_out(scene: &Scene<'_>) -> String {
    let setup = scene.subject.setup;
    let cuts = scene.subject.trace.moves.iter();
    let cuts = cuts.filter(|traced| matches!(traced.step.told, Move::Cut(_)));
    let others: Vec<_> = (1..)
        .zip(cuts)
        .filter(|(_, traced)| Held::of(setup, &traced.step).is_none())
        .map(|(cut, traced)| match straightens(setup, traced) {
            true => (cut, STRAIGHTEN),
            false => (cut, Forceless::of(&traced.step).words()),
        })
        .collect();
    let reasons = [STRAIGHTEN]
        .into_iter()
        .chain(Forceless::ALL.map(Forceless::words));
    let told = reasons.filter_map(|reason| {
        let cuts = others.iter().filter(|(_, why)| *why == reason);
        let cuts: Vec<u32> = cuts.map(|(cut, _)| *cut).collect();
        (!cuts.is_empty()).then(|| format!("{} ({reason})", cuts_words(&cuts)))
    });
    let told: Vec<String> = told.collect();
    match told.is_empty() {
        true => String::new(),
        false => format!(" Not shown: {}.", told.join("; ")),
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

impl Spread {
    /// Half the width of a bar.
    fn half(&self) -> f64 {
        (self.width * 0.25).min(11.0)
    }
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
        let half = spread.half();
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
                    spread.half() + 3.0
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

    /// Where a figure of a width stands that is told of a column: above every bar that it reaches over, and clear of the scale and
    /// of the drawing's edge.
    fn clear(&self, column: usize, run: f64, spread: Spread) -> [f64; 2] {
        let half = run / 2.0 + HALO;
        let x = middle(column, spread).clamp(LEFT + half, WIDE - half);
        let bars = self.margins.iter().enumerate();
        let under = bars.filter(|(other, (_, margin, _))| {
            let away = (middle(*other, spread) - x).abs();
            *other == column || margin.is_finite() && away < half + spread.half()
        });
        let y = under.map(|(_, (_, _, estimated))| self.above(*estimated));
        [x, y.fold(f64::INFINITY, f64::min)]
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
            let own = self.above(estimated);
            let place = self.clear(column, run_of(&words, TINY), spread);
            if own - place[1] > 6.0 {
                let mut line = Path::new();
                line.line([x, place[1] + 5.0], [x, own + 4.0]);
                drawn.push_str(&line.element("dim"));
            }
            drawn.push_str(&text(class, Anchor::Middle, place, &words));
        }
        drawn
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Between two high bars a figure stands above both, over the first bar right of the scale, over the last within the drawing;
    /// where it has room it stands over its own bar.
    #[test]
    fn figures_cover_neither_bars_nor_scale() {
        let strip = |margins: &[f64]| Strip {
            margins: margins
                .iter()
                .map(|margin| (Angle::Flat, *margin, *margin))
                .collect(),
            wanted: 1.2,
            foot: 190.0,
            height: STRIP,
        };
        let run = run_of("1.84", TINY);
        let dense = Spread {
            width: 34.0,
            figures: false,
        };
        let between = strip(&[9.0, 2.0, 7.0, 2.0, 2.0, 2.0]);
        assert_eq!(between.clear(1, run, dense)[1], between.above(9.0));
        let [x, y] = between.clear(0, run, dense);
        assert!(x - run / 2.0 > LEFT && x > middle(0, dense), "{x}");
        assert_eq!(y, between.above(9.0));
        assert_eq!(
            between.clear(4, run, dense),
            [middle(4, dense), between.above(2.0)]
        );
        let wide = Spread {
            width: 65.0,
            figures: true,
        };
        for (column, margin) in [(1, 2.0), (2, 7.0)] {
            assert_eq!(between.clear(column, run, wide)[1], between.above(margin));
        }
        let last = strip(&[2.0; 24]).clear(23, run, dense)[0];
        assert!(last + run / 2.0 < WIDE, "{last}");
    }
}
