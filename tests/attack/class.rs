//! Ways to spoil a sequence.

use bunkside_protocol::{LogRecord, MillRecord, Move};

use super::good::Good;
use crate::dice::Dice;

/// A sequence with one thing changed, and the mill or the log, where it is one of them that was changed.
pub(crate) struct Spoilt {
    pub(crate) moves: Vec<Move>,
    pub(crate) mill: Option<MillRecord>,
    pub(crate) log: Option<LogRecord>,
}

impl From<Vec<Move>> for Spoilt {
    fn from(moves: Vec<Move>) -> Self {
        Self {
            moves,
            mill: None,
            log: None,
        }
    }
}

/// Spoils a good sequence at a move; none where there is no such thing there.
pub(crate) type Spoil = fn(&Good<'_>, usize, &mut Dice) -> Option<Spoilt>;

/// One way to spoil a sequence.
pub(crate) struct Class {
    pub(crate) name: &'static str,
    pub(crate) spoil: Spoil,
    /// The rule that refuses every one of them, by the way they are made.
    pub(crate) must: Option<&'static str>,
    /// The rules that refuse some of them, however few are looked at.
    pub(crate) hits: &'static [&'static str],
}

/// Every mutant of this class breaks this rule.
pub(crate) const fn aimed(rule: &'static str, name: &'static str, spoil: Spoil) -> Class {
    Class {
        name,
        spoil,
        must: Some(rule),
        hits: &[],
    }
}

/// A mutant of this class may be as good as before; some of them break these rules.
pub(crate) const fn blind(name: &'static str, hits: &'static [&'static str], spoil: Spoil) -> Class {
    Class {
        name,
        spoil,
        must: None,
        hits,
    }
}
