//! Textures as plain lines, cut off at the edges of what they fill: a pattern that repeats itself prints as a picture for
//! every place it is used at, and makes a report of a hundred steps too large to send.

use super::svg::{Path, Place};

/// How a texture is drawn.
#[derive(Clone, Copy, Debug)]
struct Texture {
    /// What fields are called that carry it.
    name: &'static str,
    /// What its lines are called.
    line: &'static str,
    /// Along its lines, of length one.
    way: Place,
    /// From one line to the next.
    apart: f64,
    /// From one dot to the next, where its lines are dotted.
    dots: Option<f64>,
}

const SLANT: f64 = std::f64::consts::FRAC_1_SQRT_2;

/// Hatch of what is released, stipple of slabs and waste, section lines of packs and ground, grain of timbers.
const TEXTURES: [Texture; 8] = [
    diagonal("hatch", "hair", -SLANT, 16.0),
    Texture {
        name: "stipple",
        line: "dot",
        way: [1.0, 0.0],
        apart: 10.0,
        dots: Some(14.0),
    },
    diagonal("timber", "grain", SLANT, 12.0),
    diagonal("ground", "grain", SLANT, 14.0),
    diagonal("stop", "grain", SLANT, 18.0),
    diagonal("pale", "grain", SLANT, 14.0),
    diagonal("swept", "hair", -SLANT, 26.0),
    Texture {
        name: "beam",
        line: "grain",
        way: [1.0, 0.0],
        apart: 7.0,
        dots: None,
    },
];

const fn diagonal(name: &'static str, line: &'static str, right: f64, apart: f64) -> Texture {
    Texture {
        name,
        line,
        way: [right, SLANT],
        apart,
        dots: None,
    }
}

/// The texture of a class, drawn within closed rings; nothing for a class that has none.
pub(super) fn within(class: &str, rings: &[Vec<Place>]) -> String {
    let own = |texture: &&Texture| class.split(' ').any(|word| word == texture.name);
    let Some(texture) = TEXTURES.iter().find(own) else {
        return String::new();
    };
    let mut lines = Path::new();
    for ring in rings {
        texture.fill(ring, &mut lines);
    }
    lines.element(texture.line)
}

impl Texture {
    /// Along its lines and across them.
    fn turned(&self, [x, y]: Place) -> Place {
        let [right, down] = self.way;
        [x * right + y * down, y * right - x * down]
    }

    fn back(&self, [along, across]: Place) -> Place {
        let [right, down] = self.way;
        [along * right - across * down, along * down + across * right]
    }

    /// Its lines within one ring. They lie on one grid for the whole drawing, so that neighbours join.
    fn fill(&self, ring: &[Place], lines: &mut Path) {
        let ring: Vec<Place> = ring.iter().map(|place| self.turned(*place)).collect();
        let over = |pick: fn(f64, f64) -> f64, from| ring.iter().map(|place| place[1]).fold(from, pick);
        let (low, high) = (over(f64::min, f64::INFINITY), over(f64::max, f64::NEG_INFINITY));
        let first = (low / self.apart - 0.5).ceil();
        let count = ((high / self.apart - 0.5 - first).floor() + 1.0).clamp(0.0, 2_000.0);
        for number in 0..count as u32 {
            let row = first + f64::from(number);
            let across = (row + 0.5) * self.apart;
            for pair in crossings(&ring, across).chunks_exact(2) {
                if let Some([from, to]) = self.stretch([pair[0], pair[1]], row) {
                    lines.stroke(self.back([from, across]), self.back([to, across]));
                }
            }
        }
    }

    /// What is drawn of a stretch of a row; of a dotted one from the first dot within it to the last, every other row half a
    /// dot further.
    fn stretch(&self, [from, to]: [f64; 2], row: f64) -> Option<[f64; 2]> {
        let Some(dots) = self.dots else {
            return (to - from > 2.0).then_some([from, to]);
        };
        let shift = row.rem_euclid(2.0) * dots / 2.0;
        let clear = 3.0;
        let first = ((from + clear - shift) / dots).ceil() * dots + shift;
        let last = ((to - clear - shift) / dots).floor() * dots + shift;
        (first <= last).then_some([first, last + 2.0])
    }
}

/// Where a line across a ring meets its edges, in order.
fn crossings(ring: &[Place], across: f64) -> Vec<f64> {
    let next = ring.iter().cycle().skip(1);
    let edges = ring.iter().zip(next);
    let met = edges.filter(|(a, b)| (a[1] <= across) != (b[1] <= across));
    let mut met: Vec<f64> = met
        .map(|(a, b)| a[0] + (b[0] - a[0]) * (across - a[1]) / (b[1] - a[1]))
        .collect();
    met.sort_by(f64::total_cmp);
    met
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(side: f64) -> Vec<Place> {
        vec![[0.0, 0.0], [side, 0.0], [side, side], [0.0, side]]
    }

    /// The ends of the lines in a path.
    fn ends(drawn: &str) -> Vec<f64> {
        let path = drawn.split("d=\"").nth(1).unwrap();
        let path = path.split('"').next().unwrap();
        let pair = |text: &str| -> [f64; 2] {
            let (x, y) = text.split_once(',').unwrap_or((text, "0"));
            [x, y].map(|number| number.parse().unwrap())
        };
        let lines = path.split('M').skip(1);
        lines
            .flat_map(|line| {
                let (from, by) = line.split_once(['l', 'h']).unwrap();
                let ([x, y], [right, down]) = (pair(from), pair(by));
                [x, y, x + right, y + down]
            })
            .collect()
    }

    #[test]
    fn lines_stay_within_what_they_fill() {
        for texture in TEXTURES {
            let drawn = within(&format!("plan {}", texture.name), &[square(100.0)]);
            assert!(drawn.contains(texture.line), "{drawn}");
            let ends = ends(&drawn);
            assert!(ends.len() >= 12, "{} {drawn}", texture.name);
            for end in ends {
                assert!((-0.5..=100.5).contains(&end), "{} {end}", texture.name);
            }
        }
        assert_eq!(within("plan", &[square(100.0)]), "");
        assert_eq!(within("hatch", &[]), "");
    }

    #[test]
    fn a_hollow_is_left_out() {
        let notched = [
            [0.0, 0.0],
            [30.0, 0.0],
            [30.0, 50.0],
            [70.0, 50.0],
            [70.0, 0.0],
            [100.0, 0.0],
            [100.0, 60.0],
            [0.0, 60.0],
        ];
        assert_eq!(crossings(&notched, 20.0), [0.0, 30.0, 70.0, 100.0]);
        assert_eq!(crossings(&notched, 55.0), [0.0, 100.0]);
    }
}
