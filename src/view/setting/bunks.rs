//! Every bunk with what lies over it, at a scale that shows the packing.

use bunkside_planner::geometry::Section;
use bunkside_protocol::Position;
use bunkside_protocol::mill::{Bunk, Side};

use super::super::bed::{filled, key, scale_bar, wedges};
use super::super::dogs::{Dog, dogs};
use super::super::outline::outline;
use super::super::parts::bare;
use super::super::plane::{long, um};
use super::super::scene::Scene;
use super::super::side::packed;
use super::super::svg::{Anchor, Path, Place, WIDE, num, text};
use super::{Part, upright};
use crate::setting::{BunkRow, Lies, Role};

/// How many stand beside each other at most.
const IN_A_ROW: usize = 3;
/// Width of a drawing, without its figure.
const DRAWING: f64 = 186.0;
/// Room on the left of them all.
const LEFT: f64 = 24.0;
/// Room for name and act, for the log over the highest packing, and for the bunk below the bed.
const TITLE: f64 = 88.0;
const LOG: f64 = 92.0;
const BUNK: f64 = 34.0;
/// Room below a bunk, and for where the log's lowest line crosses one.
const BELOW: f64 = 16.0;
const LOWEST: f64 = 88.0;

/// None where no bunk stands under the log.
pub(super) fn view(scene: &Scene<'_>) -> Option<Part> {
    let rows = &scene.sheet.bunks;
    if rows.is_empty() {
        return None;
    }
    let tops = || {
        rows.iter()
            .filter_map(|row| Some((row, um(bunk(scene, row)?.top))))
    };
    let highest = tops()
        .map(|(row, top)| top + long(row.gap_um))
        .fold(0.0, f64::max);
    let lowest = tops().map(|(_, top)| top).fold(0.0, f64::min);
    let half = shown(scene, &dogs(scene));
    let scale = DRAWING / (2.0 * half);
    let frame = Frame {
        scale,
        half,
        bed: TITLE + LOG + highest.min(250_000.0) * scale,
        foot: BUNK - lowest * scale,
        exit: match scene.subject.setup.mill.entry {
            Side::Left => 1.0,
            Side::Right => -1.0,
        },
    };
    let told = rows.iter().any(is_off);
    let height = frame.bed + frame.foot + if told { LOWEST } else { BELOW };
    let lines = rows.len().div_ceil(IN_A_ROW);
    // As many in each row as can be: none stands alone.
    let each = rows.len().div_ceil(lines);
    let cell_width = (WIDE - LEFT) / each.clamp(2, IN_A_ROW) as f64;
    let mut drawn = String::new();
    let lead = 52.0;
    drawn.push_str(&text(
        "",
        Anchor::Start,
        [24.0, 34.0],
        "At the bunks: the foot of the log, seen from the near end",
    ));
    for (number, row) in rows.iter().enumerate() {
        let (column, line) = ((number % each) as f64, (number / each) as f64);
        drawn.push_str(&format!(
            r#"<g transform="translate({} {})">{}</g>"#,
            num(LEFT + column * cell_width),
            num(lead + line * height),
            cell(scene, &frame, row)
        ));
    }
    let foot = lead + lines as f64 * height;
    let bar = scale_bar(scene.subject.system, scale, [24.0, foot + 6.0], 130.0);
    let held = dogs(scene).iter().any(|dog| dog.holds);
    let key = format!(
        r#"<g transform="translate(270 {})">{}</g>"#,
        num(foot + 10.0),
        key(scene, [0.0, 0.0], "wedge", held)
    );
    Some((drawn + &bar + &key, foot + 40.0))
}

/// Half of what is shown across: both wedges whole, where they are not large, and what holds of the dogs.
fn shown(scene: &Scene<'_>, dogs: &[Dog]) -> f64 {
    let wedges = long(scene.subject.setup.mill.wedges.reach) * 2.1;
    let reaches = scene.sheet.bunks.iter().flat_map(|row| {
        let there = dogs.iter().filter(|dog| dog.stands_at(scene, row.at_um));
        there.map(|dog| dog.reach(um(row.lowest_across_um)) + 40_000.0)
    });
    reaches.fold(wedges, f64::max).clamp(60_000.0, 300_000.0)
}

/// How the cells are drawn.
#[derive(Clone, Copy, Debug)]
struct Frame {
    scale: f64,
    /// Half of what is shown across, micrometres.
    half: f64,
    /// Where the bed lies.
    bed: f64,
    /// How far the drawing reaches below it.
    foot: f64,
    /// 1 where the exit side lies on the right.
    exit: f64,
}

impl Frame {
    fn y(&self, height: f64) -> f64 {
        self.bed - height * self.scale
    }
}

fn bunk<'s>(scene: &'s Scene<'_>, row: &BunkRow) -> Option<&'s Bunk> {
    scene.subject.setup.mill.bunks.get(row.bunk - 1)
}

fn cell(scene: &Scene<'_>, frame: &Frame, row: &BunkRow) -> String {
    let shape = &scene.subject.setup.shape;
    let (Some(bunk), Some(rough), Some(wood)) = (
        bunk(scene, row),
        shape.rough_at(row.at_um),
        shape.wood_at(row.at_um),
    ) else {
        return String::new();
    };
    let lowest = um(row.lowest_across_um);
    let left = 0.0;
    let middle = left + DRAWING / 2.0;
    let at = |[across, height]: Place| {
        [
            middle + frame.exit * (across - lowest) * frame.scale,
            frame.y(height),
        ]
    };
    let mut drawn = String::new();
    drawn.push_str(&text(
        "",
        Anchor::Start,
        [left, 36.0],
        &format!("Bunk {}", row.bunk),
    ));
    drawn.push_str(&text("small", Anchor::Start, [left, 72.0], act(row)));
    let id = format!("bunk-{}", row.bunk);
    let (top, bottom) = (TITLE, frame.bed + frame.foot);
    drawn.push_str(&format!(
        r#"<clipPath id="{id}"><path d="M{},{}H{}V{}H{}Z"/></clipPath><g clip-path="url(#{id})">"#,
        num(left),
        num(top),
        num(left + DRAWING),
        num(bottom),
        num(left)
    ));
    drawn.push_str(&beneath(scene, frame, row, bunk, &at));
    for (section, class) in [(&rough, "bark"), (&wood, "wood")] {
        let mut path = Path::new();
        path.closed(outline(section).into_iter().map(at));
        drawn.push_str(&path.element(class));
    }
    for dog in dogs(scene).iter().filter(|dog| dog.stands_at(scene, row.at_um)) {
        drawn.push_str(&dog.section(&at));
    }
    if lowest.abs() <= frame.half {
        let x = at([0.0, 0.0])[0];
        let mut line = Path::new();
        line.line([x, top], [x, bottom]);
        drawn.push_str(&line.element("centre"));
    }
    drawn.push_str("</g>");
    drawn.push_str(&broken_off(&rough, frame, top, &at));
    drawn + &figures(scene, frame, row, bunk)
}

/// The line at which a log is broken off that is not drawn whole: its zigzag says that more lies over it.
fn broken_off(rough: &Section, frame: &Frame, top: f64, at: &dyn Fn(Place) -> Place) -> String {
    let height = (frame.bed - top) / frame.scale;
    let Some(chord) = rough.chord(Position::um(height as i64)) else {
        return String::new();
    };
    let ends = [chord.lo, chord.hi].map(|across| at([um(across), height])[0].clamp(0.0, DRAWING));
    let (from, to) = (ends[0].min(ends[1]), ends[0].max(ends[1]));
    let middle = f64::midpoint(from, to);
    let mut line = Path::new();
    line.open([
        [from, top],
        [middle - 14.0, top],
        [middle - 7.0, top - 9.0],
        [middle + 7.0, top + 9.0],
        [middle + 14.0, top],
        [to, top],
    ]);
    line.element("thin")
}

/// Bed, bunk, packing and, where the log lies on it, its wedges.
fn beneath(
    scene: &Scene<'_>,
    frame: &Frame,
    row: &BunkRow,
    bunk: &Bunk,
    at: &dyn Fn(Place) -> Place,
) -> String {
    let (lowest, top) = (um(row.lowest_across_um), um(bunk.top));
    let [enters, leaves] = [lowest - frame.half, lowest + frame.half];
    let kind = filled(bunk.kind);
    let mut path = Path::new();
    path.rect(
        at([enters, top]),
        at([leaves, top - frame.foot / frame.scale - 20_000.0]),
    );
    let mut drawn = path.element(kind);
    if packed(row) {
        let mut path = Path::new();
        path.rect(at([enters, top + long(row.gap_um)]), at([leaves, top]));
        drawn.push_str(&path.element("timber"));
    }
    if row.role == Role::Carries && row.lies != Lies::Sunk {
        drawn.push_str(&wedges(scene, bunk, &[-1.0, 1.0], at));
    }
    drawn
}

/// The gap as a dimension, and where the log's lowest line crosses the bunk.
fn figures(scene: &Scene<'_>, frame: &Frame, row: &BunkRow, bunk: &Bunk) -> String {
    let system = scene.subject.system;
    let mut drawn = String::new();
    if row.lies != Lies::OnIt {
        let (top, under) = (um(bunk.top), um(bunk.top) + long(row.gap_um));
        let ends = [frame.y(top.min(under)), frame.y(top.max(under))];
        let edge = DRAWING;
        drawn.push_str(&upright(
            edge,
            edge + 20.0,
            ends,
            1.0,
            &bare(system, row.gap_um.abs()),
        ));
    }
    if is_off(row) {
        let side = if um(row.lowest_across_um) > 0.0 {
            "exit"
        } else {
            "entry"
        };
        let off = system.size(row.lowest_across_um.from_origin().abs());
        let words = [
            "the log's lowest line is".to_owned(),
            format!("{off} to {side} side"),
        ];
        for (line, down) in words.iter().zip([26.0, 56.0]) {
            let place = [0.0, frame.bed + frame.foot + down];
            drawn.push_str(&text("tiny", Anchor::Start, place, line));
        }
    }
    drawn
}

/// Whether the log's lowest line crosses a bunk off the centre line, as a tape tells.
fn is_off(row: &BunkRow) -> bool {
    row.lowest_across_um.from_origin().abs() > bunkside_planner::limits::SEAT
}

const fn act(row: &BunkRow) -> &'static str {
    match (row.role, row.lies) {
        (_, Lies::TooHigh) => "too high to pack",
        (_, Lies::Sunk) => "in the log",
        (Role::Carries, Lies::Above) => "pack",
        (Role::Carries, Lies::OnIt) => "the log lies on it",
        (Role::Between, Lies::Above) if row.on_face => "open; pack last",
        (Role::Between, Lies::Above) => "open; pack, wedge last",
        (Role::Between, Lies::OnIt) if row.on_face => "the log meets it",
        (Role::Between, Lies::OnIt) => "wedge last",
    }
}
