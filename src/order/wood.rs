//! What strokes really do: each is run once on the wood that it meets and judged by every rule.

use rustc_hash::FxHashMap as HashMap;

use bunkside_planner::geometry::{Block, Interval};
use bunkside_planner::machine::{Pose, kerf_box};
use bunkside_planner::physics::timing::duration;
use bunkside_planner::replay::{CutFacts, Replay, Setup, Step};
use bunkside_planner::rules::{BARK, End, History, Moment, RULES, Scene, Severity, Situation, judge};
use bunkside_planner::sequence::{Carriage, Standing, feed_of, metal_near};
use bunkside_planner::stock::Stock;
use bunkside_protocol::{Act, Acts, Angle, Cut, Feed, Hold, Move, Position, Speed, Stroke, Targets};

use super::level::{Level, bit, hanging};
use super::state::{Kerf, Placed, State, Wood};
use crate::account::findings::RELEASE_CLIMB;

/// What a stroke in some wood comes to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Outcome {
    /// Not to be had: by which rule.
    Refused(&'static str),
    /// What it takes and does.
    Made {
        /// Seconds from end to end.
        seconds: f64,
        /// Pieces that it frees.
        freed: u8,
        /// Whether somebody has to hold down what comes free.
        held: bool,
        /// Whether it may be the last stroke of the job.
        may_end: bool,
        /// The wood after it.
        next: Wood,
    },
}

/// Which strokes are looked at of which nobody can say what they free.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Doubt {
    /// None.
    Never,
    /// Those that leave nothing hanging but what an upright kerf of the layer leaves by itself, whatever the order.
    Edged,
    /// All.
    Any,
}

/// The wood in one state, and what has been done to it.
#[derive(Clone, Debug)]
pub(super) struct Node<'a> {
    pub(super) replay: Replay<'a>,
    pub(super) history: History,
    /// The highest place of all that stands or lies.
    pub(super) stands: Standing,
    /// The same had every thread broken at its stroke, once there is one: the auditor judges that too.
    broken: Option<Box<Broken<'a>>>,
}

/// What would be were a thread no longer than the stroke that makes it: the wood, and what has been done to it.
type Broken<'a> = (Replay<'a>, History);

impl<'a> Node<'a> {
    pub(super) fn new(setup: &Setup<'_>, replay: Replay<'a>, history: History) -> Self {
        let stands = Standing::of(setup, replay.stock());
        Self {
            replay,
            history,
            stands,
            broken: None,
        }
    }

    /// The wood in which every thread breaks at its stroke, the next of them included.
    fn breaking(&self, pose: Pose) -> Broken<'a> {
        let (replay, history) = match &self.broken {
            Some(broken) => (broken.0.clone(), broken.1),
            None => (self.replay.clone().assuming(u8::MAX), self.history),
        };
        (replay.posed(pose), history)
    }
}

/// A stroke in some wood, knife and aid as they are.
type Key = (Wood, Placed, Stroke, bool, bool);

/// The wood of one layer in all its states that have been looked at.
#[derive(Debug)]
pub(super) struct Woods<'a> {
    pub(super) setup: &'a Setup<'a>,
    pub(super) carriage: Carriage<'a>,
    nodes: HashMap<Wood, Node<'a>>,
    made: HashMap<Key, Outcome>,
    level: Level,
    /// Rules that may warn: they warn whatever the order.
    tolerated: &'a [&'static str],
    /// Which strokes are looked at of which nobody can say what they free.
    pub(super) doubt: Doubt,
    /// Whether what is guessed to be impossible is run all the same.
    #[cfg(test)]
    pub(super) doubted: bool,
}

impl<'a> Woods<'a> {
    pub(super) fn new(
        setup: &'a Setup<'a>,
        carriage: Carriage<'a>,
        level: &Level,
        tolerated: &'a [&'static str],
        node: Node<'a>,
    ) -> Self {
        Self {
            setup,
            carriage,
            nodes: std::iter::once((Wood::UNTOUCHED, node)).collect(),
            made: HashMap::default(),
            level: level.clone(),
            tolerated,
            doubt: Doubt::Never,
            #[cfg(test)]
            doubted: level.edges.len() < 4 || std::env::var_os("BUNKSIDE_DOUBT").is_some(),
        }
    }

    /// How many strokes have been run.
    pub(super) fn run(&self) -> usize {
        self.made.len()
    }

    pub(super) fn node(&self, wood: &Wood) -> Option<&Node<'a>> {
        self.nodes.get(wood)
    }

    /// What is known of a stroke, if it has been run.
    pub(super) fn known(&self, state: &State, placed: &Placed, stroke: Stroke) -> Option<Outcome> {
        let pose = &state.pose;
        let key = (state.wood, *placed, stroke, pose.knife, pose.aid);
        self.made.get(&key).copied()
    }

    /// Runs a stroke from a state, unless that has been done before.
    pub(super) fn outcome(&mut self, state: &State, placed: &Placed, stroke: Stroke) -> Outcome {
        let pose = &state.pose;
        let key = (state.wood, *placed, stroke, pose.knife, pose.aid);
        if let Some(known) = self.made.get(&key) {
            return *known;
        }
        let outcome = self.make(state, placed, stroke);
        self.made.insert(key, outcome);
        outcome
    }

    /// The same without a note of it.
    #[cfg(test)]
    pub(super) fn doubt(&mut self, state: &State, placed: &Placed, stroke: Stroke) -> Outcome {
        self.make(state, placed, stroke)
    }

    fn make(&mut self, state: &State, placed: &Placed, stroke: Stroke) -> Outcome {
        let (setup, carriage) = (self.setup, self.carriage);
        let Some(node) = self.nodes.get(&state.wood) else {
            return Outcome::Refused("no such wood");
        };
        let (from, to) = carriage.course(stroke);
        let pose = Pose {
            travel: from,
            across: placed.across,
            height: placed.height,
            angle: placed.angle,
            spinning: true,
            ..state.pose
        };
        let kerf = kerf_box(setup.mill, &pose, Interval::ALL);
        if metal_near(setup, node.replay.stock(), kerf).is_some() {
            return Outcome::Refused("metal");
        }
        let mut replay = node.replay.clone().posed(pose);
        let cut = match stroke_from(setup, &replay, stroke, to, placed.release) {
            Ok(cut) => cut,
            Err(rule) => return Outcome::Refused(rule),
        };
        let step = replay.step(&Move::Cut(cut));
        // Of what hangs by a thread nobody can say whether it came free: it is unloaded like what did.
        let may_lie = replay.stock().is_in_doubt() && !replay.previous().is_in_doubt();
        if may_lie && !self.is_looked_at(replay.stock()) {
            return Outcome::Refused("in doubt");
        }
        let mut history = node.history;
        let broken = (may_lie || node.broken.is_some()).then(|| self.broken(node, pose, cut));
        let judged = self.judged(&replay, &step, &mut history);
        let (held, broken) = match judged.and_then(|held| Ok((held, broken.transpose()?))) {
            Ok(judged) => judged,
            Err(rule) => return Outcome::Refused(rule),
        };
        let Some(facts) = step.cut else {
            return Outcome::Refused("no cut");
        };
        // Whose wood has come off already cannot be edged any more: that would be another plan.
        if placed.angle == Angle::Upright && facts.met.is_none() {
            return Outcome::Refused("not edged");
        }
        let seconds = duration(setup, &step, replay.previous());
        let next = self.next(&state.wood, placed, &step, (facts, may_lie));
        let may_end =
            self.may_end(&replay, &history) && broken.iter().all(|both| self.may_end(&both.0, &both.1));
        self.nodes.entry(next).or_insert_with(|| Node {
            broken,
            ..Node::new(setup, replay, history)
        });
        Outcome::Made {
            seconds,
            freed: facts.freed,
            held,
            may_end,
            next,
        }
    }

    /// The same stroke had every thread broken.
    fn broken(&self, node: &Node<'a>, pose: Pose, cut: Cut) -> Result<Box<Broken<'a>>, &'static str> {
        let (mut replay, mut history) = node.breaking(pose);
        let step = replay.step(&Move::Cut(cut));
        self.judged(&replay, &step, &mut history)?;
        Ok(Box::new((replay, history)))
    }

    /// Judges a stroke, and notes it where no rule objects; whether somebody has to hold down what it frees.
    fn judged(&self, replay: &Replay<'_>, step: &Step, history: &mut History) -> Result<bool, &'static str> {
        let scene = Scene {
            setup: self.setup,
            moment: Moment::Move(step),
            before: replay.previous(),
            after: replay.stock(),
        };
        let held = self.allowed(&scene.with(history))?;
        history.note(&scene);
        Ok(held)
    }

    /// The wood after a stroke, by what it freed.
    fn next(&self, before: &Wood, placed: &Placed, step: &Step, (facts, may_lie): (CutFacts, bool)) -> Wood {
        let forward = placed.angle == Angle::Flat && step.feed == Some(Feed::Forward);
        let mut next = placed.kerf.applied(before);
        next.hangs = may_lie;
        if facts.freed > 0 {
            next.since = before.since.or_else(|| Some(self.level.since(before)));
            next.shallow = false;
        } else {
            let shallow = before.shallow || (forward && facts.met.is_some());
            // Had it broken, something came free.
            next.shallow = self.level.near_bed && shallow && !may_lie;
        }
        next
    }

    fn may_end(&self, replay: &Replay<'_>, history: &History) -> bool {
        let end = End {
            index: 0,
            pose: Pose {
                travel: self.carriage.near,
                ..*replay.pose()
            },
        };
        let scene = Scene {
            setup: self.setup,
            moment: Moment::End(&end),
            before: replay.stock(),
            after: replay.stock(),
        };
        let mut fine = true;
        // What lies free is taken away before the carriage goes home.
        for rule in RULES.iter().filter(|rule| rule.id != "hold-parked") {
            rule.check(&scene.with(history), &mut |objection| {
                fine &= objection.severity != Severity::Refuse;
            });
        }
        fine
    }

    /// Takes the freed pieces away.
    pub(super) fn unloaded(&mut self, state: &State) -> Option<Wood> {
        let mut bare = state.wood.unloaded();
        if state.wood.hangs {
            bare.broken |= self.broken_off(&state.wood)?;
        }
        if !self.nodes.contains_key(&bare) {
            let node = self.nodes.get(&state.wood)?;
            let unload = Move::Hold(Hold {
                acts: Acts::one(Act::Unload),
            });
            let mut replay = node.replay.clone().posed(state.pose);
            replay.step(&unload);
            let broken = node.broken.as_ref().map(|_| {
                let (mut replay, history) = node.breaking(state.pose);
                replay.step(&unload);
                Box::new((replay, history))
            });
            let bared = Node {
                broken,
                ..Node::new(self.setup, replay, node.history)
            };
            self.nodes.insert(bare, bared);
        }
        Some(bare)
    }

    /// Whether what hangs by a thread here may be left hanging.
    fn is_looked_at(&self, stock: &Stock) -> bool {
        let known = |part: &Block| self.level.threads.iter().any(|thread| holds(thread, part));
        match self.doubt {
            Doubt::Never => false,
            Doubt::Edged => hanging(self.setup, stock).is_ok_and(|parts| parts.iter().all(known)),
            Doubt::Any => true,
        }
    }

    /// Which of the layer's threads break when this wood is unloaded, a bit each; none where that cannot be told.
    fn broken_off(&self, from: &Wood) -> Option<u64> {
        let node = self.nodes.get(from)?;
        let parts = hanging(self.setup, node.replay.stock()).ok()?;
        let threads = self.level.threads.iter().enumerate();
        let broken = threads.filter(|(_, thread)| parts.iter().any(|part| holds(thread, part)));
        Some(broken.fold(0, |bits, (number, _)| bits | bit(number)))
    }

    /// Whether somebody has to hold down what comes free, where no rule objects.
    fn allowed(&self, situation: &Situation<'_>) -> Result<bool, &'static str> {
        let (mut against, mut held) = (None, false);
        judge(RULES, situation, &mut |finding| {
            let warns = finding.objection.severity == Severity::Warn;
            let of_bark = finding.objection.note == BARK;
            held |= warns && finding.rule == RELEASE_CLIMB;
            if !(warns && (of_bark || self.tolerated.contains(&finding.rule))) {
                against = against.or(Some(finding.rule));
            }
        });
        against.map_or(Ok(held), Err)
    }
}

/// Whether one box lies in another.
fn holds(outer: &Block, inner: &Block) -> bool {
    outer.join(*inner) == *outer
}

/// The cut from where the carriage stands, at the fastest feed that the rules have nothing against; otherwise what stands
/// in its way.
pub(super) fn stroke_from(
    setup: &Setup<'_>,
    replay: &Replay<'_>,
    stroke: Stroke,
    to: Position,
    release: bool,
) -> Result<Cut, &'static str> {
    let pose = replay.pose();
    let speed: Speed = match feed_of(setup, replay, pose, stroke) {
        None => setup.mill.power.feed_max,
        Some(Ok(fed)) => fed.speed,
        Some(Err(_)) => return Err("no feed"),
    };
    Ok(Cut {
        to: Targets::travel(to),
        speed,
        feed: Some(setup.mill.feed(pose.angle, stroke)),
        release,
    })
}

impl Kerf {
    /// The wood after a kerf.
    pub(super) fn applied(self, wood: &Wood) -> Wood {
        let mut next = *wood;
        match self {
            Self::Upright { edge, of, pass } => {
                if pass == of {
                    next.cut |= bit(usize::from(edge));
                    next.part = None;
                } else {
                    next.part = Some((edge, of, pass));
                }
            }
            Self::Flat { to, made } => {
                next.rim = to;
                next.made = made;
            }
        }
        next
    }
}
