//! The naive model: an array of units, each of which is air, body, or a numbered free piece.

use std::ops::Range;

use bunkside_planner::geometry::{Block, Interval};
use bunkside_protocol::{Form, Length, LogRecord, Position, Sawn, Station, Surface, Timber};

/// Edge of one unit, micrometres.
pub(super) const UNIT: i64 = 5_000;
/// A unit number that stands for "no end".
pub(super) const FAR: i32 = 1_000;

/// Units of a section: `across` and `height` from the first to before the last.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Outline {
    pub(super) across: [i32; 2],
    pub(super) height: [i32; 2],
}

impl Outline {
    fn holds(self, across: i32, height: i32) -> bool {
        (self.across[0]..self.across[1]).contains(&across)
            && (self.height[0]..self.height[1]).contains(&height)
    }
}

/// A squared timber, one outline for each slice of a unit's length. Of two neighbours one holds the other; the
/// change between them happens inside the larger one's slice.
#[derive(Clone, Debug)]
pub(super) struct Timbers {
    pub(super) start: i32,
    pub(super) slices: Vec<Outline>,
    /// Where it rests, in half units along the rails.
    pub(super) rests: Vec<i32>,
}

/// Where in the slice a change to more and one to less wood begin and end, micrometres.
const RISE: [i64; 2] = [1_000, 1_500];
const FALL: [i64; 2] = [3_000, 3_500];

impl Timbers {
    pub(super) fn length(&self) -> i32 {
        i32::try_from(self.slices.len()).expect("few slices")
    }

    /// The smallest outline around all slices.
    pub(super) fn hull(&self) -> Outline {
        let mut hull = self.slices[0];
        for slice in &self.slices {
            hull.across = [
                hull.across[0].min(slice.across[0]),
                hull.across[1].max(slice.across[1]),
            ];
            hull.height = [
                hull.height[0].min(slice.height[0]),
                hull.height[1].max(slice.height[1]),
            ];
        }
        hull
    }

    pub(super) fn record(&self) -> LogRecord {
        let mut record = LogRecord {
            form: Form::Square,
            stations: Default::default(),
            sawn: Sawn::NONE,
            bark: Length::ZERO,
            timber: Timber::Soft,
            density: 900,
            stiffness: 9_000,
            cutting_energy: 30,
            surface: Surface::Barked,
            bed_clearance: Length::ZERO,
            between_bunks: None,
            metal: Default::default(),
        };
        let mut push = |travel: i64, outline: Outline| {
            record
                .stations
                .push(station(travel, outline))
                .expect("few changes");
        };
        let start = i64::from(self.start) * UNIT;
        push(start, self.slices[0]);
        for (number, pair) in (0i64..).zip(self.slices.windows(2)) {
            if pair[0] != pair[1] {
                let [from, to] = if larger(pair[0], pair[1]) { FALL } else { RISE };
                let slice = if larger(pair[0], pair[1]) {
                    number
                } else {
                    number + 1
                };
                push(start + slice * UNIT + from, pair[0]);
                push(start + slice * UNIT + to, pair[1]);
            }
        }
        push(
            start + i64::from(self.length()) * UNIT,
            self.slices[self.slices.len() - 1],
        );
        record
    }

    pub(super) fn rests_um(&self) -> Vec<Position> {
        self.rests
            .iter()
            .map(|half| Position::um(i64::from(*half) * UNIT / 2))
            .collect()
    }

    /// The least and the most that the wood of a unit can fill along the rails, micrometres.
    fn extent(&self, slice: usize, across: i32, height: i32) -> [[i64; 2]; 2] {
        let lo = (i64::from(self.start) + i64::try_from(slice).expect("few slices")) * UNIT;
        let mut extent = [[lo, lo + UNIT], [lo, lo + UNIT]];
        if slice > 0 && !self.slices[slice - 1].holds(across, height) {
            extent[0][0] = lo + RISE[1];
            extent[1][0] = lo + RISE[0];
        }
        if slice + 1 < self.slices.len() && !self.slices[slice + 1].holds(across, height) {
            extent[0][1] = lo + FALL[0];
            extent[1][1] = lo + FALL[1];
        }
        extent
    }
}

fn larger(a: Outline, b: Outline) -> bool {
    let area = |o: Outline| (o.across[1] - o.across[0]) * (o.height[1] - o.height[0]);
    area(a) > area(b)
}

fn station(travel: i64, outline: Outline) -> Station {
    let middle = |[lo, hi]: [i32; 2]| Position::um((i64::from(lo) + i64::from(hi)) * UNIT / 2);
    let half = |[lo, hi]: [i32; 2]| Length::um((i64::from(hi) - i64::from(lo)) * UNIT / 2);
    Station {
        travel: Position::um(travel),
        centre_across: middle(outline.across),
        centre_height: middle(outline.height),
        half_width: half(outline.across),
        half_height: half(outline.height),
        skew: Length::ZERO,
    }
}

/// Whose the wood of a unit is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Wood {
    Body,
    Piece(usize),
}

/// A box of units, from the first to before the last; in halves where it is asked about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Span {
    pub(super) travel: [i32; 2],
    pub(super) across: [i32; 2],
    pub(super) height: [i32; 2],
}

impl Span {
    /// The box in micrometres, where one count is `unit` long.
    pub(super) fn block(&self, unit: i64) -> Block {
        let side = |[lo, hi]: [i32; 2]| Interval::new(place(lo, unit), place(hi, unit));
        Block {
            travel: side(self.travel),
            across: side(self.across),
            height: side(self.height),
        }
    }
}

fn place(count: i32, unit: i64) -> Position {
    match count {
        FAR => Position::MAX,
        count if count == -FAR => Position::MIN,
        count => Position::um(i64::from(count) * unit),
    }
}

/// Which of `count` units from `first` on have their middles in a stretch.
fn held(stretch: Interval, first: i32, count: usize) -> Range<usize> {
    let from = i64::from(first) * UNIT + UNIT / 2;
    let clamp = |units: i64| usize::try_from(units.max(0)).expect("not negative").min(count);
    let lo = clamp((stretch.lo.wide() - from + UNIT - 1).div_euclid(UNIT));
    lo..clamp((stretch.hi.wide() - from).div_euclid(UNIT) + 1).max(lo)
}

/// The units.
#[derive(Clone)]
pub(super) struct Grid<'a> {
    timber: &'a Timbers,
    hull: Outline,
    wood: Vec<Option<Wood>>,
    pieces: usize,
}

impl<'a> Grid<'a> {
    pub(super) fn new(timber: &'a Timbers) -> Self {
        let hull = timber.hull();
        let mut grid = Self {
            timber,
            hull,
            wood: Vec::new(),
            pieces: 0,
        };
        for slice in &timber.slices {
            for height in hull.height[0]..hull.height[1] {
                for across in hull.across[0]..hull.across[1] {
                    grid.wood.push(slice.holds(across, height).then_some(Wood::Body));
                }
            }
        }
        grid
    }

    fn sides(&self) -> [usize; 3] {
        let side = |[lo, hi]: [i32; 2]| usize::try_from(hi - lo).expect("a hull has room");
        [
            self.timber.slices.len(),
            side(self.hull.height),
            side(self.hull.across),
        ]
    }

    pub(super) fn timber(&self) -> &'a Timbers {
        self.timber
    }

    /// The slice of a unit (from 0), and its place across and up.
    fn place(&self, unit: usize) -> (usize, i32, i32) {
        let [_, up, wide] = self.sides();
        let offset = |n: usize| i32::try_from(n).expect("a small grid");
        (
            unit / (up * wide),
            self.hull.across[0] + offset(unit % wide),
            self.hull.height[0] + offset(unit / wide % up),
        )
    }

    /// Every unit inside the timber: its number, whose it is, and its middle.
    pub(super) fn middles(&self) -> impl Iterator<Item = (usize, Option<Wood>, [Position; 3])> + use<'_> {
        let middle = |count: i32| Position::um(i64::from(count) * UNIT + UNIT / 2);
        (0..self.wood.len()).filter_map(move |unit| {
            let (slice, across, height) = self.place(unit);
            let along = self.timber.start + i32::try_from(slice).expect("few slices");
            self.timber.slices[slice].holds(across, height).then_some((
                unit,
                self.wood[unit],
                [middle(along), middle(across), middle(height)],
            ))
        })
    }

    /// The numbers of all units whose middles a box holds.
    pub(super) fn inside(&self, block: Block) -> impl Iterator<Item = usize> + use<> {
        let [long, up, wide] = self.sides();
        let along = held(block.travel, self.timber.start, long);
        let height = held(block.height, self.hull.height[0], up);
        let across = held(block.across, self.hull.across[0], wide);
        along.flat_map(move |z| {
            let across = across.clone();
            height
                .clone()
                .flat_map(move |y| across.clone().map(move |x| (z * up + y) * wide + x))
        })
    }

    pub(super) fn count(&self) -> usize {
        self.wood.len()
    }

    /// Takes a kerf out and answers the numbers of the pieces that it freed.
    pub(super) fn carve(&mut self, kerf: &Span) -> Vec<usize> {
        for unit in self.inside(kerf.block(UNIT)) {
            self.wood[unit] = None;
        }
        self.separate()
    }

    /// Floods the body from the units on which it rests, then every part that was not reached.
    fn separate(&mut self) -> Vec<usize> {
        let mut reached = vec![false; self.wood.len()];
        for unit in self.resting() {
            self.flood(unit, &mut reached);
        }
        let mut freed = Vec::new();
        for (unit, reached) in reached.into_iter().enumerate() {
            if self.wood[unit] == Some(Wood::Body) && !reached {
                let mut part = vec![false; self.wood.len()];
                self.flood(unit, &mut part);
                for (wood, part) in self.wood.iter_mut().zip(part) {
                    if part {
                        *wood = Some(Wood::Piece(self.pieces));
                    }
                }
                freed.push(self.pieces);
                self.pieces += 1;
            }
        }
        freed
    }

    /// The lowest units of the slices on which the timber rests.
    fn resting(&self) -> Vec<usize> {
        (0..self.wood.len())
            .filter(|unit| {
                let (slice, _, height) = self.place(*unit);
                let along = 2 * (self.timber.start + i32::try_from(slice).expect("few slices"));
                height == self.timber.slices[slice].height[0]
                    && self
                        .timber
                        .rests
                        .iter()
                        .any(|rest| along <= *rest && *rest <= along + 2)
            })
            .collect()
    }

    /// Marks the body's wood that hangs together with a unit through faces of units.
    fn flood(&self, from: usize, reached: &mut [bool]) {
        let [long, up, wide] = self.sides();
        let mut open = vec![from];
        while let Some(unit) = open.pop() {
            if reached[unit] || self.wood[unit] != Some(Wood::Body) {
                continue;
            }
            reached[unit] = true;
            let (z, y, x) = (unit / (up * wide), unit / wide % up, unit % wide);
            for (at, side, step) in [(z, long, up * wide), (y, up, wide), (x, wide, 1)] {
                if at > 0 {
                    open.push(unit - step);
                }
                if at + 1 < side {
                    open.push(unit + step);
                }
            }
        }
    }

    /// Takes the free pieces away.
    pub(super) fn unload(&mut self) {
        for wood in &mut self.wood {
            if matches!(wood, Some(Wood::Piece(_))) {
                *wood = None;
            }
        }
    }

    fn body(&self, slice: usize, across: i32, height: i32) -> bool {
        let [_, up, wide] = self.sides();
        let offset = |at: i32, first: i32| usize::try_from(at - first).ok();
        let Some((x, y)) = offset(across, self.hull.across[0]).zip(offset(height, self.hull.height[0]))
        else {
            return false;
        };
        x < wide && y < up && self.wood[(slice * up + y) * wide + x] == Some(Wood::Body)
    }

    /// By how many units the body's wood that stands above a height, from a place across on towards the exit side,
    /// has a kerf under it: the most over all slices. For timbers of one outline.
    pub(super) fn undercut(&self, across: i32, height: i32) -> i32 {
        let Outline {
            across: [_, right],
            height: [bottom, top],
        } = self.hull;
        let under = |slice: usize, stands: i32| {
            let column = (bottom..=stands).rev();
            let foot = column
                .take_while(|height| self.body(slice, across, *height))
                .last()?;
            let hangs = |across: &i32| {
                foot > bottom && self.body(slice, *across, foot) && !self.body(slice, *across, foot - 1)
            };
            i32::try_from((across..right).take_while(hangs).count()).ok()
        };
        let slices = 0..self.timber.slices.len();
        slices
            .flat_map(|slice| (height.max(bottom)..top).filter_map(move |stands| under(slice, stands)))
            .max()
            .unwrap_or(0)
    }

    /// The box around the wood of some owners that a box (in half units) meets: the least it can be, and the most.
    pub(super) fn met(&self, block: Block, takes: impl Fn(Wood) -> bool) -> Option<[Block; 2]> {
        let mut found: Option<[Block; 2]> = None;
        for unit in self.inside(block.grown(Length::um(UNIT / 2))) {
            if !self.wood[unit].is_some_and(&takes) {
                continue;
            }
            let (slice, across, height) = self.place(unit);
            let side = |at: i32| Interval::new(place(at, UNIT), place(at + 1, UNIT));
            let part = self.timber.extent(slice, across, height).map(|[lo, hi]| Block {
                travel: Interval::new(Position::um(lo), Position::um(hi)).meet(block.travel),
                across: side(across).meet(block.across),
                height: side(height).meet(block.height),
            });
            if part[1].is_empty() {
                continue;
            }
            found = Some(match found {
                None => part,
                Some(whole) => [whole[0].join(part[0]), whole[1].join(part[1])],
            });
        }
        found
    }
}
