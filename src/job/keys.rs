//! The keys of a job.

use bunkside_protocol::log::{BED_CLEARANCE, BETWEEN_BUNKS, CUTTING_ENERGY, DENSITY, STIFFNESS};

use crate::input::{Key, Shape};
use crate::measure::Quantity;
use crate::mill;

const DIAMETER: Shape = Shape::mm(30, 4_000);
const DIAMETERS: Shape = Shape::Either(&[
    DIAMETER,
    Shape::List {
        of: &DIAMETER,
        min: 2,
        max: 2,
    },
]);
const ACROSS: Shape = Shape::mm(-2_000, 2_000);
const ACROSS_FROM_TO: Shape = Shape::List {
    of: &ACROSS,
    min: 2,
    max: 2,
};
const HEIGHT: Shape = Shape::mm(-500, 4_000);
const HEIGHT_FROM_TO: Shape = Shape::List {
    of: &HEIGHT,
    min: 2,
    max: 2,
};
const TURN: Shape = Shape::Measure {
    quantity: Quantity::Angle,
    min: -360_000,
    max: 360_000,
};
const BEST: Shape = Shape::Word(&["best"]);
pub(crate) const PRICE: Shape = Shape::Number {
    min: 0,
    max: 1_000_000_000,
};
const PRICES: Shape = Shape::Either(&[
    PRICE,
    Shape::List {
        of: &PRICE,
        min: 1,
        max: 8,
    },
]);

const SWEEP: &[Key] = &[
    Key::must(
        "bow",
        Shape::mm(0, 1_000),
        "How far the middle lies off the straight line between the ends.",
    ),
    Key::must(
        "toward",
        Shape::Either(&[Shape::Word(&["up", "down", "entry", "exit"]), TURN]),
        "Which way, with the log as measured: a side, or degrees from the exit side upwards. The setting's turn comes on top.",
    ),
];

const METAL: &[Key] = &[
    Key::must(
        "from",
        Shape::mm(0, 20_000),
        "Where it begins, along the log from its near end.",
    ),
    Key::must("to", Shape::mm(0, 20_000), "Where it ends."),
    Key::must(
        "across",
        ACROSS_FROM_TO,
        "From and to across, from the line between the end centres, with the log as it is set; the entry side is negative.",
    ),
    Key::must(
        "height",
        HEIGHT_FROM_TO,
        "From and to above the bed, with the log as it is set.",
    ),
];

const CORE: &[Key] = &[
    Key::must(
        "thick",
        Shape::mm(0, 2_000),
        "How thick it is at most, around the line between the end centres.",
    ),
    Key::default(
        "from",
        Shape::mm(0, 20_000),
        "\"0 mm\"",
        "Where it begins, along the log from its near end.",
    ),
    Key::may(
        "to",
        Shape::mm(0, 20_000),
        "Where it ends; at the far end if left out.",
    ),
];

pub(crate) const LOG: &[Key] = &[
    Key::must("name", Shape::Text, "What is painted on the log."),
    Key::may(
        "species",
        Shape::Text,
        "Species by its common name; gives density, shrinkage and timber class.",
    ),
    Key::default(
        "state",
        Shape::Word(&["fresh", "dry", "frozen"]),
        "\"fresh\"",
        "The state it is sawn in. Frozen wood is reckoned harder; of a frozen log `iced` has to be said too.",
    ),
    Key::must(
        "length",
        Shape::mm(300, 20_000),
        "Whole length, both ends included.",
    ),
    Key::must(
        "small_end",
        DIAMETERS,
        "Diameter of the small end; two for an oval: across and height, with the log as measured.",
    ),
    Key::must(
        "butt",
        DIAMETERS,
        "Diameter of the butt end; one or two, as for the small end.",
    ),
    Key::must(
        "butt_at",
        Shape::Word(&["near", "far"]),
        "Look where the butt, the thicker end, lies: near is the operator's end of the rails, far the other.",
    ),
    Key::default(
        "bark",
        Shape::mm(0, 150),
        "\"0 mm\"",
        "Thickness of the bark; zero for a peeled log.",
    ),
    Key::default(
        "over_bark",
        Shape::Flag,
        "false",
        "Whether the diameters were measured over the bark.",
    ),
    Key::may(
        "sweep",
        Shape::Table(SWEEP),
        "How the log is bowed; straight if left out.",
    ),
    Key::default(
        "end_trim",
        Shape::mm(0, 500),
        "\"0 mm\"",
        "Taken off each end after sawing, inside the length: no board counts on it.",
    ),
    Key::default(
        "growth_stress",
        Shape::Word(&["low", "medium", "high"]),
        "\"low\"",
        "How much the timber moves as it is opened; \"high\" is sawn as stressed timber, measured and straightened.",
    ),
    Key::may(
        "core",
        Shape::Table(CORE),
        "Pith or rot along its middle that boards keep clear of; see `core` of a board.",
    ),
    Key::default(
        "metal",
        Shape::List {
            of: &Shape::Table(METAL),
            min: 0,
            max: 8,
        },
        "[]",
        "Places with metal: every kerf stays 10 mm off them, or by what the axes are off if that is more.",
    ),
    Key::may(
        "density",
        Shape::figure(Quantity::Density, &DENSITY),
        "Density as it lies; from the species if left out.",
    ),
    Key::may(
        "stiffness",
        Shape::figure(Quantity::Stiffness, &STIFFNESS),
        "Modulus of elasticity along the grain, green; from the species if left out, or 6.5 GPa where that is not known.",
    ),
    Key::may(
        "timber",
        Shape::Word(&["soft", "medium", "hard"]),
        "How hard it is to saw; from species, density and state if left out.",
    ),
    Key::may(
        "cutting_energy",
        Shape::figure(Quantity::CuttingEnergy, &CUTTING_ENERGY),
        "Specific cutting energy, used as it is; if left out as measured on the mill, or an estimate from species or timber \
         class, of which the upper end counts, 40 % more.",
    ),
    Key::may(
        "smooth",
        Shape::Flag,
        "Whether it is smooth, so that it grips less; a log without bark counts as smooth if left out.",
    ),
    Key::may(
        "iced",
        Shape::Flag,
        "Whether ice or trodden snow is on the log or on the bunks, so that it hardly grips (`grip_iced` of the mill). Must be said of \
         a frozen log; of others false if left out.",
    ),
];

const SETTING: &[Key] = &[
    Key::default(
        "level",
        Shape::Either(&[
            Shape::Word(&["centre", "top", "bottom", "best"]),
            Shape::Count { min: 0, max: 100 },
        ]),
        "\"centre\"",
        "The line laid parallel to the rails; the lowest point of the bark then lies on the bed. A number tilts the log in between: 0 is by its underside, 50 by its centre line, 100 by its top. With \"best\" it is chosen among 0, 25, 50, 75 and 100, as that brings most; so are `offset` and `turn`, alone or together, where `layout` is \"best\". `bunkside plan` and `bunkside layout` choose, and tell what to write here to have it again.",
    ),
    Key::must(
        "near_end_at",
        Shape::mm(-10_000, 20_000),
        "Where the near end of the log lies: measure it along the rails from their zero mark, where the blade's centre stands at travel 0; negative on the operator's side of it.",
    ),
    Key::default(
        "offset",
        Shape::Either(&[BEST, ACROSS]),
        "\"0 mm\"",
        "How far its centre line lies from the bed's, towards the exit side. With \"best\" it is chosen, where the log reaches further than the across axis: 0, and up to four more in whole steps of 10 mm, the last where the log lies in the middle of what that axis reaches.",
    ),
    Key::default(
        "turn",
        Shape::Either(&[BEST, TURN]),
        "\"0 deg\"",
        "How far it is rolled from how it was measured, its top towards the entry side. With \"best\" it is chosen in steps of 15 degrees, where the log is swept or oval; of one that is neither it makes no difference.",
    ),
    super::sawn::KEY,
    Key::default(
        "bed_clearance",
        Shape::mm(BED_CLEARANCE.least, BED_CLEARANCE.most),
        "\"0 mm\"",
        "Least height of a kerf above the bed; the larger of this and the mill's counts.",
    ),
    Key::may(
        "between_bunks",
        Shape::mm(BETWEEN_BUNKS.least, BETWEEN_BUNKS.most),
        "A smaller clearance that is enough between the bunks.",
    ),
    Key::default(
        "step",
        Shape::Measure {
            quantity: Quantity::Length,
            min: 50,
            max: 50_000,
        },
        "\"0.1 mm\"",
        "Step of the search for a layout, rounded up to whole steps of the mill's `grid`.",
    ),
    Key::default(
        "layout",
        Shape::Word(&["by-habit", "best"]),
        "\"by-habit\"",
        "Which boards come from where: as a sawyer would by hand, the first product with the first choice of every layer; or those that together bring most of all that are found that can be sawn, with the most that any could bring told beside it. Metal in the log is minded only where a kerf of what brings most comes too near to it: boards lean aside there, or no floor lies lower than over it; where that does not help, the log is laid out by habit.",
    ),
    Key::default(
        "people",
        Shape::Count { min: 1, max: 9 },
        "2",
        "How many work at the mill. With 1 no cut may need a second person, who holds down what comes free, and the blade stands at every unloading; what cannot be sawn so is refused. A mill that is pushed by hand and has no pull-back aid is refused every round log so: it cannot climb, its flat cuts free slabs and bark edges in forward feed, and somebody has to hold those down. What may tip off weighs no more than one lifts, 25 kg, unless the mill says otherwise (`tips` in its `[loose]`). What is too heavy to be lifted by those who work there is told.",
    ),
    Key::default(
        "stop_to_unload",
        Shape::Flag,
        "true",
        "Whether the blade is stopped, and stands, before anybody unloads; it takes its run-down and spin-up each time. With false pieces are taken away beside a turning blade.",
    ),
];

const PRICE_BY: &[Key] = &[
    Key::may(
        "each",
        PRICES,
        "For one board; a list gives one price for each of the lengths.",
    ),
    Key::may("per_m", PRICES, "For a metre of its length."),
    Key::may("per_m3", PRICES, "For a cubic metre."),
    Key::may(
        "per_bf",
        PRICES,
        "For a board foot: thickness and width in inches times length in feet, over 12; under one inch counts as one.",
    ),
];

const WANE: &[Key] = &[
    Key::must(
        "face",
        Shape::mm(0, 500),
        "How much of the width may be missing on a face, at either edge.",
    ),
    Key::may(
        "edge",
        Shape::mm(0, 500),
        "How much of the thickness may be missing on an edge, from either face; all of it if left out.",
    ),
    Key::default(
        "along_percent",
        Shape::Count { min: 1, max: 100 },
        "100",
        "Along how much of the length, from one of the ends on; the rest has no wane.",
    ),
];

pub(crate) const BOARD: &[Key] = &[
    Key::must("name", Shape::Text, "What the product is called."),
    Key::may(
        "thickness",
        Shape::mm(3, 1_500),
        "Thickness as it is sawn, or as it is wanted where there is a [finish]; needed unless `nominal` is given.",
    ),
    Key::may("width", Shape::mm(3, 1_500), "Width, as the thickness."),
    Key::may(
        "nominal",
        Shape::Text,
        "What softwood of its size is called, thickness by width in inches, such as \"2 x 6\", in the place of both: the standard's dry size (PS 20) where [finish] dries it, else its green one. A price for a board foot counts what it is called.",
    ),
    Key::default(
        "as_sawn",
        Shape::Flag,
        "false",
        "Whether thickness and width are as it is sawn, whatever [finish] says.",
    ),
    Key::must(
        "lengths",
        Shape::List {
            of: &Shape::mm(50, 20_000),
            min: 1,
            max: 8,
        },
        "Lengths that can be sold.",
    ),
    Key::must(
        "price",
        Shape::Table(PRICE_BY),
        "What it brings: one of each, per_m, per_m3, per_bf.",
    ),
    Key::default(
        "least",
        Shape::Count { min: 0, max: 100_000 },
        "0",
        "How many are owed.",
    ),
    Key::may(
        "most",
        Shape::Count { min: 0, max: 100_000 },
        "How many can be used; any number if left out.",
    ),
    Key::default(
        "wane",
        Shape::Either(&[Shape::Word(&["none"]), Shape::mm(0, 500), Shape::Table(WANE)]),
        "\"none\"",
        "How much may be missing or bark at an edge: a length alone is how much of the width may be on a face, at either edge. Or a table, such as wane = { face = \"15 mm\", edge = \"8 mm\", along_percent = 40 }: `face`, needed, is that length; `edge` how much of the thickness may be on an edge, from either face, and all of it if left out; `along_percent` along how much of the length, from one of the ends on, 1 to 100 and 100 if left out: the rest has no wane.",
    ),
    Key::default(
        "core",
        Shape::Word(&["clear", "inside", "any"]),
        "\"clear\"",
        "Where the log's core may be: clear of the board, all of it inside, or anywhere.",
    ),
    Key::default(
        "on_edge",
        Shape::Flag,
        "true",
        "Whether the best layout may also stand it on edge in the log, as high as it is wide: no more than eight times its thickness, so that it stands when it comes free. By habit it lies.",
    ),
];

const PERCENT: Shape = Shape::Number { min: 0, max: 30_000 };
const FINISH: &[Key] = &[
    Key::default(
        "planing",
        Shape::mm(0, 50),
        "\"0 mm\"",
        "What planing takes off the thickness, both faces together, and off the width.",
    ),
    Key::may(
        "planing_width",
        Shape::mm(0, 50),
        "What it takes off the width, where that is another.",
    ),
    Key::may(
        "moisture_percent",
        PERCENT,
        "The moisture at which boards are to have their sizes, so that what they shrink by until then is sawn on; no shrinkage if left out.",
    ),
    Key::default(
        "grain",
        Shape::Word(&["any", "flat", "quarter", "as_it_lies"]),
        "\"any\"",
        "How boards lie in the log's rings: flat-sawn ones shrink most in width, quarter-sawn ones in thickness; with any as much as either is sawn on both ways. With as_it_lies the best layout tells from where each board lies: flat sawn where its rings are at 45 degrees or less to its wide faces all over, quarter sawn where they are at 45 or more, measured from the log's middle; it is sawn smaller there, by what wood shrinks at 45 degrees in the place of what it shrinks by most, and as large as with any where it is both. By habit all are sawn as large as with any.",
    ),
    Key::may(
        "radial_percent",
        PERCENT,
        "Shrinkage across the rings from green to oven-dry; from the species if left out.",
    ),
    Key::may("tangential_percent", PERCENT, "The same along the rings."),
    Key::default(
        "variation",
        Shape::Measure {
            quantity: Quantity::Length,
            min: 0,
            max: 10_000,
        },
        "\"0 mm\"",
        "Standard deviation of what this mill saws: measure some boards at several places each.",
    ),
    Key::default(
        "undersize_percent",
        Shape::Number { min: 0, max: 49_000 },
        "5",
        "What share of the boards may come out smaller than they have to be before they are planed; 0 is taken as one in a thousand.",
    ),
];

pub(crate) const MILL: Shape = Shape::Either(&[Shape::Text, Shape::Table(mill::KEYS)]);
pub(crate) const MILL_ABOUT: &str =
    "The mill profile: its file, from this file's folder, or a [mill] table with the keys of a profile.";
pub(crate) const UNIT: Key = Key::may(
    "unit",
    Shape::Word(&["mm", "cm", "m", "in", "ft"]),
    "Unit of numbers written without one; without this line every length needs its unit.",
);
pub(crate) const LOG_TABLE: Key = Key::must("log", Shape::Table(LOG), "The log as measured.");
pub(crate) const FINISH_TABLE: Key = Key::may(
    "finish",
    Shape::Table(FINISH),
    "How much larger than they are wanted boards are sawn; without it they are sawn as large as `thickness` and `width` say.",
);
pub(crate) const SETTING_TABLE: Key =
    Key::must("setting", Shape::Table(SETTING), "How it lies on the bunks.");
const BOARDS: Shape = Shape::List {
    of: &Shape::Table(BOARD),
    min: 1,
    max: 64,
};
const BOARDS_ABOUT: &str = "The products that are wanted.";

/// Every key of a job.
pub static KEYS: &[Key] = &[
    Key::must("mill", MILL, MILL_ABOUT),
    UNIT,
    LOG_TABLE,
    SETTING_TABLE,
    FINISH_TABLE,
    Key::must("board", BOARDS, BOARDS_ABOUT),
];

/// The same keys for a file of which only the log and its setting count.
pub(super) static LOG_KEYS: &[Key] = &[
    Key::may("mill", MILL, MILL_ABOUT),
    UNIT,
    LOG_TABLE,
    SETTING_TABLE,
    FINISH_TABLE,
    Key::may("board", BOARDS, BOARDS_ABOUT),
];

#[cfg(test)]
mod tests {
    use crate::input::{describe, faulty_defaults};

    #[test]
    fn every_default_fits_its_shape() {
        assert!(faulty_defaults(super::KEYS).is_empty());
    }

    #[test]
    fn every_key_is_explained() {
        let text = describe(super::KEYS);
        for expected in ["log.small_end\n", "setting.turn\n", "board[].price.per_bf\n"] {
            assert!(text.contains(expected), "{expected}");
        }
    }
}
