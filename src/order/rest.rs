//! The least that is still to come in a layer, from a state on.
//!
//! Strokes, swings and walks come from the table of [`Relaxed`]; where a layer has too many states for one, kerf by kerf.
//! Pieces to be taken away and the way across are added to both.

use bunkside_planner::machine::Pose;
use bunkside_protocol::{Angle, Position};

use super::guess::{Guess, count, seconds};
use super::level::bit;
use super::relaxed::{FAR, KNIFE, Relaxed, Stand, UPRIGHT, Worth, pass_of, stand};
use super::state::{Kerf, State, Wood};

impl Guess<'_> {
    /// Values the places at which the layer may end.
    pub(super) fn value(&mut self, worth: &Worth) {
        self.relaxed = Relaxed::new(self, worth);
        self.simple = worth.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    }

    /// The least that the strokes of an upright kerf take.
    pub(super) fn whole_edge(&self, edge: usize) -> f64 {
        let number = u8::try_from(edge).unwrap_or(u8::MAX);
        let mut least = f64::INFINITY;
        for of in self.counts(edge) {
            let passes = (1..=of).map(|pass| {
                let kerf = Kerf::Upright {
                    edge: number,
                    of,
                    pass,
                };
                self.either_way(&Wood::UNTOUCHED, kerf)
            });
            least = least.min(passes.sum());
        }
        least
    }

    /// Backwards from the rim that runs through.
    pub(super) fn whole_flat(&mut self) {
        let through = self.level.through();
        self.set_flat(through, 0.0);
        for from in (0..through).rev() {
            let mut least = f64::INFINITY;
            for to in from + 1..=through {
                let kerf = self.flat_kerf(to, 0);
                let wood = Wood {
                    rim: u8::try_from(from).unwrap_or(u8::MAX),
                    cut: self.level.all(),
                    ..Wood::UNTOUCHED
                };
                let rest = self.flat.get(to).copied().unwrap_or(f64::INFINITY);
                let frees = self.columns(to) > self.columns(from);
                let hold = if frees { self.walk } else { 0.0 };
                least = least.min(self.either_way(&wood, kerf) + hold + rest);
            }
            self.set_flat(from, least);
        }
    }

    fn set_flat(&mut self, rim: usize, value: f64) {
        if let Some(place) = self.flat.get_mut(rim) {
            *place = value;
        }
    }

    fn columns(&self, rim: usize) -> usize {
        self.level.rim(rim).map_or(0, |rim| rim.columns)
    }

    /// The least that is still to come in a layer, less what its end is worth.
    pub(super) fn rest(&self, state: &State) -> f64 {
        let wood = &state.wood;
        let (rim, cut) = (usize::from(wood.rim), wood.cut);
        let level = self.level;
        let pieces = self.unload * count(level.pieces_left(rim, cut));
        let across = state.pose.across;
        let strokes = match self.related(state) {
            Some(strokes) => strokes + self.way_across(wood, across) - self.stands(state),
            None => self.simply(state) - self.simple + self.gaps(wood, across),
        };
        strokes + pieces
    }

    /// What the table counts too much where the blade has been stopped since the last stroke: the next height is set then.
    fn stands(&self, state: &State) -> f64 {
        let wood = &state.wood;
        let begun = wood.cut != 0 || wood.rim != 0 || wood.part.is_some();
        if begun && !state.pose.spinning {
            self.crank
        } else {
            0.0
        }
    }

    /// The least that strokes, swings and walks take, by the table.
    fn related(&self, state: &State) -> Option<f64> {
        let relaxed = self.relaxed.as_ref()?;
        let wood = &state.wood;
        let rim = usize::from(wood.rim);
        let here = stand(&state.pose, self.carriage.near, self.level, wood);
        if let Some((edge, of, made)) = wood.part {
            let edge = usize::from(edge);
            let passes = self
                .ways(edge, here.knife)
                .iter()
                .find(|passes| passes.of == of)?;
            let ways = [false, true].map(|far| {
                let next = Stand {
                    far,
                    upright: true,
                    ..here
                };
                passes.left(made, here.far, far) + relaxed.get(wood.cut | bit(edge), rim, next)
            });
            let [near, far] = ways;
            return Some(near.min(far));
        }
        Some(relaxed.get(wood.cut, rim, here))
    }

    /// The least that strokes, swings and walks take, kerf by kerf.
    fn simply(&self, state: &State) -> f64 {
        let wood = &state.wood;
        let (rim, cut) = (usize::from(wood.rim), wood.cut);
        let level = self.level;
        let mut least = self.flat.get(rim).copied().unwrap_or(f64::INFINITY);
        for (edge, seconds) in self.upright.iter().enumerate() {
            if cut & bit(edge) == 0 {
                least += match wood.part {
                    Some((begun, of, made)) if usize::from(begun) == edge => (made + 1..=of)
                        .map(|pass| self.either_way(wood, pass_of(edge, of, pass)))
                        .sum(),
                    _ => *seconds,
                };
            }
        }
        least += self.swings(state.pose.angle, cut != level.all(), rim < level.through());
        let off = level.freed(rim, cut);
        let due = level.rim(rim).is_some_and(|rim| off < rim.columns);
        if self.level.lies_over(wood) || due {
            least + self.walk
        } else {
            least
        }
    }

    fn swings(&self, angle: Angle, upright: bool, flat: bool) -> f64 {
        let turned = match (angle, upright, flat) {
            (_, true, true) | (Angle::Flat, true, false) | (Angle::Upright, false, true) => true,
            (_, false, false) | (Angle::Flat, false, true) | (Angle::Upright, true, false) => false,
        };
        if turned {
            seconds(self.setup.mill.swing.time)
        } else {
            0.0
        }
    }

    /// The least that the whole layer takes from an end, an angle and a knife, by their bits, and a place across.
    fn whole(&self, from: usize, across: Position) -> f64 {
        let far = from & FAR != 0;
        let pose = Pose {
            travel: if far {
                self.carriage.far
            } else {
                self.carriage.near
            },
            angle: if from & UPRIGHT == 0 {
                Angle::Flat
            } else {
                Angle::Upright
            },
            knife: from & KNIFE != 0,
            ..Pose::parked(self.setup.mill)
        };
        self.rest(&State {
            wood: Wood::UNTOUCHED,
            pose: Pose { across, ..pose },
        })
    }

    /// From the least until the layer is begun to the least until it is done, by end, angle and knife; from these places
    /// across, and so many seconds down to the floor. A first shift may go with the descent. The places are kept for what follows.
    pub(super) fn chained(&mut self, before: &Worth, across: &[Position], descent: f64) -> Worth {
        let entry = self.entry_most();
        self.begins = across.iter().copied().min().unwrap_or(self.begins);
        let mut after = [f64::INFINITY; 8];
        for (to, least) in after.iter_mut().enumerate() {
            // The last stroke is flat.
            if to & UPRIGHT != 0 || (to & KNIFE != 0 && self.setup.mill.knife.is_none()) {
                continue;
            }
            let mut only = [f64::NEG_INFINITY; 8];
            if let Some(place) = only.get_mut(to) {
                *place = 0.0;
            }
            self.value(&only);
            for (from, so_far) in before.iter().enumerate() {
                for across in across.iter().filter(|_| so_far.is_finite()) {
                    let whole = self.whole(from, *across).max(self.whole(from, entry) + descent);
                    *least = least.min(so_far + whole);
                }
            }
        }
        self.value(&[0.0; 8]);
        after
    }
}
