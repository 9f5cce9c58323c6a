//! The pieces of a run: their numbers, what they are, and where they lay when they came free.

use bunkside_planner::geometry::{Block, Interval, Section};
use bunkside_planner::plan::{Board, Freeing};
use bunkside_planner::stock::{Edge, Owner, Piece, Stock};
use bunkside_protocol::{Angle, Length, Move, Position};

use super::Subject;
use super::outline::{Window, around_of, outline, within};
use super::svg::Place;
use crate::account::boards::{Boards, measured_from, stretch};
use crate::account::counted::Counted;
use crate::account::cross_cuts::CrossCut;
use crate::account::metal::held_by;
use crate::account::pieces::{Region, called_of, regions, wanted};
use crate::job::Job;
use crate::measure::System;
use crate::trace::{Traced, parted};

/// What a piece is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    /// A board.
    Board,
    /// A slab: a cap with bark on it.
    Slab,
    /// Anything else that was not ordered.
    Waste,
}

/// One piece.
#[derive(Clone, Debug)]
pub(super) struct Part {
    /// Its number in the order the pieces come off.
    pub(super) serial: u16,
    pub(super) kind: Kind,
    /// What the product is called, or what can be seen of a piece that no plan knows.
    pub(super) name: Option<String>,
    /// Why it does not count as what it was to be, or a part of it does not; none where all of it does.
    pub(super) spoilt: Option<String>,
    /// Whether it came free together with others, or was meant to.
    pub(super) released: bool,
    /// Width, height and length: as ordered, or of the box that its wood fills.
    pub(super) size: [Length; 3],
    /// The end of the log from which a board is measured that leaves some of the log's length, and what is trimmed off there.
    pub(super) end: Option<(&'static str, Length)>,
    /// How it is cut into two boards, where it is two.
    pub(super) cross_cut: Option<CrossCut>,
    /// Where along the log it is wanted: a board may be shorter than its piece.
    pub(super) along: Interval,
    /// The boxes of the stock that held its wood.
    pub(super) cells: Vec<Block>,
    /// What it weighs with its bark, kilograms.
    pub(super) mass_kg: f64,
    /// Whether it has bark at an edge.
    pub(super) bark: bool,
    /// The numbers of the places with metal of which it holds some.
    pub(super) metal: Vec<usize>,
    /// Where that metal is.
    pub(super) marks: Vec<Block>,
}

/// The pieces of a run in the order they come off.
pub(super) fn parts(subject: &Subject<'_>) -> Vec<Part> {
    let regions = subject
        .plan
        .map(|plan| regions(subject.setup, plan))
        .unwrap_or_default();
    let boards = subject
        .job
        .zip(subject.plan)
        .map(|(job, plan)| Boards::in_run((job, subject.setup), plan, subject.trace));
    let moves = &subject.trace.moves;
    let mut parts = Vec::new();
    for (number, traced) in moves.iter().enumerate() {
        let after = moves
            .get(number + 1)
            .map_or(&subject.trace.end, |next| &next.before);
        for (piece, mass_kg) in traced.freed.iter().zip(&traced.freed_kg) {
            parts.push(Part {
                mass_kg: *mass_kg,
                ..part(subject, (&regions, boards.as_ref()), traced, after, piece)
                    .off_already(subject, traced)
            });
        }
        // What hangs by little wood is numbered as it is broken off.
        if let Some(stock) = (traced.broken > 0)
            .then(|| parted(subject.setup, &traced.before))
            .flatten()
        {
            parts.extend(traced.hanging.iter().map(|hanging| Part {
                mass_kg: hanging.mass_kg,
                ..part(subject, (&regions, None), traced, &stock, &hanging.piece).off_already(subject, traced)
            }));
        }
    }
    parts
}

fn part(
    subject: &Subject<'_>,
    (regions, boards): (&[Region], Option<&Boards>),
    traced: &Traced,
    after: &Stock,
    piece: &Piece,
) -> Part {
    let bounds = piece.bounds;
    let region = wanted(subject.trace, regions, traced.step.index, piece);
    let board = region.and_then(|region| board(subject, boards?, region, piece));
    let kind = match region {
        _ if board.as_ref().is_some_and(|board| board.counted.counts) => Kind::Board,
        Some(region) if region.column.is_none() => Kind::Slab,
        Some(_) => Kind::Waste,
        None if sawn(piece) => Kind::Board,
        None if piece.bark_edge && traced.step.before.angle == Angle::Flat => Kind::Slab,
        None => Kind::Waste,
    };
    let meant = matches!(traced.step.told, Move::Cut(cut) if cut.release) || traced.freed.len() > 1;
    let along = board.as_ref().map_or(bounds.travel, |board| board.along);
    let (name, spoilt, cross_cut, end) = match board {
        Some(Wanted {
            counted,
            cross_cut,
            end,
            ..
        }) => (Some(counted.name), counted.why, cross_cut, end),
        None if region.is_none() => (
            seen(kind, piece.bark_edge, subject.setup.log.bark).map(str::to_owned),
            None,
            None,
            None,
        ),
        None => (None, None, None, None),
    };
    let metal = held_by(subject.setup, after, Owner::Piece(piece.id));
    let places = subject.setup.log.metal.iter().map(Block::from_record);
    let held = (1..).zip(places).filter(|(number, _)| metal.contains(number));
    Part {
        marks: held.map(|(_, place)| place).collect(),
        serial: piece.serial,
        kind,
        name,
        spoilt,
        released: region.map_or(meant, |region| region.freeing == Freeing::Release),
        size: [bounds.across.length(), bounds.height.length(), along.length()],
        end,
        cross_cut,
        along,
        cells: owned(after, Owner::Piece(piece.id)),
        mass_kg: 0.0,
        bark: piece.bark_edge,
        metal,
    }
}

/// What a region is for.
struct Wanted {
    /// What it is called, and whether it counts.
    counted: Counted,
    /// Where along the log the board lies; of two from the first to the last.
    along: Interval,
    /// From which end it is measured, and what is trimmed off there; none of two.
    end: Option<(&'static str, Length)>,
    cross_cut: Option<CrossCut>,
}

/// What a region is for, where the piece is as large as the region.
fn board(subject: &Subject<'_>, counted: &Boards, region: &Region, piece: &Piece) -> Option<Wanted> {
    let job = subject.job?;
    let boards: Vec<Board> = region.use_.boards().collect();
    let wanted = Wanted {
        counted: Counted::of(counted, job, region)?,
        along: along(job, subject, &boards)?,
        end: end(job, &boards),
        cross_cut: CrossCut::of(job, region, piece.serial),
    };
    let whole = region.is_filled_by(piece.bounds, subject.setup.mill.grid);
    whole.then_some(wanted)
}

/// Where along the log boards lie, from the first to the last; none of no boards.
fn along(job: &Job, subject: &Subject<'_>, boards: &[Board]) -> Option<Interval> {
    let boards = boards.iter();
    boards
        .map(|board| stretch(job, subject.setup, board.length, board.end))
        .reduce(Interval::join)
}

/// From which end a board is measured that is alone, and what is trimmed off there.
fn end(job: &Job, boards: &[Board]) -> Option<(&'static str, Length)> {
    match boards {
        [alone] => measured_from(job, *alone).map(|end| (end, job.end_trim)),
        _ => None,
    }
}

/// Whether both sides of a piece are kerfs along its whole length.
fn sawn(piece: &Piece) -> bool {
    piece.entry == Edge::Sawn && piece.exit == Edge::Sawn
}

/// What can be seen of a piece that no plan knows.
fn seen(kind: Kind, bark_edge: bool, bark: Length) -> Option<&'static str> {
    match kind {
        Kind::Board if bark_edge => Some("board with wane"),
        Kind::Waste if bark > Length::ZERO => Some("with a bark edge"),
        Kind::Waste => Some("with wane"),
        Kind::Board | Kind::Slab => None,
    }
}

/// The boxes of one owner.
pub(super) fn owned(stock: &Stock, owner: Owner) -> Vec<Block> {
    let cells = stock.cells().filter(|(cell, _)| cell.owner == owner);
    cells
        .map(|(cell, height)| Block {
            travel: cell.travel,
            across: cell.across,
            height,
        })
        .collect()
}

/// The windows of boxes that reach a section.
pub(super) fn windows(boxes: &[Block], section: &Section) -> Vec<Window> {
    boxes
        .iter()
        .filter(|block| block.travel.contains(section.travel))
        .map(|block| (block.across, block.height))
        .collect()
}

/// The wood of windows in a section, window by window.
pub(super) fn fields(windows: &[Window], section: &Section) -> Vec<Vec<Place>> {
    let whole = outline(section);
    windows
        .iter()
        .map(|window| within(&whole, *window))
        .filter(|field| field.len() > 2)
        .collect()
}

impl Part {
    /// The same, where it was off before the rest of the log was planned: it is told as what it was counted as then.
    fn off_already(self, subject: &Subject<'_>, traced: &Traced) -> Self {
        let index = usize::from(traced.step.index);
        let begun = subject.job.and_then(|job| Some((job, job.begun.as_ref()?)));
        let Some((job, begun)) = begun.filter(|_| index < subject.trace.done) else {
            return self;
        };
        // A column that is begun is finished as it was to be.
        let since = if index < begun.done {
            "off already"
        } else {
            "begun already"
        };
        let boards = begun.boards_of(self.serial);
        let (kind, what) = match (called_of(job, boards.iter().copied()), self.kind) {
            (Some(name), _) => (Kind::Board, name),
            (None, Kind::Slab) => (Kind::Slab, "slab".to_owned()),
            (None, Kind::Board | Kind::Waste) => (Kind::Waste, "no board of the order".to_owned()),
        };
        let along = along(job, subject, boards).unwrap_or(self.along);
        let [width, height, _] = self.size;
        Self {
            kind,
            name: Some(format!("{what}, {since}")),
            size: [width, height, along.length()],
            end: end(job, boards),
            along,
            ..self
        }
    }

    /// The largest box of its wood in a section, low corner and high corner: where its number stands.
    pub(super) fn place_in(&self, section: &Section) -> Option<[Place; 2]> {
        let room = |[low, high]: &[Place; 2]| (high[0] - low[0]) * (high[1] - low[1]);
        fields(&windows(&self.cells, section), section)
            .iter()
            .filter_map(|field| around_of(field))
            .max_by(|a, b| room(a).total_cmp(&room(b)))
    }

    /// What it is, without its size: `deck`, `slab`, `board`.
    pub(super) fn what(&self) -> &str {
        match (self.kind, self.name.as_deref()) {
            (_, Some(name)) => name,
            (Kind::Board, None) => "board",
            (Kind::Slab, None) => "slab",
            (Kind::Waste, None) => "waste",
        }
    }

    /// The same, and why it does not count where it was to be a board.
    pub(super) fn what_and_why(&self) -> String {
        let why = self.spoilt.as_ref().map(|why| format!(" ({why})"));
        self.what().to_owned() + &why.unwrap_or_default()
    }

    /// How its fields are filled: by texture, never by colour alone.
    pub(super) const fn texture(&self) -> &'static str {
        match (self.kind, self.released) {
            (Kind::Slab | Kind::Waste, _) => "stipple",
            (Kind::Board, true) => "hatch",
            (Kind::Board, false) => "blank",
        }
    }

    /// What it is, with its size: `deck, 140 by 50 mm, 2.4 m from the far end, after 25 mm of trim`; of two boards both
    /// lengths.
    pub(super) fn described(&self, system: System) -> String {
        let [width, height, length] = self.size;
        let long = match &self.cross_cut {
            Some(cut) => {
                let [near, far] = &cut.boards;
                format!("{} and {}", system.run(near.length_um), system.run(far.length_um))
            }
            None => system.run(length),
        };
        let from = match self.end {
            None => String::new(),
            Some((end, Length::ZERO)) => format!(" from the {end} end"),
            Some((end, trim)) => format!(" from the {end} end, after {} of trim", system.size(trim)),
        };
        format!(
            "{}, {}, {long}{from}",
            self.what_and_why(),
            by(system, width, height)
        )
    }
}

/// Two sizes with one unit: `140 by 50 mm`.
pub(super) fn by(system: System, width: Length, height: Length) -> String {
    format!("{} by {}", bare(system, width), system.size(height))
}

/// A size without its unit, as dimension lines carry it.
pub(super) fn bare(system: System, length: Length) -> String {
    let size = system.size(length);
    size.trim_end_matches(" mm").trim_end_matches(" in").to_owned()
}
/// Where a corner stands across the bed, in words.
pub(super) fn sideways(system: System, across: Position) -> String {
    let out = across.from_origin();
    let size = system.size(out.abs());
    match out.cmp(&Length::ZERO) {
        core::cmp::Ordering::Equal => "on the centre line".to_owned(),
        core::cmp::Ordering::Greater => format!("{size} to the exit side of the centre line"),
        core::cmp::Ordering::Less => format!("{size} to the entry side of the centre line"),
    }
}
