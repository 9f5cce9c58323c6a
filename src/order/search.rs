//! The shortest way through one layer, from every place where the carriage may come from to every one where it may end.

use std::cell::RefCell;
use std::collections::BinaryHeap;

use bunkside_planner::machine::{Pose, come_back};
use bunkside_planner::physics::motion::rapid;
use bunkside_planner::physics::timing::through_air;
use bunkside_planner::sequence::{Standing, Start};
use bunkside_protocol::{Act, Angle, Feed, Position, Stroke};
use rustc_hash::FxHashMap as HashMap;

use super::guess::Guess;
use super::label::{Label, Waiting};
use super::level::Level;
use super::relaxed::Worth;
use super::state::{Deed, Placed, State, StateKey, Wood};
use super::wood::{Outcome, Woods};

/// Most strokes that are run to order one layer, all orders allowed: some twenty seconds, and little more than a gigabyte
/// of wood in all its states.
const STROKES_MAX: usize = 200_000;

/// So many are run for a layer whatever has been spent on those before it.
const STROKES_AT_LEAST: usize = 3_000;

/// Most ways to states that wait at one time, in whatever order: some hundred megabytes.
const LABELS_MAX: usize = 1_500_000;

/// Sums of the same seconds in another order may differ by so much.
const HAIR: f64 = 1e-9;

/// What a search has cost.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Effort {
    /// States looked at.
    pub states: usize,
    /// Strokes run through the replay and judged.
    pub strokes: usize,
}

/// An approach that a rule refuses.
pub(super) type Bar = (StateKey, Placed, Stroke);

/// From where, to where, over what.
type Way = (((i32, i32, i32), Angle, bool), Start, Standing);

/// A search of one layer.
pub(super) struct Search<'s, 'g, 'a> {
    pub(super) level: &'s Level,
    pub(super) woods: &'s mut Woods<'a>,
    pub(super) guess: &'s mut Guess<'g>,
    pub(super) labels: &'s mut Vec<Label>,
    /// Approaches that a rule refuses, found out when a whole sequence was judged.
    pub(super) barred: &'s [Bar],
    /// Whether it is the last layer.
    pub(super) lowest: bool,
    /// What an unloading hold takes, pieces not counted.
    pub(super) walk: f64,
    /// What it takes more where a part is broken off, the blade stopped for that.
    pub(super) breaks: f64,
    /// Whether the blade is stopped whenever pieces are taken away.
    pub(super) stops: bool,
    /// Whether upright kerfs are only cut from the entry side on: where there are too many orders for a proof.
    pub(super) ascending: bool,
    /// Strokes that the job has left.
    pub(super) strokes: usize,
    waiting: BinaryHeap<Waiting>,
    /// How soon each state has been reached, by where the corner stands across.
    reached: HashMap<StateKey, Vec<(Position, f64)>>,
    /// Whether something that stands fixed on the mill may lie in the way at one place across and not at another.
    hindered: bool,
    approaches: RefCell<HashMap<Way, Option<f64>>>,
    pub(super) effort: Effort,
}

impl<'s, 'g, 'a> Search<'s, 'g, 'a> {
    pub(super) fn new(
        level: &'s Level,
        woods: &'s mut Woods<'a>,
        guess: &'s mut Guess<'g>,
        labels: &'s mut Vec<Label>,
    ) -> Self {
        let free = woods.carriage.free_from();
        Self {
            hindered: free.is_some_and(|free| free > level.floor),
            level,
            woods,
            guess,
            labels,
            barred: &[],
            lowest: false,
            walk: 0.0,
            breaks: 0.0,
            stops: false,
            ascending: false,
            strokes: usize::MAX,
            waiting: BinaryHeap::new(),
            reached: HashMap::default(),
            approaches: RefCell::default(),
            effort: Effort::default(),
        }
    }

    /// Every way worth taking: for each place where the carriage may end the shortest, as labels; whether the search came
    /// to its end.
    ///
    /// `worth` tells, once it is known where the best way ends, what it is worth to end elsewhere.
    pub(super) fn run(
        &mut self,
        starts: &[usize],
        worth: &dyn Fn(&Pose, Standing) -> Worth,
    ) -> (Vec<usize>, bool) {
        let begun = self.labels.len();
        for start in starts {
            self.wait(*start);
        }
        let mut ends = Vec::new();
        let mut limit = f64::INFINITY;
        while let Some(next) = self.waiting.pop() {
            if next.least > limit {
                break;
            }
            let Some(label) = self.sure(next.label) else {
                continue;
            };
            if self.is_late(&label.1) {
                continue;
            }
            let reached = self.reached.entry(label.1.state.key_along()).or_default();
            reached.push((label.1.state.pose.across, label.1.so_far));
            self.effort.states += 1;
            if self.is_done(&label.1) {
                if ends.is_empty() {
                    limit = label.1.so_far + HAIR;
                    self.look_elsewhere(&label.1.state, worth);
                }
                ends.push(label.0);
                continue;
            }
            self.expand(label.0, &label.1);
            let most = STROKES_MAX.min(self.strokes).max(STROKES_AT_LEAST);
            let strokes = !self.ascending && self.woods.run() > most;
            if strokes || self.labels.len() - begun > LABELS_MAX {
                return (ends, false);
            }
        }
        (ends, true)
    }

    /// From now on only ways to other ends are looked for, and only those that are worth it.
    fn look_elsewhere(&mut self, best: &State, worth: &dyn Fn(&Pose, Standing) -> Worth) {
        let stands = self
            .woods
            .node(&best.wood)
            .map(|node| node.stands)
            .unwrap_or_default();
        self.guess.value(&worth(&best.pose, stands));
        let waiting = core::mem::take(&mut self.waiting);
        for waits in waiting {
            self.wait(waits.label);
        }
    }

    fn is_done(&self, label: &Label) -> bool {
        let wood = &label.state.wood;
        usize::from(wood.rim) == self.level.through()
            && wood.cut == self.level.all()
            && wood.part.is_none()
            && wood.since.is_none()
            && !wood.hangs
    }

    /// Whether its state has been reached as soon already, be it with the corner elsewhere across and then shifted: whatever
    /// follows can be begun from there with two short moves more at most, unless something stands in the way there.
    fn is_late(&self, label: &Label) -> bool {
        let mill = self.woods.setup.mill;
        let (axis, beside) = (&mill.across, come_back(mill));
        let reached = self.reached.get(&label.state.key_along());
        reached.is_some_and(|reached| {
            reached.iter().any(|(across, so_far)| {
                let shift = if *across == label.state.pose.across {
                    0.0
                } else if self.hindered {
                    f64::INFINITY
                } else {
                    rapid(axis, *across - label.state.pose.across) + 2.0 * rapid(axis, beside)
                };
                so_far + shift <= label.so_far
            })
        })
    }

    fn wait(&mut self, label: usize) {
        if let Some(waits) = self.labels.get(label) {
            let least = waits.so_far + self.guess.rest(&waits.state);
            if least.is_finite() {
                self.waiting.push(Waiting {
                    least,
                    so_far: waits.so_far,
                    label,
                });
            }
        }
    }

    pub(super) fn push(&mut self, label: Label) {
        if label.sure && self.is_late(&label) {
            return;
        }
        self.labels.push(label);
        self.wait(self.labels.len() - 1);
    }

    /// The label, if its last stroke has been run; else it is run now, and the label put back where it turns out to be
    /// another than was guessed.
    fn sure(&mut self, number: usize) -> Option<(usize, Label)> {
        let label = *self.labels.get(number)?;
        if label.sure {
            return Some((number, label));
        }
        let Deed::Cut(placed, stroke) = label.deed else {
            return None;
        };
        let parent = *self.labels.get(label.parent)?;
        self.woods.outcome(&parent.state, &placed, stroke);
        let known = self.cut(label.parent, &parent, &placed, stroke)?;
        let same = known.state == label.state && known.so_far <= label.so_far;
        if same {
            if let Some(place) = self.labels.get_mut(number) {
                *place = known;
            }
            return Some((number, known));
        }
        self.push(known);
        None
    }

    /// The label after a stroke; none where it cannot be made.
    pub(super) fn cut(&self, number: usize, label: &Label, placed: &Placed, stroke: Stroke) -> Option<Label> {
        let state = &label.state;
        let between = self.approach(state, placed, stroke)?;
        let known = self.woods.known(state, placed, stroke);
        let (seconds, freed, may_end, wood) = match known {
            Some(Outcome::Refused(_)) => return None,
            Some(Outcome::Made {
                seconds,
                freed,
                held,
                may_end,
                next,
            }) => {
                let price = if held { self.guess.hold_down } else { 0.0 };
                (seconds + price, usize::from(freed), may_end, next)
            }
            None => {
                let seconds = self.guess.stroke(&state.wood, placed, stroke, state.pose.knife)?;
                let (wood, pieces) = self.expected(state, placed, stroke);
                (seconds, pieces, true, wood)
            }
        };
        let gone = usize::from(wood.rim) == self.level.through() && wood.cut == self.level.all();
        if self.lowest && gone && !may_end {
            return None;
        }
        let (_, travel) = self.woods.carriage.course(stroke);
        Some(Label {
            parent: number,
            deed: Deed::Cut(*placed, stroke),
            state: State {
                wood,
                pose: Pose {
                    travel,
                    across: placed.across,
                    height: placed.height,
                    angle: placed.angle,
                    spinning: true,
                    ..state.pose
                },
            },
            so_far: label.so_far + between + seconds + self.guess.pieces(freed),
            sure: known.is_some(),
            may_end,
        })
    }

    /// The wood after a stroke, and what comes off with it, before it has been run.
    fn expected(&self, state: &State, placed: &Placed, stroke: Stroke) -> (Wood, usize) {
        let (level, before) = (self.level, &state.wood);
        let mut wood = placed.kerf.applied(before);
        let off = level.freed(usize::from(before.rim), before.cut);
        let gone = level.freed(usize::from(wood.rim), wood.cut);
        let pieces = level.pieces(off..gone.max(off));
        if pieces > 0 {
            wood.since = before.since.or_else(|| Some(level.since(before)));
            wood.shallow = false;
        } else {
            let feed = self.woods.setup.mill.feed(placed.angle, stroke);
            let forward = placed.angle == Angle::Flat && feed == Feed::Forward;
            wood.shallow = level.near_bed && (before.shallow || forward);
        }
        (wood, pieces)
    }

    /// Seconds between two strokes.
    pub(super) fn approach(&self, state: &State, placed: &Placed, stroke: Stroke) -> Option<f64> {
        let key = state.key();
        let barred = self
            .barred
            .iter()
            .any(|(barred, place, way)| *barred == key && place == placed && *way == stroke);
        if barred {
            return None;
        }
        let start = Start {
            stroke,
            angle: placed.angle,
            across: placed.across,
            height: placed.height,
        };
        let stands = self.woods.node(&state.wood)?.stands;
        let (_, places, (angle, turns, ..)) = key;
        let way = ((places, angle, turns), start, stands);
        if let Some(known) = self.approaches.borrow().get(&way) {
            return *known;
        }
        let between = self.woods.carriage.approach(&state.pose, &start, || stands);
        let time = between
            .ok()
            .map(|moves| through_air(self.woods.setup.mill, &state.pose, &moves));
        self.approaches.borrow_mut().insert(way, time);
        time
    }
}

/// What a hold does to the knife as it is.
pub(super) const fn knife_act(pose: &Pose) -> Act {
    if pose.knife { Act::KnifeOff } else { Act::KnifeOn }
}
