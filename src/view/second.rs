//! Where a second person stands who holds down what a hand carriage frees: past the far end, beyond where blade and carriage
//! come, and to the exit side of the blade's line, along which its teeth throw. How far clear: common practice, no source.

use bunkside_planner::geometry::Interval;
use bunkside_protocol::mill::Side;
use bunkside_protocol::{Angle, Length, Position, Stroke};

use super::Subject;
use super::ends::dimension;
use super::plane::{long, um};
use super::scene::Scene;
use super::setting::upright;
use super::side::Rail;
use super::svg::{Anchor, Path, WIDE, head, num, text};
use crate::measure::System;

/// How far somebody stands clear of where the blade comes, and of its line.
const CLEAR: Length = Length::mm(1_000);
/// How far a pole reaches over the piece's end and behind whoever holds it.
const GRIP: Length = Length::mm(500);
/// Room beyond the person for words and figures, in units.
const ROOM: f64 = 104.0;
/// Room above it all for the title.
const TITLE: f64 = 96.0;

/// Where to stand at every cut at which a loose piece is held down.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Second {
    /// How far past the far end the blade comes.
    pub(super) blade: Length,
    /// So far past the far end, or further.
    pub(super) past: Length,
    /// So far to the exit side of the centre line, or further.
    pub(super) aside: Length,
    /// The pole is so long, or longer.
    pub(super) pole: Length,
    /// Where the blade runs at those cuts, along the rails and across.
    runs: [Interval; 2],
    /// Whether the teeth throw towards the far end.
    thrown: bool,
}

impl Second {
    /// One place for all cuts; none where nobody is needed.
    pub(super) fn of(subject: &Subject<'_>, held_down: &[u16]) -> Option<Self> {
        let (mill, far) = (subject.setup.mill, subject.setup.shape.travel().hi);
        let (radius, kerf) = (mill.blade.radius, mill.blade.kerf);
        let steps = subject.trace.moves.iter().map(|traced| &traced.step);
        let held = steps.filter(|step| held_down.contains(&step.index));
        let (mut runs, mut thrown): (Option<[Interval; 2]>, bool) = (None, false);
        for step in held {
            let way = Interval::between(step.before.travel, step.after.travel).grown(radius);
            let rim = step.before.across;
            let wide = if step.before.angle == Angle::Flat {
                radius.times(2)
            } else {
                kerf
            };
            let across = Interval::new(rim - wide, rim);
            runs = Some(runs.map_or([way, across], |[ways, acrosses]| {
                [ways.join(way), acrosses.join(across)]
            }));
            thrown |= mill.teeth(step.before.angle) == Stroke::Outbound;
        }
        let runs = runs?;
        let round = |length: Length| rounded_up(length.max(Length::ZERO), subject.system);
        let blade = runs[0].hi - far;
        let (past, aside) = (round(blade + CLEAR), round(runs[1].hi.from_origin() + CLEAR));
        let away = libm::hypot(long(past), long(aside));
        Some(Self {
            blade: blade.max(Length::ZERO),
            past,
            aside,
            pole: round(Length::um(away as i64) + GRIP),
            runs,
            thrown,
        })
    }

    /// In sentences.
    pub(super) fn words(&self, system: System) -> String {
        format!(
            "A second person holds the loose piece down. The blade comes {} past the far end: stand {} or more past that end, and \
             {} or more to the exit side of the centre line, out of the way of the carriage and of what the teeth throw. Hold \
             it with a pole of {} or longer, never by hand.",
            system.run(self.blade),
            system.run(self.past),
            system.run(self.aside),
            system.run(self.pole)
        )
    }

    /// How far past the far end the drawing has to reach.
    pub(super) fn room(&self) -> Length {
        self.past + Length::mm(250)
    }
}

/// Up to the next decimetre, or the next three inches.
fn rounded_up(length: Length, system: System) -> Length {
    let step = match system {
        System::Metric => 100_000,
        System::Inches => 76_200,
    };
    Length::um((length.wide() + step - 1).div_euclid(step) * step)
}

/// The place drawn from above, from a height of the drawing on; and how high that is.
pub(super) fn plan(scene: &Scene<'_>, rail: &Rail, second: &Second, top: f64) -> (String, f64) {
    let exit = match scene.subject.setup.mill.entry {
        Side::Left => 1.0,
        Side::Right => -1.0,
    };
    let lowest = um(second.runs[1].lo).min(um(scene.bounds.across.lo));
    let (inner, outer) = (lowest * rail.scale, long(second.aside) * rail.scale);
    let room = if exit > 0.0 {
        [20.0 - inner, outer + ROOM]
    } else {
        [outer + ROOM, 20.0 - inner]
    };
    let middle = top + TITLE + room[0];
    let y = |across: f64| middle + exit * across * rail.scale;
    let words = "From above, where loose pieces are held down";
    let mut drawn = text("", Anchor::Start, [24.0, top + 34.0], words);
    let words = "hatched: where the blade runs";
    drawn.push_str(&text("small soft", Anchor::Start, [24.0, top + 72.0], words));
    drawn.push_str(&runs(second, rail, &y));
    drawn.push_str(&log(scene, rail, &y));
    let mut line = Path::new();
    line.line([0.0, middle], [WIDE, middle]);
    drawn.push_str(&line.element("centre"));
    drawn.push_str(&person(scene, rail, second, [middle, exit], &y));
    (drawn, TITLE + room[0] + room[1])
}

/// Where the blade runs, hatched, and which way its teeth throw.
fn runs(second: &Second, rail: &Rail, y: &dyn Fn(f64) -> f64) -> String {
    let [way, across] = second.runs;
    let mut path = Path::new();
    path.rect(
        [rail.x(um(way.lo)), y(um(across.lo))],
        [rail.x(um(way.hi)), y(um(across.hi))],
    );
    let mut drawn = path.element("timber");
    if second.thrown {
        let (from, level) = (rail.x(um(way.hi)), y(um(across.hi)));
        let end = WIDE - 24.0;
        let mut thrown = Path::new();
        thrown.line([from, level], [end - 20.0, level]);
        let mut tip = Path::new();
        tip.closed(head([end, level], [1.0, 0.0], 26.0));
        drawn.push_str(&(thrown.element("next") + &tip.element("tip")));
        drawn.push_str(&text(
            "small",
            Anchor::Start,
            [from + 12.0, level - 14.0],
            "thrown",
        ));
    }
    drawn
}

/// The log from above.
fn log(scene: &Scene<'_>, rail: &Rail, y: &dyn Fn(f64) -> f64) -> String {
    let sections = scene.subject.setup.shape.rough();
    let along = |travel: Position, across: Position| [rail.x(um(travel)), y(um(across))];
    let entry = sections.iter().map(|one| along(one.travel, one.width().lo));
    let exit = sections.iter().rev().map(|one| along(one.travel, one.width().hi));
    let mut path = Path::new();
    path.closed(entry.chain(exit));
    path.element("paper") + &path.element("bark")
}

/// The person, and how far past the end and aside.
fn person(
    scene: &Scene<'_>,
    rail: &Rail,
    second: &Second,
    [middle, exit]: [f64; 2],
    y: &dyn Fn(f64) -> f64,
) -> String {
    let system = scene.subject.system;
    let far = rail.x(um(scene.bounds.travel.hi));
    let [x, at] = [
        rail.x(um(scene.bounds.travel.hi + second.past)),
        y(long(second.aside)),
    ];
    let mut drawn = format!(
        r#"<circle class="wedge" cx="{}" cy="{}" r="22"/>"#,
        num(x),
        num(at)
    );
    drawn.push_str(&text("small number", Anchor::Middle, [x, at + 10.0], "2"));
    let place = [far - 16.0, at + 10.0];
    drawn.push_str(&text(
        "small",
        Anchor::End,
        place,
        "second person, or further out",
    ));
    let level = if exit > 0.0 { at + 84.0 } else { at - 56.0 };
    let edge = um(scene.bounds.across.hi);
    drawn.push_str(&dimension(
        [[far, level], [x, level]],
        [y(edge), at + exit * 22.0],
        &system.run(second.past),
    ));
    let (low, high) = (at.max(middle), at.min(middle));
    drawn + &upright(x - 24.0, x - 48.0, [low, high], -1.0, &system.run(second.aside))
}
