//! The best layout that can be sawn.
//!
//! What is worth most need not stand while it is sawn. Where a layer of the best layout cannot be cut, its boards lean to one side
//! of their room, what is left between two columns and too narrow to stand goes to one of them, or the last of its columns are
//! released together; where too little is left between two layers, the best layout is taken that leaves none or enough; where what
//! stands would still move, no floor lies so low; and
//! where none of that does, the log is laid out as a sawyer would by hand, unless it is partly sawn.

use bunkside_planner::audit::Verdict;
use bunkside_planner::layout::exact::{Barred, Lean};
use bunkside_planner::layout::{HIGHER, LayoutError, Mend, height_on, over_metal};
use bunkside_planner::replay::Setup;
use bunkside_planner::rules::{Finding, Severity};
use bunkside_planner::sequence::{PlanError, PlanErrorKind};
use bunkside_protocol::{Length, Position};

use super::{Layout, Line, TRIES, Wishes, best_of, worth};
use crate::account::boards::Boards;
use crate::account::value::sum;
use crate::cut_plan::OwnedPlan;
use crate::job::Job;
use crate::planned::{Planned, lay_out_plainly};

/// Most layouts that are run.
const RUNS: u32 = 96;

/// The same where nobody asked for the best layout, and what it would bring is only told beside another.
const FEW_RUNS: u32 = 6;

/// Most layouts that are run without what cannot be sawn, and where nobody asked.
const MORE_RUNS: u32 = 96;
const MORE_FEW_RUNS: u32 = 16;

/// The best layout of a log, and the best one that can be sawn by rule of thumb, where any was found.
#[derive(Clone, Debug)]
pub struct Best {
    /// The best one, whether it can be sawn or not.
    pub any: Layout,
    /// One that can be sawn.
    pub sawable: Option<Layout>,
}

/// Finds the best layout of a log and one like it that can be sawn; none where there is too much of it for any memory.
#[must_use]
pub fn sawable(job: &Job, setup: &Setup<'_>) -> Option<Best> {
    let any = super::best(job, setup)?;
    let sawable = Search::new(job, setup).from(any.clone());
    Some(Best { any, sawable })
}

/// A layout like this one, the best at such prices, that can be sawn by rule of thumb; none where none was found.
#[must_use]
pub fn sawable_at(
    job: &Job,
    setup: &Setup<'_>,
    (lines, stacks): (&[Line], usize),
    best: Layout,
) -> Option<Layout> {
    let wishes = Wishes {
        stacks,
        ..Wishes::at(lines.to_vec())
    };
    sawn_of(job, setup, wishes, best)
}

/// The same of whatever is asked.
pub(super) fn sawn_of(job: &Job, setup: &Setup<'_>, wishes: Wishes, best: Layout) -> Option<Layout> {
    let search = Search {
        wishes,
        ..Search::new(job, setup)
    };
    { search }.from(best)
}

/// Chooses the layout of a log that is worth most of those that can be sawn, the plain one among them. Where none passes by
/// rule of thumb, the best one: another order of cuts may, or what stands in the way is told.
///
/// # Errors
///
/// [`LayoutError`] where no board has room.
pub fn choose(job: &Job, setup: &Setup<'_>) -> Result<OwnedPlan, LayoutError> {
    // The hand habit knows of no log that is partly sawn.
    let plain = match job.begun {
        Some(_) => Err(LayoutError::NothingFits),
        None => lay_out_plainly(job, setup),
    };
    let Some(best) = sawable(job, setup).filter(|best| !best.any.boards.is_empty()) else {
        return plain;
    };
    let sawn = best.sawable.map(|layout| layout.plan);
    let brings = sawn.as_ref().map_or(i64::MIN, |plan| worth(job, plan));
    let mut search = Search::new(job, setup);
    let plain = plain
        .ok()
        .filter(|plain| worth(job, plain) > brings && counted(job, setup, plain) > brings)
        .filter(|plain| search.fault(plain).is_none());
    let any = best.any.plan;
    let refused = |plan: &OwnedPlan| {
        let ran = Planned::new(job, setup, plan);
        ran.is_ok_and(|planned| planned.trace.verdict == Verdict::Refused)
    };
    match plain.or(sawn) {
        // Nothing is handed out that the rules refuse; what stands in the way of moves is told.
        None if job.begun.is_some() && refused(&any) => Err(LayoutError::NothingFits),
        found => Ok(found.unwrap_or(any)),
    }
}

/// The best layout that can be sawn, where that is found with little work, counted and not timed: the usual memory does, and no
/// more than a few layouts are run. It is the one that [`choose`] comes to. None too where no layout brings more than `over`,
/// thousandths of the job's money.
#[must_use]
pub fn quickly(job: &Job, setup: &Setup<'_>, over: i64) -> Option<OwnedPlan> {
    let best = best_of(job, setup, &Wishes::of(job), 1)?;
    if best.found.bound <= over {
        return None;
    }
    let mut search = Search {
        runs: FEW_RUNS,
        more_runs: MORE_FEW_RUNS,
        tries: 1,
        ..Search::new(job, setup)
    };
    let found = search.down_from(best.clone())?;
    let found = search.without(best, Some(found));
    // With more runs something better might have come.
    found.filter(|_| search.runs > 0).map(|layout| layout.plan)
}

/// What a layout like the best one brings that can be sawn; none where none was found.
pub(super) fn sawn_like(job: &Job, setup: &Setup<'_>, best: &Layout) -> Option<i64> {
    let sawn = Search::new(job, setup).from(best.clone())?;
    Some(sawn.found.worth)
}

/// The hand habit's layout, where it can be sawn by rule of thumb.
#[must_use]
pub fn by_hand(job: &Job, setup: &Setup<'_>) -> Option<OwnedPlan> {
    let plain = lay_out_plainly(job, setup).ok()?;
    is_sawable(job, setup, &plain).then_some(plain)
}

/// Whether a plan can be sawn by rule of thumb.
#[must_use]
pub fn is_sawable(job: &Job, setup: &Setup<'_>, plan: &OwnedPlan) -> bool {
    Search::new(job, setup).fault(plan).is_none()
}

/// What the boards of a plan bring that count when it is sawn by rule of thumb, thousandths.
fn counted(job: &Job, setup: &Setup<'_>, plan: &OwnedPlan) -> i64 {
    Planned::new(job, setup, plan).map_or(i64::MIN, |planned| sum(job, &Boards::of(&planned)))
}

/// Why a layout cannot be sawn by rule of thumb.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Fault {
    /// How the log lies: no layout mends that.
    Lies,
    /// A layer cannot be cut, and where it is known, which of its columns.
    Layer { floor: Position, column: Option<usize> },
}

/// What a layout keeps to.
#[derive(Clone, Debug, Default)]
struct Keeps {
    /// No floor lies lower.
    lowest: Option<Position>,
    /// Whether too little between layers is left nowhere.
    apart: bool,
    /// Where layers do not lie.
    barred: Vec<Barred>,
}

/// A way down from the best layout.
struct Down {
    layout: Layout,
    keeps: Keeps,
    /// How much higher the lowest floor lies next.
    higher: std::array::IntoIter<Length, { HIGHER.len() }>,
}

impl Down {
    fn from(layout: Layout, keeps: Keeps) -> Self {
        Self {
            layout,
            keeps,
            higher: HIGHER.into_iter(),
        }
    }
}

struct Search<'a> {
    job: &'a Job,
    setup: &'a Setup<'a>,
    /// What is asked of every layout.
    wishes: Wishes,
    runs: u32,
    more_runs: u32,
    /// How often a layout is tried, each time with twice the memory.
    tries: u32,
    /// Whether a layer is mended only where that is simple.
    few: bool,
}

impl<'a> Search<'a> {
    fn new(job: &'a Job, setup: &'a Setup<'a>) -> Self {
        Self {
            job,
            setup,
            wishes: Wishes::of(job),
            runs: RUNS,
            more_runs: MORE_RUNS,
            tries: TRIES,
            few: false,
        }
    }

    /// The first layout from the best on down that passes; where nothing does, of a log that is partly sawn the first whose boards and
    /// kerfs keep off metal, or that lies below its lowest kerf.
    fn from(&mut self, best: Layout) -> Option<Layout> {
        let found = self.down_from(best.clone());
        let found = self.without(best, found);
        if found.is_some() || self.job.begun.is_none() {
            return found;
        }
        let metal = !self.job.log.metal.is_empty();
        [(false, true), (true, false), (true, true)]
            .into_iter()
            .filter(|(_, off_metal)| metal || !off_metal)
            .find_map(|(only_whole, off_metal)| {
                (self.wishes.only_whole, self.wishes.off_metal, self.runs) = (only_whole, off_metal, RUNS);
                let best = self.over(&Keeps::default())?;
                self.down_from(best)
            })
    }

    /// From this layout on down, by whichever of two ways still brings more: floors that lie higher, or those and layers apart.
    fn down_from(&mut self, best: Layout) -> Option<Layout> {
        let mut ways = vec![Down::from(best, Keeps::default())];
        let mut split = false;
        loop {
            let brings = |way: &Down| way.layout.found.worth;
            let at = (0..ways.len()).rev().max_by_key(|at| ways.get(*at).map(brings))?;
            let mut way = ways.remove(at);
            let floor = match self.passes(way.layout.clone(), way.keeps.lowest) {
                Ok(layout) => return Some(layout),
                Err(Fault::Lies) => return None,
                Err(Fault::Layer { .. }) if self.runs == 0 => return None,
                Err(Fault::Layer { floor, .. }) => floor,
            };
            if !split && way.layout.found.close[0] > 0 {
                split = true;
                let keeps = Keeps {
                    apart: true,
                    ..way.keeps.clone()
                };
                let apart = self.over(&keeps);
                ways.extend(apart.map(|layout| Down::from(layout, keeps)));
            }
            let lowest = over_metal(self.setup, floor).or_else(|| Some(floor + way.higher.next()?));
            if lowest.is_none() {
                continue;
            }
            way.keeps.lowest = lowest;
            if let Some(layout) = self.over(&way.keeps) {
                way.layout = layout;
                ways.insert(at.min(ways.len()), way);
            }
        }
    }

    /// The layout, or the same mended, where it passes; else what is at fault.
    fn passes(&mut self, layout: Layout, lowest: Option<Position>) -> Result<Layout, Fault> {
        let (mut layout, mut mends) = (layout, Vec::new());
        let mut fault = self.fault(&layout.plan);
        loop {
            let Some(own) = fault else {
                return Ok(layout);
            };
            let Fault::Layer { floor, column } = own else {
                return Err(own);
            };
            (layout, fault) = self
                .mended(&layout, lowest, &mut mends, (floor, column))
                .ok_or(own)?;
        }
    }

    /// The best layout that keeps to something, if any board has room.
    fn over(&self, keeps: &Keeps) -> Option<Layout> {
        let Keeps {
            lowest,
            apart,
            barred,
        } = keeps.clone();
        let wishes = Wishes {
            lowest,
            apart,
            barred,
            ..self.wishes.clone()
        };
        best_of(self.job, self.setup, &wishes, self.tries).filter(|layout| !layout.boards.is_empty())
    }

    /// A layout over a lowest floor, its layers mended.
    fn leant(&self, layout: &Layout, lowest: Option<Position>, mends: &[Mend]) -> Option<Layout> {
        let leans = mends.iter().map(|mend| mend.lean).collect();
        let wishes = Wishes {
            lowest,
            leans,
            ..self.wishes.clone()
        };
        let mut layout = super::leant(self.job, self.setup, &wishes, layout)?;
        for (floor, mend) in layout.floors.iter().zip(mends) {
            carry_out(self.setup, mend, &mut layout.plan, *floor);
        }
        Some(layout)
    }

    /// The same boards, the layer that cannot be cut mended, and a lower one at fault, if any is.
    fn mended(
        &mut self,
        layout: &Layout,
        lowest: Option<Position>,
        mends: &mut Vec<Mend>,
        (floor, column): (Position, Option<usize>),
    ) -> Option<(Layout, Option<Fault>)> {
        // Waste has no boards to lean: those under it may be in the way.
        let number = layout.floors.iter().position(|own| *own <= floor)?;
        mends.resize(layout.floors.len().max(mends.len()), Mend::default());
        if mends.get(number) != Some(&Mend::default()) {
            return None;
        }
        let column = column.filter(|_| layout.floors.get(number) == Some(&floor));
        let all = Mend::all(column).filter(|mend| !self.few || is_simple(mend));
        for mend in all.collect::<Vec<_>>() {
            if self.runs == 0 {
                return None;
            }
            let mut tried = mends.clone();
            *tried.get_mut(number)? = Mend {
                absorbed: None,
                ..mend
            };
            let mut next = self.leant(layout, lowest, &tried)?;
            let floor_now = *next.floors.get(number)?;
            if mend.absorbed.is_some() && !carry_out(self.setup, &mend, &mut next.plan, floor_now) {
                continue;
            }
            *tried.get_mut(number)? = mend;
            let fault = self.fault(&next.plan);
            let lower = matches!(fault, Some(Fault::Layer { floor: own, .. }) if own < floor);
            if fault.is_none() || lower {
                *mends = tried;
                return Some((next, fault));
            }
        }
        None
    }

    /// Why a plan cannot be sawn by rule of thumb; none where it can.
    fn fault(&mut self, plan: &OwnedPlan) -> Option<Fault> {
        self.runs = self.runs.saturating_sub(1);
        let planned = match Planned::new(self.job, self.setup, plan) {
            Ok(planned) => planned,
            Err(error) => {
                return Some(at_fault(&error, plan));
            }
        };
        if planned.needs_second().is_some() {
            return Some(Fault::Lies);
        }
        if planned.trace.verdict != Verdict::Refused {
            return None;
        }
        let refuses = |finding: &&Finding| finding.objection.severity == Severity::Refuse;
        let refused = planned.trace.findings.iter().find(refuses)?;
        let ran = planned.trace.moves.get(usize::from(refused.index));
        Some(ran.map_or(Fault::Lies, |ran| Fault::Layer {
            floor: ran.step.after.height,
            column: None,
        }))
    }
}

/// Mends the layer of a plan with a floor, its boards leaning so already; whether there was anything to do.
fn carry_out(setup: &Setup<'_>, mend: &Mend, plan: &mut OwnedPlan, floor: Position) -> bool {
    let height = height_on(setup, plan.layers.iter().map(|layer| layer.floor), floor);
    let Some(layer) = plan.layers.iter_mut().find(|layer| layer.floor == floor) else {
        return false;
    };
    let left = mend.carry_out(setup, &mut layer.columns, height);
    layer.columns.truncate(left.unwrap_or(usize::MAX));
    left.is_some()
}

/// Whether a mend does one thing only, and no board comes out wider by it.
fn is_simple(mend: &Mend) -> bool {
    mend.absorbed.is_none() && (mend.released.is_none() || mend.lean == Lean::Middle)
}

/// Where in a plan something stands in the way.
fn at_fault(error: &PlanError, plan: &OwnedPlan) -> Fault {
    if let PlanErrorKind::Support(_) | PlanErrorKind::BeyondRails { .. } = error.kind {
        return Fault::Lies;
    }
    let layer = plan.layers.get(error.layer);
    layer.map_or(Fault::Lies, |layer| Fault::Layer {
        floor: layer.floor,
        column: error.column,
    })
}

mod barred;
#[cfg(test)]
mod tests;
