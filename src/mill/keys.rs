//! The keys of a mill profile.

mod bed;
mod forces;

use crate::input::{Key, Shape};
use crate::measure::Quantity;
use bed::{BUNK, SUPPORT, WEDGES};
use forces::{FACTOR, LOOSE};

const fn measure(quantity: Quantity, min: i64, max: i64) -> Shape {
    Shape::Measure { quantity, min, max }
}

/// A number in thousandths.
const fn share(min: i64, max: i64) -> Shape {
    Shape::Number { min, max }
}

const SPEED: Shape = measure(Quantity::Speed, 1_000, 5_000_000);
const STROKE: Shape = Shape::Word(&["outbound", "homebound"]);
const PLACE: Shape = Shape::mm(-20_000, 30_000);
const FROM_TO: Shape = Shape::List {
    of: &PLACE,
    min: 2,
    max: 2,
};
const BY_TIMBER: Shape = Shape::List {
    of: &Shape::mm(0, 1_500),
    min: 3,
    max: 3,
};
const ENERGY: Shape = Shape::figure(Quantity::CuttingEnergy, &bunkside_protocol::log::CUTTING_ENERGY);

/// A box: from and to along each axis.
const BOX: &[Key] = &[
    Key::must("travel", FROM_TO, "From and to along the rails."),
    Key::must(
        "across",
        FROM_TO,
        "From and to across the bed, growing from the entry side to the exit side.",
    ),
    Key::must("height", FROM_TO, "From and to in height."),
];

const CARRIAGE: &[Key] = &[
    Key::must(
        "drive",
        Shape::Word(&["powered", "hand"]),
        "What moves the carriage; a hand carriage never climbs.",
    ),
    Key::may(
        "holding_force",
        measure(Quantity::Force, 1, 100_000),
        "Greatest pull of a climb cut that the drive holds; for a powered carriage only, and needed there.",
    ),
    // ISO 11228-2, pushing and pulling: about what nine in ten grown men may start a load with now and then (from memory).
    Key::may(
        "push",
        measure(Quantity::Force, 20, 2_000),
        "Hardest push that a cut may ask of whoever pushes a hand carriage, a knot counted; 250 N if left out (after ISO 11228-2, from memory). What the carriage takes to roll comes on top.",
    ),
];

const BLADE: &[Key] = &[
    Key::must(
        "kerf",
        measure(Quantity::Length, 500, 20_000),
        "Width of the kerf, over the teeth.",
    ),
    Key::must("radius", Shape::mm(50, 1_500), "Radius to the tips of the teeth."),
    Key::must(
        "hub",
        Shape::mm(5, 1_000),
        "Radius of hub and collars, which may never meet wood.",
    ),
    Key::must("teeth", Shape::Count { min: 2, max: 400 }, "Number of teeth."),
    Key::must(
        "gullet",
        measure(Quantity::Area, 10, 10_000),
        "Area of one gullet, which carries the chips out.",
    ),
    Key::must(
        "rim_speed",
        measure(Quantity::Speed, 5_000_000, 120_000_000),
        "Speed of the rim in the cut.",
    ),
    Key::must("spin_up", Shape::seconds(600), "From standing to full speed."),
    Key::must("run_down", Shape::seconds(600), "From full speed to standing."),
];

const PIVOT: &[Key] = &[
    Key::must(
        "across",
        Shape::mm(-3_000, 3_000),
        "Across from the corner, negative towards the entry side.",
    ),
    Key::must("height", Shape::mm(-3_000, 3_000), "Above the corner."),
];

const CLIMBS: &[Key] = &[
    Key::must("flat", STROKE, "The stroke that climbs with the blade flat."),
    Key::must(
        "upright",
        STROKE,
        "The stroke that climbs with the blade upright.",
    ),
];

const SWING: &[Key] = &[
    Key::must(
        "pivot",
        Shape::Table(PIVOT),
        "The axis the blade swings about, from the corner of the two kerfs.",
    ),
    Key::must(
        "turn",
        Shape::Word(&["over", "under"]),
        "From upright to flat: over = the head goes over to the entry side; under = the lower rim goes to the entry side under the head.",
    ),
    Key::must(
        "teeth_flat",
        STROKE,
        "Which way the working rim runs with the blade flat; the arrow on the guard shows it.",
    ),
    Key::must("time", Shape::seconds(120), "How long a swing takes."),
    Key::may(
        "climbs",
        Shape::Table(CLIMBS),
        "The strokes that climb, if you want what you know compared with what follows from the swing.",
    ),
];

const HEAD_BOXES: Shape = Shape::List {
    of: &Shape::Table(BOX),
    min: 1,
    max: 4,
};
const HEAD: &[Key] = &[
    Key::must(
        "flat",
        HEAD_BOXES,
        "Hub and housing with the blade flat: travel from the blade centre, across and height from the corner.",
    ),
    Key::must("upright", HEAD_BOXES, "The same with the blade upright."),
];

const BITE: &[Key] = &[
    Key::must(
        "knife_off",
        BY_TIMBER,
        "Deepest bite without the riving knife: soft, medium, hard timber.",
    ),
    Key::may(
        "knife_on",
        BY_TIMBER,
        "Deepest bite with the knife fitted; as without it if left out.",
    ),
];

const REACH_AT: &[Key] = &[
    Key::must(
        "cover",
        Shape::mm(1, 1_500),
        "Rim to the outermost wood on the housing side; at most blade radius less hub.",
    ),
    Key::may(
        "climb",
        Shape::Table(BITE),
        "Deepest bites in climb feed; a hand carriage may leave this out.",
    ),
    Key::must("forward", Shape::Table(BITE), "Deepest bites in forward feed."),
];

const REACH: &[Key] = &[
    Key::must("flat", Shape::Table(REACH_AT), "With the blade flat."),
    Key::must("upright", Shape::Table(REACH_AT), "With the blade upright."),
];

const FEED: &[Key] = &[
    Key::must("slowest", SPEED, "Slowest feed in wood; slower only rubs."),
    Key::must("fastest", SPEED, "Fastest feed in wood."),
];

// From memory: a headsaw tooth bites up to about 3 mm, its gullet takes a solid chip of about 0.7 of itself. Below
// 0.05 mm teeth rub (common practice, no source).
const TOOTH_BITE: &[Key] = &[
    Key::default(
        "least",
        measure(Quantity::Length, 0, 20_000),
        "\"0.05 mm\"",
        "Least feed per tooth; below it the teeth rub.",
    ),
    Key::default(
        "most",
        measure(Quantity::Length, 10, 20_000),
        "\"3 mm\"",
        "Greatest feed per tooth.",
    ),
];

const POWER: &[Key] = &[
    Key::must(
        "engine",
        measure(Quantity::Power, 100, 1_000_000),
        "Power of the engine or motor.",
    ),
    Key::must(
        "efficiency",
        share(100, 1_000),
        "Share of it that reaches the rim.",
    ),
    Key::must("feed", Shape::Table(FEED), "Feeds in wood."),
    Key::default(
        "tooth_bite",
        Shape::Table(TOOTH_BITE),
        "{}",
        "What one tooth may take, along the feed.",
    ),
    Key::default(
        "gullet_fill",
        share(50, 1_000),
        "0.7",
        "Share of the gullet that the chip of one tooth, thought solid, may fill.",
    ),
];

const HOMEBOUND_LIMIT: &[Key] = &[
    Key::must("flat", Shape::mm(0, 1_500), "With the blade flat."),
    Key::must("upright", Shape::mm(0, 1_500), "With the blade upright."),
];

const KNIFE: &[Key] = &[
    Key::must(
        "leads_homebound",
        Shape::Flag,
        "Whether the knife runs ahead of the blade on a homebound stroke. It leads one way: false says that it runs ahead outbound.",
    ),
    Key::must(
        "homebound_limit",
        Shape::Table(HOMEBOUND_LIMIT),
        "Deepest pass with the knife fitted on the stroke on which it runs ahead, outbound too if that is where it does.",
    ),
    Key::must("fitted", Shape::Flag, "Whether it is fitted when a job starts."),
];

const AID: &[Key] = &[
    Key::must("widest", Shape::mm(1, 3_000), "Widest piece it bears on."),
    Key::must("fitted", Shape::Flag, "Whether it bears when a job starts."),
];

const AXIS: &[Key] = &[
    Key::must("min", PLACE, "Lowest place the axis reaches."),
    Key::must("max", PLACE, "Highest place the axis reaches."),
    Key::must("rapid", SPEED, "Speed in clear air."),
    Key::must(
        "acceleration",
        measure(Quantity::Acceleration, 1_000, 20_000_000),
        "Speeding up and slowing down.",
    ),
    Key::must(
        "tolerance",
        Shape::mm(0, 20),
        "How far the true place may lie from the target; less than 0.1 mm counts as that.",
    ),
];

const HEIGHT: &[Key] = &[
    Key::must("min", PLACE, "Lowest place the axis reaches."),
    Key::must("max", PLACE, "Highest place the axis reaches."),
    Key::must("rapid", SPEED, "Speed in clear air."),
    Key::must(
        "acceleration",
        measure(Quantity::Acceleration, 1_000, 20_000_000),
        "Speeding up and slowing down.",
    ),
    Key::must(
        "tolerance",
        Shape::mm(0, 20),
        "How far the true place may lie from the target; less than 0.1 mm counts as that.",
    ),
    Key::must(
        "set",
        Shape::Word(&["driven", "by_hand"]),
        "driven = both ends by a drive; by_hand = at each end of the rails, for which plans stop the blade.",
    ),
    Key::may(
        "setting_time",
        Shape::seconds(600),
        "The walk and the setting when it is set by hand; needed there.",
    ),
];

const CLEARANCE: &[Key] = &[
    Key::must(
        "bed",
        Shape::mm(0, 500),
        "Kerf above the bed, wedges and dogs. Every clearance holds what the axes are off; where they are off by more, that is kept.",
    ),
    Key::must(
        "run_out",
        Shape::mm(0, 2_000),
        "Beyond the blade's own chord past the log's ends.",
    ),
    Key::must(
        "body",
        Shape::mm(0, 500),
        "Blade and housing from wood and keep-out boxes outside a cut.",
    ),
    Key::must(
        "rim_overhang",
        Shape::mm(0, 500),
        "Rim beyond the outermost wood on a flat stroke that runs through, bark not counted.",
    ),
];

const HOLD: &[Key] = &[
    Key::must("walk", Shape::seconds(600), "To walk up and back, once a hold."),
    Key::must("unload", Shape::seconds(600), "For each piece taken away."),
    Key::must("act", Shape::seconds(600), "For anything else done at a hold."),
];

const CUTTING_ENERGY: &[Key] = &[
    Key::may("soft", ENERGY, "In soft timber."),
    Key::may("medium", ENERGY, "In medium timber."),
    Key::may("hard", ENERGY, "In hard timber."),
];

const BOXES: Shape = Shape::List {
    of: &Shape::Table(BOX),
    min: 0,
    max: 8,
};

/// Every key of a mill profile.
pub static KEYS: &[Key] = &[
    Key::must("name", Shape::Text, "What the profile is called in reports."),
    Key::may(
        "unit",
        Shape::Word(&["mm", "cm", "m", "in", "ft"]),
        "Unit of numbers written without one; without this line every length needs its unit.",
    ),
    Key::must(
        "entry",
        Shape::Word(&["left", "right"]),
        "On which hand the entry side lies, looking outbound; the flat blade comes in from there.",
    ),
    Key::default(
        "grid",
        measure(Quantity::Length, 10, 1_000),
        "\"0.1 mm\"",
        "The grid that targets are snapped to before they are checked.",
    ),
    Key::must("carriage", Shape::Table(CARRIAGE), "What moves the carriage."),
    Key::must("blade", Shape::Table(BLADE), "The blade."),
    Key::must(
        "swing",
        Shape::Table(SWING),
        "How the blade swings from upright to flat.",
    ),
    Key::must(
        "head",
        Shape::Table(HEAD),
        "Hub and housing as boxes, at both angles.",
    ),
    Key::must("reach", Shape::Table(REACH), "What one pass may take."),
    Key::must("power", Shape::Table(POWER), "Power and feeds."),
    Key::may(
        "cutting_energy",
        Shape::Table(CUTTING_ENERGY),
        "Specific cutting energy measured on this mill, by timber class, used as it is; a log may say otherwise.",
    ),
    Key::may(
        "knife",
        Shape::Table(KNIFE),
        "The riving knife; left out if the mill has none.",
    ),
    Key::may(
        "pull_back_aid",
        Shape::Table(AID),
        "Draws freed boards home and steadies the flat cut; left out if the mill has none.",
    ),
    Key::must(
        "travel",
        Shape::Table(AXIS),
        "Along the rails: the blade centre, 0 at the zero mark, a line that you paint across the rails near the operator's end, growing outbound. Its least and greatest are where the end stops hold it.",
    ),
    Key::must(
        "across",
        Shape::Table(AXIS),
        "Across the bed: the corner, 0 at the bed's centre line.",
    ),
    Key::must(
        "height",
        Shape::Table(HEIGHT),
        "Above the bed: the corner, 0 at the bunk tops.",
    ),
    Key::must(
        "bunk",
        Shape::List {
            of: &Shape::Table(BUNK),
            min: 2,
            max: 8,
        },
        "The bunks, by rising place along the rails.",
    ),
    Key::must("wedges", Shape::Table(WEDGES), "The wedges that hold the log."),
    Key::default(
        "support",
        Shape::Table(SUPPORT),
        "{}",
        "How the bunks must carry the log.",
    ),
    Key::default(
        "dog",
        BOXES,
        "[]",
        "The dogs, as boxes where they stand open beside the log. To close one, it is shifted across to the log by up to 100 mm; one that stands further off holds nothing.",
    ),
    Key::default(
        "dog_hold",
        measure(Quantity::Force, 0, 100_000),
        "\"0 N\"",
        "What each dog, once closed at a hold, holds sideways, lengthwise and down; nothing if it was not measured.",
    ),
    Key::may(
        "log_max",
        measure(Quantity::Mass, 1, 100_000),
        "Heaviest log that bed and bunks carry, its bark counted; a heavier one is refused.",
    ),
    Key::default(
        "keep_out",
        BOXES,
        "[]",
        "Where neither blade nor housing may go, as boxes on the bed.",
    ),
    Key::must("clearance", Shape::Table(CLEARANCE), "Distances to be kept."),
    Key::default(
        "loose",
        Shape::Table(LOOSE),
        "{}",
        "How heavy may be what comes loose.",
    ),
    Key::default(
        "factor",
        Shape::Table(FACTOR),
        "{}",
        "Factors of the rules on forces.",
    ),
    Key::must("hold", Shape::Table(HOLD), "How long holds take."),
];

#[cfg(test)]
mod tests {
    use crate::input::faulty_defaults;

    #[test]
    fn every_default_fits_its_shape() {
        assert!(faulty_defaults(super::KEYS).is_empty());
    }
}
