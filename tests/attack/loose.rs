//! Spoilt so exactly that what comes loose, or nearly, has to be seen: thin wood, stacks, pieces beside the cut, round ends; and
//! metal that is close to a kerf.

use bunkside_planner::geometry::{Block, Interval};
use bunkside_planner::machine::{Pose, kerf_box};
use bunkside_planner::physics::falling;
use bunkside_planner::replay::Setup;
use bunkside_planner::stock::{Pick, Stock};
use bunkside_protocol::mill::Box3;
use bunkside_protocol::{Act, Angle, Cut, Length, Move, Position, Targets};

use super::aimed::{halfway, hold, mid};
use super::class::{Class, Spoilt, aimed};
use super::good::{Good, Met, across, up};
use crate::dice::Dice;

pub(crate) fn classes() -> Vec<Class> {
    vec![
        aimed("thin-wood", "leave a lath beside the kerf", lath),
        aimed("thin-wood", "leave a skin under the kerf", skin),
        aimed("thin-wood", "leave a heavy part on a neck", neck),
        aimed("thin-wood", "free what stands on a narrow foot", narrow_foot),
        aimed("edge-then-release", "free a stack", stack),
        aimed("falls-off", "a heavy side drops", drops),
        aimed("falls-off", "a heavy piece tips", tips),
        aimed("hold-parked", "break a part off at a turning blade", broken_off),
        aimed("free-piece", "cut beside a loose piece", beside_loose),
        aimed("free-piece", "cut along the top of a loose piece", along_loose),
        aimed("free-piece", "pass where a piece on edge comes down", under_edge),
        aimed("free-piece", "stop where the round rim frees", round_rim),
        aimed("free-piece", "saw on beside what hangs by a skin", by_a_skin),
        aimed("move-clear", "metal close to the kerf", metal_close),
    ]
}

/// Whether all of a window across and up stands, uncut, before a move at a place along the log.
fn stands(good: &Good<'_>, met: &Met<'_>, place: Position, across: Interval, height: Interval) -> bool {
    let shape = &good.setup.shape;
    let whole = shape
        .wood_at(place)
        .is_some_and(|section| section.holds(across, height));
    // Every millimetre of it, so that no kerf hides in it.
    let (hair, step) = (Length::um(1), Length::mm(1));
    let mut held = true;
    let mut from = across.lo;
    while from < across.hi {
        let mut low = height.lo;
        while low < height.hi {
            let cell = Block {
                travel: Interval::new(place, place + hair),
                across: Interval::new(from, from + hair),
                height: Interval::new(low, low + hair),
            };
            held &= met.ran.before.touched(shape, cell, Pick::Body, false).is_some();
            low = low + step;
        }
        from = from + step;
    }
    whole && held
}

/// The same stroke once more and back again, its corner moved.
fn again(good: &Good<'_>, at: usize, met: &Met<'_>, moved: Pose) -> Spoilt {
    let mut put = vec![Move::Cut(met.told)];
    put.extend(good.way(&met.step.after, &moved));
    put.push(Move::Cut(back(met)));
    good.with(at, 1, &put).into()
}

/// The cut, run from its end to where it began.
fn back(met: &Met<'_>) -> Cut {
    Cut {
        to: Targets::travel(met.pose.travel),
        feed: None,
        ..met.told
    }
}

/// From more than the axes may be off to just less than holds wood that reaches so far: a push of 10 N at its edge, borne by twice
/// as much at its foot, moves it by 2 mm, and by more where it is thinner. 2 P h² ÷ (E t³), E 500 N/mm² across the grain.
fn thinner(dice: &mut Dice, reach: Length) -> Length {
    let high = reach.wide() as f64 / 1_000.0;
    let yields = libm::cbrt(2.0 * 10.0 * high * high / (500.0 * 2.0));
    Length::um(dice.between(1_000, (yields.max(3.0) * 1_000.0) as i64 - 1))
}

/// A second upright kerf beside the first, where wood stands 32 mm high or more over solid wood.
fn lath(good: &Good<'_>, at: usize, dice: &mut Dice) -> Option<Spoilt> {
    let met = good.met(at)?;
    let (middle, _) = halfway(good, &met)?;
    let (pose, kerf) = (met.pose, good.mill().blade.kerf);
    let most = (met.facts.bite - Length::mm(5)).max(Length::mm(32)).wide();
    let reach = Length::um(dice.between(32_000, most));
    let moved = Pose {
        across: pose.across + kerf + thinner(dice, reach),
        ..met.step.after
    };
    let wide = Interval::new(pose.across, moved.across + Length::mm(5));
    let high = Interval::new(pose.height - Length::mm(5), pose.height + reach);
    let upright = pose.angle == Angle::Upright && met.facts.bite >= high.length();
    (upright && stands(good, &met, middle, wide, high)).then(|| again(good, at, &met, moved))
}

/// A second flat kerf under the first, where the wood goes on beyond both rims.
fn skin(good: &Good<'_>, at: usize, dice: &mut Dice) -> Option<Spoilt> {
    let met = good.met(at)?;
    let (middle, _) = halfway(good, &met)?;
    let (pose, kerf) = (met.pose, good.mill().blade.kerf);
    let reach = Length::um(dice.between(32_000, met.facts.bite.wide().max(32_000)));
    let moved = Pose {
        height: pose.height - kerf - thinner(dice, reach),
        ..met.step.after
    };
    let wide = Interval::new(pose.across - reach, pose.across + Length::mm(15));
    let high = Interval::new(moved.height, pose.height + kerf);
    (pose.angle == Angle::Flat && stands(good, &met, middle, wide, high))
        .then(|| again(good, at, &met, moved))
}

/// Before it is unloaded the blade runs at feed over a piece, from where it touches nothing to less than the clearance over it.
fn along_loose(good: &Good<'_>, at: usize, dice: &mut Dice) -> Option<Spoilt> {
    let Move::Hold(hold) = good.moves[at] else {
        return None;
    };
    let ran = &good.ran[at];
    let piece = ran
        .before
        .pieces()
        .iter()
        .max_by_key(|piece| piece.bounds.height.hi)?;
    let wood = piece.bounds;
    if !hold.acts.contains(Act::Unload) || wood.across.length() < Length::mm(20) {
        return None;
    }
    let (pose, mill) = (ran.step.before, good.mill());
    let clearance = mill.clearances.body.max(mill.height.tolerance);
    let over = Length::um(dice.between(0, clearance.wide() - 1));
    let log = good.setup.shape.travel();
    let away = mill.blade.radius.times(2);
    let [from, to] = if pose.travel < good.middle() {
        [pose.travel.min(log.lo - away), log.hi + away]
    } else {
        [pose.travel.max(log.hi + away), log.lo - away]
    };
    let above = Pose {
        travel: from,
        across: wood.across.hi,
        height: wood.height.hi + good.setup.shape.bark() + over,
        ..pose
    };
    let mut put = good.way(&pose, &above);
    put.push(Move::Spin(true));
    put.push(Move::Cut(Cut {
        to: Targets::travel(to),
        speed: mill.power.feed_min,
        feed: None,
        release: false,
    }));
    Some(good.with(at, 0, &put).into())
}

/// Before a piece on edge is unloaded, with nothing beside it on one side, the carriage runs past there: further off than the piece
/// is wide, nearer than it is high.
fn under_edge(good: &Good<'_>, at: usize, dice: &mut Dice) -> Option<Spoilt> {
    let Move::Hold(hold) = good.moves[at] else {
        return None;
    };
    let (ran, mill, shape) = (&good.ran[at], good.mill(), &good.setup.shape);
    let clear = |beside: Block| ran.before.touched(shape, beside, Pick::Any, false).is_none();
    let (log, kept) = (shape.bounds(), mill.clearances.body.max(mill.across.tolerance));
    let far = ran.before.pieces().iter().find_map(|piece| {
        let wood = piece.bounds;
        let [wide, high] = [wood.across, wood.height].map(|side| side.length());
        let entry = clear(Block {
            across: Interval::new(Position::MIN, wood.across.lo),
            ..wood
        });
        let exit = clear(Block {
            across: Interval::new(wood.across.hi, Position::MAX),
            ..wood
        });
        let out = Length::um(dice.between(0, (high - wide - kept).wide().max(1))) + wide + kept;
        let corner = if entry {
            log.across.lo - out
        } else {
            log.across.hi + out + mill.blade.kerf
        };
        (high > wide + kept && (entry || exit)).then_some((corner, wood.height.lo))
    });
    let (corner, height) = far.filter(|_| hold.acts.contains(Act::Unload))?;
    let from = ran.step.before;
    let beside = Pose {
        across: corner,
        height,
        ..from
    };
    let mut put = good.way(&from, &beside);
    let end = if from.travel < good.middle() {
        log.travel.hi
    } else {
        log.travel.lo
    };
    put.push(Move::Go(Targets::travel(end)));
    Some(good.with(at, 0, &put).into())
}

/// The one piece that an upright stroke frees to its entry side.
fn column(good: &Good<'_>, met: &Met<'_>) -> Option<Block> {
    let [piece] = met.ran.freed[..] else {
        return None;
    };
    let beside = piece.bounds.across.hi == met.pose.across - good.mill().blade.kerf;
    let over = piece.bounds.height.lo >= met.pose.height;
    (met.pose.angle == Angle::Upright && beside && over).then_some(piece.bounds)
}

/// The upright stroke that frees a column ends higher, where less than 3 mm hold it, and the blade comes back beside it.
fn by_a_skin(good: &Good<'_>, at: usize, dice: &mut Dice) -> Option<Spoilt> {
    let met = good.met(at)?;
    let piece = column(good, &met)?;
    let large = piece.across.length() >= Length::mm(20) && piece.height.length() >= Length::mm(20);
    if !large || piece.height.lo != met.pose.height + good.mill().blade.kerf {
        return None;
    }
    let higher = Pose {
        height: piece.height.lo + Length::um(dice.between(100, 2_900)),
        ..met.pose
    };
    let mut put = good.way(&met.pose, &higher);
    put.extend([Move::Cut(met.told), Move::Cut(back(&met))]);
    Some(good.with(at, 1, &put).into())
}

/// The upright stroke that frees a column ends higher, where more than 3 mm hold it, and less than its weight asks for: 2 N/mm² at
/// the edge of a beam that carries 8 826 N/m³ × 0.4 at half its width, so much lighter than any wood.
fn neck(good: &Good<'_>, at: usize, dice: &mut Dice) -> Option<Spoilt> {
    let met = good.met(at)?;
    let piece = column(good, &met)?;
    let [wide, high] = [piece.across, piece.height].map(|side| side.length().wide() as f64 * 1e-6);
    let asks = libm::sqrt(3.0 * 8_826.0 * 0.4 * wide * wide * high / 2e6) * 1e6;
    let (least, most) = (3_100, (asks * 0.8) as i64);
    // Held by one edge of its own, or by nothing else: a squared column that is wood all through.
    let squared = piece.height.lo == met.pose.height + good.mill().blade.kerf && met.ran.freed.len() == 1;
    if !squared || most <= least {
        return None;
    }
    let higher = Pose {
        height: piece.height.lo + Length::um(dice.between(least, most)),
        ..met.pose
    };
    let mut put = good.way(&met.pose, &higher);
    put.push(Move::Cut(met.told));
    Some(good.with(at, 1, &put).into())
}

/// A column is freed a little further in first, and unloaded; so that the stroke that was to free it frees what is left of it,
/// more than eight times as high as wide.
fn narrow_foot(good: &Good<'_>, at: usize, dice: &mut Dice) -> Option<Spoilt> {
    let met = good.met(at)?;
    let (middle, _) = halfway(good, &met)?;
    let (piece, kerf) = (column(good, &met)?, good.mill().blade.kerf);
    let (corner, foot) = (met.pose.across, met.pose.height + kerf);
    let reach = Length::um(piece.height.length().wide() * 9 / 10);
    let wide = Length::um(dice.between(1_000, (reach.wide() / 8 - 1).max(1_000)));
    let stands_in = Interval::new(corner - kerf - wide, corner);
    let tall = piece.height.lo == foot && reach > wide.times(8);
    if !tall || !stands(good, &met, middle, stands_in, Interval::new(foot, foot + reach)) {
        return None;
    }
    let moved = Pose {
        across: corner - kerf - wide,
        ..met.pose
    };
    let ended = Pose {
        travel: met.step.after.travel,
        ..moved
    };
    let mut put = vec![across(moved.across), Move::Cut(met.told), Move::Spin(false)];
    put.extend([hold(&[Act::Unload]), Move::Spin(true)]);
    put.extend(good.way(&ended, &met.pose));
    Some(good.with(at, 0, &put).into())
}

/// Heavier than any wood, and cut away under the column before the upright stroke frees it: out and back, one kerf lower each time,
/// where that frees nothing yet.
fn drops(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    let met = good.met(at)?;
    let (piece, kerf) = (column(good, &met)?, good.mill().blade.kerf);
    let large = piece.across.length() >= Length::mm(20) && piece.height.length() >= Length::mm(15);
    if !large || piece.height.lo != met.pose.height + kerf {
        return None;
    }
    let (mut put, mut from) = (Vec::new(), met.pose);
    let mut stock = Stock::clone(&met.ran.before);
    for (lower, end) in [(kerf, met.step.after.travel), (kerf + kerf, met.pose.travel)] {
        let flat = Pose {
            travel: from.travel,
            height: met.pose.height - lower,
            angle: Angle::Flat,
            ..met.pose
        };
        // It is the upright stroke that is to free it.
        let kerf = kerf_box(good.mill(), &flat, Interval::ALL);
        if stock.carve(&good.setup.shape, kerf) != Ok(0) {
            return None;
        }
        put.extend(good.way(&from, &flat));
        put.push(Move::Cut(Cut {
            to: Targets::travel(end),
            feed: None,
            release: false,
            ..met.told
        }));
        from = Pose { travel: end, ..flat };
    }
    put.extend(good.way(&from, &met.pose));
    let mut log = good.setup.log.clone();
    log.density = 60_000;
    Some(Spoilt {
        log: Some(log),
        ..good.with(at, 0, &put).into()
    })
}

/// In wood heavier than any, what a stroke frees balances beyond what it lies on, and does not drop, or is freed by a flat one.
fn tips(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    let met = good.met(at)?;
    let mut log = good.setup.log.clone();
    log.density = 60_000;
    let setup = Setup::new(good.mill(), &log).ok()?;
    let after = &good.ran.get(at + 1)?.before;
    let each = falling::worst_each_way(&setup, after, met.pose.angle, &met.ran.freed);
    let one = falling::worst(&setup, met.pose.angle, each)?;
    let tips = met.pose.angle == Angle::Flat || !one.drops;
    (tips && one.mass_kg > f64::from(good.mill().loose.tips)).then(|| Spoilt {
        log: Some(log),
        ..good.moves.clone().into()
    })
}

/// A flat kerf through the middle of a column, before the upright stroke that frees it: then that frees both halves.
fn stack(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    let met = good.met(at)?;
    let (middle, _) = halfway(good, &met)?;
    let (piece, kerf, side) = (column(good, &met)?, good.mill().blade.kerf, Length::mm(12));
    let height = mid(piece.height.lo, piece.height.hi);
    let corner = met.pose.across;
    // Wood on both sides of both kerfs: the upper half hangs on until the upright stroke.
    let wide = Interval::new(corner - kerf - side, corner + side);
    let high = Interval::new(height - side, height + kerf + side);
    let tall = piece.height.length() >= Length::mm(60);
    if !tall || !stands(good, &met, middle, wide, high) {
        return None;
    }
    let flat = Pose {
        height,
        angle: Angle::Flat,
        ..met.pose
    };
    let end = Pose {
        travel: met.step.after.travel,
        ..flat
    };
    let mut put = good.way(&met.pose, &flat);
    put.push(Move::Cut(Cut {
        feed: None,
        release: false,
        ..met.told
    }));
    put.extend(good.way(&end, &met.pose));
    Some(good.with(at, 0, &put).into())
}

/// The upright stroke that frees a column ends over the flat kerf by more than sawdust and less than the axes are true to, and what
/// hangs there comes off beside the turning blade.
fn broken_off(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    let met = good.met(at)?;
    let (middle, _) = halfway(good, &met)?;
    let (piece, kerf, side) = (column(good, &met)?, good.mill().blade.kerf, Length::mm(12));
    let corner = met.pose.across;
    let top = met.pose.height + kerf;
    // Wood beside the upright kerf to either side, and none but its own under it.
    let wide = Interval::new(corner - kerf - side, corner + side);
    let large = piece.height.lo == top && piece.height.length() >= side + side;
    if !large || !stands(good, &met, middle, wide, Interval::new(top, top + side)) {
        return None;
    }
    let raised = up(top + Length::um(200));
    let put = [raised, Move::Cut(met.told), hold(&[Act::Unload])];
    Some(good.with(at, 1, &put).into())
}

/// A column lies loose, and the next kerf is cut beside the one that freed it, with no more than a fin between.
fn beside_loose(good: &Good<'_>, at: usize, dice: &mut Dice) -> Option<Spoilt> {
    let met = good.met(at)?;
    column(good, &met)?;
    // Nothing, or more than the axes may be off.
    let fin = Length::um(if dice.once_in(2) {
        0
    } else {
        dice.between(1_000, 3_000)
    });
    let put = [
        across(met.pose.across + good.mill().blade.kerf + fin),
        Move::Cut(back(&met)),
    ];
    Some(good.with(at + 1, 0, &put).into())
}

/// A stroke that frees ends short of the log's end by less than half the chord of the blade at a kerf's depth, so that its
/// disc may leave nothing there; then it runs back.
fn round_rim(good: &Good<'_>, at: usize, dice: &mut Dice) -> Option<Spoilt> {
    let met = good.met(at)?;
    let (log, blade) = (good.setup.shape.travel(), &good.mill().blade);
    let wood = met.facts.met?.travel;
    let [kerf, radius] = [blade.kerf, blade.radius].map(|length| f64::from(length.as_um()));
    let chord = libm::sqrt(kerf * (2.0 * radius - kerf)) as i64;
    let short = Length::um(dice.between(chord / 4, chord * 9 / 10));
    let outbound = met.told.to.travel? > met.pose.travel;
    let (reaches, to) = if outbound {
        (wood.hi == log.hi, log.hi - short)
    } else {
        (wood.lo == log.lo, log.lo + short)
    };
    if met.facts.freed == 0 || !reaches || short <= good.mill().travel.tolerance.times(2) {
        return None;
    }
    let stops = Move::Cut(Cut {
        to: Targets::travel(to),
        ..met.told
    });
    Some(good.with(at, 1, &[stops, Move::Cut(back(&met))]).into())
}

/// A nail as near to the kerf as its place is unknown, in wood, with wood in the kerf beside it.
fn metal_close(good: &Good<'_>, at: usize, dice: &mut Dice) -> Option<Spoilt> {
    let met = good.met(at)?;
    let (middle, _) = halfway(good, &met)?;
    let (wood, kerf, little) = (met.facts.met?, met.facts.kerf, Length::mm(1));
    let [x, y] = [wood.across, wood.height].map(|stretch| mid(stretch.lo, stretch.hi));
    let off = Length::um(dice.between(0, 9_999)) + little;
    let first = dice.once_in(2);
    let aside = |stretch: Interval| if first { stretch.lo - off } else { stretch.hi + off };
    let place = match met.pose.angle {
        Angle::Flat => [middle, x, aside(kerf.height)],
        Angle::Upright => [middle, aside(kerf.across), y],
    };
    let around = |place: [Position; 3]| Box3 {
        min: place.map(|place| place - little),
        max: place.map(|place| place + little),
    };
    let nail = around(place);
    for record in [nail, around([middle, x, y])] {
        let block = Block::from_record(&record);
        let (before, shape) = (&met.ran.before, &good.setup.shape);
        before.touched(shape, block, Pick::Body, false)?;
    }
    let mut log = good.setup.log.clone();
    log.metal.push(nail).ok()?;
    Some(Spoilt {
        log: Some(log),
        ..good.moves.clone().into()
    })
}
