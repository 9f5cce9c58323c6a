//! The rules of practice, physics and consistency: knife, feeds, labels, the order of kerfs, free pieces, holds.

use bunkside_protocol::mill::HeightSetting;
use bunkside_protocol::{Act, Angle, Cut, Drive, Feed, Move, Stroke};

use super::auditor::{Piece, Said, Second, Stroked, add, any, body, not};
use super::machine::{At, Say, blade, half_chord, head, kept, swing, um};
use super::open::open;
use super::screen;
use super::wood::{Bx, FAR, Hard, Um, shared};

/// What can be said of a move before it is made: free pieces and holds.
pub(crate) fn judge(now: &Second<'_>, told: &Move, to: &At, said: &mut Said) {
    let by_hand = matches!(now.ground.mill.height_setting, HeightSetting::ByHand(_));
    if matches!(told, Move::Go(_)) && by_hand {
        let cranks = now.at.spinning && now.at.y != to.y;
        add(said, "hold-parked", false, Say::of(cranks));
        let loose = now.at.y != to.y && !now.pieces.is_empty();
        add(said, "hold-parked", true, Say::of(loose));
        // One man at two cranks, and the carriage on its way.
        let runs = now.at.y != to.y && now.at.z != to.z;
        add(said, "hold-parked", true, Say::of(runs));
    }
    match told {
        Move::Go(_) | Move::Cut(_) | Move::Swing(_) => {
            for piece in &now.pieces {
                add(said, "free-piece", true, strikes(now, told, to, piece));
            }
        }
        Move::Hold(hold) => {
            add(said, "hold-parked", true, parked(now));
            // Whatever is done at a hold but taking pieces away.
            let hands = hold.acts.iter().any(|act| act != Act::Unload);
            add(said, "hold-parked", true, Say::of(now.at.spinning && hands));
            add(said, "hold-parked", true, Say::of(now.at.spinning && hangs(now)));
            let acts = !hold.acts.is_empty();
            add(said, "hold-parked", false, Say::of(!acts));
            let loose = acts && !hold.acts.contains(Act::Unload) && !now.pieces.is_empty();
            add(said, "hold-parked", true, Say::of(loose));
            let unloads = hold.acts.contains(Act::Unload);
            let near = not(Say::of(hangs(now))).and(within_arm(now));
            add(
                said,
                "hold-parked",
                false,
                Say::of(now.at.spinning && unloads).and(near),
            );
            add(
                said,
                "hold-parked",
                false,
                Say::of(unloads && now.pieces.is_empty()),
            );
            if hold.acts.contains(Act::WedgeLog) || hold.acts.contains(Act::Dog) {
                add(said, "hold-parked", false, open(now));
            }
            let mill = now.ground.mill;
            // No world here has dogs.
            let dogs = hold.acts.contains(Act::Dog) && mill.dogs.is_empty();
            add(said, "hold-parked", false, Say::of(dogs));
            for (on, off, there) in [
                (Act::KnifeOn, Act::KnifeOff, mill.knife.is_some()),
                (Act::AidOn, Act::AidOff, mill.aid.is_some()),
            ] {
                let on = hold.acts.contains(on);
                add(said, "hold-parked", true, Say::of(on && hold.acts.contains(off)));
                add(said, "hold-parked", false, Say::of(on && !there));
            }
        }
        Move::Spin(_) => {}
    }
}

/// Whether a move strikes a free piece, or comes where it may have fallen, or nearer than the clearance: a cut only above and below.
fn strikes(now: &Second<'_>, told: &Move, to: &At, piece: &Piece) -> Say {
    let (mill, slack, wood) = (now.ground.mill, now.ground.slack, &now.wood);
    let kerf = um(mill.blade.kerf.as_um());
    let bx = piece.bx;
    // It slides off as it lies, or goes over.
    let out = (bx.x[1] - bx.x[0]).max(bx.y[1] - bx.y[0]);
    let top = bx.y[1] + um(now.ground.log.bark.as_um());
    // It may have sagged or leant by the kerf that freed it.
    let mut zones = vec![Bx {
        z: bx.z,
        x: [bx.x[0] - kerf + 1, bx.x[1] + kerf - 1],
        y: [bx.y[0] - kerf, top],
    }];
    let sides = [
        ([-FAR, bx.x[0]], [now.ground.bounds.x[0] - out, bx.x[0]]),
        ([bx.x[1], FAR], [bx.x[1], now.ground.bounds.x[1] + out]),
    ];
    let mut unsure = Vec::new();
    for (beside, zone) in sides {
        let zone = Bx {
            z: bx.z,
            x: zone,
            y: [0, top],
        };
        let held = |by: Um| wood.meets(Bx { x: beside, ..bx }.grown(0, by), Hard::Wood, any);
        if slack.by == 0 && !held(0) || slack.by > 0 && !held(-2 * slack.by) {
            let surely = slack.by == 0 || !stands_beside(now, beside, piece, slack.by);
            if surely {
                zones.push(zone);
            } else {
                unsure.push(zone);
            }
        }
    }
    let pad = match told {
        Move::Cut(_) => [0, 0, now.clearance()[2]],
        _ => now.clearance(),
    };
    let meets = |zones: &[Bx]| {
        let hit = |other: Bx, _: bool| zones.iter().any(|zone| zone.overlaps(&other));
        match told {
            Move::Swing(angle) if *angle == now.at.angle => Say::No,
            Move::Swing(_) => swing(mill, &now.at, pad, hit),
            _ => {
                let way = [&now.at, to];
                blade(mill, way, pad, hit).or(head(mill, way, pad, hit))
            }
        }
    };
    meets(&zones).or(meets(&unsure).and(Say::Unsure))
}

/// Whether anything stands beside a piece, looked for in a box that is larger up and down but no nearer to it.
fn stands_beside(now: &Second<'_>, beside: [Um; 2], piece: &Piece, by: Um) -> bool {
    let away = |[lo, hi]: [Um; 2]| {
        if lo == -FAR {
            [lo, hi - 2 * by]
        } else {
            [lo + 2 * by, hi]
        }
    };
    let bx = Bx {
        z: piece.bx.z,
        x: away(beside),
        y: [piece.bx.y[0] - by, piece.bx.y[1] + by],
    };
    now.wood.meets(bx, Hard::Wood, any)
}

/// Whether the carriage stands where nobody may go to it.
pub(crate) fn parked(now: &Second<'_>) -> Say {
    let [near, far] = now.wood.length();
    if near < now.at.z && now.at.z < far {
        return Say::Yes;
    }
    let (here, pad) = ([&now.at, &now.at], now.clearance());
    now.blade_in_wood(here, pad, any)
        .or(now.head_in_wood(here, pad, any))
}

/// Whether disc or head is not past the log's ends, nor so far as short rails let it.
fn hangs(now: &Second<'_>) -> bool {
    let (mill, [near, far]) = (now.ground.mill, now.wood.length());
    let radius = um(mill.blade.radius.as_um());
    let [body, ..] = now.clearance();
    let heads = mill.head.iter().flatten();
    let reach = heads
        .map(|part| um(part.max[0].as_um()).max(-um(part.min[0].as_um())))
        .fold(radius, Um::max);
    let [flat, upright] = mill.reach.cover;
    let cover = um(flat.as_um()).max(um(upright.as_um()));
    // Rounded up.
    let least =
        half_chord(radius, cover.clamp(0, radius)) + 1 + kept(mill, um(mill.clearances.run_out.as_um()))[0];
    let past = (near - now.at.z).max(now.at.z - far);
    // Where the carriage has to stop on the rails, at full feed: v²/2a.
    let speed = Um::from(mill.power.feed_max.as_um_per_s());
    let braking = speed * speed / (2 * Um::from(mill.travel.acceleration.max(1)));
    let rails = [
        um(mill.travel.min.as_um()) + braking,
        um(mill.travel.max.as_um()) - braking,
    ];
    let grid = um(mill.grid.as_um()).max(1);
    let fits = |beyond: Um| {
        let (first, last) = (
            (near - beyond).div_euclid(grid),
            -(-far - beyond).div_euclid(grid),
        );
        rails[0] <= first * grid && last * grid <= rails[1]
    };
    let usual = (reach + 2 * body).max(least);
    let enough = if !fits(usual) && fits(least) {
        least.min(reach + body)
    } else {
        reach + body
    };
    past < enough
}

/// Whether somebody at the log's end reaches disc or head past it: 850 mm.
fn within_arm(now: &Second<'_>) -> Say {
    const ARM: Um = 850_000;
    let (mill, [near, far]) = (now.ground.mill, now.wood.length());
    let heads = match now.at.angle {
        Angle::Flat => &mill.head[0],
        Angle::Upright => &mill.head[1],
    };
    let outbound = now.at.z < near;
    let towards = heads.iter().map(|part| match outbound {
        true => um(part.max[0].as_um()),
        false => -um(part.min[0].as_um()),
    });
    let reach = towards.fold(um(mill.blade.radius.as_um()), Um::max);
    let past = (near - now.at.z).max(now.at.z - far) - reach;
    // A chord is rounded.
    Say::over(ARM, past, 2)
}

/// Whether a label is wrong.
pub(crate) fn label(cut: &Cut, feed: Option<Feed>, said: &mut Said) {
    let wrong = cut.feed.zip(feed).is_some_and(|(label, feed)| label != feed);
    add(said, "feed-label", true, Say::of(wrong));
}

/// What can be said of a stroke before it has freed anything.
pub(crate) fn judge_cut(now: &Second<'_>, stroked: &Stroked, said: &mut Said) {
    let (mill, slack) = (now.ground.mill, now.ground.slack);
    for piece in &now.pieces {
        add(
            said,
            "free-piece",
            true,
            screen::alongside(now, stroked.kerf, piece.bx),
        );
    }
    if stroked.met.is_none() && mill.drive.is_hand() && stroked.feed == Some(Feed::Climb) {
        let by = slack.by;
        let bark = |grown: Um, hard: Hard| now.wood.meets(stroked.kerf.grown(0, grown), hard, any);
        let pulls = if bark(-by, Hard::SureBark) {
            Say::Yes
        } else if bark(by, Hard::AnyBark) {
            Say::Unsure
        } else {
            Say::No
        };
        add(said, "climb-powered", true, pulls);
    }
    let Some(met) = stroked.met else { return };
    if let (Some(knife), Some(stroke)) = (mill.knife, stroked.stroke) {
        let [flat, upright] = knife.homebound_limit;
        let limit = match now.at.angle {
            Angle::Flat => um(flat.as_um()),
            Angle::Upright => um(upright.as_um()),
        };
        // It leads one way and trails the other.
        let leads = match stroke {
            Stroke::Homebound => knife.leads_homebound,
            Stroke::Outbound => !knife.leads_homebound,
        };
        let deep = Say::over(stroked.bite, limit, 2 * slack.by);
        add(said, "knife", true, Say::of(leads && now.at.knife).and(deep));
        add(said, "knife", false, Say::of(!leads && !now.at.knife));
    }
    if stroked.feed == Some(Feed::Climb) {
        let pulls = match mill.drive {
            Drive::Hand { .. } => Say::Yes,
            Drive::Powered { holding_force } => pulls(now, stroked, f64::from(holding_force)),
        };
        add(said, "climb-powered", true, pulls);
    }
    match now.at.angle {
        Angle::Upright => {
            add(said, "edge-then-release", true, undercut(now, met));
        }
        Angle::Flat => add(said, "rim-edge", true, overhang(now, stroked, met)),
    }
}

/// Whether a climbing pass pulls harder than the drive holds: k·b·d·v over the rim speed, of which the share
/// 1 − d/2R goes along, and a knot's shock on it.
fn pulls(now: &Second<'_>, stroked: &Stroked, holds: f64) -> Say {
    let (mill, log) = (now.ground.mill, now.ground.log);
    let metres = |um: Um| um as f64 / 1e6;
    let rim = f64::from(mill.blade.rim_speed.as_um_per_s()) / 1e6;
    let shock = f64::from(mill.factors.shock.max(1000)) / 1000.0;
    let radius = metres(mill.blade.radius.as_um().into());
    let pull = |bite: Um| {
        let depth = metres(bite).clamp(0.0, 2.0 * radius);
        let chip = metres(mill.blade.kerf.as_um().into()) * depth;
        let power = f64::from(log.cutting_energy) * 1e6 * chip;
        let speed = f64::from(stroked.told.speed.as_um_per_s()) / 1e6;
        shock * power * speed / rim * (1.0 - depth / (2.0 * radius))
    };
    let by = 2 * now.ground.slack.by;
    let near = [
        pull(stroked.bite - by),
        pull(stroked.bite),
        pull(stroked.bite + by),
    ];
    let hair = 1e-9 * holds + 1e-9;
    if near.iter().all(|pull| *pull > holds + hair) {
        Say::Yes
    } else if near.iter().all(|pull| *pull < holds - hair) {
        Say::No
    } else {
        Say::Unsure
    }
}

/// Whether a kerf runs under the wood that stands just beyond an upright kerf, where it cuts.
fn undercut(now: &Second<'_>, met: Bx) -> Say {
    let slack = now.ground.slack;
    let beside = now.at.x + 1_000;
    let hangs = |by: Um, along: Um| {
        let column = Bx {
            z: [met.z[0] - along, met.z[1] + along],
            x: [beside - by.abs(), beside + by.abs() + 1],
            y: [now.at.y - by, FAR],
        };
        let mut rods = now.wood.within(column).filter(|(_, strip, rod)| {
            let near = by >= 0 || now.wood.across(*strip)[0] <= beside && beside < now.wood.across(*strip)[1];
            near && body(rod.owner) && shared(rod.wood, column.y) > 0
        });
        rods.any(|(slice, strip, rod)| {
            let uncut = now.wood.uncut(slice, Some(strip));
            uncut.is_some_and(|uncut| rod.wood[0] > uncut.wood[0])
        })
    };
    if !hangs(slack.by, slack.along) {
        Say::No
    } else if slack.by == 0 || hangs(-slack.by, -slack.along) {
        Say::Yes
    } else {
        Say::Unsure
    }
}

/// Whether the rim of a flat stroke runs out too far beyond the wood, where none stands over it further out.
fn overhang(now: &Second<'_>, stroked: &Stroked, met: Bx) -> Say {
    let (mill, slack) = (now.ground.mill, now.ground.slack);
    let beyond = |by: Um| Bx {
        z: met.z,
        x: [now.at.x + by, FAR],
        y: [stroked.kerf.y[0] + by, stroked.kerf.y[1] + 1_000 - by],
    };
    let stands = if now.wood.meets(beyond(slack.by), Hard::Wood, body) {
        Say::Yes
    } else if slack.by > 0 && now.wood.meets(beyond(-slack.by), Hard::Wood, body) {
        Say::Unsure
    } else {
        Say::No
    };
    let mut outermost = None;
    for slice in 0..now.wood.slices() {
        if shared(now.wood.slice(slice), met.z) <= 0 {
            continue;
        }
        for strip in 0..now.wood.strips() {
            let held = now.wood.uncut(slice, Some(strip));
            if held.is_some_and(|rod| shared(rod.wood, stroked.kerf.y) > 0) {
                outermost = outermost.max(Some(now.wood.across(strip)[1]));
            }
        }
    }
    let Some(outermost) = outermost else {
        return Say::No;
    };
    // Beyond a face there is no bark.
    let face = now.ground.log.sawn.exit.map_or(FAR, |face| um(face.as_um()));
    let out = now.at.x - (outermost + um(now.ground.log.bark.as_um())).min(face);
    let limit = um(mill.clearances.rim_overhang.as_um());
    not(stands).and(Say::over(out, limit, 2 * slack.by))
}

/// Whether a piece is more than a scrap of 20 cm³.
fn more_than_a_scrap(now: &Second<'_>, piece: Bx) -> Say {
    let millimetres = |[lo, hi]: [Um; 2]| (hi - lo) as f64 / 1000.0;
    let volume = millimetres(piece.x) * millimetres(piece.y) * millimetres(piece.z);
    let about = if now.ground.slack.by > 0 { 0.5 } else { 0.0 };
    if volume >= 20_000.0 * (1.0 + about) {
        Say::Yes
    } else if volume < 20_000.0 * (1.0 - about) {
        Say::No
    } else {
        Say::Unsure
    }
}

/// Whether one box stands over another, by more than a sliver across and along.
fn on_top(now: &Second<'_>, upper: Bx, lower: Bx) -> Say {
    const SLIVER: Um = 3_000;
    let slack = now.ground.slack;
    Say::over(shared(upper.x, lower.x), SLIVER, 2 * slack.by)
        .and(Say::over(shared(upper.z, lower.z), SLIVER, 2 * slack.along))
        .and(Say::over(upper.y[0] - lower.y[1] + 1, 0, 2 * slack.by))
        .and(more_than_a_scrap(now, upper))
        .and(more_than_a_scrap(now, lower))
}

/// Whether two pieces, each sawn on both sides and more than four times as high as it is wide, stand side by side.
fn stand_beside(one: &Piece, other: &Piece, by: Um) -> Say {
    let narrow = |piece: &Piece| {
        let [wide, high] = [piece.bx.x[1] - piece.bx.x[0], piece.bx.y[1] - piece.bx.y[0]];
        let [entry, exit] = piece.natural.map(not);
        Say::over(high - 4 * wide, 0, 5 * by).and(entry).and(exit)
    };
    let apart = (other.bx.x[0] - one.bx.x[1]).max(one.bx.x[0] - other.bx.x[1]);
    Say::over(apart + 1, 0, by)
        .and(Say::over(shared(one.bx.y, other.bx.y), 0, by))
        .and(Say::over(shared(one.bx.z, other.bx.z), 0, by))
        .and(narrow(one))
        .and(narrow(other))
}

/// What can be said of a stroke by what it has freed.
pub(crate) fn judge_freed(now: &Second<'_>, stroked: &Stroked, freed: &[Piece], said: &mut Said) {
    for piece in freed {
        let [wide, high] = [piece.bx.x[1] - piece.bx.x[0], piece.bx.y[1] - piece.bx.y[0]];
        let by = 2 * now.ground.slack.by;
        let mill = now.ground.mill;
        let axis = if wide < high { &mill.across } else { &mill.height };
        let off = 2 * um(axis.play().as_um());
        let thin = Say::over(3_000 + off - wide.min(high), 0, by);
        // It stands on a foot less than an eighth as wide as it is high.
        let [entry, exit] = piece.natural.map(not);
        let stands = Say::over(high - 8 * wide, 0, 9 * by).and(entry).and(exit);
        add(said, "thin-wood", true, stands);
        for other in now.pieces.iter().chain(freed) {
            add(said, "thin-wood", false, stand_beside(piece, other, by));
        }
        add(
            said,
            "thin-wood",
            false,
            thin.and(Say::over(wide.max(high) + 1, 30_000, by)),
        );
    }
    if now.at.angle == Angle::Upright {
        let loose = || now.pieces.iter().chain(freed);
        for upper in freed {
            for lower in loose() {
                add(said, "edge-then-release", true, on_top(now, upper.bx, lower.bx));
            }
            for loose in &now.pieces {
                add(said, "edge-then-release", true, on_top(now, loose.bx, upper.bx));
            }
        }
        return;
    }
    let low = now.near_bed(now.at.y) && now.ground.lowest == Some(now.at.y);
    if let ([piece], false) = (freed, stroked.told.release || low) {
        let [entry, exit] = piece.natural;
        // What reaches to a face that was there before is edged by no kerf.
        let face = now.ground.log.sawn.exit.map(|face| um(face.as_um()));
        let short = |face: Um| Say::over(face - piece.bx.x[1], 50, 2 * now.ground.slack.by);
        let edged = not(exit).and(face.map_or(Say::of(true), short));
        add(said, "flat-first", true, entry.and(edged));
    }
    if stroked.feed == Some(Feed::Forward) {
        let refuses = !now.ground.mill.drive.is_hand();
        for piece in freed.iter().filter(|_| !now.aid_bears(freed)) {
            add(said, "release-climb", refuses, piece.bark);
        }
    }
}
