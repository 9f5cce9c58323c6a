//! At rapid into what lies under the log: packs, wedges and dogs that have closed. The blade passes beside the log, clear of it,
//! and a hair too near to one of them; or it swings so.

use bunkside_planner::replay::Setup;
use bunkside_protocol::mill::{Box3, Turn};
use bunkside_protocol::{Angle, Length, MillRecord, Move, Position, Targets};

use super::class::{Class, Spoilt, aimed};
use super::good::{Good, across, up};
use crate::dice::Dice;

/// One micrometre, the least by which anything can be wrong.
const HAIR: Length = Length::um(1);
/// More than the replay rounds anything to.
const LITTLE: Length = Length::mm(1);

pub(crate) fn classes() -> Vec<Class> {
    vec![
        aimed("move-clear", "rapid over a pack", |good, at, _: &mut Dice| {
            over_a_pack(good, at, HAIR)
        }),
        aimed("move-clear", "rapid over a wedge", |good, at, _: &mut Dice| {
            over_a_wedge(good, at, HAIR)
        }),
        aimed(
            "move-clear",
            "rapid through a closed dog",
            |good, at, _: &mut Dice| through_a_dog(good, at, HAIR),
        ),
        aimed("swing-clear", "swing at a pack", |good, at, _: &mut Dice| {
            swing_at_a_pack(good, at, HAIR)
        }),
    ]
}

/// How far kerfs keep from what lies under the log: the clearance, or what the height may be off.
fn kept(mill: &MillRecord) -> Length {
    mill.clearances
        .bed
        .max(mill.height.tolerance)
        .max(Length::um(100))
}

/// The corner with which the upright blade passes beside the log, on the side on which its head is, and its outer face there.
fn beside(good: &Good<'_>) -> [Position; 2] {
    let (mill, log) = (good.mill(), good.setup.shape.bounds().across);
    let [_, upright] = &mill.head;
    let clear = mill.clearances.body.max(mill.across.tolerance) + LITTLE;
    if is_on_exit_side(upright) {
        [log.hi + clear + mill.blade.kerf; 2]
    } else {
        [log.lo - clear, log.lo - clear - mill.blade.kerf]
    }
}

fn is_on_exit_side(head: &[Box3]) -> bool {
    head.iter().all(|part| part.min[1] >= Position::ZERO)
}

/// All along the log and back so low, where the blade stands upright past the log's end.
fn low(good: &Good<'_>, at: usize, height: Position, mill: MillRecord) -> Option<Spoilt> {
    let (pose, log, rails) = (good.pose(at), good.setup.shape.travel(), &mill.travel);
    let far = if pose.travel <= log.lo {
        log.hi + (log.lo - pose.travel)
    } else {
        log.lo - (pose.travel - log.hi)
    };
    let past = pose.travel <= log.lo || log.hi <= pose.travel;
    if !past || pose.angle != Angle::Upright || !(rails.min..=rails.max).contains(&far) {
        return None;
    }
    let top = up(mill.height.max);
    let travel = |to| Move::Go(Targets::travel(to));
    let [corner, _] = beside(good);
    let put = [
        top,
        across(corner),
        up(height),
        travel(far),
        travel(pose.travel),
        top,
        across(pose.across),
        up(pose.height),
    ];
    Some(Spoilt {
        mill: Some(mill),
        ..good.with(at, 0, &put).into()
    })
}

/// The same mill with bunks 60 mm lower, so that the log is packed up on each, and no wedges.
fn packed(good: &Good<'_>) -> MillRecord {
    let mut mill = good.mill().clone();
    for bunk in &mut mill.bunks {
        bunk.top = bunk.top - Length::mm(60);
    }
    mill.wedges.reach = Length::ZERO;
    mill
}

/// The highest that the log's underside lies over its bunks, or a bunk's top where that is higher.
fn highest(setup: &Setup<'_>, mill: &MillRecord) -> Option<Position> {
    let feet = mill.bunks.iter().filter_map(|bunk| {
        let (rough, _) = setup.shape.undersides(bunk.travel)?;
        Some(rough.max(bunk.top))
    });
    feet.max()
}

fn over_a_pack(good: &Good<'_>, at: usize, lower: Length) -> Option<Spoilt> {
    let mill = packed(good);
    let height = highest(good.setup, &mill)? + kept(&mill) - lower;
    low(good, at, height, mill)
}

/// A wedge meets the log at its own height, and reaches out past the log's side.
fn over_a_wedge(good: &Good<'_>, at: usize, lower: Length) -> Option<Spoilt> {
    let mut mill = good.mill().clone();
    let log = good.setup.shape.bounds().across;
    mill.wedges.reach = log.hi - log.lo + Length::mm(100);
    mill.wedges.height = mill.wedges.height.max(Length::mm(20));
    let height = highest(good.setup, &mill)? + mill.wedges.height + kept(&mill) - lower;
    low(good, at, height, mill)
}

/// A dog whose box stands beyond the blade, clear of it, and that closes on the log behind the blade at the height of its axis.
fn through_a_dog(good: &Good<'_>, at: usize, lower: Length) -> Option<Spoilt> {
    let mut mill = good.mill().clone();
    let middle = good.middle();
    let section = good.setup.shape.rough_at(middle)?;
    let half = Length::mm(40);
    let top = section.height().lo + (section.height().hi - section.height().lo).half_floor();
    let clear = mill.clearances.body.max(mill.across.tolerance) + LITTLE;
    let [_, face] = beside(good);
    let [from, to] = if is_on_exit_side(&mill.head[1]) {
        [face + clear, face + clear + half]
    } else {
        [face - clear - half, face - clear]
    };
    let reaches = (from - section.width().hi).max(section.width().lo - to);
    if reaches > Length::mm(99) {
        return None;
    }
    mill.dogs
        .push(Box3 {
            min: [middle - half, from, Position::ZERO],
            max: [middle + half, to, top],
        })
        .ok()?;
    let height = top + kept(&mill) - lower;
    low(good, at, height, mill)
}

/// A bunk at the log's end that reaches out to under the blade, packed up; under the corner the blade sweeps 0.414 of its radius.
fn swing_at_a_pack(good: &Good<'_>, at: usize, lower: Length) -> Option<Spoilt> {
    let Move::Swing(angle) = good.moves[at] else {
        return None;
    };
    let (pose, log) = (good.pose(at), good.setup.shape.travel());
    if angle == pose.angle {
        return None;
    }
    let mut mill = packed(good);
    let end = if pose.travel <= log.lo { log.lo } else { log.hi };
    let bunk = mill
        .bunks
        .iter_mut()
        .min_by_key(|bunk| (bunk.travel - end).abs())?;
    bunk.travel = end;
    bunk.half_size = (pose.travel - end).abs() + Length::mm(10);
    let (rough, _) = good.setup.shape.undersides(end)?;
    let sweeps = match mill.swing.turn {
        Turn::Over => Length::ZERO,
        Turn::Under => Length::um(mill.blade.radius.wide() * 414 / 1000),
    };
    let height = rough + sweeps + kept(&mill) - lower;
    let put = [up(height), Move::Swing(angle), up(pose.height)];
    Some(Spoilt {
        mill: Some(mill),
        ..good.with(at, 1, &put).into()
    })
}

mod tests {
    use bunkside_planner::audit::audit;
    use bunkside_planner::physics::under::Stands;
    use bunkside_planner::rules::Measure;

    use super::*;
    use crate::attack::good::each_example;

    type Make = fn(&Good<'_>, usize, Length) -> Option<Spoilt>;
    type Is = fn(Stands) -> bool;

    /// What the moves put in from one on are told to come too near to, by a rule, and by how much.
    fn near(good: &Good<'_>, spoilt: &Spoilt, (at, rule): (usize, &str)) -> Vec<(Length, Stands)> {
        let log = spoilt.log.as_ref().unwrap_or(&good.world.log);
        let setup = Setup::new(spoilt.mill.as_ref().unwrap(), log).unwrap();
        let mut found = Vec::new();
        audit(
            &setup,
            spoilt.moves.iter().copied(),
            &mut |_, _, _| {},
            &mut |finding| {
                if let Measure::Near(by, what) = finding.objection.measured
                    && finding.rule == rule
                    && (at..at + 8).contains(&usize::from(finding.index))
                {
                    found.push((by, what));
                }
            },
        );
        found
    }

    /// It is what lies under the log that is in the way, and nothing else that the rule holds: by a hair, and a hair higher by
    /// nothing. What lies between steps of a swing is a few millimetres.
    #[test]
    fn it_is_what_lies_under_the_log() {
        let is_pack = |what: Stands| matches!(what, Stands::Pack(_));
        let is_wedge = |what: Stands| matches!(what, Stands::Wedge(_));
        let is_dog = |what: Stands| matches!(what, Stands::Dog(_));
        let kinds: [(&str, Make, Is); 4] = [
            ("move-clear", over_a_pack, is_pack),
            ("move-clear", over_a_wedge, is_wedge),
            ("move-clear", through_a_dog, is_dog),
            ("swing-clear", swing_at_a_pack, is_pack),
        ];
        let mut tried = [0; 4];
        each_example(|good, _| {
            for (number, (rule, make, is_it)) in kinds.into_iter().enumerate() {
                let swings = rule == "swing-clear";
                for at in (0..good.moves.len()).filter(|at| swings || at % 16 == 5) {
                    let Some(spoilt) = make(good, at, HAIR) else {
                        continue;
                    };
                    let found = near(good, &spoilt, (at, rule));
                    let held = |(by, what): &(Length, Stands)| is_it(*what) && (swings || *by == HAIR);
                    let name = &good.world.name;
                    assert!(
                        !found.is_empty() && found.iter().all(held),
                        "{name} {at} {found:?}"
                    );
                    let higher = if swings { -Length::mm(25) } else { Length::ZERO };
                    let spoilt = make(good, at, higher).unwrap();
                    assert_eq!(near(good, &spoilt, (at, rule)), [], "{name} {at}");
                    tried[number] += 1;
                }
            }
        });
        assert!(tried.iter().all(|count| *count >= 5), "{tried:?}");
    }
}
