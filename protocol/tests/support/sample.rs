//! Logs, mills and moves to write and read.

use bunkside_protocol::log::{CUTTING_ENERGY, DENSITY, Figure, STIFFNESS};
use bunkside_protocol::{
    Act, Acts, Angle, Cut, Feed, Form, Hold, Length, LogRecord, MillRecord, Move, Position, Sawn, Speed,
    Station, Surface, Targets, Timber,
};

use super::maker::Maker;

/// A log of whatever numbers the seed gives.
pub(crate) fn log(seed: u64) -> LogRecord {
    let mut log: LogRecord = Maker::random(seed).make().unwrap();
    // Figures of which a job is read only where a log may have them.
    let within = |figure: Figure, told: u16| {
        let span = figure.most - figure.least + 1;
        u16::try_from(figure.least + i64::from(told) % span).unwrap()
    };
    log.density = within(DENSITY, log.density);
    log.stiffness = within(STIFFNESS, log.stiffness);
    log.cutting_energy = within(CUTTING_ENERGY, log.cutting_energy);
    log.bed_clearance = clearance(log.bed_clearance);
    log.between_bunks = log.between_bunks.map(clearance);
    log
}

/// A clearance that a log may have, of whatever number.
fn clearance(told: Length) -> Length {
    Length::um(i64::from(told.as_um()).rem_euclid(500_001))
}

/// A mill of whatever numbers the seed gives.
pub(crate) fn mill(seed: u64) -> MillRecord {
    Maker::random(seed).make().unwrap()
}

/// A place in micrometres.
pub(crate) fn um(um: i64) -> Position {
    Position::um(um)
}

pub(crate) fn go(travel: Option<i64>, across: Option<i64>, height: Option<i64>) -> Move {
    Move::Go(targets(travel, across, height))
}

pub(crate) fn targets(travel: Option<i64>, across: Option<i64>, height: Option<i64>) -> Targets {
    Targets {
        travel: travel.map(um),
        across: across.map(um),
        height: height.map(um),
    }
}

/// A cut along the rails that releases nothing.
pub(crate) fn cut(travel: i64, speed_um: u32, feed: Option<Feed>) -> Cut {
    Cut {
        to: Targets::travel(um(travel)),
        speed: Speed::um_per_s(speed_um),
        feed,
        release: false,
    }
}

pub(crate) fn hold(acts: &[Act]) -> Move {
    Move::Hold(Hold {
        acts: acts.iter().fold(Acts::NONE, |acts, act| acts.and(*act)),
    })
}

/// The log of the small job whose bytes are written out.
pub(crate) fn small_log() -> LogRecord {
    let near = Station {
        travel: um(600_000),
        centre_across: um(0),
        centre_height: um(125_000),
        half_width: Length::um(120_000),
        half_height: Length::um(120_000),
        skew: Length::um(0),
    };
    let far = Station {
        travel: um(4_200_000),
        centre_across: um(5_000),
        centre_height: um(128_000),
        half_width: Length::um(140_000),
        half_height: Length::um(138_000),
        skew: Length::um(-1_000),
    };
    LogRecord {
        form: Form::Round,
        stations: [near, far].into_iter().collect(),
        sawn: Sawn::NONE,
        bark: Length::um(8_000),
        timber: Timber::Soft,
        density: 780,
        stiffness: 9_500,
        cutting_energy: 30,
        surface: Surface::Barked,
        bed_clearance: Length::um(25_000),
        between_bunks: None,
        metal: [].into_iter().collect(),
    }
}

/// The moves of the small job whose bytes are written out: two boards taken, one group released.
pub(crate) fn small_moves() -> Vec<Move> {
    let forward = Some(Feed::Forward);
    vec![
        Move::Swing(Angle::Flat),
        Move::Spin(true),
        go(Some(200_000), None, None),
        go(None, Some(60_000), Some(180_000)),
        Move::Cut(cut(4_700_000, 250_000, forward)),
        Move::Swing(Angle::Upright),
        Move::Cut(cut(200_000, 300_000, forward)),
        hold(&[Act::Unload]),
        Move::Swing(Angle::Flat),
        go(None, Some(110_000), None),
        Move::Cut(cut(4_700_000, 250_000, forward)),
        Move::Swing(Angle::Upright),
        Move::Cut(cut(200_000, 300_000, forward)),
        hold(&[Act::Unload]),
        go(None, Some(160_000), None),
        Move::Swing(Angle::Flat),
        Move::Cut(Cut {
            release: true,
            ..cut(4_700_000, 250_000, Some(Feed::Climb))
        }),
        Move::Spin(false),
        hold(&[Act::Unload, Act::Sweep]),
    ]
}
