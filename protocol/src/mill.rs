//! The mill profile: what the machine is, can and may do, as a record of integers.
//!
//! The record is what a controller stores and what the digest in a job runs over. Host files say the same in
//! TOML with units. Tables that depend on the blade angle are arrays in the order of [`crate::Angle::ALL`].

use heapless::Vec;
use serde::{Deserialize, Serialize};

use crate::log::{Surface, Timber};
use crate::moves::{Angle, Feed, Stroke};
use crate::units::{Length, Millis, Position, Speed};

/// How many boxes describe the housing and hub at one angle.
pub const HEAD_BOXES_MAX: usize = 4;
/// How many bunks a bed may have.
pub const BUNKS_MAX: usize = 8;
/// How many dogs a bed may have.
pub const DOGS_MAX: usize = 8;
/// How many keep-out boxes a mill may have.
pub const KEEP_OUT_MAX: usize = 8;

/// A box, its faces square to the axes; `min` is not above `max` on any axis.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Box3 {
    /// Lowest corner: travel, across, height.
    pub min: [Position; 3],
    /// Highest corner: travel, across, height.
    pub max: [Position; 3],
}

/// What moves the carriage.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Drive {
    /// A drive that can hold the carriage against the pull of a climb cut.
    Powered {
        /// Greatest pull it holds, newtons.
        holding_force: u32,
    },
    /// The operator's arms: no climb cut.
    Hand {
        /// The hardest push that is asked of them, newtons.
        push: u32,
    },
}

impl Drive {
    /// Whether the carriage is pushed by hand.
    #[must_use]
    pub const fn is_hand(self) -> bool {
        matches!(self, Self::Hand { .. })
    }
}

/// On which hand the entry side lies, looking outbound.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Side {
    /// On the left.
    Left,
    /// On the right.
    Right,
}

/// The blade.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Blade {
    /// Width of the kerf.
    pub kerf: Length,
    /// Radius to the tips of the teeth.
    pub radius: Length,
    /// Radius of hub and collars.
    pub hub: Length,
    /// Number of teeth.
    pub teeth: u16,
    /// Area of one gullet, square millimetres.
    pub gullet: u16,
    /// Speed of the rim.
    pub rim_speed: Speed,
    /// From standing to full speed.
    pub spin_up: Millis,
    /// From full speed to standing.
    pub run_down: Millis,
}

/// Which way round the blade swings from upright to flat.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Turn {
    /// The head goes over to the entry side; the same rim point works at both angles.
    Over,
    /// The lower rim goes to the entry side under the head; opposite rim points work.
    Under,
}

/// How the blade changes its angle.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Swing {
    /// Pivot, across from the corner.
    pub pivot_across: Length,
    /// Pivot, above the corner.
    pub pivot_height: Length,
    /// Which way round.
    pub turn: Turn,
    /// Which way the working rim runs when the blade is flat.
    pub teeth_flat: Stroke,
    /// How long a swing takes.
    pub time: Millis,
}

/// The riving knife. It leads in one direction of travel and trails in the other.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Knife {
    /// Whether it runs ahead of the blade on a homebound stroke; else it does on an outbound one.
    pub leads_homebound: bool,
    /// Deepest pass with the knife fitted on the stroke on which it leads, by angle.
    pub homebound_limit: [Length; 2],
    /// Whether it is fitted when a job starts.
    pub fitted_at_start: bool,
}

impl Knife {
    /// Whether it runs ahead of the blade on a stroke.
    #[must_use]
    pub const fn leads(&self, stroke: Stroke) -> bool {
        matches!(stroke, Stroke::Homebound) == self.leads_homebound
    }
}

/// An optional device that draws freed boards home and steadies the flat cut.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct PullBackAid {
    /// Widest piece it bears on.
    pub widest: Length,
    /// Whether it bears when a job starts.
    pub on_at_start: bool,
}

/// One driven axis.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Axis {
    /// Lowest place it can reach.
    pub min: Position,
    /// Highest place it can reach.
    pub max: Position,
    /// Rapid speed.
    pub rapid: Speed,
    /// Acceleration, micrometres a second squared.
    pub acceleration: u32,
    /// How far its true place may lie from its target.
    pub tolerance: Length,
}

impl Axis {
    /// No axis of a mill is truer than this (common practice, no source).
    pub const TRUEST: Length = Length::um(100);

    /// How far its true place is taken to lie from its target, either way: as the profile says, but never as if it were truer
    /// than any is.
    #[must_use]
    pub fn play(&self) -> Length {
        self.tolerance.abs().max(Self::TRUEST)
    }
}

/// How the height is set.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum HeightSetting {
    /// Both ends by a drive.
    Driven,
    /// By hand at each end of the rails; this is how long the walk and the setting take.
    ByHand(Millis),
}

/// What a bunk is made of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum BunkKind {
    /// Timber that may be cut into to this depth, with a warning.
    Timber {
        /// How deep.
        sacrificial: Length,
    },
    /// Steel, never to be touched.
    Steel,
}

/// One bunk.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Bunk {
    /// Middle of the bunk along the rails.
    pub travel: Position,
    /// Half its size along the rails.
    pub half_size: Length,
    /// Its top, from the bed plane (zero for most; a middle bunk may lie lower).
    pub top: Position,
    /// What it is made of.
    pub kind: BunkKind,
}

/// The wedges that hold the log on its bunks.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Wedges {
    /// From the log's lowest line to the contact, on either side.
    pub reach: Length,
    /// Highest point of a wedge above what it stands on: the bunk, or what is packed on it.
    pub height: Length,
    /// How far packing and wedges can raise the log above one bunk.
    pub packing: Length,
}

/// How the bunks must carry the log.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Support {
    /// Greatest distance between neighbours of the bunks that carry.
    pub spacing: Length,
    /// Greatest length of a free end beyond the outermost of them.
    pub overhang: Length,
    /// Greatest sag of what remains, between them and at a free end.
    pub sag: Length,
}

/// Deepest bite: `[angle][feed][knife off, knife on][timber]`, feeds in the order climb, forward.
pub type BiteTable = [[[[Length; 3]; 2]; 2]; 2];

/// What one pass may take.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Reach {
    /// Greatest cover, by angle; at most blade radius less hub.
    pub cover: [Length; 2],
    /// Deepest bite.
    pub bite: BiteTable,
}

impl Reach {
    /// The deepest bite for this kind of pass.
    #[must_use]
    pub const fn bite(&self, angle: Angle, feed: Feed, knife: bool, timber: Timber) -> Length {
        let [flat, upright] = &self.bite;
        let [climb, forward] = match angle {
            Angle::Flat => flat,
            Angle::Upright => upright,
        };
        let [off, on] = match feed {
            Feed::Climb => climb,
            Feed::Forward => forward,
        };
        let [soft, medium, hard] = if knife { on } else { off };
        match timber {
            Timber::Soft => *soft,
            Timber::Medium => *medium,
            Timber::Hard => *hard,
        }
    }
}

/// Power and feeds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Power {
    /// Power at the engine or motor, watts.
    pub watts: u32,
    /// Share that reaches the rim, in thousandths.
    pub efficiency: u16,
    /// Slowest feed in wood.
    pub feed_min: Speed,
    /// Fastest feed in wood.
    pub feed_max: Speed,
    /// Least feed per tooth; below it the teeth rub.
    pub bite_min: Length,
    /// Greatest feed per tooth.
    pub bite_max: Length,
    /// Share of the gullet that the chip of one tooth, thought solid, may fill, in thousandths.
    pub gullet_fill: u16,
}

/// Distances to be kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Clearances {
    /// Kerf above the bed, wedges and dogs.
    pub bed: Length,
    /// Beyond the blade's own chord past the log's ends.
    pub run_out: Length,
    /// Blade and housing from wood and keep-out boxes outside a cut.
    pub body: Length,
    /// Rim beyond the outermost wood on a flat stroke that runs through, bark not counted.
    pub rim_overhang: Length,
}

/// How heavy may be what comes loose, kilograms.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Loose {
    /// A piece that drops beside an upright kerf, with its bark.
    pub drops: u16,
    /// A piece that tips off the log's side, with its bark.
    pub tips: u16,
    /// What one flat stroke frees and lays on the turning blade, bark not counted.
    pub on_blade: u16,
}

/// Factors of the rules on forces, in thousandths.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Factors {
    /// Demanded of the rolling check.
    pub roll: u16,
    /// Demanded of the sliding check.
    pub slip: u16,
    /// Demanded of the lifting check.
    pub lift: u16,
    /// Share of the tangential force that dull teeth push away from the blade's centre.
    pub thrust: u16,
    /// Multiplies every cutting force, for knots.
    pub shock: u16,
    /// Grip of a barked log on its wedges.
    pub grip_barked: u16,
    /// Grip of a smooth or peeled log.
    pub grip_smooth: u16,
    /// Grip of a log with ice on it or on the bunks.
    pub grip_iced: u16,
}

impl Factors {
    /// The grip of a log with that surface, in thousandths.
    #[must_use]
    pub const fn grip(&self, surface: Surface) -> u16 {
        match surface {
            Surface::Barked => self.grip_barked,
            Surface::Smooth => self.grip_smooth,
            Surface::Iced => self.grip_iced,
        }
    }
}

/// How long the operator takes at a hold.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct HoldTimes {
    /// To walk up and back, once a hold.
    pub walk: Millis,
    /// For each piece taken away.
    pub unload: Millis,
    /// For any other act.
    pub act: Millis,
}

/// The mill profile.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct MillRecord {
    /// What moves the carriage.
    pub drive: Drive,
    /// On which hand the entry side lies, looking outbound.
    pub entry: Side,
    /// The blade.
    pub blade: Blade,
    /// How it swings.
    pub swing: Swing,
    /// Hub and housing by angle: boxes whose origin is blade centre (travel) and corner (across, height).
    pub head: [Vec<Box3, HEAD_BOXES_MAX>; 2],
    /// What one pass may take.
    pub reach: Reach,
    /// Power and feeds.
    pub power: Power,
    /// The riving knife, if the mill has one.
    pub knife: Option<Knife>,
    /// The pull-back aid, if the mill has one.
    pub aid: Option<PullBackAid>,
    /// Along the rails.
    pub travel: Axis,
    /// Across the bed.
    pub across: Axis,
    /// Above the bed.
    pub height: Axis,
    /// How height is set.
    pub height_setting: HeightSetting,
    /// The bunks, by rising travel.
    pub bunks: Vec<Bunk, BUNKS_MAX>,
    /// The wedges.
    pub wedges: Wedges,
    /// How the bunks must carry the log.
    pub support: Support,
    /// The dogs, where they stand open beside the log.
    pub dogs: Vec<Box3, DOGS_MAX>,
    /// What each closed dog holds sideways, lengthwise and down, newtons; zero where it is not known.
    pub dog_hold: u32,
    /// Where neither blade nor housing may go.
    pub keep_out: Vec<Box3, KEEP_OUT_MAX>,
    /// Distances to be kept.
    pub clearances: Clearances,
    /// How heavy may be what comes loose.
    pub loose: Loose,
    /// Factors of the rules on forces.
    pub factors: Factors,
    /// How long holds take.
    pub hold_times: HoldTimes,
    /// The grid that targets are snapped to.
    pub grid: Length,
}

impl MillRecord {
    /// Which way the working rim runs at an angle. With [`Turn::Over`] the same rim point works at both angles and
    /// runs the same way; with [`Turn::Under`] the opposite one works and runs the other way.
    #[must_use]
    pub const fn teeth(&self, angle: Angle) -> Stroke {
        match (angle, self.swing.turn) {
            (Angle::Flat, _) | (Angle::Upright, Turn::Over) => self.swing.teeth_flat,
            (Angle::Upright, Turn::Under) => self.swing.teeth_flat.back(),
        }
    }

    /// What a stroke at an angle really is: climb where the teeth run against the carriage, forward where they
    /// run with it.
    #[must_use]
    pub fn feed(&self, angle: Angle, stroke: Stroke) -> Feed {
        if self.teeth(angle) == stroke {
            Feed::Forward
        } else {
            Feed::Climb
        }
    }

    /// The stroke that gives a feed at an angle.
    #[must_use]
    pub const fn stroke(&self, angle: Angle, feed: Feed) -> Stroke {
        match feed {
            Feed::Forward => self.teeth(angle),
            Feed::Climb => self.teeth(angle).back(),
        }
    }
}
