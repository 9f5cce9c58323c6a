//! Canonical text of a plan: what a planner hands out, to be read and changed by hand.

use bunkside_planner::plan::{Column, End, Freeing, Part, Use};

use crate::measure::System;

use super::plan::{OwnedLayer, OwnedPlan};
use super::words::{act_words, quoted};

/// A plan as text, its lengths in millimetres. A board whose number is beyond the names is called `board 3` and so on.
///
/// What [`super::parse`] and [`super::Document::lower`] make of the text is the plan again, if each floor lies below
/// the one before, each place to the exit side of the one before, and only the last column of a layer has none.
#[must_use]
pub fn write(plan: &OwnedPlan, names: &[String], title: &str) -> String {
    write_for(plan, names, title, System::Metric)
}

/// The same for a reader: one who measures in inches finds every length in inches too, as a comment. The lengths that
/// count stay in millimetres, since the grid that places are snapped to is metric.
#[must_use]
pub fn write_for(plan: &OwnedPlan, names: &[String], title: &str, system: System) -> String {
    write_set(plan, names, (title, None), system)
}

/// The same with the setting that was chosen for the log, if one was.
#[must_use]
pub fn write_set(
    plan: &OwnedPlan,
    names: &[String],
    (title, setting): (&str, Option<&str>),
    system: System,
) -> String {
    let set = setting.map_or_else(String::new, |setting| format!(" set {}", quoted(setting)));
    let mut text = format!("plan {}{set}\n", quoted(title));
    for layer in &plan.layers {
        text.push('\n');
        write_layer(&mut text, layer, names, system);
    }
    text
}

fn write_layer(text: &mut String, layer: &OwnedLayer, names: &[String], system: System) {
    if !layer.hold.is_empty() {
        let acts: Vec<&str> = layer.hold.iter().map(act_words).collect();
        text.push_str(&format!("hold {}\n", acts.join(", ")));
    }
    let passes = match layer.passes {
        None => String::new(),
        Some(1) => " with 1 pass".to_owned(),
        Some(count) => format!(" with {count} passes"),
    };
    let floor = system.size(layer.floor.from_origin());
    let note = in_inches(system, &[floor]);
    text.push_str(&format!("layer down to {}{passes}{note}\n", layer.floor));
    if layer.columns.is_empty() {
        text.push_str("  slab\n");
    }
    for column in &layer.columns {
        let runs = column.use_.boards().map(|board| system.run(board.length));
        let place = column.to.map(|place| system.size(place.from_origin()));
        let lengths: Vec<String> = runs.chain(place).collect();
        let note = in_inches(system, &lengths);
        text.push_str(&format!("  {}{note}\n", column_words(column, names)));
    }
}

/// The lengths of a line in inches, for those who read inches.
fn in_inches(system: System, lengths: &[String]) -> String {
    if system == System::Metric || lengths.is_empty() {
        return String::new();
    }
    format!("  # {}", lengths.join(", "))
}

fn column_words(column: &Column, names: &[String]) -> String {
    let freeing = match column.freeing {
        Freeing::Take => "take",
        Freeing::Release => "release",
    };
    let what = match column.use_ {
        Use::Waste => "waste".to_owned(),
        Use::Board { product, length, end } => {
            let from = match end {
                End::Near => "",
                End::Far => " from far end",
            };
            part_words(Part { product, length }, names) + from
        }
        Use::Pair { near, far } => {
            format!("{} and {}", part_words(near, names), part_words(far, names))
        }
    };
    let place = column
        .to
        .map_or_else(|| "edge".to_owned(), |place| place.to_string());
    format!("{freeing} {what} to {place}")
}

fn part_words(part: Part, names: &[String]) -> String {
    let name = names.get(usize::from(part.product)).cloned();
    let name = name.unwrap_or_else(|| format!("board {}", u16::from(part.product) + 1));
    format!("board {} {}", quoted(&name), part.length)
}
