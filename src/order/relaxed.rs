//! A layer as if no rule but the blade's reach held: the least that any order of its cuts takes from each state on.
//!
//! Every kerf that is left, at the fastest feed of blade, engine and drive, with its run-outs; swings; the carriage brought
//! back where two strokes run the same way; the blade stopped where a height is set by hand; walks to take pieces away before the blade goes under them; that a shift
//! across starts and stops. The way across itself is counted apart.

use bunkside_planner::machine::Pose;
use bunkside_planner::physics::motion::rapid;
use bunkside_planner::physics::timing::go;
use bunkside_protocol::mill::HeightSetting;
use bunkside_protocol::{Act, Acts, Angle, Position, Stroke};

use super::ends::hold_time;
use super::guess::{Guess, STROKES, seconds};
use super::level::{Level, bit, first};
use super::state::{Kerf, Wood};

/// Most entries of a table: above this a layer is guessed more simply.
const ENTRIES_MAX: usize = 8_000_000;

/// Most edges of a layer of which all orders are looked at.
pub(super) const EDGES_TO_PROVE: usize = 16;

/// How many ways there are to stand.
const STANDS: usize = 32;

/// Ends and angles at which a layer may begin or end, knife on or off: which bit is which.
pub(super) const FAR: usize = 1;
pub(super) const UPRIGHT: usize = 2;
pub(super) const KNIFE: usize = 4;

/// Seconds for every end, angle and knife, by the bits.
pub(super) type Worth = [f64; 8];

/// Where carriage, blade and knife are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Stand {
    pub(super) far: bool,
    pub(super) upright: bool,
    pub(super) knife: bool,
    /// Whether pieces lie free where a flat stroke would go.
    pub(super) waits: bool,
    /// Whether a shallow pass has gone before over the bunks.
    pub(super) shallow: bool,
}

impl Stand {
    const fn number(self) -> usize {
        let mut number = 0;
        if self.far {
            number += FAR;
        }
        if self.upright {
            number += UPRIGHT;
        }
        if self.knife {
            number += KNIFE;
        }
        if self.waits {
            number += 8;
        }
        if self.shallow {
            number += 16;
        }
        number
    }

    /// Where across the last stroke was, where that is told: a flat one's; before the first, where the layer may begin.
    fn place(self, guess: &Guess<'_>, cut: u64, rim: usize) -> Option<Position> {
        if cut == 0 && rim == 0 {
            return Some(guess.begins);
        }
        let rim = guess.level.rim(rim).filter(|_| !self.upright);
        rim.map(|rim| rim.across)
    }

    fn all() -> impl Iterator<Item = Self> {
        (0..STANDS).map(|bits| Self {
            far: bits & FAR != 0,
            upright: bits & UPRIGHT != 0,
            knife: bits & KNIFE != 0,
            waits: bits & 8 != 0,
            shallow: bits & 16 != 0,
        })
    }
}

/// The least from each state on.
#[derive(Clone, Debug)]
pub(super) struct Relaxed {
    rims: usize,
    table: Vec<f64>,
    /// Whether edges are only cut from the entry side on.
    ascending: bool,
}

/// What moving between strokes takes at least.
#[derive(Clone, Copy)]
struct Moving {
    back: f64,
    /// To raise the blade over what stands, from the layer's floor.
    up: f64,
    /// To raise it as high as a swing needs over the bed.
    raise: f64,
    /// Seconds to set the height, where somebody walks to do it.
    by_hand: Option<f64>,
    /// To stop the blade for that and start it again.
    crank: f64,
    swing: f64,
    walk: f64,
    /// To turn the knife, where the mill has one; a height that is set by hand may be set at the same stop.
    knife: Option<f64>,
    /// Whether it is to the first stroke of the layer, from the floor before; that the height is set once is counted apart.
    first: bool,
    /// Whether that is where the blade was parked.
    parked: bool,
}

impl Relaxed {
    /// None where the layer has too many states.
    pub(super) fn new(guess: &Guess<'_>, worth: &Worth) -> Option<Self> {
        let level = guess.level;
        let rims = level.through() + 1;
        let edges = level.edges.len();
        let cuts = if guess.ascending {
            edges + 1
        } else {
            1usize.checked_shl(u32::try_from(edges).ok()?)?
        };
        let states = cuts.checked_mul(rims)?.checked_mul(STANDS)?;
        if (edges > EDGES_TO_PROVE && !guess.ascending) || states > ENTRIES_MAX {
            return None;
        }
        let moving = Moving::new(guess);
        let mut relaxed = Self {
            rims,
            table: vec![f64::INFINITY; states],
            ascending: guess.ascending,
        };
        let from_entry = (0..=edges).rev().map(first);
        let all: Vec<u64> = if guess.ascending {
            from_entry.collect()
        } else {
            (0..=level.all()).rev().collect()
        };
        for cut in all {
            for rim in (0..rims).rev() {
                let needed = level.rim(rim).map_or(0, |rim| first(rim.after));
                let first = cut == 0 && rim == 0;
                let moving = Moving { first, ..moving };
                if cut & needed == needed {
                    relaxed.fill(guess, &moving, worth, cut, rim);
                }
            }
        }
        Some(relaxed)
    }

    fn fill(&mut self, guess: &Guess<'_>, moving: &Moving, worth: &Worth, cut: u64, rim: usize) {
        let level = guess.level;
        let done = rim == level.through() && cut == level.all();
        for stand in Stand::all() {
            if (stand.knife && moving.knife.is_none()) || (stand.shallow && !level.near_bed) {
                continue;
            }
            let ended = worth.get(stand.number() % worth.len());
            let waits = if stand.waits { moving.walk } else { 0.0 };
            let least = if done {
                waits - ended.copied().unwrap_or(0.0)
            } else {
                let edged = self.edged(guess, moving, cut, rim, stand);
                edged.min(waits + self.flattened(guess, moving, cut, rim, stand))
            };
            self.set(cut, rim, stand, least);
        }
        // Whoever turns the knife takes away what lies free.
        let Some(turn) = moving.knife else { return };
        let bare: Vec<Stand> = Stand::all().filter(|stand| !stand.waits).collect();
        for pass in [bare, Stand::all().filter(|stand| stand.waits).collect()] {
            for stand in pass {
                let turned = Stand {
                    knife: !stand.knife,
                    waits: false,
                    ..stand
                };
                let least = self.get(cut, rim, stand).min(turn + self.get(cut, rim, turned));
                self.set(cut, rim, stand, least);
            }
        }
    }

    /// An upright kerf next.
    fn edged(&self, guess: &Guess<'_>, moving: &Moving, cut: u64, rim: usize, stand: Stand) -> f64 {
        let level = guess.level;
        let off = level.freed(rim, cut);
        let out = guess.out(stand.place(guess, cut, rim));
        let mut least = f64::INFINITY;
        let left = (0..level.edges.len()).filter(|edge| cut & bit(*edge) == 0);
        for edge in left.take(if self.ascending { 1 } else { usize::MAX }) {
            let after = cut | bit(edge);
            let frees = level.pieces(off..level.freed(rim, after).max(off)) > 0;
            let across = Across {
                shift: guess.stop_at_edge(edge, (cut, rim), stand.upright),
                in_again: level
                    .edges
                    .get(edge)
                    .map_or(0.0, |edge| guess.in_again(edge.across)),
                out,
            };
            // The last group over the bunks is freed flat.
            if guess.lowest && level.near_bed && frees && after == level.all() && rim == level.through() {
                continue;
            }
            for far in [false, true] {
                let next = Stand {
                    far,
                    upright: true,
                    waits: stand.waits || frees || level.drops(edge),
                    shallow: stand.shallow && !frees,
                    ..stand
                };
                let rest = self.get(after, rim, next);
                for passes in guess.ways(edge, stand.knife) {
                    for from in [false, true] {
                        let way = moving.to(stand, from, true, passes.of == 1, &across);
                        least = least.min(way + passes.whole(from, far) + rest);
                    }
                }
            }
        }
        least
    }

    /// A flat stroke next; what lies free has been taken away.
    fn flattened(&self, guess: &Guess<'_>, moving: &Moving, cut: u64, rim: usize, stand: Stand) -> f64 {
        let level = guess.level;
        let off = level.freed(rim, cut);
        let wood = Wood {
            rim: u8::try_from(rim).unwrap_or(u8::MAX),
            cut,
            ..Wood::UNTOUCHED
        };
        let out = guess.out(stand.place(guess, cut, rim));
        let mut least = f64::INFINITY;
        for to in rim + 1..=level.through() {
            let Some(needed) = level.rim(to).map(|rim| first(rim.after)) else {
                continue;
            };
            if cut & needed != needed {
                break;
            }
            let placed = guess.placed(guess.flat_kerf(to, 0), false);
            let columns = off..level.freed(to, cut).max(off);
            let frees = level.pieces(columns.clone()) > 0;
            let across = Across {
                shift: guess.stop_at_rim(to, (cut, rim), stand.upright),
                in_again: level.rim(to).map_or(0.0, |rim| guess.in_again(rim.across)),
                out,
            };
            for stroke in STROKES {
                if !guess.may_free(to, &columns, stroke, stand) {
                    continue;
                }
                let Some(seconds) = guess.stroke(&wood, &placed, stroke, stand.knife) else {
                    continue;
                };
                let next = Stand {
                    far: stroke == Stroke::Outbound,
                    upright: false,
                    waits: frees,
                    shallow: level.near_bed && !frees && (stand.shallow || guess.is_forward(stroke)),
                    ..stand
                };
                let way = moving.to(stand, stroke == Stroke::Homebound, false, true, &across);
                let way = way + seconds + guess.held(&columns, stroke);
                least = least.min(way + self.get(cut, to, next));
            }
        }
        least
    }

    fn at(&self, cut: u64, rim: usize, stand: Stand) -> usize {
        let cut = if self.ascending {
            u64::from(cut.count_ones())
        } else {
            cut
        };
        let cut = usize::try_from(cut).unwrap_or(usize::MAX);
        cut.saturating_mul(self.rims)
            .saturating_add(rim)
            .saturating_mul(STANDS)
            .saturating_add(stand.number())
    }

    /// The least from a state on.
    pub(super) fn get(&self, cut: u64, rim: usize, stand: Stand) -> f64 {
        self.table
            .get(self.at(cut, rim, stand))
            .copied()
            .unwrap_or(f64::INFINITY)
    }

    fn set(&mut self, cut: u64, rim: usize, stand: Stand, least: f64) {
        let at = self.at(cut, rim, stand);
        if let Some(place) = self.table.get_mut(at) {
            *place = least;
        }
    }
}

/// What it takes across to come to a stroke.
struct Across {
    /// From where the last one was; a shift may go with what a drive lowers.
    shift: f64,
    /// Out past the log, where the carriage can pass beside it, and in again.
    out: Option<f64>,
    in_again: f64,
}

impl Moving {
    fn new(guess: &Guess<'_>) -> Self {
        let (setup, mill) = (guess.setup, guess.setup.mill);
        let floor = guess.level.floor;
        let pose = |height| Pose {
            height,
            ..Pose::parked(mill)
        };
        let raised = guess.carriage.raised_to_swing(&pose(floor));
        let by_hand = match mill.height_setting {
            HeightSetting::ByHand(walk) => Some(seconds(walk)),
            HeightSetting::Driven => None,
        };
        Self {
            back: rapid(&mill.travel, guess.carriage.far - guess.carriage.near),
            up: go(mill, &pose(floor), &pose(guess.over)),
            raise: raised.map_or(0.0, |raised| go(mill, &pose(floor), &pose(raised))),
            by_hand,
            crank: guess.crank,
            swing: seconds(mill.swing.time),
            walk: guess.walk,
            knife: mill
                .knife
                .map(|_| hold_time(setup, Acts::one(Act::KnifeOn)) - guess.crank),
            first: false,
            parked: guess.level.number == 0,
        }
    }

    /// To where a stroke starts, and its angle; at the floor, or above it.
    fn to(&self, stand: Stand, far: bool, upright: bool, at_floor: bool, across: &Across) -> f64 {
        let back = stand.far != far;
        let swings = stand.upright != upright;
        let along = if back { self.back } else { 0.0 };
        let swing = if swings { self.swing } else { 0.0 };
        let over = match self.cranks(back, swings, at_floor) {
            (0, height) => height + across.shift,
            // Who walks to set the height shifts meanwhile.
            (_, height) => height,
        };
        let beside = across.out.filter(|_| back).map_or(f64::INFINITY, |out| {
            // One of them goes with each height that is set.
            match self.cranks(false, swings, at_floor) {
                (0, _) if !self.first => out + across.in_again,
                (0 | 1, height) => height + out.min(across.in_again),
                (_, height) => height,
            }
        });
        along + swing + over.min(beside)
    }

    /// How often somebody walks to set the height, and what raising the blade takes or, where that is done by hand, setting it
    /// altogether; a shift may go with what a drive lowers. To the first stroke it is set once more, which is counted apart.
    fn cranks(&self, back: bool, swings: bool, at_floor: bool) -> (u32, f64) {
        if self.first {
            let raised = back && !self.parked;
            return match self.by_hand.filter(|_| raised) {
                Some(walk) => (1, walk),
                None => (0, 0.0),
            };
        }
        let raised = if back && self.up > 0.0 {
            self.up
        } else if swings {
            self.raise
        } else {
            0.0
        };
        match self.by_hand {
            Some(walk) if raised > 0.0 && at_floor => (2, self.crank + raised + walk),
            Some(_) if raised > 0.0 => (1, self.crank + raised),
            Some(walk) if !at_floor => (1, self.crank + walk),
            _ => (0, raised),
        }
    }
}

impl Guess<'_> {
    /// What counts because somebody has to hold down what a flat stroke frees: pieces with bark, in forward feed, which a hand carriage
    /// cannot help.
    fn held(&self, columns: &core::ops::Range<usize>, stroke: Stroke) -> f64 {
        let mut freed = self
            .level
            .flat_off(columns.clone())
            .filter(|comes| comes.pieces > 0);
        let held = self.is_forward(stroke) && !self.aided && freed.any(|comes| comes.bark);
        if held { self.hold_down } else { 0.0 }
    }

    /// Whether a flat stroke may free these columns, as far as that is told by what they are: no bark in forward feed, not
    /// a first column that has been edged, over the bunks as the last group wants it.
    pub(super) fn may_free(
        &self,
        to: usize,
        columns: &core::ops::Range<usize>,
        stroke: Stroke,
        stand: Stand,
    ) -> bool {
        let level = self.level;
        let mut freed = level.flat_off(columns.clone()).filter(|comes| comes.pieces > 0);
        let Some(one) = freed.next().filter(|_| !self.aided) else {
            return true;
        };
        let (forward, hand) = (self.is_forward(stroke), self.is_hand());
        if forward && !hand && (one.bark || freed.any(|comes| comes.bark)) {
            return false;
        }
        let lowest = self.lowest && level.near_bed;
        let alone = columns.len() == 1 && !level.is_release(to, columns) && !level.edges.is_empty();
        if alone && one.pieces == 1 && one.natural && !lowest {
            return false;
        }
        !(lowest && to == level.through()) || (stand.shallow && forward == hand)
    }
}

/// How a pose stands.
pub(super) fn stand(pose: &Pose, near: Position, level: &Level, wood: &Wood) -> Stand {
    Stand {
        far: pose.travel > near,
        upright: pose.angle == Angle::Upright,
        knife: pose.knife,
        waits: level.lies_over(wood) || level.lies_beside(wood) || wood.hangs,
        shallow: wood.shallow,
    }
}

/// The kerf of a pass of an edge.
pub(super) fn pass_of(edge: usize, of: u8, pass: u8) -> Kerf {
    Kerf::Upright {
        edge: u8::try_from(edge).unwrap_or(u8::MAX),
        of,
        pass,
    }
}
