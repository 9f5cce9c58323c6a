//! # range
//!
//! **Guards** the end stops and drives. **Trips when** an axis is sent outside its range; when a cut's end leaves
//! less than the distance in which the carriage stops from its feed; when a stroke that leaves the wood ends with
//! the blade still in it. **Clears when** every target lies inside, and every stroke runs out by the blade's chord
//! and the clearance. **Does not cover** a carriage that overruns its drive: end switches do.

use bunkside_protocol::mill::Axis;
use bunkside_protocol::{Length, Move, Position};

use super::{Basis, Measure, Objection, Objections, Rule, Situation};
use crate::geometry::scale;
use crate::machine::run_out;
use crate::replay::Step;

pub(super) const RULE: Rule = Rule {
    number: 0,
    id: "range",
    title: "every target and run-out lies inside the mill's range",
    reason: "a carriage sent past its range hits the stop, and a blade that stops in the log's end binds or throws",
    basis: Basis::Machine,
    check,
};

fn check(situation: &Situation<'_>, object: Objections<'_>) {
    let Some(step) = situation.step() else { return };
    let mill = situation.setup.mill;
    let targets = match &step.told {
        Move::Go(targets) => *targets,
        Move::Cut(cut) => cut.to,
        Move::Swing(_) | Move::Spin(_) | Move::Hold(_) => return,
    };
    for (axis, target) in [
        (&mill.travel, targets.travel),
        (&mill.across, targets.across),
        (&mill.height, targets.height),
    ] {
        if let Some(target) = target {
            inside(axis, target, Length::ZERO, OUTSIDE, object);
        }
    }
    if let (Move::Cut(cut), Some(target)) = (&step.told, targets.travel) {
        let speed = i64::from(cut.speed.as_um_per_s());
        let acceleration = i64::from(mill.travel.acceleration);
        let stopping = Length::um(scale(speed, speed, 2 * acceleration.max(1)));
        if mill.travel.min <= target && target <= mill.travel.max {
            inside(&mill.travel, target, stopping, NO_ROOM_TO_STOP, object);
        }
    }
    run_outs(situation, step, object);
}

const OUTSIDE: &str = "the axis cannot go there; set the log further inside, or plan a shallower run";
const NO_ROOM_TO_STOP: &str =
    "the carriage could not stop from this feed before the end stop; feed slower or set the log further in";
const IN_THE_END: &str = "the stroke ends with the blade still in the log's end; let it run out further";

fn inside(axis: &Axis, target: Position, margin: Length, note: &'static str, object: Objections<'_>) {
    let low = axis.min + margin - target;
    let high = target - (axis.max - margin);
    let over = low.max(high);
    if over > Length::ZERO {
        object(Objection::refuse(
            Measure::Length(over),
            Measure::Length(Length::ZERO),
            note,
        ));
    }
}

fn run_outs(situation: &Situation<'_>, step: &Step, object: Objections<'_>) {
    let Some(facts) = step.cut else { return };
    let Some(met) = facts.met else { return };
    let need = run_out(situation.setup.mill, facts.cover);
    for beyond in [met.travel.lo - step.before.travel.min(step.after.travel), {
        step.before.travel.max(step.after.travel) - met.travel.hi
    }] {
        if beyond > Length::ZERO && beyond < need {
            object(Objection::refuse(
                Measure::Length(beyond),
                Measure::Length(need),
                IN_THE_END,
            ));
        }
    }
}
