//! # bed-clear
//!
//! **Guards** bunks, packing, wedges and dogs. **Trips when** a kerf comes nearer to the bed plane, the packing, a
//! wedge or a dog than the clearance; the setting may allow less between the bunks. Timber bunks may be declared sacrificial to a
//! depth: cutting into them warns. **Clears when** the layer ends higher. **Does not cover** a log that sags
//! between its bunks: see the rule on support.

use bunkside_protocol::mill::{Bunk, BunkKind};
use bunkside_protocol::{Length, Position};

use super::{Basis, Measure, Objection, Objections, Rule, Situation};
use crate::geometry::{Block, Interval};
use crate::limits::LIGAMENT;

pub(super) const RULE: Rule = Rule {
    number: 0,
    id: "bed-clear",
    title: "no kerf comes too near to bed, wedges or dogs",
    reason: "a blade that meets a steel bunk, a wedge or a dog throws teeth",
    basis: Basis::Machine,
    check,
};

const BED: &str = "the kerf comes too near to the bed; end the lowest layer higher";
const SACRIFICED: &str = "the kerf comes into the sacrificial timber of a bunk";
const PACKING: &str = "the kerf comes too near to the packing under the log; end the lowest layer higher or lay the underside level";
const WEDGE: &str = "the kerf comes too near to a wedge; end the layer higher or use lower wedges";
const DOG: &str = "the kerf comes too near to a dog; shift the dog";

fn check(situation: &Situation<'_>, object: Objections<'_>) {
    let Some((_, facts)) = situation.cut() else { return };
    if facts.kerf.is_empty() {
        return;
    }
    bed(situation, facts.kerf, object);
    packing(situation, facts.kerf, object);
    wedges(situation, facts.kerf, object);
    let clearance = situation.setup.mill.clearances.bed;
    let mut dogs = situation.setup.mill.dogs.iter().map(Block::from_record);
    if dogs.any(|dog| dog.overlaps(facts.kerf.grown(clearance))) {
        object(Objection::refuse(
            Measure::State("at a dog"),
            Measure::Length(clearance),
            DOG,
        ));
    }
}

fn span(bunk: &Bunk) -> Interval {
    Interval::new(bunk.travel - bunk.half_size, bunk.travel + bunk.half_size)
}

fn bed(situation: &Situation<'_>, kerf: Block, object: Objections<'_>) {
    let (mill, log) = (situation.setup.mill, situation.setup.log);
    let full = mill.clearances.bed.max(log.bed_clearance);
    let over = || mill.bunks.iter().filter(|bunk| span(bunk).overlaps(kerf.travel));
    let clearance = if over().next().is_some() {
        full
    } else {
        log.between_bunks.unwrap_or(full)
    };
    let top = over()
        .map(|bunk| bunk.top)
        .max()
        .unwrap_or(Position::ZERO)
        .max(Position::ZERO);
    let measured = kerf.height.lo - top;
    if measured >= clearance {
        return;
    }
    let timber = |bunk: &Bunk| match bunk.kind {
        BunkKind::Timber { sacrificial } => kerf.height.lo >= bunk.top - sacrificial,
        BunkKind::Steel => false,
    };
    // Nothing but sacrificial timber under the kerf: it may come down to its declared depth.
    let sacrificed = over().next().is_some() && over().all(timber);
    let (measured, limit) = (Measure::Length(measured), Measure::Length(clearance));
    object(if sacrificed {
        Objection::warn(measured, limit, SACRIFICED)
    } else {
        Objection::refuse(measured, limit, BED)
    });
}

/// Where the log is packed up, the packing reaches from the bunk to its underside, as wide as the wedges' contacts.
/// Packed or not, wood has to stay under the kerf where the log rests.
fn packing(situation: &Situation<'_>, kerf: Block, object: Objections<'_>) {
    let (mill, shape) = (situation.setup.mill, &situation.setup.shape);
    let clearance = mill.clearances.bed;
    let mut worst: Option<Length> = None;
    for bunk in mill.bunks.iter().filter(|bunk| span(bunk).overlaps(kerf.travel)) {
        let undersides = shape.undersides(bunk.travel);
        let (Some((bark, wood)), Some(section)) = (undersides, shape.rough_at(bunk.travel)) else { continue };
        let lowest = section.lowest_across();
        let across = Interval::new(lowest - mill.wedges.reach, lowest + mill.wedges.reach);
        if across.overlaps(kerf.across) {
            let packed = if bark > bunk.top { bark } else { Position::MIN };
            let above = kerf.height.lo - packed.max(wood + LIGAMENT - clearance);
            worst = Some(worst.map_or(above, |worst| worst.min(above)));
        }
    }
    if let Some(above) = worst.filter(|above| *above < clearance) {
        object(Objection::refuse(Measure::Length(above), Measure::Length(clearance), PACKING));
    }
}

/// A wedge is taken to reach from its contact outward by as much again.
fn wedges(situation: &Situation<'_>, kerf: Block, object: Objections<'_>) {
    let (mill, shape) = (situation.setup.mill, &situation.setup.shape);
    let clearance = mill.clearances.bed;
    let mut worst: Option<Length> = None;
    for bunk in &mill.bunks {
        if !shape.travel().contains(bunk.travel) || !span(bunk).overlaps(kerf.travel) {
            continue;
        }
        let Some(section) = shape.rough_at(bunk.travel) else {
            continue;
        };
        let (lowest, reach) = (section.lowest_across(), mill.wedges.reach);
        let entry = Interval::new(lowest - reach.times(2), lowest - reach);
        let exit = Interval::new(lowest + reach, lowest + reach.times(2));
        if entry.grown(clearance).overlaps(kerf.across) || exit.grown(clearance).overlaps(kerf.across) {
            let above = kerf.height.lo - (bunk.top + mill.wedges.height);
            worst = Some(worst.map_or(above, |worst| worst.min(above)));
        }
    }
    if let Some(above) = worst.filter(|above| *above < clearance) {
        object(Objection::refuse(
            Measure::Length(above),
            Measure::Length(clearance),
            WEDGE,
        ));
    }
}
