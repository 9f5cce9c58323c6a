//! # support
//!
//! **Guards** the log's line, and whoever stands beside it. **Trips when** fewer than two bunks lie under the log, when
//! two that carry it stand too far apart or too much of it lies beyond the last one, when it balances beyond them, when
//! its underside lies higher above a bunk than can be packed, or than a pack stands on it, or below its top; and at a cut that
//! finds what remains sagging too far between bunks or at a free end, or lets it fall in two; and when a log is laid again in which a kerf stands open: what hangs
//! over it breaks off, and nobody can say where the kerf lies afterwards. Warns where an end of the log does not lie
//! over the whole width of the outermost bunk that carries it; where a pack is higher than its bunk is wide along the rails;
//! and at the first cut after the log has been laid again by hand and has not been measured: nothing says that it lies where the sequence takes it to lie. **Clears when**
//! bunks are set, the log is shifted or laid otherwise, or more is left to the end below the last layers; when what the
//! kerfs have opened is freed and unloaded before the log is laid again, and it is measured at that hold or a later
//! one. **Does not cover** packing that gives way, and logs that rot or cracks have weakened: the beam is one of sound
//! green wood; nor what measuring shows: where the log lies elsewhere, plan anew; nor wedges that are not driven anew under
//! a log laid again: that is a part of laying it, and the cards tell it.

use bunkside_protocol::{Act, Length, Move};

use super::{Basis, Measure, Objection, Objections, Rule, Situation};
use crate::geometry::Block;
use crate::limits::LIGAMENT;
use crate::physics::sag::{most_sag, sags_too_far};
use crate::physics::support::{Flaw, carrying, flaws, short_of_edges, slender};
use crate::replay::Setup;

pub(super) const RULE: Rule = Rule {
    number: 0,
    id: "support",
    title: "bunks carry the log, and it does not sag",
    reason: "a log that sags, tips or lies hollow moves as it is sawn, pinches the blade and gives boards of uneven thickness",
    basis: Basis::Physics,
    check,
};

const BUNKS: &str = "the log lies on fewer than two bunks and tips; shift it, or set bunks under it";
const SPACING: &str = "the bunks that carry the log stand too far apart; set another one between them";
const OVERHANG: &str = "too much of the log lies beyond its last bunk; shift it, or set a bunk under its end";
const PACKING: &str = "the log lies too high above a bunk to be packed; level it by its underside, turn its bow up, or raise the other bunks";
const PILE: &str = "the pack on a bunk would be more than three times as high as the bunk is wide and falls over; level the log by its underside, turn its bow up, or set a wider bunk";
const SLENDER: &str = "a pack is higher than its bunk is wide along the rails, and tips before the log slides; build it as a crib, planks crosswise, and brace it along the rails, or level the log by its underside";
const SUNK: &str = "the log would lie in a bunk; lower the bunk or lay the log higher";
const TIPS: &str =
    "the log balances beyond its last bunk and tips; shift it or set a bunk under its heavy end";
const NEAR_EDGE: &str = "the near end lies on a part of its bunk only and slips off more easily; plan again with the log shifted towards its near end by what is missing";
const FAR_EDGE: &str = "the far end lies on a part of its bunk only and slips off more easily; plan again with the log shifted towards its far end by what is missing";
const EDGES: &str = "the log is too short for the outermost bunks that carry it; set them nearer together";
const PARTS: &str = "what stands falls in two, each part on its own bunk: it tips or slides as the blade leaves it; leave the lowest floor higher";
const SAGS: &str = "what remains sags too far, by the stiffness of sound green wood; leave more below this layer, set another bunk, or feed slower where the blade presses down";

const LAID_AGAIN: &str = "the log was laid again: measure it at a hold before this cut, and plan anew if it does not lie as it did";

const OPEN: &str = "a kerf stands open, and nobody can say where it lies once the log is laid again: free and unload what it has opened first";

fn check(situation: &Situation<'_>, object: Objections<'_>) {
    let setup = situation.setup;
    let Some(step) = situation.step() else { return };
    if let Move::Hold(hold) = step.told
        && hold.acts.contains(Act::Reseat)
        && situation.has_open_kerf()
    {
        let (found, wanted) = (Measure::State("a kerf open"), Measure::State("none open"));
        object(Objection::refuse(found, wanted, OPEN));
    }
    if matches!(step.told, Move::Cut(_)) && situation.history.laid_again() {
        let (found, wanted) = (Measure::State("laid again"), Measure::State("measured"));
        object(Objection::warn(found, wanted, LAID_AGAIN));
    }
    if step.index == 0 {
        flaws(setup.mill, setup.log, &setup.shape, &mut |flaw| {
            object(objection(situation, flaw));
        });
        edges(setup, object);
        if let Some((high, wide)) = slender(setup.mill, &setup.shape) {
            object(Objection::warn(
                Measure::Length(high),
                Measure::Length(wide),
                SLENDER,
            ));
        }
    }
    let (Some((_, facts)), Move::Cut(cut), Some(feed)) = (situation.cut(), step.told, step.feed) else {
        return;
    };
    if facts.met.is_none() {
        return;
    }
    if let Some(at) = parts(situation, facts.kerf) {
        object(Objection::refuse(at, Measure::State("one piece"), PARTS));
    }
    let pass = (facts.bite, cut.speed);
    if let Some(sag) = sags_too_far(setup, situation.before, step.before.angle, feed, pass) {
        let (found, limit) = (
            Measure::Millimetres(sag),
            Measure::Millimetres(most_sag(setup.mill)),
        );
        object(Objection::refuse(found, limit, SAGS));
    }
}

/// Where a cut lets what stands fall in two, if it does: only one that goes as low as the log's underside does anywhere.
fn parts(situation: &Situation<'_>, kerf: Block) -> Option<Measure> {
    let shape = &situation.setup.shape;
    let undersides = shape.wood().iter().map(|section| section.height().lo);
    undersides
        .max()
        .filter(|highest| kerf.height.lo < *highest + LIGAMENT)?;
    let at = situation.after.parted_at(shape)?;
    let before = situation.before.parted_at(shape).is_some();
    (!before).then_some(Measure::Told(at - shape.travel().lo, "from the near end no wood"))
}

/// An end of the log that lies over a part of the bunk only that carries it.
fn edges(setup: &Setup<'_>, object: Objections<'_>) {
    let Some([near, far]) = short_of_edges(setup.mill, &setup.shape) else {
        return;
    };
    let mut bunks = carrying(setup.mill, &setup.shape);
    let outermost = if near >= far {
        bunks.next()
    } else {
        bunks.next_back()
    };
    let (short, wide) = (
        near.max(far),
        outermost.map_or(Length::ZERO, |bunk| bunk.half_size.times(2)),
    );
    if short > Length::ZERO {
        let note = match near + far {
            both if both > Length::ZERO => EDGES,
            _ if near >= far => NEAR_EDGE,
            _ => FAR_EDGE,
        };
        object(Objection::warn(
            Measure::Length(wide - short),
            Measure::Length(wide),
            note,
        ));
    }
}

fn objection(situation: &Situation<'_>, flaw: Flaw) -> Objection {
    let mill = situation.setup.mill;
    let (found, limit, note) = match flaw {
        Flaw::Bunks(count) => (Measure::Count(count), Measure::Count(2), BUNKS),
        Flaw::Spacing(apart) => (
            Measure::Length(apart),
            Measure::Length(mill.support.spacing),
            SPACING,
        ),
        Flaw::Overhang(beyond) => (
            Measure::Length(beyond),
            Measure::Length(mill.support.overhang),
            OVERHANG,
        ),
        Flaw::Packing(high) => (
            Measure::Length(high),
            Measure::Length(mill.wedges.packing),
            PACKING,
        ),
        Flaw::Pile(high, most) => (Measure::Length(high), Measure::Length(most), PILE),
        Flaw::Sunk(low) => (Measure::Length(-low), Measure::Length(Length::ZERO), SUNK),
        Flaw::Tips => (
            Measure::State("balances beyond the bunks"),
            Measure::State("balances between them"),
            TIPS,
        ),
    };
    Objection::refuse(found, limit, note)
}

#[cfg(test)]
pub(super) mod tests;
