//! Wedges in kerfs, in words: at the hold that drives them, and at the one that takes them away.

use bunkside_planner::geometry::Interval;
use bunkside_planner::limits::WEDGE_APART;
use bunkside_protocol::{Act, Acts, Angle, Move};

use super::Subject;
use super::parts::sideways;
use crate::account::kerf_wedges::{WedgedKerf, wedged_kerfs, wedges_in};
use crate::account::table::{count, listed};

/// The kerfs that hold wedges, and by which number each move is told.
pub(super) struct Wedging<'s, 'a> {
    subject: &'s Subject<'a>,
    kerfs: Vec<WedgedKerf>,
    /// The step of every move; none of those that lead up to one.
    numbers: Vec<Option<usize>>,
}

impl<'s, 'a> Wedging<'s, 'a> {
    pub(super) fn of(subject: &'s Subject<'a>, numbers: Vec<Option<usize>>) -> Self {
        Self {
            kerfs: wedged_kerfs(subject.setup, subject.trace, subject.system),
            subject,
            numbers,
        }
    }

    /// What is driven at a hold, a line each.
    pub(super) fn driven(&self, at: usize) -> Vec<String> {
        let kerfs = || self.kerfs.iter().filter(|kerf| kerf.driven == at);
        if kerfs().next().is_none() {
            return vec![
                "No kerf that was cut since the hold before has wood on both sides: drive no wedge."
                    .to_owned(),
            ];
        }
        let kerf = self.subject.setup.mill.blade.kerf;
        let mut lines = vec![format!(
            "Drive wedges of wood or plastic in from the top, flush, so that the kerf does not close on the blade. Their tips \
             stay {} or more above its bottom: the blade comes through there next.",
            self.subject.system.size(kerf + WEDGE_APART)
        )];
        lines.extend(kerfs().map(|kerf| {
            let stay = match kerf.out.and_then(|out| self.number(out)) {
                Some(step) => format!("Taken away at step {step}."),
                None => "They stay in to the end.".to_owned(),
            };
            let places: Vec<String> = kerf
                .places
                .iter()
                .map(|place| self.subject.system.run(*place))
                .collect();
            format!(
                "Into {}: {}, {} from the log's near end. {stay}",
                self.told(kerf),
                kerf.wedges(),
                listed(&places)
            )
        }));
        let held = self.kerfs.iter().filter(|kerf| kerf.driven <= at);
        let held = held.filter(|kerf| kerf.out.is_none_or(|out| out > at));
        lines.push(format!(
            "Count them: now {} are in, in {}.",
            count(wedges_in(&self.kerfs, at) as u64, "wedge"),
            count(held.count() as u64, "kerf")
        ));
        lines.extend(self.passed_over(at));
        lines
    }

    /// By how much the blade clears the log where the carriage runs empty over the wedges before the next cut; none where it does
    /// not.
    fn passed_over(&self, at: usize) -> Option<String> {
        let (setup, system) = (self.subject.setup, self.subject.system);
        let later = self.subject.trace.moves.get(at + 1..)?;
        let until = later
            .iter()
            .take_while(|traced| !matches!(traced.step.told, Move::Cut(_)));
        let mut over = until.filter(|traced| {
            let (from, to) = (traced.step.before.travel, traced.step.after.travel);
            from != to && Interval::between(from, to).overlaps(setup.shape.travel())
        });
        let run = over.next()?;
        let top = run.before.top(&setup.shape)?;
        let standing = if run.step.before.spinning {
            "turning"
        } else {
            "standing"
        };
        if run.passes_beside(setup) {
            return Some(format!(
                "No wedge may stand out on the entry side: the carriage passes beside the log next, the blade {standing}."
            ));
        }
        Some(format!(
            "No wedge may stand above the face: the carriage runs over the log next, the blade {standing}, and clears the highest \
             wood by {}.",
            system.size(run.step.before.height.min(run.step.after.height) - top)
        ))
    }

    /// What is taken away at a hold, a line each.
    pub(super) fn taken(&self, at: usize, acts: Acts) -> Vec<String> {
        if !acts.contains(Act::Unload) {
            return Vec::new();
        }
        let out = self.kerfs.iter().filter(|kerf| kerf.out == Some(at));
        let mut lines: Vec<String> = out
            .map(|kerf| format!("Take the {} out of {}.", kerf.wedges(), self.told(kerf)))
            .collect();
        let left = wedges_in(&self.kerfs, at) as u64;
        if !lines.is_empty() {
            let words = match left {
                0 => "Count them: no wedge is left in. None may lie under the next cut.".to_owned(),
                _ => format!(
                    "Count them: {} left in. No loose one may lie under the next cut.",
                    if left == 1 {
                        "1 is".to_owned()
                    } else {
                        format!("{left} are")
                    }
                ),
            };
            lines.push(words);
        }
        lines
    }

    fn number(&self, at: usize) -> Option<usize> {
        self.numbers.get(at).copied().flatten()
    }

    /// A kerf by its place and the step that cut it.
    fn told(&self, kerf: &WedgedKerf) -> String {
        let system = self.subject.system;
        let place = match kerf.angle {
            Angle::Flat => format!(
                "the flat kerf {} above the bed",
                system.size(kerf.place().from_origin())
            ),
            Angle::Upright => format!("the upright kerf {}", sideways(system, kerf.place())),
        };
        match self.number(kerf.cut) {
            Some(step) => format!("{place} (cut in step {step})"),
            None => place,
        }
    }
}
