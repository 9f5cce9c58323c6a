//! What a box meets of the stock.

use bunkside_protocol::{Length, Position};

use super::{Owner, Stock};
use crate::geometry::{Block, Interval, Section, Shape};
use crate::limits::FIN;

/// Whose wood is asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pick {
    /// The body's.
    Body,
    /// That of every free piece.
    Pieces,
    /// All there is.
    Any,
}

/// Bark without wood.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Bark {
    /// The lesser of how wide and how high it is, at the thickest place.
    pub(crate) thick: Length,
    /// From where to where across it lies.
    pub(crate) across: Interval,
}

impl Pick {
    /// Whether an owner's wood is asked for.
    pub(crate) const fn takes(self, owner: Owner) -> bool {
        matches!(
            (self, owner),
            (Self::Any, _) | (Self::Body, Owner::Body) | (Self::Pieces, Owner::Piece(_))
        )
    }
}

impl Stock {
    /// The first wood that a box meets, if any: whose it is, and where along the rails. With `bark`, bark counts.
    #[must_use]
    pub fn touched(&self, shape: &Shape, block: Block, pick: Pick, bark: bool) -> Option<(Owner, Position)> {
        if !block.overlaps(shape.bounds()) {
            return None;
        }
        self.cells()
            .filter(|(cell, _)| pick.takes(cell.owner))
            .find_map(|(cell, band)| {
                let across = cell.across.meet(block.across);
                let height = band.meet(block.height);
                let travel = cell.travel.meet(block.travel);
                if across.is_empty() || height.is_empty() || travel.is_empty() {
                    return None;
                }
                let mut place = None;
                shape.any_within(travel, bark, |section| {
                    if section.surely_meets(across, height) || section.across_in(across, height).is_some() {
                        place = Some((cell.owner, section.travel));
                    }
                    place.is_some()
                });
                place
            })
    }

    /// The smallest box around the wood that a box meets, under bark; none where it meets none.
    ///
    /// Across and height are those of the worst sample; along the rails the wood's ends are found to within a
    /// fifth of a millimetre on a 3.6 m log (a thousandth of the gap between samples).
    #[must_use]
    pub fn met(&self, shape: &Shape, block: Block, pick: Pick) -> Option<Block> {
        let mut found: Option<Block> = None;
        for (cell, band) in self.cells().filter(|(cell, _)| pick.takes(cell.owner)) {
            let across = cell.across.meet(block.across);
            let height = band.meet(block.height);
            let travel = cell.travel.meet(block.travel).meet(shape.travel());
            if across.is_empty() || height.is_empty() || travel.is_empty() {
                continue;
            }
            if let Some(part) = wood_in(shape, across, height, travel, met) {
                found = Some(found.map_or(part, |whole| whole.join(part)));
            }
        }
        found
    }

    /// The bark in a box where nothing else of the body is; none where there is wood, or nothing.
    #[must_use]
    pub(crate) fn bark_alone(&self, shape: &Shape, block: Block) -> Option<Bark> {
        if self.touched(shape, block, Pick::Body, false).is_some() {
            return None;
        }
        let mut found: Option<Bark> = None;
        for (cell, band) in self.cells().filter(|(cell, _)| Pick::Body.takes(cell.owner)) {
            let across = cell.across.meet(block.across);
            let height = band.meet(block.height);
            shape.any_within(cell.travel.meet(block.travel), true, |section| {
                let held = section
                    .across_in(across, height)
                    .zip(section.height_in(across, height));
                if let Some((wide, high)) = held {
                    let thick = wide.length().min(high.length());
                    found = Some(found.map_or(Bark { thick, across: wide }, |bark| Bark {
                        thick: bark.thick.max(thick),
                        across: bark.across.join(wide),
                    }));
                }
                false
            });
        }
        found
    }

    /// The highest wood of the body; none where nothing stands.
    #[must_use]
    pub fn wood_top(&self, shape: &Shape) -> Option<Position> {
        let mut top: Option<Position> = None;
        for (cell, band) in self.cells().filter(|(cell, _)| cell.owner == Owner::Body) {
            shape.any_within(cell.travel, false, |section| {
                top = top.max(section.height_in(cell.across, band).map(|held| held.hi));
                false
            });
        }
        top
    }

    /// The highest place of all that stands or lies, bark included; none where nothing does.
    #[must_use]
    pub fn top(&self, shape: &Shape) -> Option<Position> {
        let mut top: Option<Position> = None;
        for (cell, band) in self.cells() {
            shape.any_within(cell.travel, true, |section| {
                let held = section.height_in(cell.across, band).map(|held| held.hi);
                top = top.max(held);
                false
            });
        }
        top
    }
}

/// What a section holds of a window, across and up, if it counts as wood.
pub(super) type Held = fn(&Section, Interval, Interval) -> Option<(Interval, Interval)>;

/// Wood that a blade meets: thicker than a fin one way at least.
fn met(section: &Section, across: Interval, height: Interval) -> Option<(Interval, Interval)> {
    let held = (
        section.across_in(across, height)?,
        section.height_in(across, height)?,
    );
    (held.0.length() > FIN || held.1.length() > FIN).then_some(held)
}

/// Wood that holds together: thicker than a fin both ways.
pub(super) fn solid(section: &Section, across: Interval, height: Interval) -> Option<(Interval, Interval)> {
    met(section, across, height).filter(|held| held.0.length() > FIN && held.1.length() > FIN)
}

/// The smallest box around the wood in a window over a stretch of the log.
pub(super) fn wood_in(
    shape: &Shape,
    across: Interval,
    height: Interval,
    travel: Interval,
    wood: Held,
) -> Option<Block> {
    let mut found: Option<Block> = None;
    // The section before, and whether it had wood.
    let mut before: Option<(&Section, bool)> = None;
    for section in shape.within(travel, false).sections() {
        // Where all of the window has been found already, that there is wood is all to know.
        if let (Some((_, true)), Some(whole)) = (before, &mut found)
            && whole.across == across
            && whole.height == height
            && section.surely_holds(across, height)
        {
            whole.travel.hi = whole.travel.hi.max(section.travel);
            before = Some((section, true));
            continue;
        }
        let held = wood(section, across, height);
        if let Some((held_across, held_up)) = held {
            let start = match (before, &found) {
                (Some((empty, _)), None) => border(shape, [section, empty], (across, height), wood),
                _ => section.travel,
            };
            let part = Block {
                travel: Interval::between(start, section.travel),
                across: held_across,
                height: held_up,
            };
            found = Some(found.map_or(part, |whole| whole.join(part)));
        } else if let (Some((last, true)), Some(whole)) = (before, &mut found) {
            whole.travel.hi = whole
                .travel
                .hi
                .max(border(shape, [last, section], (across, height), wood));
        }
        before = Some((section, held.is_some()));
    }
    found
}

/// Where wood ends between a section that has some and one that has none, by halving ten times, on the side of
/// more wood.
fn border(
    shape: &Shape,
    [some, none]: [&Section; 2],
    (across, height): (Interval, Interval),
    wood: Held,
) -> Position {
    let (mut some, mut none, left) = (*some, *none, shape.left());
    for _ in 0..10 {
        let middle = Position::um((some.travel.wide() + none.travel.wide()) / 2);
        if middle == some.travel || middle == none.travel {
            break;
        }
        let between = some.towards(&none, middle).left_by(left.across, left.height);
        if wood(&between, across, height).is_some() {
            some = between;
        } else {
            none = between;
        }
    }
    none.travel
}
