//! What every drawing of one sequence has in common.

use bunkside_planner::geometry::Block;
use bunkside_planner::stock::Owner;
use bunkside_protocol::{Angle, Move, Position};

use super::Subject;
use super::parts::{Kind, Part, owned, parts};
use super::places::{Place, places};
use super::second::Second;
use super::steps::{Step, steps};
use crate::account::findings::{second_person_cuts, second_person_moves};
use crate::account::kerf_wedges::{WedgedKerf, wedged_kerfs};
use crate::account::metal::Metal;
use crate::setting::Sheet;

/// One sequence, taken apart.
#[derive(Clone, Debug)]
pub(super) struct Scene<'a> {
    pub(super) subject: Subject<'a>,
    /// Every piece, in the order they come off.
    pub(super) parts: Vec<Part>,
    /// Every step that is shown.
    pub(super) steps: Vec<Step>,
    /// The box around the whole log.
    pub(super) bounds: Block,
    /// Near end, far end and, where it is neither, the worst place.
    pub(super) places: Vec<Place>,
    /// What stays on the bunks.
    pub(super) rest: Vec<Block>,
    /// How the log is set.
    pub(super) sheet: Sheet,
    /// The heights of all flat kerfs, from the top.
    pub(super) floors: Vec<Position>,
    /// Metal in the log.
    pub(super) metal: Vec<Metal>,
    /// The kerfs that hold wedges.
    pub(super) wedged: Vec<WedgedKerf>,
}

impl<'a> Scene<'a> {
    pub(super) fn of(subject: Subject<'a>) -> Self {
        let parts = parts(&subject);
        let sheet = Sheet::of(subject.setup, subject.trace, subject.job.zip(subject.plan));
        Self {
            bounds: subject.setup.shape.bounds(),
            places: places(&subject, &parts),
            rest: owned(&subject.trace.end, Owner::Body),
            floors: floors(&subject),
            metal: metal(&subject, &parts),
            wedged: wedged_kerfs(subject.setup, subject.trace, subject.system),
            steps: steps(&subject, &parts, &sheet),
            sheet,
            subject,
            parts,
        }
    }

    /// The piece with this number.
    pub(super) fn part(&self, serial: u16) -> Option<&Part> {
        self.parts.iter().find(|part| part.serial == serial)
    }

    /// At how many cuts a second person has to hold the loose piece down.
    pub(super) fn second(&self) -> u64 {
        second_person_cuts(&self.subject.trace.findings) as u64
    }

    /// Where he stands.
    pub(super) fn second_place(&self) -> Option<Second> {
        Second::of(&self.subject, &second_person_moves(&self.subject.trace.findings))
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

fn metal(subject: &Subject<'_>, parts: &[Part]) -> Vec<Metal> {
    Metal::all(subject.setup, subject.trace, &|serial| {
        let part = parts.iter().find(|part| part.serial == serial)?;
        (part.kind == Kind::Board).then(|| part.what().to_owned())
    })
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
