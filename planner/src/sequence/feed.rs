//! How deep and how fast a pass may go, and what keeps it from more.

use bunkside_protocol::{Angle, Drive, Feed, Length, Speed, Stroke};

use crate::physics::force::{Demand, demand, pass_force, push_of, with_shock};
use crate::replay::Setup;

/// Feeds are told in steps of this many micrometres a second, so that few different ones occur in a job.
const STEP: u32 = 5_000;

/// What one pass bites.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Bite {
    /// Climb or forward.
    pub feed: Feed,
    /// Fresh wood, from the rim.
    pub depth: Length,
}

/// What keeps a pass from being fed faster.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Limit {
    /// The mill's fastest feed in wood.
    Fastest,
    /// The power that reaches the rim.
    Power,
    /// What the drive holds of the pull of a climb cut.
    Pull,
    /// The hardest push of a hand carriage.
    Push,
    /// The most that a tooth may bite.
    Tooth,
    /// The most that a gullet may carry.
    Gullet,
    /// The log's hold against rolling.
    Roll,
    /// Its hold against sliding.
    Slip,
    /// Its weight against being lifted.
    Lift,
    /// How far it may sag under a blade that presses it down.
    Sag,
}

/// A feed, and what keeps it from being faster.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Fed {
    /// The feed.
    pub speed: Speed,
    /// What the next step up would break.
    pub limit: Limit,
}

/// What keeps a pass from biting deeper.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DepthLimit {
    /// The mill's table of bites.
    Table,
    /// The riving knife, which leads this stroke.
    Knife,
    /// Even the slowest feed would break this.
    Feed(Limit),
}

/// How deep a pass may bite, and what keeps it from more.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Deepest {
    /// The deepest bite.
    pub depth: Length,
    /// What a deeper one would break.
    pub limit: DepthLimit,
}

/// Whether a pass may be fed so fast: what it breaks first where it may not.
///
/// # Errors
///
/// The [`Limit`] that it breaks. One that breaks at a feed breaks at every faster one, and at every deeper bite.
pub fn fits(setup: &Setup<'_>, bite: &Bite, speed: Speed) -> Result<(), Limit> {
    let (mill, log) = (setup.mill, setup.log);
    let (asked, most) = (demand(mill, log, bite.depth, speed), Demand::most(mill));
    if speed > mill.power.feed_max {
        Err(Limit::Fastest)
    } else if asked.power > most.power {
        Err(Limit::Power)
    } else if asked.tooth > most.tooth {
        Err(Limit::Tooth)
    } else if asked.gullet > most.gullet {
        Err(Limit::Gullet)
    } else if pulls_away(setup, bite, speed) {
        Err(Limit::Pull)
    } else if pushed_too_hard(setup, bite, speed) {
        Err(Limit::Push)
    } else {
        Ok(())
    }
}

/// Whether a climbing pass pulls harder than the drive holds.
fn pulls_away(setup: &Setup<'_>, bite: &Bite, speed: Speed) -> bool {
    match (setup.mill.drive, bite.feed) {
        (Drive::Powered { holding_force }, Feed::Climb) => {
            let force = pass_force(setup.mill, setup.log, bite.depth, speed, Feed::Climb);
            with_shock(force.along, setup.mill) > f64::from(holding_force)
        }
        (Drive::Powered { .. } | Drive::Hand { .. }, _) => false,
    }
}

/// Whether a pass holds a hand carriage back by more than its hardest push.
fn pushed_too_hard(setup: &Setup<'_>, bite: &Bite, speed: Speed) -> bool {
    match setup.mill.drive {
        Drive::Hand { push } => {
            push_of(setup.mill, setup.log, bite.depth, speed, bite.feed) > f64::from(push)
        }
        Drive::Powered { .. } => false,
    }
}

/// The fastest feed, in whole steps or the slowest there is, at which a pass fits, and what keeps it from more.
///
/// # Errors
///
/// What even the slowest feed breaks.
pub fn fastest(setup: &Setup<'_>, bite: &Bite) -> Result<Fed, Limit> {
    fastest_that(setup, bite, |_| Ok(()))
}

/// The same, where the pass has to keep something else as well, that breaks at every feed faster than one at which it
/// breaks.
pub(super) fn fastest_that(
    setup: &Setup<'_>,
    bite: &Bite,
    keeps: impl Fn(Speed) -> Result<(), Limit>,
) -> Result<Fed, Limit> {
    let fits = |speed| fits(setup, bite, speed).and_then(|()| keeps(speed));
    let slowest = slowest(setup);
    fits(slowest)?;
    let at = |steps: u32| Speed::um_per_s(steps.saturating_mul(STEP));
    let mut fed = Fed {
        speed: slowest,
        limit: Limit::Fastest,
    };
    let mut fitting = slowest.as_um_per_s() / STEP;
    let mut beyond = (setup.mill.power.feed_max.as_um_per_s() / STEP).saturating_add(1);
    while beyond.saturating_sub(fitting) > 1 {
        let middle = fitting + (beyond - fitting) / 2;
        match fits(at(middle)) {
            Ok(()) => (fitting, fed.speed) = (middle, at(middle)),
            Err(limit) => (beyond, fed.limit) = (middle, limit),
        }
    }
    Ok(fed)
}

/// The deepest bite of a pass: the mill's table, the knife's outline where it leads, and what the slowest feed carries.
#[must_use]
pub fn deepest(setup: &Setup<'_>, angle: Angle, stroke: Stroke, knife: bool) -> Deepest {
    let mill = setup.mill;
    let feed = mill.feed(angle, stroke);
    let mut deepest = Deepest {
        depth: mill.reach.bite(angle, feed, knife, setup.log.timber),
        limit: DepthLimit::Table,
    };
    if let (Some(outline), true) = (mill.knife, knife)
        && outline.leads(stroke)
    {
        let [flat, upright] = outline.homebound_limit;
        let outline = if angle == Angle::Flat { flat } else { upright };
        if outline < deepest.depth {
            (deepest.depth, deepest.limit) = (outline, DepthLimit::Knife);
        }
    }
    let slowest = slowest(setup);
    let fits = |depth| fits(setup, &Bite { feed, depth }, slowest);
    if let Err(limit) = fits(deepest.depth) {
        deepest.limit = DepthLimit::Feed(limit);
        let (mut fitting, mut beyond) = (Length::ZERO, deepest.depth);
        while beyond - fitting > Length::um(500) {
            let middle = fitting + (beyond - fitting).half_floor();
            match fits(middle) {
                Ok(()) => fitting = middle,
                Err(limit) => (beyond, deepest.limit) = (middle, DepthLimit::Feed(limit)),
            }
        }
        deepest.depth = fitting;
    }
    deepest
}

/// The slowest feed at which teeth cut: the mill's, or the one that gives them their least bite where that is faster.
pub(super) fn slowest(setup: &Setup<'_>) -> Speed {
    let (blade, power) = (&setup.mill.blade, &setup.mill.power);
    // Teeth that pass in a second: rim speed × teeth ÷ (2·π·radius), π a little below 355/113.
    let passing = i64::from(blade.rim_speed.as_um_per_s())
        .saturating_mul(i64::from(blade.teeth))
        .saturating_mul(113)
        / blade.radius.wide().saturating_mul(2 * 355).max(1);
    let rubbing = power
        .bite_min
        .wide()
        .max(0)
        .saturating_mul(passing.max(0).saturating_add(1));
    let rubbing = Speed::um_per_s(u32::try_from(rubbing).unwrap_or(u32::MAX));
    power.feed_min.max(rubbing).min(power.feed_max)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{hand_mill, powered_mill, round_log};
    use bunkside_protocol::{LogRecord, MillRecord};

    /// On the usual powered mill the rim turns at 60 m/s on a radius of 280 mm with 6 teeth, so that 204.628 teeth pass
    /// in a second; 15 300 W reach the rim, its kerf is 5.5 mm and its gullets have 600 mm².
    fn fed(feed: Feed, depth: i32, spoil: impl Fn(&mut MillRecord, &mut LogRecord)) -> Result<Fed, Limit> {
        let (mut mill, mut log) = (powered_mill(), round_log(300, 3_600));
        spoil(&mut mill, &mut log);
        let setup = Setup::new(&mill, &log).unwrap();
        let depth = Length::mm(depth);
        fastest(&setup, &Bite { feed, depth })
    }

    const fn at(speed: u32, limit: Limit) -> Result<Fed, Limit> {
        Ok(Fed {
            speed: Speed::mm_per_s(speed),
            limit,
        })
    }

    #[test]
    fn nothing_but_the_mill_holds_back_a_light_pass() {
        assert_eq!(fed(Feed::Forward, 60, |_, _| ()), at(500, Limit::Fastest));
    }

    /// 15 300 W ÷ (5.5 mm × 150 mm × 60 N/mm²) = 309.1 mm/s; twice as deep, half as fast.
    #[test]
    fn the_engine_holds_back_a_deep_pass() {
        let hard = |_: &mut MillRecord, log: &mut LogRecord| log.cutting_energy = 60;
        assert_eq!(fed(Feed::Forward, 150, hard), at(305, Limit::Power));
        assert_eq!(fed(Feed::Forward, 75, hard), at(500, Limit::Fastest));
    }

    /// 2 mm × 204.628 a second = 409.3 mm/s, however deep.
    #[test]
    fn the_teeth_hold_back_every_pass() {
        let teeth = |mill: &mut MillRecord, _: &mut LogRecord| mill.power.bite_max = Length::mm(2);
        assert_eq!(fed(Feed::Climb, 40, teeth), at(405, Limit::Tooth));
        assert_eq!(fed(Feed::Forward, 80, teeth), at(405, Limit::Tooth));
    }

    /// 0.3 × 600 mm² ÷ 120 mm = 1.5 mm a tooth, 306.9 mm/s.
    #[test]
    fn the_gullets_hold_back_a_deep_pass() {
        let gullets = |mill: &mut MillRecord, _: &mut LogRecord| mill.power.gullet_fill = 300;
        assert_eq!(fed(Feed::Forward, 120, gullets), at(305, Limit::Gullet));
    }

    /// Climbing at 100 mm deep: 25 N/mm² × 5.5 mm × 100 mm × v ÷ 60 m/s × (1 − 100/560) × 1.5 = 282.4 N·s/m × v.
    #[test]
    fn the_drive_holds_back_a_climbing_pass_only() {
        let weak =
            |mill: &mut MillRecord, _: &mut LogRecord| mill.drive = Drive::Powered { holding_force: 100 };
        assert_eq!(fed(Feed::Climb, 100, weak), at(350, Limit::Pull));
        assert_eq!(fed(Feed::Forward, 100, weak), at(500, Limit::Fastest));
    }

    /// The slowest feed, 50 mm/s, takes 60 N/mm² × 5.5 mm × 50 mm/s = 16 500 W a metre of depth.
    #[test]
    fn what_the_slowest_feed_breaks_is_told() {
        let small = |mill: &mut MillRecord, log: &mut LogRecord| {
            log.cutting_energy = 60;
            mill.power.watts = 1_000;
        };
        assert_eq!(fed(Feed::Forward, 100, small), Err(Limit::Power));
        assert_eq!(fed(Feed::Forward, 51, small), at(50, Limit::Power));
    }

    fn deep(
        spoil: impl Fn(&mut MillRecord, &mut LogRecord),
        angle: Angle,
        stroke: Stroke,
        knife: bool,
    ) -> (Length, DepthLimit) {
        let (mut mill, mut log) = (powered_mill(), round_log(300, 3_600));
        spoil(&mut mill, &mut log);
        let setup = Setup::new(&mill, &log).unwrap();
        let found = deepest(&setup, angle, stroke, knife);
        (found.depth, found.limit)
    }

    #[test]
    fn table_and_knife_tell_how_deep_where_the_engine_carries_it() {
        let usual = |_: &mut MillRecord, _: &mut LogRecord| ();
        let (flat, home, out) = (Angle::Flat, Stroke::Homebound, Stroke::Outbound);
        assert_eq!(
            deep(usual, flat, home, false),
            (Length::mm(200), DepthLimit::Table)
        );
        assert_eq!(deep(usual, flat, home, true), (Length::mm(60), DepthLimit::Knife));
        assert_eq!(deep(usual, flat, out, true), (Length::mm(200), DepthLimit::Table));
        // Upright the knife lets as much through as the table.
        let upright = deep(usual, Angle::Upright, home, true);
        assert_eq!(upright, (Length::mm(200), DepthLimit::Table));
    }

    /// 850 W at the rim carry 51.5 mm; 0.05 of a gullet is 30 mm², at 0.2443 mm a tooth 122.8 mm deep; at 60 N/mm²
    /// and 200 mm deep the pull is 60 × 5.5 × 200 × 0.05 ÷ 60 × (1 − 200/560) × 1.5 = 53 N.
    #[test]
    fn the_slowest_feed_tells_how_deep_where_it_breaks_something() {
        let near = |(depth, limit): (Length, DepthLimit), mm: f64, wanted| {
            assert_eq!(limit, DepthLimit::Feed(wanted));
            let depth = depth.as_um() as f64 / 1e3;
            assert!(depth <= mm && depth > mm - 0.6, "{depth} {mm}");
        };
        let outbound =
            |spoil: fn(&mut MillRecord, &mut LogRecord)| deep(spoil, Angle::Flat, Stroke::Outbound, false);
        let engine = |mill: &mut MillRecord, log: &mut LogRecord| {
            (log.cutting_energy, mill.power.watts) = (60, 1_000);
        };
        near(outbound(engine), 51.515, Limit::Power);
        near(
            outbound(|mill, _| mill.power.gullet_fill = 50),
            122.777,
            Limit::Gullet,
        );
        let (depth, limit) = outbound(|mill, _| mill.power.bite_max = Length::um(240));
        assert_eq!(limit, DepthLimit::Feed(Limit::Tooth));
        assert_eq!(depth, Length::ZERO);
        let held = |mill: &mut MillRecord, log: &mut LogRecord| {
            (log.cutting_energy, mill.drive) = (60, Drive::Powered { holding_force: 40 });
        };
        let (depth, limit) = deep(held, Angle::Flat, Stroke::Homebound, false);
        assert_eq!(limit, DepthLimit::Feed(Limit::Pull));
        assert!(depth < Length::mm(200) && depth > Length::mm(100), "{depth}");
    }

    /// 128 mm are halved eight times: of 51.8 mm that 855 W carry, whole half millimetres count.
    #[test]
    fn depth_is_found_by_halves_to_half_a_millimetre() {
        let (depth, _) = deep(
            |mill, log| {
                (log.cutting_energy, mill.power.watts) = (60, 1_006);
                mill.reach.bite[0] = [[[Length::mm(128); 3]; 2]; 2];
            },
            Angle::Flat,
            Stroke::Outbound,
            false,
        );
        assert_eq!(depth, Length::um(51_500));
    }

    /// 0.4 mm × 204.628 a second = 81.9 mm/s at least, and 60 N/mm² × 5.5 mm × 150 mm × 85 mm/s are more than 4 200 W.
    #[test]
    fn no_feed_is_slower_than_the_slowest() {
        let found = fed(Feed::Forward, 150, |mill, log| {
            (log.cutting_energy, mill.power.watts) = (60, 4_850);
            mill.power.bite_min = Length::um(400);
        });
        let Fed { speed, limit } = found.unwrap();
        assert_eq!(limit, Limit::Power);
        assert!((81_851..82_400).contains(&speed.as_um_per_s()), "{speed}");
    }

    /// 0.4 mm × 204.628 a second = 81.9 mm/s: no pass is planned so deep that its teeth would have to rub.
    #[test]
    fn the_slowest_feed_is_one_at_which_teeth_cut() {
        let mut mill = powered_mill();
        mill.power.bite_min = Length::um(400);
        let log = round_log(300, 3_600);
        let setup = Setup::new(&mill, &log).unwrap();
        let slowest = slowest(&setup).as_um_per_s();
        assert!((81_851..82_400).contains(&slowest), "{slowest}");
        assert!(crate::physics::force::tooth_bite(&mill.blade, Speed::um_per_s(slowest)) >= 0.4);
    }

    /// 282.4 N·s/m as above, in forward feed: 125 N at 0.4426 m/s.
    #[test]
    fn the_arms_hold_back_a_pass_on_a_hand_carriage() {
        let weak =
            |push: u32| move |mill: &mut MillRecord, _: &mut LogRecord| mill.drive = Drive::Hand { push };
        assert_eq!(fed(Feed::Forward, 100, weak(125)), at(440, Limit::Push));
        assert_eq!(fed(Feed::Forward, 100, weak(250)), at(500, Limit::Fastest));
        // At 50 mm/s 14.1 N.
        assert_eq!(fed(Feed::Forward, 100, weak(14)), Err(Limit::Push));
        let outbound = |push| deep(weak(push), Angle::Flat, Stroke::Outbound, false);
        let (depth, limit) = outbound(14);
        assert_eq!(limit, DepthLimit::Feed(Limit::Push));
        assert!(depth < Length::mm(100) && depth > Length::mm(98), "{depth}");
        assert_eq!(outbound(250), (Length::mm(200), DepthLimit::Table));
    }

    /// On a hand carriage nobody asks for a pull: it never climbs.
    #[test]
    fn a_hand_carriage_is_fed_by_engine_teeth_and_gullets() {
        let (mill, log) = (hand_mill(), round_log(300, 3_600));
        let setup = Setup::new(&mill, &log).unwrap();
        let bite = Bite {
            feed: Feed::Forward,
            depth: Length::mm(100),
        };
        assert_eq!(fastest(&setup, &bite), at(500, Limit::Fastest));
    }
}
