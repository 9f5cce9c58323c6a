//! How far a log is shifted along the rails so that its bunks carry it.

use bunkside_planner::geometry::Shape;
use bunkside_planner::physics::support::{flaws, short_of_edges};
use bunkside_planner::replay::Setup;
use bunkside_planner::sequence::Carriage;
use bunkside_protocol::{Length, LogRecord, MillRecord};

/// Places are looked for in steps of this, for readers of metres and of inches, so far either way.
const STEPS: [Length; 2] = [Length::mm(10), Length::um(6_350)];
const FAR: Length = Length::mm(5_000);

/// The least shift along the rails, outbound above zero, that brings the near end to a whole centimetre or quarter of an inch
/// where nothing is wrong with how the log lies on its bunks and the blade runs out past both its ends; none where no shift does.
/// As the place is whole, what is told of it is just the place that was tried.
#[must_use]
pub fn shift(mill: &MillRecord, log: &LogRecord, inches: bool) -> Option<Length> {
    let step = if inches { STEPS[1] } else { STEPS[0] };
    let near = log.stations.first()?.travel.from_origin();
    let whole = Length::um(near.wide().div_euclid(step.wide()) * step.wide());
    let count = i32::try_from(FAR.wide() / step.wide()).ok()?;
    let mut places: Vec<Length> = (-count..=count)
        .map(|steps| whole + step.times(steps) - near)
        .collect();
    places.sort_by_key(|by| by.abs());
    places.into_iter().find(|by| carries(mill, &shifted(log, *by)))
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
