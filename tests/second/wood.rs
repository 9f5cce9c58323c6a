//! The wood as rods: the log in slices along the rails, each slice in strips across, each strip a list of standing
//! rods with their bark. Heights are exact; a strip and a slice count by their middles.
//!
//! A squared timber whose strips and slices lie between the kerfs is held exactly. On a round log a place across is
//! known to half a strip, and what a section holds to what it changes over half a slice.

use bunkside_protocol::{Form, LogRecord, Station};

mod hang;

pub(crate) use super::boxes::{Bx, FAR, Um, around, meet, shared};
use super::outline::Ellipse;

/// Wood that hangs together by less than this does not.
const TOUCH: Um = 50;
/// What is thinner than this is sawdust, not a piece,
const CRUMB: Um = 500;

/// unless its section is as large as this: 20 mm².
const SHEET: Um = 20_000_000;

/// What an arc may leave its chord by inside a strip, and rounding.
const ROUNDED: Um = 10;

/// Whose the wood is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Owner {
    Body,
    Piece(u32),
}

/// What is asked for: wood as it is in the middle of a slice and a strip, wood and bark as they surely are all over them,
/// or all that they may be somewhere.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Hard {
    Wood,
    SureBark,
    AnyBark,
}

/// One standing rod: over bark and under it. Bark without wood has `wood[0] >= wood[1]`.
///
/// Where a flat kerf leaves no wood beyond its rim, a lip of bark stands there over the kerf: nobody can say whether
/// it goes with the piece, so that `sure` ends under it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Rod {
    pub(crate) rough: [Um; 2],
    pub(crate) sure: [Um; 2],
    pub(crate) wood: [Um; 2],
    pub(crate) owner: Owner,
}

impl Rod {
    fn has_wood(&self) -> bool {
        self.wood[0] < self.wood[1]
    }
}

/// The log, as it was and as it is.
#[derive(Clone)]
pub(crate) struct Wood {
    /// Where slices begin and end.
    cuts: std::rc::Rc<Vec<Um>>,
    /// Where strips begin and end.
    lines: std::rc::Rc<Vec<Um>>,
    strips: usize,
    /// From the lowest to the highest bark.
    tall: [Um; 2],
    /// The uncut log: one rod at every place, none of no height left out.
    pub(crate) whole: std::rc::Rc<Vec<Option<Rod>>>,
    /// Where the rods of each place begin; one more for the end.
    firsts: Vec<usize>,
    rods: Vec<Rod>,
    /// Places on which the log rests, and how low its wood is there.
    rests: std::rc::Rc<Vec<(usize, Um)>>,
    pieces: u32,
    /// Whether lips of bark at a rim are taken to go.
    pub(crate) lips_go: bool,
}

impl Wood {
    /// The log with strips no wider than `strip`, parted at `edges` as well, sliced at `cuts`, the log's ends among
    /// them, resting where the bunks are.
    pub(crate) fn new(log: &LogRecord, strip: Um, edges: &[Um], cuts: Vec<Um>, bunks: &[Um]) -> Self {
        let reach = |station: &Station| {
            let half = i64::from(station.half_width.as_um()) + i64::from(station.skew.as_um().abs());
            let half = half + i64::from(log.bark.as_um());
            let centre = i64::from(station.centre_across.as_um());
            [centre - half, centre + half]
        };
        let sides = log.stations.iter().map(reach).reduce(around).expect("stations");
        let left = sides[0].div_euclid(strip) * strip;
        let right = (sides[1] + strip - 1).div_euclid(strip) * strip;
        let mut lines: Vec<Um> = (0..=(right - left) / strip)
            .map(|number| left + number * strip)
            .collect();
        lines.extend(edges.iter().filter(|edge| left < **edge && **edge < right));
        lines.sort_unstable();
        lines.dedup();
        let strips = lines.len() - 1;
        let bark = f64::from(log.bark.as_um());
        let mut whole = Vec::new();
        let mut rests = Vec::new();
        let ends = [cuts[0], cuts[cuts.len() - 1]];
        let inside: Vec<Um> = bunks
            .iter()
            .copied()
            .filter(|bunk| ends[0] <= *bunk && *bunk <= ends[1])
            .collect();
        let middle = ends[0] + (ends[1] - ends[0]) / 2;
        let bunks = if inside.is_empty() {
            vec![ends[0], middle, ends[1]]
        } else {
            inside
        };
        for (slice, pair) in cuts.windows(2).enumerate() {
            let [from, to] = [pair[0] as f64, pair[1] as f64];
            let middle = (from + to) / 2.0;
            let [near, section, far] = [from, middle, to].map(|z| Ellipse::at(log, z));
            for ends in lines.windows(2) {
                let x = [ends[0], ends[1]].map(|line| line as f64);
                let middle = (x[0] + x[1]) / 2.0;
                let places = [x[0], middle, x[1]];
                let sections = [near, section, far];
                let samples = sections
                    .iter()
                    .flat_map(|section| places.map(|x| section.standing(x, bark)));
                let rough = samples.clone().flatten().reduce(around);
                let sure = samples.reduce(|a, b| a.zip(b).map(|(a, b)| meet(a, b))).flatten();
                let wood = section.standing(middle, 0.0);
                let around = if log.form == Form::Round { ROUNDED } else { 0 };
                whole.push(rough.map(|[lo, hi]| Rod {
                    rough: [lo - around, hi + around],
                    sure: sure.unwrap_or([lo, lo]),
                    wood: wood.unwrap_or([lo, lo]),
                    owner: Owner::Body,
                }));
            }
            for _ in bunks.iter().filter(|bunk| pair[0] <= **bunk && **bunk <= pair[1]) {
                let places = slice * strips..(slice + 1) * strips;
                let rods = || {
                    places
                        .clone()
                        .map(|place| (place, whole[place].filter(Rod::has_wood)))
                };
                let low = rods().filter_map(|(_, rod)| Some(rod?.wood[0])).min();
                let lowest = lines.partition_point(|line| *line as f64 <= section.lowest(0.0)) - 1;
                let rests_on = |place: usize, rod: &Rod| match (log.form, log.sawn.bottom) {
                    (Form::Square, _) => true,
                    // All of the face.
                    (Form::Round, Some(_)) => Some(rod.wood[0]) == low,
                    (Form::Round, None) => place == slice * strips + lowest,
                };
                for (place, rod) in rods() {
                    if let Some(rod) = rod.filter(|rod| rests_on(place, rod)) {
                        rests.push((place, rod.wood[0]));
                    }
                }
            }
        }
        let mut wood = Self {
            cuts: cuts.into(),
            strips,
            lines: lines.into(),
            tall: whole
                .iter()
                .flatten()
                .map(|rod: &Rod| rod.rough)
                .reduce(around)
                .unwrap_or([0, 0]),
            firsts: Vec::new(),
            rods: Vec::new(),
            rests: rests.into(),
            pieces: 0,
            lips_go: false,
            whole: whole.into(),
        };
        let mut rods = Vec::new();
        for place in 0..wood.whole.len() {
            wood.firsts.push(rods.len());
            rods.extend(wood.whole[place]);
        }
        wood.firsts.push(rods.len());
        wood.rods = rods;
        wood
    }

    pub(crate) fn slices(&self) -> usize {
        self.cuts.len() - 1
    }

    pub(crate) fn strips(&self) -> usize {
        self.strips
    }

    pub(crate) fn slice(&self, slice: usize) -> [Um; 2] {
        [self.cuts[slice], self.cuts[slice + 1]]
    }

    /// From one end of the log to the other.
    pub(crate) fn length(&self) -> [Um; 2] {
        [self.cuts[0], self.cuts[self.cuts.len() - 1]]
    }

    /// Strips that share room with a stretch across.
    fn strips_in(&self, x: [Um; 2]) -> std::ops::Range<usize> {
        let from = self.lines.partition_point(|line| *line <= x[0]).saturating_sub(1);
        let to = self.lines.partition_point(|line| *line < x[1]).min(self.strips);
        from..to.max(from)
    }

    /// The stretch across of a strip.
    pub(crate) fn across(&self, strip: usize) -> [Um; 2] {
        [self.lines[strip], self.lines[strip + 1]]
    }

    /// The wood of the body at a place, from below.
    pub(crate) fn standing(&self, slice: usize, strip: usize) -> impl Iterator<Item = [Um; 2]> + '_ {
        let place = slice * self.strips + strip;
        let rods = self.rods[self.firsts[place]..self.firsts[place + 1]].iter();
        rods.filter(|rod| rod.owner == Owner::Body && rod.has_wood())
            .map(|rod| rod.wood)
    }

    /// Where the log rests: slice, strip, and how low its wood is there.
    pub(crate) fn rests(&self) -> impl Iterator<Item = (usize, usize, Um)> + '_ {
        let of = |(place, lowest): &(usize, Um)| (place / self.strips, place % self.strips, *lowest);
        self.rests.iter().map(of)
    }

    /// Every rod, with its slice and strip, that a box shares room with by strip and slice.
    pub(crate) fn within(&self, bx: Bx) -> impl Iterator<Item = (usize, usize, Rod)> + '_ {
        let strips = self.strips_in(bx.x);
        let slices = (0..self.slices()).filter(move |slice| shared(self.slice(*slice), bx.z) > 0);
        slices.flat_map(move |slice| {
            strips.clone().flat_map(move |strip| {
                let place = slice * self.strips + strip;
                let rods = &self.rods[self.firsts[place]..self.firsts[place + 1]];
                rods.iter().map(move |rod| (slice, strip, *rod))
            })
        })
    }

    /// Whether a box meets wood of some owners, or its bark.
    pub(crate) fn meets(&self, bx: Bx, hard: Hard, takes: impl Fn(Owner) -> bool) -> bool {
        if bx.x[0] >= bx.x[1] || bx.y[0] >= bx.y[1] || bx.z[0] >= bx.z[1] || shared(bx.y, self.tall) <= 0 {
            return false;
        }
        let hit = |rod: &Rod| {
            let held = match hard {
                Hard::Wood => rod.wood,
                Hard::SureBark => rod.sure,
                Hard::AnyBark => rod.rough,
            };
            takes(rod.owner) && shared(held, bx.y) > 0
        };
        self.within(bx).any(|(_, _, rod)| hit(&rod))
    }

    /// The box around the wood of some owners inside a box.
    pub(crate) fn extent(&self, bx: Bx, takes: impl Fn(Owner) -> bool) -> Option<Bx> {
        let mut found: Option<Bx> = None;
        for (slice, strip, rod) in self.within(bx) {
            if takes(rod.owner) && shared(rod.wood, bx.y) > 0 {
                let part = Bx {
                    z: meet(self.slice(slice), bx.z),
                    x: meet(self.across(strip), bx.x),
                    y: meet(rod.wood, bx.y),
                };
                found = Some(found.map_or(part, |found| found.join(part)));
            }
        }
        found
    }

    /// The rod of the uncut log at a place.
    pub(crate) fn uncut(&self, slice: usize, strip: Option<usize>) -> Option<Rod> {
        let strip = strip.filter(|strip| *strip < self.strips)?;
        self.whole[slice * self.strips + strip].filter(Rod::has_wood)
    }

    /// Takes a kerf out and answers the pieces that it freed, each with the box around it.
    pub(crate) fn carve(&mut self, kerf: Bx) -> Vec<(u32, Bx)> {
        let mut rods = Vec::with_capacity(self.rods.len() + 16);
        let mut firsts = Vec::with_capacity(self.firsts.len());
        for place in 0..self.whole.len() {
            firsts.push(rods.len());
            let (slice, strip) = (place / self.strips, place % self.strips);
            let middle = |[lo, hi]: [Um; 2]| (lo + hi) / 2;
            let inside = |[lo, hi]: [Um; 2], at: Um| lo < at && at < hi;
            let hit = inside(kerf.z, middle(self.slice(slice))) && inside(kerf.x, middle(self.across(strip)));
            for rod in &self.rods[self.firsts[place]..self.firsts[place + 1]] {
                if !hit || shared(rod.rough, kerf.y) <= 0 {
                    rods.push(*rod);
                    continue;
                }
                for part in [[-FAR, kerf.y[0]], [kerf.y[1], FAR]] {
                    let rough = meet(rod.rough, part);
                    if rough[0] < rough[1] {
                        let wood = meet(rod.wood, part);
                        let sure = meet(rod.sure, part);
                        rods.push(Rod {
                            rough,
                            sure,
                            wood,
                            ..*rod
                        });
                    }
                }
            }
        }
        firsts.push(rods.len());
        (self.rods, self.firsts) = (rods, firsts);
        let freed = self.separate();
        self.hand_out_bark();
        self.doubt_lips(kerf);
        freed
    }

    /// Bark that stands over a flat kerf beyond its rim, on wood that does not, in the kerf's own slices: it may go with
    /// what the kerf frees, or stay.
    fn doubt_lips(&mut self, kerf: Bx) {
        if kerf.y[1] - kerf.y[0] > kerf.x[1] - kerf.x[0] {
            return;
        }
        for place in 0..self.whole.len() {
            let (slice, strip) = (place / self.strips, place % self.strips);
            let apart = shared(self.slice(slice), kerf.z) <= 0 || self.across(strip)[0] < kerf.x[1];
            for rod in self.firsts[place]..self.firsts[place + 1] {
                let rod = &mut self.rods[rod];
                let wood = if rod.has_wood() { rod.wood[1] } else { -FAR };
                let top = wood.max(kerf.y[0]);
                if !apart && wood <= kerf.y[1] && rod.sure[1] > top {
                    rod.sure[1] = top;
                    if self.lips_go {
                        rod.rough[1] = rod.rough[1].min(top);
                    }
                }
            }
        }
    }

    /// Takes the free pieces away.
    pub(crate) fn unload(&mut self) {
        self.keep(|rod| rod.owner == Owner::Body);
    }

    fn keep(&mut self, stays: impl Fn(&Rod) -> bool) {
        let (mut rods, mut firsts) = (Vec::with_capacity(self.rods.len()), Vec::new());
        for place in 0..self.whole.len() {
            firsts.push(rods.len());
            let held = &self.rods[self.firsts[place]..self.firsts[place + 1]];
            rods.extend(held.iter().filter(|rod| stays(rod)).copied());
        }
        firsts.push(rods.len());
        (self.rods, self.firsts) = (rods, firsts);
    }

    /// Floods the body from where it rests; what is left over hangs together in pieces.
    fn separate(&mut self) -> Vec<(u32, Bx)> {
        let mut reached = vec![false; self.rods.len()];
        for (place, lowest) in self.rests.clone().iter() {
            let held = self.firsts[*place]..self.firsts[*place + 1];
            let under = held.into_iter().find(|rod| self.rods[*rod].has_wood());
            if let Some(rod) = under.filter(|rod| self.rods[*rod].wood[0] < lowest + TOUCH) {
                self.flood(*place, rod, &mut reached);
            }
        }
        let mut freed = Vec::new();
        let mut dust = Vec::new();
        for place in 0..self.whole.len() {
            for rod in self.firsts[place]..self.firsts[place + 1] {
                let loose = self.rods[rod].owner == Owner::Body && self.rods[rod].has_wood();
                if !loose || reached[rod] {
                    continue;
                }
                let part = self.flood(place, rod, &mut reached);
                let own = Owner::Piece(self.pieces);
                for rod in &part {
                    self.rods[*rod].owner = own;
                }
                let all = Bx {
                    z: [-FAR, FAR],
                    x: [-FAR, FAR],
                    y: [-FAR, FAR],
                };
                let bx = self.extent(all, |owner| owner == own).expect("a part has wood");
                let [wide, high] = [bx.x[1] - bx.x[0], bx.y[1] - bx.y[0]];
                if wide.min(high) < CRUMB && wide * high < SHEET {
                    dust.push(own);
                } else {
                    freed.push((self.pieces, bx));
                }
                self.pieces += 1;
            }
        }
        if !dust.is_empty() {
            self.keep(|rod| !dust.contains(&rod.owner));
        }
        freed
    }

    /// Marks and lists the body's rods of wood that hang together with one.
    fn flood(&self, place: usize, rod: usize, reached: &mut [bool]) -> Vec<usize> {
        let (mut open, mut found) = (vec![(place, rod)], Vec::new());
        while let Some((place, rod)) = open.pop() {
            if std::mem::replace(&mut reached[rod], true) {
                continue;
            }
            found.push(rod);
            let (slice, strip) = (place / self.strips, place % self.strips);
            let beside = [
                (strip > 0).then(|| place - 1),
                (strip + 1 < self.strips).then_some(place + 1),
                (slice > 0).then(|| place - self.strips),
                (slice + 1 < self.slices()).then_some(place + self.strips),
            ];
            for other in beside.into_iter().flatten() {
                let loose = |next: &usize| {
                    let touch = shared(self.rods[rod].wood, self.rods[*next].wood) > TOUCH;
                    touch && self.rods[*next].owner == Owner::Body && !reached[*next]
                };
                let held = self.firsts[other]..self.firsts[other + 1];
                open.extend(held.filter(loose).map(|next| (other, next)));
            }
        }
        found
    }
}
