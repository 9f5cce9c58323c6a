//! What the page says of growth stress: what is done about it, and what to look out for.

use std::fmt::Write;

use super::super::scene::Scene;
use super::super::steps::capital;
use super::words::kept;
use crate::account::care::Care;

/// What stands behind it.
const PRACTICE: &str =
    "What is done about growth stress: common practice, no source. The mill's manual comes first.";

/// Where the page says of it at every step.
const HEADLINE: &str = "<p class=\"second\">Growth stress is high: what that takes stands after the setting of the log, before the first step.</p>\n";

fn of(scene: &Scene<'_>) -> Option<Care> {
    let subject = &scene.subject;
    let job = subject.job?;
    Care::of(job, subject.setup, subject.trace)
}

/// A line for the head of the page; nothing where the job does not say that growth stress is high.
pub(super) fn headline(scene: &Scene<'_>) -> &'static str {
    if of(scene).is_some() { HEADLINE } else { "" }
}

/// The section; nothing where the job does not say that growth stress is high.
pub(super) fn care(scene: &Scene<'_>) -> String {
    let Some(care) = of(scene) else {
        return String::new();
    };
    let mut section = String::from(
        "<section class=\"care\" aria-labelledby=\"care\">\n<h2 id=\"care\">Growth stress</h2>\n<ul>\n",
    );
    for line in care.lines() {
        let _ = writeln!(section, "<li>{}.</li>", kept(&capital(&line)));
    }
    section.push_str("</ul>\n<div>\n");
    for caution in care.cautions {
        let _ = writeln!(section, "<p class=\"flaw\">{}</p>", kept(caution));
    }
    let _ = write!(section, "<p class=\"soft\">{PRACTICE}</p>\n</div>\n</section>\n");
    section
}
