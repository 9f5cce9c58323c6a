//! The feed of a step, and where it has to be slower than the mill's fastest, what holds it down.

use std::fmt::Write;

use bunkside_planner::rules::by_id;
use bunkside_protocol::{Move, Speed};

use super::super::scene::Scene;
use super::super::steps::Step;
use super::words::kept;
use crate::explain::{Course, Decided, feed_limit};
use crate::measure::System;

/// The line of a step; nothing at a hold.
pub(super) fn fed(scene: &Scene<'_>, course: &Course<'_>, step: &Step) -> String {
    let moved = scene.subject.trace.moves.get(step.at).map(|traced| &traced.step);
    let Some(Move::Cut(cut)) = moved.map(|moved| moved.told) else {
        return String::new();
    };
    let system = scene.subject.system;
    let most = scene.subject.setup.mill.power.feed_max;
    let feed = format!(
        "Feed {} ({})",
        system.speed(cut.speed),
        system.other().speed(cut.speed)
    );
    let (class, words) = if cut.speed >= most {
        ("feed", format!("{feed}, the mill's fastest."))
    } else {
        let held = feed_limit(course, step.at).map_or_else(String::new, |(by, allowed)| {
            let fastest = system.speed(most);
            format!(
                " Slower than the mill's fastest, {fastest}{}",
                because(&by, allowed, system)
            )
        });
        ("feed slow", format!("{feed}, no faster.{held}"))
    };
    format!("<p class=\"{class}\">{}</p>\n", kept(&words))
}

/// What holds a feed down.
fn because(by: &Decided, allowed: Option<Speed>, system: System) -> String {
    let mut words = allowed.map_or_else(String::new, |allowed| {
        format!(". The rules allow {}", system.speed(allowed))
    });
    let rule = |id: &str| by_id(id).map_or_else(String::new, |rule| format!(": {}", rule.title));
    let _ = match by {
        Decided::Refused(id) => write!(words, "; rule {id} holds it{}", rule(id)),
        Decided::Warned(id) => write!(words, "; rule {id} warns of more{}", rule(id)),
        Decided::Pieces => write!(words, "; faster, other pieces come off"),
        Decided::Mill => write!(words, "; the mill holds it"),
        Decided::Longer(_) | Decided::Nothing(_) => Ok(()),
    };
    words + "."
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_holds_a_feed_is_named() {
        let metric = System::Metric;
        assert_eq!(
            because(&Decided::Refused("slip"), None, metric),
            "; rule slip holds it: what stands does not slide on its bunks."
        );
        let allowed = Some(Speed::mm_per_s(200));
        assert_eq!(
            because(&Decided::Refused("power"), allowed, metric),
            ". The rules allow 0.2 m/s; rule power holds it: a pass stays within engine, teeth and gullets."
        );
        assert_eq!(
            because(&Decided::Nothing(3.0), allowed, metric),
            ". The rules allow 0.2 m/s."
        );
    }
}
