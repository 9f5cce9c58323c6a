//! What cannot be true of a mill, judged between its values.

use bunkside_planner::limits::PACK_SLENDER;
use bunkside_planner::machine::room_over_kerf;
use bunkside_protocol::mill::{Axis, Blade, MillRecord, Swing, Turn};
use bunkside_protocol::{Angle, Feed, Length, Stroke};

use crate::diagnostic::{Diagnostic, Span};
use crate::input::Node;

/// How far the pivot may carry the upright blade from where it must lie flat: tapes and drawings are no better.
const PIVOT_TOLERANCE_UM: i64 = 1_000;

/// Where a key stands, or the table that should hold it.
fn place(root: &Node, path: &str) -> Span {
    root.get(path).map_or(root.span, |node| node.span)
}

/// Hub inside the blade, and no cover or bite beyond what stands clear of the hub.
pub(super) fn hub(root: &Node, said: &mut Vec<Diagnostic>) -> Option<()> {
    let (radius, hub) = (root.length("blade.radius")?, root.length("blade.hub")?);
    if hub >= radius {
        let message = format!("`blade.hub` is {hub}, no smaller than the blade's radius of {radius}");
        let help = "write half the diameter of the collars";
        said.push(Diagnostic::error(place(root, "blade.hub"), message).with_help(help));
        return None;
    }
    let clear = radius - hub;
    for angle in ["flat", "upright"] {
        let path = format!("reach.{angle}.cover");
        if let Some(cover) = root.length(&path).filter(|cover| *cover > clear) {
            let message = format!("`{path}` is {cover}, but the blade stands only {clear} out of its hub");
            let help = format!("write at most {clear}: radius {radius} less hub {hub}");
            said.push(Diagnostic::error(place(root, &path), message).with_help(help));
        }
        for bite in [
            "climb.knife_off",
            "climb.knife_on",
            "forward.knife_off",
            "forward.knife_on",
        ] {
            let path = format!("reach.{angle}.{bite}");
            for node in root.items(&path) {
                if let Some(bite) = node.as_length().filter(|bite| *bite > clear) {
                    let message = format!(
                        "`{path}` has a bite of {bite}, but the blade stands only {clear} out of its hub"
                    );
                    said.push(
                        Diagnostic::error(node.span, message).with_help(format!("write at most {clear}")),
                    );
                }
            }
        }
    }
    Some(())
}

/// A cover that the boxes of the head do not leave room for: less than is written is planned with.
pub(super) fn housing(root: &Node, mill: &MillRecord, said: &mut Vec<Diagnostic>) {
    for (angle, name, cover) in [
        (Angle::Flat, "flat", mill.reach.cover[0]),
        (Angle::Upright, "upright", mill.reach.cover[1]),
    ] {
        let room = room_over_kerf(mill, angle, Length::ZERO);
        // What is beyond the hub is said elsewhere.
        if room >= cover || cover > mill.blade.radius - mill.blade.hub {
            continue;
        }
        let path = format!("reach.{name}.cover");
        let (let_wood, planned) = if room < Length::ZERO {
            let short = room.abs();
            (
                format!("keep wood {short} short of the rim"),
                format!("wood that ends {short} short of the rim is planned with"),
            )
        } else {
            (
                format!("let wood come only {room} past the rim"),
                format!("{room} is planned with"),
            )
        };
        let message = format!(
            "`{path}` is {cover}, but the boxes of [[head.{name}]] {let_wood}, `clearance.body` kept"
        );
        let help = format!(
            "{planned}, less the bark; measure cover and boxes from the corner again, and mend what is wrong"
        );
        said.push(Diagnostic::warning(place(root, &path), message).with_help(help));
    }
}

/// The exact pivot of a swing, from the corner: across, height. The kerf is halved to whole micrometres.
///
/// The upright blade's centre stands at `(−kerf/2, R)` from the corner and the flat one's at `(−R, kerf/2)`.
/// `over` turns a quarter with `(x, y) → (−y, x)`, `under` with `(x, y) → (y, −x)`; the one point about which
/// that carries the first onto the second is `(−kerf/2, kerf/2)` or `(−R, R)`.
#[must_use]
pub fn pivot_of(turn: Turn, blade: &Blade) -> [Length; 2] {
    let by = match turn {
        Turn::Over => blade.kerf.half_floor(),
        Turn::Under => blade.radius,
    };
    [-by, by]
}

/// How far a swing carries the upright blade's centre from where it must lie flat: across, height, in micrometres.
#[must_use]
pub fn carried_past(swing: &Swing, blade: &Blade) -> [i64; 2] {
    let half = blade.kerf.half_floor().wide();
    let radius = blade.radius.wide();
    let (pivot_x, pivot_y) = (swing.pivot_across.wide(), swing.pivot_height.wide());
    let (x, y) = (-half - pivot_x, radius - pivot_y);
    let (x, y) = match swing.turn {
        Turn::Over => (-y, x),
        Turn::Under => (y, -x),
    };
    [x + pivot_x + radius, y + pivot_y - half]
}

/// The pivot carries the upright blade onto the flat one.
pub(super) fn pivot(root: &Node, swing: &Swing, blade: &Blade, said: &mut Vec<Diagnostic>) {
    let [across, height] = carried_past(swing, blade);
    let squared = across * across + height * height;
    if squared <= PIVOT_TOLERANCE_UM * PIVOT_TOLERANCE_UM {
        return;
    }
    let past = Length::um(i64::try_from(squared.unsigned_abs().isqrt()).unwrap_or(i64::MAX));
    let [right_across, right_height] = pivot_of(swing.turn, blade);
    let turn = match swing.turn {
        Turn::Over => "over",
        Turn::Under => "under",
    };
    let message =
        format!("this pivot carries the upright blade to a place {past} from where it must lie flat");
    let help = format!(
        "with turn = \"{turn}\" it stands at across = \"{right_across}\", height = \"{right_height}\"; if your drawing says otherwise, look at the turn"
    );
    said.push(Diagnostic::error(place(root, "swing.pivot"), message).with_help(help));
}

/// A climb table that is written down is the one that follows from the swing.
pub(super) fn climbs(root: &Node, mill: &MillRecord, said: &mut Vec<Diagnostic>) {
    for (angle, name) in [(Angle::Flat, "flat"), (Angle::Upright, "upright")] {
        let path = format!("swing.climbs.{name}");
        let Some(written) = root.word(&path) else { continue };
        let follows = stroke_word(mill.stroke(angle, Feed::Climb));
        if written != follows {
            let message = format!(
                "{name} {written} is said to climb, but a blade that swings this way cannot; read the arrow on the guard"
            );
            let help = format!(
                "with this turn and teeth_flat = \"{}\" the {name} blade climbs {follows}; mend whichever of the three is wrong",
                stroke_word(mill.swing.teeth_flat)
            );
            said.push(Diagnostic::error(place(root, &path), message).with_help(help));
        }
    }
}

const fn stroke_word(stroke: Stroke) -> &'static str {
    match stroke {
        Stroke::Outbound => "outbound",
        Stroke::Homebound => "homebound",
    }
}

/// Pairs of which the first must lie below the second.
pub(super) fn order(root: &Node, said: &mut Vec<Diagnostic>) {
    for (low, high) in [
        ("travel.min", "travel.max"),
        ("across.min", "across.max"),
        ("height.min", "height.max"),
        ("power.feed.slowest", "power.feed.fastest"),
        ("power.tooth_bite.least", "power.tooth_bite.most"),
    ] {
        let both = root.number::<i64>(low).zip(root.number::<i64>(high));
        if both.is_some_and(|(low, high)| low >= high) {
            let figure = |key: &str| match low {
                "power.feed.slowest" => root.speed(key).map(|told| told.to_string()),
                _ => root.length(key).map(|told| told.to_string()),
            };
            let [above, below] = [high, low].map(|key| figure(key).unwrap_or_default());
            let message = format!("`{high}` of {above} is not above `{low}` of {below}");
            let help = format!("write a `{high}` above `{low}`");
            said.push(Diagnostic::error(place(root, high), message).with_help(help));
        }
    }
}

/// The carriage runs empty no slower than it may be fed in wood: a cut runs no faster than the carriage does.
pub(super) fn travel(root: &Node, said: &mut Vec<Diagnostic>) {
    let (rapid, fastest) = ("travel.rapid", "power.feed.fastest");
    let (Some(runs), Some(feeds)) = (root.speed(rapid), root.speed(fastest)) else {
        return;
    };
    if runs < feeds {
        let message = format!("`{rapid}` is {runs}, slower than `{fastest}` of {feeds}");
        let help = format!(
            "write {fastest} = \"{runs}\" at most, or measure again how fast the carriage runs empty"
        );
        said.push(Diagnostic::error(place(root, rapid), message).with_help(help));
    }
}

/// No part of the head that lies over the new face is nearer to it than the clearance: every flat cut would be refused.
pub(super) fn over_the_face(root: &Node, said: &mut Vec<Diagnostic>) {
    let (Some(body), Some(tolerance)) = (root.length("clearance.body"), root.length("height.tolerance"))
    else {
        return;
    };
    let (key, clearance) = if tolerance > body {
        ("height.tolerance", tolerance)
    } else {
        ("clearance.body", body)
    };
    for part in root.items("head.flat") {
        let Some(low) = part.items("height").next() else {
            continue;
        };
        let Some(above) = low.as_length().filter(|above| *above < clearance) else {
            continue;
        };
        let message = if above < Length::ZERO {
            format!(
                "this part reaches {} below the new face, into the wood that is left",
                Length::ZERO - above
            )
        } else {
            format!("this part lies {above} above the new face, nearer than `{key}` of {clearance}")
        };
        let measure = "measure again how high the part lies";
        // What lies so low is no matter of the key, which could not be that small.
        let help = if above < Axis::TRUEST {
            format!(
                "{measure}: the blade flat, from the face that it leaves up to the lowest place of the part"
            )
        } else {
            format!("write {key} = \"{above}\" at most, or {measure}")
        };
        said.push(Diagnostic::error(low.span, message).with_help(help));
    }
}

/// Hub and collars lie in one box of the head at each angle, all round the blade's centre: boxes that were measured on another
/// blade, or copied with another profile, would let the real ones run into the log.
pub(super) fn housed(root: &Node, blade: &Blade, said: &mut Vec<Diagnostic>) {
    let (centre, round) = (blade.radius, blade.hub);
    if round >= centre {
        return;
    }
    // Where the centre stands from the corner: flat across, upright in height; and along the rails at the same place as the corner.
    for (path, key, centre) in [
        ("head.flat", "across", Length::ZERO - centre),
        ("head.upright", "height", centre),
    ] {
        let wanted = [
            ("travel", Length::ZERO - round, round),
            (key, centre - round, centre + round),
        ];
        let holds = |part: &Node| {
            wanted.iter().all(|(key, lo, hi)| {
                let ends: Vec<Length> = part.items(key).filter_map(Node::as_length).collect();
                // What is no stretch is told elsewhere.
                let [near, far] = ends.as_slice() else {
                    return true;
                };
                near >= far || (near <= lo && far >= hi)
            })
        };
        let mut parts = root.items(path).peekable();
        let Some(first) = parts.peek().map(|part| part.span) else {
            continue;
        };
        if parts.any(holds) {
            continue;
        }
        let message = format!(
            "no part of `{path}` holds the hub: the blade's centre lies at {key} {centre} and its hub and collars reach {round} round it"
        );
        let [(_, near, far), (_, lo, hi)] = wanted;
        let help = format!(
            "measure the head again, or set blade.radius and blade.hub right: one [[{path}]] has to reach from {near} to {far} in travel \
             and from {lo} to {hi} in {key}, or further"
        );
        said.push(Diagnostic::error(first, message).with_help(help));
    }
}

/// Bunks stand one behind the other and do not overlap.
pub(super) fn bunks(root: &Node, said: &mut Vec<Diagnostic>) {
    let mut last_end: Option<Length> = None;
    for node in root.items("bunk") {
        let (Some(at), Some(size)) = (node.length("at"), node.length("size")) else {
            continue;
        };
        let start = at - size.half_floor();
        if last_end.is_some_and(|end| start < end) {
            let message = format!("the bunk at {at} does not stand behind the one before it");
            let help = "write the bunks by rising `at`, without overlap";
            said.push(Diagnostic::error(place(node, "at"), message).with_help(help));
        }
        last_end = Some(at + size.half_floor());
        if node.word("kind") == Some("steel") && node.get("sacrificial").is_some() {
            let message = "a steel bunk may never be cut into";
            let help = "leave `sacrificial` out, or say kind = \"timber\"";
            said.push(Diagnostic::error(place(node, "sacrificial"), message).with_help(help));
        }
    }
}

/// Packing that no bunk bears: more than three times as high as the widest is wide.
pub(super) fn packing(root: &Node, said: &mut Vec<Diagnostic>) {
    let key = "wedges.packing";
    let widest = root.items("bunk").filter_map(|bunk| bunk.length("size")).max();
    let (Some(packing), Some(widest)) = (root.length(key), widest) else {
        return;
    };
    let most = widest.times(PACK_SLENDER);
    if packing > most {
        let message = format!(
            "`{key}` is {packing}, but a pack falls over that is more than three times as high as its bunk is wide: here above {most}"
        );
        let help = "write how high you really pack; plans warn of packs higher than their bunk is wide";
        said.push(Diagnostic::warning(place(root, key), message).with_help(help));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use bunkside_protocol::{Millis, Speed};

    fn blade(kerf_um: i64, radius_mm: i32) -> Blade {
        Blade {
            kerf: Length::um(kerf_um),
            radius: Length::mm(radius_mm),
            hub: Length::mm(60),
            teeth: 6,
            gullet: 300,
            rim_speed: Speed::mm_per_s(60_000),
            spin_up: Millis::ZERO,
            run_down: Millis::ZERO,
        }
    }

    fn swing(turn: Turn, [across, height]: [Length; 2]) -> Swing {
        Swing {
            pivot_across: across,
            pivot_height: height,
            turn,
            teeth_flat: Stroke::Outbound,
            time: Millis::ZERO,
        }
    }

    #[test]
    fn the_exact_pivot_carries_exactly() {
        for turn in [Turn::Over, Turn::Under] {
            for (kerf, radius) in [(5_500, 280), (5_000, 230), (3_176, 400)] {
                let blade = blade(kerf, radius);
                assert_eq!(carried_past(&swing(turn, pivot_of(turn, &blade)), &blade), [0, 0]);
            }
        }
    }

    #[test]
    fn the_pivot_of_the_other_turn_does_not() {
        let blade = blade(5_500, 280);
        let [across, height] = carried_past(&swing(Turn::Over, pivot_of(Turn::Under, &blade)), &blade);
        assert!(across.abs().max(height.abs()) > 100_000);
    }

    /// A pivot that is off by `e` one way carries the centre off by `e` both ways.
    #[test]
    fn an_error_of_the_pivot_grows_by_root_two() {
        let blade = blade(5_000, 230);
        for turn in [Turn::Over, Turn::Under] {
            let [across, height] = pivot_of(turn, &blade);
            let past = carried_past(&swing(turn, [across + Length::mm(1), height]), &blade);
            assert_eq!(past.map(i64::abs), [1_000, 1_000]);
        }
    }
}
