//! A log as measured and set, as the row of elliptic stations that the planner judges by.
//!
//! A section with half-diameters `a` across and `b` in height, turned by `φ`, is the ellipse of the matrix
//! `S = R·diag(a², b²)·Rᵀ`. Its conjugate half-diameters are `(a·b / √Syy, 0)` and `(Sxy / √Syy, √Syy)`.
//! All of it is computed in floating point and rounded once, to micrometres; the planner sees only integers.

use bunkside_protocol::log::STATIONS_MAX;
use bunkside_protocol::{Length, Position, Sawn, Station};

use super::sawn::{self, Faces};

/// The line that is laid parallel to the rails.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Level {
    /// The line between the centres of the ends.
    Centre,
    /// The line over the tops of the ends.
    Top,
    /// The line under the ends.
    Bottom,
    /// One in between: so many hundredths of the way from the line under the ends to that over their tops.
    Between(u8),
    /// A face that was sawn before, underneath or on top.
    Face,
}

impl Level {
    /// So many hundredths of the way from the line under the ends to that over their tops.
    #[must_use]
    pub const fn of_percent(percent: u8) -> Self {
        match percent {
            0 => Self::Bottom,
            50 => Self::Centre,
            100 => Self::Top,
            other => Self::Between(other),
        }
    }

    /// The same as a number; one in the middle for what lies by a face.
    #[must_use]
    pub const fn percent(self) -> u8 {
        match self {
            Self::Bottom => 0,
            Self::Centre | Self::Face => 50,
            Self::Top => 100,
            Self::Between(percent) => percent,
        }
    }
}

/// What is known of the shape of a log and how it lies.
#[derive(Clone, Copy, Debug)]
pub(super) struct Measured {
    /// Diameters under bark at the near end: across, height.
    pub(super) near: [Length; 2],
    /// The same at the far end.
    pub(super) far: [Length; 2],
    /// Whole length.
    pub(super) length: Length,
    /// Thickness of the bark.
    pub(super) bark: Length,
    /// How far the middle lies off the straight line.
    pub(super) bow: Length,
    /// Which way, in thousandths of a degree from the exit side upwards, before the turn.
    pub(super) toward: i64,
    /// How far the log is rolled, its top towards the entry side, in thousandths of a degree.
    pub(super) turn: i64,
    /// The line laid parallel to the rails.
    pub(super) level: Level,
    /// Where the near end lies along the rails.
    pub(super) near_end_at: Position,
    /// Centre line from the bed's, towards the exit side.
    pub(super) offset: Length,
    /// Faces that were sawn before.
    pub(super) sawn: Faces,
}

impl Measured {
    /// How far the wood reaches from the middle of the near and of the far end, up or across.
    pub(super) fn reach(&self, upright: bool) -> [Length; 2] {
        [self.near, self.far].map(|diameters| {
            let halves = halves(diameters, self.turn);
            let half = if upright {
                halves.half_height
            } else {
                libm::sqrt(halves.half_width * halves.half_width + halves.skew * halves.skew)
            };
            Length::um(rounded(half))
        })
    }
}

/// The stations of a log: two for a straight one, [`STATIONS_MAX`] along a bow. Their lowest point over bark lies at
/// height zero, and so does a face that the log lies on.
pub(super) fn stations(log: &Measured) -> (heapless::Vec<Station, STATIONS_MAX>, Sawn) {
    let spans = if log.bow == Length::ZERO {
        1
    } else {
        STATIONS_MAX - 1
    };
    let rows: heapless::Vec<Station, STATIONS_MAX> = (0..=spans)
        .map(|number| station(log, number as f64 / spans as f64))
        .collect();
    let sawn = log.sawn.planes(&rows, log.offset);
    let lowest = if log.sawn.is_none() {
        rows.iter()
            .map(|row| row.centre_height - row.half_height - log.bark)
            .min()
    } else {
        sawn::lowest(&rows, &sawn, log.bark)
    };
    let lift = Position::ZERO - lowest.unwrap_or(Position::ZERO);
    let rows = rows.into_iter().map(|row| Station {
        centre_height: row.centre_height + lift,
        ..row
    });
    let sawn = Sawn {
        bottom: sawn.bottom.map(|bottom| bottom + lift),
        top: sawn.top.map(|top| top + lift),
        ..sawn
    };
    (rows.collect(), sawn)
}

/// The section a share of the way from the near end to the far one, at the height of its own base line.
fn station(log: &Measured, share: f64) -> Station {
    let near = halves(log.near, log.turn);
    let far = halves(log.far, log.turn);
    let here = halves_between(log, share);
    let bark = micrometres(log.bark);
    let base = |halves: Halves| match log.level {
        Level::Centre | Level::Face => 0.0,
        Level::Top => -halves.half_height - bark,
        Level::Bottom => halves.half_height + bark,
        Level::Between(percent) => (halves.half_height + bark) * (50.0 - f64::from(percent)) / 50.0,
    };
    let off = micrometres(log.bow) * 4.0 * share * (1.0 - share);
    let direction = radians(log.toward + log.turn);
    let [base_near, base_far] = match log.sawn.tilt() {
        Some(tilt) => tilt.map(micrometres),
        None => [base(near), base(far)],
    };
    let height = base_near + (base_far - base_near) * share + off * libm::sin(direction);
    let [swung_near, swung_far] = log.sawn.swing().map(micrometres);
    let off_across = swung_near + (swung_far - swung_near) * share + off * libm::cos(direction);
    Station {
        travel: log.near_end_at + Length::um(rounded(micrometres(log.length) * share)),
        centre_across: Position::um(rounded(micrometres(log.offset) + off_across)),
        centre_height: Position::um(rounded(height)),
        half_width: Length::um(rounded(here.half_width)),
        half_height: Length::um(rounded(here.half_height)),
        skew: Length::um(rounded(here.skew)),
    }
}

/// Conjugate half-diameters in micrometres.
#[derive(Clone, Copy, Debug)]
struct Halves {
    half_width: f64,
    half_height: f64,
    skew: f64,
}

/// Those of an ellipse with diameters across and in height, turned by thousandths of a degree.
fn halves(diameters: [Length; 2], turn: i64) -> Halves {
    turned(diameters.map(|diameter| micrometres(diameter) / 2.0), turn)
}

fn halves_between(log: &Measured, share: f64) -> Halves {
    let mix = |axis: usize| {
        let (near, far) = (micrometres(log.near[axis]), micrometres(log.far[axis]));
        (near + (far - near) * share) / 2.0
    };
    turned([mix(0), mix(1)], log.turn)
}

fn turned([across, height]: [f64; 2], turn: i64) -> Halves {
    if turn == 0 || across == height {
        return Halves {
            half_width: across,
            half_height: height,
            skew: 0.0,
        };
    }
    let (sin, cos) = (libm::sin(radians(turn)), libm::cos(radians(turn)));
    let (across_squared, height_squared) = (across * across, height * height);
    let half_height = libm::sqrt(across_squared * sin * sin + height_squared * cos * cos);
    let mixed = (across_squared - height_squared) * sin * cos;
    Halves {
        half_width: across * height / half_height,
        half_height,
        skew: mixed / half_height,
    }
}

fn micrometres(length: Length) -> f64 {
    f64::from(length.as_um())
}

fn radians(thousandths_of_degree: i64) -> f64 {
    // Exact: at most a million.
    thousandths_of_degree as f64 * core::f64::consts::PI / 180_000.0
}

/// Half away from zero; the callers stay far below the limits of the type.
fn rounded(value: f64) -> i64 {
    libm::round(value) as i64
}

#[cfg(test)]
mod tests {
    use super::*;

    fn log() -> Measured {
        Measured {
            near: [Length::mm(300); 2],
            far: [Length::mm(400); 2],
            length: Length::mm(4_000),
            bark: Length::mm(10),
            bow: Length::ZERO,
            toward: 0,
            turn: 0,
            level: Level::Centre,
            near_end_at: Position::mm(600),
            offset: Length::ZERO,
            sawn: Faces::default(),
        }
    }

    fn stations(log: &Measured) -> heapless::Vec<Station, STATIONS_MAX> {
        super::stations(log).0
    }

    fn underside(station: &Station, bark: Length) -> i64 {
        (station.centre_height - station.half_height - bark).wide()
    }

    #[test]
    fn a_straight_log_has_two_stations_and_touches_the_bed() {
        let rows = stations(&log());
        assert_eq!(rows.len(), 2);
        assert_eq!(
            (rows[0].travel, rows[1].travel),
            (Position::mm(600), Position::mm(4_600))
        );
        assert_eq!(
            (rows[0].half_width, rows[1].half_height),
            (Length::mm(150), Length::mm(200))
        );
        assert_eq!(
            rows[0].centre_height,
            Position::mm(210),
            "level by the centre: the thick end lies on the bed"
        );
        assert_eq!(rows[1].centre_height, Position::mm(210));
    }

    #[test]
    fn each_level_lays_its_own_line_parallel() {
        let low = stations(&Measured {
            level: Level::Bottom,
            ..log()
        });
        assert!(low.iter().all(|row| underside(row, Length::mm(10)) == 0));
        let top = stations(&Measured {
            level: Level::Top,
            ..log()
        });
        let tops: Vec<Position> = top
            .iter()
            .map(|row| row.centre_height + row.half_height)
            .collect();
        assert_eq!(tops[0], tops[1]);
        assert_eq!(underside(&top[1], Length::mm(10)), 0);
        assert_eq!(
            underside(&top[0], Length::mm(10)),
            100_000,
            "the thin end is packed up by the whole taper"
        );
    }

    /// A quarter of the way up from level by the underside the thin end is packed up by a quarter of the taper.
    #[test]
    fn what_lies_between_is_tilted_in_between() {
        for (percent, packed) in [(0, 0), (25, 25), (50, 50), (75, 75), (100, 100)] {
            for level in [Level::of_percent(percent), Level::Between(percent)] {
                let rows = stations(&Measured { level, ..log() });
                assert_eq!(underside(&rows[1], Length::mm(10)), 0, "{level:?}");
                assert_eq!(underside(&rows[0], Length::mm(10)), packed * 1_000, "{level:?}");
            }
        }
    }

    #[test]
    fn a_bow_has_its_rise_in_the_middle_and_ends_on_the_line() {
        for (toward, across, up) in [(0, 30, 0), (90_000, 0, 30), (180_000, -30, 0), (270_000, 0, -30)] {
            let rows = stations(&Measured {
                bow: Length::mm(30),
                toward,
                ..log()
            });
            assert_eq!(rows.len(), STATIONS_MAX);
            let middle = rows[STATIONS_MAX / 2];
            assert_eq!(rows[0].centre_height, rows[STATIONS_MAX - 1].centre_height);
            assert_eq!(middle.centre_across - rows[0].centre_across, Length::mm(across));
            assert_eq!(middle.centre_height - rows[0].centre_height, Length::mm(up));
            assert_eq!(
                rows.iter().map(|row| underside(row, Length::mm(10))).min(),
                Some(0)
            );
            assert_eq!(rows[4].travel, Position::mm(1_600));
        }
    }

    #[test]
    fn the_turn_carries_the_bow_with_it() {
        let rows = stations(&Measured {
            bow: Length::mm(30),
            toward: 0,
            turn: 90_000,
            ..log()
        });
        assert_eq!((rows[8].centre_height - rows[0].centre_height), Length::mm(30));
    }

    #[test]
    fn a_quarter_turn_swaps_the_axes() {
        let oval = Measured {
            near: [Length::mm(300), Length::mm(360)],
            ..log()
        };
        let rows = stations(&Measured { turn: 90_000, ..oval });
        assert_eq!(
            (rows[0].half_width, rows[0].half_height, rows[0].skew),
            (Length::mm(180), Length::mm(150), Length::ZERO)
        );
    }

    /// The top of an upright oval rolled towards the entry side lies there; width and area stay what they are:
    /// reach² = a² cos² φ + b² sin² φ, area = π·a·b.
    #[test]
    #[expect(clippy::disallowed_methods, reason = "the outside check, within a tolerance")]
    fn a_turned_oval_keeps_its_area_and_leans_to_the_entry_side() {
        let oval = Measured {
            near: [Length::mm(300), Length::mm(360)],
            ..log()
        };
        for turn in [1_000, 20_000, 45_000, 80_000, -30_000] {
            let row = stations(&Measured { turn, ..oval })[0];
            let (width, height, skew) = (
                row.half_width.as_um() as f64,
                row.half_height.as_um() as f64,
                row.skew.as_um() as f64,
            );
            assert!((width * height / (150_000.0 * 180_000.0) - 1.0).abs() < 1e-5);
            let (sin, cos) = (radians(turn).sin(), radians(turn).cos());
            let reach = (150_000.0_f64 * cos).hypot(180_000.0 * sin);
            assert!((width.hypot(skew) - reach).abs() < 2.0, "{turn}");
            assert_eq!(skew < 0.0, turn > 0, "{turn}");
        }
    }

    /// A cone frustum, L/3·π·(r² + rR + R²), from the sections that stand linear between the stations (Newton's
    /// rule is exact for it, references of log volume).
    #[test]
    fn the_volume_of_a_straight_log_is_that_of_a_frustum() {
        let rows = stations(&log());
        let area = |share: f64| {
            let mix = |a: Length, b: Length| f64::from(a.as_um()) + f64::from((b - a).as_um()) * share;
            core::f64::consts::PI
                * mix(rows[0].half_width, rows[1].half_width)
                * mix(rows[0].half_height, rows[1].half_height)
                * 1e-12
        };
        let newton = 4.0 / 6.0 * (area(0.0) + 4.0 * area(0.5) + area(1.0));
        let frustum = core::f64::consts::PI * 4.0 / 3.0 * (0.15 * 0.15 + 0.15 * 0.2 + 0.2 * 0.2);
        assert!((newton / frustum - 1.0).abs() < 1e-12);
    }
}
