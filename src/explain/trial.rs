//! What the rules say of an altered sequence, and what it costs.

use bunkside_planner::machine::Pose;
use bunkside_planner::replay::Replay;
use bunkside_planner::rules::{Finding, Severity};
use bunkside_protocol::{Length, Move, Speed};

use super::Names;
use super::course::Course;
use super::draft::{Blocked, Edit};
use super::rerun::{Rerun, rerun};
use crate::account::wanted::STRESS;
use crate::trace::Trace;

/// What becomes of an alternative.
#[derive(Clone, Debug)]
pub enum Outcome {
    /// A rule refuses it.
    Refused(Objected),
    /// No rule refuses it.
    Allowed(Allowed),
    /// It cannot be tried.
    Impossible(String),
}

/// A finding that an alternative has and the sequence has not.
#[derive(Clone, Debug)]
pub struct Objected {
    /// The finding.
    pub finding: Finding,
    /// The move of the sequence that it is made to; none where the alternative itself is meant.
    pub later: Option<usize>,
    /// What other rules have against the same move, one for each.
    pub also: Vec<Finding>,
}

/// An alternative that no rule refuses.
#[derive(Clone, Debug)]
pub struct Allowed {
    /// How much longer the whole sequence takes, seconds; negative where it is shorter.
    pub seconds: f64,
    /// What a rule warns of, if any does.
    pub warning: Option<Objected>,
    /// Whether the rule warns of the explained move in the same words.
    pub warned_already: bool,
    /// Whether the same pieces come off, though perhaps in another order.
    pub same_pieces: bool,
    /// Which pieces of the sequence do not come free as they were, by their numbers.
    pub lost: Vec<u16>,
}

impl Allowed {
    /// What a rule warns of that it does not warn of as it is: only that speaks against it.
    #[must_use]
    pub fn news(&self) -> Option<&Objected> {
        self.warning.as_ref().filter(|_| !self.warned_already)
    }

    /// Which pieces do not come free as they were: `piece 4 (board) does not come free as planned`.
    #[must_use]
    pub fn lost_words(&self, names: &Names) -> String {
        let called = |serial: &u16| {
            let name = names.get(serial);
            name.map_or_else(|| serial.to_string(), |name| format!("{serial} ({name})"))
        };
        let called: Vec<String> = self.lost.iter().map(called).collect();
        match called.as_slice() {
            [] => "other pieces come off too".to_owned(),
            [one] => format!("piece {one} does not come free as planned"),
            [rest @ .., last] => {
                format!(
                    "pieces {} and {last} do not come free as planned",
                    rest.join(", ")
                )
            }
        }
    }
}

/// Runs an altered sequence; `about` is the move that is explained.
///
/// Findings count that the sequence itself does not have, and all to moves that are new or the one explained.
pub(super) fn trial(course: &Course<'_>, about: usize, edit: &Edit) -> Outcome {
    let Rerun {
        mut findings,
        seconds,
        same_pieces,
        lost,
    } = rerun(course, edit);
    if let Some(wanted) = course.wanted {
        // What the job asks is asked of the whole sequence. What stress does to the log nobody sees: of that no alternative is
        // judged.
        let missed = wanted.missed(course.setup, &Trace::run(course.setup, &edit.moves));
        findings.extend(missed.into_iter().filter(|finding| finding.rule != STRESS));
        findings.sort_by_key(|finding| finding.index);
    }
    let objected = |severity| {
        let found = findings.iter().filter(|one| one.objection.severity == severity);
        let new: Vec<(&Finding, Option<usize>)> = found
            .map(|finding| (finding, origin(edit, finding).filter(|at| *at != about)))
            .filter(|(finding, later)| !is_known(course, finding, *later))
            .collect();
        // What is said of the stroke itself tells more than what is said of the way to it.
        let cuts = |(finding, later): &&(&Finding, Option<usize>)| {
            let told = edit.moves.get(usize::from(finding.index));
            later.is_none() && matches!(told, Some(Move::Cut(_)))
        };
        let (first, later) = *new.iter().find(cuts).or(new.first())?;
        let mut also: Vec<Finding> = Vec::new();
        for (one, _) in new.iter().filter(|(one, _)| one.index == first.index) {
            if one.rule != first.rule && also.iter().all(|other| other.rule != one.rule) {
                also.push(**one);
            }
        }
        Some(Objected {
            finding: *first,
            later,
            also,
        })
    };
    match objected(Severity::Refuse) {
        Some(refusal) => Outcome::Refused(refusal),
        None => {
            let warning = objected(Severity::Warn);
            let already = |objected: &Objected| is_known(course, &objected.finding, Some(about));
            Outcome::Allowed(Allowed {
                seconds,
                warned_already: warning.as_ref().is_some_and(already),
                warning,
                same_pieces,
                lost,
            })
        }
    }
}

/// The same, or why there is nothing to run.
pub(super) fn tried(course: &Course<'_>, about: usize, edit: Result<Edit, Blocked>) -> Outcome {
    match edit {
        Ok(edit) => trial(course, about, &edit),
        Err(blocked) => Outcome::Impossible(blocked.words()),
    }
}

/// Which move of the sequence a finding is made to.
pub(super) fn origin(edit: &Edit, finding: &Finding) -> Option<usize> {
    edit.origin.get(usize::from(finding.index)).copied().flatten()
}

/// Whether the sequence has this finding too.
pub(super) fn is_known(course: &Course<'_>, finding: &Finding, later: Option<usize>) -> bool {
    let Some(at) = later else { return false };
    let note = finding.objection.note;
    course.trace.findings.iter().any(|one| {
        usize::from(one.index) == at
            && one.rule == finding.rule
            && one.objection.note == note
            && one.objection.severity == finding.objection.severity
    })
}

/// The first cut that is kept in an altered sequence but cuts elsewhere.
pub(super) fn strays(course: &Course<'_>, edit: &Edit) -> Option<usize> {
    let mut replay = Replay::new(course.setup, 0);
    let kerf = |pose: &Pose| (pose.across, pose.height, pose.angle);
    let kept = edit.moves.iter().zip(&edit.origin);
    kept.map(|(told, origin)| (replay.step(told), *origin))
        .find_map(|(step, origin)| {
            let ran = course.ran(origin?)?;
            let is_cut = matches!(step.told, Move::Cut(_));
            (is_cut && kerf(&step.before) != kerf(&ran.step.before)).then_some(origin?)
        })
}

/// Feeds are tried in steps of this, as the planner gives them.
pub(super) const STEP: u32 = 5_000;

/// An alternative at the fastest feed, no faster than `top`, at which no rule refuses it; its refusal at the slowest
/// feed where none will do.
pub(super) fn at_best_feed(
    course: &Course<'_>,
    about: usize,
    top: Speed,
    build: &dyn Fn(Speed) -> Result<Edit, Blocked>,
) -> (Outcome, Speed) {
    let run = |speed: Speed| tried(course, about, build(speed));
    let at_top = run(top);
    let slowest = course.setup.mill.power.feed_min.min(top);
    let Outcome::Refused(refusal) = &at_top else {
        return (at_top, top);
    };
    if slowest == top {
        return (at_top, top);
    }
    let at_slowest = run(slowest);
    match &at_slowest {
        Outcome::Refused(other) if other.finding.rule == refusal.finding.rule => (at_top, top),
        Outcome::Refused(_) | Outcome::Impossible(_) => (at_slowest, slowest),
        Outcome::Allowed(_) => {
            let best = fastest(slowest, top, |speed| matches!(run(speed), Outcome::Allowed(_)));
            (run(best), best)
        }
    }
}

/// The fastest feed below `refused` that will do, in steps; `good` will.
pub(super) fn fastest(good: Speed, refused: Speed, will_do: impl Fn(Speed) -> bool) -> Speed {
    let (mut low, mut high) = (good.as_um_per_s() / STEP, refused.as_um_per_s().div_ceil(STEP));
    let mut best = good;
    while high.saturating_sub(low) > 1 {
        let middle = low + (high - low) / 2;
        let speed = Speed::um_per_s(middle * STEP);
        if will_do(speed) {
            (low, best) = (middle, speed);
        } else {
            high = middle;
        }
    }
    best
}

/// Half a length, on a grid.
pub(super) fn half_on_grid(length: Length, grid: Length) -> Length {
    let step = grid.wide().max(1);
    Length::um(length.wide() / 2 / step * step)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::explain::draft::Draft;
    use crate::explain::sample::{Sample, g_04};
    use bunkside_protocol::Cut;

    #[test]
    fn the_fastest_feed_that_will_do_is_found() {
        let speed = Speed::um_per_s;
        for limit in [50_000, 52_000, 119_999, 120_000, 599_999] {
            let best = fastest(speed(50_000), speed(600_000), |one| one.as_um_per_s() <= limit);
            assert_eq!(best, speed(limit / STEP * STEP), "{limit}");
        }
        assert_eq!(fastest(speed(51_234), speed(52_000), |_| true), speed(51_234));
    }

    /// A finding that the sequence has already is no news, unless it is made to the move that is explained.
    #[test]
    fn only_what_is_new_counts() {
        let Sample { setup, moves, trace } = &g_04();
        let course = Course::new(setup, moves, trace);
        let hold = moves
            .iter()
            .position(|told| matches!(told, Move::Hold(_)))
            .unwrap();
        let without = |at: usize| Draft::before(&course, at).verbatim(&course, at + 1);
        let Outcome::Refused(objected) = trial(&course, hold, &without(hold)) else {
            panic!("a piece lies in the way")
        };
        assert_eq!(objected.finding.rule, "free-piece");
        let later = objected.later.unwrap();

        let lying = without(hold);
        let again = Trace::run(setup, &lying.moves);
        let course = Course::new(setup, &lying.moves, &again);
        let struck = later - 1;
        let mut draft = Draft::before(&course, struck);
        let Move::Cut(cut) = lying.moves[struck] else {
            panic!("a cut meets the piece")
        };
        draft.push(Move::Cut(Cut { feed: None, ..cut }), Some(struck));
        let again = draft.verbatim(&course, struck + 1);
        assert!(matches!(trial(&course, 0, &again), Outcome::Allowed(_)));
        assert!(matches!(trial(&course, struck, &again), Outcome::Refused(_)));
    }

    #[test]
    fn costs_are_those_of_the_whole_sequence() {
        let Sample { setup, moves, trace } = &g_04();
        let course = Course::new(setup, moves, trace);
        let stops = moves.iter().position(|told| *told == Move::Spin(false)).unwrap();
        let mut draft = Draft::before(&course, stops);
        draft.push(Move::Spin(false), None);
        draft.push(Move::Spin(true), None);
        let Outcome::Allowed(allowed) = trial(&course, 0, &draft.verbatim(&course, stops)) else {
            panic!("nothing forbids it")
        };
        // 25 s to run down and 8 s to speed up, by the profile.
        assert!((allowed.seconds - 33.0).abs() < 1e-9);
        assert!(allowed.same_pieces && allowed.warning.is_none());
    }
}
