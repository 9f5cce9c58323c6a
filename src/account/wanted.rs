//! What a job asks of a sequence beyond the rules, and whether the sequence does it.
//!
//! Rules know moves, mill and log. That the timber moves as it is opened, and that nobody unloads beside a turning blade, only
//! the job knows. Growth stress: common practice, no source, so that it warns; a blade that turns where the job says that it
//! stands is refused.
//!
//! | from the job | asked of any sequence |
//! |---|---|
//! | `growth_stress = "high"` | above the lowest layer, three edging kerfs and more of a layer are cut from both sides by turns |
//! | | there, an edging kerf deeper than [`WEDGED`] is wedged before the next cut elsewhere, where wood stands on both its sides |
//! | | a board is measured as it is unloaded, no later than the first without bark: sawn above, of the size of one of the job's |
//! | | what is left is measured, and its face straightened, when a layer is off and before the next is begun |
//! | `stop_to_unload = true` | the blade stands whenever somebody unloads |
//! | `people = 1` | no cut needs a second person |
//!
//! Moves do not say which piece is a board: a strip of waste of just a board's size is taken for one. Only where no piece is as
//! large as a board and no more than `PLANED` larger do larger ones count as well.

use bunkside_planner::geometry::{Block, Interval};
use bunkside_planner::replay::Setup;
use bunkside_planner::rules::{Finding, Measure, Objection};
use bunkside_planner::sequence::WEDGED;
use bunkside_planner::stock::{Pick, Piece, Stock};
use bunkside_protocol::{Act, Acts, Angle, Length, Move, Position};

use super::boards::PLANED;
use super::care::straightens;
use super::findings::second_person_moves;
use crate::job::{GrowthStress, Job};
use crate::trace::{Trace, Traced};

/// What findings about growth stress are called.
pub const STRESS: &str = "growth-stress";

/// What findings about a turning blade are called.
pub const STOP: &str = "stop-to-unload";

/// What findings about a second person are called.
pub const ALONE: &str = "one-person";

const HELD_DOWN: &str = "the job says that one person works here, and this piece has to be held down as it comes free; saw it with a second person, on a carriage that climbs, or under a pull-back aid that bears on it";
const TURNS: &str =
    "the job says that the blade stands while anybody unloads; stop it and let it run down before the hold";
const SIDE: &str = "such timber bends where wood comes off one side alone; edge a layer from its outermost kerfs inwards, from both sides by turns";
const WEDGE: &str = "a deep kerf in such timber closes on the blade; hold to wedge it, the blade standing, before the next cut";
const BOARD: &str =
    "the first board tells by how much the log moves; measure it at the hold at which it is unloaded";
const FACE: &str = "what is left may have risen, bowed or moved on its bunks; hold to measure it before the next layer is begun";
const CROOKED: &str = "what has risen of the face makes the next boards thick; run the flat blade over it at its own height first";

/// How far beside a kerf, and under a face, wood is looked for.
const BESIDE: Length = Length::mm(1);

/// What a job asks of a sequence that moves, mill and log do not tell.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Wanted {
    stressed: bool,
    stopped: bool,
    alone: bool,
    boards: Vec<Size>,
}

impl Wanted {
    /// Whether the timber is under growth stress.
    #[must_use]
    pub const fn is_stressed(&self) -> bool {
        self.stressed
    }
}

/// The least that a product's boards measure.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Size {
    thick: Length,
    wide: Length,
    long: Length,
}

impl Size {
    /// Whether a piece is as large, and its section larger by no more than so much, if that is asked.
    fn is_of(&self, piece: &Piece, by: Option<Length>) -> bool {
        let bounds = piece.bounds;
        let (high, wide) = (bounds.height.length(), bounds.across.length());
        let sides = [
            (high.min(wide), self.thick.min(self.wide)),
            (high.max(wide), self.thick.max(self.wide)),
        ];
        let fits = |(own, least): (Length, Length)| own >= least && by.is_none_or(|by| own <= least + by);
        sides.into_iter().all(fits) && bounds.travel.length() >= self.long
    }
}

impl Wanted {
    /// What a job asks.
    #[must_use]
    pub fn of(job: &Job) -> Self {
        Self {
            stressed: job.growth_stress == GrowthStress::High,
            stopped: job.setting.stop_to_unload,
            alone: job.setting.is_alone(),
            boards: job
                .boards
                .iter()
                .map(|board| Size {
                    thick: board
                        .sizes()
                        .map(|(_, size)| size[0])
                        .fold(board.thickness, Length::min),
                    wide: board
                        .sizes()
                        .map(|(_, size)| size[1])
                        .fold(board.width, Length::min),
                    long: board.lengths.iter().copied().min().unwrap_or(Length::ZERO),
                })
                .collect(),
        }
    }

    /// What of it a sequence does not do, by move.
    #[must_use]
    pub fn missed(&self, setup: &Setup<'_>, trace: &Trace) -> Vec<Finding> {
        let mut missed = Vec::new();
        if self.stopped {
            missed.extend(unloaded_beside_the_blade(trace));
        }
        if self.alone {
            missed.extend(held_down(trace));
        }
        if self.stressed {
            let course = Course { setup, trace };
            let lowest = course.lowest();
            missed.extend(course.one_sided(lowest));
            missed.extend(course.unwedged(lowest));
            missed.extend(course.unmeasured_board(&self.boards));
            course.unseen_faces(&mut missed);
        }
        missed.sort_by_key(|finding| finding.index);
        missed
    }
}

fn finding(rule: &'static str, traced: &Traced, objection: Objection) -> Finding {
    Finding {
        rule,
        index: traced.step.index,
        objection,
    }
}

fn stress(traced: &Traced, found: &'static str, wanted: &'static str, note: &'static str) -> Finding {
    let objection = Objection::warn(Measure::State(found), Measure::State(wanted), note);
    finding(STRESS, traced, objection)
}

fn held_for(traced: &Traced) -> Acts {
    match traced.step.told {
        Move::Hold(hold) => hold.acts,
        _ => Acts::default(),
    }
}

fn is_cut(traced: &Traced) -> bool {
    matches!(traced.step.told, Move::Cut(_))
}

/// Whether a move cuts wood.
fn saws(traced: &Traced) -> bool {
    traced.step.cut.is_some_and(|facts| facts.met.is_some())
}

fn unloaded_beside_the_blade(trace: &Trace) -> impl Iterator<Item = Finding> {
    let turning = |traced: &&Traced| held_for(traced).contains(Act::Unload) && traced.step.before.spinning;
    trace.moves.iter().filter(turning).map(|traced| {
        let objection = Objection::refuse(Measure::State("turning"), Measure::State("standing"), TURNS);
        finding(STOP, traced, objection)
    })
}

fn held_down(trace: &Trace) -> impl Iterator<Item = Finding> {
    let moves = second_person_moves(&trace.findings).into_iter();
    moves.map(|index| Finding {
        rule: ALONE,
        index,
        objection: Objection::refuse(
            Measure::State("a second person is needed"),
            Measure::State("one person"),
            HELD_DOWN,
        ),
    })
}

/// A sequence as it ran.
struct Course<'a> {
    setup: &'a Setup<'a>,
    trace: &'a Trace,
}

impl Course<'_> {
    fn sawing(&self) -> impl Iterator<Item = (usize, &Traced)> {
        self.trace
            .moves
            .iter()
            .enumerate()
            .filter(|(_, traced)| saws(traced))
    }

    /// The height of the lowest cut: what is left there moves no more.
    fn lowest(&self) -> Position {
        let heights = self.sawing().map(|(_, traced)| traced.step.before.height);
        heights.min().unwrap_or(Position::MAX)
    }

    /// The upright strokes in wood above the lowest layer.
    fn edging(&self, lowest: Position) -> impl Iterator<Item = (usize, &Traced)> {
        self.sawing().filter(move |(_, traced)| {
            let pose = &traced.step.before;
            pose.angle == Angle::Upright && pose.height > lowest
        })
    }

    /// What stands after a move.
    fn after(&self, at: usize) -> &Stock {
        self.trace
            .moves
            .get(at + 1)
            .map_or(&self.trace.end, |next| &*next.before)
    }

    fn met(&self, stock: &Stock, across: Interval, height: Interval, pick: Pick) -> bool {
        let block = Block {
            travel: Interval::ALL,
            across,
            height,
        };
        stock.met(&self.setup.shape, block, pick).is_some()
    }

    /// The first kerf out of its turn in each layer of three and more.
    fn one_sided(&self, lowest: Position) -> Vec<Finding> {
        let mut layers: Vec<(Position, Vec<&Traced>)> = Vec::new();
        for (at, traced) in self.edging(lowest) {
            let pose = &traced.step.before;
            let floor = self.deepest_pass(at, pose.across);
            let place = match layers.iter().position(|(height, _)| *height == floor) {
                Some(place) => place,
                None => {
                    layers.push((floor, Vec::new()));
                    layers.len() - 1
                }
            };
            let Some((_, kerfs)) = layers.get_mut(place) else {
                continue;
            };
            if kerfs.iter().all(|one| one.step.before.across != pose.across) {
                kerfs.push(traced);
            }
        }
        let layers = layers.iter().filter(|(_, kerfs)| kerfs.len() > 2);
        let out_of_turn = layers.filter_map(|(_, kerfs)| {
            let turn = |exit| first_out_of_turn(kerfs, exit);
            kerfs.get(turn(false).max(turn(true)))
        });
        out_of_turn
            .map(|traced| stress(traced, "edged from one side", "from both by turns", SIDE))
            .collect()
    }

    /// How far down an upright kerf goes that is cut in passes, one right after the other, from one of them on.
    fn deepest_pass(&self, from: usize, across: Position) -> Position {
        let passes = self.sawing().filter(|(at, _)| *at >= from);
        let passes = passes.map(|(_, traced)| &traced.step.before);
        let same = passes.take_while(|pose| pose.angle == Angle::Upright && pose.across == across);
        same.map(|pose| pose.height).min().unwrap_or(Position::MAX)
    }

    /// Deep edging kerfs that stand open with no wedge while the next cut is made.
    fn unwedged(&self, lowest: Position) -> Vec<Finding> {
        let open = |(at, traced): &(usize, &Traced)| {
            let (pose, kerf) = (&traced.step.before, self.setup.mill.blade.kerf);
            let deep = traced
                .step
                .cut
                .is_some_and(|facts| facts.cover > WEDGED && facts.freed == 0);
            if !deep {
                return false;
            }
            let rest = self.trace.moves.get(at + 1..).unwrap_or(&[]);
            let elsewhere = |next: &Traced| {
                let to = &next.step.before;
                is_cut(next) && (to.angle != pose.angle || to.across != pose.across)
            };
            let until = rest.iter().position(is_cut).unwrap_or(rest.len());
            let (held, next) = rest.split_at(until);
            // A deeper pass of the same kerf may come first, or a second one over the same.
            let over = next.first().is_none_or(elsewhere);
            let above = Interval::new(pose.height, Position::MAX);
            let beside = [
                Interval::new(pose.across - kerf - BESIDE, pose.across - kerf),
                Interval::new(pose.across, pose.across + BESIDE),
            ];
            over && beside
                .iter()
                .all(|side| self.met(self.after(*at), *side, above, Pick::Body))
                && !held.iter().any(|one| held_for(one).contains(Act::WedgeKerf))
        };
        let open = self.edging(lowest).filter(open);
        open.map(|(_, traced)| {
            let depth = traced.step.cut.map_or(Length::ZERO, |facts| facts.cover);
            let objection = Objection::warn(
                Measure::Told(depth, "of open kerf"),
                Measure::Length(WEDGED),
                WEDGE,
            );
            finding(STRESS, traced, objection)
        })
        .collect()
    }

    /// The hold at which the first board without bark is unloaded, or the last with some where all have, where nobody has
    /// measured a board that lay there by then.
    fn unmeasured_board(&self, boards: &[Size]) -> Option<Finding> {
        let uncut = self.setup.stock();
        let may_be = |piece: &Piece, by| {
            let above = Interval::new(piece.bounds.height.hi + BESIDE, Position::MAX);
            let size = boards.iter().any(|board| board.is_of(piece, by));
            size && self.met(&uncut, piece.bounds.across, above, Pick::Any)
        };
        let mut freed = self.trace.moves.iter().flat_map(|traced| &traced.freed);
        let by = freed.any(|piece| may_be(piece, Some(PLANED))).then_some(PLANED);
        let is_board = |piece: &Piece| may_be(piece, by);
        let mut last = None;
        for traced in &self.trace.moves {
            let lying = || traced.before.pieces().iter().filter(|piece| is_board(piece));
            let acts = held_for(traced);
            if acts.is_empty() || lying().next().is_none() {
                continue;
            }
            if acts.contains(Act::Measure) {
                return None;
            }
            if acts.contains(Act::Unload) {
                last = Some(traced);
                if lying().any(|piece| !piece.bark_edge) {
                    break;
                }
            }
        }
        Some(stress(last?, "the first board not measured", "measured", BOARD))
    }

    /// The first cut below a face that nobody measured or straightened.
    fn unseen_faces(&self, missed: &mut Vec<Finding>) {
        let mut floor: Option<Position> = None;
        let (mut measured, mut straight) = (false, false);
        for traced in &self.trace.moves {
            measured |= held_for(traced).contains(Act::Measure);
            straight |= is_cut(traced) && straightens(self.setup, traced);
            if !saws(traced) {
                continue;
            }
            let height = traced.step.before.height;
            if floor.is_some_and(|floor| height < floor && self.is_face(&traced.before, floor)) {
                if !measured {
                    missed.push(stress(traced, "a face not measured", "measured", FACE));
                }
                if !straight {
                    missed.push(stress(traced, "a face not straightened", "straightened", CROOKED));
                }
            }
            floor = Some(floor.map_or(height, |floor| floor.min(height)));
            (measured, straight) = (false, false);
        }
    }

    /// Whether nothing stands on a floor any more, and wood right under it.
    fn is_face(&self, stock: &Stock, floor: Position) -> bool {
        let body = |height| self.met(stock, Interval::ALL, height, Pick::Body);
        !body(Interval::new(floor, Position::MAX)) && body(Interval::new(floor - BESIDE, floor))
    }
}

/// The first of some kerfs, in the order in which they were cut, that is not the outermost on the side whose turn it is; one
/// past the last where every one is.
fn first_out_of_turn(kerfs: &[&Traced], from_exit: bool) -> usize {
    let mut left: Vec<Position> = kerfs.iter().map(|kerf| kerf.step.before.across).collect();
    left.sort_unstable();
    let mut exit = from_exit;
    for (turn, kerf) in kerfs.iter().enumerate() {
        let outermost = if exit { left.pop() } else { Some(left.remove(0)) };
        if outermost != Some(kerf.step.before.across) {
            return turn;
        }
        exit = !exit;
    }
    kerfs.len()
}
