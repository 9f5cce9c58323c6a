//! How the log is brought on: from which side, over bearers how high, and how far off the next one waits.

use bunkside_protocol::Position;
use bunkside_protocol::mill::Side;

use super::super::bed::{filled, wedges};
use super::super::outline::outline;
use super::super::parts::bare;
use super::super::plane::{long, um};
use super::super::scene::Scene;
use super::super::side::packed;
use super::super::svg::{Anchor, Path, Place, WIDE, head, text};
use super::{Part, level};
use crate::setting::{Hand, Way};

const TOP: f64 = 150.0;
const BOTTOM: f64 = 112.0;
/// A log is drawn no higher than this.
const HIGH: f64 = 250.0;

pub(super) fn view(scene: &Scene<'_>) -> Part {
    let (log, staging) = (scene.bounds, &scene.sheet.staging);
    let entry_left = scene.subject.setup.mill.entry == Side::Left;
    // On the page: −1 where logs come from the left.
    let from = if staging.hand == Hand::Left { -1.0 } else { 1.0 };
    let exit = if entry_left { 1.0 } else { -1.0 };
    let (clear, wide) = (long(staging.clear_um), long(log.across.length()));
    let beyond = um(log.across.hi).max(-um(log.across.lo)) + 90_000.0;
    let out = clear + wide + 30_000.0;
    let scale = ((WIDE - 48.0) / (out + beyond)).min(HIGH / long(log.height.length()));
    let spare = (WIDE - 48.0 - (out + beyond) * scale) / 2.0;
    let middle = 24.0 + spare + if from < 0.0 { out } else { beyond } * scale;
    let bed = TOP + um(log.height.hi) * scale;
    let at = |[across, height]: Place| [middle + exit * across * scale, bed - height * scale];
    let title = match staging.side {
        Way::Entry => "Let down from the entry side; the next one waits clear",
        Way::Exit => "Let down from the exit side; the next one waits clear",
    };
    let mut drawn = text("", Anchor::Start, [24.0, 46.0], title);
    let mut line = Path::new();
    line.line([0.0, bed], [WIDE, bed]);
    drawn.push_str(&line.element("thin"));
    // Away from the bed, towards where logs come from, told across.
    let away = exit * from;
    drawn.push_str(&bearer(scene, [beyond, out], away, &at));
    let shape = &scene.subject.setup.shape;
    let carrier = scene.sheet.bunks.first().map_or(log.travel.lo, |row| row.at_um);
    let section = shape.rough_at(carrier);
    let places = section.map(|section| outline(&section)).unwrap_or_default();
    let mut here = Path::new();
    here.closed(places.iter().copied().map(at));
    drawn.push_str(&here.element("bark"));
    let first = scene.sheet.bunks.first();
    if let Some(bunk) = first.and_then(|row| scene.subject.setup.mill.bunks.get(row.bunk - 1)) {
        drawn.push_str(&wedges(scene, bunk, &[-away], &at));
    }
    let inner = section.map_or(0.0, |section| {
        let width = section.width();
        if away < 0.0 { um(width.hi) } else { um(width.lo) }
    });
    let mut next = Path::new();
    next.closed(
        places
            .iter()
            .map(|[across, height]| at([across + away * clear - inner, *height])),
    );
    drawn.push_str(&next.element("ghost"));
    let rolls = at([0.0, um(staging_top(scene))])[1] - 34.0;
    drawn.push_str(&figures(
        scene,
        [middle, middle + from * clear * scale],
        rolls,
        bed,
    ));
    let told = off_bed(scene);
    let (words, more) = match told.is_empty() {
        true => (String::new(), 0.0),
        false => (text("small", Anchor::Start, [24.0, bed + 128.0], &told), 36.0),
    };
    (drawn + &words, bed + BOTTOM + more)
}

/// The first bunk that carries with what is packed on it, and a bearer beside it, level with that.
fn bearer(scene: &Scene<'_>, [beyond, out]: [f64; 2], away: f64, at: &dyn Fn(Place) -> Place) -> String {
    let first = scene.sheet.bunks.first();
    let bunk = first.and_then(|row| scene.subject.setup.mill.bunks.get(row.bunk - 1));
    let (Some(bunk), Some(bearer)) = (bunk, scene.sheet.staging.bearers.first()) else {
        return String::new();
    };
    let (low, top) = (um(bunk.top), um(bearer.top_um));
    let inner = away * (beyond - 60_000.0);
    let kind = filled(bunk.kind);
    let mut path = Path::new();
    path.rect(at([inner, low]), at([-away * beyond, low - 60_000.0]));
    let (mut pack, mut timber) = (Path::new(), Path::new());
    if top - low > 1_000.0 {
        pack.rect(at([inner, top]), at([-away * beyond, low]));
    }
    timber.rect(
        at([inner + away * 20_000.0, top]),
        at([away * out, top - 60_000.0]),
    );
    path.element(kind) + &pack.element("timber") + &timber.element("beam")
}

/// The top of the bearer that is drawn.
fn staging_top(scene: &Scene<'_>) -> Position {
    let first = scene.sheet.staging.bearers.first();
    first.map_or(Position::ZERO, |bearer| bearer.top_um)
}

/// How far off the next log waits, which way it comes, and how high the bearers are.
fn figures(scene: &Scene<'_>, [middle, next]: [f64; 2], y: f64, bed: f64) -> String {
    let (system, staging) = (scene.subject.system, &scene.sheet.staging);
    let mut line = Path::new();
    line.line([middle, TOP - 30.0], [middle, bed]);
    let mut drawn = line.element("centre");
    drawn.push_str(&level(
        [middle, next],
        TOP - 34.0,
        TOP,
        &format!("{} from the centre line", system.run(staging.clear_told())),
    ));
    let way = if middle > next { 1.0 } else { -1.0 };
    let [start, end] = [0.12, 0.42].map(|share| next + (middle - next) * share);
    let mut roll = Path::new();
    roll.line([start, y], [end - way * 20.0, y]);
    let mut tip = Path::new();
    tip.closed(head([end, y], [way, 0.0], 30.0));
    drawn.push_str(&(roll.element("kerf way") + &tip.element("flow")));
    let bearers: Vec<String> = staging
        .bearers
        .iter()
        .map(|one| format!("{} at bunk {}", bare(system, one.top_um.from_origin()), one.bunk))
        .collect();
    let words = format!("bearers above the bed: {}", bearers.join(", "));
    drawn + &text("small", Anchor::Start, [24.0, bed + 92.0], &words)
}

/// Which bunks under packs do not lie level with the bed; empty where all do.
fn off_bed(scene: &Scene<'_>) -> String {
    let system = scene.subject.system;
    let off = scene
        .sheet
        .bunks
        .iter()
        .filter(|row| packed(row))
        .filter_map(|row| {
            let top = scene.subject.setup.mill.bunks.get(row.bunk - 1)?.top;
            let way = if top < Position::ZERO { "below" } else { "above" };
            let by = bare(system, top.from_origin().abs());
            (top != Position::ZERO).then(|| format!("{by} {way} the bed at bunk {}", row.bunk))
        });
    let off: Vec<String> = off.collect();
    match off.as_slice() {
        [] => String::new(),
        off => format!("bunk tops under packs: {}", off.join(", ")),
    }
}
