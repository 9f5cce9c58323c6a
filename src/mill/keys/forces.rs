//! Factors of the rules on forces, and how heavy what comes loose may be.

use super::{measure, share};
use crate::input::Key;
use crate::measure::Quantity;

pub(super) const LOOSE: &[Key] = &[
    Key::may(
        "drops",
        measure(Quantity::Mass, 1, 10_000),
        "Heaviest piece, its bark counted, that may drop beside the log as an upright stroke frees it, with no wood under it that it balances on; what is heavier strikes rails, bunks and carriage. Left out, 18 kg (common practice, no source); what weighs less, from 1 kg on, is warned of.",
    ),
    // Two people at 25 kg each, the reference mass of ISO 11228-1 (from memory): more is not stopped, nor picked up.
    Key::may(
        "tips",
        measure(Quantity::Mass, 1, 10_000),
        "Heaviest piece, its bark counted, that may tip off the log's side as it comes free; more than those who work there lift (25 kg each, ISO 11228-1, from memory) strikes rails and carriage, and is not picked up. Left out, 50 kg, and 25 kg for a job with `people = 1`.",
    ),
    Key::may(
        "on_blade",
        measure(Quantity::Mass, 1, 10_000),
        "Heaviest that one flat stroke may free and so lay on the turning blade, bark not counted; left out, what the engine turns it under: half of the weight rubs at the rim, with a friction of 0.3 between steel and green wood (from memory).",
    ),
];

// Common practice, no source: factor 1.2, grips 0.5 and 0.3. Thrust and shock are from memory.
pub(super) const FACTOR: &[Key] = &[
    Key::default(
        "roll",
        share(1_000, 5_000),
        "1.2",
        "Demanded of the check against rolling.",
    ),
    Key::default(
        "slip",
        share(1_000, 5_000),
        "1.2",
        "Demanded of the check against sliding.",
    ),
    Key::default(
        "lift",
        share(1_000, 5_000),
        "1.2",
        "Demanded of the check against lifting.",
    ),
    Key::default(
        "thrust",
        share(0, 2_000),
        "0.3",
        "Share of the cutting force that dull teeth push away from the blade's centre.",
    ),
    Key::default(
        "shock",
        share(1_000, 5_000),
        "1.5",
        "Multiplies every cutting force, for knots.",
    ),
    Key::default(
        "grip_barked",
        share(50, 1_500),
        "0.5",
        "Grip of a log in its bark on wedges.",
    ),
    Key::default(
        "grip_smooth",
        share(50, 1_500),
        "0.3",
        "Grip of a smooth or peeled log.",
    ),
    Key::default(
        "grip_iced",
        share(50, 1_500),
        "0.15",
        "Grip of a log with ice or trodden snow on it or on the bunks (from memory: rules on loads on the road take 0.1 to 0.2 \
         for iced contacts).",
    ),
];
