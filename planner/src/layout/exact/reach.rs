//! How far across a stretch of the log holds wood, at every height on the step.

use heapless::Vec;

use super::grain::{Lines, Side};
use super::{Item, Row, Um};

/// No wood at all.
const NONE: (Um, Um) = (Um::MAX / 4, Um::MIN / 4);

/// Chords are rounded: what holds at two heights holds between them but for so much.
const ROUNDED: Um = 2;

/// Which stretch of the log a board needs, and what of it has to be whole.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Reach {
    /// The stretch whose rooms count at the underside, and the one whose rooms count at the face: one and the same but for
    /// boards of which corners may be missing.
    pub(crate) under: u16,
    /// See [`Reach::under`].
    pub(crate) over: u16,
    /// Its length, by number.
    pub(crate) length: u16,
    /// What may be missing, if anything.
    pub(crate) class: Option<u8>,
    /// Which part has to be whole then: the near one, or the far one.
    pub(crate) part: u8,
    /// Whether it is measured from the far end.
    pub(crate) from_far: bool,
    /// On which side of the pith it lies.
    pub(crate) side: Side,
    /// Between which lines that is.
    pub(crate) lines: Lines,
}

impl Reach {
    /// Of a stretch of which nothing may be missing.
    #[cfg(test)]
    pub(crate) fn whole(stretch: u16) -> Self {
        Self {
            under: stretch,
            over: stretch,
            ..Self::default()
        }
    }
}

/// For each stretch of the log, between which places every section of it holds wood, height by height.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Reaches<'a> {
    chords: &'a [(Um, Um)],
    heights: usize,
    /// The step across.
    pub(super) step: Um,
    /// No room is wider.
    pub(super) widest: Um,
}

impl<'a> Reaches<'a> {
    /// From chords, stretch by stretch, each from the lowest height up; empty ones where there is no wood.
    pub(crate) fn new(chords: &'a mut [(Um, Um)], heights: usize, step: Um) -> Self {
        for stretch in chords.chunks_exact_mut(heights.max(1)) {
            slope(stretch);
        }
        let wood = chords.iter().filter(|room| room.0 < room.1);
        let none = (Um::MAX / 4, Um::MIN / 4);
        let (lo, hi) = wood.fold(none, |all, room| (all.0.min(room.0), all.1.max(room.1)));
        Self {
            chords,
            heights,
            step,
            widest: (hi - lo).max(0),
        }
    }

    /// How many heights there are.
    pub(super) const fn heights(&self) -> usize {
        self.heights
    }

    /// Whether a stretch has at least the room of another at every height.
    pub(super) fn covers(&self, reach: u16, other: u16) -> bool {
        let of = |reach: u16| {
            let from = usize::from(reach) * self.heights;
            self.chords.get(from..from + self.heights).unwrap_or(&[])
        };
        let mut pairs = of(reach).iter().zip(of(other));
        pairs.all(|(mine, other)| other.0 >= other.1 || (mine.0 <= other.0 && mine.1 >= other.1))
    }

    /// The room of a stretch at a height.
    fn chord(&self, stretch: u16, height: usize) -> (Um, Um) {
        let at = usize::from(stretch) * self.heights + height;
        self.chords.get(at).copied().unwrap_or(NONE)
    }

    /// How wide the log is at a height, where most of it is: about.
    pub(super) fn wide(&self, height: usize) -> Um {
        let room = self.chord(0, height);
        (room.1 - room.0).max(0)
    }

    /// What a stretch leaves of the undersides of a row's boards over a floor.
    fn under(&self, reach: Reach, row: &Row<'_>, floor: usize) -> (Um, Um) {
        let height = floor + row.kerf;
        meet(
            self.chord(reach.under, height),
            reach.lines.at_underside(self.up(height)),
        )
    }

    /// What it leaves of their faces.
    fn face(&self, reach: Reach, row: &Row<'_>, floor: usize) -> (Um, Um) {
        let height = floor + row.advance;
        meet(
            self.chord(reach.over, height),
            reach.lines.at_face(self.up(height)),
        )
    }

    /// How far up a height is.
    fn up(&self, height: usize) -> Um {
        Um::try_from(height)
            .unwrap_or(Um::MAX / 16)
            .saturating_mul(self.step)
    }

    /// The room of a stretch for boards of a row over a floor.
    fn room(&self, reach: Reach, row: &Row<'_>, floor: usize) -> (Um, Um) {
        meet(self.under(reach, row, floor), self.face(reach, row, floor))
    }

    /// The floor over which the room of a stretch no longer grows: on the entry side, or on the exit side.
    fn crest(&self, reach: Reach, row: &Row<'_>, floors: (usize, usize), exit: bool) -> usize {
        let grows = |floor: usize| {
            let under = self.under(reach, row, floor);
            let over = self.face(reach, row, floor);
            if exit { under.1 < over.1 } else { under.0 > over.0 }
        };
        let (mut low, mut high) = floors;
        while low < high {
            let middle = low.midpoint(high);
            if grows(middle) {
                low = middle + 1;
            } else {
                high = middle;
            }
        }
        low
    }
}

/// Where there is no wood the room is less than nothing, and the less the further wood is: so it grows all the way up to
/// where it is widest.
fn slope(stretch: &mut [(Um, Um)]) {
    let wood = |room: &(Um, Um)| room.0 < room.1;
    let first = stretch.iter().position(wood).unwrap_or(0);
    let last = stretch.iter().rposition(wood).unwrap_or(0);
    for (height, room) in stretch.iter_mut().enumerate() {
        let away = first.saturating_sub(height).max(height.saturating_sub(last));
        if !wood(room) {
            let away = Um::try_from(away).unwrap_or(Um::MAX / 8);
            *room = (NONE.0 + away, NONE.1 - away);
        }
    }
}

/// What two rooms share.
pub(super) fn meet(a: (Um, Um), b: (Um, Um)) -> (Um, Um) {
    (a.0.max(b.0), a.1.min(b.1))
}

/// Over which floors a room is asked for.
#[derive(Clone, Copy, Debug)]
pub(super) enum Over {
    /// One.
    One(usize),
    /// One where no room becomes less on the way up: what is there at the undersides counts.
    Growing(usize),
    /// One where no room becomes more on the way up: what is there at the faces counts.
    Shrinking(usize),
    /// What is there over both of two floors, and so over every one between them.
    Both(usize, usize),
    /// What is there over any of the floors between two.
    Any(usize, usize),
}

/// Where the rooms of a row's stretches are widest.
#[derive(Clone, Copy, Debug, Default)]
pub struct Crests {
    /// Over the floors below this one no room becomes less on the way up.
    pub(super) grows_below: usize,
    /// From this floor on no room becomes more.
    pub(super) shrinks_from: usize,
}

/// Rounding may shake a crest by a few steps.
const SHAKEN: usize = 8;

/// Most reaches that are kept in mind so that none is looked at twice.
const TOLD: usize = 64;

impl Crests {
    /// Of a row whose floors lie between two.
    pub(super) fn of(reaches: &Reaches<'_>, row: &Row<'_>, floors: (usize, usize)) -> Self {
        let mut crests = Self {
            grows_below: floors.1 + 1,
            shrinks_from: floors.0,
        };
        // Boards of a row share what they reach, whatever their widths.
        let mut told: Vec<Reach, TOLD> = Vec::new();
        for reach in row.items.iter().flat_map(|item| item.reach) {
            if told.contains(&reach) {
                continue;
            }
            // One that is not kept in mind is only looked at in vain.
            let _ = told.push(reach);
            for exit in [false, true] {
                let crest = reaches.crest(reach, row, floors, exit);
                crests.grows_below = crests.grows_below.min(crest + 1);
                crests.shrinks_from = crests.shrinks_from.max(crest);
            }
        }
        // Where the lowest floor lies over the crest already, as over a face underneath, there is none.
        crests.grows_below = crests.grows_below.saturating_sub(SHAKEN);
        crests.shrinks_from = (crests.shrinks_from + SHAKEN).max(crests.grows_below);
        crests
    }
}

impl Reaches<'_> {
    /// Where an item has room.
    pub(super) fn item(&self, row: &Row<'_>, item: &Item, over: Over) -> (Um, Um) {
        let [first, second] = item.reach;
        let room = meet(self.over(row, first, over), item.within);
        if first == second {
            room
        } else {
            meet(room, self.over(row, second, over))
        }
    }

    /// Within which no board of a row stands outside over any floor of some.
    pub(super) fn around(&self, row: &Row<'_>, over: Over) -> (Um, Um) {
        let rooms = row.items.iter().flat_map(|item| item.reach);
        let none = (Um::MAX / 4, Um::MIN / 4);
        rooms.fold(none, |all, reach| {
            let room = self.over(row, reach, over);
            (all.0.min(room.0), all.1.max(room.1))
        })
    }

    fn over(&self, row: &Row<'_>, reach: Reach, over: Over) -> (Um, Um) {
        match over {
            Over::One(floor) => self.room(reach, row, floor),
            Over::Growing(floor) => self.under(reach, row, floor),
            Over::Shrinking(floor) => self.face(reach, row, floor),
            Over::Both(low, high) => {
                let (lo, hi) = meet(self.room(reach, row, low), self.room(reach, row, high));
                (lo + ROUNDED, hi - ROUNDED)
            }
            Over::Any(low, high) => {
                let [left, right] = [false, true].map(|exit| {
                    let crest = self.crest(reach, row, (low, high), exit);
                    // Between two heights of the step the crest is at the one or the other.
                    let before = self.room(reach, row, crest.saturating_sub(1).max(low));
                    let (lo, hi) = self.room(reach, row, crest);
                    if exit { hi.max(before.1) } else { lo.min(before.0) }
                });
                (left - ROUNDED, right + ROUNDED)
            }
        }
    }
}
