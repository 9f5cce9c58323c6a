//! Figures in the reader's own system.

use bunkside_protocol::{Length, Speed};

use super::{Smallest, feet_and_inches, inches, millimetres};

/// Whether a reader measures in metres or in feet and inches.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum System {
    /// Millimetres and metres.
    Metric,
    /// Inches and feet.
    Inches,
}

impl System {
    /// That of a reader who wrote in inches, or did not.
    #[must_use]
    pub const fn of(inches: bool) -> Self {
        if inches { Self::Inches } else { Self::Metric }
    }

    /// A size across or up, as a tape shows it: `139.7 mm`, `5 1/2 in`.
    #[must_use]
    pub fn size(self, length: Length) -> String {
        match self {
            Self::Metric => whole(millimetres(length, 1).text, " mm"),
            Self::Inches => inches(length, Smallest::ThirtySecond).text,
        }
    }

    /// A size that something may have at most, rounded down to what a tape shows.
    #[must_use]
    pub fn size_at_most(self, length: Length) -> String {
        self.size(self.down(length, 32))
    }

    /// A size that something has to have at least, rounded up to what a tape shows.
    #[must_use]
    pub fn size_at_least(self, length: Length) -> String {
        self.size(-self.down(-length, 32))
    }

    /// The largest length that a tape shows, in tenths of a millimetre or such parts of an inch, that is no larger than this.
    fn down(self, length: Length, parts_of_inch: i64) -> Length {
        let (shown, per, of) = match self {
            Self::Metric => (millimetres(length, 1).exact, 10, 1_000),
            Self::Inches if parts_of_inch == 8 => {
                (feet_and_inches(length, Smallest::Sixteenth).exact, 8, 25_400)
            }
            Self::Inches => (inches(length, Smallest::ThirtySecond).exact, 32, 25_400),
        };
        if shown {
            return length;
        }
        let parts = (length.wide() * per).div_euclid(of);
        Length::um((parts * of).div_euclid(per))
    }

    /// A length along the log, in eighths of an inch, but in sixteenths where it was told so: `3.66 m`, `12 ft 4 in`.
    #[must_use]
    pub fn run(self, length: Length) -> String {
        match self {
            Self::Metric => format!("{} m", centimetres(length.wide())),
            Self::Inches => {
                let sixteenths = feet_and_inches(length, Smallest::Sixteenth);
                if sixteenths.exact {
                    sixteenths.text
                } else {
                    feet_and_inches(length, Smallest::Eighth).text
                }
            }
        }
    }

    /// A length along the log that something may have at most, rounded down.
    #[must_use]
    pub fn run_at_most(self, length: Length) -> String {
        match self {
            Self::Metric => self.run(Length::um(length.wide().div_euclid(10_000) * 10_000)),
            Self::Inches => self.run(self.down(length, 8)),
        }
    }

    /// A size in this system, with the other behind it.
    #[must_use]
    pub fn size_both(self, length: Length) -> String {
        format!("{} ({})", self.size(length), self.other().size(length))
    }

    /// A length in this system, with the other behind it.
    #[must_use]
    pub fn run_both(self, length: Length) -> String {
        format!("{} ({})", self.run(length), self.other().run(length))
    }

    /// A long way, from a count of micrometres that may lie beyond what an axis holds: `71.3 m`, `234 ft`.
    #[must_use]
    pub fn way(self, um: i64) -> String {
        match self {
            Self::Metric => format!("{:.1} m", um as f64 / 1e6),
            Self::Inches => format!("{:.0} ft", um as f64 / 304_800.0),
        }
    }

    /// A volume, from cubic metres: `0.183 m3`, `6.46 cubic feet`.
    #[must_use]
    pub fn volume(self, cubic_metres: f64) -> String {
        // What is left of nothing by subtraction may lie a hair below it, and would be printed as -0.000.
        let cubic_metres = cubic_metres.max(0.0) + 0.0;
        match self {
            Self::Metric => format!("{cubic_metres:.3} m3"),
            Self::Inches => format!("{:.2} cubic feet", cubic_metres / CUBIC_FOOT),
        }
    }

    /// A mass: `112 kg`, `247 lb`.
    #[must_use]
    pub fn mass(self, kilograms: f64) -> String {
        match self {
            Self::Metric => format!("{kilograms:.0} kg"),
            Self::Inches => format!("{:.0} lb", kilograms / POUND),
        }
    }

    /// What somebody has to lift or keep clear of: `24.3 kg`, `53.6 lb`.
    #[must_use]
    pub fn load(self, kilograms: f64) -> String {
        match self {
            Self::Metric => format!("{kilograms:.1} kg"),
            Self::Inches => format!("{:.1} lb", kilograms / POUND),
        }
    }

    /// A mass that is an estimate, to two figures: `13 kg`, `280 lb`; `less than 1 kg`.
    #[must_use]
    pub fn about(self, kilograms: f64) -> String {
        let (mass, unit) = match self {
            Self::Metric => (kilograms, "kg"),
            Self::Inches => (kilograms / POUND, "lb"),
        };
        if mass < 0.95 {
            return format!("less than 1 {unit}");
        }
        let mut step = 1.0;
        while mass / step >= 99.5 {
            step *= 10.0;
        }
        format!("about {:.0} {unit}", (mass / step).round() * step)
    }

    /// A feed, rounded down, so that nobody feeds faster than was judged: `0.415 m/s`, `81 ft/min`.
    #[must_use]
    pub fn speed(self, speed: Speed) -> String {
        let um = u64::from(speed.as_um_per_s());
        match self {
            Self::Metric => {
                let mm = um / 1_000;
                let text = format!("{}.{:03}", mm / 1_000, mm % 1_000);
                let text = text.trim_end_matches('0').trim_end_matches('.');
                format!("{text} m/s")
            }
            Self::Inches => format!("{} ft/min", um * 60 / FOOT_UM),
        }
    }

    /// A feed told beside others: with as many decimals more as it takes to tell it from those that are not the same.
    #[must_use]
    pub fn speed_among(self, speed: Speed, others: &[Speed]) -> String {
        let usual = self.speed(speed);
        let alike = |other: &&Speed| **other != speed && self.speed(**other) == usual;
        let alike: Vec<Speed> = others.iter().filter(alike).copied().collect();
        if alike.is_empty() {
            return usual;
        }
        let finer = (1..=SPEED_DECIMALS).map(|more| self.finer(speed, more));
        let told = finer
            .zip(1..)
            .find(|(told, more)| alike.iter().all(|other| self.finer(*other, *more) != *told));
        told.map_or(usual, |(told, _)| told)
    }

    /// A feed with so many decimals more, rounded down.
    fn finer(self, speed: Speed, more: u32) -> String {
        let um = u64::from(speed.as_um_per_s());
        let (value, decimals, unit) = match self {
            Self::Metric => (um * 10_u64.pow(more) / 1_000, 3 + more, "m/s"),
            Self::Inches => (um * 60 * 10_u64.pow(more) / FOOT_UM, more, "ft/min"),
        };
        let one = 10_u64.pow(decimals);
        format!("{}.{:02$} {unit}", value / one, value % one, decimals as usize)
    }

    /// The other one.
    #[must_use]
    pub const fn other(self) -> Self {
        match self {
            Self::Metric => Self::Inches,
            Self::Inches => Self::Metric,
        }
    }
}

/// Micrometres in a foot, by the definition of the inch.
const FOOT_UM: u64 = 304_800;
/// Decimals more with which any two feeds are told apart: a micrometre a second is 0.0002 ft/min.
const SPEED_DECIMALS: u32 = 4;
/// Kilograms in a pound, by definition.
const POUND: f64 = 0.453_592_37;
/// A cubic foot in cubic metres, by the definition of the inch.
const CUBIC_FOOT: f64 = 0.3048 * 0.3048 * 0.3048;

/// Metres to the nearest centimetre, at least one decimal: `3.6`, `3.66`.
fn centimetres(um: i64) -> String {
    let text = format!("{:.2}", um as f64 / 1e6);
    match text.strip_suffix('0') {
        Some(shorter) => shorter.to_owned(),
        None => text,
    }
}

/// The same without a decimal that says nothing: `140.0 mm` is `140 mm`.
fn whole(text: String, unit: &str) -> String {
    match text
        .strip_suffix(unit)
        .and_then(|number| number.strip_suffix(".0"))
    {
        Some(number) => format!("{number}{unit}"),
        None => text,
    }
}

/// Hours, minutes and seconds: `21 min 40 s`.
#[must_use]
pub fn clock(seconds: f64) -> String {
    let all = seconds.round().clamp(0.0, 1e9) as u64;
    match (all / 3_600, all / 60 % 60, all % 60) {
        (0, 0, seconds) => format!("{seconds} s"),
        (0, minutes, 0) => format!("{minutes} min"),
        (0, minutes, seconds) => format!("{minutes} min {seconds} s"),
        (hours, minutes, _) => format!("{hours} h {minutes} min"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_have_no_more_digits_than_a_tape() {
        let um = Length::um;
        assert_eq!(System::Metric.size(um(139_700)), "139.7 mm");
        assert_eq!(System::Metric.size(um(140_000)), "140 mm");
        assert_eq!(System::Metric.size(um(-4_960)), "-5 mm");
        assert_eq!(System::Inches.size(um(139_700)), "5 1/2 in");
        assert_eq!(System::Metric.run(um(3_600_000)), "3.6 m");
        assert_eq!(System::Metric.run(um(3_659_900)), "3.66 m");
        assert_eq!(System::Metric.run(um(4_000_000)), "4.0 m");
        assert_eq!(System::Inches.run(um(3_759_200)), "12 ft 4 in");
        assert_eq!(System::Inches.run(um(3_760_788)), "12 ft 4 1/16 in");
        assert_eq!(System::Inches.run(um(3_760_700)), "12 ft 4 in");
        assert_eq!(System::Inches.size_both(um(25_400)), "1 in (25.4 mm)");
        assert_eq!(System::Metric.run_both(um(3_657_600)), "3.66 m (12 ft)");
    }

    /// 20.3 mm are 25.6 of 32 parts of an inch; what a tape shows to the micrometre stays.
    #[test]
    fn what_may_be_at_most_is_rounded_down() {
        let um = Length::um;
        assert_eq!(System::Inches.size_at_most(um(20_300)), "25/32 in");
        assert_eq!(System::Inches.size_at_most(um(2_381)), "3/32 in");
        assert_eq!(System::Inches.size_at_most(um(1_588)), "1/16 in");
        assert_eq!(System::Metric.size_at_most(um(6_350)), "6.3 mm");
        assert_eq!(System::Metric.size_at_most(um(20_300)), "20.3 mm");
        assert_eq!(System::Metric.run_at_most(um(4_589_000)), "4.58 m");
        assert_eq!(System::Inches.run_at_most(um(3_657_599)), "11 ft 11 7/8 in");
        assert_eq!(System::Inches.run_at_most(um(3_657_600)), "12 ft");
    }

    #[test]
    fn what_has_to_be_at_least_is_rounded_up() {
        let um = Length::um;
        assert_eq!(System::Metric.size_at_least(um(20_301)), "20.4 mm");
        assert_eq!(System::Metric.size_at_least(um(20_300)), "20.3 mm");
        assert_eq!(System::Inches.size_at_least(um(20_300)), "13/16 in");
        assert_eq!(System::Inches.size_at_least(um(1_588)), "1/16 in");
    }

    #[test]
    fn large_figures_are_rounded() {
        assert_eq!(System::Metric.way(71_349_000), "71.3 m");
        assert_eq!(System::Inches.way(304_800_000), "1000 ft");
        assert_eq!(System::Metric.speed(Speed::mm_per_s(415)), "0.415 m/s");
        assert_eq!(System::Metric.speed(Speed::mm_per_s(600)), "0.6 m/s");
        assert_eq!(System::Metric.speed(Speed::ZERO), "0 m/s");
        assert_eq!(System::Inches.speed(Speed::mm_per_s(508)), "100 ft/min");
        // What is printed is fed: no faster than what was judged.
        assert_eq!(System::Inches.speed(Speed::um_per_s(507_999)), "99 ft/min");
        assert_eq!(System::Metric.speed(Speed::um_per_s(415_999)), "0.415 m/s");
        assert_eq!(System::Metric.volume(0.18349), "0.183 m3");
        assert_eq!(System::Metric.mass(112.4), "112 kg");
        assert_eq!(System::Inches.mass(45.359_237), "100 lb");
        assert_eq!(System::Metric.load(24.31), "24.3 kg");
        assert_eq!(System::Inches.load(4.535_923_7), "10.0 lb");
        for (kilograms, about) in [
            (0.4, "less than 1 kg"),
            (0.96, "about 1 kg"),
            (12.6, "about 13 kg"),
            (99.4, "about 99 kg"),
            (99.6, "about 100 kg"),
            (127.4, "about 130 kg"),
            (1_249.0, "about 1200 kg"),
        ] {
            assert_eq!(System::Metric.about(kilograms), about);
        }
        assert_eq!(System::Inches.about(127.4), "about 280 lb");
        assert_eq!(System::Inches.about(0.3), "less than 1 lb");
        assert_eq!(System::Inches.volume(0.028_316_846_592), "1.00 cubic feet");
    }

    /// 62.992 and 62.008 ft/min, and micrometres a second apart.
    #[test]
    fn feeds_beside_each_other_are_told_apart() {
        let um = Speed::um_per_s;
        let told = |system: System, one, other| {
            [
                system.speed_among(um(one), &[um(other)]),
                system.speed_among(um(other), &[um(one)]),
            ]
        };
        assert_eq!(
            told(System::Inches, 315_000, 320_000),
            ["62.0 ft/min", "62.9 ft/min"]
        );
        assert_eq!(told(System::Inches, 320_000, 325_000), ["62 ft/min", "63 ft/min"]);
        assert_eq!(told(System::Inches, 315_000, 315_000), ["62 ft/min", "62 ft/min"]);
        assert_eq!(
            told(System::Metric, 315_200, 315_900),
            ["0.3152 m/s", "0.3159 m/s"]
        );
        assert_eq!(told(System::Metric, 315_000, 320_000), ["0.315 m/s", "0.32 m/s"]);
        let [one, other] = told(System::Inches, 315_001, 315_002);
        assert_ne!(one, other);
    }

    #[test]
    fn times_are_told_as_on_a_watch() {
        for (seconds, text) in [
            (12.4, "12 s"),
            (59.6, "1 min"),
            (1_300.0, "21 min 40 s"),
            (3_725.0, "1 h 2 min"),
        ] {
            assert_eq!(clock(seconds), text);
        }
    }
}
