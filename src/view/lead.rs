//! The moves that lead up to a step, and what is done behind the last one.

use bunkside_planner::physics::body::body_with_bark_kg;
use bunkside_planner::stock::{Owner, Pick};
use bunkside_protocol::{Angle, Length, Move};

use super::Subject;
use super::metal::name;
use super::pusher::Pushed;
use super::steps::as_weighed;
use crate::account::metal::held_by;
use crate::account::table::listed;
use crate::trace::Traced;

/// Every move since the last step, in order, each in words.
#[derive(Default)]
pub(super) struct Lead {
    pub(super) lines: Vec<String>,
    /// How many there are before the one that brings the blade up to speed.
    before_it_turns: Option<usize>,
    /// The same before the one that swings the blade flat.
    before_it_lies: Option<usize>,
}

impl Lead {
    /// A move, with where to push from.
    pub(super) fn tell(&mut self, traced: &Traced, told: Option<String>, pushed: Option<&Pushed>) {
        let Some(mut told) = told else { return };
        if traced.step.told == Move::Spin(true) {
            self.before_it_turns = Some(self.lines.len());
        }
        if traced.step.told == Move::Swing(Angle::Flat) {
            self.before_it_lies = Some(self.lines.len());
        }
        if let Some(pushed) = pushed {
            told.push_str(&pushed.words);
        }
        self.lines.push(told);
    }

    /// How whoever pushes goes round the carriage before a move: while the blade still stands, or before it is swung flat, where it
    /// is.
    pub(super) fn go_round(&mut self, pushed: Option<&Pushed>) {
        let Some((pushed, words)) = pushed.and_then(|one| Some((one, one.round.clone()?))) else {
            return;
        };
        let stands = self.before_it_turns.filter(|_| pushed.before_it_turns);
        let upright = self.before_it_lies.filter(|_| pushed.before_it_lies);
        let place = stands.or(upright).unwrap_or(self.lines.len());
        self.lines.insert(place, words);
    }
}

/// What is done with what is left on the bunks.
pub(super) fn rest(subject: &Subject<'_>) -> String {
    let (setup, end) = (subject.setup, &subject.trace.end);
    let left = body_with_bark_kg(end, &setup.shape, Pick::Body, setup.log.density);
    let dogs = if setup.mill.dogs.is_empty() {
        ""
    } else {
        "open the dogs, "
    };
    let metal = held_by(setup, end, Owner::Body);
    let metal: Vec<String> = metal.iter().map(|number| name(*number)).collect();
    let metal = if metal.is_empty() {
        String::new()
    } else {
        format!(" Metal ({}) is in it: mark it.", listed(&metal))
    };
    format!(
        "With the blade standing, {dogs}take out the wedges and take away what is left on the bunks, {}{}.{metal}",
        subject.system.about(left),
        as_weighed(subject, setup.shape.bark() > Length::ZERO)
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Where the turning blade is swung flat on the way, whoever pushes has gone round before; where it comes up to speed, before that.
    #[test]
    fn he_goes_round_before_the_blade_lies_and_before_it_turns() {
        let told = |before_it_turns, before_it_lies| {
            let mut lead = Lead {
                lines: ["spin", "swing", "set"].map(str::to_owned).to_vec(),
                before_it_turns: Some(0),
                before_it_lies: Some(1),
            };
            lead.go_round(Some(&Pushed {
                side: None,
                round: Some("round".to_owned()),
                before_it_turns,
                before_it_lies,
                words: String::new(),
            }));
            lead.lines.iter().position(|line| line == "round").unwrap()
        };
        assert_eq!([told(true, true), told(true, false)], [0, 0]);
        assert_eq!([told(false, true), told(false, false)], [1, 3]);
    }
}
