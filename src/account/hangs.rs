//! What is said of parts that hang by little wood: the same words on cards, in lists and in answers.

use super::table::listed;
use crate::trace::{Hanging, Traced};

/// Of parts that a cut frees or leaves hanging: `piece 55 comes free or hangs by little wood`; none where it leaves none.
#[must_use]
pub fn left(traced: &Traced) -> Option<String> {
    match traced.hanging.as_slice() {
        [] => None,
        [one] => Some(format!(
            "piece {} comes free or hangs by little wood",
            one.piece.serial
        )),
        more => Some(format!("{} come free or hang by little wood", numbers(more))),
    }
}

/// Of parts that come off at a hold: `break off piece 55 if it hangs by little wood`; none where none does.
#[must_use]
pub fn broken_off(traced: &Traced) -> Option<String> {
    match (traced.broken, traced.hanging.as_slice()) {
        (0, _) => None,
        (_, []) => Some("break off what hangs by little wood".to_owned()),
        (_, [one]) => Some(format!(
            "break off piece {} if it hangs by little wood",
            one.piece.serial
        )),
        (_, more) => Some(format!("break off {} if they hang by little wood", numbers(more))),
    }
}

fn numbers(parts: &[Hanging]) -> String {
    let numbers: Vec<String> = parts.iter().map(|one| one.piece.serial.to_string()).collect();
    format!("pieces {}", listed(&numbers))
}
