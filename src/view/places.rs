//! The places along the log at which it is drawn: both ends, and the worst place where it is neither.
//!
//! The worst place is the one where some board comes nearest to the bark; where that is an end, a log that bows is
//! drawn where it bows most.

use bunkside_planner::geometry::{Block, Section};
use bunkside_protocol::{Length, Position};

use super::Subject;
use super::parts::{Kind, Part};
use super::plane::{long, um};

/// A log is drawn where it bows most, if it does so by more than this share of its width there.
const BOWED: f64 = 0.05;
/// A place counts for a board if it lies no further than this beyond its end: samples are as far apart as a step.
const BEYOND: Length = Length::mm(100);

/// A place along the log at which it is drawn.
#[derive(Clone, Debug)]
pub(super) struct Place {
    /// The section under bark.
    pub(super) wood: Section,
    /// The section over bark.
    pub(super) rough: Section,
    /// What it is called: `Near end`.
    pub(super) name: String,
}

/// Near end, far end and, where it is neither, the worst place.
pub(super) fn places(subject: &Subject<'_>, parts: &[Part]) -> Vec<Place> {
    let shape = &subject.setup.shape;
    let (wood, rough) = (shape.wood(), shape.rough());
    let place = |number: usize, name: String| {
        Some(Place {
            wood: *wood.get(number)?,
            rough: *rough.get(number)?,
            name,
        })
    };
    let last = wood.len().saturating_sub(1);
    let tightest = tightest(wood, parts);
    let end = |number: usize, name: &str| match tightest {
        Some(tightest) if tightest == number => place(number, format!("{name}, the tightest place")),
        _ => place(number, name.to_owned()),
    };
    let between = |number: &usize| *number != 0 && *number != last;
    let worst = tightest
        .filter(between)
        .map(|number| (number, "The tightest place"))
        .or_else(|| Some((most_bowed(wood).filter(between)?, "Where it bows most")));
    let worst = worst.and_then(|(number, name)| {
        let from = subject.system.run(wood.get(number)?.travel - shape.travel().lo);
        place(number, format!("{name}, {from} from the near end"))
    });
    [end(0, "Near end"), end(last, "Far end"), worst]
        .into_iter()
        .flatten()
        .collect()
}

/// The sample at which some board comes nearest to the bark for its size; none without boards.
fn tightest(wood: &[Section], parts: &[Part]) -> Option<usize> {
    let boards: Vec<&Part> = parts.iter().filter(|part| part.kind == Kind::Board).collect();
    let tightness = |section: &Section| {
        let there = boards
            .iter()
            .filter(|part| part.along.grown(BEYOND).contains(section.travel))
            .flat_map(|part| &part.cells)
            .filter(|cell| cell.travel.contains(section.travel));
        there.map(|cell| outness(section, cell)).fold(0.0, f64::max)
    };
    let told = wood.iter().map(tightness).enumerate();
    let (worst, found) = told.fold((0, 0.0), |best, next| if next.1 > best.1 { next } else { best });
    (found > 0.0).then_some(worst)
}

/// The sample whose centre lies furthest from the straight line between the ends' centres; none where that is near.
fn most_bowed(wood: &[Section]) -> Option<usize> {
    let (first, last) = (wood.first()?, wood.last()?);
    let off = |section: &Section| {
        let part = um(section.travel) - um(first.travel);
        let part = part / (um(last.travel) - um(first.travel)).max(1.0);
        let from = |place: fn(&Section) -> Position| {
            let straight = um(place(first)) + (um(place(last)) - um(place(first))) * part;
            um(place(section)) - straight
        };
        let (across, up) = (from(Section::centre_across), from(Section::centre_height));
        libm::sqrt(across * across + up * up) / long(section.width().length()).max(1.0)
    };
    let told = wood.iter().map(off).enumerate();
    let (most, found) = told.fold((0, 0.0), |best, next| if next.1 > best.1 { next } else { best });
    (found > BOWED).then_some(most)
}

/// How far out the outermost corner of a box lies: 1 on the outline, less inside.
fn outness(section: &Section, cell: &Block) -> f64 {
    let (half_width, half_height, skew) = section.half_diameters();
    let numbers = [half_width, half_height, skew].map(long);
    let mut most: f64 = 0.0;
    // A side that runs out to the bark has no corner to come near it.
    let sawn = |place: &Position| Position::MIN < *place && *place < Position::MAX;
    for across in [cell.across.lo, cell.across.hi].into_iter().filter(sawn) {
        for height in [cell.height.lo, cell.height.hi].into_iter().filter(sawn) {
            let q = (um(height) - um(section.centre_height())) / numbers[1];
            let p = (um(across) - um(section.centre_across()) - numbers[2] * q) / numbers[0];
            most = most.max(libm::sqrt(p * p + q * q));
        }
    }
    most
}
