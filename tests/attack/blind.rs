//! Spoilt without looking: what comes of it may be another good way to saw the log.

use bunkside_protocol::{Act, Angle, Cut, Length, Move, Position, Speed, Targets};

use super::aimed::hold;
use super::class::{Class, Spoilt, blind};
use super::good::{Good, up};
use super::practice::{skip_unload, turned};
use crate::dice::Dice;

/// How far a stroke is deepened, and a bed is missed.
const DEEPER: Length = Length::mm(50);

pub(crate) fn classes() -> Vec<Class> {
    vec![
        blind(
            "swap neighbours",
            &["range", "reach", "move-clear", "feed-label", "free-piece"],
            swap,
        ),
        blind(
            "drop a move",
            &["range", "reach", "move-clear", "spin-up", "free-piece"],
            drop_one,
        ),
        blind("tell a move twice", &[], repeat),
        blind(
            "reverse a stroke",
            &["climb-powered", "feed-label", "release-climb"],
            reverse,
        ),
        blind(
            "turn a stroke round",
            &["climb-powered", "release-climb", "bed-board"],
            turn_round,
        ),
        blind(
            "deepen by 50 mm",
            &["reach", "bed-clear", "edge-then-release", "bed-board"],
            deepen,
        ),
        blind(
            "below the bed",
            &["range", "reach", "swing-clear", "bed-clear"],
            below_the_bed,
        ),
        blind(
            "shift across",
            &["reach", "move-clear", "rim-edge", "edge-then-release"],
            shift,
        ),
        blind(
            "swing early",
            &["swing-clear", "feed-label", "flat-first"],
            swing_early,
        ),
        blind("skip an unloading", &["free-piece", "hold-parked"], skip_unload),
        blind("skip a hold", &["free-piece", "hold-parked"], skip_hold),
        blind(
            "stop a stroke halfway",
            &["straight", "swing-clear", "hold-parked"],
            stop_halfway,
        ),
        blind(
            "end a stroke where the wood ends",
            &["range", "not-judged"],
            end_at_the_end,
        ),
        blind("leave what it frees by a thread", &["free-piece"], leave_a_thread),
        blind("feed half as fast again", &["range"], faster),
        blind("take the knife off or fit it", &["knife"], change_knife),
        blind(
            "swap two cuts",
            &["flat-first", "edge-then-release", "free-piece"],
            swap_cuts,
        ),
        blind("drop a cut", &["range", "reach", "move-clear"], drop_cut),
        blind("leave the aid away", &["release-climb"], without_aid),
        blind(
            "start at the other end",
            &["swing-clear", "move-clear"],
            start_elsewhere,
        ),
    ]
}

fn swap(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    let (one, two) = (good.moves[at], *good.moves.get(at + 1)?);
    (one != two).then(|| good.with(at, 2, &[two, one]).into())
}

fn drop_one(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    Some(good.with(at, 1, &[]).into())
}

fn repeat(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    Some(good.with(at, 0, &[good.moves[at]]).into())
}

/// The same kerf from its other end, its label kept: high over the log there, down, and back.
fn reverse(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    let cut = good.cut(at)?;
    let (from, to) = (good.pose(at), cut.to.travel?);
    let top = good.setup.shape.bounds().height.hi + good.setup.shape.bark() + Length::mm(20);
    let back = Cut {
        to: Targets::travel(from.travel),
        ..cut
    };
    let put = [
        up(top),
        Move::Go(Targets::travel(to)),
        up(from.height),
        Move::Cut(back),
    ];
    Some(good.with(at, 1, &put).into())
}

/// The same with the label that is right.
fn turn_round(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    turned(good, at)
}

fn deepen(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    let to = good.go(at)?;
    let height = Some(to.height.filter(|_| good.is_cut_at(at))? - DEEPER);
    Some(good.with(at, 1, &[Move::Go(Targets { height, ..to })]).into())
}

fn below_the_bed(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    let to = good.go(at)?;
    to.height.filter(|_| good.is_cut_at(at))?;
    let height = Some(Position::ZERO - DEEPER);
    Some(good.with(at, 1, &[Move::Go(Targets { height, ..to })]).into())
}

fn shift(good: &Good<'_>, at: usize, dice: &mut Dice) -> Option<Spoilt> {
    let to = good.go(at)?;
    let by = Length::mm(dice.within(10, 60));
    let by = if dice.once_in(2) { by } else { -by };
    let across = Some(to.across? + by);
    Some(good.with(at, 1, &[Move::Go(Targets { across, ..to })]).into())
}

fn swing_early(good: &Good<'_>, at: usize, dice: &mut Dice) -> Option<Spoilt> {
    matches!(good.moves.get(at + 1)?, Move::Swing(_))
        .then(|| swap(good, at, dice))
        .flatten()
}

fn skip_hold(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    matches!(good.moves[at], Move::Hold(_)).then(|| good.with(at, 1, &[]).into())
}

fn stop_halfway(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    let cut = good.cut(at)?;
    let to = Targets::travel(good.middle());
    Some(good.with(at, 1, &[Move::Cut(Cut { to, ..cut })]).into())
}

/// Within the play of the drive of where the wood in the kerf ends, a few strokes one after the other.
fn end_at_the_end(good: &Good<'_>, at: usize, dice: &mut Dice) -> Option<Spoilt> {
    let mut moves = good.moves.clone();
    let strokes = dice.within(1, 5);
    let cuts = (at..moves.len()).filter(|at| good.met(*at).is_some());
    let cuts: Vec<usize> = cuts.take(usize::try_from(strokes).ok()?).collect();
    good.met(at)?;
    for at in cuts {
        let met = good.met(at)?;
        let wood = met.facts.met?.travel;
        let play = good.mill().travel.tolerance.wide();
        let end = if met.told.to.travel? > met.pose.travel {
            wood.hi
        } else {
            wood.lo
        };
        let to = Targets::travel(end + Length::um(dice.between(-play, play)));
        moves[at] = Move::Cut(Cut { to, ..met.told });
    }
    Some(moves.into())
}

/// A stroke that frees something leaves it hanging by less wood than the axes are true to: on the last of an edge or of the
/// flat kerf under it.
fn leave_a_thread(good: &Good<'_>, at: usize, dice: &mut Dice) -> Option<Spoilt> {
    let met = good.met(at).filter(|met| met.facts.freed > 0)?;
    let mill = good.mill();
    let true_to = mill.across.tolerance.max(mill.height.tolerance).wide();
    let short = mill.blade.kerf + Length::um(dice.between(100, (2 * true_to).max(101)));
    let (across, height) = match met.pose.angle {
        Angle::Flat => (met.pose.across - short, met.pose.height),
        Angle::Upright => (met.pose.across, met.pose.height + short),
    };
    let [there, back] = [(across, height), (met.pose.across, met.pose.height)]
        .map(|(across, height)| Move::Go(Targets::corner(across, height)));
    Some(good.with(at, 1, &[there, Move::Cut(met.told), back]).into())
}

fn faster(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    let cut = good.cut(at)?;
    let speed = cut.speed.as_um_per_s() / 2 * 3;
    let speed = Speed::um_per_s(speed.min(Speed::MAX.as_um_per_s()));
    Some(good.with(at, 1, &[Move::Cut(Cut { speed, ..cut })]).into())
}

/// At a hold the knife is fitted, or taken off, with the blade at rest.
pub(crate) fn change_knife(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    good.mill().knife?;
    if !(good.cuts_after(at) && matches!(good.moves[at], Move::Hold(_))) {
        return None;
    }
    let pose = good.pose(at);
    let act = if pose.knife { Act::KnifeOff } else { Act::KnifeOn };
    let put = [Move::Spin(false), hold(&[act]), Move::Spin(pose.spinning)];
    Some(good.with(at + 1, 0, &put).into())
}

/// A cut and the next one, each with the way to it.
fn swap_cuts(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    let next = (at + 1..good.moves.len()).find(|next| good.cut(*next).is_some())?;
    let (first, second) = (good.cut(at)?, good.cut(next)?);
    let (one, two) = (good.pose(at), good.pose(next));
    let mut put = good.way(&one, &two);
    put.push(Move::Cut(second));
    put.extend(good.way(&good.ran[next].step.after, &one));
    put.push(Move::Cut(first));
    Some(good.with(at, next + 1 - at, &put).into())
}

/// To where the cut ends, but through the air.
fn drop_cut(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    good.cut(at)?;
    let put = good.way(&good.pose(at), &good.ran[at].step.after);
    Some(good.with(at, 1, &put).into())
}

fn without_aid(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    let mut mill = good.mill().clone();
    let aid = mill.aid.as_mut().filter(|aid| at == 0 && aid.on_at_start)?;
    aid.on_at_start = false;
    Some(Spoilt {
        mill: Some(mill),
        ..good.moves.clone().into()
    })
}

/// The carriage is not where the sequence takes it to be: past the other end of the log, and low.
fn start_elsewhere(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    let (angle, far) = (Angle::Upright, good.mill().travel.max);
    let low = good.setup.shape.bounds().height.lo + Length::mm(40);
    (at == 0 && good.pose(0).angle == angle).then(|| {
        let put = [
            Move::Go(Targets::travel(far)),
            Move::Go(Targets::corner(Position::ZERO, low)),
        ];
        good.with(0, 0, &put).into()
    })
}
