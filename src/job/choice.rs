//! Settings to choose among, where a job leaves level, offset or turn open.
//!
//! | key | grid | where it makes a difference |
//! |---|---|---|
//! | `level` | 0, 25, 50, 75 and 100 hundredths of the way from level by the underside to level by the top | the ends are not as thick |
//! | `turn` | every 15 degrees: all around of a swept log, half around of an oval one, which then lies as before | swept or oval |
//! | `offset` | 0, and up to four more in whole steps of 10 mm, the last where the log lies in the middle of what the across axis reaches | the log reaches further than that axis |
//!
//! Each is read as if it had been written in the job, with all checks; what does not pass them is none to choose. Metal is told with
//! the log as it is set, so that where there is some the log cannot be turned or tilted anew.

use bunkside_protocol::{Length, MillRecord};

use super::shape::Measured;
use super::{BoardSpec, Finish, Job, check, lower};
use crate::diagnostic::{Diagnostic, any_error};
use crate::input::{Node, Value};
use crate::mill::Profile;

/// What came of choosing a setting.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Chosen {
    /// How many settings there were to choose among.
    pub settings: usize,
    /// What it brings; none where a cut plan or moves name the setting, and nothing was worked out.
    pub figures: Option<Figures>,
}

/// What a chosen setting brings, thousandths of the job's money.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Figures {
    /// The best layout at that setting that was looked for: one that can be sawn, or any.
    pub worth: i64,
    /// The same at the first of all settings, with the centre line level where that is one of them; none where there is none.
    pub first: Option<i64>,
    /// The level, offset and turn of that first one.
    pub first_is: (u8, Length, i32),
    /// No layout at any of the settings is worth more, sawn or not.
    pub bound: i64,
    /// The same wherever floors and corners lie; none where that takes too much memory.
    pub anywhere: Option<i64>,
    /// Whether it was asked that it can be sawn, and can.
    pub sawn: bool,
    /// Whether no other setting is left that might bring more.
    pub all: bool,
}

const LEVELS: [u8; 5] = [50, 25, 75, 0, 100];
/// Thousandths of a degree.
const TURN: i64 = 15_000;
const AROUND: i64 = 360_000;
/// Whole steps of this.
const OFFSET: Length = Length::mm(10);
/// Beside no offset.
const OFFSETS: i64 = 4;

type Wanted = Option<(Vec<BoardSpec>, Option<Finish>)>;

/// The job that a table and a mill hold, as of [`lower::job`]; where its setting is to be chosen, with every choice there is, and as
/// it lies at the first of them.
pub(super) fn jobs(
    root: &Node,
    mill: Option<Profile>,
    wanted: Wanted,
    inches: bool,
    said: &mut Vec<Diagnostic>,
) -> Option<Job> {
    let open = Open::of(root);
    if !open.any() {
        return lower::job(root, mill, wanted, inches, said);
    }
    open.judge(root, said);
    let first = open.set(root, [50, 0, 0]);
    let mut wrong = Vec::new();
    let measured = lower::measured(&first, &mut wrong);
    let settings = match (&measured, &mill) {
        (Some(measured), Some(mill)) => open.grid(measured, &mill.record),
        _ => vec![[50, 0, 0]],
    };
    let mut choices: Vec<Job> = Vec::new();
    let mut told: Option<Vec<Diagnostic>> = None;
    for setting in settings {
        let mut here = Vec::new();
        let job = lower::job(
            &open.set(root, setting),
            mill.clone(),
            wanted.clone(),
            inches,
            &mut here,
        );
        let good = job.filter(|_| !any_error(&here));
        // What is said of the first that passes; where none does, of the first of all.
        if told.is_none() || (choices.is_empty() && good.is_some()) {
            told = Some(here);
        }
        choices.extend(good);
    }
    said.extend(told.unwrap_or_default());
    let first = choices.first()?.clone();
    Some(Job { choices, ..first })
}

/// What is open.
#[derive(Clone, Copy, Debug)]
struct Open {
    level: bool,
    offset: bool,
    turn: bool,
}

impl Open {
    fn of(root: &Node) -> Self {
        let open = |path: &str| root.word(path) == Some("best");
        Self {
            level: open("setting.level"),
            offset: open("setting.offset"),
            turn: open("setting.turn"),
        }
    }

    const fn any(self) -> bool {
        self.level || self.offset || self.turn
    }

    /// What else the job has to say where its setting is to be chosen.
    fn judge(self, root: &Node, said: &mut Vec<Diagnostic>) {
        let keys = [
            ("setting.level", self.level),
            ("setting.turn", self.turn),
            ("setting.offset", self.offset),
        ];
        let Some((path, _)) = keys.into_iter().find(|(_, open)| *open) else {
            return;
        };
        if root.word("setting.layout") != Some("best") {
            let message =
                "the setting is to be chosen by what the boards bring, and they are laid out by habit";
            let help = "add layout = \"best\" to [setting], or write how the log is to lie";
            said.push(Diagnostic::error(check::place(root, path), message).with_help(help));
        }
        if self.turn && root.get("setting.sawn").is_some() {
            let message = "faces are told with the log as it lies, and how it is turned is to be chosen";
            let help = "write `turn` as it lies now";
            said.push(Diagnostic::error(check::place(root, "setting.turn"), message).with_help(help));
        }
        if (self.level || self.turn) && root.items("log.metal").next().is_some() {
            let message = "metal is told with the log as it is set, and how it is set is to be chosen";
            let help = "write `level` and `turn` as they were when the metal was measured";
            said.push(Diagnostic::error(check::place(root, path), message).with_help(help));
        }
    }

    /// A job's table with such a setting: level in hundredths, offset in micrometres, turn in thousandths of a degree; what is told stays.
    fn set(self, root: &Node, [level, offset, turn]: [i64; 3]) -> Node {
        let mut root = root.clone();
        let wanted = [
            ("level", self.level, level),
            ("offset", self.offset, offset),
            ("turn", self.turn, turn),
        ];
        if let Value::Table(fields) = &mut root.value
            && let Some((_, setting)) = fields.iter_mut().find(|field| field.0 == "setting")
            && let Value::Table(fields) = &mut setting.value
        {
            for (name, node) in fields {
                if let Some((.., value)) = wanted.iter().find(|(key, open, _)| *open && key == name) {
                    node.value = Value::Whole(*value);
                }
            }
        }
        root
    }

    /// The settings to choose among, the nearest to centre line, no offset and no turn first.
    fn grid(self, log: &Measured, mill: &MillRecord) -> Vec<[i64; 3]> {
        let tapers = log.near != log.far;
        let levels: &[u8] = if self.level && tapers {
            &LEVELS
        } else {
            &LEVELS[..1]
        };
        let turns = if self.turn { turns(log) } else { vec![0] };
        let offsets = if self.offset { offsets(log, mill) } else { vec![0] };
        let mut all = Vec::new();
        for level in levels {
            for offset in &offsets {
                for turn in &turns {
                    all.push([i64::from(*level), *offset, *turn]);
                }
            }
        }
        let steps = |[level, offset, turn]: &[i64; 3]| {
            (level - 50).abs() / 25 + offset.abs() / OFFSET.wide() + turn.abs() / TURN
        };
        all.sort_by_key(|one| {
            (
                steps(one),
                one[2].abs(),
                one[1].abs(),
                one[2] < 0,
                one[1] < 0,
                one[0],
            )
        });
        all
    }
}

/// All around of a swept log, half around of one that is only oval, not at all of another.
fn turns(log: &Measured) -> Vec<i64> {
    let oval = [log.near, log.far]
        .iter()
        .any(|[across, height]| across != height);
    let around = match (log.bow > Length::ZERO, oval) {
        (true, _) => AROUND,
        (false, true) => AROUND / 2,
        (false, false) => return vec![0],
    };
    let half = around / TURN / 2;
    (1 - half..=half).map(|steps| steps * TURN).collect()
}

/// Towards where the log lies in the middle of what the across axis reaches.
fn offsets(log: &Measured, mill: &MillRecord) -> Vec<i64> {
    let thick = [log.near, log.far]
        .into_iter()
        .flatten()
        .max()
        .unwrap_or(Length::ZERO);
    let half = (thick.half_floor() + log.bow).wide();
    let (min, max) = (mill.across.min.wide(), (mill.across.max - mill.blade.kerf).wide());
    if min <= -half && half <= max {
        return vec![0];
    }
    let (middle, step) = (i64::midpoint(min, max), OFFSET.wide());
    let whole = (middle.abs() + step / 2) / step;
    let stride = (whole + OFFSETS - 1) / OFFSETS;
    let towards = (1..=OFFSETS).map(|number| (number * stride).min(whole) * step * middle.signum());
    let mut all: Vec<i64> = std::iter::once(0).chain(towards).collect();
    all.dedup();
    all
}

#[cfg(test)]
mod tests;
