//! Whether a stroke saws a sheet of bark loose without any wood on it, by rods.

use bunkside_protocol::{Angle, Feed};

use super::auditor::{Said, Second, Stroked, add, body};
use super::boxes::{Bx, FAR, Um, around, meet, shared};
use super::machine::{Say, um};
use super::wood::Hard;

/// What is thinner falls apart.
const SHEET: Um = 10_000;

/// A sheet: whether it is one, and from where to where across it lies.
#[derive(Clone, Copy)]
pub(crate) struct Sheet {
    say: Say,
    x: [Um; 2],
}

/// What a stroke is about to saw loose, on any side of its kerf.
pub(crate) fn beyond(now: &Second<'_>, stroked: &Stroked) -> Vec<Sheet> {
    let kerf = stroked.kerf;
    if !now.wood.meets(kerf, Hard::AnyBark, body) {
        return Vec::new();
    }
    let sides = match now.at.angle {
        Angle::Flat => vec![Bx {
            y: [kerf.y[1], FAR],
            ..kerf
        }],
        Angle::Upright => [[-FAR, kerf.x[0]], [kerf.x[1], FAR]]
            .map(|x| Bx { x, ..kerf })
            .to_vec(),
    };
    sides.into_iter().filter_map(|side| alone(now, side)).collect()
}

/// The bark in a box where there is no wood of the body.
fn alone(now: &Second<'_>, side: Bx) -> Option<Sheet> {
    let slack = now.ground.slack.by;
    let (mut thick, mut x, mut wood) = (0, None, 0);
    for slice in 0..now.wood.slices() {
        let here = Bx {
            z: meet(now.wood.slice(slice), side.z),
            ..side
        };
        let (mut wide, mut high): (Option<[Um; 2]>, Option<[Um; 2]>) = (None, None);
        for (_, strip, rod) in now.wood.within(here).filter(|(.., rod)| body(rod.owner)) {
            wood = wood.max(shared(rod.wood, side.y).min(rod.wood[1] - rod.wood[0]));
            let held = meet(rod.rough, side.y);
            if held[0] < held[1] {
                let across = meet(now.wood.across(strip), side.x);
                wide = Some(wide.map_or(across, |wide| around(wide, across)));
                high = Some(high.map_or(held, |high| around(high, held)));
            }
        }
        if let (Some(wide), Some(high)) = (wide, high) {
            thick = thick.max((wide[1] - wide[0]).min(high[1] - high[0]));
            x = Some(x.map_or(wide, |x| around(x, wide)));
        }
    }
    let bare = match wood {
        ..=0 => Say::Yes,
        some if some <= 4 * slack => Say::Unsure,
        _ => Say::No,
    };
    let bare = if slack > 0 { bare.and(Say::Unsure) } else { bare };
    let say = bare.and(Say::over(thick + 1, SHEET, 4 * slack));
    let say = if um(now.ground.log.bark.as_um()) < SHEET {
        Say::No
    } else {
        say
    };
    x.filter(|_| say != Say::No).map(|x| Sheet { say, x })
}

/// What is said of them once the stroke is done.
pub(crate) fn judge(now: &Second<'_>, stroked: &Stroked, sheets: &[Sheet], said: &mut Said) {
    for sheet in sheets {
        let say = sheet.say.and(comes_loose(now, stroked));
        add(said, "thin-wood", false, say);
        let forward = now.at.angle == Angle::Flat && stroked.feed == Some(Feed::Forward);
        let aid = now.ground.mill.aid.filter(|_| now.at.aid);
        let held = aid.map_or(Say::No, |aid| {
            let wide = sheet.x[1] - sheet.x[0];
            Say::over(um(aid.widest.as_um()) - wide + 1, 0, 2 * now.ground.slack.by)
        });
        let refuses = !now.ground.mill.drive.is_hand();
        let free = say.and(super::auditor::not(held)).and(Say::of(forward));
        add(said, "release-climb", refuses, free);
    }
}

/// Whether nothing stands over a flat kerf just beyond its rim, on which the bark would hang. Where the kerf meets nothing but
/// bark, nobody says what becomes of the rest.
fn comes_loose(now: &Second<'_>, stroked: &Stroked) -> Say {
    let (kerf, by) = (stroked.kerf, 2 * now.ground.slack.by);
    let beyond = |by: Um| Bx {
        x: [kerf.x[1] - by, kerf.x[1] + 1_000 + by],
        y: [kerf.y[1], FAR],
        ..kerf
    };
    let stands = |bx: Bx| {
        let strips = |strip: usize| now.wood.across(strip)[0] >= kerf.x[1] - by;
        let mut rods = now.wood.within(bx).filter(|(_, strip, _)| strips(*strip));
        rods.any(|(.., rod)| body(rod.owner) && shared(rod.rough, bx.y) > 0)
    };
    if now.at.angle == Angle::Upright || !stands(beyond(by)) {
        Say::Yes
    } else if stroked.met.is_none() || by > 0 {
        Say::Unsure
    } else {
        Say::No
    }
}
