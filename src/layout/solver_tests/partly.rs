//! Small logs that are partly sawn, held against the general solver: layers that are finished, one that is not, kerfs that free
//! nothing yet, some of which do not run through.

use bunkside_planner::geometry::{Block, Interval};
use bunkside_planner::replay::Setup;
use bunkside_planner::stock::{Owner, Stock};
use bunkside_protocol::{Length, Position};

use super::super::{best, bound_on_any_step};
use super::case;
use super::model::Model;
use super::wood::Wood;
use super::{EXACT, agree};
use crate::begun::Begun;
use crate::job::Job;
use crate::order::tests::random::Chance;
use crate::order::tests::seeds;

/// Whether a box across and up stands all along, told point by point: between any two places where something begins or ends, there is
/// a part of the body.
pub(super) fn stands(stock: &Stock, along: Interval, [across, height]: [Interval; 2]) -> bool {
    let cells: Vec<[Interval; 3]> = stock
        .cells()
        .filter(|(cell, _)| cell.owner == Owner::Body)
        .map(|(cell, band)| [cell.travel, cell.across, band])
        .collect();
    let middles = |axis: usize, of: Interval| -> Vec<i64> {
        let sides = cells.iter().flat_map(|cell| [cell[axis].lo, cell[axis].hi]);
        let mut places: Vec<i64> = sides
            .chain([of.lo, of.hi])
            .filter(|place| of.contains(*place))
            .map(|place| 2 * place.from_origin().wide())
            .collect();
        places.sort_unstable();
        places.dedup();
        places.windows(2).map(|pair| (pair[0] + pair[1]) / 2).collect()
    };
    let holds = |of: Interval, twice: i64| {
        2 * of.lo.from_origin().wide() <= twice && twice <= 2 * of.hi.from_origin().wide()
    };
    middles(0, along).iter().all(|z| {
        middles(1, across).iter().all(|x| {
            middles(2, height).iter().all(|y| {
                let mut cells = cells.iter();
                cells.any(|cell| holds(cell[0], *z) && holds(cell[1], *x) && holds(cell[2], *y))
            })
        })
    })
}

/// What a kerf takes: how far along, across and up.
fn cut(stock: &mut Stock, setup: &Setup<'_>, [travel, across, height]: [Interval; 3]) {
    let kerf = Block {
        travel,
        across,
        height,
    };
    let held = stock.clone().with_threads_held();
    *stock = held;
    stock.carve(&setup.shape, kerf).unwrap();
}

/// Saws a part of a log.
fn sawn(chance: &mut Chance, job: &Job, setup: &Setup<'_>) -> Stock {
    let mut stock = setup.stock();
    let kerf = job.mill.blade.kerf;
    let bounds = setup.shape.bounds();
    let lowest = bunkside_planner::layout::lowest_floor(setup);
    let steps = (bounds.height.hi - lowest).wide() / job.step.wide();
    // Floors on the step, or anywhere.
    let off = |chance: &mut Chance| {
        if chance.one_in(3) {
            Length::um(chance.within(1, job.step.wide()))
        } else {
            Length::ZERO
        }
    };
    let across = |chance: &mut Chance| {
        let place =
            bounds.across.lo + Length::um(bounds.across.length().wide() * chance.within(10, 90) / 100);
        Position::um(place.from_origin().wide().div_euclid(job.step.wide()) * job.step.wide()) + off(chance)
    };
    let along = |chance: &mut Chance| {
        if chance.one_in(6) {
            // Not through.
            Interval::new(
                Position::MIN,
                bounds.travel.lo + bounds.travel.length().half_floor(),
            )
        } else {
            Interval::ALL
        }
    };
    let mut top = bounds.height.hi;
    if !chance.one_in(4) {
        // What is finished.
        top = lowest
            + job
                .step
                .times(i32::try_from(chance.within(steps / 3, steps)).unwrap())
            + off(chance);
        cut(
            &mut stock,
            setup,
            [Interval::ALL, Interval::ALL, Interval::new(top, top + kerf)],
        );
        stock.unload();
    }
    for _ in 0..chance.within(0, 2) {
        // A layer that is not.
        let down = job.step.times(i32::try_from(chance.within(2, 8)).unwrap()) + off(chance);
        let (floor, to) = (top - down, across(chance));
        if floor <= lowest {
            break;
        }
        let flat = Interval::new(floor, floor + kerf);
        let through = along(chance);
        cut(
            &mut stock,
            setup,
            [through, Interval::new(Position::MIN, to), flat],
        );
        if !chance.one_in(3) {
            let upright = Interval::new(to - kerf, to);
            cut(
                &mut stock,
                setup,
                [along(chance), upright, Interval::new(floor, Position::MAX)],
            );
            stock.unload();
        }
        // Edged, and not released.
        for _ in 0..chance.within(0, 2) {
            let to = across(chance);
            let upright = Interval::new(to - kerf, to);
            cut(
                &mut stock,
                setup,
                [along(chance), upright, Interval::new(floor, Position::MAX)],
            );
        }
    }
    stock
}

#[test]
fn no_layout_of_what_stands_is_worth_more_or_less_than_a_general_solver_finds() {
    let (mut less, mut none, mut parted) = (0, 0, 0);
    for seed in seeds(90) {
        let mut chance = Chance::new(seed + 150_000);
        let mut job = case::job(&mut chance);
        let whole = {
            let setup = Setup::new(&job.mill, &job.log).unwrap();
            best(&job, &setup).unwrap().found.worth
        };
        let stock = sawn(&mut chance, &job, &Setup::new(&job.mill, &job.log).unwrap());
        parted += usize::from(stock.in_use().1 > 2);
        job.begun = Some(Box::new(Begun {
            done: 0,
            moves: Vec::new(),
            stock,
            off: Vec::new(),
            others: 0,
            onward: None,
            pieces: Vec::new(),
        }));
        let setup = Setup::new(&job.mill, &job.log).unwrap();
        let layout = best(&job, &setup).unwrap();
        let wood = Wood::new(&job, &setup);
        agree(&wood, &layout, seed);
        let exact = Model::new(&wood, EXACT).solve()[0];
        let above = bound_on_any_step(&job, &setup).unwrap();
        assert!(exact <= above, "{seed}: {exact} by the very underside, {above}");
        let worth = layout.found.worth;
        less += usize::from(worth < whole);
        none += usize::from(worth == 0);
    }
    println!(
        "{less} logs bring less than they did whole, {none} nothing; in {parted} more than two parts stand"
    );
    assert!(less > 40 && none < 30 && parted > 30, "{less} {none} {parted}");
}
