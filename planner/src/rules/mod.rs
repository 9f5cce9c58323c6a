//! The interlock rules: one file each, one line in the table.
//!
//! A rule is a pure function over a [`Situation`]: the mill, the log, one move, and the stock before and after it.
//! Every rule sees every move; the order of the table changes no verdict. Rules never see a plan: they judge what
//! a sequence does, whoever wrote it.

mod bark;
mod history;
mod measure;
mod situation;
#[cfg(test)]
mod tests;
mod wedged;

pub use falls_off::forbids;
pub use history::History;
pub use hold_parked::{BREAK_OFF, NEAR};
pub use measure::Measure;
pub use situation::{End, Moment, Scene, Situation, aid_bears};
pub use thin_wood::BARK;

use bunkside_protocol::MillRecord;

use crate::machine::Apart;
use crate::physics::under::Near;
use crate::stock::NotJudged;

/// How much a finding weighs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// The sequence may run; the operator is told.
    Warn,
    /// The sequence must not run.
    Refuse,
}

/// What a rule rests on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Basis {
    /// What the machine can do without hurting itself.
    Machine,
    /// Mechanics and geometry.
    Physics,
    /// Common practice, no source.
    Practice,
    /// The sequence agreeing with itself.
    Consistency,
}

impl core::fmt::Display for Basis {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        f.write_str(match self {
            Self::Machine => "machine",
            Self::Physics => "physics",
            Self::Practice => "common practice, no source",
            Self::Consistency => "consistency",
        })
    }
}

/// What a rule has against a move.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Objection {
    /// How much it weighs.
    pub severity: Severity,
    /// What was found.
    pub measured: Measure,
    /// What would have been right.
    pub limit: Measure,
    /// What would happen, and what would free it.
    pub note: &'static str,
    /// The move it is made to, where that is not the one being judged.
    pub to: Option<u16>,
}

impl Objection {
    /// A refusal.
    #[must_use]
    pub const fn refuse(measured: Measure, limit: Measure, note: &'static str) -> Self {
        Self {
            severity: Severity::Refuse,
            measured,
            limit,
            note,
            to: None,
        }
    }

    /// The same, made to an earlier move.
    #[must_use]
    pub const fn to(self, index: u16) -> Self {
        Self {
            to: Some(index),
            ..self
        }
    }

    /// A warning.
    #[must_use]
    pub const fn warn(measured: Measure, limit: Measure, note: &'static str) -> Self {
        Self {
            severity: Severity::Warn,
            measured,
            limit,
            note,
            to: None,
        }
    }
}

/// One objection with the rule that made it and the move it is made to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Finding {
    /// The rule's id.
    pub rule: &'static str,
    /// Number of the move, from 0.
    pub index: u16,
    /// The objection.
    pub objection: Objection,
}

/// Where objections go.
pub type Objections<'a> = &'a mut dyn FnMut(Objection);

/// A rule.
#[derive(Clone, Copy)]
pub struct Rule {
    /// Its number, never used again for another rule.
    pub number: u8,
    /// Its id, in words.
    pub id: &'static str,
    /// What it holds, in a few words.
    pub title: &'static str,
    /// Why it is there.
    pub reason: &'static str,
    /// What it rests on.
    pub basis: Basis,
    check: fn(&Situation<'_>, Objections<'_>),
}

impl Rule {
    /// Judges one moment.
    pub fn check(&self, situation: &Situation<'_>, object: Objections<'_>) {
        (self.check)(situation, object);
    }
}

/// Declares the rule files and the table. Numbers rise; a number that is retired is not given again.
macro_rules! rules {
    ($($number:literal => $file:ident),* $(,)?) => {
        $(mod $file;)*

        /// Every rule.
        pub static RULES: &[Rule] = &[$(Rule { number: $number, ..$file::RULE }),*];

        /// For each rule file a case that it alone refuses.
        #[cfg(test)]
        static EXAMPLES: &[(&str, fn() -> crate::testing::Case)] =
            &[$((stringify!($file), $file::tests::example)),*];

        const _: () = {
            let numbers: &[u8] = &[$($number),*];
            let mut rest = numbers;
            while let [a, tail @ ..] = rest {
                if let [b, ..] = tail {
                    assert!(*a < *b, "rule numbers must rise");
                }
                rest = tail;
            }
        };
    };
}

rules! {
    1 => range,
    2 => straight,
    3 => reach,
    4 => swing_clear,
    5 => move_clear,
    6 => spin_up,
    7 => bed_clear,
    8 => knife,
    9 => climb_powered,
    10 => feed_label,
    11 => flat_first,
    12 => release_climb,
    13 => edge_then_release,
    14 => rim_edge,
    15 => bed_board,
    16 => free_piece,
    17 => hold_parked,
    18 => power,
    19 => support,
    20 => roll,
    21 => slip,
    22 => lift,
    23 => thin_wood,
    24 => falls_off,
}

/// What is told of the end of a sequence that leaves the blade turning, a piece lying or a kerf open.
#[cfg(test)]
pub(crate) const LEFT_AT_END: [&str; 3] = [hold_parked::TURNS, hold_parked::LIES, hold_parked::OPEN];

/// The id under which a move is refused whose outcome cannot be represented.
pub const NOT_JUDGED: &str = "not-judged";

/// The rule with this id.
#[must_use]
pub fn by_id(id: &str) -> Option<&'static Rule> {
    RULES.iter().find(|rule| rule.id == id)
}

/// Lets rules judge one moment; what cannot be judged is found whichever rules they are.
pub fn judge(rules: &[Rule], situation: &Situation<'_>, find: &mut dyn FnMut(Finding)) {
    let index = situation.index();
    for rule in rules {
        rule.check(situation, &mut |objection| {
            find(Finding {
                rule: rule.id,
                index: objection.to.unwrap_or(index),
                objection,
            });
        });
    }
    if let Some(reason) = situation.step().and_then(|step| step.not_judged) {
        find(Finding {
            rule: NOT_JUDGED,
            index,
            objection: Objection::refuse(Measure::Unknown(reason), Measure::None, note_for(reason)),
        });
    }
}

/// Refuses what comes too near to what stands under the log.
fn too_near(mill: &MillRecord, worst: Option<Near>, note: &'static str, object: Objections<'_>) {
    if let Some(near) = worst {
        let (found, kept) = (Measure::Near(near.by, near.what), Apart::bed(mill).height);
        object(Objection::refuse(found, Measure::Told(kept, "clear of it"), note));
    }
}

const fn note_for(reason: NotJudged) -> &'static str {
    match reason {
        NotJudged::CombinedAxes => "move one axis at a time: across and height in clear air, then travel",
        NotJudged::TooManyPieces => "unload what has been freed before cutting on",
        NotJudged::TooManyDoubts => "end each stroke well past the wood, or well inside it",
        NotJudged::Thread => {
            "cut through it, or leave 3 mm of wood or more, and more than twice what the axes are true to"
        }
        NotJudged::TooManyBands | NotJudged::TooManyCells => {
            "free and unload a layer before opening more of it"
        }
    }
}
