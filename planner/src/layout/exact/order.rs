//! From what is wanted to rows of boards.

use bunkside_protocol::Length;
use heapless::Vec;

use super::covers::{Candidate, Covers, bears};
use super::grain::{Grain, Side};
use super::group::{Few, OUT};
use super::heart::{FLOORS, Heart, Zone, Zoned};
use super::reach::{Reach, meet};
use super::relaxed::down;
use super::rooms::{Heights, LENGTHS_MAX};
use super::row::Full;
use super::stack::ROWS_MAX;
use super::stand::{Runs, standing};
use super::wane::{Classes, Wane};

/// Most boards of one section that are told apart.
const SECTION_MAX: usize = 128;

use super::{Item, Row, Um};
use crate::limits::{PRODUCTS_MAX, STANDS_ALONE};
use crate::stock::Slender;

/// A board that may be sawn, green.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Wanted<'a> {
    /// Its thickness, wherever it lies.
    pub thickness: Length,
    /// Its width, wherever it lies.
    pub width: Length,
    /// None lies so high, if that is asked.
    pub without: Option<Length>,
    /// Its thickness and width where it lies flat sawn as a whole, and where it lies quarter sawn, if it need not be as large there.
    pub by_grain: [Option<[Length; 2]>; 2],
    /// Whether it may stand on edge, as high as it is wide.
    pub on_edge: bool,
    /// Its lengths; any order.
    pub lengths: &'a [Length],
    /// What one of each length is worth.
    pub worth: &'a [i64],
    /// What may be missing at its corners.
    pub wane: Wane,
    /// Whether it may lie across the core.
    pub heart: Heart,
}

impl Wanted<'_> {
    /// Whether it has another size where its rings lie so.
    pub(super) fn lies_by_grain(&self) -> bool {
        self.by_grain.iter().any(Option::is_some)
    }

    /// Its sizes, and how its rings lie where it has them.
    fn sizes(&self) -> impl Iterator<Item = (Grain, [Length; 2])> + Clone + use<> {
        let [flat, quarter] = self.by_grain;
        let sizes = [
            (Grain::Mixed, Some([self.thickness, self.width])),
            (Grain::Flat, flat),
            (Grain::Quarter, quarter),
        ];
        sizes.into_iter().filter_map(|(grain, size)| Some((grain, size?)))
    }
}

/// The rows of an order, and the lengths that occur in it.
#[derive(Debug)]
pub(crate) struct Rows<'w> {
    pub(crate) lengths: Vec<Length, LENGTHS_MAX>,
    heights: Vec<Tier, ROWS_MAX>,
    items: &'w mut [Item],
}

/// Rows of one height on floors that lie alike.
#[derive(Clone, Copy, Debug)]
struct Tier {
    height: Length,
    floors: (usize, usize),
    /// Its items.
    begun: usize,
    end: usize,
}

/// How the boards of a tier lie to core and pith, and within which stretches across of what stands; all where the log is whole.
struct Lying<'l> {
    zone: Zone,
    but: Side,
    runs: Option<&'l Runs>,
}

/// One way of a wanted board to lie.
#[derive(Clone, Copy)]
pub(super) struct Laid<'a> {
    pub(super) product: u8,
    pub(super) height: Length,
    pub(super) width: Length,
    pub(super) on_edge: bool,
    /// How its rings have to lie.
    pub(super) grain: Grain,
    pub(super) wanted: &'a Wanted<'a>,
}

impl Laid<'_> {
    /// On which sides of the pith it may lie, each as a whole.
    pub(super) const fn sides(&self) -> &'static [Side] {
        Side::of(self.grain, self.on_edge)
    }
}

pub(super) fn laid<'a>(wanted: &'a [Wanted<'a>]) -> impl Iterator<Item = Laid<'a>> + Clone {
    (0..).zip(wanted).flat_map(|(product, wanted)| {
        let turned = wanted.on_edge && wanted.thickness != wanted.width;
        let ways = wanted.sizes().flat_map(move |(grain, [thickness, width])| {
            let lying = Laid {
                product,
                height: thickness,
                width,
                on_edge: false,
                grain,
                wanted,
            };
            let edge = Laid {
                height: width,
                width: thickness,
                on_edge: true,
                ..lying
            };
            [Some(lying), turned.then_some(edge)].into_iter().flatten()
        });
        ways.filter(|laid| {
            laid.height <= laid.width.times(STANDS_ALONE) && laid.wanted.without != Some(laid.height)
        })
    })
}

/// Most ways of the boards of an order to lie: each lying and on edge, in each of its sizes.
const LAID_MAX: usize = 6 * PRODUCTS_MAX;

/// What an order is made from: step, kerf, the widest flat and the highest upright kerf, what is too thin between two flat and two
/// upright kerfs, the usable length.
#[derive(Clone, Copy, Debug)]
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
    pub(crate) fn of(
        wanted: &[Wanted<'_>],
        terms: &Terms,
        (lengths, classes): (Vec<Length, LENGTHS_MAX>, &Classes),
        wider: &dyn Fn(&Reach, &Reach) -> bool,
        prices: (&[i64], Option<&[Few]>),
        items: &'w mut [Item],
    ) -> Result<Self, Full> {
        let mut rows = Self {
            lengths,
            heights: Vec::new(),
            items,
        };
        let mut made = 0;
        let [flat, upright] = terms.reach;
        let fits = |laid: &Laid<'_>| {
            let reached = laid.width + terms.kerf <= flat && laid.height + terms.kerf <= upright;
            reached && !Slender::board(terms.thin, [laid.width, laid.height])
        };
        let mut all: Vec<(usize, Laid<'_>), LAID_MAX> = Vec::new();
        for one in laid(wanted).filter(fits).enumerate() {
            all.push(one).map_err(|_| Full)?;
        }
        // By height, those as high in their order.
        all.sort_unstable_by_key(|(number, laid)| (laid.height, *number));
        let tiers = all
            .chunk_by(|(_, a), (_, b)| a.height == b.height)
            .flat_map(|alike| {
                let height = alike.first().map_or(Length::ZERO, |(_, laid)| laid.height);
                let (kerf, advance) = steps(terms, height);
                let off: Vec<Zoned, 5> = [(FLOORS, Zone::Off)].into_iter().collect();
                let zones = classes
                    .cored
                    .as_ref()
                    .map_or(off, |core| core.zones((kerf, advance), terms.relaxed));
                let levels = if alike.iter().any(|(_, laid)| laid.sides().contains(&Side::Over)) {
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
            let height = so_high.first().map_or(Length::ZERO, |(_, laid)| laid.height);
            let stand = classes.stand.as_ref();
            let stood = stand.map(|stand| stand.zones(terms.heights, steps(terms, height), terms.relaxed));
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
                let tier = Tier {
                    height,
                    floors,
                    begun,
                    end: made,
                };
                rows.heights.push(tier).map_err(|_| Full)?;
            }
        }
        Ok(rows)
    }

    /// The items of boards that lie equally high.
    fn tier(
        &mut self,
        known: (&Terms, &Classes),
        so_high: &[(usize, Laid<'_>)],
        lies: &Lying<'_>,
        wider: &dyn Fn(&Reach, &Reach) -> bool,
        prices: (&[i64], Option<&[Few]>),
        mut made: usize,
    ) -> Result<usize, Full> {
        let mut widths: Vec<Length, ROWS_MAX> = Vec::new();
        for (_, laid) in so_high {
            if widths.contains(&laid.width) {
                continue;
            }
            widths.push(laid.width).map_err(|_| Full)?;
            let alike = so_high
                .iter()
                .map(|(_, other)| *other)
                .filter(|other| other.width == laid.width);
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
        (terms, classes): (&Terms, &Classes),
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
        (terms, classes): (&Terms, &Classes),
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

    /// The rows.
    pub(crate) fn rows(&self, terms: &Terms) -> Vec<Row<'_>, ROWS_MAX> {
        self.heights
            .iter()
            .map(|tier| {
                let (kerf, advance) = steps(terms, tier.height);
                Row {
                    advance,
                    kerf,
                    floors: tier.floors,
                    items: self.items.get(tier.begun..tier.end).unwrap_or(&[]),
                }
            })
            .collect()
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
