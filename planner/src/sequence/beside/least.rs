//! Where somebody cranks, ways held against all that lead from place to place, out past the log, over it, behind the corner.

use std::vec::Vec as List;

use bunkside_protocol::{Angle, LogRecord, MillRecord, Millis, Move, Stroke, Targets};

use super::*;
use crate::machine::come_back;
use crate::physics::timing::{go, spin, swing, through_air};
use crate::sequence::carriage::Start;
use crate::sequence::room;
use crate::testing::{hand_mill, powered_mill, round_log};

/// A small generator of the xorshift family.
struct Chance(u64);

impl Chance {
    fn within(&mut self, low: i32, high: i32) -> i32 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        let span = u64::from(low.abs_diff(high)) + 1;
        low + i32::try_from((self.0 >> 20) % span).unwrap()
    }
}

/// Every place at which a way may make a turn, and what it has to do.
struct Places<'a> {
    carriage: &'a Carriage<'a>,
    stands: Standing,
    to: Pose,
    across: List<Position>,
    height: List<Position>,
}

impl Places<'_> {
    /// What each single move from a pose leads to, and the seconds that it takes.
    fn follow(&self, pose: &Pose) -> List<(Pose, f64)> {
        let (setup, mill) = (self.carriage.setup, self.carriage.setup.mill);
        let mut next = List::new();
        for across in &self.across {
            for height in &self.height {
                let to = Pose {
                    across: *across,
                    height: *height,
                    spinning: pose.spinning && *height == pose.height,
                    ..*pose
                };
                // The corner is come to from the entry side.
                let from_exit = *across == self.to.across && pose.across > *across;
                if to != *pose && !from_exit && room::in_the_way(setup, pose, &to).is_none() {
                    let stopped = if to.spinning == pose.spinning {
                        0.0
                    } else {
                        spin(mill, true, false) + spin(mill, false, true)
                    };
                    next.push((to, stopped + go(mill, pose, &to)));
                }
            }
        }
        let turned = Pose {
            angle: self.to.angle,
            ..*pose
        };
        let stands = || self.stands;
        if turned != *pose && self.carriage.height_to_swing(pose, &stands) == Ok(pose.height) {
            next.push((turned, swing(mill, pose.angle, turned.angle)));
        }
        let along = Pose {
            travel: self.to.travel,
            ..*pose
        };
        if along != *pose && self.passes(pose) && room::in_the_way(setup, pose, &along).is_none() {
            next.push((along, go(mill, pose, &along)));
        }
        next
    }

    fn over(&self) -> Position {
        let (setup, grid) = (self.carriage.setup, self.carriage.setup.mill.grid);
        let margin = setup.shape.between() + Apart::body(setup.mill).height + grid;
        outward(self.stands.top.unwrap() + margin, grid, true)
    }

    fn passes(&self, pose: &Pose) -> bool {
        let past = self.carriage.past_the_log(pose);
        pose.height >= self.over() || (!self.stands.loose && past == Some(pose.across))
    }

    /// The least seconds of all ways.
    fn least(&self, from: &Pose) -> Option<f64> {
        let mut reached: List<(Pose, f64, bool)> = List::from([(*from, 0.0, false)]);
        loop {
            let open = reached.iter().enumerate().filter(|(_, (.., done))| !done);
            let (at, (pose, seconds, _)) = open.min_by(|a, b| a.1.1.total_cmp(&b.1.1))?;
            let (pose, seconds) = (*pose, *seconds);
            if (Pose {
                spinning: true,
                ..pose
            }) == self.to
            {
                return Some(seconds);
            }
            reached[at].2 = true;
            for (next, more) in self.follow(&pose) {
                match reached.iter_mut().find(|(known, ..)| *known == next) {
                    Some(known) => known.1 = known.1.min(seconds + more),
                    None => reached.push((next, seconds + more, false)),
                }
            }
        }
    }
}

fn mill(chance: &mut Chance) -> MillRecord {
    let mut mill = [powered_mill(), hand_mill()][usize::from(chance.within(0, 1) == 0)].clone();
    mill.height_setting = HeightSetting::ByHand(Millis::new(1_000 * chance.within(8, 30).unsigned_abs()));
    mill.across.min = Position::mm(chance.within(-900, -500));
    mill.across.acceleration = chance.within(200_000, 900_000).unsigned_abs();
    mill
}

/// The carriage low at one end, and where it is to begin, with what stands.
fn case(
    chance: &mut Chance,
    carriage: &Carriage<'_>,
    (mill, log): (&MillRecord, &LogRecord),
) -> (Pose, Start, Standing) {
    let angle = |chance: &mut Chance| [Angle::Flat, Angle::Upright][usize::from(chance.within(0, 1) == 0)];
    let place = |chance: &mut Chance| Position::mm(chance.within(-160, 160));
    let height = |chance: &mut Chance| Position::mm(chance.within(25, 240));
    let end = [carriage.near, carriage.far][usize::from(chance.within(0, 2) > 0)];
    let from = Pose {
        travel: end,
        across: place(chance),
        height: height(chance),
        angle: angle(chance),
        spinning: true,
        ..Pose::parked(mill)
    };
    let start = Start {
        stroke: Stroke::Outbound,
        angle: angle(chance),
        across: place(chance),
        height: [from.height, height(chance)][usize::from(chance.within(0, 2) > 0)],
    };
    let top = log.stations[0].centre_height + log.stations[0].half_height;
    let stands = Standing {
        top: Some(top - Length::mm(chance.within(0, 120))),
        loose: chance.within(0, 7) == 0,
    };
    (from, start, stands)
}

impl<'a> Places<'a> {
    /// Those of a way; none where a corner lies so little within where the blade is drawn out to that it is come to from there,
    /// though nothing goes there for that alone.
    fn new(carriage: &'a Carriage<'a>, from: &Pose, to: Pose, stands: Standing) -> Option<Self> {
        let mill = carriage.setup.mill;
        let mut places = Self {
            carriage,
            stands,
            to,
            across: List::from([from.across, to.across, to.across - come_back(mill)]),
            height: List::from([from.height, to.height]),
        };
        let past = [from.angle, to.angle].map(|angle| carriage.past_the_log(&Pose { angle, ..*from }));
        let behind = |past: &Position| *past < to.across && to.across - *past < come_back(mill);
        if past.iter().flatten().any(behind) {
            return None;
        }
        places.across.extend(past.into_iter().flatten());
        places.height.push(places.over());
        for height in places.height.clone() {
            for travel in [from.travel, to.travel] {
                let pose = Pose {
                    travel,
                    height,
                    ..*from
                };
                places.height.extend(carriage.height_to_swing(&pose, &|| stands));
            }
        }
        places.height.retain(|height| *height <= mill.height.max);
        places.across.retain(|across| *across >= mill.across.min);
        Some(places)
    }
}

/// How often something is done before the way along the rails, and how often there is no way.
#[derive(Debug, Default)]
struct Count {
    set: usize,
    swung: usize,
    over: usize,
    none: usize,
}

impl Count {
    fn note(&mut self, moves: &[Move], over: Position) {
        let go = |told: &Move| match told {
            Move::Go(targets) => *targets,
            _ => Targets::default(),
        };
        let along = moves.iter().position(|told| go(told).travel.is_some());
        let before = moves.get(..along.unwrap_or(0)).unwrap();
        let any = |test: &dyn Fn(Targets) -> bool| usize::from(before.iter().any(|told| test(go(told))));
        self.set += any(&|told| told.across.is_some() && told.height.is_some());
        self.over += any(&|told| told.height.is_some_and(|height| height >= over));
        let swings = |told: &Move| matches!(told, Move::Swing(_));
        self.swung += usize::from(before.iter().any(swings));
    }
}

/// Of all ways whose turns are at one of these places none is quicker: on to the corner or behind it, as far out as passes the
/// log at either angle, at the height of either end, over what stands, and where a swing is clear. To crank takes longer
/// than any shift.
#[test]
fn no_way_of_these_is_quicker() {
    let mut chance = Chance(0x9E37_79B9_7F4A_7C15);
    let mut count = Count::default();
    for round in 0..1_500 {
        let mill = mill(&mut chance);
        let log = round_log(300, 3_600);
        let setup = Setup::new(&mill, &log).unwrap();
        let carriage = Carriage::new(&setup).unwrap();
        let (from, start, stands) = case(&mut chance, &carriage, (&mill, &log));
        let to = Pose {
            travel: carriage.near,
            across: start.across,
            height: start.height,
            angle: start.angle,
            ..from
        };
        let Some(places) = Places::new(&carriage, &from, to, stands) else {
            continue;
        };
        let least = places.least(&from);
        let told = carriage.approach(&from, &start, || stands);
        let seconds = told.as_ref().ok().map(|moves| through_air(&mill, &from, moves));
        let about = std::format!("{round}: {from:?} {start:?} {stands:?} {told:?} {seconds:?} {least:?}");
        match (told, least) {
            (Ok(moves), Some(least)) => {
                assert!((seconds.unwrap() - least).abs() < 1e-5, "{about}");
                count.note(&moves, places.over());
            }
            (told, least) => {
                assert!(told.is_err() && least.is_none(), "{about}");
                count.none += 1;
            }
        }
    }
    assert!(
        count.set > 100 && count.swung > 20 && count.over > 50 && count.none < 150,
        "{count:?}"
    );
}
