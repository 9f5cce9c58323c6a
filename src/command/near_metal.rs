//! Metal in the way of a kerf: by how much the kerf comes too near, and where it passes by.

use bunkside_planner::geometry::{Block, Interval};
use bunkside_planner::machine::Apart;
use bunkside_planner::sequence::PlanError;
use bunkside_protocol::{Length, MillRecord, Position};

use crate::cut_plan::OwnedPlan;
use crate::job::Job;
use crate::measure::System;

/// A kerf that comes too near to metal, by where the cut plan writes it.
struct Near {
    /// Whether it is the layer's flat kerf; else an upright one.
    flat: bool,
    /// By how much it comes too near.
    by: Length,
    /// The highest place below, and the lowest place above it, at which it passes by.
    clear: [Position; 2],
}

impl Near {
    /// A kerf over `from` (flat), or before it (upright), held against metal that it has to keep off; none where it does.
    fn of(flat: bool, place: Position, metal: Interval, kept: Length, mill: &MillRecord) -> Option<Self> {
        let kerf = mill.blade.kerf;
        let (below, above) = if flat {
            (Length::ZERO, kerf)
        } else {
            (kerf, Length::ZERO)
        };
        let off = (metal.lo - (place + above)).max((place - below) - metal.hi);
        (off < kept).then(|| Self {
            flat,
            by: kept - off.max(Length::ZERO),
            clear: [metal.lo - kept - above, metal.hi + kept + below],
        })
    }
}

/// What stands in the way and what would free it, the metal told by where it begins; none where the plan does not tell which
/// kerf it is.
pub(super) fn words(error: &PlanError, plan: &OwnedPlan, job: &Job, travel: Position) -> Option<[String; 2]> {
    let (mill, system) = (&job.mill, System::of(job.inches));
    let layer = plan.layers.get(error.layer)?;
    let kept = Apart::metal(mill);
    let boxes = job.log.metal.iter().map(Block::from_record);
    let mut boxes = boxes.filter(|metal| metal.travel.lo == travel);
    let near = boxes.find_map(|metal| {
        let floor = layer.floor.snapped(mill.grid);
        let flat = Near::of(true, floor, metal.height, kept.height, mill);
        let columns = layer.columns.iter().enumerate();
        let meant = columns.filter(|(number, _)| error.column.is_none_or(|column| column == *number));
        let edges = meant.filter_map(|(_, column)| Some(column.to?.snapped(mill.grid)));
        flat.or_else(|| {
            edges
                .into_iter()
                .find_map(|edge| Near::of(false, edge, metal.across, kept.across, mill))
        })
    })?;
    let [low, high] = near.clear;
    let told = |place: Position, up: bool| system.size(told(place, up, mill.grid, system).from_origin());
    let (low, high) = (told(low, false), told(high, true));
    let (which, least) = if near.flat {
        ("flat", kept.height)
    } else {
        ("upright", kept.across)
    };
    let message = format!(
        "the {which} kerf would come {} too near to the metal that begins {} along the rails: it keeps {} off, for where metal \
         lies is known no better",
        system.size(near.by),
        system.run(travel.from_origin()),
        system.size(least)
    );
    let way = if near.flat {
        format!("end the layer at {high} or higher, or at {low} or lower (`layer down to`)")
    } else {
        format!(
            "end the column at {high} or further to the exit side, or at {low} or nearer to the entry side (`to`)"
        )
    };
    Some([message, format!("take the metal out, turn the log, or {way}")])
}

/// A place on the safe side that reads as it is: on the grid, and in inches on a thirty-second beyond it.
fn told(place: Position, up: bool, grid: Length, system: System) -> Position {
    let um = place.from_origin().wide();
    let (num, den, more) = match system {
        System::Metric => (grid.wide().max(1), 1, 0),
        System::Inches => (25_400, 32, grid.wide()),
    };
    let um = if up {
        let steps = -(-(um + more) * den).div_euclid(num);
        (steps * num + den - 1).div_euclid(den)
    } else {
        let steps = ((um - more) * den).div_euclid(num);
        (steps * num).div_euclid(den)
    };
    Position::um(um)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_are_told_on_the_safe_side() {
        let tell = |um, up, system| told(Position::um(um), up, Length::um(500), system);
        for (um, low, high) in [
            (-1_300, -1_500, -1_000),
            (1_300, 1_000, 1_500),
            (1_500, 1_500, 1_500),
        ] {
            assert_eq!(tell(um, false, System::Metric), Position::um(low));
            assert_eq!(tell(um, true, System::Metric), Position::um(high));
        }
        for um in (-60_000..60_000).step_by(1_237) {
            let (low, high) = (tell(um, false, System::Inches), tell(um, true, System::Inches));
            assert!(low.from_origin().wide() <= um - 500 && high.from_origin().wide() >= um + 500);
            assert!((high - low).wide() <= 1_000 + 2 * 794);
        }
    }
}
