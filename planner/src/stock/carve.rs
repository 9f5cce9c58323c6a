//! Taking a box out of the stock.

use bunkside_protocol::Position;

use super::query::solid;
use super::{Cell, NotJudged, Owner, Stock, sort_few};
use crate::geometry::{Block, Interval, Section, Shape};
use crate::limits::FIN;

/// What hears of boxes whose wood vanishes.
pub(super) type Lost<'a> = &'a mut dyn FnMut(Block);

impl Stock {
    /// Takes a kerf out of the wood and finds what it freed. The new pieces are the last `n` of
    /// [`Stock::pieces`], numbered from the entry side, where `n` is the answer.
    ///
    /// # Errors
    ///
    /// [`NotJudged`] where a capacity is exceeded; the stock is then of no further use. After [`NotJudged::Thread`] the kerf is cut,
    /// and nothing has been freed.
    pub fn carve(&mut self, shape: &Shape, kerf: Block) -> Result<usize, NotJudged> {
        self.carve_telling(shape, kerf, &mut |_| {})
    }

    /// The same; `lost` hears of what the body loses besides kerf and pieces: parts too thin to be either.
    pub(crate) fn carve_telling(
        &mut self,
        shape: &Shape,
        kerf: Block,
        lost: Lost<'_>,
    ) -> Result<usize, NotJudged> {
        if kerf.is_empty() {
            return Ok(0);
        }
        self.split_band(shape, kerf, kerf.height.lo)?;
        self.split_band(shape, kerf, kerf.height.hi)?;
        self.subtract(shape, kerf)?;
        self.refine(shape, lost)?;
        self.sort();
        let freed = self.separate(shape, lost)?;
        self.collapse();
        Ok(freed)
    }

    pub(super) fn sort(&mut self) {
        sort_few(&mut self.cells, Cell::key);
    }

    /// Makes a band start at `height`, if the kerf meets a cell of the band that now spans it. Where nothing but bark
    /// is on the other side of the height, the bark goes with the kerf and stays with the wood that the kerf leaves.
    fn split_band(&mut self, shape: &Shape, kerf: Block, height: Position) -> Result<(), NotJudged> {
        let above = self.floors.partition_point(|floor| *floor < height);
        if self.floors.get(above).is_some_and(|floor| *floor == height) || above == 0 {
            return Ok(());
        }
        let band = u8::try_from(above - 1).map_err(|_| NotJudged::TooManyBands)?;
        let span = self.band(band);
        let beyond = if height == kerf.height.lo {
            Interval::new(span.lo, height)
        } else {
            Interval::new(height, span.hi)
        };
        let wood = |section: &Section, across: Interval| {
            section.surely_meets(across, beyond) || section.across_in(across, beyond).is_some()
        };
        let met = |cell: &Cell| {
            cell.across.overlaps(kerf.across)
                && cell.travel.overlaps(kerf.travel)
                && shape.any_within(cell.travel, false, |section| wood(section, cell.across))
        };
        if !self.cells_of(band).iter().any(met) {
            return Ok(());
        }
        self.floors
            .insert(above, height)
            .map_err(|_| NotJudged::TooManyBands)?;
        let count = self.cells.len();
        for index in 0..count {
            let Some(cell) = self.cells.get_mut(index) else {
                break;
            };
            if cell.band > band {
                cell.band += 1;
            } else if cell.band == band {
                cell.settled = false;
                let upper = Cell {
                    band: band + 1,
                    ..*cell
                };
                self.cells.push(upper).map_err(|_| NotJudged::TooManyCells)?;
            }
        }
        self.sort();
        Ok(())
    }

    /// Replaces every cell of whose wood the kerf takes some by what is left of it: at most one part to either side
    /// and one beyond either end. Where it takes none the cell stays whole, or its sides would be taken for sawn.
    fn subtract(&mut self, shape: &Shape, kerf: Block) -> Result<(), NotJudged> {
        let mut index = 0;
        while let Some(cell) = self.cells.get(index).copied() {
            let cell = Cell {
                settled: false,
                ..cell
            };
            let across = cell.across.meet(kerf.across);
            let travel = cell.travel.meet(kerf.travel);
            let inside = self.band(cell.band).meet(kerf.height);
            let apart = across.is_empty() || travel.is_empty() || inside.is_empty();
            let takes = |section: &Section| {
                section.surely_meets(across, inside) || section.across_in(across, inside).is_some()
            };
            if apart || !shape.any_within(travel, false, takes) {
                index += 1;
                continue;
            }
            let parts = [
                Cell {
                    across: Interval::new(cell.across.lo, across.lo),
                    ..cell
                },
                Cell {
                    across: Interval::new(across.hi, cell.across.hi),
                    ..cell
                },
                Cell {
                    across,
                    travel: Interval::new(cell.travel.lo, travel.lo),
                    ..cell
                },
                Cell {
                    across,
                    travel: Interval::new(travel.hi, cell.travel.hi),
                    ..cell
                },
            ];
            self.cells.swap_remove(index);
            for part in parts {
                if !part.across.is_empty() && !part.travel.is_empty() {
                    // None of the parts meets the kerf: they are passed over when their turn comes.
                    self.cells.push(part).map_err(|_| NotJudged::TooManyCells)?;
                }
            }
        }
        Ok(())
    }

    /// Lets cells without wood vanish, and parts cells whose wood has gaps along the rails. A cell that has been
    /// looked at, and is as it was then, is passed over.
    fn refine(&mut self, shape: &Shape, lost: Lost<'_>) -> Result<(), NotJudged> {
        let mut index = 0;
        while let Some(cell) = self.cells.get(index).copied() {
            if cell.settled {
                index += 1;
                continue;
            }
            let height = self.band(cell.band);
            let mut runs = Runs {
                any: false,
                gap: None,
            };
            let (mut parted, mut thin) = (None, false);
            shape.any_within(cell.travel, false, |section| {
                let sure = section.surely_holds(cell.across, height);
                let held = if sure {
                    None
                } else {
                    section
                        .across_in(cell.across, height)
                        .and_then(|across| Some((across, section.height_in(cell.across, height)?)))
                };
                thin |= sure || held.is_some();
                let wood =
                    sure || held.is_some_and(|(across, up)| across.length() > FIN && up.length() > FIN);
                if let Some(gap) = runs.visit(section.travel, wood) {
                    parted = Some(gap);
                }
                parted.is_some()
            });
            if let Some(gap) = parted {
                // Keep the first run here; the rest is looked at again when its turn comes.
                let rest = Cell {
                    travel: Interval::new(gap, cell.travel.hi),
                    ..cell
                };
                self.cells.push(rest).map_err(|_| NotJudged::TooManyCells)?;
                if let Some(kept) = self.cells.get_mut(index) {
                    kept.travel.hi = gap;
                    kept.settled = true;
                }
                index += 1;
            } else if runs.any {
                if let Some(kept) = self.cells.get_mut(index) {
                    kept.settled = true;
                }
                index += 1;
            } else {
                if thin && cell.owner == Owner::Body {
                    lost(cell.block(height));
                }
                self.cells.swap_remove(index);
            }
        }
        Ok(())
    }

    /// Joins neighbouring bands that hold the same cells, so that finished layers take no room.
    pub(super) fn collapse(&mut self) {
        let mut band = 1;
        while usize::from(band) < self.floors.len() {
            if self.alike(band - 1, band) {
                self.cells.retain(|cell| cell.band != band);
                for cell in &mut self.cells {
                    // What has grown is looked at again.
                    cell.settled &= cell.band != band - 1;
                    if cell.band > band {
                        cell.band -= 1;
                    }
                }
                self.floors.remove(usize::from(band));
            } else {
                band += 1;
            }
        }
    }

    fn alike(&self, lower: u8, upper: u8) -> bool {
        let (lower, upper) = (self.cells_of(lower), self.cells_of(upper));
        lower.len() == upper.len()
            && lower
                .iter()
                .zip(upper)
                .all(|(a, b)| a.owner == b.owner && a.across == b.across && a.travel == b.travel)
    }
}

/// Whether a section holds more than a fin of wood in a window.
pub(super) fn holds_wood(section: &Section, across: Interval, height: Interval) -> bool {
    section.surely_holds(across, height) || solid(section, across, height).is_some()
}

/// Follows a cell along the log and tells where its wood is interrupted.
struct Runs {
    any: bool,
    gap: Option<Position>,
}

impl Runs {
    /// Takes one sample; answers the place in the gap as soon as wood begins again after one.
    fn visit(&mut self, travel: Position, wood: bool) -> Option<Position> {
        if wood {
            self.any = true;
            self.gap
        } else {
            if self.any && self.gap.is_none() {
                self.gap = Some(travel);
            }
            None
        }
    }
}
