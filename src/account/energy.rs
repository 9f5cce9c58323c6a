//! How hard the timber saws, and how sure that is.

use std::collections::BTreeMap;

use bunkside_planner::audit::{Verdict, audit};
use bunkside_planner::replay::{Replay, Setup};
use bunkside_protocol::{Length, LogRecord, Move};
use serde::Serialize;

use super::feeds::{Factors, Held};
use crate::job::{Energy, EnergySource, Job};
use crate::trace::Trace;

/// What it takes to saw it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct EnergyEntry {
    /// Energy to cut a volume of kerf, N/mm² (the same as J/cm³), as it was told or estimated.
    pub n_per_mm2: u16,
    /// `job`, `mill`, `species` or `class`.
    pub from: &'static str,
    /// How far off it may be, percent; none where it was measured.
    pub uncertainty_percent: Option<u16>,
    /// What the log is planned and judged with: the upper end of an estimate, what was measured as it is.
    pub planned_n_per_mm2: u16,
    /// The most that the same moves may take, up to twice what they were planned with, before a rule refuses them; none where
    /// one does so already.
    pub passes_to_n_per_mm2: Option<u16>,
    /// Whether the bark is so thick that it takes power worth telling.
    #[serde(skip)]
    pub thick_bark: bool,
}

/// Bark as thick as this is told to count as nothing (common practice, no source).
const THICK: Length = Length::mm(20);

impl EnergyEntry {
    /// That of a job, and up to which the moves that ran on its log pass.
    #[must_use]
    pub fn of(job: &Job, setup: &Setup<'_>, trace: &Trace) -> Self {
        let from = match job.energy.from {
            EnergySource::Job => "job",
            EnergySource::Mill => "mill",
            EnergySource::Species => "species",
            EnergySource::Class => "class",
        };
        Self {
            n_per_mm2: job.energy.told,
            from,
            uncertainty_percent: job.energy.uncertainty(),
            planned_n_per_mm2: setup.log.cutting_energy,
            thick_bark: setup.log.bark >= THICK,
            passes_to_n_per_mm2: *trace.passes_to.get_or_init(|| passes_to(setup, trace)),
        }
    }

    /// In words: how much, from where, how sure, with what it is planned and up to what that passes.
    #[must_use]
    pub fn words(&self) -> String {
        let (told, planned) = (self.n_per_mm2, self.planned_n_per_mm2);
        let from = match self.from {
            "job" => "as the job says",
            "mill" => "as measured on the mill in such timber",
            "species" => "estimate from the species",
            _ => "guess from how hard it saws",
        };
        let bark = if self.thick_bark {
            "; bark counts as nothing in it: where it is thick or full of grit it takes power and dulls the teeth, feed slower"
        } else {
            ""
        };
        let told = match self.uncertainty_percent {
            Some(percent) => format!(
                "{told} N/mm2 to cut: {from}, give or take {percent} %; feeds and forces are worked out with the upper end of that, \
                 {planned} N/mm2; if you measure less (`cutting_energy`) it may be fed faster"
            ),
            None => format!("{told} N/mm2 to cut: {from}; feeds and forces rest on it"),
        };
        match self.passes_to_n_per_mm2 {
            Some(most) if most >= 2 * planned => {
                format!("{told}{bark}; these moves would pass at twice as much")
            }
            Some(most) => format!(
                "{told}{bark}; these moves are good up to {most} N/mm2: where the timber may saw harder, write more \
                 (`log.cutting_energy`) and plan again"
            ),
            None => told + bark,
        }
    }
}

/// With which energy the cuts of a log are judged, in a sentence; how sure that is where its job tells.
#[must_use]
pub fn judged_words(log: &LogRecord, energy: Option<&Energy>) -> String {
    let most = log.cutting_energy;
    let sure = match energy.map(|energy| (energy.told, energy.uncertainty())) {
        Some((told, Some(percent))) => {
            format!(", the upper end of an estimate of {told}, give or take {percent} %")
        }
        _ => String::new(),
    };
    format!("Feeds and forces are judged at {most} N/mm2 to cut{sure}.")
}

/// The margins of a run where the timber saws as it is estimated to, and not as hard as it may.
#[derive(Clone, Debug, PartialEq)]
pub struct Estimated {
    /// How much harder than that it may saw, percent.
    pub percent: u16,
    /// The margins of every cut in wood, by its move.
    held: BTreeMap<u16, Held>,
}

impl Estimated {
    /// The same moves at the same feeds, run again at the estimate; none where the energy was measured.
    #[must_use]
    pub fn of(job: &Job, setup: &Setup<'_>, trace: &Trace) -> Option<Self> {
        let percent = job.energy.uncertainty()?;
        let log = LogRecord {
            cutting_energy: job.energy.told,
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
    use crate::species::CUTTING_ENERGY_UNCERTAINTY;

    /// The saw's force grows with the energy, the log's weight does not: a push that grows so and so much leaves so much less
    /// of the margin while it cuts, and none of it at rest.
    #[test]
    fn harder_timber_takes_from_the_margins_while_it_is_cut() {
        let job = crate::order::example("g-04");
        let setup = Setup::new(&job.mill, &job.log).unwrap();
        let plan = crate::planned::lay_out(&job, &setup).unwrap();
        let planned = crate::planned::Planned::new(&job, &setup, &plan).unwrap();
        let estimated = Estimated::of(&job, &setup, &planned.trace).unwrap();
        assert_eq!(estimated.percent, CUTTING_ENERGY_UNCERTAINTY);
        let steps = planned.trace.moves.iter().map(|traced| &traced.step);
        let cuts: Vec<_> = steps
            .filter_map(|step| Some((estimated.held.get(&step.index)?, Held::of(&setup, step)?)))
            .collect();
        assert_eq!(cuts.len(), estimated.held.len());
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
            energy: Energy {
                from: EnergySource::Mill,
                ..job.energy
            },
            ..job.clone()
        };
        assert_eq!(Estimated::of(&measured, &setup, &planned.trace), None);
    }

    /// Whoever knows no better plans so that timber that saws as hard as it may is still held as firmly as is demanded.
    #[test]
    fn an_estimate_passes_at_its_hard_end_and_a_measurement_at_what_was_measured() {
        let mut job = crate::order::example("g-04");
        for (from, planned_with) in [(EnergySource::Species, 42), (EnergySource::Job, 30)] {
            job.energy.from = from;
            job.log.cutting_energy = job.energy.planned();
            let setup = Setup::new(&job.mill, &job.log).unwrap();
            let plan = crate::planned::lay_out(&job, &setup).unwrap();
            let planned = crate::planned::Planned::new(&job, &setup, &plan).unwrap();
            let entry = EnergyEntry::of(&job, &setup, &planned.trace);
            assert_eq!((entry.n_per_mm2, entry.planned_n_per_mm2), (30, planned_with));
            assert!(entry.passes_to_n_per_mm2 >= Some(planned_with), "{entry:?}");
            let words = entry.words();
            assert_eq!(
                words.contains("upper end of that, 42 N/mm2"),
                planned_with == 42,
                "{words}"
            );
        }
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
