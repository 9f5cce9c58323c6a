//! What a rule measured, or what it would have allowed.

use bunkside_protocol::{Feed, Length, Speed, Stroke};

use crate::physics::under::Stands;
use crate::stock::NotJudged;

/// A figure or a fact in a finding.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Measure {
    /// Nothing to say.
    None,
    /// A distance.
    Length(Length),
    /// A distance, and of what: `200 mm beyond the travel axis`.
    Told(Length, &'static str),
    /// How much too near something comes to what stands under the log.
    Near(Length, Stands),
    /// A speed.
    Speed(Speed),
    /// A force, newtons.
    Force(f64),
    /// A power, watts.
    Power(f64),
    /// A mass, kilograms.
    Mass(f64),
    /// A small distance that was computed, millimetres.
    Millimetres(f64),
    /// A share of a whole.
    Share(f64),
    /// How many times what drives the wood is what holds it.
    Factor(f64),
    /// A number of things.
    Count(u32),
    /// A free piece, by its number.
    Piece(u16),
    /// A feed.
    Feed(Feed),
    /// A stroke.
    Stroke(Stroke),
    /// A state, in words.
    State(&'static str),
    /// Why the outcome is not known.
    Unknown(NotJudged),
}

impl core::fmt::Display for Measure {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::None => f.write_str("-"),
            Self::Length(length) => write!(f, "{length}"),
            Self::Told(length, what) => write!(f, "{length} {what}"),
            Self::Near(by, what) => write!(f, "{by} too near to {what}"),
            Self::Speed(speed) => write!(f, "{speed}"),
            Self::Force(newtons) => write!(f, "{newtons:.0} N"),
            Self::Power(watts) => write!(f, "{watts:.0} W"),
            Self::Mass(kg) => write!(f, "{kg:.1} kg"),
            Self::Millimetres(bite) => write!(f, "{bite:.3} mm"),
            Self::Share(share) => write!(f, "{share:.3}"),
            Self::Factor(factor) => write!(f, "{:.2}", down_to_hundredths(*factor)),
            Self::Count(count) => write!(f, "{count}"),
            Self::Piece(serial) => write!(f, "piece {serial}"),
            Self::Feed(Feed::Climb) => f.write_str("climbing"),
            Self::Feed(Feed::Forward) => f.write_str("forward feed"),
            Self::Stroke(Stroke::Outbound) => f.write_str("outbound"),
            Self::Stroke(Stroke::Homebound) => f.write_str("homebound"),
            Self::State(words) => f.write_str(words),
            Self::Unknown(reason) => write!(f, "{reason}"),
        }
    }
}

/// A factor that falls short of its limit must not look as if it met it.
#[cfg_attr(
    not(test),
    expect(clippy::float_arithmetic, reason = "rounds a figure for people")
)]
fn down_to_hundredths(factor: f64) -> f64 {
    libm::floor(factor * 100.0) / 100.0
}
