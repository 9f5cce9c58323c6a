//! Every order there is, tried out: no guess, no bound, no table. Only states in which the same wood stands with the same
//! carriage are merged, and what has taken longer already than the answer to be checked is not followed further.

use std::cmp::Ordering;
use std::collections::{BinaryHeap, HashSet};

use bunkside_planner::geometry::Block;
use bunkside_planner::machine::Pose;
use bunkside_planner::physics::timing::duration;
use bunkside_planner::plan::CutPlan;
use bunkside_planner::replay::{Replay, Setup};
use bunkside_planner::rules::{End, History, Moment, NEAR, RULES, Scene, Severity, Situation, judge};
use bunkside_planner::sequence::{Carriage, Standing, Start, deepest, feed_of, first_hold};
use bunkside_protocol::mill::HeightSetting;
use bunkside_protocol::{Act, Acts, Angle, Cut, Hold, Length, Move, Position, Stroke, Targets};

use super::super::level::{Level, hanging};
use super::super::rims::Known;

/// Wood, carriage and clock, and how far the kerfs of the layer have come.
#[derive(Clone)]
struct At<'a> {
    replay: Replay<'a>,
    history: History,
    /// The same had every thread broken at its stroke, once there is one.
    broken: Option<(Replay<'a>, History)>,
    time: f64,
    layer: usize,
    /// The edges that are cut, and the corner height of one that is begun.
    edges: Vec<bool>,
    begun: Option<(usize, u8, u8)>,
    rim: Option<Position>,
    /// Flat passes since something last came free.
    passes: u8,
    /// What upright kerfs of the layer leave hanging, each alone.
    threads: Vec<Block>,
}

impl At<'_> {
    fn key(&self) -> String {
        let pose = self.replay.pose();
        format!(
            "{:?} {pose:?} {:?} {:?} {} {:?} {:?} {:?} {}",
            self.replay.stock(),
            self.history,
            self.broken.as_ref().map(|broken| broken.1),
            self.layer,
            self.edges,
            self.begun,
            self.rim,
            self.passes
        )
    }
}

impl PartialEq for At<'_> {
    fn eq(&self, other: &Self) -> bool {
        self.time == other.time
    }
}
impl Eq for At<'_> {}
impl PartialOrd for At<'_> {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
impl Ord for At<'_> {
    fn cmp(&self, other: &Self) -> Ordering {
        other.time.total_cmp(&self.time)
    }
}

pub(super) struct Brute<'a> {
    pub(super) setup: &'a Setup<'a>,
    pub(super) tolerated: &'a [&'static str],
    pub(super) limit: f64,
    /// Seconds that count for each cut at which somebody holds down what comes free.
    pub(super) hold_down: f64,
    pub(super) known: Vec<Known>,
    /// In which layers strokes are looked at of which nobody can say what they free, if they leave nothing hanging but
    /// what an upright kerf leaves alone.
    pub(super) doubtful: Vec<usize>,
    /// The last layer that was come to.
    pub(super) deepest: core::cell::Cell<usize>,
}

impl<'a> Brute<'a> {
    /// The least time of all orders, if any order takes no longer than the limit.
    pub(super) fn least(&self, plan: &CutPlan<'_>) -> Option<f64> {
        let carriage = Carriage::new(self.setup).unwrap();
        let grid = self.setup.mill.grid;
        let lowest = plan.layers.iter().map(|layer| layer.floor.snapped(grid)).min();
        let mut start = At {
            replay: Replay::new(self.setup, 0),
            history: History::new(lowest),
            broken: None,
            time: 0.0,
            layer: 0,
            edges: Vec::new(),
            begun: None,
            rim: None,
            passes: 0,
            threads: Vec::new(),
        };
        for told in first_hold(self.setup).into_iter().chain(self.again()) {
            assert!(self.tell(&mut start, &told));
        }
        let mut queue = BinaryHeap::from([start]);
        let mut seen: HashSet<String> = HashSet::new();
        let mut level: Vec<Option<Option<Level>>> = vec![None; plan.layers.len()];
        let mut best: Option<f64> = None;
        while let Some(mut at) = queue.pop() {
            if best.is_some_and(|best| at.time >= best) {
                break;
            }
            if !seen.insert(at.key()) {
                continue;
            }
            self.deepest.set(self.deepest.get().max(at.layer));
            let Some(layer) = plan.layers.get(at.layer) else {
                let home = carriage.home(at.replay.pose(), || Standing::of(self.setup, at.replay.stock()));
                let told = self.go(&mut at, &home.unwrap());
                if told && self.tell(&mut at, &Move::Spin(false)) && self.may_end(&at) {
                    best = Some(best.map_or(at.time, |best: f64| best.min(at.time)));
                }
                continue;
            };
            if level[at.layer].is_none() {
                let Ok(read) = Level::new(self.setup, &at.replay, at.layer, layer, &self.known) else {
                    return None;
                };
                level[at.layer] = Some(read);
            }
            let here = level[at.layer].as_ref().unwrap();
            let Some(here) = here.clone() else {
                at.layer += 1;
                queue.push(at);
                continue;
            };
            at.threads.clone_from(&here.threads);
            at.edges.resize(here.edges.len(), false);
            let done = at.rim == here.rims.last().map(|rim| rim.across) && at.edges.iter().all(|cut| *cut);
            let lies = !at.replay.stock().pieces().is_empty() || at.replay.stock().is_in_doubt();
            if done && at.begun.is_none() && !lies {
                let mut next = at;
                (next.layer, next.edges, next.rim, next.passes) = (next.layer + 1, Vec::new(), None, 0);
                queue.push(next);
                continue;
            }
            for next in self.follow(&carriage, &here, &at) {
                if next.time <= self.limit {
                    queue.push(next);
                }
            }
        }
        best
    }

    fn follow(&self, carriage: &Carriage<'_>, level: &Level, at: &At<'a>) -> Vec<At<'a>> {
        let mut all = Vec::new();
        let in_doubt = at.replay.stock().is_in_doubt();
        let lies = !at.replay.stock().pieces().is_empty() || in_doubt;
        if lies {
            let mut next = at.clone();
            let acts = Acts::one(Act::Unload);
            let unload = Move::Hold(Hold { acts });
            // The blade stands where something is broken off.
            let unloaded = if in_doubt {
                self.stopped_for(&mut next, unload)
            } else {
                self.tell(&mut next, &unload)
            };
            if unloaded {
                all.push(next);
            }
        }
        if self.setup.mill.knife.is_some() && at.begun.is_none() {
            let pose = at.replay.pose();
            let act = if pose.knife { Act::KnifeOff } else { Act::KnifeOn };
            let acts = if lies {
                Acts::one(act).and(Act::Unload)
            } else {
                Acts::one(act)
            };
            let mut next = at.clone();
            if self.stopped_for(&mut next, Move::Hold(Hold { acts })) {
                all.push(next);
            }
        }
        // What may have come free is taken away at once.
        if in_doubt {
            return all;
        }
        for (number, edge) in level.edges.iter().enumerate() {
            if at.edges[number] || at.begun.is_some_and(|(begun, _, _)| begun != number) {
                continue;
            }
            let passes = match at.begun {
                Some((_, of, made)) => vec![(of, made + 1)],
                None => self.counts(edge.depth).map(|of| (of, 1)).collect(),
            };
            for (of, pass) in passes {
                let left = Length::um(edge.depth.wide() * i64::from(of - pass) / i64::from(of));
                let height = if of == pass {
                    level.floor
                } else {
                    (level.floor + left).snapped(self.setup.mill.grid)
                };
                for stroke in [Stroke::Outbound, Stroke::Homebound] {
                    let start = Start {
                        stroke,
                        angle: Angle::Upright,
                        across: edge.across,
                        height,
                    };
                    if let Some(mut next) = self.cut(carriage, at, &start, false) {
                        next.begun = (of != pass).then_some((number, of, pass));
                        next.edges[number] = of == pass;
                        all.push(next);
                    }
                }
            }
        }
        if at.begun.is_some() {
            return all;
        }
        for (number, rim) in level.rims.iter().enumerate() {
            if at.rim.is_some_and(|now| rim.across <= now) || at.edges[..rim.after].contains(&false) {
                continue;
            }
            for stroke in [Stroke::Outbound, Stroke::Homebound] {
                let start = Start {
                    stroke,
                    angle: Angle::Flat,
                    across: rim.across,
                    height: level.floor,
                };
                // A release is a stroke that frees more than one column, or all of a layer that was edged.
                let off = |rim: usize, edges: &[bool]| {
                    let bits = edges.iter().enumerate().filter(|(_, cut)| **cut);
                    level.freed(rim, bits.map(|(edge, _)| 1u64 << edge).sum())
                };
                let now = level.rims.iter().position(|rim| Some(rim.across) == at.rim);
                let columns = off(now.map_or(0, |now| now + 1), &at.edges)..off(number + 1, &at.edges);
                let release = level.is_release(number + 1, &columns);
                if let Some(mut next) = self.cut(carriage, at, &start, release) {
                    next.rim = Some(rim.across);
                    if columns.is_empty() {
                        next.passes = at.passes.saturating_add(1).min(level.asked);
                    } else if at.passes + 1 < level.asked {
                        continue;
                    } else {
                        next.passes = 0;
                    }
                    all.push(next);
                }
            }
        }
        all
    }

    fn counts(&self, depth: Length) -> core::ops::RangeInclusive<u8> {
        let limit = [Stroke::Outbound, Stroke::Homebound]
            .map(|stroke| deepest(self.setup, Angle::Upright, stroke, false).depth)
            .into_iter()
            .fold(Length::ZERO, Length::max)
            - self.setup.mill.grid;
        let fewest = u8::try_from((depth.wide() - 1).max(0) / limit.wide() + 1).unwrap();
        fewest..=fewest + 1
    }

    fn cut(&self, carriage: &Carriage<'_>, at: &At<'a>, start: &Start, release: bool) -> Option<At<'a>> {
        let mut next = at.clone();
        let stands = Standing::of(self.setup, next.replay.stock());
        let moves = carriage.approach(next.replay.pose(), start, || stands).ok()?;
        if !self.go(&mut next, &moves) || !self.tell(&mut next, &Move::Spin(true)) {
            return None;
        }
        let pose: Pose = *next.replay.pose();
        let speed = match feed_of(self.setup, &next.replay, &pose, start.stroke) {
            None => self.setup.mill.power.feed_max,
            Some(fed) => fed.ok()?.speed,
        };
        let (_, to) = carriage.course(start.stroke);
        let cut = Cut {
            to: Targets::travel(to),
            speed,
            feed: Some(self.setup.mill.feed(pose.angle, start.stroke)),
            release,
        };
        self.tell(&mut next, &Move::Cut(cut)).then_some(next)
    }

    /// The blade is started again at once, but where a height is set by hand: there it stands until the next cut.
    fn again(&self) -> Option<Move> {
        let by_hand = matches!(self.setup.mill.height_setting, HeightSetting::ByHand(_));
        (!by_hand).then_some(Move::Spin(true))
    }

    /// Makes a move for which the blade stands.
    fn stopped_for(&self, at: &mut At<'a>, told: Move) -> bool {
        let moves = [Move::Spin(false), told].into_iter().chain(self.again());
        moves.into_iter().all(|told| self.tell(at, &told))
    }

    /// Makes moves through the air, the blade stopped before somebody sets a height; whether no rule objects.
    fn go(&self, at: &mut At<'a>, moves: &[Move]) -> bool {
        moves.iter().all(|told| {
            let pose = *at.replay.pose();
            let stopped = !pose.is_cranked(self.setup.mill, told) || self.tell(at, &Move::Spin(false));
            stopped && self.tell(at, told)
        })
    }

    /// Makes a move; whether no rule objects.
    fn tell(&self, at: &mut At<'a>, told: &Move) -> bool {
        let first = at.broken.is_none() && matches!(told, Move::Cut(_));
        let before = first.then(|| (at.replay.clone(), at.history));
        let step = at.replay.step(told);
        let scene = Scene {
            setup: self.setup,
            moment: Moment::Move(&step),
            before: at.replay.previous(),
            after: at.replay.stock(),
        };
        // Wood that has come off already cannot be edged.
        let edges = step.before.angle == Angle::Upright;
        let in_air = edges && step.cut.is_some_and(|facts| facts.met.is_none());
        // Nor is anything looked at of which nobody can say what it frees, but where nothing else can be done.
        let sure = !at.replay.stock().is_in_doubt() || self.may_hang(at);
        let mut fine = step.not_judged.is_none() && !in_air && sure;
        fine &= self.allowed(&scene.with(&at.history), at.layer);
        let mut held = false;
        judge(RULES, &scene.with(&at.history), &mut |finding| {
            held |= finding.rule == "release-climb";
        });
        at.time += if held { self.hold_down } else { 0.0 };
        at.time += duration(self.setup, &step, at.replay.previous());
        at.history.note(&scene);
        // As the auditor does, in the world where threads break; it differs from the first of them on.
        if let Some((replay, history)) = before.filter(|_| at.replay.stock().is_in_doubt()) {
            at.broken = Some((replay.assuming(u8::MAX), history));
        }
        fine && self.tell_broken(at, told)
    }

    /// The same in the world where threads break.
    fn tell_broken(&self, at: &mut At<'a>, told: &Move) -> bool {
        let Some((replay, history)) = &mut at.broken else {
            return true;
        };
        let step = replay.step(told);
        let scene = Scene {
            setup: self.setup,
            moment: Moment::Move(&step),
            before: replay.previous(),
            after: replay.stock(),
        };
        let fine = self.allowed(&scene.with(history), at.layer);
        history.note(&scene);
        fine
    }

    /// Whether no rule objects in a layer, but to what no order can help.
    fn allowed(&self, situation: &Situation<'_>, layer: usize) -> bool {
        let mut fine = true;
        judge(RULES, situation, &mut |finding| {
            let warns = finding.objection.severity == Severity::Warn;
            let hangs = finding.rule == "hold-parked" && self.doubtful.contains(&layer);
            let near = finding.objection.note == NEAR;
            fine &= warns && (hangs || near || self.tolerated.contains(&finding.rule));
        });
        fine
    }

    /// Whether what hangs by a thread is what an upright kerf of the layer leaves by itself.
    fn may_hang(&self, at: &At<'_>) -> bool {
        let known = |part: &Block| {
            at.threads.iter().any(|thread| {
                let sides = [
                    (thread.travel, part.travel),
                    (thread.across, part.across),
                    (thread.height, part.height),
                ];
                sides
                    .iter()
                    .all(|(outer, inner)| outer.lo <= inner.lo && inner.hi <= outer.hi)
            })
        };
        let parts = || hanging(self.setup, at.replay.stock()).unwrap();
        self.doubtful.contains(&at.layer) && parts().iter().all(known)
    }

    fn may_end(&self, at: &At<'_>) -> bool {
        let broken = at.broken.as_ref();
        let worlds = [
            Some((&at.replay, &at.history)),
            broken.map(|broken| (&broken.0, &broken.1)),
        ];
        let mut worlds = worlds.into_iter().flatten();
        worlds.all(|(replay, history)| self.may_end_in(replay, history))
    }

    fn may_end_in(&self, replay: &Replay<'_>, history: &History) -> bool {
        let end = End {
            index: 0,
            pose: *replay.pose(),
        };
        let scene = Scene {
            setup: self.setup,
            moment: Moment::End(&end),
            before: replay.stock(),
            after: replay.stock(),
        };
        let mut fine = true;
        judge(RULES, &scene.with(history), &mut |finding| {
            fine &= finding.objection.severity == Severity::Warn;
        });
        fine
    }
}
