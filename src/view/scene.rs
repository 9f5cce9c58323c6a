//! What every drawing of one sequence has in common.

use bunkside_planner::geometry::{Block, Section};
use bunkside_planner::stock::Owner;
use bunkside_protocol::{Angle, Move, Position};

use super::Subject;
use super::parts::{Kind, Part, owned, parts};
use super::plane::um;
use super::steps::{Step, steps};

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

/// One sequence, taken apart.
#[derive(Clone, Debug)]
pub(super) struct Scene<'a> {
    pub(super) subject: Subject<'a>,
    /// Every piece, in the order they come off.
    pub(super) parts: Vec<Part<'a>>,
    /// Every step that is shown.
    pub(super) steps: Vec<Step>,
    /// The box around the whole log.
    pub(super) bounds: Block,
    /// Near end, far end and, where it is neither, the worst section.
    pub(super) places: Vec<Place>,
    /// What stays on the bunks.
    pub(super) rest: Vec<Block>,
    /// The heights of all flat kerfs, from the top.
    pub(super) floors: Vec<Position>,
}

impl<'a> Scene<'a> {
    pub(super) fn of(subject: Subject<'a>) -> Self {
        let parts = parts(&subject);
        Self {
            bounds: subject.setup.shape.bounds(),
            places: places(&subject, &parts),
            rest: owned(&subject.trace.end, Owner::Body),
            floors: floors(&subject),
            steps: steps(&subject, &parts),
            subject,
            parts,
        }
    }

    /// The piece with this number.
    pub(super) fn part(&self, serial: u16) -> Option<&Part<'a>> {
        self.parts.iter().find(|part| part.serial == serial)
    }

    /// What stands at the foot of every drawing.
    pub(super) fn legend(&self) -> String {
        let unit = match self.subject.system {
            crate::measure::System::Metric => "mm",
            crate::measure::System::Inches => "inches",
        };
        format!("Log {}, sizes in {unit}", self.subject.log)
    }
}

fn places(subject: &Subject<'_>, parts: &[Part<'_>]) -> Vec<Place> {
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
    let worst = worst(wood, parts);
    let mark = |number: usize| {
        if worst == Some(number) {
            ", the tightest place"
        } else {
            ""
        }
    };
    let mut places = vec![
        place(0, format!("Near end{}", mark(0))),
        place(last, format!("Far end{}", mark(last))),
    ];
    if let Some(worst) = worst.filter(|worst| *worst != 0 && *worst != last) {
        let from = wood.get(worst).map_or(Position::ZERO, |section| section.travel) - shape.travel().lo;
        places.push(place(
            worst,
            format!(
                "The tightest place, {} from the near end",
                subject.system.run(from)
            ),
        ));
    }
    places.into_iter().flatten().collect()
}

/// The sample at which some board comes nearest to the bark for its size; none without boards.
fn worst(wood: &[Section], parts: &[Part<'_>]) -> Option<usize> {
    let boards: Vec<&Block> = parts
        .iter()
        .filter(|part| part.kind == Kind::Board)
        .flat_map(|part| &part.cells)
        .collect();
    let tightness = |section: &Section| {
        boards
            .iter()
            .filter(|cell| cell.travel.contains(section.travel))
            .map(|cell| outness(section, cell))
            .fold(0.0, f64::max)
    };
    let told = wood.iter().map(tightness).enumerate();
    let (worst, found) = told.fold((0, 0.0), |best, next| if next.1 > best.1 { next } else { best });
    (found > 0.0).then_some(worst)
}

/// How far out the outermost corner of a box lies: 1 on the outline, less inside.
fn outness(section: &Section, cell: &Block) -> f64 {
    let (half_width, half_height, skew) = section.half_diameters();
    let numbers = [half_width, half_height, skew].map(super::plane::long);
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

fn floors(subject: &Subject<'_>) -> Vec<Position> {
    let flat = |step: &&bunkside_planner::replay::Step| {
        matches!(step.told, Move::Cut(_))
            && step.before.angle == Angle::Flat
            && step.cut.is_some_and(|facts| facts.met.is_some())
    };
    let moves = subject.trace.moves.iter().map(|traced| &traced.step);
    let mut floors: Vec<Position> = moves.filter(flat).map(|step| step.before.height).collect();
    floors.sort_unstable();
    floors.dedup();
    floors.reverse();
    floors
}
