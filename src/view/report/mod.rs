//! The report: one page that steps through the cuts on a phone, without a network, and prints.
//!
//! Every step stands in the page with its drawing, so that it reads and prints without a script; the script shows one
//! at a time and listens to keys and fingers. What the drawings share stands once.

mod begun;
mod care;
mod fed;
mod held;
mod paper;
mod reading;
mod sheet;
mod words;

use std::fmt::Write;

use bunkside_protocol::Move;

use super::between::Between;
use super::columns;
use super::ends;
use super::frame::{Frames, frames};
use super::margins;
use super::scene::Scene;
use super::second::Second;
use super::side;
use super::steps::{Doing, Step};
use super::svg::{INK, escape};
use super::timeline;
use crate::caution::CAUTION;
use crate::explain::{Course, stroke_reason};
use crate::measure::System;
use begun::Begun;
use care::care;
use fed::fed;
use held::held;
use reading::reading;
use sheet::sheet;
use words::{finding, kept, summary};

const STYLE: &str = include_str!("page.css");
const SCRIPT: &str = include_str!("page.js");

/// The whole page.
pub(super) fn page(scene: &Scene<'_>) -> String {
    let Frames { shared, drawings } = frames(scene);
    let trace = scene.subject.trace;
    let moves: Vec<Move> = trace.moves.iter().map(|traced| traced.step.told).collect();
    let course = Course::new(scene.subject.setup, &moves, trace);
    let steps = scene.steps.iter().zip(&drawings);
    let mut told = Vec::new();
    let begun = Begun::of(scene);
    let steps: Vec<String> = steps
        .map(|(step, drawing)| {
            let reason = reason(&course, step, scene.subject.system, &mut told);
            item(
                (scene, begun.as_ref()),
                &course,
                (step, drawing),
                reason.as_deref(),
            )
        })
        .collect();
    let (before, whole) = (care(scene) + &reading(scene), overview(scene));
    let mut page = head(scene);
    let _ = write!(
        page,
        "<svg class=\"shared\" aria-hidden=\"true\" width=\"0\" height=\"0\"><defs>{shared}</defs></svg>\n{}",
        masthead((scene, begun.as_ref()), paper::pages(&before, &steps, &whole))
    );
    let next = begun.and_then(|begun| begun.next);
    let next = next.map_or_else(String::new, |next| format!(" data-next=\"{next}\""));
    let _ = writeln!(
        page,
        "<main id=\"steps\" aria-labelledby=\"steps-head\"{next}>\n<h2 id=\"steps-head\">The steps</h2>"
    );
    page.push_str(
        "<p class=\"unseen\" id=\"say\" role=\"status\" aria-live=\"polite\"></p>\n<ol class=\"before\">\n",
    );
    let _ = write!(
        page,
        "<li id=\"setting-up\" class=\"step setup\" value=\"0\">\n{}{before}</li>\n</ol>\n<ol>\n",
        sheet(scene)
    );
    page.push_str(&steps.concat());
    page.push_str("</ol>\n");
    let _ = write!(
        page,
        "<div class=\"foot\">\n{MORE}<p class=\"caution\" role=\"note\">{}</p>\n<p class=\"caution brief\">{BRIEF}</p>\n{CONTROLS}</div>\n</main>\n",
        escape(CAUTION)
    );
    page.push_str(&whole);
    let _ = write!(page, "<script>\n{}</script>\n</body>\n</html>\n", SCRIPT);
    page
}

fn head(scene: &Scene<'_>) -> String {
    format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\"/>\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1, viewport-fit=cover\"/>\n\
         <title>Log {}, cut by cut</title>\n<style>\n{}{}{}</style>\n</head>\n<body>\n",
        escape(scene.subject.log),
        INK,
        STYLE,
        held::lines(scene)
    )
}

fn masthead((scene, begun): (&Scene<'_>, Option<&Begun>), pages: [usize; 2]) -> String {
    let (verdict, _) = summary(scene);
    let whole = [
        words::unfilled,
        words::doubts,
        words::second,
        words::aided,
        words::lifting,
        words::turning,
        words::metal,
    ]
    .map(|told| told(scene))
    .concat()
        + care::headline(scene);
    let begun = begun.map_or_else(String::new, Begun::headline);
    let back = if whole.is_empty() && begun.is_empty() {
        ""
    } else {
        WHOLE
    };
    format!(
        "<header>\n<h1>Log {}</h1>\n{begun}<p class=\"verdict\">{}</p>\n{whole}{back}<p class=\"printed\">{} {}</p>\n</header>\n",
        escape(scene.subject.log),
        escape(&verdict),
        escape(CAUTION),
        words::sheets(pages)
    )
}

/// Where a narrow screen tells on a card what holds for all of them.
const WHOLE: &str = "<p class=\"whole\"><a href=\"#setting-up\">All cautions</a></p>\n";

/// What says that a card goes on below, and goes there.
const MORE: &str = "<button type=\"button\" id=\"more\" hidden=\"hidden\">More below \u{2193}</button>\n";

/// The caution on the cards of a narrow screen, after the card that has all of it.
const BRIEF: &str = "Sawing kills. This is a planning aid, not a guard.";

const CONTROLS: &str = "<nav class=\"controls\" aria-label=\"Steps\">\
<button type=\"button\" id=\"back\">Back</button>\
<p><span id=\"where\" class=\"soft\"></span><a href=\"#whole\">Whole log</a></p>\
<button type=\"button\" id=\"next\">Next</button></nav>\n";

/// By which numbers the other reports call a step.
fn called(course: &Course<'_>, step: &Step) -> String {
    match step.doing {
        Doing::Cut => format!(
            "Step {}: move {}, cut {}",
            step.number,
            step.at,
            course.number(step.at)
        ),
        Doing::Hold => format!("Step {}: move {}", step.number, step.at),
    }
}

/// Why a cut runs on its stroke; on a carriage that is pushed the same of every cut, and so told once for each angle.
fn reason(course: &Course<'_>, step: &Step, system: System, told: &mut Vec<String>) -> Option<String> {
    let reason = stroke_reason(course, step.at, system)?;
    if course.setup.mill.drive.is_hand() && reason.contains("climb-powered") {
        if told.contains(&reason) {
            return None;
        }
        told.push(reason.clone());
    }
    Some(reason)
}

/// Whether a card warns, or tells of the pole: on a narrow screen all its words to act on stand before its drawing.
fn minds(step: &Step) -> bool {
    let pole = |line: &String| line.starts_with(Second::POLE);
    !(step.findings.is_empty() && step.second.is_empty()) || step.lead.iter().any(pole)
}

fn item(
    (scene, begun): (&Scene<'_>, Option<&Begun>),
    course: &Course<'_>,
    (step, drawing): (&Step, &str),
    reason: Option<&str>,
) -> String {
    let kind = match step.doing {
        Doing::Cut => "cut",
        Doing::Hold => "hold",
    };
    let minds = if minds(step) { " data-minds=\"\"" } else { "" };
    let done = begun.is_some_and(|begun| begun.is_done(step));
    let (of_done, is_done) = if done {
        (" data-done=\"\"", ". Done")
    } else {
        ("", "")
    };
    let mut item = format!(
        "<li id=\"step-{0}\" class=\"step {kind}\" value=\"{0}\"{minds}{of_done}>\n<div class=\"draw\">{drawing}</div>\n<div class=\"tell\">\n",
        step.number
    );
    let _ = writeln!(
        item,
        "<p class=\"which soft\">{}{is_done}</p>",
        called(course, step)
    );
    item.push_str(&begun.map_or_else(String::new, |begun| begun.go_on(step)));
    for said in &step.findings {
        item.push_str(&finding(scene, said, step));
    }
    item.push_str(&lead(scene, &step.lead, "Before it"));
    let _ = writeln!(item, "<p class=\"say\">{}</p>", kept(&step.sentence));
    if let Some(reason) = reason {
        let _ = writeln!(item, "<p class=\"why\">{}</p>", kept(reason));
    }
    item.push_str(&fed(scene, course, step));
    let _ = writeln!(item, "<p class=\"stand\">{}</p>", escape(&step.stand));
    if !step.second.is_empty() {
        let _ = writeln!(item, "<p class=\"pole\">{}</p>", kept(&step.second));
    }
    item.push_str(&held(scene, step));
    if !step.ticks.is_empty() {
        item.push_str(&ticks(&step.ticks, "ticks"));
    }
    item.push_str(&lead(scene, &step.tail, "After it"));
    item.push_str("</div>\n</li>\n");
    if done {
        return item.replace(OPEN, TICKED);
    }
    item
}

/// A box to tick, and one that is ticked.
const OPEN: &str = "<input type=\"checkbox\"/>";
const TICKED: &str = "<input type=\"checkbox\" checked=\"checked\"/>";

/// The moves before a step, or after the last one, in order: lines to tick where somebody sets the mill by hand.
fn lead(scene: &Scene<'_>, moves: &[String], when: &str) -> String {
    if moves.is_empty() {
        return String::new();
    }
    if !Between::by_hand(scene.subject.setup) {
        return format!("<p class=\"lead\">{when}: {}</p>\n", kept(&moves.join(" ")));
    }
    format!(
        "<p class=\"lead\">{when}, in this order:</p>\n{}",
        in_order(scene, moves)
    )
}

/// Moves in order, each with a box to tick where it is somebody's to make.
fn in_order(scene: &Scene<'_>, moves: &[String]) -> String {
    let mut list = String::from("<ul class=\"ticks moves\">\n");
    for line in moves {
        list.push_str(&match Between::is_done_by_hand(scene.subject.setup, line) {
            true => ticked(line),
            false => format!("<li class=\"driven\"><span>{}</span></li>\n", kept(line)),
        });
    }
    list + "</ul>\n"
}

/// Lines to tick.
fn ticks(lines: &[String], class: &str) -> String {
    let mut list = format!("<ul class=\"{class}\">\n");
    for line in lines {
        list.push_str(&ticked(line));
    }
    list.push_str("</ul>\n");
    list
}

fn ticked(line: &str) -> String {
    format!("<li><label>{OPEN}<span>{}</span></label></li>\n", kept(line))
}

fn overview(scene: &Scene<'_>) -> String {
    let (_, rest) = summary(scene);
    let mut page = format!(
        "<section class=\"overview\" aria-labelledby=\"whole\">\n<h2 id=\"whole\">The whole log</h2>\n<p>{}</p>\n",
        escape(&rest)
    );
    page.push_str("<div class=\"panels\">");
    for figure in ends::figures(scene) {
        let _ = write!(page, "<figure>{figure}</figure>");
    }
    page.push_str("</div>\n");
    page.push_str(&words::key(scene));
    let _ = write!(
        page,
        "<div class=\"pair\">\n<div>\n<h2>From the side</h2>\n<figure>{}</figure>\n{}</div>\n\
         <div>\n<h2>Time line</h2>\n{}\n</div>\n</div>\n<h2>How well the wood is held</h2>\n\
         <div class=\"rows\">{}</div>\n<h2>How many columns could come off</h2>\n<div class=\"rows\">{}</div>\n</section>\n",
        side::figure(scene),
        words::pieces(scene),
        timeline::figures(scene),
        margins::figures(scene),
        columns::figure_of(scene)
    );
    page
}
