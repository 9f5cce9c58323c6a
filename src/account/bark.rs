//! What is said of a log's bark, and what of one that has none.

use bunkside_protocol::Length;

/// Behind a mass: ` with its bark`; nothing of a peeled log.
#[must_use]
pub fn with_its(bark: Length) -> &'static str {
    if bark > Length::ZERO { " with its bark" } else { "" }
}

/// Beside a diameter: ` under bark`; nothing of a peeled log.
#[must_use]
pub fn under(bark: Length) -> &'static str {
    if bark > Length::ZERO { " under bark" } else { "" }
}

/// What an edge is called that the log's round leaves: `bark edge`, of a peeled log `wane`.
#[must_use]
pub fn edge(bark: Length) -> &'static str {
    if bark > Length::ZERO { "bark edge" } else { "wane" }
}
