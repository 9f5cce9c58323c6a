//! Where a sequence starts: moves do not say it, and a verdict rests on it.

use bunkside_planner::machine::Pose;
use bunkside_protocol::{Angle, MillRecord, Position};
use serde::Serialize;

use crate::measure::System;

/// Where the carriage stands before the first move, and what is fitted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Start {
    /// The blade's centre along the rails.
    pub travel_um: Position,
    /// The corner across the bed.
    pub across_um: Position,
    /// The corner above the bed.
    pub height_um: Position,
    /// How the blade stands.
    pub angle: Angle,
    /// Whether it turns.
    pub spinning: bool,
    /// Whether the riving knife is fitted.
    pub knife: bool,
    /// Whether the pull-back aid bears.
    pub aid: bool,
}

impl Start {
    /// Where every sequence starts on a mill.
    #[must_use]
    pub fn on(mill: &MillRecord) -> Self {
        let pose = Pose::parked(mill);
        Self {
            travel_um: pose.travel,
            across_um: pose.across,
            height_um: pose.height,
            angle: pose.angle,
            spinning: pose.spinning,
            knife: pose.knife,
            aid: pose.aid,
        }
    }

    /// The same in words, without a full stop.
    #[must_use]
    pub fn words(&self, mill: &MillRecord, system: System) -> String {
        let [travel, across, height] =
            [self.travel_um, self.across_um, self.height_um].map(|place| system.size(place.from_origin()));
        let stands = match self.angle {
            Angle::Upright => "upright",
            Angle::Flat => "flat",
        };
        let turns = if self.spinning { "turning" } else { "standing" };
        let mut words = format!(
            "parked before move 0: travel {travel}, across {across}, height {height}, blade {stands} and {turns}"
        );
        if mill.knife.is_some() {
            words += if self.knife { ", knife on" } else { ", knife off" };
        }
        if mill.aid.is_some() {
            words += if self.aid { ", aid on" } else { ", aid off" };
        }
        words
    }
}
