//! What would free a heavy piece that an upright kerf lets drop.

use bunkside_planner::physics::falling::Over;
use bunkside_planner::plan::Freeing;
use bunkside_planner::sequence::PlanError;

use crate::cut_plan::OwnedPlan;

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
