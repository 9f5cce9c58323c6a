//! Where the numbers of pieces stand in a section: in their fields, upright or turned, else beside them with a line that can be
//! followed.

use super::metal;
use super::parts::Part;
use super::places::Place;
use super::plane::Plane;
use super::svg::{Path, Place as Corner, num, run_of};

/// How the numbers of a drawing are set.
#[derive(Clone, Copy, Debug)]
pub(super) struct Lettering {
    /// No number is larger.
    pub(super) largest: f64,
    /// One that would have to be smaller for the width of its field is turned where that makes it larger.
    pub(super) smallest: f64,
    /// One that would have to be smaller than this, even turned, has no room in its field.
    pub(super) least: f64,
    /// How large it is beside its field.
    pub(super) beside: f64,
    /// How much of the height of its field a number takes; in a thin board it may stand over the edges.
    pub(super) of_height: f64,
}

/// In a thin board a number that has the width for it is no smaller than this.
const LEAST: f64 = 28.0;
/// How high a figure is, in parts of its size.
const FIGURE: f64 = 0.72;
/// Room around a number, at either side.
const AROUND: f64 = 3.0;
/// The paper that a number's outline covers beyond its box.
pub(super) const HALO: f64 = 3.5;

/// Where the number of a piece stands in a section.
#[derive(Clone, Copy, Debug)]
pub(super) struct Spot {
    /// Its middle.
    pub(super) at: Corner,
    /// Its height.
    pub(super) size: f64,
    /// Width and height of the piece's field.
    pub(super) room: [f64; 2],
    /// Whether it is read from below to above.
    turned: bool,
    /// The middle of the field, where the number stands beside it.
    from: Option<Corner>,
}

/// A piece's field in a section: its middle, and its width and height.
#[derive(Clone, Copy, Debug)]
pub(super) struct Field {
    pub(super) middle: Corner,
    pub(super) room: [f64; 2],
}

impl Field {
    /// That of a piece; none where the section does not hold it.
    pub(super) fn of(plane: &Plane, part: &Part, place: &Place) -> Option<Self> {
        let [low, high] = metal::beside(plane, &part.marks, part.place_in(&place.wood)?);
        Some(Self {
            middle: plane.at([(low[0] + high[0]) / 2.0, (low[1] + high[1]) / 2.0]),
            room: [(high[0] - low[0]) * plane.scale, (high[1] - low[1]) * plane.scale],
        })
    }

    /// Its two corners.
    pub(super) fn corners(&self) -> [Corner; 2] {
        around(self.middle, [self.room[0] / 2.0, self.room[1] / 2.0])
    }
}

impl Spot {
    /// In the middle of its field, as large as that lets it; none where it has no room.
    pub(super) fn inside(field: Field, serial: u16, lettering: Lettering) -> Option<Self> {
        let (number, [wide, high]) = (serial.to_string(), field.room);
        let fits = |room: f64| (room - 2.0 * AROUND) / run_of(&number, 1.0);
        let upright = Self {
            at: field.middle,
            size: (high * lettering.of_height)
                .max(LEAST)
                .min(fits(wide))
                .min(lettering.largest),
            room: field.room,
            turned: false,
            from: None,
        };
        if fits(wide) >= lettering.smallest {
            return Some(upright);
        }
        let turned = ((wide - 2.0) / FIGURE).min(fits(high)).min(lettering.smallest);
        let level = ((high - 2.0) / FIGURE).min(fits(wide));
        let small = Self {
            size: turned.max(level),
            turned: turned > level,
            ..upright
        };
        (small.size >= lettering.least).then_some(small)
    }

    /// Beside its field, around a place.
    pub(super) const fn beside(field: Field, at: Corner, size: f64) -> Self {
        Self {
            at,
            size,
            room: field.room,
            turned: false,
            from: Some(field.middle),
        }
    }

    /// What it covers, as two corners.
    pub(super) fn covers(&self, serial: u16) -> [Corner; 2] {
        let half = half_of(serial, self.size);
        around(self.at, if self.turned { [half[1], half[0]] } else { half })
    }

    /// From the field to a number beside it.
    pub(super) fn leader(&self, serial: u16) -> Option<[Corner; 2]> {
        let from = self.from?;
        let half = half_of(serial, self.size).map(|half| half + 2.0 * HALO);
        let out = [0, 1].map(|axis: usize| from[axis] - self.at[axis]);
        // As far from the middle of the number as its edge in this direction.
        let share = [0, 1]
            .into_iter()
            .map(|axis: usize| half[axis] / out[axis].abs().max(0.01))
            .fold(1.0, f64::min);
        Some([from, [0, 1].map(|axis: usize| self.at[axis] + out[axis] * share)])
    }

    pub(super) fn drawn(&self, serial: u16) -> String {
        let mut line = Path::new();
        if let Some([from, to]) = self.leader(serial) {
            line.line(from, to);
        }
        let number = if self.turned {
            turned_at(serial, self.at, self.size)
        } else {
            number_at(serial, self.at, self.size)
        };
        line.element("dim") + &number
    }
}

/// Half the width and half the height of a number of a size.
pub(super) fn half_of(serial: u16, size: f64) -> [f64; 2] {
    [run_of(&serial.to_string(), size) / 2.0, size * FIGURE / 2.0]
}

/// The box around a middle.
pub(super) fn around(at: Corner, half: [f64; 2]) -> [Corner; 2] {
    [-1.0, 1.0].map(|way| [0, 1].map(|axis: usize| at[axis] + way * half[axis]))
}

/// A number of a size, around its middle.
pub(super) fn number_at(serial: u16, [x, y]: Corner, size: f64) -> String {
    format!(
        r#"<text class="number mid" style="font-size:{}px" x="{}" y="{}">{serial}</text>"#,
        num(size),
        num(x),
        num(y + size * FIGURE / 2.0)
    )
}

/// The same, read from below to above.
fn turned_at(serial: u16, [x, y]: Corner, size: f64) -> String {
    format!(
        r#"<text class="number mid" style="font-size:{}px" transform="translate({} {})rotate(-90)">{serial}</text>"#,
        num(size),
        num(x + size * FIGURE / 2.0),
        num(y)
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    const LETTERING: Lettering = Lettering {
        largest: 96.0,
        smallest: 52.0,
        least: 24.0,
        beside: 66.0,
        of_height: 1.2,
    };

    fn inside(wide: f64, high: f64) -> Option<Spot> {
        let middle = [500.0, 500.0];
        let room = [wide, high];
        Spot::inside(Field { middle, room }, 27, LETTERING)
    }

    /// However wide and high its field is, a number that stands in it is no wider; one that is turned no higher either.
    #[test]
    fn a_number_keeps_within_the_width_of_its_field() {
        let (mut turned, mut none) = (0, 0);
        for wide in (10..=200).step_by(5).map(f64::from) {
            for high in (10..=200).step_by(5).map(f64::from) {
                let Some(spot) = inside(wide, high) else {
                    none += 1;
                    continue;
                };
                let [low, up] = spot.covers(27);
                assert!(up[0] - low[0] <= wide, "{wide} by {high}: {spot:?}");
                assert!(
                    !spot.turned || up[1] - low[1] <= high,
                    "{wide} by {high}: {spot:?}"
                );
                assert!(spot.size >= LETTERING.least && spot.size <= LETTERING.largest);
                turned += i32::from(spot.turned);
            }
        }
        assert!(turned > 100 && none > 100, "{turned} {none}");
    }

    /// High and narrow it is turned, wide and low it lies, in a small field it has no room.
    #[test]
    fn a_number_is_turned_where_that_makes_it_larger() {
        assert!(inside(40.0, 200.0).is_some_and(|spot| spot.turned));
        assert!(inside(200.0, 40.0).is_some_and(|spot| !spot.turned));
        assert!(inside(15.0, 200.0).is_none() && inside(20.0, 20.0).is_none());
    }

    /// The line to a number ends before its box, on the side where the field is.
    #[test]
    fn the_line_to_a_number_ends_beside_it() {
        let field = Field {
            middle: [100.0, 100.0],
            room: [10.0, 10.0],
        };
        let spot = Spot::beside(field, [20.0, 100.0], 40.0);
        let [from, to] = spot.leader(8).unwrap();
        let [_, high] = spot.covers(8);
        assert_eq!((from, to[1]), ([100.0, 100.0], 100.0));
        assert!(to[0] > high[0] && to[0] < 100.0, "{to:?}");
        assert_eq!(inside(200.0, 200.0).unwrap().leader(8), None);
    }
}
