//! Pith or rot along the middle of a log: where boards keep clear of it, or hold all of it.
//!
//! The core follows the log's middle and is as thick as it is told, from one place along the log to another. It counts as the
//! box around it along the stretch that a board needs, and as high as it gets anywhere: what is higher or lower than that is
//! clear of it. Beside it a board lies on the one side or on the other; one that may hold it inside lies around all of it.

use bunkside_protocol::{Length, Position};
use heapless::Vec;

use super::Um;
use super::reach::Reach;
use super::rooms::{Heights, LENGTHS_MAX, Log};
use super::row::Full;
use crate::geometry::{Interval, Section};

/// Pith or rot along the middle of a log.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Core {
    /// From where to where along the rails.
    pub travel: Interval,
    /// How thick it is at most.
    pub thick: Length,
}

/// Where a board may lie that meets the core.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Heart {
    /// Nowhere.
    #[default]
    Clear,
    /// Nowhere but all around it.
    Inside,
    /// Anywhere.
    Any,
}

impl Heart {
    /// Whether what is good for another is good for this.
    pub(super) fn bears(self, other: Self) -> bool {
        self == other || self == Self::Any || other == Self::Clear
    }
}

/// How a layer lies to the core.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Zone {
    /// Over it or under it.
    Off,
    /// Across it.
    Beside,
    /// Around it, from under its lowest place to over its highest.
    Around,
}

/// Floors from one to another, the last included, and how a layer lies there.
pub(super) type Zoned = ((usize, usize), Zone);

/// Every floor.
pub(super) const FLOORS: (usize, usize) = (0, usize::MAX);

/// Everywhere across.
pub(super) const EVERYWHERE: (Um, Um) = (Um::MIN / 4, Um::MAX / 4);

/// The core of a log, as boards meet it.
#[derive(Clone, Debug)]
pub(crate) struct Cored {
    /// The highest height under it and the lowest over it, in steps.
    pub(super) under: usize,
    pub(super) over: usize,
    /// From where to where it is across, along each length from the near end and then from the far one; none where it is not.
    across: Vec<Option<(Um, Um)>, { 2 * LENGTHS_MAX }>,
    lengths: usize,
}

impl Core {
    /// The box around it in a section, across and up.
    #[must_use]
    pub fn in_section(&self, section: &Section) -> [Interval; 2] {
        let half = self.thick.half_floor();
        [section.centre_across(), section.centre_height()]
            .map(|middle| Interval::new(middle - half, middle + half))
    }

    /// The box around it along a stretch, across and up, and what may hide between samples; none where it is not there.
    fn around(&self, log: &Log<'_>, stretch: Interval) -> Option<[Interval; 2]> {
        let along = stretch.meet(self.travel);
        if along.is_empty() {
            return None;
        }
        let hidden = Length::um(1) + log.shape.between();
        let mut around: Option<[Interval; 2]> = None;
        log.shape.any_within(along, false, |section| {
            let here = self.in_section(section).map(|side| side.grown(hidden));
            around = Some(match around {
                Some([across, height]) => [across.join(here[0]), height.join(here[1])],
                None => here,
            });
            false
        });
        around
    }

    /// As boards of these lengths meet it; none where none does.
    pub(super) fn met(
        &self,
        log: &Log<'_>,
        lengths: &[Length],
        heights: &Heights,
    ) -> Result<Option<Cored>, Full> {
        let Some([_, height]) = self.around(log, log.usable) else {
            return Ok(None);
        };
        let steps = |place: Position, up: bool| {
            let step = heights.step.wide().max(1);
            let over = (place - heights.lowest).wide();
            let steps = over.div_euclid(step) + i64::from(up && over.rem_euclid(step) > 0);
            usize::try_from(steps).unwrap_or(0)
        };
        let mut cored = Cored {
            under: steps(height.lo, false),
            over: steps(height.hi, true),
            across: Vec::new(),
            lengths: lengths.len(),
        };
        for from_far in [false, true] {
            for length in lengths {
                let stretch = if from_far {
                    Interval::new(log.usable.hi - *length, log.usable.hi)
                } else {
                    Interval::new(log.usable.lo, log.usable.lo + *length)
                };
                let around = self.around(log, stretch.meet(log.usable));
                let across = around.map(|[across, _]| (across.lo.as_um(), across.hi.as_um()));
                cored.across.push(across).map_err(|_| Full)?;
            }
        }
        Ok(Some(cored))
    }
}

impl Cored {
    /// Where it is across along a stretch.
    pub(super) fn across(&self, reach: &Reach) -> Option<(Um, Um)> {
        let at = usize::from(reach.length) + if reach.from_far { self.lengths } else { 0 };
        self.across.get(at).copied().flatten()
    }

    /// The floors of a layer by how it lies: from its floor to its undersides and to its faces are so many steps.
    pub(super) fn zones(&self, (kerf, advance): (usize, usize), relaxed: bool) -> Vec<Zoned, 5> {
        let mut zones = Vec::new();
        // There are five of them at most: there is room.
        let mut put = |from: usize, to: Option<usize>, zone| {
            if let Some(to) = to.filter(|to| *to >= from) {
                let _ = zones.push(((from, to), zone));
            }
        };
        let below = self.under.checked_sub(advance);
        // A floor lies less than a step above its own, and kerf and height are less than one more than they are told.
        let hidden = if relaxed { 2 } else { 0 };
        let above = self.over.saturating_sub(kerf + hidden);
        put(0, below, Zone::Off);
        let first = below.map_or(0, |below| below + 1);
        let last = above.checked_sub(1);
        // Undersides and faces are told to the step: one in hand.
        let spare = usize::from(!relaxed);
        let around = (self.over + spare).saturating_sub(advance + hidden).max(first);
        let until = self
            .under
            .checked_sub(kerf + spare)
            .zip(last)
            .map(|(until, last)| until.min(last));
        match until.filter(|until| *until >= around) {
            Some(until) => {
                put(first, around.checked_sub(1), Zone::Beside);
                put(around, Some(until), Zone::Around);
                put(until + 1, last, Zone::Beside);
            }
            None => put(first, last, Zone::Beside),
        }
        put(above.max(first), Some(usize::MAX), Zone::Off);
        zones
    }

    /// Between which places a board so wide may lie.
    pub(super) fn within(&self, zone: Zone, heart: Heart, reach: &Reach, width: Um) -> Vec<(Um, Um), 3> {
        let mut within = Vec::new();
        let met = self.across(reach);
        let parts: &[(Um, Um)] = match (met, zone, heart) {
            (None, _, _) | (_, Zone::Off, _) | (_, _, Heart::Any) => &[EVERYWHERE],
            (Some((lo, hi)), Zone::Around, Heart::Inside) => {
                &[(EVERYWHERE.0, lo), (hi, EVERYWHERE.1), (hi - width, lo + width)]
            }
            (Some((lo, hi)), _, _) => &[(EVERYWHERE.0, lo), (hi, EVERYWHERE.1)],
        };
        for part in parts {
            // Three at most: there is room.
            let _ = within.push(*part);
        }
        within
    }
}
