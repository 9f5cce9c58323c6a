//! Logs all across the bed and beyond: what is planned stays within the axes, and what is not says that it is for them.

use std::vec::Vec;

use bunkside_protocol::{Length, LogRecord, MillRecord, Move, Position};

use super::{AxisEnd, Growth, PlanErrorKind, sequence_in};
use crate::audit::{Verdict, audit};
use crate::layout::{LayoutError, Product, plain};
use crate::machine::Pose;
use crate::replay::Setup;
use crate::testing::{hand_mill, powered_mill, round_log};

/// What became of a log.
#[derive(Debug, PartialEq)]
enum Came {
    Planned,
    /// No board has room where the blade gets to.
    NoBoard,
    Refused(PlanErrorKind),
}

/// Lays out, sequences and audits a log so far from the bed's centre line, with the corners of all cuts.
fn planned(mill: &MillRecord, log: &LogRecord, offset: Length, growth: Growth) -> (Came, Vec<Pose>) {
    let mut log = log.clone();
    for station in &mut log.stations {
        station.centre_across = station.centre_across + offset;
    }
    let setup = Setup::new(mill, &log).unwrap();
    let products = [Product {
        thickness: Length::mm(40),
        width: Length::mm(110),
        lengths: &[Length::mm(3_000)],
        most: None,
    }];
    let draft = match plain(&setup, &products, Length::mm(20)) {
        Ok(draft) => draft,
        Err(LayoutError::NothingFits) => return (Came::NoBoard, Vec::new()),
        Err(error) => panic!("{error}"),
    };
    let mut moves: Vec<Move> = Vec::new();
    let made = draft.with_plan(|plan| {
        sequence_in(&setup, &plan, growth, &mut |told| {
            moves.push(*told);
            true
        })
    });
    if let Err(error) = made {
        return (Came::Refused(error.kind), Vec::new());
    }
    let (mut corners, mut range) = (Vec::new(), Vec::new());
    let verdict = audit(
        &setup,
        moves.iter().copied(),
        &mut |step, _, _| corners.extend(step.cut.map(|_| step.before)),
        &mut |finding| range.push(finding),
    );
    assert_ne!(verdict, Verdict::Refused, "{offset}: {range:?}");
    (Came::Planned, corners)
}

/// The mills of these tests, without anything that stands at one place across.
fn mills() -> [MillRecord; 2] {
    [powered_mill(), hand_mill()].map(|mut mill| {
        (mill.across.min, mill.across.max) = (Position::um(-600_050), Position::um(500_030));
        mill.dogs.clear();
        mill.keep_out.clear();
        mill
    })
}

/// Where a log may lie so that it is not planned: on the side of the end that is short.
fn is_told(came: &Came, offset: i32) -> bool {
    match came {
        Came::NoBoard => !(-300..=200).contains(&offset),
        Came::Refused(PlanErrorKind::BeyondAxis { end, missing }) => {
            *missing > Length::ZERO
                && match end {
                    AxisEnd::Entry => offset < -300,
                    AxisEnd::Exit => offset > 200,
                    AxisEnd::Bottom | AxisEnd::Top => false,
                }
        }
        Came::Planned | Came::Refused(_) => false,
    }
}

/// Wherever one of these logs lies, it is planned so that the auditor refuses nothing, or it is said which axis is short: that
/// on the side on which it lies. Some passes stand at the very end of the axis.
#[test]
fn a_log_anywhere_across_is_planned_within_the_axes_or_told_which_is_short() {
    let mut at_end = 0;
    for mill in mills() {
        for (diameter, growth, bite) in [
            (300, Growth::Calm, 200),
            (300, Growth::Calm, 40),
            (420, Growth::Calm, 60),
            (300, Growth::Stressed, 70),
        ] {
            let mut mill = mill.clone();
            for most in mill.reach.bite.iter_mut().flatten().flatten().flatten() {
                *most = (*most).min(Length::mm(bite));
            }
            let log = round_log(diameter, 3_600);
            let (mut inside, mut told) = (0, [0; 2]);
            for offset in (-820..=780).step_by(13) {
                let (came, corners) = planned(&mill, &log, Length::mm(offset), growth);
                if came == Came::Planned {
                    inside += 1;
                    let short = |pose: &&Pose| pose.across == Position::mm(-600);
                    at_end += corners.iter().filter(short).count();
                } else {
                    assert!(is_told(&came, offset), "{diameter} {bite} {offset}: {came:?}");
                    told[usize::from(offset > 0)] += 1;
                }
            }
            assert!(
                inside >= 50 && told.iter().all(|count| *count >= 10),
                "{inside} {told:?}"
            );
        }
    }
    assert!(at_end > 0);
}
