//! A log that is partly sawn: the moves that are done, what stands after them, and which boards they freed.

mod onward;

use core::ops::Range;

use bunkside_planner::plan::{Board, End, Freeing, Use};
use bunkside_planner::replay::{Replay, Setup};
use bunkside_planner::rules::{Finding, Severity};
use bunkside_planner::stock::{NotJudged, Piece, Stock};
use bunkside_protocol::{Length, Move};

use crate::account::boards::{stretch, volume};
use crate::account::grain::as_sawn;
use crate::account::pieces::Region;
use crate::job::{BoardSpec, Job};
use crate::trace::Trace;

pub use onward::Onward;

/// A piece is a board of a product where it is no larger than that by more than is planed off or shrinks away, and a step.
const LARGER: Length = Length::mm(3);

/// What is done of a log.
#[derive(Clone, Debug)]
pub struct Begun {
    /// How many moves are done.
    pub done: usize,
    /// These, and those after them that finish a column that is begun: it stands on nothing any more.
    pub moves: Vec<Move>,
    /// What stands after them.
    pub stock: Stock,
    /// How many boards they freed, by product of the job.
    pub off: Vec<u32>,
    /// How many pieces came off that are no boards.
    pub others: u32,
    /// What the moves that are not done would bring as they are; none where a rule refuses one of them, or there are none.
    pub onward: Option<Onward>,
    /// What each piece that came off was counted as, in the order they came off.
    pub pieces: Vec<Off>,
}

/// A piece that is off.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Off {
    /// Its number.
    pub serial: u16,
    /// The boards it was counted as, from the near end on; none of any other piece.
    pub boards: Vec<Board>,
    /// Thickness, width and length of each as it is sold.
    pub sold: Vec<[Length; 3]>,
}

/// Why nobody can go on from moves.
#[derive(Clone, Debug)]
pub enum Unfit {
    /// A move cannot be judged, so that nobody knows what stands.
    NotJudged(u16, NotJudged),
    /// A rule refuses a move, whatever metal has been found since.
    Refused(Box<Finding>),
    /// The blade stands in the log.
    InTheLog,
}

impl Begun {
    /// The first `done` of some moves on a log.
    ///
    /// # Errors
    /// [`Unfit`].
    pub fn of(job: &Job, setup: &Setup<'_>, moves: &[Move], done: usize) -> Result<Self, Unfit> {
        refused(job, moves, done)?;
        let mut replay = Replay::new(setup, 0);
        for told in moves.iter().take(done) {
            let step = replay.step(told);
            if let Some(reason) = step.not_judged {
                return Err(Unfit::NotJudged(step.index, reason));
            }
        }
        let stopped = matches!(moves.get(..done).and_then(<[Move]>::last), Some(Move::Cut(_)));
        if stopped && setup.shape.travel().contains(replay.pose().travel) {
            return Err(Unfit::InTheLog);
        }
        let finished = finished(setup, &mut replay, moves, done);
        let all = moves;
        let moves = moves.get(..finished).unwrap_or(moves);
        let trace = Trace::run(setup, moves);
        let mut begun = Self {
            done,
            moves: moves.to_vec(),
            stock: replay.stock().clone(),
            off: vec![0; job.boards.len()],
            others: 0,
            onward: None,
            pieces: Vec::new(),
        };
        for piece in trace.moves.iter().flat_map(|traced| &traced.freed) {
            begun.count(job, setup, piece);
        }
        begun.onward = Onward::of(job, setup, all, &begun);
        Ok(begun)
    }

    /// The job with what is left of its order.
    #[must_use]
    pub fn rest_of(self, mut job: Job) -> Job {
        for (board, off) in job.boards.iter_mut().zip(&self.off) {
            board.most = board.most.map(|most| most.saturating_sub(*off));
            board.least = board.least.saturating_sub(*off);
        }
        job.begun = Some(Box::new(self));
        job
    }

    /// Counts a piece as the boards that bring most of those that it may be, of products that more are wanted of; what these bring,
    /// thousandths.
    fn count(&mut self, job: &Job, setup: &Setup<'_>, piece: &Piece) -> i64 {
        let wanted = |product: usize, spec: &BoardSpec, more: u32| {
            let off = self.off.get(product).copied().unwrap_or(0);
            spec.most.is_none_or(|most| off + more <= most)
        };
        let boards = boards_in(job, setup, piece);
        let value = |one: &Board| {
            let spec = job.boards.get(usize::from(one.product));
            spec.and_then(|spec| spec.value(one.length)).unwrap_or(0)
        };
        let usable = setup.shape.travel().length() - job.end_trim.times(2);
        let mut best: Option<(i64, Vec<Board>)> = None;
        let mut consider = |all: &[Board]| {
            let mut products = all.iter().map(|one| usize::from(one.product));
            let fits = products.all(|product| {
                let more = all
                    .iter()
                    .filter(|one| usize::from(one.product) == product)
                    .count();
                let spec = job.boards.get(product);
                spec.is_some_and(|spec| wanted(product, spec, u32::try_from(more).unwrap_or(u32::MAX)))
            });
            let worth = all.iter().map(value).sum();
            if fits && best.as_ref().is_none_or(|(most, _)| worth > *most) {
                best = Some((worth, all.to_vec()));
            }
        };
        for one in &boards {
            consider(&[*one]);
            for other in &boards {
                if one.end == End::Near && other.end == End::Far && one.length + other.length <= usable {
                    consider(&[*one, *other]);
                }
            }
        }
        let (worth, boards) = best.unwrap_or((0, Vec::new()));
        for one in &boards {
            if let Some(off) = self.off.get_mut(usize::from(one.product)) {
                *off += 1;
            }
        }
        self.others += u32::from(boards.is_empty());
        let region = lies(piece);
        let sold = boards.iter().filter_map(|board| {
            let spec = job.boards.get(usize::from(board.product))?;
            let spec = as_sawn((job, setup), &region, spec, *board).ok()?;
            Some([spec.thickness, spec.width, board.length])
        });
        self.pieces.push(Off {
            serial: piece.serial,
            sold: sold.collect(),
            boards,
        });
        worth
    }

    /// What the boards that are off hold, at the size and length they are sold at, cubic metres.
    #[must_use]
    pub fn volume_m3(&self) -> f64 {
        let boards = self.pieces.iter().flat_map(|piece| &piece.sold);
        boards.fold(0.0, |sum, [thickness, width, length]| {
            sum + volume(*thickness, *width, *length)
        })
    }

    /// The boards that a piece which is off was counted as.
    #[must_use]
    pub fn boards_of(&self, serial: u16) -> &[Board] {
        let own = self.pieces.iter().find(|one| one.serial == serial);
        own.map_or(&[], |one| &one.boards)
    }
}

/// The first of the moves that are done which a rule refuses, were there no metal in the log: that may have been found since.
fn refused(job: &Job, moves: &[Move], done: usize) -> Result<(), Unfit> {
    let mut log = job.log.clone();
    log.metal.clear();
    // A log with a shape has one without its metal.
    let Ok(setup) = Setup::new(&job.mill, &log) else {
        return Ok(());
    };
    refuses(&setup, moves, 0..done).map_or(Ok(()), |finding| Err(Unfit::Refused(Box::new(finding))))
}

/// The first of some moves that a rule refuses.
fn refuses(setup: &Setup<'_>, moves: &[Move], among: Range<usize>) -> Option<Finding> {
    let trace = Trace::run(setup, moves);
    let refused = |one: &&Finding| {
        one.objection.severity == Severity::Refuse && among.contains(&usize::from(one.index))
    };
    trace.findings.iter().find(refused).copied()
}

/// How many moves are done once a column is free that stands over a kerf, the next ones made as they were to be; no more than are
/// done already, where a rule refuses one of them now.
fn finished<'a>(setup: &'a Setup<'a>, replay: &mut Replay<'a>, moves: &[Move], done: usize) -> usize {
    let begun = replay.clone();
    let mut finished = done;
    for told in moves.iter().skip(done) {
        if !replay.stock().is_undercut(&setup.shape) {
            break;
        }
        replay.step(told);
        finished += 1;
    }
    if replay.stock().is_undercut(&setup.shape) || refuses(setup, moves, done..finished).is_some() {
        *replay = begun;
        return done;
    }
    finished
}

/// What a piece lies in, as a column of its own.
const fn lies(piece: &Piece) -> Region {
    Region {
        layer: 0,
        column: None,
        across: piece.bounds.across,
        height: piece.bounds.height,
        use_: Use::Waste,
        freeing: Freeing::Take,
    }
}

/// Every board that a piece may be.
fn boards_in(job: &Job, setup: &Setup<'_>, piece: &Piece) -> Vec<Board> {
    let region = lies(piece);
    let mut boards = Vec::new();
    for (product, spec) in (0..).zip(&job.boards) {
        if !is_as_large(job, setup, &region, spec) {
            continue;
        }
        for length in &spec.lengths {
            for end in [End::Near, End::Far] {
                let board = Board {
                    product,
                    length: *length,
                    end,
                };
                let needs = stretch(job, setup, *length, end);
                let along = piece.bounds.travel.grown(Length::mm(1));
                let there = along.lo <= needs.lo && needs.hi <= along.hi;
                if there && as_sawn((job, setup), &region, spec, board).is_ok() {
                    boards.push(board);
                }
            }
        }
    }
    boards
}

/// Whether a column is no larger than a product, lying or on edge, in any of its sizes, than one sawn for it may be.
fn is_as_large(job: &Job, setup: &Setup<'_>, region: &Region, spec: &BoardSpec) -> bool {
    let [across, up] = [region.across.length(), region.height.length()];
    let larger = LARGER + job.step + setup.mill.grid;
    let near = |is: Length, wanted: Length| is + setup.mill.grid >= wanted && is <= wanted + larger;
    spec.sizes().any(|(_, [thickness, width])| {
        (near(across, width) && near(up, thickness)) || (near(across, thickness) && near(up, width))
    })
}

#[cfg(test)]
mod tests;
