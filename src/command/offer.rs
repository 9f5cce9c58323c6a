//! What a log would offer of boards that do not fit into it.

use bunkside_planner::layout::{LayoutError, Product, plain};
use bunkside_planner::replay::Setup;
use bunkside_protocol::Length;

use crate::account::cuts::times;
use crate::job::{BoardSpec, Job};
use crate::measure::System;

/// More boards than this are not told of.
const TOLD: usize = 3;
/// Nothing narrower or thinner is offered.
const LEAST: Length = Length::mm(10);

/// What would free an order that brings nothing.
pub(super) const PRICES: &str = "write under `price` what the boards bring, 0.001 or more each; `bunkside plan` lays out an order without prices by the hand habit";

/// Whether only prices stand in the way: there is room for boards of the order, and none of them brings anything.
pub(super) fn bring_nothing(job: &Job, setup: &Setup<'_>) -> bool {
    let wanted = || job.boards.iter().filter(|board| board.most != Some(0));
    let own = |board: &BoardSpec| fits(job, setup, board, [board.thickness, board.width]);
    wanted().all(BoardSpec::brings_nothing) && wanted().any(own)
}

/// Why nothing comes out of a log.
pub(super) fn nothing(error: LayoutError, job: &Job, setup: &Setup<'_>) -> String {
    if bring_nothing(job, setup) {
        return "no board of the order brings anything at its price, and the best layout takes only boards that do".to_owned();
    }
    format!("{error}: {}", offers(job, setup))
}

/// Whether the log has room for one board so thick and wide.
fn fits(job: &Job, setup: &Setup<'_>, board: &BoardSpec, [thickness, width]: [Length; 2]) -> bool {
    let product = Product {
        thickness,
        width,
        lengths: &board.lengths,
        most: Some(1),
    };
    plain(setup, &[product], job.end_trim).is_ok()
}

/// Every board of an order of which nothing fits, and what would come out in its place.
fn offers(job: &Job, setup: &Setup<'_>) -> String {
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
    let fits = |thickness: Length, width: Length| fits(job, setup, board, [thickness, width]);
    let offered = if fits(board.thickness, board.width) {
        if board.brings_nothing() {
            "there is room for it, but it brings nothing at its price".to_owned()
        } else {
            "there is room for it, but not with the wane and core that it may have, or for every kerf beside metal".to_owned()
        }
    } else {
        match (
            largest(board.width, system, |width| fits(board.thickness, width)),
            largest(board.thickness, system, |thickness| fits(thickness, board.width)),
        ) {
            (Some(width), _) => format!("of that thickness at most {} wide", system.size(width)),
            (None, Some(thickness)) => format!("of that width at most {} thick", system.size(thickness)),
            (None, None) => "nothing of that thickness nor of that width".to_owned(),
        }
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
