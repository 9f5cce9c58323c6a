//! How hard the timber saws, and how sure that is.

use serde::Serialize;

use crate::job::{EnergySource, Job};
use crate::species::CUTTING_ENERGY_UNCERTAINTY;

/// What it takes to saw it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct EnergyEntry {
    /// Energy to cut a volume of kerf, N/mm² (the same as J/cm³).
    pub n_per_mm2: u16,
    /// `job`, `mill`, `species` or `class`.
    pub from: &'static str,
    /// How far off it may be, percent; none where it was measured.
    pub uncertainty_percent: Option<u16>,
}

impl EnergyEntry {
    /// That of a job.
    #[must_use]
    pub fn of(job: &Job) -> Self {
        let (from, estimated) = match job.energy_from {
            EnergySource::Job => ("job", false),
            EnergySource::Mill => ("mill", false),
            EnergySource::Species => ("species", true),
            EnergySource::Class => ("class", true),
        };
        Self {
            n_per_mm2: job.log.cutting_energy,
            from,
            uncertainty_percent: estimated.then_some(CUTTING_ENERGY_UNCERTAINTY),
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
        format!(
            "{} N/mm2 to cut: {from}{spread}; feeds and forces rest on it",
            self.n_per_mm2
        )
    }
}
