//! Thin wood that a kerf leaves hanging.

use bunkside_protocol::{Angle, Length, Position};
use heapless::Vec;

use super::{Cell, Owner, Slender, Stock, Thin};
use crate::geometry::{Block, Interval, Section, Shape};
use crate::limits::BANDS_MAX;

/// What is looked for: beside which kerf, and what breaks off there.
#[derive(Clone, Copy)]
struct Beside {
    kerf: Block,
    slender: Slender,
    /// Nothing as thick as this breaks off there.
    most: Length,
}

impl Stock {
    /// The thinnest lath or skin of the body that stands beside a kerf, sawn on both its faces, and too thin for how far it
    /// reaches along the kerf's face at some place along the rails.
    #[must_use]
    pub(crate) fn thin_beside(
        &self,
        shape: &Shape,
        kerf: Block,
        angle: Angle,
        slender: Slender,
    ) -> Option<Thin> {
        let (log, axis): (Block, fn(Block) -> Interval) = match angle {
            Angle::Upright => (shape.bounds(), |block| block.height),
            Angle::Flat => (shape.bounds(), |block| block.across),
        };
        let beside = Beside {
            kerf,
            slender,
            most: slender.least(axis(log).meet(axis(kerf)).length()),
        };
        let sides = [true, false].map(|one| match angle {
            Angle::Upright => self.lath(shape, &beside, one),
            Angle::Flat => self.skin(shape, &beside, one),
        });
        sides.into_iter().flatten().min()
    }

    /// The same of a lath on one side of an upright kerf.
    fn lath(&self, shape: &Shape, beside: &Beside, entry: bool) -> Option<Thin> {
        let mut least: Option<Thin> = None;
        for cell in &self.cells {
            if cell.across.length() < beside.most && is_beside(cell, beside.kerf, entry) {
                shape.any_within(shared(cell, beside.kerf), false, |section| {
                    let thin = self.lath_at(section, beside, entry);
                    least = least.into_iter().chain(thin).min();
                    false
                });
            }
        }
        least
    }

    fn lath_at(&self, section: &Section, beside: &Beside, entry: bool) -> Option<Thin> {
        let touches = |(cell, _): &(&Cell, Interval)| {
            is_beside(cell, beside.kerf, entry) && cell.is_along(section.travel)
        };
        let mut least: Option<Thin> = None;
        // Bands are told from below: a lath ends where one of them holds none of it.
        let (mut run, mut above): (Vec<Thin, BANDS_MAX>, _) = (Vec::new(), None);
        for (cell, height) in self.cells().filter(touches) {
            let whole = self.whole(cell, section.travel, (entry, beside.most));
            let thick = whole.length();
            let held = section.height_in(whole, height.meet(beside.kerf.height));
            let Some(held) = held.filter(|_| thick < beside.most) else {
                continue;
            };
            if above != Some(cell.band) {
                run.clear();
            }
            above = cell.band.checked_add(1);
            // As many as there are bands: there is room.
            let _ = run.push(Thin {
                thick,
                reach: held.length(),
            });
            // From any band up to this one it is as thick as in the thickest.
            let (mut thick, mut reach) = (Length::ZERO, Length::ZERO);
            for part in run.iter().rev() {
                (thick, reach) = (thick.max(part.thick), reach + part.reach);
                let thin = Thin { thick, reach };
                if beside.slender.breaks(thin) {
                    least = least.into_iter().chain([thin]).min();
                }
            }
        }
        least
    }

    /// A cell at a kerf with all that joins it beyond, as far as it counts: the same from either face of a lath.
    fn whole(&self, cell: &Cell, place: Position, (entry, most): (bool, Length)) -> Interval {
        let mut whole = cell.across;
        while whole.length() < most {
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
        whole
    }

    /// The same of a skin over or under a flat kerf.
    fn skin(&self, shape: &Shape, beside: &Beside, over: bool) -> Option<Thin> {
        let kerf = beside.kerf;
        let face = if over { kerf.height.hi } else { kerf.height.lo };
        let at = self.floors.partition_point(|floor| *floor < face);
        let band = u8::try_from(if over { at } else { at.checked_sub(1)? }).ok()?;
        let own = self.band(band);
        let near = if over { own.lo } else { own.hi };
        if near != face || own.length() >= beside.most {
            return None;
        }
        let mut least: Option<Thin> = None;
        for cell in self.cells_of(band) {
            if cell.owner == Owner::Body && cell.across.overlaps(kerf.across) {
                shape.any_within(shared(cell, kerf), false, |section| {
                    let thin = self.skin_at(section, beside, (band, over));
                    least = least.into_iter().chain(thin).min();
                    false
                });
            }
        }
        least
    }

    /// The same in a section: what of a band lies along the kerf, in stretches without a gap.
    fn skin_at(&self, section: &Section, beside: &Beside, (band, over): (u8, bool)) -> Option<Thin> {
        let kerf = beside.kerf.across;
        let mut whole: Option<Interval> = None;
        for held in self.stands(band, section.travel) {
            whole = match whole {
                Some(run) if run.hi == held.lo => Some(run.join(held)),
                Some(run) => {
                    let thin = self.open_beyond(section, beside, (band, run.meet(kerf), over));
                    if thin.is_some() {
                        return thin;
                    }
                    Some(held)
                }
                None => Some(held),
            };
        }
        self.open_beyond(section, beside, (band, whole?.meet(kerf), over))
    }

    /// The wood between the kerf at one face of a band and the air beyond, where that is too thin for the width over which it
    /// is so.
    fn open_beyond(
        &self,
        section: &Section,
        beside: &Beside,
        (band, across, over): (u8, Interval, bool),
    ) -> Option<Thin> {
        let own = self.band(band);
        let mut next = band;
        loop {
            next = if over {
                next.checked_add(1)?
            } else {
                next.checked_sub(1)?
            };
            let beyond = self.band(next);
            // Up or down to there: the same from either face of a skin.
            let skin = if over {
                Interval::new(own.lo, beyond.lo)
            } else {
                Interval::new(beyond.hi, own.hi)
            };
            let thick = skin.length();
            if thick >= beside.most {
                return None;
            }
            let end = Interval::new(across.hi, across.hi);
            let mut from = across.lo;
            for held in self.stands(next, section.travel).chain([end]) {
                let gap = Interval::new(from, held.lo.min(across.hi));
                if let Some(wood) = section.across_in(gap, skin) {
                    let thin = Thin {
                        thick,
                        reach: wood.length(),
                    };
                    if beside.slender.breaks(thin) {
                        return Some(thin);
                    }
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
