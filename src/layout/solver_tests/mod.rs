//! Layouts held against a mixed-integer program that a general solver solves: the crate `microlp`, branch and bound over a
//! simplex.
//!
//! The program is written from what a layout is and shares nothing with the search but the sections of the log: a binary for
//! each layer that may be, one for each choice of boards at each place in it; at every height no more than one layer, at every
//! place across it no more than one choice, and no more of a product than its `most`. Where each board has room is read from every
//! section of its stretch. Compared are what the best layout is worth, the bound it is proven by, and what the solver finds: all three
//! are the same. The boards of the layout have to be there, lie apart, and bring that.
//!
//! Places are rounded to a micrometre, and a layout passes over sections that lie straight between others: the program is
//! solved for boards with 3 µm less room than they fill and with 3 µm more. In the few cases where that makes a difference,
//! the layout has to lie between.
//!
//! A layout looks for the room at an underside on the step, where that lies between two of them on the lower: a little
//! less is there in the lower half of a log. The program does so too, and it is told how often the very underside would bring more.
//! The bound on any step has to leave that in: no layout by the very underside, of sizes and kerfs of all kinds, comes over it.
//!
//! `BUNKSIDE_RUNS` asks for more cases than those of an ordinary run, `BUNKSIDE_FROM` for others.

mod case;
mod many;
mod model;
mod partly;
mod tally;
mod wood;

use std::time::{Duration, Instant};

use bunkside_planner::replay::Setup;
use bunkside_protocol::Length;

use super::{Kind, Layout, Make, TRIES, Wishes, best, best_of, bound_on_any_step, others};
use crate::order::tests::random::Chance;
use crate::order::tests::seeds;
use model::Model;
use tally::Tally;
use wood::{Look, Wood};

/// Boards need less room than they fill by as much as rounding may take, none, and more than they fill.
const LOOSE: Look = Look {
    spare: Length::um(-3),
    on_step: true,
};
const TIGHT: Look = Look {
    spare: Length::um(3),
    on_step: true,
};
const EXACT: Look = Look {
    spare: Length::ZERO,
    on_step: false,
};

/// What the solver found: the least and the most that the best layout may be worth, of how many choices, in which time.
struct Solved {
    worth: [i64; 2],
    choices: usize,
    solved: Duration,
}

/// What the solver finds, of boards that need a little less room than they fill and a little more.
fn solved<'m>(of: impl Fn(Look) -> Model<'m>) -> Solved {
    let started = Instant::now();
    let loose = of(LOOSE);
    let [mut least, most] = loose.solve();
    let solved = started.elapsed();
    let tight = of(TIGHT);
    // Whatever has room with some to spare has it without: as many choices are the same ones.
    if loose.choices != tight.choices {
        [least, _] = tight.solve();
    }
    Solved {
        worth: [least, most],
        choices: loose.choices,
        solved,
    }
}

/// The solver finds that nothing is worth more or less than a layout, the boards of which have room.
fn agree(wood: &Wood<'_>, layout: &Layout, seed: u64) -> Solved {
    let found = solved(|look| Model::new(wood, look));
    let (told, [least, most]) = (&layout.found, found.worth);
    assert_eq!(told.worth, told.bound, "{seed}: not proven");
    assert!(
        (least..=most).contains(&told.worth),
        "{seed}: {told:?}, {least} to {most}"
    );
    wood.holds(layout, LOOSE);
    found
}

#[test]
fn no_layout_is_worth_more_or_less_than_a_general_solver_finds() {
    let mut tally = Tally::default();
    for seed in seeds(220) {
        let mut chance = Chance::new(seed + 90_000);
        let job = case::job(&mut chance);
        let setup = Setup::new(&job.mill, &job.log).unwrap();
        let started = Instant::now();
        let layout = best(&job, &setup).unwrap();
        let found = started.elapsed();
        let wood = Wood::new(&job, &setup);
        let Solved {
            worth: [least, most],
            choices,
            solved,
        } = agree(&wood, &layout, seed);
        tally.case(&wood, &layout, (least == most, choices), (found, solved));
        let between = |size: Length| size.wide() % job.step.wide() != 0;
        if job
            .boards
            .iter()
            .flat_map(|spec| spec.sizes().map(move |(_, size)| (spec, size)))
            .any(|(spec, [thickness, width])| between(thickness) || spec.on_edge && between(width))
        {
            let exact = Model::new(&wood, EXACT).solve()[0];
            tally.between(exact > most);
            // What is lost by looking at the step is not lost for the bound on any step.
            let above = bound_on_any_step(&job, &setup).unwrap();
            assert!(exact <= above, "{seed}: {exact} by the very underside, {above}");
            tally.near(exact, above);
        }
    }
    tally.print();
}

/// Of the layouts without a layer, without a product, or of no more than so many boards, none is worth more, or less, than the one
/// that is told.
#[test]
fn the_best_of_each_kind_is_what_a_general_solver_finds() {
    let mut seen = [0; 3];
    for seed in seeds(60) {
        let mut chance = Chance::new(seed + 120_000);
        let job = case::job(&mut chance);
        let setup = Setup::new(&job.mill, &job.log).unwrap();
        let layout = best(&job, &setup).unwrap();
        let wood = Wood::new(&job, &setup);
        let others = others(&job, &setup, &layout, false).into_iter();
        let others = others.filter(|other| matches!(other.kind, Kind::Fewer(_) | Kind::WithoutProduct(_)));
        let mut all: Vec<(Kind, Layout, i64)> = others
            .map(|other| {
                assert_eq!(other.brings, other.bound, "{seed}: {:?}", other.kind);
                // What was found is told at the prices that were asked.
                let mut layout = other.layout;
                layout.found.worth = other.brings;
                (other.kind, layout, other.brings)
            })
            .collect();
        for height in Make::of(&layout.boards).layers.into_keys() {
            let wishes = Wishes {
                without: Some(height),
                ..Wishes::of(&job)
            };
            let layout = best_of(&job, &setup, &wishes, TRIES).unwrap();
            let worth = layout.found.worth;
            assert_eq!(worth, layout.found.bound, "{seed}: without {height}");
            all.push((Kind::WithoutLayer(height), layout, worth));
        }
        for (kind, layout, brings) in all {
            let [least, most] = solved(|look| Model::new(&wood, look).only(kind)).worth;
            assert!(
                (least..=most).contains(&brings),
                "{seed}: {kind:?} {brings}, {least} to {most}"
            );
            wood.holds(&layout, LOOSE);
            seen[match kind {
                Kind::Fewer(_) => 0,
                Kind::WithoutProduct(_) => 1,
                Kind::WithoutLayer(_) | Kind::Owed => 2,
            }] += 1;
        }
    }
    println!("fewer boards, without a product, without a layer: {seen:?}");
    assert!(seen.iter().all(|seen| *seen > 10), "{seen:?}");
}
