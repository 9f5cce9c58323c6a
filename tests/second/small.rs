//! Small worlds: a squared timber on a mill no larger than a hand, and every sequence of so many moves of a small
//! alphabet. Rods hold such a timber exactly, so that both auditors must say the same of every move.
//!
//! Two ways through the tree of sequences: all of them to a length, those with refused moves too; and, to a greater
//! length, those of which no move but the last is refused. A prefix is run once for all that begin with it.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;

use bunkside_planner::audit::audit;
use bunkside_planner::geometry::Interval;
use bunkside_planner::machine::Pose;
use bunkside_planner::replay::{Replay, Setup, Step};
use bunkside_planner::rules::{End, Finding, History, Moment, RULES, Scene, Severity, judge};
use bunkside_planner::stock::Stock;
use bunkside_protocol::{Move, Position};

use super::auditor::{Ground, Key, Said, Second};
use super::machine::{At, Say, Slack, play};
use super::threads::may_hang;
use super::wood::{Bx, Um, Wood};
use super::{SAID_AGAIN, worlds};
use crate::report::{asked, report};

/// A world: mill and log, what has been done beforehand, and what may be done.
pub(super) struct World {
    pub(super) name: &'static str,
    pub(super) setup: Setup<'static>,
    pub(super) before: Vec<Move>,
    pub(super) alphabet: Vec<Move>,
    /// Whether the boxes that stand for disc and swing may be told from them here.
    pub(super) fine: bool,
}

/// What is found, and of which move.
type Found = (usize, Key);

/// One sequence so far, in one outcome of its strokes in doubt.
#[derive(Clone)]
struct Line {
    replay: Replay<'static>,
    history: History,
    second: Second<'static>,
    judged: bool,
    /// Whether it is left where something may hang by a thread, though the auditor goes on with it.
    left: bool,
    /// What is assumed of each doubt, a bit each.
    assumed: u8,
}

/// What has been seen.
#[derive(Default)]
struct Tally {
    sequences: u64,
    refused: u64,
    unsure: u64,
    checked: u64,
    by: BTreeMap<Key, u64>,
}

/// The walk through one world's tree.
struct Walk {
    world: &'static World,
    lowest: Option<Position>,
    /// Heights near the bed at which a move may cut.
    near: BTreeSet<Position>,
    /// Whether sequences are followed past a refused move.
    past: bool,
    path: Vec<Move>,
    found: Vec<Found>,
    tally: Tally,
}

fn place(um: Um) -> Position {
    Position::um(um)
}

impl World {
    fn near_bed(&self) -> BTreeSet<Position> {
        let bounds = self.setup.shape.bounds().height;
        let quarter = place(bounds.lo.wide() + (bounds.hi - bounds.lo).wide() / 4);
        let heights = self
            .before
            .iter()
            .chain(&self.alphabet)
            .filter_map(|told| match told {
                Move::Go(to) => to.height,
                _ => None,
            });
        heights.filter(|height| *height < quarter).collect()
    }

    /// Slices between which every stroke ends, and thin ones at either end and about the middle for strokes in doubt.
    fn wood(&self) -> Wood {
        let log = self.setup.shape.travel();
        let [near, far] = [log.lo.wide(), log.hi.wide()];
        let [play, ..] = play(self.setup.mill);
        let middle = (near + far) / 2;
        let cuts = vec![
            near,
            near + play,
            middle - play,
            middle,
            middle + play,
            far - play,
            far,
        ];
        let bunks: Vec<Um> = self
            .setup
            .mill
            .bunks
            .iter()
            .map(|bunk| bunk.travel.wide())
            .collect();
        // Strips end where kerfs do, on their places or between them.
        let kerf = self.setup.mill.blade.kerf;
        let told = self.before.iter().chain(&self.alphabet);
        let places = told.filter_map(|told| match told {
            Move::Go(to) => to.across,
            _ => None,
        });
        let edges: Vec<Um> = places
            .flat_map(|across| [(across - kerf).wide(), across.wide()])
            .collect();
        Wood::new(self.setup.log, worlds::UNIT, &edges, cuts, &bunks)
    }

    /// The beginning of every sequence; `assumed` as in [`Replay::new`].
    fn line(&'static self, lowest: Option<Position>, assumed: u8) -> Line {
        let bounds = self.setup.shape.bounds();
        let side = |stretch: Interval| [stretch.lo.wide(), stretch.hi.wide()];
        let ground = Ground {
            mill: self.setup.mill,
            log: self.setup.log,
            slack: Slack { along: 0, by: 0 },
            bounds: Bx {
                z: side(bounds.travel),
                x: side(bounds.across),
                y: side(bounds.height),
            },
            lowest: lowest.map(Position::wide),
        };
        let at = At::from(&Pose::parked(self.setup.mill));
        Line {
            replay: Replay::new(&self.setup, assumed),
            history: History::new(lowest),
            second: Second::new(ground, self.wood(), at, assumed),
            judged: true,
            left: false,
            assumed,
        }
    }
}

/// What the auditor says of a moment.
fn judged(setup: &Setup<'_>, moment: Moment<'_>, stocks: [&Stock; 2], history: &History) -> Vec<Finding> {
    let scene = Scene {
        setup,
        moment,
        before: stocks[0],
        after: stocks[1],
    };
    let mut found = Vec::new();
    judge(RULES, &scene.with(history), &mut |finding| {
        if SAID_AGAIN.contains(&finding.rule) && !found.contains(&finding) {
            found.push(finding);
        }
    });
    found
}

/// A move in a few characters, millimetres.
fn in_short(told: &Move) -> String {
    let to = |to: &bunkside_protocol::Targets| {
        let axis = |name: &str, place: Option<Position>| {
            place.map_or(String::new(), |place| {
                format!("{name}{}", f64::from(place.as_um()) / 1e3)
            })
        };
        axis(" z", to.travel) + &axis(" x", to.across) + &axis(" y", to.height)
    };
    match told {
        Move::Go(targets) => format!("go{}", to(targets)),
        Move::Cut(cut) => format!("cut{}", to(&cut.to)),
        other => format!("{other:?}"),
    }
}

fn key(finding: &Finding) -> Key {
    (finding.rule, finding.objection.severity == Severity::Refuse)
}

impl Line {
    /// Runs a move on both sides; answers what the auditor says, and what the other does.
    fn step(&mut self, setup: &Setup<'_>, told: &Move) -> (BTreeSet<Key>, Said) {
        let before = self.replay.stock().clone();
        let step: Step = self.replay.step(told);
        let stocks = [&before, self.replay.stock()];
        let found = judged(setup, Moment::Move(&step), stocks, &self.history);
        self.history.note(&Scene {
            setup,
            moment: Moment::Move(&step),
            before: stocks[0],
            after: stocks[1],
        });
        let (said, judged) = self.second.step(told);
        self.judged = judged && step.not_judged.is_none();
        (found.iter().map(key).collect(), said)
    }

    /// What both say where the sequence ends here, each of the move that it is about.
    fn end(&self, setup: &Setup<'_>, index: usize) -> (BTreeSet<Found>, Vec<(usize, Key, Say)>) {
        let end = End {
            index: u16::try_from(index).expect("a short sequence"),
            pose: *self.replay.pose(),
        };
        let stock = self.replay.stock();
        let found = judged(setup, Moment::End(&end), [stock, stock], &self.history);
        let found = found
            .iter()
            .map(|finding| (usize::from(finding.index), key(finding)));
        (found.collect(), self.second.end())
    }
}

impl Walk {
    fn disagree(&self, what: &str) -> ! {
        let path: Vec<String> = self.path.iter().map(in_short).collect();
        panic!("{}: {what}\nafter {}", self.world.name, path.join(", "))
    }

    /// Holds what the one auditor says of a move against what the other says.
    fn compare(&mut self, found: &BTreeSet<Key>, said: &Said) {
        for key in found {
            if !said.contains_key(key) {
                self.disagree(&format!("only the auditor says {key:?}; the other says {said:?}"));
            }
        }
        for (key, say) in said {
            match say {
                Say::Yes if !found.contains(key) => {
                    self.disagree(&format!(
                        "only the second auditor says {key:?}; the first {found:?}"
                    ));
                }
                Say::Unsure if self.world.fine => self.tally.unsure += 1,
                Say::Unsure => self.disagree(&format!("unsure of {key:?}")),
                Say::Yes | Say::No => {}
            }
        }
    }

    /// One more move on every line; answers whether none was refused, and none ends here. A stroke in doubt makes
    /// more lines, one for each outcome.
    fn advance(&mut self, lines: &mut Vec<Line>, told: &Move) -> (bool, bool) {
        self.path.push(*told);
        let (index, known) = (self.path.len() - 1, self.found.len());
        for line in lines.iter_mut().filter(|line| line.judged) {
            self.step(line, index);
        }
        let doubts = |lines: &[Line]| lines.iter().map(|line| line.replay.doubts()).max();
        while lines.len() < 1 << doubts(lines).unwrap_or(0) {
            let assumed = u8::try_from(lines.len()).expect("few outcomes");
            let mut line = self.world.line(self.lowest, assumed);
            for index in 0..self.path.len() {
                if line.judged {
                    self.step(&mut line, index);
                }
            }
            lines.push(line);
        }
        let clean = !self.found[known..].iter().any(|(_, (_, refuses))| *refuses);
        (clean, lines.iter().any(|line| line.judged))
    }

    /// One move of the path on one line, both auditors held against each other.
    fn step(&mut self, line: &mut Line, index: usize) {
        let told = self.path[index];
        let (found, said) = line.step(&self.world.setup, &told);
        let doubts = [line.replay.doubts(), line.second.doubts];
        // All threads together are one doubt, which the second auditor tells, but does not follow, nor sees what they free.
        let hangs = doubts[0] == doubts[1] + 1 && may_hang(&line.second);
        if !hangs || line.assumed >> doubts[1] & 1 == 0 {
            self.compare(&found, &said);
        }
        if hangs {
            (line.judged, line.left) = (false, true);
            self.tally.unsure += 1;
        } else if doubts[0] != doubts[1] {
            self.disagree(&format!("only one auditor sees a stroke in doubt: {doubts:?}"));
        }
        for key in found {
            if !self.found.contains(&(index, key)) {
                *self.tally.by.entry(key).or_default() += 1;
                self.found.push((index, key));
            }
        }
    }

    /// The sequence as it is, ended.
    fn ends(&mut self, lines: &[Line]) {
        let mut all: BTreeSet<Found> = self.found.iter().copied().collect();
        for line in lines.iter().filter(|line| line.judged) {
            let (found, said) = line.end(&self.world.setup, self.path.len() - 1);
            let here = |index: usize| -> (BTreeSet<Key>, Said) {
                let found = found.iter().filter(|(at, _)| *at == index).map(|(_, key)| *key);
                let said = said.iter().filter(|(at, _, _)| *at == index);
                (found.collect(), said.map(|(_, key, say)| (*key, *say)).collect())
            };
            let indices = found.iter().map(|(at, _)| *at);
            let indices: BTreeSet<usize> = indices.chain(said.iter().map(|(at, ..)| *at)).collect();
            for index in indices {
                let (found, said) = here(index);
                self.compare(&found, &said);
            }
            for (_, key) in &found {
                *self.tally.by.entry(*key).or_default() += 1;
            }
            all.extend(found);
        }
        self.tally.sequences += 1;
        self.tally.refused += u64::from(all.iter().any(|(_, (_, refuses))| *refuses));
        // What the auditor finds beyond where a line is left, nobody has looked for on the way.
        let followed = lines.iter().all(|line| !line.left);
        if followed && self.tally.sequences.is_multiple_of(EACH_AUDITED) {
            self.whole(&all);
        }
    }

    /// The auditor as it is called, over the whole sequence, finds what has been found on the way.
    fn whole(&mut self, all: &BTreeSet<Found>) {
        let mut found = BTreeSet::new();
        audit(
            &self.world.setup,
            self.path.iter().copied(),
            &mut |_, _, _| {},
            &mut |finding| {
                if SAID_AGAIN.contains(&finding.rule) {
                    found.insert((usize::from(finding.index), key(&finding)));
                }
            },
        );
        if found != *all {
            self.disagree(&format!(
                "in one go the auditor finds {found:?}, move by move {all:?}"
            ));
        }
        self.tally.checked += 1;
    }

    fn descend(&mut self, lines: &[Line], depth: u64) {
        for told in &self.world.alphabet {
            if self.is_below(lines, told) {
                continue;
            }
            let (mut next, length) = (lines.to_vec(), self.found.len());
            let (clean, on) = self.advance(&mut next, told);
            if self.is_counted() {
                self.ends(&next);
            }
            if depth > 1 && on && (clean || self.past) {
                self.descend(&next, depth - 1);
            }
            self.path.pop();
            self.found.truncate(length);
        }
    }

    /// Whether a move would cut near the bed below the height that this walk takes for the lowest.
    fn is_below(&self, lines: &[Line], told: &Move) -> bool {
        let height = lines[0].replay.pose().height;
        let below = |lowest: Position| height < lowest;
        matches!(told, Move::Cut(_)) && self.near.contains(&height) && self.lowest.is_none_or(below)
    }

    /// Whether the lowest cut near the bed is the one that this walk takes for it.
    fn is_counted(&self) -> bool {
        let lowest = History::lowest_cut(self.path.iter().copied());
        lowest.filter(|lowest| self.near.contains(lowest)) == self.lowest
    }
}

/// One sequence in so many is given to the auditor as a whole.
const EACH_AUDITED: u64 = 97;

fn walk(world: &'static World, depth: u64, past: bool) -> Tally {
    let mut total = Tally::default();
    // The lowest cut counts only near the bed: each height there is taken for it in turn, and none.
    let heights = world.near_bed().into_iter().map(Some).chain([None]);
    for lowest in heights {
        let mut walk = Walk {
            world,
            lowest,
            near: world.near_bed(),
            past,
            path: Vec::new(),
            found: Vec::new(),
            tally: std::mem::take(&mut total),
        };
        let mut lines = vec![world.line(lowest, 0)];
        for told in &world.before {
            walk.advance(&mut lines, told);
        }
        walk.descend(&lines, depth);
        total = walk.tally;
    }
    total
}

/// A stroke after which something may hang by a thread leaves a line there; the auditor as a whole goes on, and finds more at
/// the end than anybody has looked for on the way.
#[test]
fn what_is_left_on_the_way_is_not_asked_of_the_whole() {
    let worlds: &'static [World] = Box::leak(worlds::all().into_boxed_slice());
    let world = worlds.iter().find(|world| world.name == "strokes in doubt");
    let world = world.expect("the world is there");
    let told = |start: &str| {
        let mut moves = world.alphabet.iter();
        *moves.find(|told| in_short(told) == start).expect(start)
    };
    let unload = *world.alphabet.last().expect("a hold");
    let path = [
        told("go x0 y30"),
        unload,
        told("go x30 y30"),
        unload,
        told("cut z600"),
    ];
    let near = world.near_bed();
    let all = world.before.iter().chain(&path).copied();
    let lowest = History::lowest_cut(all).filter(|lowest| near.contains(lowest));
    let mut walk = Walk {
        world,
        lowest,
        near,
        past: true,
        path: Vec::new(),
        found: Vec::new(),
        tally: Tally {
            sequences: EACH_AUDITED - 1,
            ..Tally::default()
        },
    };
    let mut lines = vec![world.line(lowest, 0)];
    for told in world.before.iter().chain(&path) {
        walk.advance(&mut lines, told);
    }
    walk.ends(&lines);
    assert!(lines.iter().any(|line| line.left) && walk.tally.checked == 0);
}

#[test]
fn both_auditors_agree_on_every_sequence_of_a_small_world() {
    let (all, clean) = (asked("BUNKSIDE_LENGTH", 3), asked("BUNKSIDE_CLEAN_LENGTH", 4));
    let mut text = String::from(
        "| world | moves | sequences to length | of them refused | sequences without a refused move before the last, \
         to length | of them refused | unsure |\n|---|--:|--:|--:|--:|--:|--:|\n",
    );
    let mut by: BTreeMap<Key, u64> = BTreeMap::new();
    let mut total = 0;
    let worlds: &'static [World] = Box::leak(worlds::all().into_boxed_slice());
    for world in worlds {
        let (every, good) = (walk(world, all, true), walk(world, clean, false));
        total += every.sequences + good.sequences;
        let unsure = every.unsure + good.unsure;
        assert!(every.checked > 0, "{}", world.name);
        writeln!(
            text,
            "| {} | {} | {} to {all} | {} | {} to {clean} | {} | {unsure} |",
            world.name,
            world.alphabet.len(),
            every.sequences,
            every.refused,
            good.sequences,
            good.refused
        )
        .expect("text grows");
        for (key, count) in every.by.into_iter().chain(good.by) {
            *by.entry(key).or_default() += count;
        }
    }
    writeln!(
        text,
        "\n{total} sequences, no disagreement. Findings that both auditors agree on:\n"
    )
    .expect("text");
    text.push_str("| rule | refuses | warns |\n|---|--:|--:|\n");
    for rule in SAID_AGAIN {
        let count = |refuses: bool| by.get(&(rule, refuses)).copied().unwrap_or(0);
        writeln!(text, "| {rule} | {} | {} |", count(true), count(false)).expect("text grows");
    }
    println!("{text}");
    report("small-worlds", &text);
    let silent = SAID_AGAIN
        .iter()
        .filter(|rule| !by.keys().any(|(id, _)| id == *rule));
    let silent: Vec<_> = silent.collect();
    assert!(silent.is_empty(), "no finding by these rules: {silent:?}");
    assert!(total >= 10_000, "{total}");
}
