//! The climb table against the mechanics of the swing: a rim point is followed round, its speed taken from the
//! blade's turning, and nothing of the table is repeated here.

mod support;

use bunkside_protocol::mill::Turn;
use bunkside_protocol::{Angle, Feed, MillRecord, Stroke};

use support::sample;

/// Along the rails outbound, across towards the exit side, upward.
type Vector = [i32; 3];

const TURNS: [Turn; 2] = [Turn::Over, Turn::Under];
const STROKES: [Stroke; 2] = [Stroke::Outbound, Stroke::Homebound];
const FEEDS: [Feed; 2] = [Feed::Climb, Feed::Forward];

/// From the blade's centre to the rim point where the kerf is deepest: the lowest when upright, the one furthest to
/// the exit side when flat.
const fn deepest(angle: Angle) -> Vector {
    match angle {
        Angle::Upright => [0, 0, -1],
        Angle::Flat => [0, 1, 0],
    }
}

/// Speed of a rim point of a blade that turns about an axis through its centre: the cross product.
const fn rim_velocity([wz, wx, wy]: Vector, [rz, rx, ry]: Vector) -> Vector {
    [wx * ry - wy * rx, wy * rz - wz * ry, wz * rx - wx * rz]
}

/// A vector carried along by the swing from flat back to upright, a quarter turn about the rails.
///
/// Over: the centre goes from above the corner to its entry side, so up goes to entry when it swings down, and
/// entry back to up. Under: the lower rim goes to the entry side, so down goes to entry, and entry back to down.
const fn swung_upright([along, across, up]: Vector, turn: Turn) -> Vector {
    match turn {
        Turn::Over => [along, up, -across],
        Turn::Under => [along, -up, across],
    }
}

const fn along(stroke: Stroke) -> i32 {
    match stroke {
        Stroke::Outbound => 1,
        Stroke::Homebound => -1,
    }
}

/// How the blade turns when flat, so that its deepest rim point runs this way.
fn spin_when_flat(teeth: Stroke) -> Vector {
    let spin = [0, 0, 1];
    let [velocity, _, _] = rim_velocity(spin, deepest(Angle::Flat));
    spin.map(|part| part * velocity * along(teeth))
}

/// Speed along the rails of the deepest rim point at an angle.
fn deepest_rim_runs(angle: Angle, turn: Turn, teeth_flat: Stroke) -> i32 {
    let flat = spin_when_flat(teeth_flat);
    let spin = match angle {
        Angle::Flat => flat,
        Angle::Upright => swung_upright(flat, turn),
    };
    let [velocity, _, _] = rim_velocity(spin, deepest(angle));
    velocity
}

fn mill(turn: Turn, teeth_flat: Stroke) -> MillRecord {
    let mut mill = sample::mill(1);
    mill.swing.turn = turn;
    mill.swing.teeth_flat = teeth_flat;
    mill
}

#[test]
fn the_swing_goes_the_way_that_it_is_said_to() {
    // Swinging back upright, over brings the centre from the entry side of the corner to above it; under brings the
    // lower rim's place from the entry side of the centre to below it.
    let entry = [0, -1, 0];
    assert_eq!(swung_upright(entry, Turn::Over), [0, 0, 1]);
    assert_eq!(swung_upright(entry, Turn::Under), [0, 0, -1]);
}

#[test]
fn teeth_feed_and_stroke_follow_from_the_mechanics() {
    for turn in TURNS {
        for teeth_flat in STROKES {
            let mill = mill(turn, teeth_flat);
            for angle in Angle::ALL {
                let name = (turn, teeth_flat, angle);
                let runs = deepest_rim_runs(angle, turn, teeth_flat);
                assert_eq!(along(mill.teeth(angle)), runs, "{name:?}");
                for stroke in STROKES {
                    // Climbing: where the kerf is deepest the teeth run against the carriage.
                    let climbs = runs * along(stroke) < 0;
                    assert_eq!(
                        mill.feed(angle, stroke) == Feed::Climb,
                        climbs,
                        "{name:?} {stroke:?}"
                    );
                }
                for feed in FEEDS {
                    let stroke = mill.stroke(angle, feed);
                    assert_eq!(mill.feed(angle, stroke), feed, "{name:?} {feed:?}");
                }
            }
        }
    }
}

/// Over: the same stroke climbs at both angles. Under: flat climbs homebound while upright climbs outbound, where
/// the flat rim runs outbound; so a hand carriage saws flat outbound, then upright homebound, both forward. Common
/// practice, no source.
#[test]
fn under_climbs_flat_homebound_and_upright_outbound() {
    let under = mill(Turn::Under, Stroke::Outbound);
    assert_eq!(under.stroke(Angle::Flat, Feed::Climb), Stroke::Homebound);
    assert_eq!(under.stroke(Angle::Upright, Feed::Climb), Stroke::Outbound);
    assert_eq!(under.stroke(Angle::Flat, Feed::Forward), Stroke::Outbound);
    assert_eq!(under.stroke(Angle::Upright, Feed::Forward), Stroke::Homebound);
    for teeth_flat in STROKES {
        let over = mill(Turn::Over, teeth_flat);
        for feed in FEEDS {
            assert_eq!(over.stroke(Angle::Flat, feed), over.stroke(Angle::Upright, feed));
        }
    }
}
