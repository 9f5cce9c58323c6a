//! What a log would offer of boards that do not fit into it.

use bunkside_planner::layout::{Product, plain};
use bunkside_planner::replay::Setup;
use bunkside_protocol::Length;

use crate::account::cuts::times;
use crate::job::{BoardSpec, Job};
use crate::measure::System;

/// More boards than this are not told of.
const TOLD: usize = 3;
/// Nothing narrower or thinner is offered.
const LEAST: Length = Length::mm(10);

/// Every board of an order of which nothing fits, and what would come out in its place.
pub(super) fn offers(job: &Job, setup: &Setup<'_>) -> String {
    let boards = job.boards.iter().take(TOLD);
    let mut told: Vec<String> = boards.map(|board| offer(job, setup, board)).collect();
    if job.boards.len() > TOLD {
        told.push(format!("and {} more", job.boards.len() - TOLD));
    }
    told.join("; ")
}

/// `fence board, 25 by 400 mm, 2.4 m long: of that thickness at most 225 mm wide`.
fn offer(job: &Job, setup: &Setup<'_>, board: &BoardSpec) -> String {
    let system = System::of(job.inches);
    if board.most == Some(0) {
        return format!("{}: the job wants none of it (`most = 0`)", board.name);
    }
    let Some(shortest) = board.lengths.iter().min() else {
        return format!("{}: none of its lengths comes out of this log", board.name);
    };
    let fits = |thickness: Length, width: Length| {
        let product = Product {
            thickness,
            width,
            lengths: &board.lengths,
            most: Some(1),
        };
        plain(setup, &[product], job.end_trim).is_ok()
    };
    let offered = match (
        largest(board.width, system, |width| fits(board.thickness, width)),
        largest(board.thickness, system, |thickness| fits(thickness, board.width)),
    ) {
        (Some(width), _) => format!("of that thickness at most {} wide", system.size(width)),
        (None, Some(thickness)) => format!("of that width at most {} thick", system.size(thickness)),
        (None, None) => "nothing of that thickness nor of that width".to_owned(),
    };
    format!(
        "{}, {}, {} long: {offered}",
        board.name,
        times(system, board.width, board.thickness),
        system.run(*shortest)
    )
}

/// The largest size below one that fits, in whole millimetres or sixteenths of an inch; none where the least does not.
fn largest(below: Length, system: System, fits: impl Fn(Length) -> bool) -> Option<Length> {
    let per = match system {
        System::Metric => [1_000, 1],
        System::Inches => [25_400, 16],
    };
    // Half away from zero, as it is read.
    let size = |count: i64| Length::um((count * per[0] * 2 + per[1]).div_euclid(per[1] * 2));
    let count = |length: Length| (length.wide() * per[1]).div_euclid(per[0]);
    let (mut low, mut high) = (count(LEAST) + 1, count(below));
    if low >= high || !fits(size(low)) {
        return None;
    }
    while high - low > 1 {
        let middle = low + (high - low) / 2;
        if fits(size(middle)) {
            low = middle;
        } else {
            high = middle;
        }
    }
    Some(size(low))
}
