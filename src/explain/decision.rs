//! What decides a cut's stroke and its feed, in a word.

use bunkside_protocol::{Move, Speed};

use super::alternative::Alternative;
use super::course::Course;
use super::stroke::{faster, other_stroke};
use super::trial::Outcome;
use crate::measure::System;

/// What speaks against another stroke, or against a faster feed.
#[derive(Clone, Debug, PartialEq)]
pub enum Decided {
    /// A rule refuses it.
    Refused(&'static str),
    /// A rule warns of it.
    Warned(&'static str),
    /// Other pieces would come off.
    Pieces,
    /// It takes longer, by so many seconds.
    Longer(f64),
    /// Nothing: it takes no longer, and is shorter by so many seconds.
    Nothing(f64),
    /// The mill cannot do it.
    Mill,
}

/// What decides a cut's stroke and its feed.
#[derive(Clone, Debug, PartialEq)]
pub struct Decision {
    /// The move.
    pub at: usize,
    /// What speaks against the other stroke.
    pub stroke: Decided,
    /// What speaks against a faster feed.
    pub feed: Decided,
}

/// What decides stroke and feed of every cut that meets wood.
#[must_use]
pub fn decisions(course: &Course<'_>) -> Vec<Decision> {
    let cuts = course.moves.iter().enumerate();
    let cuts = cuts.filter(|(_, told)| matches!(told, Move::Cut(_)));
    cuts.filter_map(|(at, _)| decision(course, at)).collect()
}

fn decision(course: &Course<'_>, at: usize) -> Option<Decision> {
    let stroke = decided(&other_stroke(course, at)?);
    let feeds = faster(course, at, System::Metric);
    Some(Decision {
        at,
        stroke,
        feed: decided(feeds.first()?),
    })
}

/// What speaks against a faster feed of a cut, and the fastest that the rules allow where that is faster than the cut; none
/// where it runs as fast as the mill feeds, or meets no wood.
#[must_use]
pub fn feed_limit(course: &Course<'_>, at: usize) -> Option<(Decided, Option<Speed>)> {
    let (_, cut) = course.cut_in_wood(at)?;
    if cut.speed >= course.setup.mill.power.feed_max {
        return None;
    }
    let feeds = faster(course, at, System::Metric);
    let allowed = feeds
        .iter()
        .find(|one| matches!(&one.outcome, Outcome::Allowed(allowed) if allowed.news().is_none()));
    Some((decided(feeds.last()?), allowed.and_then(|one| one.speed)))
}

fn decided(alternative: &Alternative) -> Decided {
    match &alternative.outcome {
        Outcome::Refused(objected) => Decided::Refused(objected.finding.rule),
        Outcome::Impossible(_) => Decided::Mill,
        Outcome::Allowed(allowed) => match allowed.news() {
            Some(warning) => Decided::Warned(warning.finding.rule),
            None if !allowed.same_pieces => Decided::Pieces,
            None if allowed.seconds > 0.5 => Decided::Longer(allowed.seconds),
            None => Decided::Nothing((-allowed.seconds).max(0.0)),
        },
    }
}

impl Decided {
    /// The word for programs.
    #[must_use]
    pub const fn word(&self) -> &'static str {
        match self {
            Self::Refused(_) => "refused",
            Self::Warned(_) => "warned",
            Self::Pieces => "other-pieces",
            Self::Longer(_) => "longer",
            Self::Nothing(_) => "nothing",
            Self::Mill => "mill",
        }
    }

    /// The rule that refuses or warns.
    #[must_use]
    pub const fn rule(&self) -> Option<&'static str> {
        match self {
            Self::Refused(rule) | Self::Warned(rule) => Some(rule),
            Self::Pieces | Self::Longer(_) | Self::Nothing(_) | Self::Mill => None,
        }
    }

    /// How much longer it would take, below zero where it would be shorter.
    #[must_use]
    pub fn seconds(&self) -> Option<f64> {
        match self {
            Self::Longer(seconds) => Some(*seconds),
            Self::Nothing(seconds) => Some(-*seconds),
            Self::Refused(_) | Self::Warned(_) | Self::Pieces | Self::Mill => None,
        }
    }
}
