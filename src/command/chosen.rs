//! Jobs whose setting is to be chosen: chosen for a plan, and found again by what cut plans and moves say.

use std::path::Path;

use bunkside_protocol::LogRecord;

use super::Failure;
use crate::cut_plan::Document;
use crate::diagnostic::Diagnostic;
use crate::job::{Chosen, Job};
use crate::layout::settled;

/// The job at the setting that brings most; as it is where its setting is told.
pub(super) fn chosen(job: Job, sawn: bool) -> Result<Job, Failure> {
    settled(job, sawn).ok_or_else(|| {
        Failure::wrong(
            "this order takes more memory than a layout may have",
            "take a coarser `step`, or fewer products and lengths",
        )
    })
}

/// What a cut plan or moves name the setting by; none where that is told in the job, which then brings it.
pub(super) fn key(job: &Job) -> Option<String> {
    job.chosen.map(|_| job.setting.key())
}

/// The job at the setting that a cut plan was made for, and what is wrong where it is for none of the job's.
pub(super) fn for_plan(job: Job, document: &Document) -> (Job, Option<Diagnostic>) {
    match document.setting() {
        None if job.choices.is_empty() => (job, None),
        None => {
            let span = document.title_span();
            let message = "the job leaves its setting open, and this cut plan does not say which it is for";
            let help = "write in [setting] of the job how the log lies, as `bunkside plan` told it (level, offset, turn); or plan again";
            (job, Some(Diagnostic::error(span, message).with_help(help)))
        }
        Some((setting, span)) => match named(&job, setting) {
            Some(found) => (found, None),
            None if job.choices.is_empty() && job.setting.key() == setting => (job, None),
            None => {
                let message = format!("this cut plan is for a log that is set otherwise: {setting}");
                let help = format!(
                    "write that in [setting] of the job; there it is {}; or plan again",
                    if job.choices.is_empty() {
                        job.setting.key()
                    } else {
                        "open, and none of what may be chosen is as the plan has it".to_owned()
                    }
                );
                (job, Some(Diagnostic::error(span, message).with_help(help)))
            }
        },
    }
}

/// The job at the setting that moves were made for, by the log that they hold or else by what they say.
pub(super) fn for_moves(
    job: Job,
    (log, setting): (Option<&LogRecord>, Option<&str>),
    path: &Path,
) -> Result<Job, Failure> {
    if job.choices.is_empty() {
        return Ok(job);
    }
    let found = match (log, setting) {
        (Some(log), _) => job
            .choices
            .iter()
            .find(|one| one.log == *log)
            .map(|one| as_named(one, &job)),
        (None, Some(setting)) => named(&job, setting),
        (None, None) => None,
    };
    found.ok_or_else(|| {
        Failure::wrong(
            &format!(
                "the job leaves its setting open, and {} is for none of those that may be chosen, or does not say for which",
                path.display()
            ),
            "write in [setting] of the job how the log lies, as `bunkside plan` told it (level, offset, turn); or plan again",
        )
    })
}

/// The one of a job's choices that is named so.
fn named(job: &Job, setting: &str) -> Option<Job> {
    let found = job.choices.iter().find(|one| one.setting.key() == setting)?;
    Some(as_named(found, job))
}

fn as_named(choice: &Job, job: &Job) -> Job {
    Job {
        chosen: Some(Chosen {
            settings: job.choices.len(),
            figures: None,
        }),
        ..choice.clone()
    }
}
