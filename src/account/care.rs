//! What is done about growth stress, told from how the moves ran.
//!
//! What it is good for and what to look out for: common practice, no source.

use bunkside_planner::geometry::{Block, Interval};
use bunkside_planner::replay::Setup;
use bunkside_planner::stock::Pick;
use bunkside_protocol::{Act, Acts, Angle, Length, Move};
use serde::Serialize;

use super::kerf_wedges::{most_in, wedged_kerfs};
use super::table::count;
use crate::job::{GrowthStress, Job};
use crate::measure::System;
use crate::trace::{Trace, Traced};

/// What whoever saws such timber has to look out for.
pub const CAUTIONS: [&str; 4] = [
    "Stressed timber springs: what comes free may jump, swing or split, and a kerf may close on the blade at any \
moment. Keep out of its way, watch the kerf on every stroke, and stop where it closes.",
    "Wedges are of wood or plastic, driven from the top with the blade standing, and clear of the floor on which the \
flat blade comes through. Never reach into a kerf.",
    "A straightening stroke is fed for what has risen by no more than a kerf. Where more has risen, or the log has \
moved on its bunks, stop: lay it again at the heights of the setting sheet, wedge it, measure it, and plan on from what stands.",
    "The statics and the layout are those of a log that lies still: a bent one holds less well, and its boards may \
come out thin.",
];

/// What a stop to measure is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Looked {
    /// What has just come off.
    Board,
    /// What is left of the log, and its face.
    Face,
}

/// A stop to measure.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Look {
    /// The move.
    #[serde(rename = "move")]
    pub at: usize,
    /// What is measured.
    pub of: Looked,
}

/// What is done about growth stress.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Care {
    growth_stress: &'static str,
    /// Stops to measure.
    pub measure: Vec<Look>,
    /// Stops at which a kerf is wedged, by move.
    pub wedge_kerf: Vec<usize>,
    /// Strokes that straighten a face, by move.
    pub straighten: Vec<usize>,
    /// Cuts without the riving knife of a mill that has one, by move.
    pub knife_off: Vec<usize>,
    #[serde(skip)]
    has_knife: bool,
    /// How many wedges are in kerfs at one time, at most.
    #[serde(skip)]
    most_wedges: usize,
    /// What to look out for.
    pub cautions: &'static [&'static str],
}

/// Whether a cut runs over a finished face: flat, through no wood, with wood just under it.
#[must_use]
pub fn straightens(setup: &Setup<'_>, traced: &Traced) -> bool {
    let pose = &traced.step.before;
    let flat = pose.angle == Angle::Flat && traced.step.cut.is_some_and(|facts| facts.met.is_none());
    let under = Block {
        travel: Interval::ALL,
        across: Interval::new(pose.across - setup.mill.blade.radius, pose.across),
        height: Interval::new(pose.height - Length::mm(1), pose.height),
    };
    flat && traced.before.met(&setup.shape, under, Pick::Body).is_some()
}

/// What a stop to measure is for; none where it is not one.
#[must_use]
pub fn looked(traced: &Traced, acts: Acts) -> Option<Looked> {
    let lies = !traced.before.pieces().is_empty();
    acts.contains(Act::Measure)
        .then_some(if lies { Looked::Board } else { Looked::Face })
}

impl Looked {
    /// What is measured, and why.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Board => {
                "measure what came off, at both ends and in the middle: where it is not of even thickness, the log has moved"
            }
            Self::Face => {
                "measure what is left, along its face from end to end: whether it has risen, bowed or moved on its bunks"
            }
        }
    }
}

impl Care {
    /// What a job that says its growth stress is high gets; none otherwise.
    #[must_use]
    pub fn of(job: &Job, setup: &Setup<'_>, trace: &Trace) -> Option<Self> {
        if job.growth_stress != GrowthStress::High {
            return None;
        }
        let has_knife = setup.mill.knife.is_some();
        let mut care = Self {
            growth_stress: "high",
            measure: Vec::new(),
            wedge_kerf: Vec::new(),
            straighten: Vec::new(),
            knife_off: Vec::new(),
            has_knife,
            most_wedges: most_in(&wedged_kerfs(setup, trace, System::of(job.inches))),
            cautions: &CAUTIONS,
        };
        for (at, traced) in trace.moves.iter().enumerate() {
            match traced.step.told {
                Move::Hold(hold) => {
                    care.measure
                        .extend(looked(traced, hold.acts).map(|of| Look { at, of }));
                    if hold.acts.contains(Act::WedgeKerf) {
                        care.wedge_kerf.push(at);
                    }
                }
                Move::Cut(_) if straightens(setup, traced) => care.straighten.push(at),
                Move::Cut(_) | Move::Go(_) | Move::Swing(_) | Move::Spin(_) => {}
            }
            if matches!(traced.step.told, Move::Cut(_)) && has_knife && !traced.step.before.knife {
                care.knife_off.push(at);
            }
        }
        Some(care)
    }

    /// What is done and why, a sentence each.
    #[must_use]
    pub fn lines(&self) -> Vec<String> {
        let mut lines = vec![format!(
            "growth stress is high: edging kerfs are cut from both sides by turns, {}",
            self.knife_words()
        )];
        let boards: Vec<usize> = self.looks(Looked::Board);
        let faces: Vec<usize> = self.looks(Looked::Face);
        if !boards.is_empty() {
            lines.push(format!(
                "measure the first board ({}): it tells by how much the log moves",
                moves(&boards)
            ));
        }
        if !faces.is_empty() {
            lines.push(format!(
                "measure what is left after each layer but the lowest ({}): its face may have risen",
                moves(&faces)
            ));
        }
        if !self.straighten.is_empty() {
            lines.push(format!(
                "{} straighten those faces ({}): they take what has risen, and meet no wood that is known of",
                count(self.straighten.len() as u64, "stroke"),
                moves(&self.straighten)
            ));
        }
        if !self.wedge_kerf.is_empty() {
            lines.push(format!(
                "wedge {} deeper than 100 mm ({}), or it closes on the blade; have {} ready, for so many are in at one time",
                count(self.wedge_kerf.len() as u64, "edging kerf"),
                moves(&self.wedge_kerf),
                count(self.most_wedges as u64, "wedge")
            ));
        }
        lines
    }

    /// The same, and what to look out for.
    #[must_use]
    pub fn told(&self) -> Vec<String> {
        let cautions = self.cautions.iter().map(|caution| (*caution).to_owned());
        self.lines().into_iter().chain(cautions).collect()
    }

    fn looks(&self, of: Looked) -> Vec<usize> {
        let looks = self.measure.iter().filter(|look| look.of == of);
        looks.map(|look| look.at).collect()
    }

    fn knife_words(&self) -> String {
        match self.knife_off.as_slice() {
            _ if !self.has_knife => "on a mill without a riving knife".to_owned(),
            [] => "the riving knife on throughout".to_owned(),
            off => format!(
                "the riving knife on but where it would lead too deep ({})",
                moves(off)
            ),
        }
    }
}

/// More moves than that are not told one by one: `audit` does.
const TOLD: usize = 12;
/// So many of them are.
const FIRST: usize = 4;

/// `move 4`, `moves 4, 7 and 9`; of many the first.
fn moves(at: &[usize]) -> String {
    match at {
        [] => String::new(),
        [one] => format!("move {one}"),
        many if many.len() > TOLD => {
            let first: Vec<String> = many.iter().take(FIRST).map(usize::to_string).collect();
            format!("moves {} and {} more", first.join(", "), many.len() - FIRST)
        }
        [rest @ .., last] => {
            let rest: Vec<String> = rest.iter().map(usize::to_string).collect();
            format!("moves {} and {last}", rest.join(", "))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn of_many_moves_the_first_are_told() {
        let up_to = |count: usize| moves(&(1..=count).collect::<Vec<_>>());
        assert_eq!(up_to(1), "move 1");
        assert_eq!(up_to(3), "moves 1, 2 and 3");
        assert!(up_to(12).ends_with("10, 11 and 12"));
        assert_eq!(up_to(150), "moves 1, 2, 3, 4 and 146 more");
    }

    #[test]
    fn moves_join_as_people_say_them() {
        assert_eq!(moves(&[4]), "move 4");
        assert_eq!(moves(&[4, 7, 9]), "moves 4, 7 and 9");
    }
}
