//! What the log lies on, as a section shows it, and the scale.

use bunkside_planner::geometry::Section;
use bunkside_protocol::mill::{Bunk, BunkKind};
use bunkside_protocol::{Length, Position};

use super::plane::{Plane, long, um};
use super::scene::Scene;
use super::svg::{Anchor, Path, WIDE, num, text};
use crate::measure::System;

/// Bed, the nearest bunk with its packing, and the wedges, under the log as it lies at a section over bark.
pub(super) fn bed(scene: &Scene<'_>, plane: &Plane, rough: &Section) -> String {
    let mut drawn = ground(plane);
    let mill = scene.subject.setup.mill;
    let Some(bunk) = nearest(&mill.bunks, rough.travel) else {
        return drawn;
    };
    let lowest = um(rough.lowest_across());
    let half = um(scene.bounds.across.hi).max(-um(scene.bounds.across.lo)) * 0.8;
    let top = plane.y(um(bunk.top));
    let kind = match bunk.kind {
        BunkKind::Timber { .. } => "timber",
        BunkKind::Steel => "steel",
    };
    let sides = [lowest - half, lowest + half].map(|across| plane.x(across));
    let mut path = Path::new();
    path.rect([sides[0], top], [sides[1], plane.y(0.0).max(top) + 14.0]);
    drawn.push_str(&path.element(kind));
    let packing = packing(scene, bunk);
    if packing > Length::mm(1) {
        let mut path = Path::new();
        let width = half * 0.34;
        path.rect(
            plane.at([lowest - width, um(bunk.top) + long(packing)]),
            plane.at([lowest + width, um(bunk.top)]),
        );
        drawn.push_str(&path.element("timber"));
    }
    drawn.push_str(&wedges(scene, plane, rough, bunk));
    drawn
}

/// The bed plane, hatched below.
fn ground(plane: &Plane) -> String {
    let mut line = Path::new();
    line.line([0.0, plane.y(0.0)], [WIDE, plane.y(0.0)]);
    let mut earth = Path::new();
    earth.rect([0.0, plane.y(0.0)], [WIDE, plane.y(0.0) + 14.0]);
    earth.element("ground") + &line.element("thin")
}

fn wedges(scene: &Scene<'_>, plane: &Plane, rough: &Section, bunk: &Bunk) -> String {
    let wedges = scene.subject.setup.mill.wedges;
    let (reach, lowest, foot) = (long(wedges.reach), um(rough.lowest_across()), um(bunk.top));
    let mut path = Path::new();
    for side in [-1.0, 1.0] {
        let contact = Position::um((lowest + side * reach) as i64);
        let Some(chord) = rough.standing_chord(contact) else {
            continue;
        };
        let high = um(chord.lo).min(long(wedges.height)).max(foot + 2_000.0);
        let places = [[0.35, foot], [1.0, high], [1.5, high], [1.5, foot]];
        path.closed(places.map(|[out, up]| plane.at([lowest + side * out * reach, up])));
    }
    path.element("free fine")
}

/// The bunk nearest to a place along the rails.
fn nearest(bunks: &[Bunk], travel: Position) -> Option<&Bunk> {
    bunks.iter().min_by_key(|bunk| (bunk.travel - travel).abs())
}

/// How far the log's underside lies over the top of a bunk; zero where the bunk lies beyond the log.
pub(super) fn packing(scene: &Scene<'_>, bunk: &Bunk) -> Length {
    let underside = scene.subject.setup.shape.undersides(bunk.travel);
    underside.map_or(Length::ZERO, |(bark, _)| bark - bunk.top)
}

/// A scale bar from a place on, towards the right: at most so many units long.
pub(super) fn scale_bar(system: System, scale: f64, [x, y]: [f64; 2], longest: f64) -> String {
    let (lengths, unit): (&[i32], _) = match system {
        System::Metric => (&[2_000, 1_000, 500, 200, 100, 50, 20], 1_000.0),
        System::Inches => (&[96, 48, 24, 12, 6, 4, 2, 1], 25_400.0),
    };
    let fits = |length: &&i32| f64::from(**length) * unit * scale <= longest;
    let Some(length) = lengths.iter().find(fits) else {
        return String::new();
    };
    let micrometres = f64::from(*length) * unit;
    let (width, label) = (micrometres * scale, label(system, *length));
    let mut bar = Path::new();
    for quarter in [0.0, 2.0] {
        let from = x + width * quarter / 4.0;
        bar.rect([from, y], [from + width / 4.0, y + 9.0]);
    }
    let mut frame = Path::new();
    frame.rect([x, y], [x + width, y + 9.0]);
    bar.element("tip")
        + &frame.element("thin")
        + &text("small", Anchor::Start, [x + width + 14.0, y + 14.0], &label)
}

fn label(system: System, length: i32) -> String {
    match (system, length) {
        (System::Metric, 1_000..) => format!("{} m", length / 1_000),
        (System::Metric, _) => format!("{length} mm"),
        (System::Inches, 24..) => format!("{} ft", length / 12),
        (System::Inches, _) => format!("{length} in"),
    }
}

/// The bed's centre line, from the bed up.
pub(super) fn centre_line(plane: &Plane, top: f64) -> String {
    let x = plane.x(0.0);
    format!(
        r#"<path class="centre" d="M{},{}V{}"/>"#,
        num(x),
        num(plane.y(0.0) + 30.0),
        num(top)
    )
}
