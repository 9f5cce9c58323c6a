//! Where everything stands between two moves.

use bunkside_protocol::mill::HeightSetting;
use bunkside_protocol::{Act, Acts, Angle, MillRecord, Move, Position, Targets};

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
    /// Whether the dogs have been closed, and the log not laid again since.
    pub dogged: bool,
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
            dogged: false,
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

    /// Whether a move sets the height of this mill by hand, at a crank at each end of the rails.
    #[must_use]
    pub fn is_cranked(&self, mill: &MillRecord, told: &Move) -> bool {
        let Move::Go(targets) = told else { return false };
        let by_hand = matches!(mill.height_setting, HeightSetting::ByHand(_));
        by_hand && targets.height.is_some_and(|height| height != self.height)
    }

    /// The same after the operator has acted. Knife, aid and dogs count only where the mill has them. To lay the log again
    /// opens its dogs; at one hold they are closed after that.
    #[must_use]
    pub fn after(self, acts: Acts, mill: &MillRecord) -> Self {
        let knife = (self.knife || acts.contains(Act::KnifeOn)) && !acts.contains(Act::KnifeOff);
        let aid = (self.aid || acts.contains(Act::AidOn)) && !acts.contains(Act::AidOff);
        let dogged = (self.dogged && !acts.contains(Act::Reseat)) || acts.contains(Act::Dog);
        Self {
            knife: knife && mill.knife.is_some(),
            aid: aid && mill.aid.is_some(),
            dogged: dogged && !mill.dogs.is_empty(),
            ..self
        }
    }
}
