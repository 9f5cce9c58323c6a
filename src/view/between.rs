//! The moves between two strokes, each in words with its figures: who goes by the cards alone must miss none of them.

use bunkside_planner::machine::Pose;
use bunkside_planner::replay::{Setup, Step as Moved};
use bunkside_protocol::mill::HeightSetting;
use bunkside_protocol::{Angle, Length, Move, Position};

use super::parts::sideways;
use super::second::Second;
use crate::account::cuts::angle_words;
use crate::measure::System;
use crate::trace::Traced;

/// How far along the log a size is still told as a tape shows it.
const NEAR: Length = Length::mm(1_000);

/// Of a height that is cranked.
const BOTH_ENDS: &str = ", at both ends";

/// Of a setting behind the place that the next one goes to.
const DRAWN_BACK: &str =
    ", drawn back: the next setting comes from there and takes up the play of the drive.";

/// Of a setting from which the carriage passes beside the log.
const DRAWN_OUT: &str = ", out past the log: the carriage passes beside it.";

/// The same where the height is set with it.
const SET_OUT: &str = ", the blade out past the log: the carriage passes beside it.";

/// Tells moves.
#[derive(Clone, Copy)]
pub(super) struct Between<'a> {
    pub(super) setup: &'a Setup<'a>,
    pub(super) system: System,
}

impl Between<'_> {
    /// Whether somebody sets the mill by hand, and so ticks off moves.
    pub(super) fn by_hand(setup: &Setup<'_>) -> bool {
        setup.mill.drive.is_hand() || matches!(setup.mill.height_setting, HeightSetting::ByHand(_))
    }

    /// Whether a move, as it is told, is somebody's to make: all of a carriage that is pushed, of a driven one what is cranked and
    /// what is done with a pole.
    pub(super) fn is_done_by_hand(setup: &Setup<'_>, told: &str) -> bool {
        setup.mill.drive.is_hand() || told.contains(BOTH_ENDS) || told.starts_with(Second::POLE)
    }

    /// What a move changes; none where it changes nothing.
    pub(super) fn told(self, step: &Moved) -> Option<String> {
        let mill = self.setup.mill;
        let (before, after) = (&step.before, &step.after);
        match step.told {
            Move::Spin(on) if on == before.spinning => None,
            Move::Spin(true) => Some(format!("Bring the blade up to speed, {}.", mill.blade.spin_up)),
            Move::Spin(false) => Some(format!(
                "Let the blade run down and stand, {}.",
                mill.blade.run_down
            )),
            Move::Swing(angle) => (angle != before.angle).then(|| {
                format!(
                    "Swing the blade {}, {}, {}, at {} above the bed.",
                    angle_words(angle),
                    mill.swing.time,
                    self.place(after.travel),
                    self.high(after.height)
                )
            }),
            Move::Go(_) | Move::Cut(_) => self.way(before, after),
            Move::Hold(_) => None,
        }
    }

    /// The same, with why it goes back behind where the next move comes on to.
    pub(super) fn told_before(self, one: &Traced, next: Option<&Traced>) -> Option<String> {
        let told = self.told(&one.step)?;
        let bare = told.trim_end_matches('.');
        let (from, to) = (&one.step.before, &one.step.after);
        let out = to.travel == from.travel && to.across < from.across;
        Some(match next {
            Some(next) if one.draws_back(next) => format!("{bare}{DRAWN_BACK}"),
            Some(next) if out && next.passes_beside(self.setup) => {
                let out = if to.height == from.height {
                    DRAWN_OUT
                } else {
                    SET_OUT
                };
                format!("{bare}{out}")
            }
            _ if one.passes_beside(self.setup) => {
                let blade = if from.spinning { "turning" } else { "standing" };
                let gap = self.system.size(self.setup.shape.bounds().across.lo - to.across);
                format!(
                    "{bare}, beside the log, the blade {blade} past its entry side, {gap} off the log at its widest: look first that \
                     nobody stands and nothing lies there."
                )
            }
            _ => told,
        })
    }

    /// How the carriage stands before the first move.
    pub(super) fn parked(self, pose: &Pose) -> String {
        format!(
            "Before the first move the carriage stands {}, the blade {}, {} above the bed, {}.",
            self.place(pose.travel),
            angle_words(pose.angle),
            self.high(pose.height),
            sideways(self.system, pose.across)
        )
    }

    /// A way through the air: up before anything else, down after it.
    fn way(self, before: &Pose, after: &Pose) -> Option<String> {
        let high = (after.height != before.height).then(|| {
            let rises = after.height > before.height;
            let verb = if rises { "raise" } else { "lower" };
            let ends = match self.setup.mill.height_setting {
                HeightSetting::Driven => "",
                HeightSetting::ByHand(_) if before.spinning => ", at both ends, beside a turning blade",
                HeightSetting::ByHand(_) => BOTH_ENDS,
            };
            format!("{verb} to {} above the bed{ends}", self.high(after.height))
        });
        let along = (after.travel != before.travel).then(|| self.run(before, after));
        let across = (after.across != before.across).then(|| {
            let what = match after.angle {
                Angle::Flat => "rim ",
                Angle::Upright => "",
            };
            format!("set across, {what}{}", sideways(self.system, after.across))
        });
        let parts = if after.height > before.height {
            [high, along, across]
        } else {
            [along, across, high]
        };
        let parts: Vec<String> = parts.into_iter().flatten().collect();
        (!parts.is_empty()).then(|| super::steps::capital(&parts.join("; then ")) + ".")
    }

    fn run(self, before: &Pose, after: &Pose) -> String {
        let verb = if self.setup.mill.drive.is_hand() {
            "push"
        } else {
            "run"
        };
        let way = if after.travel > before.travel {
            "outbound"
        } else {
            "homebound"
        };
        format!(
            "{verb} {way}, empty, {}, to {}",
            self.along((after.travel - before.travel).abs()),
            self.place(after.travel)
        )
    }

    fn high(self, height: Position) -> String {
        self.system.size(height.from_origin())
    }

    fn along(self, length: Length) -> String {
        if length < NEAR {
            self.system.size(length)
        } else {
            self.system.run(length)
        }
    }

    /// Where the blade's centre stands along the log.
    fn place(self, travel: Position) -> String {
        let log = self.setup.shape.travel();
        if travel <= log.lo {
            format!("{} short of the near end", self.along(log.lo - travel))
        } else if travel >= log.hi {
            format!("{} past the far end", self.along(travel - log.hi))
        } else {
            format!(
                "{} from the near end, beside the log",
                self.along(travel - log.lo)
            )
        }
    }
}
