//! Logs made up by dice.

use bunkside_planner::geometry::{Interval, Shape};
use bunkside_protocol::{Length, LogRecord, Sawn};

use super::sections::{blank_record, turned};
use crate::dice::Dice;

/// The same log with some of what a fifth or two fifths of it on each side hold sawn off before: one face to four.
pub(super) fn faced(dice: &mut Dice, record: LogRecord) -> LogRecord {
    let bounds = Shape::new(&record).expect("a good record").bounds();
    let which = dice.within(1, 15);
    let mut face = |bit: i32, of: Interval, far: bool| {
        let off = Length::um((f64::from(of.length().as_um()) * dice.real(0.15, 0.4)) as i64);
        // Where the strips of the models end.
        let at = if far { of.hi - off } else { of.lo + off };
        (which & bit != 0).then(|| at.snapped(Length::mm(1)))
    };
    let sawn = Sawn {
        entry: face(1, bounds.across, false),
        exit: face(2, bounds.across, true),
        bottom: face(4, bounds.height, false),
        top: face(8, bounds.height, true),
    };
    LogRecord { sawn, ..record }
}

/// A saw log: 160 to 380 mm thick, 1.5 to 5 m long, up to 12 mm a metre of taper, a bow of up to 1 in 100, up to 1.15
/// times as wide as thick, turned by any angle and a little more along its length.
pub(super) fn saw_log(dice: &mut Dice) -> LogRecord {
    let mut record = blank_record();
    let length = dice.real(1_500.0, 5_000.0);
    let butt = dice.real(90_000.0, 190_000.0);
    let taper = dice.real(0.0, 12.0) * length / 2_000.0;
    let small = (butt - taper * 1e3).max(80_000.0);
    let [small, butt] = [small / 1e3, butt / 1e3];
    let (bow, toward) = (dice.real(0.0, 0.01) * length, dice.real(0.0, 6.3));
    let (oval, turn, twist) = (dice.real(1.0, 1.15), dice.real(0.0, 3.2), dice.real(-0.3, 0.3));
    let lift = dice.real(-0.5, 0.5) * (butt - small);
    let count = dice.within(2, 17);
    let start = dice.within(-500, 1_000);
    for number in 0..count {
        let part = f64::from(number) / f64::from(count - 1);
        let half = small + (butt - small) * part;
        let bent = 4.0 * bow * part * (1.0 - part);
        let centre = [
            (1e3 * bent * toward.cos()) as i64,
            (1e3 * (300.0 + lift * part + bent * toward.sin())) as i64,
        ];
        let travel = start + (length * part) as i32;
        let axes = [1e3 * half, 1e3 * half / oval];
        let station = turned(travel, centre, axes, turn + twist * part);
        record.stations.push(station).expect("nine at most");
    }
    record
}
