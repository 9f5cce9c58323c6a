//! How many columns of a layer logs of several sizes bear: a row of panels for each log, for rolling, sliding and lifting.

use bunkside_planner::physics::margins::Margins;
use bunkside_protocol::MillRecord;

use super::plot::{Mark, Panel, broken};
use super::svg::{Anchor, Path, TINY, WIDE, document, run_of, text};
use crate::columns::Column;

const LEFT: f64 = 178.0;
const RIGHT: f64 = 20.0;
const APART: f64 = 22.0;
const PANEL: f64 = 132.0;
/// From one row to the next.
const ROW: f64 = PANEL + 62.0;
/// Where the first row begins.
const TOP: f64 = 440.0;
/// How many letters a line holds.
const LETTERS: usize = 78;
const TITLE: &str = "How many times over logs would be held: what the statics compute";
const TOLD: &str = "Do not saw by this picture: it asks only whether the wood is held, and other rules may refuse sooner. The \
columns of the lowest layer are taken one after the other; a mark is holding force over driving force, the lesser of in its \
cuts and at rest when it has gone. At 1 the log is about to move; in the hatched part, below the limit, the column is \
refused. Behind the first that is refused the slowest feed is reckoned with, so that slip and lift only look better there. \
Logarithmic scale.";
const WAYS: [&str; 3] = ["Roll", "Slip", "Lift"];

/// One log: its name, and the columns of a layer of it with its bark on and smooth.
#[derive(Clone, Debug)]
pub struct Log {
    /// What stands beside its row.
    pub name: String,
    /// With bark that grips.
    pub barked: Vec<Column>,
    /// Without.
    pub smooth: Vec<Column>,
}

/// The margins of every log by columns taken, the less of in the cuts of a column and at rest when it has gone.
#[must_use]
pub fn family(title: &str, mill: &MillRecord, logs: &[Log]) -> String {
    let factors = &mill.factors;
    let demanded = [factors.roll, factors.slip, factors.lift].map(|factor| f64::from(factor) / 1000.0);
    let most = logs.iter().map(|log| log.barked.len().max(log.smooth.len()));
    let count = most.max().unwrap_or(1);
    let mut body = key();
    for (row, log) in logs.iter().enumerate() {
        let foot = TOP + PANEL + ROW * row as f64;
        let place = [8.0, foot - PANEL / 2.0];
        body.push_str(&text("small", Anchor::Start, place, &log.name));
        for (way, wanted) in demanded.into_iter().enumerate() {
            let panel = panel(way, foot, count);
            body.push_str(&panel.ground(wanted, way == 0));
            body.push_str(&panel.row(&lesser(&log.smooth, way), Mark::Hollow, 0.0));
            body.push_str(&panel.row(&lesser(&log.barked, way), Mark::Filled, 0.0));
            body.push_str(&numbers(&panel));
        }
    }
    let height = TOP + ROW * logs.len() as f64 + 14.0;
    let place = [WIDE - RIGHT, height - 18.0];
    let foot = text(
        "tiny soft",
        Anchor::End,
        place,
        "columns taken; margins are estimates",
    );
    document(title, WIDE, height, &(body + &foot))
}

fn panel(way: usize, foot: f64, count: usize) -> Panel {
    let wide = (WIDE - LEFT - RIGHT - 2.0 * APART) / 3.0;
    let left = LEFT + (wide + APART) * way as f64;
    Panel {
        left,
        right: left + wide,
        foot,
        height: PANEL,
        count,
    }
}

fn lesser(columns: &[Column], way: usize) -> Vec<f64> {
    let of = |margins: Margins| [margins.roll(), margins.slip, margins.lift][way];
    let worst = columns.iter().map(|column| column.during.worse(&column.rest));
    worst.map(of).collect()
}

fn numbers(panel: &Panel) -> String {
    let told = [1, 5, 10].into_iter().filter(|number| *number <= panel.count);
    told.map(|number| {
        let place = [panel.across(number - 1), panel.foot + 28.0];
        text("tiny soft", Anchor::Middle, place, &number.to_string())
    })
    .collect()
}

fn key() -> String {
    let mut drawn = text("small", Anchor::Start, [24.0, 40.0], TITLE);
    let sample = panel(0, 0.0, 1);
    let mut x = 24.0;
    for (mark, class, words) in [(Mark::Filled, "solid", "barked"), (Mark::Hollow, "box", "smooth")] {
        let mut path = Path::new();
        sample.mark(&mut path, [x + 10.0, 82.0], mark);
        drawn.push_str(&path.element(class));
        drawn.push_str(&text("tiny", Anchor::Start, [x + 32.0, 90.0], words));
        x += 44.0 + run_of(words, TINY) + 24.0;
    }
    let mut line = Path::new();
    line.line([x, 82.0], [x + 40.0, 82.0]);
    drawn.push_str(&line.element("demand"));
    drawn.push_str(&text("tiny", Anchor::Start, [x + 52.0, 90.0], "limit"));
    for (line, words) in broken(TOLD, LETTERS).iter().enumerate() {
        let place = [24.0, 134.0 + 34.0 * line as f64];
        drawn.push_str(&text("tiny soft", Anchor::Start, place, words));
    }
    for (way, name) in WAYS.into_iter().enumerate() {
        let panel = panel(way, 0.0, 1);
        drawn.push_str(&text(
            "small",
            Anchor::Middle,
            [panel.across(0), TOP - 22.0],
            name,
        ));
    }
    drawn
}
