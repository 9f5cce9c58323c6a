//! Where everything stands between two moves.

use bunkside_protocol::{Act, Acts, Angle, MillRecord, Position, Targets};

/// Where everything stands between two moves.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Pose {
    /// The blade's centre along the rails.
    pub travel: Position,
    /// The corner across the bed.
    pub across: Position,
    /// The corner above the bed.
    pub height: Position,
    /// How the blade stands.
    pub angle: Angle,
    /// Whether the blade is up to speed.
    pub spinning: bool,
    /// Whether the riving knife is fitted.
    pub knife: bool,
    /// Whether the pull-back aid bears.
    pub aid: bool,
}

impl Pose {
    /// Parked as every job starts: at the operator's end, drawn back to the entry side, raised, upright, standing.
    #[must_use]
    pub fn parked(mill: &MillRecord) -> Self {
        Self {
            travel: mill.travel.min,
            across: mill.across.min,
            height: mill.height.max,
            angle: Angle::Upright,
            spinning: false,
            knife: mill.knife.is_some_and(|knife| knife.fitted_at_start),
            aid: mill.aid.is_some_and(|aid| aid.on_at_start),
        }
    }

    /// The same with some axes elsewhere.
    #[must_use]
    pub fn at(self, targets: &Targets) -> Self {
        Self {
            travel: targets.travel.unwrap_or(self.travel),
            across: targets.across.unwrap_or(self.across),
            height: targets.height.unwrap_or(self.height),
            ..self
        }
    }

    /// The same after the operator has acted. Knife and aid can only be fitted where the mill has them.
    #[must_use]
    pub fn after(self, acts: Acts, mill: &MillRecord) -> Self {
        let knife = (self.knife || acts.contains(Act::KnifeOn)) && !acts.contains(Act::KnifeOff);
        let aid = (self.aid || acts.contains(Act::AidOn)) && !acts.contains(Act::AidOff);
        Self {
            knife: knife && mill.knife.is_some(),
            aid: aid && mill.aid.is_some(),
            ..self
        }
    }
}
