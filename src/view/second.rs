//! Where a second person stands who holds down what a hand carriage frees, and when the pole lies on the piece.
//!
//! Such a piece comes free in forward feed, whose teeth throw ahead of the carriage; and it comes free where the stroke ends,
//! while the blade is still under it. So nobody stands there: the piece is held by its other end, from behind the carriage, to the
//! exit side of the blade's line, after all of the carriage has gone by and until it comes back. How far clear: our judgement,
//! no source.

use bunkside_planner::geometry::Interval;
use bunkside_planner::stock::Piece;
use bunkside_protocol::mill::Side;
use bunkside_protocol::{Angle, Length, Position, Stroke};

use super::Subject;
use super::ends::dimension;
use super::on_edge::is_slender;
use super::plane::{long, um};
use super::plot::broken;
use super::scene::Scene;
use super::setting::upright;
use super::side::Rail;
use super::svg::{Anchor, Path, TINY, WIDE, head, num, run_of, text};
use crate::account::table::listed;
use crate::measure::System;

/// How far somebody stands clear of where the blade comes, and of its line; and the pole of the carriage that has gone by.
const CLEAR: Length = Length::mm(1_000);
/// How far a pole reaches over the piece's end and behind whoever holds it.
const GRIP: Length = Length::mm(500);
/// How far inside the edge of the wood its tip is drawn, micrometres.
const TIP_INSIDE: f64 = 40_000.0;
/// How long a carriage may be beyond its blade, at a guess: a log that leaves no more room than that is called short.
const FRAME: Length = Length::mm(500);
/// Room beyond the person for words and figures, in units.
const ROOM: f64 = 104.0;
/// Room above it all for the title.
const TITLE: f64 = 164.0;
/// Height of the row that says what its signs mean.
const KEY: f64 = 64.0;

/// Where to stand at every cut at which a loose piece is held down.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Second {
    /// The stroke that frees: the person stands behind it, where it begins.
    stroke: Stroke,
    /// How far the blade comes past the end that the person stands at.
    pub(super) blade: Length,
    /// So far past that end, or further.
    pub(super) past: Length,
    /// So far to the exit side of the centre line, or further.
    pub(super) aside: Length,
    /// The pole is so long, or longer.
    pub(super) pole: Length,
    /// It is laid on when all of the carriage is so far past that end.
    pub(super) gone: Length,
    /// Whether a piece may well be free before that.
    short: bool,
    /// Where the blade runs at those cuts, along the rails and across.
    runs: [Interval; 2],
}

impl Second {
    /// One place for all cuts; none where nobody is needed.
    pub(super) fn of(subject: &Subject<'_>, held_down: &[u16]) -> Option<Self> {
        let (mill, log) = (subject.setup.mill, subject.setup.shape.travel());
        let (radius, kerf) = (mill.blade.radius, mill.blade.kerf);
        let steps = subject.trace.moves.iter().map(|traced| &traced.step);
        let held = steps.filter(|step| held_down.contains(&step.index));
        let mut runs: Option<[Interval; 2]> = None;
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
        }
        let runs = runs?;
        // Forward feed: the stroke runs as the teeth do.
        let stroke = mill.teeth(Angle::Flat);
        let blade = match stroke {
            Stroke::Outbound => log.lo - runs[0].lo,
            Stroke::Homebound => runs[0].hi - log.hi,
        };
        let round = |length: Length| rounded_up(length.max(Length::ZERO), subject.system);
        let (past, aside) = (round(blade + CLEAR), round(runs[1].hi.from_origin() + CLEAR));
        let away = libm::hypot(long(past + GRIP), long(aside));
        let gone = round(GRIP + CLEAR);
        Some(Self {
            stroke,
            blade: blade.max(Length::ZERO),
            past,
            aside,
            pole: round(Length::um(away as i64) + GRIP),
            gone,
            short: log.length() < gone + radius.times(2) + FRAME,
            runs,
        })
    }

    /// The end at which the person stands.
    pub(super) const fn end(&self) -> &'static str {
        begins(self.stroke)
    }

    /// In sentences, for what a cut frees: in full, or with what has to be known at every cut where a step before it tells the rest.
    pub(super) fn words(&self, told_at: Option<usize>, freed: &[Piece], system: System) -> String {
        let (end, other) = (self.end(), begins(self.stroke.back()));
        let outside = match self.stroke {
            Stroke::Outbound => "short of",
            Stroke::Homebound => "beyond",
        };
        let [past, aside, pole, gone] =
            [self.past, self.aside, self.pole, self.gone].map(|one| system.run(one));
        let (held, it) = held(freed);
        let mut words = match told_at {
            Some(step) => format!(
                "A second person holds {held} down with the pole ({pole} or longer), never by hand, as at step {step}: {past} or more \
                 {outside} the {end} end, {aside} or more to the exit side of the centre line. Lay it on the {end} end only when all of \
                 the carriage has gone {gone} along the log; press until the carriage is held clear of the {other} end; draw the pole \
                 back before the carriage comes back.",
            ),
            None => format!(
                "A second person holds {held} down from behind the carriage, {past} or more {outside} the {end} end, away from the log, \
                 where the blade comes {}, and {aside} or more to the exit side of the centre line. Pole of {pole} or longer, never by \
                 hand: lay it on the {end} end of {it}, from the exit side, only when all of the carriage has gone {gone} along the log \
                 from that end; press until the carriage is held clear of the {other} end; draw the pole back before the carriage comes \
                 back.",
                system.run(self.blade),
            ),
        };
        words.push_str(&at_once(freed, system));
        if let Some(one) = freed.iter().find(|piece| piece.bark_edge && is_slender(piece)) {
            words.push_str(&format!(
                " Piece {} is only {} wide and stands on edge: a pole keeps it from lifting, not from falling over. Press down on its \
                 top, never aside; where it goes over, draw the pole back and let it lie until the carriage is held.",
                one.serial,
                system.size(one.bounds.across.length())
            ));
        }
        if self.short {
            words.push_str(
                " This log is short: where the piece is free before the carriage is that far, leave it alone until the carriage is held.",
            );
        }
        words
    }

    /// How every line about the pole begins.
    pub(super) const POLE: &'static str = "Draw the pole back";

    /// A line to tick before anybody takes the piece.
    pub(super) const DRAW_BACK: &'static str = "Draw the pole back from the piece and lay it down clear of the rails, before anybody walks up or the carriage moves.";

    /// The same where the piece lies there while the next cut is made.
    pub(super) const DRAW_BACK_AND_LEAVE: &'static str = "Draw the pole back from the piece and lay it down clear of the rails, before the carriage comes back. The piece stays where it lies: nobody goes near it.";

    /// How far the drawing has to reach along the rails.
    pub(super) fn reach(&self, log: Interval, system: System) -> Interval {
        // Beside the person a figure has to stand, as wide as it is in units of the drawing.
        let share = (80.0 + run_of(&system.run(self.aside), 28.0)) / WIDE;
        let rest = long(self.past + CLEAR + self.runs[0].length());
        let room = self.past + Length::um((rest * share / (1.0 - share)) as i64);
        match self.stroke {
            Stroke::Outbound => Interval::new(log.lo - room, self.runs[0].hi + CLEAR),
            Stroke::Homebound => Interval::new(self.runs[0].lo - CLEAR, log.hi + room),
        }
    }

    /// Where the person stands, and where the pole's tip lies on a log: along the rails and across.
    fn pole_on(&self, scene: &Scene<'_>) -> [[f64; 2]; 2] {
        let (log, out) = (scene.bounds.travel, self.way());
        let end = um(self.behind(log));
        let stands = [end - out * long(self.past), long(self.aside)];
        let tip = end + out * long(GRIP);
        let near = |edge: f64, section: &bunkside_planner::geometry::Section| {
            if (um(section.travel) - end).abs() <= long(GRIP) {
                edge.min(um(section.width().hi))
            } else {
                edge
            }
        };
        let edge = scene.subject.setup.shape.wood().iter().fold(f64::INFINITY, near);
        [stands, [tip, edge - TIP_INSIDE]]
    }

    const fn behind(&self, log: Interval) -> Position {
        match self.stroke {
            Stroke::Outbound => log.lo,
            Stroke::Homebound => log.hi,
        }
    }

    /// 1 where the carriage runs outbound as the piece comes free.
    const fn way(&self) -> f64 {
        match self.stroke {
            Stroke::Outbound => 1.0,
            Stroke::Homebound => -1.0,
        }
    }
}

/// What is held down, and how it is called afterwards.
fn held(freed: &[Piece]) -> (String, &'static str) {
    let numbers: Vec<String> = freed.iter().map(|piece| piece.serial.to_string()).collect();
    match numbers.as_slice() {
        [] => ("the loose piece".to_owned(), "the piece"),
        [one] => (format!("piece {one}"), "the piece"),
        more => (format!("pieces {}", listed(more)), "these pieces"),
    }
}

/// How one pole bears on several pieces; nothing where it is one.
fn at_once(freed: &[Piece], system: System) -> String {
    let wide = freed.iter().map(|piece| piece.bounds.across);
    match (freed, wide.reduce(Interval::join)) {
        ([_, _, ..], Some(wide)) => format!(
            " It bears on all of them at once: fit a crosspiece of {} or more square to its end.",
            system.size(rounded_up(wide.length(), system))
        ),
        _ => String::new(),
    }
}

/// The end at which a stroke begins.
pub(super) const fn begins(stroke: Stroke) -> &'static str {
    match stroke {
        Stroke::Outbound => "near",
        Stroke::Homebound => "far",
    }
}

/// The number of the first step at which somebody holds down what comes free.
pub(super) fn first_held(
    subject: &Subject<'_>,
    numbers: &[Option<usize>],
    held_down: &[u16],
) -> Option<usize> {
    let moves = subject.trace.moves.iter().zip(numbers);
    let mut held = moves.filter(|(traced, _)| held_down.contains(&traced.step.index));
    held.find_map(|(_, number)| *number)
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
    let mut drawn = words(scene, second, top);
    drawn.push_str(&runs(second, rail, &y));
    drawn.push_str(&log(scene, rail, &y));
    let mut line = Path::new();
    line.line([0.0, middle], [WIDE, middle]);
    drawn.push_str(&line.element("centre"));
    drawn.push_str(&sides(second, [middle, y(long(second.aside))], exit));
    drawn.push_str(&passed(scene, rail, second, &y));
    drawn.push_str(&person(scene, rail, second, [middle, exit], &y));
    let high = TITLE + room[0] + room[1];
    drawn.push_str(&key(top + high));
    (drawn, high + KEY)
}

/// What the hatching, the broken arrow and the circle mean.
fn key(top: f64) -> String {
    let y = top + 22.0;
    let mut drawn = String::new();
    let mut x = 24.0;
    for (sign, words) in ["swept", "thrown", "person"].into_iter().zip([
        "where the blade runs",
        "the teeth throw",
        "second person",
    ]) {
        drawn.push_str(&match sign {
            "swept" => {
                let mut field = Path::new();
                field.rect([x, y - 18.0], [x + 54.0, y + 12.0]);
                field.element("swept")
            }
            "thrown" => {
                let (mut line, mut tip) = (Path::new(), Path::new());
                line.line([x, y - 2.0], [x + 34.0, y - 2.0]);
                tip.closed(head([x + 54.0, y - 2.0], [1.0, 0.0], 26.0));
                line.element("next") + &tip.element("tip")
            }
            _ => circled([x + 27.0, y - 2.0]),
        });
        drawn.push_str(&text("tiny", Anchor::Start, [x + 64.0, y + 9.0], words));
        x += 64.0 + run_of(words, TINY) + 20.0;
    }
    drawn
}

/// The second person, seen from above.
fn circled([x, y]: [f64; 2]) -> String {
    let circle = format!(
        r#"<circle class="wedge" cx="{}" cy="{}" r="22"/>"#,
        num(x),
        num(y)
    );
    circle + &text("small number", Anchor::Middle, [x, y + 10.0], "2")
}

/// Which side is which: entry beside the centre line, over the person's end, exit at the other, as far out as the person stands.
fn sides(second: &Second, [middle, stands]: [f64; 2], exit: f64) -> String {
    let beside = if exit > 0.0 { middle - 14.0 } else { middle + 36.0 };
    let mut places = [(Anchor::Start, 24.0), (Anchor::End, WIDE - 24.0)];
    if second.way() < 0.0 {
        places.reverse();
    }
    let [(near, x), (far, other)] = places;
    text("small", near, [x, beside], "entry side") + &text("small", far, [other, stands + 10.0], "exit side")
}

/// What is written above it.
fn words(scene: &Scene<'_>, second: &Second, top: f64) -> String {
    let title = "From above, where loose pieces are held down";
    let gone = scene.subject.system.run(second.gone);
    let words = format!(
        "The pole lies on the piece only while all of the carriage is beyond the dashed line, {gone} along the log from the {} \
         end.",
        second.end()
    );
    let line = |class: &str, down: f64, words: &str| text(class, Anchor::Start, [24.0, top + down], words);
    let rows = [72.0, 106.0, 140.0].into_iter().zip(broken(&words, 60));
    line("", 34.0, title)
        + &rows
            .map(|(down, words)| line("tiny", down, &words))
            .collect::<String>()
}

/// Where the blade runs, hatched, and which way its teeth throw.
fn runs(second: &Second, rail: &Rail, y: &dyn Fn(f64) -> f64) -> String {
    let [way, across] = second.runs;
    let mut path = Path::new();
    path.rect(
        [rail.x(um(way.lo)), y(um(across.lo))],
        [rail.x(um(way.hi)), y(um(across.hi))],
    );
    let (from, out) = match second.stroke {
        Stroke::Outbound => (rail.x(um(way.hi)), 1.0),
        Stroke::Homebound => (rail.x(um(way.lo)), -1.0),
    };
    let (level, end) = (y(um(across.hi)), rail.x(um(way.hi)).max(WIDE) - 24.0);
    let end = if out > 0.0 { end } else { 24.0 };
    let mut thrown = Path::new();
    thrown.line([from, level], [end - out * 20.0, level]);
    let mut tip = Path::new();
    tip.closed(head([end, level], [out, 0.0], 26.0));
    let anchor = if out > 0.0 { Anchor::Start } else { Anchor::End };
    let clear = if y(0.0) < level { 36.0 } else { -14.0 };
    let place = [from + out * 12.0, level + clear];
    path.element("swept")
        + &thrown.element("next")
        + &tip.element("tip")
        + &text("small", anchor, place, "thrown")
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

/// The line that all of the carriage has to be beyond.
fn passed(scene: &Scene<'_>, rail: &Rail, second: &Second, y: &dyn Fn(f64) -> f64) -> String {
    let out = second.way();
    let x = rail.x(um(second.behind(scene.bounds.travel)) + out * long(second.gone));
    let exit = um(second.runs[1].hi).max(um(scene.bounds.across.hi));
    let [from, to] = [y(um(second.runs[1].lo)), y(exit + 0.45 * long(second.aside))];
    let mut line = Path::new();
    line.line([x, from], [x, to]);
    let mut way = Path::new();
    let level = to - (to - y(exit)) * 0.15;
    way.line([x, level], [x + out * 60.0, level]);
    let mut tip = Path::new();
    tip.closed(head([x + out * 84.0, level], [out, 0.0], 26.0));
    let anchor = if out > 0.0 { Anchor::Start } else { Anchor::End };
    let place = [x + out * 96.0, level + 10.0];
    line.element("next")
        + &way.element("edge")
        + &tip.element("tip")
        + &text("small", anchor, place, "carriage gone by")
}

/// The person with the pole, and how far past the end and aside.
fn person(
    scene: &Scene<'_>,
    rail: &Rail,
    second: &Second,
    [middle, exit]: [f64; 2],
    y: &dyn Fn(f64) -> f64,
) -> String {
    let (system, out) = (scene.subject.system, second.way());
    let end = rail.x(um(second.behind(scene.bounds.travel)));
    let [stands, tip] = second
        .pole_on(scene)
        .map(|[travel, across]| [rail.x(travel), y(across)]);
    let [x, at] = stands;
    let mut pole = Path::new();
    pole.line(stands, tip);
    let mut drawn = pole.element("flat");
    drawn.push_str(&circled(stands));
    let anchor = if out > 0.0 { Anchor::Start } else { Anchor::End };
    let place = [end + out * 16.0, at + 10.0];
    drawn.push_str(&text("small", anchor, place, "second person, or further out"));
    let along = [end + out * 16.0, at + (tip[1] - at) * 0.3 + 10.0];
    let words = format!("pole, {} or longer", system.run(second.pole));
    drawn.push_str(&text("small", anchor, along, &words));
    let level = if exit > 0.0 { at + 84.0 } else { at - 56.0 };
    let edge = um(scene.bounds.across.hi);
    let [left, right] = if out > 0.0 {
        [[x, at + exit * 22.0], [end, y(edge)]]
    } else {
        [[end, y(edge)], [x, at + exit * 22.0]]
    };
    drawn.push_str(&dimension(
        [[left[0], level], [right[0], level]],
        [left[1], right[1]],
        &system.run(second.past),
    ));
    let (low, high) = (at.max(middle), at.min(middle));
    let beside = x - out * 24.0;
    drawn
        + &upright(
            beside,
            beside - out * 24.0,
            [low, high],
            -out,
            &system.run(second.aside),
        )
}
