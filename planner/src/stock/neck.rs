//! Parts of what stands that hang by less wood than bears them.
//!
//! A part `w` wide and `h` high that is held at one of its edges over its whole length bends the wood that holds it by its own
//! weight at half its width: the edge stress is 3 ρ g w² h ÷ t² where that wood is as thick as `t` (a beam in bending, textbook
//! formula). So it asks for t = √(3 ρ g w² h ÷ σ). Whether it hangs by less is found by looking where a square with sides as long
//! as `t` finds room in the wood: what it cannot reach from where the log rests, hangs by less than `t`.

use bunkside_protocol::{Length, Position};
use heapless::Vec;

use super::{Owner, Stock};
use crate::geometry::{Interval, Section, Shape, root};
use crate::limits::BEARS;

/// 3 g ÷ σ, in 10⁻³ m/s² ÷ N/mm², as it goes into [`asked_by`].
const BENDS: i64 = 3 * 9_807 / BEARS;

/// Places for the square at one place along the rails: two for every band, and some more where several parts stand beside each
/// other, 40 of them at most.
const SPOTS_MAX: usize = 88;

/// Parts that are told apart, until they turn out to hang together.
const PARTS_MAX: usize = 48;

/// So often it is looked for what asks most, each time for less: from 1 m down to 3 mm by quarters, and as often in between.
const ROUNDS: u32 = 40;

/// Parts of wood at one height.
const RUNS_MAX: usize = 48;

/// A part that hangs by too little.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Neck {
    /// How thick the wood is by which it hangs, rounded up to half a millimetre.
    pub thick: Length,
    /// How thick that has to be.
    pub asks: Length,
}

/// How thick the wood has to be by which a part hangs that is so wide and so high, of a log with so many kilograms a cubic metre.
fn asked_by(wide: Length, high: Length, density: u16) -> Length {
    let [wide, high] = [wide, high].map(|side| side.wide() / 1_000);
    // mm³ × kg/m³ × m/s² ÷ N/mm² are 10⁻³ µm². No part of a log is so large that it asks for more than there are numbers for.
    let asks = [wide, high, i64::from(density), BENDS]
        .into_iter()
        .fold(wide, i64::saturating_mul);
    Length::um(root(asks / 1_000_000))
}

/// What is looked for.
#[derive(Clone, Copy)]
struct Asked<'a> {
    shape: &'a Shape,
    density: u16,
    /// The sides of the square.
    side: Length,
    /// Where along a stretch that is cut alike.
    places: &'static [Place],
}

/// A place along a stretch, in twelfths of it, and how large the square has to be there, in thousandths.
type Place = (i64, i64);

const MIDDLE: [Place; 1] = [(6, 1_000)];

/// What wood bears grows with its thickness squared: a part that hangs at one end, over a third or a sixth of its length, has to
/// hang there by the root of 3 or 6 times what it asks for all along.
const ALL_ALONG: [Place; 5] = [(1, 2_449), (2, 1_732), (6, 1_000), (10, 1_732), (11, 2_449)];

/// So many strips tell how much of its box a part fills.
const STRIPS: i64 = 8;

/// More of something than there is room for.
struct Full;

impl Stock {
    /// The part of the body that hangs by too little, if there is one, where that is more than `least`.
    ///
    /// Where there are more parts than can be told apart, it counts as one.
    #[must_use]
    pub(crate) fn neck(&self, shape: &Shape, density: u16, least: Length) -> Option<Neck> {
        let log = shape.bounds();
        let over = self.hangs_over(log.across);
        if over == Length::ZERO {
            return None;
        }
        let high = log.height.hi - self.intact_up_to().max(log.height.lo);
        // No part is wider than what hangs over, and what it hangs by.
        let wide = |neck| log.across.length().min(over + neck);
        let asked_by = |wide, high| asked_by(wide, high, density);
        let mut side = asked_by(wide(asked_by(log.across.length(), high)), high);
        for _ in 0..ROUNDS {
            if side < least {
                break;
            }
            let asked = Asked {
                shape,
                density,
                side,
                places: &MIDDLE,
            };
            let mut asks = self.hanging(&asked);
            if asks.is_some_and(|asks| asks >= side) {
                let all_along = Asked {
                    places: &ALL_ALONG,
                    ..asked
                };
                asks = self.hanging(&all_along);
                if let Some(asks) = asks.filter(|asks| *asks >= side) {
                    return Some(self.measured(all_along, asks));
                }
            }
            // Where it finds room everywhere, what is lower or narrower is left. What hangs may hang with more by less.
            let next = Length::um(side.wide() * 3 / 4);
            side = match asks {
                Some(asks) => asks.max(next),
                None => asked_by(wide(side), side).max(asked_by(side, high)).min(next),
            };
        }
        None
    }

    /// How much of the body, across, stands over no other of it all along: a part that does so in steps, at each of them.
    fn hangs_over(&self, log: Interval) -> Length {
        let mut over = Length::ZERO;
        for cell in self.cells.iter().filter(|cell| cell.owner == Owner::Body) {
            let Some(below) = cell.band.checked_sub(1) else {
                continue;
            };
            let across = cell.across.meet(log);
            over += across.length();
            for under in self
                .cells_of(below)
                .iter()
                .filter(|under| under.owner == Owner::Body)
            {
                let held = across.meet(under.across);
                if !held.is_empty() && under.travel.meet(cell.travel) == cell.travel {
                    over = over - held.length();
                }
            }
        }
        over
    }

    /// How thick the wood is by which that hangs.
    fn measured(&self, asked: Asked<'_>, asks: Length) -> Neck {
        let (mut holds, mut thick) = (Length::ZERO, asked.side);
        while thick - holds > Length::um(500) {
            let side = holds + (thick - holds).half_floor();
            // With another square it is measured a little otherwise.
            let hangs = |one: Length| one.wide() * 8 > asks.wide() * 7;
            if self.hanging(&Asked { side, ..asked }).is_some_and(hangs) {
                thick = side;
            } else {
                holds = side;
            }
        }
        Neck { thick, asks }
    }

    /// How much what asks most asks of all that a square does not reach from where the log rests; none where it reaches all.
    fn hanging(&self, asked: &Asked<'_>) -> Option<Length> {
        let mut parts = Parts::new();
        match self.reach(asked, &mut parts) {
            Ok(()) => parts.worst(|part| self.asks(asked, part)),
            Err(Full) => Some(asked.side),
        }
    }

    /// How much a part asks for: where that is too much, less by the root of how much less of its box it fills.
    fn asks(&self, asked: &Asked<'_>, part: &Part) -> Length {
        let (wide, high) = (part.across.length(), part.height.length());
        let asks = asked_by(wide, high, asked.density);
        let log = asked.shape.travel();
        let middle = asked.shape.wood_at(log.lo + log.length().half_floor());
        let Some(section) = middle.filter(|_| asks >= asked.side) else {
            return asks;
        };
        let filled = (0..STRIPS).map(|strip| {
            let at = part.height.lo + Length::um(high.wide() * (2 * strip + 1) / (2 * STRIPS));
            let chord = section
                .chord(at)
                .map_or(part.across, |chord| chord.meet(part.across));
            let runs = self.runs(section.travel, Interval::new(at, at + Length::um(1)));
            let held = runs
                .iter()
                .flatten()
                .map(|run| run.meet(chord).length().wide().max(0));
            held.sum::<i64>()
        });
        let filled = filled.sum::<i64>().min(wide.wide() * STRIPS);
        Length::um(root(
            asks.wide() * asks.wide() / STRIPS * filled / wide.wide().max(1),
        ))
    }

    /// Goes with the square through all of the body, one stretch along the rails after the other in which it is cut alike.
    fn reach(&self, asked: &Asked<'_>, parts: &mut Parts) -> Result<(), Full> {
        let log = asked.shape.travel();
        let mut before: Spots = Vec::new();
        let mut from = log.lo;
        while from < log.hi {
            let to = self.next_end(from).map_or(log.hi, |end| end.min(log.hi));
            let stretch = Interval::new(from, to);
            from = to;
            // A wall across the log is as thin as a skin.
            if stretch.length() < asked.side {
                continue;
            }
            for (twelfths, share) in asked.places {
                let place = stretch.lo + Length::um(stretch.length().wide() * *twelfths / 12);
                let side = Length::um(asked.side.wide() * share / 1_000);
                let Some(section) = asked.shape.wood_at(place) else {
                    continue;
                };
                let mut here: Spots = Vec::new();
                self.spots(side, &section, parts, &mut here)?;
                for rest in self.rests.iter().filter(|rest| stretch.contains(rest.travel)) {
                    let lowest = rest.lowest.max(section.height().lo) + asked.side;
                    let under = rest.underside.grown(side);
                    for spot in here
                        .iter()
                        .filter(|spot| spot.at.lo <= lowest && spot.across.overlaps(under))
                    {
                        parts.rest(spot.part);
                    }
                }
                for a in &before {
                    for b in here.iter().filter(|b| b.goes_on(a, asked.side)) {
                        parts.join(a.part, b.part);
                    }
                }
                before = here;
            }
        }
        Ok(())
    }

    /// Where the square finds room at one place along the rails, from below.
    fn spots(
        &self,
        side: Length,
        section: &Section,
        parts: &mut Parts,
        found: &mut Spots,
    ) -> Result<(), Full> {
        let log = section.height();
        let (mut from, highest_at) = (log.lo, log.hi - side);
        while from < highest_at {
            let at = Interval::new(from, self.next_step(from, side).min(highest_at));
            from = at.hi;
            let middle = at.lo + at.length().half_floor();
            // There the log is widest.
            let widest = (section.centre_height() - side.half_floor()).clamp(at.lo, at.hi);
            let chords = [section.chord(widest), section.chord(widest + side)];
            if let [Some(low), Some(high)] = chords {
                for run in self.runs(section.travel, Interval::new(middle, middle + side))? {
                    let across = run.meet(low).meet(high);
                    if across.length() < side {
                        continue;
                    }
                    let height = Interval::new(at.lo, at.hi + side);
                    if let Some(below) = found
                        .iter_mut()
                        .find(|below| below.at.hi == at.lo && below.across == across)
                    {
                        below.at.hi = at.hi;
                        parts.grow(below.part, across, height);
                        continue;
                    }
                    let mut spot = Spot { at, across, part: 0 };
                    let mut part = None;
                    for below in found
                        .iter()
                        .filter(|below| below.at.hi == at.lo && below.goes_on(&spot, side))
                    {
                        part = Some(part.map_or(below.part, |part| parts.join(part, below.part)));
                    }
                    spot.part = match part {
                        Some(part) => parts.grow(part, across, height),
                        None => parts.add(across, height)?,
                    };
                    found.push(spot).map_err(|_| Full)?;
                }
            }
        }
        Ok(())
    }

    /// The next place over one from which the square, with its lower side there, lies over other bands.
    fn next_step(&self, over: Position, side: Length) -> Position {
        let floors = self.floors.iter().copied();
        let steps = floors.flat_map(|floor| [floor - side, floor]);
        steps.filter(|step| *step > over).min().unwrap_or(Position::MAX)
    }

    /// What stands of the body, at one place along the rails, in every band of a stretch of height.
    fn runs(&self, travel: Position, height: Interval) -> Result<Runs, Full> {
        let mut all: Option<Runs> = None;
        let lowest = self
            .floors
            .partition_point(|floor| *floor <= height.lo)
            .saturating_sub(1);
        for (band, floor) in (0u8..).zip(&self.floors).skip(lowest) {
            if *floor >= height.hi {
                break;
            }
            let mut runs = Runs::new();
            for cell in self.cells_of(band) {
                if cell.owner != Owner::Body || !cell.is_along(travel) {
                    continue;
                }
                match runs.last_mut().filter(|last| last.hi == cell.across.lo) {
                    Some(last) => last.hi = cell.across.hi,
                    None => runs.push(cell.across).map_err(|_| Full)?,
                }
            }
            all = Some(match all {
                Some(before) => shared(&before, &runs)?,
                None => runs,
            });
        }
        Ok(all.unwrap_or_default())
    }
}

/// What two lists of stretches share, both from the entry side on.
fn shared(a: &Runs, b: &Runs) -> Result<Runs, Full> {
    let mut both = Runs::new();
    let mut others = b.iter().peekable();
    for one in a {
        while let Some(other) = others.peek() {
            let run = one.meet(**other);
            if !run.is_empty() {
                both.push(run).map_err(|_| Full)?;
            }
            if other.hi > one.hi {
                break;
            }
            others.next();
        }
    }
    Ok(both)
}

/// Where the square finds room.
#[derive(Clone, Copy)]
struct Spot {
    /// Where its lower side may lie.
    at: Interval,
    /// What stands there over all its height.
    across: Interval,
    part: u8,
}

type Spots = Vec<Spot, SPOTS_MAX>;
type Runs = Vec<Interval, RUNS_MAX>;

impl Spot {
    /// Whether the square goes from one to the other.
    fn goes_on(&self, from: &Self, side: Length) -> bool {
        self.at.lo <= from.at.hi && from.at.lo <= self.at.hi && self.across.meet(from.across).length() >= side
    }
}

/// What the square has reached, in parts.
struct Parts {
    parts: Vec<Part, PARTS_MAX>,
}

#[derive(Clone, Copy)]
struct Part {
    across: Interval,
    height: Interval,
    rests: bool,
    /// With which it hangs together: itself, or one before it.
    with: u8,
}

impl Parts {
    const fn new() -> Self {
        Self { parts: Vec::new() }
    }

    fn add(&mut self, across: Interval, height: Interval) -> Result<u8, Full> {
        let with = u8::try_from(self.parts.len()).map_err(|_| Full)?;
        let part = Part {
            across,
            height,
            rests: false,
            with,
        };
        self.parts.push(part).map_err(|_| Full)?;
        Ok(with)
    }

    fn root(&self, part: u8) -> u8 {
        let mut at = part;
        while let Some(one) = self.parts.get(usize::from(at)).filter(|one| one.with < at) {
            at = one.with;
        }
        at
    }

    fn change(&mut self, part: u8, change: impl FnOnce(&mut Part)) -> u8 {
        let root = self.root(part);
        if let Some(part) = self.parts.get_mut(usize::from(root)) {
            change(part);
        }
        root
    }

    fn grow(&mut self, part: u8, across: Interval, height: Interval) -> u8 {
        self.change(part, |part| {
            part.across = part.across.join(across);
            part.height = part.height.join(height);
        })
    }

    fn rest(&mut self, part: u8) {
        self.change(part, |part| part.rests = true);
    }

    fn join(&mut self, a: u8, b: u8) -> u8 {
        let (a, b) = (self.root(a), self.root(b));
        let (low, high) = (a.min(b), a.max(b));
        if low < high
            && let Some(gone) = self.parts.get_mut(usize::from(high))
        {
            gone.with = low;
            let gone = *gone;
            self.change(low, |part| part.rests |= gone.rests);
            self.grow(low, gone.across, gone.height);
        }
        low
    }

    /// How much that asks which asks most of all that does not hang together with what rests; none where nothing rests, either.
    fn worst(&self, asks: impl Fn(&Part) -> Length) -> Option<Length> {
        let whole = || {
            (0u8..)
                .zip(&self.parts)
                .filter(|(number, part)| part.with == *number)
        };
        if !whole().any(|(_, part)| part.rests) {
            return None;
        }
        let hangs = whole().filter(|(_, part)| !part.rests);
        hangs.map(|(_, part)| asks(part)).max()
    }
}

#[cfg(test)]
mod tests;
