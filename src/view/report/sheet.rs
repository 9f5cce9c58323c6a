//! The setting sheet of the page: its picture, what to do in order, and what to measure on the first board.

use std::cmp::Ordering;
use std::fmt::Write;

use bunkside_planner::machine::Pose;
use bunkside_protocol::{Length, MillRecord};

use super::super::dogs::dogs;
use super::super::scene::Scene;
use super::super::setting;
use super::super::steps::capital;
use super::ticks;
use super::words::kept;
use crate::account::bark::under;
use crate::job::Level;
use crate::measure::System;
use crate::setting::words::{Words, end, rolled};
use crate::setting::{FlawKind, FlawRow, Role, shift};

/// Of the other way to set a log level.
const TILTED: &str = "Do not tilt the rails instead of packing the log: all heights of this plan are measured from the bed, and no other setting is checked.";

/// Where the one stands who pushes the carriage.
const PUSHED: &str = "Whoever pushes the carriage stands where the mill's manual says. Common practice, no source: behind it as it runs, on \
     the exit side; out of the blade's plane, so never level with the flat blade beside it nor in line with the upright one; off the \
     side it throws to, so never ahead of it; clear of the entry side. He goes round it each time before \
     it runs back, and before a turning blade is swung flat; he sets and swings the blade from where he pushes next, his hands at nothing \
     but its levers, and leaves the carriage only where its brake or a chock on the rail holds it. Where a piece goes over on the exit side, the card of that cut \
     gives another place: read it before every cut.";

/// What stands behind the rest.
const PRACTICE: &str =
    "Staging, and what a board that is off tells: common practice, no source. The mill's manual comes first.";

/// The whole section.
pub(super) fn sheet(scene: &Scene<'_>) -> String {
    let words = Words {
        system: scene.subject.system,
        both: true,
    };
    let mut page = String::from(
        "<section class=\"sheet\" aria-labelledby=\"sheet\">\n<h2 id=\"sheet\">Setting the log</h2>\n",
    );
    for flaw in &scene.sheet.flaws {
        let _ = writeln!(
            page,
            "<p class=\"flaw\">The log cannot be set so: {}.</p>",
            kept(&words.flaw(flaw))
        );
    }
    page.push_str(&shifted(scene));
    let _ = write!(
        page,
        "<div class=\"pair\">\n<figure>{}</figure>\n<div class=\"told\">\n<h3>Before the log comes</h3>\n{}<h3>Bringing it on</h3>\n{}<h3>Once it lies there</h3>\n{}<p>{TILTED}</p>\n<p class=\"soft\">{PRACTICE}</p>\n</div>\n<div class=\"notes\">\n{}</div>\n</div>\n</section>\n",
        setting::figure(scene),
        ticks(&before(scene, words), "ticks"),
        ticks(&words.bring_on(&scene.sheet), "ticks"),
        ticks(&once_there(scene, words), "ticks"),
        first_board(scene, words)
    );
    page
}

/// How far to shift a log that its bunks do not carry where it lies.
fn shifted(scene: &Scene<'_>) -> String {
    let misplaced = |flaw: &FlawRow| !matches!(flaw.kind, FlawKind::Packing | FlawKind::Sunk);
    if !scene.sheet.flaws.iter().any(misplaced) {
        return String::new();
    }
    let (system, setup) = (scene.subject.system, scene.subject.setup);
    let by = shift(setup.mill, setup.log, system == System::Inches);
    let told = by.map(|by| {
        let line = format!(
            "Shifted {} towards its {} end the log is carried.",
            system.size_both(by.abs()),
            end(by)
        );
        format!("<p class=\"flaw\">{}</p>\n", kept(&line))
    });
    told.unwrap_or_default()
}

/// The bunks of one role, a line each.
fn bunks(scene: &Scene<'_>, words: Words, role: Role) -> impl Iterator<Item = String> {
    let rows = scene.sheet.bunks.iter().filter(move |row| row.role == role);
    rows.map(move |row| format!("Bunk {}, {}.", row.bunk, words.bunk(row)))
}

/// What is done before the log comes, in order.
fn before(scene: &Scene<'_>, words: Words) -> Vec<String> {
    let sheet = &scene.sheet;
    let start = scene.bounds.travel.lo.from_origin();
    let (way, stop) = (
        if start < Length::ZERO { "short" } else { "outbound" },
        scene.subject.setup.mill.travel.min.from_origin(),
    );
    let stop = match stop.wide() {
        0 => "at its near end stop".to_owned(),
        um => format!(
            "{} {} of its near end stop",
            words.system.run_both(stop.abs()),
            if um < 0 { "outbound" } else { "short" }
        ),
    };
    let mut lines = vec![format!(
        "Mark where the near end is to lie: {} {way} of the rails' zero mark, over which the blade's centre stands when the carriage is \
         {stop}.",
        words.system.run_both(start.abs())
    )];
    lines.extend(butt(scene, words));
    lines.extend(bunks(scene, words, Role::Carries));
    lines.extend(words.on_face(sheet));
    lines.extend(words.wedges(sheet, scene.subject.setup.mill.wedges.height));
    lines.extend(words.stage(sheet));
    lines
}

/// Which end is the thicker one; none where they are alike.
fn butt(scene: &Scene<'_>, words: Words) -> Option<String> {
    let ends = scene.subject.setup.shape.wood();
    let [near, far] = [ends.first()?, ends.last()?].map(|end| end.height().length());
    let (end, thick, thin) = match near.cmp(&far) {
        Ordering::Greater => ("near", near, far),
        Ordering::Less => ("far", far, near),
        Ordering::Equal => return None,
    };
    Some(format!(
        "The thicker end, {} high{}, lies at the {end} end; the other is {} high.",
        words.size(thick),
        under(scene.subject.setup.log.bark),
        words.size(thin)
    ))
}

/// What is turned, raised, shifted, wedged and closed once it lies there, in order.
fn once_there(scene: &Scene<'_>, words: Words) -> Vec<String> {
    let sheet = &scene.sheet;
    let turn = scene.subject.job.and_then(|job| rolled(&job.setting));
    let turn = turn.map(|turn| format!("As it was measured, but its {turn}."));
    let mut lines: Vec<String> = turn.into_iter().collect();
    if let Some(Level::Between(percent)) = scene.subject.job.map(|job| job.setting.level) {
        lines.push(format!(
            "Tilted: parallel to the rails is a line {percent} % of the way from the log's underside to its top."
        ));
    }
    lines.extend(words.bow(sheet));
    lines.extend(words.raise(sheet));
    lines.extend(words.shift(sheet));
    let [near, far] = sheet.ends.each_ref().map(|end| words.end(end));
    if near == far {
        lines.push(format!("Both ends: {near}."));
    } else {
        lines.extend([format!("Near end: {near}."), format!("Far end: {far}.")]);
    }
    lines.extend(bunks(scene, words, Role::Between));
    let rows = &sheet.bunks;
    if rows.is_empty() || rows.iter().any(|row| !row.on_face) {
        let but = if rows.iter().any(|row| row.on_face) {
            " where it does not lie on its face"
        } else {
            ""
        };
        lines.push(format!("Wedge both sides at the bunks{but}."));
    }
    lines.extend(dogs(scene).iter().map(|dog| dog.words(scene, words)));
    lines.extend(fitted(scene.subject.setup.mill, words));
    if scene.subject.setup.mill.drive.is_hand() {
        lines.push(PUSHED.to_owned());
    }
    lines.push("Before the first cut look along the log and both rails: wedges and dogs are tight, and no tool and nobody is in the way of carriage and blade.".to_owned());
    lines.push(words.next_one(sheet));
    lines
}

/// What is on the mill when the job starts, and what is not.
fn fitted(mill: &MillRecord, words: Words) -> Vec<String> {
    let start = Pose::parked(mill);
    let knife = mill.knife.map(|_| match start.knife {
        true => "The riving knife is fitted.".to_owned(),
        false => "The riving knife is off.".to_owned(),
    });
    let aid = mill.aid.map(|aid| match start.aid {
        true => format!(
            "The pull-back aid is fitted and bears on pieces up to {} wide.",
            words.size_at_most(aid.widest)
        ),
        false => "The pull-back aid is lifted away.".to_owned(),
    });
    knife.into_iter().chain(aid).collect()
}

fn first_board(scene: &Scene<'_>, words: Words) -> String {
    let Some(board) = &scene.sheet.first_board else {
        return String::new();
    };
    let mut page = String::from("<h3>The first board</h3>\n");
    page.push_str(&ticks(&[capital(&words.first_board(board)) + "."], "ticks"));
    for row in &board.if_off {
        let line = format!("Where {}: {}.", row.found, row.act);
        let _ = writeln!(page, "<p>{}</p>", kept(&line));
    }
    page
}
