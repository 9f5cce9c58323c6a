//! Timber species: how heavy, how wet, how stiff, how much it shrinks, and how hard it is to saw.
//!
//! Sources: shrinkage from the Wood Handbook (FPL-GTR-190 and FPL-GTR-282) table 4-3, basic specific gravity from its
//! table 5-3a or, for redcedar, ponderosa pine, walnut, beech and basswood, from the FIA reference table; green
//! moisture of the whole log and bark share from the FIA reference table, which cites Miles and Smith 2009 (USFS
//! Research Note NRS-38). Shrinkage of ponderosa pine is from memory.
//!
//! Stiffness is the modulus of elasticity in static bending of green clear wood, Wood Handbook table 5-3a, from memory.
//! It was measured on beams fourteen times as long as high and holds what shear adds to their bending, so that it is about
//! a tenth below the true modulus. Dry and frozen wood is stiffer; the green figure stands for every state.

use bunkside_protocol::Timber;

/// One species.
#[derive(Debug, PartialEq, Eq)]
pub struct Species {
    /// Common name.
    pub name: &'static str,
    /// Radial shrinkage from green to oven-dry, thousandths.
    pub radial: u16,
    /// Tangential shrinkage, thousandths.
    pub tangential: u16,
    /// Shrinkage in volume, thousandths.
    pub volumetric: u16,
    /// Basic specific gravity (oven-dry mass on green volume), hundredths.
    pub gravity: u16,
    /// Moisture of a green log, mass of water on oven-dry mass, thousandths.
    pub moisture: u16,
    /// Bark, thousandths of the volume of the wood.
    pub bark: u16,
    /// Modulus of elasticity along the grain, green, newtons a square millimetre.
    pub stiffness: u16,
}

const fn species(
    name: &'static str,
    [radial, tangential, volumetric]: [u16; 3],
    gravity: u16,
    moisture: u16,
    bark: u16,
    stiffness: u16,
) -> Species {
    Species {
        name,
        radial,
        tangential,
        volumetric,
        gravity,
        moisture,
        bark,
        stiffness,
    }
}

/// All species, softwoods first.
pub static ALL: [Species; 20] = [
    species("Douglas-fir, coast", [48, 76, 124], 45, 353, 173, 10_800),
    species("western larch", [45, 91, 140], 48, 603, 140, 10_100),
    species("western hemlock", [42, 78, 124], 42, 565, 158, 9_000),
    species("eastern hemlock", [30, 68, 97], 38, 1_109, 170, 7_400),
    species("balsam fir", [29, 69, 112], 33, 1_185, 120, 8_600),
    species("loblolly pine", [48, 74, 123], 47, 807, 166, 9_700),
    species("longleaf pine", [51, 75, 122], 54, 632, 140, 11_000),
    species("lodgepole pine", [43, 67, 111], 38, 645, 89, 7_400),
    species("Engelmann spruce", [38, 71, 110], 33, 894, 112, 7_100),
    species("western redcedar", [24, 50, 68], 31, 396, 106, 6_500),
    species("ponderosa pine", [39, 62, 97], 38, 898, 256, 6_900),
    species("white oak", [56, 105, 163], 60, 683, 160, 8_600),
    species("northern red oak", [40, 86, 137], 56, 831, 200, 9_300),
    species("sugar maple", [48, 99, 147], 56, 574, 156, 10_700),
    species("white ash", [49, 78, 133], 55, 457, 160, 9_900),
    species("black cherry", [37, 71, 115], 47, 534, 92, 9_000),
    species("black walnut", [55, 78, 128], 51, 791, 150, 9_800),
    species("yellow-poplar", [46, 82, 127], 40, 950, 180, 8_400),
    species("American beech", [55, 119, 172], 56, 545, 60, 9_500),
    species("American basswood", [66, 93, 158], 32, 1_053, 105, 7_200),
];

/// The state a log is sawn in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum State {
    /// Green, as felled.
    Fresh,
    /// Air-dry, at [`DRY_MOISTURE`].
    Dry,
    /// Green and frozen.
    Frozen,
}

/// Moisture that a dry log is taken to have, thousandths of the oven-dry mass.
pub const DRY_MOISTURE: u16 = 200;

/// Moisture at which wood begins to shrink, thousandths of the oven-dry mass.
const FIBRE_SATURATION: u64 = 300;

/// Stiffness that wood of no known species is taken to have: the least of the table.
pub const LEAST_STIFFNESS: u16 = 6_500;

/// The species of this name, in any case.
#[must_use]
pub fn find(name: &str) -> Option<&'static Species> {
    ALL.iter()
        .find(|species| species.name.eq_ignore_ascii_case(name.trim()))
}

impl Species {
    /// Density in a state, kilograms a cubic metre, to the nearest.
    ///
    /// Fresh and frozen: `1000·G·(1 + M)`. Dry: the same with the specific gravity of wood shrunk to
    /// [`DRY_MOISTURE`], `G / (1 − S·(1 − M / 0.3))`, Wood Handbook equations 4-9, 4-11 and 4-14.
    #[must_use]
    pub fn density(&self, state: State) -> u16 {
        let gravity = u64::from(self.gravity) * 10;
        let (num, den) = match state {
            State::Fresh | State::Frozen => (gravity * (1_000 + u64::from(self.moisture)), 1_000),
            State::Dry => {
                let dry = u64::from(DRY_MOISTURE);
                let shrunk = 1_000 * FIBRE_SATURATION - u64::from(self.volumetric) * (FIBRE_SATURATION - dry);
                (gravity * (1_000 + dry) * FIBRE_SATURATION, shrunk)
            }
        };
        u16::try_from((num * 2 + den) / (den * 2)).unwrap_or(u16::MAX)
    }

    /// Specific cutting energy of ripping in a state, joules a cubic centimetre, to the nearest: 100 times the basic
    /// specific gravity to the power of 1.5, and 1.3 times that for dry or frozen wood.
    ///
    /// From memory: ripping takes about 15 to 60, and oak about twice what a light softwood does; the power and the factor
    /// are chosen to say so. See [`CUTTING_ENERGY_UNCERTAINTY`].
    #[must_use]
    pub fn cutting_energy(&self, state: State) -> u16 {
        // In thousandths: 100·(g/100)^1.5 = √(g³/100), and √(g³·10⁴) of that.
        let fresh = (u64::from(self.gravity).pow(3) * 10_000).isqrt();
        let thousandths = match state {
            State::Fresh => fresh,
            State::Dry | State::Frozen => fresh * 13 / 10,
        };
        u16::try_from((thousandths + 500) / 1_000).unwrap_or(u16::MAX)
    }

    /// Timber class of the fresh wood, by its basic specific gravity and [`CLASS_GRAVITY`].
    #[must_use]
    pub const fn class(&self) -> Timber {
        class_between(self.gravity, CLASS_GRAVITY)
    }
}

/// Below the first of these basic specific gravities, in hundredths, fresh wood saws soft, below the second medium, from there
/// hard (common practice, no source). It goes by the dry substance in a green volume: water makes a log heavy, not hard, and
/// what a species is called in the trade is about the dry board.
pub const CLASS_GRAVITY: [u16; 2] = [50, 58];

/// The same by density as it lies, kilograms a cubic metre, of wood of which nothing else is known (common practice, no
/// source).
pub const CLASS_DENSITY: [u16; 2] = [850, 1_000];

const fn class_between(figure: u16, [medium, hard]: [u16; 2]) -> Timber {
    if figure < medium {
        Timber::Soft
    } else if figure < hard {
        Timber::Medium
    } else {
        Timber::Hard
    }
}

/// Timber class of wood of which only the density is known, by [`CLASS_DENSITY`].
#[must_use]
pub const fn class_of_density(density: u16) -> Timber {
    class_between(density, CLASS_DENSITY)
}

/// Timber class in a state (common practice, no source): dry wood saws one class harder than fresh, frozen wood hard.
#[must_use]
pub const fn class_in(fresh: Timber, state: State) -> Timber {
    match (state, fresh) {
        (State::Fresh, class) => class,
        (State::Dry, Timber::Soft) => Timber::Medium,
        (State::Dry, _) | (State::Frozen, _) => Timber::Hard,
    }
}

/// How far the wood may take more or less than a cutting energy that was not measured, percent of it.
///
/// Little is published: every kind of saw has its own figure, conditions are rarely told, and density alone is only a
/// rough predictor of cutting force (Chuchala and others 2014, `BioResources` 9(3)). Dull teeth add about 8 %, a blade that
/// wobbles 11 %, another style of teeth up to 38 % (FPL, Small Sawmill Improvement, tests on power of headsaws). The share
/// itself is from memory.
pub const CUTTING_ENERGY_UNCERTAINTY: u16 = 40;

/// Specific cutting energy of ripping wood of no known species, by timber class, joules a cubic centimetre. From memory:
/// ripping takes about 15 to 60, rising with density and as chips get thin; see [`CUTTING_ENERGY_UNCERTAINTY`].
#[must_use]
pub const fn cutting_energy(class: Timber) -> u16 {
    match class {
        Timber::Soft => 25,
        Timber::Medium => 40,
        Timber::Hard => 55,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_found_in_any_case() {
        assert_eq!(find(" white OAK ").unwrap().gravity, 60);
        assert_eq!(find("blue oak"), None);
        for species in &ALL {
            assert_eq!(find(species.name), Some(species));
        }
    }

    /// Wood Handbook (FPL-GTR-282) eq. 4-14 on table 5-3a and FIA moisture: 0.45 at 35.3 % and 0.56 at 83.1 %.
    #[test]
    fn green_density_follows_the_handbook() {
        assert_eq!(find("Douglas-fir, coast").unwrap().density(State::Fresh), 609);
        assert_eq!(find("northern red oak").unwrap().density(State::Fresh), 1_025);
    }

    /// Wood Handbook table 5-3a: specific gravity at 12 % is 0.48 for coast Douglas-fir and 0.68 for white oak; dry
    /// wood at 20 % lies between that and green: 1 000 × G × 1.2.
    #[test]
    fn dry_density_lies_between_green_and_twelve_percent() {
        for (name, gravity_12) in [
            ("Douglas-fir, coast", 480.0),
            ("white oak", 680.0),
            ("white ash", 600.0),
        ] {
            let species = find(name).unwrap();
            let dry = f64::from(species.density(State::Dry));
            assert!(
                dry >= f64::from(species.gravity) * 10.0 * 1.2 && dry <= gravity_12 * 1.2 + 1.0,
                "{name} {dry}"
            );
        }
    }

    /// Wood Handbook table 4-3: radial and tangential shrinkage add up to a little more or less than that in volume.
    #[test]
    fn shrinkage_in_volume_is_about_the_sum_of_both() {
        for species in &ALL {
            let sum = i32::from(species.radial) + i32::from(species.tangential);
            assert!(
                (sum - i32::from(species.volumetric)).abs() <= 15,
                "{}",
                species.name
            );
            assert!(species.radial < species.tangential);
        }
    }

    /// From memory: ripping takes about 15 to 60 N/mm², oak about twice what a light softwood does, and more when frozen.
    /// 100 × 0.45^1.5 = 30.2, 100 × 0.60^1.5 = 46.5, × 1.3 = 60.4.
    #[test]
    fn cutting_energy_rises_with_density_within_what_is_remembered() {
        let energy = |name: &str, state| f64::from(find(name).unwrap().cutting_energy(state));
        assert_eq!(energy("Douglas-fir, coast", State::Fresh), 30.0);
        assert_eq!(energy("white oak", State::Fresh), 46.0);
        assert_eq!(energy("white oak", State::Frozen), 60.0);
        let ratio = energy("white oak", State::Fresh) / energy("lodgepole pine", State::Fresh);
        assert!((1.8..2.2).contains(&ratio), "{ratio}");
        for species in &ALL {
            for state in [State::Fresh, State::Dry, State::Frozen] {
                assert!(
                    (15..=60).contains(&species.cutting_energy(state)),
                    "{}",
                    species.name
                );
            }
        }
        for class in Timber::ALL {
            let of_class = f64::from(cutting_energy(class));
            let spread = of_class * f64::from(CUTTING_ENERGY_UNCERTAINTY) / 100.0;
            for species in ALL.iter().filter(|species| species.class() == class) {
                let found = f64::from(species.cutting_energy(State::Fresh));
                assert!(
                    (found - of_class).abs() <= spread,
                    "{} {found} {of_class}",
                    species.name
                );
            }
        }
    }

    /// Wood Handbook table 5-3a, in millions of pounds a square inch, from memory: the metric table agrees with it to
    /// its last figure. 1 lbf/in² is 4.448 221 615 N on 645.16 mm².
    #[test]
    fn stiffness_agrees_with_the_inch_pound_table() {
        let table: [(&str, f64); 20] = [
            ("Douglas-fir, coast", 1.56),
            ("western larch", 1.46),
            ("western hemlock", 1.31),
            ("eastern hemlock", 1.07),
            ("balsam fir", 1.25),
            ("loblolly pine", 1.40),
            ("longleaf pine", 1.59),
            ("lodgepole pine", 1.08),
            ("Engelmann spruce", 1.03),
            ("western redcedar", 0.94),
            ("ponderosa pine", 1.00),
            ("white oak", 1.25),
            ("northern red oak", 1.35),
            ("sugar maple", 1.55),
            ("white ash", 1.44),
            ("black cherry", 1.31),
            ("black walnut", 1.42),
            ("yellow-poplar", 1.22),
            ("American beech", 1.38),
            ("American basswood", 1.04),
        ];
        for (name, millions) in table {
            let metric = millions * 1e6 * 4.448_221_615 / 645.16;
            let ours = f64::from(find(name).unwrap().stiffness);
            assert!((ours - metric).abs() <= 51.0, "{name}: {ours} {metric}");
        }
        let least = ALL.iter().map(|species| species.stiffness).min();
        assert_eq!(least, Some(LEAST_STIFFNESS));
    }

    /// Side hardness of green wood, Wood Handbook table 5-3a, newtons, from memory: no species of a softer class is harder by
    /// more than a fifth than one of a harder class, so that the limits by density put nothing in a wrong one. Sugar maple,
    /// "hard" as a dry board, is there among red oak, ash and beech.
    #[test]
    fn classes_by_density_agree_with_hardness() {
        let table: [(&str, Timber, u16); 20] = [
            ("Douglas-fir, coast", Timber::Soft, 2_200),
            ("western larch", Timber::Soft, 2_300),
            ("western hemlock", Timber::Soft, 1_800),
            ("eastern hemlock", Timber::Soft, 1_800),
            ("balsam fir", Timber::Soft, 1_300),
            ("loblolly pine", Timber::Soft, 2_000),
            ("longleaf pine", Timber::Medium, 2_600),
            ("lodgepole pine", Timber::Soft, 1_500),
            ("Engelmann spruce", Timber::Soft, 1_150),
            ("western redcedar", Timber::Soft, 1_200),
            ("ponderosa pine", Timber::Soft, 1_400),
            ("white oak", Timber::Hard, 4_700),
            ("northern red oak", Timber::Medium, 4_400),
            ("sugar maple", Timber::Medium, 4_300),
            ("white ash", Timber::Medium, 4_300),
            ("black cherry", Timber::Soft, 2_900),
            ("black walnut", Timber::Medium, 4_000),
            ("yellow-poplar", Timber::Soft, 2_000),
            ("American beech", Timber::Medium, 3_800),
            ("American basswood", Timber::Soft, 1_100),
        ];
        assert_eq!(table.len(), ALL.len());
        for (name, class, hardness) in table {
            assert_eq!(find(name).unwrap().class(), class, "{name}");
            let rank = |class: Timber| Timber::ALL.iter().position(|one| *one == class);
            let harder = table.iter().filter(|(_, other, _)| rank(*other) > rank(class));
            for (other, _, more) in harder {
                assert!(hardness * 5 <= more * 6, "{name} {hardness}, {other} {more}");
            }
        }
        for (density, class) in [(849, Timber::Soft), (850, Timber::Medium), (1_000, Timber::Hard)] {
            assert_eq!(class_of_density(density), class);
        }
    }

    #[test]
    fn classes_harden_with_dryness_and_frost() {
        let class = |name: &str, state| class_in(find(name).unwrap().class(), state);
        assert_eq!(class("Douglas-fir, coast", State::Fresh), Timber::Soft);
        assert_eq!(class("Douglas-fir, coast", State::Dry), Timber::Medium);
        assert_eq!(class("northern red oak", State::Fresh), Timber::Medium);
        assert_eq!(class("white oak", State::Fresh), Timber::Hard);
        assert_eq!(class("balsam fir", State::Frozen), Timber::Hard);
        let mut last = 0;
        for class in Timber::ALL {
            assert!(cutting_energy(class) > last && (15..=60).contains(&cutting_energy(class)));
            last = cutting_energy(class);
        }
    }
}
