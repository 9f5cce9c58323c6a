//! Sections and their chords against the ellipse's own formula in `f64`.

use bunkside_planner::geometry::{Interval, Section, Shape};
use bunkside_protocol::{Form, Length, LogRecord, Position, Sawn, Station, Surface, Timber};

use crate::dice::Dice;

/// The five numbers of a section, in micrometres.
#[derive(Clone, Copy, Debug)]
pub(super) struct Ellipse {
    pub(super) across: f64,
    pub(super) height: f64,
    pub(super) half_width: f64,
    pub(super) half_height: f64,
    pub(super) skew: f64,
    /// What faces leave of everything: across, up.
    pub(super) left: [[f64; 2]; 2],
}

const EVERYTHING: [[f64; 2]; 2] = [[f64::MIN, f64::MAX]; 2];

impl Ellipse {
    pub(super) fn of(section: &Section) -> Self {
        let (half_width, half_height, skew) = section.half_diameters();
        Self {
            across: section.centre_across().as_um().into(),
            height: section.centre_height().as_um().into(),
            half_width: half_width.as_um().into(),
            half_height: half_height.as_um().into(),
            skew: skew.as_um().into(),
            left: EVERYTHING,
        }
    }

    pub(super) fn of_station(station: &Station) -> Self {
        Self {
            across: station.centre_across.as_um().into(),
            height: station.centre_height.as_um().into(),
            half_width: station.half_width.as_um().into(),
            half_height: station.half_height.as_um().into(),
            skew: station.skew.as_um().into(),
            left: EVERYTHING,
        }
    }

    /// What faces leave of it.
    pub(super) fn left_by(self, sawn: &Sawn) -> Self {
        let between = |lo: Option<Position>, hi: Option<Position>| {
            let um = |place: Position| f64::from(place.as_um());
            [lo.map_or(f64::MIN, um), hi.map_or(f64::MAX, um)]
        };
        let left = [between(sawn.entry, sawn.exit), between(sawn.bottom, sawn.top)];
        Self { left, ..self }
    }

    /// The standing stretch of wood at a place across, if there is any.
    pub(super) fn wood(&self, across: f64) -> Option<[f64; 2]> {
        let [[entry, exit], [bottom, top]] = self.left;
        if (across - self.across).abs() >= self.reach() || across < entry || across > exit {
            return None;
        }
        let [lo, hi] = self.standing(across);
        let held = [lo.max(bottom), hi.min(top)];
        (held[0] < held[1]).then_some(held)
    }

    /// Where its lowest place lies across, and how high.
    pub(super) fn lowest(&self) -> [f64; 2] {
        let [[entry, exit], [bottom, _]] = self.left;
        let across = (self.across - self.skew).max(entry).min(exit);
        let reach = self.reach() * (1.0 - 1e-9);
        let across = across.clamp(self.across - reach, self.across + reach);
        let [lo, _] = self.standing(across);
        [across, lo.max(bottom)]
    }

    /// Part of the way to another one.
    pub(super) fn mix(&self, other: &Self, part: f64) -> Self {
        let mix = |a: f64, b: f64| a + (b - a) * part;
        Self {
            across: mix(self.across, other.across),
            height: mix(self.height, other.height),
            half_width: mix(self.half_width, other.half_width),
            half_height: mix(self.half_height, other.half_height),
            skew: mix(self.skew, other.skew),
            left: self.left,
        }
    }

    /// The share of the middle chord that the chord at a height is long.
    pub(super) fn share(&self, height: f64) -> f64 {
        let sine = (height - self.height) / self.half_height;
        (1.0 - sine * sine).max(0.0).sqrt()
    }

    /// Both ends of the lying chord at a height.
    pub(super) fn lying(&self, height: f64) -> [f64; 2] {
        let middle = self.across + self.skew * (height - self.height) / self.half_height;
        let half = self.half_width * self.share(height);
        [middle - half, middle + half]
    }

    /// Half of the whole width.
    pub(super) fn reach(&self) -> f64 {
        (self.half_width * self.half_width + self.skew * self.skew).sqrt()
    }

    /// The share of the middle standing chord that the one at a place across is long.
    fn standing_share(&self, across: f64) -> f64 {
        let sine = (across - self.across) / self.reach();
        (1.0 - sine * sine).max(0.0).sqrt()
    }

    /// Both ends of the standing chord, from `x = c + w cos t + s sin t` solved for `t`.
    pub(super) fn standing(&self, across: f64) -> [f64; 2] {
        let turn = self.skew.atan2(self.half_width);
        let swing = ((across - self.across) / self.reach()).clamp(-1.0, 1.0).acos();
        let up = |t: f64| self.height + self.half_height * t.sin();
        let (a, b) = (up(turn - swing), up(turn + swing));
        [a.min(b), a.max(b)]
    }
}

/// A station of a log: half axes from 20 mm to 1.2 m, up to 1.4 times as wide as high, turned by any angle.
pub(super) fn random_station(dice: &mut Dice, travel: i32) -> Station {
    let a = dice.real(20_000.0, 1_200_000.0);
    turned(
        travel,
        [0, 600_000],
        [a, a / dice.real(1.0, 1.4)],
        dice.real(0.0, 3.2),
    )
}

/// A station with two half axes (micrometres), the first turned up from lying by an angle.
pub(super) fn turned(travel: i32, centre: [i64; 2], [a, b]: [f64; 2], angle: f64) -> Station {
    let (sine, cosine) = angle.sin_cos();
    let (yy, xy) = (
        a * a * sine * sine + b * b * cosine * cosine,
        (a * a - b * b) * sine * cosine,
    );
    let round = |um: f64| Length::um(um.round() as i64);
    Station {
        travel: Position::mm(travel),
        centre_across: Position::um(centre[0]),
        centre_height: Position::um(centre[1]),
        half_width: round(a * b / yy.sqrt()),
        half_height: round(yy.sqrt()),
        skew: round(xy / yy.sqrt()),
    }
}

fn near(told: Interval, truth: [f64; 2], within: f64, what: &str) {
    let off = (f64::from(told.lo.as_um()) - truth[0])
        .abs()
        .max((f64::from(told.hi.as_um()) - truth[1]).abs());
    assert!(off <= within, "{what}: {told:?} is {off} µm from {truth:?}");
}

#[test]
fn chords_are_within_two_micrometres_of_the_ellipse() {
    let mut dice = Dice::new(1);
    for case in 0..20_000 {
        let section = Section::new(Form::Round, &random_station(&mut dice, 0), Length::ZERO);
        let truth = Ellipse::of(&section);
        // Half of the chords lie within the outermost tenth, where they are hardest.
        let share = if case % 2 == 0 {
            dice.real(-1.0, 1.0)
        } else {
            1.0 - dice.real(0.0, 0.1).powi(3)
        };
        let height = Position::um((truth.height + share * truth.half_height) as i64);
        if let Some(chord) = section.chord(height) {
            near(
                chord,
                truth.lying(height.as_um().into()),
                2.0,
                &format!("{section:?} {height}"),
            );
        }
        let across = Position::um((truth.across + share * truth.reach()) as i64);
        if let Some(chord) = section.standing_chord(across) {
            near(
                chord,
                truth.standing(across.as_um().into()),
                2.0,
                &format!("{section:?} {across}"),
            );
        }
    }
}

/// Between stations the five numbers are rounded to whole micrometres: half of one each, carried to the chord by
/// its derivatives.
#[test]
fn chords_between_stations_are_as_near_as_rounding_allows() {
    let mut dice = Dice::new(2);
    for _ in 0..5_000 {
        let (a, b) = (random_station(&mut dice, 0), random_station(&mut dice, 3_000));
        let place = Position::um(dice.between(1, 2_999_999));
        let [near_end, far_end] = [a, b].map(|station| Section::new(Form::Round, &station, Length::ZERO));
        let section = near_end.towards(&far_end, place);
        let truth = Ellipse::of(&near_end).mix(&Ellipse::of(&far_end), f64::from(place.as_um()) / 3e6);
        let sine = dice.real(-0.99, 0.99);
        let height = Position::um((truth.height + sine * truth.half_height) as i64);
        let cosine = truth.share(height.as_um().into());
        let slope = (truth.skew.abs() + truth.half_width / cosine) / truth.half_height;
        let chord = section.chord(height).expect("well inside");
        near(
            chord,
            truth.lying(height.as_um().into()),
            2.0 + 0.5 * (3.0 + 2.0 * slope),
            &format!("{section:?} {height}"),
        );
    }
}

#[test]
fn windows_reach_as_far_as_their_chords() {
    let mut dice = Dice::new(3);
    for _ in 0..2_000 {
        let section = Section::new(Form::Round, &random_station(&mut dice, 0), Length::ZERO);
        let truth = Ellipse::of(&section);
        let mut band = |centre: f64, half: f64| {
            let (a, b) = (
                dice.real(-1.1, 1.1) * half + centre,
                dice.real(-1.1, 1.1) * half + centre,
            );
            Interval::between(Position::um(a as i64), Position::um(b as i64))
        };
        let heights = band(truth.height, truth.half_height);
        let acrosses = band(truth.across, truth.reach());
        compare_window(
            section.width_within(heights),
            heights,
            section.height(),
            |height| truth.lying(height),
        );
        compare_window(
            section.height_within(acrosses),
            acrosses,
            section.width(),
            |across| truth.standing(across),
        );
    }
}

/// A window's extent against the furthest of many chords in it. The extent lies beyond the furthest sample by no
/// more than the bulge between two samples: a circle of the same reach bulges by less than 1 part in 20 000.
fn compare_window(told: Option<Interval>, window: Interval, all: Interval, chord: impl Fn(f64) -> [f64; 2]) {
    let held = window.meet(all);
    let Some(told) = told else {
        assert!(held.length() <= Length::um(2), "nothing in {held:?}");
        return;
    };
    let (lo, length) = (f64::from(held.lo.as_um()), f64::from(held.length().as_um()));
    let (mut least, mut most) = (f64::MAX, f64::MIN);
    for step in 0..=400 {
        let [a, b] = chord(lo + length * f64::from(step) / 400.0);
        (least, most) = (least.min(a), most.max(b));
    }
    let bulge = 3.0 + f64::from(told.length().as_um()) / 20_000.0;
    let (lo, hi) = (f64::from(told.lo.as_um()), f64::from(told.hi.as_um()));
    assert!(least - bulge <= lo && lo <= least + 3.0, "{lo} {least} {bulge}");
    assert!(most - 3.0 <= hi && hi <= most + bulge, "{hi} {most} {bulge}");
}

/// A round log that has no stations yet.
pub(super) fn blank_record() -> LogRecord {
    LogRecord {
        form: Form::Round,
        stations: Default::default(),
        sawn: Sawn::NONE,
        bark: Length::ZERO,
        timber: Timber::Soft,
        density: 900,
        stiffness: 9_000,
        cutting_energy: 30,
        surface: Surface::Barked,
        bed_clearance: Length::ZERO,
        between_bunks: None,
        metal: Default::default(),
    }
}

/// A log with taper, sweep, changing ovality and turn, of two to six stations.
fn random_log(dice: &mut Dice) -> LogRecord {
    let mut record = blank_record();
    let count = dice.within(2, 6);
    let length = dice.real(1_500.0, 8_000.0);
    let (mut half, angle) = (dice.real(60_000.0, 500_000.0), dice.real(0.0, 3.2));
    for number in 0..count {
        let travel = (length * f64::from(number) / f64::from(count - 1)) as i32;
        let sweep = dice.real(-0.1, 0.1) * half;
        let lift = dice.real(-0.1, 0.1) * half;
        let oval = dice.real(1.0, 1.2);
        let turn = angle + dice.real(-0.1, 0.1);
        let centre = [sweep as i64, 600_000 + lift as i64];
        record
            .stations
            .push(turned(travel, centre, [half, half / oval], turn))
            .expect("six at most");
        half *= dice.real(0.8, 1.1);
    }
    record
}

/// The claim of `Shape::between`: where the chord is at least a quarter of the middle one at both samples, it reaches
/// no further between them than at one of them and so much. Half of the logs are shifted so that some chord reaches
/// equally far at both samples: there it bulges most.
#[test]
fn no_chord_reaches_further_between_samples_than_the_bound_says() {
    let mut dice = Dice::new(4);
    let mut closest = 0.0f64;
    for case in 0..1_000 {
        let mut record = random_log(&mut dice);
        match case % 4 {
            1 => level_lying(&mut record, dice.real(-0.97, 0.97)),
            3 => level_standing(&mut record, dice.real(-0.97, 0.97)),
            _ => {}
        }
        let shape = Shape::new(&record).expect("a good record");
        let bound = f64::from(shape.between().as_um());
        for pair in shape.wood().windows(2) {
            let (a, b) = (Ellipse::of(&pair[0]), Ellipse::of(&pair[1]));
            let bulge = worst_bulge(&a, &b);
            assert!(
                bulge <= bound,
                "{bulge} µm beyond, {bound} µm allowed: {a:?} {b:?}"
            );
            closest = closest.max(bulge / bound);
        }
    }
    // A bound that is never come near says nothing.
    assert!(closest > 0.2, "{closest}");
}

/// The first two samples of a log.
fn first_gap(record: &LogRecord) -> [Ellipse; 2] {
    let shape = Shape::new(record).expect("a good record");
    [Ellipse::of(&shape.wood()[0]), Ellipse::of(&shape.wood()[1])]
}

/// How much larger the first stretch between stations is than the first gap between samples.
fn gaps(record: &LogRecord) -> f64 {
    let shape = Shape::new(record).expect("a good record");
    let gap = (shape.wood()[1].travel - shape.wood()[0].travel).as_um();
    f64::from((record.stations[1].travel - record.stations[0].travel).as_um()) / f64::from(gap)
}

/// Shifts the second station so that the lying chord at one height reaches equally far in the first gap.
fn level_lying(record: &mut LogRecord, sine: f64) {
    let [a, b] = first_gap(record);
    let height = a.height + sine * a.half_height;
    let shift = (a.lying(height)[1] - b.lying(height)[1]) * gaps(record);
    if shift.abs() < 1e6 {
        let moved = record.stations[1].centre_across + Length::um(shift as i64);
        record.stations[1].centre_across = moved;
    }
}

/// The same for the standing chord at one place across.
fn level_standing(record: &mut LogRecord, sine: f64) {
    let [a, b] = first_gap(record);
    let across = a.across + sine * a.reach();
    let shift = (a.standing(across)[1] - b.standing(across)[1]) * gaps(record);
    if shift.abs() < 1e6 {
        let moved = record.stations[1].centre_height + Length::um(shift as i64);
        record.stations[1].centre_height = moved;
    }
}

fn worst_bulge(a: &Ellipse, b: &Ellipse) -> f64 {
    let mut worst = 0.0f64;
    for step in -60..=60 {
        let sine = f64::from(step) / 60.0;
        let height = a.height + a.half_height * sine;
        if a.share(height).min(b.share(height)) >= 0.25 {
            worst = worst.max(beyond(a, b, |section| section.lying(height)));
        }
        let across = a.across + a.reach() * sine;
        if a.standing_share(across).min(b.standing_share(across)) >= 0.25 {
            worst = worst.max(beyond(a, b, |section| section.standing(across)));
        }
    }
    worst
}

/// How much further a chord reaches between two sections than at either.
fn beyond(a: &Ellipse, b: &Ellipse, chord: impl Fn(&Ellipse) -> [f64; 2]) -> f64 {
    let ([low, high], [other_low, other_high]) = (chord(a), chord(b));
    (1..32)
        .map(|part| chord(&a.mix(b, f64::from(part) / 32.0)))
        .map(|[lo, hi]| (hi - high.max(other_high)).max(low.min(other_low) - lo))
        .fold(0.0, f64::max)
}
