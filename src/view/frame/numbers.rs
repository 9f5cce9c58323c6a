//! The numbers of pieces in a step's drawing: small where the piece stands, large where this step frees it or it lies loose.

use std::fmt::Write;

use bunkside_planner::stock::{Owner, Stock};

use super::super::ends::field;
use super::super::labels::{Box2, Room};
use super::super::parts::{owned, windows};
use super::super::places::Place;
use super::super::spots::{Field, Lettering, Spot};
use super::super::steps::{Step, lying};
use super::super::svg::WIDE;
use super::{Artist, CHUNK};

/// How the numbers of pieces are set: a drawing is printed in a third of a page.
pub(super) const LETTERING: Lettering = Lettering {
    largest: 96.0,
    smallest: 52.0,
    least: 24.0,
    beside: 66.0,
    of_height: 1.2,
};
/// Lines to more numbers than this cannot be followed.
const LINES_MAX: usize = 3;
/// Over this height stand figures and words.
pub(super) const UNDER_FIGURES: f64 = 112.0;

/// A piece in a section: its field, and the number that has room in it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Numbered {
    field: Field,
    inside: Option<Spot>,
}

/// The numbers that a step's drawing tells large.
#[derive(Clone, Debug, Default)]
pub(super) struct Told {
    spots: Vec<(u16, Spot)>,
}

impl Artist<'_, '_> {
    /// Every piece at a place, in their order; none where the section does not hold it.
    pub(super) fn numbered(&self, place: &Place) -> Vec<Option<Numbered>> {
        let parts = self.scene.parts.iter().map(|part| {
            let field = Field::of(&self.plane, part, place)?;
            let inside = Spot::inside(field, part.serial, LETTERING);
            Some(Numbered { field, inside })
        });
        parts.collect()
    }

    fn at(&self, at: usize, serial: u16) -> Option<Numbered> {
        let number = self.scene.parts.iter().position(|part| part.serial == serial)?;
        *self.numbers.get(at)?.get(number)?
    }

    /// The number of a piece that stands, where it has room in its field.
    pub(super) fn standing_number(&self, at: usize, serial: u16) -> String {
        let spot = self.at(at, serial).and_then(|piece| piece.inside);
        spot.map(|spot| spot.drawn(serial)).unwrap_or_default()
    }

    /// What the words of a stroke keep off among the numbers: those in their fields.
    pub(super) fn inside(&self, at: usize, stock: &Stock) -> Vec<Box2> {
        let loose = lying(stock);
        let parts = self.scene.parts.iter().map(|part| part.serial);
        parts
            .filter(|serial| *serial > stock.freed() || loose.contains(serial))
            .filter_map(|serial| Some(self.at(at, serial)?.inside?.covers(serial)))
            .collect()
    }

    /// Where the numbers stand of what this step frees and of what lies loose: large in their fields, else beside them as long as
    /// every line to one can be followed, else as large as their fields let them.
    pub(super) fn told(
        &self,
        (at, place): (usize, &Place),
        step: &Step,
        stock: &Stock,
        taken: Vec<Box2>,
    ) -> Told {
        let mut own = step.pieces.clone();
        own.extend(lying(stock));
        own.sort_unstable();
        own.dedup();
        let mut room = Room::new([[6.0, UNDER_FIGURES], [WIDE - 6.0, self.plane.y(0.0) - 10.0]]);
        room.taken = taken;
        for part in &self.scene.parts {
            let (serial, here) = (part.serial, self.at(at, part.serial));
            let Some(piece) = here.filter(|_| serial > stock.freed() || own.contains(&serial)) else {
                continue;
            };
            room.taken.push(piece.field.corners());
            let told = own.contains(&serial) && small(piece);
            if let Some(spot) = piece.inside.filter(|_| !told) {
                room.number(spot.covers(serial));
            }
        }
        let mut told = Told::default();
        let pieces = || {
            own.iter()
                .filter_map(|serial| Some((*serial, self.at(at, *serial)?)))
        };
        let few = pieces().filter(|(_, piece)| small(*piece)).count() <= LINES_MAX;
        for (serial, piece) in pieces() {
            let beside =
                |room: &mut Room| room.beside(&self.plane, place, piece.field, (serial, LETTERING.beside));
            let spot = match piece.inside {
                Some(inside) if !small(piece) => Some(inside),
                Some(inside) if few => beside(&mut room).or(Some(inside)),
                Some(inside) => Some(inside),
                None => beside(&mut room),
            };
            told.spots.extend(spot.map(|spot| (serial, spot)));
        }
        told
    }

    /// What the number of a piece covers that stands in its field.
    #[cfg(test)]
    pub(super) fn covered(&self, at: usize, serial: u16) -> Option<Box2> {
        Some(self.at(at, serial)?.inside?.covers(serial))
    }

    /// The numbers of the pieces that are still to come, a chunk at a time.
    pub(super) fn numbers(&self, body: &mut String, at: usize, freed: u16, told: &Told) {
        let last = u16::try_from(self.scene.parts.len()).unwrap_or(u16::MAX);
        let mut next = freed.saturating_add(1);
        while next <= last {
            let whole = (next - 1).is_multiple_of(CHUNK) && (next..next + CHUNK).all(|one| !told.moved(one));
            if whole {
                let _ = write!(body, r##"<use href="#c{at}-{}"/>"##, (next - 1) / CHUNK);
                next = next.saturating_add(CHUNK);
            } else {
                let letter = if told.moved(next) { 'f' } else { 'n' };
                let _ = write!(body, r##"<use href="#{letter}{at}-{next}"/>"##);
                next = next.saturating_add(1);
            }
        }
    }

    /// The pieces that lie free on the log, and the numbers of this step.
    pub(super) fn free(&self, place: &Place, stock: &Stock, told: &Told) -> String {
        let mut drawn = String::new();
        for piece in stock.pieces() {
            let cells = windows(&owned(stock, Owner::Piece(piece.id)), &place.wood);
            drawn.push_str(&field(&self.plane, &place.wood, &cells).element("free"));
        }
        let freed = stock.freed();
        let numbers = told
            .spots
            .iter()
            .filter(|(serial, _)| *serial <= freed || told.moved(*serial));
        drawn.extend(numbers.map(|(serial, spot)| spot.drawn(*serial)));
        drawn
    }
}

impl Told {
    /// What the numbers cover that are told here and not where the piece stands.
    #[cfg(test)]
    pub(super) fn covered(&self, freed: u16) -> impl Iterator<Item = (u16, Box2)> {
        let spots = self.spots.iter();
        let own = spots.filter(move |(serial, _)| *serial <= freed || self.moved(*serial));
        own.map(|(serial, spot)| (*serial, spot.covers(*serial)))
    }

    /// Whether the number of a piece stands elsewhere than while the piece stands.
    pub(super) fn moved(&self, serial: u16) -> bool {
        let mut spots = self.spots.iter();
        spots.any(|(own, spot)| *own == serial && spot.leader(serial).is_some())
    }
}

/// Whether the number in its field is small, or has no room there.
fn small(piece: Numbered) -> bool {
    piece.inside.is_none_or(|spot| spot.size < LETTERING.smallest)
}
