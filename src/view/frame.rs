//! One drawing for each step: what stands, the kerf being cut, the next one, what is gone; below it the stroke along
//! the log. What several drawings share is drawn once and referred to, so that hundreds of steps stay small.

mod corner;
mod numbers;
#[cfg(test)]
mod overlap;
mod wedges;

use std::fmt::Write;

use bunkside_planner::geometry::{Block, Section};
use bunkside_planner::machine::kerf_box;
use bunkside_planner::replay::Step as Moved;
use bunkside_planner::stock::{Owner, Stock};
use bunkside_protocol::Angle;

use super::bed::{bed, centre_line, scale_bar};
use super::core;
use super::ends::{field, lines};
use super::labels::Box2;
use super::metal::{from_side, in_section};
use super::outline::{Window, outline, rough};
use super::parts::{bare, owned, windows};
use super::places::Place;
use super::plane::{Margins, Plane, long, um};
use super::scene::Scene;
use super::side::{Rail, beneath, standing, stroke};
use super::steps::{Doing, Step};
use super::svg::{Anchor, Path, WIDE, inline, num, run_of, text};
use super::way;
use crate::trace::Traced;
use numbers::Numbered;

/// So many numbers are drawn with one reference.
const CHUNK: u16 = 8;
/// How far beside the log the height is told.
const BESIDE: f64 = 60.0;

/// The drawings of all steps.
#[derive(Clone, Debug)]
pub(super) struct Frames {
    /// What they share; it stands once in the page.
    pub(super) shared: String,
    /// One drawing a step.
    pub(super) drawings: Vec<String>,
}

/// Draws every step.
pub(super) fn frames(scene: &Scene<'_>) -> Frames {
    let mut artist = Artist::new(scene);
    let steps = scene.steps.iter().enumerate();
    let drawings = steps
        .map(|(number, step)| artist.frame(step, next_cut(&scene.steps, number)))
        .collect();
    Frames {
        shared: artist.shared(),
        drawings,
    }
}

/// The next step after this one that cuts.
fn next_cut(steps: &[Step], number: usize) -> Option<&Step> {
    steps
        .get(number + 1..)?
        .iter()
        .find(|step| step.doing == Doing::Cut)
}

struct Artist<'s, 'a> {
    scene: &'s Scene<'a>,
    plane: Plane,
    rail: Rail,
    /// Where the pieces lie, place by place, in their order.
    numbers: Vec<Vec<Option<Numbered>>>,
    /// Which of the places have been used.
    used: Vec<bool>,
    /// What stands, each once: by place and outline.
    states: Vec<(usize, String)>,
    /// The same from the side.
    profiles: Vec<String>,
    /// Strokes and feeds as they are printed.
    strokes: Vec<String>,
    defs: String,
}

impl<'s, 'a> Artist<'s, 'a> {
    fn new(scene: &'s Scene<'a>) -> Self {
        let plane = plane(scene);
        let mut artist = Self {
            scene,
            numbers: Vec::new(),
            plane,
            rail: Rail::for_blade(scene, 26.0),
            used: vec![false; scene.places.len()],
            states: Vec::new(),
            profiles: Vec::new(),
            strokes: Vec::new(),
            defs: String::new(),
        };
        let places = scene.places.iter();
        artist.numbers = places.map(|place| artist.numbered(place)).collect();
        artist
    }

    fn frame(&mut self, step: &Step, next: Option<&Step>) -> String {
        let scene = self.scene;
        let Some(traced) = scene.subject.trace.moves.get(step.at) else {
            return String::new();
        };
        let Some(at) = self.place(step, &traced.step) else {
            return String::new();
        };
        if let Some(used) = self.used.get_mut(at) {
            *used = true;
        }
        let Some(place) = scene.places.get(at) else {
            return String::new();
        };
        let state = self.state(at, place, &traced.before);
        let mut body = format!(r##"<use href="#d{at}"/><use href="#s{state}"/>"##);
        let (words, taken) = self.stroke_words((at, place), step, traced);
        let told = self.told((at, place), step, &traced.before, taken);
        self.numbers(&mut body, at, traced.before.freed(), &told);
        body.push_str(&self.free(place, &traced.before, &told));
        body.push_str(&in_section(scene, &self.plane, Some(&traced.before)));
        let driven = self.wedges(&mut body, place, step.at);
        let next = next.filter(|_| !driven);
        if let Some(next) = next.and_then(|next| scene.subject.trace.moves.get(next.at)) {
            body.push_str(&self.kerf(place, &next.step, "next").unwrap_or_default());
        }
        if step.doing == Doing::Cut {
            body.push_str(&self.blade(&traced.step));
            body.push_str(&self.kerf(place, &traced.step, "kerf").unwrap_or_default());
            let paper = self.words_on_paper(&traced.step);
            let _ = write!(
                body,
                r##"<g class="beside">{words}</g><use class="printed" href="#o{paper}"/>"##
            );
            body.push_str(&self.corner(place, &traced.step));
        }
        let profile = self.profile(&traced.before);
        let strip =
            stroke(scene, &self.rail, &traced.step) + &from_side(scene, &self.rail, Some(&traced.before));
        let _ = write!(
            body,
            r##"<svg y="{}" width="{WIDE}" height="{}"><use href="#z"/><use href="#t{profile}"/>{strip}</svg>"##,
            num(self.plane.height),
            num(self.rail.height)
        );
        let label = format!("Drawing of step {}", step.number);
        inline("frame", &label, WIDE, self.plane.height + self.rail.height, &body)
    }

    /// The place at which a step is drawn: the largest end, unless its kerf or its pieces lie elsewhere.
    fn place(&self, step: &Step, moved: &Moved) -> Option<usize> {
        let places = &self.scene.places;
        let mut order: Vec<usize> = (0..places.len()).collect();
        let room = |number: &usize| {
            let wood = &places[*number].wood;
            -wood.width().length().wide() * wood.height().length().wide()
        };
        order.sort_by_key(room);
        let shows = |number: &&usize| {
            let place = &places[**number];
            let kerf = step.doing == Doing::Hold || self.kerf(place, moved, "kerf").is_some();
            let seen = |serial: &u16| {
                let part = self.scene.part(*serial);
                part.is_none_or(|part| part.place_in(&place.wood).is_some())
            };
            kerf && step.pieces.iter().all(seen)
        };
        order.iter().find(shows).or(order.first()).copied()
    }

    /// What stands, drawn once and referred to by its number.
    fn state(&mut self, at: usize, place: &Place, stock: &Stock) -> usize {
        let standing = windows(&owned(stock, Owner::Body), &place.wood);
        let mut clip = Path::new();
        for (across, height) in &standing {
            let [a, b] = self.plane.corners(*across, *height);
            clip.rect(a, b);
        }
        let key = (at, clip.text().to_owned());
        if let Some(known) = self.states.iter().position(|state| *state == key) {
            return known;
        }
        let number = self.states.len();
        self.states.push(key);
        let kerf = self.scene.subject.setup.mill.blade.kerf;
        let edges = lines(&self.plane, &place.wood, &standing, kerf);
        let core = match core::in_section(self.scene, &self.plane, &place.wood) {
            core if core.is_empty() => core,
            core => format!(r##"<g clip-path="url(#k{number})">{core}</g>"##),
        };
        let _ = write!(
            self.defs,
            r##"<clipPath id="k{number}"><path d="{}"/></clipPath><g id="s{number}"><use href="#w{at}" clip-path="url(#k{number})"/>{core}{edges}</g>"##,
            clip.text()
        );
        number
    }

    /// What stands, as seen from the side, drawn once and referred to by its number.
    fn profile(&mut self, stock: &Stock) -> usize {
        let drawn = standing(self.scene, &self.rail, &owned(stock, Owner::Body));
        if let Some(known) = self.profiles.iter().position(|profile| *profile == drawn) {
            return known;
        }
        let number = self.profiles.len();
        let _ = write!(self.defs, r#"<g id="t{number}">{drawn}</g>"#);
        self.profiles.push(drawn);
        number
    }

    /// What stands over a drawing on paper, drawn once and referred to by its number.
    fn words_on_paper(&mut self, step: &Moved) -> usize {
        let drawn = way::over(step);
        if let Some(known) = self.strokes.iter().position(|stroke| *stroke == drawn) {
            return known;
        }
        let number = self.strokes.len();
        let _ = write!(self.defs, r#"<g id="o{number}">{drawn}</g>"#);
        self.strokes.push(drawn);
        number
    }

    /// Stroke and feed beside the blade of a cut, and with them all that numbers beside their fields keep off.
    fn stroke_words(
        &self,
        (at, place): (usize, &Place),
        step: &Step,
        traced: &Traced,
    ) -> (String, Vec<Box2>) {
        if step.doing != Doing::Cut {
            return (String::new(), Vec::new());
        }
        let moved = &traced.step;
        let mut taken = self.house(moved);
        taken.extend(self.figures(place, moved));
        let mut off = taken.clone();
        off.extend(self.inside(at, &traced.before));
        let (words, covers) = way::beside_blade(&self.plane, place, moved, &off);
        taken.extend(covers);
        taken.push(self.disc(moved));
        (words, taken)
    }

    /// The kerf of a cut in a section; none where it meets no wood there.
    fn kerf(&self, place: &Place, step: &Moved, class: &str) -> Option<String> {
        let met = step.cut?.met?;
        let section = &place.wood;
        let pose = step.before;
        let (from, to) = match pose.angle {
            Angle::Flat => {
                let chord = section.width_within(met.height)?.meet(met.across);
                let up = um(pose.height) + self.half_kerf();
                ([um(chord.lo), up], [um(chord.hi), up])
            }
            Angle::Upright => {
                let chord = section.height_within(met.across)?.meet(met.height);
                let across = um(pose.across) - self.half_kerf();
                ([across, um(chord.hi)], [across, um(chord.lo)])
            }
        };
        if from == to || from[0] > to[0] || from[1] < to[1] {
            return None;
        }
        let mut path = Path::new();
        path.line(self.plane.at(from), self.plane.at(to));
        if class == "next" {
            return Some(path.element(class));
        }
        let width = (self.half_kerf() * 2.0 * self.plane.scale).max(10.0);
        Some(format!(
            r#"<path class="{class}" style="stroke-width:{}px" d="{}"/>"#,
            num(width),
            path.text()
        ))
    }

    fn half_kerf(&self) -> f64 {
        long(self.scene.subject.setup.mill.blade.kerf) / 2.0
    }

    /// Hub and housing, as corners of the drawing.
    fn house(&self, step: &Moved) -> Vec<Box2> {
        let pose = step.before;
        let [flat, upright] = &self.scene.subject.setup.mill.head;
        let head = if pose.angle == Angle::Flat { flat } else { upright };
        head.iter()
            .map(|record| {
                let part = Block::from_record(record).placed(pose.travel, pose.across, pose.height);
                self.plane.corners(part.across, part.height)
            })
            .collect()
    }

    /// The blade edge-on, as corners of the drawing.
    fn disc(&self, step: &Moved) -> Box2 {
        let mill = self.scene.subject.setup.mill;
        let disc = kerf_box(mill, &step.before, self.scene.bounds.travel);
        self.plane.corners(disc.across, disc.height)
    }

    /// The blade edge-on and true to size, with hub and housing.
    fn blade(&self, step: &Moved) -> String {
        let mut house = Path::new();
        for [a, b] in self.house(step) {
            house.rect(a, b);
        }
        let [a, b] = self.disc(step);
        let mut blade = Path::new();
        blade.rect(a, b);
        house.element("house") + &blade.element("blade")
    }

    /// What all drawings share.
    fn shared(&self) -> String {
        let mut shared = format!(r#"<g id="z">{}</g>"#, beneath(self.scene, &self.rail));
        for (at, place) in self.scene.places.iter().enumerate() {
            if self.used.get(at) == Some(&true) {
                shared.push_str(&self.shared_at(at, place));
            }
        }
        shared + &self.defs
    }

    fn shared_at(&self, at: usize, place: &Place) -> String {
        let scene = self.scene;
        let mut skin = String::new();
        let bark = long(scene.subject.setup.shape.bark());
        if bark > 0.0 {
            let mut path = Path::new();
            let by = (bark * 0.35).min(4_000.0);
            path.closed(rough(&place.rough, by).into_iter().map(|at| self.plane.at(at)));
            skin.push_str(&path.element("bark"));
        }
        let mut wood = Path::new();
        wood.closed(outline(&place.wood).into_iter().map(|at| self.plane.at(at)));
        let mut shared = format!(
            r#"<g id="w{at}">{skin}{}</g><g id="d{at}">{}{}{}<g class="furniture">{}</g></g>"#,
            wood.element("wood"),
            bed(scene, &self.plane, &place.rough),
            centre_line(&self.plane, 116.0),
            wood.element("ghost gone"),
            self.foot(place)
        );
        for (chunk, parts) in (0..).zip(scene.parts.chunks(usize::from(CHUNK))) {
            let mut uses = String::new();
            for part in parts {
                let (serial, fill) = (part.serial, self.fill(part, &place.wood));
                let number = self.standing_number(at, serial);
                let _ = write!(
                    shared,
                    r#"<g id="n{at}-{serial}"><g id="f{at}-{serial}">{fill}</g>{number}</g>"#
                );
                let _ = write!(uses, r##"<use href="#n{at}-{serial}"/>"##);
            }
            let _ = write!(shared, r#"<g id="c{at}-{chunk}">{uses}</g>"#);
        }
        shared
    }

    /// Where a piece is going to be: its texture in a thin line.
    fn fill(&self, part: &super::parts::Part, section: &Section) -> String {
        let own: Vec<Window> = windows(&part.cells, section);
        let class = match part.texture() {
            "blank" => "plan".to_owned(),
            texture => format!("plan {texture}"),
        };
        field(&self.plane, section, &own).element(&class)
    }

    fn foot(&self, place: &Place) -> String {
        let y = self.plane.height - 16.0;
        let scene = self.scene;
        let name = place.name.split(',').next().unwrap_or_default();
        let words = format!("{name}. {}", scene.legend());
        scale_bar(scene.subject.system, self.plane.scale, [22.0, y - 14.0], 190.0)
            + &text("small soft", Anchor::End, [WIDE - 22.0, y], &words)
    }
}

fn plane(scene: &Scene<'_>) -> Plane {
    let mill = scene.subject.setup.mill;
    let width = long(scene.bounds.across.length());
    let plate = long(mill.blade.radius - mill.blade.hub) + 30_000.0;
    let figures = scene
        .floors
        .iter()
        .map(|floor| bare(scene.subject.system, floor.from_origin()));
    let widest = figures.map(|figure| run_of(&figure, 34.0)).fold(60.0, f64::max);
    let exit = BESIDE + widest + 28.0;
    let entry = plate.max(width * 0.3);
    let scale = (WIDE - exit) / (width + entry);
    let margins = Margins {
        entry: entry * scale,
        exit,
        top: 138.0,
        bottom: 76.0,
    };
    Plane::of(scene.bounds, mill.entry, margins)
}
