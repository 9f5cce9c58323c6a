//! The log from above, where it bows or lies to one side: its ends on their line, and how far they go to get there.

use bunkside_planner::geometry::Section;
use bunkside_planner::limits::SEAT;
use bunkside_protocol::mill::Side;
use bunkside_protocol::{Length, Position};

use super::super::parts::bare;
use super::super::plane::um;
use super::super::scene::Scene;
use super::super::side::Rail;
use super::super::svg::{Anchor, Path, WIDE, text};
use super::lengthwise::BESIDE;
use super::{Part, upright};

const TOP: f64 = 76.0;

/// None where nothing goes sideways that a tape tells.
pub(super) fn view(scene: &Scene<'_>) -> Option<Part> {
    let sheet = &scene.sheet;
    let told = |length: Length| length.abs() > SEAT;
    let ends = &sheet.ends;
    let sideways = told(sheet.bow.across_um)
        || ends.iter().any(|end| told(end.centre_across_um.from_origin()))
        || ends.iter().any(|end| end.shift_um.is_some_and(told));
    if !sideways {
        return None;
    }
    let rail = Rail::around(scene, BESIDE, 0.0, 0.0);
    let exit = match scene.subject.setup.mill.entry {
        Side::Left => 1.0,
        Side::Right => -1.0,
    };
    let reach = um(scene.bounds.across.hi).max(-um(scene.bounds.across.lo)) * rail.scale;
    let half = reach.max(64.0);
    let middle = TOP + half;
    let y = |across: Position| middle + exit * um(across) * rail.scale;
    let mut drawn = text(
        "",
        Anchor::Start,
        [24.0, 46.0],
        "From above: end centres off the bed's centre line",
    );
    drawn.push_str(&outline(scene, &rail, &y));
    let mut line = Path::new();
    line.line([0.0, middle], [WIDE, middle]);
    drawn.push_str(&line.element("centre"));
    let places = ends
        .each_ref()
        .map(|end| [rail.x(um(end.at_um)), y(end.centre_across_um)]);
    let mut line = Path::new();
    line.line(places[0], places[1]);
    drawn.push_str(&line.element("thin"));
    for ((end, [x, at]), way) in ends.iter().zip(places).zip([-1.0, 1.0]) {
        let off = end.centre_across_um.from_origin();
        if told(off) {
            let figure = bare(scene.subject.system, off.abs());
            let (low, high) = (at.max(middle), at.min(middle));
            drawn.push_str(&upright(x, x + way * 30.0, [low, high], way, &figure));
        }
    }
    for (name, way) in [("entry side", -1.0), ("exit side", 1.0)] {
        let at = middle + exit * way * (half - 4.0) + 10.0;
        drawn.push_str(&text("small soft", Anchor::Start, [24.0, at], name));
    }
    let (words, height) = shifts(scene, middle + half + 54.0);
    Some((drawn + &words, height))
}

fn outline(scene: &Scene<'_>, rail: &Rail, y: &dyn Fn(Position) -> f64) -> String {
    let shape = &scene.subject.setup.shape;
    let along = |section: &Section, across: Position| [rail.x(um(section.travel)), y(across)];
    let mut drawn = String::new();
    for (sections, class) in [(shape.rough(), "bark"), (shape.wood(), "wood")] {
        let entry = sections.iter().map(|one| along(one, one.width().lo));
        let exit = sections.iter().rev().map(|one| along(one, one.width().hi));
        let mut path = Path::new();
        path.closed(entry.chain(exit));
        drawn.push_str(&path.element(class));
    }
    let mut path = Path::new();
    path.open(shape.wood().iter().map(|one| along(one, one.centre_across())));
    drawn + &path.element("ghost")
}

/// How far the ends go from where the log lies centred on its bunks, which is not what is drawn, a line each; and where they
/// end.
fn shifts(scene: &Scene<'_>, from: f64) -> (String, f64) {
    let mut drawn = String::new();
    let mut y = from;
    for (name, end) in ["near", "far"].iter().zip(&scene.sheet.ends) {
        let Some(by) = end.shift_um.filter(|by| by.abs() > SEAT) else {
            continue;
        };
        let side = if by > Length::ZERO { "exit" } else { "entry" };
        if y == from {
            let words = "To move from where the log lies centred on its bunks:";
            drawn.push_str(&text("small", Anchor::Start, [24.0, y], words));
            y += 38.0;
        }
        let words = format!(
            "{name} end {} to the {side} side",
            scene.subject.system.size(by.abs())
        );
        drawn.push_str(&text("small", Anchor::Start, [24.0, y], &words));
        y += 38.0;
    }
    (drawn, y)
}
