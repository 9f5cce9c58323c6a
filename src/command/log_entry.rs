//! The log of a summary, and how it lies.

use bunkside_planner::physics::body::body;
use bunkside_planner::stock::Pick;
use bunkside_protocol::{Length, Timber};
use serde::Serialize;

use crate::account::bark::{under, with_its};
use crate::account::boards::Volume;
use crate::account::energy::EnergyEntry;
use crate::job::{Job, mass_with_bark};
use crate::measure::System;
use crate::planned::Planned;
use crate::species::State;

/// The log and how it lies.
#[derive(Clone, Debug, Serialize)]
pub(super) struct LogEntry {
    pub(super) name: String,
    pub(super) mill: String,
    length_um: Length,
    near_width_um: Length,
    near_height_um: Length,
    far_width_um: Length,
    far_height_um: Length,
    mass_kg: f64,
    mass_with_bark_kg: f64,
    pub(super) cutting_energy: EnergyEntry,
    pub(super) doubts: Vec<String>,
}

impl LogEntry {
    pub(super) fn of(planned: &Planned<'_>) -> Self {
        let (job, setup) = (planned.job, planned.setup);
        let size = |section: Option<&bunkside_planner::geometry::Section>| {
            section.map_or([Length::ZERO; 2], |section| {
                [section.width().length(), section.height().length()]
            })
        };
        let [near_width_um, near_height_um] = size(setup.shape.wood().first());
        let [far_width_um, far_height_um] = size(setup.shape.wood().last());
        Self {
            name: job.name.clone(),
            mill: job.mill_name.clone(),
            length_um: job.length,
            near_width_um,
            near_height_um,
            far_width_um,
            far_height_um,
            mass_kg: body(&setup.stock(), &setup.shape, Pick::Any).mass_kg(job.log.density),
            mass_with_bark_kg: mass_with_bark(&setup.shape, &job.log),
            cutting_energy: EnergyEntry::of(job, setup, &planned.trace),
            doubts: job.doubts.clone(),
        }
    }
}

pub(super) fn log_words(job: &Job, log: &LogEntry, volume: &Volume, system: System) -> String {
    let species = job.species.map_or("species not named", |species| species.name);
    let state = match job.state {
        State::Fresh => "fresh",
        State::Dry => "dry",
        State::Frozen => "frozen",
    };
    let timber = match job.log.timber {
        Timber::Soft => "saws soft",
        Timber::Medium => "saws medium",
        Timber::Hard => "saws hard",
    };
    format!(
        "{species}, {state}, {timber}; {} long;{} {} at the near end, {} at the far end, {}, {}{}",
        system.run_both(log.length_um),
        under(job.log.bark),
        end_words(log.near_width_um, log.near_height_um, system),
        end_words(log.far_width_um, log.far_height_um, system),
        system.volume(volume.log_m3),
        system.mass(log.mass_with_bark_kg),
        with_its(job.log.bark)
    )
}

/// How thick an end is: `215 mm`, or of an oval one `290 mm wide, 305 mm high`.
fn end_words(width: Length, height: Length, system: System) -> String {
    let (wide, high) = (system.size(width), system.size(height));
    if (width - height).abs() < Length::mm(1) {
        wide
    } else {
        format!("{wide} wide and {high} high")
    }
}
