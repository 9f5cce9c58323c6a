//! Why a log cannot be planned, in words, and what would free it.

use std::path::Path;

use bunkside_planner::geometry::Interval;
use bunkside_planner::layout::LayoutError;
use bunkside_planner::limits::{PLAN_COLUMNS_MAX, PLAN_LAYERS_MAX};
use bunkside_planner::machine::Apart;
use bunkside_planner::plan::Use;
use bunkside_planner::replay::Setup;
use bunkside_planner::rules::Severity;
use bunkside_planner::sequence::{AxisEnd, Fixture, PlanError, PlanErrorKind};
use bunkside_protocol::mill::Box3;
use bunkside_protocol::{Length, MillRecord, Position, Surface};
use serde::Serialize;

use super::begun::or_onward;
use super::laid::{beside_axis, flawed, lies_badly, shifted};
use super::offer::{PRICES, bring_nothing, nothing};
use super::{Exit, Failure, beyond_rails, falls, json, near_metal};
use crate::account::ice;
use crate::account::second::{held_down, unfitted_aid, widest};
use crate::account::table::{count, wrapped};
use crate::cut_plan::OwnedPlan;
use crate::job::Job;
use crate::measure::{System, millimetres};
use crate::planned::Planned;

/// What stands in the way.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub(super) struct Problem {
    /// Number of the layer, from 1; none where the whole log is meant.
    layer: Option<usize>,
    /// Number of the column in it, from 1.
    column: Option<usize>,
    /// What stands in the way.
    message: String,
    /// What would free it.
    help: String,
    /// Where the cut plan lies, to be mended.
    cut_plan: Option<String>,
    /// What else stands in the way, further down in the plan.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    further: Vec<Self>,
}

#[derive(Serialize)]
struct Told<'a> {
    format: &'static str,
    version: u32,
    verdict: &'static str,
    problem: &'a Problem,
}

/// Why a cut plan cannot be sawn by rule of thumb, and what would free it; none where it can.
pub(super) fn obstacle_of(job: &Job, setup: &Setup<'_>, plan: &OwnedPlan) -> Option<String> {
    let planned = match Planned::new(job, setup, plan) {
        Ok(planned) => planned,
        Err(error) => return Some(Problem::sequence(&error, plan, job).sentence()),
    };
    if let Some(cuts) = planned.needs_second() {
        return Some(Problem::alone(&planned, cuts).sentence());
    }
    let mut findings = planned.trace.findings.iter();
    let refused = findings.find(|one| one.objection.severity == Severity::Refuse)?;
    Some(format!("{} refuses it: {}", refused.rule, refused.objection.note))
}

impl Problem {
    /// That no layout was found.
    pub(super) fn layout(error: LayoutError, job: &Job, setup: &Setup<'_>) -> Self {
        let axis = Interval::new(job.mill.across.min, job.mill.across.max);
        let help = match error {
            LayoutError::NothingFits if job.begun.is_some() => or_onward(
                job,
                "order something smaller or shorter, or take what stands off the bunks: it is still a log, to be measured as one"
                    .to_owned(),
            ),
            LayoutError::NothingFits if axis.join(setup.shape.bounds().across) != axis => beside_axis(job),
            LayoutError::NothingFits if bring_nothing(job, setup) => PRICES.to_owned(),
            LayoutError::NothingFits => {
                "order something smaller, turn or level the log otherwise, or look at the mill's reach"
                    .to_owned()
            }
            LayoutError::Full => {
                "order fewer or larger boards, or give the smallest a `most`; or saw the log in two jobs"
                    .to_owned()
            }
            _ => "change the products of the job".to_owned(),
        };
        let message = match error {
            LayoutError::NothingFits if job.begun.is_some() => {
                "no board of what is left of the order has room in what still stands, or none that could be sawn there by rule of thumb".to_owned()
            }
            LayoutError::NothingFits => nothing(error, job, setup),
            LayoutError::Full => {
                format!(
                    "{error}: {PLAN_LAYERS_MAX} layers at most, and {PLAN_COLUMNS_MAX} columns in all of them"
                )
            }
            _ => error.to_string(),
        };
        Self {
            layer: None,
            column: None,
            message,
            help,
            cut_plan: None,
            further: Vec::new(),
        }
    }

    /// That a cut plan cannot be turned into moves.
    pub(super) fn sequence(error: &PlanError, plan: &OwnedPlan, job: &Job) -> Self {
        if let PlanErrorKind::Support(_) | PlanErrorKind::BeyondRails { .. } = error.kind {
            return Self {
                layer: None,
                column: None,
                message: obstacle(error.kind, job),
                help: shifted(error.kind, job).unwrap_or_else(|| match error.kind {
                    PlanErrorKind::Support(flaw) => lies_badly(flaw, job),
                    kind => help(kind).to_owned(),
                }),
                cut_plan: None,
                further: Vec::new(),
            };
        }
        let [message, help] = told(error, plan, job);
        Self {
            layer: Some(error.layer + 1),
            column: error.column.map(|column| column + 1),
            message: format!("{}: {message}", place(error, plan, job)),
            help: or_onward(job, help),
            cut_plan: None,
            further: Vec::new(),
        }
    }

    /// That one person cannot saw it alone.
    pub(super) fn alone(planned: &Planned<'_>, cuts: usize) -> Self {
        let (job, setup, trace) = (planned.job, planned.setup, &planned.trace);
        let wide = widest(trace).unwrap_or_default();
        let mut help = format!(
            "saw it with a second person, and write `people = 2` or leave it out; or on a mill whose drive lets it climb, \
             or with a pull-back aid that bears on what comes free there, up to {} wide (`[pull_back_aid]` in the mill)",
            System::of(job.inches).size_at_least(wide)
        );
        if let Some(aid) = unfitted_aid(setup, trace) {
            help.push_str(&format!("; {aid}"));
        }
        Self {
            layer: None,
            column: None,
            message: format!(
                "at {} somebody has to hold down what comes free, because this carriage cannot climb there, and the job says that \
                 one person works here (`people = 1`): {}",
                count(cuts as u64, "cut"),
                held_down(job, setup, planned.plan, trace)
            ),
            help,
            cut_plan: None,
            further: Vec::new(),
        }
    }

    /// The same, with where its cut plan lies.
    pub(super) fn in_plan(self, path: &Path) -> Self {
        Self {
            cut_plan: Some(path.to_string_lossy().into_owned()),
            ..self
        }
    }

    /// The same, with what else stands in the way.
    pub(super) fn with_further(self, further: Vec<Self>) -> Self {
        Self { further, ..self }
    }

    /// What stands in the way, and what would free it.
    pub(super) fn sentence(&self) -> String {
        format!("{}; what would free it: {}", self.message, self.help)
    }

    fn lines(&self) -> String {
        wrapped("    ", &self.message, 100) + &wrapped("    what would free it: ", &self.help, 100)
    }

    /// The failure of a command because of it.
    pub(super) fn failure(&self, job: &Job, as_json: bool) -> Failure {
        let lines: String = std::iter::once(self)
            .chain(&self.further)
            .map(Self::lines)
            .collect();
        let text = format!("{} cannot be planned on {}\n{lines}", job.name, job.mill_name);
        let told = Told {
            format: super::summary::FORMAT,
            version: super::summary::VERSION,
            verdict: "unplanned",
            problem: self,
        };
        Failure {
            out: if as_json { json(&told) } else { String::new() },
            ..Failure::ended(Exit::Refused, text)
        }
    }
}

/// What stands in the way in a layer, and what would free it.
fn told(error: &PlanError, plan: &OwnedPlan, job: &Job) -> [String; 2] {
    let near = match error.kind {
        PlanErrorKind::Metal { travel } => near_metal::words(error, plan, job, travel),
        _ => None,
    };
    near.unwrap_or_else(|| {
        let help = match error.kind {
            PlanErrorKind::BeyondAxis {
                end: AxisEnd::Entry | AxisEnd::Exit,
                ..
            } => beside_axis(job),
            PlanErrorKind::RimOut { enough, .. } => format!(
                "write {} or more for `rim_overhang` ([clearance] of the mill): places are set on a grid, and the rim has to pass \
                 the wood's edge",
                enough
            ),
            PlanErrorKind::WouldFall { over, edged, .. } => falls::help(error, plan, (over, edged)),
            kind @ (PlanErrorKind::WouldRoll(_) | PlanErrorKind::WouldSlip(_))
                if job.log.surface == Surface::Iced =>
            {
                format!("{}; or {}", ice::KNOCKED_OFF, help(kind))
            }
            kind => help(kind).to_owned(),
        };
        [obstacle(error.kind, job), help]
    })
}

/// Where in the plan, in words.
fn place(error: &PlanError, plan: &OwnedPlan, job: &Job) -> String {
    let system = System::of(job.inches);
    let Some(layer) = plan.layers.get(error.layer) else {
        return format!("layer {}", error.layer + 1);
    };
    let mut words = format!(
        "layer {} of {}, down to {}",
        error.layer + 1,
        plan.layers.len(),
        system.size(layer.floor.from_origin())
    );
    let Some(number) = error.column else {
        return words;
    };
    words.push_str(&format!(
        ", column {} of {}",
        number + 1,
        layer.columns.len().max(number + 1)
    ));
    match layer.columns.get(number).map(|column| column.use_) {
        Some(Use::Waste) => words.push_str(" (waste)"),
        Some(use_) => {
            let boards = use_.boards().filter_map(|board| {
                let spec = job.boards.get(usize::from(board.product))?;
                Some(format!("{}, {}", spec.name, system.run(board.length)))
            });
            let boards: Vec<String> = boards.collect();
            if !boards.is_empty() {
                words.push_str(&format!(" ({})", boards.join(", and ")));
            }
        }
        None => {}
    }
    words
}

/// What stands in the way, with lengths in the reader's system.
fn obstacle(kind: PlanErrorKind, job: &Job) -> String {
    let system = System::of(job.inches);
    match kind {
        PlanErrorKind::BeyondRails { missing } => beyond_rails::words(missing, job),
        PlanErrorKind::BeyondAxis { end, missing } => format!(
            "the corner of the kerf would lie {} beyond the end of {end}",
            system.size(missing)
        ),
        PlanErrorKind::NoWayOver { needed } => format!(
            "the blade would have to be {} above the bed to pass over the log",
            system.size(needed.from_origin())
        ),
        PlanErrorKind::TooWide { cover, limit } => {
            format!(
                "the flat kerf would lie {}",
                too_deep("under wood", [cover, limit], system)
            )
        }
        PlanErrorKind::TooDeep { cover, limit } => {
            format!(
                "the upright kerf would stand {}",
                too_deep("in wood", [cover, limit], system)
            )
        }
        PlanErrorKind::Metal { travel } => format!(
            "the kerf would come nearer than {} to the metal that begins {} along the rails: where it lies is known no better",
            system.size(Apart::metal(&job.mill).height),
            system.run(travel.from_origin())
        ),
        PlanErrorKind::ThinWood { thick, least } => format!(
            "the kerf would leave wood {} thick hanging beside it, and less than {} breaks off there beside the blade",
            system.size(thick),
            system.size(least)
        ),
        PlanErrorKind::Neck(neck) => format!(
            "the kerf would leave a part hanging by {} of wood, and less than {} does not bear it",
            system.size(neck.thick),
            system.size(neck.asks)
        ),
        PlanErrorKind::WouldFall { .. }
        | PlanErrorKind::Topples { .. }
        | PlanErrorKind::WouldTip { .. }
        | PlanErrorKind::OnBlade { .. } => falls::words(kind, system),
        PlanErrorKind::Support(flaw) => flawed(flaw, &job.mill, system),
        PlanErrorKind::WoodLeft { from } => format!(
            "wood is left standing on this layer from {} across",
            system.size(from.from_origin())
        ),
        PlanErrorKind::NoRoomToSwing(fixture) | PlanErrorKind::InTheWay(fixture) => {
            format!("{kind}{}", lies(fixture, &job.mill, system))
        }
        PlanErrorKind::UnderWood { wood } => format!(
            "this floor lies in the bark under the log, or lower: its wood begins {} above the bed",
            system.size(wood.from_origin())
        ),
        other => other.to_string(),
    }
}

/// How deep a kerf is, and how deep it may be; told apart where a tape does not.
fn too_deep(place: &str, [cover, limit]: [Length; 2], system: System) -> String {
    let (deep, reach) = (system.size(cover), system.size(limit));
    if deep == reach {
        let more = millimetres(cover - limit, 3);
        return format!("just deeper {place} than the {reach} that the blade reaches, by {more}");
    }
    format!("{deep} deep {place}, and the blade reaches {reach}")
}

/// Where a dog or a keep-out box of the profile lies, to be told from the others.
fn lies(fixture: Fixture, mill: &MillRecord, system: System) -> String {
    let record = match fixture {
        Fixture::Dog(number) => mill.dogs.get(number),
        Fixture::KeepOut(number) => mill.keep_out.get(number),
        Fixture::Bed | Fixture::Bunk(_) | Fixture::Pack(_) | Fixture::Wedge(_) => None,
    };
    let Some(Box3 { min, max }) = record else {
        return String::new();
    };
    let ([from, low_across, low], [to, high_across, high]) = (min, max);
    let run = |place: &Position| system.run(place.from_origin());
    let size = |place: &Position| system.size(place.from_origin());
    format!(
        ", which lies from {} to {} along the rails, {} to {} across, {} to {} high",
        run(from),
        run(to),
        size(low_across),
        size(high_across),
        size(low),
        size(high)
    )
}

/// What would free a floor that lies under all wood.
const UNDER_WOOD: &str =
    "end the layer in wood (`layer down to` in the cut plan), or leave it out: nothing would be sawn";

/// What would free it.
const fn help(kind: PlanErrorKind) -> &'static str {
    match kind {
        PlanErrorKind::BeyondRails { .. } => {
            "set the log further in (near_end_at), or cut it shorter: every stroke runs out past both ends"
        }
        PlanErrorKind::BeyondAxis { end, .. } => beyond_axis(end),
        PlanErrorKind::NoWayOver { .. } => {
            "lay the log lower, or take the top off before it comes on this mill"
        }
        PlanErrorKind::NoRoomToSwing(fixture) => no_room(fixture),
        PlanErrorKind::InTheWay(fixture) => in_the_way(fixture),
        PlanErrorKind::TooWide { .. } => {
            "plan a narrower column there, release fewer of them together, or order fewer or narrower boards (most, width). Where releasing fewer lets the wood roll, plan thinner layers, or set the wedges further out ([wedges] of the mill)"
        }
        PlanErrorKind::TooDeep { .. } => "end the layer higher, with another one below it",
        PlanErrorKind::HousingInWood => {
            "plan a narrower column or a thinner layer there, so that the wood beside it is gone first"
        }
        PlanErrorKind::Metal { .. } => {
            "take the metal out, turn the log, or end the layer or column so that its kerf passes by"
        }
        PlanErrorKind::WouldFall { .. }
        | PlanErrorKind::Topples { .. }
        | PlanErrorKind::WouldTip { .. }
        | PlanErrorKind::OnBlade { .. }
        | PlanErrorKind::ThinWood { .. }
        | PlanErrorKind::Neck(_) => falls::way_out(kind),
        PlanErrorKind::RimOut { .. } => "write more for `rim_overhang` ([clearance] of the mill)",
        PlanErrorKind::NoPass(_) => {
            "look at [power] and [reach] of the mill and at cutting_energy of the log; a sharper or thinner blade takes less"
        }
        PlanErrorKind::WouldRoll(_) => {
            "release the rest of the layer from here, plan thinner layers or narrower columns, order fewer boards (most), or set the wedges further out ([wedges]); what is released together may be no wider than the blade reaches: where that stands against it, only the others help"
        }
        PlanErrorKind::TooSlender(_) => {
            "lay the log on its broad side, release the rest of the layer from here, plan thinner layers, or set the wedges further out ([wedges] of the mill)"
        }
        PlanErrorKind::WouldSlip(_) => {
            "dog what is left and say so in the mill profile (dog_hold), or plan narrower columns"
        }
        PlanErrorKind::WouldLift(_) => {
            "dog what is left and say so in the mill profile (dog_hold), or end this layer higher"
        }
        PlanErrorKind::Support(_) => "set bunks where they carry the log; look at [support] of the mill",
        PlanErrorKind::Sags => {
            "leave more on the bunks: write more for `bed_clearance` ([setting]), or end the lowest layer of the cut plan higher; or set another bunk, or look at [support] of the mill and stiffness of the log"
        }
        PlanErrorKind::UnderWood { .. } => UNDER_WOOD,
        PlanErrorKind::NotBelow => "write a lower floor: kerf and board come on top of it",
        PlanErrorKind::NotFurther => "write a place further to the exit side: kerf and board lie before it",
        PlanErrorKind::WoodLeft { .. } => "end the layer with a column to edge",
        PlanErrorKind::NoEdge => "begin the lowest layer with a column of waste on the entry side",
        PlanErrorKind::NoShallowPass => "end the lowest layer a little higher, or plan its last column wider",
        PlanErrorKind::Wedges { .. } => {
            "plan fewer and wider columns in the layer, or a layer no deeper than 100 mm"
        }
        PlanErrorKind::NotJudged(_) => "plan fewer columns in the layer, or smaller groups to release",
        PlanErrorKind::Full => "saw the log in two plans: a sequence holds 65 535 moves",
    }
}

/// What would free a place that the height axis does not reach.
const fn beyond_axis(end: AxisEnd) -> &'static str {
    match end {
        AxisEnd::Bottom => "end the layer higher, or measure how far down [height] of the mill goes",
        AxisEnd::Top | AxisEnd::Entry | AxisEnd::Exit => {
            "lay the log lower, take the top off before it comes on this mill, or measure how far [height] of the mill goes"
        }
    }
}

/// What would free a swing of what it meets.
const fn no_room(fixture: Fixture) -> &'static str {
    match fixture {
        Fixture::Bed | Fixture::Bunk(_) => {
            "look at the height range and at the swing's pivot in the mill profile"
        }
        Fixture::Pack(_) | Fixture::Wedge(_) => {
            "end the layer higher, pack less, use lower wedges, or lay the log elsewhere along the rails (near_end_at)"
        }
        Fixture::Dog(_) | Fixture::KeepOut(_) => {
            "the blade swings just past the log's ends: move what stands there, or lay the log elsewhere along the rails (near_end_at)"
        }
    }
}

/// What would free a stroke, or the way to it, of what it meets.
const fn in_the_way(fixture: Fixture) -> &'static str {
    match fixture {
        Fixture::Dog(_) => {
            "set the dog lower or elsewhere and write it so in the mill profile (dog), lay the log elsewhere along the rails (near_end_at), or end the layer higher"
        }
        Fixture::KeepOut(_) => {
            "move what stands in that box and write it so in the mill profile (keep_out), or lay the log elsewhere along the rails (near_end_at); a box is kept free along every stroke and where strokes begin and end"
        }
        Fixture::Pack(_) | Fixture::Wedge(_) => "end the layer higher, pack less, or use lower wedges",
        Fixture::Bed | Fixture::Bunk(_) => {
            "end the layer higher, or look at the bunks' tops in the mill profile"
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 165.02 mm and 165 mm are both 6 1/2 in on a tape.
    #[test]
    fn depths_that_a_tape_shows_alike_are_told_apart() {
        let depths = [Length::um(165_020), Length::um(165_000)];
        for (system, expected) in [
            (
                System::Metric,
                "just deeper in wood than the 165 mm that the blade reaches, by 0.020 mm",
            ),
            (
                System::Inches,
                "just deeper in wood than the 6 1/2 in that the blade reaches, by 0.020 mm",
            ),
        ] {
            assert_eq!(too_deep("in wood", depths, system), expected);
        }
        let apart = too_deep("under wood", [Length::mm(170), Length::mm(165)], System::Metric);
        assert_eq!(apart, "170 mm deep under wood, and the blade reaches 165 mm");
    }
}
