//! What is done at a hold, in words: what the mill has no means for, and how the log is laid again.

use bunkside_protocol::{Act, MillRecord};

use crate::account::table::listed;
use crate::setting::words::Words;
use crate::setting::{Role, Sheet};

/// An act in a sentence.
pub(super) const fn in_short(act: Act) -> &'static str {
    match act {
        Act::Unload => "unload",
        Act::WedgeLog => "wedge the log",
        Act::WedgeKerf => "wedge the kerf",
        Act::Dog => "dog the log",
        Act::KnifeOn => "fit the riving knife",
        Act::KnifeOff => "take the riving knife off",
        Act::Measure => "measure",
        Act::Reseat => "lay the log again",
        Act::Sweep => "sweep",
        Act::Sharpen => "sharpen",
        Act::AidOn => "bring the pull-back aid to bear",
        Act::AidOff => "lift the pull-back aid",
    }
}

/// What is done with the dogs before the first cut.
pub(super) const CLOSE_DOGS: &str = "Close the dogs on the log, as the setting sheet has them.";

/// An act as a line to tick.
pub(super) const fn in_full(act: Act) -> &'static str {
    match act {
        Act::Unload => "Take away whatever lies on or beside the log.",
        Act::WedgeLog => {
            "Set and tighten the wedges under the log, on the bunks or on what is packed on them."
        }
        Act::WedgeKerf => "Wedge the kerf.",
        Act::Dog => "Open the dogs, shift them and close them again.",
        Act::KnifeOn => "Fit the riving knife.",
        Act::KnifeOff => "Take the riving knife off.",
        Act::Measure => "Measure what came off, and what stands.",
        Act::Reseat => "Lay the log again as the setting sheet has it, wedge it and measure it.",
        Act::Sweep => "Sweep bark and dust off the log and the bed.",
        Act::Sharpen => "Sharpen the blade or change it.",
        Act::AidOn => "Bring the pull-back aid to bear.",
        Act::AidOff => "Lift the pull-back aid away.",
    }
}

/// What an act asks for that the mill does not have: `dogs`; none where it has what it takes.
pub(super) fn lacking(mill: &MillRecord, act: Act) -> Option<&'static str> {
    match act {
        Act::Dog if mill.dogs.is_empty() => Some("dogs"),
        Act::KnifeOn | Act::KnifeOff if mill.knife.is_none() => Some("riving knife"),
        Act::AidOn | Act::AidOff if mill.aid.is_none() => Some("pull-back aid"),
        _ => None,
    }
}

/// That there is nothing to do about an act: ` The moves say “dog the log”, and this mill has no dogs: there is nothing to do.`
pub(super) fn left_out(act: Act, lacks: &str) -> String {
    format!(
        " The moves say \u{201c}{}\u{201d}, and this mill has no {lacks}: there is nothing to do.",
        in_short(act)
    )
}

/// How the log is to lie once it is laid again, a line to tick each: moves are told for a log that lies there.
pub(super) fn laid_again(sheet: &Sheet, words: Words) -> Vec<String> {
    let [near, far] = [0, 1].map(|end| words.size(sheet.ends[end].bottom_um.from_origin()));
    let carries = sheet.bunks.iter().filter(|row| row.role == Role::Carries);
    let bunks: Vec<String> = carries
        .map(|row| format!("bunk {}, {}", row.bunk, words.bunk(row)))
        .collect();
    let mut lines = vec![format!(
        "Lay the log again where it lay: its underside, bark and all, {near} above the bed at the near end and {far} at the far end."
    )];
    if !bunks.is_empty() {
        lines.push(format!("Under it: {}.", listed(&bunks)));
    }
    lines.push(
        "Wedge it, and measure at both ends how high its sawn face lies: it is to be as high at both."
            .to_owned(),
    );
    lines
}
