//! From the size that is wanted to the size that is sawn.
//!
//! A board is planed, it shrinks as it dries, and no two come off the saw alike. `[finish]` says how much of each is to be
//! allowed for; what is left out is not.
//!
//! | what | how much | source |
//! |---|---|---|
//! | planing | what is taken off both faces together is added | |
//! | shrinkage | the sum is divided by 1 − S, S = S₀ · (1 − M ÷ 30 %) for moisture M and shrinkage S₀ to oven-dry of the species | Wood Handbook (FPL-GTR-282), equation 4-9 and table 4-3 |
//! | sawing variation | Z standard deviations are added, so that only the share asked for comes out too small | T. D. Brown, Lumber Size Control, OSU Extension EM 8731, 2000 |
//!
//! Along its faces a flat-sawn board is cut along the rings, and its width shrinks tangentially, its thickness radially; a
//! quarter-sawn one the other way. Shrinkage along the grain is left out: 0.1 to 0.2 % (Wood Handbook, chapter 4).
//!
//! Where the size follows from where a board lies (`grain = "as_it_lies"`), it is flat sawn where its rings are at 45 degrees or
//! less to its wide faces everywhere, quarter sawn where they are at 45 or more (Wood Handbook, chapter 4; from memory). Between
//! the two wood shrinks by R · cos² + T · sin² of the angle to the radius, as strains do, so that what lies at up to 45 degrees
//! shrinks by no more than midway: that much is allowed the thickness of a flat-sawn board, and the width of a quarter-sawn one.
//! A board that is both, here and there, is allowed the greater both ways. None comes out too small for its grain.

use bunkside_protocol::Length;

use super::check::place;
use super::lower::state;
use crate::diagnostic::Diagnostic;
use crate::input::Node;
use crate::species::{self, DRY_MOISTURE, Species, State};

/// Moisture at which wood begins to shrink, percent.
const SATURATED: f64 = 30.0;

/// A share of boards too small that counts as none, of all: Brown's table has Z = 3.09 for it.
const NEXT_TO_NONE: f64 = 0.001;

/// Sizes are sawn in steps of this, and rounded up to one.
const SAWN_IN: f64 = 100.0;

/// How a board lies in the log's rings.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Grain {
    /// Nobody minds: as much as either may shrink is allowed for, both ways.
    Any,
    Flat,
    Quarter,
    /// As it follows from where each board lies in the log.
    AsItLies,
}

/// What is allowed for beyond the sizes that are wanted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Finish {
    /// Taken off thickness and width by planing.
    planing: [Length; 2],
    /// What thickness and width shrink by until the sizes hold, of one.
    shrinks: [f64; 2],
    /// The same where a board lies flat sawn as a whole, and where it lies quarter sawn, if that makes a difference.
    by_grain: Option<[[f64; 2]; 2]>,
    /// At which moisture they hold, percent; none where no shrinkage is allowed for.
    pub moisture: Option<f64>,
    /// Standard deviation of what is sawn.
    variation: Length,
    /// The share of boards that may come out too small, of one.
    undersize: f64,
}

impl Finish {
    /// The thickness and width to be sawn for those that are wanted, rounded up to a tenth of a millimetre.
    #[must_use]
    pub fn sawn(&self, wanted: [Length; 2]) -> [Length; 2] {
        self.sized(wanted, self.shrinks)
    }

    /// The same where a board lies flat sawn as a whole, and where it lies quarter sawn: none where that makes no difference.
    #[must_use]
    pub fn sawn_by_grain(&self, wanted: [Length; 2]) -> [Option<[Length; 2]>; 2] {
        let anywhere = self.sawn(wanted);
        let of = |shrinks: [f64; 2]| Some(self.sized(wanted, shrinks)).filter(|size| *size != anywhere);
        self.by_grain.map_or([None; 2], |by_grain| by_grain.map(of))
    }

    fn sized(&self, wanted: [Length; 2], shrinks: [f64; 2]) -> [Length; 2] {
        [0, 1].map(|side| {
            let finished = (wanted[side] + self.planing[side]).wide() as f64;
            let green = finished / (1.0 - shrinks[side]);
            let target = green + deviations(self.undersize) * self.variation.wide() as f64;
            // A hair less, so that no rounding of floats makes a step of it.
            let steps = libm::ceil((target - 0.01) / SAWN_IN);
            Length::um((steps * SAWN_IN) as i64)
        })
    }

    /// What is allowed for, in words; nothing where nothing is.
    #[must_use]
    pub fn words(&self, size: impl Fn(Length) -> String) -> Vec<String> {
        let mut words = Vec::new();
        let [thick, wide] = self.planing;
        if self.planing != [Length::ZERO; 2] {
            words.push(if thick == wide {
                format!("{} for planing", size(thick))
            } else {
                format!(
                    "{} of the thickness and {} of the width for planing",
                    size(thick),
                    size(wide)
                )
            });
        }
        if let Some(moisture) = self.moisture {
            let shares = |[thick, wide]: [f64; 2]| {
                let [thick, wide] = [thick, wide].map(|share| share * 100.0);
                format!("{thick:.1} % of the thickness and {wide:.1} % of the width")
            };
            let [thick, wide] = self.shrinks;
            words.push(if let Some([flat, quarter]) = self.by_grain {
                format!(
                    "{:.1} % for shrinking to {moisture} % of moisture, where a board lies flat sawn as a whole {}, and where it lies quarter sawn {}",
                    thick * 100.0,
                    shares(flat),
                    shares(quarter)
                )
            } else if thick == wide {
                format!("{:.1} % for shrinking to {moisture} % of moisture", thick * 100.0)
            } else {
                format!("{} for shrinking to {moisture} % of moisture", shares([thick, wide]))
            });
        }
        if self.variation > Length::ZERO {
            let each = Length::um((deviations(self.undersize) * self.variation.wide() as f64) as i64);
            let few = if self.undersize <= NEXT_TO_NONE {
                "next to none comes".to_owned()
            } else {
                format!("no more than {} % come", self.undersize * 100.0)
            };
            words.push(format!("{} so that {few} out too small", size(each)));
        }
        words
    }
}

/// How many standard deviations over its least size a board is sawn so that such a share of them is smaller than that: where the
/// upper tail of the normal distribution is that share.
fn deviations(share: f64) -> f64 {
    let share = share.max(NEXT_TO_NONE);
    let (mut low, mut high) = (0.0, 8.0);
    for _ in 0..60 {
        let middle = (low + high) / 2.0;
        if libm::erfc(middle / std::f64::consts::SQRT_2) / 2.0 > share {
            low = middle;
        } else {
            high = middle;
        }
    }
    (low + high) / 2.0
}

/// By what share a size that would shrink by such a share to oven-dry shrinks from a state to a moisture.
fn shrinks(oven_dry: f64, state: State, moisture: f64) -> f64 {
    let shrunk = |moisture: f64| oven_dry * (1.0 - moisture / SATURATED).max(0.0);
    let now = match state {
        State::Fresh | State::Frozen => SATURATED,
        State::Dry => f64::from(DRY_MOISTURE) / 10.0,
    };
    (1.0 - (1.0 - shrunk(moisture)) / (1.0 - shrunk(now))).max(0.0)
}

/// What a job allows for: none where it says nothing, or something wrong, and then it is said.
pub(super) fn finish(root: &Node, said: &mut Vec<Diagnostic>) -> Option<Finish> {
    let table = root.get("finish")?;
    let number = |key: &str| table.number::<u32>(key).map(|value| f64::from(value) / 1_000.0);
    let moisture = number("moisture_percent");
    let (shrinks, by_grain) = match moisture {
        None => ([0.0; 2], None),
        Some(moisture) => shrinkage(root, table, moisture, said)?,
    };
    if moisture.is_none() && table.word("grain") == Some("as_it_lies") {
        let message = "`grain` makes no difference: nothing is allowed for shrinking";
        let help = "write moisture_percent, the moisture at which boards are to have their sizes, or leave grain out";
        said.push(Diagnostic::warning(place(table, "grain"), message).with_help(help));
    }
    let planing = table.length("planing")?;
    Some(Finish {
        planing: [planing, table.length("planing_width").unwrap_or(planing)],
        shrinks,
        by_grain,
        moisture,
        variation: table.length("variation")?,
        undersize: number("undersize_percent")? / 100.0,
    })
}

/// What thickness and width shrink by, wherever a board lies; and where it lies flat sawn, or quarter sawn, if that counts.
type Shrinks = ([f64; 2], Option<[[f64; 2]; 2]>);

fn shrinkage(root: &Node, table: &Node, moisture: f64, said: &mut Vec<Diagnostic>) -> Option<Shrinks> {
    let grain = match table.word("grain")? {
        "flat" => Grain::Flat,
        "quarter" => Grain::Quarter,
        "as_it_lies" => Grain::AsItLies,
        _ => Grain::Any,
    };
    let known = root.text("log.species").and_then(species::find);
    let of = |key: &str, pick: fn(&Species) -> u16| {
        let own = table.number::<u32>(key).map(|told| f64::from(told) / 100_000.0);
        own.or(known.map(|species| f64::from(pick(species)) / 1_000.0))
    };
    let radial = of("radial_percent", |species| species.radial);
    let tangential = of("tangential_percent", |species| species.tangential);
    let (Some(radial), Some(tangential)) = (radial, tangential) else {
        let message = "nothing is known of how this log shrinks";
        let help = "name a species that `bunkside help job` lists, give radial_percent and tangential_percent from green to oven-dry, or leave moisture_percent out";
        said.push(Diagnostic::error(place(table, "moisture_percent"), message).with_help(help));
        return None;
    };
    let state = state(root)?;
    let [radial, tangential] = [radial, tangential].map(|share| shrinks(share, state, moisture));
    let midway = f64::midpoint(radial, tangential);
    let by_grain = [
        [radial.max(midway), tangential.max(midway)],
        [tangential.max(midway), radial.max(midway)],
    ];
    Some(match grain {
        Grain::Any => ([radial.max(tangential); 2], None),
        Grain::Flat => ([radial, tangential], None),
        Grain::Quarter => ([tangential, radial], None),
        Grain::AsItLies => ([radial.max(tangential); 2], Some(by_grain)),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    const INCH: f64 = 25_400.0;

    fn inches(thousandths: i64) -> Length {
        Length::um(thousandths * 254 / 10)
    }

    fn plain(planing: Length) -> Finish {
        Finish {
            planing: [planing; 2],
            shrinks: [0.0; 2],
            by_grain: None,
            moisture: None,
            variation: Length::ZERO,
            undersize: 0.05,
        }
    }

    fn near(found: Length, inches: f64) {
        let over = f64::from(found.as_um()) - inches * INCH;
        assert!((0.0..=100.0).contains(&over), "{found} for {inches} in");
    }

    /// Brown, EM 8731, pages 12 and 15: 1.560 in and twice 0.030 in of planing are 1.620 in; with two standard deviations of
    /// 0.030 in 1.680 in.
    #[test]
    fn targets_are_those_of_the_published_example() {
        let mut finish = plain(inches(60));
        near(finish.sawn([inches(1_560); 2])[0], 1.620);
        // As many too small as lie beyond two standard deviations.
        (finish.variation, finish.undersize) = (inches(30), 0.022_750_1);
        near(finish.sawn([inches(1_560); 2])[0], 1.680);
        // 1.5 in, 0.08 in of planing, 2.35 % of shrinkage, 0.0255 in of deviation: worked by hand, 1.6690 in.
        finish = Finish {
            planing: [inches(80); 2],
            shrinks: [0.0235; 2],
            variation: Length::um(648),
            ..finish
        };
        near(finish.sawn([inches(1_500); 2])[0], 1.669);
    }

    /// Brown, EM 8731, page 16, table 2, to the second place; its rows for 1 and for 2.5 % are one higher in the last than the
    /// normal distribution has them.
    #[test]
    fn deviations_are_those_of_the_published_table() {
        let table = [
            (0.0, 3.09),
            (2.0, 2.05),
            (3.0, 1.88),
            (4.0, 1.75),
            (5.0, 1.645),
            (10.0, 1.28),
            (15.0, 1.04),
        ];
        for (percent, published) in table {
            let found = deviations(percent / 100.0);
            assert!((found - published).abs() < 0.006, "{percent} %: {found}");
        }
    }

    /// Wood Handbook, table 4-3 and equation 4-9: flat-sawn and dried to 12 %, 150 mm are sawn 157.167 mm wide of Douglas-fir,
    /// 160.085 mm of white oak (worked by hand).
    #[test]
    fn shrinkage_follows_the_handbook() {
        for (name, sawn) in [("Douglas-fir, coast", 157_167), ("white oak", 160_085)] {
            let species = species::find(name).expect("a species");
            let share = shrinks(f64::from(species.tangential) / 1_000.0, State::Fresh, 12.0);
            let finish = Finish {
                shrinks: [0.0, share],
                moisture: Some(12.0),
                ..plain(Length::ZERO)
            };
            let [thick, wide] = finish.sawn([Length::mm(50), Length::mm(150)]);
            assert_eq!(thick, Length::mm(50));
            assert!((0..100).contains(&(wide.as_um() - sawn)), "{name}: {wide}");
        }
        // What has dried to 20 % has shrunk by a third of that already, and wood does not grow as it is planed.
        let part = shrinks(0.09, State::Dry, 12.0);
        assert!((part - (1.0 - 0.946 / 0.97)).abs() < 1e-12, "{part}");
        assert_eq!(shrinks(0.09, State::Dry, 25.0), 0.0);
    }

    /// Douglas-fir shrinks by 4.8 % radially and 7.6 % tangentially (Wood Handbook, table 4-3), by 0.6 of that to 12 %: 2.88 and
    /// 4.56 %, midway 3.72 %. 50 mm ÷ 0.9628 = 51.932 mm, ÷ 0.9544 = 52.389 mm; 140 mm ÷ 0.9628 = 145.409 mm, ÷ 0.9544 = 146.689 mm.
    #[test]
    fn a_board_that_lies_flat_or_quarter_sawn_is_sawn_no_larger_than_that_takes() {
        let (radial, tangential) = (0.0288, 0.0456);
        let midway = f64::midpoint(radial, tangential);
        let finish = Finish {
            shrinks: [tangential; 2],
            by_grain: Some([[midway, tangential], [tangential, midway]]),
            moisture: Some(12.0),
            ..plain(Length::ZERO)
        };
        let wanted = [Length::mm(50), Length::mm(140)];
        let um = |size: [i64; 2]| size.map(Length::um);
        assert_eq!(finish.sawn(wanted), um([52_400, 146_700]));
        let [flat, quarter] = finish.sawn_by_grain(wanted);
        assert_eq!(
            [flat, quarter],
            [Some(um([52_000, 146_700])), Some(um([52_400, 145_500]))]
        );
        // Nothing is sawn otherwise that comes out as large anyway.
        let thin = [Length::mm(10), Length::mm(140)];
        let alike = Finish {
            by_grain: Some([[tangential - 1e-9, tangential]; 2]),
            ..finish
        };
        assert_eq!(alike.sawn_by_grain(thin), [None, None]);
    }

    /// EN 1313-1, clause 5: 0.25 % for each percent of moisture, so 153.75 mm at 30 % for 150 mm at 20 %; that is 7.5 % to oven-dry.
    #[test]
    fn shrinkage_may_be_told_as_the_standard_for_sawn_timber_does() {
        let finish = Finish {
            shrinks: [shrinks(0.073_17, State::Fresh, 20.0); 2],
            moisture: Some(20.0),
            ..plain(Length::ZERO)
        };
        let [wide, _] = finish.sawn([Length::mm(150); 2]);
        assert!((153_700..=153_800).contains(&wide.as_um()), "{wide}");
    }
}
