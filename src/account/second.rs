//! What somebody has to hold down on a hand carriage: which pieces, how wide, and whether an aid that is not fitted would do it.

use bunkside_planner::geometry::Interval;
use bunkside_planner::machine::Pose;
use bunkside_planner::replay::Setup;
use bunkside_planner::stock::Piece;
use bunkside_protocol::Length;

use super::boards::Boards;
use super::counted::Counted;
use super::findings::second_person_moves;
use super::pieces::{Named, named, regions};
use super::table::{count, listed};
use crate::cut_plan::OwnedPlan;
use crate::job::Job;
use crate::trace::{Trace, Traced};

/// The cuts at which somebody holds down what comes free.
fn held(trace: &Trace) -> Vec<&Traced> {
    let moves = second_person_moves(&trace.findings);
    let cuts = trace.moves.iter();
    cuts.filter(|traced| moves.contains(&traced.step.index)).collect()
}

/// From the first to the last piece of a cut, across: an aid has to bear on all of that.
fn wide(freed: &[Piece]) -> Length {
    let group = freed.iter().map(|piece| piece.bounds.across);
    group
        .reduce(Interval::join)
        .map_or(Length::ZERO, Interval::length)
}

/// How wide the widest of what is held down is, across; none where nothing is.
#[must_use]
pub fn widest(trace: &Trace) -> Option<Length> {
    held(trace).iter().map(|traced| wide(&traced.freed)).max()
}

/// At how many of these cuts the pull-back aid of the mill would bear on what comes free, if it were fitted when the job starts.
#[must_use]
pub fn unfitted_aid_cuts(setup: &Setup<'_>, trace: &Trace) -> usize {
    let aid = setup.mill.aid.filter(|_| !Pose::parked(setup.mill).aid);
    let bears = |traced: &&&Traced| aid.is_some_and(|aid| wide(&traced.freed) <= aid.widest);
    held(trace).iter().filter(bears).count()
}

/// The same in words; none where it would bear on nothing.
#[must_use]
pub fn unfitted_aid(setup: &Setup<'_>, trace: &Trace) -> Option<String> {
    let (cuts, all) = (unfitted_aid_cuts(setup, trace), held(trace).len());
    let of = if cuts == all {
        format!("all {all} of these cuts")
    } else {
        format!("{cuts} of these {}", count(all as u64, "cut"))
    };
    (cuts > 0).then(|| {
        format!(
            "the mill has a pull-back aid that is not fitted when the job starts: fitted (`fitted = true`), it would bear on what \
             comes free at {of}"
        )
    })
}

/// What is held down, by layer and column: `in layer 1 the slab; in layer 2 columns 1 (waste) and 3 (rail)`.
#[must_use]
pub fn held_down(job: &Job, setup: &Setup<'_>, plan: &OwnedPlan, trace: &Trace) -> String {
    let moves = second_person_moves(&trace.findings);
    let boards = Boards::in_run((job, setup), plan, trace);
    let regions = regions(setup, plan);
    let pieces = named(trace, &regions);
    let held = |one: &&Named<'_>| moves.contains(&one.index);
    let mut layers: Vec<(usize, Vec<(usize, String)>)> = Vec::new();
    for region in pieces.iter().filter(held).filter_map(|one| one.region) {
        let what = match region.column {
            None => (0, "the slab".to_owned()),
            Some(column) => {
                let name = Counted::of(&boards, job, region).map_or("waste".to_owned(), |one| one.name);
                (column + 1, format!("{} ({name})", column + 1))
            }
        };
        match layers.iter_mut().find(|(layer, _)| *layer == region.layer) {
            Some((_, columns)) if columns.contains(&what) => {}
            Some((_, columns)) => columns.push(what),
            None => layers.push((region.layer, vec![what])),
        }
    }
    let layers = layers.into_iter().map(|(layer, mut columns)| {
        columns.sort();
        let column = match columns.as_slice() {
            [(0, _), ..] => "",
            [_] => "column ",
            _ => "columns ",
        };
        let columns: Vec<String> = columns.into_iter().map(|(_, words)| words).collect();
        format!("in layer {} {column}{}", layer + 1, listed(&columns))
    });
    layers.collect::<Vec<_>>().join("; ")
}
