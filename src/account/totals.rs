//! Ways, times, strokes and holds of a run.

use bunkside_planner::replay::Setup;
use bunkside_protocol::{Act, Length, Move};
use serde::Serialize;

use super::table::{Side, Table, count};
use crate::cut_plan::act_words;
use crate::measure::{System, clock};
use crate::planned::spun_up_last;
use crate::trace::{Trace, Traced};

/// What a run amounts to.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Totals {
    /// Moves that ran.
    pub moves: u32,
    /// Cuts among them.
    pub cuts: u32,
    /// Moves along the rails.
    pub strokes: u32,
    /// Those that cut nothing.
    pub strokes_empty: u32,
    /// Way through fresh wood.
    pub cut_um: i64,
    /// Way along the rails in air.
    pub empty_um: i64,
    /// Pieces that came off.
    pub pieces: u32,
    /// Stops for the operator.
    pub holds: u32,
    /// Those beside a turning blade.
    pub holds_turning: u32,
    /// Those of them at which pieces are taken away.
    pub unloads_turning: u32,
    /// How much longer it would take to stop the blade for these, seconds.
    pub stopping_s: f64,
    /// How often each act is asked for, in the order of their numbers.
    pub acts: Vec<ActCount>,
    /// Where the time goes.
    pub seconds: Seconds,
}

/// How many times more the blade would come up to speed, were it stopped for every unloading; it is stopped once for holds
/// that follow each other, and stays so where it is stopped anyway.
fn more_stops(trace: &Trace) -> u32 {
    let moves: Vec<Move> = trace.moves.iter().map(|traced| traced.step.told).collect();
    let starts = |moves: &[Move]| -> u32 {
        let up = moves.iter().filter(|told| **told == Move::Spin(true));
        up.map(|_| 1).sum()
    };
    starts(&spun_up_last(&moves, false, true)).saturating_sub(starts(&spun_up_last(&moves, false, false)))
}

/// How often an act is asked for.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct ActCount {
    /// The act, in the words of the cut plan.
    pub act: &'static str,
    /// How often.
    pub count: u32,
}

/// Seconds, by what they are for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Seconds {
    /// All of them.
    pub all: f64,
    /// Cuts, with the way in air before and after the wood.
    pub cutting: f64,
    /// Moves to a place.
    pub going: f64,
    /// Swings.
    pub swinging: f64,
    /// Waiting for the blade to come up to speed, or to stand.
    pub spinning: f64,
    /// Holds.
    pub holding: f64,
}

impl Totals {
    /// Those of a run.
    #[must_use]
    pub fn of(setup: &Setup<'_>, trace: &Trace) -> Self {
        let mut totals = Self::default();
        let mut acts = [0_u32; Act::ALL.len()];
        for traced in &trace.moves {
            totals.add(traced);
            if let Move::Hold(hold) = traced.step.told {
                for (count, act) in acts.iter_mut().zip(Act::ALL) {
                    *count += u32::from(hold.acts.contains(act));
                }
            }
        }
        totals.acts = Act::ALL
            .into_iter()
            .zip(acts)
            .filter(|(_, count)| *count > 0)
            .map(|(act, count)| ActCount {
                act: act_words(act),
                count,
            })
            .collect();
        totals.seconds.all = trace.seconds();
        let blade = &setup.mill.blade;
        let stop = f64::from(blade.run_down.as_ms()) + f64::from(blade.spin_up.as_ms());
        totals.stopping_s = f64::from(more_stops(trace)) * stop / 1e3;
        totals
    }

    fn add(&mut self, traced: &Traced) {
        let step = &traced.step;
        let way = (step.after.travel - step.before.travel).abs().wide();
        let wood = step
            .cut
            .and_then(|facts| facts.met)
            .map_or(Length::ZERO, |met| met.travel.length());
        self.moves += 1;
        self.strokes += u32::from(way > 0);
        self.strokes_empty += u32::from(way > 0 && wood == Length::ZERO);
        self.cut_um += wood.wide();
        self.empty_um += (way - wood.wide()).max(0);
        self.pieces += step.cut.map_or(0, |facts| u32::from(facts.freed));
        let spent = match step.told {
            Move::Go(_) => &mut self.seconds.going,
            Move::Cut(_) => {
                self.cuts += 1;
                &mut self.seconds.cutting
            }
            Move::Swing(_) => &mut self.seconds.swinging,
            Move::Spin(_) => &mut self.seconds.spinning,
            Move::Hold(hold) => {
                self.holds += 1;
                let unloads = hold.acts.contains(Act::Unload);
                self.holds_turning += u32::from(step.before.spinning);
                self.unloads_turning += u32::from(step.before.spinning && unloads);
                &mut self.seconds.holding
            }
        };
        *spent += traced.duration;
    }

    /// How many holds and what for, and what a turning blade at them saves: `9: unload at 8, knife off at 1; …`.
    #[must_use]
    pub fn holds_words(&self) -> String {
        let words = format!("{}: {}", self.holds, self.acts_words());
        if self.holds_turning == 0 {
            return format!("{words}, the blade standing");
        }
        let those = if self.holds_turning == self.holds {
            "all".to_owned()
        } else {
            format!("{} of them", self.holds_turning)
        };
        let words = format!("{words}, {those} beside a turning blade");
        if self.unloads_turning == 0 {
            return words;
        }
        let time = clock(self.stopping_s);
        format!("{words}; to stop it to unload (`stop_to_unload = true`) takes {time} more")
    }

    /// What the holds are for, at each perhaps for more than one thing: `unload at 8, knife off at 1`.
    fn acts_words(&self) -> String {
        let acts: Vec<String> = self
            .acts
            .iter()
            .map(|one| format!("{} at {}", one.act, one.count))
            .collect();
        acts.join(", ")
    }

    /// Strokes and ways: `22 in 69 moves; 71.4 m through wood, 85.0 m in air, 14 of 36 strokes empty`.
    #[must_use]
    pub fn ways_words(&self, system: System) -> String {
        format!(
            "{} in {}; {} through wood, {} in air; {} of {} empty",
            self.cuts,
            count(self.moves, "move"),
            system.way(self.cut_um),
            system.way(self.empty_um),
            self.strokes_empty,
            count(self.strokes, "stroke")
        )
    }

    /// The times as a table, the largest first.
    #[must_use]
    pub fn times(&self) -> Table {
        let seconds = &self.seconds;
        let mut parts = [
            ("cutting", seconds.cutting),
            ("going to a place", seconds.going),
            ("swinging", seconds.swinging),
            ("speeding up and running down", seconds.spinning),
            ("holds", seconds.holding),
        ];
        parts.sort_by(|a, b| b.1.total_cmp(&a.1));
        let mut table = Table::new(&[("", Side::Left), ("", Side::Right)]);
        for (what, spent) in parts {
            table.row([what.to_owned(), clock(spent)]);
        }
        table.row(["all".to_owned(), clock(seconds.all)]);
        table
    }
}
