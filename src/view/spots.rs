//! Where the numbers of pieces stand in a section: in their fields, or beside the log with a line to them.

use bunkside_protocol::Position;

use super::metal;
use super::parts::Part;
use super::places::Place;
use super::plane::{Plane, um};
use super::svg::{Path, Place as Corner, num, run_of};

/// How the numbers of a drawing are set.
#[derive(Clone, Copy, Debug)]
pub(super) struct Lettering {
    /// No number is larger.
    pub(super) largest: f64,
    /// One that would have to be smaller for the width of its field stands beside the log.
    pub(super) smallest: f64,
    /// How large it is there.
    pub(super) beside: f64,
    /// How much of the height of its field a number takes; in a thin board it may stand over the edges.
    pub(super) of_height: f64,
}

/// In a thin board a number is no smaller than this.
const LEAST: f64 = 28.0;
/// From one number beside the log to the next, in parts of its size.
const APART: f64 = 0.85;
/// Between the log and a number beside it.
const AWAY: f64 = 20.0;

/// Where the number of a piece stands in a section.
#[derive(Clone, Copy, Debug)]
pub(super) struct Spot {
    /// Its middle.
    pub(super) at: Corner,
    /// Its height.
    pub(super) size: f64,
    /// Width and height of the piece's field.
    pub(super) room: [f64; 2],
    /// The middle of the field, where the number stands beside the log.
    from: Option<Corner>,
}

/// The places of all numbers, in the order of the pieces: in the middle of its field, as large as that lets it, or beside the log,
/// no two on top of each other; none where the section does not hold the piece.
pub(super) fn spots(plane: &Plane, parts: &[Part], place: &Place, lettering: Lettering) -> Vec<Option<Spot>> {
    let mut spots: Vec<Option<Spot>> = parts
        .iter()
        .map(|part| Spot::of(plane, part, place, lettering))
        .collect();
    for way in [1.0, -1.0] {
        spread(&mut spots, way, lettering.beside * APART);
    }
    spots
}

/// Moves the numbers on one side of the log apart, from the top.
fn spread(spots: &mut [Option<Spot>], way: f64, apart: f64) {
    let mut own: Vec<&mut Spot> = spots
        .iter_mut()
        .flatten()
        .filter(|spot| spot.way() == way)
        .collect();
    own.sort_by(|one, other| one.at[1].total_cmp(&other.at[1]));
    let mut last = f64::NEG_INFINITY;
    for spot in own {
        spot.at[1] = spot.at[1].max(last + apart);
        last = spot.at[1];
    }
}

impl Spot {
    fn of(plane: &Plane, part: &Part, place: &Place, lettering: Lettering) -> Option<Self> {
        let [low, high] = metal::beside(plane, &part.marks, part.place_in(&place.wood)?);
        let room = [(high[0] - low[0]) * plane.scale, (high[1] - low[1]) * plane.scale];
        let number = part.serial.to_string();
        let widest = (room[0] - 6.0) / run_of(&number, 1.0);
        let tall = (room[1] * lettering.of_height).max(LEAST);
        let middle = [(low[0] + high[0]) / 2.0, (low[1] + high[1]) / 2.0];
        let from = plane.at(middle);
        if widest >= lettering.smallest {
            return Some(Self {
                at: from,
                size: tall.min(widest).min(lettering.largest),
                room,
                from: None,
            });
        }
        let size = lettering.beside;
        let height = Position::um(middle[1] as i64);
        let chord = place.rough.chord(height).unwrap_or(place.rough.width());
        let out = AWAY + run_of(&number, size) / 2.0;
        let x = if middle[0] < um(place.rough.centre_across()) {
            plane.x(um(chord.lo)) - plane.exit * out
        } else {
            plane.x(um(chord.hi)) + plane.exit * out
        };
        Some(Self {
            at: [x, from[1]],
            size,
            room,
            from: Some(from),
        })
    }

    /// From a number beside the log to its piece: 1 to the right, −1 to the left; 0 where it stands in its field.
    fn way(&self) -> f64 {
        self.from
            .map_or(0.0, |from| if from[0] > self.at[0] { 1.0 } else { -1.0 })
    }

    /// What a number beside the log covers; none where it stands in its field.
    pub(super) fn covers(&self, serial: u16) -> Option<[Corner; 2]> {
        self.from?;
        let half = [run_of(&serial.to_string(), self.size) / 2.0, self.size * 0.4];
        Some([-1.0, 1.0].map(|way| [0, 1].map(|axis: usize| self.at[axis] + way * half[axis])))
    }

    pub(super) fn drawn(&self, serial: u16) -> String {
        let number = number_at(serial, self.at, self.size);
        let Some(from) = self.from else {
            return number;
        };
        let half = run_of(&serial.to_string(), self.size) / 2.0 + 4.0;
        let mut line = Path::new();
        line.line(from, [self.at[0] + self.way() * half, self.at[1]]);
        line.element("dim") + &number
    }
}

/// A number of a size, around its middle.
pub(super) fn number_at(serial: u16, [x, y]: Corner, size: f64) -> String {
    format!(
        r#"<text class="number mid" style="font-size:{}px" x="{}" y="{}">{serial}</text>"#,
        num(size),
        num(x),
        num(y + size * 0.36)
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Numbers of pieces in thin layers lie too near each other: they move down, each side for itself, in the order of their heights.
    #[test]
    fn numbers_beside_the_log_do_not_cover_each_other() {
        let spot = |y: f64, way: f64| {
            Some(Spot {
                at: [500.0 - way * 300.0, y],
                size: 64.0,
                room: [40.0, 30.0],
                from: Some([500.0, y]),
            })
        };
        let mut spots = [
            spot(130.0, 1.0),
            None,
            spot(100.0, 1.0),
            spot(110.0, -1.0),
            spot(300.0, 1.0),
        ];
        spread(&mut spots, 1.0, 54.4);
        let heights: Vec<f64> = spots.iter().flatten().map(|spot| spot.at[1]).collect();
        assert_eq!(heights, [154.4, 100.0, 110.0, 300.0]);
    }
}
