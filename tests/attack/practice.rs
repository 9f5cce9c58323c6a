//! Spoilt so exactly that it is known which rule of practice, physics or consistency is broken.

use bunkside_planner::geometry::{Block, Interval};
use bunkside_planner::machine::Pose;
use bunkside_planner::stock::{Edge, Pick};
use bunkside_protocol::{Act, Angle, Cut, Drive, Feed, Length, Move, Position, Speed, Stroke, Targets};

use super::aimed::{halfway, hold};
use super::class::{Class, Spoilt, aimed};
use super::good::{Good, across, up};
use crate::dice::Dice;

pub(crate) fn classes() -> Vec<Class> {
    vec![
        aimed("knife", "fit the knife where it leads deep", knife_leads),
        aimed("climb-powered", "faster than the drive holds", pull_too_hard),
        aimed("climb-powered", "climb by hand", climb_by_hand),
        aimed("feed-label", "wrong label", wrong_label),
        aimed("flat-first", "edge the first column first", edge_first),
        aimed("release-climb", "free a bark edge in forward feed", free_forward),
        aimed(
            "release-climb",
            "saw bark alone off in forward feed",
            bark_forward,
        ),
        aimed(
            "edge-then-release",
            "edge what is undercut",
            edge_what_is_undercut,
        ),
        aimed("rim-edge", "rim out beyond the wood", rim_beyond),
        aimed("bed-board", "no shallow pass at the bed", no_shallow_pass),
        aimed("bed-board", "free the last board in the other feed", last_turned),
        aimed("free-piece", "back through the kerf that freed", back_through),
        aimed("hold-parked", "a hold over the log", hold_over_log),
        aimed("hold-parked", "a hold in the kerf", hold_in_kerf),
        aimed("hold-parked", "hands at a turning blade", hands_at_blade),
        aimed("hold-parked", "the disc over the log's end", disc_over_end),
        aimed("hold-parked", "hands at a loose piece", hands_at_loose_piece),
        aimed("hold-parked", "end over the log", end_over_log),
        aimed("hold-parked", "end with the blade turning", end_turning),
        aimed("hold-parked", "leave the last piece lying", leave_lying),
        aimed("hold-parked", "crank while the carriage runs", crank_on_the_way),
    ]
}

/// The knife is fitted at a hold of its own, just before a stroke that is too deep for it.
fn knife_leads(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    let met = good.met(at)?;
    let knife = good.mill().knife?;
    let [flat, upright] = knife.homebound_limit;
    let limit = match met.pose.angle {
        Angle::Flat => flat,
        Angle::Upright => upright,
    };
    let home = met.told.to.travel? < met.pose.travel;
    if knife.leads_homebound != home || met.facts.bite <= limit || met.pose.knife {
        return None;
    }
    let put = [Move::Spin(false), hold(&[Act::KnifeOn]), Move::Spin(true)];
    Some(good.with(at, 0, &put).into())
}

/// The pull is shock × k·b·d·v ÷ rim speed × (1 − d/2R): turned round for the speed, and one per cent more.
fn pull_too_hard(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    let met = good.met(at)?;
    let (mill, log) = (good.mill(), good.setup.log);
    let Drive::Powered { holding_force } = mill.drive else {
        return None;
    };
    if met.step.feed != Some(Feed::Climb) {
        return None;
    }
    let metres = |length: Length| f64::from(length.as_um()) / 1e6;
    let (depth, radius) = (metres(met.facts.bite), metres(mill.blade.radius));
    let rim = f64::from(mill.blade.rim_speed.as_um_per_s()) / 1e6;
    let shock = f64::from(mill.factors.shock) / 1000.0;
    let chip = f64::from(log.cutting_energy) * 1e6 * metres(mill.blade.kerf) * depth;
    let pull = shock * chip / rim * (1.0 - depth / (2.0 * radius));
    let speed = 1.01 * f64::from(holding_force) / pull;
    let limit = f64::from(Speed::MAX.as_um_per_s()) / 1e6;
    if !(speed > 0.0 && speed < limit) {
        return None;
    }
    let speed = Speed::um_per_s((speed * 1e6) as u32);
    Some(good.with(at, 1, &[Move::Cut(Cut { speed, ..met.told })]).into())
}

/// Before its first cut the log is in bark 30 mm thick, and a flat kerf goes through that a little over the highest wood.
fn bark_forward(good: &Good<'_>, at: usize, dice: &mut Dice) -> Option<Spoilt> {
    let told = good.cut(at)?;
    let first = (0..at).all(|earlier| good.cut(earlier).is_none());
    let (mill, pose, shape) = (good.mill(), good.pose(at), &good.setup.shape);
    if mill.drive.is_hand() || !first || pose.aid {
        return None;
    }
    let forward = [Stroke::Outbound, Stroke::Homebound]
        .into_iter()
        .find(|stroke| mill.feed(Angle::Flat, *stroke) == Feed::Forward)?;
    let (from, to) = match forward {
        Stroke::Outbound => (mill.travel.min, mill.travel.max),
        Stroke::Homebound => (mill.travel.max, mill.travel.min),
    };
    let (bounds, mut log) = (shape.bounds(), good.setup.log.clone());
    log.bark = Length::mm(30);
    let least = (Length::mm(20) - mill.blade.kerf).wide();
    let flat = Pose {
        travel: from,
        across: bounds.across.hi + Length::mm(60),
        height: bounds.height.hi - shape.bark() + Length::um(dice.between(1_000, least)),
        angle: Angle::Flat,
        ..pose
    };
    let mut put = good.way(&pose, &flat);
    put.push(Move::Cut(Cut {
        to: Targets::travel(to),
        feed: None,
        release: false,
        ..told
    }));
    Some(Spoilt {
        log: Some(log),
        ..good.with(at, 0, &put).into()
    })
}

/// The same kerf from its other end, by hand.
fn climb_by_hand(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    good.met(at)?;
    good.mill().drive.is_hand().then_some(())?;
    turned(good, at)
}

/// The same kerf, cut from its other end.
pub(crate) fn turned(good: &Good<'_>, at: usize) -> Option<Spoilt> {
    let (start, back) = good.turned(at)?;
    let mut put = good.way(&good.pose(at), &start);
    put.push(Move::Cut(back));
    Some(good.with(at, 1, &put).into())
}

fn wrong_label(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    let cut = good.cut(at)?;
    let feed = match good.ran[at].step.feed? {
        Feed::Climb => Feed::Forward,
        Feed::Forward => Feed::Climb,
    };
    let feed = Some(feed);
    Some(good.with(at, 1, &[Move::Cut(Cut { feed, ..cut })]).into())
}

/// A flat kerf and the upright one that frees a single first column of it change places.
fn edge_first(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    let flat = good.met(at)?;
    let later = at + 1..good.moves.len();
    let edge = later.clone().find(|next| good.cut(*next).is_some())?;
    let upright = good.met(edge)?;
    let same = flat.pose.across == upright.pose.across && flat.pose.height == upright.pose.height;
    let notch = flat.pose.angle == Angle::Flat && upright.pose.angle == Angle::Upright;
    let [piece] = upright.ran.freed[..] else {
        return None;
    };
    let first = piece.entry == Edge::Natural && piece.exit != Edge::Natural;
    // Wood has to stand under the column beyond the upright kerf: else that one frees it alone.
    let stands = flat.facts.bite > good.mill().blade.kerf + Length::mm(15);
    let whole = flat.facts.freed == 0 && !flat.told.release && stands;
    let low = lowest(good) == Some(flat.pose.height);
    if !(same && notch && first && whole) || low {
        return None;
    }
    let mut put = good.way(&flat.pose, &upright.pose);
    put.push(Move::Cut(upright.told));
    put.extend(good.way(&upright.step.after, &flat.pose));
    put.push(Move::Cut(flat.told));
    Some(good.with(at, edge + 1 - at, &put).into())
}

/// The lowest height at which a sequence cuts.
pub(crate) fn lowest(good: &Good<'_>) -> Option<Position> {
    let cuts = (0..good.moves.len()).filter(|at| good.cut(*at).is_some());
    cuts.map(|at| good.pose(at).height).min()
}

/// A flat stroke that climbs and frees bark, run the other way; on a carriage without a hand at it.
fn free_forward(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    let met = good.met(at)?;
    let flat = met.pose.angle == Angle::Flat && met.step.feed == Some(Feed::Climb);
    let bark = met.ran.freed.iter().any(|piece| piece.bark_edge);
    let held = met.pose.aid || good.mill().drive.is_hand();
    if !flat || !bark || held {
        return None;
    }
    turned(good, at)
}

/// After a flat kerf that frees nothing, an upright one a little inside its rim, where wood stands on the kerf.
fn edge_what_is_undercut(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    let met = good.met(at)?;
    let (middle, _) = halfway(good, &met)?;
    if met.pose.angle != Angle::Flat || met.facts.freed > 0 {
        return None;
    }
    let (kerf, inside) = (good.mill().blade.kerf, Length::mm(15));
    let rim = met.pose.across - inside;
    let stands = Block {
        travel: Interval::new(middle, middle + Length::mm(1)),
        across: Interval::new(rim - kerf, rim + inside),
        height: Interval::new(met.pose.height + kerf, Position::MAX),
    };
    let above = met.ran.before.met(&good.setup.shape, stands, Pick::Body)?;
    let block = above.across.lo <= rim - kerf && above.across.hi >= rim + inside;
    // The lower corner of what stands there counts, so it has to be cut off from what is under it all across.
    let cut = met.facts.met?.across;
    if !block || above.height.length() < inside || cut.lo > rim - kerf || cut.hi < rim + inside {
        return None;
    }
    let edge = Pose {
        across: rim,
        angle: Angle::Upright,
        ..met.step.after
    };
    let mut put = vec![Move::Cut(met.told)];
    put.extend(good.way(&met.step.after, &edge));
    put.push(Move::Cut(Cut {
        to: Targets::travel(met.pose.travel),
        feed: None,
        ..met.told
    }));
    Some(good.with(at, 1, &put).into())
}

fn rim_beyond(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    let met = good.met(at)?;
    let overhang = met.facts.overhang?;
    let by = good.mill().clearances.rim_overhang - overhang + Length::um(1);
    let rim = across(met.pose.across + by);
    Some(good.with(at, 0, &[rim]).into())
}

/// The move that frees the last group near the bed.
fn last_freeing(good: &Good<'_>) -> Option<usize> {
    let log = good.setup.shape.bounds().height;
    let quarter = log.lo.wide() + (log.hi - log.lo).wide() / 4;
    let frees = |at: &usize| {
        let low = good.pose(*at).height;
        let pieces = &good.ran[*at].freed;
        low.wide() < quarter && pieces.iter().any(|piece| piece.bounds.height.lo >= low)
    };
    (0..good.moves.len()).rev().find(frees)
}

/// Without the strokes in forward feed that free nothing at the last height, back to the last that freed anything
/// there.
fn no_shallow_pass(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    let last = last_freeing(good)?;
    let (freeing, height) = (good.met(last)?, good.pose(last).height);
    if at != last || freeing.pose.angle != Angle::Flat || freeing.pose.aid {
        return None;
    }
    let shallow = |at: &usize| {
        let flat = good.pose(*at).angle == Angle::Flat && good.pose(*at).height == height;
        flat && good.cut(*at).is_some() && good.ran[*at].freed.is_empty()
    };
    let before = (0..last).rev().take_while(|at| good.ran[*at].freed.is_empty());
    let drop: Vec<usize> = before.filter(shallow).collect();
    if drop.is_empty() {
        return None;
    }
    let mut moves = good.moves.clone();
    for at in drop {
        // To the same place, high over the log.
        let to = good.ran[at].step.after;
        let over = [
            up(good.mill().height.max),
            Move::Go(Targets::travel(to.travel)),
            up(to.height),
        ];
        moves.splice(at..=at, over);
    }
    Some(moves.into())
}

fn last_turned(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    let met = good.met(at)?;
    if Some(at) != last_freeing(good) || met.pose.angle != Angle::Flat || met.pose.aid {
        return None;
    }
    turned(good, at)
}

/// Nothing but the width of a kerf is between the blade and what it freed.
fn back_through(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    let met = good.met(at)?;
    let back = Cut {
        to: Targets::travel(met.pose.travel),
        feed: None,
        ..met.told
    };
    (met.facts.freed > 0).then(|| good.with(at + 1, 0, &[Move::Cut(back)]).into())
}

/// Whether a freed piece lies loose before a move.
fn lies(good: &Good<'_>, at: usize) -> bool {
    !good.ran[at].before.pieces().is_empty()
}

pub(crate) fn skip_unload(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    let Move::Hold(hold) = good.moves[at] else {
        return None;
    };
    let unloads = hold.acts.contains(Act::Unload) && lies(good, at);
    unloads.then(|| good.with(at, 1, &[]).into())
}

fn hold_over_log(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    matches!(good.moves[at], Move::Hold(_)).then_some(())?;
    let over = [
        up(good.mill().height.max),
        Move::Go(Targets::travel(good.middle())),
    ];
    Some(good.with(at, 0, &over).into())
}

fn hold_in_kerf(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    let met = good.met(at)?;
    let (_, half) = halfway(good, &met)?;
    let put = [half, hold(&[Act::Sweep]), Move::Cut(met.told)];
    Some(good.with(at, 1, &put).into())
}

fn hands_at_blade(good: &Good<'_>, at: usize, dice: &mut Dice) -> Option<Spoilt> {
    let Move::Hold(told) = good.moves[at] else {
        return None;
    };
    let acts = [
        Act::WedgeLog,
        Act::WedgeKerf,
        Act::Dog,
        Act::KnifeOff,
        Act::AidOn,
        Act::AidOff,
        Act::Measure,
        Act::Reseat,
        Act::Sweep,
        Act::Sharpen,
    ];
    let acts = told.acts.and(dice.pick(&acts));
    let told = Move::Hold(bunkside_protocol::Hold { acts });
    good.pose(at).spinning.then(|| good.with(at, 1, &[told]).into())
}

fn end_over_log(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    let end = good.moves.len();
    (at + 1 == end).then_some(())?;
    let over = [
        up(good.mill().height.max),
        Move::Go(Targets::travel(good.middle())),
    ];
    Some(good.with(end, 0, &over).into())
}

/// Raised as high as it goes, the blade turns over the log's end, its centre just past it.
fn disc_over_end(good: &Good<'_>, at: usize, dice: &mut Dice) -> Option<Spoilt> {
    matches!(good.moves[at], Move::Hold(_)).then_some(())?;
    let (pose, log) = (good.pose(at), good.setup.shape.travel());
    let hangs = Length::mm(dice.within(0, 140));
    let end = if pose.travel <= log.lo {
        log.lo - hangs
    } else {
        log.hi + hangs
    };
    let over = [up(good.mill().height.max), Move::Go(Targets::travel(end))];
    pose.spinning.then(|| good.with(at, 0, &over).into())
}

/// The blade stands, but what was freed has not been taken away.
fn hands_at_loose_piece(good: &Good<'_>, at: usize, dice: &mut Dice) -> Option<Spoilt> {
    matches!(good.moves[at], Move::Hold(_)).then_some(())?;
    let acts: Vec<Act> = Act::ALL.into_iter().filter(|act| *act != Act::Unload).collect();
    let put = [
        Move::Spin(false),
        hold(&[dice.pick(&acts)]),
        Move::Spin(good.pose(at).spinning),
    ];
    lies(good, at).then(|| good.with(at, 0, &put).into())
}

fn end_turning(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    let last = good.moves.iter().rposition(|told| matches!(told, Move::Spin(_)));
    (last == Some(at) && good.pose(at).spinning).then(|| good.with(at, 1, &[]).into())
}

/// Nothing is unloaded after it.
fn leave_lying(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    let unloads = |told: &Move| matches!(told, Move::Hold(hold) if hold.acts.contains(Act::Unload));
    let last = good.moves.iter().rposition(unloads);
    (last == Some(at) && lies(good, at)).then(|| good.with(at, 1, &[]).into())
}

/// A height that is cranked, and the run behind it, in one move.
fn crank_on_the_way(good: &Good<'_>, at: usize, _: &mut Dice) -> Option<Spoilt> {
    let (crank, run) = (good.go(at)?, good.go(at + 1)?);
    let pose = good.pose(at);
    let cranked = pose.is_cranked(good.mill(), &good.moves[at]) && crank.travel.is_none();
    let runs = run.travel.is_some_and(|travel| travel != pose.travel) && run.height.is_none();
    let both = Targets {
        travel: run.travel,
        across: run.across.or(crank.across),
        height: crank.height,
    };
    (cranked && runs).then(|| good.with(at, 2, &[Move::Go(both)]).into())
}
