//! How near the order of cuts comes to the least time there is.

use bunkside_protocol::Drive;
use serde::Serialize;

use crate::measure::clock;
use crate::planned::{Order, Planned, Searched};

/// How an order of cuts was chosen, and what it is worth.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct OrderEntry {
    /// `least_time`, `habit`, `none_found` or `stress`.
    pub chosen: &'static str,
    /// Seconds of the whole sequence.
    pub seconds: f64,
    /// Seconds that no order can do without.
    pub bound_s: Option<f64>,
    /// How much longer than the bound it takes, percent; 0 where it is proven that nothing is faster.
    pub gap_percent: Option<f64>,
    /// How much longer than the bound it takes, whatever is proven, percent.
    pub over_bound_percent: Option<f64>,
    /// Whether no order can be faster.
    pub proven: bool,
    /// Seconds in strokes that cut wood, with their run-outs.
    pub kerfs_s: f64,
    /// The whole time in times of that.
    pub over_kerfs: f64,
    /// Strokes along the rails.
    pub strokes: u32,
    /// Seconds of the order by rule of thumb; none where it finds no way.
    pub habit_s: Option<f64>,
    /// The same on a carriage that is pushed by hand.
    pub hand_s: Option<f64>,
    /// Its strokes along the rails.
    pub hand_strokes: Option<u32>,
    /// States of wood and carriage that the search went through.
    pub states: usize,
    /// Strokes that it ran and had judged.
    pub judged: usize,
}

impl OrderEntry {
    /// That of a plan.
    #[must_use]
    pub fn of(planned: &Planned<'_>, strokes: u32) -> Self {
        let seconds = planned.trace.seconds();
        let in_wood = planned.trace.moves.iter();
        let in_wood = in_wood.filter(|traced| traced.step.cut.is_some_and(|facts| facts.met.is_some()));
        let kerfs: f64 = in_wood.map(|traced| traced.duration).sum();
        let searched: Option<&Searched> = match &planned.order {
            Order::Least(searched) => Some(searched),
            Order::Habit | Order::NoneFound | Order::Stress => None,
        };
        let hand = planned.by_hand();
        let over = searched.map(|searched| (seconds / searched.bound - 1.0) * 100.0);
        let proven = searched.is_some_and(|searched| searched.proven);
        Self {
            chosen: match planned.order {
                Order::Least(_) => "least_time",
                Order::Habit => "habit",
                Order::NoneFound => "none_found",
                Order::Stress => "stress",
            },
            seconds,
            bound_s: searched.map(|searched| searched.bound),
            gap_percent: if proven { Some(0.0) } else { over },
            over_bound_percent: over,
            proven,
            kerfs_s: kerfs,
            over_kerfs: if kerfs > 0.0 { seconds / kerfs } else { 0.0 },
            strokes,
            habit_s: match searched {
                Some(searched) => searched.habit,
                None => Some(seconds),
            },
            hand_s: hand.map(|(seconds, _)| seconds),
            hand_strokes: hand.map(|(_, strokes)| strokes),
            states: searched.map_or(0, |searched| searched.effort.states),
            judged: searched.map_or(0, |searched| searched.effort.strokes),
        }
    }

    /// In words: how it was chosen, and what it is held against.
    #[must_use]
    pub fn words(&self, drive: Drive) -> String {
        let mut words = match (self.chosen, self.proven) {
            ("least_time", true) => {
                "least time: no order of these kerfs that the rules allow is faster (proven)".to_owned()
            }
            ("least_time", false) => "the best order that was found; a faster one may exist".to_owned(),
            ("stress", _) => "as stressed timber wants it, whatever time that takes".to_owned(),
            ("none_found", _) => {
                "by rule of thumb: the search found no order that every rule allows".to_owned()
            }
            _ => "by rule of thumb; other orders were not looked at".to_owned(),
        };
        if let (Some(bound), Some(over)) = (self.bound_s, self.over_bound_percent) {
            words.push_str(&format!(
                "; {over:.1} % over what kerfs, swings, shifts and holds take at least, {}",
                clock(bound)
            ));
        }
        if let Some(habit) = self.habit_s.filter(|_| self.bound_s.is_some()) {
            words.push_str(&format!("; by rule of thumb {}", clock(habit)));
        }
        if let (Drive::Powered { .. }, Some(hand)) = (drive, self.hand_s) {
            words.push_str(&format!("; pushed by hand, never climbing, {}", clock(hand)));
        }
        words.push_str(&format!(
            "; strokes in wood are {:.0} % of the time",
            100.0 / self.over_kerfs.max(1.0)
        ));
        words
    }
}
