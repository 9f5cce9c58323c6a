//! How hard the timber of a log saws, where that is known from, and what it is planned with.

use bunkside_protocol::Timber;

use crate::input::Node;
use crate::mill::Profile;
use crate::species::{self, CUTTING_ENERGY_UNCERTAINTY, Species, State};

/// Where a cutting energy comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum EnergySource {
    /// The job says so.
    Job,
    /// It was measured on the mill, in timber of the class.
    Mill,
    /// Estimated from the density of the species, by [`Species::cutting_energy`].
    Species,
    /// Guessed from the timber class, by [`crate::species::cutting_energy`].
    Class,
}

/// The specific cutting energy of a log, and where it comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Energy {
    /// As it was told or estimated, joules a cubic centimetre (the same as N/mm²).
    pub told: u16,
    /// From where.
    pub from: EnergySource,
}

impl Energy {
    /// That of the log in a job: what the job says, else what was measured on the mill, else an estimate from the species,
    /// else from the class, where that is given or the species is not known.
    pub(super) fn of(
        root: &Node,
        mill: &Profile,
        species: Option<&'static Species>,
        (state, timber): (State, Timber),
    ) -> Option<Self> {
        let known = |told, from| Some(Self { told, from });
        if root.get("log.cutting_energy").is_some() {
            return known(root.number("log.cutting_energy")?, EnergySource::Job);
        }
        let mut of_mill = Timber::ALL.iter().zip(mill.cutting_energy);
        if let Some((_, Some(measured))) = of_mill.find(|(class, _)| **class == timber) {
            return known(measured, EnergySource::Mill);
        }
        match species {
            Some(species) if root.get("log.timber").is_none() => {
                known(species.cutting_energy(state), EnergySource::Species)
            }
            _ => known(species::cutting_energy(timber), EnergySource::Class),
        }
    }

    /// How far off it may be, percent; none where it was told or measured.
    #[must_use]
    pub const fn uncertainty(&self) -> Option<u16> {
        match self.from {
            EnergySource::Job | EnergySource::Mill => None,
            EnergySource::Species | EnergySource::Class => Some(CUTTING_ENERGY_UNCERTAINTY),
        }
    }

    /// What rules judge and plans are made with: an estimate at its upper end, rounded up, so that timber that saws as hard
    /// as it may neither moves nor stalls the blade; what was told or measured as it is.
    #[must_use]
    pub fn planned(&self) -> u16 {
        let percent = 100 + u32::from(self.uncertainty().unwrap_or(0));
        u16::try_from((u32::from(self.told) * percent).div_ceil(100)).unwrap_or(u16::MAX)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 30 × 1.4 = 42, 46 × 1.4 = 64.4, 25 × 1.4 = 35.
    #[test]
    fn an_estimate_is_planned_at_its_hard_end_and_a_measurement_as_it_is() {
        use EnergySource::{Class, Job, Mill, Species};
        for (told, from, planned) in [
            (30, Species, 42),
            (46, Species, 65),
            (25, Class, 35),
            (30, Job, 30),
            (30, Mill, 30),
            (u16::MAX, Class, u16::MAX),
        ] {
            assert_eq!(Energy { told, from }.planned(), planned, "{told} {from:?}");
        }
    }
}
