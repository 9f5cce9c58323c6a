//! The fine model: a log in slices along the rails, each slice in strips a millimetre wide, each strip a list of
//! standing stretches of wood, sampled from the ellipse's own formula in `f64`.
//!
//! Strips and slices are sampled in their middles; heights are exact. Kerfs begin and end at strips and slices.

use bunkside_planner::geometry::{Block, Interval};
use bunkside_protocol::{LogRecord, Position};

use super::sections::Ellipse;

/// Width of a strip, micrometres.
pub(super) const STRIP: f64 = 1_000.0;
/// Number of slices.
pub(super) const SLICES: usize = 64;
/// Wood that hangs together by less than this does not, micrometres: rounding.
const TOUCH: f64 = 1.0;

/// Whose the wood is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Owner {
    Body,
    Piece(usize),
}

/// One standing stretch of a strip.
#[derive(Clone, Copy, Debug)]
struct Rod {
    lo: f64,
    hi: f64,
    owner: Owner,
}

/// How many rods a strip may hold.
const RODS: usize = 6;

/// The rods of one strip, from below.
#[derive(Clone, Copy)]
struct Rods {
    rods: [Rod; RODS],
    count: usize,
}

impl Rods {
    const NONE: Self = Self {
        rods: [Rod {
            lo: 0.0,
            hi: 0.0,
            owner: Owner::Body,
        }; RODS],
        count: 0,
    };

    fn push(&mut self, rod: Rod) {
        self.rods[self.count] = rod;
        self.count += 1;
    }

    fn all(&self) -> &[Rod] {
        &self.rods[..self.count]
    }
}

/// Low and high corner, micrometres: along, across, up.
pub(super) type Corners = [[f64; 2]; 3];

/// The log.
#[derive(Clone)]
pub(super) struct Voxels {
    start: f64,
    slice: f64,
    left: f64,
    strips: usize,
    rods: Vec<Rods>,
    /// Slice, strip and height of the lowest wood over each bunk.
    rests: Vec<(usize, usize, f64)>,
    pieces: usize,
}

impl Voxels {
    /// Samples a log that rests in the middle of some slices.
    pub(super) fn new(record: &LogRecord, rests: &[usize]) -> Self {
        let sections = sections(record);
        let (start, end) = (sections[0].0, sections[sections.len() - 1].0);
        let ellipses = sections.iter().map(|(_, ellipse)| ellipse);
        let left = ellipses
            .clone()
            .map(|e| e.across - e.reach())
            .fold(f64::MAX, f64::min);
        let right = ellipses.map(|e| e.across + e.reach()).fold(f64::MIN, f64::max);
        let left = (left / STRIP).floor() * STRIP;
        let mut voxels = Self {
            start,
            slice: (end - start) / SLICES as f64,
            left,
            strips: ((right - left) / STRIP).ceil() as usize,
            rods: Vec::new(),
            rests: Vec::new(),
            pieces: 0,
        };
        for slice in 0..SLICES {
            let ellipse = at(&sections, voxels.middle(slice));
            if rests.contains(&slice) {
                let [across, height] = ellipse.lowest();
                let strip = ((across - left) / STRIP) as usize;
                voxels.rests.push((slice, strip, height));
            }
            for strip in 0..voxels.strips {
                let across = left + (strip as f64 + 0.5) * STRIP;
                let mut rods = Rods::NONE;
                if let Some([lo, hi]) = ellipse.wood(across) {
                    rods.push(Rod {
                        lo,
                        hi,
                        owner: Owner::Body,
                    });
                }
                voxels.rods.push(rods);
            }
        }
        voxels
    }

    /// The middle of a slice along the rails.
    pub(super) fn middle(&self, slice: usize) -> f64 {
        self.start + (slice as f64 + 0.5) * self.slice
    }

    /// Where a slice begins, to the micrometre.
    pub(super) fn begin(&self, slice: usize) -> Position {
        Position::um((self.start + slice as f64 * self.slice).round() as i64)
    }

    /// Length of a slice.
    pub(super) const fn slice(&self) -> f64 {
        self.slice
    }

    /// How many strips a slice has.
    pub(super) const fn strips(&self) -> usize {
        self.strips
    }

    /// Where the first strip begins.
    pub(super) const fn left(&self) -> f64 {
        self.left
    }

    /// Whose the wood of a strip is between two heights that no kerf parts; none where there is none.
    pub(super) fn owner(&self, place: usize, [low, high]: [f64; 2]) -> Option<Owner> {
        let mut rods = self.rods[place].all().iter();
        rods.find(|rod| rod.lo < high && low < rod.hi)
            .map(|rod| rod.owner)
    }

    /// The middle of a strip, along and across.
    pub(super) fn place(&self, place: usize) -> [f64; 2] {
        let (slice, strip) = (place / self.strips, place % self.strips);
        [self.middle(slice), self.left + (strip as f64 + 0.5) * STRIP]
    }

    /// Every rod of some owners with the middle of its strip.
    fn held(&self, takes: impl Fn(Owner) -> bool) -> impl Iterator<Item = (Rod, [f64; 2])> {
        let every = self.rods.iter().enumerate().flat_map(move |(place, rods)| {
            let middle = self.place(place);
            rods.all().iter().map(move |rod| (*rod, middle))
        });
        every.filter(move |(rod, _)| takes(rod.owner))
    }

    /// Takes a kerf out and answers the numbers of the pieces it freed.
    pub(super) fn carve(&mut self, kerf: Block) -> Vec<usize> {
        let [along, across, up] = corners(kerf);
        for place in 0..self.rods.len() {
            let [z, x] = self.place(place);
            if !inside(z, along) || !inside(x, across) {
                continue;
            }
            let rods = std::mem::replace(&mut self.rods[place], Rods::NONE);
            for rod in rods.all() {
                for [lo, hi] in [[rod.lo, rod.hi.min(up[0])], [rod.lo.max(up[1]), rod.hi]] {
                    if lo < hi {
                        self.rods[place].push(Rod { lo, hi, ..*rod });
                    }
                }
            }
        }
        self.separate()
    }

    fn separate(&mut self) -> Vec<usize> {
        let firsts = self.firsts();
        let mut reached = vec![false; firsts[firsts.len() - 1]];
        for (slice, strip, lowest) in &self.rests {
            let place = slice * self.strips + strip;
            let under = self.rods[place]
                .all()
                .first()
                .filter(|rod| rod.lo < lowest + 100.0);
            if under.is_some_and(|rod| rod.owner == Owner::Body) {
                self.flood(place, 0, &firsts, &mut reached);
            }
        }
        let mut freed = Vec::new();
        for place in 0..self.rods.len() {
            for index in 0..self.rods[place].count {
                if self.rods[place].rods[index].owner == Owner::Body && !reached[firsts[place] + index] {
                    let part = self.flood(place, index, &firsts, &mut reached);
                    for (place, index) in part {
                        self.rods[place].rods[index].owner = Owner::Piece(self.pieces);
                    }
                    freed.push(self.pieces);
                    self.pieces += 1;
                }
            }
        }
        freed
    }

    /// How many rods stand before each place, and in all.
    fn firsts(&self) -> Vec<usize> {
        let mut firsts = vec![0];
        for rods in &self.rods {
            firsts.push(firsts[firsts.len() - 1] + rods.count);
        }
        firsts
    }

    /// Marks and lists the body's rods that hang together with one.
    fn flood(
        &self,
        place: usize,
        index: usize,
        firsts: &[usize],
        reached: &mut [bool],
    ) -> Vec<(usize, usize)> {
        let (mut open, mut found) = (vec![(place, index)], Vec::new());
        while let Some((place, index)) = open.pop() {
            if std::mem::replace(&mut reached[firsts[place] + index], true) {
                continue;
            }
            found.push((place, index));
            let rod = self.rods[place].rods[index];
            for other in self.neighbours(place) {
                for (number, beside) in self.rods[other].all().iter().enumerate() {
                    let shared = rod.hi.min(beside.hi) - rod.lo.max(beside.lo);
                    if beside.owner == Owner::Body && shared > TOUCH {
                        open.push((other, number));
                    }
                }
            }
        }
        found
    }

    fn neighbours(&self, place: usize) -> impl Iterator<Item = usize> + use<> {
        let (slice, strip) = (place / self.strips, place % self.strips);
        [
            (strip > 0).then(|| place - 1),
            (strip + 1 < self.strips).then_some(place + 1),
            (slice > 0).then(|| place - self.strips),
            (slice + 1 < SLICES).then_some(place + self.strips),
        ]
        .into_iter()
        .flatten()
    }

    /// Takes the free pieces away.
    pub(super) fn unload(&mut self) {
        for strip in &mut self.rods {
            let rods = std::mem::replace(strip, Rods::NONE);
            for rod in rods.all().iter().filter(|rod| rod.owner == Owner::Body) {
                strip.push(*rod);
            }
        }
    }

    /// Volume in cubic millimetres and centroid in millimetres of some owners' wood.
    pub(super) fn solid(&self, takes: impl Fn(Owner) -> bool) -> (f64, [f64; 3]) {
        let (mut volume, mut moments) = (0.0, [0.0; 3]);
        let base = STRIP * self.slice * 1e-6;
        for (rod, [z, x]) in self.held(takes) {
            let part = base * (rod.hi - rod.lo) / 1e3;
            volume += part;
            for (moment, at) in moments.iter_mut().zip([z, x, (rod.lo + rod.hi) / 2.0]) {
                *moment += part * at / 1e3;
            }
        }
        (volume, moments.map(|moment| moment / volume))
    }

    /// The box around some owners' wood inside another box, of rods that stand higher than `least` there.
    pub(super) fn around(
        &self,
        block: Corners,
        least: f64,
        takes: impl Fn(Owner) -> bool,
    ) -> Option<Corners> {
        let [along, across, up] = block;
        let mut found: Option<Corners> = None;
        for (rod, [z, x]) in self.held(takes) {
            let held = [rod.lo.max(up[0]), rod.hi.min(up[1])];
            if !inside(z, along) || !inside(x, across) || held[1] - held[0] <= least {
                continue;
            }
            let part = [
                [z - self.slice / 2.0, z + self.slice / 2.0],
                [x - STRIP / 2.0, x + STRIP / 2.0],
                held,
            ];
            found = Some(found.map_or(part, |whole| join(whole, part)));
        }
        found
    }

    /// The first and the last strip of each slice that hold some owners' wood between two heights.
    pub(super) fn reach(&self, [lo, hi]: [f64; 2], takes: impl Fn(Owner) -> bool) -> Vec<Option<[usize; 2]>> {
        let holds = |rods: &Rods| {
            let mut mine = rods.all().iter().filter(|rod| takes(rod.owner));
            mine.any(|rod| rod.lo < hi && lo < rod.hi)
        };
        self.rods
            .chunks(self.strips)
            .map(|slice| Some([slice.iter().position(holds)?, slice.iter().rposition(holds)?]))
            .collect()
    }
}

fn join(a: Corners, b: Corners) -> Corners {
    [0, 1, 2].map(|axis| [a[axis][0].min(b[axis][0]), a[axis][1].max(b[axis][1])])
}

pub(super) fn inside(at: f64, [lo, hi]: [f64; 2]) -> bool {
    lo < at && at < hi
}

/// The corners of a block.
pub(super) fn corners(block: Block) -> Corners {
    let side = |stretch: Interval| [stretch.lo.as_um().into(), stretch.hi.as_um().into()];
    [side(block.travel), side(block.across), side(block.height)]
}

/// The stations of a log: where, and what ellipse.
pub(super) fn sections(record: &LogRecord) -> Vec<(f64, Ellipse)> {
    let stations = record.stations.iter();
    stations
        .map(|station| {
            let ellipse = Ellipse::of_station(station).left_by(&record.sawn);
            (station.travel.as_um().into(), ellipse)
        })
        .collect()
}

/// The ellipse at a place.
pub(super) fn at(sections: &[(f64, Ellipse)], place: f64) -> Ellipse {
    let pair = sections
        .windows(2)
        .find(|pair| place <= pair[1].0)
        .unwrap_or(&sections[sections.len() - 2..]);
    let [(from, a), (to, b)] = pair else {
        panic!("a log has two stations")
    };
    a.mix(b, (place - from) / (to - from))
}
