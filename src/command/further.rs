//! What else of a cut plan cannot be carried out, behind its first fault: whoever mends a plan wants to know all at once.
//!
//! The layer with a fault is taken to be sawn away as waste, in columns and layers that the blade reaches; then the rest of the
//! plan is tried. What cannot be sawn away so hides what lies below it.

use bunkside_planner::machine::room_over_kerf;
use bunkside_planner::plan::{Column, Freeing, Use};
use bunkside_planner::replay::Setup;
use bunkside_planner::sequence::{PlanError, PlanErrorKind};
use bunkside_protocol::{Acts, Angle, Length, Position};

use crate::cut_plan::{OwnedLayer, OwnedPlan};
use crate::job::Job;
use crate::planned::Planned;

/// No more are looked for.
const MOST: usize = 8;
/// Waste is sawn away in columns no wider and layers no higher than this, so that none is heavy.
const LARGEST: Length = Length::mm(120);
const LEAST: Length = Length::mm(20);

/// The faults behind the first, in the order of the plan.
pub(super) fn further(first: &PlanError, plan: &OwnedPlan, job: &Job, setup: &Setup<'_>) -> Vec<PlanError> {
    let mut found: Vec<PlanError> = Vec::new();
    let mut wasted = vec![first.layer];
    let mut last = *first;
    while found.len() < MOST && !of_the_log(&last) {
        let (rest, layers) = without(plan, &wasted, setup);
        let Err(error) = Planned::new(job, setup, &rest) else {
            break;
        };
        let Some(Some(layer)) = layers.get(error.layer).copied() else {
            break;
        };
        last = PlanError { layer, ..error };
        if of_the_log(&last) || wasted.contains(&layer) {
            break;
        }
        wasted.push(layer);
        found.push(last);
    }
    found
}

/// Whether an error is of the log and no layer's.
const fn of_the_log(error: &PlanError) -> bool {
    matches!(
        error.kind,
        PlanErrorKind::Support(_) | PlanErrorKind::BeyondRails { .. }
    )
}

/// A plan in which these layers are sawn away as waste, and which layer of the first plan each of its own is; none for waste.
fn without(plan: &OwnedPlan, wasted: &[usize], setup: &Setup<'_>) -> (OwnedPlan, Vec<Option<usize>>) {
    let mut top = setup.shape.bounds().height.hi;
    let (mut layers, mut from) = (Vec::new(), Vec::new());
    for (number, layer) in plan.layers.iter().enumerate() {
        if wasted.contains(&number) {
            for floor in floors(top, layer.floor, setup) {
                layers.push(OwnedLayer {
                    floor,
                    columns: columns(setup),
                    passes: None,
                    hold: Acts::NONE,
                });
                from.push(None);
            }
        } else {
            layers.push(layer.clone());
            from.push(Some(number));
        }
        top = layer.floor;
    }
    (OwnedPlan { layers }, from)
}

/// Half of what the blade reaches at an angle, within bounds.
fn step(setup: &Setup<'_>, angle: Angle) -> Length {
    let room = room_over_kerf(setup.mill, angle, Length::ZERO);
    room.half_floor().min(LARGEST).max(LEAST)
}

/// The floors that part a layer into low ones, down to its own.
fn floors(top: Position, floor: Position, setup: &Setup<'_>) -> Vec<Position> {
    let step = step(setup, Angle::Upright) + setup.mill.blade.kerf;
    let mut floors = Vec::new();
    let mut at = top - step;
    while at - floor > step.half_floor() {
        floors.push(at);
        at = at - step;
    }
    floors.push(floor);
    floors
}

/// Narrow columns of waste over the whole log.
fn columns(setup: &Setup<'_>) -> Vec<Column> {
    let step = step(setup, Angle::Flat) + setup.mill.blade.kerf;
    let across = setup.shape.bounds().across;
    let waste = |to| Column {
        to,
        freeing: Freeing::Take,
        use_: Use::Waste,
    };
    let mut columns = Vec::new();
    let mut at = across.lo + step;
    while across.hi - at > step {
        columns.push(waste(Some(at)));
        at = at + step;
    }
    columns.push(waste(None));
    columns
}
