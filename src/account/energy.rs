//! How hard the timber saws, and how sure that is.

use std::collections::BTreeMap;

use bunkside_planner::audit::{Verdict, audit};
use bunkside_planner::replay::{Replay, Setup};
use bunkside_protocol::{LogRecord, Move};
use serde::Serialize;

use super::feeds::{Factors, Held};
use crate::job::{EnergySource, Job};
use crate::species::CUTTING_ENERGY_UNCERTAINTY;
use crate::trace::Trace;

/// What it takes to saw it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct EnergyEntry {
    /// Energy to cut a volume of kerf, N/mm² (the same as J/cm³).
    pub n_per_mm2: u16,
    /// `job`, `mill`, `species` or `class`.
    pub from: &'static str,
    /// How far off it may be, percent; none where it was measured.
    pub uncertainty_percent: Option<u16>,
    /// The most that the same moves may take, up to twice as much, before a rule refuses them; none where one does so
    /// already.
    pub passes_to_n_per_mm2: Option<u16>,
}

impl EnergyEntry {
    /// That of a job, and up to which the moves that ran on its log pass.
    #[must_use]
    pub fn of(job: &Job, setup: &Setup<'_>, trace: &Trace) -> Self {
        let from = match job.energy_from {
            EnergySource::Job => "job",
            EnergySource::Mill => "mill",
            EnergySource::Species => "species",
            EnergySource::Class => "class",
        };
        Self {
            n_per_mm2: job.log.cutting_energy,
            from,
            uncertainty_percent: uncertainty(job),
            passes_to_n_per_mm2: *trace.passes_to.get_or_init(|| passes_to(setup, trace)),
        }
    }

    /// In words: how much, from where, how sure.
    #[must_use]
    pub fn words(&self) -> String {
        let from = match self.from {
            "job" => "as the job says",
            "mill" => "as measured on the mill in such timber",
            "species" => "estimate from the species",
            _ => "guess from how hard it saws",
        };
        let spread = self
            .uncertainty_percent
            .map_or_else(String::new, |percent| format!(", give or take {percent} %"));
        let told = format!(
            "{} N/mm2 to cut: {from}{spread}; feeds and forces rest on it",
            self.n_per_mm2
        );
        match self.passes_to_n_per_mm2 {
            Some(most) if most >= 2 * self.n_per_mm2 => format!("{told}, and would pass at twice as much"),
            Some(most) => format!(
                "{told}: above {most} N/mm2 the rules refuse these moves, so plan with more (`log.cutting_energy`) where \
                 it may saw harder"
            ),
            None => told,
        }
    }
}

/// The margins of a run where the timber saws as hard as it may.
#[derive(Clone, Debug, PartialEq)]
pub struct Harder {
    /// How much harder that is, percent.
    pub percent: u16,
    /// The margins of every cut in wood, by its move.
    held: BTreeMap<u16, Held>,
}

impl Harder {
    /// The same moves at the same feeds, run again at the upper end of what is not known better; none where the energy was
    /// measured.
    #[must_use]
    pub fn of(job: &Job, setup: &Setup<'_>, trace: &Trace) -> Option<Self> {
        let percent = uncertainty(job)?;
        let energy = u32::from(setup.log.cutting_energy) * (100 + u32::from(percent));
        let log = LogRecord {
            cutting_energy: u16::try_from(energy.div_ceil(100)).unwrap_or(u16::MAX),
            ..setup.log.clone()
        };
        let setup = Setup::new(setup.mill, &log).ok()?;
        let mut replay = Replay::new(&setup, 0);
        let steps = trace.moves.iter().map(|traced| replay.step(&traced.step.told));
        let held = steps.filter_map(|step| Some((step.index, Held::of(&setup, &step)?)));
        Some(Self {
            percent,
            held: held.collect(),
        })
    }

    /// The least margins of a cut, by its move.
    #[must_use]
    pub fn least(&self, at: u16) -> Option<Factors> {
        self.held.get(&at).map(Held::least)
    }
}

/// How far off the energy of a job may be, percent; none where it was measured.
fn uncertainty(job: &Job) -> Option<u16> {
    match job.energy_from {
        EnergySource::Job | EnergySource::Mill => None,
        EnergySource::Species | EnergySource::Class => Some(CUTTING_ENERGY_UNCERTAINTY),
    }
}

/// The most that sawing may take, up to twice what the log says, before a rule refuses the moves; none where one does so
/// already.
fn passes_to(setup: &Setup<'_>, trace: &Trace) -> Option<u16> {
    let moves: Vec<Move> = trace.moves.iter().map(|traced| traced.step.told).collect();
    let passes = |cutting_energy: u16| {
        let log = LogRecord {
            cutting_energy,
            ..setup.log.clone()
        };
        Setup::new(setup.mill, &log).is_ok_and(|setup| {
            let told = moves.iter().copied();
            audit(&setup, told, &mut |_, _, _| {}, &mut |_| {}) != Verdict::Refused
        })
    };
    let told = setup.log.cutting_energy;
    if trace.verdict == Verdict::Refused || !passes(told) {
        return None;
    }
    // Whatever takes more to saw pushes more: what is refused at one is at every greater one.
    let (mut good, mut most) = (told, told.saturating_mul(2));
    while good < most {
        let middle = good + (most - good).div_ceil(2);
        if passes(middle) {
            good = middle;
        } else {
            most = middle - 1;
        }
    }
    Some(good)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The saw's force grows with the energy, the log's weight does not: a push that grows so and so much leaves so much less
    /// of the margin while it cuts, and none of it at rest.
    #[test]
    fn harder_timber_takes_from_the_margins_while_it_is_cut() {
        let job = crate::order::example("g-04");
        let setup = Setup::new(&job.mill, &job.log).unwrap();
        let plan = crate::planned::lay_out(&job, &setup).unwrap();
        let planned = crate::planned::Planned::new(&job, &setup, &plan).unwrap();
        let harder = Harder::of(&job, &setup, &planned.trace).unwrap();
        assert_eq!(harder.percent, CUTTING_ENERGY_UNCERTAINTY);
        let steps = planned.trace.moves.iter().map(|traced| &traced.step);
        let cuts: Vec<_> = steps
            .filter_map(|step| Some((Held::of(&setup, step)?, harder.held.get(&step.index)?)))
            .collect();
        assert_eq!(cuts.len(), harder.held.len());
        assert!(cuts.len() > 20, "{}", cuts.len());
        for (usual, hard) in &cuts {
            let pull = hard.along_n / usual.along_n;
            assert!((1.1..1.45).contains(&pull), "{pull}");
            for ((_, less), (_, more)) in hard.least().named().iter().zip(usual.least().named()) {
                assert!(*less <= more + 1e-9 && *less > more / 2.0, "{less} {more}");
            }
        }
        assert!(
            cuts.iter()
                .any(|(usual, hard)| hard.least().slip < 0.8 * usual.least().slip)
        );
        let measured = Job {
            energy_from: EnergySource::Mill,
            ..job.clone()
        };
        assert_eq!(Harder::of(&measured, &setup, &planned.trace), None);
    }

    #[test]
    fn what_is_told_to_pass_passes_and_one_more_is_refused() {
        let job = crate::order::example("g-04");
        let setup = Setup::new(&job.mill, &job.log).unwrap();
        let plan = crate::planned::lay_out(&job, &setup).unwrap();
        let planned = crate::planned::Planned::new(&job, &setup, &plan).unwrap();
        let most = EnergyEntry::of(&job, &setup, &planned.trace)
            .passes_to_n_per_mm2
            .unwrap();
        assert!(
            (job.log.cutting_energy..2 * job.log.cutting_energy).contains(&most),
            "{most}"
        );
        let moves: Vec<Move> = planned.moves;
        for (cutting_energy, refused) in [(most, false), (most + 1, true)] {
            let mut log = job.log.clone();
            log.cutting_energy = cutting_energy;
            let setup = Setup::new(&job.mill, &log).unwrap();
            let verdict = Trace::run(&setup, &moves).verdict;
            assert_eq!(verdict == Verdict::Refused, refused, "{cutting_energy}");
        }
    }
}
