//! The moves that lead up to a step.

use bunkside_protocol::Move;

use super::pusher::Pushed;
use crate::trace::Traced;

/// Every move since the last step, in order, each in words.
#[derive(Default)]
pub(super) struct Lead {
    pub(super) lines: Vec<String>,
    /// How many there are before the one that brings the blade up to speed.
    before_it_turns: Option<usize>,
}

impl Lead {
    /// A move, with where to push from.
    pub(super) fn tell(&mut self, traced: &Traced, told: Option<String>, pushed: Option<&Pushed>) {
        let Some(mut told) = told else { return };
        if traced.step.told == Move::Spin(true) {
            self.before_it_turns = Some(self.lines.len());
        }
        if let Some(pushed) = pushed {
            told.push_str(&pushed.words);
        }
        self.lines.push(told);
    }

    /// How whoever pushes goes round the carriage before a move: while the blade still stands, where it does.
    pub(super) fn go_round(&mut self, pushed: Option<&Pushed>) {
        let Some((pushed, words)) = pushed.and_then(|one| Some((one, one.round.clone()?))) else {
            return;
        };
        let stands = self.before_it_turns.filter(|_| pushed.before_it_turns);
        self.lines.insert(stands.unwrap_or(self.lines.len()), words);
    }
}
