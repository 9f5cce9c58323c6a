//! Layouts side by side: an end section of each, with what it brings and takes.

use super::Subject;
use super::ends;
use super::scene::Scene;
use super::svg::{Anchor, WIDE, document as alone, num, text};

/// Sections in a row.
const ACROSS: usize = 3;

/// Height over each for what is said of it.
const WORDS: f64 = 130.0;

/// A drawing of several layouts of one log: of each a title, what is said of it, and how it is sawn.
pub(super) fn document(layouts: &[(String, String, Subject<'_>)]) -> String {
    let mut body = String::new();
    let mut tall: f64 = 0.0;
    let drawn: Vec<(String, f64)> = layouts
        .iter()
        .enumerate()
        .map(|(number, (_, _, subject))| ends::smallest(&Scene::of(*subject), number))
        .collect();
    for (_, height) in &drawn {
        tall = tall.max(*height);
    }
    tall += WORDS;
    for (at, ((title, words, _), (section, height))) in layouts.iter().zip(&drawn).enumerate() {
        let (x, y) = ((at % ACROSS) as f64 * WIDE, (at / ACROSS) as f64 * tall);
        body.push_str(&format!(
            r#"<g transform="translate({} {})">{}{}<svg y="{WORDS}" width="{WIDE}" height="{}">{section}</svg></g>"#,
            num(x),
            num(y),
            text("head", Anchor::Start, [24.0, 56.0], title),
            text("small", Anchor::Start, [24.0, 104.0], words),
            num(*height)
        ));
    }
    let rows = layouts.len().div_ceil(ACROSS) as f64;
    let wide = layouts.len().min(ACROSS) as f64 * WIDE;
    let log = layouts.first().map_or("", |(_, _, subject)| subject.log);
    alone(
        &format!("Layouts of log {log}, side by side"),
        wide,
        rows * tall,
        &body,
    )
}
