//! Thin wood that a kerf leaves hanging.

use bunkside_protocol::{Angle, Length, Position};

use super::{Cell, Owner, Stock};
use crate::geometry::{Block, Interval, Section, Shape};
use crate::limits::{LIGAMENT, SHEET_WIDE};

impl Stock {
    /// How thick the thinnest lath or skin of the body is that stands beside a kerf, sawn on both its faces: thinner than
    /// [`LIGAMENT`], and reaching [`SHEET_WIDE`] or further along the kerf's face at some place along the rails.
    #[must_use]
    pub(crate) fn thin_beside(&self, shape: &Shape, kerf: Block, angle: Angle) -> Option<Length> {
        let sides = [true, false].map(|one| match angle {
            Angle::Upright => self.lath(shape, kerf, one),
            Angle::Flat => self.skin(shape, kerf, one),
        });
        sides.into_iter().flatten().min()
    }

    /// The same of a lath on one side of an upright kerf.
    fn lath(&self, shape: &Shape, kerf: Block, entry: bool) -> Option<Length> {
        let mut least: Option<Length> = None;
        for cell in &self.cells {
            if cell.across.length() < LIGAMENT && is_beside(cell, kerf, entry) {
                shape.any_within(shared(cell, kerf), false, |section| {
                    let thin = self.lath_at(section, kerf, entry);
                    least = least.into_iter().chain(thin).min();
                    false
                });
            }
        }
        least
    }

    fn lath_at(&self, section: &Section, kerf: Block, entry: bool) -> Option<Length> {
        let beside =
            |(cell, _): &(&Cell, Interval)| is_beside(cell, kerf, entry) && cell.is_along(section.travel);
        let mut least: Option<Length> = None;
        // Bands are told from below: a lath ends where one of them holds none of it.
        let (mut high, mut above, mut thinnest) = (Length::ZERO, None, LIGAMENT);
        for (cell, height) in self.cells().filter(beside) {
            let thick = self.thickness(cell, entry, section.travel);
            let held = section.height_in(cell.across, height.meet(kerf.height));
            let Some(held) = held.filter(|_| thick < LIGAMENT) else {
                continue;
            };
            if above != Some(cell.band) {
                (high, thinnest) = (Length::ZERO, LIGAMENT);
            }
            above = cell.band.checked_add(1);
            high += held.length();
            thinnest = thinnest.min(thick);
            if high >= SHEET_WIDE {
                least = Some(least.map_or(thinnest, |least| least.min(thinnest)));
            }
        }
        least
    }

    /// From a cell's face at a kerf through all that joins it there, as far as it counts.
    fn thickness(&self, cell: &Cell, entry: bool, place: Position) -> Length {
        let mut whole = cell.across;
        while whole.length() < LIGAMENT {
            let next = self.cells_of(cell.band).iter().find(|next| {
                let touches = if entry {
                    next.across.hi == whole.lo
                } else {
                    next.across.lo == whole.hi
                };
                touches && next.owner == Owner::Body && next.is_along(place)
            });
            let Some(next) = next else { break };
            whole = whole.join(next.across);
        }
        whole.length()
    }

    /// The same of a skin over or under a flat kerf.
    fn skin(&self, shape: &Shape, kerf: Block, over: bool) -> Option<Length> {
        let face = if over { kerf.height.hi } else { kerf.height.lo };
        let at = self.floors.partition_point(|floor| *floor < face);
        let band = u8::try_from(if over { at } else { at.checked_sub(1)? }).ok()?;
        let own = self.band(band);
        let near = if over { own.lo } else { own.hi };
        if near != face || own.length() >= LIGAMENT {
            return None;
        }
        let mut least: Option<Length> = None;
        for cell in self.cells_of(band) {
            if cell.owner == Owner::Body && cell.across.overlaps(kerf.across) {
                shape.any_within(shared(cell, kerf), false, |section| {
                    let thin = self.skin_at(section, (band, kerf.across), over);
                    least = least.into_iter().chain(thin).min();
                    false
                });
            }
        }
        least
    }

    /// The same in a section: what of a band lies along the kerf, in stretches without a gap.
    fn skin_at(&self, section: &Section, (band, kerf): (u8, Interval), over: bool) -> Option<Length> {
        let mut whole: Option<Interval> = None;
        for held in self.stands(band, section.travel) {
            whole = match whole {
                Some(run) if run.hi == held.lo => Some(run.join(held)),
                Some(run) => {
                    let thin = self.open_beyond(section, (band, run.meet(kerf)), over);
                    if thin.is_some() {
                        return thin;
                    }
                    Some(held)
                }
                None => Some(held),
            };
        }
        self.open_beyond(section, (band, whole?.meet(kerf)), over)
    }

    /// How much wood lies between the kerf at one face of a band and the air beyond, where that is less than counts, over a
    /// width that does.
    fn open_beyond(&self, section: &Section, (band, across): (u8, Interval), over: bool) -> Option<Length> {
        let own = self.band(band);
        let mut next = band;
        loop {
            next = if over {
                next.checked_add(1)?
            } else {
                next.checked_sub(1)?
            };
            let beyond = self.band(next);
            let thick = if over {
                beyond.lo - own.lo
            } else {
                own.hi - beyond.hi
            };
            if thick >= LIGAMENT {
                return None;
            }
            let end = Interval::new(across.hi, across.hi);
            let mut from = across.lo;
            for held in self.stands(next, section.travel).chain([end]) {
                let gap = Interval::new(from, held.lo.min(across.hi));
                let wood = section.across_in(gap, own);
                if wood.is_some_and(|wood| wood.length() >= SHEET_WIDE) {
                    return Some(thick);
                }
                from = from.max(held.hi);
            }
        }
    }

    /// Where the body stands in a band at a place along the rails, from the entry side.
    fn stands(&self, band: u8, place: Position) -> impl Iterator<Item = Interval> {
        let cells = self.cells_of(band).iter();
        cells
            .filter(move |cell| cell.owner == Owner::Body && cell.is_along(place))
            .map(|cell| cell.across)
    }
}

/// Whether a cell of the body touches an upright kerf on a side.
fn is_beside(cell: &Cell, kerf: Block, entry: bool) -> bool {
    let touches = if entry {
        cell.across.hi == kerf.across.lo
    } else {
        cell.across.lo == kerf.across.hi
    };
    touches && cell.owner == Owner::Body
}

/// The stretch that a cell and a kerf share along the rails, but for its very end, where the next cell may begin.
fn shared(cell: &Cell, kerf: Block) -> Interval {
    let shared = cell.travel.meet(kerf.travel);
    Interval::new(shared.lo, shared.hi - Length::um(1))
}
