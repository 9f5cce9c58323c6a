//! What a kerf keeps away from under the log, bed, packing, wedges and dogs, and what of it lies in the way of moves in the air.

use bunkside_protocol::mill::{Bunk, BunkKind};
use bunkside_protocol::{Form, LogRecord, MillRecord};

use super::auditor::{Said, Second, Stroked, add};
use super::machine::{At, Say, blade, kept, of_record, um};
use super::outline::Ellipse;
use super::wood::{Bx, FAR, Um, shared};

/// Wood less wide than this does not hold.
const LIGAMENT: Um = 3_000;

pub(crate) fn judge(now: &Second<'_>, stroked: &Stroked, to: &At, said: &mut Said) {
    let (mill, log) = (now.ground.mill, now.ground.log);
    if stroked.kerf.z[0] >= stroked.kerf.z[1] {
        return;
    }
    let radius = um(mill.blade.radius.as_um());
    let reached = [stroked.kerf.z[0] - radius, stroked.kerf.z[1] + radius];
    let span = |bunk: &Bunk| {
        let (at, half) = (um(bunk.travel.as_um()), um(bunk.half_size.as_um()));
        [at - half, at + half]
    };
    let over: Vec<&Bunk> = mill
        .bunks
        .iter()
        .filter(|bunk| shared(span(bunk), reached) > 0)
        .collect();
    let own = um(mill.clearances.bed.as_um());
    let up = |clearance: Um| kept(mill, clearance)[2];
    let asked = up(own.max(um(log.bed_clearance.as_um())));
    let asked = match log.between_bunks {
        Some(less) if over.is_empty() => up(um(less.as_um())),
        _ => asked,
    };
    let top = over
        .iter()
        .map(|bunk| um(bunk.top.as_um()))
        .max()
        .unwrap_or(0)
        .max(0);
    let low = stroked.kerf.y[0];
    if low - top < asked {
        let spared = |bunk: &&Bunk| match bunk.kind {
            BunkKind::Steel => false,
            BunkKind::Timber { sacrificial } => {
                sacrificial.as_um() > 0 && low >= um(bunk.top.as_um()) - um(sacrificial.as_um())
            }
        };
        let spared = !over.is_empty() && over.iter().all(spared);
        add(said, "bed-clear", !spared, Say::Yes);
    }
    for bunk in over {
        rests(now, stroked, bunk, own, said);
    }
    let dogs: Vec<Bx> = mill
        .dogs
        .iter()
        .map(|dog| drawn_up(log, of_record(dog)))
        .collect();
    let dog = |bx: Bx, _: bool| dogs.iter().any(|dog| dog.overlaps(&bx));
    add(
        said,
        "bed-clear",
        true,
        blade(mill, [&now.at, to], kept(mill, own), dog),
    );
    let wedge = now.wedges.met(mill, &now.at, to, now.ground.slack);
    add(said, "bed-clear", true, wedge);
}

/// How far a dog goes across to the log.
const GOES: Um = 100_000;

/// A dog with what lies between it and the bark of the uncut log beside it, as far as it goes.
fn drawn_up(log: &LogRecord, dog: Bx) -> Bx {
    let middle = dog.z[0] + (dog.z[1] - dog.z[0]).div_euclid(2);
    let [near, far] = ends(log);
    let bark = f64::from(log.bark.as_um());
    let section = Ellipse::at(log, middle as f64);
    let meets = |x: Um| {
        let rod = section.standing(x as f64, bark);
        rod.is_some_and(|rod| shared(rod, dog.y) > 0)
    };
    if !(near..=far).contains(&middle) || (dog.x[0]..=dog.x[1]).step_by(1_000).any(meets) {
        return dog;
    }
    let mut grown = dog;
    if let Some(by) = (0..=GOES).step_by(20).find(|by| meets(dog.x[0] - by)) {
        grown.x[0] -= by;
    } else if let Some(by) = (0..=GOES).step_by(20).find(|by| meets(dog.x[1] + by)) {
        grown.x[1] += by;
    }
    grown
}

/// Over one bunk: packing under the log, wood to rest on, and the wedges on either side.
fn rests(now: &Second<'_>, stroked: &Stroked, bunk: &Bunk, own: Um, said: &mut Said) {
    let (at, slack) = (um(bunk.travel.as_um()), now.ground.slack.by);
    let [near, far] = now.wood.length();
    if !(near..=far).contains(&at) {
        return;
    }
    let Some((rough, wood, line)) = underside(now, at) else {
        return;
    };
    let [_, beside, own] = kept(now.ground.mill, own);
    let (reach, low) = (um(now.ground.mill.wedges.reach.as_um()), stroked.kerf.y[0]);
    let top = um(bunk.top.as_um());
    let over = |from: Um, to: Um, by: Um| shared([line + from - by, line + to + by], stroked.kerf.x);
    let under = |room: Um| {
        if room > slack {
            Say::Yes
        } else if room > -slack {
            Say::Unsure
        } else {
            Say::No
        }
    };
    // A pack lies across the whole bunk.
    let packed = Say::over(rough, top, slack).and(Say::over(own, low - rough, slack));
    add(said, "bed-clear", true, packed);
    if reach > 0 {
        let holds = Say::over(LIGAMENT, low - wood, slack);
        add(said, "bed-clear", true, under(over(-reach, reach, 0)).and(holds));
        let high = um(now.ground.mill.wedges.height.as_um());
        let Some(out) = contact(now.ground.log, at, high.max(0), reach) else {
            return;
        };
        let entry = under(over(-out[0] - reach, -out[0], beside));
        let exit = under(over(out[1], out[1] + reach, beside));
        // On the bunk, or on the pack where the log does not lie on it.
        let near = if rough > top {
            Say::over(own, low - (rough + high), slack)
        } else {
            Say::of(low - (top + high) < own)
        };
        add(said, "bed-clear", true, entry.or(exit).and(near));
    }
}

/// How far out from its lowest line the log meets wedges so high on either side, no further than they reach: where its
/// underside has risen by their height; none where it lies on a face as wide as that.
fn contact(log: &LogRecord, at: Um, high: Um, reach: Um) -> Option<[Um; 2]> {
    let (section, bark) = (Ellipse::at(log, at as f64), f64::from(log.bark.as_um()));
    let line = section.lowest(bark);
    let low = section.standing(line, bark).map_or(0, |rod| rod[0]);
    let met = [-1.0, 1.0].map(|side| {
        let lies = |out: Um| {
            let rod = section.standing(line + side * out as f64, bark);
            rod.is_some_and(|rod| rod[0] <= low + high)
        };
        let (mut near, mut far) = (0, reach);
        if lies(far) {
            return far;
        }
        while far - near > 1 {
            let middle = (near + far) / 2;
            if lies(middle) {
                near = middle;
            } else {
                far = middle;
            }
        }
        near
    });
    (!section.lies_flat(met)).then_some(met)
}

/// Something that lies under the log or closes on it: so far it reaches surely, and so far it may.
#[derive(Clone, Copy)]
pub(crate) struct Lying {
    sure: Bx,
    may: Bx,
}

impl Lying {
    pub(crate) fn overlaps(&self, bx: &Bx, surely: bool) -> bool {
        let held = if surely { &self.sure } else { &self.may };
        held.overlaps(bx)
    }
}

/// Closed dogs, then packs and wedges: a dog is drawn up in steps, a round log told by floats.
pub(crate) fn lying(mill: &MillRecord, log: &LogRecord) -> Vec<Lying> {
    let round = match log.form {
        Form::Round => 25,
        Form::Square => 0,
    };
    let mut all: Vec<Bx> = mill
        .dogs
        .iter()
        .map(|dog| drawn_up(log, of_record(dog)))
        .collect();
    let [near, far] = ends(log);
    for bunk in &mill.bunks {
        let (at, half) = (um(bunk.travel.as_um()), um(bunk.half_size.as_um()));
        if !(near..=far).contains(&at) {
            continue;
        }
        let (section, bark) = (Ellipse::at(log, at as f64), f64::from(log.bark.as_um()));
        let line = section.lowest(bark);
        let low = section.standing(line, bark).map_or(0, |rod| rod[0]);
        let (top, line) = (um(bunk.top.as_um()), line.round() as Um);
        let up_to = |x: [Um; 2], high: Um| Bx {
            z: [at - half, at + half],
            x,
            y: [-FAR, high],
        };
        if low > top {
            all.push(up_to([-FAR, FAR], low));
        }
        let reach = um(mill.wedges.reach.as_um());
        if reach > 0 {
            let high = um(mill.wedges.height.as_um());
            let tip = low.max(top) + high;
            if let Some([entry, exit]) = contact(log, at, high.max(0), reach) {
                all.push(up_to([line - entry - reach, line - entry], tip));
                all.push(up_to([line + exit, line + exit + reach], tip));
            }
        }
    }
    let known = |bx: Bx| Lying {
        sure: bx.grown(0, -round),
        may: bx.grown(0, round),
    };
    all.into_iter().map(known).collect()
}

/// Where the log begins and ends.
fn ends(log: &LogRecord) -> [Um; 2] {
    let (first, last) = (&log.stations[0], &log.stations[log.stations.len() - 1]);
    [first, last].map(|station| um(station.travel.as_um()))
}

/// How low the log reaches at a place along, over bark and under it, and where across.
fn underside(now: &Second<'_>, at: Um) -> Option<(Um, Um, Um)> {
    let all = Bx {
        z: [at - 1, at + 1],
        x: [-FAR, FAR],
        y: [-FAR, FAR],
    };
    let uncut = now.wood.within(all).map(|(slice, strip, _)| (slice, strip));
    let uncut = uncut.filter_map(|(slice, strip)| Some((strip, now.wood.uncut(slice, Some(strip))?)));
    let rods: Vec<_> = uncut.collect();
    let (strip, lowest) = rods.iter().min_by_key(|(_, rod)| rod.wood[0])?;
    let middle = match now.ground.log.form {
        Form::Round if now.ground.log.sawn.bottom.is_some() => {
            let bark = f64::from(now.ground.log.bark.as_um());
            Ellipse::at(now.ground.log, at as f64).lowest(bark).round() as Um
        }
        Form::Round => now.wood.across(*strip).iter().sum::<Um>() / 2,
        Form::Square => {
            let stations = &now.ground.log.stations;
            um(stations[0].centre_across.as_um())
        }
    };
    let rough = rods.iter().map(|(_, rod)| rod.rough[0]).min()?;
    Some((rough, lowest.wood[0], middle))
}
