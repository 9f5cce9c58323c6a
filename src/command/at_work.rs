//! What a long search tells while it is at work, and how it is told to stop: commands print nothing themselves, the program asks.

use core::sync::atomic::AtomicBool;
use std::sync::Mutex;

/// Set where a search is to end with the best so far.
pub static STOP: AtomicBool = AtomicBool::new(false);

/// How far it is.
static TOLD: Mutex<String> = Mutex::new(String::new());

/// Says how far a search is, in a line.
pub(super) fn tell(line: String) {
    if let Ok(mut told) = TOLD.lock() {
        *told = line;
    }
}

/// How far a search is; empty where none is at work or it does not say.
#[must_use]
pub fn told() -> String {
    TOLD.lock().map_or_else(|_| String::new(), |told| told.clone())
}
