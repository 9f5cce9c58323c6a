//! From what is wanted to rows of boards.

use bunkside_protocol::{Length, Position};
use heapless::Vec;

use super::covers::{Candidate, Covers, bears};
use super::grain::Side;
use super::group::{Few, OUT};
use super::heart::{FLOORS, Zone, Zoned};
use super::laid::{LAID_MAX, Laid, SoHigh, Wanted, laid_at, numbered};
use super::reach::{Reach, meet};
use super::relaxed::down;
use super::rooms::{Heights, LENGTHS_MAX};
use super::row::Full;
use super::stand::{Runs, standing};
use super::wane::Classes;

/// Most boards of one section that are told apart.
const SECTION_MAX: usize = 128;

use super::{Item, Row, Um};
use crate::limits::LEAST_WASTE;
use crate::stock::Slender;

/// The rows of an order, and the lengths that occur in it.
#[derive(Debug)]
pub(crate) struct Rows<'w> {
    pub(crate) lengths: Vec<Length, LENGTHS_MAX>,
    tiers: &'w mut [Tier],
    count: usize,
    items: &'w mut [Item],
}

/// A row, and which of the items are its own.
#[derive(Clone, Copy, Debug, Default)]
pub struct Tier {
    pub(super) advance: usize,
    pub(super) kerf: usize,
    pub(super) floors: (usize, usize),
    pub(super) begun: usize,
    pub(super) end: usize,
}

/// How the boards of a tier lie to core and pith, and within which stretches across of what stands; all where the log is whole.
struct Lying<'l> {
    zone: Zone,
    but: Side,
    runs: Option<&'l Runs>,
}

/// What an order is made from: step, kerf, the widest flat and the highest upright kerf, what is too thin between two flat and two
/// upright kerfs, the usable length.
#[derive(Clone, Debug)]
pub(crate) struct Terms {
    pub(crate) heights: Heights,
    pub(crate) kerf: Length,
    pub(crate) reach: [Length; 2],
    pub(crate) thin: [Slender; 2],
    pub(crate) usable: Length,
    /// Whether sizes are rounded down, for a bound.
    pub(crate) relaxed: bool,
    /// Whether the highest height is that of a face that is sawn.
    pub(crate) flat_top: bool,
    /// The least that may be between two layers unless there is nothing, in steps; 0 where anything may.
    pub(crate) apart: usize,
    /// Where rows do not lie.
    pub(crate) barred: Vec<Bar, BARRED_MAX>,
}

/// Most places that are barred to layers.
pub const BARRED_MAX: usize = 16;

/// Where layers of one height do not lie.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Barred {
    /// From their floors to their faces.
    pub advance: Length,
    /// From this floor to that one.
    pub floors: (Position, Position),
}

/// The same in steps.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Bar {
    advance: usize,
    floors: (usize, usize),
}

impl Bar {
    /// Of rows so high, between these floors.
    #[cfg(test)]
    pub(super) const fn of(advance: usize, floors: (usize, usize)) -> Self {
        Self { advance, floors }
    }

    /// Whether a row so high does not lie over a floor.
    pub(super) fn holds(&self, advance: usize, floor: usize) -> bool {
        self.advance == advance && (self.floors.0..=self.floors.1).contains(&floor)
    }
}

impl Terms {
    /// Takes in where layers do not lie.
    pub(super) fn bar(&mut self, barred: &Barred) -> Result<(), Full> {
        let step = self.heights.step.wide().max(1);
        let steps = |from: Position| usize::try_from((from - self.heights.lowest).wide() / step).unwrap_or(0);
        let bar = Bar {
            advance: usize::try_from(barred.advance.wide() / step).map_err(|_| Full)?,
            floors: (steps(barred.floors.0), steps(barred.floors.1)),
        };
        self.barred.push(bar).map_err(|_| Full)
    }

    /// Steps that a kerf and so much take, rounded up.
    pub(super) fn kerf_and(&self, thick: Length) -> usize {
        let step = self.heights.step.wide().max(1);
        usize::try_from(((self.kerf + thick).wide() + step - 1) / step).unwrap_or(1)
    }

    /// What a kerf and the thinnest piece that comes off flat take, in steps.
    pub(super) fn least_between(&self) -> usize {
        let ([skins, _], [flat, _]) = (self.thin, self.reach);
        self.kerf_and(LEAST_WASTE.max(skins.least(flat)))
    }
}

/// All lengths of an order, by rising length.
pub(crate) fn lengths(wanted: &[Wanted<'_>]) -> Result<Vec<Length, LENGTHS_MAX>, Full> {
    let mut all: Vec<Length, LENGTHS_MAX> = Vec::new();
    for length in wanted.iter().flat_map(|wanted| wanted.lengths) {
        if !all.contains(length) {
            all.push(*length).map_err(|_| Full)?;
        }
    }
    all.sort_unstable();
    Ok(all)
}

impl<'w> Rows<'w> {
    /// Of an order. `wider` tells whether the first of two reaches has at least the room of the second everywhere.
    pub(super) fn of(
        wanted: &[Wanted<'_>],
        terms: &Terms,
        (lengths, classes): (Vec<Length, LENGTHS_MAX>, &Classes<'_>),
        wider: &dyn Fn(&Reach, &Reach) -> bool,
        prices: (&[i64], Option<&[Few]>),
        (tiers, items): (&'w mut [Tier], &'w mut [Item]),
    ) -> Result<Self, Full> {
        let mut rows = Self {
            lengths,
            tiers,
            count: 0,
            items,
        };
        let mut made = 0;
        let [flat, upright] = terms.reach;
        let fits = |laid: &Laid<'_>| {
            let reached = laid.width + terms.kerf <= flat && laid.height + terms.kerf <= upright;
            reached && !Slender::board(terms.thin, [laid.width, laid.height])
        };
        let mut all: Vec<u16, LAID_MAX> = Vec::new();
        for (number, _) in numbered(wanted).filter(|(_, laid)| fits(laid)) {
            all.push(number).map_err(|_| Full)?;
        }
        // By height, those as high in their order.
        let height_of = |number: &u16| laid_at(wanted, *number).map_or(Length::ZERO, |laid| laid.height);
        all.sort_unstable_by_key(|number| (height_of(number), *number));
        let tiers = all
            .chunk_by(|a, b| height_of(a) == height_of(b))
            .flat_map(|numbers| {
                let height = numbers.first().map_or(Length::ZERO, height_of);
                let alike = SoHigh { wanted, numbers };
                let (kerf, advance) = steps(terms, height);
                let off: Vec<Zoned, 5> = [(FLOORS, Zone::Off)].into_iter().collect();
                let zones = classes
                    .cored
                    .as_ref()
                    .map_or(off, |core| core.zones((kerf, advance), terms.relaxed));
                let levels = if alike.laid().any(|laid| laid.sides().contains(&Side::Over)) {
                    classes.levels(&terms.heights, (kerf, advance))
                } else {
                    [Some((FLOORS, Side::Any)), None]
                };
                zones.into_iter().flat_map(move |(floors, zone)| {
                    let meet = move |((from, to), but)| {
                        let floors = (floors.0.max(from), floors.1.min(to));
                        (floors.0 <= floors.1).then_some((alike, (floors, zone), but))
                    };
                    levels.into_iter().flatten().filter_map(meet)
                })
            });
        for (so_high, (floors, zone), but) in tiers {
            let height = so_high.laid().next().map_or(Length::ZERO, |laid| laid.height);
            let stand = classes.stand.as_ref();
            let (kerf, advance) = steps(terms, height);
            let stood = stand.map(|stand| stand.zones(terms.heights, (kerf, advance), terms.relaxed));
            let whole = stand.is_none().then_some((FLOORS, None));
            let stood = stood
                .into_iter()
                .flatten()
                .map(|(floors, runs)| (floors, Some(runs)));
            for ((from, to), runs) in stood.chain(whole) {
                let floors = (floors.0.max(from), floors.1.min(to));
                if floors.0 > floors.1 {
                    continue;
                }
                let begun = made;
                let lies = Lying {
                    zone,
                    but,
                    runs: runs.as_ref(),
                };
                made = rows.tier((terms, classes), so_high, &lies, wider, prices, made)?;
                *rows.tiers.get_mut(rows.count).ok_or(Full)? = Tier {
                    advance,
                    kerf,
                    floors,
                    begun,
                    end: made,
                };
                rows.count += 1;
            }
        }
        Ok(rows)
    }

    /// The items of boards that lie equally high.
    fn tier(
        &mut self,
        known: (&Terms, &Classes<'_>),
        so_high: SoHigh<'_>,
        lies: &Lying<'_>,
        wider: &dyn Fn(&Reach, &Reach) -> bool,
        prices: (&[i64], Option<&[Few]>),
        mut made: usize,
    ) -> Result<usize, Full> {
        for (number, laid) in so_high.laid().enumerate() {
            let mut before = so_high.laid().take(number);
            if before.any(|other| other.width == laid.width) {
                continue;
            }
            let alike = so_high.laid().filter(|other| other.width == laid.width);
            made = self.section(
                known,
                ([laid.height, laid.width], lies),
                alike,
                wider,
                prices,
                made,
            )?;
        }
        Ok(made)
    }

    /// The best boards of each length.
    fn candidates<'a>(
        &self,
        (terms, classes): (&Terms, &Classes<'_>),
        alike: &(impl Iterator<Item = Laid<'a>> + Clone),
        (less, limited): (&[i64], Option<&[Few]>),
    ) -> Result<Vec<Candidate, SECTION_MAX>, Full> {
        let mut boards: Vec<Candidate, SECTION_MAX> = Vec::new();
        let few = |product: u8| {
            let all = limited.unwrap_or(&[]);
            all.get(usize::from(product)).copied().unwrap_or_default()
        };
        let fits = self.lengths.iter().filter(|length| **length <= terms.usable);
        for (number, length) in (0_u16..).zip(fits) {
            let begun = boards.len();
            for laid in alike.clone() {
                let class = classes.class(&laid);
                let off = less.get(usize::from(laid.product)).copied().unwrap_or(0);
                for (own, (told, worth)) in (0..).zip(laid.wanted.lengths.iter().zip(laid.wanted.worth)) {
                    let paid = *worth - off;
                    if told != length || *worth <= 0 || off >= OUT || (paid <= 0 && limited.is_none()) {
                        continue;
                    }
                    let most = paid + few(laid.product).bonus;
                    let better = |other: &Candidate| {
                        other.paid >= most
                            && !few(other.board[0]).limited
                            && classes.bears(other.class, class)
                            && other.heart.bears(laid.wanted.heart)
                            && bears(other.sides, laid.sides())
                    };
                    if boards.get(begun..).unwrap_or(&[]).iter().any(better) {
                        continue;
                    }
                    if !few(laid.product).limited {
                        boards.retain(|other| {
                            other.length != number
                                || other.paid + few(other.board[0]).bonus > paid
                                || !classes.bears(class, other.class)
                                || !laid.wanted.heart.bears(other.heart)
                                || !bears(laid.sides(), other.sides)
                        });
                    }
                    let board = Candidate {
                        length: number,
                        paid,
                        board: [laid.product, own],
                        class,
                        heart: laid.wanted.heart,
                        sides: laid.sides(),
                    };
                    boards.push(board).map_err(|_| Full)?;
                }
            }
        }
        Ok(boards)
    }

    /// The items of boards of one section.
    fn section<'a>(
        &mut self,
        (terms, classes): (&Terms, &Classes<'_>),
        ([height, width], lies): ([Length; 2], &Lying<'_>),
        alike: impl Iterator<Item = Laid<'a>> + Clone,
        wider: &dyn Fn(&Reach, &Reach) -> bool,
        (less, limited): (&[i64], Option<&[Few]>),
        mut made: usize,
    ) -> Result<usize, Full> {
        let (boards, begun) = (self.candidates((terms, classes), &alike, (less, limited))?, made);
        let step = terms.heights.step.as_um();
        let advance = across(width + terms.kerf, terms);
        let item = |[near, far]: [Spot; 2], worth, boards| Item {
            width: width.as_um(),
            advance,
            reach: [near.0, far.0],
            within: meet(near.1, far.1),
            worth,
            boards,
        };
        let tall = tall(terms, height);
        let sooner = if terms.relaxed { step } else { 0 };
        let spots = |one: &Candidate, from_far: bool| {
            let heart = one.heart;
            let reaches = classes.on_sides(one.class, (one.length, from_far), (one.sides, lies.but));
            reaches.flat_map(move |reach| {
                let within = classes.within(lies.zone, heart, &reach, width.as_um());
                let within = within.into_iter().map(move |(from, to)| (from - sooner, to));
                within
                    .flat_map(move |within| standing(lies.runs, within, (sooner, width.as_um())))
                    .map(move |within| (reach, within))
            })
        };
        let covers = Covers { wider, limited };
        for one in &boards {
            for end in [false, true] {
                for spot in spots(one, end) {
                    let alone = item([spot; 2], one.paid, [Some(one.board), None]);
                    made = self.put(begun, made, alone, &covers)?;
                }
            }
            for other in &boards {
                if self.length(one.length) + self.length(other.length) > terms.usable {
                    continue;
                }
                for near in spots(one, false) {
                    for far in spots(other, true) {
                        let excluded = near.0.lines.exclude(&far.0.lines, (tall, width.as_um()));
                        if excluded || !overlap(near.1, far.1) {
                            continue;
                        }
                        let both = [Some(one.board), Some(other.board)];
                        let pair = item([near, far], one.paid + other.paid, both);
                        made = self.put(begun, made, pair, &covers)?;
                    }
                }
            }
        }
        Ok(made)
    }

    fn length(&self, number: u16) -> Length {
        self.lengths
            .get(usize::from(number))
            .copied()
            .unwrap_or(Length::ZERO)
    }

    /// Takes an item in, unless one of its section has as much room and is worth as much; those that it is as good as are left
    /// out.
    fn put(&mut self, begun: usize, made: usize, item: Item, covers: &Covers<'_>) -> Result<usize, Full> {
        let covers = |a: &Item, b: &Item| covers.covers(a, b);
        let alike = self.items.get(begun..made).ok_or(Full)?;
        if alike.iter().any(|other| covers(other, &item)) {
            return Ok(made);
        }
        let mut kept = begun;
        for number in begun..made {
            let other = *self.items.get(number).ok_or(Full)?;
            if !covers(&item, &other) {
                *self.items.get_mut(kept).ok_or(Full)? = other;
                kept += 1;
            }
        }
        *self.items.get_mut(kept).ok_or(Full)? = item;
        Ok(kept + 1)
    }

    /// Of tiers that are told, and their items.
    #[cfg(test)]
    pub(super) fn told(tiers: &'w mut [Tier], items: &'w mut [Item]) -> Self {
        Self {
            lengths: Vec::new(),
            count: tiers.len(),
            tiers,
            items,
        }
    }

    /// How many there are.
    pub(super) const fn len(&self) -> usize {
        self.count
    }

    /// One of them.
    pub(super) fn get(&self, number: usize) -> Option<Row<'_>> {
        let tier = self.tiers.get(..self.count)?.get(number)?;
        Some(Row {
            advance: tier.advance,
            kerf: tier.kerf,
            floors: tier.floors,
            items: self.items.get(tier.begun..tier.end)?,
        })
    }

    /// All of them.
    pub(super) fn iter(&self) -> impl Iterator<Item = Row<'_>> {
        (0..self.count).filter_map(|number| self.get(number))
    }
}

/// From the undersides of boards so high to their faces, in whole steps.
fn tall(terms: &Terms, height: Length) -> Um {
    let (kerf, up) = steps(terms, height);
    let steps = Um::try_from(up - kerf).unwrap_or(0);
    steps.saturating_mul(terms.heights.step.as_um())
}

/// Whether two stretches across share any.
const fn overlap(a: (Um, Um), b: (Um, Um)) -> bool {
    a.0 < b.1 && b.0 < a.1
}

/// From the floor of a layer so high to the undersides of its boards, rounded down, and to its faces, rounded up, in steps: a
/// board lies against the face of its layer, so that what the kerf and it are short of whole steps is below it. For a bound both
/// are rounded down.
fn steps(terms: &Terms, height: Length) -> (usize, usize) {
    if terms.relaxed {
        let of = |length| usize::try_from(down(length, terms)).unwrap_or(0);
        return (of(terms.kerf), of(height + terms.kerf));
    }
    let step = terms.heights.step.wide().max(1);
    let rounded = |length: Length| i64::from(up(length, terms.heights.step)) / step;
    let (advance, tall) = (rounded(height + terms.kerf), rounded(height));
    (
        usize::try_from(advance - tall).unwrap_or(0),
        usize::try_from(advance).unwrap_or(usize::MAX),
    )
}

/// From a corner to the next over such a length, rounded to the step: up, or for a bound down.
fn across(length: Length, terms: &Terms) -> Um {
    let step = terms.heights.step;
    if terms.relaxed {
        length.as_um() - length.as_um().rem_euclid(step.as_um().max(1))
    } else {
        up(length, step)
    }
}

/// A reach, and between which places a board may lie there.
type Spot = (Reach, (Um, Um));

/// A length, rounded up to the step.
fn up(length: Length, step: Length) -> Um {
    let step = step.wide().max(1);
    let over = length.wide().rem_euclid(step);
    let rounded = if over == 0 {
        length.wide()
    } else {
        length.wide() + step - over
    };
    Um::try_from(rounded).unwrap_or(Um::MAX / 8)
}
