//! How well the wood is held at a step: a bar each for rolling, sliding and lifting, with what is demanded as a line
//! across, and the figure.

use std::fmt::Write;

use libm::log;

use super::super::scene::Scene;
use super::super::steps::{Step, capital};
use crate::account::feeds::{Factors, Held, figure};

/// The bars go from here to there, in equal steps for equal ratios.
const SCALE: [f64; 2] = [0.5, 20.0];

/// How far along its bar a margin lies, in hundredths.
fn along(margin: f64) -> f64 {
    let [low, most] = SCALE;
    (100.0 * log(margin.clamp(low, most) / low) / log(most / low)).round()
}

/// Where the line across each bar stands: at every step the same.
pub(super) fn lines(scene: &Scene<'_>) -> String {
    let wanted = Factors::demanded(scene.subject.setup).named();
    let line = |(number, (_, wanted)): (usize, (&str, f64))| {
        format!(".held li:nth-child({number}) u{{left:{}%}}\n", along(wanted))
    };
    (1..).zip(wanted).map(line).collect()
}

/// The bars of a step; nothing at a hold, or where nothing is known.
pub(super) fn held(scene: &Scene<'_>, step: &Step) -> String {
    let setup = scene.subject.setup;
    let moved = scene.subject.trace.moves.get(step.at).map(|traced| &traced.step);
    let Some(held) = moved.and_then(|moved| Held::of(setup, moved)) else {
        return String::new();
    };
    let wanted = Factors::demanded(setup).named();
    let mut bars = String::from("<ul class=\"held\">");
    for ((name, margin), (_, wanted)) in held.least().named().into_iter().zip(wanted) {
        bars.push_str(&bar(name, margin, wanted));
    }
    bars.push_str("</ul>\n");
    bars
}

fn bar(name: &str, margin: f64, wanted: f64) -> String {
    let mut item = String::new();
    let _ = if margin.is_infinite() {
        write!(item, "<li>{}: nothing drives it", capital(name))
    } else if margin < wanted {
        write!(
            item,
            "<li class=\"less\">{} {}<span>, less than {wanted}</span>",
            capital(name),
            figure(margin)
        )
    } else {
        write!(
            item,
            "<li>{} {}<span>, at least {wanted}</span>",
            capital(name),
            figure(margin)
        )
    };
    if margin.is_finite() {
        let _ = write!(item, "<i><b style=\"width:{}%\"></b><u></u></i>", along(margin));
    }
    item + "</li>"
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bar_reaches_the_line_where_the_margin_is_what_is_demanded() {
        assert_eq!((along(0.1), along(20.0), along(f64::MAX)), (0.0, 100.0, 100.0));
        assert!(along(1.1) < along(1.2) && along(1.2) < along(1.4));
        assert_eq!(along(1.2), 24.0);
        assert_eq!(
            bar("slip", 1.2, 1.2),
            "<li>Slip 1.20<span>, at least 1.2</span><i><b style=\"width:24%\"></b><u></u></i></li>"
        );
    }

    #[test]
    fn too_little_is_said_in_words() {
        assert!(
            bar("roll", 1.19, 1.2).starts_with("<li class=\"less\">Roll 1.19<span>, less than 1.2</span><i>")
        );
        assert_eq!(
            bar("lift", f64::INFINITY, 1.2),
            "<li>Lift: nothing drives it</li>"
        );
    }
}
