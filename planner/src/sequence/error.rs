//! Why a cut plan cannot be turned into moves.

use bunkside_protocol::{Length, Position};

use super::feed::{DepthLimit, Limit};
use super::room::Fixture;
use crate::limits::{METAL_CLEAR, STANDS_ALONE};
use crate::physics::falling::Over;
use crate::physics::support::Flaw;
use crate::stock::{Neck, NotJudged};

/// Why a cut plan cannot be turned into moves, and where in the plan.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PlanError {
    /// Number of the layer, from 0.
    pub layer: usize,
    /// Number of the column in the layer, from 0; none where the whole layer is meant.
    pub column: Option<usize>,
    /// What stands in the way.
    pub kind: PlanErrorKind,
}

/// A margin that falls short of the factor it has to reach, both in thousandths.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Shortfall {
    /// What holds over what drives, rounded down.
    pub margin: u16,
    /// The profile's factor.
    pub demanded: u16,
}

impl core::fmt::Display for Shortfall {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        let parts = |thousandths: u16| (thousandths / 1000, thousandths % 1000 / 10);
        let ((whole, part), (least, least_part)) = (parts(self.margin), parts(self.demanded));
        write!(
            f,
            "a margin of {whole}.{part:02}, and {least}.{least_part:02} is demanded"
        )
    }
}

/// An end of the axes that set the corner.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum AxisEnd {
    /// The across axis, on the entry side.
    Entry,
    /// The across axis, on the exit side.
    Exit,
    /// The height axis, towards the bed.
    Bottom,
    /// The height axis, upwards.
    Top,
}

impl core::fmt::Display for AxisEnd {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        f.write_str(match self {
            Self::Entry => "the across axis on the entry side",
            Self::Exit => "the across axis on the exit side",
            Self::Bottom => "the height axis towards the bed",
            Self::Top => "the height axis at the top",
        })
    }
}

/// What stands in the way.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PlanErrorKind {
    /// The log with its run-outs is longer than the rails.
    BeyondRails {
        /// How much room is missing.
        missing: Length,
    },
    /// The corner of a kerf lies where an axis does not go.
    BeyondAxis {
        /// Beyond which end.
        end: AxisEnd,
        /// By how much.
        missing: Length,
    },
    /// There is no height at which the blade passes over the log.
    NoWayOver {
        /// How high it would have to be.
        needed: Position,
    },
    /// The blade cannot be raised far enough to swing clear of something.
    NoRoomToSwing(Fixture),
    /// A stroke would meet something that stands fixed, or the way to it would.
    InTheWay(Fixture),
    /// A flat kerf would have more cover than the blade has.
    TooWide {
        /// The cover.
        cover: Length,
        /// The most there is.
        limit: Length,
    },
    /// An upright kerf would have more cover than the blade has.
    TooDeep {
        /// The cover.
        cover: Length,
        /// The most there is.
        limit: Length,
    },
    /// The housing would push against wood or bark.
    HousingInWood,
    /// The kerf would come nearer to metal in the log than its place is known ([`METAL_CLEAR`]).
    Metal {
        /// Where the metal begins along the rails.
        travel: Position,
    },
    /// The kerf would leave a lath or a skin hanging beside it.
    ThinWood {
        /// How thick it would be.
        thick: Length,
        /// How thick it has to be.
        least: Length,
    },
    /// The kerf would leave a part hanging by so little wood that it breaks under its weight.
    Neck(Neck),
    /// The upright kerf would let a heavy piece drop off the log's side.
    WouldFall {
        /// Its mass, tenths of a kilogram, rounded down.
        tenths: u32,
        /// Which way it goes.
        over: Over,
        /// Whether the kerf edges it, to be released after: then that is no way out.
        edged: bool,
    },
    /// A piece would come free standing so high on its foot that it topples ([`STANDS_ALONE`]).
    Topples {
        /// How high it is.
        high: Length,
        /// How high it may be.
        most: Length,
    },
    /// A heavier piece than the mill lets tip off the log's side would tip.
    WouldTip {
        /// Its mass, tenths of a kilogram, rounded down.
        tenths: u32,
        /// Which way it goes.
        over: Over,
        /// The most that may tip, kilograms.
        most: u16,
    },
    /// A flat stroke would free more at once than may lie on the turning blade.
    OnBlade {
        /// Its mass, tenths of a kilogram, rounded down.
        tenths: u32,
        /// The most that may, kilograms.
        most: u16,
    },
    /// The rim of a flat stroke that runs through would stand further beyond the wood than the mill lets it.
    RimOut {
        /// By how much it would.
        out: Length,
        /// By how much it may.
        limit: Length,
        /// By how much the grid and what does not count as wood may make it.
        enough: Length,
    },
    /// No pass is shallow enough, or too many would be needed.
    NoPass(DepthLimit),
    /// What stands would tip over its wedges or turn in its bed.
    WouldRoll(Shortfall),
    /// What stands would go over as soon as it leans a little.
    TooSlender(Shortfall),
    /// What stands would be pushed off its place.
    WouldSlip(Shortfall),
    /// The blade would lift what stands, or it would drop at one end.
    WouldLift(Shortfall),
    /// The bunks do not carry the log as it lies.
    Support(Flaw),
    /// What remains sags too far.
    Sags,
    /// The layer's floor is not below the one before.
    NotBelow,
    /// The layer's floor lies in the bark under the log, or lower.
    UnderWood {
        /// Where the wood begins.
        wood: Position,
    },
    /// The column's kerf does not lie to the exit side of the one before.
    NotFurther,
    /// Wood is left standing on the layer after its last column.
    WoodLeft {
        /// From where, across.
        from: Position,
    },
    /// The lowest layer needs a column on the entry side that edges what is freed last.
    NoEdge,
    /// What is freed last is held by too little wood for a shallow pass before it.
    NoShallowPass,
    /// More kerfs of one layer would hold wedges than can be told apart.
    Wedges {
        /// How many can be.
        most: usize,
    },
    /// The stock cannot represent the cut.
    NotJudged(NotJudged),
    /// The moves do not fit where they are to go.
    Full,
}

impl PlanErrorKind {
    /// Whether it is the log that would move.
    pub(super) const fn is_of_the_log(&self) -> bool {
        matches!(
            self,
            Self::WouldRoll(_) | Self::WouldSlip(_) | Self::WouldLift(_) | Self::Sags
        )
    }

    /// What is said of a piece that does not come free as it may.
    fn told_of_loose(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::WouldFall { tenths, over, .. } => {
                let (whole, part) = (tenths / 10, tenths % 10);
                write!(
                    f,
                    "the upright kerf would let a piece of {whole}.{part} kg drop {over}"
                )
            }
            Self::Topples { high, most } => {
                write!(
                    f,
                    "a piece {high} high would come free, and more than {most}, {STANDS_ALONE} times the width of its foot, topples"
                )
            }
            Self::WouldTip { tenths, over, most } => {
                let (whole, part) = (tenths / 10, tenths % 10);
                write!(
                    f,
                    "a piece of {whole}.{part} kg would tip {over}, and {most} kg is the most that may"
                )
            }
            Self::OnBlade { tenths, most } => {
                let (whole, part) = (tenths / 10, tenths % 10);
                write!(
                    f,
                    "the flat kerf would lay {whole}.{part} kg on the turning blade at once, and {most} kg is the most"
                )
            }
            _ => Ok(()),
        }
    }

    /// What is said of a kerf that does not reach, or too far.
    fn told_of_reach(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::TooWide { cover, limit } => {
                write!(
                    f,
                    "the flat kerf would lie {cover} deep under wood, and the blade reaches {limit}"
                )
            }
            Self::TooDeep { cover, limit } => {
                write!(
                    f,
                    "the upright kerf would stand {cover} deep in wood, and the blade reaches {limit}"
                )
            }
            Self::RimOut { out, limit, .. } => {
                write!(
                    f,
                    "the rim would stand {out} beyond the wood's edge, and {limit} is the most"
                )
            }
            Self::UnderWood { wood } => {
                write!(
                    f,
                    "the layer's floor lies under all wood, which begins {wood} above the bed"
                )
            }
            _ => Ok(()),
        }
    }

    /// The same at a kerf that edges what is to be released after.
    pub(super) fn while_edging(self) -> Self {
        match self {
            Self::WouldFall { tenths, over, .. } => Self::WouldFall {
                tenths,
                over,
                edged: true,
            },
            kind => kind,
        }
    }
}

const HOUSING: &str =
    "the housing would push against wood or bark beside the kerf; plan a narrower column there";
const NOT_BELOW: &str = "the layer's floor is not below the one before by more than a kerf";
const NOT_FURTHER: &str = "the column's kerf is not to the exit side of the one before by more than a kerf";
const NO_EDGE: &str =
    "the lowest layer needs a column on its entry side, so that what is freed last is edged first";

impl core::fmt::Display for PlanErrorKind {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::BeyondRails { missing } => {
                write!(f, "the log with its run-outs is {missing} too long for the rails where it lies")
            }
            Self::BeyondAxis { end, missing } => {
                write!(f, "the corner of the kerf would lie {missing} beyond the end of {end}")
            }
            Self::NoWayOver { needed } => {
                write!(f, "the blade would have to be {needed} above the bed to pass over the log")
            }
            Self::NoRoomToSwing(fixture) => {
                write!(f, "the blade cannot be raised far enough to swing clear of {fixture}")
            }
            Self::InTheWay(fixture) => write!(f, "blade or housing would meet {fixture}"),
            Self::TooWide { .. } | Self::TooDeep { .. } | Self::RimOut { .. } | Self::UnderWood { .. } => {
                self.told_of_reach(f)
            }
            Self::HousingInWood => f.write_str(HOUSING),
            Self::Metal { travel } => {
                write!(f, "the kerf would come nearer than {METAL_CLEAR} to the metal that begins {travel} along the rails")
            }
            Self::ThinWood { thick, least } => {
                write!(f, "the kerf would leave wood {thick} thick hanging beside it, and less than {least} breaks off there")
            }
            Self::Neck(Neck { thick, asks }) => {
                write!(f, "the kerf would leave a part hanging by {thick} of wood, and less than {asks} does not bear it")
            }
            Self::WouldFall { .. } | Self::Topples { .. } | Self::WouldTip { .. } | Self::OnBlade { .. } => {
                self.told_of_loose(f)
            }
            Self::NoPass(limit) => write!(f, "{limit}"),
            Self::WouldRoll(shortfall) => write!(f, "what stands would roll: {shortfall}"),
            Self::TooSlender(shortfall) => write!(f, "what stands goes over when it leans a little: {shortfall}"),
            Self::WouldSlip(shortfall) => write!(f, "what stands would slide: {shortfall}"),
            Self::WouldLift(shortfall) => write!(f, "what stands would lift or drop: {shortfall}"),
            Self::Support(flaw) => write!(f, "{flaw}"),
            Self::Sags => f.write_str("what remains of the log would sag too far under this cut"),
            Self::NotBelow => f.write_str(NOT_BELOW),
            Self::NotFurther => f.write_str(NOT_FURTHER),
            Self::WoodLeft { from } => {
                write!(f, "wood is left standing on this layer from {from}; add a column that takes it to the edge")
            }
            Self::NoEdge => f.write_str(NO_EDGE),
            Self::NoShallowPass => f.write_str(
                "what is freed last hangs on too little wood for a shallow pass before it; end this layer higher",
            ),
            Self::Wedges { most } => {
                write!(f, "more than {most} kerfs of this layer would hold wedges at one time, and nobody could tell which")
            }
            Self::NotJudged(reason) => write!(f, "{reason}"),
            Self::Full => f.write_str("the sequence has more moves than there is room for"),
        }
    }
}

impl core::fmt::Display for DepthLimit {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        f.write_str(match self {
            Self::Table => "the mill's table of bites lets too little through on this stroke",
            Self::Knife => "the riving knife leads this stroke and lets too little through",
            Self::Feed(Limit::Fastest) => "no feed in wood is slow enough for this mill",
            Self::Feed(Limit::Power) => "even the slowest feed takes more power than reaches the rim",
            Self::Feed(Limit::Pull) => "even at the slowest feed the cut pulls harder than the drive holds",
            Self::Feed(Limit::Push) => {
                "even at the slowest feed the carriage is pushed harder than the mill lets"
            }
            Self::Feed(Limit::Tooth) => "even at the slowest feed a tooth bites more than it may",
            Self::Feed(Limit::Gullet) => "even at the slowest feed the chips choke the gullets",
            Self::Feed(Limit::Roll) => "even at the slowest feed the cut would roll what stands",
            Self::Feed(Limit::Slip) => {
                "even at the slowest feed the cut would push what stands off its place"
            }
            Self::Feed(Limit::Lift) => "even at the slowest feed the blade would lift what stands",
            Self::Feed(Limit::Sag) => "even at the slowest feed what stands would sag under the blade",
        })
    }
}

impl core::fmt::Display for PlanError {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        write!(f, "layer {}", self.layer + 1)?;
        if let Some(column) = self.column {
            write!(f, ", column {}", column + 1)?;
        }
        write!(f, ": {}", self.kind)
    }
}

impl core::error::Error for PlanError {}

#[cfg(test)]
mod tests {
    use std::string::ToString;

    use super::*;

    #[test]
    fn an_error_tells_where_what_and_how_far() {
        let shortfall = Shortfall {
            margin: 1_049,
            demanded: 12_300,
        };
        let error = PlanError {
            layer: 1,
            column: Some(2),
            kind: PlanErrorKind::WouldSlip(shortfall),
        };
        assert_eq!(
            error.to_string(),
            "layer 2, column 3: what stands would slide: a margin of 1.04, and 12.30 is demanded"
        );
        let limit = DepthLimit::Knife;
        let error = PlanError {
            layer: 0,
            column: None,
            kind: PlanErrorKind::NoPass(limit),
        };
        assert_eq!(error.to_string(), std::format!("layer 1: {limit}"));
        assert!(limit.to_string().contains("knife"));
    }

    #[test]
    fn only_where_the_log_would_move_does_a_shallower_pass_help() {
        let short = Shortfall {
            margin: 1_000,
            demanded: 1_200,
        };
        assert!(PlanErrorKind::WouldLift(short).is_of_the_log());
        assert!(PlanErrorKind::Sags.is_of_the_log());
        assert!(!PlanErrorKind::TooSlender(short).is_of_the_log());
        assert!(!PlanErrorKind::HousingInWood.is_of_the_log());
        assert!(!PlanErrorKind::NoPass(DepthLimit::Table).is_of_the_log());
    }
}
