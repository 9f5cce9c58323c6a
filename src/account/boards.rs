//! Which boards of a plan count, and where the rest of the log went.
//!
//! A board counts when its column came off as one piece, is as large as its product, and holds it somewhere with no more wane
//! along its length than the product may have: a column may be larger than the product by a step, and more.

use bunkside_planner::geometry::{Interval, Section};
use bunkside_planner::layout::exact::Grain;
use bunkside_planner::machine::room_over_kerf;
use bunkside_planner::physics::body::{body, piece};
use bunkside_planner::plan::{Board, End};
use bunkside_planner::replay::Setup;
use bunkside_planner::stock::{Pick, Slender};
use bunkside_protocol::{Angle, Length};
use serde::Serialize;

use super::core::core;
use super::cuts::times;
use super::grain::{as_sawn, grain};
use super::owed::{Owed, owed_words, short_of};
use super::pieces::{Region, named, regions};
use super::wane::wane;
use crate::cut_plan::OwnedPlan;
use crate::job::{BoardSpec, Job, Layouts, PriceBy};
use crate::measure::System;
use crate::planned::Planned;
use crate::trace::Trace;

/// So much is planed off a board, or shrinks away; one that is larger by more has to be sawn again (common practice, no
/// source).
pub(super) const PLANED: Length = Length::mm(3);

/// What came out of a log.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Boards {
    /// Boards that count, by product and length.
    pub boards: Vec<BoardRow>,
    /// Columns that were to be boards and do not count.
    pub spoilt: Vec<Spoilt>,
    /// Columns that count, and are so much larger than their product that they have to be sawn again.
    pub larger: Vec<Spoilt>,
    /// Products of which fewer come out than are owed.
    pub owed: Vec<Owed>,
    /// Products of which none come out.
    pub absent: Vec<Absent>,
    /// Where the wood went.
    pub volume: Volume,
}

/// Boards of one product and length, measured from one end.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BoardRow {
    /// What the product is called.
    pub name: String,
    /// Thickness as it is sawn.
    pub thickness_um: Length,
    /// Width as it is sawn.
    pub width_um: Length,
    /// Length.
    pub length_um: Length,
    /// `near` or `far`: the end of the log from which they are measured; none where they take all that the trims leave.
    pub end: Option<&'static str>,
    /// How many.
    pub count: u32,
    /// What they hold together.
    pub volume_m3: f64,
    /// The same in board feet.
    pub board_feet: f64,
}

/// A column that is not what it was to be.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Spoilt {
    /// Number of the piece that it is; none where it does not come off as one.
    #[serde(skip)]
    pub piece: Option<u16>,
    /// Number of the layer, from 1, as in the text.
    pub layer: usize,
    /// Number of the column, from 1.
    pub column: usize,
    /// What the product is called.
    pub name: String,
    /// What it is instead.
    pub why: String,
}

/// A product of which none come out.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Absent {
    /// What it is called.
    pub name: String,
    /// Why.
    pub why: String,
}

/// Where the wood of a log went, cubic metres under bark.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Volume {
    /// The whole log.
    pub log_m3: f64,
    /// Boards that count, at the size and length they are sold at.
    pub boards_m3: f64,
    /// Boards that were off before the rest of a partly sawn log was planned, at the size and length they are sold at.
    pub off_m3: f64,
    /// Everything else that came off in one piece: slabs, strips, trims.
    pub offcuts_m3: f64,
    /// Kerfs.
    pub kerfs_m3: f64,
    /// What stays on the bunks.
    pub left_m3: f64,
}

impl Boards {
    /// What comes out of a log that was planned.
    #[must_use]
    pub fn of(planned: &Planned<'_>) -> Self {
        Self::in_run((planned.job, planned.setup), planned.plan, &planned.trace)
    }

    /// What comes out of a log by a cut plan that ran.
    #[must_use]
    pub fn in_run((job, setup): (&Job, &Setup<'_>), plan: &OwnedPlan, trace: &Trace) -> Self {
        let regions = regions(setup, plan);
        let pieces = named(trace, &regions);
        let mut boards: Vec<BoardRow> = Vec::new();
        let (mut spoilt, mut larger) = (Vec::new(), Vec::new());
        let grid = setup.mill.grid;
        for region in &regions {
            let mut own = pieces.iter().filter(|one| one.region == Some(region));
            let whole = own.find(|one| region.holds(one.piece.bounds, grid));
            // Of a log that is partly sawn a column may end where nothing is told of it any more.
            let region = &whole.map_or(*region, |one| region.ending_at(one.piece.bounds));
            for board in region.use_.boards() {
                let Some(spec) = job.boards.get(usize::from(board.product)) else {
                    continue;
                };
                let comes = if whole.is_some() {
                    as_sawn((job, setup), region, spec, board)
                } else {
                    Err("it does not come off as one piece".to_owned())
                };
                let told = |why: String| Spoilt {
                    piece: whole.map(|one| one.piece.serial),
                    layer: region.layer + 1,
                    column: region.column.unwrap_or(0) + 1,
                    name: spec.name.clone(),
                    why,
                };
                match comes {
                    Ok(spec) => {
                        count_in(&mut boards, &spec, board.length, measured_from(job, board));
                        larger.extend(too_large(job, region, &spec).map(told));
                    }
                    Err(why) => spoilt.push(told(why)),
                }
            }
        }
        // A sum of nothing is below zero, as floats have it.
        let sawn = boards
            .iter()
            .map(|row| row.volume_m3)
            .fold(0.0, |sum, one| sum + one);
        Self {
            owed: owed(job, &boards),
            absent: absent((job, setup), &regions, &boards),
            volume: Volume::of((job, setup), trace, sawn),
            boards,
            spoilt,
            larger,
        }
    }

    /// What is owed and a cut plan does not have in it, whether or not it can be sawn: a line for each such product, with the reason
    /// where there is none of it.
    #[must_use]
    pub fn not_in_plan(job: &Job, setup: &Setup<'_>, plan: &OwnedPlan) -> Vec<String> {
        let regions = regions(setup, plan);
        let mut boards = Vec::new();
        for board in regions.iter().flat_map(|region| region.use_.boards()) {
            if let Some(spec) = job.boards.get(usize::from(board.product)) {
                count_in(&mut boards, spec, board.length, measured_from(job, board));
            }
        }
        let planned = Self {
            owed: owed(job, &boards),
            absent: absent((job, setup), &regions, &boards),
            volume: Volume::default(),
            boards,
            spoilt: Vec::new(),
            larger: Vec::new(),
        };
        let lines = planned.owed_lines().into_iter().zip(&planned.owed);
        let with_reason = |(line, owed): (String, &Owed)| {
            let absent = planned.absent.iter().find(|one| one.name == owed.name);
            absent.map_or(line.clone(), |one| format!("{line}: {}", one.why))
        };
        lines.map(with_reason).collect()
    }

    /// The products that fall short, a line each.
    #[must_use]
    pub fn owed_lines(&self) -> Vec<String> {
        let told = |one: &Owed| format!("{}: {} owed, {} out of this log", one.name, one.least, one.count);
        self.owed.iter().map(told).collect()
    }

    /// A line for each column that was to be a board and does not count.
    #[must_use]
    pub fn spoilt_lines(&self) -> Vec<String> {
        let told = |one: &Spoilt| format!("{} does not count as {}: {}", one.place(), one.name, one.why);
        self.spoilt.iter().map(told).collect()
    }

    /// What of the order this log does not fill, in one sentence; none where some of everything comes out, and all that is owed.
    #[must_use]
    pub fn unfilled(&self) -> Option<String> {
        let absent = self.absent.iter().map(|one| one.name.as_str());
        let absent: Vec<&str> = absent
            .filter(|name| self.owed.iter().all(|one| one.name != *name))
            .collect();
        let owed = owed_words(&self.owed);
        let absent =
            (!absent.is_empty()).then(|| format!("no {} comes out of this log", absent.join(", no ")));
        let words: Vec<String> = owed.into_iter().chain(absent).collect();
        (!words.is_empty()).then(|| words.join("; "))
    }

    /// The products of which none come out, those of one reason in one line.
    #[must_use]
    pub fn absent_lines(&self) -> Vec<String> {
        let mut lines = Vec::new();
        for (at, one) in self.absent.iter().enumerate() {
            let alike = |other: &&Absent| other.why == one.why;
            if self.absent.iter().position(|other| other.why == one.why) == Some(at) {
                let names = self.absent.iter().filter(alike).map(|one| one.name.as_str());
                let names: Vec<&str> = names.collect();
                lines.push(format!("none of {}: {}", names.join(", "), one.why));
            }
        }
        lines
    }

    /// How many boards count.
    #[must_use]
    pub fn count(&self) -> u32 {
        self.boards.iter().map(|row| row.count).sum()
    }
}

fn count_in(rows: &mut Vec<BoardRow>, spec: &BoardSpec, length: Length, end: Option<&'static str>) {
    let alike = |row: &&mut BoardRow| {
        let sized = row.thickness_um == spec.thickness && row.width_um == spec.width;
        row.name == spec.name && sized && row.length_um == length && row.end == end
    };
    let (thickness, width) = (spec.thickness, spec.width);
    let volume = volume(thickness, width, length);
    let [thick, wide] = spec.called;
    let board_feet = PriceBy::BoardFoot.value(1_000, thick, wide, length) as f64 / 1e3;
    match rows.iter_mut().find(alike) {
        Some(row) => {
            row.count += 1;
            row.volume_m3 += volume;
            row.board_feet += board_feet;
        }
        None => rows.push(BoardRow {
            name: spec.name.clone(),
            thickness_um: thickness,
            width_um: width,
            length_um: length,
            end,
            count: 1,
            volume_m3: volume,
            board_feet,
        }),
    }
}

/// What a board holds, cubic metres.
pub(crate) fn volume(thickness: Length, width: Length, length: Length) -> f64 {
    let sizes = [thickness, width, length].into_iter();
    sizes.map(|size| f64::from(size.as_um()) / 1e6).product()
}

/// What is wrong with a column's size for its product, lying or on edge.
pub(super) fn wrong_size(job: &Job, region: &Region, spec: &BoardSpec, grid: Length) -> Option<String> {
    let (width, height) = (region.across.length(), region.height.length());
    let fits = |across: Length, up: Length| width + grid >= across && height + grid >= up;
    if fits(spec.width, spec.thickness) || fits(spec.thickness, spec.width) {
        return None;
    }
    let system = System::of(job.inches);
    Some(format!(
        "it comes out {}, too small for {}",
        times(system, width, height),
        times(system, spec.width, spec.thickness)
    ))
}

/// What is wrong with the wood of a column of which a board is to be made, wherever in it that lies; where no place does, what
/// is wrong at the face on the entry side, where the best layout has it.
pub(super) fn wrong_wood(
    job: &Job,
    setup: &Setup<'_>,
    region: &Region,
    (rings, spec): (Grain, &BoardSpec),
    board: Board,
) -> Option<String> {
    let mut first = None;
    for place in places(region, spec, setup.mill.grid) {
        let wrong = wane(job, setup, &place, spec, board)
            .or_else(|| core(job, setup, &place, spec, board))
            .or_else(|| grain((job, setup), &place, (rings, spec), board))?;
        first.get_or_insert(wrong);
    }
    first
}

/// The places of a product in a column that is as large: at its sides and faces and between them, lying or on edge.
fn places(region: &Region, spec: &BoardSpec, grid: Length) -> Vec<Region> {
    let mut places = Vec::new();
    let sizes = [(spec.width, spec.thickness), (spec.thickness, spec.width)];
    let count = if spec.width == spec.thickness { 1 } else { 2 };
    for (wide, tall) in sizes.into_iter().take(count) {
        let [spare, over] = [region.across.length() - wide, region.height.length() - tall];
        if spare + grid < Length::ZERO || over + grid < Length::ZERO {
            continue;
        }
        // What the grid has taken of it is missing there.
        let [spare, over] = [spare, over].map(|spare| spare.max(Length::ZERO));
        for down in [Length::ZERO, over, over.half_floor()] {
            for aside in [Length::ZERO, spare, spare.half_floor()] {
                let (lo, hi) = (region.across.lo + aside, region.height.hi - down);
                places.push(Region {
                    across: Interval::new(lo, (lo + wide).min(region.across.hi)),
                    height: Interval::new((hi - tall).max(region.height.lo), hi),
                    ..*region
                });
                if spare == Length::ZERO {
                    break;
                }
            }
            if over == Length::ZERO {
                break;
            }
        }
    }
    places
}

/// What a column is larger than its product by more than is planed off, lying or on edge.
fn too_large(job: &Job, region: &Region, spec: &BoardSpec) -> Option<String> {
    let (width, height) = (region.across.length(), region.height.length());
    let over = |across: Length, up: Length| (width - across).max(height - up);
    let by = over(spec.width, spec.thickness).min(over(spec.thickness, spec.width));
    let system = System::of(job.inches);
    (by > PLANED).then(|| {
        format!(
            "it comes out {}, larger than {}: it counts, and has to be sawn again",
            times(system, width, height),
            times(system, spec.width, spec.thickness)
        )
    })
}

/// Where along the log a board lies: from its end of what the trims leave, or of the whole log where they leave too little.
#[must_use]
pub fn stretch(job: &Job, setup: &Setup<'_>, length: Length, end: End) -> Interval {
    let log = setup.shape.travel();
    let trimmed = Interval::new(log.lo + job.end_trim, log.hi - job.end_trim);
    let usable = if length <= trimmed.length() { trimmed } else { log };
    match end {
        End::Near => Interval::new(usable.lo, usable.lo + length),
        End::Far => Interval::new(usable.hi - length, usable.hi),
    }
}

/// The end of the log from which a board is measured: `near` or `far`; none where it takes all that the trims leave.
#[must_use]
pub fn measured_from(job: &Job, board: Board) -> Option<&'static str> {
    (board.length < job.length - job.end_trim.times(2)).then_some(match board.end {
        End::Near => "near",
        End::Far => "far",
    })
}

fn owed(job: &Job, boards: &[BoardRow]) -> Vec<Owed> {
    short_of(job, |name| {
        let rows = boards.iter().filter(|row| row.name == name);
        rows.map(|row| row.count).sum()
    })
}

/// The products of which none come out, and why where it is known.
fn absent((job, setup): (&Job, &Setup<'_>), regions: &[Region], boards: &[BoardRow]) -> Vec<Absent> {
    let absent = job.boards.iter().enumerate().filter_map(|(number, spec)| {
        let wanted = |region: &Region| {
            let mut boards = region.use_.boards();
            boards.any(|board| usize::from(board.product) == number)
        };
        let none = boards.iter().all(|row| row.name != spec.name);
        none.then(|| Absent {
            name: spec.name.clone(),
            why: if regions.iter().any(wanted) {
                "what is to become it does not count".to_owned()
            } else {
                why_absent(job, setup, spec)
            },
        })
    });
    absent.collect()
}

fn why_absent(job: &Job, setup: &Setup<'_>, spec: &BoardSpec) -> String {
    let system = System::of(job.inches);
    let size = times(system, spec.width, spec.thickness);
    if spec.most == Some(0) {
        return "the job wants none (most)".to_owned();
    }
    let brings = !job.boards.iter().all(BoardSpec::brings_nothing);
    if job.layout == Layouts::Best && spec.brings_nothing() && brings {
        return "it brings nothing at its price, and the best layout takes only what does".to_owned();
    }
    let [flat, upright] = Angle::ALL.map(|angle| room_over_kerf(setup.mill, angle, Length::ZERO));
    let kerf = setup.mill.blade.kerf;
    let reached = |across: Length, up: Length| across + kerf <= flat && up + kerf <= upright;
    if !reached(spec.width, spec.thickness) && !reached(spec.thickness, spec.width) {
        return format!(
            "{size} and a kerf are beyond the mill's reach, {} across and {} high",
            system.size(flat),
            system.size(upright)
        );
    }
    let thin = Angle::ALL.map(|angle| Slender::between(setup.mill, angle));
    let lies = [spec.width, spec.thickness];
    if Slender::board(thin, lies) && Slender::board(thin, [spec.thickness, spec.width]) {
        let [flat, _] = thin;
        return format!(
            "{size} is thin for its width and would break off beside the blade: {} or more hold there",
            system.size(flat.least(spec.width.max(spec.thickness)))
        );
    }
    let widest = |section: &Section| section.width().length().max(section.height().length()).wide();
    let most = setup.shape.wood().iter().map(widest).max().unwrap_or(0);
    let [width, thickness] = [spec.width, spec.thickness].map(Length::wide);
    if width * width + thickness * thickness > most * most {
        return format!(
            "{size} is more across its corners than the log's {}",
            system.size(Length::um(most))
        );
    }
    "the cut plan has no column for it: what stands before it in the job may have taken its place (give that a `most`, or write this one first), or no layer has room for it with its kerfs; a size a little narrower or thinner may fit"
        .to_owned()
}

impl Volume {
    fn of((job, setup): (&Job, &Setup<'_>), trace: &Trace, boards_m3: f64) -> Self {
        let shape = &setup.shape;
        let cubic_metres = |mm3: f64| mm3 * 1e-9;
        let log_m3 = cubic_metres(body(&setup.stock(), shape, Pick::Any).volume_mm3);
        let left_m3 = cubic_metres(body(&trace.end, shape, Pick::Body).volume_mm3);
        let off_m3 = job.begun.as_ref().map_or(0.0, |begun| begun.volume_m3());
        let mut pieces_m3 = 0.0;
        for (number, traced) in trace.moves.iter().enumerate() {
            let after = trace
                .moves
                .get(number + 1)
                .map_or(&trace.end, |next| &next.before);
            for free in &traced.freed {
                pieces_m3 += cubic_metres(piece(after, shape, free.id).volume_mm3);
            }
            if traced.broken > 0 {
                let hung = traced.hanging.iter().map(|part| part.wood_mm3);
                pieces_m3 += cubic_metres(hung.sum());
            }
        }
        Self {
            log_m3,
            boards_m3,
            off_m3,
            offcuts_m3: (pieces_m3 - boards_m3 - off_m3).max(0.0),
            kerfs_m3: (log_m3 - left_m3 - pieces_m3).max(0.0),
            left_m3,
        }
    }

    /// Boards as a share of the log, in hundredths.
    #[must_use]
    pub fn percent(&self) -> f64 {
        100.0 * self.boards_m3 / self.log_m3.max(f64::MIN_POSITIVE)
    }

    /// The same with those that were off before.
    #[must_use]
    pub fn percent_with_off(&self) -> f64 {
        100.0 * (self.boards_m3 + self.off_m3) / self.log_m3.max(f64::MIN_POSITIVE)
    }
}
