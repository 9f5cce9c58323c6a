//! How the wood would be held if the columns of a layer were taken one after the other from the entry side: the margins
//! against rolling, sliding and lifting after each of them, with what is demanded as a line across.
//!
//! The layer is the one with the widest face of those that the sequence cuts into columns, the upper of two. What is plotted is reckoned as the table
//! of `planner/STATICS.md` is; see [`crate::columns`].

use bunkside_planner::physics::margins::Margins;
use bunkside_protocol::{Angle, Length, Move, Position};

use super::plot::{Mark, Panel, broken};
use super::scene::Scene;
use super::svg::{Anchor, Path, TINY, WIDE, document as alone, escape, inline, num, run_of, text};
use crate::account::feeds::{Factors, figure};
use crate::columns::{Column, Saw, held};

const LEFT: f64 = 150.0;
const RIGHT: f64 = 20.0;
/// Height of a panel, and of the room over it for figures.
const PANEL: f64 = 150.0;
const OVER: f64 = 44.0;
/// With more columns than this only the least figure of a panel is told.
const WITH_FIGURES: usize = 13;
/// With no more than so many it is written out what the figures count.
const WRITTEN_OUT: usize = 5;
/// Between two marks so far apart a figure has room.
const ROOM: f64 = 50.0;
/// How many letters a line holds.
const LETTERS: usize = 74;

/// The wood between two flat kerfs.
struct Face {
    /// Its number among the layers, from the top.
    number: usize,
    floor: Position,
    /// The floor of the layer over it.
    over: Option<Position>,
    width: Length,
    /// The corners of its upright kerfs, from the entry side.
    corners: Vec<Position>,
}

/// A layer, and what taking its columns does.
struct Layer {
    face: Face,
    columns: Vec<Column>,
}

/// The plot alone.
pub(super) fn document(scene: &Scene<'_>) -> String {
    let layer = layer(scene);
    let words = layer.as_ref().map(|layer| told(scene, layer));
    let (body, height) = drawn(scene, layer.as_ref(), words.as_deref());
    let words = format!("Log {}, margins are estimates", scene.subject.log);
    let foot = text("small soft", Anchor::End, [WIDE - 24.0, height + 24.0], &words);
    let title = format!(
        "What the statics compute were the columns of a layer of log {} taken one by one",
        scene.subject.log
    );
    alone(&title, WIDE, height + 44.0, &(body + &foot))
}

/// The same for a page, where words are no part of the drawing.
pub(super) fn figure_of(scene: &Scene<'_>) -> String {
    let layer = layer(scene);
    let (body, height) = drawn(scene, layer.as_ref(), None);
    let label = "margins by columns taken, as the statics compute them";
    let figure = inline("margins", label, WIDE, height, &body);
    let words = layer.map_or_else(String::new, |layer| told(scene, &layer));
    format!("<p class=\"soft\">{}</p>{figure}", escape(&words))
}

/// The plot, with words in it.
fn drawn(scene: &Scene<'_>, layer: Option<&Layer>, words: Option<&str>) -> (String, f64) {
    let Some(layer) = layer else {
        let words = "No layer has columns that could be taken.";
        return (text("tiny soft", Anchor::Start, [24.0, 40.0], words), 60.0);
    };
    let (mut body, mut foot) = key(words);
    let top = foot + OVER;
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
    let taken = held(scene.subject.setup.mill, &layer.columns);
    if taken < layer.columns.len() {
        body.push_str(&refused(&names, taken, top));
    }
    (body + &numbers(&names), foot + 82.0)
}

/// Where the statics refuse: before the first column with which something would move.
fn refused(panel: &Panel, taken: usize, top: f64) -> String {
    let x = panel.left + panel.step() * taken as f64;
    let mut line = Path::new();
    line.line([x, top], [x, panel.foot + 46.0]);
    let (anchor, by) = if x < WIDE / 2.0 {
        (Anchor::Start, 8.0)
    } else {
        (Anchor::End, -8.0)
    };
    let (words, at) = match anchor {
        Anchor::End => ("refused to the right of this line", [x + by, panel.foot + 68.0]),
        _ => ("refused from here on", [x + by, panel.foot + 68.0]),
    };
    line.element("next") + &text("tiny number", anchor, at, words)
}

/// One way of giving way: the margins in the cuts of each column, and at rest when it has gone.
fn strip(panel: &Panel, columns: &[Column], name: &str, wanted: f64, way: usize) -> String {
    let of = |margins: &Margins| [margins.roll(), margins.slip, margins.lift][way];
    let during: Vec<f64> = columns.iter().map(|column| of(&column.during)).collect();
    let rest: Vec<f64> = columns.iter().map(|column| of(&column.rest)).collect();
    let title = [8.0, panel.foot - PANEL * 0.6 - 4.0];
    let unit = [8.0, title[1] + 26.0];
    [
        panel.ground(wanted, true),
        text("small", Anchor::Start, title, against(name)),
        text("tiny soft", Anchor::Start, unit, "held"),
        panel.row(&rest, Mark::Hollow, panel.beside()),
        panel.row(&during, Mark::Filled, -panel.beside()),
        figures(panel, &during, &rest, wanted),
    ]
    .concat()
}

/// What is held off, as it stands beside its panel.
fn against(name: &str) -> &'static str {
    match name {
        "roll" => "Rolling",
        "slip" => "Sliding",
        _ => "Lifting",
    }
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
        let words = if margin > 99.0 {
            "99+".to_owned()
        } else if panel.count <= WRITTEN_OUT {
            format!("{} times", figure(margin))
        } else {
            figure(margin)
        };
        let both = [during, rest].map(|margins| margins.get(column).copied());
        let place = beside(panel, both, wanted, run_of(&words, TINY));
        let place = [x + place[0], place[1]];
        let class = if margin < wanted { "tiny now" } else { "tiny" };
        if margin < wanted {
            let half = run_of(&words, TINY) / 2.0 + 6.0;
            let ([x, y], wide) = (place, 2.0 * half);
            let (x, y) = (x - half, y - 25.0);
            let paper = format!(
                r#"<rect class="paper" x="{}" y="{}" width="{}" height="30"/>"#,
                num(x),
                num(y),
                num(wide)
            );
            drawn.push_str(&paper);
        }
        drawn.push_str(&text(class, Anchor::Middle, place, &words));
    }
    drawn
}

/// Where the lesser of two margins is told, from the middle of its column on: on the outer side of its own mark where a column
/// is that wide, else below it, or over it or both where it would come on the line of what is demanded; over it where it is the
/// only one. One that is less than is demanded stands in the hatched part, and no other does.
fn beside(panel: &Panel, both: [Option<f64>; 2], wanted: f64, run: f64) -> [f64; 2] {
    let [during, rest] = both.map(|margin| margin.unwrap_or(f64::INFINITY));
    let (way, margin) = if during <= rest {
        (-1.0, during)
    } else {
        (1.0, rest)
    };
    let x = way * panel.beside();
    let line = panel.up(wanted);
    if margin < wanted {
        return [x, line + 28.0];
    }
    if during.is_infinite() || rest.is_infinite() {
        return [x, panel.up(margin) - 14.0];
    }
    if 2.0 * (run + 30.0) < panel.step() {
        let beside = (panel.up(margin) + 8.0).min(line - 8.0);
        return [x + way * (run / 2.0 + 14.0), beside];
    }
    let under = panel.up(margin) + 34.0;
    let [own, other] = [margin, during.max(rest)].map(|margin| panel.up(margin));
    let y = match under < line - 6.0 {
        true => under,
        false if own - other > ROOM => own - 14.0,
        false => other - 16.0,
    };
    [x, y]
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
    drawn
        + &text(
            "tiny soft",
            Anchor::Start,
            place,
            "columns taken, from the entry side",
        )
}

/// What the marks mean and what is reckoned, and how high that is.
fn key(words: Option<&str>) -> (String, f64) {
    let title = "How many times over the wood would be held: what the statics compute";
    let mut drawn = text("small", Anchor::Start, [24.0, 40.0], title);
    let mut x = 24.0;
    let sample = Panel {
        left: 0.0,
        right: WIDE,
        foot: 0.0,
        height: PANEL,
        count: 1,
    };
    for (mark, class, words) in [
        (Mark::Filled, "solid", "while a column is cut"),
        (Mark::Hollow, "box", "once it is gone"),
    ] {
        let mut path = Path::new();
        sample.mark(&mut path, [x + 10.0, 82.0], mark);
        drawn.push_str(&path.element(class));
        drawn.push_str(&text("tiny", Anchor::Start, [x + 32.0, 90.0], words));
        x += 44.0 + run_of(words, TINY) + 16.0;
    }
    let mut line = Path::new();
    line.line([x, 82.0], [x + 40.0, 82.0]);
    drawn.push_str(&line.element("demand"));
    drawn.push_str(&text("tiny", Anchor::Start, [x + 52.0, 90.0], "limit"));
    let mut y = 104.0;
    for words in words.map(|words| broken(words, LETTERS)).unwrap_or_default() {
        y += 34.0;
        drawn.push_str(&text("tiny soft", Anchor::Start, [24.0, y], &words));
    }
    (drawn, y + 6.0)
}

fn told(scene: &Scene<'_>, layer: &Layer) -> String {
    let all = layer.columns.len();
    let taken = held(scene.subject.setup.mill, &layer.columns);
    let system = scene.subject.system;
    let floor = system.size(layer.face.floor.from_origin());
    let (number, wide) = (layer.face.number, system.size(layer.face.width));
    let so_many = if taken == all {
        format!("none of the {all} columns would move anything")
    } else if taken == 0 {
        "with the first something would move, and it is refused".to_owned()
    } else {
        format!(
            "{taken} of {all} columns move nothing, with the next something would move, and it is refused"
        )
    };
    format!(
        "What it is for: to see how firmly this log lies, and how many columns could come off one after the other before the \
         wood moves. It is no order to saw by: that stands in the steps, and other rules may refuse sooner. It shows the widest \
         layer, {wide} across (over flat kerf {number} from the top, down to {floor}). Its columns are taken one after the other \
         from the entry side, each by a flat and an upright kerf, the last by flat kerfs \
         alone, at the fastest feed at which nothing moves: {so_many}. A figure is holding force over driving force, the \
         lesser of both marks: at 1 the wood is about to move; in the hatched part, below the limit, the cut is refused. \
         Logarithmic scale."
    )
}

/// The layer with the widest face, taken column by column.
fn layer(scene: &Scene<'_>) -> Option<Layer> {
    let face = widest(scene)?;
    let mut saw = Saw::new(scene.subject.setup);
    if let Some(over) = face.over {
        saw.open(over);
    }
    let mut columns = saw.columns(face.floor, &face.corners);
    if !columns.is_empty() {
        columns.extend(saw.last(face.floor));
    }
    (!columns.is_empty()).then_some(Layer { face, columns })
}

/// The layer with the widest face of those that have upright kerfs.
fn widest(scene: &Scene<'_>) -> Option<Face> {
    let steps = scene.subject.trace.moves.iter().map(|traced| &traced.step);
    let upright: Vec<_> = steps
        .filter(|step| matches!(step.told, Move::Cut(_)) && step.before.angle == Angle::Upright)
        .filter(|step| step.cut.is_some_and(|facts| facts.met.is_some()))
        .map(|step| step.before)
        .collect();
    let mut widest: Option<Face> = None;
    let mut over = None;
    for (number, floor) in (1..).zip(&scene.floors) {
        let here = |height: Position| *floor <= height && over.is_none_or(|over| height < over);
        let own = upright.iter().filter(|pose| here(pose.height));
        let mut corners: Vec<Position> = own.map(|pose| pose.across).collect();
        corners.sort_unstable();
        corners.dedup();
        let face = Face {
            number,
            floor: *floor,
            over,
            width: width(scene, *floor, over),
            corners,
        };
        let wider = widest.as_ref().is_none_or(|known| face.width > known.width);
        if !face.corners.is_empty() && wider {
            widest = Some(face);
        }
        over = Some(*floor);
    }
    widest
}

/// How wide the wood between two heights is at its widest.
fn width(scene: &Scene<'_>, floor: Position, over: Option<Position>) -> Length {
    let top = over.unwrap_or(scene.bounds.height.hi);
    let sections = scene.subject.setup.shape.wood().iter();
    let chords =
        sections.filter_map(|section| section.chord(section.centre_height().clamp(floor, top.max(floor))));
    chords.map(|chord| chord.length()).max().unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_figure_stands_at_the_lesser_mark() {
        let panel = Panel {
            left: 0.0,
            right: 800.0,
            foot: 200.0,
            height: 150.0,
            count: 4,
        };
        let place = |during, rest| beside(&panel, [Some(during), Some(rest)], 1.2, 50.0);
        for (lesser, other) in [(2.3, 3.1), (1.3, 12.0), (2.3, 2.3)] {
            let [x, y] = place(lesser, other);
            assert!(
                x < -panel.beside() && (y - panel.up(lesser)).abs() < 10.0,
                "{x} {y}"
            );
            if lesser < other {
                let [x, y] = place(other, lesser);
                assert!(
                    x > panel.beside() && (y - panel.up(lesser)).abs() < 10.0,
                    "{x} {y}"
                );
            }
        }
        let alone = beside(&panel, [Some(2.0), Some(f64::INFINITY)], 1.2, 50.0);
        assert_eq!(alone, [-panel.beside(), panel.up(2.0) - 14.0]);
        let many = Panel { count: 13, ..panel };
        let figure = |during, rest| {
            let [x, y] = beside(&many, [Some(during), Some(rest)], 1.2, 50.0);
            assert_eq!(x < 0.0, during < rest, "on the side of its mark");
            y
        };
        let line = many.up(1.2);
        assert!(figure(6.0, 9.0) > many.up(6.0) + 20.0, "below the lesser");
        let between = figure(1.3, 9.0);
        assert!(
            between < many.up(1.3) - 10.0 && between > many.up(9.0) + 30.0,
            "over its own mark"
        );
        assert!(
            figure(2.0, 2.5) < many.up(2.5) - 10.0,
            "over both, clear of the limit"
        );
        let refused = figure(9.0, 0.9);
        assert!(
            refused > line + 25.0 && refused < many.foot,
            "in the hatched part"
        );
    }
}
