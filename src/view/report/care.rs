//! What the page says of growth stress: what is done about it, and what to look out for.

use std::fmt::Write;

use super::super::scene::Scene;
use super::super::steps::capital;
use super::words::kept;
use crate::account::care::Care;

/// What stands behind it.
const PRACTICE: &str =
    "What is done about growth stress: common practice, no source. The mill's manual comes first.";

/// The section; nothing where the job does not say that growth stress is high.
pub(super) fn care(scene: &Scene<'_>) -> String {
    let subject = &scene.subject;
    let care = subject
        .job
        .and_then(|job| Care::of(job, subject.setup, subject.trace));
    let Some(care) = care else { return String::new() };
    let mut section = String::from(
        "<section class=\"care\" aria-labelledby=\"care\">\n<h2 id=\"care\">Growth stress</h2>\n<ul>\n",
    );
    for line in care.lines() {
        let _ = writeln!(section, "<li>{}.</li>", kept(&capital(&line)));
    }
    section.push_str("</ul>\n");
    for caution in care.cautions {
        let _ = writeln!(section, "<p class=\"flaw\">{}</p>", kept(caution));
    }
    let _ = write!(section, "<p class=\"soft\">{PRACTICE}</p>\n</section>\n");
    section
}
