//! The first board: what it should measure, how far it may be off, and what to do when it is.
//!
//! A size between two kerfs of one axis may be off by that axis's tolerance at either of them. It is held against the
//! places where the plan puts the kerfs; the board's own size is at most a step of the grid smaller.

use bunkside_planner::geometry::Interval;
use bunkside_planner::replay::Setup;
use bunkside_protocol::{Length, Position};
use serde::Serialize;

use crate::account::boards::{Boards, stretch};
use crate::account::counted::Counted;
use crate::account::pieces::{Region, named, regions};
use crate::cut_plan::OwnedPlan;
use crate::job::Job;
use crate::trace::Trace;

/// How a board lay in the log.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Laid {
    /// Flat kerfs make its thickness.
    Flat,
    /// Flat kerfs make its width.
    OnEdge,
}

/// The first board that comes off.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct FirstBoard {
    /// Its number among the pieces.
    pub piece: u16,
    /// What the product is called.
    pub name: String,
    /// Number of its layer, from 1.
    pub layer: usize,
    /// Number of its column, from 1.
    pub column: usize,
    /// How it lay.
    pub lies: Laid,
    /// Thickness between its kerfs.
    pub thickness_um: Length,
    /// How far that may be off, either way; none where a side of it is the log's own edge.
    pub thickness_off_um: Option<Length>,
    /// Width between its kerfs.
    pub width_um: Length,
    /// How far that may be off, either way; none where a side of it is the log's own edge.
    pub width_off_um: Option<Length>,
    /// The part of the log along which these sizes hold; none where it takes all that the trims leave.
    #[serde(skip)]
    pub part: Option<BoardPart>,
    /// Its near and its far end.
    pub ends: [BoardEnd; 2],
    /// What to do when it is off.
    pub if_off: [IfOff; 3],
}

/// The part of the log that a shorter board takes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct BoardPart {
    /// Its length.
    pub length: Length,
    /// The end of the log from which it is measured: `near` or `far`.
    pub end: &'static str,
    /// What is trimmed off at that end.
    pub trim: Length,
}

/// What to measure at one end of a board.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct BoardEnd {
    /// Where it lies, from the log's near end.
    pub from_near_end_um: Length,
    /// Thickness.
    pub thickness_um: Length,
    /// Width.
    pub width_um: Length,
    /// How wide the wood of its upper face is across, as it lay: less than between the kerfs where there is wane.
    pub upper_face_um: Length,
    /// The same of its lower face.
    pub lower_face_um: Length,
}

/// What a measured board tells.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct IfOff {
    /// What is found.
    pub found: &'static str,
    /// What to do.
    pub act: &'static str,
}

/// What a first board that is off tells, and what to do. Common practice, no source.
pub const IF_OFF: [IfOff; 3] = [
    IfOff {
        found: "both ends are off alike",
        act: "stop; the zero of height or across is off, or the kerf is not what the profile says: measure a kerf, set both zeros, plan again",
    },
    IfOff {
        found: "one end is off",
        act: "stop; the log does not lie parallel to the rails, or has moved: measure both end centres, packing and wedges again",
    },
    IfOff {
        found: "the ends are right and the middle is off",
        act: "stop; the log sags, or the timber moves as it is opened: wedge the bunks between, or write a higher growth_stress, and plan again",
    },
];

/// A little inside a face, so that its chord is the wood's.
const HAIR: Length = Length::um(2);

/// The first board that comes off; none where none does.
pub(super) fn first_board(
    setup: &Setup<'_>,
    trace: &Trace,
    job: &Job,
    plan: &OwnedPlan,
) -> Option<FirstBoard> {
    let (regions, grid) = (regions(setup, plan), setup.mill.grid);
    let boards = Boards::in_run((job, setup), plan, trace);
    let whole = named(trace, &regions).into_iter().find_map(|one| {
        let region = one.region?;
        let name = Counted::of(&boards, job, region)?.name;
        let along = region
            .use_
            .boards()
            .map(|board| stretch(job, setup, board.length, board.end))
            .reduce(Interval::join)?;
        region
            .holds(one.piece.bounds, grid)
            .then_some((one.piece, region, name, along))
    });
    let (piece, region, name, along) = whole?;
    let across = sawn(region.across, piece.bounds.across, setup.mill.across.tolerance);
    let up = sawn(region.height, piece.bounds.height, setup.mill.height.tolerance);
    let (thin, wide, lies) = if up.0.length() <= across.0.length() {
        (up, across, Laid::Flat)
    } else {
        (across, up, Laid::OnEdge)
    };
    let end = |at: Position| BoardEnd {
        from_near_end_um: at - setup.shape.travel().lo,
        thickness_um: thin.0.length(),
        width_um: wide.0.length(),
        upper_face_um: face(setup, at, up.0.hi - HAIR, across.0),
        lower_face_um: face(setup, at, up.0.lo + HAIR, across.0),
    };
    Some(FirstBoard {
        piece: piece.serial,
        name,
        layer: region.layer + 1,
        column: column(region),
        lies,
        thickness_um: thin.0.length(),
        thickness_off_um: thin.1,
        width_um: wide.0.length(),
        width_off_um: wide.1,
        part: part(setup, job, along),
        ends: [end(along.lo), end(along.hi)],
        if_off: IF_OFF,
    })
}

/// The part of the log that a board takes; none where it takes all that the trims leave.
fn part(setup: &Setup<'_>, job: &Job, along: Interval) -> Option<BoardPart> {
    let log = setup.shape.travel();
    let (near, far) = (along.lo - log.lo, log.hi - along.hi);
    let (end, trim) = if near <= far { ("near", near) } else { ("far", far) };
    (along.length() < log.length() - job.end_trim.times(2)).then_some(BoardPart {
        length: along.length(),
        end,
        trim,
    })
}

/// From kerf to kerf and how far that may be off; where the wood's own edge is one side, as far as the wood reaches.
fn sawn(kerfs: Interval, wood: Interval, tolerance: Length) -> (Interval, Option<Length>) {
    if kerfs.lo > Position::MIN && kerfs.hi < Position::MAX {
        (kerfs, Some(tolerance.abs().times(2)))
    } else {
        (wood, None)
    }
}

fn column(region: &Region) -> usize {
    region.column.unwrap_or(0) + 1
}

/// How wide the wood is in a face of a board at a place along the log.
fn face(setup: &Setup<'_>, at: Position, height: Position, across: Interval) -> Length {
    let chord = setup.shape.wood_at(at).and_then(|section| section.chord(height));
    let wood = chord
        .map(|chord| chord.meet(across))
        .filter(|wood| !wood.is_empty());
    wood.map_or(Length::ZERO, Interval::length)
}
