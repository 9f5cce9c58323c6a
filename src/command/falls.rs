//! What is said of wood that would be left too thin, and of a piece that would drop, tip, topple or lie on the blade as it comes
//! free; and what would do.

use bunkside_planner::limits::STANDS_ALONE;
use bunkside_planner::physics::falling::Over;
use bunkside_planner::plan::Freeing;
use bunkside_planner::sequence::{PlanError, PlanErrorKind};

use crate::cut_plan::OwnedPlan;
use crate::measure::System;

/// How heavy or high it is, and how much so it may be.
pub(super) fn words(kind: PlanErrorKind, system: System) -> String {
    let mass = |tenths: u32| system.load(f64::from(tenths) / 10.0);
    match kind {
        PlanErrorKind::WouldFall { tenths, over, .. } => format!(
            "the upright kerf would let a piece of {} drop {over} as it comes free",
            mass(tenths)
        ),
        PlanErrorKind::Topples { high, most } => format!(
            "a piece {} high would come free standing on its edge; what is more than {} high, {STANDS_ALONE} times the width of its \
             foot, topples into the blade",
            system.size(high),
            system.size(most)
        ),
        PlanErrorKind::WouldTip { tenths, over, most } => format!(
            "a piece of {} would tip {over} as it comes free, and {} is the most that may (`tips` in [loose] of the mill)",
            mass(tenths),
            system.load(f64::from(most))
        ),
        PlanErrorKind::OnBlade { tenths, most } => format!(
            "the flat stroke would lay {} on the turning blade at once, and {} is the most that may lie on it (`on_blade` in [loose] \
             of the mill)",
            mass(tenths),
            system.load(f64::from(most))
        ),
        other => other.to_string(),
    }
}

/// What would free it, whatever the plan is.
pub(super) const fn way_out(kind: PlanErrorKind) -> &'static str {
    match kind {
        PlanErrorKind::Topples { .. } => {
            "end the layer higher, with another one below it, or make the column wider; or lay the board flat in a layer as thin as it is"
        }
        PlanErrorKind::WouldTip { .. } => {
            "part it by more columns or a layer between, or end the column further in or the layer higher, so that it balances on the wood under it"
        }
        PlanErrorKind::OnBlade { .. } => {
            "take the columns one by one, or fewer of them together, or part them by narrower columns or thinner layers: what one stroke frees weighs less then"
        }
        PlanErrorKind::ThinWood { .. } => {
            "let the kerf take it, leave more there or end the layer higher, or make it part of the piece beside it"
        }
        PlanErrorKind::Neck(_) => {
            "end the column or layer so that its kerf runs into another one or out of the log, or leaves more there"
        }
        _ => "end the column further in or the layer higher, so that the piece balances on the wood under it",
    }
}

/// By which way it goes, and by whether it is released already or drops as it is edged for that: a piece with nothing under it
/// drops even so.
pub(super) fn help(error: &PlanError, plan: &OwnedPlan, (over, edged): (Over, bool)) -> String {
    let layer = plan.layers.get(error.layer);
    let column = layer
        .zip(error.column)
        .and_then(|(layer, at)| layer.columns.get(at));
    let taken = !edged && column.is_some_and(|column| column.freeing == Freeing::Take);
    let lies = "so that it balances on the wood under it";
    match over {
        Over::Down => format!(
            "end the column further in or the layer higher, so that its upright kerf ends in wood and it lies on some; \
             released it would drop as well{}",
            if taken { "" } else { ", as here" }
        ),
        Over::Entry | Over::Exit | Over::End if taken => format!(
            "write `release` for `take` at this column in the cut plan: then the flat blade lies under it as it comes free; \
             or end the column further in or the layer higher, {lies}"
        ),
        Over::Entry | Over::Exit | Over::End => {
            format!("end the column further in or the layer higher, {lies}")
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use bunkside_planner::plan::Use;
    use bunkside_planner::sequence::PlanErrorKind;
    use bunkside_protocol::{Acts, Position};

    use crate::cut_plan::OwnedLayer;

    fn told(over: Over, edged: bool, freeing: Freeing) -> String {
        let columns = vec![bunkside_planner::plan::Column {
            to: Some(Position::ZERO),
            freeing,
            use_: Use::Waste,
        }];
        let plan = OwnedPlan {
            layers: vec![OwnedLayer {
                floor: Position::mm(75),
                columns,
                passes: None,
                hold: Acts::NONE,
            }],
        };
        let error = PlanError {
            layer: 0,
            column: Some(0),
            kind: PlanErrorKind::WouldFall {
                tenths: 94,
                over,
                edged,
            },
        };
        help(&error, &plan, (over, edged))
    }

    /// Nobody is told to release what is released already, or what drops even so.
    #[test]
    fn only_what_helps_is_told() {
        for over in [Over::Entry, Over::Exit, Over::End] {
            assert!(told(over, false, Freeing::Take).contains("write `release`"));
            assert!(!told(over, true, Freeing::Take).contains("release"));
            assert!(!told(over, false, Freeing::Release).contains("release"));
        }
        for freeing in [Freeing::Take, Freeing::Release] {
            let down = told(Over::Down, false, freeing);
            assert!(
                down.contains("ends in wood") && !down.contains("write `release`"),
                "{down}"
            );
        }
    }
}
