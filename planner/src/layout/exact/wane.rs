//! Boards of which corners may be missing.
//!
//! What may be missing is told on the face and on the edge, as it is measured on a sawn board. A section of the log holds such a
//! board where it is as wide at either face as the board less what may be missing there, and as wide as the board where each
//! edge begins to be whole. Each of these asks for wood at one height beside the underside, and at one as far below the face:
//! so that the rooms of such boards are read as those of whole ones are, but from other chords at the underside than at the face.
//!
//! Where wane may be along a part of the length only, the rest is whole from the one end of the board on, or from the other.

use bunkside_protocol::Length;
use heapless::Vec;

use super::Um;
use super::grain::{Lines, Pith, Side};
use super::heart::{Cored, EVERYWHERE, Heart, Zone};
use super::laid::{Laid, Wanted, laid};
use super::order::lengths;
use super::reach::Reach;
use super::relaxed::{join, widen};
use super::rooms::{Heights, LENGTHS_MAX, Log, stretch_rooms};
use super::row::Full;
use super::stand::Stand;
use crate::geometry::Interval;
use crate::limits::PRODUCTS_MAX;

/// How much of a board may be missing at its corners.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Wane {
    /// Of a face, at either side.
    pub face: Length,
    /// Of an edge, at either face; all of it where none is told.
    pub edge: Option<Length>,
    /// Along so much of the length, in thousandths, from one of its ends on, nothing may be missing.
    pub whole: u16,
}

impl Wane {
    /// Nothing is missing.
    pub const NONE: Self = Self {
        face: Length::ZERO,
        edge: Some(Length::ZERO),
        whole: 1_000,
    };

    /// Whether nothing may be missing anywhere.
    fn is_none(&self) -> bool {
        self.face <= Length::ZERO || self.edge == Some(Length::ZERO) || self.whole >= 1_000
    }
}

/// A part of the height at which an edge has to be whole is at least this high, so that rooms have one widest place.
const WHOLE: Length = Length::mm(2);

/// Boards that may lack as much, as they lie.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Class {
    /// At either side, at the underside and at the face; any amount where none is told.
    side: Option<Length>,
    /// At either side from the underside up and from the face down; any amount where none is told.
    up: Option<Length>,
    whole: u16,
    /// The lengths that occur, a bit each.
    lengths: u64,
    /// Their first stretch.
    first: u16,
}

impl Class {
    /// Of boards as they lie; none where they may lack nothing.
    fn of(laid: &Laid<'_>) -> Option<Self> {
        let Wane { face, edge, whole } = laid.wanted.wane;
        if laid.wanted.wane.is_none() {
            return None;
        }
        let half = (laid.height - WHOLE).half_floor().max(Length::ZERO);
        let up = |most: Length| most.min(half);
        let (side, up) = if laid.on_edge {
            (edge, Some(up(face)))
        } else {
            (Some(face), edge.map(up))
        };
        Some(Self {
            side,
            up,
            whole,
            lengths: 0,
            first: 0,
        })
    }

    fn is_as(&self, other: &Self) -> bool {
        (self.side, self.up, self.whole) == (other.side, other.up, other.whole)
    }

    /// Whether whatever is a board of another class is one of this.
    fn bears(&self, other: &Self) -> bool {
        let more = |mine: Option<Length>, other: Option<Length>| match (mine, other) {
            (None, _) => true,
            (Some(_), None) => false,
            (Some(mine), Some(other)) => mine >= other,
        };
        more(self.side, other.side) && more(self.up, other.up) && self.whole <= other.whole
    }

    /// In how many ways what is whole of a board may lie.
    const fn parts(&self) -> u16 {
        if self.whole == 0 { 1 } else { 2 }
    }

    /// How many stretches a length takes: from either end, each part, at the underside and at the face.
    const fn each(&self) -> u16 {
        2 * self.parts() * 2
    }

    fn stretches(&self) -> Result<u16, Full> {
        let count = u16::try_from(self.lengths.count_ones()).map_err(|_| Full)?;
        count.checked_mul(self.each()).ok_or(Full)
    }
}

/// Most classes: every product lying and on edge, and some more for other sizes of it.
pub const CLASSES_MAX: usize = 3 * PRODUCTS_MAX;

/// The classes of an order, and where the stretches of each are.
#[derive(Debug)]
pub(crate) struct Classes<'w> {
    classes: &'w [Class],
    /// How many lengths there are in all.
    lengths: u16,
    stretches: u16,
    /// What boards keep clear of, or hold inside.
    pub(super) cored: Option<Cored>,
    /// What still stands, where not all does.
    pub(super) stand: Option<Stand>,
    /// Where the pith is along each length from the near end and then from the far one; none where nobody knows, or asks.
    pub(super) piths: Vec<Option<Pith>, { 2 * LENGTHS_MAX }>,
}

impl<'w> Classes<'w> {
    pub(crate) fn of(wanted: &[Wanted<'_>], lengths: &[Length], lent: &'w mut [Class]) -> Result<Self, Full> {
        let mut made = 0;
        for (laid, class) in laid(wanted).filter_map(|laid| Some((laid, Class::of(&laid)?))) {
            let known = lent.iter().take(made).position(|other| other.is_as(&class));
            let slot = lent.get_mut(known.unwrap_or(made)).ok_or(Full)?;
            if known.is_none() {
                *slot = class;
                made += 1;
            }
            for (number, length) in lengths.iter().enumerate() {
                if laid.wanted.lengths.contains(length) {
                    slot.lengths |= 1 << number;
                }
            }
        }
        let count = u16::try_from(lengths.len()).map_err(|_| Full)?;
        let mut stretches = 2 * count;
        let classes = lent.get_mut(..made).ok_or(Full)?;
        for class in &mut *classes {
            class.first = stretches;
            stretches = stretches.checked_add(class.stretches()?).ok_or(Full)?;
        }
        Ok(Self {
            classes,
            lengths: count,
            stretches,
            cored: None,
            stand: None,
            piths: Vec::new(),
        })
    }

    /// Finds where the pith is, as layers see it; for a bound, floors and corners may lie a little beside where they are told.
    pub(super) fn find_pith(
        &mut self,
        log: &Log<'_>,
        lengths: &[Length],
        (heights, span): (&Heights, Option<usize>),
    ) -> Result<(), Full> {
        for from_far in [false, true] {
            for length in lengths {
                let stretch = if from_far {
                    Interval::new(log.usable.hi - *length, log.usable.hi)
                } else {
                    Interval::new(log.usable.lo, log.usable.lo + *length)
                };
                let pith = Pith::along(log.shape, stretch.meet(log.usable));
                let pith = pith.map(|pith| pith.over_lowest(heights, span));
                self.piths.push(pith).map_err(|_| Full)?;
            }
        }
        Ok(())
    }

    /// The same reach on a side of the pith; none where nobody knows where that is.
    fn on_side(&self, reach: Reach, side: Side) -> Option<Reach> {
        if side == Side::Any {
            return Some(reach);
        }
        let from = if reach.from_far { self.lengths } else { 0 };
        let pith = (*self.piths.get(usize::from(from + reach.length))?)?;
        Some(Reach {
            side,
            lines: pith.lines(side),
            ..reach
        })
    }

    /// How many stretches there are in all.
    pub(crate) const fn stretches(&self) -> u16 {
        self.stretches
    }

    /// The class of boards as they lie; none where they may lack nothing.
    pub(super) fn class(&self, laid: &Laid<'_>) -> Option<u8> {
        let class = Class::of(laid)?;
        let at = self.classes.iter().position(|other| other.is_as(&class))?;
        u8::try_from(at).ok()
    }

    fn get(&self, class: Option<u8>) -> Option<&Class> {
        self.classes.get(usize::from(class?))
    }

    /// Where boards of a class and a length may lie from one end: each part that may be whole, on each side of the pith but one.
    pub(super) fn on_sides(
        &self,
        class: Option<u8>,
        end: (u16, bool),
        (sides, but): (&'static [Side], Side),
    ) -> impl Iterator<Item = Reach> {
        let reaches = self.reaches(class, end);
        let sides = reaches.flat_map(move |reach| sides.iter().map(move |side| (reach, *side)));
        sides
            .filter(move |(_, side)| *side != but || but == Side::Any)
            .filter_map(|(reach, side)| self.on_side(reach, side))
    }

    /// Between which places a board so wide may lie, as the core has it.
    pub(super) fn within(&self, zone: Zone, heart: Heart, reach: &Reach, width: Um) -> Vec<(Um, Um), 3> {
        let everywhere: Vec<(Um, Um), 3> = [EVERYWHERE].into_iter().collect();
        let cored = self.cored.as_ref();
        cored.map_or(everywhere, |core| core.within(zone, heart, reach, width))
    }

    /// Whether whatever is a board of the second class is one of the first.
    pub(super) fn bears(&self, class: Option<u8>, other: Option<u8>) -> bool {
        match (self.get(class), self.get(other)) {
            (_, None) => true,
            (None, Some(_)) => false,
            (Some(class), Some(other)) => class.bears(other),
        }
    }

    /// Where boards of a class and a length may lie from one end: each part that may be whole.
    pub(super) fn reaches(
        &self,
        class: Option<u8>,
        (number, from_far): (u16, bool),
    ) -> impl Iterator<Item = Reach> + use<> {
        let whole = if from_far { self.lengths + number } else { number };
        let (first, parts) = self.get(class).map_or((whole, 1), |told| {
            let before = told.lengths & !(u64::MAX << number);
            let at = u16::try_from(before.count_ones()).unwrap_or(0) * told.each();
            let end = if from_far { told.parts() * 2 } else { 0 };
            (told.first + at + end, told.parts())
        });
        let waned = class.is_some();
        (0..parts).map(move |part| {
            let under = first + if waned { 2 * part } else { 0 };
            Reach {
                under,
                over: under + u16::from(waned),
                length: number,
                class,
                part: u8::try_from(part).unwrap_or(0),
                from_far,
                side: Side::Any,
                lines: Lines::NONE,
            }
        })
    }

    /// Whether what lies in one reach may lie in another as well, where that is known without looking.
    pub(super) fn wider(&self, reach: &Reach, other: &Reach) -> bool {
        let anywhere = other.class.is_none() || self.get(reach.class).is_some_and(|class| class.whole == 0);
        // What is whole at the end of the log is whole there in a longer board too.
        let at_end = (reach.part == 0) != reach.from_far;
        let shorter = reach.length == other.length || (reach.length < other.length && (anywhere || at_end));
        reach.from_far == other.from_far
            && shorter
            && (anywhere || reach.part == other.part)
            && self.bears(reach.class, other.class)
    }

    /// Fills the rooms of all stretches but those of whole boards, which are there; for a bound they are widened over so many
    /// steps.
    pub(crate) fn fill(
        &self,
        log: &Log<'_>,
        lengths: &Vec<Length, LENGTHS_MAX>,
        (heights, span): (&Heights, Option<usize>),
        out: &mut [(Um, Um)],
    ) -> Result<(), Full> {
        let whole = usize::from(self.lengths) * 2 * heights.count;
        let (whole, rest) = out.split_at_mut_checked(whole).ok_or(Full)?;
        let mut rooms = rest.chunks_exact_mut(heights.count.max(1));
        for class in self.classes {
            let occurs = |number: &usize| class.lengths >> number & 1 == 1;
            for number in (0..lengths.len()).filter(occurs) {
                let length = lengths.get(number).copied().unwrap_or(Length::ZERO);
                for from_far in [false, true] {
                    let at = number + if from_far { lengths.len() } else { 0 };
                    let rough = whole.get(at * heights.count..).ok_or(Full)?;
                    for part in 0..class.parts() {
                        let (Some(under), Some(over)) = (rooms.next(), rooms.next()) else {
                            return Err(Full);
                        };
                        if length > log.usable.length() {
                            under.fill((Um::MAX / 4, Um::MIN / 4));
                        } else {
                            let stretch = class.whole_of(log.usable, length, (from_far, part == 1));
                            stretch_rooms(log, stretch, heights, under);
                            if let Some(span) = span {
                                widen(under, span, log.across);
                            }
                        }
                        over.copy_from_slice(under);
                        class.narrow(log.across, (heights, span.is_some()), rough, [under, over]);
                    }
                }
            }
        }
        Ok(())
    }
}

impl Class {
    /// Which part of a board has to be whole: from its near end on, or from its far one.
    fn whole_of(&self, usable: Interval, length: Length, (from_far, far_part): (bool, bool)) -> Interval {
        let board = if from_far {
            Interval::new(usable.hi - length, usable.hi)
        } else {
            Interval::new(usable.lo, usable.lo + length)
        };
        let whole = length.wide() * i64::from(self.whole);
        let whole = Length::um(whole.div_euclid(1_000) + i64::from(whole.rem_euclid(1_000) > 0));
        if far_part {
            Interval::new(board.hi - whole, board.hi)
        } else {
            Interval::new(board.lo, board.lo + whole)
        }
    }

    /// Leaves of what is whole what the rest of the length leaves, from the rooms of whole boards of that length.
    fn narrow(
        &self,
        across: Interval,
        (heights, relaxed): (&Heights, bool),
        rough: &[(Um, Um)],
        [under, over]: [&mut [(Um, Um)]; 2],
    ) {
        let none = (Um::MAX / 4, Um::MIN / 4);
        let step = heights.step.wide().max(1);
        let up = self.up.map(|up| usize::try_from(up.wide() / step).unwrap_or(0));
        // What is no whole steps is up to one more; where nothing may be missing, one less.
        let ragged = relaxed && self.up.is_some_and(|up| up.wide() % step != 0);
        let meet = |room: &mut (Um, Um), other: (Um, Um)| {
            *room = (room.0.max(other.0), room.1.min(other.1));
        };
        let at = |height: Option<usize>| {
            height
                .and_then(|height| rough.get(height))
                .copied()
                .unwrap_or(none)
        };
        for (height, (under, over)) in under.iter_mut().zip(over).enumerate().take(heights.count) {
            if let Some(side) = self.side {
                let (lo, hi) = at(Some(height));
                let side = side.as_um();
                let most = (across.lo.as_um(), across.hi.as_um());
                let wider = ((lo - side).max(most.0), (hi + side).min(most.1));
                meet(under, wider);
                meet(over, wider);
            }
            if let Some(up) = up {
                let higher = height.checked_add(up).filter(|height| *height < heights.count);
                let (mut upper, mut lower) = (at(higher), at(height.checked_sub(up)));
                if ragged {
                    upper = join(
                        upper,
                        at(higher
                            .map(|height| height + 1)
                            .filter(|height| *height < heights.count)),
                    );
                    lower = join(lower, at(height.checked_sub(up + 1)));
                }
                meet(under, upper);
                meet(over, lower);
            }
        }
    }
}

/// How many stretches of the log an order needs, each with a room for every height.
///
/// # Errors
///
/// [`Full`] where it has more lengths than can be told apart.
pub fn stretches(wanted: &[Wanted<'_>]) -> Result<usize, Full> {
    let lengths = lengths(wanted)?;
    let mut classes = [Class::default(); CLASSES_MAX];
    Ok(usize::from(
        Classes::of(wanted, &lengths, &mut classes)?.stretches(),
    ))
}

#[cfg(test)]
mod tests;
