//! Layouts to begin with, where boards are counted.
//!
//! A search by what stacks may come to looks at the top of the log for long before it has one whole layout, and without a good one it
//! can leave little out. So few stacks are gone on with at first, layer by layer, those that look best: by what they may come to at the
//! prices, and by what is left of the wood and of the boards that are wanted (`outlook`). Of what comes of it some layers are taken out
//! and others looked for in their place, as long as that brings more.

use core::ops::Range;

use heapless::Vec;

use super::Row;
use super::counted::{Counts, Label};
use super::outlook::{By, Gap, kinds};
use super::row::{Full, Pattern};
use super::search::Search;
use super::tariff::{LayerBelow, Layers, TARIFFS};
use super::ways::Seek;
use crate::limits::PLAN_LAYERS_MAX;

/// How many stacks are gone on with.
const WIDTH: usize = 16;

/// How far apart floors are tried, in micrometres.
const FLOORS: usize = 5_000;

/// No more floors are tried for a row.
const FLOORS_MOST: usize = 40;

/// No more layers are taken out at a time.
const TAKEN_OUT: usize = 3;

/// How often all of a layout's layers are taken out.
const ROUNDS: usize = 4;

/// By what stacks are chosen for whole layouts, and for parts of them.
const BEGIN: [By; 4] = [By::Bound, By::Left, By::Share(60), By::Share(80)];

/// See [`BEGIN`].
const MEND: [By; 3] = [By::Bound, By::Left, By::Share(80)];

/// A stack with one more layer.
struct Next {
    rank: i64,
    above: usize,
    row: usize,
    floor: usize,
    base: i64,
    counts: Counts,
    pattern: Pattern,
}

/// Layers from the top down, and what all are worth.
struct Layout {
    worth: i64,
    layers: Layers,
}

/// Where layers are looked for, by what, and what the whole has to be worth more than.
#[derive(Clone, Copy)]
struct Aim {
    gap: Gap,
    by: By,
    least: i64,
}

impl Search<'_, '_, '_, '_> {
    /// Looks for layouts to begin with.
    pub(super) fn begin(&mut self) -> Result<(), Full> {
        let root = self.label(0)?;
        if self.lent.rises.len() < TARIFFS * self.reaches.heights() {
            return Ok(());
        }
        self.kinds = kinds(&self.known.0, self.counted.groups);
        let gap = Gap {
            top: self.reaches.heights() - 1,
            lowest: 0,
        };
        // Where layers are kept apart that is asked again and again, for whatever can be sawn.
        let apart = self.known.0.1.apart > 0;
        for by in BEGIN.into_iter().take(if apart { 2 } else { BEGIN.len() }) {
            if self.found.worth >= self.found.bound {
                break;
            }
            let aim = Aim {
                gap,
                by,
                least: i64::MIN / 4,
            };
            let mut layout = self.go_on(root, aim)?;
            if !apart {
                self.mend(&mut layout)?;
            }
            if layout.worth > self.found.worth {
                self.take_layers(&layout.layers)?;
            }
        }
        Ok(())
    }

    /// Takes layers out of a layout and looks for better ones in their place, until none are found.
    fn mend(&mut self, layout: &mut Layout) -> Result<(), Full> {
        for _ in 0..ROUNDS {
            let before = layout.worth;
            if before >= self.found.bound || self.compared > self.most.1 {
                break;
            }
            for size in 0..=TAKEN_OUT {
                let mut first = 0;
                while first + size <= layout.layers.len() {
                    self.mend_at(layout, first..first + size)?;
                    first += 1;
                }
            }
            if layout.worth == before {
                break;
            }
        }
        Ok(())
    }

    /// The same of layers one below the other.
    fn mend_at(&mut self, layout: &mut Layout, out: Range<usize>) -> Result<(), Full> {
        let layers = &layout.layers;
        let (before, after) = (layers.get(..out.start), layers.get(out.end..));
        let (before, after) = (before.unwrap_or(&[]), after.unwrap_or(&[]));
        let mut root = self.label(0)?;
        for (row, _, pattern) in before.iter().chain(after) {
            (root.base, root.counts) = self.with_boards((root.base, root.counts), *row, pattern)?;
        }
        let face = |(row, floor, _): &LayerBelow| Some(floor + self.rows.get(*row)?.advance);
        let gap = Gap {
            top: before.last().map_or(self.reaches.heights() - 1, |layer| layer.1),
            lowest: after.first().and_then(face).unwrap_or(0),
        };
        for by in MEND {
            let aim = Aim {
                gap,
                by,
                least: layout.worth,
            };
            let found = self.go_on(root, aim)?;
            if found.worth > layout.worth {
                let mut layers = Layers::new();
                let all = before.iter().chain(&found.layers).chain(after);
                // More layers than may be told are none.
                if all.cloned().all(|layer| layers.push(layer).is_ok()) {
                    *layout = Layout { layers, ..found };
                }
                return Ok(());
            }
        }
        Ok(())
    }

    /// Goes on with few below a stack, as far down as asked: the best one's layers below it, and what all are worth.
    fn go_on(&mut self, root: Label, aim: Aim) -> Result<Layout, Full> {
        // Behind the stacks that are kept, and forgotten again.
        let (first, mut boards) = (self.made, self.boards);
        let floor = u32::try_from(aim.gap.top).map_err(|_| Full)?;
        *self.lent.labels.get_mut(first).ok_or(Full)? = Label { floor, ..root };
        let mut made = first + 1;
        let mut best = (i64::MIN, first);
        let mut stacks: Vec<usize, WIDTH> = Vec::new();
        let _ = stacks.push(first);
        for _ in 0..PLAN_LAYERS_MAX {
            let mut all: Vec<Next, WIDTH> = Vec::new();
            for number in &stacks {
                let label = self.label(*number)?;
                for row in 0..self.rows.len() {
                    if self.compared > self.most.1 {
                        break;
                    }
                    self.next_in((*number, &label), row, aim, &mut all)?;
                }
            }
            stacks.clear();
            for next in &all {
                let count = next.pattern.len();
                let kept = self.lent.boards.get_mut(boards..boards + count).ok_or(Full)?;
                kept.copy_from_slice(&next.pattern);
                let worth = next.base + self.counted.gains(&next.counts);
                *self.lent.labels.get_mut(made).ok_or(Full)? = Label::of(
                    (next.above, next.row, next.floor),
                    (boards, count),
                    (next.base, worth, next.counts),
                )?;
                if worth > best.0 {
                    best = (worth, made);
                }
                let _ = stacks.push(made);
                boards += count;
                made += 1;
            }
            if stacks.is_empty() {
                break;
            }
        }
        Ok(Layout {
            worth: best.0,
            layers: self.layers_of(best.1, first)?,
        })
    }

    /// The best layer of a row below a stack, if it is among those that look best.
    fn next_in(
        &mut self,
        above: (usize, &Label),
        at: usize,
        aim: Aim,
        all: &mut Vec<Next, WIDTH>,
    ) -> Result<(), Full> {
        let room = usize::try_from(above.1.floor).map_err(|_| Full)?;
        let (Some(row), Some(crests)) = (self.rows.get(at), self.lent.crests.get(at).copied()) else {
            return Ok(());
        };
        let Some(close) = room.checked_sub(row.advance) else {
            return Ok(());
        };
        let step = usize::try_from(self.reaches.step).map_err(|_| Full)?;
        let between = (FLOORS / step.max(1)).max(1);
        // No more floors than so many.
        let between = between.max(close / FLOORS_MOST);
        let (span, lowest) = (self.span(room), aim.gap.lowest);
        // Where layers are kept apart, one lies close to the next, or so far from it.
        let apart = span.apart > 0;
        let near = |far: usize| far > 0 && far < span.apart;
        let barred = |floor: usize| {
            (span.under && near(close - floor))
                || (lowest > 0 && near(floor - lowest))
                || span.barred.iter().any(|bar| bar.holds(row.advance, floor))
        };
        let mut best: Option<Next> = None;
        let (mut next, mut before) = (Some(close.min(row.floors.1)), None);
        while let Some(floor) = next.filter(|floor| *floor >= lowest.max(row.floors.0)) {
            if !(apart && barred(floor))
                && let Some(layer) = self.layer(above, (at, &row), (floor, before), aim)?
                && best.as_ref().is_none_or(|best| layer.rank > best.rank)
            {
                best = Some(layer);
            }
            before = (!apart).then_some(floor);
            // Below a floor over which rooms only grow there is nothing that is not there as well.
            next = floor.checked_sub(between);
            next = next.filter(|_| apart || floor >= crests.grows_below);
        }
        if let Some(best) = best {
            rank_in(best, all);
        }
        Ok(())
    }

    /// The best layer over a floor, lifted as high as it has room up to the one above.
    fn layer(
        &mut self,
        (number, label): (usize, &Label),
        (at, row): (usize, &Row<'_>),
        (floor, above): (usize, Option<usize>),
        Aim { gap, by, least }: Aim,
    ) -> Result<Option<Next>, Full> {
        let need = least - label.base - self.below(self.rises, floor);
        self.fill((at, row), floor, &label.counts, (need, Seek::AtPrices))?;
        let mut best: Option<(i64, usize)> = None;
        for state in 1..self.states {
            let last = *self.lent.states.get(state).ok_or(Full)?;
            let rank = self.look(label.base + last.base, &last.counts, (floor, gap), by);
            if best.is_none_or(|(most, _)| rank > most) {
                best = Some((rank, state));
            }
        }
        let Some((rank, state)) = best else {
            return Ok(None);
        };
        let mut pattern = Pattern::new();
        self.pattern(state, &mut pattern)?;
        let last = *self.lent.states.get(state).ok_or(Full)?;
        let (base, counts) = (label.base + last.base, last.counts);
        let lifted = above.map_or(floor, |above| self.as_high(row, &pattern, floor, above - 1));
        let rank = if lifted > floor {
            self.look(base, &counts, (lifted, gap), by)
        } else {
            rank
        };
        Ok(Some(Next {
            rank,
            above: number,
            row: at,
            floor: lifted,
            base,
            counts,
            pattern,
        }))
    }
}

/// Takes a stack in among those that look best, unless there is one like it.
fn rank_in(next: Next, all: &mut Vec<Next, WIDTH>) {
    let alike =
        |other: &Next| other.floor == next.floor && other.base == next.base && other.counts == next.counts;
    if all.iter().any(alike) {
        return;
    }
    let place = all.partition_point(|other| other.rank >= next.rank);
    if all.is_full() {
        if place == all.len() {
            return;
        }
        all.pop();
    }
    let _ = all.insert(place, next);
}
