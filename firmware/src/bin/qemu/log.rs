//! What the image says: one message for each line that `fixtures/lines.rs` writes on the host.

use bunkside_firmware::{Made, Refusal, ReplanError, Replanned, Report, bits};
use bunkside_planner::audit::Verdict;
use bunkside_planner::rules::{Finding, Severity};
use defmt::{Display2Format, error, info};

pub(crate) fn opened(name: &str, moves: u32, bytes: usize) {
    info!("{=str}: {=u32} moves in {=usize} bytes", name, moves, bytes);
}

pub(crate) fn refused(name: &str, refusal: &Refusal) {
    info!("{=str}: not judged: {}", name, Display2Format(refusal));
}

pub(crate) fn judged(name: &str, report: &Report) {
    let verdict = match report.verdict {
        Verdict::Pass => "passes",
        Verdict::Warned => "passes with warnings",
        Verdict::Refused => "is refused",
    };
    info!(
        "{=str}: {=str}; {=u16} moves, {=u16} cuts, {=u16} pieces, {=u64} ms",
        name, verdict, report.moves, report.cuts, report.pieces, report.millis
    );
    info!(
        "{=str}: deepest bite {=i32} um, widest cover {=i32} um",
        name,
        report.bite.as_um(),
        report.cover.as_um()
    );
    let [tip, turn, stand, slip, lift] = bits(&report.margins);
    info!(
        "{=str}: least margins in bits: tip {=u64:016x}, turn {=u64:016x}, stand {=u64:016x}, slip {=u64:016x}, lift {=u64:016x}; mark of all {=u64:016x}",
        name, tip, turn, stand, slip, lift, report.mark
    );
    report.findings.iter().for_each(|finding| found(name, finding));
    if report.more {
        info!("{=str}: there is more, not listed here", name);
    }
}

fn found(name: &str, finding: &Finding) {
    let says = match finding.objection.severity {
        Severity::Warn => "warns of",
        Severity::Refuse => "refuses",
    };
    info!(
        "{=str}: {=str} {=str} move {=u16}: {}, limit {}; {=str}",
        name,
        finding.rule,
        says,
        finding.index,
        Display2Format(&finding.objection.measured),
        Display2Format(&finding.objection.limit),
        finding.objection.note
    );
}

pub(crate) fn permit(name: &str, high: bool) {
    info!(
        "{=str}: run permit {=str}",
        name,
        if high { "high" } else { "low" }
    );
}

pub(crate) fn made(name: &str, made: &Made, same: bool) {
    let same = if same {
        "the same bytes as"
    } else {
        "other bytes than"
    };
    info!(
        "plan: {=u32} moves in {=usize} bytes, check sum {=u32:08x}, {=str} {=str}",
        made.moves, made.len, made.crc, same, name
    );
}

pub(crate) fn spent(what: &str, name: &str, instructions: u32, cuts: u16) {
    info!(
        "figure: {=str} {=str} takes {=u32} instructions, {=u32} a cut",
        what,
        name,
        instructions,
        instructions / u32::from(cuts.max(1))
    );
}

pub(crate) fn replanned(came: &Replanned) {
    let made = &came.made;
    info!(
        "what stands: {=u16} moves done, {=u32} in {=usize} bytes, check sum {=u32:08x}; worth {=i64} of {=i64} on steps of {=i32} um, try {=u32}",
        came.done,
        made.moves,
        made.len,
        made.crc,
        came.worth,
        came.bound,
        came.step.as_um(),
        came.tries
    );
}

pub(crate) fn not_replanned(error: &ReplanError) {
    error!("what stands: {}", Display2Format(error));
}

pub(crate) fn stack(after: &str, bytes: usize) {
    info!("figure: stack {=usize} bytes after {=str}", bytes, after);
}

pub(crate) fn failed(what: &str) {
    error!("{=str}", what);
}
