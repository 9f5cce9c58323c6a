//! How the wood would be held if the columns of a layer were taken one after the other from the entry side: the margins
//! against rolling, sliding and lifting after each of them, with what is demanded as a line across.
//!
//! The layer is the one with the most upright kerfs in the sequence, the upper of two. What is plotted is reckoned as the table
//! of `planner/STATICS.md` is; see [`crate::columns`].

use bunkside_planner::physics::margins::Margins;
use bunkside_protocol::{Angle, Move, Position};

use super::plot::{Mark, Panel, broken};
use super::scene::Scene;
use super::steps::capital;
use super::svg::{Anchor, Path, WIDE, document as alone, inline, run_of, text};
use crate::account::feeds::{Factors, figure};
use crate::columns::{Column, Saw, held};

const LEFT: f64 = 138.0;
const RIGHT: f64 = 20.0;
/// Height of a panel, and of the room over it for figures.
const PANEL: f64 = 150.0;
const OVER: f64 = 44.0;
/// With more columns than this only the least figure of a panel is told.
const WITH_FIGURES: usize = 13;
/// How many letters a line holds.
const LETTERS: usize = 82;

/// A layer, and what taking its columns does.
struct Layer {
    floor: Position,
    columns: Vec<Column>,
}

/// The plot alone.
pub(super) fn document(scene: &Scene<'_>) -> String {
    let (body, height) = drawn(scene);
    let words = format!("Log {}, margins are estimates", scene.subject.log);
    let foot = text("small soft", Anchor::End, [WIDE - 24.0, height + 24.0], &words);
    alone(
        &format!(
            "How many columns of a layer of log {} could be taken",
            scene.subject.log
        ),
        WIDE,
        height + 44.0,
        &(body + &foot),
    )
}

/// The same for a page.
pub(super) fn figure_of(scene: &Scene<'_>) -> String {
    let (body, height) = drawn(scene);
    inline("margins", "margins by columns taken", WIDE, height, &body)
}

fn drawn(scene: &Scene<'_>) -> (String, f64) {
    let Some(layer) = layer(scene) else {
        let words = "No layer has columns that could be taken.";
        return (text("tiny soft", Anchor::Start, [24.0, 40.0], words), 60.0);
    };
    let (mut body, mut foot) = key(scene, &layer);
    let demanded = Factors::demanded(scene.subject.setup);
    for (way, (name, wanted)) in demanded.named().into_iter().enumerate() {
        foot += PANEL + OVER;
        let panel = Panel {
            left: LEFT,
            right: WIDE - RIGHT,
            foot,
            height: PANEL,
            count: layer.columns.len(),
        };
        body.push_str(&strip(&panel, &layer.columns, name, wanted, way));
    }
    let names = Panel {
        left: LEFT,
        right: WIDE - RIGHT,
        foot,
        height: PANEL,
        count: layer.columns.len(),
    };
    (body + &numbers(&names), foot + 82.0)
}

/// One way of giving way: the margins in the cuts of each column, and at rest when it has gone.
fn strip(panel: &Panel, columns: &[Column], name: &str, wanted: f64, way: usize) -> String {
    let of = |margins: &Margins| [margins.roll(), margins.slip, margins.lift][way];
    let during: Vec<f64> = columns.iter().map(|column| of(&column.during)).collect();
    let rest: Vec<f64> = columns.iter().map(|column| of(&column.rest)).collect();
    let title = [8.0, panel.foot - PANEL / 2.0 - 10.0];
    [
        panel.ground(wanted, true),
        text("small", Anchor::Start, title, &capital(name)),
        panel.row(&rest, Mark::Hollow, panel.beside()),
        panel.row(&during, Mark::Filled, -panel.beside()),
        figures(panel, &during, &rest, wanted),
    ]
    .concat()
}

/// The lesser of both margins over each column, or the least of all alone.
fn figures(panel: &Panel, during: &[f64], rest: &[f64], wanted: f64) -> String {
    let lesser: Vec<f64> = during.iter().zip(rest).map(|(a, b)| a.min(*b)).collect();
    let least = lesser.iter().copied().fold(f64::INFINITY, f64::min);
    let mut told = false;
    let mut drawn = String::new();
    for (column, margin) in lesser.into_iter().enumerate() {
        let x = panel.across(column);
        if margin.is_infinite() {
            drawn.push_str(&text("tiny soft", Anchor::Middle, [x, panel.foot - 8.0], "–"));
            continue;
        }
        if panel.count > WITH_FIGURES && (told || margin > least) {
            continue;
        }
        told |= margin <= least;
        // Below its mark where there is room down to what is demanded, else over both.
        let under = panel.up(margin) + 32.0;
        let both = [during, rest].map(|margins| margins.get(column).copied());
        let finite = both.into_iter().flatten().filter(|margin| margin.is_finite());
        let alone = finite.clone().count() < 2;
        let y = if !alone && under < panel.up(wanted) - 6.0 {
            under
        } else {
            panel.up(finite.fold(wanted, f64::max)) - 14.0
        };
        let words = if margin > 99.0 {
            "99+".to_owned()
        } else {
            figure(margin)
        };
        let class = if margin < wanted { "tiny now" } else { "tiny" };
        drawn.push_str(&text(class, Anchor::Middle, [x, y], &words));
    }
    drawn
}

/// How many columns have been taken, below the panels.
fn numbers(panel: &Panel) -> String {
    let every = panel.count.div_ceil(2 * WITH_FIGURES).max(1);
    let mut drawn = String::new();
    for column in (0..panel.count).step_by(every) {
        let place = [panel.across(column), panel.foot + 34.0];
        drawn.push_str(&text("tiny", Anchor::Middle, place, &(column + 1).to_string()));
    }
    let place = [LEFT, panel.foot + 68.0];
    drawn + &text("tiny soft", Anchor::Start, place, "columns taken")
}

/// What the marks mean and what is reckoned, and how high that is.
fn key(scene: &Scene<'_>, layer: &Layer) -> (String, f64) {
    let mut drawn = String::new();
    let mut x = 24.0;
    let sample = Panel {
        left: 0.0,
        right: WIDE,
        foot: 0.0,
        height: PANEL,
        count: 1,
    };
    for (mark, class, words) in [
        (Mark::Filled, "solid", "in its two cuts"),
        (Mark::Hollow, "box", "at rest when it has gone"),
    ] {
        let mut path = Path::new();
        sample.mark(&mut path, [x + 10.0, 32.0], mark);
        drawn.push_str(&path.element(class));
        drawn.push_str(&text("tiny", Anchor::Start, [x + 32.0, 40.0], words));
        x += 44.0 + run_of(words, 24.0) + 16.0;
    }
    let mut line = Path::new();
    line.line([x, 32.0], [x + 40.0, 32.0]);
    drawn.push_str(&line.element("demand"));
    drawn.push_str(&text("tiny", Anchor::Start, [x + 52.0, 40.0], "demanded"));
    let mut y = 54.0;
    for words in broken(&told(scene, layer), LETTERS) {
        y += 30.0;
        drawn.push_str(&text("tiny soft", Anchor::Start, [24.0, y], &words));
    }
    (drawn, y + 6.0)
}

fn told(scene: &Scene<'_>, layer: &Layer) -> String {
    let all = layer.columns.len();
    let taken = held(scene.subject.setup.mill, &layer.columns);
    let floor = scene.subject.system.size(layer.floor.from_origin());
    let so_many = if taken == all {
        format!("All {all} can be taken, and nothing moves")
    } else if taken == 0 {
        "With the first something would move".to_owned()
    } else {
        format!("{taken} of {all} can be taken before something would move")
    };
    format!(
        "The layer down to {floor}, its columns taken one after the other from the entry side, each by a flat and an \
         upright kerf at the fastest feed at which nothing moves, the other rules not asked. {so_many}. Figures: the \
         lesser of both."
    )
}

/// The layer with the most upright kerfs, taken column by column.
fn layer(scene: &Scene<'_>) -> Option<Layer> {
    let (floor, over, corners) = widest(scene)?;
    let mut saw = Saw::new(scene.subject.setup);
    if let Some(over) = over {
        saw.open(over);
    }
    let columns = saw.columns(floor, &corners);
    (!columns.is_empty()).then_some(Layer { floor, columns })
}

/// Its floor, that of the layer over it, and the corners of its upright kerfs from the entry side.
fn widest(scene: &Scene<'_>) -> Option<(Position, Option<Position>, Vec<Position>)> {
    let steps = scene.subject.trace.moves.iter().map(|traced| &traced.step);
    let upright: Vec<_> = steps
        .filter(|step| matches!(step.told, Move::Cut(_)) && step.before.angle == Angle::Upright)
        .filter(|step| step.cut.is_some_and(|facts| facts.met.is_some()))
        .map(|step| step.before)
        .collect();
    let mut widest: Option<(Position, Option<Position>, Vec<Position>)> = None;
    let mut over = None;
    for floor in &scene.floors {
        let here = |height: Position| *floor <= height && over.is_none_or(|over| height < over);
        let own = upright.iter().filter(|pose| here(pose.height));
        let mut corners: Vec<Position> = own.map(|pose| pose.across).collect();
        corners.sort_unstable();
        corners.dedup();
        let most = widest.as_ref().map_or(0, |(_, _, corners)| corners.len());
        if corners.len() > most {
            widest = Some((*floor, over, corners));
        }
        over = Some(*floor);
    }
    widest
}
