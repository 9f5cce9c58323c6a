//! How far a log is shifted along the rails so that its bunks carry it.

use bunkside_planner::geometry::Shape;
use bunkside_planner::physics::support::{flaws, short_of_edges};
use bunkside_planner::replay::Setup;
use bunkside_planner::sequence::Carriage;
use bunkside_protocol::{Length, LogRecord, MillRecord};

/// Shifts are looked for in steps of this, so far either way.
const STEP: Length = Length::mm(10);
const STEPS: i32 = 500;

/// The least shift along the rails, in whole centimetres and outbound above zero, after which nothing is wrong with how the
/// log lies on its bunks and the blade runs out past both its ends; none where no shift does.
#[must_use]
pub fn shift(mill: &MillRecord, log: &LogRecord) -> Option<Length> {
    let either_way = (0..=STEPS).flat_map(|step| [-step, step]);
    either_way
        .map(|step| STEP.times(step))
        .find(|by| carries(mill, &shifted(log, *by)))
}

fn shifted(log: &LogRecord, by: Length) -> LogRecord {
    let mut log = log.clone();
    for station in &mut log.stations {
        station.travel = station.travel + by;
    }
    log
}

fn carries(mill: &MillRecord, log: &LogRecord) -> bool {
    let Ok(shape) = Shape::new(log) else { return false };
    let mut sound =
        short_of_edges(mill, &shape).is_some_and(|short| short.iter().all(|by| *by <= Length::ZERO));
    flaws(mill, log, &shape, &mut |_| sound = false);
    sound && Setup::new(mill, log).is_ok_and(|setup| Carriage::new(&setup).is_ok())
}
