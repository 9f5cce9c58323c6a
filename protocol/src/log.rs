//! The log as it lies on the bunks: a row of elliptic stations in integers.
//!
//! Each station is an ellipse, under bark, given by a pair of conjugate half-diameters: `(half_width, 0)` and
//! `(skew, half_height)` from its centre. Its points are
//! `(centre_across + skew·sin t + half_width·cos t, centre_height + half_height·sin t)`.
//! A circle has equal halves and no skew; an upright ellipse has no skew; any turned ellipse is one with skew.
//! Between stations all five numbers run linearly, so the surface between two stations is ruled.
//!
//! A log of which something was sawn already, and which was turned or seated anew, has faces along it: what lies beyond one
//! is gone, bark and all.

use heapless::Vec;
use serde::{Deserialize, Serialize};

use crate::mill::Box3;
use crate::units::{Length, Position};

/// How many stations a log may have.
pub const STATIONS_MAX: usize = 17;
/// How many places with metal a log may have.
pub const METAL_MAX: usize = 8;

/// The section of the log at one place along the rails, under bark.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Station {
    /// Where along the rails.
    pub travel: Position,
    /// Centre of the ellipse across the bed.
    pub centre_across: Position,
    /// Centre of the ellipse above the bed.
    pub centre_height: Position,
    /// Half the chord through the centre, lying; positive.
    pub half_width: Length,
    /// Half the height of the whole ellipse; positive.
    pub half_height: Length,
    /// How far the highest point lies to the exit side of the centre.
    pub skew: Length,
}

/// How hard the timber is to saw, for the limits of cover and bite.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Timber {
    /// Fresh softwood and light hardwood.
    Soft,
    /// Medium-density or dry timber.
    Medium,
    /// Dense or frozen timber.
    Hard,
}

impl Timber {
    /// All classes, in the order of tables that are kept by class.
    pub const ALL: [Self; 3] = [Self::Soft, Self::Medium, Self::Hard];
}

/// The outline of every section.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Form {
    /// Ellipses: a log.
    Round,
    /// Rectangles, `half_width` and `half_height` from the centre, no skew: a squared timber.
    Square,
}

/// The surface that a log lies on its bed with, which says how well it grips.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Surface {
    /// In its bark.
    Barked,
    /// Smooth or peeled.
    Smooth,
    /// With ice or trodden snow on it or on the bunks.
    Iced,
}

/// The faces that a log lies on its bed with, sawn along it before: flat, and parallel to the rails. Beyond a face there is
/// neither wood nor bark; one that lies beyond the log is none.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Sawn {
    /// Where across an upright face on the entry side lies.
    pub entry: Option<Position>,
    /// The same on the exit side.
    pub exit: Option<Position>,
    /// How high a lying face underneath lies above the bed.
    pub bottom: Option<Position>,
    /// The same on top.
    pub top: Option<Position>,
}

impl Sawn {
    /// No face: a log that nothing was sawn of.
    pub const NONE: Self = Self {
        entry: None,
        exit: None,
        bottom: None,
        top: None,
    };
}

/// The log as measured and set.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct LogRecord {
    /// The outline of its sections.
    pub form: Form,
    /// Stations by rising `travel`; at least two.
    pub stations: Vec<Station, STATIONS_MAX>,
    /// The faces that were sawn before.
    pub sawn: Sawn,
    /// Bark thickness all round.
    pub bark: Length,
    /// Timber class.
    pub timber: Timber,
    /// Green density, kilograms a cubic metre.
    pub density: u16,
    /// Modulus of elasticity along the grain, green, newtons a square millimetre.
    pub stiffness: u16,
    /// Specific cutting energy, joules a cubic centimetre (the same number as newtons a square millimetre): the most that it
    /// is reckoned to take.
    pub cutting_energy: u16,
    /// What it is held by on its bed.
    pub surface: Surface,
    /// Least height of any kerf above the bed that the setting asks for; the larger of this and the mill's counts.
    pub bed_clearance: Length,
    /// A smaller clearance that the setting allows between the bunks, if any.
    pub between_bunks: Option<Length>,
    /// Places with metal, kept out of every kerf.
    pub metal: Vec<Box3, METAL_MAX>,
}

/// A figure of a log and the range that it may have: wider than any timber that is sawn, so that what lies outside is an error.
/// Job files and records are held against the same.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Figure {
    /// What it is.
    pub name: &'static str,
    /// In what it is told here.
    pub unit: &'static str,
    /// Least value, in that unit.
    pub least: i64,
    /// Greatest value, in that unit.
    pub most: i64,
}

/// Density of the log as it lies.
pub const DENSITY: Figure = Figure {
    name: "density",
    unit: "kg/m3",
    least: 200,
    most: 1_400,
};

/// Modulus of elasticity along the grain.
pub const STIFFNESS: Figure = Figure {
    name: "stiffness",
    unit: "N/mm2",
    least: 1_000,
    most: 40_000,
};

/// Specific cutting energy.
pub const CUTTING_ENERGY: Figure = Figure {
    name: "cutting energy",
    unit: "J/cm3",
    least: 5,
    most: 200,
};

/// Clearance over the bed that a setting asks for.
pub const BED_CLEARANCE: Figure = Figure {
    name: "bed clearance",
    unit: "mm",
    least: 0,
    most: 500,
};

/// Clearance that it allows between the bunks.
pub const BETWEEN_BUNKS: Figure = Figure {
    name: "clearance between the bunks",
    ..BED_CLEARANCE
};

/// A figure of a log record that no log has.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct OutOfRange {
    /// Which one.
    pub figure: Figure,
    /// What the record says, in the figure's unit; a part of a millimetre is rounded away from the range.
    pub found: i64,
}

impl core::fmt::Display for OutOfRange {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        let Figure {
            name,
            unit,
            least,
            most,
        } = self.figure;
        let found = self.found;
        write!(
            f,
            "the log's {name} of {found} {unit} is not between {least} and {most} {unit}"
        )
    }
}

impl core::error::Error for OutOfRange {}

impl LogRecord {
    /// Holds the figures that are no lengths of its sections against their ranges: with a cutting energy of nothing there is no
    /// force, and nothing that forces decide is judged.
    ///
    /// # Errors
    ///
    /// The first figure that lies outside.
    pub fn check(&self) -> Result<(), OutOfRange> {
        let mm = |length: Length| {
            let um = i64::from(length.as_um());
            let up = if um > 0 { 999 } else { 0 };
            (um + up).div_euclid(1_000)
        };
        let figures = [
            (DENSITY, self.density.into()),
            (STIFFNESS, self.stiffness.into()),
            (CUTTING_ENERGY, self.cutting_energy.into()),
            (BED_CLEARANCE, mm(self.bed_clearance)),
            (BETWEEN_BUNKS, self.between_bunks.map_or(0, mm)),
        ];
        let outside = |(figure, found): &(Figure, i64)| *found < figure.least || *found > figure.most;
        match figures.into_iter().find(outside) {
            Some((figure, found)) => Err(OutOfRange { figure, found }),
            None => Ok(()),
        }
    }
}
