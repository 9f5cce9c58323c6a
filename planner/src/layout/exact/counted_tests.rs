//! Limits, against looking at every floor, corner and number of boards.

use std::collections::BTreeMap;
use std::vec;
use std::vec::Vec;

use bunkside_protocol::{Length, LogRecord, Position};

use super::Open;
use super::best::{Ground, Solver};
use super::counted::{Found, counted};
use super::grain::Side;
use super::heart::{Core, EVERYWHERE, FLOORS, Heart};
use super::laid::{Laid, Wanted, laid};
use super::reach::{Over, Reach, Reaches};
use super::sheet::Sheet;
use super::small::Small;
use super::wane::{Classes, Wane};
use super::{Item, Row, Um};
use crate::geometry::Interval;
use crate::replay::Setup;
use crate::testing::{Dice, powered_mill, round_log, tapered_log};

pub(super) struct Product {
    pub(super) thickness: i64,
    pub(super) width: i64,
    pub(super) by_grain: [Option<[i64; 2]>; 2],
    pub(super) on_edge: bool,
    pub(super) wane: Wane,
    pub(super) heart: Heart,
    pub(super) lengths: Vec<Length>,
    pub(super) worth: Vec<i64>,
    pub(super) most: Option<u16>,
}

impl Product {
    pub(super) fn wanted(&self) -> Wanted<'_> {
        Wanted {
            without: None,
            thickness: Length::um(self.thickness * 1_000),
            width: Length::um(self.width * 1_000),
            by_grain: self
                .by_grain
                .map(|size| size.map(|size| size.map(|size| Length::um(size * 1_000)))),
            on_edge: self.on_edge,
            lengths: &self.lengths,
            worth: &self.worth,
            wane: self.wane,
            heart: self.heart,
        }
    }
}

pub(super) struct Order {
    pub(super) log: LogRecord,
    pub(super) products: Vec<Product>,
    pub(super) step: i64,
    pub(super) core: Option<Core>,
}

pub(super) fn order(seed: u64) -> Order {
    let mut dice = Dice::new(seed);
    let mut within = |from: i64, to: i64| from + dice.below((to - from + 1) as u64) as i64;
    let wide = within(90, 170) as i32;
    let log = if within(0, 1) == 0 {
        round_log(wide, 2_400)
    } else {
        tapered_log(wide, wide + within(5, 30) as i32, 2_400)
    };
    let step = [1_000, 2_000][within(0, 1) as usize];
    let all = [2_000, 1_200, 900];
    let mut products: Vec<Product> = (0..within(1, 4))
        .map(|_| {
            let lengths = all[..within(1, 3) as usize].iter().copied();
            let lengths: Vec<Length> = lengths.map(Length::mm).collect();
            let (thickness, width) = (within(12, 40), within(30, 80));
            let value = within(80, 120);
            Product {
                thickness,
                width,
                by_grain: [None; 2],
                on_edge: within(0, 1) == 1,
                wane: wane(&mut within),
                heart: [Heart::Clear, Heart::Inside, Heart::Any][within(0, 2) as usize],
                worth: lengths
                    .iter()
                    .map(|length| thickness * width * value * length.wide() / 100_000_000)
                    .collect(),
                lengths,
                most: (within(0, 3) > 0).then(|| within(0, 3) as u16),
            }
        })
        .collect();
    by_grain(seed, &mut products);
    owed(seed, &mut products);
    // From one end on, or along all of the log; the log lies from 0.6 m to 3 m.
    let core = (within(0, 1) == 1).then(|| Core {
        travel: Interval::new(
            Position::mm(within(0, 1) as i32 * 1_500),
            Position::mm(within(2_000, 3_000) as i32),
        ),
        thick: Length::mm(within(4, 40) as i32),
    });
    Order {
        log,
        products,
        step,
        core,
    }
}

/// In half of the orders the first boards of a product bring more, told as a product of its own.
fn owed(seed: u64, products: &mut Vec<Product>) {
    let mut dice = Dice::new(seed + 9_000_000);
    if products.len() > 2 || dice.below(2) == 0 {
        return;
    }
    for at in 0..products.len() {
        let (more, most) = (dice.below(60) as i64, dice.below(4) as u16);
        let twin = Product {
            worth: products[at].worth.iter().map(|worth| worth + more).collect(),
            lengths: products[at].lengths.clone(),
            most: Some(most),
            ..products[at]
        };
        if products[at].worth.iter().all(|worth| *worth > 0) {
            products.insert(if dice.below(2) == 0 { 0 } else { products.len() }, twin);
            return;
        }
    }
}

/// In half of the orders products need not be as large where they lie flat or quarter sawn.
fn by_grain(seed: u64, products: &mut [Product]) {
    let mut dice = Dice::new(seed + 7_000_000);
    let mut less = |most: u64| dice.below(most) as i64;
    if less(2) == 0 {
        return;
    }
    for product in products {
        let Product { thickness, width, .. } = *product;
        let mut smaller = |[thin, narrow]: [u64; 2]| [thickness - less(thin), width - less(narrow)];
        let sizes = [smaller([9, 3]), smaller([3, 25])];
        product.by_grain = sizes.map(|size| (size != [thickness, width]).then_some(size));
    }
}

/// Half of the products may lack nothing.
fn wane(within: &mut dyn FnMut(i64, i64) -> i64) -> Wane {
    if within(0, 1) == 0 {
        return Wane::NONE;
    }
    Wane {
        face: Length::mm(within(1, 12) as i32),
        edge: (within(0, 1) == 1).then_some(Length::mm(within(1, 8) as i32)),
        whole: [0, 500, 750][within(0, 2) as usize],
    }
}

/// How many of each limited product.
type Numbers = Vec<u16>;

/// A board's stretch, whether it may lie across the core, and on which sides of the pith.
type Spot = (Reach, Heart, &'static [Side]);

/// Boards of a column, what they take of limited products, and where they lie.
type One = (Item, Numbers, Vec<Spot>);

/// An order gone through plainly.
struct Plain<'p> {
    order: &'p Order,
    reaches: &'p Reaches<'p>,
    classes: &'p Classes<'p>,
    wanted: &'p [Wanted<'p>],
    lengths: &'p [Length],
    kerf: i64,
    usable: i64,
    limited: Vec<usize>,
}

impl Plain<'_> {
    fn up(&self, size: i64) -> i64 {
        (size + self.order.step - 1) / self.order.step * self.order.step
    }

    fn numbers(&self, products: &[usize]) -> Numbers {
        let of = |at: &usize| products.iter().filter(|product| *product == at).count() as u16;
        self.limited.iter().map(of).collect()
    }

    fn allowed(&self, numbers: &[u16]) -> bool {
        let most = self
            .limited
            .iter()
            .map(|at| self.order.products[*at].most.unwrap());
        numbers.iter().zip(most).all(|(number, most)| *number <= most)
    }

    /// Every item of every height, and what it takes of limited products.
    fn rows(&self) -> BTreeMap<i64, Vec<One>> {
        let at = |length: &Length| self.lengths.iter().position(|other| other == length).unwrap() as u16;
        let reaches = |laid: &Laid<'_>, length: &Length, from_far: bool| -> Vec<Reach> {
            let class = self.classes.class(laid);
            self.classes.reaches(class, (at(length), from_far)).collect()
        };
        let laid: Vec<Laid<'_>> = laid(self.wanted).collect();
        let mut rows: BTreeMap<i64, Vec<One>> = BTreeMap::new();
        for one in &laid {
            let number = usize::from(one.product);
            let product = &self.order.products[number];
            let item = |reach, worth| Item {
                width: one.width.as_um(),
                advance: self.up(one.width.wide() + self.kerf) as Um,
                reach,
                within: EVERYWHERE,
                worth,
                boards: [None; 2],
            };
            let row = rows.entry(one.height.wide() / 1_000).or_default();
            for (length, worth) in product.lengths.iter().zip(&product.worth) {
                for reach in [false, true]
                    .into_iter()
                    .flat_map(|far| reaches(one, length, far))
                {
                    let spots = vec![(reach, product.heart, one.sides())];
                    row.push((item([reach; 2], *worth), self.numbers(&[number]), spots));
                }
                let alike = laid
                    .iter()
                    .filter(|other| (other.height, other.width) == (one.height, one.width));
                for other in alike {
                    let beside = &self.order.products[usize::from(other.product)];
                    for (second, more) in beside.lengths.iter().zip(&beside.worth) {
                        if length.wide() + second.wide() > self.usable {
                            continue;
                        }
                        for near in reaches(one, length, false) {
                            for far in reaches(other, second, true) {
                                let both = [number, usize::from(other.product)];
                                let spots = vec![
                                    (near, product.heart, one.sides()),
                                    (far, beside.heart, other.sides()),
                                ];
                                row.push((item([near, far], worth + more), self.numbers(&both), spots));
                            }
                        }
                    }
                }
            }
        }
        rows
    }

    /// What a layer is worth at most, by what it takes.
    fn layer(&self, height: i64, floor: usize, items: &[One]) -> BTreeMap<Numbers, i64> {
        let step = self.order.step;
        let row = Row {
            advance: self.advance(height),
            kerf: self.under(height),
            floors: FLOORS,
            items: &[],
        };
        let room = |item: &Item| self.reaches.item(&row, item, Over::One(floor));
        let rooms: Vec<(Um, Um)> = items.iter().map(|(item, ..)| room(item)).collect();
        let left = -120_000 / step;
        let places = (1 - 2 * left) as usize;
        let none = BTreeMap::from([(self.numbers(&[]), 0)]);
        let mut best = vec![none; places + 1];
        for place in (0..places).rev() {
            let corner = ((left + place as i64) * step) as Um;
            let mut here = best[place + 1].clone();
            for ((item, taken, spots), room) in items.iter().zip(&rooms) {
                let across = (corner, corner + item.width);
                let clear = self.clear_of_core((floor, &row), across, spots)
                    && self.lies_so((floor, &row), across, spots);
                if clear && corner >= room.0 && corner + item.width <= room.1 {
                    let next = (place + (i64::from(item.advance) / step) as usize).min(places);
                    self.join(&mut here, &best[next], taken, item.worth);
                }
            }
            best[place] = here;
        }
        best.swap_remove(0)
    }

    /// Whether each of the boards over a floor, from one place to another, is clear of the core or holds it where it may.
    fn clear_of_core(&self, (floor, row): (usize, &Row<'_>), (lo, hi): (Um, Um), spots: &[Spot]) -> bool {
        let Some(core) = &self.classes.cored else {
            return true;
        };
        let (under, face) = (floor + row.kerf, floor + row.advance);
        let off = face <= core.under || under >= core.over;
        let around = under < core.under && face > core.over;
        spots.iter().all(|(reach, heart, _)| {
            let Some(across) = core.across(reach) else {
                return true;
            };
            let beside = hi <= across.0 || lo >= across.1;
            let holds = around && lo <= across.0 && hi >= across.1;
            off || beside || *heart == Heart::Any || (*heart == Heart::Inside && holds)
        })
    }

    /// Whether the rings of each of the boards over a floor, from one place to another, lie as they have to.
    fn lies_so(&self, (floor, row): (usize, &Row<'_>), (lo, hi): (Um, Um), spots: &[Spot]) -> bool {
        let at = |height: usize| Position::um(height as i64 * self.order.step);
        let [across, height] = [
            (Position::um(lo.into()), Position::um(hi.into())),
            (at(floor + row.kerf), at(floor + row.advance)),
        ]
        .map(|(lo, hi)| Interval::new(lo, hi));
        spots.iter().all(|(reach, _, sides)| {
            let from = if reach.from_far { self.lengths.len() } else { 0 };
            let pith = self.classes.piths.get(from + usize::from(reach.length));
            let side = pith.map_or(Side::Any, |pith| pith.unwrap().side(across, height));
            sides.contains(&Side::Any) || sides.contains(&side)
        })
    }

    /// From a floor to the undersides of boards so high.
    fn under(&self, height: i64) -> usize {
        self.advance(height) - (self.up(height * 1_000) / self.order.step) as usize
    }

    /// From a floor to the lowest undersides there may be in layers that take so much.
    fn kerf_of(&self, advance: usize) -> usize {
        let heights = laid(self.wanted).map(|laid| laid.height.wide() / 1_000);
        let as_high = heights.filter(|height| self.advance(*height) == advance);
        as_high.map(|height| self.under(height)).min().unwrap()
    }

    fn advance(&self, height: i64) -> usize {
        (self.up(height * 1_000 + self.kerf) / self.order.step) as usize
    }

    /// Takes in all that some come to with more.
    fn join(
        &self,
        into: &mut BTreeMap<Numbers, i64>,
        some: &BTreeMap<Numbers, i64>,
        more: &[u16],
        worth: i64,
    ) {
        for (numbers, before) in some {
            let all: Numbers = numbers.iter().zip(more).map(|(a, b)| a + b).collect();
            if self.allowed(&all) {
                let slot = into.entry(all).or_insert(0);
                *slot = (*slot).max(before + worth);
            }
        }
    }

    fn best(&self) -> i64 {
        let rows = self.rows();
        let mut stack: Vec<BTreeMap<Numbers, i64>> = Vec::new();
        for face in 0..self.reaches.heights() {
            let first = BTreeMap::from([(self.numbers(&[]), 0)]);
            let mut here = stack.last().cloned().unwrap_or(first);
            for (height, items) in &rows {
                let Some(floor) = face.checked_sub(self.advance(*height)) else {
                    continue;
                };
                for (numbers, worth) in self.layer(*height, floor, items) {
                    if worth > 0 {
                        self.join(&mut here, &stack[floor], &numbers, worth);
                    }
                }
            }
            stack.push(here);
        }
        stack
            .pop()
            .and_then(|all| all.values().copied().max())
            .unwrap_or(0)
    }
}

/// Every board has room where it stands, and none is over or in another one.
fn drawn(sheet: &Sheet, plain: &Plain<'_>, seed: u64) {
    let reaches = plain.reaches;
    let mut last = reaches.heights() - 1;
    for layer in &sheet.layers {
        assert!(!sheet.boards_of(layer).is_empty(), "seed {seed}: an empty layer");
        let advance = layer.advance;
        assert!(
            layer.floor + advance <= last,
            "seed {seed}: {layer:?} under {last}"
        );
        last = layer.floor;
        let row = Row {
            advance,
            kerf: plain.kerf_of(advance),
            floors: FLOORS,
            items: &[],
        };
        let mut next = Um::MIN;
        for board in sheet.boards_of(layer) {
            let room = reaches.item(&row, &board.item, Over::One(layer.floor));
            let on_step = board.corner % reaches.step == 0;
            assert!(board.corner >= next && on_step, "seed {seed}: {board:?}");
            assert!(
                room.0 <= board.corner && board.corner + board.item.width <= room.1,
                "seed {seed}: {board:?} {room:?}"
            );
            next = board.corner + board.item.advance;
        }
    }
}

/// What the boards of a sheet are worth, held against what was found and what there may be.
fn bring(sheet: &Sheet, order: &Order, found: &Found, seed: u64) {
    let (mut worth, mut counts) = (0, vec![0_u16; order.products.len()]);
    for board in &sheet.boards {
        for (told, keeps) in board.item.boards.iter().zip(board.keeps) {
            if let (Some([product, length]), true) = (told, keeps) {
                counts[usize::from(*product)] += 1;
                worth += order.products[usize::from(*product)].worth[usize::from(*length)];
            }
        }
    }
    assert_eq!(worth, found.worth, "seed {seed}");
    for (count, product) in counts.iter().zip(&order.products) {
        assert!(
            product.most.is_none_or(|most| *count <= most),
            "seed {seed}: {counts:?}"
        );
    }
}

/// Lays one out, held against going through everything.
fn laid_out(seed: u64) -> (Found, usize) {
    let order = order(seed);
    let mut mill = powered_mill();
    mill.reach.cover = [Length::mm(260); 2];
    let setup = Setup::new(&mill, &order.log).unwrap();
    let wanted: Vec<Wanted<'_>> = order.products.iter().map(Product::wanted).collect();
    let most: Vec<Option<u16>> = order.products.iter().map(|product| product.most).collect();
    let travel = setup.shape.travel();
    let usable = Interval::new(travel.lo + Length::mm(25), travel.hi - Length::mm(25));
    let heights = [Position::mm(20), setup.shape.bounds().height.hi];
    let ground = Ground {
        core: order.core,
        ..Ground::of(&setup, usable, heights, order.step, Length::mm(200))
    };
    let mut small = Small::new();
    let (memory, mut lent) = small.lend();
    let mut solver = Solver::new(&ground, &wanted, memory).unwrap();
    let (mut open, mut sheet): (Open, Sheet) = Default::default();
    counted(&mut solver, &most, &mut lent, &mut open).unwrap();
    let closed = open.close(&mut solver, (&most, &[]), &mut lent, &mut sheet);
    let found = closed.unwrap();
    bring(&sheet, &order, &found, seed);
    let plain = Plain {
        order: &order,
        reaches: &solver.reaches,
        classes: &solver.classes,
        wanted: &wanted,
        lengths: &solver.lengths,
        kerf: mill.blade.kerf.wide(),
        usable: ground.usable.length().wide(),
        limited: (0..most.len()).filter(|at| most[*at].is_some()).collect(),
    };
    drawn(&sheet, &plain, seed);
    assert_eq!(
        [found.worth, found.bound],
        [plain.best(); 2],
        "seed {seed} {found:?}"
    );
    (found, sheet.boards.len())
}

/// Rounding alone has room for a board in this log, and nothing is laid out.
#[test]
fn no_layer_is_empty() {
    assert_eq!(laid_out(446).1, 0);
}

#[test]
fn no_layout_within_limits_is_worth_more() {
    let number = |name: &str, usual| std::env::var(name).map_or(usual, |told| told.parse().unwrap());
    let (from, runs) = (number("BUNKSIDE_FROM", 1), number("BUNKSIDE_RUNS", 40));
    let (mut searched, mut stacks, mut close, mut boards) = (0, 0, 0, 0);
    for seed in from..from + runs {
        let (found, count) = laid_out(seed);
        searched += usize::from(found.stacks > 0);
        stacks += found.stacks;
        close += found.close[0] + found.close[1];
        boards += count;
    }
    std::println!(
        "{runs} equal, {searched} of them searched, {stacks} stacks; {boards} boards, {close} places too close"
    );
    // Beside a core, or a line through the pith, not all can be moved together or apart.
    assert!(close * 50 <= boards, "{close}");
}
