//! How near the order of cuts comes to the least time there is.

use bunkside_planner::machine::run_out;
use bunkside_planner::physics::motion::rapid;
use bunkside_protocol::mill::HeightSetting;
use bunkside_protocol::{Drive, Length, Move, Position};
use serde::Serialize;

use super::findings::warned_cuts;
use super::table::count;
use crate::measure::clock;
use crate::planned::{Order, Planned, Searched};

/// A gain of fewer seconds is none: no figure of a mill is that exact.
const NO_GAIN: f64 = 1.0;

/// How an order of cuts was chosen, and what it is worth.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct OrderEntry {
    /// `least_time`, `habit`, `none_found`, `stress` or `begun`.
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
    /// Seconds that strokes which run out no further past the log than their blade has to, and no drive to where the first cut
    /// begins, would save at most.
    pub run_outs_s: f64,
    /// Seconds in strokes that cut wood, with their run-outs.
    pub kerfs_s: f64,
    /// The whole time in times of that.
    pub over_kerfs: f64,
    /// Strokes along the rails.
    pub strokes: u32,
    /// Seconds of the order by rule of thumb; none where it finds no way.
    pub habit_s: Option<f64>,
    /// Seconds that counted, in looking for the order, for each cut at which somebody holds down what comes free; 0 where none
    /// has to, or time alone was asked for.
    pub hold_down_s: f64,
    /// How many cuts some rule warns of.
    pub warned_cuts: usize,
    /// The same by rule of thumb; none where it finds no way.
    pub habit_warned_cuts: Option<usize>,
    /// Seconds on a carriage that is pushed by hand, by rule of thumb.
    pub hand_s: Option<f64>,
    /// Its strokes along the rails.
    pub hand_strokes: Option<u32>,
    /// States of wood and carriage that the search went through.
    pub states: usize,
    /// Strokes that it ran and had judged.
    pub judged: usize,
    /// Whether the mill has dogs.
    #[serde(skip)]
    dogs: bool,
    /// Whether the mill has a riving knife.
    #[serde(skip)]
    knife: bool,
    /// Whether somebody cranks its height: he may pass beside the log.
    #[serde(skip)]
    cranked: bool,
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
            Order::Habit | Order::NoneFound | Order::Stress | Order::Begun => None,
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
                Order::Begun => "begun",
            },
            seconds,
            bound_s: searched.map(|searched| searched.bound),
            gap_percent: if proven { Some(0.0) } else { over },
            over_bound_percent: over,
            proven,
            run_outs_s: run_outs(planned),
            kerfs_s: kerfs,
            over_kerfs: if kerfs > 0.0 { seconds / kerfs } else { 0.0 },
            strokes,
            habit_s: match searched {
                Some(searched) => searched.habit,
                None => Some(seconds),
            },
            hold_down_s: match searched {
                Some(searched) if planned.setup.mill.drive.is_hand() => searched.hold_down,
                _ => 0.0,
            },
            warned_cuts: warned_cuts(&planned.trace),
            habit_warned_cuts: match searched {
                Some(searched) => searched.habit_warned,
                None => Some(warned_cuts(&planned.trace)),
            },
            hand_s: hand.map(|(seconds, _)| seconds),
            hand_strokes: hand.map(|(_, strokes)| strokes),
            states: searched.map_or(0, |searched| searched.effort.states),
            judged: searched.map_or(0, |searched| searched.effort.strokes),
            dogs: !planned.setup.mill.dogs.is_empty(),
            knife: planned.setup.mill.knife.is_some(),
            cranked: matches!(planned.setup.mill.height_setting, HeightSetting::ByHand(_)),
        }
    }

    /// What it is held against.
    #[must_use]
    pub fn figures(&self, drive: Drive) -> String {
        let mut figures: Vec<String> = Vec::new();
        if self.chosen == "least_time" && self.proven {
            let least = self.bound_s.map(clock).unwrap_or_default();
            figures.push(format!(
                "kerfs, swings, shifts and holds alone{} take {least}",
                self.over()
            ));
        }
        if let Some(habit) = self.habit_s.filter(|_| self.bound_s.is_some()) {
            figures.push(match habit - self.seconds {
                gain if gain <= -NO_GAIN => {
                    format!("by rule of thumb {}, {} less", clock(habit), clock(-gain))
                }
                gain if gain < NO_GAIN => "no gain over the rule of thumb".to_owned(),
                gain => format!("by rule of thumb {}, {} more", clock(habit), clock(gain)),
            });
        }
        figures.extend(self.warned_words(drive));
        if let (Drive::Powered { .. }, Some(hand)) = (drive, self.hand_s) {
            figures.push(format!("pushed by hand, never climbing, {}", clock(hand)));
        }
        figures.push(format!(
            "strokes in wood are {:.0} % of the time",
            100.0 / self.over_kerfs.max(1.0)
        ));
        figures.join("; ")
    }

    /// How many cuts a rule warns of, beside what the rule of thumb has of them; none where there are none.
    fn warned_words(&self, drive: Drive) -> Option<String> {
        let cuts = count(self.warned_cuts as u64, "cut");
        Some(match (self.warned_cuts, self.habit_warned_cuts) {
            (0, None | Some(0)) => return None,
            (_, Some(habit)) if self.bound_s.is_some() && habit < self.warned_cuts => {
                let time_alone = drive.is_hand() && self.hold_down_s == 0.0;
                let other = if time_alone {
                    "without `--time-alone`, or "
                } else {
                    ""
                };
                format!(
                    "{cuts} with a warning, {habit} by rule of thumb: for fewer plan {other}with `--by-habit`"
                )
            }
            (_, Some(habit)) if self.bound_s.is_some() => {
                format!("{cuts} with a warning, {habit} by rule of thumb")
            }
            _ => format!("{cuts} with a warning"),
        })
    }

    /// What counted beside time.
    fn counted_words(&self) -> String {
        if self.hold_down_s == 0.0 || self.warned_cuts == 0 {
            return String::new();
        }
        format!(
            ", each cut at which somebody holds down what comes free counted as {} more (not with `--time-alone`)",
            clock(self.hold_down_s)
        )
    }

    /// How it was chosen, and how sure it is that nothing is faster.
    #[must_use]
    pub fn chosen_words(&self) -> String {
        match (self.chosen, self.proven) {
            ("least_time", true) => format!(
                "least time: of all orders of these kerfs that no rule refuses none is faster (proven){}",
                self.counted_words()
            ),
            ("least_time", false) => format!(
                "the best order that was found; a faster one may exist, but none below the {} that kerfs, swings, \
                 shifts and holds take in any order{}",
                self.bound_s.map(clock).unwrap_or_default(),
                self.over().trim_end_matches(',')
            ),
            ("stress", _) => "as stressed timber wants it, whatever time that takes".to_owned(),
            ("begun", _) => {
                "by rule of thumb behind what is done; other orders were not looked at".to_owned()
            }
            ("none_found", _) => {
                "by rule of thumb: the search found no order among the passes that it looks at".to_owned()
            }
            _ => "by rule of thumb; other orders were not looked at".to_owned(),
        }
    }

    /// Which ways the bound holds for.
    const fn over(&self) -> &'static str {
        if self.cranked {
            ", the blade brought back over the log or out past its widest place,"
        } else {
            ""
        }
    }

    /// What it was not compared with, where it is told to be the best of all.
    #[must_use]
    pub fn left_out(&self) -> Option<String> {
        if self.chosen != "least_time" || !self.proven {
            return None;
        }
        let knife = if self.knife { ", such as the knife's" } else { "" };
        let dogs = if self.dogs {
            "; dogs left open where the log would lie still without them"
        } else {
            ""
        };
        let past = if self.cranked {
            "ways back beside the log on its exit side, closer than past its widest place or while a piece lies loose"
        } else {
            "swings and settings made before such a way instead of behind it; a draw-back and the lowering in one move"
        };
        Some(format!(
            "strokes with a warning that the rule of thumb does without{knife}; a layer begun before the one above is finished; a \
             kerf through two layers at once; a deep kerf taken in parts of other depths; feeds between steps of 5 mm/s; strokes made \
             in parts with feeds of their own; places set from the other side; moves along the rails and across at once; ways back \
             through an open kerf; {past}{dogs}; an end without the last drive home; and strokes that run out less far past the log, or \
             begin where the carriage is parked, which saves {} at most",
            clock(self.run_outs_s.ceil())
        ))
    }
}

/// What strokes that run out no further than their blade has to would save at most, and no drive to where the first cut begins;
/// seconds.
fn run_outs(planned: &Planned<'_>) -> f64 {
    let (mill, log) = (planned.setup.mill, planned.setup.shape.travel());
    let mut saved = 0.0;
    let mut cut_before = false;
    for traced in &planned.trace.moves {
        let step = &traced.step;
        let bite = step.cut.map_or(Length::ZERO, |facts| facts.bite);
        let least = run_out(mill, bite);
        let further = |place: Position| ((log.lo - place).max(place - log.hi) - least).max(Length::ZERO);
        let ends = [step.before.travel, step.after.travel];
        let spare: Length = ends
            .into_iter()
            .map(further)
            .fold(Length::ZERO, |sum, one| sum + one);
        let way = (ends[1] - ends[0]).abs();
        saved += match step.told {
            Move::Cut(cut) => f64::from(spare.as_um()) / f64::from(cut.speed.as_um_per_s().max(1)),
            Move::Go(_) if !cut_before => rapid(&mill.travel, way),
            Move::Go(_) => rapid(&mill.travel, way) - rapid(&mill.travel, way - spare.min(way)),
            Move::Swing(_) | Move::Spin(_) | Move::Hold(_) => 0.0,
        };
        cut_before |= step.cut.is_some();
    }
    saved
}

#[cfg(test)]
mod tests {
    use super::*;

    const HAND: Drive = Drive::Hand { push: 250 };

    fn entry(habit: f64, proven: bool) -> OrderEntry {
        OrderEntry {
            chosen: "least_time",
            seconds: 600.0,
            bound_s: Some(570.0),
            gap_percent: None,
            over_bound_percent: Some(5.3),
            proven,
            run_outs_s: 11.2,
            kerfs_s: 150.0,
            over_kerfs: 4.0,
            strokes: 20,
            habit_s: Some(habit),
            hold_down_s: 0.0,
            warned_cuts: 0,
            habit_warned_cuts: Some(0),
            hand_s: None,
            hand_strokes: None,
            states: 0,
            judged: 0,
            dogs: true,
            knife: true,
            cranked: false,
        }
    }

    #[test]
    fn the_gain_over_the_rule_of_thumb_is_told_where_there_is_one() {
        let words = |habit| entry(habit, true).figures(HAND);
        assert!(words(620.0).contains("; by rule of thumb 10 min 20 s, 20 s more; "));
        assert!(words(601.0).contains("; by rule of thumb 10 min 1 s, 1 s more; "));
        assert!(words(590.0).contains("; by rule of thumb 9 min 50 s, 10 s less; "));
        for habit in [599.1, 600.0, 600.9] {
            assert!(
                words(habit).contains("; no gain over the rule of thumb; "),
                "{habit}"
            );
        }
    }

    /// Strokes that a rule warns of are told of both orders, and how to get fewer where there is a way.
    #[test]
    fn cuts_with_a_warning_are_told_of_both_orders() {
        let words = |warned_cuts, habit_warned_cuts| {
            let of = OrderEntry {
                warned_cuts,
                habit_warned_cuts,
                ..entry(620.0, true)
            };
            of.figures(HAND)
        };
        assert!(!words(0, Some(0)).contains("0 cuts with a warning"));
        assert!(
            words(13, Some(7))
                .contains("; 13 cuts with a warning, 7 by rule of thumb: for fewer plan without `--time-alone`, or with `--by-habit`; ")
        );
        assert!(words(1, Some(1)).contains("; 1 cut with a warning, 1 by rule of thumb; "));
        assert!(words(0, Some(2)).contains("; 0 cuts with a warning, 2 by rule of thumb; "));
        let held = OrderEntry {
            hold_down_s: 300.0,
            warned_cuts: 2,
            ..entry(620.0, true)
        };
        let fewer = OrderEntry {
            habit_warned_cuts: Some(1),
            ..held.clone()
        };
        assert!(
            fewer
                .figures(HAND)
                .contains(": for fewer plan with `--by-habit`; ")
        );
        let counted = "none is faster (proven), each cut at which somebody holds down what comes free counted as 5 min more";
        assert!(held.chosen_words().contains(counted));
        assert!(!entry(620.0, true).chosen_words().contains("holds down"));
        assert!(words(3, None).contains("; 3 cuts with a warning; "));
    }

    /// What is proven is not put beside a percentage that seems to deny it.
    #[test]
    fn the_bound_is_a_time_that_no_order_does_without() {
        let proven = entry(620.0, true);
        assert!(proven.chosen_words().ends_with("none is faster (proven)"));
        let figures = proven.figures(HAND);
        assert!(figures.starts_with("kerfs, swings, shifts and holds alone take 9 min 30 s; "));
        assert!(!figures.contains("5.3 %"), "{figures}");
        let cranked = OrderEntry {
            cranked: true,
            ..proven
        };
        assert!(
            cranked.figures(HAND).contains(
                "alone, the blade brought back over the log or out past its widest place, take 9 min"
            )
        );
        let open = entry(620.0, false);
        assert_eq!(open.left_out(), None);
        assert!(
            open.chosen_words()
                .contains("a faster one may exist, but none below the 9 min 30 s")
        );
        assert!(
            open.figures(HAND)
                .ends_with("strokes in wood are 25 % of the time")
        );
        assert!(!open.figures(HAND).contains("alone take"));
    }

    #[test]
    fn what_was_not_compared_goes_by_the_mill() {
        let left_out = |knife, cranked| {
            let of = OrderEntry {
                knife,
                cranked,
                ..entry(620.0, true)
            };
            of.left_out().unwrap()
        };
        let driven = left_out(true, false);
        assert!(driven.starts_with(
            "strokes with a warning that the rule of thumb does without, such as the knife's; a layer begun"
        ));
        assert!(driven.ends_with("or begin where the carriage is parked, which saves 12 s at most"));
        assert!(!driven.contains("its exit side"));
        assert!(driven.contains(
            "; swings and settings made before such a way instead of behind it; a draw-back and the lowering in one move; dogs left open where the log would lie still without them; an end"
        ));
        assert!(left_out(false, false).contains("rule of thumb does without; a layer begun"));
        assert!(left_out(true, true).contains(
            "; ways back through an open kerf; ways back beside the log on its exit side, closer than past its widest place or while \
             a piece lies loose; dogs left open where the log would lie still without them; an end"
        ));
    }
}
