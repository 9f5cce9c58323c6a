//! Feeds at which the log stays where it lies.

use bunkside_protocol::{Angle, Feed, Position, Speed, Stroke};

use super::error::Shortfall;
use super::feed::{Bite, DepthLimit, Fed, Limit, fastest, fastest_that, slowest};
use super::{Done, PlanErrorKind, Sequencer};
use crate::geometry::Interval;
use crate::machine::{Pose, kerf_box};
use crate::physics::margins::{Margins, calm_lift, demanded, thousandths};
use crate::physics::sag::sags_too_far;
use crate::physics::strain::{Pass, at_rest};
use crate::replay::{CutFacts, Replay, Setup, Step};
use crate::stock::{Pick, Stock};

/// A hair more than the rules demand: numbers that are kept from cut to cut are rounded.
const HAIR: f64 = 1.0 + 1e-9;

/// Whether margins satisfy the profile's factors: what they break first where they do not.
///
/// # Errors
///
/// [`Limit::Roll`], [`Limit::Slip`] or [`Limit::Lift`].
pub fn holds(setup: &Setup<'_>, margins: &Margins) -> Result<(), Limit> {
    let factors = &setup.mill.factors;
    if margins.roll() < with_a_hair(factors.roll) {
        Err(Limit::Roll)
    } else if margins.slip < with_a_hair(factors.slip) {
        Err(Limit::Slip)
    } else if margins.lift < with_a_hair(factors.lift) {
        Err(Limit::Lift)
    } else {
        Ok(())
    }
}

#[expect(clippy::float_arithmetic, reason = "raises a limit by a hair")]
fn with_a_hair(factor: u16) -> f64 {
    demanded(factor) * HAIR
}

/// The fastest feed of a pass that also leaves the log where it lies; see [`fastest`]. Where there is one, it is a feed at
/// which nothing chatters.
///
/// # Errors
///
/// What even the slowest feed breaks.
pub fn fastest_steady(setup: &Setup<'_>, bite: &Bite, pass: &Pass) -> Result<Fed, Limit> {
    let steady = |speed: Speed| holds(setup, &pass.along(setup, speed));
    let calm = |speed: Speed| {
        let margins = pass.along(setup, speed);
        if margins.lift < with_a_hair(calm_lift(setup.mill)) {
            return Err(Limit::Lift);
        }
        holds(setup, &margins)
    };
    let fed = fastest(setup, bite)?;
    match calm(fed.speed) {
        Ok(()) => Ok(fed),
        Err(_) => fastest_that(setup, bite, calm).or_else(|_| fastest_that(setup, bite, steady)),
    }
}

/// The feed of a stroke through the whole log with the corner where a pose has it; none where it meets no wood.
///
/// # Errors
///
/// What even the slowest feed breaks.
#[must_use]
pub fn feed_of(
    setup: &Setup<'_>,
    replay: &Replay<'_>,
    pose: &Pose,
    stroke: Stroke,
) -> Option<Result<Fed, PlanErrorKind>> {
    let stock = replay.stock();
    let kerf = kerf_box(setup.mill, pose, Interval::ALL);
    let met = stock.met(&setup.shape, kerf, Pick::Body)?;
    let bite = Bite {
        feed: setup.mill.feed(pose.angle, stroke),
        depth: CutFacts::depth(pose.angle, pose, &met) + setup.shape.between(),
    };
    let body = replay.body();
    let pass = Pass::engaged(setup, stock, &body, pose, stroke, kerf, met.travel);
    let fed = fastest_steady(setup, &bite, &pass).and_then(|fed| borne(setup, stock, pose.angle, &bite, fed));
    Some(fed.map_err(|limit| would(setup, limit, &pass.along(setup, slowest(setup)))))
}

/// The same feed, or the fastest one at which what stands does not sag too far: only upright, climbing, does a pass press it
/// down.
fn borne(setup: &Setup<'_>, stock: &Stock, angle: Angle, bite: &Bite, fed: Fed) -> Result<Fed, Limit> {
    let bears = |speed: Speed| match sags_too_far(setup, stock, angle, bite.feed, (bite.depth, speed)) {
        Some(_) => Err(Limit::Sag),
        None => Ok(()),
    };
    if angle == Angle::Upright && bite.feed == Feed::Climb && bears(fed.speed).is_err() {
        fastest_that(setup, bite, bears)
    } else {
        Ok(fed)
    }
}

impl Limit {
    /// Whether it is the log that would move.
    #[must_use]
    pub const fn is_of_the_log(self) -> bool {
        matches!(self, Self::Roll | Self::Slip | Self::Lift | Self::Sag)
    }
}

impl Sequencer<'_, '_> {
    fn fed(&self, pose: &Pose, stroke: Stroke) -> Option<Result<Fed, PlanErrorKind>> {
        feed_of(self.setup, &self.replay, pose, stroke)
    }

    /// On which stroke a pass is cut, and how fast: on the usual one, unless the log would hold it back or even move, and
    /// the other one is much faster. In air it runs as fast as in any wood.
    pub(super) fn chosen(
        &self,
        pose: &Pose,
        usual: Stroke,
        may_turn: bool,
    ) -> Result<(Stroke, Speed), PlanErrorKind> {
        let Some(fed) = self.fed(pose, usual) else {
            return Ok((usual, self.setup.mill.power.feed_max));
        };
        let held_back = match fed {
            Ok(fed) => fed.limit.is_of_the_log(),
            Err(kind) => kind.is_of_the_log(),
        };
        if may_turn
            && held_back
            && let Some(Ok(other)) = self.fed(pose, usual.back())
            && !fed.is_ok_and(|fed| other.speed <= half_again(fed.speed))
        {
            return Ok((usual.back(), other.speed));
        }
        fed.map(|fed| (usual, fed.speed))
    }

    /// Whether an upright kerf is better climbed than fed forward: the log would lift, slide or roll at a feed at which
    /// climbing does not move it.
    pub(super) fn is_light(&self, across: Position, floor: Position) -> bool {
        let pose = Pose {
            across,
            height: floor,
            angle: Angle::Upright,
            ..self.pose()
        };
        let forward = self.setup.mill.stroke(Angle::Upright, Feed::Forward);
        matches!(self.chosen(&pose, forward, true), Ok((stroke, _)) if stroke != forward)
    }

    /// Whether what is left lies still once a column has been taken.
    pub(super) fn rests_without(&mut self, across: Position, floor: Position) -> Result<bool, PlanErrorKind> {
        let kerfs = Angle::ALL.map(|angle| {
            let pose = Pose {
                across,
                height: floor,
                angle,
                ..self.pose()
            };
            kerf_box(self.setup.mill, &pose, Interval::ALL)
        });
        let rest = self
            .replay
            .would_leave(&kerfs)
            .map_err(PlanErrorKind::NotJudged)?;
        Ok(holds(self.setup, &at_rest(self.setup, &rest, [0.0; 2])).is_ok())
    }

    /// Refuses a cut whose rest does not lie still.
    pub(super) fn lies_still(&self, step: &Step) -> Done {
        let Some(strain) = step.strain else { return Ok(()) };
        holds(self.setup, &strain.rest).map_err(|limit| would(self.setup, limit, &strain.rest))
    }
}

fn half_again(speed: Speed) -> Speed {
    let um = speed.as_um_per_s();
    Speed::um_per_s(um.saturating_add(um / 2))
}

/// What stands in the way where a pass breaks a limit; the margins are its own.
fn would(setup: &Setup<'_>, limit: Limit, margins: &Margins) -> PlanErrorKind {
    let factors = &setup.mill.factors;
    let short = |margin: f64, demanded: u16| Shortfall {
        margin: thousandths(margin),
        demanded,
    };
    match limit {
        Limit::Roll if margins.upright() >= with_a_hair(factors.roll) => {
            PlanErrorKind::TooSlender(short(margins.stand, factors.roll))
        }
        Limit::Roll => PlanErrorKind::WouldRoll(short(margins.upright(), factors.roll)),
        Limit::Slip => PlanErrorKind::WouldSlip(short(margins.slip, factors.slip)),
        Limit::Lift => PlanErrorKind::WouldLift(short(margins.lift, factors.lift)),
        Limit::Sag => PlanErrorKind::Sags,
        Limit::Fastest | Limit::Power | Limit::Pull | Limit::Push | Limit::Tooth | Limit::Gullet => {
            PlanErrorKind::NoPass(DepthLimit::Feed(limit))
        }
    }
}

#[cfg(test)]
mod tests;
