//! What carries the log: bunks, wedges and packing.

use super::PLACE;
use crate::input::{Key, Shape};
use crate::measure::Quantity;

pub(super) const BUNK: &[Key] = &[
    Key::must("at", PLACE, "Middle of the bunk along the rails."),
    Key::must("size", Shape::mm(10, 1_000), "Its size along the rails."),
    Key::default(
        "top",
        Shape::mm(-500, 500),
        "\"0 mm\"",
        "Its top above the bed plane; a middle bunk may lie lower.",
    ),
    Key::must(
        "kind",
        Shape::Word(&["steel", "timber"]),
        "What it is made of; steel may never be touched.",
    ),
    Key::may(
        "sacrificial",
        Shape::mm(0, 200),
        "How deep a timber bunk may be cut into, with a warning; not at all if left out.",
    ),
];

pub(super) const WEDGES: &[Key] = &[
    Key::must(
        "reach",
        Shape::mm(10, 1_000),
        "From the log's lowest line to the wedge's contact, on either side.",
    ),
    Key::must(
        "height",
        Shape::mm(0, 1_000),
        "Highest point of a wedge above what it stands on: the bunk, or what is packed on it.",
    ),
    Key::default(
        "packing",
        Shape::mm(0, 1_000),
        "\"60 mm\"",
        "How far packing and wedges can raise the log above one bunk. A pack higher than its bunk is wide along the rails is warned of, one three times as high refused.",
    ),
];

// Common practice, no source.
pub(super) const SUPPORT: &[Key] = &[
    Key::default(
        "spacing",
        Shape::mm(100, 20_000),
        "\"2.4 m\"",
        "Greatest distance between neighbouring bunks that carry the log.",
    ),
    Key::default(
        "overhang",
        Shape::mm(0, 20_000),
        "\"1.2 m\"",
        "Greatest length of a free end beyond the last bunk that carries it.",
    ),
    Key::default(
        "sag",
        Shape::Measure {
            quantity: Quantity::Length,
            min: 100,
            max: 100_000,
        },
        "\"2 mm\"",
        "Greatest sag of what remains of the log, between bunks and at a free end.",
    ),
    Key::default(
        "bunk_width",
        Shape::mm(100, 10_000),
        "\"1.2 m\"",
        "How long the bunks are across the bed, half of it to either side of the bed's middle: both wedges have to stand on them.",
    ),
];
