use std::vec;
use std::vec::Vec;

use bunkside_protocol::{Position, Station};

use super::super::counted::Open;
use super::super::counted::counted;
use super::super::counted_tests::{Order, Product, order};
use super::super::heart::{Core, Heart};
use super::super::rooms::tests::winding;
use super::super::rooms::{Heights, Log, fill};
use super::super::small::Small;
use super::super::wane::Wane;
use super::*;
use crate::testing::{Dice, powered_mill, round_log};

/// The most that an order is worth as it is found on a step, floors and corners lying so far beside where they usually do; and what
/// none can be worth more than, on that step or, relaxed, on any.
fn solved(order: &Order, step: i64, aside: (i64, i64), relaxed: bool) -> (i64, i64) {
    let mut mill = powered_mill();
    mill.reach.cover = [Length::mm(260); 2];
    let mut log = order.log.clone();
    let moved = |station: &mut Station| station.centre_across = station.centre_across + Length::um(aside.1);
    log.stations.iter_mut().for_each(moved);
    let setup = Setup::new(&mill, &log).unwrap();
    let wanted: Vec<Wanted<'_>> = order.products.iter().map(Product::wanted).collect();
    let most: Vec<Option<u16>> = order.products.iter().map(|product| product.most).collect();
    let travel = setup.shape.travel();
    let usable = Interval::new(travel.lo + Length::mm(25), travel.hi - Length::mm(25));
    let lowest = Position::mm(20) + Length::um(aside.0);
    let heights = [lowest, setup.shape.bounds().height.hi];
    let ground = Ground {
        core: order.core,
        relaxed,
        ..Ground::of(&setup, usable, heights, step, Length::mm(200))
    };
    let mut small = Small::new();
    let (memory, mut lent) = small.lend();
    let mut solver = Solver::new(&ground, &wanted, memory).unwrap();
    if relaxed {
        let bound = at_most(&mut solver, &most, &mut lent).unwrap();
        return (bound, bound);
    }
    let mut open: Open = Open::default();
    counted(&mut solver, &most, &mut lent, &mut open).unwrap();
    let found = open.found;
    (found.worth, found.bound)
}

/// Of orders with all there is, wane, cores, limits, two lengths end to end: no layout on a step ten times finer, nor one whose
/// floors and corners lie between the steps, is worth more than the bound; and that is near what there is.
#[test]
fn no_layout_is_worth_more_wherever_it_lies() {
    let runs = std::env::var("BUNKSIDE_RUNS")
        .ok()
        .and_then(|runs| runs.parse().ok());
    let (mut above, mut gaps) = (0, Vec::new());
    for seed in 0..runs.unwrap_or(60) {
        let order = order(seed + 900);
        let (bound, _) = solved(&order, order.step, (0, 0), true);
        let (worth, on_step) = solved(&order, order.step, (0, 0), false);
        assert!(on_step <= bound, "seed {seed}: {on_step} {bound}");
        let mut best = worth;
        let tenth = order.step / 10;
        for aside in [
            (0, 0),
            (tenth * 3, tenth * 7),
            (tenth * 9, tenth),
            (tenth * 5, tenth * 5),
        ] {
            let whole = solved(&order, order.step, aside, false).0;
            best = best.max(whole);
            assert!(whole <= bound, "seed {seed} {aside:?}: {whole} {bound}");
        }
        let fine = solved(&order, tenth, (0, 0), false).0;
        assert!(fine <= bound, "seed {seed}: {fine} on the finer step, {bound}");
        above += usize::from(fine.max(best) > worth);
        let (finer, _) = solved(&order, tenth, (0, 0), true);
        assert!(fine <= finer, "seed {seed}: {fine} {finer}");
        gaps.push(finer as f64 / fine.max(1) as f64);
    }
    gaps.sort_by(f64::total_cmp);
    let (middle, worst) = (gaps[gaps.len() / 2], gaps[gaps.len() - 1]);
    std::println!(
        "{above} of {} bring more beside the step; {middle} in the middle, {worst} at most",
        gaps.len()
    );
    assert!(above > gaps.len() / 10 && middle < 1.02, "{above} {middle}");
}

fn square(size: i64) -> Order {
    Order {
        log: round_log(400, 2_400),
        products: vec![Product {
            thickness: size,
            width: size,
            by_grain: [None; 2],
            on_edge: false,
            wane: Wane::NONE,
            heart: Heart::Any,
            lengths: vec![Length::mm(2_000)],
            worth: vec![1_000],
            most: None,
        }],
        step: 1_000,
        core: None,
    }
}

/// The largest square in a circle of 400 mm has sides of 400/√2 = 282.84 mm (elementary geometry): where floors and corners lie on
/// whole millimetres it has to be a little smaller. The bound leaves it in, and nothing that is larger by what two steps hide.
#[test]
fn a_square_that_no_whole_step_holds_is_within_the_bound() {
    let reach = |order: &Order, step, relaxed| {
        let mut mill = powered_mill();
        mill.reach.cover = [Length::mm(500); 2];
        let setup = Setup::new(&mill, &order.log).unwrap();
        let wanted: Vec<Wanted<'_>> = order.products.iter().map(Product::wanted).collect();
        let heights = [Position::ZERO, setup.shape.bounds().height.hi];
        let ground = Ground {
            relaxed,
            ..Ground::of(&setup, setup.shape.travel(), heights, step, Length::mm(400))
        };
        let mut small = Small::new();
        let (memory, mut lent) = small.lend();
        let mut solver = Solver::new(&ground, &wanted, memory).unwrap();
        if relaxed {
            return at_most(&mut solver, &[None], &mut lent).unwrap() > 0;
        }
        let mut open: Open = Open::default();
        counted(&mut solver, &[None], &mut lent, &mut open).unwrap();
        open.found.worth > 0
    };
    assert!(reach(&square(282), 1_000, false));
    assert!(!reach(&square(283), 1_000, false) && !reach(&square(283), 250, false));
    assert!(reach(&square(283), 1_000, true), "a step hides more than 0.16 mm");
    assert!(!reach(&square(285), 1_000, true), "but not 2.2 mm");
    assert!(!reach(&square(283), 50, true), "nor a fine one 0.16 mm");
}

/// What any height between two steps holds is within what is told of the lower.
#[test]
fn rooms_between_steps_are_within_those_told() {
    let mut dice = Dice::new(41);
    let mill = powered_mill();
    for number in 0..60 {
        let log = winding(&mut dice);
        let setup = Setup::new(&mill, &log).unwrap();
        let travel = setup.shape.travel();
        let usable = Interval::new(travel.lo + Length::mm(20), travel.hi - Length::mm(30));
        let place = Log {
            shape: &setup.shape,
            usable,
            across: Interval::new(Position::mm(-120), Position::mm(90)),
        };
        let lengths = [900, 2_400, 3_600].map(Length::mm);
        let rooms = |step: i64| {
            let heights = Heights::of(Position::mm(30), setup.shape.bounds().height.hi, Length::um(step));
            let mut rooms = vec![(0, 0); 2 * lengths.len() * heights.count];
            fill(&place, &lengths, &heights, &mut rooms).unwrap();
            (heights.count, rooms)
        };
        for span in [1, 2] {
            let (coarse, mut told) = rooms(1_000);
            told.chunks_exact_mut(coarse)
                .for_each(|rooms| widen(rooms, span, place.across));
            let (fine, all) = rooms(100);
            for (at, (lo, hi)) in all.iter().copied().enumerate() {
                let (stretch, height) = (at / fine, at % fine);
                let cells = (height.saturating_sub(10 * span).div_ceil(10)..=height / 10).take(coarse);
                for cell in cells {
                    let room = told[stretch * coarse + cell];
                    let within = lo >= hi || (room.0 <= lo && room.1 >= hi);
                    assert!(within, "{number} {stretch} {height} {cell}: {room:?} {lo} {hi}");
                }
            }
        }
    }
}

/// A floor less than a step over the one that is told: so near to the core, from over it, under it and around it.
#[test]
fn a_core_is_no_further_off_than_it_is() {
    let mut dice = Dice::new(77);
    for seed in 0..40 {
        let mut order = order(seed + 5_000);
        let wide = Length::mm(i32::try_from(10 + dice.below(50)).unwrap());
        order.core = Some(Core {
            travel: Interval::new(Position::ZERO, Position::mm(3_000)),
            thick: wide,
        });
        let (bound, _) = solved(&order, 2_000, (0, 0), true);
        for aside in [(0, 0), (700, 1_300), (1_300, 700), (1_900, 100), (100, 1_900)] {
            let (worth, _) = solved(&order, 200, aside, false);
            assert!(worth <= bound, "seed {seed} {aside:?}: {worth} {bound}");
        }
    }
}

/// As large as it can be between the log's side and the lines through the pith: in a log of 300 mm a board so wide lies over them from
/// half its width up, to where the chord is as wide as it; on its side, the other way round. Whatever the step hides, the bound leaves
/// it in.
#[test]
fn boards_that_just_lie_over_the_lines_are_within_the_bound() {
    let mut fits = 0;
    for wide in (40..200).step_by(7) {
        let half = wide as f64 / 2.0;
        let thick = (libm::sqrt(150.0 * 150.0 - half * half) - half) as i64;
        let sizes = [[thick, wide], [wide, thick]];
        for (number, size) in sizes.into_iter().enumerate() {
            let mut order = square(400);
            order.log = round_log(300, 2_400);
            order.products[0].by_grain[number] = Some(size);
            for step in [1_000, 3_000] {
                let (bound, _) = solved(&order, step, (0, 0), true);
                for aside in [(0, 0), (300, 700), (700, 300), (500, 500), (1_700, 2_300)] {
                    let (worth, _) = solved(&order, step / 10, aside, false);
                    assert!(worth <= bound, "{size:?} {step} {aside:?}: {worth} {bound}");
                    fits += usize::from(worth > 0);
                }
            }
        }
    }
    assert!(fits > 100, "{fits}");
}
