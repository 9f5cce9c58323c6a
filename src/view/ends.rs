//! The end sections: both ends and the worst place, to one scale.

use bunkside_planner::geometry::Section;
use bunkside_protocol::Length;

use super::bed::{bed, centre_line, scale_bar};
use super::core;
use super::labels::Room;
use super::metal;
use super::outline::{Window, edges, outline, rough};
use super::parts::{Kind, Part, bare, fields, windows};
use super::places::Place;
use super::plane::{Margins, Plane, long, um};
use super::scene::Scene;
use super::spots::{Field, Lettering, Spot, number_at};
use super::svg::{Anchor, Path, WIDE, document as alone, head, inline, num, run_of, text};
use crate::account::bark::under;

const MARGINS: Margins = Margins {
    entry: 150.0,
    exit: 255.0,
    top: 205.0,
    bottom: 150.0,
};
/// How the numbers of pieces are set.
const LETTERING: Lettering = Lettering {
    largest: 84.0,
    smallest: 28.0,
    least: 20.0,
    beside: 30.0,
    of_height: 0.94,
};
/// Height of the row that explains the textures.
const KEY: f64 = 120.0;

/// All sections side by side, near end left, far end right.
pub(super) fn document(scene: &Scene<'_>) -> String {
    let plane = plane(scene);
    let mut body = String::new();
    let mut x = 0.0;
    for (number, place) in ordered(scene).into_iter().enumerate() {
        body.push_str(&format!(
            r#"<svg x="{}" width="{WIDE}" height="{}">{}</svg>"#,
            num(x),
            num(plane.height),
            section(scene, &plane, place, number)
        ));
        x += WIDE;
    }
    body.push_str(&format!(
        r#"<g transform="translate(0 {})">{}</g>"#,
        num(plane.height),
        key(scene)
    ));
    let title = format!("End sections of log {}", scene.subject.log);
    let key = KEY + metal::LINE * scene.metal.len() as f64 + core::key_height(scene);
    alone(&title, x, plane.height + key, &body)
}

/// The section at the smaller end, with its height; `number` is one of its own among all drawings of a file.
pub(super) fn smallest(scene: &Scene<'_>, number: usize) -> (String, f64) {
    let plane = plane(scene);
    let area = |place: &&Place| place.wood.width().length().wide() * place.wood.height().length().wide();
    let place = scene.places.iter().min_by_key(area);
    let section = place.map(|place| section(scene, &plane, place, number));
    (section.unwrap_or_default(), plane.height)
}

/// The sections one by one, for a page.
pub(super) fn figures(scene: &Scene<'_>) -> Vec<String> {
    let plane = plane(scene);
    let places = ordered(scene).into_iter().enumerate();
    places
        .map(|(number, place)| {
            let body = section(scene, &plane, place, number);
            inline("panel", &place.name, WIDE, plane.height, &body)
        })
        .collect()
}

/// Near end left, far end right, what lies between them in the middle.
fn ordered<'s>(scene: &'s Scene<'_>) -> Vec<&'s Place> {
    let mut places: Vec<&Place> = scene.places.iter().collect();
    places.sort_by_key(|place| place.wood.travel);
    places
}

fn plane(scene: &Scene<'_>) -> Plane {
    Plane::of(scene.bounds, scene.subject.setup.mill.entry, MARGINS)
}

fn section(scene: &Scene<'_>, plane: &Plane, place: &Place, number: usize) -> String {
    let mut drawn = title(scene, place);
    drawn.push_str(&bed(scene, plane, &place.rough));
    drawn.push_str(&centre_line(plane, MARGINS.top - 20.0));
    drawn.push_str(&wood(scene, plane, place, number));
    drawn.push_str(&core::in_section(scene, plane, &place.wood));
    drawn.push_str(&metal::in_section(scene, plane, None));
    drawn.push_str(&ordinates(scene, plane));
    drawn.push_str(&width(scene, plane, &place.wood));
    drawn.push_str(&entry(plane));
    drawn.push_str(&foot(scene, plane));
    drawn
}

fn title(scene: &Scene<'_>, place: &Place) -> String {
    let system = scene.subject.system;
    let (width, height) = (place.wood.width().length(), place.wood.height().length());
    let size = format!(
        "{} wide, {} high{}",
        bare(system, width),
        system.size(height),
        under(scene.subject.setup.log.bark)
    );
    let seen = if place.wood.travel == scene.bounds.travel.lo {
        size
    } else {
        format!("{size}, seen from the near end")
    };
    text("head", Anchor::Start, [24.0, 52.0], &place.name)
        + &text("small soft", Anchor::Start, [24.0, 96.0], &seen)
}

/// The pieces and what stays, with gaps where the kerfs went.
fn wood(scene: &Scene<'_>, plane: &Plane, place: &Place, number: usize) -> String {
    let section = &place.wood;
    let rest = windows(&scene.rest, section);
    let mut all: Vec<Window> = rest.clone();
    let mut fills = String::new();
    let kerf = scene.subject.setup.mill.blade.kerf;
    let mut lines = lines(plane, section, &rest, kerf);
    let mut numbers = String::new();
    let spots = spots(scene, plane, place);
    for (part, spot) in scene.parts.iter().zip(&spots) {
        let own = windows(&part.cells, section);
        if part.texture() != "blank" {
            fills.push_str(&field(plane, section, &own).element(part.texture()));
        }
        lines.push_str(&self::lines(plane, section, &own, kerf));
        numbers.push_str(&spot.map_or_else(String::new, |spot| label(scene, part, &spot)));
        all.extend(own);
    }
    let mut clip = Path::new();
    for (across, height) in &all {
        let [a, b] = plane.corners(*across, *height);
        clip.rect(a, b);
    }
    let bark = scene.subject.setup.shape.bark();
    let mut skin = String::new();
    if long(bark) > 0.0 {
        let mut path = Path::new();
        let by = (long(bark) * 0.35).min(4_000.0);
        path.closed(rough(&place.rough, by).into_iter().map(|at| plane.at(at)));
        skin.push_str(&path.element("bark"));
    }
    let mut path = Path::new();
    path.closed(outline(section).into_iter().map(|at| plane.at(at)));
    skin.push_str(&path.element("wood"));
    let stays = scene_rest_label(plane, section, &rest);
    format!(
        r#"{fills}<clipPath id="e{number}"><path d="{}"/></clipPath><g clip-path="url(#e{number})">{skin}</g>{lines}{numbers}{stays}"#,
        clip.text()
    )
}

/// Where the numbers stand, in the order of the pieces: in their fields, else beside the log where a line to one can be followed;
/// none where the section does not hold the piece.
fn spots(scene: &Scene<'_>, plane: &Plane, place: &Place) -> Vec<Option<Spot>> {
    let parts = || scene.parts.iter();
    let fields: Vec<Option<Field>> = parts().map(|part| Field::of(plane, part, place)).collect();
    let mut spots: Vec<Option<Spot>> = parts()
        .zip(&fields)
        .map(|(part, field)| Spot::inside((*field)?, part.serial, LETTERING))
        .collect();
    let top = plane.y(um(scene.bounds.height.hi)) - 24.0;
    let (entry, exit) = (
        plane.x(um(scene.bounds.across.lo)) - plane.exit * (MARGINS.entry - 8.0),
        plane.x(um(scene.bounds.across.hi)) + plane.exit * 60.0,
    );
    let mut room = Room::new([[entry.min(exit), top], [entry.max(exit), plane.y(0.0) - 10.0]]);
    room.taken.extend(fields.iter().flatten().map(Field::corners));
    for (part, spot) in parts().zip(&spots) {
        spot.iter().for_each(|spot| room.number(spot.covers(part.serial)));
    }
    for ((part, field), spot) in parts().zip(&fields).zip(&mut spots) {
        if let (Some(field), None) = (field, &spot) {
            *spot = room.beside(plane, place, *field, (part.serial, LETTERING.beside));
        }
    }
    spots
}

/// The fields of windows in a section.
pub(super) fn field(plane: &Plane, section: &Section, own: &[Window]) -> Path {
    let mut path = Path::new();
    for field in fields(own, section) {
        path.closed(field.into_iter().map(|at| plane.at(at)));
    }
    path
}

/// The sawn edges of windows in a section; fine ones where the gap of a kerf leaves no room for strong ones.
pub(super) fn lines(plane: &Plane, section: &Section, own: &[Window], kerf: Length) -> String {
    let mut path = Path::new();
    for [from, to] in edges(section, own) {
        path.line(plane.at(from), plane.at(to));
    }
    let fine = long(kerf) * plane.scale < 7.0;
    path.element(if fine { "edge fine" } else { "edge" })
}

/// The number of a piece, as large as its field lets it, with its size below where there is room.
fn label(scene: &Scene<'_>, part: &Part, spot: &Spot) -> String {
    let drawn = spot.drawn(part.serial);
    let (Spot { at: [x, y], size, .. }, [wide, tall]) = (*spot, spot.room);
    let system = scene.subject.system;
    let words = format!("{} × {}", bare(system, part.size[0]), bare(system, part.size[1]));
    let fits = run_of(&words, 28.0) + 16.0 < wide && tall > 84.0;
    if part.kind != Kind::Board || !fits {
        return drawn;
    }
    let size = size.min(tall - 36.0);
    let shifted = number_at(part.serial, [x, y - 15.0], size);
    shifted + &text("small", Anchor::Middle, [x, y + size * 0.36 + 17.0], &words)
}

fn scene_rest_label(plane: &Plane, section: &Section, rest: &[Window]) -> String {
    let largest = fields(rest, section)
        .iter()
        .filter_map(|field| super::outline::around_of(field))
        .max_by(|a, b| (a[1][0] - a[0][0]).total_cmp(&(b[1][0] - b[0][0])));
    let Some([low, high]) = largest else {
        return String::new();
    };
    let (wide, tall) = ((high[0] - low[0]) * plane.scale, (high[1] - low[1]) * plane.scale);
    let [x, y] = plane.at([(low[0] + high[0]) / 2.0, (low[1] + high[1]) / 2.0]);
    if wide < run_of("stays", 28.0) + 12.0 || tall < 30.0 {
        // No room in it: beside the log on the entry side, with a line to it.
        let edge = if plane.exit > 0.0 { 24.0 } else { WIDE - 24.0 };
        let mut line = Path::new();
        line.line(
            [edge + plane.exit * (run_of("stays", 28.0) + 10.0), y],
            [x - plane.exit * (wide / 2.0 - 14.0).max(0.0), y],
        );
        return line.element("dim") + &text("small", plane.towards_exit(), [edge, y + 10.0], "stays");
    }
    text("small soft", Anchor::Middle, [x, y + 10.0], "stays")
}

/// Heights of the flat kerfs above the bed, as ordinates on the exit side.
fn ordinates(scene: &Scene<'_>, plane: &Plane) -> String {
    let out = plane.x(um(scene.bounds.across.hi));
    let [from, elbow, to] = [68.0, 92.0, 106.0].map(|by| out + plane.exit * by);
    let mut path = Path::new();
    let mut words = String::new();
    let mut last = f64::NEG_INFINITY;
    for floor in &scene.floors {
        let y = plane.y(um(*floor));
        let at = y.max(last + 33.0);
        last = at;
        path.open([[from, y], [elbow, y], [to, at]]);
        let figure = bare(scene.subject.system, floor.from_origin());
        words.push_str(&text(
            "",
            plane.towards_exit(),
            [to + plane.exit * 8.0, at + 12.0],
            &figure,
        ));
    }
    let bed = [to + plane.exit * 8.0, plane.y(0.0) + 46.0];
    words.push_str(&text("small soft", plane.towards_exit(), bed, "bed, 0"));
    path.element("dim") + &words
}

/// The width of the wood, over it.
fn width(scene: &Scene<'_>, plane: &Plane, wood: &Section) -> String {
    let stretch = wood.width();
    let y = plane.y(um(scene.bounds.height.hi)) - 34.0;
    let side = um(wood.centre_height());
    let ends = [stretch.lo, stretch.hi].map(|across| plane.x(um(across)));
    let figure = bare(scene.subject.system, stretch.length());
    dimension(
        [[ends[0], y], [ends[1], y]],
        [plane.y(side), plane.y(side)],
        &figure,
    )
}

/// A level dimension line with its extension lines, which begin at these heights in the drawing.
pub(super) fn dimension([a, b]: [[f64; 2]; 2], from: [f64; 2], figure: &str) -> String {
    let ([x0, y], x1) = (a, b[0]);
    let mut lines = Path::new();
    for (x, start) in [(x0, from[0]), (x1, from[1])] {
        let gap = if start > y { -10.0 } else { 10.0 };
        lines.line([x, start + gap], [x, y + gap.signum() * 10.0]);
    }
    lines.line([x0, y], [x1, y]);
    let way = if x1 >= x0 { 1.0 } else { -1.0 };
    // Where two heads have no room between the lines they point at them from outside.
    let out = if (x1 - x0).abs() < 40.0 { -way } else { way };
    if out != way {
        lines.line([x0 - way * 34.0, y], [x1 + way * 34.0, y]);
    }
    let mut tips = Path::new();
    tips.closed(head([x0, y], [-out, 0.0], 16.0));
    tips.closed(head([x1, y], [out, 0.0], 16.0));
    let place = [(x0 + x1) / 2.0, y - 9.0];
    lines.element("dim") + &tips.element("tip") + &text("", Anchor::Middle, place, figure)
}

/// Where cutting starts.
fn entry(plane: &Plane) -> String {
    let y = MARGINS.top + 24.0;
    let edge = if plane.exit > 0.0 { 24.0 } else { WIDE - 24.0 };
    let to = edge + plane.exit * 104.0;
    let mut line = Path::new();
    line.line([edge, y], [to - plane.exit * 14.0, y]);
    let mut tip = Path::new();
    tip.closed(head([to, y], [plane.exit, 0.0], 22.0));
    let words = |line: &str, y: f64| text("small", plane.towards_exit(), [edge, y], line);
    line.element("edge") + &tip.element("tip") + &words("entry", y - 50.0) + &words("side", y - 18.0)
}

fn foot(scene: &Scene<'_>, plane: &Plane) -> String {
    let y = plane.height - 36.0;
    let bar = scale_bar(scene.subject.system, plane.scale, [24.0, y - 14.0], 230.0);
    bar + &text("small soft", Anchor::End, [WIDE - 24.0, y], &scene.legend())
}

/// What the textures and lines mean; as wide as the sections above it.
fn key(scene: &Scene<'_>) -> String {
    let mut entries = vec![("blank", "board"), ("stipple", "slab or waste")];
    if scene
        .parts
        .iter()
        .any(|part| part.released && part.kind == Kind::Board)
    {
        entries.insert(1, ("hatch", "boards released together"));
    }
    let mut drawn = String::new();
    let mut x = 24.0;
    for (class, words) in entries {
        let mut field = Path::new();
        field.rect([x, 20.0], [x + 64.0, 64.0]);
        drawn.push_str(&(field.element(class) + &field.element("edge")));
        drawn.push_str(&text("", Anchor::Start, [x + 80.0, 54.0], words));
        x += 80.0 + run_of(words, 34.0) + 40.0;
    }
    let words = "numbers: the order they come off";
    if x + run_of(words, 34.0) < key_width(scene) {
        drawn.push_str(&text("soft", Anchor::Start, [x, 54.0], words));
    } else {
        drawn.push_str(&text("soft", Anchor::Start, [24.0, 104.0], words));
    }
    drawn.push_str(&core::key(scene, KEY));
    drawn.push_str(&metal::key(scene, KEY + core::key_height(scene)));
    drawn
}

fn key_width(scene: &Scene<'_>) -> f64 {
    scene.places.iter().map(|_| WIDE).sum()
}
