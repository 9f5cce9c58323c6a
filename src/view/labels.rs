//! Numbers beside the fields that are too small for them: where nothing else stands, with a line that crosses no other number.

use bunkside_protocol::Position;

use super::places::Place;
use super::plane::{Plane, um};
use super::spots::{Field, HALO, Spot, around, half_of};
use super::svg::Place as Corner;

/// Two corners of a drawing.
pub(super) type Box2 = [Corner; 2];

/// Between a field or the log and a number beside it.
const AWAY: f64 = 18.0;
/// How far from the height of its field a number may stand, in parts of its size.
const SHIFTS: [f64; 9] = [0.0, -0.6, 0.6, -1.2, 1.2, -1.8, 1.8, -2.4, 2.4];
/// Looks so often along a line for what it crosses.
const LOOKS: u32 = 60;

/// What a drawing has room for.
#[derive(Clone, Debug)]
pub(super) struct Room {
    /// Within these corners.
    pub(super) frame: Box2,
    /// What nothing may cover: wood that stands, words, figures, the blade.
    pub(super) taken: Vec<Box2>,
    /// Numbers that no line may cross.
    pub(super) numbers: Vec<Box2>,
    leaders: Vec<Box2>,
}

impl Room {
    pub(super) const fn new(frame: Box2) -> Self {
        Self {
            frame,
            taken: Vec::new(),
            numbers: Vec::new(),
            leaders: Vec::new(),
        }
    }

    /// A number that stands in its field.
    pub(super) fn number(&mut self, covers: Box2) {
        self.taken.push(covers);
        self.numbers.push(covers);
    }

    /// The number of a piece beside its field: over it, or beside the log at its side or at the other; taken from then on.
    pub(super) fn beside(
        &mut self,
        plane: &Plane,
        place: &Place,
        field: Field,
        (serial, size): (u16, f64),
    ) -> Option<Spot> {
        let half = half_of(serial, size);
        let own = if field.middle[0] < plane.x(um(place.rough.centre_across())) {
            -1.0
        } else {
            1.0
        };
        let over = [0.0, -1.0, 1.0].into_iter().map(|shift| {
            let up = field.room[1] / 2.0 + AWAY + half[1];
            [field.middle[0] + shift * half[0], field.middle[1] - up]
        });
        let side = |way: f64| {
            SHIFTS
                .into_iter()
                .map(move |shift| [field.middle[0] + way, field.middle[1] + shift * size])
        };
        let beside = side(own).chain(side(-own)).map(|[x, y]| {
            let way = if x < field.middle[0] { -1.0 } else { 1.0 };
            [edge(plane, place, y, half[1], way) + way * (AWAY + half[0]), y]
        });
        let spot = over
            .chain(beside)
            .map(|at| Spot::beside(field, at, size))
            .find(|spot| self.holds(spot, serial))?;
        self.number(spot.covers(serial));
        self.leaders.extend(spot.leader(serial));
        Some(spot)
    }

    fn holds(&self, spot: &Spot, serial: u16) -> bool {
        let [low, high] = around(spot.at, half_of(serial, spot.size).map(|half| half + HALO));
        let [least, most] = self.frame;
        let inside = (0..2).all(|axis| low[axis] >= least[axis] && high[axis] <= most[axis]);
        inside
            && self.taken.iter().all(|other| apart([low, high], *other))
            && self.leaders.iter().all(|line| !crosses(*line, [low, high]))
            && spot.leader(serial).is_none_or(|line| {
                self.numbers.iter().all(|number| !crosses(line, *number))
                    && self.leaders.iter().all(|other| !meet(line, *other))
            })
    }
}

/// How far out the log reaches on one side between two heights of the drawing; its middle above and below it.
fn edge(plane: &Plane, place: &Place, y: f64, half: f64, way: f64) -> f64 {
    let at = |y: f64| {
        let height = Position::um(((plane.y(0.0) - y) / plane.scale) as i64);
        let chord = place.rough.chord(height)?;
        let [lo, hi] = [chord.lo, chord.hi].map(|across| plane.x(um(across)) * way);
        Some(lo.max(hi))
    };
    [y - half, y, y + half]
        .into_iter()
        .filter_map(at)
        .reduce(f64::max)
        .map_or_else(|| plane.x(um(place.rough.centre_across())), |out| out * way)
}

/// Whether two boxes share nothing.
pub(super) fn apart(one: Box2, other: Box2) -> bool {
    let side = |axis: usize| {
        let [a, b] = [one, other].map(|[p, q]| [p[axis].min(q[axis]), p[axis].max(q[axis])]);
        a[1] <= b[0] || b[1] <= a[0]
    };
    side(0) || side(1)
}

/// Whether a line runs through a box.
fn crosses([from, to]: Box2, within: Box2) -> bool {
    (0..=LOOKS).any(|look| {
        let part = f64::from(look) / f64::from(LOOKS);
        let at = [0, 1].map(|axis: usize| from[axis] + (to[axis] - from[axis]) * part);
        !apart([at, at.map(|value| value + 0.01)], within)
    })
}

/// Whether two lines cross.
fn meet([a, b]: Box2, [c, d]: Box2) -> bool {
    let turn =
        |p: Corner, q: Corner, r: Corner| (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0]);
    turn(a, b, c) * turn(a, b, d) < 0.0 && turn(c, d, a) * turn(c, d, b) < 0.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_and_boxes_are_told_apart() {
        let unit = [[0.0, 0.0], [10.0, 10.0]];
        assert!(apart(unit, [[10.0, 0.0], [20.0, 10.0]]) && apart(unit, [[0.0, 12.0], [10.0, 11.0]]));
        // Whichever corner is told first.
        assert!(!apart(unit, [[20.0, 20.0], [9.0, 9.0]]));
        assert!(crosses([[-5.0, 5.0], [15.0, 5.0]], unit) && !crosses([[-5.0, 12.0], [15.0, 12.0]], unit));
        assert!(meet([[0.0, 0.0], [10.0, 10.0]], [[0.0, 10.0], [10.0, 0.0]]));
        assert!(!meet([[0.0, 0.0], [10.0, 10.0]], [[0.0, 2.0], [4.0, 9.0]]));
    }

    /// A number beside a field of 10 by 10 in the middle of a frame: not beyond it, not over what is there, and no line through another
    /// number or line.
    #[test]
    fn a_number_has_room_where_nothing_else_is() {
        let field = Field {
            middle: [100.0, 100.0],
            room: [10.0, 10.0],
        };
        let spot = |at| Spot::beside(field, at, 20.0);
        let room = Room::new([[0.0, 0.0], [200.0, 200.0]]);
        assert!(room.holds(&spot([40.0, 100.0]), 7));
        // Half a figure and its halo stand over the edge.
        assert!(!room.holds(&spot([5.0, 100.0]), 7) && !room.holds(&spot([40.0, 195.0]), 7));
        let with = |change: &dyn Fn(&mut Room)| {
            let mut room = room.clone();
            change(&mut room);
            room.holds(&spot([40.0, 100.0]), 7)
        };
        assert!(!with(&|room| room.taken.push([[30.0, 90.0], [38.0, 110.0]])));
        assert!(with(&|room| room.taken.push([[60.0, 90.0], [80.0, 110.0]])));
        assert!(!with(&|room| room.number([[60.0, 90.0], [80.0, 110.0]])));
        assert!(!with(&|room| room.leaders.push([[70.0, 80.0], [70.0, 120.0]])));
        assert!(with(&|room| room.leaders.push([[70.0, 20.0], [70.0, 60.0]])));
    }
}
