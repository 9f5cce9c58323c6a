//! Outlines of wood in one section of the log, as rows of places in micrometres: across, up.

use bunkside_planner::geometry::{Interval, Section};
use bunkside_protocol::{Form, Position};

use super::plane::{long, um};
use super::svg::Place;

/// Places on a round outline: the chords leave the curve by a 4000th of the radius.
const PLACES: u32 = 144;

/// A window: stretches across and up.
pub(super) type Window = (Interval, Interval);

/// The outline of a section, counter-clockwise from the exit side.
pub(super) fn outline(section: &Section) -> Vec<Place> {
    around(section, PLACES, |_| 0.0)
}

/// The outline of the bark: the same every time, but rough, by this much in and out.
pub(super) fn rough(section: &Section, by: f64) -> Vec<Place> {
    around(section, PLACES / 2 + 18, |number| by * roughness(number))
}

/// A whole section's outline, each place further out by what `more` says; up to the faces that were sawn before.
fn around(section: &Section, places: u32, more: impl Fn(u32) -> f64) -> Vec<Place> {
    let (across, up) = (um(section.centre_across()), um(section.centre_height()));
    let (half_width, half_height, skew) = section.half_diameters();
    let (half_width, half_height, skew) = (long(half_width), long(half_height), long(skew));
    let kept = |places: Vec<Place>| {
        if section.is_sawn() {
            within(&places, (section.width(), section.height()))
        } else {
            places
        }
    };
    if section.form() == Form::Square {
        let corners = [[1.0, -1.0], [1.0, 1.0], [-1.0, 1.0], [-1.0, -1.0]]
            .map(|[x, y]| [across + x * half_width, up + y * half_height]);
        return kept(corners.to_vec());
    }
    let round = (0..places)
        .map(|number| {
            let turn = core::f64::consts::TAU * f64::from(number) / f64::from(places);
            let (sine, cosine) = (libm::sin(turn), libm::cos(turn));
            let more = more(number);
            [
                across + skew * sine + (half_width + more) * cosine,
                up + (half_height + more) * sine,
            ]
        })
        .collect();
    kept(round)
}

/// From -1 to 1, scattered but always the same.
fn roughness(number: u32) -> f64 {
    let mixed = (number + 1).wrapping_mul(0x9E37_79B1);
    let mixed = (mixed ^ (mixed >> 15)).wrapping_mul(0x85EB_CA6B);
    f64::from((mixed >> 16) & 0xff) / 127.5 - 1.0
}

/// The part of a convex outline that a window holds; empty where it holds none.
pub(super) fn within(outline: &[Place], window: Window) -> Vec<Place> {
    let (across, height) = window;
    let mut kept = outline.to_vec();
    for (axis, edge, keep_above) in [
        (0, um(across.lo), true),
        (0, um(across.hi), false),
        (1, um(height.lo), true),
        (1, um(height.hi), false),
    ] {
        kept = half(&kept, axis, edge, keep_above);
    }
    kept
}

/// The part of a convex outline on one side of a line square to an axis.
fn half(outline: &[Place], axis: usize, edge: f64, keep_above: bool) -> Vec<Place> {
    let inside = |place: Place| (place[axis] >= edge) == keep_above || place[axis] == edge;
    let mut kept = Vec::with_capacity(outline.len() + 2);
    for (number, place) in outline.iter().enumerate() {
        let before = outline[(number + outline.len() - 1) % outline.len()];
        if inside(before) != inside(*place) {
            let part = (edge - before[axis]) / (place[axis] - before[axis]);
            kept.push([
                before[0] + (place[0] - before[0]) * part,
                before[1] + (place[1] - before[1]) * part,
            ]);
        }
        if inside(*place) {
            kept.push(*place);
        }
    }
    kept
}

/// The sawn edges of everything that stands in these windows, where a section holds them: lines square to the axes.
pub(super) fn edges(section: &Section, windows: &[Window]) -> Vec<[Place; 2]> {
    let grid = Grid::of(windows);
    let mut lines = Vec::new();
    for (number, across) in grid.across.iter().enumerate() {
        if let Some(chord) = section.standing_chord(*across) {
            for run in runs(grid.height.len() - 1, |row| {
                grid.full(number.wrapping_sub(1), row) != grid.full(number, row)
            }) {
                let run = Interval::new(grid.height[run.0], grid.height[run.1]).meet(chord);
                if !run.is_empty() {
                    lines.push([[um(*across), um(run.lo)], [um(*across), um(run.hi)]]);
                }
            }
        }
    }
    for (number, height) in grid.height.iter().enumerate() {
        if let Some(chord) = section.chord(*height) {
            for run in runs(grid.across.len() - 1, |column| {
                grid.full(column, number.wrapping_sub(1)) != grid.full(column, number)
            }) {
                let run = Interval::new(grid.across[run.0], grid.across[run.1]).meet(chord);
                if !run.is_empty() {
                    lines.push([[um(run.lo), um(*height)], [um(run.hi), um(*height)]]);
                }
            }
        }
    }
    lines
}

/// Where every edge of some windows lies, and which fields between them are full.
struct Grid {
    across: Vec<Position>,
    height: Vec<Position>,
    full: Vec<bool>,
}

impl Grid {
    fn of(windows: &[Window]) -> Self {
        let sorted = |pick: fn(&Window) -> Interval| {
            let mut places: Vec<Position> = windows
                .iter()
                .flat_map(|window| [pick(window).lo, pick(window).hi])
                .collect();
            places.push(Position::MIN);
            places.push(Position::MAX);
            places.sort_unstable();
            places.dedup();
            places
        };
        let (across, height) = (sorted(|window| window.0), sorted(|window| window.1));
        let mut full = Vec::with_capacity(across.len() * height.len());
        for column in across.windows(2) {
            for row in height.windows(2) {
                let field = (Interval::new(column[0], column[1]), Interval::new(row[0], row[1]));
                full.push(
                    windows
                        .iter()
                        .any(|window| window.0.overlaps(field.0) && window.1.overlaps(field.1)),
                );
            }
        }
        Self { across, height, full }
    }

    fn full(&self, column: usize, row: usize) -> bool {
        let rows = self.height.len() - 1;
        row < rows && column < self.across.len() - 1 && self.full[column * rows + row]
    }
}

/// Runs of numbers below `count` for which something holds: first, and one past the last.
fn runs(count: usize, holds: impl Fn(usize) -> bool) -> Vec<(usize, usize)> {
    let mut found: Vec<(usize, usize)> = Vec::new();
    for number in (0..count).filter(|number| holds(*number)) {
        match found.last_mut() {
            Some(last) if last.1 == number => last.1 = number + 1,
            _ => found.push((number, number + 1)),
        }
    }
    found
}

/// The box around an outline: low corner, high corner; none for an empty one.
pub(super) fn around_of(outline: &[Place]) -> Option<[Place; 2]> {
    let first = *outline.first()?;
    Some(outline.iter().fold([first, first], |[low, high], [x, y]| {
        [
            [low[0].min(*x), low[1].min(*y)],
            [high[0].max(*x), high[1].max(*y)],
        ]
    }))
}

#[cfg(test)]
mod tests {
    use super::*;
    use bunkside_protocol::{Length, Station};

    fn circle(radius: i32) -> Section {
        let station = Station {
            travel: Position::ZERO,
            centre_across: Position::ZERO,
            centre_height: Position::mm(radius),
            half_width: Length::mm(radius),
            half_height: Length::mm(radius),
            skew: Length::ZERO,
        };
        Section::new(Form::Round, &station, Length::ZERO)
    }

    fn mm(lo: i32, hi: i32) -> Interval {
        Interval::new(Position::mm(lo), Position::mm(hi))
    }

    /// Area of a row of places by the shoelace sum, square millimetres.
    fn area(outline: &[Place]) -> f64 {
        let next = outline.iter().cycle().skip(1);
        let twice: f64 = outline
            .iter()
            .zip(next)
            .map(|(a, b)| a[0] * b[1] - b[0] * a[1])
            .sum();
        twice / 2e6
    }

    #[test]
    fn windows_hold_what_the_planner_says() {
        let section = circle(100);
        for (across, height) in [
            (mm(-30, 40), mm(50, 90)),
            (Interval::ALL, mm(150, 300)),
            (mm(20, 200), mm(0, 60)),
            (mm(-90, -80), Interval::ALL),
        ] {
            let held = area(&within(&outline(&section), (across, height)));
            let exact = bunkside_planner::physics::area::moments(&section, across, height).area;
            assert!((held - exact).abs() < 0.002 * 31_416.0, "{held} {exact}");
        }
        assert!(within(&outline(&section), (mm(99, 120), mm(0, 20))).is_empty());
    }

    #[test]
    fn edges_are_where_wood_meets_a_kerf() {
        let section = circle(100);
        // A flat kerf from the exit side to 20 mm before the middle, 5 mm high, leaves the rest in one piece.
        let windows = [
            (Interval::ALL, mm(-100_000, 100)),
            (mm(-100_000, -20), mm(100, 105)),
            (Interval::ALL, mm(105, 100_000)),
        ];
        let mut lines = edges(&section, &windows);
        lines.sort_by(|a, b| a[0][0].total_cmp(&b[0][0]).then(a[0][1].total_cmp(&b[0][1])));
        let near = |a: Place, b: Place| (a[0] - b[0]).abs() < 3.0 && (a[1] - b[1]).abs() < 3.0;
        let wanted = [
            [[-20_000.0, 100_000.0], [100_000.0, 100_000.0]],
            [[-20_000.0, 100_000.0], [-20_000.0, 105_000.0]],
            [[-20_000.0, 105_000.0], [99_875.0, 105_000.0]],
        ];
        assert_eq!(lines.len(), 3, "{lines:?}");
        for line in wanted {
            assert!(
                lines
                    .iter()
                    .any(|found| near(found[0], line[0]) && near(found[1], line[1])),
                "{line:?} of {lines:?}"
            );
        }
    }
}
