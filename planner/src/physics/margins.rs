//! How many times what drives the wood is what holds it.

use bunkside_protocol::MillRecord;

/// How far what stands at rest is taken to lean, the rise of its base over its width: 1 in 7, 8 degrees. Bunks are out of
/// level, a log is knocked as pieces are dragged off it, a carriage passes (common practice, no source). With the usual factor of
/// 1.2 on it, its balance has to stand within 10 degrees of upright over what it stands on.
pub const LEAN: f64 = 1.0 / 7.0;

/// How many times what drives the wood is what resists; infinite where nothing drives, never negative, never NaN.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Margins {
    /// Against tipping over either line of wedges.
    pub tip: f64,
    /// Against turning in the bed; infinite for a squared timber.
    pub turn: f64,
    /// Against leaning over, at rest; see [`LEAN`].
    pub stand: f64,
    /// Against sliding, sideways and lengthwise.
    pub slip: f64,
    /// Against lifting off the bunk at either end.
    pub lift: f64,
}

impl Margins {
    /// Nothing drives anything.
    pub const FREE: Self = Self {
        tip: f64::INFINITY,
        turn: f64::INFINITY,
        stand: f64::INFINITY,
        slip: f64::INFINITY,
        lift: f64::INFINITY,
    };

    /// Against rolling: the least of tipping, turning and leaning over.
    #[must_use]
    pub fn roll(&self) -> f64 {
        libm::fmin(self.upright(), self.stand)
    }

    /// The same without leaning: the lesser of tipping and turning.
    #[must_use]
    pub fn upright(&self) -> f64 {
        libm::fmin(self.tip, self.turn)
    }

    /// The least of all.
    #[must_use]
    pub fn least(&self) -> f64 {
        libm::fmin(self.roll(), libm::fmin(self.slip, self.lift))
    }

    /// The lesser of two, each margin for itself.
    #[must_use]
    pub fn worse(&self, other: &Self) -> Self {
        Self {
            tip: libm::fmin(self.tip, other.tip),
            turn: libm::fmin(self.turn, other.turn),
            stand: libm::fmin(self.stand, other.stand),
            slip: libm::fmin(self.slip, other.slip),
            lift: libm::fmin(self.lift, other.lift),
        }
    }
}

/// A factor of the profile, told in thousandths, as a number.
#[must_use]
pub fn demanded(thousandths: u16) -> f64 {
    f64::from(thousandths) * 1e-3
}

/// The margin against lifting below which light wood chatters, in thousandths: one and a half times the factor.
#[must_use]
pub fn calm_lift(mill: &MillRecord) -> u16 {
    mill.factors.lift.saturating_add(mill.factors.lift / 2)
}

/// A margin in thousandths, rounded down; the most that fits for a larger one.
#[must_use]
#[expect(clippy::as_conversions, reason = "the cast saturates")]
pub fn thousandths(margin: f64) -> u16 {
    (margin * 1e3) as u16
}

/// What resists, and what drives: not divided before it is known to be the least. Neither is negative.
#[derive(Clone, Copy, Debug)]
pub(super) struct Factor {
    resists: f64,
    drives: f64,
}

impl Factor {
    /// Nothing drives.
    pub(super) const FREE: Self = Self {
        resists: 1.0,
        drives: 0.0,
    };

    /// A driver of nothing or less drives nothing, but what does not even hold still has moved.
    pub(super) const fn new(resists: f64, drives: f64) -> Self {
        if drives > 0.0 {
            Self {
                resists: if resists > 0.0 { resists } else { 0.0 },
                drives,
            }
        } else if resists < 0.0 {
            Self {
                resists: 0.0,
                drives: 1.0,
            }
        } else {
            Self::FREE
        }
    }

    const fn is_less(&self, other: &Self) -> bool {
        self.resists * other.drives < other.resists * self.drives
    }

    /// The lesser of two.
    pub(super) const fn lesser(self, other: Self) -> Self {
        if other.is_less(&self) { other } else { self }
    }

    /// The square of two drivers at once, each with what resists it: their shares add up as the legs of a right-angled
    /// triangle do.
    pub(super) const fn with(self, other: Self) -> Self {
        let (mine, others) = (self.resists * other.drives, other.resists * self.drives);
        let resists = self.resists * other.resists;
        if mine <= 0.0 && others <= 0.0 && resists <= 0.0 {
            // Neither holds against anything.
            return Self::new(0.0, 1.0);
        }
        Self {
            resists: resists * resists,
            drives: mine * mine + others * others,
        }
    }

    pub(super) fn value(&self) -> f64 {
        if self.drives <= 0.0 {
            return f64::INFINITY;
        }
        let value = self.resists / self.drives;
        // Forces beyond all bounds on either side: nothing is known, so nothing holds.
        if value.is_nan() { 0.0 } else { value }
    }
}

/// Tipping, turning, sliding (squared) and lifting at one place.
pub(super) type Factors = [Factor; 4];

/// The least factors seen so far, and where each was seen.
#[derive(Clone, Copy, Debug)]
pub(super) struct Least<T> {
    factors: [(Factor, T); 4],
}

impl<T: Copy> Least<T> {
    pub(super) fn new(factors: Factors, place: T) -> Self {
        Self {
            factors: factors.map(|factor| (factor, place)),
        }
    }

    pub(super) fn see(&mut self, factors: Factors, place: T) {
        for (least, factor) in self.factors.iter_mut().zip(factors) {
            if factor.is_less(&least.0) {
                *least = (factor, place);
            }
        }
    }

    /// The margins, and where the least of them was seen.
    pub(super) fn margins(&self) -> (Margins, T) {
        let [tip, turn, slip, lift] = self.factors;
        let margins = Margins {
            tip: tip.0.value(),
            turn: turn.0.value(),
            stand: f64::INFINITY,
            slip: libm::sqrt(slip.0.value()),
            lift: lift.0.value(),
        };
        let mut least = (margins.tip, tip.1);
        for (value, place) in [
            (margins.turn, turn.1),
            (margins.slip, slip.1),
            (margins.lift, lift.1),
        ] {
            if value < least.0 {
                least = (value, place);
            }
        }
        (margins, least.1)
    }
}

/// What nobody asks the place of.
impl Least<()> {
    pub(super) fn of(factors: Factors) -> Margins {
        Self::new(factors, ()).margins().0
    }
}
