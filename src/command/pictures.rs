//! What `plan` and `sequence` draw.

use super::Failure;
use super::files::Folder;
use crate::planned::Planned;

/// Files of an earlier run that must not stand beside a new plan.
pub(super) const OLD: &[&str] = &["report.html"];

/// Writes what can be drawn of a plan: report and pictures take their place here.
pub(super) fn pictures(_folder: &mut Folder, _planned: &Planned<'_>) -> Result<(), Failure> {
    Ok(())
}
