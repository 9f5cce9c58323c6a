//! Ways beside the log.

use bunkside_protocol::{Angle, LogRecord, MillRecord, Millis, Move};

use super::*;
use crate::replay::Replay;
use crate::testing::{Script, powered_mill, round_log};

/// A mill whose height is cranked in so many seconds, and whose head goes far out.
fn cranked(walk_s: u32) -> MillRecord {
    let mut mill = powered_mill();
    mill.height_setting = HeightSetting::ByHand(Millis::new(walk_s * 1_000));
    mill.across.min = Position::mm(-900);
    mill
}

/// Low at the far end, a kerf's depth over the bed.
fn low(setup: &Setup<'_>, carriage: &Carriage<'_>, angle: Angle) -> Pose {
    Pose {
        travel: carriage.far,
        across: Position::ZERO,
        height: Position::mm(100),
        angle,
        spinning: true,
        ..Pose::parked(setup.mill)
    }
}

/// The way home from there: where the blade is drawn out to, and how high it is raised.
fn home(mill: &MillRecord, log: &LogRecord, stands: Standing) -> (Option<Position>, Option<Position>) {
    let setup = Setup::new(mill, log).unwrap();
    let carriage = Carriage::new(&setup).unwrap();
    let moves = carriage
        .home(&low(&setup, &carriage, Angle::Flat), || stands)
        .unwrap();
    let told = moves.iter().filter_map(|told| match told {
        Move::Go(targets) => Some(targets),
        _ => None,
    });
    let [mut out, mut up] = [None; 2];
    for targets in told {
        (out, up) = (out.or(targets.across), up.or(targets.height));
        assert!(targets.travel.is_none() || targets.travel == Some(carriage.near));
    }
    assert_eq!(moves.len(), 2);
    (out, up)
}

/// Nothing passes beside the log while a piece lies loose, however far the axis goes.
#[test]
fn nothing_passes_while_a_piece_lies_loose() {
    let (mill, log) = (cranked(25), round_log(300, 3_600));
    let setup = Setup::new(&mill, &log).unwrap();
    let after = |script: Script| {
        let mut replay = Replay::new(&setup, 0);
        for told in &script.moves {
            replay.step(told);
        }
        Standing::of(&setup, replay.stock())
    };
    let slab = Script::opened();
    let taken = after(Script {
        moves: slab.moves.clone(),
    });
    assert!(!taken.loose, "unloaded");
    let mut lies = slab;
    lies.moves.pop();
    let lies = after(lies);
    assert!(lies.loose);
    assert!(matches!(home(&mill, &log, lies), (None, Some(_))));
}

const LOG: Standing = Standing {
    top: Some(Position::mm(300)),
    loose: false,
};

#[test]
fn who_would_have_to_crank_passes_beside_the_log_where_that_is_quicker() {
    let log = round_log(300, 3_600);
    let (out, up) = home(&cranked(25), &log, LOG);
    assert!(out.is_some() && up.is_none());
    // No crank at all, or one that turns faster than the blade is drawn out.
    let over = |mill: &MillRecord| home(mill, &log, LOG);
    let mut driven = cranked(25);
    driven.height_setting = HeightSetting::Driven;
    assert!(matches!(over(&driven), (None, Some(_))));
    let mut quick = cranked(0);
    quick.blade.run_down = Millis::new(0);
    quick.blade.spin_up = Millis::new(0);
    assert!(matches!(over(&quick), (None, Some(_))));
    // The axis ends before that.
    let mut short = cranked(25);
    short.across.min = out.unwrap() + Length::um(1);
    assert!(matches!(over(&short), (None, Some(_))));
    short.across.min = out.unwrap();
    assert_eq!(over(&short), (out, None));
}

/// Its blade and head end a clearance before the widest place of the log, not a step of the grid nearer.
#[test]
fn it_keeps_its_clearance_from_the_log() {
    let (mill, log) = (cranked(25), round_log(300, 3_600));
    let setup = Setup::new(&mill, &log).unwrap();
    let carriage = Carriage::new(&setup).unwrap();
    for angle in Angle::ALL {
        let pose = low(&setup, &carriage, angle);
        let past = carriage.past_the_log(&pose).unwrap();
        let reach = |across: Position| {
            let pose = Pose { across, ..pose };
            let parts = blade_boxes(&mill, &pose, &pose).chain(head_boxes(&mill, &pose, &pose));
            parts.map(|part| part.across.hi).max().unwrap() + Apart::body(&mill).across
        };
        let edge = Position::mm(-150);
        assert!(reach(past) <= edge && reach(past + mill.grid) > edge, "{angle:?}");
    }
}
