//! The rules of the machine: range, straight, reach, swing-clear, move-clear, spin-up.

use bunkside_protocol::mill::Axis;
use bunkside_protocol::{Angle, Move, Speed, Targets};

use super::auditor::{Said, Second, Stroked, add, any, body, hard};
use super::machine::{At, Say, blade, half_chord, head, kept, lowest_in_swing, of_record, play, swing, um};
use super::wood::{Bx, FAR, Hard, Um, meet};

/// How near to its place metal may lie: a hand detector tells no better (common practice, no source).
const METAL_MARGIN: Um = 10_000;

/// What can be said of a move without its kerf.
pub(crate) fn judge(now: &Second<'_>, told: &Move, to: &At, said: &mut Said) {
    let here = &now.at;
    match told {
        Move::Go(targets) => {
            range(now, targets, None, said);
            if here.x != to.x || here.y != to.y {
                add(said, "straight", true, in_wood(now));
            }
            let clearance = now.clearance();
            let blade = now.blade_in_wood([here, to], clearance, body);
            add(said, "move-clear", true, blade);
            clear(now, to, false, said);
        }
        Move::Cut(cut) => {
            range(now, &cut.to, Some(cut.speed), said);
            add(said, "spin-up", true, Say::of(!here.spinning));
            clear(now, to, true, said);
        }
        Move::Swing(_) if here.angle != to.angle => {
            add(said, "straight", true, in_wood(now));
            swings(now, said);
        }
        Move::Spin(on) if *on != here.spinning => {
            let standing = now.blade_in_wood([here, here], now.clearance(), any);
            add(said, "spin-up", true, standing);
        }
        Move::Swing(_) | Move::Spin(_) | Move::Hold(_) => {}
    }
}

/// Whether the blade stands in wood: at its sides, not ahead of it.
fn in_wood(now: &Second<'_>) -> Say {
    let [_, across, up] = now.clearance();
    now.blade_in_wood([&now.at, &now.at], [0, across, up], body)
}

fn range(now: &Second<'_>, targets: &Targets, speed: Option<Speed>, said: &mut Said) {
    let mill = now.ground.mill;
    let ends = |axis: &Axis| [um(axis.min.as_um()), um(axis.max.as_um())];
    for (axis, target) in [
        (&mill.travel, targets.travel),
        (&mill.across, targets.across),
        (&mill.height, targets.height),
    ] {
        let [lo, hi] = ends(axis);
        let outside = target.is_some_and(|target| !(lo..=hi).contains(&um(target.as_um())));
        add(said, "range", true, Say::of(outside));
    }
    let (Some(speed), Some(target)) = (speed, targets.travel) else {
        return;
    };
    let (target, [lo, hi]) = (um(target.as_um()), ends(&mill.travel));
    let wrong = speed.as_um_per_s() == 0 || speed > mill.travel.rapid;
    add(said, "range", true, Say::of(wrong));
    let speed = f64::from(speed.as_um_per_s());
    let stop = (speed * speed / 2.0 / f64::from(mill.travel.acceleration.max(1))).round() as Um;
    if (lo..=hi).contains(&target) {
        let short = (lo + stop - target).max(target + stop - hi);
        add(said, "range", true, Say::over(short, 0, 1));
    }
}

/// Whether head and, outside a cut, blade keep away from wood and from all that stands fixed.
fn clear(now: &Second<'_>, to: &At, cutting: bool, said: &mut Said) {
    let (mill, way, pad) = (now.ground.mill, [&now.at, to], now.clearance());
    add(said, "move-clear", true, now.head_in_wood(way, pad, body));
    let kept_out: Vec<Bx> = mill.keep_out.iter().map(of_record).collect();
    let mut fixed = kept_out.clone();
    fixed.extend(mill.bunks.iter().map(|bunk| {
        let (at, half) = (um(bunk.travel.as_um()), um(bunk.half_size.as_um()));
        Bx {
            z: [at - half, at + half],
            x: [-FAR, FAR],
            y: [-FAR, um(bunk.top.as_um())],
        }
    }));
    let hit = |boxes: &[Bx], bx: Bx| boxes.iter().any(|fixed| fixed.overlaps(&bx));
    let dogs = || now.lying.iter().take(mill.dogs.len());
    let all = |bx: Bx, sure: bool| hit(&fixed, bx) || dogs().any(|dog| dog.overlaps(&bx, sure));
    add(said, "move-clear", true, head(mill, way, pad, all));
    let (lying, off) = (lying(now), kept(mill, um(mill.clearances.bed.as_um())));
    if !cutting {
        let lying = head(mill, way, off, &lying).or(blade(mill, way, off, &lying));
        add(said, "move-clear", true, lying);
    }
    let boxed = |bx: Bx, sure: bool| {
        if cutting {
            hit(&kept_out, bx)
        } else {
            all(bx, sure)
        }
    };
    add(said, "move-clear", true, blade(mill, way, pad, boxed));
    if cutting && now.at.x == to.x && now.at.y == to.y {
        // As much larger as its place is unknown, or the axes may be off.
        let metals = now.ground.log.metal.iter().map(of_record);
        for metal in metals.map(|metal| metal.padded(kept(mill, METAL_MARGIN))) {
            let around = |bx: Bx, sure: bool| {
                let taken = Bx {
                    z: meet(bx.z, metal.z),
                    x: meet(bx.x, metal.x),
                    y: meet(bx.y, metal.y),
                };
                taken.overlaps(&taken) && now.wood.meets(taken, hard(sure), any)
            };
            add(said, "move-clear", true, blade(mill, way, [0; 3], around));
        }
    }
}

fn swings(now: &Second<'_>, said: &mut Said) {
    let (mill, at) = (now.ground.mill, &now.at);
    let [near, far] = now.wood.length();
    if near < at.z && at.z < far {
        add(said, "swing-clear", true, Say::Yes);
        return;
    }
    let pad = now.clearance();
    let wood = swing(mill, at, pad, |bx, sure| now.wood.meets(bx, hard(sure), body));
    add(said, "swing-clear", true, wood);
    let (low, less) = lowest_in_swing(mill, at);
    let [.., up] = play(mill);
    let below = bed_under(now, at) + up - low;
    let bed = if below > 5 {
        Say::Yes
    } else if below + less > 0 {
        Say::Unsure
    } else {
        Say::No
    };
    add(said, "swing-clear", true, bed);
    let boxes: Vec<Bx> = mill.dogs.iter().chain(&mill.keep_out).map(of_record).collect();
    let fixed = swing(mill, at, pad, |bx, _| {
        boxes.iter().any(|fixed| fixed.overlaps(&bx))
    });
    add(said, "swing-clear", true, fixed);
    let off = kept(mill, um(mill.clearances.bed.as_um()));
    add(said, "swing-clear", true, swing(mill, at, off, lying(now)));
}

/// Whether a box meets packs, wedges or closed dogs.
fn lying(now: &Second<'_>) -> impl Fn(Bx, bool) -> bool {
    |bx, sure| now.lying.iter().any(|lying| lying.overlaps(&bx, sure))
}

/// The bed plane, or a bunk under the blade that stands higher.
fn bed_under(now: &Second<'_>, at: &At) -> Um {
    let radius = um(now.ground.mill.blade.radius.as_um());
    let bunks = now.ground.mill.bunks.iter();
    let under =
        bunks.filter(|bunk| (um(bunk.travel.as_um()) - at.z).abs() < um(bunk.half_size.as_um()) + radius);
    under.map(|bunk| um(bunk.top.as_um())).max().unwrap_or(0).max(0)
}

/// What can be said of a stroke and its kerf.
pub(crate) fn judge_cut(now: &Second<'_>, stroked: &Stroked, to: &At, said: &mut Said) {
    let (mill, slack) = (now.ground.mill, now.ground.slack);
    let [flat, upright] = mill.reach.cover;
    let limit = match now.at.angle {
        Angle::Flat => um(flat.as_um()),
        Angle::Upright => um(upright.as_um()),
    };
    let plate = um(mill.blade.radius.as_um()) - um(mill.blade.hub.as_um());
    add(said, "reach", true, Say::of(limit > plate));
    add(
        said,
        "reach",
        true,
        Say::over(stroked.cover, limit.min(plate), slack.by * 2),
    );
    if stroked.met.is_some() {
        let feed = stroked.feed.unwrap_or(bunkside_protocol::Feed::Forward);
        let bite = mill
            .reach
            .bite(now.at.angle, feed, now.at.knife, now.ground.log.timber);
        add(
            said,
            "reach",
            true,
            Say::over(stroked.bite, um(bite.as_um()), slack.by * 2),
        );
    }
    let Some(met) = stroked.met else {
        add(said, "range", true, in_the_end(now, to));
        return;
    };
    let radius = um(mill.blade.radius.as_um());
    let clear = kept(mill, um(mill.clearances.run_out.as_um()))[0];
    let need = half_chord(radius, stroked.cover.clamp(0, radius)) + clear;
    // Half a chord changes faster than the depth near the rim.
    let by = half_chord(radius, (stroked.cover + 2 * slack.by).clamp(0, radius)) + clear - need + 2;
    let ends = now.wood.length();
    for (beyond, wood) in [
        (met.z[0] - now.at.z.min(to.z), met.z[0]),
        (now.at.z.max(to.z) - met.z[1], met.z[1]),
    ] {
        // The log's own ends are known.
        let along = if ends.contains(&wood) { 0 } else { slack.along };
        let past = Say::over(beyond, 0, along);
        let short = Say::over(need - beyond, 0, along + by);
        add(said, "range", true, past.and(short));
    }
}

/// Whether the disc stands in wood where a stroke that meets none begins or ends, the centre no more than a thumb inside the log.
fn in_the_end(now: &Second<'_>, to: &At) -> Say {
    let [lo, hi] = now.wood.length();
    let mut worst = Say::No;
    for at in [&now.at, to] {
        if at.z <= lo + THUMB || at.z >= hi - THUMB {
            let hit = |bx: Bx, _: bool| now.wood.meets(bx, Hard::Wood, body);
            let shrunk = [0; 3];
            worst = worst.or(blade(now.ground.mill, [at, at], shrunk, hit));
        }
    }
    // On a log that is round a strip is known by its middle only.
    if now.ground.slack.by > 0 && worst == Say::Yes {
        Say::Unsure
    } else {
        worst
    }
}

/// So far inside its end a stroke counts as ending at the log's end.
const THUMB: Um = 10_000;
