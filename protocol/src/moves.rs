//! The move sequence: what the carriage is told, one move after the other.
//!
//! A target is the corner where the two new faces of what remains meet: `across` and `height` name it at either
//! blade angle, `travel` is where the blade's centre stands along the rails.

use serde::{Deserialize, Serialize};

use crate::units::{Position, Speed};

/// How the blade stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Angle {
    /// Lying: it cuts the face under a board, coming in from the entry side.
    Flat,
    /// Standing: it cuts the edge of a board, coming in from above.
    Upright,
}

impl Angle {
    /// Both angles, in the order of tables that are kept by angle.
    pub const ALL: [Self; 2] = [Self::Flat, Self::Upright];

    /// The other one.
    #[must_use]
    pub const fn other(self) -> Self {
        match self {
            Self::Flat => Self::Upright,
            Self::Upright => Self::Flat,
        }
    }
}

/// Which way the carriage runs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Stroke {
    /// Away from the operator, towards the far end.
    Outbound,
    /// Back towards the operator.
    Homebound,
}

impl Stroke {
    /// The stroke that leads from one place to the other; none where they are the same.
    #[must_use]
    pub fn between(from: Position, to: Position) -> Option<Self> {
        match to.cmp(&from) {
            core::cmp::Ordering::Greater => Some(Self::Outbound),
            core::cmp::Ordering::Less => Some(Self::Homebound),
            core::cmp::Ordering::Equal => None,
        }
    }

    /// The other way.
    #[must_use]
    pub const fn back(self) -> Self {
        match self {
            Self::Outbound => Self::Homebound,
            Self::Homebound => Self::Outbound,
        }
    }
}

/// How the teeth meet the wood where the kerf is deepest.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Feed {
    /// The teeth move opposite to the carriage: the cut presses into the wood and pulls the carriage on.
    Climb,
    /// The teeth move the same way as the carriage: the cut lifts out and holds the carriage back.
    Forward,
}

/// Where to: any of the three axes; an axis that is not named stays where it is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Targets {
    /// Along the rails: the blade's centre.
    pub travel: Option<Position>,
    /// Across the bed: the corner.
    pub across: Option<Position>,
    /// Above the bed: the corner.
    pub height: Option<Position>,
}

impl Targets {
    /// Along the rails only.
    #[must_use]
    pub const fn travel(to: Position) -> Self {
        Self {
            travel: Some(to),
            across: None,
            height: None,
        }
    }

    /// To a corner, where the carriage stands.
    #[must_use]
    pub const fn corner(across: Position, height: Position) -> Self {
        Self {
            travel: None,
            across: Some(across),
            height: Some(height),
        }
    }

    /// Whether travel is the only axis named.
    #[must_use]
    pub const fn is_travel_only(&self) -> bool {
        self.travel.is_some() && self.across.is_none() && self.height.is_none()
    }

    /// Whether no axis is named.
    #[must_use]
    pub const fn is_empty(&self) -> bool {
        self.travel.is_none() && self.across.is_none() && self.height.is_none()
    }
}

/// A stroke through wood at a stated feed. Where the blade is clear of the log's ends it may run at rapid.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Cut {
    /// Where the stroke ends. Only `travel` may change in wood.
    pub to: Targets,
    /// Feed in wood.
    pub speed: Speed,
    /// What the author holds the feed to be; left out, it is derived and not compared.
    pub feed: Option<Feed>,
    /// Whether the author means this stroke to release columns that were edged before.
    pub release: bool,
}

/// Something the operator does at a hold.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Act {
    /// Take the freed pieces away.
    Unload,
    /// Set or tighten the wedges under the log.
    WedgeLog,
    /// Set wedges in an open kerf.
    WedgeKerf,
    /// Close the dogs, or shift them. They hold from here on until the log is laid again.
    Dog,
    /// Fit the riving knife.
    KnifeOn,
    /// Take the riving knife off.
    KnifeOff,
    /// Measure a board or the log.
    Measure,
    /// Lay the log again, its dogs open.
    Reseat,
    /// Sweep bark and dust away.
    Sweep,
    /// Sharpen or change the blade.
    Sharpen,
    /// Bring the pull-back aid to bear.
    AidOn,
    /// Lift the pull-back aid away.
    AidOff,
}

impl Act {
    /// Every act, in the order of their numbers on the wire.
    pub const ALL: [Self; 12] = [
        Self::Unload,
        Self::WedgeLog,
        Self::WedgeKerf,
        Self::Dog,
        Self::KnifeOn,
        Self::KnifeOff,
        Self::Measure,
        Self::Reseat,
        Self::Sweep,
        Self::Sharpen,
        Self::AidOn,
        Self::AidOff,
    ];

    /// Every act, in the order in which they are done at one hold: that of their numbers, but that the log is laid again
    /// before it is wedged, dogged and measured.
    const IN_TURN: [Self; 12] = [
        Self::Unload,
        Self::Reseat,
        Self::WedgeLog,
        Self::WedgeKerf,
        Self::Dog,
        Self::KnifeOn,
        Self::KnifeOff,
        Self::Measure,
        Self::Sweep,
        Self::Sharpen,
        Self::AidOn,
        Self::AidOff,
    ];

    const fn bit(self) -> u16 {
        match self {
            Self::Unload => 1,
            Self::WedgeLog => 1 << 1,
            Self::WedgeKerf => 1 << 2,
            Self::Dog => 1 << 3,
            Self::KnifeOn => 1 << 4,
            Self::KnifeOff => 1 << 5,
            Self::Measure => 1 << 6,
            Self::Reseat => 1 << 7,
            Self::Sweep => 1 << 8,
            Self::Sharpen => 1 << 9,
            Self::AidOn => 1 << 10,
            Self::AidOff => 1 << 11,
        }
    }

    /// Whether hands are at the log or the blade for a while, so that the blade must stand still; to fit an aid or lift it away
    /// somebody reaches in. Taking a piece away is short and done from the side: whether the blade may turn then is for the
    /// mill's own manual to say.
    #[must_use]
    pub const fn needs_standing_blade(self) -> bool {
        match self {
            Self::WedgeLog
            | Self::WedgeKerf
            | Self::Dog
            | Self::KnifeOn
            | Self::KnifeOff
            | Self::AidOn
            | Self::AidOff
            | Self::Measure
            | Self::Reseat
            | Self::Sweep
            | Self::Sharpen => true,
            Self::Unload => false,
        }
    }
}

/// A set of acts: in which order somebody listed them is not kept.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "u16", into = "u16")]
pub struct Acts(u16);

impl Acts {
    /// No act.
    pub const NONE: Self = Self(0);

    /// One act.
    #[must_use]
    pub const fn one(act: Act) -> Self {
        Self(act.bit())
    }

    /// These and one more.
    #[must_use]
    pub const fn and(self, act: Act) -> Self {
        Self(self.0 | act.bit())
    }

    /// Whether the act is among them.
    #[must_use]
    pub const fn contains(self, act: Act) -> bool {
        self.0 & act.bit() != 0
    }

    /// Whether there is none.
    #[must_use]
    pub const fn is_empty(self) -> bool {
        self.0 == 0
    }

    /// The acts, in the order in which they are done at one hold.
    pub fn iter(self) -> impl Iterator<Item = Act> {
        Act::IN_TURN.into_iter().filter(move |act| self.contains(*act))
    }
}

impl TryFrom<u16> for Acts {
    type Error = crate::units::OutOfRange;
    fn try_from(bits: u16) -> Result<Self, Self::Error> {
        if bits < 1 << 12 {
            Ok(Self(bits))
        } else {
            Err(crate::units::OutOfRange)
        }
    }
}

impl From<Acts> for u16 {
    fn from(acts: Acts) -> Self {
        acts.0
    }
}

/// A planned stop where the operator acts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Hold {
    /// What is to be done before the sequence goes on: a set, done in the order of [`Acts::iter`], however it was listed.
    pub acts: Acts,
}

/// One move.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Move {
    /// Go there at rapid, in clear air.
    Go(Targets),
    /// Cut.
    Cut(Cut),
    /// Swing the blade to an angle.
    Swing(Angle),
    /// Bring the blade up to speed (`true`) or let it run down and stand (`false`); the next move waits for it.
    Spin(bool),
    /// Stop and let the operator act.
    Hold(Hold),
}
