//! How the cards of the steps are read, once before the first of them: what their drawings show, and which face a figure is that
//! of.

use std::fmt::Write;

use bunkside_protocol::{Angle, Move, Stroke};

use super::super::parts::{Kind, Part};
use super::super::scene::Scene;
use super::super::svg::{Path, head};
use super::super::way::mark;
use super::words::kept;

/// Width and height of a sign.
const SIGN: [f64; 2] = [72.0, 46.0];

/// The whole section.
pub(super) fn reading(scene: &Scene<'_>) -> String {
    let mut page = String::from(
        "<section class=\"reading\" aria-labelledby=\"reading\">\n<h2 id=\"reading\">How to read the steps</h2>\n<ul class=\"signs\">\n",
    );
    for (sign, words) in signs(scene) {
        let [wide, high] = SIGN;
        let _ = writeln!(
            page,
            "<li><svg viewBox=\"0 0 {wide} {high}\" aria-hidden=\"true\">{sign}</svg><span>{words}</span></li>"
        );
    }
    let _ = write!(page, "</ul>\n<p>{}</p>\n</section>\n", kept(&faces(scene)));
    page
}

/// A sign, and what it means.
type Sign = (String, &'static str);

/// Every sign of the drawings that these steps have.
fn signs(scene: &Scene<'_>) -> Vec<Sign> {
    let mut signs = of_strokes(scene);
    let field = |class: &str| rect(class, [4.0, 4.0], [68.0, 42.0]);
    signs.push((level("ghost gone"), "wood that is gone"));
    signs.push((rect("free", [6.0, 6.0], [66.0, 40.0]), "a piece that lies loose"));
    signs.push((field("stipple") + &field("plan"), "slab or waste"));
    let released = |part: &Part| part.released && part.kind == Kind::Board;
    if scene.parts.iter().any(released) {
        signs.push((field("hatch") + &field("plan"), "boards released together"));
    }
    if !scene.wedged.is_empty() {
        signs.push((wedge(), "a wedge in a kerf"));
    }
    signs
}

/// Blade, kerf and stroke.
fn of_strokes(scene: &Scene<'_>) -> Vec<Sign> {
    let cuts = || {
        let moves = scene.subject.trace.moves.iter().map(|traced| &traced.step);
        moves.filter(|step| matches!(step.told, Move::Cut(_)))
    };
    let mut signs = vec![
        (level("kerf deep"), "the kerf that is cut now"),
        (level("next"), "the next kerf"),
        (
            rect("blade", [2.0, 20.0], [70.0, 26.0]),
            "the blade, seen on its edge",
        ),
        (
            rect("house", [8.0, 4.0], [64.0, 42.0]),
            "hub and housing of the blade",
        ),
    ];
    for (stroke, words) in [
        (
            Stroke::Outbound,
            "the stroke runs outbound, away from the near end",
        ),
        (
            Stroke::Homebound,
            "the stroke runs homebound, towards the near end",
        ),
    ] {
        if cuts().any(|step| step.stroke == Some(stroke)) {
            signs.push((mark(Some(stroke), [36.0, 23.0]), words));
        }
    }
    signs.push((
        arrow(),
        "below, from the side: the stroke, thick where there is wood",
    ));
    if cuts().any(|step| step.before.angle == Angle::Upright) {
        let circle = r#"<circle class="blade" cx="36" cy="23" r="20"/>"#;
        signs.push((
            circle.to_owned(),
            "there: the upright blade where its stroke begins",
        ));
    }
    signs
}

fn level(class: &str) -> String {
    let mut path = Path::new();
    path.line([2.0, 23.0], [70.0, 23.0]);
    path.element(class)
}

fn rect(class: &str, from: [f64; 2], to: [f64; 2]) -> String {
    let mut path = Path::new();
    path.rect(from, to);
    path.element(class)
}

fn arrow() -> String {
    let (mut air, mut wood, mut tip) = (Path::new(), Path::new(), Path::new());
    air.line([2.0, 23.0], [50.0, 23.0]);
    wood.line([14.0, 23.0], [40.0, 23.0]);
    tip.closed(head([70.0, 23.0], [1.0, 0.0], 30.0));
    air.element("kerf air") + &wood.element("kerf deep") + &tip.element("flow")
}

fn wedge() -> String {
    let mut path = Path::new();
    path.closed([[26.0, 4.0], [46.0, 4.0], [36.0, 42.0]]);
    path.element("wedge")
}

/// Which face of a kerf a figure on the cards is that of.
fn faces(scene: &Scene<'_>) -> String {
    format!(
        "What the figures on the cards mean: across is the face that an upright kerf leaves on its exit side, or the rim of the flat \
         blade; a height is the face that a flat kerf leaves below it, or how far down an upright one goes. The kerf itself, {}, lies \
         on the entry side of the one and above the other.",
        scene
            .subject
            .system
            .size_both(scene.subject.setup.mill.blade.kerf)
    )
}
