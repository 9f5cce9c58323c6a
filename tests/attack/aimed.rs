//! Spoilt so exactly that it is known which rule is broken: by the geometry of the stroke that is changed, and by
//! figures worked out here, not by the rule.

use bunkside_planner::geometry::{Block, Interval};
use bunkside_planner::machine::Pose;
use bunkside_planner::stock::Pick;
use bunkside_protocol::mill::{Axis, Box3, Bunk, BunkKind, Turn};
use bunkside_protocol::{Act, Acts, Angle, Cut, Hold, Length, Move, Position, Speed, Targets};

use super::class::{Class, Spoilt, aimed};
use super::good::{Good, Met, across, up};
use super::{burden, hold as held, loose, practice, under};
use crate::dice::Dice;

/// One micrometre, the least by which anything can be wrong.
const HAIR: Length = Length::um(1);
/// Over the micrometre to which the replay rounds chords and samples.
const LITTLE: Length = Length::mm(1);

/// Every class that is aimed at a rule of the machine; those of practice are beside.
pub(crate) fn classes() -> Vec<Class> {
    let mut all = vec![
        aimed("range", "run past the rails", past_the_rails),
        aimed("range", "run past another axis", past_an_axis),
        aimed("range", "feed nothing", no_feed),
        aimed("range", "feed faster than rapid", faster_than_rapid),
        aimed("range", "stop in the log's end", stop_in_the_end),
        aimed("straight", "turn aside in the kerf", aside_in_kerf),
        aimed("straight", "swing in the kerf", swing_in_kerf),
        aimed("straight", "combine axes", combine_axes),
        aimed("not-judged", "combine axes (not judged)", combine_axes),
        aimed("reach", "set deeper than the blade reaches", beyond_cover),
        aimed("reach", "bite more than timber allows", beyond_bite),
        aimed("swing-clear", "swing over the log", swing_over_log),
        aimed("swing-clear", "swing at the bed", swing_at_bed),
        aimed("move-clear", "rapid through wood", rapid_through_wood),
        aimed("move-clear", "low over the bed at rapid", rapid_at_bed),
        aimed("move-clear", "a box where the blade goes", boxed),
        aimed("move-clear", "metal in the kerf", metal),
        aimed("spin-up", "cut before spin-up", no_spin_up),
        aimed("spin-up", "stop the blade before a cut", stop_before_cut),
        aimed("spin-up", "stop the blade in the kerf", stop_in_kerf),
        aimed("bed-clear", "a hair under the bed's clearance", below_clearance),
        aimed("bed-clear", "back through a wedged kerf", back_through_wedge),
    ];
    all.extend(practice::classes());
    all.extend(loose::classes());
    all.extend(under::classes());
    all.extend(burden::classes());
    all.extend(held::classes());
    all
}

pub(crate) const fn mid(a: Position, b: Position) -> Position {
    Position::um((a.wide() + b.wide()) / 2)
}

/// A place in the stroke where wood stands in the kerf and for a hand's breadth ahead and behind, and the part of
/// the stroke up to it.
pub(crate) fn halfway(good: &Good<'_>, met: &Met<'_>) -> Option<(Position, Move)> {
    let wood = met.facts.met?.travel;
    let middle = mid(wood.lo, wood.hi);
    let hand = Length::mm(60);
    if (wood.hi - wood.lo) < hand.times(4) {
        return None;
    }
    let stretch = Interval::new(middle - hand, middle + hand);
    // All along the stretch, not only somewhere in it.
    for step in 0..6 {
        let at = stretch.lo + Length::um(hand.wide() * 2 * step / 6);
        let thin = Interval::new(at, at + LITTLE);
        let kerf = Block {
            travel: thin,
            ..met.facts.kerf
        };
        let pick = Pick::Body;
        met.ran.before.met(&good.setup.shape, kerf, pick)?;
    }
    let to = Targets::travel(middle);
    Some((middle, Move::Cut(Cut { to, ..met.told })))
}

fn past_the_rails(good: &Good<'_>, at: usize, dice: &mut Dice) -> Option<Spoilt> {
    let travel = &good.mill().travel;
    let beyond = if dice.once_in(2) {
        travel.max + HAIR
    } else {
        travel.min - HAIR
    };
    let to = Targets::travel(beyond);
    let told = match good.moves[at] {
        Move::Cut(cut) => Move::Cut(Cut { to, ..cut }),
        Move::Go(go) if go.travel.is_some() => Move::Go(Targets {
            travel: to.travel,
            ..go
        }),
        _ => return None,
    };
    Some(good.with(at, 1, &[told]).into())
}

fn past_an_axis(good: &Good<'_>, at: usize, dice: &mut Dice) -> Option<Spoilt> {
    let mut to = good.go(at)?;
    let (low, mill) = (dice.once_in(2), good.mill());
    let beyond = |axis: &Axis| {
        if low { axis.min - HAIR } else { axis.max + HAIR }
    };
    if to.across.is_some() {
        to.across = Some(beyond(&mill.across));
    } else {
        to.height.as_ref()?;
        to.height = Some(beyond(&mill.height));
    }
    Some(good.with(at, 1, &[Move::Go(to)]).into())
}

fn at_speed(good: &Good<'_>, at: usize, speed: Speed) -> Option<Spoilt> {
    let cut = good.cut(at)?;
    Some(good.with(at, 1, &[Move::Cut(Cut { speed, ..cut })]).into())
}

fn no_feed(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    at_speed(good, at, Speed::ZERO)
}

fn faster_than_rapid(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    let rapid = good.mill().travel.rapid.as_um_per_s();
    at_speed(good, at, Speed::um_per_s(rapid + 1))
}

/// A millimetre past the wood the blade, a chord and a clearance long, still stands in it.
fn stop_in_the_end(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    let met = good.met(at)?;
    let wood = met.facts.met?.travel;
    let end = met.told.to.travel?;
    let to = if end > met.pose.travel {
        wood.hi + LITTLE
    } else {
        wood.lo - LITTLE
    };
    // Where wood runs out at a flat angle it ends a little here or there.
    if good.mill().clearances.run_out <= LITTLE || met.facts.bite < Length::mm(10) {
        return None;
    }
    let to = Targets::travel(to);
    Some(good.with(at, 1, &[Move::Cut(Cut { to, ..met.told })]).into())
}

fn aside_in_kerf(good: &Good<'_>, at: usize, dice: &mut Dice) -> Option<Spoilt> {
    let met = good.met(at)?;
    let (_, half) = halfway(good, &met)?;
    let aside = if dice.once_in(2) {
        across(met.pose.across - Length::mm(2))
    } else {
        up(met.pose.height + Length::mm(2))
    };
    Some(good.with(at, 1, &[half, aside, Move::Cut(met.told)]).into())
}

fn swing_in_kerf(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    let met = good.met(at)?;
    let (_, half) = halfway(good, &met)?;
    let other = Move::Swing(met.pose.angle.other());
    Some(good.with(at, 1, &[half, other]).into())
}

fn combine_axes(good: &Good<'_>, at: usize, dice: &mut Dice) -> Option<Spoilt> {
    let mut cut = good.cut(at)?;
    let (pose, by) = (good.pose(at), Length::um(100));
    if dice.once_in(2) {
        cut.to.across = Some(pose.across + by);
    } else {
        cut.to.height = Some(pose.height + by);
    }
    Some(good.with(at, 1, &[Move::Cut(cut)]).into())
}

/// The same stroke deeper by a length: further across when flat, lower when upright.
fn deeper(good: &Good<'_>, at: usize, pose: Pose, by: Length) -> Spoilt {
    let set = match pose.angle {
        Angle::Flat => across(pose.across + by),
        Angle::Upright => up(pose.height - by),
    };
    good.with(at, 0, &[set]).into()
}

/// What stands over a kerf stands there too when it is deeper, and its outer edge is where it was.
fn beyond_cover(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    let met = good.met(at)?;
    let [flat, upright] = good.mill().reach.cover;
    let limit = match met.pose.angle {
        Angle::Flat => flat,
        Angle::Upright => upright,
    };
    if met.facts.cover <= Length::ZERO {
        return None;
    }
    let by = limit - met.facts.cover + HAIR;
    Some(deeper(good, at, met.pose, by))
}

/// What the kerf takes it takes too when it is deeper.
fn beyond_bite(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    let met = good.met(at)?;
    let (mill, log) = (good.mill(), good.setup.log);
    let limit = mill
        .reach
        .bite(met.pose.angle, met.step.feed?, met.pose.knife, log.timber);
    let by = limit - met.facts.bite + HAIR;
    Some(deeper(good, at, met.pose, by))
}

fn swing_over_log(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    let Move::Swing(angle) = good.moves[at] else {
        return None;
    };
    let over = Move::Go(Targets::travel(good.middle()));
    (angle != good.pose(at).angle).then(|| good.with(at, 0, &[over]).into())
}

/// Under the corner the blade sweeps 0.414 of its radius; over it, nothing.
fn swing_at_bed(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    let Move::Swing(angle) = good.moves[at] else {
        return None;
    };
    let under = good.mill().swing.turn == Turn::Under;
    let low = up(Position::ZERO + Length::um(good.mill().blade.radius.wide() * 2 / 5));
    (under && angle != good.pose(at).angle).then(|| good.with(at, 0, &[low]).into())
}

fn rapid_through_wood(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    let met = good.met(at)?;
    Some(good.with(at, 1, &[Move::Go(met.told.to)]).into())
}

/// Upright along the log's lowest line, a little over the bed: what rests on the bunks stands there to the end.
fn rapid_at_bed(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    let pose = good.pose(at);
    let log = good.setup.shape.travel();
    let past = log.lo >= pose.travel || pose.travel >= log.hi;
    let far = if pose.travel <= log.lo {
        good.mill().travel.max
    } else {
        good.mill().travel.min
    };
    let bunk = good.mill().bunks.iter().find(|bunk| log.contains(bunk.travel))?;
    let section = good.setup.shape.wood_at(bunk.travel)?;
    let (low, line) = (section.height().lo, section.lowest_across());
    let put = [
        across(line + good.mill().blade.kerf.half_floor()),
        up(low + Length::mm(3)),
        Move::Go(Targets::travel(far)),
    ];
    (past && pose.angle == Angle::Upright).then(|| good.with(at, 0, &put).into())
}

/// A box no larger than a fist, around the place where the rim arrives.
fn boxed(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    if !matches!(good.moves[at], Move::Go(_) | Move::Cut(_)) {
        return None;
    }
    let mut mill = good.mill().clone();
    let pose = good.ran[at].step.after;
    let fist = Length::mm(30);
    let record = Box3 {
        min: [pose.travel - fist, pose.across - fist, pose.height - fist],
        max: [pose.travel + fist, pose.across + fist, pose.height + fist],
    };
    mill.keep_out.push(record).ok()?;
    Some(Spoilt {
        mill: Some(mill),
        ..good.moves.clone().into()
    })
}

/// A nail in the kerf, where wood stands around it.
fn metal(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    let met = good.met(at)?;
    let (middle, _) = halfway(good, &met)?;
    let wood = met.facts.met?;
    let mut log = good.setup.log.clone();
    let inside = |stretch: Interval| mid(stretch.lo, stretch.hi);
    let at = [middle, inside(wood.across), inside(wood.height)];
    let nail = Box3 {
        min: at.map(|place| place - LITTLE),
        max: at.map(|place| place + LITTLE),
    };
    let block = Block::from_record(&nail);
    let pick = Pick::Body;
    met.ran.before.touched(&good.setup.shape, block, pick, false)?;
    log.metal.push(nail).ok()?;
    Some(Spoilt {
        log: Some(log),
        ..good.moves.clone().into()
    })
}

fn no_spin_up(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    let spins = good.moves[at] == Move::Spin(true) && good.cuts_after(at);
    spins.then(|| good.with(at, 1, &[]).into())
}

fn stop_before_cut(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    good.cut(at)?;
    Some(good.with(at, 0, &[Move::Spin(false)]).into())
}

fn stop_in_kerf(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    let met = good.met(at)?;
    let (_, half) = halfway(good, &met)?;
    let put = [half, Move::Spin(false), Move::Spin(true), Move::Cut(met.told)];
    Some(good.with(at, 1, &put).into())
}

/// Sacrificial timber may be cut into: there it is its depth that counts.
fn below_clearance(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    let (cut, mill, log) = (good.cut(at)?, good.mill(), good.setup.log);
    let clearance = mill.clearances.bed.max(log.bed_clearance);
    let pose = good.pose(at);
    let height = if log.between_bunks.is_some() {
        return None;
    } else if mill.bunks.iter().all(|bunk| bunk.kind == BunkKind::Steel) {
        Position::ZERO + clearance - HAIR
    } else {
        let depth = |bunk: &Bunk| match bunk.kind {
            BunkKind::Timber { sacrificial } => bunk.top - sacrificial,
            BunkKind::Steel => bunk.top,
        };
        mill.bunks.iter().map(depth).min()? - HAIR
    };
    let put = [up(height), Move::Cut(cut), up(pose.height)];
    Some(good.with(at, 1, &put).into())
}

/// Where wood stands on both sides of a kerf, deeper than the blade is thick, a wedge bars the way back.
fn back_through_wedge(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    let met = good.met(at)?;
    let after = &good.ran.get(at + 1)?.before;
    let (kerf, wood) = (met.facts.kerf, met.facts.met?);
    // The tips of the wedges stay over the bottom.
    let deep = good.mill().blade.kerf + Length::mm(10) + LITTLE;
    let holds = |travel, across, height| {
        let side = Block {
            travel,
            across,
            height,
        };
        after.met(&good.setup.shape, side, Pick::Any).is_some()
    };
    let (travel, beside) = (wood.travel, |stretch: Interval| {
        let (lo, hi) = (stretch.lo, stretch.hi);
        [Interval::new(lo - LITTLE, lo), Interval::new(hi, hi + LITTLE)]
    });
    let wedged = match met.pose.angle {
        Angle::Flat => {
            let across = Interval::new(wood.across.lo, met.pose.across - deep);
            let sides = beside(kerf.height);
            !across.is_empty() && sides.iter().all(|side| holds(travel, across, *side))
        }
        Angle::Upright => {
            let height = Interval::new(met.pose.height + deep, wood.height.hi);
            let sides = beside(kerf.across);
            !height.is_empty() && sides.iter().all(|side| holds(travel, *side, height))
        }
    };
    let back = Cut {
        to: Targets::travel(met.pose.travel),
        feed: None,
        ..met.told
    };
    let put = [
        Move::Spin(false),
        hold(&[Act::WedgeKerf]),
        Move::Spin(true),
        Move::Cut(back),
    ];
    wedged.then(|| good.with(at + 1, 0, &put).into())
}

/// A hold with these acts.
pub(crate) fn hold(acts: &[Act]) -> Move {
    let acts = acts.iter().fold(Acts::NONE, |acts, act| acts.and(*act));
    Move::Hold(Hold { acts })
}
