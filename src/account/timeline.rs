//! When what happens in a run.

use bunkside_planner::replay::Setup;
use bunkside_protocol::{Move, Stroke};
use serde::Serialize;

use super::cuts::{angle_words, stroke_words};
use super::hangs::{broken_off, left};
use super::kerf_wedges::{WedgedKerf, wedged_kerfs};
use super::table::{Side, Table, count};
use crate::cut_plan::act_words;
use crate::measure::{System, clock};
use crate::trace::{Trace, Traced};

/// One move in time.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TimedMove {
    /// Its number, from 0.
    #[serde(rename = "move")]
    pub index: u16,
    /// `go`, `cut`, `swing`, `spin` or `hold`.
    pub kind: &'static str,
    /// When it begins.
    pub start_s: f64,
    /// How long it takes.
    pub seconds: f64,
    /// Which way the carriage runs, if it does.
    pub stroke: Option<Stroke>,
}

/// Every move in time.
#[must_use]
pub fn timed(trace: &Trace) -> Vec<TimedMove> {
    trace
        .moves
        .iter()
        .map(|traced| TimedMove {
            index: traced.step.index,
            kind: kind_word(&traced.step.told),
            start_s: traced.start,
            seconds: traced.duration,
            stroke: traced.step.stroke,
        })
        .collect()
}

/// What kind of move it is, in a word.
#[must_use]
pub const fn kind_word(told: &Move) -> &'static str {
    match told {
        Move::Go(_) => "go",
        Move::Cut(_) => "cut",
        Move::Swing(_) => "swing",
        Move::Spin(_) => "spin",
        Move::Hold(_) => "hold",
    }
}

/// The time line as a table: moves that only bring the blade to its place stand together.
#[must_use]
pub fn table(setup: &Setup<'_>, trace: &Trace, system: System) -> Table {
    let wedged = wedged_kerfs(setup, trace, system);
    let mut table = Table::new(&[
        ("move", Side::Right),
        ("at", Side::Right),
        ("takes", Side::Right),
        ("", Side::Left),
    ]);
    let mut rest = trace.moves.as_slice();
    let mut cuts = 0;
    while let [first, ..] = rest {
        let setting = rest.iter().take_while(|traced| sets(traced)).count();
        let (now, later) = rest.split_at(setting.max(1));
        let taken: f64 = now.iter().map(|traced| traced.duration).sum();
        cuts += u32::from(matches!(first.step.told, Move::Cut(_)));
        table.row([
            first.step.index.to_string(),
            watch(first.start),
            clock(taken),
            words(now, cuts, system) + &wedges(trace, &wedged, first),
        ]);
        rest = later;
    }
    table
}

/// Whether a move only brings the blade to its place.
fn sets(traced: &Traced) -> bool {
    matches!(traced.step.told, Move::Go(_) | Move::Swing(_))
}

fn words(moves: &[Traced], cuts: u32, system: System) -> String {
    let Some(first) = moves.first() else {
        return String::new();
    };
    let step = &first.step;
    match step.told {
        Move::Go(_) | Move::Swing(_) => setting_words(moves),
        Move::Spin(true) => "blade up to speed".to_owned(),
        Move::Spin(false) => "blade runs down and stands".to_owned(),
        Move::Hold(hold) => {
            let acts: Vec<&str> = hold.acts.iter().map(act_words).collect();
            let broken = broken_off(first).map_or_else(String::new, |words| format!("; {words}"));
            format!("hold: {}{broken}", acts.join(", "))
        }
        Move::Cut(_) => {
            let freed: Vec<String> = first.freed.iter().map(|piece| piece.serial.to_string()).collect();
            let frees = match freed.as_slice() {
                [] => String::new(),
                [one] => format!("; frees piece {one}"),
                many => format!("; frees pieces {}", many.join(", ")),
            };
            let hangs = left(first).map_or_else(String::new, |words| format!("; {words}"));
            format!(
                "cut {cuts}: blade {}, {}, height {}{frees}{hangs}",
                angle_words(step.before.angle),
                stroke_words(step.stroke, step.feed),
                system.size(step.before.height.from_origin())
            )
        }
    }
}

/// Into which kerfs wedges go at a hold: `; wedges go into the kerf of cut 7`; nothing where none does.
fn wedges(trace: &Trace, kerfs: &[WedgedKerf], hold: &Traced) -> String {
    let driven = kerfs
        .iter()
        .filter(|kerf| kerf.driven == usize::from(hold.step.index));
    let cuts: Vec<String> = driven
        .map(|kerf| {
            let upto = trace.moves.iter().take(kerf.cut + 1);
            let cuts = upto.filter(|traced| matches!(traced.step.told, Move::Cut(_)));
            cuts.count().to_string()
        })
        .collect();
    match cuts.as_slice() {
        [] => String::new(),
        [one] => format!("; wedges go into the kerf of cut {one}"),
        many => format!("; wedges go into the kerfs of cuts {}", many.join(", ")),
    }
}

fn setting_words(moves: &[Traced]) -> String {
    let swung = moves
        .iter()
        .rev()
        .find(|traced| matches!(traced.step.told, Move::Swing(_)))
        .map(|traced| traced.step.after.angle);
    let empty = moves.iter().filter(|traced| traced.step.stroke.is_some()).count();
    let mut parts = vec![match swung {
        Some(angle) => format!("swing {} and set", angle_words(angle)),
        None => "set".to_owned(),
    }];
    if empty > 0 {
        parts.push(count(empty as u64, "empty stroke"));
    }
    parts.join(", ")
}

/// Minutes and seconds since the start.
fn watch(seconds: f64) -> String {
    let all = seconds.round().max(0.0) as u64;
    format!("{}:{:02}", all / 60, all % 60)
}
