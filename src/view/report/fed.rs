//! The feed of a step, where it has to be slower than the mill's fastest, what holds it down, and how hard it is pushed by
//! hand.

use bunkside_planner::rules::by_id;
use bunkside_protocol::{Length, Move, Speed};

use super::super::scene::Scene;
use super::super::steps::Step;
use super::words::kept;
use crate::account::push::{push, push_words};
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
        "{} ({})",
        system.speed_among(cut.speed, &[most]),
        system.other().speed_among(cut.speed, &[most])
    );
    let (class, words) = if cut.speed >= most {
        ("feed", format!("Feed {feed}, the mill's fastest."))
    } else {
        let held = feed_limit(course, step.at).map_or_else(String::new, |(by, allowed)| {
            let fastest = system.speed_among(most, &[cut.speed]);
            format!(
                ": the mill feeds up to {fastest}, {}",
                because(&by, allowed, system)
            )
        });
        ("feed slow", format!("Feed at most {feed}{held}."))
    };
    let push = moved.and_then(|moved| push(scene.subject.setup, moved));
    let push = push.map_or_else(String::new, |newtons| {
        let words = format!(
            "Pushed by hand: {} s or longer from one end of the log to the other, with up to {} where it meets a knot.",
            least_seconds(scene.bounds.travel.length(), cut.speed),
            push_words(newtons, system)
        );
        format!("<p class=\"feed\">{}</p>\n", kept(&words))
    });
    format!("<p class=\"{class}\">{}</p>\n{push}", kept(&words))
}

/// Whole seconds in which a length is run through no faster than that: what somebody who pushes can count.
fn least_seconds(length: Length, speed: Speed) -> u64 {
    let um = u64::try_from(length.wide()).unwrap_or(0);
    um.div_ceil(u64::from(speed.as_um_per_s()).max(1))
}

/// What holds a feed down.
fn because(by: &Decided, allowed: Option<Speed>, system: System) -> String {
    let rule = |id: &str| {
        let holds = by_id(id).map_or_else(String::new, |rule| format!(" ({})", rule.title));
        format!("rule {id}{holds}")
    };
    let allowed = allowed.map(|allowed| system.speed(allowed));
    match (by, allowed) {
        (Decided::Refused(id), None) => format!("but {} allows no more", rule(id)),
        (Decided::Refused(id), Some(most)) => format!("but {} allows no more than {most}", rule(id)),
        (Decided::Warned(id), None) => format!("but {} warns of more", rule(id)),
        (Decided::Warned(id), Some(most)) => format!("but {} warns of more than {most}", rule(id)),
        (Decided::Pieces, _) => "but then other pieces come off".to_owned(),
        (Decided::Mill, _) => "but not here".to_owned(),
        (Decided::Longer(_) | Decided::Nothing(_), None) => "and no rule speaks against it".to_owned(),
        (Decided::Longer(_) | Decided::Nothing(_), Some(most)) => format!("and the rules allow {most}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 3.1 m at 0.4 m/s take 7.75 s, at 0.31 m/s 10 s.
    #[test]
    fn nobody_counts_to_less_than_it_takes() {
        let seconds = |speed| least_seconds(Length::mm(3_100), Speed::mm_per_s(speed));
        assert_eq!([400, 310, 309].map(seconds), [8, 10, 11]);
    }

    #[test]
    fn what_holds_a_feed_is_named() {
        let metric = System::Metric;
        assert_eq!(
            because(&Decided::Refused("slip"), None, metric),
            "but rule slip (what stands does not slide on its bunks) allows no more"
        );
        let allowed = Some(Speed::mm_per_s(200));
        assert_eq!(
            because(&Decided::Refused("power"), allowed, metric),
            "but rule power (a pass stays within engine, teeth, gullets and arms) allows no more than 0.2 m/s"
        );
        assert_eq!(
            because(&Decided::Warned("lift"), None, metric),
            "but rule lift (the blade does not lift what it cuts) warns of more"
        );
        assert_eq!(
            because(&Decided::Nothing(3.0), allowed, metric),
            "and the rules allow 0.2 m/s"
        );
    }
}
