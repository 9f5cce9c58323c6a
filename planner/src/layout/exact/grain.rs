//! Rings: where a board lies flat or quarter sawn as a whole, so that it need not be as large as one of which nobody knows.
//!
//! Around the pith two lines climb at 45 degrees to the bed, one to either side. Over and under where they cross rings lie nearer
//! to level than to upright, beside it nearer to upright. A board lies flat sawn where its rings are at 45 degrees or less to its
//! wide faces everywhere, quarter sawn where they are at 45 or more (Wood Handbook, FPL-GTR-282, chapter 4; from memory); else it
//! is both. So one that lies in the log as it is sawn has to be wholly over the lines, or wholly under them, to be flat sawn, and
//! wholly on one side of them to be quarter sawn; of one on edge it is the other way round.
//!
//! Each of these asks two corners of the board to lie beyond a line. At its underside such a line leaves a step more on the way up
//! for each step, at its face a step less. That is what rooms do anyway: they bend one way, grow as the undersides have it and
//! shrink as the faces have it. So the lines are two more sides of a room, told by two numbers each; nothing is looked for more
//! often for their sake, no room is kept besides, and whatever is proven of floors between two others stays so, as long as no side
//! of the log leans by as much as the lines do ([`Pith::along`] tells). A product whose size follows from its rings lies in rows of
//! up to three heights, and `order` keeps the boards over the pith and those under it apart, as no floor has both.

use bunkside_protocol::Length;

use super::Um;
use super::heart::FLOORS;
use super::rooms::Heights;
use super::wane::Classes;
use crate::geometry::{Interval, Section, Shape};

/// How the rings lie in a board.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Grain {
    /// Here so and there so, or nobody asks.
    #[default]
    Mixed,
    /// Nearer to its wide faces than to its edges, everywhere.
    Flat,
    /// Nearer to its edges, everywhere.
    Quarter,
}

/// On which side of the lines through the pith a board lies as a whole.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Side {
    /// On any, or across them.
    #[default]
    Any,
    /// Over the pith.
    Over,
    /// Under it.
    Under,
    /// Beside it, towards the entry side.
    Entry,
    /// Beside it, towards the exit side.
    Exit,
}

impl Side {
    /// How the rings lie in a board there, as it is sawn or on edge.
    #[must_use]
    pub const fn grain(self, on_edge: bool) -> Grain {
        match (self, on_edge) {
            (Self::Any, _) => Grain::Mixed,
            (Self::Over | Self::Under, false) | (Self::Entry | Self::Exit, true) => Grain::Flat,
            (Self::Over | Self::Under, true) | (Self::Entry | Self::Exit, false) => Grain::Quarter,
        }
    }

    /// Where the rings of a board lie so.
    pub(super) const fn of(grain: Grain, on_edge: bool) -> &'static [Self] {
        match (grain, on_edge) {
            (Grain::Mixed, _) => &[Self::Any],
            (Grain::Flat, false) | (Grain::Quarter, true) => &[Self::Over, Self::Under],
            (Grain::Quarter, false) | (Grain::Flat, true) => &[Self::Entry, Self::Exit],
        }
    }
}

/// Where the pith is along a stretch of a log, as the lines see it: it follows the log's middle.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Pith {
    /// The least and the most that its place across and its height come to.
    falling: (Um, Um),
    /// The same of its place across less its height.
    rising: (Um, Um),
}

impl Pith {
    /// Along a stretch; none where the log is so oval and so turned that a side of it leans by 45 degrees at its middle, or there is
    /// no wood.
    #[must_use]
    pub fn along(shape: &Shape, stretch: Interval) -> Option<Self> {
        let mut pith: Option<Self> = None;
        let leans = shape.any_within(stretch, false, |section| {
            let here = Self::of(section);
            pith = Some(pith.map_or(here, |pith| pith.joined(&here)));
            let (_, half_height, skew) = section.half_diameters();
            skew.abs() >= half_height
        });
        if leans {
            return None;
        }
        // Between samples it may lie off by as much as a section may, across and up at once.
        let hidden = (Length::um(2) + shape.between().times(2)).as_um();
        let grown = |(lo, hi): (Um, Um)| (lo - hidden, hi + hidden);
        pith.map(|Self { falling, rising }| Self {
            falling: grown(falling),
            rising: grown(rising),
        })
    }

    fn of(section: &Section) -> Self {
        let (across, up) = (section.centre_across().as_um(), section.centre_height().as_um());
        Self {
            falling: (across + up, across + up),
            rising: (across - up, across - up),
        }
    }

    fn joined(&self, other: &Self) -> Self {
        let join = |a: (Um, Um), b: (Um, Um)| (a.0.min(b.0), a.1.max(b.1));
        Self {
            falling: join(self.falling, other.falling),
            rising: join(self.rising, other.rising),
        }
    }

    /// On which side a board lies that reaches from here to there.
    #[must_use]
    pub fn side(&self, across: Interval, height: Interval) -> Side {
        let [left, right] = [across.lo, across.hi].map(|side| i64::from(side.as_um()));
        let [under, face] = [height.lo, height.hi].map(|face| i64::from(face.as_um()));
        let [falling, rising] = [self.falling, self.rising].map(|(lo, hi)| (i64::from(lo), i64::from(hi)));
        let beyond = [
            left + under >= falling.1,
            right - under <= rising.0,
            left - face >= rising.1,
            right + face <= falling.0,
        ];
        match beyond {
            [true, true, ..] => Side::Over,
            [_, _, true, true] => Side::Under,
            [true, _, true, _] => Side::Exit,
            [_, true, _, true] => Side::Entry,
            _ => Side::Any,
        }
    }

    /// As layers see it whose heights are told in steps; for a bound, floors and corners may lie so far beside where they are told:
    /// undersides up to so many steps higher, corners less than one further on.
    pub(super) fn over_lowest(&self, heights: &Heights, span: Option<usize>) -> Self {
        let lowest = heights.lowest.as_um();
        let step = heights.step.as_um();
        let spare = span.map_or(0, |span| step.saturating_mul(Um::try_from(span).unwrap_or(2)));
        let sooner = if span.is_some() { step } else { 0 };
        let (falling, rising) = (self.falling, self.rising);
        Self {
            falling: (falling.0 - lowest, falling.1 - lowest - spare - sooner),
            rising: (rising.0 + lowest + spare, rising.1 + lowest - sooner),
        }
    }

    /// Between which lines a board lies on a side.
    pub(super) const fn lines(&self, side: Side) -> Lines {
        let Lines { mut under, mut over } = Lines::NONE;
        if matches!(side, Side::Over | Side::Exit) {
            under.0 = self.falling.1;
        }
        if matches!(side, Side::Over | Side::Entry) {
            under.1 = self.rising.0;
        }
        if matches!(side, Side::Under | Side::Exit) {
            over.0 = self.rising.1;
        }
        if matches!(side, Side::Under | Side::Entry) {
            over.1 = self.falling.0;
        }
        Lines { under, over }
    }
}

/// Between which lines at 45 degrees a board lies: where they would be at the lowest height.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Lines {
    /// At its underside, further apart by twice as much as that is higher.
    under: (Um, Um),
    /// At its face, nearer to each other by as much.
    over: (Um, Um),
}

impl Default for Lines {
    fn default() -> Self {
        Self::NONE
    }
}

impl Lines {
    /// None.
    pub(crate) const NONE: Self = Self {
        under: (Um::MIN / 4, Um::MAX / 4),
        over: (Um::MIN / 4, Um::MAX / 4),
    };

    /// What is between them at an underside so high.
    pub(super) const fn at_underside(&self, up: Um) -> (Um, Um) {
        (self.under.0 - up, self.under.1 + up)
    }

    /// The same at a face.
    pub(super) const fn at_face(&self, up: Um) -> (Um, Um) {
        (self.over.0 + up, self.over.1 - up)
    }

    /// Whether nothing is between others that is not between these.
    pub(super) fn wider(&self, other: &Self) -> bool {
        let around = |mine: (Um, Um), other: (Um, Um)| mine.0 <= other.0 && mine.1 >= other.1;
        around(self.under, other.under) && around(self.over, other.over)
    }

    /// The lowest underside, and the highest face, over which a board so wide may lie between two such pairs both; none where any
    /// may.
    pub(super) fn heights(&self, other: &Self, wide: Um) -> [Option<Um>; 2] {
        let half = |apart: (Um, Um), other: (Um, Um)| {
            let (lo, hi) = (apart.0.max(other.0), apart.1.min(other.1));
            (lo > Um::MIN / 4 && hi < Um::MAX / 4).then(|| (hi - lo - wide).div_euclid(2))
        };
        [
            half(self.under, other.under).map(|above| -above),
            half(self.over, other.over),
        ]
    }

    /// Whether a board so high and wide lies nowhere between two such pairs both.
    pub(super) fn exclude(&self, other: &Self, (tall, wide): (Um, Um)) -> bool {
        let [under, face] = self.heights(other, wide);
        let high = under.zip(face).is_some_and(|(under, face)| under + tall > face);
        let lo = |lines: &Self| (lines.under.0, lines.over.0);
        let hi = |lines: &Self| (lines.under.1, lines.over.1);
        let both = |a: (Um, Um), b: (Um, Um), pick: fn(Um, Um) -> Um| (pick(a.0, b.0), pick(a.1, b.1));
        // Two lines that meet beside a board leave it no place nearer than where it is as high as they are apart.
        let (from, to) = (
            both(lo(self), lo(other), Um::max),
            both(hi(self), hi(other), Um::min),
        );
        let told = from.0 > Um::MIN / 4 && from.1 > Um::MIN / 4 && to.0 < Um::MAX / 4 && to.1 < Um::MAX / 4;
        let beside =
            told && (to.0 + to.1 - tall).div_euclid(2) - wide < (from.0 + from.1 + tall).div_euclid(2);
        high || beside
    }
}

/// Floors from one to another, the last included, and a side on which no board lies over any of them.
pub(super) type Level = ((usize, usize), Side);

impl Classes<'_> {
    /// The floors of a layer so high, from its floor to its undersides and to its faces in steps, by whether its boards may lie
    /// over the pith or under it: most logs have none with both.
    pub(super) fn levels(&self, heights: &Heights, (kerf, advance): (usize, usize)) -> [Option<Level>; 2] {
        let lines = |side: Side| self.piths.iter().flatten().map(move |pith| pith.lines(side));
        let lowest = lines(Side::Over)
            .filter_map(|lines| lines.heights(&lines, 0)[0])
            .min();
        let highest = lines(Side::Under)
            .filter_map(|lines| lines.heights(&lines, 0)[1])
            .max();
        let (Some(lowest), Some(highest)) = (lowest, highest) else {
            return [Some((FLOORS, Side::Over)), None];
        };
        let step = heights.step.as_um().max(1);
        let steps = |up: Um| usize::try_from(up.max(0).div_euclid(step)).unwrap_or(0);
        let first = steps(lowest + step - 1).saturating_sub(kerf);
        let both = first + advance <= steps(highest);
        let upper = ((first, FLOORS.1), if both { Side::Any } else { Side::Under });
        let lower = first.checked_sub(1).map(|last| ((0, last), Side::Over));
        [lower, Some(upper)]
    }
}
