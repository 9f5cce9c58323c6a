//! How a log lies on its bunks and across the bed: what is wrong with it, and how far to shift it.

use bunkside_planner::physics::support::Flaw;
use bunkside_planner::sequence::PlanErrorKind;
use bunkside_protocol::{Length, MillRecord};

use crate::job::{Job, Level};
use crate::measure::System;
use crate::setting::{offset_within, shift, words::end};

/// What is wrong with how the log lies, with lengths in the reader's system.
pub(super) fn flawed(flaw: Flaw, mill: &MillRecord, system: System) -> String {
    match flaw {
        Flaw::Spacing(apart) => format!(
            "two bunks that carry the log stand {} apart, and {} is the most (`support.spacing`)",
            system.run(apart),
            system.run(mill.support.spacing)
        ),
        Flaw::Overhang(beyond) => format!(
            "{} of the log lies beyond its last bunk, and {} is the most (`support.overhang`)",
            system.run(beyond),
            system.run(mill.support.overhang)
        ),
        Flaw::Packing(high) => format!(
            "the log lies {} above a bunk, more than the {} that can be packed (`wedges.packing`)",
            system.size(high),
            system.size(mill.wedges.packing)
        ),
        Flaw::Pile(high, most) => format!(
            "the pack on a bunk would be {} high, and falls over above {}, three times the bunk's width",
            system.size(high),
            system.size(most)
        ),
        Flaw::Sunk(low) => format!("the log would lie {} below the top of a bunk", system.size(low)),
        Flaw::Bunks(_) | Flaw::Tips => flaw.to_string(),
    }
}

/// How far to shift the log, where that alone frees it.
pub(super) fn shifted(kind: PlanErrorKind, job: &Job) -> Option<String> {
    if let PlanErrorKind::Support(Flaw::Packing(_) | Flaw::Pile(..) | Flaw::Sunk(_)) = kind {
        return None;
    }
    let (system, by) = (System::of(job.inches), shift(&job.mill, &job.log, job.inches)?);
    Some(format!(
        "shift the log {} towards its {} end (near_end_at = \"{}\"): there bunks and rails do; or set bunks where they carry it, and look at [support] of the mill",
        system.size(by.abs()),
        end(by),
        system.run((job.setting.near_end_at + by).from_origin())
    ))
}

/// What would free a log of which some lies beside the across axis.
pub(super) fn beside_axis(job: &Job) -> String {
    let system = System::of(job.inches);
    match offset_within(job) {
        Some(offset) => {
            let by = offset - job.setting.offset;
            let side = if by > Length::ZERO { "exit" } else { "entry" };
            format!(
                "shift the log {} towards the {side} side (offset = \"{}\") and plan again: there the blade gets everywhere; or \
                 measure how far [across] of the mill goes",
                system.size(by.abs()),
                system.size(offset)
            )
        }
        None => "lay the log nearer to the bed's centre line (offset) and plan again, saw a slimmer one, or measure how far \
                 [across] of the mill goes"
            .to_owned(),
    }
}

/// What would let a log lie as it should.
pub(super) fn lies_badly(flaw: Flaw, job: &Job) -> String {
    let level = match job.setting.level {
        Level::Bottom | Level::Face => "",
        Level::Centre | Level::Top | Level::Between(_) => {
            "level the log by its underside (level = \"bottom\"), "
        }
    };
    let rest = match flaw {
        Flaw::Pile(..) => {
            "where it has a bow turn that up, or set wider bunks, or bunks whose tops lie higher"
        }
        Flaw::Packing(_) | Flaw::Sunk(_) => {
            "where it has a bow turn that up, or look at the bunks' tops and at wedges.packing of the mill"
        }
        Flaw::Bunks(_) | Flaw::Spacing(_) | Flaw::Overhang(_) | Flaw::Tips => {
            return "shift the log (near_end_at) or set bunks where they carry it; look at [support] of the mill".to_owned();
        }
    };
    format!("{level}{rest}")
}
