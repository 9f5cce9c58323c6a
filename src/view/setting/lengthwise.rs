//! The log over its bunks, near end left: where the bunks stand, and how high the centres of both ends come to lie.

use super::super::dogs::dogs;
use super::super::metal;
use super::super::parts::bare;
use super::super::plane::um;
use super::super::scene::Scene;
use super::super::side::{Rail, bunks, silhouette};
use super::super::svg::{Anchor, Path, WIDE, run_of, text};
use super::{Part, upright};

/// Room on either side of the log, for the figures of its ends.
pub(super) const BESIDE: f64 = 190.0;
/// Room above it, for the title and the names of the ends.
const TOP: f64 = 112.0;
/// Height of a bunk's name with its place.
const LABEL: f64 = 76.0;

pub(super) fn view(scene: &Scene<'_>) -> Part {
    let shape = &scene.subject.setup.shape;
    let rail = Rail::around(scene, BESIDE, TOP, 60.0);
    let mut drawn = text(
        "",
        Anchor::Start,
        [24.0, 46.0],
        "From the side, with the centres above the bed",
    );
    drawn.push_str(&bunks(scene, &rail));
    drawn.push_str(&silhouette(&rail, shape.rough(), "bark"));
    drawn.push_str(&silhouette(&rail, shape.wood(), "wood"));
    for dog in dogs(scene).iter().filter(|dog| dog.holds) {
        drawn.push_str(&dog.side(&rail));
    }
    drawn.push_str(&ends(scene, &rail));
    drawn.push_str(&metal::from_side(scene, &rail, None));
    let (labels, lines) = labels(scene, &rail);
    drawn.push_str(&labels);
    (drawn, rail.height + LABEL * lines)
}

/// Both ends: the line through their centres, and its height.
fn ends(scene: &Scene<'_>, rail: &Rail) -> String {
    let mut drawn = String::new();
    let mut line = Path::new();
    let places = scene
        .sheet
        .ends
        .each_ref()
        .map(|end| [rail.x(um(end.at_um)), rail.y(um(end.centre_height_um))]);
    line.line(places[0], places[1]);
    drawn.push_str(&line.element("centre"));
    let bed = rail.y(0.0);
    for ((end, [x, y]), way) in scene.sheet.ends.iter().zip(places).zip([-1.0, 1.0]) {
        let figure = bare(scene.subject.system, end.centre_height_um.from_origin());
        drawn.push_str(&upright(x, x + way * 30.0, [bed, y], way, &figure));
    }
    let y = TOP - 26.0;
    drawn
        + &text("small soft", Anchor::Start, [24.0, y], "near end")
        + &text("small soft", Anchor::End, [WIDE - 24.0, y], "far end")
}

/// The bunks' numbers and places; how many lines they take.
fn labels(scene: &Scene<'_>, rail: &Rail) -> (String, f64) {
    let mut drawn = String::new();
    let mut taken = [f64::NEG_INFINITY; 2];
    let mut lines = 1.0_f64;
    for row in &scene.sheet.bunks {
        let (name, from) = (
            format!("bunk {}", row.bunk),
            scene.subject.system.run(row.from_near_end_um),
        );
        let half = run_of(&name, 28.0).max(run_of(&from, 28.0)) / 2.0;
        let x = rail.x(um(row.at_um));
        let line = usize::from(x - half < taken[0] + 8.0);
        taken[line] = x + half;
        let y = rail.y(0.0) + 60.0 + LABEL * line as f64;
        lines = lines.max(1.0 + line as f64);
        drawn.push_str(&text("small", Anchor::Middle, [x, y], &name));
        drawn.push_str(&text("small", Anchor::Middle, [x, y + 34.0], &from));
    }
    (drawn, lines)
}
