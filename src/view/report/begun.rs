//! What the page says of a log that is partly sawn: what is done of it, with which move to go on, and what speaks against it.

use super::super::scene::Scene;
use super::super::steps::{Step, capital};
use super::words::kept;
use crate::account::done::Done;

/// A log that is partly sawn, as the page tells it.
#[derive(Clone, Debug)]
pub(super) struct Begun {
    done: Done,
    /// The number of the first step that is not done; none where every one is.
    pub(super) next: Option<usize>,
    /// Whether some of the moves right before that step are done.
    on_the_way: bool,
}

impl Begun {
    /// That of a scene; none of a whole log.
    pub(super) fn of(scene: &Scene<'_>) -> Option<Self> {
        let done = Done::of(scene.subject.job?, Some(scene.subject.trace))?;
        let steps = &scene.steps;
        let before = steps.iter().take_while(|step| step.at < done.moves);
        let before: Vec<usize> = before.map(|step| step.at).collect();
        Some(Self {
            next: steps.get(before.len()).map(|step| step.number),
            on_the_way: before.last().map_or(0, |at| at + 1) < done.moves,
            done,
        })
    }

    /// Whether a step is done.
    pub(super) fn is_done(&self, step: &Step) -> bool {
        step.at < self.done.moves
    }

    /// What stands at the head of the page.
    pub(super) fn headline(&self) -> String {
        let refused = self.done.refused_words();
        let told = [self.done.headline()].into_iter().chain(refused);
        told.map(|words| format!("<p class=\"second begun\">{}.</p>\n", kept(&capital(&words))))
            .collect()
    }

    /// What a card says first: that it is the next; nothing of any other.
    pub(super) fn go_on(&self, step: &Step) -> String {
        if self.next != Some(step.number) {
            return String::new();
        }
        let moves = self.done.moves;
        let mut words = vec![format!("Go on here, with move {moves}: this log is partly sawn")];
        if let Some(last) = moves.checked_sub(1).filter(|_| self.on_the_way) {
            words.push(format!(
                "Of what stands before this step, all up to move {last} is done"
            ));
        }
        words.extend(self.done.refused_words().map(|words| capital(&words)));
        format!("<p class=\"finding go-on\">{}.</p>\n", kept(&words.join(". ")))
    }
}
