//! What still stands of a partly sawn log, as boards meet it.
//!
//! A place across and up counts as standing where it does along all that boards may come from: a kerf that does not run through
//! counts as if it did. No board lies across a kerf: over the height of a board only what stands in every band that it meets counts,
//! and what is parted there is parted for it. So every floor has a few stretches across, and a board lies within one of them.

use bunkside_protocol::log::METAL_MAX;
use bunkside_protocol::{Length, Position};
use heapless::Vec;

use super::Um;
use super::heart::EVERYWHERE;
use super::rooms::Heights;
use super::row::Full;
use crate::geometry::{Block, Interval};
use crate::limits::BANDS_MAX;
use crate::machine::Apart;
use crate::replay::Setup;
use crate::stock::{Owner, Stock};

/// Most places across at which something begins or ends.
const EDGES_MAX: usize = 64;

/// Most stretches across at one height: every second one between two of those places.
const RUNS_MAX: usize = EDGES_MAX / 2;

/// Stretches across, from the entry side on.
pub(super) type Runs = Vec<(Um, Um), RUNS_MAX>;

/// Floors from one to another, the last included, and the stretches across there.
pub(super) type Standing = ((usize, usize), Runs);

/// A floor may lie a step above its own for a bound, and kerf and height are less than a step more than they are told.
const HIDDEN: usize = 2;

/// What stands, by bands of height and stretches across.
#[derive(Clone, Debug)]
pub(crate) struct Stand {
    /// Where each band begins, rising.
    floors: Vec<Position, BANDS_MAX>,
    /// Where stretches begin and end, from the lowest to the highest place there is.
    edges: Vec<Position, EDGES_MAX>,
    /// Of each band a bit for each stretch between two edges that stands.
    bands: Vec<u64, BANDS_MAX>,
    /// Metal that kerfs keep off, with what they keep: where they are not to lie, across and up.
    metal: Vec<[Interval; 2], METAL_MAX>,
    kerf: Length,
}

impl Stand {
    /// Of a stock along a part of the log.
    pub(super) fn of(stock: &Stock, along: Interval) -> Result<Self, Full> {
        let mut stand = Self {
            floors: Vec::from_slice(stock.floors()).map_err(|_| Full)?,
            edges: Vec::new(),
            bands: Vec::new(),
            metal: Vec::new(),
            kerf: Length::ZERO,
        };
        let whole = [Interval::ALL.lo, Interval::ALL.hi];
        let sides = stock.cells().map(|(cell, _)| [cell.across.lo, cell.across.hi]);
        for edge in core::iter::once(whole).chain(sides).flatten() {
            if let Err(at) = stand.edges.binary_search(&edge) {
                stand.edges.insert(at, edge).map_err(|_| Full)?;
            }
        }
        for band in 0..stand.floors.len() {
            let mut bits = 0;
            for (number, pair) in stand.edges.windows(2).enumerate() {
                if let [lo, hi] = pair
                    && stands(stock, band, Interval::new(*lo, *hi), along)
                {
                    bits |= 1 << number;
                }
            }
            stand.bands.push(bits).map_err(|_| Full)?;
        }
        Ok(stand)
    }

    /// The same, boards and their kerfs off the metal in a log.
    pub(super) fn off_metal(mut self, setup: &Setup<'_>) -> Self {
        let apart = Apart::metal(setup.mill);
        self.kerf = setup.mill.blade.kerf;
        for metal in setup.log.metal.iter().map(Block::from_record) {
            let metal = metal.apart(apart);
            // As many as a log has: there is room.
            let _ = self.metal.push([metal.across, metal.height]);
        }
        self
    }

    /// Leaves of stretches across what lies off the metal in a layer over a floor, each board with a kerf beside it; nothing where the
    /// flat kerf would meet some.
    fn leave_out_metal(&self, runs: &mut Runs, [floor, face]: [Position; 2]) {
        for [across, height] in &self.metal {
            if Interval::new(floor, floor + self.kerf).overlaps(*height) {
                runs.clear();
            }
            if !Interval::new(floor, face).overlaps(*height) {
                continue;
            }
            let (from, to) = ((across.lo - self.kerf).as_um(), (across.hi + self.kerf).as_um());
            let parts = runs
                .iter()
                .flat_map(|run| [(run.0, run.1.min(from)), (run.0.max(to), run.1)]);
            let mut left = Runs::new();
            for part in parts.filter(|part| part.0 < part.1) {
                // Beyond as many as are told apart no board lies.
                let _ = left.push(part);
            }
            *runs = left;
        }
    }

    /// The floors of a layer by what stands there: from its floor to its undersides and to its faces are so many steps. Floors where
    /// nothing does are left out.
    pub(super) fn zones(
        &self,
        heights: Heights,
        (kerf, advance): (usize, usize),
        relaxed: bool,
    ) -> impl Iterator<Item = Standing> {
        let kerf = kerf + if relaxed { HIDDEN } else { 0 };
        let mut next = Some(0);
        core::iter::from_fn(move || {
            let first = next?;
            let (runs, mut after) = self.over(&heights, (kerf, advance), first);
            // Where the same stands over more bands, it is one.
            while let Some(floor) = after {
                let (more, further) = self.over(&heights, (kerf, advance), floor);
                if more != runs {
                    break;
                }
                after = further;
            }
            next = after;
            Some(((first, after.map_or(usize::MAX, |after| after - 1)), runs))
        })
        .filter(|(_, runs)| !runs.is_empty())
    }

    /// What stands all the way from the undersides to the faces of a layer over a floor, and the next floor with other bands; none
    /// where there is no such.
    fn over(
        &self,
        heights: &Heights,
        (kerf, advance): (usize, usize),
        floor: usize,
    ) -> (Runs, Option<usize>) {
        let (under, face) = (
            heights.at(floor + kerf),
            heights.at(floor.saturating_add(advance)),
        );
        let lower = self.floors.partition_point(|own| *own <= under);
        let upper = self.floors.partition_point(|own| *own < face).max(lower);
        let bands = self.bands.get(lower.saturating_sub(1)..upper).unwrap_or(&[]);
        let runs = if under < face {
            self.runs(bands.iter().fold(u64::MAX, |all, band| all & band))
        } else {
            // So thin that a bound knows nothing of it.
            [EVERYWHERE].into_iter().collect()
        };
        let mut runs = runs;
        self.leave_out_metal(&mut runs, [heights.at(floor), face]);
        let step = heights.step.wide().max(1);
        // The first floor from which on a place so far up from it is reached, or passed.
        let comes = |place: Position, by: Length, passed: bool| {
            let over = (place - by - heights.lowest).wide();
            let exact = over.rem_euclid(step) == 0;
            over.div_euclid(step) + i64::from(passed || !exact)
        };
        let steps = |steps: usize| heights.step.times(i32::try_from(steps).unwrap_or(i32::MAX));
        let (to_under, to_face) = (steps(kerf), steps(advance));
        let bands = [(lower, to_under, false), (upper, to_face, true)];
        let bands = bands
            .into_iter()
            .filter_map(|(band, by, passed)| Some(comes(*self.floors.get(band)?, by, passed)));
        let metal = self.metal.iter().flat_map(|[_, height]| {
            [
                comes(height.lo, self.kerf, true),
                comes(height.lo, to_face, true),
                comes(height.hi, Length::ZERO, false),
            ]
        });
        let later = bands
            .chain(metal)
            .map(|at| usize::try_from(at).unwrap_or(0))
            .filter(|at| *at > floor);
        let next = later.min();
        (runs, next)
    }

    /// The stretches of which every part stands.
    fn runs(&self, bits: u64) -> Runs {
        let mut runs = Runs::new();
        let mut before = None;
        for (number, pair) in self.edges.windows(2).enumerate() {
            let ([lo, hi], true) = (pair, bits >> number & 1 == 1) else {
                continue;
            };
            let (from, to) = (lo.as_um().max(EVERYWHERE.0), hi.as_um().min(EVERYWHERE.1));
            let goes_on = before.replace(number + 1) == Some(number);
            match runs.last_mut() {
                Some(last) if goes_on => last.1 = to,
                _ => {
                    // No more than every second one: there is room.
                    let _ = runs.push((from, to));
                }
            }
        }
        runs
    }
}

/// The parts of the places where a board may lie, so wide, in which it also stands; a corner may be told a little sooner.
pub(super) fn standing(
    runs: Option<&Runs>,
    within: (Um, Um),
    (sooner, width): (Um, Um),
) -> impl Iterator<Item = (Um, Um)> {
    let everywhere: &[(Um, Um)] = &[EVERYWHERE];
    let runs = runs.map_or(everywhere, |runs| runs.as_slice());
    let parts = runs
        .iter()
        .map(move |(from, to)| (within.0.max(from - sooner), within.1.min(*to)));
    parts.filter(move |(from, to)| to - from >= width)
}

/// Whether a stretch of a band stands all along.
fn stands(stock: &Stock, band: usize, across: Interval, along: Interval) -> bool {
    let mut at = along.lo;
    while at < along.hi {
        let holds = |band_of: u8, cell: Interval, travel: Interval| {
            usize::from(band_of) == band
                && cell.lo <= across.lo
                && across.hi <= cell.hi
                && travel.lo <= at
                && at < travel.hi
        };
        let body = stock
            .cells()
            .map(|(cell, _)| cell)
            .filter(|cell| cell.owner == Owner::Body);
        match body
            .filter(|cell| holds(cell.band, cell.across, cell.travel))
            .map(|cell| cell.travel.hi)
            .max()
        {
            Some(to) => at = to,
            None => return false,
        }
    }
    true
}
