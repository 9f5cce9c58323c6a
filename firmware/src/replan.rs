//! What still stands of a log laid out anew on the controller, and made into a job that begins with the moves that are done.
//!
//! The order, and what has been found in the log since, are told; the best layout of what stands is looked for on a step, coarser
//! than the host's, by the same search. A layer that cannot be cut is mended, and where that cannot be done no floor lies so low, as
//! on the host. The job is judged as a whole: nothing is handed out that the rules refuse.

use bunkside_planner::layout::exact::{
    Asked, Class, Core, Found, Full, Item, Mark, Memory, One, Open, Rise, Rising, Sheet, Stair, Sum, Tier,
    Wanted, Way, by_prices,
};
use bunkside_planner::layout::{Draft, HIGHER, Mend, Remains, over_metal};
use bunkside_planner::limits::PLAN_LAYERS_MAX;
use bunkside_planner::plan::CutPlan;
use bunkside_planner::replay::{Replay, Setup};
use bunkside_planner::rules::{Finding, Severity};
use bunkside_planner::sequence::{Growth, PlanErrorKind, sequence_after};
use bunkside_planner::stock::{NotJudged, Stock};
use bunkside_protocol::job::{EncodeError, JobReader, JobWriter, mill_digest, record_crc};
use bunkside_protocol::{Length, Move, Position};
use heapless::Vec;

use crate::make::Made;
use crate::verify::{Refusal, judge_on};

/// Most heights of what stands, in steps.
const HEIGHTS: usize = 200;

/// Rooms: so many stretches of the log, times heights. A length takes two, one from either end, and four more where wane may be.
const ROOMS: usize = 2_048;

/// Amounts that may be missing at corners.
const CLASSES: usize = 8;

/// Rows of boards, floors of each that are looked at together, boards in all rows, ways to set them side by side.
const ROWS: usize = 32;
const BLOCK: usize = 8;
const ITEMS: usize = 96;
const WAYS: usize = 128;

/// Layouts that prices are set by.
const SEEN: usize = 8;

/// Most layouts that are tried on one step.
const TRIES: u32 = 64;

/// How often the step is doubled where there is no memory for it.
const DOUBLED: u32 = 3;

/// Most boards, or pairs of them, that are laid out, and columns they are sawn in.
const BOARDS: usize = 24;
const COLUMNS: usize = 96;

/// What is to be got out of what stands.
#[derive(Clone, Copy, Debug)]
pub struct Rest<'a> {
    /// The products.
    pub wanted: &'a [Wanted<'a>],
    /// No more than so many boards of each, none where that is open; beside `wanted`. What is off already does not count.
    pub most: &'a [Option<u16>],
    /// Taken off each end after sawing.
    pub end_trim: Length,
    /// Corners and floors lie on this step, a whole number of steps of the mill's grid: on twice, four or eight times that where
    /// there is no memory for it.
    pub step: Length,
    /// Pith or rot, if there is any.
    pub core: Option<Core>,
    /// Whether the log moves as it is opened.
    pub growth: Growth,
}

/// Why there is no job for what stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ReplanError {
    /// A move that is done cannot be judged, so that nobody knows what stands.
    NotJudged(u16, NotJudged),
    /// The blade stands in the log.
    InTheLog,
    /// The log is too high for the step, or the order too long.
    Full,
    /// No board has room.
    NothingFits,
    /// None of the layouts that were tried can be sawn.
    NoWay,
    /// The moves cannot be stored.
    Store(EncodeError),
    /// What was made cannot be judged.
    Judge(Refusal),
}

impl core::fmt::Display for ReplanError {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::NotJudged(index, reason) => write!(f, "move {index} cannot be judged: {reason}"),
            Self::InTheLog => {
                f.write_str("the blade stands in the log: end the stroke, or take the blade out, first")
            }
            Self::Full => f.write_str(
                "this controller has no memory for so much: take a coarser step or fewer products",
            ),
            Self::NothingFits => f.write_str("no board of the order has room in what stands"),
            Self::NoWay => {
                f.write_str("nothing that was tried can be sawn under the rules: plan it on the host")
            }
            Self::Store(error) => write!(f, "{error}"),
            Self::Judge(refusal) => write!(f, "{refusal}"),
        }
    }
}

impl core::error::Error for ReplanError {}

/// A job for what stands.
#[derive(Clone, Debug)]
pub struct Replanned {
    /// The job, which begins with the moves that are done.
    pub made: Made,
    /// How many these are: so many as were told, and those that free what was cut loose underneath.
    pub done: u16,
    /// What the layout is worth that is sawn, and what no layout on this step is worth more than.
    pub worth: i64,
    /// See [`Replanned::worth`].
    pub bound: i64,
    /// The step.
    pub step: Length,
    /// How many layouts were tried.
    pub tries: u32,
}

/// How a layout is looked for.
#[derive(Clone, Copy, Debug)]
struct Try {
    lowest: Option<Position>,
    /// Whether too little between layers is left nowhere.
    apart: bool,
    only_whole: bool,
    off_metal: bool,
    /// What is done about each layer of boards.
    mends: [Mend; PLAN_LAYERS_MAX],
}

/// What came of one.
enum Came {
    /// A job that no rule refuses.
    Made(Made),
    /// No layout mends that.
    Lies,
    /// No board has room.
    Nothing,
    /// This layer of boards, or waste over it, cannot be cut.
    Fault(Fault),
}

/// What cannot be cut.
#[derive(Clone, Copy)]
struct Fault {
    /// The layer of boards: the one on this floor, or the next one below.
    layer: usize,
    floor: Position,
    /// Which of its columns, where that is known.
    column: Option<usize>,
}

/// Lays out what stands of a log after the first `done` of some moves, and stores a job of these and of the moves that follow. No
/// rule refuses any of them; that it may be run is said of it as of any other, once it has been opened and judged.
///
/// # Errors
/// [`ReplanError`]; the bytes in the buffer are then of no use.
pub fn replan(
    setup: &Setup<'_>,
    moves: &(impl Iterator<Item = Move> + Clone),
    done: u16,
    rest: &Rest<'_>,
    out: &mut [u8],
) -> Result<Replanned, ReplanError> {
    let done = finished(setup, moves.clone(), done)?;
    let mut step = rest.step;
    for _ in 0..DOUBLED {
        match replan_on(step, setup, (moves, done), rest, out) {
            Err(ReplanError::Full) => step = step.times(2),
            came => return came,
        }
    }
    replan_on(step, setup, (moves, done), rest, out)
}

fn replan_on(
    step: Length,
    setup: &Setup<'_>,
    (moves, done): (&(impl Iterator<Item = Move> + Clone), u16),
    rest: &Rest<'_>,
    out: &mut [u8],
) -> Result<Replanned, ReplanError> {
    let mut search = Search {
        setup,
        moves,
        done,
        rest: &Rest { step, ..*rest },
        tries: 0,
        found: Found::default(),
        bound: None,
    };
    let metal = !setup.log.metal.is_empty();
    let mut laid = false;
    let ways = [(false, false), (false, true), (true, false), (true, true)];
    for (only_whole, off_metal) in ways.into_iter().filter(|(_, off_metal)| metal || !off_metal) {
        match search.down(only_whole, off_metal, out)? {
            Came::Made(made) => {
                return Ok(Replanned {
                    made,
                    done,
                    worth: search.found.worth,
                    bound: search.bound.unwrap_or(search.found.bound),
                    step,
                    tries: search.tries,
                });
            }
            Came::Lies => return Err(ReplanError::NoWay),
            Came::Nothing => {}
            Came::Fault(_) => laid = true,
        }
    }
    Err(if laid {
        ReplanError::NoWay
    } else {
        ReplanError::NothingFits
    })
}

/// A search for a layout that can be sawn.
struct Search<'a, M> {
    setup: &'a Setup<'a>,
    moves: &'a M,
    done: u16,
    rest: &'a Rest<'a>,
    tries: u32,
    /// What was found last, and the bound of what was found first.
    found: Found,
    bound: Option<i64>,
}

impl<M: Iterator<Item = Move> + Clone> Search<'_, M> {
    /// The first that passes, from the best on down: a layer that cannot be cut is mended, and where that cannot be done, no floor lies so
    /// low.
    fn down(&mut self, only_whole: bool, off_metal: bool, out: &mut [u8]) -> Result<Came, ReplanError> {
        let mut one = Try {
            lowest: None,
            apart: false,
            only_whole,
            off_metal,
            mends: [Mend::default(); PLAN_LAYERS_MAX],
        };
        let mut higher = HIGHER.into_iter();
        let mut came = self.attempt(&one, out)?;
        loop {
            let Came::Fault(fault) = came else {
                return Ok(came);
            };
            if let Some(next) = self.mend(&mut one, &fault, out)? {
                came = next;
                continue;
            }
            let floor = fault.floor;
            if one.apart || self.found.close[0] == 0 {
                let Some(by) = higher.next() else {
                    return Ok(came);
                };
                one.lowest = Some(over_metal(self.setup, floor).unwrap_or(floor + by));
            }
            one.apart = true;
            one.mends = [Mend::default(); PLAN_LAYERS_MAX];
            came = self.attempt(&one, out)?;
        }
    }

    /// Mends a layer, where that can be done: what came of that is no fault, or one further down.
    fn mend(&mut self, one: &mut Try, fault: &Fault, out: &mut [u8]) -> Result<Option<Came>, ReplanError> {
        if one.mends.get(fault.layer) != Some(&Mend::default()) {
            return Ok(None);
        }
        for mend in Mend::all(fault.column) {
            if self.tries >= TRIES {
                break;
            }
            if let Some(own) = one.mends.get_mut(fault.layer) {
                *own = mend;
            }
            let came = self.attempt(one, out)?;
            let mended = match &came {
                Came::Fault(next) => next.floor < fault.floor,
                Came::Lies | Came::Nothing => false,
                Came::Made(_) => true,
            };
            if mended {
                return Ok(Some(came));
            }
        }
        if let Some(own) = one.mends.get_mut(fault.layer) {
            *own = Mend::default();
        }
        Ok(None)
    }

    /// Looks for a layout, makes it into a job and judges that.
    fn attempt(&mut self, one: &Try, out: &mut [u8]) -> Result<Came, ReplanError> {
        self.tries += 1;
        let mut floors = Floors::new();
        let came = self.make(one, &mut floors, out)?;
        let Came::Made(made) = came else {
            return Ok(came);
        };
        let bytes = out.get(..made.len).unwrap_or(&[]);
        Ok(match refused(self.setup, bytes)? {
            None => Came::Made(made),
            Some(index) => fault(&floors, height_at(bytes, index)?, None),
        })
    }

    /// Looks for a layout, and makes it into a job that is not judged yet.
    #[inline(never)]
    fn make(&mut self, one: &Try, floors: &mut Floors, out: &mut [u8]) -> Result<Came, ReplanError> {
        let setup = self.setup;
        let mut draft: Draft<COLUMNS> = Draft::new();
        let stock = standing(setup, self.moves.clone(), self.done);
        let found = lay_out(setup, &stock, (self.rest, one), (&mut draft, floors));
        self.found = found.map_err(|_| ReplanError::Full)?;
        self.bound.get_or_insert(self.found.bound);
        if self.found.worth <= 0 {
            return Ok(Came::Nothing);
        }
        draft.with_plan(|plan| self.store(&plan, floors, out))
    }

    /// Makes a cut plan into a job that begins with the moves that are done.
    #[inline(never)]
    fn store(&self, plan: &CutPlan<'_>, floors: &Floors, out: &mut [u8]) -> Result<Came, ReplanError> {
        let (setup, mill) = (self.setup, self.setup.mill);
        let mut writer =
            JobWriter::new(mill_digest(mill), mill.grid, setup.log, out).map_err(ReplanError::Store)?;
        let mut count: u32 = 0;
        let mut done = self.moves.clone().take(usize::from(self.done));
        for told in done.clone() {
            writer.push(told).map_err(ReplanError::Store)?;
            count += 1;
        }
        let mut stored = Ok(());
        let sequenced = sequence_after(setup, &mut done, plan, self.rest.growth, &mut |told| {
            count = count.saturating_add(1);
            stored = writer.push(*told);
            stored.is_ok()
        });
        stored.map_err(ReplanError::Store)?;
        if let Err(error) = sequenced {
            let lies = matches!(
                error.kind,
                PlanErrorKind::Support(_) | PlanErrorKind::BeyondRails { .. }
            );
            let layer = plan.layers.get(error.layer).filter(|_| !lies);
            return Ok(layer.map_or(Came::Lies, |layer| fault(floors, layer.floor, error.column)));
        }
        let len = writer.finish(None).map_err(ReplanError::Store)?;
        let crc = out.get(..len).map_or(0, |bytes| record_crc(0, bytes));
        Ok(Came::Made(Made {
            len,
            moves: count,
            crc,
        }))
    }
}

/// The floors of the layers of boards, from the top down.
type Floors = Vec<Position, PLAN_LAYERS_MAX>;

/// A floor that cannot be cut, and the layer of boards on it or under it.
fn fault(floors: &Floors, floor: Position, column: Option<usize>) -> Came {
    let layer = floors
        .iter()
        .position(|own| *own <= floor)
        .unwrap_or(floors.len());
    // Waste has no boards to lean: those under it may be in the way.
    let column = column.filter(|_| floors.get(layer) == Some(&floor));
    Came::Fault(Fault { layer, floor, column })
}

/// How many moves are done once a column is free that stands over a kerf, the next ones made as they were to be; no more than are
/// done already, where they do not free it.
#[inline(never)]
fn finished(setup: &Setup<'_>, moves: impl Iterator<Item = Move>, done: u16) -> Result<u16, ReplanError> {
    let mut replay = Replay::new(setup, 0);
    let mut cut = false;
    let mut count = 0;
    for told in moves {
        if count == done && cut && setup.shape.travel().contains(replay.pose().travel) {
            return Err(ReplanError::InTheLog);
        }
        if count >= done && !replay.stock().is_undercut(&setup.shape) {
            return Ok(count);
        }
        let step = replay.step(&told);
        if let Some(reason) = step.not_judged.filter(|_| count < done) {
            return Err(ReplanError::NotJudged(step.index, reason));
        }
        cut = matches!(told, Move::Cut(_));
        count += 1;
    }
    let free = !replay.stock().is_undercut(&setup.shape);
    Ok(if free { count } else { done.min(count) })
}

/// What stands after moves.
#[inline(never)]
fn standing(setup: &Setup<'_>, moves: impl Iterator<Item = Move>, done: u16) -> Stock {
    let mut replay = Replay::new(setup, 0);
    for told in moves.take(usize::from(done)) {
        replay.step(&told);
    }
    replay.stock().clone()
}

/// Looks for the best layout of what stands, and draws it.
#[inline(never)]
fn lay_out(
    setup: &Setup<'_>,
    stock: &Stock,
    (rest, one): (&Rest<'_>, &Try),
    (draft, floors): (&mut Draft<COLUMNS>, &mut Floors),
) -> Result<Found, Full> {
    let asked = Asked {
        wanted: rest.wanted,
        most: rest.most,
        end_trim: rest.end_trim,
        step: rest.step,
        lowest: one.lowest,
        reached: None,
        core: rest.core,
        apart: one.apart,
        barred: &[],
        leans: &one.mends.map(|mend| mend.lean),
        standing: Some(Remains {
            stock,
            only_whole: one.only_whole,
            off_metal: one.off_metal,
        }),
    };
    let memory = Memory {
        chords: &mut [(0, 0); ROOMS],
        classes: &mut [Class::default(); CLASSES],
        tiers: &mut [Tier::default(); ROWS],
        items: &mut [Item::default(); ITEMS],
        rising: &mut core::array::from_fn::<_, ROWS, _>(|_| Rising::default()),
        marks: &mut [Mark::default(); ROWS],
        ways: &mut [Way::default(); WAYS],
        front: &mut [0; WAYS],
        rooms: &mut [(0, 0); ITEMS],
        seen: &mut core::array::from_fn::<_, SEEN, _>(|_| One::default()),
        stairs: &mut [Stair::default(); BLOCK * ROWS],
        rises: &mut [Rise::default(); HEIGHTS],
        sums: &mut [Sum::default(); WAYS],
    };
    let (mut open, mut sheet): (Open<BOARDS>, Sheet<BOARDS>) = (Open::default(), Sheet::default());
    let sawn = by_prices(setup, &asked, memory, (&mut open, &mut sheet))?;
    sawn.draw(rest.wanted, draft).map_err(|_| Full)?;
    floors.extend(sawn.floors().take(PLAN_LAYERS_MAX));
    for (floor, mend) in floors.iter().zip(&one.mends) {
        draft.mend(setup, *floor, mend);
    }
    Ok(sawn.found)
}

/// The first move of a job that a rule refuses.
#[inline(never)]
fn refused(setup: &Setup<'_>, bytes: &[u8]) -> Result<Option<u16>, ReplanError> {
    let report = judge_on(setup, &reader(bytes)?).map_err(ReplanError::Judge)?;
    let refuses = |one: &&Finding| one.objection.severity == Severity::Refuse;
    Ok(report.findings.iter().find(refuses).map(|one| one.index))
}

/// How high the blade's corner is after a move of a job.
fn height_at(bytes: &[u8], index: u16) -> Result<Position, ReplanError> {
    let moves = reader(bytes)?.moves().flatten().take(usize::from(index) + 1);
    let heights = moves.filter_map(|told| match told {
        Move::Go(to) => to.height,
        Move::Cut(cut) => cut.to.height,
        _ => None,
    });
    Ok(heights.last().unwrap_or(Position::ZERO))
}

fn reader(bytes: &[u8]) -> Result<JobReader<'_>, ReplanError> {
    JobReader::open(bytes).map_err(|error| ReplanError::Judge(Refusal::Bytes(error)))
}
