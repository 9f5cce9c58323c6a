//! A way through all layers.

use bunkside_planner::machine::Pose;
use bunkside_planner::physics::timing::{duration, through_air};
use bunkside_planner::plan::{CutPlan, Layer};
use bunkside_planner::replay::{Replay, Setup};
use bunkside_planner::rules::History;
use bunkside_planner::sequence::{Carriage, PlanError, PlanErrorKind, first_hold, not_under_wood};
use bunkside_protocol::{Acts, Move, Position};

use super::Asked;
use super::ends::{
    descent, first_chain, hold_time, homed, last_stop, needs_standing_blade, stopped, stopping, turned, worth,
};
use super::guess::{Guess, seconds, walk};
use super::label::Label;
use super::level::Level;
use super::relaxed::{EDGES_TO_PROVE, Worth};
use super::rims::Known;
use super::search::{Bar, Effort, Search};
use super::state::{Deed, State, Wood};
use super::wood::{Doubt, Node, Woods};

/// A way through all layers.
pub(super) struct Course<'a> {
    pub(super) labels: Vec<Label>,
    pub(super) carriage: Carriage<'a>,
    /// The last label.
    pub(super) end: usize,
    /// Holds before layers, by the label that begins the layer.
    pub(super) holds: Vec<(usize, Acts)>,
    /// Seconds, and what counts beside them.
    pub(super) seconds: f64,
    pub(super) bound: f64,
    pub(super) proven: bool,
    /// Whether there is a stroke of which nobody can say what it frees.
    pub(super) in_doubt: bool,
    pub(super) effort: Effort,
}

/// A course in the making.
struct Finder<'a> {
    setup: &'a Setup<'a>,
    asked: &'a Asked<'a>,
    barred: &'a [Bar],
    known: Vec<Known>,
    carriage: Carriage<'a>,
    labels: Vec<Label>,
    /// Every place where the last layer may end that is worth it, as labels.
    ends: Vec<usize>,
    holds: Vec<(usize, Acts)>,
    /// The wood when the last layer is done.
    node: Node<'a>,
    /// The least that holds take.
    bound: f64,
    /// The least until the last layer is done, by where it ends.
    chain: Worth,
    /// The floor before.
    above: Option<Position>,
    /// The last floor on which something was cut, and how high the wood stands under it.
    last: Option<(Position, Position)>,
    /// Whether anything has been cut.
    begun: bool,
    proven: bool,
    in_doubt: bool,
    effort: Effort,
    /// Strokes that may still be run.
    strokes: usize,
}

impl<'a> Course<'a> {
    /// Finds the way that takes the least time.
    ///
    /// # Errors
    ///
    /// The layer at which there is none.
    pub(super) fn find(
        setup: &'a Setup<'a>,
        plan: &CutPlan<'_>,
        asked: &'a Asked<'a>,
        barred: &'a [Bar],
        strokes: usize,
    ) -> Result<Self, PlanError> {
        let fail = |layer, kind| PlanError {
            layer,
            column: None,
            kind,
        };
        let carriage = Carriage::new(setup).map_err(|kind| fail(0, kind))?;
        let mut finder = Finder::new(setup, plan, asked, barred, carriage, strokes);
        for (number, layer) in plan.layers.iter().enumerate() {
            let next = plan.layers.get(number + 1);
            finder
                .layer(number, layer, next)
                .map_err(|kind| fail(number, kind))?;
        }
        finder
            .home()
            .ok_or_else(|| fail(plan.layers.len().saturating_sub(1), PlanErrorKind::NoShallowPass))
    }
}

impl<'a> Finder<'a> {
    fn new(
        setup: &'a Setup<'a>,
        plan: &CutPlan<'_>,
        asked: &'a Asked<'a>,
        barred: &'a [Bar],
        carriage: Carriage<'a>,
        strokes: usize,
    ) -> Self {
        let mill = setup.mill;
        let floors = plan.layers.iter().map(|layer| layer.floor.snapped(mill.grid));
        let mut replay = Replay::new(setup, 0);
        let mut held = 0.0;
        if let Some(told) = first_hold(setup) {
            let step = replay.step(&told);
            held = duration(setup, &step, replay.previous());
        }
        replay.step(&Move::Spin(true));
        let node = Node::new(setup, replay, History::new(floors.min()));
        let state = State {
            wood: Wood::UNTOUCHED,
            pose: stopped(mill, *node.replay.pose(), true),
        };
        Self {
            setup,
            asked,
            barred,
            known: Known::of(mill, asked.known),
            carriage,
            labels: vec![Label::begin(0, state, held + seconds(mill.blade.spin_up))],
            ends: vec![0],
            holds: Vec::new(),
            chain: first_chain(node.replay.pose()),
            node,
            bound: held + stopping(mill),
            above: None,
            last: None,
            begun: false,
            proven: true,
            in_doubt: false,
            effort: Effort::default(),
            strokes,
        }
    }

    /// Goes on through a layer, with the hold before it.
    fn layer(
        &mut self,
        number: usize,
        layer: &Layer<'_>,
        next: Option<&Layer<'_>>,
    ) -> Result<(), PlanErrorKind> {
        let mill = self.setup.mill;
        let floor = layer.floor.snapped(mill.grid);
        if self.above.is_some_and(|above| floor + mill.blade.kerf >= above) {
            return Err(PlanErrorKind::NotBelow);
        }
        not_under_wood(self.setup, floor)?;
        let above = self.above.replace(floor).unwrap_or(mill.height.max);
        let starts = self.hold(layer.hold);
        let Some(level) = Level::new(self.setup, &self.node.replay, number, layer, &self.known)? else {
            self.ends = starts;
            return Ok(());
        };
        self.search(&level, &starts, next, descent(self.setup, above, floor))
    }

    /// The hold before a layer, from every place where the one before may end.
    fn hold(&mut self, acts: Acts) -> Vec<usize> {
        // The blade stands already where it was stopped for the last unloading, and before the first cut.
        let stands = match (needs_standing_blade(acts), self.begun) {
            (false, _) => 0.0,
            (true, false) => stopping(self.setup.mill),
            (true, true) => last_stop(self.setup, self.asked),
        };
        let time = hold_time(self.setup, acts);
        self.bound += time - stands;
        self.chain = turned(&self.chain, acts);
        let mut starts = Vec::with_capacity(self.ends.len());
        for end in core::mem::take(&mut self.ends) {
            let Some(label) = self.labels.get(end).copied() else {
                continue;
            };
            let state = State {
                wood: Wood::UNTOUCHED,
                pose: stopped(
                    self.setup.mill,
                    label.state.pose.after(acts, self.setup.mill),
                    needs_standing_blade(acts),
                ),
            };
            let stands = if !self.begun || label.deed == Deed::Unload {
                stands
            } else {
                0.0
            };
            starts.push(self.labels.len());
            self.holds.push((self.labels.len(), acts));
            self.labels.push(Label {
                may_end: label.may_end,
                ..Label::begin(end, state, label.so_far + time - stands)
            });
        }
        starts
    }

    /// Looks first at orders of which everybody can say what each stroke frees, then at others.
    fn search(
        &mut self,
        level: &Level,
        starts: &[usize],
        next: Option<&Layer<'_>>,
        descent: f64,
    ) -> Result<(), PlanErrorKind> {
        let (begun, chain) = (self.labels.len(), self.chain);
        let spared = level.without_threads();
        for doubt in [Doubt::Never, Doubt::Edged, Doubt::Any] {
            let level = match doubt {
                Doubt::Never if level.is_never_sure() => continue,
                Doubt::Edged if level.threads.is_empty() => continue,
                Doubt::Edged => &spared,
                Doubt::Never | Doubt::Any => level,
            };
            self.labels.truncate(begun);
            self.chain = chain;
            if let Some(node) = self.look(level, starts, (next, descent), doubt) {
                self.node = node;
                self.begun = true;
                self.in_doubt |= doubt != Doubt::Never;
                return Ok(());
            }
        }
        Err(PlanErrorKind::NoShallowPass)
    }

    /// What it takes to come down to a floor, the blade stopped for that where the height is set by hand, unless it stands already.
    fn stopped_for(&self, descent: f64, starts: &[usize], crank: f64) -> f64 {
        let mut labels = starts.iter().filter_map(|start| self.labels.get(*start));
        let turns = labels.all(|label| label.state.pose.spinning);
        if turns && descent > 0.0 {
            descent + crank
        } else {
            descent
        }
    }

    /// Orders with no more doubt than this, the edges in any order and then only from the entry side on; the wood after
    /// the best.
    fn look(
        &mut self,
        level: &Level,
        starts: &[usize],
        (next, descent): (Option<&Layer<'_>>, f64),
        doubt: Doubt,
    ) -> Option<Node<'a>> {
        let (setup, asked, carriage) = (self.setup, self.asked, self.carriage);
        let walk = walk(setup, asked.stop_to_unload);
        let stock = level.standing(setup, self.node.replay.stock(), doubt)?;
        let start = |start: &usize| self.labels.get(*start);
        let aided = starts.iter().filter_map(start).any(|label| label.state.pose.aid);
        let lowest = next.is_none();
        let bare = asked.tolerated.contains(&"knife");
        let told = [lowest, aided, bare, asked.stop_to_unload];
        let mut guess = Guess::new(setup, carriage, level, &stock, walk, told);
        let descent = self.stopped_for(descent, starts, guess.crank);
        let begin = starts.iter().filter_map(start);
        let mut across: Vec<Position> = begin.map(|label| label.state.pose.across).collect();
        across.sort();
        across.dedup();
        self.chain = guess.chained(&self.chain, &across, descent);
        self.last = guess.top_under().map(|top| (level.floor, top));
        // What no order does without is told in time alone.
        guess.hold_down = asked.hold_down;
        let mut woods = Woods::new(setup, carriage, level, asked.tolerated, self.node.clone());
        woods.doubt = doubt;
        let stop = last_stop(setup, asked);
        let begun = self.labels.len();
        let mut proven = false;
        for ascending in [false, true] {
            if !ascending && level.edges.len() > EDGES_TO_PROVE {
                continue;
            }
            self.labels.truncate(begun);
            guess.ascending = ascending;
            guess.value(&[0.0; 8]);
            let mut search = Search::new(level, &mut woods, &mut guess, &mut self.labels);
            (search.barred, search.lowest, search.walk) = (self.barred, lowest, walk);
            search.stops = asked.stop_to_unload;
            search.ascending = ascending;
            // The blade is stopped there in any case.
            search.breaks = stopping(setup.mill) - stop;
            search.strokes = self.strokes;
            let complete;
            (self.ends, complete) = search.run(starts, &|pose, stands| {
                worth(setup, &carriage, pose, stands, next).map(|worth| worth + stop)
            });
            self.effort.states += search.effort.states;
            proven = complete && !ascending && doubt != Doubt::Any;
            if complete {
                break;
            }
        }
        self.effort.strokes += woods.run();
        self.strokes = self.strokes.saturating_sub(woods.run());
        let best = self.ends.first().and_then(|best| self.labels.get(*best))?;
        self.proven &= proven;
        woods.node(&best.state.wood).cloned()
    }

    /// Brings the carriage home from the place where that takes the least time altogether.
    fn home(self) -> Option<Course<'a>> {
        let mill = self.setup.mill;
        let home = |label: &Label| {
            let moves = self.carriage.home(&label.state.pose, || self.node.stands).ok()?;
            // The blade stands already where the last was unloaded, and stays so.
            let stopped = self.asked.stop_to_unload && label.deed == Deed::Unload;
            let spin = if stopped {
                -seconds(mill.blade.spin_up)
            } else {
                seconds(mill.blade.run_down)
            };
            // It stands from here on, whether a height is set or not.
            let pose = Pose {
                spinning: false,
                ..label.state.pose
            };
            Some(label.so_far + through_air(mill, &pose, &moves) + spin)
        };
        let ways = self
            .ends
            .iter()
            .filter_map(|end| Some((*end, home(self.labels.get(*end)?)?)));
        let (end, seconds) = ways.min_by(|a, b| a.1.total_cmp(&b.1))?;
        let homed = homed(self.setup, &self.carriage, &self.chain, self.last);
        Some(Course {
            end,
            seconds,
            bound: self.bound + homed - last_stop(self.setup, self.asked),
            labels: self.labels,
            carriage: self.carriage,
            holds: self.holds,
            proven: self.proven,
            in_doubt: self.in_doubt,
            effort: self.effort,
        })
    }
}
