//! Ways to states, and those that wait to be looked at.

use std::cmp::Ordering;

use super::state::{Deed, State};

/// One way to a state.
#[derive(Clone, Copy, Debug)]
pub(super) struct Label {
    /// The label before it; its own number where there is none.
    pub(super) parent: usize,
    pub(super) deed: Deed,
    pub(super) state: State,
    /// Seconds so far.
    pub(super) so_far: f64,
    /// Whether the last stroke has been run: its time is then known, not guessed.
    pub(super) sure: bool,
    /// Whether the last stroke in wood may be the last of the job.
    pub(super) may_end: bool,
}

impl Label {
    /// Where a search starts.
    pub(super) const fn begin(parent: usize, state: State, so_far: f64) -> Self {
        Self {
            parent,
            deed: Deed::Begin,
            state,
            so_far,
            sure: true,
            may_end: false,
        }
    }
}

/// A label that waits, the one first that may lead to the shortest way.
pub(super) struct Waiting {
    pub(super) least: f64,
    pub(super) so_far: f64,
    pub(super) label: usize,
}

impl Ord for Waiting {
    fn cmp(&self, other: &Self) -> Ordering {
        let least = other.least.total_cmp(&self.least);
        least
            .then(self.so_far.total_cmp(&other.so_far))
            .then(other.label.cmp(&self.label))
    }
}

impl PartialOrd for Waiting {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Waiting {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Waiting {}
