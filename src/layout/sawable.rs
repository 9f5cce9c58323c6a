//! The best layout that can be sawn.
//!
//! What is worth most need not stand while it is sawn. Where a layer of the best layout cannot be cut, its boards lean to one side
//! of their room, what is left between two columns and too narrow to stand goes to one of them, or the last of its columns are
//! released together; where what stands would still move, no floor lies so low; and
//! where none of that does, the log is laid out as a sawyer would by hand.

use bunkside_planner::audit::Verdict;
use bunkside_planner::layout::LayoutError;
use bunkside_planner::machine::Apart;
use bunkside_planner::replay::Setup;
use bunkside_planner::rules::{Finding, Severity};
use bunkside_planner::sequence::{PlanError, PlanErrorKind};
use bunkside_protocol::{Length, Position};

use super::mend::Mend;
use super::{Layout, Line, TRIES, Wishes, best_of, worth};
use crate::account::boards::Boards;
use crate::account::value::sum;
use crate::cut_plan::OwnedPlan;
use crate::job::Job;
use crate::planned::{Planned, lay_out_plainly};

/// Most layouts that are run.
const RUNS: u32 = 64;

/// The same where nobody asked for the best layout, and what it would bring is only told beside another.
const FEW_RUNS: u32 = 6;

/// How much higher the lowest floor lies, try by try, where what stands would move.
const HIGHER: [Length; 8] = [
    Length::um(500),
    Length::mm(1),
    Length::mm(2),
    Length::mm(5),
    Length::mm(10),
    Length::mm(20),
    Length::mm(40),
    Length::mm(80),
];

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
    let plain = lay_out_plainly(job, setup);
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
    Ok(plain.or(sawn).unwrap_or(best.any.plan))
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
        tries: 1,
        ..Search::new(job, setup)
    };
    Some(search.from(best)?.plan)
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
    Search::new(job, setup).fault(&plain).is_none().then_some(plain)
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

struct Search<'a> {
    job: &'a Job,
    setup: &'a Setup<'a>,
    /// What is asked of every layout.
    wishes: Wishes,
    runs: u32,
    /// How often a layout is tried, each time with twice the memory.
    tries: u32,
}

impl<'a> Search<'a> {
    fn new(job: &'a Job, setup: &'a Setup<'a>) -> Self {
        Self {
            job,
            setup,
            wishes: Wishes::of(job),
            runs: RUNS,
            tries: TRIES,
        }
    }

    /// The first layout from the best on down that passes.
    fn from(&mut self, best: Layout) -> Option<Layout> {
        let (mut layout, mut mends, mut lowest) = (best, Vec::new(), None);
        let mut higher = HIGHER.into_iter();
        let mut fault = self.fault(&layout.plan);
        loop {
            let (floor, column) = match fault {
                None => return Some(layout),
                Some(Fault::Lies) => return None,
                Some(Fault::Layer { floor, column }) => (floor, column),
            };
            if let Some((next, left)) = self.mended(&layout, lowest, &mut mends, (floor, column)) {
                (layout, fault) = (next, left);
                continue;
            }
            if self.runs == 0 {
                return None;
            }
            mends.clear();
            lowest = Some(self.over_metal(floor).unwrap_or(floor + higher.next()?));
            layout = self.over(lowest).filter(|layout| !layout.boards.is_empty())?;
            fault = self.fault(&layout.plan);
        }
    }

    /// A floor over metal in the log, where a kerf on this one would come too near to it.
    fn over_metal(&self, floor: Position) -> Option<Position> {
        let (kerf, clear) = (self.setup.mill.blade.kerf, Apart::metal(self.setup.mill).height);
        let metal = self
            .setup
            .log
            .metal
            .iter()
            .map(|metal| (metal.min[2], metal.max[2]));
        let near = metal.filter(|(low, high)| floor < *high + clear && *low - clear < floor + kerf);
        near.map(|(_, high)| high + clear).max()
    }

    /// The best layout over a lowest floor.
    fn over(&self, lowest: Option<Position>) -> Option<Layout> {
        let wishes = Wishes {
            lowest,
            ..self.wishes.clone()
        };
        best_of(self.job, self.setup, &wishes, self.tries)
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
            mend.carry_out(self.setup, &mut layout.plan, *floor);
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
        for mend in Mend::all(column) {
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
            if mend.absorbed.is_some() && !mend.carry_out(self.setup, &mut next.plan, floor_now) {
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

#[cfg(test)]
mod tests {
    use bunkside_planner::geometry::Interval;
    use bunkside_planner::layout::exact::{Core, Heart, Wane};

    use super::*;
    use crate::layout::best;
    use crate::order::tests::random::{Chance, log, mill};
    use crate::order::tests::{example, seeds};

    /// Metal keeps every kerf 10 mm off: where a floor comes too near, the lowest one is to lie over it.
    #[test]
    fn a_floor_over_metal_keeps_off_it() {
        let job = example("a-02");
        let setup = Setup::new(&job.mill, &job.log).unwrap();
        let search = Search::new(&job, &setup);
        let [.., low] = job.log.metal[0].min;
        let [.., high] = job.log.metal[0].max;
        let clear = Apart::metal(&job.mill).height;
        assert_eq!(search.over_metal(low), Some(high + clear));
        assert_eq!(search.over_metal(high + clear), None);
        assert_eq!(search.over_metal(low - clear - job.mill.blade.kerf), None);
    }

    /// What is chosen passes by rule of thumb and brings no less than the hand habit does.
    #[test]
    fn examples_are_laid_out_for_most_of_what_can_be_sawn() {
        for (name, at_least) in [
            ("a-02", 170_000),
            ("g-04", 34_000),
            ("oak-14", 0),
            ("p-07", 38_000),
        ] {
            let job = example(name);
            let setup = Setup::new(&job.mill, &job.log).unwrap();
            let chosen = choose(&job, &setup).unwrap();
            assert_eq!(Search::new(&job, &setup).fault(&chosen), None, "{name}");
            let plain = lay_out_plainly(&job, &setup).unwrap();
            let brings = worth(&job, &chosen);
            assert!(brings >= worth(&job, &plain).max(at_least), "{name}: {brings}");
        }
    }

    /// Boards that may lack something at their corners are looked for as such, and found to be good by whoever counts them, who
    /// looks at every section of the log along each.
    #[test]
    fn boards_with_wane_bring_more_and_count() {
        let tables = [
            Wane::NONE,
            Wane {
                face: Length::mm(15),
                edge: Some(Length::mm(8)),
                whole: 600,
            },
            Wane {
                face: Length::mm(15),
                edge: Some(Length::mm(8)),
                whole: 0,
            },
            Wane {
                face: Length::mm(15),
                edge: None,
                whole: 0,
            },
        ];
        let mut with_wane = 0;
        for name in ["a-02", "b-01", "e-09", "g-04", "oak-14", "p-07"] {
            let mut job = example(name);
            let mut before = 0;
            for wane in tables {
                for board in &mut job.boards {
                    board.wane = wane;
                }
                let setup = Setup::new(&job.mill, &job.log).unwrap();
                let any = best(&job, &setup).unwrap();
                assert!(any.found.worth >= before, "{name}: {} {before}", any.found.worth);
                with_wane += usize::from(any.found.worth > before);
                before = any.found.worth;
                let chosen = choose(&job, &setup).unwrap();
                let (brings, lines) = told(&job, &setup, &chosen);
                assert_eq!(lines, [""; 0], "{name}: {wane:?}");
                assert_eq!(brings, worth(&job, &chosen), "{name}: {wane:?}");
            }
        }
        assert!(with_wane > 15, "{with_wane}");
    }

    /// What the boards that count bring, and the lines of those that do not.
    fn told(job: &Job, setup: &Setup<'_>, chosen: &OwnedPlan) -> (i64, Vec<String>) {
        let planned = Planned::new(job, setup, chosen).unwrap();
        let boards = Boards::of(&planned);
        (sum(job, &boards), boards.spoilt_lines())
    }

    /// The less may lie in a board, the less is brought, and whoever counts the boards finds none that the core lies in: along all
    /// of the log, or from 1 m to 2 m. By the hand habit, which knows no core, some do not count.
    #[test]
    fn boards_keep_clear_of_the_core_and_count() {
        let (mut less, mut spoilt) = (0, 0);
        for name in ["a-02", "b-01", "e-09", "g-04", "oak-14", "p-07"] {
            let mut job = example(name);
            let log = Setup::new(&job.mill, &job.log).unwrap().shape.travel();
            let part = Interval::new(log.lo + Length::mm(1_000), log.lo + Length::mm(2_000));
            let without = best(&job, &Setup::new(&job.mill, &job.log).unwrap()).unwrap();
            let mut before = i64::MAX;
            for (travel, heart) in [
                (log, Heart::Any),
                (part, Heart::Inside),
                (log, Heart::Inside),
                (log, Heart::Clear),
            ] {
                job.core = Some(Core {
                    travel,
                    thick: Length::mm(60),
                });
                for board in &mut job.boards {
                    board.core = heart;
                }
                let setup = Setup::new(&job.mill, &job.log).unwrap();
                let any = best(&job, &setup).unwrap().found;
                if heart == Heart::Any {
                    assert_eq!(any.worth, without.found.worth, "{name}");
                    before = any.worth;
                }
                assert!(any.worth <= before, "{name}: {heart:?}");
                less += usize::from(any.worth < before);
                before = any.worth;
                let chosen = choose(&job, &setup).unwrap();
                let (brings, lines) = told(&job, &setup, &chosen);
                assert_eq!(lines, [""; 0], "{name}: {heart:?}");
                assert_eq!(brings, worth(&job, &chosen), "{name}: {heart:?}");
            }
            let setup = Setup::new(&job.mill, &job.log).unwrap();
            let plain = lay_out_plainly(&job, &setup).unwrap();
            spoilt += told(&job, &setup, &plain).1.len();
        }
        assert!(less > 6 && spoilt > 6, "{less} {spoilt}");
    }

    /// `BUNKSIDE_RUNS` for more of them.
    #[test]
    fn random_logs_bring_no_less_than_by_hand_and_can_be_sawn() {
        let (mut over, mut given_up, mut none) = (Vec::new(), Vec::new(), 0);
        let (mut spoilt, mut boards) = (0, 0);
        for seed in seeds(8) {
            let mut chance = Chance::new(seed + 7_000);
            let mut job = example("b-01");
            job.mill = mill(&mut chance);
            job.log = log(&mut chance, &mut job.mill, (180, 480), (4_950, 5_400));
            let setup = Setup::new(&job.mill, &job.log).unwrap();
            let Ok(plain) = lay_out_plainly(&job, &setup) else {
                continue;
            };
            let chosen = choose(&job, &setup).unwrap();
            let mut search = Search::new(&job, &setup);
            let [sawn, by_hand] = [&chosen, &plain].map(|plan| search.fault(plan).is_none());
            if !sawn {
                assert!(!by_hand, "{seed}: the plain layout can be sawn");
                none += 1;
                continue;
            }
            let planned = Planned::new(&job, &setup, &chosen).unwrap();
            spoilt += Boards::of(&planned).spoilt.len();
            boards += Boards::of(&planned).count();
            let brings = worth(&job, &chosen);
            let bound = best(&job, &setup).map_or(brings, |layout| layout.found.bound);
            assert!(brings <= bound, "{seed}: {brings} of {bound}");
            given_up.push(1.0 - brings as f64 / bound as f64);
            if by_hand {
                let plainly = worth(&job, &plain);
                assert!(brings >= plainly, "{seed}: {brings}, {plainly} by hand");
                over.push(brings as f64 / plainly.max(1) as f64);
            }
            println!("{seed}: {brings} of {bound}, by hand {}", worth(&job, &plain));
        }
        for all in [&mut over, &mut given_up] {
            all.sort_by(f64::total_cmp);
        }
        let middle = |all: &[f64]| all.get(all.len() / 2).copied().unwrap_or(f64::NAN);
        println!(
            "{} logs: {:.3} times what the hand habit brings in the median, {:.3} at worst; {:.4} of the bound given up in the \
             median, {:.4} at worst; {none} that nothing saws; of \
             {boards} boards {spoilt} do not count",
            given_up.len(),
            middle(&over),
            over.first().copied().unwrap_or(f64::NAN),
            middle(&given_up),
            given_up.last().copied().unwrap_or(f64::NAN),
        );
        assert_eq!(spoilt, 0, "of {boards} boards");
        assert!(given_up.len() >= 4, "{}", given_up.len());
    }
}
