//! What people see of a sequence: end sections, side view, time line, and a report that steps through the cuts.
//!
//! | module | draws |
//! |---|---|
//! | `ends` | both ends and the worst place: numbered pieces, kerfs as gaps, bed and wedges |
//! | `side` | the log over its bunks, near to far, with packing and run-outs |
//! | `setting` | the setting sheet drawn: packing at every bunk, both ends, how the log is brought on |
//! | `timeline` | every stroke as way over time, holds between them |
//! | `margins` | how well the wood is held at every cut: rolling, sliding, lifting |
//! | `columns` | how many columns of a layer could be taken before the wood moves; `plot` is one panel of it |
//! | `frame` | one step: what stands, the kerf being cut, what is gone |
//! | `spots`, `labels` | where the numbers of pieces stand: in their fields, or beside them |
//! | `steps`, `stand` | the sentence of a step, the acts of a hold, where to stand |
//! | `way` | stroke and feed, beside the blade and over a drawing |
//! | `between` | every move between two steps, in words with its figures |
//! | `metal` | metal in the log |
//! | `dogs` | where the dogs close on the log |
//! | `second` | where a second person stands, in words and drawn |
//! | `wedging` | wedges in kerfs: where each goes, and when it is taken away |
//! | `measured` | what a face or a board should measure at a hold, and how much off is too much |
//! | `broken` | what hangs by little wood: what, where, how heavy, and where to stand |
//! | `report` | one page with all of it, for a phone and for paper |
//!
//! Nothing here reads, writes or decides anything; the same sequence gives the same bytes. Drawings are seen from the
//! near end, where the operator stands, so that the entry side lies on the hand on which it is. Lengths are floats
//! here, and only here, because nothing is sawn by a picture.

mod acts;
mod bed;
mod beside;
mod between;
mod broken;
mod columns;
mod core;
mod dogs;
mod ends;
pub mod family;
mod frame;
mod labels;
mod lead;
mod margins;
mod measured;
mod metal;
mod on_edge;
mod outline;
mod parts;
mod places;
mod plane;
mod plot;
mod pusher;
mod report;
mod scene;
mod second;
mod setting;
mod side;
mod spots;
mod stand;
mod steps;
mod svg;
mod texture;
mod timeline;
mod way;
mod wedging;

use bunkside_planner::replay::Setup;

use crate::cut_plan::OwnedPlan;
use crate::job::Job;
use crate::measure::System;
use crate::planned::Planned;
use crate::trace::Trace;
use scene::Scene;

/// What is drawn. Without a plan and a job, as for a stranger's sequence, pieces are told by their edges.
#[derive(Clone, Copy, Debug)]
pub struct Subject<'a> {
    /// The log on its mill.
    pub setup: &'a Setup<'a>,
    /// The sequence as it ran.
    pub trace: &'a Trace,
    /// What is painted on the log.
    pub log: &'a str,
    /// What the mill profile is called.
    pub mill: &'a str,
    /// In which system lengths are told.
    pub system: System,
    /// The job, for the names of the boards.
    pub job: Option<&'a Job>,
    /// The cut plan that the sequence carries out.
    pub plan: Option<&'a OwnedPlan>,
    /// What tells how the order of cuts was chosen.
    pub order: Option<&'a Planned<'a>>,
}

impl<'a> Subject<'a> {
    /// A job that was planned.
    #[must_use]
    pub fn planned(planned: &'a Planned<'a>) -> Self {
        Self {
            setup: planned.setup,
            trace: &planned.trace,
            log: &planned.job.name,
            mill: &planned.job.mill_name,
            system: System::of(planned.job.inches),
            job: Some(planned.job),
            plan: Some(planned.plan),
            order: Some(planned),
        }
    }
}

/// The files that [`pictures`] makes, in this order.
pub const FILES: [&str; 7] = [
    ENDS,
    "side.svg",
    "setting.svg",
    "timeline.svg",
    "margins.svg",
    "columns.svg",
    "report.html",
];

/// What the picture of both ends is called as a file.
pub const ENDS: &str = "ends.svg";

/// The picture of both ends alone.
#[must_use]
pub fn ends_of(subject: &Subject<'_>) -> String {
    ends::document(&Scene::of(*subject))
}

/// What the picture of several layouts is called as a file.
pub const BESIDE: &str = "others.svg";

/// Several layouts of one log side by side: of each a title, a line, and how it is sawn.
#[must_use]
pub fn beside(layouts: &[(String, String, Subject<'_>)]) -> String {
    beside::document(layouts)
}

/// Every picture as a file: its name and its content.
#[must_use]
pub fn pictures(subject: &Subject<'_>) -> Vec<(&'static str, String)> {
    let scene = Scene::of(*subject);
    let [ends, side, setting, timeline, margins, columns, report] = FILES;
    vec![
        (ends, ends::document(&scene)),
        (side, side::document(&scene)),
        (setting, setting::document(&scene)),
        (timeline, timeline::document(&scene)),
        (margins, margins::document(&scene)),
        (columns, columns::document(&scene)),
        (report, report::page(&scene)),
    ]
}

/// The sentences of every step, as the report says them: one step a line.
#[must_use]
pub fn sentences(subject: &Subject<'_>) -> String {
    let scene = Scene::of(*subject);
    scene
        .steps
        .iter()
        .map(|step| step.sentence.clone() + "\n")
        .collect()
}
