//! What could be done instead of a move.

use bunkside_protocol::Speed;

use super::trial::Outcome;

/// One alternative.
#[derive(Clone, Debug)]
pub struct Alternative {
    /// Which.
    pub kind: Kind,
    /// What is done instead, in a few words.
    pub instead: String,
    /// What becomes of it.
    pub outcome: Outcome,
    /// The feed at which it was judged last, where it is not that of the move.
    pub speed: Option<Speed>,
    /// The first cut that would cut elsewhere, by the number of its move.
    pub strays: Option<usize>,
}

/// Kinds of alternatives.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// The same kerf on the other stroke.
    OtherStroke,
    /// The same stroke at a faster feed.
    Faster,
    /// One pass instead of two.
    OnePass,
    /// Two passes instead of one.
    TwoPasses,
    /// The notch's other kerf first.
    OtherAngleFirst,
    /// Taken instead of released.
    Taken,
    /// Released instead of taken.
    Released,
    /// Without the move, or a part of it.
    LeftOut,
    /// At once with the next move.
    Together,
    /// At the other end of the log.
    OtherEnd,
    /// With the blade stopped for it.
    Stopped,
}

impl Kind {
    /// The word for programs.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::OtherStroke => "other-stroke",
            Self::Faster => "faster",
            Self::OnePass => "one-pass",
            Self::TwoPasses => "two-passes",
            Self::OtherAngleFirst => "other-angle-first",
            Self::Taken => "taken",
            Self::Released => "released",
            Self::LeftOut => "left-out",
            Self::Together => "together",
            Self::OtherEnd => "other-end",
            Self::Stopped => "stopped",
        }
    }
}

impl Alternative {
    pub(super) const fn new(kind: Kind, instead: String, outcome: Outcome) -> Self {
        Self {
            kind,
            instead,
            outcome,
            speed: None,
            strays: None,
        }
    }

    /// The same, judged at a feed; told where it is another than the move's.
    pub(super) fn at_speed(self, speed: Speed, usual: Speed) -> Self {
        Self {
            speed: (speed != usual).then_some(speed),
            ..self
        }
    }
}
