//! The whole log: its record checked and sampled.

use bunkside_protocol::{Form, Length, LogRecord, Position, Sawn};
use heapless::Vec;

use super::bulge::bulge;
use super::{Block, Interval, Section};
use crate::limits::{CENTRE_MAX, HALF_DIAMETER_MAX, LOG_LENGTH_MAX, SAMPLES_MAX};

/// Why a log record cannot be used.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ShapeError {
    /// Fewer than two stations.
    TooFewStations,
    /// A station does not lie further along than the one before.
    StationsOutOfOrder {
        /// Number of the station, from 0.
        station: usize,
    },
    /// A half-diameter is not between 1 mm and 2 m, or the skew is larger than that.
    HalfDiameter {
        /// Number of the station, from 0.
        station: usize,
    },
    /// A centre lies more than 5 m from the bed's centre line, or above or below the bed.
    Centre {
        /// Number of the station, from 0.
        station: usize,
    },
    /// The log is longer than 20 m.
    TooLong,
    /// A squared timber has a skew.
    SkewedTimber,
    /// Bark is thinner than nothing or thicker than 200 mm.
    Bark,
    /// A sawn face lies more than 5 m from the bed.
    FaceFar,
    /// Sawn faces leave less than 10 mm of the log here, across or up.
    SawnAway {
        /// Where along the rails.
        at: Position,
    },
}

impl core::fmt::Display for ShapeError {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::TooFewStations => f.write_str("a log needs two stations at least"),
            Self::StationsOutOfOrder { station } => {
                write!(
                    f,
                    "station {station} does not lie further along than the one before"
                )
            }
            Self::HalfDiameter { station } => {
                write!(f, "station {station} has a half-diameter outside 1 mm to 2 m")
            }
            Self::Centre { station } => {
                write!(
                    f,
                    "station {station} has its centre further than 5 m from the bed"
                )
            }
            Self::TooLong => f.write_str("the log is longer than 20 m"),
            Self::SkewedTimber => f.write_str("a squared timber has no skew"),
            Self::Bark => f.write_str("the bark is not between 0 and 200 mm thick"),
            Self::FaceFar => f.write_str("a sawn face lies further than 5 m from the bed"),
            Self::SawnAway { at } => {
                write!(
                    f,
                    "sawn faces leave less than 10 mm of the log at {at} along the rails"
                )
            }
        }
    }
}

impl core::error::Error for ShapeError {}

/// The log's shape, sampled.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Shape {
    wood: Vec<Section, SAMPLES_MAX>,
    rough: Vec<Section, SAMPLES_MAX>,
    bark: Length,
    between: Length,
    bounds: Block,
    /// What the sawn faces leave of everything.
    left: Block,
}

impl Shape {
    /// Checks a record and samples it.
    ///
    /// # Errors
    ///
    /// [`ShapeError`] names the station that cannot be used.
    pub fn new(record: &LogRecord) -> Result<Self, ShapeError> {
        let mut shape = Self::none();
        shape.sample(record)?;
        Ok(shape)
    }

    /// Of no log.
    pub(crate) const fn none() -> Self {
        Self {
            wood: Vec::new(),
            rough: Vec::new(),
            bark: Length::ZERO,
            between: Length::ZERO,
            bounds: Block::NONE,
            left: Block::ALL,
        }
    }

    /// Checks a record and samples it, in place: a shape is large.
    pub(crate) fn sample(&mut self, record: &LogRecord) -> Result<(), ShapeError> {
        check(record)?;
        self.left = left_by(&record.sawn);
        let Self {
            wood, rough, left, ..
        } = self;
        wood.clear();
        rough.clear();
        for station in &record.stations {
            // A record holds no more stations than there are samples.
            let section = |bark| Section::new(record.form, station, bark).left_by(left.across, left.height);
            let _ = wood.push(section(Length::ZERO));
            let _ = rough.push(section(record.bark));
        }
        while let Some(gap) = longest_gap(wood) {
            split(wood, gap, left);
            split(rough, gap, left);
        }
        let thin = |section: &&Section| {
            section.width().length() < LEAST_LEFT || section.height().length() < LEAST_LEFT
        };
        if *left != Block::ALL
            && let Some(gone) = wood.iter().find(thin)
        {
            return Err(ShapeError::SawnAway { at: gone.travel });
        }
        self.bark = record.bark;
        self.between = between_samples(wood);
        self.bounds = around(rough);
        Ok(())
    }

    /// The sampled sections under bark, by rising travel; two at least.
    #[must_use]
    pub fn wood(&self) -> &[Section] {
        &self.wood
    }

    /// The sampled sections over bark, by rising travel.
    #[must_use]
    pub fn rough(&self) -> &[Section] {
        &self.rough
    }

    /// Thickness of the bark.
    #[must_use]
    pub const fn bark(&self) -> Length {
        self.bark
    }

    /// How much further a chord may reach between two samples than at either of them; see `bulge.rs`.
    ///
    /// It holds at every height, and every place across, where the chord at both samples is at least a quarter as
    /// long as the one through the centre; shorter ones lie within a sixtieth of the thickness from the outermost point.
    #[must_use]
    pub const fn between(&self) -> Length {
        self.between
    }

    /// From one end of the log to the other.
    #[must_use]
    pub fn travel(&self) -> Interval {
        match (self.wood.first(), self.wood.last()) {
            (Some(first), Some(last)) => Interval::new(first.travel, last.travel),
            _ => Interval::new(Position::ZERO, Position::ZERO),
        }
    }

    /// The box that holds the whole log, bark included.
    #[must_use]
    pub const fn bounds(&self) -> Block {
        self.bounds
    }

    /// What the faces that were sawn before leave of everything.
    #[must_use]
    pub const fn left(&self) -> Block {
        self.left
    }

    /// Whether any were.
    #[must_use]
    pub fn is_sawn(&self) -> bool {
        self.left != Block::ALL
    }

    /// The section under bark at a place, or at the nearer end for a place off the log.
    #[must_use]
    pub fn wood_at(&self, travel: Position) -> Option<Section> {
        at(&self.wood, travel, &self.left)
    }

    /// The section over bark at a place, or at the nearer end for a place off the log.
    #[must_use]
    pub fn rough_at(&self, travel: Position) -> Option<Section> {
        at(&self.rough, travel, &self.left)
    }

    /// The lowest places at a place along the log, over bark and under it: the same of a face. None off its ends.
    #[must_use]
    pub fn undersides(&self, travel: Position) -> Option<(Position, Position)> {
        if !self.travel().contains(travel) {
            return None;
        }
        if self.is_sawn() {
            let lowest = |section: Option<Section>| section.map(|section| section.height().lo);
            return lowest(self.rough_at(travel)).zip(lowest(self.wood_at(travel)));
        }
        let after = self.wood.partition_point(|section| section.travel < travel);
        let there = self.wood.get(after)?;
        let wood = match after.checked_sub(1).and_then(|before| self.wood.get(before)) {
            Some(before) if there.travel != travel => before.underside_towards(there, travel),
            _ => there.height().lo,
        };
        // Both are rounded alike: bark adds the same to every sample.
        Some((wood - self.bark, wood))
    }

    /// Calls `visit` with the sections of a stretch of the log: at its two ends and at every sample between
    /// them. Stops early, and says so, as soon as `visit` answers `true`. A stretch off the log visits nothing.
    pub fn any_within(&self, travel: Interval, bark: bool, visit: impl FnMut(&Section) -> bool) -> bool {
        self.within(travel, bark).sections().any(visit)
    }

    /// The sections of a stretch of the log: at its two ends and at every sample between them; none off the log.
    pub(crate) fn within(&self, travel: Interval, bark: bool) -> Within<'_> {
        let sections = if bark { &self.rough } else { &self.wood };
        let held = travel.meet(self.travel());
        if held.is_empty() {
            return Within {
                first: None,
                samples: &[],
                last: None,
            };
        }
        let from = sections.partition_point(|section| section.travel < held.lo);
        let to = sections.partition_point(|section| section.travel <= held.hi);
        let samples = sections.get(from..to).unwrap_or(&[]);
        let sampled = |end: Option<&Section>, place| end.is_some_and(|section| section.travel == place);
        Within {
            first: if sampled(samples.first(), held.lo) {
                None
            } else {
                at(sections, held.lo, &self.left)
            },
            samples,
            last: if sampled(samples.last(), held.hi) {
                None
            } else {
                at(sections, held.hi, &self.left)
            },
        }
    }
}

/// Some sections of a log, by rising travel.
pub(crate) struct Within<'a> {
    /// Where the stretch begins between two samples.
    first: Option<Section>,
    samples: &'a [Section],
    /// Where it ends between two samples.
    last: Option<Section>,
}

impl Within<'_> {
    pub(crate) fn sections(&self) -> impl Iterator<Item = &Section> {
        self.first.iter().chain(self.samples).chain(&self.last)
    }
}

/// The box around all sections.
fn around(sections: &[Section]) -> Block {
    let none = Interval::new(Position::MAX, Position::MIN);
    let travel = match (sections.first(), sections.last()) {
        (Some(first), Some(last)) => Interval::new(first.travel, last.travel),
        _ => none,
    };
    sections.iter().fold(
        Block {
            travel,
            across: none,
            height: none,
        },
        |around, section| Block {
            travel,
            across: around.across.join(section.width()),
            height: around.height.join(section.height()),
        },
    )
}

fn check(record: &LogRecord) -> Result<(), ShapeError> {
    let (Some(first), Some(last)) = (record.stations.first(), record.stations.last()) else {
        return Err(ShapeError::TooFewStations);
    };
    if record.stations.len() < 2 {
        return Err(ShapeError::TooFewStations);
    }
    if last.travel - first.travel > LOG_LENGTH_MAX {
        return Err(ShapeError::TooLong);
    }
    let sawn = &record.sawn;
    let faces = [sawn.entry, sawn.exit, sawn.bottom, sawn.top];
    let far = |face: &Position| face.from_origin().abs() > CENTRE_MAX;
    if faces.iter().flatten().any(far) {
        return Err(ShapeError::FaceFar);
    }
    if record.bark < Length::ZERO || record.bark > Length::mm(200) {
        return Err(ShapeError::Bark);
    }
    let size = Length::mm(1)..=HALF_DIAMETER_MAX;
    let mut before = None;
    for (station, told) in record.stations.iter().enumerate() {
        if before.is_some_and(|before| before >= told.travel) {
            return Err(ShapeError::StationsOutOfOrder { station });
        }
        before = Some(told.travel);
        if record.form == Form::Square && told.skew != Length::ZERO {
            return Err(ShapeError::SkewedTimber);
        }
        let skew = told.skew.abs() <= HALF_DIAMETER_MAX;
        if !size.contains(&told.half_width) || !size.contains(&told.half_height) || !skew {
            return Err(ShapeError::HalfDiameter { station });
        }
        let away = [told.centre_across, told.centre_height].map(|place| place.from_origin().abs());
        if away.iter().any(|away| *away > CENTRE_MAX) {
            return Err(ShapeError::Centre { station });
        }
    }
    Ok(())
}

/// Less than this is not left of a log by its faces, across or up.
const LEAST_LEFT: Length = Length::mm(10);

/// What faces leave of everything.
#[must_use]
pub fn left_by(sawn: &Sawn) -> Block {
    let between = |lo: Option<Position>, hi: Option<Position>| {
        Interval::new(lo.unwrap_or(Position::MIN), hi.unwrap_or(Position::MAX))
    };
    Block {
        travel: Interval::ALL,
        across: between(sawn.entry, sawn.exit),
        height: between(sawn.bottom, sawn.top),
    }
}

/// The first of the longest gaps between sections, while there is room for one more and it is worth splitting.
fn longest_gap(sections: &Vec<Section, SAMPLES_MAX>) -> Option<usize> {
    if sections.is_full() {
        return None;
    }
    let mut longest: Option<(usize, Length)> = None;
    for (gap, pair) in sections.windows(2).enumerate() {
        if let [a, b] = pair {
            let length = b.travel - a.travel;
            if length > Length::mm(1) && longest.is_none_or(|(_, best)| length > best) {
                longest = Some((gap, length));
            }
        }
    }
    longest.map(|(gap, _)| gap)
}

fn split(sections: &mut Vec<Section, SAMPLES_MAX>, gap: usize, left: &Block) {
    let (Some(a), Some(b)) = (sections.get(gap), sections.get(gap + 1)) else {
        return;
    };
    let middle = a.towards(b, a.travel + (b.travel - a.travel).half_floor());
    let middle = middle.left_by(left.across, left.height);
    // `longest_gap` has seen that there is room.
    let _ = sections.insert(gap + 1, middle);
}

fn at(sections: &[Section], travel: Position, left: &Block) -> Option<Section> {
    let after = sections.iter().position(|section| section.travel >= travel);
    match after {
        None => sections.last().copied(),
        Some(0) => sections.first().copied(),
        Some(after) => {
            let (a, b) = (sections.get(after - 1)?, sections.get(after)?);
            Some(if b.travel == travel {
                *b
            } else {
                a.towards(b, travel).left_by(left.across, left.height)
            })
        }
    }
}

fn between_samples(sections: &[Section]) -> Length {
    let pairs = sections.windows(2);
    pairs.fold(Length::ZERO, |worst, pair| match pair {
        [a, b] => worst.max(bulge(a, b)),
        _ => worst,
    })
}
