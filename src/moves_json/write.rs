//! Writing moves as JSON, one a line.

use bunkside_protocol::{Angle, Cut, Feed, Move, Targets};

use super::{FORMAT, VERSION};
use crate::cut_plan::act_words;

/// A move sequence, one move a line, ending in a line end.
#[must_use]
pub fn write(moves: &[Move]) -> String {
    format!(
        "{{\"format\": \"{FORMAT}\", \"version\": {VERSION}, \"moves\": {}}}\n",
        list(moves)
    )
}

/// The same, with the names of the log and the mill it was made for.
#[must_use]
pub fn write_for(log: &str, mill: &str, moves: &[Move]) -> String {
    write_set((log, mill, None), moves)
}

/// The same with the setting that was chosen for the log, if one was.
#[must_use]
pub fn write_set((log, mill, setting): (&str, &str, Option<&str>), moves: &[Move]) -> String {
    let quoted = |name: &str| serde_json::Value::from(name).to_string();
    let set = setting.map_or_else(String::new, |setting| {
        format!("\"setting\": {}, ", quoted(setting))
    });
    format!(
        "{{\"format\": \"{FORMAT}\", \"version\": {VERSION}, \"log\": {}, \"mill\": {}, {}\"moves\": {}}}\n",
        quoted(log),
        quoted(mill),
        set,
        list(moves)
    )
}

/// The list of the moves, one a line.
pub(crate) fn list(moves: &[Move]) -> String {
    if moves.is_empty() {
        return "[]".to_owned();
    }
    let lines: Vec<String> = moves
        .iter()
        .map(|next| format!("  {}", move_text(*next)))
        .collect();
    format!("[\n{}\n]", lines.join(",\n"))
}

/// One move.
#[must_use]
pub fn move_text(next: Move) -> String {
    match next {
        Move::Go(to) => format!("{{\"go\": {{{}}}}}", targets(to).join(", ")),
        Move::Cut(cut) => format!("{{\"cut\": {{{}}}}}", cut_fields(cut).join(", ")),
        Move::Swing(Angle::Flat) => "{\"swing\": \"flat\"}".to_owned(),
        Move::Swing(Angle::Upright) => "{\"swing\": \"upright\"}".to_owned(),
        Move::Spin(true) => "{\"spin\": \"up\"}".to_owned(),
        Move::Spin(false) => "{\"spin\": \"down\"}".to_owned(),
        Move::Hold(hold) => {
            let acts: Vec<_> = hold
                .acts
                .iter()
                .map(|act| format!("\"{}\"", act_words(act)))
                .collect();
            format!("{{\"hold\": [{}]}}", acts.join(", "))
        }
    }
}

fn cut_fields(cut: Cut) -> Vec<String> {
    let mut fields = targets(cut.to);
    fields.push(format!("\"speed_um_per_s\": {}", cut.speed.as_um_per_s()));
    match cut.feed {
        Some(Feed::Climb) => fields.push("\"feed\": \"climb\"".to_owned()),
        Some(Feed::Forward) => fields.push("\"feed\": \"forward\"".to_owned()),
        None => {}
    }
    if cut.release {
        fields.push("\"release\": true".to_owned());
    }
    fields
}

fn targets(to: Targets) -> Vec<String> {
    [
        ("travel_um", to.travel),
        ("across_um", to.across),
        ("height_um", to.height),
    ]
    .into_iter()
    .filter_map(|(name, place)| place.map(|place| format!("\"{name}\": {}", place.as_um())))
    .collect()
}
