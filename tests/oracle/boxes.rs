//! Squared timbers of whole units: after every kerf of a random sequence the stock and a plain array must agree
//! exactly on what stands, whose it is, what came free, and what boxes meet.

use std::collections::BTreeMap;
use std::panic::{AssertUnwindSafe, catch_unwind};

use bunkside_planner::geometry::{Block, Interval, Shape};
use bunkside_planner::stock::{Owner, Pick, Stock};
use bunkside_protocol::Position;

use super::grid::{FAR, Grid, Outline, Span, Timbers, UNIT, Wood};
use crate::dice::Dice;

/// One step of a sequence.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Step {
    Kerf(Span),
    Unload,
}

/// How a sequence ended that shows no fault.
#[derive(Clone, Copy, PartialEq, Eq)]
struct Run {
    judged: usize,
    whole: bool,
}

/// The stock and the array side by side.
struct Pair<'a> {
    shape: Shape,
    stock: Stock,
    grid: Grid<'a>,
    /// The array's number of each of the stock's pieces.
    names: BTreeMap<u8, usize>,
}

macro_rules! agree {
    ($left:expr, $right:expr, $($what:tt)+) => {
        let (left, right) = (&$left, &$right);
        if left != right {
            return Err(format!("{}: the stock says {left:?}, the array {right:?}", format_args!($($what)+)));
        }
    };
}

impl<'a> Pair<'a> {
    fn new(timber: &'a Timbers) -> Self {
        let shape = Shape::new(&timber.record()).expect("a good record");
        let stock = Stock::new(&shape, timber.rests_um());
        Self {
            shape,
            stock,
            grid: Grid::new(timber),
            names: BTreeMap::new(),
        }
    }

    /// Takes one step on both sides. `Ok(false)` where the stock does not judge it.
    fn step(&mut self, step: Step, dice: &mut Dice) -> Result<bool, String> {
        match step {
            Step::Unload => {
                agree!(self.stock.unload(), self.names.len(), "unloaded");
                self.grid.unload();
                self.names.clear();
            }
            Step::Kerf(kerf) => {
                let Ok(freed) = self.stock.carve(&self.shape, kerf.block(UNIT)) else {
                    return Ok(false);
                };
                let expected = self.grid.carve(&kerf);
                agree!(freed, expected.len(), "pieces freed");
                self.name(freed, &expected)?;
            }
        }
        self.compare_units()?;
        for _ in 0..3 {
            self.compare_query(dice)?;
            self.compare_undercut(dice)?;
        }
        Ok(true)
    }

    /// Pairs each new piece of the stock with one of the array's by the box around it.
    fn name(&mut self, freed: usize, expected: &[usize]) -> Result<(), String> {
        let pieces = self.stock.pieces();
        let new = &pieces[pieces.len() - freed..];
        let order: Vec<Position> = new.iter().map(|piece| piece.bounds.across.lo).collect();
        agree!(order.is_sorted(), true, "pieces numbered from the entry side");
        for (serial, piece) in (u32::from(self.stock.freed()) + 1 - new.len() as u32..).zip(new) {
            agree!(u32::from(piece.serial), serial, "serial of piece {}", piece.id);
            let Some(wood) = self.wood_of(Owner::Piece(piece.id))? else {
                return Err(format!("piece {} has no wood", piece.id));
            };
            let Wood::Piece(number) = wood else {
                return Err(format!("piece {} is the array's body", piece.id));
            };
            agree!(expected.contains(&number), true, "piece {} is new", piece.id);
            if self.names.insert(piece.id, number).is_some() {
                return Err(format!("the number {} is used twice", piece.id));
            }
            let around = self.grid.met(everywhere(), |wood| wood == Wood::Piece(number));
            compare_boxes(Some(piece.bounds), around, "bounds of a piece")?;
        }
        Ok(())
    }

    /// The array's owner of the first unit that the stock gives to an owner.
    fn wood_of(&self, owner: Owner) -> Result<Option<Wood>, String> {
        let told = self.owners()?;
        let mut units = self.grid.middles();
        Ok(units
            .find(|(unit, ..)| told[*unit] == Some(owner))
            .and_then(|(_, wood, _)| wood))
    }

    /// Whose each unit is, by the stock.
    fn owners(&self) -> Result<Vec<Option<Owner>>, String> {
        let mut told = vec![None; self.grid.count()];
        for (cell, height) in self.stock.cells() {
            let block = Block {
                travel: cell.travel,
                across: cell.across,
                height,
            };
            for unit in self.grid.inside(block) {
                if told[unit].replace(cell.owner).is_some() {
                    return Err(format!("two cells hold unit {unit}, one of them {cell:?}"));
                }
            }
        }
        Ok(told)
    }

    fn compare_units(&self) -> Result<(), String> {
        let owners = self.owners()?;
        for (unit, wood, at) in self.grid.middles() {
            let told = match owners[unit] {
                None => None,
                Some(Owner::Body) => Some(Wood::Body),
                Some(Owner::Piece(id)) => Some(Wood::Piece(
                    *self.names.get(&id).ok_or(format!("piece {id} was never freed"))?,
                )),
            };
            agree!(told, wood, "wood at {}, {}, {}", at[0], at[1], at[2]);
        }
        Ok(())
    }

    fn compare_query(&self, dice: &mut Dice) -> Result<(), String> {
        let block = random_query(self.grid.timber(), dice).block(UNIT / 2);
        for pick in [Pick::Body, Pick::Pieces, Pick::Any] {
            let takes = |wood| match pick {
                Pick::Any => true,
                Pick::Body => wood == Wood::Body,
                Pick::Pieces => wood != Wood::Body,
            };
            let expected = self.grid.met(block, takes);
            compare_boxes(
                self.stock.met(&self.shape, block, pick),
                expected,
                &format!("{pick:?} met by {block:?}"),
            )?;
            let touched = self.stock.touched(&self.shape, block, pick, false);
            agree!(
                touched.is_some(),
                expected.is_some(),
                "{pick:?} touched by {block:?}"
            );
            if let Some((owner, travel)) = touched {
                self.compare_touch(block, owner, travel)?;
            }
        }
        Ok(())
    }

    /// How far wood hangs over earlier kerfs, for timbers of one outline.
    fn compare_undercut(&self, dice: &mut Dice) -> Result<(), String> {
        let timber = self.grid.timber();
        if timber.slices.iter().any(|slice| *slice != timber.slices[0]) {
            return Ok(());
        }
        let hull = timber.hull();
        let across = dice.within(hull.across[0], hull.across[1] - 1);
        let height = dice.within(hull.height[0] - 1, hull.height[1]);
        let place = |units: i32| Position::um(i64::from(units) * UNIT);
        let told = self
            .stock
            .undercut(&self.shape, Interval::ALL, place(across), place(height));
        let expected = i64::from(self.grid.undercut(across, height)) * UNIT;
        agree!(
            i64::from(told.as_um()),
            expected,
            "undercut at unit {across} above {height}"
        );
        Ok(())
    }

    /// What `touched` names must be in the block, where it says.
    fn compare_touch(&self, block: Block, owner: Owner, travel: Position) -> Result<(), String> {
        let wood = match owner {
            Owner::Body => Some(Wood::Body),
            Owner::Piece(id) => self.names.get(&id).map(|number| Wood::Piece(*number)),
        };
        let around = self.grid.met(block, |other| Some(other) == wood);
        let inside = around.is_some_and(|[_, most]| most.travel.contains(travel));
        agree!(true, inside, "{owner:?} touched at {travel} by {block:?}");
        Ok(())
    }
}

fn everywhere() -> Block {
    Block {
        travel: Interval::ALL,
        across: Interval::ALL,
        height: Interval::ALL,
    }
}

fn compare_boxes(told: Option<Block>, expected: Option<[Block; 2]>, what: &str) -> Result<(), String> {
    let (Some(told), Some([least, most])) = (told, expected) else {
        agree!(told.is_some(), expected.is_some(), "{what}");
        return Ok(());
    };
    agree!(told.across, most.across, "{what}: across");
    agree!(told.height, most.height, "{what}: height");
    if most.travel.lo <= told.travel.lo
        && told.travel.lo <= least.travel.lo
        && least.travel.hi <= told.travel.hi
        && told.travel.hi <= most.travel.hi
    {
        return Ok(());
    }
    Err(format!(
        "{what}: the stock says {:?} along, the array {:?} to {:?}",
        told.travel, least.travel, most.travel
    ))
}

/// A timber of 8 to 14 units square and 6 to 12 long, set off the origin; half of them change their section.
fn random_timber(dice: &mut Dice) -> Timbers {
    let wide = dice.within(8, 14);
    let tall = dice.within(8, 14);
    let left = dice.within(-10, 4);
    let bottom = dice.within(0, 3);
    let mut outline = Outline {
        across: [left, left + wide],
        height: [bottom, bottom + tall],
    };
    let slices = usize::try_from(dice.within(6, 12)).expect("positive");
    let (changing, mut changes) = (dice.once_in(2), 0);
    let mut timber = Timbers {
        start: dice.within(-20, 200),
        slices: vec![outline],
        rests: Vec::new(),
    };
    while timber.slices.len() < slices {
        if changing && changes < 6 && dice.once_in(2) {
            outline = stepped(outline, dice);
            changes += usize::from(timber.slices.last() != Some(&outline));
        }
        timber.slices.push(outline);
    }
    let last = i32::try_from(slices).expect("few slices") - 1;
    for _ in 0..dice.within(1, 3) {
        // In the middle of a slice, or where two meet: there a change would leave it open which of them rests.
        let between = i32::from(!changing && dice.once_in(3));
        timber
            .rests
            .push(2 * (timber.start + dice.within(0, last)) + 1 + between);
    }
    timber
}

/// The outline with some sides moved, all in or all out.
fn stepped(outline: Outline, dice: &mut Dice) -> Outline {
    let out = if dice.once_in(2) { 1 } else { -1 };
    let mut step = || {
        if dice.once_in(2) {
            dice.within(0, 2) * out
        } else {
            0
        }
    };
    let next = Outline {
        across: [outline.across[0] - step(), outline.across[1] + step()],
        height: [outline.height[0] - step(), outline.height[1] + step()],
    };
    let room = |[lo, hi]: [i32; 2]| (4..=16).contains(&(hi - lo));
    if room(next.across) && room(next.height) {
        next
    } else {
        outline
    }
}

fn random_sequence(timber: &Timbers, dice: &mut Dice) -> Vec<Step> {
    let hull = timber.hull();
    let steps = dice.within(6, 30);
    (0..steps)
        .map(|_| {
            if dice.once_in(8) {
                Step::Unload
            } else {
                Step::Kerf(random_kerf(timber, hull, dice))
            }
        })
        .collect()
}

/// A kerf one unit thick: upright from above or flat from the entry side, or a plunge in the middle; through the
/// whole length, from one end, or in between.
fn random_kerf(timber: &Timbers, hull: Outline, dice: &mut Dice) -> Span {
    let (start, end) = (timber.start, timber.start + timber.length());
    let travel = match dice.within(0, 9) {
        0 => [-FAR, dice.within(start, end)],
        1 => [dice.within(start, end), FAR],
        2 => span(dice, start - 1, end + 1),
        3..6 => [start, end],
        _ => [-FAR, FAR],
    };
    let x = dice.within(hull.across[0] - 1, hull.across[1] + 2);
    let y = dice.within(hull.height[0], hull.height[1] + 1);
    let (across, height) = match dice.within(0, 9) {
        0 => ([x - 1, x], span(dice, hull.height[0] - 1, hull.height[1] + 1)),
        1 => (span(dice, hull.across[0] - 1, hull.across[1] + 1), [y, y + 1]),
        2..6 => ([x - 1, x], [y, FAR]),
        6 => ([-FAR, FAR], [y, y + 1]),
        _ => ([-FAR, x], [y, y + 1]),
    };
    Span {
        travel,
        across,
        height,
    }
}

/// Two different numbers in order.
fn span(dice: &mut Dice, lo: i32, hi: i32) -> [i32; 2] {
    let from = dice.within(lo, hi - 1);
    [from, dice.within(from + 1, hi)]
}

/// A box in half units around and in the timber.
fn random_query(timber: &Timbers, dice: &mut Dice) -> Span {
    let hull = timber.hull();
    let mut side = |lo: i32, hi: i32| match dice.within(0, 4) {
        0 => [-FAR, FAR],
        1 => [-FAR, dice.within(2 * lo, 2 * hi)],
        _ => span(dice, 2 * lo - 2, 2 * hi + 2),
    };
    Span {
        travel: side(timber.start, timber.start + timber.length()),
        across: side(hull.across[0], hull.across[1]),
        height: side(hull.height[0], hull.height[1]),
    }
}

/// Runs a sequence on both sides; an answer tells the step that fails and how.
fn run(timber: &Timbers, steps: &[Step], seed: u64) -> Result<Run, String> {
    let go = || {
        let (mut pair, mut dice) = (Pair::new(timber), Dice::new(seed));
        for (judged, step) in steps.iter().enumerate() {
            match pair.step(*step, &mut dice) {
                Ok(true) => {}
                Ok(false) => return Ok(Run { judged, whole: false }),
                Err(why) => return Err(format!("step {judged}: {why}")),
            }
        }
        Ok(Run {
            judged: steps.len(),
            whole: true,
        })
    };
    catch_unwind(AssertUnwindSafe(go)).unwrap_or_else(|_| Err("it panics".to_owned()))
}

/// Drops steps as long as some sequence that is one step shorter still fails under one of a few query seeds.
fn shrink(timber: &Timbers, mut steps: Vec<Step>, seed: u64) -> (Vec<Step>, String) {
    let fails = |steps: &[Step]| (seed..seed + 8).find_map(|seed| run(timber, steps, seed).err());
    let mut why = fails(&steps).unwrap_or_default();
    loop {
        let shorter = (0..steps.len()).rev().find_map(|drop| {
            let mut fewer = steps.clone();
            fewer.remove(drop);
            fails(&fewer).map(|why| (fewer, why))
        });
        match shorter {
            Some((fewer, reason)) => (steps, why) = (fewer, reason),
            None => return (steps, why),
        }
    }
}

#[test]
fn the_stock_and_an_array_agree_after_every_kerf() {
    let (mut kerfs, mut sequences, mut whole) = (0, 0, 0);
    for seed in 0..2_500 {
        let mut dice = Dice::new(seed);
        let timber = random_timber(&mut dice);
        let steps = random_sequence(&timber, &mut dice);
        match run(&timber, &steps, seed) {
            Ok(run) => {
                kerfs += run.judged;
                sequences += 1;
                whole += usize::from(run.whole);
            }
            Err(_) => {
                let (steps, why) = shrink(&timber, steps, seed);
                panic!("seed {seed}: {why}\non {timber:?}\nby {steps:#?}");
            }
        }
    }
    println!(
        "{sequences} sequences, {kerfs} steps judged, {} cut short as not judged",
        sequences - whole
    );
    // Thirty wild kerfs open more levels at one time than any order of boards does; most must be judged all the same.
    assert!(
        whole * 100 >= sequences * 90,
        "only {whole} of {sequences} were judged to their end"
    );
}
