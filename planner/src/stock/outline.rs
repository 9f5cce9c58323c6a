//! The box and the sides of a group of cells.

use bunkside_protocol::Position;

use super::query::{solid, wood_in};
use super::{Edge, Stock};
use crate::geometry::{Block, Interval, Section, Shape};
use crate::limits::{CELLS_MAX, CRUMB, FIN, SCRAP, SHRED};

const SQUARE_MILLIMETRE: i64 = 1_000_000;

/// What a piece looks like from outside.
#[derive(Clone, Copy)]
pub(super) struct Outline {
    pub(super) bounds: Block,
    pub(super) entry: Edge,
    pub(super) exit: Edge,
    pub(super) bark_edge: bool,
}

impl Outline {
    /// Whether it is too little to be a piece.
    pub(super) fn is_dust(&self) -> bool {
        let sides = [self.bounds.across, self.bounds.height].map(|side| side.length());
        let [least, most] = [sides[0].min(sides[1]), sides[0].max(sides[1])];
        least < CRUMB && least.wide() * most.wide() < SHRED
    }

    /// Whether it is too little to ask by what it hangs.
    pub(super) fn is_scrap(&self) -> bool {
        self.is_dust() || is_scrap(self.bounds)
    }
}

/// Whether a box is smaller than that of anything that counts as a part.
pub(crate) fn is_scrap(bounds: Block) -> bool {
    let [long, across, high] =
        [bounds.travel, bounds.across, bounds.height].map(|side| side.length().wide().max(0));
    // No side is longer than a log, 2 x 10^7: no two of them overflow.
    (across * high / SQUARE_MILLIMETRE) * long < SCRAP
}

/// What has been seen of one side at the samples so far.
#[derive(Clone, Copy, Default)]
struct Seen {
    natural: bool,
    sawn: bool,
}

impl Seen {
    fn add(&mut self, natural: bool) {
        self.natural |= natural;
        self.sawn |= !natural;
    }

    const fn edge(self) -> Edge {
        match (self.natural, self.sawn) {
            (true, true) => Edge::Part,
            (true, false) => Edge::Natural,
            (false, _) => Edge::Sawn,
        }
    }
}

impl Stock {
    /// The outline of the cells that are marked; none where they hold no wood.
    pub(super) fn outline(&self, shape: &Shape, owned: &[bool; CELLS_MAX]) -> Option<Outline> {
        let mut bounds: Option<Block> = None;
        let mut bark_edge = false;
        for ((cell, height), _) in self.cells().zip(owned).filter(|(_, owned)| **owned) {
            let held = cell.travel.meet(shape.travel());
            if let Some(part) = wood_in(shape, cell.across, height, held, solid) {
                bounds = Some(bounds.map_or(part, |whole| whole.join(part)));
            }
            bark_edge = bark_edge
                || shape.any_within(cell.travel, false, |section| {
                    section.across_in(cell.across, height).is_some()
                        && lacks_a_corner(section, cell.across, height)
                });
        }
        let bounds = bounds?;
        let (mut entry, mut exit) = (Seen::default(), Seen::default());
        shape.any_within(bounds.travel, false, |section| {
            let sides = self.outermost(section, owned, shape.left().across);
            if let [Some((_, entry_natural)), Some((_, exit_natural))] = sides {
                entry.add(entry_natural);
                exit.add(exit_natural);
            }
            false
        });
        Some(Outline {
            bounds,
            entry: entry.edge(),
            exit: exit.edge(),
            bark_edge,
        })
    }

    /// What lies furthest out at one sample, on the entry and on the exit side; `left` is what faces leave.
    fn outermost(&self, section: &Section, owned: &[bool; CELLS_MAX], left: Interval) -> [Option<Side>; 2] {
        let mut outermost: [Option<Side>; 2] = [None; 2];
        let cells = self.cells().zip(owned);
        for ((cell, height), _) in
            cells.filter(|((cell, _), owned)| **owned && cell.travel.contains(section.travel))
        {
            let Some(held) = section.across_in(cell.across, height) else {
                continue;
            };
            let sawn = cell.across.meet(left);
            let sides = [entry_side(held, sawn), exit_side(held, sawn)];
            for (most, side) in outermost.iter_mut().zip(sides) {
                // Of two that lie as far out, the later one.
                if most.is_none_or(|(out, _)| side.0 >= out) {
                    *most = Some(side);
                }
            }
        }
        outermost
    }
}

/// How far out the wood of a cell reaches on one side, and whether it ends there without a kerf or a face.
type Side = (i64, bool);

fn entry_side(wood: Interval, cell: Interval) -> Side {
    (-wood.lo.wide(), wood.lo > cell.lo + FIN)
}

fn exit_side(wood: Interval, cell: Interval) -> Side {
    (wood.hi.wide(), wood.hi < cell.hi - FIN)
}

/// Whether the log is too round for a window, as far as the section reaches.
fn lacks_a_corner(section: &Section, across: Interval, height: Interval) -> bool {
    let inside = |window: Interval, reach: Interval| {
        let held = window.meet(reach);
        let (lo, hi) = (held.lo + FIN, held.hi - FIN);
        if lo <= hi {
            Interval::new(lo, hi)
        } else {
            middle(held)
        }
    };
    !section.holds(inside(across, section.width()), inside(height, section.height()))
}

fn middle(held: Interval) -> Interval {
    let middle = Position::um((held.lo.wide() + held.hi.wide()) / 2);
    Interval::new(middle, middle)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// So long, wide and high, micrometres.
    fn part(long: i64, across: i64, high: i64) -> Outline {
        let [travel, across, height] =
            [long, across, high].map(|side| Interval::new(Position::ZERO, Position::um(side)));
        let bounds = Block {
            travel,
            across,
            height,
        };
        Outline {
            bounds,
            entry: Edge::Sawn,
            exit: Edge::Sawn,
            bark_edge: false,
        }
    }

    #[test]
    fn what_is_thinner_than_half_a_millimetre_and_no_sheet_is_dust() {
        let is_dust = |across, high| part(3_600_000, across, high).is_dust();
        assert!(is_dust(499, 40_000) && is_dust(40_000, 499));
        // From half a millimetre on it is a strip, from 20 mm² on a sheet.
        assert!(!is_dust(500, 15_000));
        assert!(is_dust(250, 79_999) && !is_dust(250, 80_000));
    }

    #[test]
    fn a_part_of_less_than_20_cubic_centimetres_is_scrap() {
        assert!(part(100_000, 10_000, 19_000).is_scrap());
        assert!(!part(100_000, 10_000, 20_000).is_scrap());
        // Dust is, however long.
        assert!(part(4_000_000, 400, 20_000).is_scrap());
    }
}
