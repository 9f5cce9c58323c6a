//! Where a board may lie, read from the sections of the log one by one.

use std::cell::RefCell;
use std::collections::HashMap;

use bunkside_planner::geometry::Interval;
use bunkside_planner::layout::exact::{Grain, Heart, Placed};
use bunkside_planner::layout::lowest_floor;
use bunkside_planner::plan::End;
use bunkside_planner::replay::Setup;
use bunkside_protocol::{Length, Position};

use super::super::Layout;
use super::partly;
use crate::job::{BoardSpec, Job};

/// What every section of a stretch holds at a height; none where one holds nothing.
type Held = HashMap<[Position; 3], Option<Interval>>;

/// A log to be laid out.
pub(super) struct Wood<'c> {
    pub(super) job: &'c Job,
    pub(super) setup: &'c Setup<'c>,
    pub(super) usable: Interval,
    pub(super) lowest: Position,
    held: RefCell<Held>,
}

/// How it is looked at whether a board has room.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) struct Look {
    /// So much more room than it fills, or less.
    pub(super) spare: Length,
    /// At the height of the step that its underside lies on or right above, not at the underside. It lies against the face of its
    /// layer.
    pub(super) on_step: bool,
}

/// A board as it lies.
#[derive(Clone, Copy)]
pub(super) struct Lies<'c> {
    pub(super) spec: &'c BoardSpec,
    pub(super) length: Length,
    pub(super) on_edge: bool,
    /// How its rings have to lie, and its thickness and width there.
    pub(super) sized: Sized,
    pub(super) end: End,
    pub(super) floor: Position,
    pub(super) corner: Position,
}

/// How the rings of a board have to lie, and its thickness and width there.
pub(super) type Sized = (Grain, [Length; 2]);

/// How high and how wide a board lies.
pub(super) fn size([thickness, width]: [Length; 2], on_edge: bool) -> [Length; 2] {
    if on_edge {
        [width, thickness]
    } else {
        [thickness, width]
    }
}

impl<'c> Wood<'c> {
    pub(super) fn new(job: &'c Job, setup: &'c Setup<'c>) -> Self {
        let log = setup.shape.travel();
        Self {
            job,
            setup,
            usable: Interval::new(log.lo + job.end_trim, log.hi - job.end_trim),
            lowest: lowest_floor(setup),
            held: RefCell::default(),
        }
    }

    /// A size with the kerf beside it, in whole steps.
    pub(super) fn steps(&self, size: Length) -> i64 {
        let (size, step) = ((size + self.job.mill.blade.kerf).wide(), self.job.step.wide());
        (size + step - 1).div_euclid(step)
    }

    /// What every section of a stretch holds at a height, less what lies hidden between samples.
    fn held(&self, stretch: Interval, height: Position) -> Option<Interval> {
        *self
            .held
            .borrow_mut()
            .entry([stretch.lo, stretch.hi, height])
            .or_insert_with(|| {
                let mut held = Interval::ALL;
                let missing = self.setup.shape.any_within(stretch, false, |section| {
                    let chord = section.chord(height);
                    held = chord.map_or(held, |chord| held.meet(chord));
                    chord.is_none()
                });
                let between = self.setup.shape.between();
                (!missing).then_some(Interval::new(held.lo + between, held.hi - between))
            })
    }

    /// The stretch from an end that so much of the log takes.
    pub(super) fn stretch(of: Interval, length: Length, end: End) -> Interval {
        match end {
            End::Near => Interval::new(of.lo, of.lo + length),
            End::Far => Interval::new(of.hi - length, of.hi),
        }
    }

    /// Whether a board has room, as it is looked at.
    pub(super) fn fits(&self, lies: &Lies<'_>, look: Look) -> bool {
        let spare = look.spare;
        if lies.length > self.usable.length() {
            return false;
        }
        let Lies {
            spec,
            length,
            on_edge,
            sized: (grain, sized),
            floor,
            corner,
            ..
        } = *lies;
        let [tall, wide] = size(sized, on_edge);
        let face = floor + Length::um(self.steps(tall) * self.job.step.wide());
        let under = face - self.tall(tall, look);
        let stretch = Self::stretch(self.usable, length, lies.end);
        let needs = Interval::new(corner, corner + wide);
        let block = [needs, Interval::new(under, face)];
        if grain != Grain::Mixed && !self.rings_lie(stretch, block, (grain, on_edge), spare) {
            return false;
        }
        if !self.may_meet_core(spec.core, stretch, block, look) {
            return false;
        }
        if let Some(begun) = &self.job.begun
            && !partly::stands(&begun.stock, self.usable, block)
        {
            return false;
        }
        let holds = |stretch: Interval, height: Position, less: Length| {
            self.held(stretch, height)
                .is_some_and(|held| held.lo - less + spare <= needs.lo && held.hi + less - spare >= needs.hi)
        };
        let sharp = |stretch: Interval| [under, face].iter().all(|at| holds(stretch, *at, Length::ZERO));
        let wane = spec.wane;
        if wane.face <= Length::ZERO || wane.edge == Some(Length::ZERO) || wane.whole >= 1_000 {
            return sharp(stretch);
        }
        // Of the face that lies and of the edge that stands, or the other way round.
        let (side, up) = if on_edge {
            (wane.edge, Some(wane.face))
        } else {
            (Some(wane.face), wane.edge)
        };
        let sides = side.is_none_or(|side| [under, face].iter().all(|at| holds(stretch, *at, side)));
        let edges = up.is_none_or(|up| {
            [under + up, face - up]
                .iter()
                .all(|at| holds(stretch, *at, Length::ZERO))
        });
        let whole = Length::um((length.wide() * i64::from(wane.whole) + 999) / 1_000);
        let part = |end: End| sharp(Self::stretch(stretch, whole, end));
        sides && edges && (whole <= Length::ZERO || part(End::Near) || part(End::Far))
    }

    /// The box around the core along a stretch, across and up; none where it is not there.
    fn core(&self, stretch: Interval) -> Option<[Interval; 2]> {
        let core = self.job.core?;
        let along = stretch.meet(core.travel);
        if along.is_empty() {
            return None;
        }
        let hidden = self.setup.shape.between() + Length::um(1);
        let half = core.thick.half_floor() + hidden;
        let mut boxes: Vec<[Interval; 2]> = Vec::new();
        self.setup.shape.any_within(along, false, |section| {
            let middles = [section.centre_across(), section.centre_height()];
            boxes.push(middles.map(|middle| Interval::new(middle - half, middle + half)));
            false
        });
        boxes
            .into_iter()
            .reduce(|a, b| [a[0].join(b[0]), a[1].join(b[1])])
    }

    /// Whether a board is clear of the core, or lies across it as it may. As high as the core gets anywhere it counts as being everywhere;
    /// where undersides are looked at on the step, one is left to spare under and over a core that is held inside.
    pub(super) fn may_meet_core(
        &self,
        heart: Heart,
        stretch: Interval,
        [across, height]: [Interval; 2],
        look: Look,
    ) -> bool {
        let (Some([core, _]), Some([_, high])) = (self.core(stretch), self.core(self.usable)) else {
            return true;
        };
        let spare = look.spare;
        let hand = if look.on_step { self.job.step } else { Length::ZERO };
        let apart = |board: Interval, core: Interval, spare: Length| {
            board.hi + spare <= core.lo || board.lo - spare >= core.hi
        };
        let around = |board: Interval, core: Interval, spare: Length| {
            board.lo + spare <= core.lo && board.hi - spare >= core.hi
        };
        heart == Heart::Any
            || apart(height, high, Length::ZERO)
            || apart(across, core, spare)
            || (heart == Heart::Inside && around(height, high, hand) && around(across, core, spare))
    }

    /// Whether the rings of a board are nowhere at more than 45 degrees to its wide faces, or nowhere at less: they run square to a
    /// line from the log's middle. Between two points that lie so on the same side of it, all do.
    fn rings_lie(
        &self,
        stretch: Interval,
        [across, height]: [Interval; 2],
        (grain, on_edge): (Grain, bool),
        spare: Length,
    ) -> bool {
        // As far up from the middle as aside at least, for rings that are nearer to level.
        let level = (grain == Grain::Flat) != on_edge;
        let spare = spare + self.setup.shape.between().times(2) + Length::um(2);
        !self.setup.shape.any_within(stretch, false, |section| {
            let corners = [across.lo, across.hi].into_iter().flat_map(|side| {
                [height.lo, height.hi].map(|face| {
                    let aside = (side - section.centre_across()).wide();
                    let up = (face - section.centre_height()).wide();
                    if level { [up, aside] } else { [aside, up] }
                })
            });
            let (mut before, mut behind) = (true, true);
            for [along, off] in corners {
                before &= along - off.abs() >= spare.wide();
                behind &= -along - off.abs() >= spare.wide();
            }
            !before && !behind
        })
    }

    /// A board of a layout.
    pub(super) fn lies<'l>(&self, board: &Placed, spec: &'l BoardSpec) -> Lies<'l> {
        let (on_edge, size) = spec.laid(board);
        Lies {
            spec,
            length: spec.lengths[usize::from(board.length)],
            on_edge,
            sized: (board.side.grain(on_edge), size),
            end: board.end,
            floor: board.height - self.job.mill.blade.kerf,
            corner: board.across,
        }
    }

    /// Sees to it that a layout's boards have room, on the step, lie a kerf apart, are no more than may be, and bring what is told.
    pub(super) fn holds(&self, layout: &Layout, look: Look) {
        let (kerf, step) = (self.job.mill.blade.kerf, self.job.step.wide());
        let mut worth = 0;
        for (number, board) in layout.boards.iter().enumerate() {
            let spec = &self.job.boards[usize::from(board.product)];
            let lies = self.lies(board, spec);
            assert!(self.fits(&lies, look), "{board:?}");
            assert_eq!(
                [
                    (lies.floor - self.lowest).wide() % step,
                    lies.corner.from_origin().wide() % step
                ],
                [0, 0]
            );
            assert!(spec.sizes().any(|sized| sized == lies.sized), "{board:?}");
            assert!(board.tall >= size(lies.sized.1, lies.on_edge)[0], "{board:?}");
            worth += spec.values[usize::from(board.length)];
            for other in &layout.boards[..number] {
                let beside = board.across >= other.across + other.wide + kerf
                    || other.across >= board.across + board.wide + kerf;
                let over = board.height >= other.height + other.tall + kerf
                    || other.height >= board.height + board.tall + kerf;
                let length = self
                    .lies(other, &self.job.boards[usize::from(other.product)])
                    .length;
                let on_end = [board.across, board.height] == [other.across, other.height]
                    && [board.wide, board.tall] == [other.wide, other.tall]
                    && board.end != other.end
                    && lies.length + length <= self.usable.length();
                assert!(beside || over || on_end, "{board:?} {other:?}");
            }
        }
        assert_eq!(worth, layout.found.worth);
        for (product, spec) in self.job.boards.iter().enumerate() {
            let count = layout
                .boards
                .iter()
                .filter(|board| usize::from(board.product) == product)
                .count();
            assert!(
                spec.most.is_none_or(|most| count <= most as usize),
                "{product}: {count}"
            );
        }
    }

    /// From the underside that is looked at to the face.
    fn tall(&self, tall: Length, look: Look) -> Length {
        let (whole, step) = (tall.wide(), self.job.step.wide());
        Length::um(if look.on_step {
            (whole + step - 1).div_euclid(step) * step
        } else {
            whole
        })
    }
}
