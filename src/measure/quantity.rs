//! What can be measured, and the units people write it in.

/// A unit and how much it is of the base unit of its quantity, as an exact fraction.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct Unit {
    /// As it is written; compared without regard to case.
    pub(super) name: &'static str,
    /// Numerator.
    pub(super) num: i128,
    /// Denominator.
    pub(super) den: i128,
}

const fn unit(name: &'static str, num: i128, den: i128) -> Unit {
    Unit { name, num, den }
}

/// A kind of measurement. Values are whole numbers of its base unit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Quantity {
    /// Micrometres, up to 100 m.
    Length,
    /// Thousandths of a degree, up to a full turn.
    Angle,
    /// Milliseconds, up to a day.
    Time,
    /// Micrometres a second, up to 200 m/s.
    Speed,
    /// Micrometres a second squared, up to 20 m/s².
    Acceleration,
    /// Newtons, up to 100 kN.
    Force,
    /// Watts, up to 1 MW.
    Power,
    /// Kilograms, up to 100 000.
    Mass,
    /// Kilograms a cubic metre, up to 2 000.
    Density,
    /// Joules a cubic centimetre, which is newtons a square millimetre, up to 1 000.
    CuttingEnergy,
    /// Newtons a square millimetre, up to 40 000: stiffness along the grain.
    Stiffness,
    /// Square millimetres, up to 10 000.
    Area,
}

const FOOT_UM: i128 = 304_800;
const INCH_UM: i128 = 25_400;

static LENGTH: [Unit; 15] = [
    unit("mm", 1_000, 1),
    unit("cm", 10_000, 1),
    unit("m", 1_000_000, 1),
    unit("in", INCH_UM, 1),
    unit("ft", FOOT_UM, 1),
    unit("um", 1, 1),
    unit("µm", 1, 1),
    unit("inch", INCH_UM, 1),
    unit("inches", INCH_UM, 1),
    unit("foot", FOOT_UM, 1),
    unit("feet", FOOT_UM, 1),
    unit("\"", INCH_UM, 1),
    unit("'", FOOT_UM, 1),
    unit("″", INCH_UM, 1),
    unit("′", FOOT_UM, 1),
];
static ANGLE: [Unit; 2] = [unit("deg", 1_000, 1), unit("°", 1_000, 1)];
static TIME: [Unit; 4] = [
    unit("s", 1_000, 1),
    unit("ms", 1, 1),
    unit("min", 60_000, 1),
    unit("h", 3_600_000, 1),
];
static SPEED: [Unit; 5] = [
    unit("m/s", 1_000_000, 1),
    unit("m/min", 1_000_000, 60),
    unit("mm/s", 1_000, 1),
    unit("ft/min", FOOT_UM, 60),
    unit("ft/s", FOOT_UM, 1),
];
static ACCELERATION: [Unit; 6] = [
    unit("m/s2", 1_000_000, 1),
    unit("m/s²", 1_000_000, 1),
    unit("mm/s2", 1_000, 1),
    unit("mm/s²", 1_000, 1),
    unit("ft/s2", FOOT_UM, 1),
    unit("ft/s²", FOOT_UM, 1),
];
// A pound is 0.453 592 37 kg and standard gravity 9.806 65 m/s² by definition; a horsepower 550 foot-pounds a second.
static FORCE: [Unit; 3] = [
    unit("N", 1, 1),
    unit("kN", 1_000, 1),
    unit("lbf", 45_359_237 * 980_665, 10_i128.pow(8 + 5)),
];
static POWER: [Unit; 3] = [
    unit("kW", 1_000, 1),
    unit("W", 1, 1),
    unit("hp", 550 * 3_048 * 45_359_237 * 980_665, 10_i128.pow(4 + 8 + 5)),
];
static MASS: [Unit; 4] = [
    unit("kg", 1, 1),
    unit("t", 1_000, 1),
    unit("lb", 45_359_237, 10_i128.pow(8)),
    unit("lbs", 45_359_237, 10_i128.pow(8)),
];
static DENSITY: [Unit; 4] = [
    unit("kg/m3", 1, 1),
    unit("kg/m³", 1, 1),
    unit("lb/ft3", 45_359_237 * 10_i128.pow(4), 3_048 * 3_048 * 3_048),
    unit("lb/ft³", 45_359_237 * 10_i128.pow(4), 3_048 * 3_048 * 3_048),
];
static CUTTING_ENERGY: [Unit; 5] = [
    unit("N/mm2", 1, 1),
    unit("N/mm²", 1, 1),
    unit("J/cm3", 1, 1),
    unit("J/cm³", 1, 1),
    unit("MPa", 1, 1),
];
static STIFFNESS: [Unit; 4] = [
    unit("N/mm2", 1, 1),
    unit("N/mm²", 1, 1),
    unit("MPa", 1, 1),
    unit("GPa", 1_000, 1),
];
static AREA: [Unit; 6] = [
    unit("mm2", 1, 1),
    unit("mm²", 1, 1),
    unit("cm2", 100, 1),
    unit("cm²", 100, 1),
    unit("in2", 64_516, 100),
    unit("in²", 64_516, 100),
];

impl Quantity {
    /// Every quantity.
    pub const ALL: [Self; 12] = [
        Self::Length,
        Self::Angle,
        Self::Time,
        Self::Speed,
        Self::Acceleration,
        Self::Force,
        Self::Power,
        Self::Mass,
        Self::Density,
        Self::CuttingEnergy,
        Self::Stiffness,
        Self::Area,
    ];

    /// Its units.
    pub(super) const fn units(self) -> &'static [Unit] {
        match self {
            Self::Length => &LENGTH,
            Self::Angle => &ANGLE,
            Self::Time => &TIME,
            Self::Speed => &SPEED,
            Self::Acceleration => &ACCELERATION,
            Self::Force => &FORCE,
            Self::Power => &POWER,
            Self::Mass => &MASS,
            Self::Density => &DENSITY,
            Self::CuttingEnergy => &CUTTING_ENERGY,
            Self::Stiffness => &STIFFNESS,
            Self::Area => &AREA,
        }
    }

    /// The unit of this name, in any case.
    pub(super) fn unit(self, name: &str) -> Option<&'static Unit> {
        let name = match name {
            "”" | "''" => "\"",
            "’" => "'",
            "μm" => "µm",
            other => other,
        };
        self.units()
            .iter()
            .find(|unit| unit.name.eq_ignore_ascii_case(name))
    }

    /// The largest magnitude, in base units.
    #[must_use]
    pub const fn limit(self) -> i64 {
        match self {
            Self::Length => 100_000_000,
            Self::Angle => 360_000,
            Self::Time => 86_400_000,
            Self::Speed => 200_000_000,
            Self::Acceleration => 20_000_000,
            Self::Force => 100_000,
            Self::Power => 1_000_000,
            Self::Mass => 100_000,
            Self::Density => 2_000,
            Self::CuttingEnergy => 1_000,
            Self::Stiffness => 40_000,
            Self::Area => 10_000,
        }
    }

    /// The largest magnitude in words.
    #[must_use]
    pub const fn limit_words(self) -> &'static str {
        match self {
            Self::Length => "100 m",
            Self::Angle => "360 deg",
            Self::Time => "24 h",
            Self::Speed => "200 m/s",
            Self::Acceleration => "20 m/s2",
            Self::Force => "100 kN",
            Self::Power => "1000 kW",
            Self::Mass => "100 t",
            Self::Density => "2000 kg/m3",
            Self::CuttingEnergy => "1000 N/mm2",
            Self::Stiffness => "40 GPa",
            Self::Area => "100 cm2",
        }
    }

    /// What it is called, with its article.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Length => "a length",
            Self::Angle => "an angle",
            Self::Time => "a time",
            Self::Speed => "a speed",
            Self::Acceleration => "an acceleration",
            Self::Force => "a force",
            Self::Power => "a power",
            Self::Mass => "a mass",
            Self::Density => "a density",
            Self::CuttingEnergy => "a cutting energy",
            Self::Stiffness => "a stiffness",
            Self::Area => "an area",
        }
    }

    /// How it may be written.
    #[must_use]
    pub const fn examples(self) -> &'static str {
        match self {
            Self::Length => "228 mm, 3.6 m, 5 1/2 in or 12 ft 6 in",
            Self::Angle => "15 deg",
            Self::Time => "2.5 s",
            Self::Speed => "0.4 m/s, 24 m/min or 60 ft/min",
            Self::Acceleration => "0.5 m/s2",
            Self::Force => "900 N",
            Self::Power => "18 kW",
            Self::Mass => "900 kg",
            Self::Density => "820 kg/m3",
            Self::CuttingEnergy => "30 N/mm2",
            Self::Stiffness => "9.5 GPa or 9500 N/mm2",
            Self::Area => "300 mm2",
        }
    }

    /// The units to name when one is missing or unknown.
    #[must_use]
    pub const fn unit_words(self) -> &'static str {
        match self {
            Self::Length => "mm, cm, m, in or ft",
            Self::Angle => "deg",
            Self::Time => "s, ms, min or h",
            Self::Speed => "m/s, mm/s, m/min, ft/min or ft/s",
            Self::Acceleration => "m/s2, mm/s2 or ft/s2",
            Self::Force => "N, kN or lbf",
            Self::Power => "kW, W or hp",
            Self::Mass => "kg, t or lb",
            Self::Density => "kg/m3 or lb/ft3",
            Self::CuttingEnergy => "N/mm2 or J/cm3",
            Self::Stiffness => "GPa or N/mm2",
            Self::Area => "mm2, cm2 or in2",
        }
    }
}

/// A unit of length that a file may declare for its bare numbers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LengthUnit {
    /// Millimetres.
    Mm,
    /// Centimetres.
    Cm,
    /// Metres.
    M,
    /// Inches.
    In,
    /// Feet.
    Ft,
}

impl LengthUnit {
    /// Every unit that may be declared.
    pub const ALL: [Self; 5] = [Self::Mm, Self::Cm, Self::M, Self::In, Self::Ft];

    /// As it is written.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Mm => "mm",
            Self::Cm => "cm",
            Self::M => "m",
            Self::In => "in",
            Self::Ft => "ft",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_name_is_found_once_and_every_factor_is_positive() {
        for quantity in Quantity::ALL {
            for unit in quantity.units() {
                assert!(unit.num > 0 && unit.den > 0);
                assert!(
                    std::ptr::eq(quantity.unit(unit.name).unwrap(), unit),
                    "{}",
                    unit.name
                );
            }
        }
        for unit in LengthUnit::ALL {
            assert!(Quantity::Length.unit(unit.name()).is_some());
        }
    }

    /// International yard and pound agreement of 1959: 25.4 mm, 0.453 592 37 kg; the rest follows (from memory).
    #[test]
    fn factors_follow_from_the_inch_and_the_pound() {
        let factor = |quantity: Quantity, name| {
            let unit = quantity.unit(name).unwrap();
            unit.num as f64 / unit.den as f64
        };
        let near = |one: f64, other: f64| assert!((one / other - 1.0).abs() < 1e-12, "{one} {other}");
        near(factor(Quantity::Length, "in"), 25_400.0);
        near(factor(Quantity::Length, "ft"), 12.0 * 25_400.0);
        near(factor(Quantity::Force, "lbf"), 4.448_221_615_260_5);
        near(factor(Quantity::Power, "hp"), 745.699_871_582_270_2);
        near(factor(Quantity::Density, "lb/ft3"), 16.018_463_373_960_14);
        near(factor(Quantity::Area, "in2"), 645.16);
        near(factor(Quantity::Speed, "ft/min"), 5_080.0);
    }
}
