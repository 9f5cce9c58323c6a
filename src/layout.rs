//! The best layout of a job's log, and the best one that can be sawn.

#[cfg(test)]
mod bound_tests;
#[cfg(test)]
mod figures;
mod finer;
mod memories;
mod others;
mod sawable;
mod setting;
#[cfg(test)]
mod solver_tests;
#[cfg(test)]
mod time_tests;

use bunkside_planner::layout::exact::{
    Asked, Barred, Found, Full, Lean, Lent, Memory, Open, Placed, Sheet, Wanted, bound, exact, leaning,
    stretches,
};
use bunkside_planner::layout::{Draft, Remains};
use bunkside_planner::machine::outward;
use bunkside_planner::plan::{Part, Use};
use bunkside_planner::replay::Setup;
use bunkside_protocol::{Length, Position};

use finer::{FINER, coarser, finer};
use memories::Memories;
pub use others::{Kind, Make, Other, others};
pub use sawable::{Best, by_hand, choose, is_sawable, quickly, sawable, sawable_at};
pub use setting::settled;

use crate::cut_plan::OwnedPlan;
use crate::job::Job;

/// The best layout of a log.
#[derive(Clone, Debug)]
pub struct Layout {
    /// Every board, from the top down and from the entry side on.
    pub boards: Vec<Placed>,
    /// The floor of every layer of boards, from the top down.
    pub floors: Vec<Position>,
    /// What was found.
    pub found: Found,
    /// The step that corners and floors lie on: the job's, or the next one up that the mill's grid has.
    pub step: Length,
    /// The cut plan.
    pub plan: OwnedPlan,
    /// The same before it was closed up, and how many times finer its values were.
    open: Box<Open>,
    finer: i64,
}

/// Heights of boards, and floors that are looked at together, as the planner has them at most.
const ROWS: usize = 320;
const BLOCK: usize = 64;

/// Layouts that prices are set by, as the planner has them at most.
const SEEN: usize = 60;

/// Stacks that are looked at with the usual memory.
pub const STACKS: usize = 20_000;

/// The same where the layout with fewest boards is looked for.
const FEW_STACKS: usize = 4_000;

/// Most memory that is tried, as a power of two times the usual.
const TRIES: u32 = 6;

/// Finds the best layout of a job's log; none where there is too much of it for any memory.
#[must_use]
pub fn best(job: &Job, setup: &Setup<'_>) -> Option<Layout> {
    best_of(job, setup, &Wishes::of(job), TRIES)
}

/// A product as a layout is looked for with it: at a price, no more than so many. One product may have several.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Line {
    /// The product, by its number in the job.
    pub product: u8,
    /// What one board of each length is worth, thousandths; such as bring nothing are left out. Beside the product's lengths.
    pub values: Vec<i64>,
    /// No more of them than so many, if there is a limit.
    pub most: Option<u32>,
}

impl Line {
    /// The products of a job as it has them.
    #[must_use]
    pub fn all(job: &Job) -> Vec<Self> {
        let boards = (0..).zip(&job.boards);
        boards
            .map(|(product, board)| Self {
                product,
                values: board.values.clone(),
                most: board.most,
            })
            .collect()
    }
}

/// Finds the best layout of a log at such prices; none where there is too much of it for any memory. Where limits leave more to be
/// looked at than prices tell, no more than so many stacks are: then it may be not the best, and its bound says so.
#[must_use]
pub fn best_at(job: &Job, setup: &Setup<'_>, lines: &[Line], stacks: usize) -> Option<Layout> {
    let wishes = Wishes {
        stacks,
        ..Wishes::at(lines.to_vec())
    };
    best_of(job, setup, &wishes, TRIES)
}

/// What is asked of a layout besides.
#[derive(Clone, Debug)]
struct Wishes {
    /// The products at their prices.
    lines: Vec<Line>,
    /// No floor lies lower.
    lowest: Option<Position>,
    /// No layer is so high.
    without: Option<Length>,
    /// How the boards of each layer lean.
    leans: Vec<Lean>,
    /// Whether what is between two layers comes off as a piece, unless there is nothing.
    apart: bool,
    /// Where layers do not lie.
    barred: Vec<Barred>,
    /// Whether all over the lowest kerf of a log that is partly sawn is taken away as waste.
    only_whole: bool,
    /// Whether boards of such a log keep off the metal in it.
    off_metal: bool,
    /// What a layout that is known brings, if there is one: only those that bring more are looked for.
    reached: Option<i64>,
    /// How many stacks are looked at with the usual memory.
    stacks: usize,
    /// How many times finer values are: see [`FINER`].
    finer: i64,
}

impl Wishes {
    fn at(lines: Vec<Line>) -> Self {
        let limited = lines.iter().any(|line| line.most.is_some());
        Self {
            finer: if limited { 1 } else { FINER },
            lines,
            lowest: None,
            without: None,
            leans: Vec::new(),
            apart: false,
            barred: Vec::new(),
            only_whole: false,
            off_metal: false,
            reached: None,
            stacks: STACKS,
        }
    }

    fn of(job: &Job) -> Self {
        Self::at(Line::all(job))
    }
}

fn best_of(job: &Job, setup: &Setup<'_>, wishes: &Wishes, tries: u32) -> Option<Layout> {
    let fewest = fewest(job, setup, wishes);
    if fewest
        .as_ref()
        .is_some_and(|layout| layout.found.worth == layout.found.bound)
    {
        return fewest;
    }
    let usual = (0..tries).find_map(|try_| within(job, setup, wishes, (1 << try_, None)).ok());
    let (Some(fewest), Some(usual)) = (&fewest, &usual) else {
        return usual.or(fewest);
    };
    let bound = fewest.found.bound.min(usual.found.bound);
    let better = fewest.found.worth > usual.found.worth;
    let mut best = if better { fewest } else { usual }.clone();
    best.found.bound = bound;
    Some(best)
}

/// Where numbers are limited, the layout with fewest boards of those that bring most, or what comes of little looking for it.
fn fewest(job: &Job, setup: &Setup<'_>, wishes: &Wishes) -> Option<Layout> {
    let usual = wishes.stacks >= STACKS && !wishes.apart && wishes.barred.is_empty();
    let wishes = Wishes {
        finer: FINER,
        stacks: FEW_STACKS,
        reached: Some(0),
        ..wishes.clone()
    };
    (usual && wishes.lines.iter().any(|line| line.most.is_some()))
        .then(|| within(job, setup, &wishes, (1, None)).ok())?
}

/// A layout over the same lowest floor, its boards leaning otherwise: nothing is looked for anew.
fn leant(job: &Job, setup: &Setup<'_>, wishes: &Wishes, layout: &Layout) -> Option<Layout> {
    let wishes = Wishes {
        finer: layout.finer,
        ..wishes.clone()
    };
    (0..TRIES).find_map(|try_| within(job, setup, &wishes, (1 << try_, Some(&layout.open))).ok())
}

/// What the boards of a plan bring, thousandths of the job's money.
#[must_use]
pub fn worth(job: &Job, plan: &OwnedPlan) -> i64 {
    plan.with_plan(|plan| {
        let columns = plan.layers.iter().flat_map(|layer| layer.columns);
        let boards = columns.flat_map(|column| column.use_.boards());
        boards
            .filter_map(|one| job.boards.get(usize::from(one.product))?.value(one.length))
            .sum()
    })
}

/// Thousandths of the job's money as money.
#[must_use]
#[expect(clippy::cast_precision_loss, reason = "no log is worth so much")]
pub fn money(thousandths: i64) -> f64 {
    thousandths as f64 / 1_000.0
}

/// Where floors and corners of a bound may lie a step beside where they are told, it is no more than this: a board is thicker.
const BOUND_STEP: Length = Length::mm(1);

/// No layout of a job's log is worth more, on whatever step its floors and corners lie or on none: found with sizes and rooms
/// rounded to a step, and the nearer the finer that is. None where there is too much of it for any memory.
#[must_use]
pub fn bound_on_any_step(job: &Job, setup: &Setup<'_>) -> Option<i64> {
    bound_over(job, setup, None)
}

/// The same where a layout is known to be worth so much.
#[must_use]
pub fn bound_over(job: &Job, setup: &Setup<'_>, reached: Option<i64>) -> Option<i64> {
    let wishes = Wishes {
        reached: Some(reached.unwrap_or(0)),
        ..Wishes::of(job)
    };
    bound_on(job, setup, step(job).min(BOUND_STEP), &wishes)
}

/// The same on a step, with little looking for it.
fn roughly_over(job: &Job, setup: &Setup<'_>, step: Length) -> Option<i64> {
    let wishes = Wishes {
        reached: Some(0),
        stacks: FEW_STACKS,
        ..Wishes::of(job)
    };
    bound_on(job, setup, step, &wishes)
}

fn bound_on(job: &Job, setup: &Setup<'_>, step: Length, wishes: &Wishes) -> Option<i64> {
    (0..TRIES).find_map(|try_| {
        let bound = |_: &[Wanted<'_>], asked: &Asked<'_>, memory: Memory<'_>, lent: &mut Lent<'_>| {
            bound(setup, asked, memory, lent)
        };
        let bound = asking(job, setup, (step, wishes), 1 << try_, bound).ok();
        bound.map(|bound| coarser(bound, wishes.finer))
    })
}

/// The step that corners and floors lie on: the job's, or the next one up that the mill's grid has.
#[must_use]
pub fn step(job: &Job) -> Length {
    outward(Position::um(job.step.wide()), job.mill.grid, true).from_origin()
}

/// With so many times the usual memory, and from a layout found before, if there is one.
fn within(
    job: &Job,
    setup: &Setup<'_>,
    wishes: &Wishes,
    (times, before): (usize, Option<&Open>),
) -> Result<Layout, Full> {
    let step = step(job);
    let product = |line: u8| {
        let own = wishes.lines.get(usize::from(line));
        own.map_or(line, |own| own.product)
    };
    let mut open: Box<Open> = before.map_or_else(Box::default, |open| Box::new(open.clone()));
    let mut sheet: Box<Sheet> = Box::default();
    let finer = wishes.finer;
    let laid = |wanted: &[Wanted<'_>], asked: &Asked<'_>, memory: Memory<'_>, lent: &mut Lent<'_>| {
        let sawn = match before {
            Some(open) => leaning(setup, asked, memory, lent, (open, &mut *sheet))?,
            None => exact(setup, asked, memory, lent, (&mut *open, &mut *sheet))?,
        };
        let mut placed = Vec::new();
        sawn.boards(&mut |board| {
            placed.push(Placed {
                product: product(board.product),
                ..board
            });
        });
        let mut draft: Box<Draft> = Box::default();
        sawn.draw(wanted, &mut draft).map_err(|_| Full)?;
        let mut plan: OwnedPlan = draft.with_plan(|plan| plan.into());
        for column in plan.layers.iter_mut().flat_map(|layer| &mut layer.columns) {
            column.use_ = of_products(column.use_, &product);
        }
        Ok(Layout {
            boards: placed,
            floors: sawn.floors().collect(),
            found: Found {
                worth: coarser(sawn.found.worth, finer),
                bound: coarser(sawn.found.bound, finer),
                priced: coarser(sawn.found.priced, finer),
                ..sawn.found
            },
            step,
            plan,
            open,
            finer,
        })
    };
    asking(job, setup, (step, wishes), times, laid)
}

/// Does something with what a job asks of a layout, and so many times the usual memory.
fn asking<T>(
    job: &Job,
    setup: &Setup<'_>,
    (step, wishes): (Length, &Wishes),
    times: usize,
    what: impl FnOnce(&[Wanted<'_>], &Asked<'_>, Memory<'_>, &mut Lent<'_>) -> Result<T, Full>,
) -> Result<T, Full> {
    let lines = &wishes.lines;
    let values: Vec<Vec<i64>> = lines.iter().map(|line| finer(line, wishes.finer)).collect();
    let wanted: Vec<Wanted<'_>> = lines
        .iter()
        .zip(&values)
        .filter_map(|(line, values)| wanted(job, (line, values), wishes.without))
        .collect();
    let limit = |most: u32| u16::try_from(most).unwrap_or(u16::MAX);
    let most: Vec<Option<u16>> = lines.iter().map(|line| line.most.map(limit)).collect();
    let asked = Asked {
        wanted: &wanted,
        most: &most,
        end_trim: job.end_trim,
        step,
        lowest: wishes.lowest,
        reached: wishes.reached.map(|worth| worth.saturating_mul(wishes.finer)),
        core: job.core,
        standing: job.begun.as_ref().map(|begun| Remains {
            stock: &begun.stock,
            only_whole: wishes.only_whole,
            off_metal: wishes.off_metal,
        }),
        apart: wishes.apart,
        barred: &wishes.barred,
        leans: &wishes.leans,
    };
    let tall = setup.shape.bounds().height.length();
    let heights = usize::try_from(tall.wide() / step.wide().max(1)).unwrap_or(0) + 2;
    let mut memories = Memories::new(heights, stretches(&wanted)?, wishes.stacks, times);
    let (memory, mut lent) = memories.lend();
    what(&wanted, &asked, memory, &mut lent)
}

/// What a column becomes, by products and not by lines.
fn of_products(use_: Use, product: &dyn Fn(u8) -> u8) -> Use {
    let part = |part: Part| Part {
        product: product(part.product),
        ..part
    };
    match use_ {
        Use::Waste => Use::Waste,
        Use::Board {
            product: line,
            length,
            end,
        } => Use::Board {
            product: product(line),
            length,
            end,
        },
        Use::Pair { near, far } => Use::Pair {
            near: part(near),
            far: part(far),
        },
    }
}

fn wanted<'a>(
    job: &'a Job,
    (line, values): (&'a Line, &'a [i64]),
    without: Option<Length>,
) -> Option<Wanted<'a>> {
    let board = job.boards.get(usize::from(line.product))?;
    Some(Wanted {
        thickness: board.thickness,
        width: board.width,
        by_grain: board.by_grain,
        without,
        on_edge: board.on_edge,
        wane: board.wane,
        heart: board.core,
        lengths: &board.lengths,
        worth: values,
    })
}

#[cfg(test)]
mod tests;
