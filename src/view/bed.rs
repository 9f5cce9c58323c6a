//! What the log lies on, as a section shows it, and the scale.

use bunkside_planner::geometry::Section;
use bunkside_planner::limits::SEAT;
use bunkside_planner::physics::wedges::{at as stand, foot};
use bunkside_protocol::Position;
use bunkside_protocol::mill::{Bunk, BunkKind};

use super::plane::{Plane, long, um};
use super::scene::Scene;
use super::svg::{Anchor, Path, Place, WIDE, num, run_of, text};
use crate::measure::System;

/// Bed, the nearest bunk with its packing, and the wedges, under the log as it lies at a section over bark.
pub(super) fn bed(scene: &Scene<'_>, plane: &Plane, rough: &Section) -> String {
    let mut drawn = ground(plane);
    let mill = scene.subject.setup.mill;
    let Some(bunk) = nearest(&mill.bunks, rough.travel) else {
        return drawn;
    };
    let lowest = um(rough.lowest_across());
    // As wide as the wedges that stand on it, at least.
    let half = um(scene.bounds.across.hi).max(-um(scene.bounds.across.lo)) * 0.8;
    let half = half.max(long(mill.wedges.reach) * 2.0 + 10_000.0);
    let top = plane.y(um(bunk.top));
    let kind = filled(bunk.kind);
    let sides = [lowest - half, lowest + half].map(|across| plane.x(across));
    let mut path = Path::new();
    path.rect([sides[0], top], [sides[1], plane.y(0.0).max(top) + 14.0]);
    drawn.push_str(&path.element(kind));
    if let Some(foot) = foot(bunk, &scene.subject.setup.shape).filter(|foot| *foot - bunk.top > SEAT) {
        let mut path = Path::new();
        path.rect([sides[0], plane.y(um(foot))], [sides[1], top]);
        drawn.push_str(&path.element("timber"));
    }
    drawn.push_str(&wedges(scene, bunk, &[-1.0, 1.0], &|place| plane.at(place)));
    drawn
}

/// How a bunk is filled: a timber one otherwise than the packs on it.
pub(super) const fn filled(kind: BunkKind) -> &'static str {
    match kind {
        BunkKind::Timber { .. } => "beam",
        BunkKind::Steel => "steel",
    }
}

/// What lies under the log, each with its word, from a place on: packs, wedges by their class, bunks, and dogs where they hold.
pub(super) fn key(scene: &Scene<'_>, [from, y]: Place, wedge: &str, dogs: bool) -> String {
    let bunks = &scene.subject.setup.mill.bunks;
    let bunk = bunks.first().map(|bunk| (filled(bunk.kind), "bunk"));
    let dogs = dogs.then_some(("solid", "dog, closed"));
    let mut x = from;
    let mut drawn = String::new();
    let entries = [("timber", "pack"), (wedge, "wedge")].into_iter();
    let wedges = scene.sheet.bunks.is_empty() || scene.sheet.bunks.iter().any(|row| !row.on_face);
    let entries = entries.filter(|(_, words)| wedges || *words != "wedge");
    for (class, words) in entries.chain(bunk).chain(dogs) {
        let mut path = Path::new();
        if class == "wedge" {
            path.closed(
                [[x, 12.0], [x + 15.0, -12.0], [x + 44.0, -18.0], [x + 44.0, 12.0]]
                    .map(|[x, up]| [x, y + up]),
            );
        } else {
            path.rect([x, y - 18.0], [x + 44.0, y + 12.0]);
        }
        drawn.push_str(&path.element(class));
        drawn.push_str(&text("small", Anchor::Start, [x + 54.0, y + 9.0], words));
        x += 54.0 + run_of(words, 28.0) + 26.0;
    }
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

/// The wedges of a bunk on these sides of the log (−1: entry), standing on what carries it there; none for a bunk that is
/// not under it.
pub(super) fn wedges(scene: &Scene<'_>, bunk: &Bunk, sides: &[f64], at: &dyn Fn(Place) -> Place) -> String {
    let (mill, shape) = (scene.subject.setup.mill, &scene.subject.setup.shape);
    let place = foot(bunk, shape)
        .zip(shape.rough_at(bunk.travel))
        .zip(stand(mill, bunk, shape));
    let Some(((foot, rough), met)) = place else {
        return String::new();
    };
    let lowest = um(rough.lowest_across());
    let (foot, tip) = (um(foot), um(foot + mill.wedges.height));
    let mut path = Path::new();
    for side in sides.iter().copied() {
        let contact = if side < 0.0 { met.lo } else { met.hi };
        let under = rough.standing_chord(contact);
        let high = under.map_or(tip, |under| um(under.lo).min(tip));
        let out = (um(contact) - lowest).abs();
        let back = out + long(mill.wedges.reach);
        let places = [[0.35 * out, foot], [out, high], [back, tip], [back, foot]];
        path.closed(places.map(|[away, up]| at([lowest + side * away, up])));
    }
    path.element("wedge")
}

/// The bunk nearest to a place along the rails.
fn nearest(bunks: &[Bunk], travel: Position) -> Option<&Bunk> {
    bunks.iter().min_by_key(|bunk| (bunk.travel - travel).abs())
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
