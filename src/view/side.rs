//! The side view: the log over its bunks, near end left, far end right, as seen from the entry side or through it.

use bunkside_planner::geometry::{Block, Interval, Section};
use bunkside_planner::physics::wedges::{foot, top};
use bunkside_planner::replay::Step;
use bunkside_protocol::mill::Bunk;
use bunkside_protocol::{Angle, Move, Position};

use super::bed::{filled, key, scale_bar};
use super::core;
use super::ends::dimension;
use super::metal;
use super::parts::windows;
use super::plane::{long, um};
use super::scene::Scene;
use super::second::plan;
use super::svg::{Anchor, Path, WIDE, document as alone, head, inline, num, run_of, text};
use crate::account::table::count;
use crate::setting::{BunkRow, Lies, Role};

/// Room above the log and below the bed, in units.
const TOP: f64 = 132.0;
const BOTTOM: f64 = 226.0;

/// How the log lies in a side view.
#[derive(Clone, Copy, Debug)]
pub(super) struct Rail {
    pub(super) scale: f64,
    left: f64,
    bed: f64,
    /// Height of the view.
    pub(super) height: f64,
}

impl Rail {
    /// A view of everything the carriage passes, so high over the log and so far below the bed.
    pub(super) fn of(scene: &Scene<'_>, top: f64, bottom: f64) -> Self {
        Self::reaching(scene, top, bottom, scene.bounds.travel)
    }

    /// The same, at least over a stretch of the rails.
    fn reaching(scene: &Scene<'_>, top: f64, bottom: f64, least: Interval) -> Self {
        let reach = passed(scene);
        let beyond = long(reach.length()) * 0.01 + long(scene.subject.setup.mill.blade.radius);
        let left = (um(reach.lo) - beyond).min(um(least.lo));
        let right = (um(reach.hi) + beyond).max(um(least.hi));
        let scale = WIDE / (right - left);
        let bed = top + um(scene.bounds.height.hi) * scale;
        Self {
            scale,
            left,
            bed,
            height: bed + bottom,
        }
    }

    /// A view of the log alone, with so much room on either side of it.
    pub(super) fn around(scene: &Scene<'_>, beside: f64, top: f64, bottom: f64) -> Self {
        let log = scene.bounds.travel;
        let scale = (WIDE - 2.0 * beside) / long(log.length()).max(1.0);
        let bed = top + um(scene.bounds.height.hi) * scale;
        Self {
            scale,
            left: um(log.lo) - beside / scale,
            bed,
            height: bed + bottom,
        }
    }

    /// One of everything the carriage passes, so high that the upright blade is seen whole in every cut.
    pub(super) fn for_blade(scene: &Scene<'_>, bottom: f64) -> Self {
        let plain = Self::of(scene, 0.0, bottom);
        let moves = &scene.subject.trace.moves;
        let upright = moves
            .iter()
            .map(|traced| &traced.step)
            .filter(|step| step.cut.is_some() && step.before.angle == Angle::Upright);
        let highest = upright.map(|step| um(step.before.height)).fold(0.0, f64::max);
        let top = highest + 2.0 * long(scene.subject.setup.mill.blade.radius);
        Self::of(
            scene,
            ((top - um(scene.bounds.height.hi)) * plain.scale).max(0.0) + 12.0,
            bottom,
        )
    }

    pub(super) fn x(&self, travel: f64) -> f64 {
        (travel - self.left) * self.scale
    }

    pub(super) fn y(&self, height: f64) -> f64 {
        self.bed - height * self.scale
    }
}

/// From where to where the blade's centre runs in cuts; the log at least.
fn passed(scene: &Scene<'_>) -> Interval {
    let mut reach = scene.bounds.travel;
    for traced in &scene.subject.trace.moves {
        let step = &traced.step;
        if matches!(step.told, Move::Cut(_)) {
            reach = reach.join(Interval::between(step.before.travel, step.after.travel));
        }
    }
    reach
}

/// The whole log as a ghost, bunks and packing: what every step's view begins with.
pub(super) fn beneath(scene: &Scene<'_>, rail: &Rail) -> String {
    bunks(scene, rail) + &silhouette(rail, scene.subject.setup.shape.wood(), "ghost gone")
}

/// What stands of the log, from its lowest to its highest wood at every sample.
pub(super) fn standing(scene: &Scene<'_>, rail: &Rail, body: &[Block]) -> String {
    let held = scene.subject.setup.shape.wood().iter().filter_map(|section| {
        let held = windows(body, section)
            .into_iter()
            .filter_map(|(across, height)| section.height_in(across, height))
            .reduce(Interval::join)?;
        let x = rail.x(um(section.travel));
        Some(([x, rail.y(um(held.hi))], [x, rail.y(um(held.lo))]))
    });
    let held: Vec<_> = held.collect();
    let (over, under) = (held.iter().map(|one| one.0), held.iter().rev().map(|one| one.1));
    let mut path = Path::new();
    path.closed(over.chain(under));
    path.element("edge")
}

/// Log, bunks and packing.
fn lying(scene: &Scene<'_>, rail: &Rail) -> String {
    let shape = &scene.subject.setup.shape;
    bunks(scene, rail) + &silhouette(rail, shape.rough(), "bark") + &silhouette(rail, shape.wood(), "wood")
}

pub(super) fn bunks(scene: &Scene<'_>, rail: &Rail) -> String {
    let mut drawn = String::new();
    let mut line = Path::new();
    line.line([0.0, rail.y(0.0)], [WIDE, rail.y(0.0)]);
    drawn.push_str(&line.element("thin"));
    for bunk in &scene.subject.setup.mill.bunks {
        let Some(sides) = seen(rail, bunk) else { continue };
        let top = rail.y(um(bunk.top));
        let kind = filled(bunk.kind);
        let mut block = Path::new();
        block.rect([sides[0], top], [sides[1], top + 22.0]);
        drawn.push_str(&block.element(kind));
    }
    for row in scene.sheet.bunks.iter().filter(|row| packed(row)) {
        let Some(bunk) = scene.subject.setup.mill.bunks.get(row.bunk - 1) else {
            continue;
        };
        let Some(sides) = seen(rail, bunk) else { continue };
        let top = um(bunk.top);
        let mut block = Path::new();
        block.rect(
            [sides[0], rail.y(top + long(row.gap_um))],
            [sides[1], rail.y(top)],
        );
        drawn.push_str(&block.element("timber"));
    }
    drawn
}

/// From where to where a bunk is seen along the rails; none where all of it lies outside the drawing.
fn seen(rail: &Rail, bunk: &Bunk) -> Option<[f64; 2]> {
    let sides = [bunk.travel - bunk.half_size, bunk.travel + bunk.half_size];
    let [near, far] = sides.map(|at| rail.x(um(at)).clamp(0.0, WIDE));
    (far - near >= 1.0).then_some([near, far])
}

/// The wedges beside the log, on what carries it at each bunk.
fn wedges(scene: &Scene<'_>, rail: &Rail) -> String {
    let (mill, shape) = (scene.subject.setup.mill, &scene.subject.setup.shape);
    let mut path = Path::new();
    for bunk in &mill.bunks {
        let Some((foot, top)) = foot(bunk, shape).zip(top(mill, bunk, shape)) else {
            continue;
        };
        let sides = [bunk.travel - bunk.half_size, bunk.travel + bunk.half_size].map(|at| rail.x(um(at)));
        path.rect([sides[0], rail.y(um(top))], [sides[1], rail.y(um(foot))]);
    }
    path.element("free fine")
}

/// Whether something is packed on a bunk.
pub(super) fn packed(row: &BunkRow) -> bool {
    row.role == Role::Carries && matches!(row.lies, Lies::Above | Lies::TooHigh)
}

pub(super) fn silhouette(rail: &Rail, sections: &[Section], class: &str) -> String {
    let along = |section: &Section, height: Position| [rail.x(um(section.travel)), rail.y(um(height))];
    let over = sections.iter().map(|section| along(section, section.height().hi));
    let under = sections
        .iter()
        .rev()
        .map(|section| along(section, section.height().lo));
    let mut path = Path::new();
    path.closed(over.chain(under));
    path.element(class)
}

/// The whole side view with its dimensions.
pub(super) fn document(scene: &Scene<'_>) -> String {
    let (body, height) = view(scene);
    alone(
        &format!("Side view of log {}", scene.subject.log),
        WIDE,
        height,
        &body,
    )
}

/// The same for a page.
pub(super) fn figure(scene: &Scene<'_>) -> String {
    let (body, height) = view(scene);
    inline(
        "side",
        "side view, near end left, far end right",
        WIDE,
        height,
        &body,
    )
}

fn view(scene: &Scene<'_>) -> (String, f64) {
    let second = scene.second_place();
    let log = scene.bounds.travel;
    let least = second.map_or(log, |second| second.reach(log, scene.subject.system));
    let mut rail = Rail::reaching(scene, TOP, BOTTOM, least);
    let mut drawn = lying(scene, &rail) + &wedges(scene, &rail);
    drawn.push_str(&centre(scene, &rail));
    drawn.push_str(&floors(scene, &rail));
    drawn.push_str(&core::from_side(scene, &rail));
    drawn.push_str(&metal::from_side(scene, &rail, None));
    drawn.push_str(&lengths(scene, &rail));
    drawn.push_str(&packings(scene, &rail));
    if let Some(second) = &second {
        let (from_above, high) = plan(scene, &rail, second, rail.height - 58.0);
        drawn.push_str(&from_above);
        rail.height += high;
    }
    drawn.push_str(&core::key(scene, rail.height - 58.0));
    rail.height += core::key_height(scene);
    if !scene.metal.is_empty() {
        drawn.push_str(&metal::key(scene, rail.height - 58.0));
        rail.height += metal::LINE * scene.metal.len() as f64;
    }
    let foot = rail.height - 22.0;
    drawn.push_str(&scale_bar(
        scene.subject.system,
        rail.scale,
        [24.0, foot - 14.0],
        260.0,
    ));
    drawn.push_str(&key(scene, [360.0, foot - 10.0], "free fine", false));
    let log = format!("Log {}", scene.subject.log);
    drawn.push_str(&text("small soft", Anchor::End, [WIDE - 24.0, foot], &log));
    (drawn, rail.height)
}

/// The line through the centres, as far as it is worth drawing.
fn centre(scene: &Scene<'_>, rail: &Rail) -> String {
    let sections = scene.subject.setup.shape.wood().iter();
    let mut path = Path::new();
    path.open(sections.map(|section| [rail.x(um(section.travel)), rail.y(um(section.centre_height()))]));
    path.element("centre")
}

/// The flat kerfs, as thin lines.
fn floors(scene: &Scene<'_>, rail: &Rail) -> String {
    let mut path = Path::new();
    for floor in &scene.floors {
        let sections = scene.subject.setup.shape.wood().iter();
        let held = sections.filter(|section| section.height().contains(*floor));
        let reach = held.fold(None, |reach: Option<[f64; 2]>, section| {
            let at = um(section.travel);
            Some(reach.map_or([at, at], |[lo, hi]| [lo.min(at), hi.max(at)]))
        });
        if let Some([lo, hi]) = reach {
            path.line([rail.x(lo), rail.y(um(*floor))], [rail.x(hi), rail.y(um(*floor))]);
        }
    }
    path.element("thin")
}

/// The log's length, and how far the blade's centre runs out beyond its ends.
fn lengths(scene: &Scene<'_>, rail: &Rail) -> String {
    let system = scene.subject.system;
    let (log, reach) = (scene.bounds.travel, passed(scene));
    let y = TOP - 44.0;
    let top = rail.y(um(scene.bounds.height.hi));
    let ends = [log.lo, log.hi].map(|at| rail.x(um(at)));
    let mut drawn = dimension(
        [[ends[0], y], [ends[1], y]],
        [top, top],
        &system.run(log.length()),
    );
    for (out, end, anchor) in [
        (reach.lo, ends[0], Anchor::End),
        (reach.hi, ends[1], Anchor::Start),
    ] {
        let x = rail.x(um(out));
        if (x - end).abs() < 4.0 {
            continue;
        }
        let mut line = Path::new();
        line.line([x, top - 10.0], [x, rail.y(0.0)]);
        drawn.push_str(&line.element("ghost"));
        let away = if anchor == Anchor::End { -1.0 } else { 1.0 };
        let mut tip = Path::new();
        tip.closed(head([x, y], [away, 0.0], 16.0));
        let mut way = Path::new();
        way.line([end, y], [x, y]);
        let length = if away < 0.0 {
            log.lo - reach.lo
        } else {
            reach.hi - log.hi
        };
        drawn.push_str(&(way.element("dim") + &tip.element("tip")));
        let (words, half) = (system.run(length), |words: &str| run_of(words, 28.0) / 2.0);
        let middle = ((x + end) / 2.0).clamp(half("run-out") + 8.0, WIDE - half("run-out") - 8.0);
        for (line, up) in [("run-out", 46.0), (words.as_str(), 16.0)] {
            drawn.push_str(&text("small", Anchor::Middle, [middle, y - up], line));
        }
    }
    drawn + &people(scene, rail.y(0.0) + 116.0)
}

/// Who stands where.
fn people(scene: &Scene<'_>, y: f64) -> String {
    let hand = scene.subject.setup.mill.drive.is_hand();
    let second = scene.second_place();
    let at = |end: &str, nobody: &str| match second {
        Some(second) if second.end() == end => {
            format!("{end} end: a second person at {}", count(scene.second(), "cut"))
        }
        _ => nobody.to_owned(),
    };
    let near = if hand {
        "near end: nobody else"
    } else {
        "near end: operator"
    };
    let far = if hand {
        "far end: nobody else"
    } else {
        "far end: nobody"
    };
    let mut drawn = text("", Anchor::Start, [24.0, y], &at("near", near));
    let far = at("far", far);
    drawn.push_str(&text("", Anchor::End, [WIDE - 24.0, y], &far));
    if hand {
        let words = "whoever pushes: behind the carriage, off the blade's plane; common practice";
        drawn.push_str(&text("small soft", Anchor::Start, [24.0, y + 36.0], words));
    }
    drawn
}

/// How far the log's underside lies over each bunk.
fn packings(scene: &Scene<'_>, rail: &Rail) -> String {
    let system = scene.subject.system;
    let mut drawn = String::new();
    let mut taken = f64::NEG_INFINITY;
    for row in &scene.sheet.bunks {
        let words = match (row.role, row.lies) {
            (_, Lies::OnIt) => "on the bunk".to_owned(),
            (_, Lies::Sunk) => "in the bunk".to_owned(),
            (Role::Carries, _) => format!("pack {}", system.size(row.gap_um)),
            (Role::Between, _) => format!("{} open", system.size(row.gap_um)),
        };
        let x = rail.x(um(row.at_um));
        let half = run_of(&words, 28.0) / 2.0;
        let line = if x - half < taken + 10.0 { 1.0 } else { 0.0 };
        let y = rail.y(0.0) + 48.0 + 30.0 * line;
        if line == 0.0 {
            taken = x + half;
        }
        drawn.push_str(&text("small", Anchor::Middle, [x, y], &words));
    }
    drawn
}

/// The blade at the start of a move, true to size, and the stroke it makes.
pub(super) fn stroke(scene: &Scene<'_>, rail: &Rail, step: &Step) -> String {
    let pose = step.before;
    let [start, end] = [pose.travel, step.after.travel].map(|at| rail.x(um(at)));
    let mut drawn = String::new();
    if let Some(facts) = step.cut {
        let height = match pose.angle {
            Angle::Flat => rail.y(um(pose.height)),
            Angle::Upright => rail.y(um(facts.met.map_or(pose.height, |met| met.height.lo))),
        };
        let out = if end >= start { 1.0 } else { -1.0 };
        let mut way = Path::new();
        way.line([start, height], [end - out * 24.0, height]);
        let mut tip = Path::new();
        tip.closed(head([end, height], [out, 0.0], 36.0));
        drawn.push_str(&way.element("kerf air"));
        if let Some(met) = facts.met {
            let mut wood = Path::new();
            let [near, far] = [met.travel.lo, met.travel.hi].map(|at| rail.x(um(at)));
            wood.line([near, height], [far, height]);
            drawn.push_str(&wood.element("kerf deep"));
        }
        drawn.push_str(&tip.element("flow"));
    }
    let radius = long(scene.subject.setup.mill.blade.radius) * rail.scale;
    let blade = match pose.angle {
        Angle::Flat => format!(
            r#"<rect class="blade" x="{}" y="{}" width="{}" height="6"/>"#,
            num(start - radius),
            num(rail.y(um(pose.height)) - 6.0),
            num(2.0 * radius)
        ),
        Angle::Upright => format!(
            r#"<circle class="blade" cx="{}" cy="{}" r="{}"/>"#,
            num(start),
            num(rail.y(um(pose.height)) - radius),
            num(radius)
        ),
    };
    drawn.push_str(&format!(
        r#"<g class="run" style="--run:{}px">{blade}</g>"#,
        num(end - start)
    ));
    drawn
}
