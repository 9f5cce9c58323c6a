//! What `plan` and `sequence` draw.

use super::Failure;
use super::folder::Folder;
use crate::planned::Planned;
use crate::view::{self, Subject};

/// Files of an earlier run that must not stand beside a new plan.
pub(super) const OLD: &[&str] = &view::FILES;

/// Writes pictures and report of a plan.
pub(super) fn pictures(folder: &mut Folder, planned: &Planned<'_>) -> Result<(), Failure> {
    for (name, content) in view::pictures(&Subject::planned(planned)) {
        folder.write(name, content.as_bytes())?;
    }
    Ok(())
}
