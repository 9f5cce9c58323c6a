//! Metal in the log as it is drawn: a crossed box where it lies, no smaller than can be seen, with its number.

use bunkside_planner::geometry::Block;
use bunkside_planner::stock::Stock;

use super::plane::{Plane, um};
use super::scene::Scene;
use super::side::Rail;
use super::svg::{Anchor, Path, Place, TINY, run_of, text};
use crate::account::metal::still_there;

/// The least width and height of a mark, in units.
const LEAST: f64 = 22.0;
/// How much wider bold letters run, at most.
const BOLD: f64 = 1.12;
/// Height of a line of the key.
pub(super) const LINE: f64 = 56.0;

/// Looking along the log: all of it, or what some stock still holds.
pub(super) fn in_section(scene: &Scene<'_>, plane: &Plane, stock: Option<&Stock>) -> String {
    marks(scene, stock, (plane.exit, ""), &|place| {
        let [a, b] = plane.corners(place.across, place.height);
        [a, b]
    })
}

/// From the side: all of it, or what some stock still holds.
pub(super) fn from_side(scene: &Scene<'_>, rail: &Rail, stock: Option<&Stock>) -> String {
    let word = if stock.is_none() { "metal " } else { "" };
    marks(scene, stock, (1.0, word), &|place| {
        [
            [rail.x(um(place.travel.lo)), rail.y(um(place.height.lo))],
            [rail.x(um(place.travel.hi)), rail.y(um(place.height.hi))],
        ]
    })
}

fn marks(
    scene: &Scene<'_>,
    stock: Option<&Stock>,
    (way, word): (f64, &str),
    corners: &dyn Fn(Block) -> [[f64; 2]; 2],
) -> String {
    let places = scene.subject.setup.log.metal.iter().map(Block::from_record);
    let held = (1..)
        .zip(places)
        .filter(|(_, place)| stock.is_none_or(|stock| still_there(stock, *place)));
    held.map(|(number, place)| {
        let [a, b] = corners(place);
        let axis = |axis: usize| {
            let middle = f64::midpoint(a[axis], b[axis]);
            let half = ((a[axis] - b[axis]).abs() / 2.0).max(LEAST / 2.0);
            [middle - half, middle + half]
        };
        let ([left, right], [top, bottom]) = (axis(0), axis(1));
        let from = if way > 0.0 { right } else { left };
        let anchor = if way > 0.0 { Anchor::Start } else { Anchor::End };
        let middle = f64::midpoint(top, bottom);
        let words = format!("{word}{}", name(number));
        // No line runs through the words, not even between two of them.
        let mut behind = Path::new();
        behind.rect(
            [from + way * 4.0, middle - 15.0],
            [from + way * (10.0 + wide(&words)), middle + 13.0],
        );
        crossed([left, top], [right, bottom])
            + &behind.element("paper")
            + &text("tiny number", anchor, [from + way * 8.0, middle + 10.0], &words)
    })
    .collect()
}

/// How wide the words beside a mark are, in units.
fn wide(words: &str) -> f64 {
    run_of(words, TINY) * BOLD
}

/// How much of a box in a section, by the box of its number, is left beside the marks of metal in it: the larger side of each.
pub(super) fn beside(plane: &Plane, marks: &[Block], [low, high]: [Place; 2]) -> [Place; 2] {
    let least = LEAST / plane.scale;
    let label = (16.0 + wide(&name(1))) / plane.scale;
    marks.iter().fold([low, high], |[low, high], mark| {
        let stretch = |lo: f64, hi: f64| {
            let (middle, half) = (f64::midpoint(lo, hi), ((hi - lo) / 2.0).max(least / 2.0));
            (middle - half, middle + half)
        };
        let (down, up) = stretch(um(mark.height.lo), um(mark.height.hi));
        let (left, right) = stretch(um(mark.across.lo), um(mark.across.hi));
        // Its words stand on the exit side of it.
        let right = right + label;
        if up < low[1] || down > high[1] || right < low[0] || left > high[0] {
            [low, high]
        } else if left - low[0] >= high[0] - right {
            [low, [left.max(low[0]), high[1]]]
        } else {
            [[right.min(high[0]), low[1]], high]
        }
    })
}

fn crossed([left, top]: [f64; 2], [right, bottom]: [f64; 2]) -> String {
    let mut path = Path::new();
    path.rect([left, top], [right, bottom]);
    path.line([left, top], [right, bottom]);
    path.line([left, bottom], [right, top]);
    path.element("box")
}

/// `M1`.
pub(super) fn name(number: usize) -> String {
    format!("M{number}")
}

/// A line of a drawing's key for every place, from a height on.
pub(super) fn key(scene: &Scene<'_>, top: f64) -> String {
    let lines = scene.metal.iter().enumerate();
    lines
        .map(|(line, metal)| {
            let y = top + LINE * line as f64;
            let name = name(metal.metal);
            let words = format!("metal, {}", metal.along_words(scene.subject.system));
            crossed([24.0, y], [24.0 + 34.0, y + 34.0])
                + &text("number", Anchor::Start, [72.0, y + 29.0], &name)
                + &text(
                    "",
                    Anchor::Start,
                    [72.0 + run_of(&name, 38.0) + 14.0, y + 29.0],
                    &words,
                )
        })
        .collect()
}
